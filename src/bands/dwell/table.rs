//! The table of dwells, and which of them is proposed. Knows no readings.

use super::bounds::{CONFIDENCE, trials_for, upper_bound};
use super::runs::mean_wait;
use super::trials::{Input, Trial, TrialKind, decide, trials};
use crate::bands::Touch;
use crate::recognise::{DWELL_MAX_TICKS, Rules, RulesError};
use crate::signal::Level;

/// A proposed dwell is longer than the shortest safe one by this share…
const MARGIN_SHARE: f64 = 0.15;
/// … and by this at least, in milliseconds. Common practice, no source. On the demo's wheel slow presses
/// that go wrong become eight times fewer every 2 ms, and none of 21 000 did at 30 ms where a table of 21
/// presses finds 25 to 27 safe (DEVELOPERS.md, Decisions).
const LEAST_MARGIN_MS: u8 = 2;
/// With fewer presses, errors of one in four aren't excluded: nothing is proposed.
const FEWEST_PRESSES: u32 = 10;
/// Shares of errors that one would like to have excluded, the next better one is worked towards.
const GOALS: [f64; 7] = [0.25, 0.1, 0.05, 0.03, 0.02, 0.01, 0.001];

/// How long decisions took, in milliseconds from leaving rest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Latency {
    /// Half of them took no longer.
    pub median_ms: f64,
    /// 95 of 100 took no longer.
    pub p95_ms: f64,
    /// How many there were.
    pub of: u32,
}

/// Errors out of trials.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tally {
    /// Another button was decided, or the right one twice.
    pub wrong: u32,
    /// No decision for the right button.
    pub missed: u32,
    /// Out of how many.
    pub of: u32,
}

/// What one dwell does.
#[derive(Clone, Debug, PartialEq)]
pub struct DwellRow {
    /// The dwell, 1 to 64 ms.
    pub dwell_ms: u8,
    /// How long the decision for a tap took, from leaving rest; `None` without taps. Light touches aren't
    /// among them: their contact itself takes longer to close than any dwell.
    pub latency: Option<Latency>,
    /// The recorded presses.
    pub recorded: Tally,
    /// What was made of them and made up: taps, slow presses, spikes.
    pub made: Tally,
    /// The highest share of wrong decisions that the recorded presses allow, at 95 %, one-sided, exact.
    pub wrong_upper: f64,
    /// The same of missed presses.
    pub missed_upper: f64,
    /// Mean time until so many equal wrong readings follow each other, in seconds, were readings wrong one
    /// by one and independently; slow presses aren't.
    pub run_wait_s: f64,
}

/// What would make the table surer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Wanting {
    /// So many more presses make it 95 % sure that fewer than this share go wrong.
    Presses {
        /// How many more.
        more: u32,
        /// The share, 0 to 1.
        share: f64,
    },
    /// So many more slow presses make it 95 % sure that fewer than this share of slow ones go wrong.
    Slow {
        /// How many more.
        more: u32,
        /// The share, 0 to 1.
        share: f64,
    },
    /// A button has no recorded press.
    Button(u8),
}

/// Dwell against latency and errors.
#[derive(Clone, Debug, PartialEq)]
pub struct DwellTable {
    /// One row a dwell, from 1 to 64 ms.
    pub rows: Vec<DwellRow>,
    /// The planned dwell.
    pub planned_ms: u8,
    /// The planned settle limit, in counts.
    pub settle_count: f64,
    /// Recorded presses it stands on.
    pub presses: u32,
    /// Slow ones among them.
    pub slow: u32,
    /// The shortest dwell from which on, as far as the margin reaches, nothing was wrong or missed.
    pub safe_ms: Option<u8>,
    /// The one proposed: longer than the safe one by 15 %, 2 ms at least. `None` also where too few
    /// presses were recorded.
    pub proposed_ms: Option<u8>,
    /// Settled readings of recorded presses that lay in another button's band, and how many there were.
    pub wrong_readings: (u32, u32),
    /// What would make it surer, the most pressing first.
    pub wanting: Vec<Wanting>,
}

impl DwellTable {
    /// The row of a dwell.
    #[must_use]
    pub fn row(&self, dwell_ms: u8) -> Option<&DwellRow> {
        self.rows.get(usize::from(dwell_ms).checked_sub(1)?)
    }

