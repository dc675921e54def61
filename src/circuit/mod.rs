//! The sense circuit: what divides the ladder's resistance into volts, and what the converter
//! makes of them. Knows no buttons by name and no readings.

use serde::{Deserialize, Serialize};

/// Which way the ladder and the sense resistor stand.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Sense {
    /// The ladder hangs from the feed; the sense resistor goes to ground.
    PullDown,
    /// The sense resistor goes to the feed; the ladder goes to ground.
    #[default]
    PullUp,
}

/// What the converter measures against.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub enum Reference {
    /// The supply that also feeds the ladder: a reading is a ratio, whatever the supply.
    #[default]
    Supply,
    /// The chip's own reference, in volts (1.0 to 1.2 for an ATmega328P).
    Internal {
        /// Volts.
        volt: f64,
    },
    /// A reference from outside through a resistor into the chip's reference input.
    External {
        /// Volts before the resistor.
        volt: f64,
        /// The resistor, in ohms; 0 where there is none.
        series_ohm: f64,
    },
}

/// The sense circuit of one wheel; the same for each of its wires.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Circuit {
    /// Which way round.
    pub sense: Sense,
    /// The sense resistor, in ohms; above 0.
    pub sense_ohm: f64,
    /// What feeds the ladder, in volts; above 0.
    pub feed_v: f64,
    /// What the converter measures against.
    pub reference: Reference,
    /// Contact and slip ring in series with each button, in ohms; 0 or more.
    pub contact_ohm: f64,
    /// A path from the sense node to ground that should not be there, in ohms.
    pub leak_ohm: Option<f64>,
}

impl Circuit {
    /// What the converter's full scale stands for, in volts.
    ///
    /// The external reference sees the chip's own reference input resistance, 32 kΩ typical
    /// (ATmega328P datasheet 8161D, table 28-7; no limits are printed).
    #[must_use]
    pub fn reference_v(&self) -> f64 {
        match self.reference {
            Reference::Supply => self.feed_v,
            Reference::Internal { volt } => volt,
            Reference::External { volt, series_ohm } => {
                volt * REFERENCE_INPUT_OHM / (REFERENCE_INPUT_OHM + series_ohm)
            }
        }
    }

    /// The sense node's voltage for a resistance seen across the wire and its return (contact
    /// included), infinite for an open wire.
    #[must_use]
    pub fn node_v(&self, ohm: f64) -> f64 {
        let ladder = 1.0 / ohm;
        let sense = 1.0 / self.sense_ohm;
        let leak = self.leak_ohm.map_or(0.0, |leak| 1.0 / leak);
        if ohm <= 0.0 {
            return match self.sense {
                Sense::PullDown => self.feed_v,
                Sense::PullUp => 0.0,
            };
        }
        match self.sense {
            Sense::PullDown => self.feed_v * ladder / (ladder + sense + leak),
            Sense::PullUp => self.feed_v * sense / (ladder + sense + leak),
        }
    }

    /// The exact count for a resistance seen, before the converter cuts it off at its top and
    /// drops the fraction: `1024 · V / V_ref`.
    #[must_use]
    pub fn ideal_count(&self, ohm: f64) -> f64 {
        crate::units::SCALE_COUNT * self.node_v(ohm) / self.reference_v()
    }
}

/// Resistance of an ATmega328P's reference input, typical: datasheet 8161D, table 28-7.
pub const REFERENCE_INPUT_OHM: f64 = 32_000.0;
