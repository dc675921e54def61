//! A project as boxes that could be built of it: which parts are drawn around which values, whose bands
//! they carry, and what came of a large number of them, with the buttons' places in it again. Knows no
//! thread: what is counted is handed to it.

use crate::bands::{ASSUMED_WITHIN_COUNT, Accept, Band, BandSet, RestLevel, Rung, Verdict};
use crate::circuit::tolerance::{
    BoxModel, BoxRun, BoxRung, BoxTally, BoxWire, Drifts, MOST_BOXES, ModelError,
};
use crate::circuit::{Circuit, Problem, TRACKING_PER_K, is_ratio, own_ohm, reference_per_k};
use crate::units::{SCALE_COUNT, TOP_COUNT, WIRES, count_text, ohm_text};
use crate::wheel::{Ladder, Topology};

use super::banding::bands;
use super::{ButtonId, Project};

/// Counts next to the converter's ends that are taken for an open wire at rest.
const NEAR_END_COUNT: f64 = 1.5;

/// What the boxes are drawn around.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Basis {
    /// What the meter promises: all tolerances count.
    Planned,
    /// What was learned: that holds the parts' tolerance already, and what is left is what heat, cold,
    /// wear, feed and noise do afterwards.
    Learned,
}

/// Why no boxes can be built.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum BoxesError {
    /// No sense circuit.
    #[error(
        "The project has no sense circuit. Enter the sense resistor, the feed and the reference at the \
         Circuit station."
    )]
    NoCircuit,
    /// A sense circuit that can't be.
    #[error(transparent)]
    Circuit(#[from] Problem),
    /// Buttons whose resistance is not known.
    #[error("No resistance is known for {}. Meter each while pressed and enter it at the Wheel station, or learn it.", ids(.0))]
    NoOhms(Vec<ButtonId>),
    /// A button that was learned where no resistance can be told.
    #[error(
        "{} was learned at the top of the scale, where its resistance can't be told. Choose another sense \
         resistor at the Circuit station.", id.0
    )]
    AtTop {
        /// Which.
        id: ButtonId,
    },
    /// A button that was learned where this circuit reads nothing.
    #[error(
        "{} was learned at {} counts, which this circuit gives for no resistance: it reads {} at most. Check \
         its values at the Circuit station, or learn the button again.",
        id.0, count_text(*.count, 0), count_text(*.most_count, 0)
    )]
    NotOfCircuit {
        /// Which.
        id: ButtonId,
        /// What it was learned at, in counts.
        count: f64,
        /// The most it reads with any resistance, in counts.
        most_count: f64,
    },
    /// A button that shows more than the wire at rest.
    #[error(
        "{} shows {}, and its wire at rest {}: pressing can't add resistance. Meter both again at the Wheel \
         station.", id.0, ohm_text(*.ohm), ohm_text(*.rest_ohm)
    )]
    AboveRest {
        /// Which.
        id: ButtonId,
        /// What it shows, in ohms.
        ohm: f64,
        /// What the wire shows at rest, in ohms.
        rest_ohm: f64,
    },
    /// A number of boxes that can't be built.
    #[error("{0} boxes can't be built. Ask for 1 to {MOST_BOXES}; a million tells one in 100 000.")]
    Boxes(u64),
    /// Values that can't be computed with.
    #[error(transparent)]
    Model(#[from] ModelError),
}

/// A project's boxes, ready to be built.
#[derive(Clone, Debug, PartialEq)]
pub struct BoxesPlan {
    model: BoxModel,
    basis: Basis,
    /// By rung of the model: which it is.
    rungs: Vec<Placed>,
}

/// One rung of the model.
#[derive(Clone, Debug, PartialEq)]
struct Placed {
    rung: Rung,
    accept: Option<Accept>,
}

