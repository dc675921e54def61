//! A bipolar transistor: the currents and charges of its two junctions by the Gummel-Poon model (H. K.
//! Gummel and H. C. Poon, Bell System Technical Journal 49, 1970; the form with `qb`, `q1`, `q2` and the
//! bias-dependent transit time is the one SPICE uses, P. Antognetti and G. Massobrio, Semiconductor Device
//! Modeling with SPICE, chapter 2; both from memory). Knows no circuit around it.

use super::device::Flow;
use super::slope::Slope;

/// Parameters of the model, by their names in SPICE; at 27 °C. Emitter resistance, and what a parameter
/// left out would be (`NF`, `NR` 1, `VAR` and `IKR` none, `ISC` 0), are not there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bipolar {
    /// `IS`, in amperes.
    pub saturation_a: f64,
    /// `BF`.
    pub forward_beta: f64,
    /// `BR`.
    pub reverse_beta: f64,
    /// `VAF`, in volts.
    pub early_v: f64,
    /// `IKF`, in amperes.
    pub knee_a: f64,
    /// `ISE`, in amperes.
    pub leakage_a: f64,
    /// `NE`.
    pub leakage_emission: f64,
    /// `RB`, in ohms.
    pub base_ohm: f64,
    /// `RC`, in ohms.
    pub collector_ohm: f64,
    /// `CJE`, `VJE`, `MJE`.
    pub emitter_junction: Junction,
    /// `CJC`, `VJC`, `MJC`.
    pub collector_junction: Junction,
    /// `TF`, in seconds.
    pub forward_s: f64,
    /// `XTF`, `VTF` in volts, `ITF` in amperes: how the forward transit time grows.
    pub forward_growth: (f64, f64, f64),
    /// `TR`, in seconds.
    pub reverse_s: f64,
}

/// A junction's depletion layer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Junction {
    /// Its capacitance at 0 V, in farads.
    pub farad: f64,
    /// Its built-in voltage.
    pub volt: f64,
    /// Its grading.
    pub grading: f64,
}

/// kT/q at 27 °C, in volts: 8.617 333 262e-5 V/K (CODATA 2018) · 300.15 K.
const THERMAL_V: f64 = 8.617_333_262e-5 * 300.15;
/// From which share of its built-in voltage a depletion capacitance goes on as a straight line: `FC`.
const STRAIGHT_FROM: f64 = 0.5;
/// The share of `VTF` in the transit time's exponent.
const VTF_SHARE: f64 = 1.44;

impl Bipolar {
    /// What flows and is stored with so many volts from base and from collector to the emitter, inside the
    /// resistances.
    pub(super) fn flow(&self, base_v: f64, collector_v: f64) -> Flow {
        let one = Slope::fixed(1.0);
        let to_emitter = Slope::control(base_v);
        let to_collector = to_emitter - Slope::collector(collector_v);
        let junction = |volt: Slope, emission: f64| (volt * (1.0 / (emission * THERMAL_V))).exp() - one;

        let forward = junction(to_emitter, 1.0) * self.saturation_a;
        let reverse = junction(to_collector, 1.0) * self.saturation_a;
        let leakage = junction(to_emitter, self.leakage_emission) * self.leakage_a;
        // Early effect, then high injection.
        let early = one / (one - to_collector * (1.0 / self.early_v));
        let crowded = (one + forward * (4.0 / self.knee_a)).sqrt();
        let base_charge = early * (one + crowded) * 0.5;

        let across = (forward - reverse) / base_charge;
        let back = reverse * (1.0 / self.reverse_beta);
        let emitter_q = self.emitter_junction.charge(to_emitter)
            + if base_v > 0.0 { self.forward_charge(forward, to_collector, base_charge) } else { one * 0.0 };
        let collector_q = self.collector_junction.charge(to_collector) + reverse * self.reverse_s;
        Flow {
            control_a: forward * (1.0 / self.forward_beta) + leakage + back,
            collector_a: across - back,
            control_q: emitter_q + collector_q,
            collector_q: -collector_q,
        }
    }

    /// What the current on its way through the base amounts to, in coulombs.
    fn forward_charge(&self, forward: Slope, to_collector: Slope, base_charge: Slope) -> Slope {
        let (growth, growth_v, growth_a) = self.forward_growth;
        let share = forward / (forward + Slope::fixed(growth_a));
        let grown = (to_collector * (1.0 / (VTF_SHARE * growth_v))).exp() * share * share * growth;
        forward * (Slope::fixed(1.0) + grown) / base_charge * self.forward_s
    }
}

impl Junction {
    /// What its depletion layer stores, in coulombs, at so many volts in the direction of conduction.
    fn charge(&self, volt: Slope) -> Slope {
        let Self { farad, volt: built_in_v, grading } = *self;
        let one = Slope::fixed(1.0);
        let below = |volt: Slope| {
            (one - (one - volt * (1.0 / built_in_v)).powf(1.0 - grading))
                * (farad * built_in_v / (1.0 - grading))
        };
        let knee_v = STRAIGHT_FROM * built_in_v;
        if volt.value < knee_v {
            return below(volt);
        }
        // The capacitance and its slope are kept from the knee on.
        let beyond = volt - Slope::fixed(knee_v);
        let knee_farad = farad * (1.0 - STRAIGHT_FROM).powf(-grading);
        let slope = knee_farad * grading / (built_in_v * (1.0 - STRAIGHT_FROM));
        below(Slope::fixed(knee_v)) + beyond * knee_farad + beyond * beyond * (0.5 * slope)
    }
}
