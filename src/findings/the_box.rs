//! What stands between a project and a box that does what it says: what doesn't fit, a feed that moves
//! the readings, a dwell too short for a slow press, fuses. (`box` is a word of the language, hence the
//! name.) Knows no bytes and no link.

mod slow_press;

use super::{Finding, Level, Station, called};
use crate::bands::{BandSet, Rung, auto_settle_count, noise_count};
use crate::circuit::{Problem, Reference, is_ratio};
use crate::image::{build, check as image_check};
use crate::project::{Gesture, Project, SeatCount, banding, settle_count};
use crate::units::{TOP_COUNT, count_text, volt_text};
use crate::wire::BrownOut;

/// The feed on laptop power, in volts: what USB leaves of 5 V behind a long lead and a fuse. Common
/// practice, no source.
pub const LAPTOP_FEED_V: f64 = 4.70;
/// The feed on vehicle power, in volts: what a 5 V regulator gives at most, as a rule. Common practice,
/// no source.
pub const VEHICLE_FEED_V: f64 = 5.05;

/// Below so many standard deviations of the noise a third of all dwells of a firm press span more than
/// the settle limit (24 readings, middle of three; computed by simulation, as in `image`).
const SETTLE_SIGMA: f64 = 2.5;

pub(super) fn look(project: &Project, found: &mut Vec<Finding>) {
    if project.wheel.buttons.is_empty() {
        return;
    }
    let bands = banding::bands(project);
    misfits(project, &bands, found);
    monitor(project, found);
    moving_feed(project, &bands, found);
    settle_limit(project, &bands, found);
    slow_press::look(project, &bands, settle_count(project, &bands), found);
    repeats(project, found);
    seat_check(project, &bands, found);
    if !project.plan.supplies_parted {
        found.push(finding(
        Level::Note,
        "box.power",
        "The box can be fed by the vehicle and by USB at once: both would then drive the 5 V rail.",
        "Put a diode, or the board's own regulator input, between the vehicle's supply and the 5 V rail; in the vehicle run the laptop on its battery. Then say so at the Box station, Settings.",
    ));
    }
}

fn finding(level: Level, where_: impl Into<String>, what: impl Into<String>, do_: &str) -> Finding {
    Finding::new(level, Station::Box, where_, what, do_)
}

/// What the last seat check leaves open. Nothing is said before all is paired: there is nothing to prove.
fn seat_check(project: &Project, bands: &BandSet, found: &mut Vec<Finding>) {
    let place = "seat_check";
    let paired =
        project.wheel.buttons.iter().all(|button| {
            project.pairs.iter().any(|pair| pair.button == button.id && pair.command.is_some())
        });
    let Some(check) = &project.seat_check else {
        // An error comes first: a box that can't be right proves nothing.
        if paired && found.iter().all(|said| said.level != Level::Error) {
            found.push(finding(
                Level::Note,
                place,
                "No seat check was made: nobody knows yet that every button works in this vehicle.",
                "Fill the box, then start the seat check at the Box station.",
            ));
        }
        return;
    };
    let count = SeatCount::of(&check.presses);
    if count.errors > 0 {
        found.push(finding(
            Level::Caution,
            place,
            format!("The last seat check had {} of {} presses wrong.", count.errors, count.presses),
            "Look at the presses that went wrong at the Box station, mend the cause, and check again.",
        ));
    } else if count.presses < check.planned {
        found.push(finding(
            Level::Note,
            place,
            format!("The last seat check stopped after {} of {} presses.", count.presses, check.planned),
            "Make it whole at the Box station.",
        ));
    }
    let image = build(project, bands).ok().and_then(|built| built.image.to_body().ok());
    if image.is_some_and(|body| image_check(&body) != check.image_check) {
        found.push(finding(
            Level::Note,
            place,
            "The project has changed since the last seat check: what was shown then isn't shown for it.",
            "Write it to the box and check again.",
        ));
    }
}

/// What doesn't fit the box, unless another room has said so.
fn misfits(project: &Project, bands: &BandSet, found: &mut Vec<Finding>) {
    let Err(misfits) = build(project, bands) else { return };
    for misfit in misfits {
        if found.iter().any(|said| said.level == Level::Error && said.where_ == misfit.place) {
            continue;
        }
        found.push(finding(Level::Error, misfit.place, misfit.what, &misfit.advice));
    }
}

