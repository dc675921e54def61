//! The bounded recording: what was read, in little memory, for two hours. Knows nothing of how
//! readings came or who looks at them.

use std::collections::VecDeque;

use super::{Converter, Level, Reading, chunk::Chunk, envelope::Column, times::partition_near};

/// Readings in the order they came, at 4 bytes or less per reading and wire, drawing levels
/// included.
///
/// Levels are kept as they are. Times are exact where readings come evenly and else off by at
/// most 1/510 of the time that 64 readings take (0.13 ms at 1 kHz).
///
/// What is older than the time limit, or more than the reading limit, falls out, oldest first, a
/// chunk of at most 4096 readings and one minute at a time; [`Recording::fell_out`] says how much.
pub struct Recording {
    chunks: VecDeque<Chunk>,
    len: usize,
    second_wire: bool,
    loss_pending: bool,
    begun_ms: f64,
    fell_out: u64,
    limit_ms: f64,
    limit: usize,
}

/// What a recording no longer holds.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct FellOut {
    /// How many readings.
    pub readings: u64,
    /// From the very first reading to the first one still held, in milliseconds.
    pub ms: f64,
}

/// A place between readings: before reading `at` of a chunk, or behind all of them.
#[derive(Clone, Copy)]
pub(super) struct Place {
    pub(super) chunk: usize,
    at: usize,
}

impl Recording {
    /// The longest stretch that is kept, in milliseconds: two hours.
    pub const SPAN_MS: f64 = 7_200_000.0;

    /// The most readings that are kept, give or take a chunk: two hours at 1 kHz.
    pub const READINGS: usize = 7_200_000;

    /// An empty recording that holds two hours.
    #[must_use]
    pub fn new() -> Self {
        Self::with_limits(Self::SPAN_MS, Self::READINGS)
    }

    /// An empty recording with limits of its own: at least `span_ms` and at least `readings` are
    /// kept, whichever is less, and at most a chunk more.
    #[must_use]
    pub fn with_limits(span_ms: f64, readings: usize) -> Self {
        Self {
            chunks: VecDeque::new(),
            len: 0,
            second_wire: false,
            loss_pending: false,
            begun_ms: 0.0,
            fell_out: 0,
            limit_ms: span_ms,
            limit: readings,
        }
    }

    /// Takes readings, oldest first. A time that runs backwards, or is no finite number, is held
    /// at the last one.
    pub fn push(&mut self, readings: &[Reading]) {
        for reading in readings {
            self.push_one(reading);
        }
        self.drop_old();
    }

    /// Readings are missing between the last one and the next one.
    pub fn mark_loss(&mut self) {
        self.loss_pending = !self.is_empty();
    }

    /// Forgets everything but the limits.
    pub fn clear(&mut self) {
        *self = Self::with_limits(self.limit_ms, self.limit);
    }

    /// What came so far was taken for another converter's: to [`Converter::TwelveBit`] every level
    /// becomes a quarter of itself, exact for the whole counts that a 10-bit converter gives; to
    /// [`Converter::TenBit`] four times, which undoes that.
    pub fn rescale(&mut self, to: Converter) {
        self.chunks.iter_mut().for_each(|chunk| chunk.rescale(to));
    }

    /// How many readings are held.
    #[must_use]
    pub fn len(&self) -> usize {
        self.len
    }

