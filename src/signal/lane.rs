//! One wire's levels in one chunk, with their lowest and highest over longer runs, so that a wide
//! stretch is drawn without looking at every reading. Knows no times.

use super::{Converter, Level, envelope::Column};

/// Readings in a fine run.
const FINE: usize = 16;

/// Fine runs in a coarse run. So many lie beside each other in one or two lines of the processor's
/// cache: walking along them costs less than fetching what a step between would keep.
const FINE_IN_COARSE: usize = 16;

/// A wire's levels, oldest first.
#[derive(Default)]
pub(super) struct Lane {
    levels: Vec<Level>,
    fine: Vec<Column>,
    coarse: Vec<Column>,
    whole: Column,
}

impl Lane {
    /// A wire that had no reading so far.
    pub(super) fn absent(len: usize) -> Self {
        let mut lane = Self::default();
        (0..len).for_each(|_| lane.push(Level::NONE));
        lane
    }

    pub(super) fn push(&mut self, level: Level) {
        self.levels.push(level);
        self.whole = self.whole.and(Column::of(level));
        if self.levels.len().is_multiple_of(FINE) {
            self.fine.push(Column::over(&self.levels[self.levels.len() - FINE..]));
            if self.fine.len().is_multiple_of(FINE_IN_COARSE) {
                self.coarse.push(Column::all(&self.fine[self.fine.len() - FINE_IN_COARSE..]));
            }
        }
    }

    pub(super) fn close(&mut self) {
        self.levels.shrink_to_fit();
        self.fine.shrink_to_fit();
        self.coarse.shrink_to_fit();
    }

    pub(super) fn at(&self, index: usize) -> Level {
        self.levels[index]
    }

    /// Lowest and highest of all.
    pub(super) fn whole(&self) -> Column {
        self.whole
    }

    /// Lowest and highest of the readings `from..to`.
    pub(super) fn over(&self, from: usize, to: usize) -> Column {
        if to - from == self.levels.len() {
            return self.whole;
        }
        let (first, last) = (from.div_ceil(FINE), to / FINE);
        if first >= last {
            return Column::over(&self.levels[from..to]);
        }
        Column::over(&self.levels[from..first * FINE])
            .and(self.over_fine(first, last))
            .and(Column::over(&self.levels[last * FINE..to]))
    }

    /// Lowest and highest of the fine runs `from..to`.
    fn over_fine(&self, from: usize, to: usize) -> Column {
        let (first, last) = (from.div_ceil(FINE_IN_COARSE), to / FINE_IN_COARSE);
        if first >= last {
            return Column::all(&self.fine[from..to]);
        }
        Column::all(&self.fine[from..first * FINE_IN_COARSE])
            .and(Column::all(&self.coarse[first..last]))
            .and(Column::all(&self.fine[last * FINE_IN_COARSE..to]))
    }

    /// Every level becomes what this converter's numbers mean: a quarter of itself, or four times.
    /// Both keep the order, so the lowest and highest of every run are scaled alike.
    pub(super) fn rescale(&mut self, to: Converter) {
        let scaled = match to {
            Converter::TwelveBit => quarter,
            Converter::TenBit => fourfold,
        };
        self.levels.iter_mut().for_each(|level| *level = scaled(*level));
        for column in self.fine.iter_mut().chain(&mut self.coarse).chain([&mut self.whole]) {
            *column = Column { low: scaled(column.low), high: scaled(column.high) };
        }
    }

    /// Bytes on the heap.
    pub(super) fn bytes(&self) -> usize {
        self.levels.capacity() * size_of::<Level>()
            + (self.fine.capacity() + self.coarse.capacity()) * size_of::<Column>()
    }
}

/// A quarter of a level, to the nearest step; exact for whole counts.
fn quarter(level: Level) -> Level {
    if level == Level::NONE {
        return Level::NONE;
    }
    let steps = level.steps();
    Level::from_steps(steps / 4 + steps % 4 / 2)
}

/// Four times a level, held at the end of the scale; undoes [`quarter`] for what a 10-bit converter
/// gives.
fn fourfold(level: Level) -> Level {
    level.count().map_or(Level::NONE, |count| Level::from_count(count * Converter::TwelveBit.per_count()))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn level() -> impl Strategy<Value = Level> {
        prop_oneof![
            1 => Just(Level::NONE),
            8 => (0..=32_768_u16).prop_map(Level::from_steps),
        ]
    }

    #[test]
    fn a_quarter_and_four_times_it_are_the_same_whole_count_again() {
        for count in 0..=1023_u16 {
            let level = Level::from_count(f64::from(count));
            assert_eq!(fourfold(quarter(level)), level);
        }
        assert_eq!(fourfold(Level::NONE), Level::NONE);
        assert_eq!(fourfold(Level::from_count(900.0)), Level::from_count(1024.0));
    }

    proptest! {
        #[test]
        fn any_run_has_the_lowest_and_highest_of_its_readings(
            levels in proptest::collection::vec(level(), 1..2500),
            ends in (0.0..=1.0, 0.0..=1.0),
            quartered: bool,
        ) {
            let mut lane = Lane::default();
            levels.iter().for_each(|&level| lane.push(level));
            let levels = if quartered {
                lane.rescale(Converter::TwelveBit);
                levels.iter().map(|&level| quarter(level)).collect()
            } else {
                levels
            };
            let index = |share: f64| (share * levels.len() as f64) as usize;
            let (from, to) = (index(ends.0).min(index(ends.1)), index(ends.0).max(index(ends.1)));
            prop_assert_eq!(lane.over(from, to), Column::over(&levels[from..to]));
            prop_assert_eq!(lane.whole(), Column::over(&levels));
        }
    }

    #[test]
    fn a_whole_count_is_quartered_exactly() {
        for raw in 0..=1023_u16 {
            let count = f64::from(raw);
            assert_eq!(quarter(Level::from_count(count)).count(), Some(count / 4.0));
        }
        assert_eq!(quarter(Level::NONE), Level::NONE);
        assert_eq!(quarter(Level::from_steps(u16::MAX - 1)).steps(), 16_384);
    }
}