/// What is wrong with the feed monitor.
fn monitor(project: &Project, found: &mut Vec<Finding>) {
    let problems = project.circuit.as_ref().map_or_else(Vec::new, |circuit| circuit.check());
    for problem in problems {
        if !matches!(problem, Problem::Monitor { .. } | Problem::MonitorHigh { .. }) {
            continue;
        }
        let level = if problem.is_error() { Level::Error } else { Level::Caution };
        let said = problem.to_string();
        let (what, advice) = said.rsplit_once(". ").unwrap_or((&said, ""));
        found.push(finding(level, "circuit.feed_monitor", format!("{what}."), advice));
    }
}

/// Where a rung goes when the feed moves.
#[derive(Clone, Debug, PartialEq)]
pub struct FeedShift {
    /// Which rung.
    pub rung: Rung,
    /// What it reads at the feed it was learned at, in counts.
    pub from_count: f64,
    /// What it reads at the other feed, in counts; no more than the converter's top.
    pub to_count: f64,
    /// Whether that is outside its own band.
    pub leaves: bool,
    /// Whose band that is in instead.
    pub lands: Option<Rung>,
}

/// Where each rung that has a band goes when it was learned at one feed and is read at another, in
/// volts. Empty where a reading doesn't depend on the box's feed: with the supply as reference, with a
/// feed monitor, where a factory module feeds the ladder and the reference isn't the supply either, or
/// where the circuit isn't known.
///
/// With a reference that stays, a reading goes with the feed: `1024 · V / V_ref` (ATmega328P datasheet,
/// ADC Conversion Result), and every divider's voltage with it. With a module it is the other way about:
/// what feeds the ladder stays, and the box's feed is `V_ref`.
#[must_use]
pub fn feed_shift(project: &Project, bands: &BandSet, from_v: f64, to_v: f64) -> Vec<FeedShift> {
    let Some(circuit) = project.circuit.as_ref() else { return Vec::new() };
    let by_share = if circuit.has_two_supplies() {
        from_v / to_v
    } else if is_ratio(circuit) || circuit.module.is_some() {
        return Vec::new();
    } else {
        to_v / from_v
    };
    let shifted = bands.bands().filter(|band| band.measured).filter_map(|band| {
        let accept = band.accept?;
        let to_count = (band.centre_count * by_share).min(TOP_COUNT);
        let leaves = !accept.holds(to_count);
        let lands = bands.which(band.wire, to_count).filter(|&rung| leaves && rung != band.rung);
        Some(FeedShift { rung: band.rung, from_count: band.centre_count, to_count, leaves, lands })
    });
    shifted.collect()
}

fn moving_feed(project: &Project, bands: &BandSet, found: &mut Vec<Finding>) {
    let shifts = feed_shift(project, bands, LAPTOP_FEED_V, VEHICLE_FEED_V);
    let Some(circuit) = project.circuit.as_ref().filter(|_| !shifts.is_empty()) else { return };
    let (against, way, share) = match circuit.reference {
        Reference::Internal { volt } => {
            let against =
                format!("the chip's own reference of {} and there is no feed monitor", volt_text(volt));
            (against, "higher", VEHICLE_FEED_V / LAPTOP_FEED_V - 1.0)
        }
        Reference::External { .. } => {
            let volt = volt_text(circuit.reference_v());
            let against = format!("a reference of {volt} and there is no feed monitor");
            (against, "higher", VEHICLE_FEED_V / LAPTOP_FEED_V - 1.0)
        }
        Reference::Supply => {
            let against = "the box's supply and a factory module feeds the ladder".to_owned();
            (against, "lower", 1.0 - LAPTOP_FEED_V / VEHICLE_FEED_V)
        }
    };
    let advice = if circuit.module.is_some() {
        "Learn again on the power the box will run on, or disconnect the module and pull the wire up to the \
         box's own supply."
    } else {
        "Measure against the supply, or fit a feed monitor, or learn again on the power the box will run on."
    };
    let name = |rung: Rung| banding::rung_name(project, rung);
    let each: Vec<String> = shifts
        .iter()
        .map(|shift| {
            let (from, to) = (count_text(shift.from_count, 0), count_text(shift.to_count, 0));
            let where_to = match (shift.leaves, shift.lands) {
                (false, _) => "in its band".to_owned(),
                (true, None) => "out of its band".to_owned(),
                (true, Some(other)) => format!("into the band of {}", name(other)),
            };
            format!("{} from {from} to {to}, {where_to}", name(shift.rung))
        })
        .collect();
    let lands = shifts.iter().any(|shift| shift.lands.is_some());
    found.push(finding(
        if lands { Level::Error } else { Level::Caution },
        "circuit.reference",
        format!(
            "The converter measures against {against}: what was learned at {} on laptop power reads {:.1} % {way} at {} on vehicle power: {}.",
            volt_text(LAPTOP_FEED_V),
            share * 100.0,
            volt_text(VEHICLE_FEED_V),
            each.join("; ")
        ),
        advice,
    ));
}

