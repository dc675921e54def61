//! The recording as the screen draws it: lowest and highest level per column of pixels, at a cost
//! that does not grow with the recording. Knows no pixels beyond their number.

use super::{Level, recording::Recording};

/// What one column of pixels shows of a wire: every reading in it lies between `low` and `high`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Column {
    /// The lowest level; [`Level::NONE`] where the column holds no reading.
    pub low: Level,
    /// The highest level; [`Level::NONE`] where the column holds no reading.
    pub high: Level,
}

impl Column {
    /// A column without a reading.
    pub const NONE: Self = Self { low: Level::NONE, high: Level::NONE };

    /// A column with this one reading, or none.
    #[must_use]
    pub const fn of(level: Level) -> Self {
        Self { low: level, high: level }
    }

    /// Whether no reading falls into this column.
    #[must_use]
    pub fn is_none(self) -> bool {
        self.low == Level::NONE
    }

    /// Both columns as one.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        // NONE is the highest step of all: as it is it never wins the lowest, and one up it wraps
        // to 0 and never wins the highest.
        let up = |level: Level| level.steps().wrapping_add(1);
        let high = up(self.high).max(up(other.high)).wrapping_sub(1);
        Self { low: self.low.min(other.low), high: Level::from_steps(high) }
    }

    /// The column that holds these readings.
    #[must_use]
    pub fn over(levels: &[Level]) -> Self {
        levels.iter().fold(Self::NONE, |column, &level| column.and(Self::of(level)))
    }

    /// All of them as one.
    #[must_use]
    pub fn all(columns: &[Self]) -> Self {
        columns.iter().fold(Self::NONE, |all, &one| all.and(one))
    }
}

impl Default for Column {
    fn default() -> Self {
        Self::NONE
    }
}

impl Recording {
    /// Replaces `out` by `columns` columns of `wire` (0 or 1) that divide `from_ms..=to_ms`
    /// evenly. A reading on the edge of two columns belongs to the later one, one at `to_ms` to
    /// the last. Together the columns hold exactly the readings of [`Recording::between`], so no
    /// spike is lost, however short. Columns without a reading are [`Column::NONE`]: all of them
    /// where the ends are not numbers, not finite or in the wrong order, or the wire isn't there.
    ///
    /// Costs a search and a few dozen comparisons per column, and one step for every 4096
    /// readings in view; allocates nothing once `out` is large enough.
    pub fn envelope(&self, wire: usize, from_ms: f64, to_ms: f64, columns: usize, out: &mut Vec<Column>) {
        out.clear();
        let span_ms = to_ms - from_ms;
        if wire >= self.wires() || !span_ms.is_finite() || span_ms < 0.0 {
            out.resize(columns, Column::NONE);
            return;
        }
        let mut start = self.find(0, from_ms, |t_ms| t_ms < from_ms);
        for column in 1..=columns {
            let end = if column == columns {
                self.find(start.chunk, to_ms, |t_ms| t_ms <= to_ms)
            } else {
                let edge_ms = from_ms + span_ms * column as f64 / columns as f64;
                self.find(start.chunk, edge_ms, |t_ms| t_ms < edge_ms)
            };
            out.push(self.column(wire, start, end));
            start = end;
        }
    }
}
