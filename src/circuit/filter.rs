//! The filter between the sense node and the converter: a resistor and a capacitor. Knows no ladder.

use serde::{Deserialize, Serialize};

/// A resistor from the sense node to the pin, and a capacitor from the pin to ground.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Filter {
    /// From the node to the pin, in ohms; 0 where there is none. It also holds a short to the battery
    /// under the pin's 1 mA.
    pub series_ohm: f64,
    /// From the pin to ground, in farads; 0 where there is none.
    pub farad: f64,
}

impl Default for Filter {
    /// As the box is wired: 10 kΩ and 10 nF.
    fn default() -> Self {
        Self { series_ohm: 10e3, farad: 10e-9 }
    }
}
