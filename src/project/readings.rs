//! What the meter read beside what was learned: the ladder the readings fit, what each promises in counts,
//! and which reading is odd. Knows no screen; computes with the rooms below.

use std::collections::{BTreeMap, BTreeSet};

use crate::bands::{BandSet, Rung};
use crate::circuit::Circuit;
use crate::units::{WIRES, count_text};
use crate::wheel::{
    CheckFacts, CheckReport, Fit, FitInput, OddWhy, PairSeen, Topology, beside, fit, meter_error_ohm,
};

use super::banding::rung_name;
use super::{Button, Project};

/// Every wire's readings.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Readings {
    /// By wire number.
    pub wires: Vec<WireReadings>,
}

/// One wire's readings.
#[derive(Clone, Debug, PartialEq)]
pub struct WireReadings {
    /// Its number, 1 or 2.
    pub wire: u8,
    /// What they fit. Where a meter's reading is doubted, what was learned stands in for it.
    pub fit: Fit,
    /// Its buttons, in the project's order.
    pub rows: Vec<ReadingRow>,
    /// With nothing pressed.
    pub rest: ReadingRow,
    /// Where most of the buttons were learned far from what the meter promises, it isn't the meter that is
    /// odd: how many, of how many.
    pub circuit_off: Option<(usize, usize)>,
}

/// One rung by the meter and as learned.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadingRow {
    /// Whose.
    pub rung: Rung,
    /// By the meter, in ohms; `None` where it wasn't read (or is open, at rest).
    pub meter_ohm: Option<f64>,
    /// By the preferred values of the ladder that fits, in ohms.
    pub ladder_ohm: Option<f64>,
    /// What the meter's reading promises, in whole counts as a converter gives them.
    pub promised_count: Option<f64>,
    /// What was learned, in counts.
    pub learned_count: Option<f64>,
    /// The same in ohms as the meter would show them, by the circuit.
    pub learned_ohm: Option<f64>,
    /// How far the two may lie apart.
    pub limit: Option<Limit>,
    /// What is odd about it.
    pub odd: Option<OddReading>,
}

/// How far a learned count may lie from the promised one, in counts, and what makes it so.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limit {
    /// The meter's error.
    pub meter_count: f64,
    /// The sense resistor's tolerance, and the reference's where it isn't the supply.
    pub parts_count: f64,
    /// The spread of what was learned, and the converter's error.
    pub learned_count: f64,
}

/// What is odd about a reading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum OddReading {
    /// The meter says so by itself.
    Meter(OddWhy),
    /// What was learned lies farther from what the meter promised than [`Limit`] allows.
    Learned {
        /// By the meter, in ohms.
        meter_ohm: f64,
        /// As learned, in ohms; `None` past the end of the scale.
        learned_ohm: Option<f64>,
        /// Learned less promised, in counts.
        difference_count: f64,
    },
    /// Its place among the others by the meter isn't the one that was learned.
    OutOfOrder,
}

/// An error within its limits is as likely anywhere: a/√3 as a standard deviation (FACTS C5).
const RECTANGULAR: f64 = 1.732_050_807_568_877_2;
/// Standard deviations within which a difference is as it may be: 997 in 1000 (FACTS C21, Q(3)).
const LIMIT_SIGMA: f64 = 3.0;

impl Limit {
    /// All of it: three standard deviations of what adds up by chance (root sum square, FACTS C6).
    #[must_use]
    pub fn count(&self) -> f64 {
        self.meter_count.hypot(self.parts_count).hypot(self.learned_count)
    }

    fn at(project: &Project, circuit: &Circuit, ohm: f64, sigma_count: f64) -> Self {
        let slope = circuit.slope_count_per_ohm(ohm).abs();
        // The count depends on R / R_sense, so that 1 % of either moves it alike.
        let mut parts = project.parts.sense_tolerance * ohm * slope;
        if circuit.has_two_supplies() {
            parts = parts.hypot(2.0_f64.sqrt() * project.parts.feed_tolerance * circuit.ideal_count(ohm));
        } else if !circuit.is_ratiometric() {
            parts = parts.hypot(project.parts.reference_tolerance * circuit.ideal_count(ohm));
        }
        let converter = project.plan.converter_error_count;
        Self {
            meter_count: LIMIT_SIGMA * slope * meter_error_ohm(ohm) / RECTANGULAR,
            parts_count: LIMIT_SIGMA * parts / RECTANGULAR,
            learned_count: (LIMIT_SIGMA * sigma_count).hypot(converter),
        }
    }
}

