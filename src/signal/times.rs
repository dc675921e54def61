//! The times of one chunk's readings in little memory: exact at the ends of every block, in
//! between interpolated where readings come evenly, else in 255ths of the block. Knows no levels.

use std::ops::Range;

/// Readings in a block: each block's first and last time are kept exactly.
pub(super) const BLOCK: usize = 64;

/// Blocks in a chunk: as many as [`Times::uneven`] has bits.
pub(super) const BLOCKS: usize = u64::BITS as usize;

/// Steps of an uneven block's span: what a byte can say.
const STEPS: f64 = 255.0;

/// The exact ends of a block, in milliseconds.
#[derive(Clone, Copy)]
struct Ends {
    first_ms: f64,
    last_ms: f64,
}

/// Up to [`BLOCK`] · [`BLOCKS`] times that never run backwards.
///
/// A probe's lines arrive in lumps, so interpolation alone would smear a stall over a whole block.
/// A block that interpolates worse than a byte per reading does gets that byte: a time read back
/// is never off by more than 1/510 of its block's span.
#[derive(Default)]
pub(super) struct Times {
    len: usize,
    /// The exact ends of all, so that a search over chunks stays out of their heaps.
    first_ms: f64,
    last_ms: f64,
    sealed: Vec<Ends>,
    /// Bit `b` set: block `b` has [`BLOCK`] bytes in `steps`, in block order.
    uneven: u64,
    steps: Vec<u8>,
    /// The block still being filled, exactly.
    open_ms: Vec<f64>,
}

impl Times {
    pub(super) fn len(&self) -> usize {
        self.len
    }

    /// The first time; 0 when there is none.
    pub(super) fn first_ms(&self) -> f64 {
        self.first_ms
    }

    /// The last time; 0 when there is none.
    pub(super) fn last_ms(&self) -> f64 {
        self.last_ms
    }

    /// Takes the next time, which must not be before the last one.
    pub(super) fn push(&mut self, t_ms: f64) {
        if self.len == 0 {
            self.first_ms = t_ms;
        }
        self.last_ms = t_ms;
        self.open_ms.push(t_ms);
        self.len += 1;
        if self.open_ms.len() == BLOCK {
            self.seal();
        }
    }

    /// No more times will come: gives back what was held ready for them.
    pub(super) fn close(&mut self) {
        self.seal();
        self.open_ms = Vec::new();
        self.sealed.shrink_to_fit();
        self.steps.shrink_to_fit();
    }

    /// The time of reading `index`.
    pub(super) fn at(&self, index: usize) -> f64 {
        let (block, k) = (index / BLOCK, index % BLOCK);
        let Some(&Ends { first_ms, last_ms }) = self.sealed.get(block) else {
            return self.open_ms.get(k).copied().unwrap_or(self.last_ms);
        };
        let last = self.block_len(block) - 1;
        if k >= last {
            return if k == 0 { first_ms } else { last_ms };
        }
        let (part, whole) = if self.uneven >> block & 1 == 1 {
            let before = self.uneven & ((1 << block) - 1);
            (f64::from(self.steps[before.count_ones() as usize * BLOCK + k]), STEPS)
        } else {
            (k as f64, last as f64)
        };
        (first_ms + (last_ms - first_ms) * part / whole).min(last_ms)
    }

    /// How many times from the start satisfy `early`, which must hold for none after the first it
    /// does not hold for. The first it does not hold for is looked for near `near_ms`, as if times
    /// came evenly: a good guess touches little memory, and a bad one costs no more than halving.
    pub(super) fn partition_point(&self, near_ms: f64, early: impl Fn(f64) -> bool) -> usize {
        if self.open_ms.first().is_some_and(|&t_ms| early(t_ms)) {
            return self.sealed.len() * BLOCK + self.open_ms.partition_point(|&t_ms| early(t_ms));
        }
        let blocks = self.sealed.len();
        let guess = share_of(blocks, near_ms, self.first_ms, self.last_ms);
        let begun = partition_near(0..blocks, guess, |block| early(self.sealed[block].first_ms));
        let Some(block) = begun.checked_sub(1) else { return 0 };
        let Ends { first_ms, last_ms } = self.sealed[block];
        let (from, len) = (block * BLOCK, self.block_len(block));
        let guess = from.saturating_add(share_of(len, near_ms, first_ms, last_ms));
        partition_near(from + 1..from + len, guess, |index| early(self.at(index)))
    }

    /// Bytes on the heap.
    pub(super) fn bytes(&self) -> usize {
        self.sealed.capacity() * size_of::<Ends>()
            + self.steps.capacity()
            + self.open_ms.capacity() * size_of::<f64>()
    }

    fn block_len(&self, block: usize) -> usize {
        BLOCK.min(self.len - block * BLOCK)
    }

