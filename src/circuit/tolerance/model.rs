//! A box at a wheel, as it may be built: what is drawn for it, between which limits, and what it then
//! reads. Everything here is plain arithmetic of one box; `lanes` does the same for eight abreast.

use crate::circuit::{Circuit, Sense};
use crate::units::{SCALE_COUNT, TOP_COUNT};
use crate::wheel::{Ladder, Topology, beside};

use super::engine::{Limits, Propagated, root_sum_square, worst_case};

/// How far what a box is built of may be off, and what time and weather do to it. Shares are of 1.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Drifts {
    /// The ladder's resistors, each of its own.
    pub ladder_tolerance: f64,
    /// Their temperature coefficient, in 1/K, as a lot.
    pub ladder_per_k: f64,
    /// How much of it each resistor has of its own, in 1/K; at most `ladder_per_k`, and the lot has the
    /// rest, so that no resistor is beyond the whole.
    pub ladder_tracking_per_k: f64,
    /// The sense resistor.
    pub sense_tolerance: f64,
    /// Its temperature coefficient, in 1/K.
    pub sense_per_k: f64,
    /// How many ohms a contact gains as it wears, at most.
    pub wear_ohm: f64,
    /// The coldest, in °C.
    pub cold_c: f64,
    /// The hottest, in °C.
    pub hot_c: f64,
    /// The feed, where a reading isn't a ratio.
    pub feed_tolerance: f64,
    /// A reference other than the supply, or the feed monitor's divider where one is fitted.
    pub reference_tolerance: f64,
    /// Its temperature coefficient, in 1/K.
    pub reference_per_k: f64,
}

/// A rung of the ladder: a button, or rest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BoxRung {
    /// Which band is its own: the number of the button whose it is among [`BoxModel::rungs`], or
    /// [`BoxWire::REST`]; `None` where it has none.
    pub own: Option<u8>,
    /// How far the converter's reading may be off, in counts.
    pub error_count: f64,
    /// The lowest whole count of its band, or of where it should be if it has none.
    pub low_count: u16,
    /// The highest.
    pub high_count: u16,
}

/// One wire: its ladder, a rung for each of the ladder's buttons, in its order, and rest.
#[derive(Clone, Debug, PartialEq)]
pub struct BoxWire {
    /// The ladder without contacts.
    pub ladder: Ladder,
    /// Each button's.
    pub rungs: Vec<BoxRung>,
    /// Rest, where the ladder is closed at rest.
    pub rest: Option<BoxRung>,
    /// Whose band each whole count belongs to, 0 to 1023, by number as in [`BoxRung::own`];
    /// [`BoxWire::NOBODY`] where it is rejected.
    pub owner: Box<[u8; 1024]>,
}

impl BoxWire {
    /// No band holds this count.
    pub const NOBODY: u8 = u8::MAX;
    /// Rest's band holds it.
    pub const REST: u8 = u8::MAX - 1;
}

/// A box at a wheel, with all that may be off.
///
/// For each box is drawn, uniform between its limits:
///
/// * each ladder resistor's and the sense resistor's value, within its tolerance;
/// * one temperature coefficient for the ladder's lot and a small one for each of its resistors: of one
///   lot they follow each other to within 50 ppm/K (resistor maker's note, FACTS B2); and the sense
///   resistor's, independent of them;
/// * each contact's wear, 0 to the most, in series with what a new contact is;
/// * the feed, anew at each temperature, and the reference with its temperature coefficient: where the
///   supply is the reference neither moves a reading, and with a feed monitor what is drawn is the
///   monitor's divider;
/// * the converter's error, for each rung.
///
/// Each box is then read in six conditions: cold, at 25 °C and hot, each with contacts new and worn.
#[derive(Clone, Debug, PartialEq)]
pub struct BoxModel {
    pub(super) circuit: Circuit,
    pub(super) drifts: Drifts,
    pub(super) wires: Vec<BoxWire>,
    /// Where each wire's draws begin.
    pub(super) starts: Vec<usize>,
    draws: usize,
}

/// The temperature at which values are as printed, in °C (the datasheets').
const PRINTED_AT_C: f64 = 25.0;

/// One of the conditions a box is read in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Condition {
    /// 0 cold, 1 at 25 °C, 2 hot.
    pub temperature: usize,
    /// Whether the contacts are worn.
    pub worn: bool,
}

/// All of them.
pub const CONDITIONS: [Condition; 6] = [
    Condition { temperature: 0, worn: false },
    Condition { temperature: 0, worn: true },
    Condition { temperature: 1, worn: false },
    Condition { temperature: 1, worn: true },
    Condition { temperature: 2, worn: false },
    Condition { temperature: 2, worn: true },
];