impl ReadingRow {
    /// Learned less promised, in counts.
    #[must_use]
    pub fn difference_count(&self) -> Option<f64> {
        Some(self.learned_count?.round() - self.promised_count?)
    }
}

impl Readings {
    /// The rows in which something is odd.
    pub fn odd(&self) -> impl Iterator<Item = &ReadingRow> {
        let rows = self.wires.iter().flat_map(|wire| wire.rows.iter().chain([&wire.rest]));
        rows.filter(|row| row.odd.is_some())
    }

    /// A wire's readings.
    #[must_use]
    pub fn wire(&self, wire: u8) -> Option<&WireReadings> {
        self.wires.iter().find(|readings| readings.wire == wire)
    }
}

impl Project {
    /// The wires in use: those with something known and those with buttons; the first at least. A button
    /// whose wire isn't known is taken to be on the first.
    #[must_use]
    pub fn wires_in_use(&self) -> Vec<u8> {
        let of_buttons = self.wheel.buttons.iter().map(wire_of);
        let wires: BTreeSet<u8> = self.wheel.wires.keys().copied().chain(of_buttons).chain([1]).collect();
        wires.into_iter().filter(|wire| (1..=WIRES as u8).contains(wire)).collect()
    }

    /// What the meter check comes to.
    #[must_use]
    pub fn meter_report(&self) -> CheckReport {
        let rest_ohm: BTreeMap<u8, f64> =
            self.wheel.wires.iter().filter_map(|(wire, info)| Some((*wire, info.rest_ohm?))).collect();
        let back_grounded = self.wheel.back.grounded;
        self.wheel.check.report(&CheckFacts { wires: self.wires_in_use(), rest_ohm, back_grounded })
    }

    /// The meter's readings beside what was learned, by wire. `bands` are this project's.
    #[must_use]
    pub fn readings(&self, bands: &BandSet) -> Readings {
        Readings {
            wires: self.wires_in_use().into_iter().map(|wire| self.wire_readings(wire, bands)).collect(),
        }
    }

    fn wire_readings(&self, wire: u8, bands: &BandSet) -> WireReadings {
        let info = self.wheel.wires.get(&wire);
        let mut rows: Vec<ReadingRow> = self
            .wheel
            .buttons
            .iter()
            .enumerate()
            .filter(|(_, button)| wire_of(button) == wire)
            .map(|(index, button)| self.row(Rung::Button(index), button.meter_ohm, bands))
            .collect();
        let mut rest = self.row(Rung::Rest(wire), info.and_then(|info| info.rest_ohm), bands);
        if self.circuit.is_none() {
            out_of_order(&mut rows);
        }
        let circuit_off = circuit_off(&rows);
        if circuit_off.is_some() {
            for row in rows.iter_mut().chain([&mut rest]) {
                row.odd = None;
            }
        }
        let mut ohm = vec![None; self.wheel.buttons.len()];
        for row in &rows {
            let Rung::Button(index) = row.rung else { continue };
            // What was learned is the better known.
            ohm[index] = match row.odd {
                Some(OddReading::Learned { learned_ohm, .. }) => learned_ohm,
                Some(OddReading::OutOfOrder) => None,
                _ => row.meter_ohm,
            };
        }
        let pair = info.and_then(|info| info.together.as_ref()).and_then(|together| {
            let at = |id| self.button(id).map(|(index, _)| index);
            Some(PairSeen {
                buttons: (at(&together.buttons.0)?, at(&together.buttons.1)?),
                ohm: together.ohm,
            })
        });
        let fit = fit(&FitInput { ohm, rest_ohm: rest.meter_ohm, pair });
        for row in &mut rows {
            let Rung::Button(index) = row.rung else { continue };
            row.ladder_ohm = ladder_ohm(&fit, self.wheel.topology, Some(index));
            if row.odd.is_none() {
                row.odd = fit.odd(index).map(|odd| OddReading::Meter(odd.why));
            }
        }
        rest.ladder_ohm = ladder_ohm(&fit, self.wheel.topology, None);
        WireReadings { wire, fit, rows, rest, circuit_off }
    }

