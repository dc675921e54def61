//! The wheel's ladder: how its resistors are joined, and what is seen for any set of pressed
//! buttons. Knows no volts and no names.

use serde::{Deserialize, Serialize};

/// How a ladder's resistors are joined.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Topology {
    /// A chain; each button closes a tap. The tap nearest the chain's start wins.
    #[default]
    Series,
    /// One resistor of its own per button.
    Parallel,
}