/// Why a box can't be judged.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ModelError {
    /// No buttons.
    #[error("There are no buttons to judge. Enter them at the Wheel station.")]
    NoButtons,
    /// More rungs than there is room for.
    #[error("There are {0} rungs, buttons and rests, and at most {most} can be judged. Remove some buttons.", most = super::MOST_RUNGS)]
    TooMany(usize),
    /// Rungs that don't fit the ladder.
    #[error("A wire has {rungs} buttons and a ladder of {resistors} resistors. Give one for each.")]
    Rungs {
        /// Rungs.
        rungs: usize,
        /// Resistors.
        resistors: usize,
    },
    /// A value that can't be computed with.
    #[error(
        "The {what} is {value}, and boxes can't be computed with that. Enter it anew at the Circuit station."
    )]
    Value {
        /// Which.
        what: &'static str,
        /// Its value.
        value: f64,
    },
}

/// Where the draws common to all wires stand.
pub(super) const SENSE: usize = 0;
pub(super) const SENSE_PER_K: usize = 1;
pub(super) const LOT_PER_K: usize = 2;
pub(super) const REFERENCE: usize = 3;
pub(super) const REFERENCE_PER_K: usize = 4;
pub(super) const FEED: usize = 5;
/// How many they are: the feed has one for each temperature.
const COMMON: usize = FEED + 3;

/// What was drawn for one box: each −1 to 1, the wear of contacts too.
#[derive(Clone, Debug, PartialEq)]
pub struct BoxDraws(pub Vec<f64>);

/// Places of a wire's draws, from its start on.
#[derive(Clone, Copy, Debug)]
pub(super) struct WirePlaces {
    start: usize,
    buttons: usize,
}

impl WirePlaces {
    pub(super) const fn new(start: usize, buttons: usize) -> Self {
        Self { start, buttons }
    }
    /// A resistor's value; the end-of-line resistor comes behind the buttons'.
    pub(super) const fn value(self, resistor: usize) -> usize {
        self.start + resistor
    }
    /// Its own part of the temperature coefficient.
    pub(super) const fn per_k(self, resistor: usize) -> usize {
        self.start + (self.buttons + 1) + resistor
    }
    /// The reading's error; rest comes behind the buttons.
    pub(super) const fn error(self, rung: usize) -> usize {
        self.start + 2 * (self.buttons + 1) + rung
    }
    /// A contact's wear.
    pub(super) const fn wear(self, button: usize) -> usize {
        self.start + 3 * (self.buttons + 1) + button
    }
    const fn end(self) -> usize {
        self.start + 4 * (self.buttons + 1)
    }
}

impl BoxModel {
    /// Checks what it is made of.
    ///
    /// # Errors
    /// The first thing that can't be.
    pub fn new(circuit: Circuit, drifts: Drifts, wires: Vec<BoxWire>) -> Result<Self, ModelError> {
        let value = |what, value: f64, range: std::ops::RangeInclusive<f64>| {
            if range.contains(&value) { Ok(()) } else { Err(ModelError::Value { what, value }) }
        };
        value("sense resistor", circuit.sense_ohm, 1e-3..=1e9)?;
        value("ladder's tolerance", drifts.ladder_tolerance, 0.0..=0.5)?;
        value("sense resistor's tolerance", drifts.sense_tolerance, 0.0..=0.5)?;
        value("ladder's temperature coefficient", drifts.ladder_per_k, 0.0..=0.005)?;
        value(
            "part of it that is each resistor's own",
            drifts.ladder_tracking_per_k,
            0.0..=drifts.ladder_per_k,
        )?;
        value("sense resistor's temperature coefficient", drifts.sense_per_k, 0.0..=0.005)?;
        value("contact wear", drifts.wear_ohm, 0.0..=1e6)?;
        value("coldest temperature", drifts.cold_c, -100.0..=PRINTED_AT_C)?;
        value("hottest temperature", drifts.hot_c, PRINTED_AT_C..=200.0)?;
        value("feed's tolerance", drifts.feed_tolerance, 0.0..=0.5)?;
        value("reference's tolerance", drifts.reference_tolerance, 0.0..=0.5)?;
        value("reference's temperature coefficient", drifts.reference_per_k, 0.0..=0.005)?;
        value("contact", circuit.contact_ohm, 0.0..=1e9)?;
        value("full scale", circuit.full_count(), 1e-3..=1e9)?;
        let rungs: usize = wires.iter().map(|wire| wire.rungs.len() + usize::from(wire.rest.is_some())).sum();
        if wires.iter().all(|wire| wire.rungs.is_empty()) {
            return Err(ModelError::NoButtons);
        }
        if rungs > super::MOST_RUNGS {
            return Err(ModelError::TooMany(rungs));
        }
        for wire in &wires {
            let resistors = wire.ladder.ohm.len();
            if wire.rungs.len() != resistors {
                return Err(ModelError::Rungs { rungs: wire.rungs.len(), resistors });
            }
            for &ohm in wire.ladder.ohm.iter().chain(&wire.ladder.end_ohm) {
                value("ladder's resistor", ohm, 0.0..=1e12)?;
            }
            if wire.rest.is_some() && wire.ladder.end_ohm.is_none() {
                return Err(ModelError::Value { what: "end-of-line resistor", value: f64::INFINITY });
            }
            let is_known =
                |owner: u8| usize::from(owner) < rungs || owner == BoxWire::REST || owner == BoxWire::NOBODY;
            if let Some(&owner) = wire.owner.iter().find(|&&owner| !is_known(owner)) {
                return Err(ModelError::Value { what: "owner of a count", value: f64::from(owner) });
            }
            for rung in wire.rungs.iter().chain(&wire.rest) {
                value("converter's error", rung.error_count, 0.0..=SCALE_COUNT)?;
            }
        }
        let mut draws = COMMON;
        let starts = wires
            .iter()
            .map(|wire| {
                let start = draws;
                draws = WirePlaces::new(start, wire.rungs.len()).end();
                start
            })
            .collect();
        Ok(Self { circuit, drifts, wires, starts, draws })
    }