    fn row(&self, rung: Rung, meter_ohm: Option<f64>, bands: &BandSet) -> ReadingRow {
        let (learned_count, sigma_count) = match rung {
            Rung::Button(_) => {
                let band = bands.band(rung).filter(|band| band.measured);
                (band.map(|band| band.centre_count), band.map_or(0.0, |band| band.sigma_count))
            }
            Rung::Rest(wire) => {
                let rest = self.rests.get(&wire);
                (rest.map(|rest| rest.median_count), rest.map_or(0.0, |rest| rest.spread_count))
            }
        };
        let circuit = self.circuit.as_ref();
        let is_button = matches!(rung, Rung::Button(_));
        let promised = |circuit: &Circuit, ohm: f64| {
            if is_button { circuit.pressed_count(ohm) } else { circuit.count(ohm) }.map(f64::from)
        };
        // As the meter would show it: without what contact and slip ring add in use.
        let metered = |circuit: &Circuit, seen_ohm: f64| {
            if is_button { (seen_ohm - circuit.contact_ohm).max(0.0) } else { seen_ohm }
        };
        let mut row = ReadingRow {
            rung,
            meter_ohm,
            ladder_ohm: None,
            promised_count: circuit.zip(meter_ohm).and_then(|(circuit, ohm)| promised(circuit, ohm)),
            learned_count,
            learned_ohm: circuit
                .zip(learned_count)
                .and_then(|(circuit, count)| Some(metered(circuit, circuit.ohm_from_count(count)?))),
            limit: None,
            odd: None,
        };
        if let (Some(circuit), Some(ohm), Some(difference_count)) =
            (circuit, meter_ohm, row.difference_count())
        {
            let in_use_ohm = if is_button { circuit.pressed_ohm(ohm) } else { ohm };
            let limit = Limit::at(self, circuit, in_use_ohm, sigma_count);
            row.limit = Some(limit);
            if difference_count.abs() > limit.count() {
                let learned_ohm = row.learned_ohm;
                row.odd = Some(OddReading::Learned { meter_ohm: ohm, learned_ohm, difference_count });
            }
        }
        row
    }
}

/// How many rows lie beyond their limit, and how many have one, where they are more than half of two or more.
fn circuit_off(rows: &[ReadingRow]) -> Option<(usize, usize)> {
    let compared = rows.iter().filter(|row| row.limit.is_some()).count();
    let off = rows.iter().filter(|row| matches!(row.odd, Some(OddReading::Learned { .. }))).count();
    (compared >= 2 && off * 2 > compared).then_some((off, compared))
}

/// A button's wire; the first where that isn't known.
fn wire_of(button: &Button) -> u8 {
    button.wire.unwrap_or(1)
}

/// What a button (or rest, for `None`) reads by the preferred values of the parts; `None` where one of them
/// isn't known.
fn ladder_ohm(fit: &Fit, topology: Topology, button: Option<usize>) -> Option<f64> {
    let parts = fit.parts(topology);
    let end = parts.end.map(|end| end.preferred_ohm);
    match topology {
        Topology::Series => {
            let mut ohm = 0.0;
            for part in &parts.parts {
                ohm += part.preferred_ohm?;
                if Some(part.button) == button {
                    return Some(ohm);
                }
            }
            if button.is_some() { None } else { Some(ohm + end??) }
        }
        Topology::Parallel => {
            let end_ohm = end.unwrap_or(Some(f64::INFINITY))?;
            let Some(button) = button else { return Some(end_ohm).filter(|ohm| ohm.is_finite()) };
            let part = parts.parts.iter().find(|part| part.button == button)?;
            Some(beside(part.preferred_ohm?, end_ohm))
        }
    }
}