/// What came of building boxes.
#[derive(Clone, Debug, PartialEq)]
pub struct BuiltBoxes {
    /// How many were built.
    pub boxes: u64,
    /// Where their chance began.
    pub seed: u64,
    /// What they were drawn around.
    pub basis: Basis,
    /// Boxes that ever misread anything: a button as another, or rest as a button.
    pub misreading_boxes: u64,
    /// Boxes that ever take a pressed button for none.
    pub ignoring_boxes: u64,
    /// The buttons, in the project's order.
    pub buttons: Vec<BuiltRung>,
    /// Rest, of each wire where it is closed by a resistor.
    pub rests: Vec<BuiltRung>,
}

/// What came of one rung.
#[derive(Clone, Debug, PartialEq)]
pub struct BuiltRung {
    /// Which.
    pub rung: Rung,
    /// The band the boxes carry for it.
    pub accept: Option<Accept>,
    /// Boxes where it ever falls in nobody's band, or in rest's; rest: in nobody's.
    pub ignored: u64,
    /// Boxes where it ever falls in another button's band.
    pub misread: u64,
    /// As which buttons, by their place in the project, and in how many boxes; none that is 0.
    pub misread_as: Vec<(usize, u64)>,
    /// Readings, six of each box, in equal bins along `axis_count`; the first and the last bin also hold
    /// what lies beyond.
    pub histogram: Vec<u64>,
    /// The histogram's ends, in counts.
    pub axis_count: (f64, f64),
    /// The lowest and the highest it ever reads at the worst corner, in counts.
    pub worst_count: (f64, f64),
    /// The same by root sum square: two standard uncertainties to either side of the mean, in whichever
    /// condition reaches furthest (NIST TN 1297 §6.5: k = 2).
    pub rss_count: (f64, f64),
}

/// The coverage factor of [`BuiltRung::rss_count`].
const COVERAGE_FACTOR: f64 = 2.0;

impl BoxesPlan {
    /// Boxes as this project would have them built: all carry its bands, planned or measured.
    ///
    /// The ladder is made of what each button shows: by what was learned, else by the meter. A series
    /// chain's steps are the differences, and what rest shows beyond the last button is its end-of-line
    /// resistor.
    ///
    /// # Errors
    /// What is missing, or the first value that can't be.
    pub fn of(project: &Project) -> Result<Self, BoxesError> {
        let circuit = project.circuit.as_ref().ok_or(BoxesError::NoCircuit)?;
        if let Some(&problem) = circuit.check().iter().find(|problem| problem.is_error()) {
            return Err(problem.into());
        }
        let project = whole(project, circuit);
        let set = bands(&project);
        let is_learned = |index: usize| set.band(Rung::Button(index)).is_some_and(|band| band.measured);
        let all_learned = (0..project.wheel.buttons.len()).all(is_learned);
        let basis = if all_learned { Basis::Learned } else { Basis::Planned };
        let ohms = seen_ohms(&project, circuit, &set)?;
        let fewest_ohm = ohms.iter().copied().fold(f64::INFINITY, f64::min);
        let circuit = Circuit { contact_ohm: circuit.contact_ohm.min(fewest_ohm), ..circuit.clone() };
        let mut wires = Vec::new();
        let mut rungs = Vec::new();
        for wire in 1..=WIRES as u8 {
            let mut order: Vec<usize> =
                (0..ohms.len()).filter(|&index| project.wheel.buttons[index].wire == Some(wire)).collect();
            if order.is_empty() {
                continue;
            }
            order.sort_by(|&a, &b| ohms[a].total_cmp(&ohms[b]));
            let rest_ohm = rest_ohm(&project, &circuit, wire);
            let ladder = ladder(&project, &order, &ohms, circuit.contact_ohm, rest_ohm)?;
            let first = rungs.len();
            let number = |button: usize| {
                order.iter().position(|&other| other == button).map(|place| (first + place) as u8)
            };
            let rest = set.band(Rung::Rest(wire)).filter(|_| rest_ohm.is_some());
            wires.push(BoxWire {
                rungs: order.iter().map(|&index| box_rung(&project, &set, index, &number)).collect(),
                rest: rest.map(|band| rung_of(&project, band, band.accept.map(|_| BoxWire::REST))),
                owner: owners(&set, wire, &number),
                ladder,
            });
            let placed = |rung| Placed { rung, accept: set.band(rung).and_then(|band| band.accept) };
            rungs.extend(order.iter().map(|&index| placed(Rung::Button(index))));
            rungs.extend(rest.map(|band| placed(band.rung)));
        }
        let model = BoxModel::new(circuit.clone(), drifts(&project, &circuit, basis), wires)?;
        Ok(Self { model, basis, rungs })
    }

