//! The stereo's wired remote input, as a meter finds it. Knows no code and no box.

use serde::{Deserialize, Serialize};

/// What a meter found at the stereo's wired remote input. Each part may still be unknown.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Jack {
    /// Which contact of the plug carries the signal.
    pub contact: Option<JackContact>,
    /// Between that contact and ground with nothing plugged in and the stereo on, in volts, 0 to 30.
    pub idle_v: Option<f64>,
    /// The current from that contact through 1 kΩ to ground, in amperes, 0 to 0.1.
    pub loaded_a: Option<f64>,
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

/// What a remote input listens for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum JackWants {
    /// Pulses: a remote code without its carrier.
    Pulses,
    /// Resistances: each button another one to ground.
    Resistances,
}
