//! The meter check: what a meter found, step by step, and whether that is a ladder. Knows no circuit
//! and no names.
//!
//! Six steps, in an order that never puts ohms on a wire that may carry volts: the plug is open and
//! the ignition off until the fifth. What each outcome means is common practice, no source, but for
//! the values named here. Resistances at rest and pressed are kept with the wires and the buttons
//! and are handed in: no value stands twice.

mod report;
#[cfg(test)]
mod tests;
mod words;

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

pub use report::{BusSign, CheckFacts, CheckReport, CheckVerdict, StepState};
pub use words::AIRBAG;

/// What the meter found, as far as it was asked.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct MeterCheck {
    /// The ignition is off and the plug is open.
    pub ready: bool,
    /// What was found of each wire, by its number, 1 or 2.
    pub wires: BTreeMap<u8, WireCheck>,
    /// Whether the meter stands still while a button is held.
    pub steady: Option<bool>,
    /// Whether each button reads another value.
    pub differ: Option<Differ>,
}

/// What was found of one wire.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct WireCheck {
    /// From the wire to the chassis, plug open.
    pub chassis: Option<ToChassis>,
    /// Across wire and return at rest there is no path. With a resistance it is the wire's own value
    /// that says so.
    pub open: bool,
    /// On the car's side of the plug, key on, from the wire's contact to ground, in volts, 0 to 60.
    pub car_v: Option<f64>,
    /// Whether those volts move by themselves.
    pub car_moves: bool,
    /// Across wire and return at rest, key off again, in ohms, 0 to 100 MΩ.
    pub again_ohm: Option<f64>,
    /// Then there is no path.
    pub again_open: bool,
}

/// What a wire reads to the chassis.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ToChassis {
    /// No path.
    Open,
    /// Some resistance.
    Resistance,
    /// As good as joined: under 5 Ω.
    Joined,
}

/// How the buttons' readings stand to each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Differ {
    /// Each reads another value.
    All,
    /// Some read the same.
    Some,
    /// No press changes anything.
    Nothing,
}

/// The steps, in order.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum CheckStep {
    /// Ignition off and plug open.
    #[default]
    Ready,
    /// Each wire, and the return, to the chassis.
    Chassis,
    /// Across wire and return at rest.
    Rest,
    /// Each press.
    Presses,
    /// Key on, the car's side: volts.
    CarSide,
    /// Across both again.
    Again,
}

impl CheckStep {
    /// All of them.
    pub const ALL: [Self; 6] =
        [Self::Ready, Self::Chassis, Self::Rest, Self::Presses, Self::CarSide, Self::Again];

    /// The step after it.
    #[must_use]
    pub fn next(self) -> Option<Self> {
        Self::ALL.get(self as usize + 1).copied()
    }

    /// The step before it.
    #[must_use]
    pub fn before(self) -> Option<Self> {
        Self::ALL.get((self as usize).checked_sub(1)?).copied()
    }
}

impl MeterCheck {
    /// Whether anything was noted at all.
    #[must_use]
    pub fn is_begun(&self) -> bool {
        *self != Self::default()
    }

    /// What was found of a wire; nothing where it wasn't looked at.
    #[must_use]
    pub fn wire(&self, wire: u8) -> WireCheck {
        self.wires.get(&wire).cloned().unwrap_or_default()
    }
}