    /// From the safe dwell on, how far nothing goes wrong or is missed: `From 26 to 52 ms`, or
    /// `From 26 ms on`; `None` where no dwell is safe. A dwell that is too long misses short taps.
    #[must_use]
    pub fn good_text(&self) -> Option<String> {
        let safe_ms = self.safe_ms?;
        let is_good = |row: &&DwellRow| {
            [row.recorded, row.made].iter().all(|tally| tally.wrong == 0 && tally.missed == 0)
        };
        let from_safe = self.rows.iter().filter(|row| row.dwell_ms >= safe_ms);
        Some(match from_safe.take_while(is_good).last() {
            Some(last) if self.rows.last().is_some_and(|longest| longest.dwell_ms > last.dwell_ms) => {
                format!("From {safe_ms} to {} ms", last.dwell_ms)
            }
            _ => format!("From {safe_ms} ms on"),
        })
    }

    /// Whether too few presses were recorded to propose anything.
    #[must_use]
    pub fn has_too_few(&self) -> bool {
        self.presses < FEWEST_PRESSES || self.slow == 0
    }

    /// The highest share of single readings in a wrong band that was not excluded, at 95 %.
    #[must_use]
    pub fn reading_error_upper(&self) -> f64 {
        upper_bound(self.wrong_readings.0, self.wrong_readings.1, CONFIDENCE)
    }
}

impl Tally {
    /// Whether nothing was wrong and nothing missed.
    #[must_use]
    pub fn is_clean(&self) -> bool {
        self.wrong == 0 && self.missed == 0
    }
}

/// Computes the table. `stop` is asked often; `progress` is told the share done, 0 to 1. `Ok(None)` where
/// it was stopped.
///
/// # Errors
/// [`RulesError`] for rules the box has no room for.
pub fn table(
    input: &Input,
    stop: &dyn Fn() -> bool,
    progress: &mut dyn FnMut(f32),
) -> Result<Option<DwellTable>, RulesError> {
    let trials = trials(input);
    let wrong_readings = wrong_readings(input, &trials);
    let reading_error = upper_bound(wrong_readings.0, wrong_readings.1, CONFIDENCE);
    let mut rows = Vec::with_capacity(usize::from(DWELL_MAX_TICKS));
    for dwell_ms in 1..=DWELL_MAX_TICKS {
        let rules = Rules { dwell_ticks: dwell_ms, ..input.rules.clone() };
        let mut row = Row::default();
        for trial in &trials {
            if stop() {
                return Ok(None);
            }
            let other = Level::from_count(input.wheel.rest_count[1 - trial.wire]);
            row.take(trial, &decide(&rules, trial, other)?);
        }
        rows.push(row.finish(dwell_ms, reading_error));
        progress(f32::from(dwell_ms) / f32::from(DWELL_MAX_TICKS));
    }
    let count = |slow_only: bool| {
        let of = |trial: &&Trial| match trial.kind {
            TrialKind::Recorded(touch) => !slow_only || touch == Touch::Slow,
            _ => false,
        };
        trials.iter().filter(of).count() as u32
    };
    let (presses, slow) = (count(false), count(true));
    let safe = safe_ms(&rows);
    let mut table = DwellTable {
        rows,
        planned_ms: input.rules.dwell_ticks,
        settle_count: input.rules.settle.count().unwrap_or(f64::NAN),
        presses,
        slow,
        safe_ms: safe,
        proposed_ms: None,
        wrong_readings,
        wanting: wanting(input, &trials, presses, slow),
    };
    if !table.has_too_few() {
        table.proposed_ms = safe.map(with_margin);
    }
    Ok(Some(table))
}

/// A dwell and its margin.
fn with_margin(dwell_ms: u8) -> u8 {
    let margin = (MARGIN_SHARE * f64::from(dwell_ms)).ceil() as u8;
    dwell_ms + margin.max(LEAST_MARGIN_MS)
}

/// The shortest dwell that is clean, with every one up to its margin.
fn safe_ms(rows: &[DwellRow]) -> Option<u8> {
    let is_clean = |dwell_ms: u8| {
        let row = rows.get(usize::from(dwell_ms).wrapping_sub(1));
        row.is_some_and(|row| row.recorded.is_clean() && row.made.is_clean())
    };
    (1..=DWELL_MAX_TICKS).find(|&dwell_ms| (dwell_ms..=with_margin(dwell_ms)).all(is_clean))
}

