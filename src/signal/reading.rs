//! One reading: raw as the converter gave it, and as a count once it is through the door.

use crate::units::WIRES;

/// What a converter's numbers run to.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub enum Converter {
    /// 0 to 1023; a number is a count already.
    #[default]
    TenBit,
    /// 0 to 4095; four numbers are one count.
    TwelveBit,
}

impl Converter {
    /// The highest number this converter can give.
    #[must_use]
    pub const fn top(self) -> u16 {
        match self {
            Self::TenBit => 1023,
            Self::TwelveBit => 4095,
        }
    }

    /// How many of the converter's numbers make one count.
    #[must_use]
    pub const fn per_count(self) -> f64 {
        match self {
            Self::TenBit => 1.0,
            Self::TwelveBit => 4.0,
        }
    }
}

/// A reading as it came over the link: the converter's own numbers, before the door.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RawReading {
    /// When it was taken, in milliseconds since the link was opened; never runs backwards.
    pub t_ms: f64,
    /// The converter's number for each wire, 0 to 4095; [`RawReading::NONE`] where the line held
    /// only one number.
    pub raw: [u16; WIRES],
    /// The feed monitor's number, 0 to 4095; [`RawReading::NONE`] where there is none.
    pub feed: u16,
}

impl RawReading {
    /// Stands for a wire that was not in the line.
    pub const NONE: u16 = u16::MAX;
}

/// A count with its fraction kept, in 2 bytes: steps of 1/32 count, or no reading at all.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Level(u16);

impl Level {
    /// No reading: the wire is not there, or readings were lost here.
    pub const NONE: Self = Self(u16::MAX);

    /// Steps to a count. A 12-bit converter's quarter counts and a normalised reading's
    /// fractions both fit: 1024 · 32 = 32 768 stays below `u16::MAX`.
    pub const PER_COUNT: f64 = 32.0;

    /// The nearest level to a count; outside 0 to 1024 it is held at the end, and what is not a
    /// number is no reading.
    #[must_use]
    pub fn from_count(count: f64) -> Self {
        if count.is_nan() {
            return Self::NONE;
        }
        Self((count.clamp(0.0, crate::units::SCALE_COUNT) * Self::PER_COUNT).round() as u16)
    }

    /// The count, or `None` for [`Level::NONE`].
    #[must_use]
    pub fn count(self) -> Option<f64> {
        if self == Self::NONE { None } else { Some(f64::from(self.0) / Self::PER_COUNT) }
    }

    /// Steps of 1/32 count; `u16::MAX` for [`Level::NONE`].
    #[must_use]
    pub const fn steps(self) -> u16 {
        self.0
    }

    /// From steps of 1/32 count.
    #[must_use]
    pub const fn from_steps(steps: u16) -> Self {
        Self(steps)
    }
}

impl std::fmt::Debug for Level {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self.count() {
            Some(count) => write!(f, "{count}"),
            None => f.write_str("none"),
        }
    }
}

/// A reading once it is through the door: counts, whatever the converter was.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// When it was taken, in milliseconds since the recording began; never runs backwards.
    pub t_ms: f64,
    /// The count of each wire.
    pub wire: [Level; WIRES],
}

impl Reading {
    /// A reading of the first wire alone.
    #[must_use]
    pub fn one(t_ms: f64, count: f64) -> Self {
        Self { t_ms, wire: [Level::from_count(count), Level::NONE] }
    }

    /// A reading of both wires.
    #[must_use]
    pub fn two(t_ms: f64, first: f64, second: f64) -> Self {
        Self { t_ms, wire: [Level::from_count(first), Level::from_count(second)] }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_level_keeps_quarter_counts_exactly() {
        for raw in 0..=4095_u16 {
            let count = f64::from(raw) / Converter::TwelveBit.per_count();
            assert_eq!(Level::from_count(count).count(), Some(count));
        }
    }

    #[test]
    fn a_level_that_is_no_number_is_no_reading() {
        assert_eq!(Level::from_count(f64::NAN), Level::NONE);
        assert_eq!(Level::NONE.count(), None);
        assert_eq!(Level::from_count(f64::INFINITY).count(), Some(1024.0));
        assert_eq!(Level::from_count(-3.0).count(), Some(0.0));
    }
}
