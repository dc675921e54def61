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

/// A value that no parts have.
#[derive(Clone, Debug, PartialEq)]
pub struct WrongPart {
    /// The field's name.
    pub field: &'static str,
    /// Which of the drawer's, where it is one of those.
    pub at: Option<usize>,
    /// What stands there.
    pub value: f64,
    /// The least it may be, the most, and in what.
    pub range: (f64, f64, &'static str),
}

impl WrongPart {
    /// What it must be.
    #[must_use]
    pub fn advice(&self) -> String {
        let (low, high, unit) = self.range;
        format!("It must be {low} to {high} {unit}.")
    }
}

/// A sense resistor in a drawer, in ohms: as any other.
const DRAWER: (f64, f64, &str) = (1.0, 1e8, "ohms");
/// How many resistors a drawer is listed with.
pub const MOST_IN_DRAWER: usize = 200;
const TOLERANCE: (f64, f64, &str) = (0.0, 0.2, "as a share of 1");
const PER_K: (f64, f64, &str) = (0.0, 0.005, "per kelvin");
const WEAR: (f64, f64, &str) = (0.0, 1e5, "ohms");
const COLD: (f64, f64, &str) = (-60.0, 25.0, "°C");
const HOT: (f64, f64, &str) = (25.0, 150.0, "°C");
const OFF: (f64, f64, &str) = (0.0, 0.5, "as a share of 1");

impl Parts {
    /// Every value that no parts have, in the order of the fields; what is no number is among them.
    #[must_use]
    pub fn check(&self) -> Vec<WrongPart> {
        let mut wrong = Vec::new();
        let mut look = |field, at, value: f64, range: (f64, f64, &'static str)| {
            if !(range.0..=range.1).contains(&value) {
                wrong.push(WrongPart { field, at, value, range });
            }
        };
        for (at, &ohm) in self.drawer_ohm.iter().enumerate() {
            look("drawer_ohm", Some(at), ohm, DRAWER);
        }
        if self.drawer_ohm.len() > MOST_IN_DRAWER {
            look("drawer_ohm", None, self.drawer_ohm.len() as f64, (0.0, MOST_IN_DRAWER as f64, "values"));
        }
        look("sense_tolerance", None, self.sense_tolerance, TOLERANCE);
        look("sense_per_k", None, self.sense_per_k, PER_K);
        look("ladder_tolerance", None, self.ladder_tolerance, TOLERANCE);
        look("ladder_per_k", None, self.ladder_per_k, PER_K);
        look("wear_ohm", None, self.wear_ohm, WEAR);
        look("cold_c", None, self.cold_c, COLD);
        look("hot_c", None, self.hot_c, HOT);
        look("feed_tolerance", None, self.feed_tolerance, OFF);
        look("reference_tolerance", None, self.reference_tolerance, OFF);
        wrong
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_parts_to_begin_with_are_within_their_ranges() {
        assert!(Parts::default().check().is_empty());
    }

    #[test]
    fn every_value_that_no_parts_have_is_named_with_its_range() {
        let parts = Parts {
            drawer_ohm: vec![470.0, 0.0, f64::INFINITY],
            sense_tolerance: 1.0,
            sense_per_k: -1e-6,
            ladder_tolerance: f64::NAN,
            ladder_per_k: 0.1,
            wear_ohm: -1.0,
            cold_c: 30.0,
            hot_c: 20.0,
            feed_tolerance: 0.6,
            reference_tolerance: f64::INFINITY,
            ..Parts::default()
        };
        let named: Vec<_> = parts.check().iter().map(|wrong| (wrong.field, wrong.at)).collect();
        assert_eq!(
            named,
            [
                ("drawer_ohm", Some(1)),
                ("drawer_ohm", Some(2)),
                ("sense_tolerance", None),
                ("sense_per_k", None),
                ("ladder_tolerance", None),
                ("ladder_per_k", None),
                ("wear_ohm", None),
                ("cold_c", None),
                ("hot_c", None),
                ("feed_tolerance", None),
                ("reference_tolerance", None),
            ]
        );
        assert_eq!(parts.check()[1].advice(), "It must be 1 to 100000000 ohms.");
        assert_eq!(parts.check()[3].advice(), "It must be 0 to 0.005 per kelvin.");
    }
}
