//! Copper wire by its gauge. Knows no current but what it bears.

use serde::{Deserialize, Serialize};

/// American wire gauge, 10 to 30.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Gauge(pub u8);

/// Copper's resistivity at 20 °C, in Ω·m: the international annealed copper standard, 1/58 µΩ·m.
const COPPER_OHM_M: f64 = 1e-6 / 58.0;
/// What a square millimetre of insulated copper bears in a warm loom, in amperes (common practice, no
/// source; the maker's table of the wire comes first).
const AMP_PER_MM2: f64 = 6.0;

impl Gauge {
    /// The thinnest.
    pub const THINNEST: Self = Self(30);
    /// The thickest.
    pub const THICKEST: Self = Self(10);
    /// What one would take for a box.
    pub const USUAL: [Self; 5] = [Self(16), Self(18), Self(20), Self(22), Self(24)];

    /// Its diameter, in millimetres: gauge 36 is 0.127 mm, and 39 steps are a factor of 92 (ASTM B258).
    #[must_use]
    pub fn diameter_mm(self) -> f64 {
        0.127 * 92.0_f64.powf((36.0 - f64::from(self.0)) / 39.0)
    }

    /// Its cross-section, in mm².
    #[must_use]
    pub fn mm2(self) -> f64 {
        std::f64::consts::PI * (self.diameter_mm() / 2.0).powi(2)
    }

    /// A metre of it, in ohms, at 20 °C.
    #[must_use]
    pub fn ohm_per_m(self) -> f64 {
        COPPER_OHM_M / (self.mm2() * 1e-6)
    }

    /// What it bears, in amperes.
    #[must_use]
    pub fn most_amp(self) -> f64 {
        AMP_PER_MM2 * self.mm2()
    }

    /// It, as one asks for it: `22 AWG, 0.33 mm²`.
    #[must_use]
    pub fn name(self) -> String {
        format!("{} AWG, {:.2} mm²", self.0, self.mm2())
    }
}
