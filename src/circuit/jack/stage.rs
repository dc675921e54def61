//! The box's output stage on the stereo's line, at rest: whether its transistor can pull the line low,
//! and how low. Static only: what a cable's capacitance does to the edges is not asked here.

use super::Source;
use crate::wire::REMOTE_LINE;

/// The output stage: a pin drives a transistor's base, its collector pulls the line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OutputStage {
    /// What the pin drives, in volts.
    pub drive_v: f64,
    /// From the pin to the base, in ohms; above 0.
    pub base_ohm: f64,
    /// From base to ground, in ohms; above 0.
    pub base_pulldown_ohm: f64,
    /// From the collector to the line, in ohms; 0 where there is none.
    pub series_ohm: f64,
}

/// What the output stage does to a line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pull {
    /// What the transistor must sink at most, in amperes: the whole pull-up with the line at ground.
    pub sink_a: f64,
    /// Up to which current it is sure to saturate, in amperes.
    pub limit_a: f64,
    /// What the line stands at while it is pulled low, at most, in volts; `None` where the transistor
    /// isn't sure to saturate.
    pub low_v: Option<f64>,
}

/// The volts between a 2N3904's collector and emitter that destroy it: `VCEO`, 2N3904 datasheet,
/// absolute maximum ratings.
pub(super) const VCEO_V: f64 = 40.0;
/// A saturated 2N3904's collector stands at this at most, in volts: `VCE(sat)` at 10 mA with 1 mA into
/// the base, 2N3904 datasheet.
pub(super) const VCE_SAT_V: f64 = 0.2;
/// Collector current to base current at which the datasheet gives `VCE(sat)`: forced beta.
const FORCED_BETA: f64 = 10.0;
/// Between base and emitter of a silicon transistor that conducts, in volts (common practice; the
/// 2N3904's datasheet gives 0.65 to 0.85 V, from memory of it).
const VBE_V: f64 = 0.7;

impl Default for OutputStage {
    /// As the box is wired: [`REMOTE_LINE`].
    fn default() -> Self {
        Self {
            drive_v: REMOTE_LINE.drive_v,
            base_ohm: REMOTE_LINE.base_ohm,
            base_pulldown_ohm: REMOTE_LINE.base_pulldown_ohm,
            series_ohm: REMOTE_LINE.series_ohm,
        }
    }
}

impl OutputStage {
    /// What flows into the base, in amperes: `(Vdrive − VBE) / Rb − VBE / Rpd`.
    #[must_use]
    pub fn base_a(&self) -> f64 {
        ((self.drive_v - VBE_V) / self.base_ohm - VBE_V / self.base_pulldown_ohm).max(0.0)
    }

    /// What it does to a line that is this source at idle. The line's low level is
    /// `VCE(sat) + I · Rs`, with the current the source gives at `VCE(sat)`.
    #[must_use]
    pub fn pull(&self, line: Source) -> Pull {
        let whole_ohm = line.ohm + self.series_ohm;
        let through = |volt: f64| if volt > 0.0 { volt / whole_ohm } else { 0.0 };
        let sink_a = through(line.volt);
        let limit_a = FORCED_BETA * self.base_a();
        let low_v = VCE_SAT_V.min(line.volt) + through(line.volt - VCE_SAT_V) * self.series_ohm;
        Pull { sink_a, limit_a, low_v: (sink_a <= limit_a).then_some(low_v) }
    }
}
