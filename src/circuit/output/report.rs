//! What the output stage comes to on one line with one shortest mark: every figure, and what is odd.

use super::warning::{self, StageWarning};
use super::{Edges, OutputStage, Pull, StagePoint};
use crate::circuit::Source;

/// The line a stage pulls, and what is sent on it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StageLine {
    /// The stereo's input at idle: volts behind its pull-up.
    pub source: Source,
    /// What hangs on the line, in farads; 0 or more.
    pub farad: f64,
    /// The shortest mark that is sent, in microseconds; above 0.
    pub mark_us: f64,
}

/// What the stage does.
#[derive(Clone, Debug, PartialEq)]
pub struct StageReport {
    /// On which line.
    pub line: StageLine,
    /// Settled, with a typical transistor.
    pub point: StagePoint,
    /// What it is sure to do, by the datasheet's limits.
    pub pull: Pull,
    /// The mark's edges.
    pub edges: Edges,
    /// The mark as the line sees it, in microseconds: between falling and rising through
    /// [`super::THRESHOLD_SHARE`] of the idle volts. 0 where it isn't seen at all; infinite where the line
    /// never rises again.
    pub mark_at_line_us: f64,
    /// From the pin's edge until the line has risen to that share, in microseconds: stored charge and rise.
    /// 0 where the line is never low.
    pub turn_off_us: f64,
    /// What is odd, the gravest first; empty where the stage will do.
    pub warnings: Vec<StageWarning>,
}

/// By which share of itself the shortest mark may become longer or shorter: a quarter. Decoders tell
/// durations apart to half a unit (FACTS D2, as the Linux kernel's do); a receiver's own stretch of the mark
/// is not in a wired one, and half of that half is kept for the sender (common practice, no source).
pub const MOST_STRETCH: f64 = 0.25;

impl StageReport {
    /// By which share of itself the mark is longer on the line; below 0 where it is shorter.
    #[must_use]
    pub fn stretch(&self) -> f64 {
        self.mark_at_line_us / self.line.mark_us - 1.0
    }

    /// Of the turn-off, what the transistor's stored charge takes, in microseconds; the line's rise takes
    /// the rest.
    #[must_use]
    pub fn release_us(&self) -> f64 {
        (self.edges.release_s * 1e6).min(self.turn_off_us)
    }

    /// What an input that idles as this line does takes as low, in volts.
    #[must_use]
    pub fn low_limit_v(&self) -> f64 {
        warning::low_limit_v(self.line.source.volt)
    }

    /// Whether the stage will do as it is.
    #[must_use]
    pub fn is_good(&self) -> bool {
        self.warnings.is_empty()
    }
}

impl OutputStage {
    /// What it comes to on this line.
    #[must_use]
    pub fn report(&self, line: StageLine) -> StageReport {
        let point = self.point(line.source);
        let edges = self.edges(line.source, line.farad, line.mark_us * 1e-6);
        let (mark_at_line_us, turn_off_us) = match (edges.fall_s, edges.rise_s) {
            (None, _) => (0.0, 0.0),
            (Some(_), None) => (f64::INFINITY, f64::INFINITY),
            (Some(fall_s), Some(rise_s)) => (line.mark_us + (rise_s - fall_s) * 1e6, rise_s * 1e6),
        };
        let mut report = StageReport {
            line,
            point,
            pull: self.pull(line.source),
            edges,
            mark_at_line_us,
            turn_off_us,
            warnings: Vec::new(),
        };
        report.warnings = warning::of(self, &report);
        report
    }
}
