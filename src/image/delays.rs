//! How long after a press the box sends each gesture. Knows the recogniser's rules and no clock: the
//! stereo's line may be busy with a code before it.

use crate::project::Plan;

/// Up to a millisecond goes by until the next reading, and another in the filter: the middle of three
/// shows a new level with its second reading.
const FILTER_MS: u32 = 2;

/// How long each gesture takes until it is sent, at most, in milliseconds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Delays {
    /// A tap of a button that has neither hold nor double tap, from the press.
    pub tap_ms: u32,
    /// A tap of a button that has a hold too, from letting go.
    pub tap_beside_hold_ms: u32,
    /// A tap of a button that has a double tap too, from letting go.
    pub tap_beside_double_ms: u32,
    /// A hold, from the press.
    pub hold_ms: u32,
    /// A double tap, from its second press.
    pub double_ms: u32,
}

impl Delays {
    /// As a plan gives them.
    #[must_use]
    pub fn of(plan: &Plan) -> Self {
        let recognised = u32::from(plan.dwell_ms) + FILTER_MS;
        Self {
            tap_ms: recognised,
            tap_beside_hold_ms: recognised,
            tap_beside_double_ms: recognised + u32::from(plan.double_ms),
            hold_ms: recognised + u32::from(plan.hold_ms),
            double_ms: recognised,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::recognise::{Band, EventKind, Has, Rules, Wires, replay};
    use crate::signal::Level;

    const REST: u16 = 959;
    const BUTTON: u16 = 200;

    /// When something happens, in ticks, by the box's own recogniser: counts held for so many ticks.
    fn tick_of(wanted: EventKind, plan: &Plan, has: Has, held: &[(u16, usize)]) -> u32 {
        let rules = Rules {
            wires: Wires::One,
            rests: [Band { low: 930, high: 990 }; 2],
            buttons: vec![(1, Band { low: 170, high: 230 }, has)],
            dwell_ticks: plan.dwell_ms,
            settle: Level::from_count(4.0),
            hold_ticks: plan.hold_ms,
            double_ticks: plan.double_ms,
            rollover: false,
        };
        let level = |count: u16| [Level::from_count(f64::from(count)), Level::NONE];
        let readings = held.iter().flat_map(|&(count, ticks)| std::iter::repeat_n(level(count), ticks));
        let events = replay(&rules, readings).unwrap();
        events.into_iter().find(|(_, event)| event.kind == wanted).unwrap().0
    }

    /// The recogniser's ticks count from the first reading; a person's time from up to one before.
    fn is_told(said_ms: u32, ticks: u32) {
        assert!(said_ms.checked_sub(ticks).is_some_and(|rest| rest <= 2), "said {said_ms}, was {ticks}");
    }

    #[test]
    fn the_recogniser_of_the_box_keeps_the_delays_that_are_told() {
        let tap = Has { tap: true, ..Has::default() };
        for (dwell_ms, hold_ms, double_ms) in [(24, 600, 300), (1, 100, 50), (64, 2_000, 900)] {
            let plan = Plan { dwell_ms, hold_ms, double_ms, ..Plan::default() };
            let delays = Delays::of(&plan);
            let long = [(REST, 200), (BUTTON, 2_500), (REST, 2_500)];
            is_told(delays.tap_ms, tick_of(EventKind::Tap, &plan, tap, &long) - 200);
            let hold = Has { hold: true, ..tap };
            is_told(delays.hold_ms, tick_of(EventKind::Hold, &plan, hold, &long) - 200);
            let short = [(REST, 200), (BUTTON, 80), (REST, 2_500)];
            is_told(delays.tap_beside_hold_ms, tick_of(EventKind::Tap, &plan, hold, &short) - 280);
            let double = Has { double_tap: true, ..tap };
            is_told(delays.tap_beside_double_ms, tick_of(EventKind::Tap, &plan, double, &short) - 280);
            // Both taps and the pause long enough for the dwell, the pause short enough for the window.
            let pause = usize::from(dwell_ms) + 20;
            let twice = [(REST, 200), (BUTTON, 80), (REST, pause), (BUTTON, 80), (REST, 2_500)];
            let second = 280 + pause as u32;
            is_told(delays.double_ms, tick_of(EventKind::DoubleTap, &plan, double, &twice) - second);
        }
    }
}
