//! Two buttons at once: what every pair of one wire reads, and whose band that is. From what was
//! learned where there is something, by the sense circuit in ohms; else from the meter. Knows no
//! screen and no gestures.
//!
//! Assumed of the parts: a learned reading holds its tolerances already, and what is left is
//! temperature; one that is only metered may be off by all of them. Parts are taken as independent of
//! each other, so one lot that tracks moves less. From press to press a contact differs by up to three
//! standard deviations of the pooled spread (common practice, no source). Wear goes one way.

use crate::bands::{Accept, Band, BandSet, Rung, Verdict};
use crate::circuit::{Circuit, LEARNED_AT_C, PairDoubt, Problem, TwoPressed, is_ratio, own_ohm};
use crate::units::{TOP_COUNT, WIRES, count_text};

use super::banding::rung_name;
use super::{ButtonId, Project};

/// Standard deviations from press to press that are allowed for.
const BETWEEN_SIGMA: f64 = 3.0;
/// A converter drops the fraction: a reading stands for the middle of its step.
const HALF_STEP_COUNT: f64 = 0.5;

/// Every pair of a wheel.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Together {
    /// Pairs of one wire, in the wheel's order.
    pub pairs: Vec<TwoButtons>,
    /// Pairs of two wires: the first wire to leave rest owns the press.
    pub apart: Vec<[usize; 2]>,
    /// Buttons of which neither a press nor the meter tells the resistance.
    pub left_out: Vec<usize>,
}

/// What two buttons of one wire read, pressed at once. Buttons are given by their place in the wheel's
/// order.
#[derive(Clone, Debug, PartialEq)]
pub struct TwoButtons {
    /// Which, the earlier first.
    pub buttons: [usize; 2],
    /// Their wire.
    pub wire: u8,
    /// Whether both were learned; else the meter's reading stands in for one or both.
    pub learned: bool,
    /// Seen across wire and return, in ohms.
    pub ohm: f64,
    /// At the sense node, in volts.
    pub volt: f64,
    /// As the converter gives it, 0 to 1023.
    pub count: u16,
    /// The lowest that parts, temperature and wear may make of it.
    pub low_count: u16,
    /// The highest.
    pub high_count: u16,
    /// Whose reading that is.
    pub falls: Falls,
    /// A third button's band that the reading may reach, where it doesn't lie in it: the nearest.
    pub reaches: Option<Reaches>,
}

/// In whose band a reading lies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Falls {
    /// Nobody's: it is ignored.
    Nobody,
    /// One of the two, or of what shares a band with it: the other is masked.
    One(usize),
    /// A third button's.
    Third {
        /// Whose.
        button: usize,
        /// What the band takes.
        accept: Accept,
        /// From the band's centre, in counts.
        off_count: f64,
    },
    /// Rest's: it is as if both were let go.
    Rest,
}

/// A band that a reading may reach.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reaches {
    /// Whose.
    pub button: usize,
    /// What the band takes.
    pub accept: Accept,
    /// From the reading to the band's nearer edge, in counts.
    pub off_count: u16,
}

/// How much two buttons at once matter.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Harm {
    /// It is taken for a third button.
    Mistaken,
    /// It may be, as parts and contacts drift.
    MayBeMistaken,
    /// It is ignored.
    Ignored,
    /// It counts as one of the two.
    Masked,
}

/// Why nothing can be said of two buttons at once.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum TogetherError {
    /// No sense circuit.
    #[error(
        "The project has no sense circuit, so two buttons at once can't be told. Enter the sense resistor, \
         the feed and the reference at the Circuit station."
    )]
    NoCircuit,
    /// A sense circuit that cannot be.
    #[error(transparent)]
    Circuit(#[from] Problem),
    /// Fewer than two buttons are known.
    #[error(
        "Two buttons at once want two buttons with a resistance, and {known} of {buttons} have one. Learn \
         them, or meter each while pressed and enter it at the Wheel station."
    )]
    TooFew {
        /// How many have one.
        known: usize,
        /// How many there are.
        buttons: usize,
    },
    /// A wire that is not there.
    #[error("{} is on wire {wire}. Wires are numbered 1 to {WIRES}: choose one of those.", id.0)]
    Wire {
        /// Which button.
        id: ButtonId,
        /// The number it has.
        wire: u8,
    },
}

/// A button with a known resistance.
struct Known {
    button: usize,
    wire: u8,
    own_ohm: f64,
    learned: bool,
}