/// Settled readings of recorded presses in a band of another button, through the box's filter or not: one
/// by one as the converter gave them.
fn wrong_readings(input: &Input, trials: &[Trial]) -> (u32, u32) {
    let (mut wrong, mut of) = (0, 0);
    for trial in trials.iter().filter(|trial| matches!(trial.kind, TrialKind::Recorded(_))) {
        // From the right button's first reading in its band to its last.
        let Some((wire, own, _)) = trial.button.and_then(|b| input.rules.buttons.get(usize::from(b))) else {
            continue;
        };
        let holds = |low: u16, high: u16, level: &Level| {
            (low..=high).contains(&(level.steps() / Level::PER_COUNT as u16))
        };
        let inside = |level: &&Level| holds(own.low, own.high, level);
        let settled = trial.levels.iter().skip(trial.left_at).filter(inside).count();
        if settled == 0 {
            continue;
        }
        let first = trial.levels.windows(8).position(|eight| eight.iter().all(|level| inside(&level)));
        let last = trial.levels.windows(8).rposition(|eight| eight.iter().all(|level| inside(&level)));
        let (Some(first), Some(last)) = (first, last) else { continue };
        for level in &trial.levels[first..last + 8] {
            of += 1;
            let other = input.rules.buttons.iter().enumerate().any(|(place, (on, band, _))| {
                Some(place) != trial.button.map(usize::from)
                    && on == wire
                    && holds(band.low, band.high, level)
            });
            wrong += u32::from(other);
        }
    }
    (wrong, of)
}

/// What would make it surer.
fn wanting(input: &Input, trials: &[Trial], presses: u32, slow: u32) -> Vec<Wanting> {
    let has = |button: u8| {
        trials.iter().any(|t| matches!(t.kind, TrialKind::Recorded(_)) && t.button == Some(button))
    };
    let takes = |place: u8| {
        input.rules.buttons.get(usize::from(place)).is_some_and(|(_, band, _)| band.low <= band.high)
    };
    let buttons = (0_u8..).take(input.rules.buttons.len());
    let mut wanting: Vec<_> =
        buttons.filter(|&button| takes(button) && !has(button)).map(Wanting::Button).collect();
    if let Some((more, share)) = towards(slow) {
        wanting.push(Wanting::Slow { more, share });
    }
    if let Some((more, share)) = towards(presses) {
        wanting.push(Wanting::Presses { more, share });
    }
    wanting
}

/// How many presses more, all right, exclude the next share of errors that isn't yet.
fn towards(of: u32) -> Option<(u32, f64)> {
    let bound = upper_bound(0, of, CONFIDENCE);
    let share = GOALS.into_iter().find(|&share| share < bound)?;
    Some((trials_for(share, CONFIDENCE).saturating_sub(of), share))
}

/// A row as it is counted.
#[derive(Default)]
struct Row {
    recorded: Tally,
    made: Tally,
    taps_ms: Vec<u32>,
}

impl Row {
    fn take(&mut self, trial: &Trial, played: &super::Played) {
        let tally = match trial.kind {
            TrialKind::Recorded(_) => &mut self.recorded,
            TrialKind::Tap(_) | TrialKind::Pass | TrialKind::Spike => &mut self.made,
        };
        tally.of += 1;
        tally.wrong += u32::from(played.wrong.is_some());
        tally.missed += u32::from(trial.button.is_some() && played.decided_ms.is_none());
        if matches!(trial.kind, TrialKind::Tap(touch) if touch != Touch::Light) {
            self.taps_ms.extend(played.decided_ms);
        }
    }

    fn finish(mut self, dwell_ms: u8, reading_error: f64) -> DwellRow {
        self.taps_ms.sort_unstable();
        let at = |share: f64| {
            let place = (share * self.taps_ms.len() as f64).ceil() as usize;
            self.taps_ms.get(place.saturating_sub(1)).copied().map(f64::from)
        };
        let latency = at(0.5).zip(at(0.95)).map(|(median_ms, p95_ms)| Latency {
            median_ms,
            p95_ms,
            of: self.taps_ms.len() as u32,
        });
        let Tally { wrong, missed, of } = self.recorded;
        DwellRow {
            dwell_ms,
            latency,
            recorded: self.recorded,
            made: self.made,
            wrong_upper: upper_bound(wrong, of, CONFIDENCE),
            missed_upper: upper_bound(missed, of, CONFIDENCE),
            run_wait_s: mean_wait(reading_error, u32::from(dwell_ms)) / 1e3,
        }
    }
}
