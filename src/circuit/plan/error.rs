//! Why no sense resistor can be planned, each with what to do. Knows no names: a rung is a place in
//! the list that was handed in.

use crate::circuit::Problem;
use crate::units::ohm_text;

/// Why nothing can be planned.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum PlanError {
    /// A circuit that can't be.
    #[error(transparent)]
    Circuit(#[from] Problem),
    /// The module's resistor isn't ours to choose.
    #[error(
        "A factory module pulls the wire up, so there is no sense resistor to choose: a second one would \
         upset both. Keep the module's, or disconnect it and choose your own."
    )]
    Module,
    /// A wheel without buttons.
    #[error(
        "The wheel has no buttons to tell apart. Add them at the Wheel station, with the meter's readings."
    )]
    NoButtons,
    /// A resistance that can't be.
    #[error("Reading {} of the ladder is {ohm} Ω. Give what the meter shows, 0 Ω or more.", rung + 1)]
    Resistance {
        /// Which rung.
        rung: usize,
        /// Its value, in ohms.
        ohm: f64,
    },
    /// One rung a wire.
    #[error(
        "Each wire has one reading only, and nothing to tell it from. Add its other buttons, or its rest."
    )]
    NothingToCompare,
    /// Noise that can't be.
    #[error("{what} is {value}. Give 0 or more.")]
    Noise {
        /// Which part of it.
        what: &'static str,
        /// Its value.
        value: f64,
    },
    /// No noise at all: separations would be infinite.
    #[error(
        "Neither the converter's error nor the noise within a press is above 0 counts. Give one of them."
    )]
    NoNoise,
    /// A value in the drawer that is no resistor.
    #[error("{ohm} Ω in the drawer is no resistor. Give values above 0 Ω, like 470 or 1k.")]
    Drawer {
        /// Its value, in ohms.
        ohm: f64,
    },
    /// A ladder that no sense resistor fits.
    #[error(
        "The ladder's smallest resistance asks for a sense resistor of {} or more, and none is sensible beyond \
         {} to {}: is it a ladder at all? Meter its buttons again.",
        ohm_text(*low_ohm), ohm_text(*least_ohm), ohm_text(*most_ohm)
    )]
    OutOfReach {
        /// The least value tried, in ohms.
        least_ohm: f64,
        /// The largest, in ohms.
        most_ohm: f64,
        /// The least value that would fit, in ohms.
        low_ohm: f64,
    },
}