fn settle_limit(project: &Project, bands: &BandSet, found: &mut Vec<Finding>) {
    let (Some(limit), noise) = (project.plan.settle_count, noise_count(bands)) else { return };
    if project.learned.is_empty() || limit >= SETTLE_SIGMA * noise {
        return;
    }
    let auto = auto_settle_count(bands);
    found.push(finding(
        Level::Caution,
        "plan.settle_count",
        format!(
            "The settle limit is {} counts, and the noise of the noisiest button {} (standard deviation): a firm press would often not settle.",
            count_text(limit, 1),
            count_text(noise, 1)
        ),
        &format!("Leave the limit to the noise, which gives {} counts, or find the noise.", count_text(auto, 0)),
    ));
}

/// Repeats that never come.
fn repeats(project: &Project, found: &mut Vec<Finding>) {
    for pair in project.pairs.iter().filter(|pair| pair.command.is_some()) {
        let Some((_, button)) = project.button(&pair.button) else { continue };
        let name = called(&button.name, &button.id.0);
        let place = format!("pairs.{}", button.id.0);
        let others = project.pairs.iter().filter(|other| {
            other.button == pair.button && other.gesture != Gesture::Tap && other.command.is_some()
        });
        let others: Vec<&str> =
            others.map(|other| if other.gesture == Gesture::Hold { "hold" } else { "double tap" }).collect();
        if pair.gesture == Gesture::Tap && pair.repeats && !others.is_empty() {
            found.push(finding(
                Level::Caution,
                place.clone(),
                format!(
                    "A tap of {name} should repeat while held, and {name} has a {} too: the tap is sent once the button is let go, and never repeats.",
                    others.join(" and a ")
                ),
                "Let the hold repeat instead, or take the other gesture away.",
            ));
        }
        if let Some(ms) = pair.every_ms.filter(|_| !pair.repeats) {
            found.push(finding(
                Level::Note,
                place,
                format!("{name} would send anew every {ms} ms, and doesn't repeat: that rate does nothing."),
                "Let it repeat while held, or take the rate away.",
            ));
        }
    }
}

/// What the box's fuses leave open: low, high, extended and lock, as identify gives them. `None` where
/// brown-out is at 4.3 V.
///
/// Which level that is, and which protects, is the chip's: [`BrownOut`].
#[must_use]
pub fn fuses(fuses: &[u8; 4]) -> Option<Finding> {
    let brown_out = BrownOut::of(fuses[2]);
    let level = match brown_out {
        _ if brown_out.protects() => return None,
        BrownOut::Off => brown_out.level().to_owned(),
        BrownOut::Reserved => "at a level that is reserved".to_owned(),
        BrownOut::At1V8 | BrownOut::At2V7 | BrownOut::At4V3 => format!("at {}", brown_out.level()),
    };
    Some(finding(
        Level::Caution,
        "box.fuses",
        format!(
            "Brown-out is {level}: between there and 3.8 V the chip runs too fast for its supply, and while the engine starts it may do anything, its memory included."
        ),
        "Set the extended fuse to FC (4.3 V) with an in-system programmer: the serial bootloader can't set fuses.",
    ))
}
