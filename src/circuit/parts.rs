//! Which parts one has and buys, and how far off they and the vehicle may be: what tolerance, choice
//! and bands take for granted. Knows no values of a ladder.

use serde::{Deserialize, Serialize};

use crate::units::Series;

/// Parts and what they may drift by. Tolerances are shares of 1: 0.01 is 1 %.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Parts {
    /// The series the sense resistor is bought from.
    pub series: Series,
    /// Resistors in the drawer, in ohms; each above 0.
    pub drawer_ohm: Vec<f64>,
    /// The sense resistor's tolerance, as a share; 0 to 0.2.
    pub sense_tolerance: f64,
    /// The sense resistor's temperature coefficient, in 1/K; 0 to 0.005.
    pub sense_per_k: f64,
    /// The ladder's resistors' tolerance, as a share, for a ladder that isn't learned yet; 0 to 0.2.
    pub ladder_tolerance: f64,
    /// The ladder's resistors' temperature coefficient, in 1/K; 0 to 0.005.
    pub ladder_per_k: f64,
    /// How many ohms a contact gains as it wears, at most; 0 to 100 kΩ.
    pub wear_ohm: f64,
    /// The coldest, in °C; -60 to 25.
    pub cold_c: f64,
    /// The hottest, in °C; 25 to 150.
    pub hot_c: f64,
    /// How far the feed may be off its nominal value, as a share; 0 to 0.5.
    pub feed_tolerance: f64,
    /// How far a reference other than the supply may be off, as a share; 0 to 0.5.
    pub reference_tolerance: f64,
}

impl Default for Parts {
    /// One-percent chip resistors of ±100 ppm/K to buy, five-percent ones of ±200 ppm/K in the wheel
    /// (chip resistor datasheet, FACTS B2); -40 to 85 °C (cabin without sun, ISO 16750-4 Annex A, from
    /// memory); a carbon pill's contact wears by 100 Ω at most (silicone keypad design guides, FACTS B2:
    /// below 200 Ω, below 100 Ω on good pads); a feed of ±5 % (common practice, no source); the chip's own
    /// reference ±9 % (ATmega328P datasheet 8161D, table 28-7).
    fn default() -> Self {
        Self {
            series: Series::E24,
            drawer_ohm: Vec::new(),
            sense_tolerance: 0.01,
            sense_per_k: 100e-6,
            ladder_tolerance: 0.05,
            ladder_per_k: 200e-6,
            wear_ohm: 100.0,
            cold_c: -40.0,
            hot_c: 85.0,
            feed_tolerance: 0.05,
            reference_tolerance: 0.09,
        }
    }
}