    /// Whether no reading is held.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.len == 0
    }

    /// 2 once the second wire has had a reading, else 1.
    #[must_use]
    pub fn wires(&self) -> usize {
        if self.second_wire { 2 } else { 1 }
    }

    /// When the oldest reading held was taken.
    #[must_use]
    pub fn first_t_ms(&self) -> Option<f64> {
        self.chunks.front().map(Chunk::first_ms)
    }

    /// When the newest reading was taken.
    #[must_use]
    pub fn last_t_ms(&self) -> Option<f64> {
        self.chunks.back().map(Chunk::last_ms)
    }

    /// The newest reading.
    #[must_use]
    pub fn last(&self) -> Option<Reading> {
        self.chunks.back().map(|chunk| chunk.reading(chunk.len() - 1))
    }

    /// What was recorded and is no longer held.
    #[must_use]
    pub fn fell_out(&self) -> FellOut {
        let ms = self.first_t_ms().map_or(0.0, |first_ms| first_ms - self.begun_ms);
        FellOut { readings: self.fell_out, ms }
    }

    /// The readings from `from_ms` to `to_ms`, both included, oldest first.
    pub fn between(&self, from_ms: f64, to_ms: f64) -> impl Iterator<Item = Reading> + '_ {
        let start = self.find(0, from_ms, |t_ms| t_ms < from_ms);
        let end = self.find(start.chunk, to_ms, |t_ms| t_ms <= to_ms);
        self.chunks.iter().enumerate().skip(start.chunk).take_while(move |(at, _)| *at <= end.chunk).flat_map(
            move |(at, chunk)| {
                let from = if at == start.chunk { start.at } else { 0 };
                let to = if at == end.chunk { end.at } else { chunk.len() };
                (from..to).map(|index| chunk.reading(index))
            },
        )
    }

    /// Where readings are missing from `from_ms` to `to_ms`, oldest first: half way between the
    /// reading before and the reading after, or at the last reading while none has come after.
    #[must_use]
    pub fn losses_between(&self, from_ms: f64, to_ms: f64) -> Vec<f64> {
        let mut losses = Vec::new();
        let mut before_ms = None;
        for chunk in &self.chunks {
            if before_ms.is_some_and(|t_ms| t_ms > to_ms) {
                break;
            }
            if chunk.last_ms() >= from_ms {
                losses.extend(chunk.losses().map(|index| {
                    let after_ms = chunk.t_ms(index);
                    let before_ms = index.checked_sub(1).map(|before| chunk.t_ms(before)).or(before_ms);
                    before_ms.map_or(after_ms, |before_ms| before_ms.midpoint(after_ms))
                }));
            }
            before_ms = Some(chunk.last_ms());
        }
        if self.loss_pending {
            losses.extend(self.last_t_ms());
        }
        losses.retain(|t_ms| (from_ms..=to_ms).contains(t_ms));
        losses
    }

    /// The bytes this recording takes on the heap.
    #[must_use]
    pub fn bytes(&self) -> usize {
        let chunks: usize = self.chunks.iter().map(Chunk::bytes).sum();
        self.chunks.capacity() * size_of::<Chunk>() + chunks
    }

    /// The place behind all readings that satisfy `early`, which must hold for none after the
    /// first it does not hold for; chunks before `from_chunk` are known to satisfy it. The place
    /// is looked for near `near_ms` first.
    pub(super) fn find(&self, from_chunk: usize, near_ms: f64, early: impl Fn(f64) -> bool) -> Place {
        let is_early = |at: usize| self.chunks.get(at).is_some_and(|chunk| early(chunk.last_ms()));
        // Seldom far from where the last search ended.
        let chunk = partition_near(from_chunk..self.chunks.len(), from_chunk, is_early);
        let at = self.chunks.get(chunk).map_or(0, |chunk| chunk.partition_point(near_ms, early));
        Place { chunk, at }
    }

    /// Lowest and highest of a wire's readings from `start` to `end`.
    pub(super) fn column(&self, wire: usize, start: Place, end: Place) -> Column {
        let Some(first) = self.chunks.get(start.chunk) else { return Column::NONE };
        if start.chunk == end.chunk {
            return first.over(wire, start.at, end.at);
        }
        let mut column = first.over(wire, start.at, first.len());
        for chunk in self.chunks.range(start.chunk + 1..end.chunk) {
            column = column.and(chunk.whole(wire));
        }
        match self.chunks.get(end.chunk) {
            Some(last) => column.and(last.over(wire, 0, end.at)),
            None => column,
        }
    }

    fn push_one(&mut self, reading: &Reading) {
        let last_ms = self.last_t_ms();
        let t_ms = match last_ms {
            Some(last_ms) if !reading.t_ms.is_finite() || reading.t_ms < last_ms => last_ms,
            None if !reading.t_ms.is_finite() => 0.0,
            _ => reading.t_ms,
        };
        if last_ms.is_none() {
            self.begun_ms = t_ms;
        }
        if !self.chunks.back().is_some_and(|chunk| chunk.takes(t_ms)) {
            if let Some(chunk) = self.chunks.back_mut() {
                chunk.close();
            }
            self.drop_old();
            self.chunks.push_back(Chunk::default());
        }
        if let Some(chunk) = self.chunks.back_mut() {
            if std::mem::take(&mut self.loss_pending) {
                chunk.mark_loss();
            }
            chunk.push(t_ms, reading.wire);
            self.len += 1;
            self.second_wire |= reading.wire[1] != Level::NONE;
        }
    }

    /// Lets chunks fall out that lie wholly beyond a limit; the newest stays.
    fn drop_old(&mut self) {
        let Some(last_ms) = self.last_t_ms() else { return };
        while self.chunks.len() > 1
            && self.chunks.front().is_some_and(|oldest| {
                oldest.last_ms() < last_ms - self.limit_ms || self.len - oldest.len() >= self.limit
            })
        {
            let fallen = self.chunks.pop_front().map_or(0, |chunk| chunk.len());
            self.len -= fallen;
            self.fell_out += fallen as u64;
        }
    }
}

impl Default for Recording {
    fn default() -> Self {
        Self::new()
    }
}

impl std::fmt::Debug for Recording {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Recording")
            .field("len", &self.len)
            .field("wires", &self.wires())
            .field("first_t_ms", &self.first_t_ms())
            .field("last_t_ms", &self.last_t_ms())
            .field("fell_out", &self.fell_out())
            .finish_non_exhaustive()
    }
}
