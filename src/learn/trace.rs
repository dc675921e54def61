//! What is kept of a press, reading by reading: from before it left rest to after it came back. Knows no
//! file, and of the button no more than its id.

use std::collections::VecDeque;

use crate::bands::{PressTrace, TRACE_READINGS_MAX, Touch, TraceText};
use crate::project::ButtonId;
use crate::signal::{Level, Reading, Recording, Stretch};
use crate::units::WIRES;

/// How much is kept of before the press left rest, in milliseconds: more than twice the longest dwell.
const BEFORE_MS: f64 = 150.0;
/// How much is kept of after it came back, in milliseconds: the press is known to be over after 20.
const AFTER_MS: f64 = 60.0;
/// How far from its settled part a press's beginning and end are looked for, in milliseconds.
const EDGE_MS: f64 = 3_000.0;
/// So many readings at rest in a row are rest: more than a bounce.
const BACK_READINGS: usize = 20;
/// Of the settled part so much is kept at each of its ends, in milliseconds.
const SETTLED_END_MS: usize = 100;
/// Readings further apart than this are no trace of a press, in milliseconds: a bounce would be missed.
/// The box gives one a millisecond.
const SLOWEST_MS: f64 = 5.0;
/// The same, in the mean.
const SLOWEST_MEAN_MS: f64 = 2.0;
/// What is kept of a press in hand, in readings: half a minute at 1 kHz.
const MOST_IN_HAND: usize = 30_000;

/// Whose press it was.
#[derive(Clone, Copy, Debug)]
pub struct Owner<'a> {
    /// The button.
    pub button: &'a ButtonId,
    /// Its wire, 1 or 2.
    pub wire: u8,
    /// How the press was asked for.
    pub touch: Touch,
}

/// The trace of a press, from one wire's readings around it, in order of time, as (milliseconds, level).
/// `None` where they are no trace: too far apart, with a gap, without the settled part, or too many.
#[must_use]
pub fn trace_of(readings: &[(f64, Level)], settled: &Stretch, owner: Owner<'_>) -> Option<PressTrace> {
    let (first, last) = (readings.first()?, readings.last()?);
    let span_ms = last.0 - first.0;
    let mean_ms = span_ms / (readings.len() - 1).max(1) as f64;
    let is_even = readings.windows(2).all(|pair| (0.0..=SLOWEST_MS).contains(&(pair[1].0 - pair[0].0)));
    if !is_even
        || mean_ms.is_nan()
        || mean_ms > SLOWEST_MEAN_MS
        || readings.iter().any(|(_, l)| *l == Level::NONE)
    {
        return None;
    }
    // One a millisecond: each is held until the next, as the box's tick would find it.
    let ticks = span_ms.round() as usize + 1;
    if ticks > MOST_IN_HAND {
        return None;
    }
    let mut levels = Vec::with_capacity(ticks);
    let mut at = 0;
    for tick in 0..ticks {
        let now_ms = first.0 + tick as f64 + 0.5;
        while readings.get(at + 1).is_some_and(|next| next.0 < now_ms) {
            at += 1;
        }
        levels.push(readings[at].1);
    }
    let tick_of = |t_ms: f64| (t_ms - first.0).round().clamp(0.0, ticks as f64) as usize;
    let (from, mut to) = (tick_of(settled.from_ms), tick_of(settled.to_ms + 1.0));
    if from >= to {
        return None;
    }
    let left_out = (to - from).saturating_sub(2 * SETTLED_END_MS);
    levels.drain(from + SETTLED_END_MS.min(to - from)..from + SETTLED_END_MS.min(to - from) + left_out);
    to -= left_out;
    if levels.len() > TRACE_READINGS_MAX {
        return None;
    }
    let Owner { button, wire, touch } = owner;
    Some(PressTrace {
        button: button.0.clone(),
        wire,
        press: 0,
        touch,
        settled_from: from as u16,
        settled_to: to as u16,
        left_out_ms: left_out as u32,
        readings: TraceText::of(&levels),
    })
}

/// The trace of a press somewhere in a recording: from its settled part outwards until the wire is at
/// rest, that is within `reach` of `rest`, both in counts, and some more. `None` where it doesn't come from
/// rest or doesn't go back.
#[must_use]
pub fn trace_around(
    recording: &Recording,
    settled: &Stretch,
    (rest_count, reach_count): (f64, f64),
    owner: Owner<'_>,
) -> Option<PressTrace> {
    let wire = usize::from(owner.wire).checked_sub(1).filter(|&wire| wire < WIRES)?;
    let on = |reading: Reading| (reading.t_ms, reading.wire[wire]);
    let is_rest = |level: Level| level.count().is_some_and(|count| (count - rest_count).abs() <= reach_count);
    let before: Vec<_> =
        recording.between(settled.from_ms - EDGE_MS - BEFORE_MS, settled.from_ms).map(on).collect();
    let after: Vec<_> = recording.between(settled.to_ms, settled.to_ms + EDGE_MS).map(on).collect();
    // Rest is what stays there: the edge of a slow press may touch it more than once.
    let is_back = |readings: &[(f64, Level)]| readings.iter().all(|(_, level)| is_rest(*level));
    let left_ms = before.windows(BACK_READINGS).rfind(|some| is_back(some))?.last()?.0;
    let back_ms = after.windows(BACK_READINGS).find(|some| is_back(some))?.first()?.0;
    let readings: Vec<_> = recording.between(left_ms - BEFORE_MS, back_ms + AFTER_MS).map(on).collect();
    trace_of(&readings, settled, owner)
}