    /// The boxes to be built.
    ///
    /// # Errors
    /// [`BoxesError::Boxes`] for none, and for more than [`MOST_BOXES`].
    pub fn run(&self, boxes: u64, seed: u64) -> Result<BoxRun<'_>, BoxesError> {
        if (1..=MOST_BOXES).contains(&boxes) {
            Ok(BoxRun::new(&self.model, boxes, seed))
        } else {
            Err(BoxesError::Boxes(boxes))
        }
    }

    /// The model they are built by.
    #[must_use]
    pub fn model(&self) -> &BoxModel {
        &self.model
    }

    /// What came of them, in the project's order.
    #[must_use]
    pub fn built(&self, run: &BoxRun<'_>, tally: &BoxTally, seed: u64) -> BuiltBoxes {
        let places = self.model.wires().iter().enumerate().flat_map(|(wire, it)| {
            (0..it.rungs.len() + usize::from(it.rest.is_some())).map(move |rung| (wire, rung))
        });
        let (mut buttons, mut rests): (Vec<_>, Vec<_>) = places
            .zip(self.rungs.iter().zip(&tally.rungs))
            .enumerate()
            .map(|(number, ((wire, rung), (placed, tally)))| BuiltRung {
                rung: placed.rung,
                accept: placed.accept,
                ignored: tally.ignored,
                misread: tally.misread,
                misread_as: self
                    .rungs
                    .iter()
                    .zip(tally.misread_as)
                    .filter_map(|(other, boxes)| match other.rung {
                        Rung::Button(index) if boxes > 0 => Some((index, boxes)),
                        _ => None,
                    })
                    .collect(),
                histogram: tally.histogram.to_vec(),
                axis_count: run.axis(number).unwrap_or_default(),
                worst_count: self.model.worst_case(wire, rung),
                rss_count: self.rss_count(wire, rung),
            })
            .partition(|built| matches!(built.rung, Rung::Button(_)));
        buttons.sort_by_key(|built| built.rung);
        rests.sort_by_key(|built| built.rung);
        BuiltBoxes {
            boxes: tally.boxes,
            seed,
            basis: self.basis,
            misreading_boxes: tally.misreading,
            ignoring_boxes: tally.ignoring,
            buttons,
            rests,
        }
    }

    fn rss_count(&self, wire: usize, rung: usize) -> (f64, f64) {
        let conditions = self.model.root_sum_square(wire, rung);
        let ends =
            |sign: f64| conditions.iter().map(move |at| at.mean + sign * COVERAGE_FACTOR * at.uncertainty);
        let (low, high) = (ends(-1.0).fold(TOP_COUNT, f64::min), ends(1.0).fold(0.0, f64::max));
        (low.clamp(0.0, TOP_COUNT), high.clamp(0.0, TOP_COUNT))
    }
}

/// The project with nothing left open that a band needs: a button whose wire isn't known is on wire 1, as
/// for a prediction, and a wire whose rest isn't learned rests where the meter says.
fn whole(project: &Project, circuit: &Circuit) -> Project {
    let mut project = project.clone();
    for button in &mut project.wheel.buttons {
        button.wire.get_or_insert(1);
    }
    for wire in 1..=WIRES as u8 {
        let ohm = project.wheel.wires.get(&wire).and_then(|info| info.rest_ohm).unwrap_or(f64::INFINITY);
        let is_used = project.wheel.buttons.iter().any(|button| button.wire == Some(wire));
        if let (true, Some(count)) = (is_used, circuit.count(ohm)) {
            project.rests.entry(wire).or_insert(RestLevel {
                median_count: f64::from(count),
                spread_count: ASSUMED_WITHIN_COUNT,
                readings: 1_000,
            });
        }
    }
    project
}

