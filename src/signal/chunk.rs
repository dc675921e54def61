//! A few thousand readings that are kept and fall out of the recording together. Knows nothing of
//! the chunks beside it.

use super::{
    Converter, Level, Reading,
    envelope::Column,
    lane::Lane,
    times::{BLOCK, BLOCKS, Times},
};

/// Readings in a full chunk.
const CHUNK: usize = BLOCK * BLOCKS;

/// A chunk takes no reading after a silence longer than this, so that a silence never blurs the
/// times around it.
const SILENCE_MS: f64 = 1_000.0;

/// A chunk of a slow probe takes no reading later than this after its first, so that what falls
/// out at once stays small.
const LONGEST_MS: f64 = 60_000.0;

/// Up to [`CHUNK`] readings, oldest first; never empty once it is in a recording.
#[derive(Default)]
pub(super) struct Chunk {
    times: Times,
    first: Lane,
    /// Only once the second wire has a reading in this chunk.
    second: Option<Box<Lane>>,
    /// A bit for each reading before which some were lost; only once there is one.
    losses: Option<Box<[u64; BLOCKS]>>,
}

impl Chunk {
    pub(super) fn len(&self) -> usize {
        self.times.len()
    }

    pub(super) fn first_ms(&self) -> f64 {
        self.times.first_ms()
    }

    pub(super) fn last_ms(&self) -> f64 {
        self.times.last_ms()
    }

    /// Whether a reading at `t_ms` still belongs into this chunk.
    pub(super) fn takes(&self, t_ms: f64) -> bool {
        self.len() < CHUNK && t_ms - self.last_ms() <= SILENCE_MS && t_ms - self.first_ms() <= LONGEST_MS
    }

    pub(super) fn push(&mut self, t_ms: f64, wire: [Level; 2]) {
        let [first, second] = wire;
        if second != Level::NONE && self.second.is_none() {
            self.second = Some(Box::new(Lane::absent(self.len())));
        }
        self.times.push(t_ms);
        self.first.push(first);
        if let Some(lane) = &mut self.second {
            lane.push(second);
        }
    }

    /// Readings were lost before the next reading pushed.
    pub(super) fn mark_loss(&mut self) {
        let index = self.len();
        self.losses.get_or_insert_with(|| Box::new([0; BLOCKS]))[index / BLOCK] |= 1 << (index % BLOCK);
    }

    /// No more readings will come: gives back what was held ready for them.
    pub(super) fn close(&mut self) {
        self.times.close();
        self.first.close();
        if let Some(lane) = &mut self.second {
            lane.close();
        }
    }

    pub(super) fn t_ms(&self, index: usize) -> f64 {
        self.times.at(index)
    }

    pub(super) fn reading(&self, index: usize) -> Reading {
        let second = self.second.as_ref().map_or(Level::NONE, |lane| lane.at(index));
        Reading { t_ms: self.t_ms(index), wire: [self.first.at(index), second] }
    }

    /// How many readings from the start have times that satisfy `early`; see
    /// [`Times::partition_point`].
    pub(super) fn partition_point(&self, near_ms: f64, early: impl Fn(f64) -> bool) -> usize {
        self.times.partition_point(near_ms, early)
    }

    /// Lowest and highest of the readings `from..to` of a wire.
    pub(super) fn over(&self, wire: usize, from: usize, to: usize) -> Column {
        self.lane(wire).map_or(Column::NONE, |lane| lane.over(from, to))
    }

    /// Lowest and highest of all readings of a wire.
    pub(super) fn whole(&self, wire: usize) -> Column {
        self.lane(wire).map_or(Column::NONE, Lane::whole)
    }

    /// The readings before which some were lost, oldest first.
    pub(super) fn losses(&self) -> impl Iterator<Item = usize> {
        self.losses.iter().flat_map(|words| words.iter()).enumerate().flat_map(|(block, word)| {
            (0..BLOCK).filter(move |k| word >> k & 1 == 1).map(move |k| block * BLOCK + k)
        })
    }

    pub(super) fn rescale(&mut self, to: Converter) {
        self.first.rescale(to);
        if let Some(lane) = &mut self.second {
            lane.rescale(to);
        }
    }

    /// Bytes on the heap.
    pub(super) fn bytes(&self) -> usize {
        let second = self.second.as_ref().map_or(0, |lane| size_of::<Lane>() + lane.bytes());
        let losses = self.losses.as_ref().map_or(0, |words| size_of_val(&**words));
        self.times.bytes() + self.first.bytes() + second + losses
    }

    fn lane(&self, wire: usize) -> Option<&Lane> {
        match wire {
            0 => Some(&self.first),
            1 => self.second.as_deref(),
            _ => None,
        }
    }
}