/// A trace whose levels turned out to be four times too high.
pub(super) fn quartered(trace: &PressTrace) -> Option<PressTrace> {
    let levels = trace.readings.levels().ok()?;
    let quarter: Vec<Level> = levels.iter().map(|level| Level::from_steps(level.steps() / 4)).collect();
    Some(PressTrace { readings: TraceText::of(&quarter), ..trace.clone() })
}

/// The readings that might become a press's trace: the latest at rest, all of a press in hand.
#[derive(Clone, Debug, Default)]
pub(super) struct Keeper {
    readings: VecDeque<(f64, [Level; WIRES])>,
    in_hand: bool,
}

impl Keeper {
    pub(super) fn push(&mut self, t_ms: f64, levels: [Level; WIRES]) {
        self.readings.push_back((t_ms, levels));
        let stale = |oldest: &(f64, _)| t_ms - oldest.0 > BEFORE_MS;
        while (!self.in_hand && self.readings.front().is_some_and(stale))
            || self.readings.len() > MOST_IN_HAND
        {
            self.readings.pop_front();
        }
    }

    /// A press begins: nothing is let go until it is over.
    pub(super) fn begin(&mut self) {
        self.in_hand = true;
    }

    /// Readings are missing here.
    pub(super) fn lost(&mut self) {
        self.readings.clear();
    }

    /// The press is over: its trace, if it has one.
    pub(super) fn end(&mut self, settled: &Stretch, owner: Owner<'_>) -> Option<PressTrace> {
        let wire = usize::from(owner.wire).checked_sub(1)?;
        let of_wire: Vec<(f64, Level)> =
            self.readings.iter().map(|(t_ms, levels)| (*t_ms, levels[wire])).collect();
        // The press began before all that is kept: it was longer than anybody's.
        let has_rest = of_wire.first().is_some_and(|first| settled.from_ms - first.0 > 1.0);
        if has_rest { trace_of(&of_wire, settled, owner) } else { None }
    }

    /// No press is in hand any more.
    pub(super) fn let_go(&mut self) {
        self.in_hand = false;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const OWNER: fn(&ButtonId) -> Owner<'_> = |button| Owner { button, wire: 1, touch: Touch::Firm };

    /// 150 ms of rest, 10 of an edge, so many settled, 20 back at rest; a reading each `step_ms`.
    fn press(settled_ms: u32, step_ms: f64) -> (Vec<(f64, Level)>, Stretch) {
        let total = 150 + 10 + settled_ms + 20;
        let mut readings = Vec::new();
        let mut at_ms = 0.0;
        while at_ms < f64::from(total) {
            let ms = at_ms as u32;
            let count = if !(150..160 + settled_ms).contains(&ms) {
                959.0
            } else if ms < 160 {
                900.0 - 50.0 * f64::from(ms - 150)
            } else {
                216.0 + f64::from(ms % 2)
            };
            readings.push((1e4 + at_ms, Level::from_count(count)));
            at_ms += step_ms;
        }
        let settled = Stretch {
            from_ms: 1e4 + 160.0,
            to_ms: 1e4 + 159.0 + f64::from(settled_ms),
            median_count: 216.0,
            spread_count: 0.5,
            readings: settled_ms,
        };
        (readings, settled)
    }

    #[test]
    fn a_long_settled_part_is_thinned_and_the_edges_are_whole() {
        let (readings, settled) = press(1_000, 1.0);
        let id = ButtonId("next".to_owned());
        let trace = trace_of(&readings, &settled, OWNER(&id)).unwrap();
        assert_eq!((trace.settled_from, trace.settled_to, trace.left_out_ms), (160, 360, 800));
        let levels = trace.readings.levels().unwrap();
        assert_eq!(levels.len(), 150 + 10 + 200 + 20);
        let count = |at: usize| levels[at].count().unwrap();
        assert_eq!((count(149), count(150), count(159), count(160)), (959.0, 900.0, 450.0, 216.0));
        assert_eq!((count(359), count(360)), (217.0, 959.0));
        assert_eq!(trace.check(), Ok(()));
        assert!(trace.readings.bytes() < 460, "{} bytes", trace.readings.bytes());
    }

    #[test]
    fn a_short_press_is_kept_whole() {
        let (readings, settled) = press(150, 1.0);
        let id = ButtonId("next".to_owned());
        let trace = trace_of(&readings, &settled, OWNER(&id)).unwrap();
        assert_eq!((trace.settled_from, trace.settled_to, trace.left_out_ms), (160, 310, 0));
        let kept: Vec<Level> = readings.iter().map(|(_, level)| *level).collect();
        assert_eq!(trace.readings.levels().unwrap(), kept);
    }

    #[test]
    fn readings_of_500_a_second_are_held_and_those_of_100_are_no_trace() {
        let id = ButtonId("next".to_owned());
        let (readings, settled) = press(300, 2.0);
        let trace = trace_of(&readings, &settled, OWNER(&id)).unwrap();
        let levels = trace.readings.levels().unwrap();
        assert_eq!(levels.len(), 150 + 10 + 200 + 19);
        let (readings, settled) = press(300, 10.0);
        assert_eq!(trace_of(&readings, &settled, OWNER(&id)), None);
    }

    #[test]
    fn a_press_with_a_reading_missing_is_no_trace() {
        let id = ButtonId("next".to_owned());
        let (mut readings, settled) = press(300, 1.0);
        readings[200].1 = Level::NONE;
        assert_eq!(trace_of(&readings, &settled, OWNER(&id)), None);
        readings.drain(195..205);
        assert_eq!(trace_of(&readings, &settled, OWNER(&id)), None);
        assert_eq!(trace_of(&[], &settled, OWNER(&id)), None);
    }
}
