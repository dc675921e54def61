//! The same box as in `model`, eight abreast, in single precision: a count is right to a ten-thousandth.
//! No branch depends on what was drawn, so that the compiler can put eight boxes in one register.

use rand::Rng;

use crate::circuit::Sense;
use crate::wheel::Topology;

use super::model::{
    BoxModel, CONDITIONS, FEED, LOT_PER_K, REFERENCE, REFERENCE_PER_K, SENSE, SENSE_PER_K, WirePlaces,
};

/// How many boxes are computed at once.
pub(super) const LANES: usize = 8;

/// One number of each of them.
pub(super) type Lane = [f32; LANES];

fn each(of: impl Fn(usize) -> f32) -> Lane {
    std::array::from_fn(of)
}

/// What each rung reads in each condition.
pub(super) type Counts = Vec<[Lane; CONDITIONS.len()]>;

/// A model made ready for lanes.
pub(super) struct Plan<'a> {
    model: &'a BoxModel,
    used: Vec<usize>,
    wires: Vec<Wire>,
}

struct Wire {
    topology: Topology,
    places: WirePlaces,
    ohm: Vec<f32>,
    end_ohm: Option<f32>,
    error_count: Vec<f32>,
    rest: bool,
}

/// Room for one batch, made once and used for all.
pub(super) struct Room {
    /// What is drawn, by place; −1 to 1.
    pub(super) draws: Vec<Lane>,
    /// What is read, by rung.
    pub(super) counts: Counts,
    words: Vec<u8>,
    seen: Vec<Lane>,
}

/// 2⁻²³: the upper 24 bits of a word become 0 to 2 by it.
const PER_STEP: f32 = 1.0 / 8_388_608.0;

impl<'a> Plan<'a> {
    pub(super) fn new(model: &'a BoxModel) -> Self {
        let wires = model.wires.iter().enumerate().map(|(number, wire)| {
            let rungs = wire.rungs.len() + usize::from(wire.rest.is_some());
            Wire {
                topology: wire.ladder.topology,
                places: model.places(number),
                ohm: wire.ladder.ohm.iter().map(|&ohm| ohm as f32).collect(),
                end_ohm: wire.ladder.end_ohm.map(|ohm| ohm as f32),
                error_count: (0..rungs).map(|rung| model.error_count(number, rung) as f32).collect(),
                rest: wire.rest.is_some(),
            }
        });
        Self { model, used: model.used(), wires: wires.collect() }
    }

    pub(super) fn room(&self) -> Room {
        let most = self.wires.iter().map(|wire| wire.ohm.len() + 1).max().unwrap_or(0);
        Room {
            draws: vec![[0.0; LANES]; self.model.draws()],
            counts: vec![[[0.0; LANES]; CONDITIONS.len()]; self.model.rungs().count()],
            words: vec![0; self.used.len() * LANES * 4],
            seen: vec![[0.0; LANES]; most],
        }
    }

    /// Draws eight boxes.
    pub(super) fn draw(&self, rng: &mut impl Rng, room: &mut Room) {
        rng.fill_bytes(&mut room.words);
        let (words, _) = room.words.as_chunks::<4>();
        let (words, _) = words.as_chunks::<LANES>();
        for (&place, words) in self.used.iter().zip(words) {
            // The cast keeps all 24 bits, and the sign bit is clear.
            room.draws[place] = each(|l| (u32::from_le_bytes(words[l]) >> 8) as i32 as f32 * PER_STEP - 1.0);
        }
    }

    /// Reads them.
    pub(super) fn read(&self, room: &mut Room) {
        let Room { draws, counts, seen, .. } = room;
        let Self { model: BoxModel { circuit, drifts, .. }, .. } = self;
        let up = circuit.sense == Sense::PullUp;
        let leak = circuit.leak_ohm.map_or(0.0, |ohm| ohm.recip() as f32);
        let contact_ohm = circuit.contact_ohm as f32;
        let half_wear_ohm = 0.5 * drifts.wear_ohm as f32;
        let own_per_k = drifts.ladder_tracking_per_k;
        let tolerance = drifts.ladder_tolerance as f32;
        for (at, kelvin) in self.model.kelvin().into_iter().enumerate() {
            let times_k = |per_k: f64| (per_k * kelvin) as f32;
            let (a, b) = (drifts.sense_tolerance as f32, times_k(drifts.sense_per_k));
            let sense = each(|l| {
                circuit.sense_ohm as f32 * (1.0 + a * draws[SENSE][l]) * (1.0 + b * draws[SENSE_PER_K][l])
            });
            let leaking = each(|l| 1.0 + sense[l] * leak);
            let (a, b) = (drifts.reference_tolerance as f32, times_k(drifts.reference_per_k));
            let (full, feed) = (circuit.full_count() as f32, drifts.feed_tolerance as f32);
            let full = each(|l| {
                full * (1.0 + feed * draws[FEED + at][l])
                    / (1.0 + a * draws[REFERENCE][l] + b * draws[REFERENCE_PER_K][l])
            });
            let b = times_k(drifts.ladder_per_k - own_per_k);
            let lot = each(|l| 1.0 + b * draws[LOT_PER_K][l]);
            let own = times_k(own_per_k);
            let mut first = 0;
            for wire in &self.wires {
                let places = wire.places;
                let resistor = |ohm: f32, k: usize| {
                    let (value, per_k) = (&draws[places.value(k)], &draws[places.per_k(k)]);
                    each(|l| ohm * (1.0 + tolerance * value[l]) * (lot[l] + own * per_k[l]))
                };
                let buttons = wire.ohm.len();
                let mut whole = [0.0; LANES];
                for (k, &ohm) in wire.ohm.iter().enumerate() {
                    let ohm = resistor(ohm, k);
                    match wire.topology {
                        Topology::Series => {
                            whole = each(|l| whole[l] + ohm[l]);
                            seen[k] = whole;
                        }
                        Topology::Parallel => seen[k] = ohm,
                    }
                }
                let end = wire.end_ohm.map(|ohm| resistor(ohm, buttons));
                let mut put = |rung: usize, worn: usize, ohm: Lane| {
                    let (error, by) = (&draws[places.error(rung)], wire.error_count[rung]);
                    counts[first + rung][2 * at + worn] = each(|l| {
                        let over = if up { ohm[l] } else { sense[l] };
                        full[l] * over / (ohm[l] * leaking[l] + sense[l]) + by * error[l]
                    });
                };
                for k in 0..buttons {
                    let (step, wear) = (seen[k], &draws[places.wear(k)]);
                    for worn in 0..2 {
                        let half = worn as f32 * half_wear_ohm;
                        let contact = each(|l| contact_ohm + half * (1.0 + wear[l]));
                        let ohm = match (wire.topology, end) {
                            (_, None) => each(|l| step[l] + contact[l]),
                            (Topology::Series, Some(end)) => {
                                each(|l| step[l] + beside(contact[l], whole[l] - step[l] + end[l]))
                            }
                            (Topology::Parallel, Some(end)) => each(|l| beside(step[l] + contact[l], end[l])),
                        };
                        put(k, worn, ohm);
                    }
                }
                if wire.rest {
                    let end = end.unwrap_or([f32::INFINITY; LANES]);
                    for worn in 0..2 {
                        put(buttons, worn, each(|l| whole[l] + end[l]));
                    }
                }
                first += buttons + usize::from(wire.rest);
            }
        }
    }
}

/// Two resistances side by side; where both are next to nothing, nothing.
fn beside(a_ohm: f32, b_ohm: f32) -> f32 {
    a_ohm * b_ohm / (a_ohm + b_ohm).max(f32::MIN_POSITIVE)
}