/// What each button shows across its wire and the return in use, contact included, in ohms: by what was
/// learned, else by the meter.
fn seen_ohms(project: &Project, circuit: &Circuit, set: &BandSet) -> Result<Vec<f64>, BoxesError> {
    let mut ohms = Vec::new();
    let mut unknown = Vec::new();
    for (index, button) in project.wheel.buttons.iter().enumerate() {
        let measured = set.band(Rung::Button(index)).filter(|band| band.measured);
        if let Some(band) = measured {
            // A converter drops the fraction: what reads 551 is half a count more on average.
            let count = band.centre_count + 0.5;
            let no_ohms = || {
                let id = button.id.clone();
                let most_count = circuit.ideal_count(f64::INFINITY).max(circuit.ideal_count(0.0));
                if count < TOP_COUNT {
                    BoxesError::NotOfCircuit { id, count: band.centre_count, most_count }
                } else {
                    BoxesError::AtTop { id }
                }
            };
            ohms.push(circuit.ohm_from_count(count).ok_or_else(no_ohms)?);
        } else if let Some(ohm) = button.meter_ohm.filter(|ohm| ohm.is_finite() && *ohm >= 0.0) {
            ohms.push(circuit.pressed_ohm(ohm));
        } else {
            unknown.push(button.id.clone());
        }
    }
    if unknown.is_empty() { Ok(ohms) } else { Err(BoxesError::NoOhms(unknown)) }
}

/// What a wire shows at rest, in ohms, if it is closed: by what was learned, else by the meter.
fn rest_ohm(project: &Project, circuit: &Circuit, wire: u8) -> Option<f64> {
    let is_metered = project.wheel.wires.get(&wire).and_then(|info| info.rest_ohm);
    let count = project.rests.get(&wire)?.median_count + 0.5;
    let inside = NEAR_END_COUNT..=SCALE_COUNT - NEAR_END_COUNT;
    // A rest near an end of the scale may still be closed, and then only the meter knows by how much.
    is_metered.filter(|ohm| ohm.is_finite()).and_then(|metered_ohm| {
        if inside.contains(&count) { circuit.ohm_from_count(count) } else { Some(metered_ohm) }
    })
}

/// The ladder behind what the buttons in this order show.
fn ladder(
    project: &Project,
    order: &[usize],
    ohms: &[f64],
    contact_ohm: f64,
    rest_ohm: Option<f64>,
) -> Result<Ladder, BoxesError> {
    let topology = project.wheel.topology;
    let above = order.iter().find_map(|&index| {
        let rest_ohm = rest_ohm.filter(|&rest_ohm| ohms[index] >= rest_ohm)?;
        let id = project.wheel.buttons[index].id.clone();
        Some(BoxesError::AboveRest { id, ohm: ohms[index], rest_ohm })
    });
    if let Some(error) = above {
        return Err(error);
    }
    let open_ohm = rest_ohm.unwrap_or(f64::INFINITY);
    let own = order.iter().map(|&index| own_ohm(topology, ohms[index], open_ohm, contact_ohm));
    let (ohm, end_ohm) = match topology {
        Topology::Series => {
            let mut last_tap_ohm = 0.0;
            let steps = own.map(|tap_ohm| tap_ohm - std::mem::replace(&mut last_tap_ohm, tap_ohm)).collect();
            (steps, rest_ohm.map(|rest_ohm| rest_ohm - last_tap_ohm))
        }
        Topology::Parallel => (own.collect(), rest_ohm),
    };
    Ok(Ladder { topology, ohm, end_ohm })
}