/// What every two buttons read at once, with this project's bands.
///
/// # Errors
/// No sense circuit or one that cannot be, fewer than two buttons with a resistance, a wire that is
/// not there.
pub fn together(project: &Project, bands: &BandSet) -> Result<Together, TogetherError> {
    let circuit = project.circuit.as_ref().ok_or(TogetherError::NoCircuit)?;
    if let Some(&problem) = circuit.check().iter().find(|problem| problem.is_error()) {
        return Err(problem.into());
    }
    let rest_ohm: Vec<f64> = (1..=WIRES as u8).map(|wire| rest_ohm(project, circuit, bands, wire)).collect();
    let (mut known, mut left_out) = (Vec::new(), Vec::new());
    for button in 0..project.wheel.buttons.len() {
        match known_button(project, circuit, bands, button, &rest_ohm)? {
            Some(button) => known.push(button),
            None => left_out.push(button),
        }
    }
    if known.len() < 2 {
        return Err(TogetherError::TooFew { known: known.len(), buttons: project.wheel.buttons.len() });
    }
    let (mut pairs, mut apart) = (Vec::new(), Vec::new());
    for (place, a) in known.iter().enumerate() {
        for b in &known[place + 1..] {
            if a.wire == b.wire {
                let rest_ohm = rest_ohm.get(usize::from(a.wire) - 1).copied().unwrap_or(f64::INFINITY);
                pairs.extend(pair(project, circuit, bands, [a, b], rest_ohm));
            } else {
                apart.push([a.button, b.button]);
            }
        }
    }
    Ok(Together { pairs, apart, left_out })
}

impl Together {
    /// The pair of these two buttons, in either order.
    #[must_use]
    pub fn pair(&self, a: usize, b: usize) -> Option<&TwoButtons> {
        let buttons = [a.min(b), a.max(b)];
        self.pairs.iter().find(|pair| pair.buttons == buttons)
    }

    /// How many pairs are taken for a third button, and how many more may be.
    #[must_use]
    pub fn mistaken(&self) -> [usize; 2] {
        [Harm::Mistaken, Harm::MayBeMistaken]
            .map(|harm| self.pairs.iter().filter(|pair| pair.harm() == harm).count())
    }

    /// The pairs, the most harmful first, otherwise in the wheel's order.
    #[must_use]
    pub fn by_harm(&self) -> Vec<&TwoButtons> {
        let mut pairs: Vec<_> = self.pairs.iter().collect();
        pairs.sort_by_key(|pair| pair.harm());
        pairs
    }
}

impl TwoButtons {
    /// How much it matters.
    #[must_use]
    pub fn harm(&self) -> Harm {
        match (self.falls, self.reaches) {
            (Falls::Third { .. }, _) => Harm::Mistaken,
            (_, Some(_)) => Harm::MayBeMistaken,
            (Falls::Nobody | Falls::Rest, None) => Harm::Ignored,
            (Falls::One(_), None) => Harm::Masked,
        }
    }

    /// The third button it is, or may be, taken for.
    #[must_use]
    pub fn third(&self) -> Option<usize> {
        match self.falls {
            Falls::Third { button, .. } => Some(button),
            _ => self.reaches.map(|reaches| reaches.button),
        }
    }

    /// Where it falls, as on the command line: the button's id, `rest`, or nothing.
    #[must_use]
    pub fn falls_on(&self, project: &Project) -> Option<String> {
        match self.falls {
            Falls::Nobody => None,
            Falls::Rest => Some("rest".to_owned()),
            Falls::One(button) | Falls::Third { button, .. } => {
                project.wheel.buttons.get(button).map(|button| button.id.0.clone())
            }
        }
    }

    /// What it reads and what comes of it, in one or two sentences.
    #[must_use]
    pub fn text(&self, project: &Project) -> String {
        let name = |button| rung_name(project, Rung::Button(button));
        let [a, b] = self.buttons.map(name);
        let reads = format!("{a} and {b} at once read {}", self.count);
        let falls = match self.falls {
            Falls::Third { button, accept, off_count } => {
                let third = name(button);
                let off = match count_text(off_count.abs(), 0).as_str() {
                    "0" => "on its centre".to_owned(),
                    "1" => "1 count off its centre".to_owned(),
                    off => format!("{off} counts off its centre"),
                };
                return format!(
                    "{reads}, in {third}'s band, {} to {}, {off}: taken for {third}. {}",
                    accept.low_count,
                    accept.high_count,
                    on_the_way(project, &third)
                );
            }
            Falls::One(button) if self.buttons.contains(&button) => {
                let other = name(if button == self.buttons[0] { self.buttons[1] } else { self.buttons[0] });
                format!("{reads}, as {} alone: {other} is masked", name(button))
            }
            Falls::One(button) => format!("{reads}, in the band shared with {}", name(button)),
            Falls::Nobody => format!("{reads}, in nobody's band: ignored"),
            Falls::Rest => format!("{reads}, as at rest: ignored"),
        };
        match self.reaches {
            None => format!("{falls}."),
            Some(Reaches { button, accept, off_count }) => {
                let third = name(button);
                let edge = if accept.low_count > self.count { "below" } else { "above" };
                let off = if off_count == 1 { "1 count".to_owned() } else { format!("{off_count} counts") };
                format!(
                    "{falls}. It is {off} {edge} {third}'s band, {} to {}, and with heat, cold and wear it \
                     reads {} to {}: it may be taken for {third}.",
                    accept.low_count, accept.high_count, self.low_count, self.high_count
                )
            }
        }
    }
}

