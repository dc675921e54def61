//! What is common practice in firmware of this kind, as a recogniser of its own (no source: practice): the
//! wire is read each 10 ms, a row of ifs says in which button's range the reading lies, and the eighth
//! equal answer in a row is acted on; nothing more happens until an answer is "none". The ranges are the
//! same bands that ours goes by, so that the two differ in the waiting alone. No filter, no settle limit,
//! and rest is believed at once.

use spokewire::bands::dwell::{Played, Trial};
use spokewire::recognise::Rules;

/// From one reading to the next, in milliseconds.
pub(crate) const EVERY_MS: usize = 10;
/// So many equal answers are acted on.
pub(crate) const EQUAL: u32 = 8;

/// Sends a trial through it; `phase` is the millisecond of its first reading, 0 to 9.
pub(crate) fn decide(rules: &Rules, trial: &Trial, phase: usize) -> Played {
    let mut played = Played::default();
    let (mut before, mut equal, mut is_acted) = (None, 0, false);
    for at in (phase..trial.levels.len()).step_by(EVERY_MS) {
        let count = trial.levels[at].count().unwrap_or(0.0) as u16;
        let on_wire = |wire: u8| usize::from(wire) == trial.wire + 1;
        let answer = rules
            .buttons
            .iter()
            .position(|(wire, band, _)| on_wire(*wire) && (band.low..=band.high).contains(&count));
        equal = if answer == before { equal + 1 } else { 1 };
        before = answer;
        match answer {
            None => is_acted = false,
            Some(button) if equal >= EQUAL && !is_acted => {
                is_acted = true;
                if Some(button as u8) == trial.button && played.decided_ms.is_none() {
                    played.decided_ms = Some((at + 1).saturating_sub(trial.left_at) as u32);
                } else {
                    played.wrong.get_or_insert(button as u8);
                }
            }
            Some(_) => {}
        }
    }
    played
}
