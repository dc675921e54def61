//! The stereo's wired remote input, as a meter finds it, and what that means for the box's output.
//! Knows no code and no project.
//!
//! The check is a short one: which contact, what it stands at with nothing on it, and what 1 kΩ to
//! ground makes of that. Two readings are a source behind a resistance (Thevenin), and from that
//! follows whether the box's transistor can pull the line low ([`super::OutputStage::pull`]). What the
//! input listens for, pulses or resistances, no meter tells: the stereo's manual does.

mod report;
#[cfg(test)]
mod tests;
mod warning;

use serde::{Deserialize, Serialize};

use super::source::Source;

pub use report::{JackMissing, JackReport, JackStep, JackVerdict};
pub use warning::JackWarning;

/// The resistor to ground of the third step, in ohms: 5 mA from a hard 5 V, so that nothing is
/// harmed, and enough to move any pull-up that a logic input has (common practice, no source).
pub const LOAD_OHM: f64 = 1_000.0;

/// What a meter found at the stereo's wired remote input. Each part may still be unknown.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Jack {
    /// Which contact of the plug carries the signal.
    pub contact: Option<JackContact>,
    /// Whether the plug's sleeve, or the harness's ground, is joined with the stereo's ground.
    pub grounded: Option<bool>,
    /// Between that contact and ground with nothing plugged in and the stereo on, in volts, 0 to 60.
    pub idle_v: Option<f64>,
    /// Whether those volts move with nothing done.
    pub idle_moves: bool,
    /// The current from that contact through 1 kΩ to ground, in amperes, 0 to 0.1.
    pub loaded_a: Option<f64>,
    /// The volts across that 1 kΩ, 0 to 60: instead of the current, or beside it.
    pub loaded_v: Option<f64>,
    /// What the input wants.
    pub wants: Option<JackWants>,
}

/// A contact of the stereo's remote input.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum JackContact {
    /// The plug's tip.
    Tip,
    /// The ring behind the tip.
    Ring,
    /// The second ring of a plug with four contacts.
    SecondRing,
    /// A wire of the harness, not a plug.
    Wire,
}

impl JackContact {
    /// All of them, from the plug's end backwards.
    pub const ALL: [Self; 4] = [Self::Tip, Self::Ring, Self::SecondRing, Self::Wire];

    /// What it is called.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Tip => "tip",
            Self::Ring => "ring",
            Self::SecondRing => "second ring",
            Self::Wire => "wire",
        }
    }
}

/// What a remote input listens for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum JackWants {
    /// Pulses: a remote code without its carrier.
    Pulses,
    /// Resistances: each button another one to ground.
    Resistances,
}

/// Volts up to this are none, for an idle line (common practice, no source).
const NOTHING_V: f64 = 0.1;
/// How much more than the idle volts the volts across the load may read before the two can't be of
/// one source: two per cent, and the last digit of a plain meter (common practice, no source).
const READING: (f64, f64) = (0.02, 0.02);

impl Jack {
    /// Whether anything was noted at all.
    #[must_use]
    pub fn is_begun(&self) -> bool {
        *self != Self::default()
    }

    /// What flows through the load of [`LOAD_OHM`], in amperes: as measured, or from the volts across
    /// it by Ohm's law, `I = U / R`.
    #[must_use]
    pub fn load_a(&self) -> Option<f64> {
        self.loaded_a.or_else(|| Some(self.loaded_v? / LOAD_OHM))
    }

    /// What the input's own pull-up is, in ohms: `R = V / I − 1 kΩ` (Ohm's law for pull-up and load in
    /// series). Infinite where nothing flows at all; `None` where there is nothing to compute it
    /// from, or the two readings can't be of one source.
    #[must_use]
    pub fn pull_up_ohm(&self) -> Option<f64> {
        let (idle_v, load_a) = (self.idle_v?, self.load_a()?);
        if idle_v <= NOTHING_V || self.is_contradicted() {
            return None;
        }
        let ohm = if load_a > 0.0 { idle_v / load_a - LOAD_OHM } else { f64::INFINITY };
        // A hard supply may read a little more with the load than without.
        Some(ohm.max(0.0))
    }

    /// The input as a source (Thevenin): its idle volts behind its pull-up.
    #[must_use]
    pub fn source(&self) -> Option<Source> {
        Some(Source { volt: self.idle_v?, ohm: self.pull_up_ohm()? })
    }

    /// Whether more volts stand across the load than without it: no source does that.
    fn is_contradicted(&self) -> bool {
        let (Some(idle_v), Some(load_a)) = (self.idle_v, self.load_a()) else { return false };
        load_a * LOAD_OHM > idle_v * (1.0 + READING.0) + READING.1
    }
}