/// When a third button is sent though nobody pressed it.
fn on_the_way(project: &Project, third: &str) -> String {
    if project.plan.rollover {
        format!("Rolling from one to the other sends {third} on the way.")
    } else {
        format!("Both have to close within {} ms.", project.plan.dwell_ms)
    }
}

/// A button's own resistor or tap, where a press or the meter tells it.
fn known_button(
    project: &Project,
    circuit: &Circuit,
    bands: &BandSet,
    button: usize,
    rest_ohm: &[f64],
) -> Result<Option<Known>, TogetherError> {
    let Some(info) = project.wheel.buttons.get(button) else { return Ok(None) };
    let band = bands.band(Rung::Button(button)).filter(|band| band.measured);
    let wire = info.wire.or(band.map(|band| band.wire)).unwrap_or(1);
    let Some(&rest_ohm) = usize::from(wire).checked_sub(1).and_then(|place| rest_ohm.get(place)) else {
        return Err(TogetherError::Wire { id: info.id.clone(), wire });
    };
    let topology = project.wheel.topology;
    let contact_ohm = circuit.contact_ohm;
    if let Some(seen_ohm) = band.and_then(|band| seen_ohm(circuit, band.centre_count)) {
        let own_ohm = own_ohm(topology, seen_ohm, rest_ohm, contact_ohm);
        return Ok(Some(Known { button, wire, own_ohm, learned: true }));
    }
    let metered = info.meter_ohm.filter(|ohm| ohm.is_finite() && *ohm >= 0.0);
    Ok(metered.map(|ohm| Known {
        button,
        wire,
        own_ohm: own_ohm(topology, circuit.pressed_ohm(ohm), rest_ohm, contact_ohm),
        learned: false,
    }))
}

/// The resistance behind a learned reading. At the end of the scale that a short gives, 0 Ω; `None`
/// where the converter saturates or the wire reads open.
fn seen_ohm(circuit: &Circuit, centre_count: f64) -> Option<f64> {
    let count = (centre_count + HALF_STEP_COUNT).clamp(0.0, TOP_COUNT);
    let short_count = circuit.ideal_count(0.0);
    if short_count <= TOP_COUNT + 1.0 && (count - short_count).abs() <= 1.0 {
        return Some(0.0);
    }
    circuit.ohm_from_count(count)
}

/// Across a wire at rest: as learned, else by the meter, else open.
fn rest_ohm(project: &Project, circuit: &Circuit, bands: &BandSet, wire: u8) -> f64 {
    let band = bands.band(Rung::Rest(wire)).filter(|band| band.measured);
    let learned = band.and_then(|band| circuit.ohm_from_count(band.centre_count + HALF_STEP_COUNT));
    let metered = project.wheel.wires.get(&wire).and_then(|info| info.rest_ohm);
    learned.or(metered.filter(|ohm| *ohm >= 0.0)).unwrap_or(f64::INFINITY)
}

