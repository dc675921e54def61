//! Which ladder the meter's readings fit: a chain with taps, or a resistor of its own for each button,
//! by how near to preferred values (IEC 60063) the parts come out. Knows no names and no circuit.
//!
//! Both ladders can give any set of readings; what tells them apart is that resistors are bought. For
//! each part the chance of its value among preferred ones is set against its chance among any ones;
//! the product over the parts, chain against individual resistors, is the likelihood ratio. Two
//! buttons pressed at once decide it: on a chain the nearer tap wins, resistors of their own add as
//! conductances (FACTS B1).

mod odd;
mod pair;
mod parts;
#[cfg(test)]
mod tests;

pub use odd::{Odd, OddWhy};
pub use pair::{PairAnswer, PairQuestion, PairSeen};
pub use parts::{EndPart, LadderParts, Part};

use super::Topology;

/// The likelihood ratio from which a topology is told as likely: with even odds before, 95 in 100
/// are right (Bayes' rule).
pub const LIKELY_RATIO: f64 = 20.0;

/// How much surer than not one is, before any reading, that a wheel's resistors are preferred values (an
/// assumption: resistors are bought, but some are trimmed or printed).
const BOUGHT_ODDS: f64 = 4.0;

/// A meter's error on ohms: 1 % of the reading (common practice, no source).
const METER_SHARE: f64 = 0.01;

/// What the meter read on one wire.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FitInput {
    /// Across wire and return with each button pressed, in ohms, in the buttons' order; `None` where it
    /// wasn't read.
    pub ohm: Vec<Option<f64>>,
    /// At rest, in ohms; `None` where it is open or wasn't read.
    pub rest_ohm: Option<f64>,
    /// Two buttons pressed at once.
    pub pair: Option<PairSeen>,
}

/// How sure a topology is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Sureness {
    /// The readings fit both.
    CannotTell,
    /// The parts of one are nearer to preferred values, by [`LIKELY_RATIO`] or more.
    Likely,
    /// Two buttons pressed at once read as only one of them can.
    Certain,
}

/// What the readings fit.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// The likelier topology.
    pub topology: Topology,
    /// How sure it is.
    pub sureness: Sureness,
    /// How much likelier its parts are preferred values than the other's are, and than values of any size
    /// (with four to one on preferred ones before): the lesser of the two, 1 or more. Two buttons pressed at once are not in it.
    pub ratio: f64,
    /// The parts if it is a chain: its steps from the start.
    pub chain: LadderParts,
    /// The parts if each button has a resistor of its own, the smallest first.
    pub own: LadderParts,
    /// Readings that can't be right as they stand, or don't go with the others.
    pub odd: Vec<Odd>,
    /// The two buttons whose reading together would decide it best; `None` with fewer than two.
    pub ask: Option<PairQuestion>,
    /// What two buttons pressed at once said, where they were read.
    pub answer: Option<PairAnswer>,
}

impl Fit {
    /// The parts of a topology.
    #[must_use]
    pub const fn parts(&self, topology: Topology) -> &LadderParts {
        match topology {
            Topology::Series => &self.chain,
            Topology::Parallel => &self.own,
        }
    }

    /// Why a button's reading is odd, if it is.
    #[must_use]
    pub fn odd(&self, button: usize) -> Option<&Odd> {
        self.odd.iter().find(|odd| odd.button == button)
    }
}

/// One reading in its place: which button, and ohms.
#[derive(Clone, Copy, Debug)]
struct Reading {
    button: usize,
    ohm: f64,
}

/// What the readings fit. Total: readings that are no numbers are told as odd and left out.
#[must_use]
pub fn fit(input: &FitInput) -> Fit {
    let mut readings: Vec<Reading> = input
        .ohm
        .iter()
        .enumerate()
        .filter_map(|(button, ohm)| Some(Reading { button, ohm: (*ohm)? }))
        .filter(|reading| is_reading(reading.ohm))
        .collect();
    readings.sort_by(|a, b| a.ohm.total_cmp(&b.ohm));
    let rest_ohm = input.rest_ohm.filter(|ohm| is_reading(*ohm));
    let (chain, own) = (parts::chain(&readings, rest_ohm), parts::own(&readings, rest_ohm));
    let topology = if chain.log_ratio >= own.log_ratio { Topology::Series } else { Topology::Parallel };
    let (more, less) = if topology == Topology::Series { (&chain, &own) } else { (&own, &chain) };
    // One reading is the same part either way. And where the likelier one's parts are hardly preferred values
    // at all, chance decides between the two: it has to beat values of any size as well.
    let by_parts = if readings.len() < 2 { 0.0 } else { more.log_ratio - less.log_ratio };
    let log_ratio = by_parts.min(more.log_ratio + BOUGHT_ODDS.ln()).max(0.0);
    let answer = input.pair.and_then(|pair| pair::answer(&readings, rest_ohm, pair));
    let (topology, sureness) = match answer {
        Some(PairAnswer::Series) => (Topology::Series, Sureness::Certain),
        Some(PairAnswer::Parallel) => (Topology::Parallel, Sureness::Certain),
        _ if log_ratio >= LIKELY_RATIO.ln() => (topology, Sureness::Likely),
        _ => (topology, Sureness::CannotTell),
    };
    let parts = if topology == Topology::Series { &chain } else { &own };
    let odd = odd::odd(&input.ohm, &readings, rest_ohm, parts, topology);
    let ask = pair::ask(&readings, rest_ohm, &odd);
    Fit { topology, sureness, ratio: log_ratio.exp(), chain, own, odd, ask, answer }
}

/// How far a meter may be off at a reading, in ohms either side: 1 % and one digit of a meter of 2000
/// counts (common practice, no source).
#[must_use]
pub fn meter_error_ohm(ohm: f64) -> f64 {
    let digit = [200.0, 2e3, 2e4, 2e5, 2e6].iter().position(|top| ohm < *top).unwrap_or(5);
    METER_SHARE * ohm + 0.1 * 10_f64.powi(digit as i32)
}

/// The same as a standard deviation: any error within it is as likely (FACTS C5, a/√3).
fn meter_sigma_ohm(ohm: f64) -> f64 {
    meter_error_ohm(ohm) / 3_f64.sqrt()
}

/// Whether a meter shows this: 0 Ω and up; what is open has no ohms.
fn is_reading(ohm: f64) -> bool {
    ohm >= 0.0 && ohm.is_finite()
}
