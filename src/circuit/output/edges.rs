//! The output stage in time: one mark from the pin's edge to the line's, with the charges its transistor
//! and the line store. Knows no code and no family.
//!
//! The charges' equations are integrated by implicit Euler steps, each done whole and in halves: the two
//! give the error, from which the next step's length follows, and together a better value (Richardson's
//! extrapolation). Implicit, because a transistor's picoseconds and a line's milliseconds meet here.

use super::OutputStage;
use super::device::Flow;
use super::point::Around;
use crate::circuit::Source;

/// One mark as it goes through the stage.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Edges {
    /// From the pin's rising edge until the line has fallen to the threshold, in seconds; `None` where it
    /// doesn't within the mark.
    pub fall_s: Option<f64>,
    /// From the pin's falling edge until the transistor has let go, in seconds: its current has fallen to a
    /// tenth. Its stored charge takes that long.
    pub release_s: f64,
    /// From the pin's falling edge until the line has risen to the threshold, in seconds; `None` where it
    /// never does: nothing pulls it up.
    pub rise_s: Option<f64>,
    /// The line over the mark and what follows: seconds from the pin's rising edge, and volts.
    pub trace: Vec<[f64; 2]>,
}

/// At which share of its idle volts the line counts as high again, and below it as low: the higher of the
/// usual thresholds, so that the mark seen is the longest (CMOS `VIH` is 0.7 of the supply, JEDEC JESD8C,
/// from memory; FACTS E reckons with 70 % too).
pub const THRESHOLD_SHARE: f64 = 0.7;
/// How long a line is waited for to rise, in seconds, and in its own time constants beside that.
const LONGEST: (f64, f64) = (1.0, 10.0);

/// How far the two ways to a step may be apart, in volts.
const STEP_ERROR_V: f64 = 5e-4;
/// The share of the line's volts that it moves in one step, at most: what is between is drawn straight.
const STEP_SHARE: f64 = 0.04;
/// The first step after an edge, in seconds: short against any charge.
const FIRST_S: f64 = 1e-12;
/// Below this a step is taken as it is, in seconds.
const LEAST_S: f64 = 1e-15;
/// More steps than any mark takes.
const MOST_STEPS: usize = 20_000;
/// Newton's steps within one.
const MOST_ITERATIONS: usize = 40;
/// How close they come, in volts.
const CLOSE_V: f64 = 1e-8;
/// How far a Newton step may go, in volts: junctions are steep.
const LONGEST_V: f64 = 0.25;
/// The share of the transistor's current at which it has let go.
const RELEASED_SHARE: f64 = 0.1;

/// Control, collector and line, in volts.
type Volts = [f64; 3];

/// What integrates: the circuit around the transistor, and the line's capacitance.
struct Run {
    around: Around,
    farad: f64,
    at_s: f64,
    volts: Volts,
    trace: Vec<[f64; 2]>,
}

/// What one phase waits for.
enum Until {
    /// The time is over.
    Seconds,
    /// The line has risen to so many volts, or the time is over.
    Line(f64),
}

/// One mark of `mark_s` through the stage onto a line of this capacitance.
pub(super) fn of(stage: &OutputStage, line: Source, farad: f64, mark_s: f64) -> Edges {
    let off = Around::new(stage, line, 0.0);
    let [control_v, settled_v] = off.settled();
    // A line that nothing pulls up stays where it was: at the volts it was given with.
    let collector_v = if line.ohm.is_finite() { settled_v } else { line.volt };
    let line_v = off.line_v(collector_v);
    let threshold_v = THRESHOLD_SHARE * line.volt;
    let mut run = Run {
        around: Around::new(stage, line, stage.drive_v),
        farad,
        at_s: 0.0,
        volts: [control_v, collector_v, line_v],
        trace: vec![[0.0, line_v]],
    };
    let mut fall_s = None;
    run.phase(mark_s, &Until::Seconds, |before, after, _| {
        if fall_s.is_none() {
            fall_s = crossing(before, after, threshold_v);
        }
    });
    let is_low = run.volts[2] < threshold_v;
    let on_a = run.collector_a();
    run.around = off;
    let (mut release_s, mut rise_s) = (None, None);
    let longest_s = LONGEST.0 + if line.ohm.is_finite() { LONGEST.1 * line.ohm * farad } else { 0.0 };
    run.phase(longest_s, &Until::Line(threshold_v), |before, after, collector_a| {
        if release_s.is_none() && collector_a <= RELEASED_SHARE * on_a {
            release_s = Some(after[0] - mark_s);
        }
        if rise_s.is_none() {
            rise_s = crossing(before, after, threshold_v).map(|at_s| at_s - mark_s);
        }
    });
    Edges {
        fall_s: if is_low { fall_s } else { None },
        release_s: release_s.unwrap_or(run.at_s - mark_s),
        rise_s: if is_low { rise_s } else { None },
        trace: run.trace,
    }
}

/// When the line passes so many volts between two points of it, in seconds.
fn crossing([from_s, from_v]: [f64; 2], [to_s, to_v]: [f64; 2], volt: f64) -> Option<f64> {
    let passes = (from_v < volt) != (to_v < volt);
    passes.then(|| from_s + (to_s - from_s) * (volt - from_v) / (to_v - from_v))
}