/// One pair; `None` where its reading is no number.
fn pair(
    project: &Project,
    circuit: &Circuit,
    bands: &BandSet,
    of: [&Known; 2],
    rest_ohm: f64,
) -> Option<TwoButtons> {
    let buttons = of.map(|known| known.button);
    let wire = of[0].wire;
    let two = TwoPressed {
        topology: project.wheel.topology,
        own_ohm: of.map(|known| known.own_ohm),
        contact_ohm: [circuit.contact_ohm; 2],
        rest_ohm,
    };
    let ohm = two.seen_ohm();
    let count = circuit.count(ohm)?;
    let learned = of.iter().all(|known| known.learned);
    let reach = doubt(project, circuit, bands, of).reach(circuit, &two);
    let low_count = crate::circuit::converter_count(reach.low_count)?.min(count);
    let high_count = crate::circuit::converter_count(reach.high_count)?.max(count);
    let mine = Mine::of(bands, buttons);
    let held = taken_by(bands, wire, count);
    let falls = match held.map(|(band, accept)| (band.rung, accept, band.centre_count)) {
        None => Falls::Nobody,
        Some((Rung::Rest(_), ..)) => Falls::Rest,
        Some((Rung::Button(button), ..)) if mine.holds(button) => Falls::One(button),
        Some((Rung::Button(button), accept, centre)) => {
            Falls::Third { button, accept, off_count: f64::from(count) - centre }
        }
    };
    let reaches = match falls {
        Falls::Third { .. } => None,
        _ => reached(bands, wire, &mine, [low_count, count, high_count]),
    };
    let volt = circuit.node_v(ohm);
    Some(TwoButtons { buttons, wire, learned, ohm, volt, count, low_count, high_count, falls, reaches })
}

/// The limits of what may be off with this pair.
fn doubt(project: &Project, circuit: &Circuit, bands: &BandSet, of: [&Known; 2]) -> PairDoubt {
    let parts = &project.parts;
    let apart_k = (LEARNED_AT_C - parts.cold_c).max(parts.hot_c - LEARNED_AT_C).max(0.0);
    let share = |learned: bool, tolerance: f64, per_k: f64| {
        let heat = per_k * apart_k;
        if learned { heat } else { heat.hypot(tolerance) }
    };
    let learned = of.iter().all(|known| known.learned);
    let scale_share = if circuit.has_two_supplies() {
        // The module's supply and the box's, each on its own.
        f64::hypot(parts.feed_tolerance, parts.feed_tolerance)
    } else if circuit.is_ratiometric() {
        0.0
    } else {
        // The monitor takes the feed out; what was learned holds the reference's own error.
        let feed = if is_ratio(circuit) { 0.0 } else { parts.feed_tolerance };
        let reference = if learned { 0.0 } else { parts.reference_tolerance };
        f64::hypot(feed, reference)
    };
    PairDoubt {
        own_share: of.map(|known| share(known.learned, parts.ladder_tolerance, parts.ladder_per_k)),
        between_ohm: BETWEEN_SIGMA * bands.between.ohm.filter(|ohm| ohm.is_finite()).unwrap_or(0.0),
        sense_share: share(learned, parts.sense_tolerance, parts.sense_per_k),
        scale_share,
        converter_count: project.plan.converter_error_count,
        wear_ohm: parts.wear_ohm,
    }
}

/// The band that takes a reading: a measured one before one that is only planned.
fn taken_by(bands: &BandSet, wire: u8, count: u16) -> Option<(&Band, Accept)> {
    let holding = || {
        bands
            .bands()
            .filter(move |band| band.wire == wire)
            .filter_map(|band| Some((band, band.accept?)))
            .filter(move |(_, accept)| (accept.low_count..=accept.high_count).contains(&count))
    };
    holding().find(|(band, _)| band.measured).or_else(|| holding().next())
}

/// The third button's band nearest to a reading that the reading may reach.
fn reached(bands: &BandSet, wire: u8, mine: &Mine, [low, count, high]: [u16; 3]) -> Option<Reaches> {
    let thirds = bands.buttons.iter().filter(|band| band.wire == wire).filter_map(|band| {
        let Rung::Button(button) = band.rung else { return None };
        let accept = band.accept.filter(|_| !mine.holds(button))?;
        let meets = accept.low_count <= high && accept.high_count >= low;
        let off_count = accept.low_count.saturating_sub(count).max(count.saturating_sub(accept.high_count));
        meets.then_some(Reaches { button, accept, off_count })
    });
    thirds.min_by_key(|reaches| reaches.off_count)
}

/// The buttons whose bands either of the two has by itself: its own, the one it shares, the one it lies
/// in. A pair that falls there does nothing that a press of one doesn't.
struct Mine(Vec<usize>);

impl Mine {
    fn of(bands: &BandSet, buttons: [usize; 2]) -> Self {
        let mut mine = buttons.to_vec();
        for button in buttons {
            if let Some(&Verdict::Shared { with: Rung::Button(with), .. }) = bands.verdict(button) {
                mine.push(with);
            }
            let band = bands.band(Rung::Button(button));
            let lies_in = band.and_then(|band| bands.which(band.wire, band.centre_count));
            if let Some(Rung::Button(other)) = lies_in {
                mine.push(other);
            }
        }
        Self(mine)
    }

    fn holds(&self, button: usize) -> bool {
        self.0.contains(&button)
    }
}
