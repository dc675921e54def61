//! The box's supply, from the vehicle's 12 V to its own 5 V: what becomes of it at 9 to 16 V, in the heat,
//! while the starter runs, on reversed and on jumped batteries. Knows no stereo.

mod crank;
mod heat;
mod report;
#[cfg(test)]
mod tests;
mod warning;
mod wire;

use serde::{Deserialize, Serialize};

pub use crank::{BROWN_OUT_V, BoxDoes, CRANKING, Crank, CrankProfile};
pub use heat::{Heat, buck_heat_w, junction_c, linear_heat_w, rated_heat_w};
pub use report::{HeatAt, SUPPLY_VOLTS, SupplyReport, days_to_half};
pub use warning::SupplyWarning;
pub use wire::Gauge;

/// What the box runs on, in volts.
pub const BOX_V: f64 = 5.0;

/// A kind of regulator.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Regulator {
    /// What it doesn't pass on becomes heat.
    Linear,
    /// A switching converter that steps down.
    #[default]
    Buck,
}

/// Where the vehicle's supply is tapped.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Tap {
    /// The accessory supply: off with the key.
    #[default]
    Accessory,
    /// The battery itself.
    Permanent,
}

/// What stands against a battery joined the wrong way round.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ReverseGuard {
    /// Nothing.
    Nothing,
    /// A silicon diode in series.
    Diode,
    /// A Schottky diode in series.
    #[default]
    Schottky,
    /// A P-channel MOSFET in series.
    PFet,
}

impl Regulator {
    /// Both.
    pub const ALL: [Self; 2] = [Self::Linear, Self::Buck];

    /// What it is called.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Linear => "Linear regulator",
            Self::Buck => "Buck converter",
        }
    }
}

impl Tap {
    /// Both.
    pub const ALL: [Self; 2] = [Self::Accessory, Self::Permanent];

    /// What it is called.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Accessory => "Accessory",
            Self::Permanent => "Battery",
        }
    }
}

impl ReverseGuard {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Nothing, Self::Diode, Self::Schottky, Self::PFet];

    /// What it is called.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Nothing => "Nothing",
            Self::Diode => "Silicon diode",
            Self::Schottky => "Schottky diode",
            Self::PFet => "P-MOSFET",
        }
    }

    /// What it takes of the supply at a box's current, in volts (common practice, no source).
    #[must_use]
    pub const fn drop_v(self) -> f64 {
        match self {
            Self::Nothing => 0.0,
            Self::Diode => 0.8,
            Self::Schottky => 0.4,
            Self::PFet => 0.02,
        }
    }
}