    /// The circuit where all is as printed.
    #[must_use]
    pub fn circuit(&self) -> &Circuit {
        &self.circuit
    }

    /// What may be off.
    #[must_use]
    pub fn drifts(&self) -> &Drifts {
        &self.drifts
    }

    /// The wires.
    #[must_use]
    pub fn wires(&self) -> &[BoxWire] {
        &self.wires
    }

    /// The rungs with the number of their wire from 0: each wire's buttons in the ladder's order, then its
    /// rest if it is judged. A rung's place here is its number everywhere.
    pub fn rungs(&self) -> impl Iterator<Item = (usize, &BoxRung)> {
        self.wires
            .iter()
            .enumerate()
            .flat_map(|(wire, it)| it.rungs.iter().chain(&it.rest).map(move |rung| (wire, rung)))
    }

    /// How many draws make a box.
    #[must_use]
    pub fn draws(&self) -> usize {
        self.draws
    }

    /// How far from 25 °C each temperature is, in K.
    pub(super) fn kelvin(&self) -> [f64; 3] {
        [self.drifts.cold_c - PRINTED_AT_C, 0.0, self.drifts.hot_c - PRINTED_AT_C]
    }

    /// What a reading goes with besides the ladder and the sense resistor: 1 where all is as printed.
    fn gain(&self, draws: &[f64], temperature: usize) -> f64 {
        let Self { drifts, .. } = self;
        let kelvin = self.kelvin()[temperature];
        let reference = 1.0
            + drifts.reference_tolerance * draws[REFERENCE]
            + drifts.reference_per_k * kelvin * draws[REFERENCE_PER_K];
        (1.0 + drifts.feed_tolerance * draws[FEED + temperature]) / reference
    }

