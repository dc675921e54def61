//! Boxes by the million: drawn, read and counted, a chunk at a time. A chunk has a stream of chance of
//! its own, and what is counted is whole numbers, so that chunks may be counted in any order, on any
//! thread, and the sum is the same.

use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;

use super::lanes::{LANES, Lane, Plan, Room};
use super::model::{BoxModel, BoxRung, BoxWire, CONDITIONS};

/// Boxes of one chunk; the last one has what is left.
pub const CHUNK_BOXES: u64 = 4_096;

/// The most boxes that can be asked for: some minutes' work.
pub const MOST_BOXES: u64 = 1_000_000_000;

/// The most rungs: 16 buttons, and a rest on each of two wires.
pub const MOST_RUNGS: usize = 18;

/// Bins of a histogram. The first and the last also hold what lies beyond.
pub const BINS: usize = 96;

/// How far beyond its band a histogram reaches to either side, as a share of the band's width.
const BEYOND: f32 = 0.16;

/// What came of one rung.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RungTally {
    /// Boxes where it ever falls in nobody's band, or in rest's.
    pub ignored: u64,
    /// Boxes where it ever falls in another button's band.
    pub misread: u64,
    /// Boxes where it ever falls in this button's, by its number among the model's rungs.
    pub misread_as: [u64; MOST_RUNGS],
    /// Readings, six of each box, by where they fell; see [`BoxRun::axis`].
    pub histogram: [u64; BINS],
}

/// What came of so many boxes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BoxTally {
    /// How many.
    pub boxes: u64,
    /// Boxes where any rung ever falls in another button's band.
    pub misreading: u64,
    /// Boxes where any button ever falls in nobody's band, or in rest's.
    pub ignoring: u64,
    /// By rung, as in the model.
    pub rungs: Vec<RungTally>,
}

impl BoxTally {
    /// None yet, of so many rungs.
    #[must_use]
    pub fn none(rungs: usize) -> Self {
        let empty = RungTally { ignored: 0, misread: 0, misread_as: [0; MOST_RUNGS], histogram: [0; BINS] };
        Self { boxes: 0, misreading: 0, ignoring: 0, rungs: vec![empty; rungs] }
    }

    /// Takes other boxes in.
    pub fn add(&mut self, other: &Self) {
        self.boxes += other.boxes;
        self.misreading += other.misreading;
        self.ignoring += other.ignoring;
        for (all, more) in self.rungs.iter_mut().zip(&other.rungs) {
            all.ignored += more.ignored;
            all.misread += more.misread;
            let sums = all.misread_as.iter_mut().chain(&mut all.histogram);
            for (sum, more) in sums.zip(more.misread_as.iter().chain(&more.histogram)) {
                *sum += more;
            }
        }
    }
}

/// So many boxes of a model, to be counted chunk by chunk.
pub struct BoxRun<'a> {
    model: &'a BoxModel,
    plan: Plan<'a>,
    rungs: Vec<Rung<'a>>,
    boxes: u64,
    seed: u64,
}

/// A rung made ready for counting.
struct Rung<'a> {
    /// Readings from here on up to `below` are its own.
    from: f32,
    below: f32,
    /// The histogram's left end, and bins per count.
    left: f32,
    per_count: f32,
    own: Option<u8>,
    is_rest: bool,
    owner: &'a [u8; 1024],
}

impl<'a> BoxRun<'a> {
    /// Makes ready; `boxes` is held to [`MOST_BOXES`].
    #[must_use]
    pub fn new(model: &'a BoxModel, boxes: u64, seed: u64) -> Self {
        let rungs = model.wires().iter().flat_map(|wire| {
            let buttons = wire.rungs.iter().map(|rung| Rung::new(rung, wire, false));
            buttons.chain(wire.rest.iter().map(|rung| Rung::new(rung, wire, true)))
        });
        Self { model, plan: Plan::new(model), rungs: rungs.collect(), boxes: boxes.min(MOST_BOXES), seed }
    }

    /// How many chunks there are.
    #[must_use]
    pub fn chunks(&self) -> usize {
        // At most 244 141 by the limit above.
        self.boxes.div_ceil(CHUNK_BOXES) as usize
    }

    /// An empty tally to add chunks to.
    #[must_use]
    pub fn none(&self) -> BoxTally {
        BoxTally::none(self.rungs.len())
    }

    /// The ends of a rung's histogram, in counts.
    #[must_use]
    pub fn axis(&self, rung: usize) -> Option<(f64, f64)> {
        let rung = self.rungs.get(rung)?;
        let left = f64::from(rung.left);
        Some((left, left + BINS as f64 / f64::from(rung.per_count)))
    }