    fn seal(&mut self) {
        let (Some(&first_ms), Some(&last_ms)) = (self.open_ms.first(), self.open_ms.last()) else {
            return;
        };
        let span_ms = last_ms - first_ms;
        let last = (self.open_ms.len() - 1).max(1) as f64;
        let off_ms = self
            .open_ms
            .iter()
            .enumerate()
            .map(|(k, t_ms)| (t_ms - first_ms - span_ms * k as f64 / last).abs())
            .fold(0.0, f64::max);
        if off_ms > span_ms / (2.0 * STEPS) {
            self.uneven |= 1 << self.sealed.len();
            self.steps
                .extend(self.open_ms.iter().map(|t_ms| ((t_ms - first_ms) / span_ms * STEPS).round() as u8));
        }
        self.sealed.push(Ends { first_ms, last_ms });
        self.open_ms.clear();
    }
}

/// How many of `len` come before `t_ms` where they lie evenly from first to last.
fn share_of(len: usize, t_ms: f64, first_ms: f64, last_ms: f64) -> usize {
    ((t_ms - first_ms) / (last_ms - first_ms) * len as f64) as usize
}

/// The first place in `range` that is not `early`, its end if there is none; `early` must hold for
/// none after the first it does not hold for. Looks at `guess` first, then twice as far away each
/// time, then halves.
pub(super) fn partition_near(range: Range<usize>, guess: usize, early: impl Fn(usize) -> bool) -> usize {
    let Range { start: mut low, end: mut high } = range;
    let guess = guess.clamp(low, high.max(low));
    let mut reach = 1;
    if guess < high && early(guess) {
        low = guess + 1;
        while low + reach <= high && early(low + reach - 1) {
            low += reach;
            reach *= 2;
        }
        high = high.min(low + reach - 1);
    } else {
        high = guess;
        while low + reach <= high && !early(high - reach) {
            high -= reach;
            reach *= 2;
        }
        low = low.max((high + 1).saturating_sub(reach));
    }
    while low < high {
        let middle = low.midpoint(high);
        if early(middle) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    low
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn times(steps_ms: &[f64]) -> (Vec<f64>, Times) {
        let mut t_ms = 1e6;
        let exact: Vec<f64> = steps_ms
            .iter()
            .map(|step_ms| {
                t_ms += step_ms;
                t_ms
            })
            .collect();
        let mut kept = Times::default();
        exact.iter().for_each(|&t_ms| kept.push(t_ms));
        (exact, kept)
    }

    #[test]
    fn even_times_come_back_exactly_and_cost_a_quarter_byte() {
        let (exact, mut kept) = times(&[1.0; BLOCK * BLOCKS]);
        kept.close();
        assert!((0..exact.len()).all(|i| kept.at(i) == exact[i]));
        assert_eq!(kept.bytes() * 4, exact.len());
    }

    #[test]
    fn a_stall_is_not_smeared_over_its_block() {
        let mut steps_ms = [1.0; 3 * BLOCK];
        steps_ms[100] = 900.0;
        let (exact, mut kept) = times(&steps_ms);
        kept.close();
        for (i, t_ms) in exact.iter().enumerate() {
            assert!((kept.at(i) - t_ms).abs() <= 963.0 / 510.0, "{i}: {} for {t_ms}", kept.at(i));
        }
    }

    fn step_ms() -> impl Strategy<Value = f64> {
        prop_oneof![4 => Just(0.0), 4 => Just(1.0), 2 => 0.0..20.0, 1 => 0.0..1000.0]
    }

    proptest! {
        #[test]
        fn times_stay_in_order_and_within_a_510th_of_their_block(
            steps_ms in proptest::collection::vec(step_ms(), 1..400),
            closed: bool,
        ) {
            let (exact, mut kept) = times(&steps_ms);
            if closed {
                kept.close();
            }
            prop_assert_eq!(kept.first_ms(), exact[0]);
            prop_assert_eq!(kept.last_ms(), exact[exact.len() - 1]);
            for (block, block_exact) in exact.chunks(BLOCK).enumerate() {
                let span_ms = block_exact[block_exact.len() - 1] - block_exact[0];
                for (k, &t_ms) in block_exact.iter().enumerate() {
                    let off_ms = (kept.at(block * BLOCK + k) - t_ms).abs();
                    prop_assert!(off_ms <= span_ms / 510.0 + 1e-6, "off by {off_ms} of {span_ms}");
                }
            }
            prop_assert!((1..exact.len()).all(|i| kept.at(i - 1) <= kept.at(i)));
        }

        #[test]
        fn searching_agrees_with_looking_at_every_time(
            steps_ms in proptest::collection::vec(step_ms(), 1..300),
            share in -0.1..1.1_f64,
            near_ms in prop_oneof![1 => any::<f64>(), 4 => 0.99e6..1.1e6, 1 => Just(f64::NAN)],
            closed: bool,
        ) {
            let (exact, mut kept) = times(&steps_ms);
            if closed {
                kept.close();
            }
            let looked_for = exact[0] + share * (exact[exact.len() - 1] - exact[0]);
            for t_ms in [looked_for, kept.at((share.abs() * 100.0) as usize % exact.len())] {
                let before = (0..exact.len()).filter(|&i| kept.at(i) < t_ms).count();
                prop_assert_eq!(kept.partition_point(near_ms, |t| t < t_ms), before);
                let up_to = (0..exact.len()).filter(|&i| kept.at(i) <= t_ms).count();
                prop_assert_eq!(kept.partition_point(near_ms, |t| t <= t_ms), up_to);
            }
        }
    }
}
