//! What the output stage is sure to do to a line: by the limits its transistor's datasheet promises, where
//! `point` goes by a typical one.

use super::{OutputStage, Promise};
use crate::circuit::Source;

/// What the output stage is sure to do to a line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pull {
    /// What the transistor must sink at most, in amperes: the whole pull-up with the line at ground.
    pub sink_a: f64,
    /// Up to which current it is sure to be on fully, in amperes.
    pub limit_a: f64,
    /// What the line stands at while it is pulled low, at most, in volts; `None` where the transistor
    /// isn't sure to be on fully.
    pub low_v: Option<f64>,
}

/// Collector current to base current at which datasheets give `VCE(sat)`: forced beta.
pub const FORCED_BETA: f64 = 10.0;
/// Between base and emitter of a silicon transistor that conducts, in volts (common practice; the
/// 2N3904's datasheet gives 0.65 to 0.85 V, from memory of it).
const VBE_V: f64 = 0.7;

impl OutputStage {
    /// What flows into the base, in amperes, with the usual 0.7 V there: `(Vdrive − VBE) / Rb − VBE / Rpd`. A
    /// gate takes none.
    #[must_use]
    pub fn base_a(&self) -> f64 {
        if self.device.is_mosfet() {
            return 0.0;
        }
        ((self.drive_v - VBE_V) / self.base_ohm - VBE_V / self.base_pulldown_ohm).max(0.0)
    }

    /// What a gate stands at, in volts: the pin, through base resistor and pull-down.
    #[must_use]
    pub fn gate_v(&self) -> f64 {
        Source { volt: self.drive_v, ohm: self.base_ohm }.loaded_v(self.base_pulldown_ohm)
    }

    /// What it is sure to do to a line that is this source at idle. The line's low level is
    /// `VCE(sat) + I · Rs`, with the current the source gives at `VCE(sat)`; or of a MOSFET the divider
    /// that `RDS(on) + Rs` make.
    #[must_use]
    pub fn pull(&self, line: Source) -> Pull {
        let whole_ohm = line.ohm + self.series_ohm;
        let through = |volt: f64| if volt > 0.0 { volt / whole_ohm } else { 0.0 };
        let sink_a = through(line.volt);
        let (limit_a, low_v) = match self.device.row().promise {
            promise @ Promise::Saturation([_, (last_a, _)]) => {
                let sat_v = promise.most_v(sink_a);
                let low_v = sat_v.min(line.volt) + through(line.volt - sat_v) * self.series_ohm;
                ((FORCED_BETA * self.base_a()).min(last_a), low_v)
            }
            Promise::Resistance { ohm, gate_v } => {
                let limit_a = if self.gate_v() >= gate_v { self.device.row().rated_a } else { 0.0 };
                (limit_a, line.loaded_v(ohm + self.series_ohm))
            }
        };
        Pull { sink_a, limit_a, low_v: (sink_a <= limit_a).then_some(low_v) }
    }

    /// The largest base resistor, in ohms, with which the transistor is sure to sink this current; `None`
    /// where none is, or the control electrode is a gate.
    #[must_use]
    pub fn sure_base_ohm(&self, sink_a: f64) -> Option<f64> {
        let Promise::Saturation([_, (last_a, _)]) = self.device.row().promise else { return None };
        let ohm = (self.drive_v - VBE_V) / (sink_a / FORCED_BETA + VBE_V / self.base_pulldown_ohm);
        (sink_a <= last_a && ohm > 0.0).then_some(ohm)
    }
}