    /// Builds and counts one chunk. The same chunk of the same model and seed gives the same, whenever
    /// and wherever.
    #[must_use]
    pub fn tally(&self, chunk: usize) -> BoxTally {
        let chunk = chunk as u64;
        let boxes = self.boxes.saturating_sub(chunk * CHUNK_BOXES).min(CHUNK_BOXES);
        let mut rng = self.stream(chunk);
        let mut room = self.plan.room();
        let mut tally = self.none();
        tally.boxes = boxes;
        let mut left = boxes as usize;
        while left > 0 {
            self.plan.draw(&mut rng, &mut room);
            self.plan.read(&mut room);
            self.count(&room, left.min(LANES), &mut tally);
            left -= left.min(LANES);
        }
        tally
    }

    fn stream(&self, chunk: u64) -> ChaCha8Rng {
        let mut rng = ChaCha8Rng::seed_from_u64(self.seed);
        rng.set_stream(chunk);
        rng
    }

    fn count(&self, room: &Room, live: usize, tally: &mut BoxTally) {
        let (mut misreading, mut ignoring) = ([false; LANES], [false; LANES]);
        for ((rung, counts), tally) in self.rungs.iter().zip(&room.counts).zip(&mut tally.rungs) {
            for lane in counts {
                let bins = lane
                    .map(|count| ((count - rung.left) * rung.per_count).clamp(0.0, BINS as f32 - 1.0) as i32);
                for &bin in &bins[..live] {
                    tally.histogram[bin as usize] += 1;
                }
            }
            let strays = rung.strays(counts);
            for lane in (0..live).filter(|&lane| strays[lane]) {
                let (ignored, misread) = rung.judge(counts.each_ref().map(|at| at[lane]));
                tally.ignored += u64::from(ignored);
                tally.misread += u64::from(misread != 0);
                for (other, sum) in tally.misread_as.iter_mut().enumerate() {
                    *sum += u64::from(misread >> other & 1);
                }
                misreading[lane] |= misread != 0;
                ignoring[lane] |= ignored && !rung.is_rest;
            }
        }
        let how_many = |lanes: &[bool]| lanes.iter().filter(|&&is| is).count() as u64;
        tally.misreading += how_many(&misreading);
        tally.ignoring += how_many(&ignoring);
    }

    /// What was drawn for the first boxes of a chunk and what they read, for tests.
    #[cfg(test)]
    pub(super) fn first(&self, chunk: u64) -> (Vec<Lane>, super::lanes::Counts) {
        let mut room = self.plan.room();
        self.plan.draw(&mut self.stream(chunk), &mut room);
        self.plan.read(&mut room);
        (room.draws, room.counts)
    }

    /// The model.
    #[must_use]
    pub fn model(&self) -> &BoxModel {
        self.model
    }
}

impl<'a> Rung<'a> {
    fn new(rung: &BoxRung, wire: &'a BoxWire, is_rest: bool) -> Self {
        let (low, above) = (f32::from(rung.low_count), f32::from(rung.high_count) + 1.0);
        let width = (above - low).max(1.0);
        let left = low - BEYOND * width;
        Self {
            // The converter's ends hold whatever is beyond them.
            from: if rung.low_count == 0 { f32::NEG_INFINITY } else { low },
            below: if rung.high_count >= 1023 { f32::INFINITY } else { above },
            left,
            per_count: BINS as f32 / ((1.0 + 2.0 * BEYOND) * width),
            own: rung.own,
            is_rest,
            owner: &wire.owner,
        }
    }

    /// Which boxes ever leave its band.
    fn strays(&self, counts: &[Lane; CONDITIONS.len()]) -> [bool; LANES] {
        std::array::from_fn(|l| {
            let low = counts.iter().fold(f32::INFINITY, |low, at| low.min(at[l]));
            let high = counts.iter().fold(f32::NEG_INFINITY, |high, at| high.max(at[l]));
            // Written so that what is no number strays.
            !(low >= self.from && high < self.below) || self.own.is_none()
        })
    }

    /// Of one box's readings: whether one is in nobody's band, and the others' whose bands they are in, a
    /// bit for each.
    fn judge(&self, counts: [f32; CONDITIONS.len()]) -> (bool, u32) {
        let (mut ignored, mut misread) = (false, 0);
        for count in counts {
            // The converter drops the fraction and is held to its ends; the cast is safe.
            let owner = self.owner[count.clamp(0.0, 1023.0) as usize];
            if Some(owner) == self.own {
                continue;
            }
            match owner {
                BoxWire::NOBODY | BoxWire::REST => ignored = true,
                other => misread |= 1 << other,
            }
        }
        (ignored, misread)
    }
}
