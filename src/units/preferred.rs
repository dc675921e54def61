//! Preferred values of resistors (IEC 60063): which values are sold. Knows no circuit.

use serde::{Deserialize, Serialize};

/// A series of preferred values: so many per decade.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Series {
    /// Three per decade.
    E3,
    /// Six per decade, 20 %.
    E6,
    /// Twelve per decade, 10 %.
    E12,
    /// Twenty-four per decade, 5 %.
    #[default]
    E24,
    /// Forty-eight per decade, 2 %.
    E48,
    /// Ninety-six per decade, 1 %.
    E96,
    /// A hundred and ninety-two per decade, 0.5 % and better.
    E192,
}

/// E24's values of a decade; eight of them (27 to 47, and 82) are not the rounded powers of ten
/// (IEC 60063).
const E24: [f64; 24] = [
    10.0, 11.0, 12.0, 13.0, 15.0, 16.0, 18.0, 20.0, 22.0, 24.0, 27.0, 30.0, 33.0, 36.0, 39.0, 43.0, 47.0,
    51.0, 56.0, 62.0, 68.0, 75.0, 82.0, 91.0,
];

impl Series {
    /// All of them, the coarsest first.
    pub const ALL: [Self; 7] = [Self::E3, Self::E6, Self::E12, Self::E24, Self::E48, Self::E96, Self::E192];

    /// `E24`.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::E3 => "E3",
            Self::E6 => "E6",
            Self::E12 => "E12",
            Self::E24 => "E24",
            Self::E48 => "E48",
            Self::E96 => "E96",
            Self::E192 => "E192",
        }
    }

    /// How many values a decade has.
    #[must_use]
    pub const fn per_decade(self) -> u32 {
        match self {
            Self::E3 => 3,
            Self::E6 => 6,
            Self::E12 => 12,
            Self::E24 => 24,
            Self::E48 => 48,
            Self::E96 => 96,
            Self::E192 => 192,
        }
    }

    /// The values of one decade as sold in it, in whole hundredths: 100 to 999, upwards.
    pub fn hundredths(self) -> impl Iterator<Item = u32> {
        let steps = self.per_decade();
        (0..steps).map(move |step| {
            if steps <= 24 {
                let step = step as usize * (24 / steps as usize);
                (E24[step] * 10.0).round() as u32
            } else {
                // The one value of E192 that isn't the rounded power of ten: 9.20, not 9.19 (IEC 60063).
                match (100.0 * 10_f64.powf(f64::from(step) / f64::from(steps))).round() as u32 {
                    919 => 920,
                    value => value,
                }
            }
        })
    }

    /// Every value from `low_ohm` to `high_ohm`, both among them, upwards, in ohms. Both are above 0;
    /// nothing comes of others.
    #[must_use]
    pub fn within(self, low_ohm: f64, high_ohm: f64) -> Vec<f64> {
        if !(low_ohm > 0.0 && high_ohm.is_finite() && low_ohm <= high_ohm) {
            return Vec::new();
        }
        let decades = (low_ohm.log10().floor() as i32)..=(high_ohm.log10().floor() as i32);
        decades
            .flat_map(|decade| self.hundredths().map(move |value| scaled(value, decade)))
            .filter(|ohm| (low_ohm..=high_ohm).contains(ohm))
            .collect()
    }

    /// The value nearest to `ohm` by ratio; `None` for what is no resistance above 0 Ω.
    #[must_use]
    pub fn nearest(self, ohm: f64) -> Option<f64> {
        if !(ohm > 0.0 && ohm.is_finite()) {
            return None;
        }
        let off = |value: &f64| (value / ohm).ln().abs();
        self.within(ohm / 10.0, ohm * 10.0).into_iter().min_by(|a, b| off(a).total_cmp(&off(b)))
    }
}

/// Hundredths of a decade in ohms; whole values stay whole.
fn scaled(hundredths: u32, decade: i32) -> f64 {
    let value = f64::from(hundredths);
    if decade >= 2 { value * 10_f64.powi(decade - 2) } else { value / 10_f64.powi(2 - decade) }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// FACTS C13 (IEC 60063 values).
    #[test]
    fn the_series_are_those_of_the_standard() {
        let e24: Vec<_> = Series::E24.hundredths().map(|value| value / 10).collect();
        assert_eq!(
            e24,
            [10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91]
        );
        let e96: Vec<_> = Series::E96.hundredths().take(10).collect();
        assert_eq!(e96, [100, 102, 105, 107, 110, 113, 115, 118, 121, 124]);
        assert!(Series::E192.hundredths().any(|value| value == 920));
        assert!(Series::E192.hundredths().all(|value| value != 919));
        for series in Series::ALL {
            assert_eq!(series.hundredths().count(), series.per_decade() as usize, "{}", series.name());
        }
    }

    #[test]
    fn values_are_found_by_range_and_by_nearness() {
        assert_eq!(Series::E12.within(900.0, 2_200.0), [1_000.0, 1_200.0, 1_500.0, 1_800.0, 2_200.0]);
        assert_eq!(Series::E24.nearest(271.0), Some(270.0));
        assert_eq!(Series::E24.nearest(0.96), Some(1.0));
        assert_eq!(Series::E24.nearest(0.0), None);
        assert_eq!(Series::E96.nearest(f64::NAN), None);
        assert!(Series::E24.within(f64::NAN, 5.0).is_empty());
        assert!(Series::E24.within(10.0, 5.0).is_empty());
    }
}