impl Run {
    /// Goes on for so long; `seen` is told each step's start and end, seconds and volts of the line, and the
    /// collector's current after it. Some steps after what is waited for are still taken, for the picture.
    fn phase(&mut self, long_s: f64, until: &Until, mut seen: impl FnMut([f64; 2], [f64; 2], f64)) {
        let end_s = self.at_s + long_s;
        let most_v = STEP_SHARE * self.around.pull_up_v.abs().max(CLOSE_V);
        let mut step_s = FIRST_S;
        for _ in 0..MOST_STEPS {
            let left_s = end_s - self.at_s;
            if left_s <= 0.0 || matches!(until, Until::Line(volt) if self.volts[2] >= self.shown_to(*volt)) {
                return;
            }
            let this_s = step_s.min(left_s);
            let tried = self.tried(this_s);
            let (error_v, moved_v) = tried
                .map_or((f64::INFINITY, 0.0), |(next, error_v)| (error_v, (next[2] - self.volts[2]).abs()));
            let strain = (error_v / STEP_ERROR_V).max((moved_v / most_v).powi(2));
            if let (Some((next, _)), true) = (tried, strain <= 1.0 || this_s <= LEAST_S) {
                let before = [self.at_s, self.volts[2]];
                self.at_s = if this_s == left_s { end_s } else { self.at_s + this_s };
                self.volts = next;
                let after = [self.at_s, next[2]];
                self.trace.push(after);
                seen(before, after, self.collector_a());
            }
            let longer = if strain > 0.0 { 0.9 / strain.sqrt() } else { 4.0 };
            step_s = (this_s * longer.clamp(0.2, 4.0)).max(LEAST_S);
        }
    }

    /// What flows from the line into the transistor, in amperes: through it, or into its charges.
    fn collector_a(&self) -> f64 {
        let [_, collector_v, line_v] = self.volts;
        (line_v - collector_v) * self.around.collector_siemens
    }

    /// How far up a rise is followed: well past its threshold.
    fn shown_to(&self, threshold_v: f64) -> f64 {
        threshold_v + 0.8 * (self.around.pull_up_v - threshold_v)
    }

    /// Where a step of so long leads, and how far the whole and the halves are apart.
    fn tried(&self, step_s: f64) -> Option<(Volts, f64)> {
        let whole = self.step(self.volts, step_s)?;
        let half = self.step(self.volts, 0.5 * step_s)?;
        let halves = self.step(half, 0.5 * step_s)?;
        let mut next = halves;
        let mut error_v = 0.0_f64;
        for (value, coarse) in next.iter_mut().zip(whole) {
            error_v = error_v.max((*value - coarse).abs());
            *value += *value - coarse;
        }
        Some((next, error_v))
    }

    /// One implicit step; `None` where Newton's steps lead nowhere.
    fn step(&self, from: Volts, step_s: f64) -> Option<Volts> {
        let Around { model, drive_v, drive_siemens, collector_siemens, pull_up_v, pull_up_siemens } =
            self.around;
        let Flow { control_q, collector_q, .. } = model.flow(from[0], from[1]);
        let (stored_q, stored_collector_q) = (control_q.value, collector_q.value);
        // The line is linear: it follows the collector.
        let line_siemens = self.farad / step_s;
        let whole = pull_up_siemens + collector_siemens + line_siemens;
        let line_v = |collector_v: f64| {
            (pull_up_siemens * pull_up_v + collector_siemens * collector_v + line_siemens * from[2]) / whole
        };
        let follows = -(pull_up_siemens + line_siemens) * (collector_siemens / whole);
        let [mut control_v, mut collector_v, _] = from;
        for _ in 0..MOST_ITERATIONS {
            let flow = model.flow(control_v, collector_v);
            let control = (drive_v - control_v) * drive_siemens
                - flow.control_a.value
                - (flow.control_q.value - stored_q) / step_s;
            // What the line gives, written in differences: of a line that hardly anything pulls up, the
            // current is far smaller than the last digit of its volts.
            let given_a = (pull_up_siemens * (pull_up_v - collector_v)
                + line_siemens * (from[2] - collector_v))
                * (collector_siemens / whole);
            let collector =
                given_a - flow.collector_a.value - (flow.collector_q.value - stored_collector_q) / step_s;
            let slope = |of: usize| {
                (
                    -flow.control_a.by[of] - flow.control_q.by[of] / step_s,
                    -flow.collector_a.by[of] - flow.collector_q.by[of] / step_s,
                )
            };
            let ((a, c), (b, d)) = (slope(0), slope(1));
            let (a, d) = (a - drive_siemens, d + follows);
            let determinant = a * d - b * c;
            let (control_by, collector_by) =
                ((b * collector - d * control) / determinant, (c * control - a * collector) / determinant);
            let longest = control_by.abs().max(collector_by.abs());
            if !longest.is_finite() {
                return None;
            }
            let share = (LONGEST_V / longest).min(1.0);
            control_v += control_by * share;
            collector_v += collector_by * share;
            if longest < CLOSE_V {
                return Some([control_v, collector_v, line_v(collector_v)]);
            }
        }
        None
    }
}
