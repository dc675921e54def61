//! What the supply comes to: heat of both kinds of regulator, what is left while cranking, the wire, the
//! battery, and what is odd.

use super::crank::{BoxDoes, CRANKING, Crank};
use super::heat::{Heat, buck_heat_w, junction_c, linear_heat_w};
use super::warning::{self, SupplyWarning};
use super::{BOX_V, Regulator, Tap};
use crate::circuit::SupplyParts;

/// At which supplies heat is told, in volts: the lowest of range C and the highest of all (ISO 16750-2:2010,
/// table 1), a battery at rest, and a charging one.
pub const SUPPLY_VOLTS: [f64; 4] = [9.0, 12.0, 14.4, 16.0];

/// Both regulators at one supply.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HeatAt {
    /// The vehicle's supply, in volts.
    pub supply_v: f64,
    /// In a linear regulator.
    pub linear: Heat,
    /// In a buck converter.
    pub buck: Heat,
}

/// What the supply comes to.
#[derive(Clone, Debug, PartialEq)]
pub struct SupplyReport {
    /// The air around it, in °C.
    pub ambient_c: f64,
    /// Heat at each of [`SUPPLY_VOLTS`].
    pub heat: [HeatAt; 4],
    /// Each starting profile.
    pub cranking: [Crank; 4],
    /// What the box draws from the vehicle at 12 V, in amperes.
    pub input_amp: f64,
    /// The wire there and back, in ohms.
    pub wire_ohm: f64,
    /// What the wire takes of the supply at that current, in volts.
    pub wire_drop_v: f64,
    /// How many days a parked vehicle's battery lasts; `None` on the accessory supply.
    pub parked_days: Option<f64>,
    /// What is odd, the gravest first.
    pub warnings: Vec<SupplyWarning>,
}

/// A battery of this many ampere-hours is taken for a usual one (FACTS F).
const BATTERY_AH: f64 = 60.0;
/// A battery at rest, in volts.
const REST_V: f64 = 12.0;

/// How many days of this current use up half a usual battery (FACTS F: 60 Ah half used are 25 days at 50 mA).
#[must_use]
pub fn days_to_half(amp: f64) -> f64 {
    BATTERY_AH / 2.0 / amp / 24.0
}

impl HeatAt {
    /// In a kind of regulator.
    #[must_use]
    pub const fn of(&self, regulator: Regulator) -> Heat {
        match regulator {
            Regulator::Linear => self.linear,
            Regulator::Buck => self.buck,
        }
    }
}

impl SupplyReport {
    /// Whether the supply will do as it is.
    #[must_use]
    pub fn is_good(&self) -> bool {
        self.warnings.is_empty()
    }

    /// The worst the box does while cranking.
    #[must_use]
    pub fn worst_crank(&self) -> BoxDoes {
        self.cranking.iter().map(Crank::at_lowest).max().unwrap_or(BoxDoes::Runs)
    }
}

impl SupplyParts {
    /// What it comes to in air of so many °C.
    #[must_use]
    pub fn report(&self, ambient_c: f64) -> SupplyReport {
        let input_amp = self.input_amp(self.regulator, REST_V);
        let mut report = SupplyReport {
            ambient_c,
            heat: SUPPLY_VOLTS.map(|supply_v| HeatAt {
                supply_v,
                linear: self.heat(Regulator::Linear, supply_v, ambient_c),
                buck: self.heat(Regulator::Buck, supply_v, ambient_c),
            }),
            cranking: CRANKING.map(|profile| Crank {
                profile,
                lowest_box_v: self.box_v(profile.lowest_v),
                turning_box_v: self.box_v(profile.turning_v),
            }),
            input_amp,
            wire_ohm: self.wire_ohm(),
            wire_drop_v: input_amp * self.wire_ohm(),
            parked_days: (self.tap == Tap::Permanent).then(|| days_to_half(input_amp)),
            warnings: Vec::new(),
        };
        report.warnings = warning::of(self, &report);
        report
    }

    /// What a kind of regulator turns into heat at a supply, and its junction.
    fn heat(&self, regulator: Regulator, supply_v: f64, ambient_c: f64) -> Heat {
        let input_v = self.input_v(regulator, supply_v);
        let (heat_w, parts) = match regulator {
            Regulator::Linear => {
                (linear_heat_w(input_v, BOX_V, self.load_amp, self.linear.quiescent_amp), &self.linear)
            }
            Regulator::Buck => (
                buck_heat_w(input_v, BOX_V, self.load_amp, self.efficiency, self.buck.quiescent_amp),
                &self.buck,
            ),
        };
        Heat { heat_w, junction_c: junction_c(ambient_c, heat_w, parts.k_per_w) }
    }

    /// What the box has of its 5 V at a supply, with the regulator that is used.
    #[must_use]
    pub fn box_v(&self, supply_v: f64) -> f64 {
        (self.input_v(self.regulator, supply_v) - self.chosen().dropout_v).clamp(0.0, BOX_V)
    }

    /// At the regulator's input, in volts: less what the reverse guard and the wire take.
    fn input_v(&self, regulator: Regulator, supply_v: f64) -> f64 {
        (supply_v - self.reverse.drop_v() - self.input_amp(regulator, supply_v) * self.wire_ohm()).max(0.0)
    }

    /// What is drawn from the vehicle at a supply, in amperes. A buck converter draws less from more volts,
    /// until it can't step down any more.
    fn input_amp(&self, regulator: Regulator, supply_v: f64) -> f64 {
        let through_v = supply_v - self.reverse.drop_v();
        match regulator {
            Regulator::Linear => self.load_amp + self.linear.quiescent_amp,
            Regulator::Buck => {
                let stepped = BOX_V * self.load_amp / (self.efficiency * through_v.max(BOX_V));
                stepped + self.buck.quiescent_amp
            }
        }
    }

    /// The wire there and back, in ohms.
    fn wire_ohm(&self) -> f64 {
        2.0 * self.wire_m * self.wire.ohm_per_m()
    }
}
