//! The wheel's ladder: how its resistors are joined, and what is seen for any set of pressed
//! buttons. Knows no sense circuit, no count and no names: a button is its number, from 1.

mod colour;
mod fit;
mod ladder;
mod meter_check;
mod network;

use serde::{Deserialize, Serialize};

pub use colour::{ColourError, WireColour, colour_text, wire_colours};
pub use fit::{
    EndPart, Fit, FitInput, LIKELY_RATIO, LadderParts, Odd, OddWhy, PairAnswer, PairQuestion, PairSeen, Part,
    Sureness, fit, meter_error_ohm,
};
pub use ladder::{Ladder, LadderEnds, LadderError};
pub use meter_check::{
    AIRBAG, BusSign, CheckFacts, CheckReport, CheckStep, CheckVerdict, Differ, MeterCheck, StepState,
    ToChassis, WireCheck,
};
pub use network::{Network, NetworkError, Node, Solution};

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

/// Two resistances side by side; exact where either is 0 Ω or open.
#[must_use]
pub fn beside(a_ohm: f64, b_ohm: f64) -> f64 {
    if a_ohm == f64::INFINITY {
        b_ohm
    } else if b_ohm == f64::INFINITY {
        a_ohm
    } else if a_ohm == 0.0 || b_ohm == 0.0 {
        0.0
    } else {
        // The larger is divided first, so that two large values do not run out of the number.
        let (low, high) = if a_ohm < b_ohm { (a_ohm, b_ohm) } else { (b_ohm, a_ohm) };
        low / (1.0 + low / high)
    }
}
