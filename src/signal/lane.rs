//! One wire's levels in one chunk, with their lowest and highest over ever longer runs, so that a
//! wide stretch is drawn without looking at every reading. Knows no times.

use super::{Level, envelope::Column};

/// Readings summed up in one column at each step of the pyramid; each is four of the one below.
const FACTORS: [usize; 4] = [FINEST, 64, 256, 1024];

/// Readings under the lowest step of the pyramid.
const FINEST: usize = 16;

/// A wire's levels, oldest first.
#[derive(Default)]
pub(super) struct Lane {
    levels: Vec<Level>,
    pyramid: [Vec<Column>; FACTORS.len()],
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
        let len = self.levels.len();
        if len.is_multiple_of(FINEST) {
            self.pyramid[0].push(Column::over(&self.levels[len - FINEST..]));
            for (step, factor) in FACTORS.iter().enumerate().skip(1) {
                if !len.is_multiple_of(*factor) {
                    break;
                }
                let below = &self.pyramid[step - 1];
                let column = below[below.len() - 4..].iter().fold(Column::NONE, |all, one| all.and(*one));
                self.pyramid[step].push(column);
            }
        }
    }

    pub(super) fn close(&mut self) {
        self.levels.shrink_to_fit();
        self.pyramid.iter_mut().for_each(Vec::shrink_to_fit);
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
        let head = from.next_multiple_of(FINEST).min(to);
        let mut column = Column::over(&self.levels[from..head]);
        let mut at = head;
        while at + FINEST <= to {
            // FINEST always fits here: `at` is a multiple of it.
            let fits = |factor: &usize| at.is_multiple_of(*factor) && at + factor <= to;
            let step = FACTORS.iter().rposition(fits).unwrap_or(0);
            column = column.and(self.pyramid[step][at / FACTORS[step]]);
            at += FACTORS[step];
        }
        column.and(Column::over(&self.levels[at..to]))
    }

    /// Every level becomes a quarter of itself. A quarter keeps the order, so the pyramid's lowest
    /// and highest are quartered alike.
    pub(super) fn rescale_quarter(&mut self) {
        self.levels.iter_mut().for_each(|level| *level = quarter(*level));
        for column in self.pyramid.iter_mut().flatten().chain([&mut self.whole]) {
            *column = Column { low: quarter(column.low), high: quarter(column.high) };
        }
    }

    /// Bytes on the heap.
    pub(super) fn bytes(&self) -> usize {
        let columns: usize = self.pyramid.iter().map(Vec::capacity).sum();
        self.levels.capacity() * size_of::<Level>() + columns * size_of::<Column>()
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
                lane.rescale_quarter();
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
