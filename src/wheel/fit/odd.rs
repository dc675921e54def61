//! Readings that can't be right as they stand, or don't go with the others. Knows no learned counts.

use crate::units::Series;

use super::parts::{LadderParts, Part};
use super::{Reading, Topology, is_reading, meter_error_ohm, meter_sigma_ohm};

/// A part this many standard deviations from every preferred value isn't one of them.
const OFF_SIGMA: f64 = 3.0;
/// A part's deviation may be this share of it, so that half of E24's steps of 10 % are three of them.
const SHARP: f64 = 0.05 / OFF_SIGMA;
/// Tolerance of a part (FACTS B2, chip resistor datasheet).
const TOLERANCE: f64 = 0.01;
/// So many other parts have to be preferred values before one that isn't is odd.
const OTHERS: usize = 3;
/// Two readings this near, in standard deviations of their difference, are one.
const ALIKE_SIGMA: f64 = 0.3;

/// A reading to be looked at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Odd {
    /// Whose, from 0.
    pub button: usize,
    /// Why.
    pub why: OddWhy,
}

/// What is odd about a reading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum OddWhy {
    /// Below 0 Ω, or no number.
    NoReading,
    /// More than at rest: a pressed button never adds.
    AboveRest {
        /// At rest, in ohms.
        rest_ohm: f64,
    },
    /// The same as another's.
    Alike {
        /// The other, from 0.
        other: usize,
    },
    /// Its part is no preferred value, and the others' are.
    OffValue {
        /// The part, in ohms.
        part_ohm: f64,
        /// The nearest preferred value.
        nearest_ohm: f64,
    },
}

/// The odd ones among the readings (`readings` are the sound ones in rising order), in the buttons' order.
pub(super) fn odd(
    all: &[Option<f64>],
    readings: &[Reading],
    rest_ohm: Option<f64>,
    parts: &LadderParts,
    topology: Topology,
) -> Vec<Odd> {
    let none = all.iter().enumerate().filter(|(_, ohm)| ohm.is_some_and(|ohm| !is_reading(ohm)));
    let mut odd: Vec<Odd> = none.map(|(button, _)| Odd { button, why: OddWhy::NoReading }).collect();
    if let Some(rest) = rest_ohm {
        let above = readings
            .iter()
            .filter(|reading| reading.ohm - rest > meter_error_ohm(reading.ohm) + meter_error_ohm(rest));
        odd.extend(
            above.map(|reading| Odd { button: reading.button, why: OddWhy::AboveRest { rest_ohm: rest } }),
        );
    }
    for pair in readings.windows(2) {
        let sigma = meter_sigma_ohm(pair[0].ohm).hypot(meter_sigma_ohm(pair[1].ohm));
        if pair[1].ohm - pair[0].ohm <= ALIKE_SIGMA * sigma {
            let why = |other| OddWhy::Alike { other };
            odd.push(Odd { button: pair[0].button, why: why(pair[1].button) });
            odd.push(Odd { button: pair[1].button, why: why(pair[0].button) });
        }
    }
    odd.extend(off_values(parts, topology));
    odd.sort_by_key(|odd| odd.button);
    odd.dedup_by_key(|odd| odd.button);
    odd
}

/// How a part stands to the preferred values.
#[derive(Clone, Copy, PartialEq)]
enum Stands {
    Fits,
    Blurred,
    Off(f64),
}

fn stands(part: &Part, contact_ohm: f64) -> Stands {
    let ohm = part.ohm - contact_ohm;
    let Some(nearest) = Series::E24.nearest(ohm) else { return Stands::Blurred };
    let sigma = part.sigma_ohm.hypot(TOLERANCE * ohm / 3_f64.sqrt());
    match () {
        () if sigma > SHARP * ohm => Stands::Blurred,
        () if (ohm - nearest).abs() > OFF_SIGMA * sigma => Stands::Off(nearest),
        () => Stands::Fits,
    }
}

/// LadderParts that are no preferred values while the others are. A wrong reading on a chain spoils the step
/// before its tap and the one behind it, and no other.
fn off_values(parts: &LadderParts, topology: Topology) -> Vec<Odd> {
    let is_chain = topology == Topology::Series;
    let stand: Vec<Stands> = parts
        .parts
        .iter()
        .enumerate()
        .map(|(place, part)| stands(part, if place == 0 || !is_chain { parts.contact_ohm } else { 0.0 }))
        .collect();
    let spoils = if is_chain { 2 } else { 1 };
    (0..stand.len())
        .filter_map(|place| {
            let Stands::Off(nearest_ohm) = stand[place] else { return None };
            let others = stand.iter().enumerate().filter(|(at, _)| !(place..place + spoils).contains(at));
            let (mut fit, mut off) = (0, 0);
            for (_, stands) in others {
                match stands {
                    Stands::Fits => fit += 1,
                    Stands::Off(_) => off += 1,
                    Stands::Blurred => {}
                }
            }
            let alone = off == 0 && fit >= OTHERS;
            let behind_fits = is_chain && stand.get(place + 1) == Some(&Stands::Fits);
            let part = &parts.parts[place];
            let why = OddWhy::OffValue { part_ohm: part.ohm, nearest_ohm };
            (alone && !behind_fits).then_some(Odd { button: part.button, why })
        })
        .collect()
}