/// What may be off in these boxes.
fn drifts(project: &Project, circuit: &Circuit, basis: Basis) -> Drifts {
    let parts = &project.parts;
    let planned = |tolerance: f64| if basis == Basis::Planned { tolerance } else { 0.0 };
    let mut drifts = Drifts {
        ladder_tolerance: planned(parts.ladder_tolerance),
        ladder_per_k: parts.ladder_per_k,
        ladder_tracking_per_k: parts.ladder_per_k.min(0.5 * TRACKING_PER_K),
        sense_tolerance: planned(parts.sense_tolerance),
        sense_per_k: parts.sense_per_k,
        wear_ohm: parts.wear_ohm,
        cold_c: parts.cold_c,
        hot_c: parts.hot_c,
        ..Drifts::default()
    };
    drifts.reference_per_k = reference_per_k(circuit);
    if circuit.has_two_supplies() {
        // Neither is in what was learned: both move from one ignition to the next.
        drifts.feed_tolerance = parts.feed_tolerance;
        drifts.reference_tolerance = parts.feed_tolerance;
    } else if !is_ratio(circuit) {
        drifts.feed_tolerance = parts.feed_tolerance;
        drifts.reference_tolerance = planned(parts.reference_tolerance);
    } else if let (false, Some(monitor)) = (circuit.is_ratiometric(), circuit.feed_monitor) {
        // Feed and reference cancel; a divider moves by its upper resistor's share of the difference of its
        // two resistors, bought like the sense resistor.
        let share = monitor.upper_ohm / (monitor.upper_ohm + monitor.lower_ohm);
        drifts.reference_tolerance = planned(2.0 * parts.sense_tolerance * share);
    }
    drifts
}

/// A button's rung. One that was taken as one with another is right in the other's band.
fn box_rung(project: &Project, set: &BandSet, index: usize, number: &dyn Fn(usize) -> Option<u8>) -> BoxRung {
    let Some(band) = set.band(Rung::Button(index)) else {
        return BoxRung {
            own: None,
            error_count: project.plan.converter_error_count,
            low_count: 0,
            high_count: 0,
        };
    };
    let own = match band.verdict {
        Verdict::Shared { with: Rung::Button(with), .. } if band.accept.is_none() => number(with),
        _ => band.accept.and_then(|_| number(index)),
    };
    rung_of(project, band, own)
}

fn rung_of(project: &Project, band: &Band, own: Option<u8>) -> BoxRung {
    let error_count = project.plan.converter_error_count;
    // Readings scatter from press to press, too; both together as one that is uniform and has the same
    // variance (NIST TN 1297 §4.6).
    let scatter = 3.0 * band.sigma_count.powi(2);
    let about = |off: f64| (band.centre_count + off).clamp(0.0, TOP_COUNT) as u16;
    let accept = band
        .accept
        .unwrap_or_else(|| Accept { low_count: about(-error_count), high_count: about(error_count) });
    BoxRung {
        own,
        error_count: (error_count.powi(2) + scatter).sqrt(),
        low_count: accept.low_count,
        high_count: accept.high_count,
    }
}

/// Whose band each count of a wire belongs to.
fn owners(set: &BandSet, wire: u8, number: &dyn Fn(usize) -> Option<u8>) -> Box<[u8; 1024]> {
    let mut owner = Box::new([BoxWire::NOBODY; 1024]);
    for band in set.bands().filter(|band| band.wire == wire) {
        let who = match band.rung {
            Rung::Button(index) => number(index),
            Rung::Rest(_) => Some(BoxWire::REST),
        };
        if let (Some(accept), Some(who)) = (band.accept, who) {
            let (low, high) = (usize::from(accept.low_count), usize::from(accept.high_count));
            if let Some(counts) = owner.get_mut(low..=high) {
                counts.fill(who);
            }
        }
    }
    owner
}

fn ids(ids: &[ButtonId]) -> String {
    ids.iter().map(|id| id.0.as_str()).collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests;
