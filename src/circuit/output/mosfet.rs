//! A MOSFET: its channel by the square law (W. Shockley; H. Shichman and D. A. Hodges, IEEE Journal of
//! Solid-State Circuits 3, 1968, from memory), its charges by the datasheet's three capacitances. Knows no
//! circuit around it.

use super::device::Flow;
use super::slope::Slope;

/// A MOSFET's values.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mosfet {
    /// Gate to source where the channel opens, typical, in volts: `VGS(th)`.
    pub threshold_v: f64,
    /// The channel's factor, in A/V²: `RDS(on) = 1 / (K · (VGS − VGS(th)))`.
    pub factor: f64,
    /// Gate to source, in farads: `Ciss − Crss`.
    pub gate_source_farad: f64,
    /// Gate to drain, in farads: `Crss`.
    pub gate_drain_farad: f64,
    /// Drain to source, in farads: `Coss − Crss`.
    pub drain_source_farad: f64,
}

impl Mosfet {
    /// What flows and is stored with so many volts from gate and from drain to the source.
    pub(super) fn flow(&self, gate_v: f64, drain_v: f64) -> Flow {
        let (gate, drain) = (Slope::control(gate_v), Slope::collector(drain_v));
        // The channel is symmetric: below 0 V the drain is its source.
        let collector_a =
            if drain_v >= 0.0 { self.channel(gate, drain) } else { -self.channel(gate - drain, -drain) };
        let across_q = (gate - drain) * self.gate_drain_farad;
        Flow {
            control_a: Slope::fixed(0.0),
            collector_a,
            control_q: gate * self.gate_source_farad + across_q,
            collector_q: drain * self.drain_source_farad - across_q,
        }
    }

    /// The channel's current with 0 V or more across it.
    fn channel(&self, gate: Slope, drain: Slope) -> Slope {
        let over = gate - Slope::fixed(self.threshold_v);
        if over.value <= 0.0 {
            Slope::fixed(0.0)
        } else if drain.value < over.value {
            drain * (over - drain * 0.5) * self.factor
        } else {
            over * over * (0.5 * self.factor)
        }
    }
}