/// Without a circuit nothing is promised, but counts rise or fall with ohms: marks the readings outside the
/// longest run in order, where most are in it.
fn out_of_order(rows: &mut [ReadingRow]) {
    let mut order: Vec<usize> = (0..rows.len())
        .filter(|&at| rows[at].meter_ohm.is_some() && rows[at].learned_count.is_some())
        .collect();
    order.sort_by(|&a, &b| {
        let ohm = |at: usize| rows[at].meter_ohm.unwrap_or_default();
        ohm(a).total_cmp(&ohm(b))
    });
    let counts: Vec<f64> = order.iter().map(|&at| rows[at].learned_count.unwrap_or_default()).collect();
    let falling: Vec<f64> = counts.iter().map(|count| -count).collect();
    let (rise, fall) = (longest_rise(&counts), longest_rise(&falling));
    let kept = if rise.len() >= fall.len() { rise } else { fall };
    if kept.len() < 3 || (order.len() - kept.len()) * 3 > order.len() {
        return;
    }
    for (place, &at) in order.iter().enumerate() {
        if !kept.contains(&place) {
            rows[at].odd = Some(OddReading::OutOfOrder);
        }
    }
}

/// The places of a longest rising run among the values.
fn longest_rise(values: &[f64]) -> Vec<usize> {
    let mut best: Vec<Vec<usize>> = Vec::new();
    for (place, value) in values.iter().enumerate() {
        let before = best.iter().filter(|run| run.last().is_some_and(|&last| values[last] < *value));
        let mut run = before.max_by_key(|run| run.len()).cloned().unwrap_or_default();
        run.push(place);
        best.push(run);
    }
    best.into_iter().max_by_key(Vec::len).unwrap_or_default()
}

/// Ohms as a plain meter shows them: `84 Ω`, `1240 Ω`, `14.9 kΩ`.
#[must_use]
pub fn meter_text(ohm: f64) -> String {
    if (99.95..9_999.5).contains(&ohm) {
        format!("{ohm:.0} Ω")
    } else if (10.0..99.95).contains(&ohm) && ohm.fract() == 0.0 {
        format!("{ohm} Ω")
    } else {
        crate::units::ohm_text(ohm)
    }
}

/// What is odd about a row, in a sentence in two halves: the first is the bold one.
#[must_use]
pub fn odd_text(project: &Project, row: &ReadingRow) -> Option<(String, String)> {
    let name = match rung_name(project, row.rung) {
        name if name.starts_with("rest") => name.replacen("rest", "Rest", 1),
        name => name,
    };
    let meter = meter_text(row.meter_ohm.unwrap_or(f64::NAN));
    Some(match row.odd? {
        OddReading::Learned { learned_ohm: Some(ohm), .. } => {
            (format!("{name} read {meter} at the meter,"), format!("but learned {}.", meter_text(ohm)))
        }
        OddReading::Learned { learned_ohm: None, difference_count, .. } => (
            format!("{name} read {meter} at the meter,"),
            format!("but learned {} counts from what that promises.", count_text(difference_count, 0)),
        ),
        OddReading::OutOfOrder => (
            format!("{name} read {meter} at the meter,"),
            "but learned at another place among the buttons.".to_owned(),
        ),
        OddReading::Meter(OddWhy::NoReading) => {
            (format!("{name} has no reading."), "Meter it again.".to_owned())
        }
        OddReading::Meter(OddWhy::AboveRest { rest_ohm }) => (
            format!("{name} read {meter} pressed,"),
            format!("and {} at rest: a press never adds.", meter_text(rest_ohm)),
        ),
        OddReading::Meter(OddWhy::Alike { other }) => {
            let other = rung_name(project, Rung::Button(other));
            (format!("{name} reads as {other} does:"), format!("{meter}. One of them may be noted twice."))
        }
        OddReading::Meter(OddWhy::OffValue { part_ohm, nearest_ohm }) => (
            format!("{name} comes to a part of {}:", meter_text(part_ohm)),
            format!(
                "nobody sells that, {} is nearest, and the other parts are sold.",
                meter_text(nearest_ohm)
            ),
        ),
    })
}

#[cfg(test)]
#[path = "readings_tests.rs"]
mod tests;