    /// What a rung reads in one condition, in counts, before the converter drops the fraction. `rung` is
    /// its place among its wire's buttons; behind them is rest.
    #[must_use]
    pub fn reading(&self, draws: &BoxDraws, wire: usize, rung: usize, condition: Condition) -> f64 {
        let Self { circuit, drifts, .. } = self;
        let draws = draws.0.as_slice();
        let (it, places) = (&self.wires[wire], self.places(wire));
        let kelvin = self.kelvin()[condition.temperature];
        let lot_per_k = (drifts.ladder_per_k - drifts.ladder_tracking_per_k) * draws[LOT_PER_K];
        let resistor = |ohm: f64, place: usize| {
            let per_k = lot_per_k + drifts.ladder_tracking_per_k * draws[places.per_k(place)];
            ohm * (1.0 + drifts.ladder_tolerance * draws[places.value(place)]) * (1.0 + per_k * kelvin)
        };
        let buttons = it.ladder.ohm.len();
        let ohms: Vec<f64> = it.ladder.ohm.iter().enumerate().map(|(k, &ohm)| resistor(ohm, k)).collect();
        let end_ohm = it.ladder.end_ohm.map_or(f64::INFINITY, |ohm| resistor(ohm, buttons));
        let contact_ohm = |button: usize| {
            let worn =
                if condition.worn { drifts.wear_ohm * 0.5 * (1.0 + draws[places.wear(button)]) } else { 0.0 };
            circuit.contact_ohm + worn
        };
        let seen_ohm = match (it.ladder.topology, rung < buttons) {
            (Topology::Series, true) => {
                let (before, behind) = ohms.split_at(rung + 1);
                before.iter().sum::<f64>() + beside(contact_ohm(rung), behind.iter().sum::<f64>() + end_ohm)
            }
            (Topology::Series, false) => ohms.iter().sum::<f64>() + end_ohm,
            (Topology::Parallel, true) => beside(ohms[rung] + contact_ohm(rung), end_ohm),
            (Topology::Parallel, false) => end_ohm,
        };
        let sense_ohm = circuit.sense_ohm
            * (1.0 + drifts.sense_tolerance * draws[SENSE])
            * (1.0 + drifts.sense_per_k * draws[SENSE_PER_K] * kelvin);
        let leak = circuit.leak_ohm.map_or(0.0, f64::recip);
        // The divider's share in one form for both ways round, the leak in it.
        let over = match circuit.sense {
            Sense::PullUp => seen_ohm,
            Sense::PullDown => sense_ohm,
        };
        let share = if seen_ohm == f64::INFINITY {
            circuit.node_share(seen_ohm)
        } else {
            over / (seen_ohm + sense_ohm + seen_ohm * sense_ohm * leak)
        };
        let error = self.error_count(wire, rung) * draws[places.error(rung)];
        circuit.full_count() * self.gain(draws, condition.temperature) * share + error
    }

    /// The lowest and the highest a rung ever reads, in counts, 0 to 1023, fractions kept: at the worst
    /// corner of all that is drawn, in the worst condition.
    #[must_use]
    pub fn worst_case(&self, wire: usize, rung: usize) -> (f64, f64) {
        let ends = vec![Limits { low: -1.0, nominal: 0.0, high: 1.0 }; self.draws];
        CONDITIONS.iter().fold((TOP_COUNT, 0.0), |(low, high): (f64, f64), &condition| {
            let (lowest, highest) =
                worst_case(&ends, |at| self.reading(&BoxDraws(at.to_vec()), wire, rung, condition));
            (low.min(lowest).clamp(0.0, TOP_COUNT), high.max(highest).clamp(0.0, TOP_COUNT))
        })
    }

    /// The same by the law of propagation, in each condition.
    #[must_use]
    pub fn root_sum_square(&self, wire: usize, rung: usize) -> [Propagated; CONDITIONS.len()] {
        let ends = vec![Limits { low: -1.0, nominal: 0.0, high: 1.0 }; self.draws];
        CONDITIONS.map(|condition| {
            root_sum_square(&ends, |at| self.reading(&BoxDraws(at.to_vec()), wire, rung, condition))
        })
    }

    /// The places of a wire's draws.
    pub(super) fn places(&self, wire: usize) -> WirePlaces {
        WirePlaces::new(self.starts[wire], self.wires[wire].rungs.len())
    }

    pub(super) fn error_count(&self, wire: usize, rung: usize) -> f64 {
        let it = &self.wires[wire];
        it.rungs.get(rung).or(it.rest.as_ref()).map_or(0.0, |rung| rung.error_count)
    }

    /// The draws that change anything at all, in order: only these are drawn, all others stay 0.
    pub(super) fn used(&self) -> Vec<usize> {
        let d = &self.drifts;
        let mut used = vec![false; self.draws];
        used[SENSE] = d.sense_tolerance > 0.0;
        used[SENSE_PER_K] = d.sense_per_k > 0.0;
        used[LOT_PER_K] = d.ladder_per_k > d.ladder_tracking_per_k;
        used[REFERENCE] = d.reference_tolerance > 0.0;
        used[REFERENCE_PER_K] = d.reference_per_k > 0.0;
        used[FEED..FEED + 3].fill(d.feed_tolerance > 0.0);
        for (wire, it) in self.wires.iter().enumerate() {
            let places = self.places(wire);
            for resistor in 0..it.ladder.ohm.len() + usize::from(it.ladder.end_ohm.is_some()) {
                used[places.value(resistor)] = d.ladder_tolerance > 0.0;
                used[places.per_k(resistor)] = d.ladder_tracking_per_k > 0.0;
            }
            for (rung, by) in it.rungs.iter().chain(&it.rest).enumerate() {
                used[places.error(rung)] = by.error_count > 0.0;
            }
            for button in 0..it.rungs.len() {
                used[places.wear(button)] = d.wear_ohm > 0.0;
            }
        }
        (0..self.draws).filter(|&place| used[place]).collect()
    }
}
