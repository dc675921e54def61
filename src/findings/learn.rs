//! What learning left open: buttons and rests not learned, too few presses, rungs that are no
//! rungs. Knows no bands.

use std::collections::BTreeSet;

use super::{Finding, Level, Station, called};
use crate::bands::{Press, RestLevel};
use crate::circuit::Sense;
use crate::project::{Button, Gesture, Project, feed_off};
use crate::units::{TOP_COUNT, count_text};

/// A rest this close to an end of the scale is at the rail, in counts: twice the converter's own
/// typical error (ATmega328P datasheet 8161D, table 28-7, absolute accuracy 2 counts).
const RAIL_COUNT: f64 = 4.0;

/// A rung nearer to rest than this many standard deviations of rest's own noise can't be told from
/// it. Common practice, no source.
const REST_SIGMA: f64 = 3.0;

pub(super) fn look(project: &Project, found: &mut Vec<Finding>) {
    rests(project, found);
    feed(project, found);
    for button in &project.wheel.buttons {
        look_at(project, button, found);
    }
}

fn finding(level: Level, where_: String, what: String, do_: &str) -> Finding {
    Finding::new(level, Station::Learn, where_, what, do_)
}

/// Learned on another feed than the box will run on, where readings go with it.
fn feed(project: &Project, found: &mut Vec<Finding>) {
    let Some(off) = feed_off(project) else { return };
    found.push(finding(
        Level::Caution,
        "learned_on.feed_v".to_owned(),
        format!("{} The bands are provisional.", off.text()),
        "Learn again on the power the box will run on, or re-check there: V at Learn; or measure against the supply.",
    ));
}

/// Each wire that carries a button needs a rest.
fn rests(project: &Project, found: &mut Vec<Finding>) {
    let wires: BTreeSet<u8> = project.wheel.buttons.iter().filter_map(|button| button.wire).collect();
    for wire in wires.iter().filter(|wire| !project.rests.contains_key(wire)) {
        found.push(finding(
            Level::Error,
            format!("rests.{wire}"),
            format!("The rest of wire {wire} isn't learned: nothing says when its buttons are let go."),
            "Learn the rest with no button pressed.",
        ));
    }
    let sense = project.circuit.as_ref().map(|circuit| circuit.sense);
    for (wire, rest) in &project.rests {
        let count = rest.median_count;
        let fault = if count >= TOP_COUNT - RAIL_COUNT {
            if sense == Some(Sense::PullDown) { "a wire shorted to the feed" } else { "a broken wire" }
        } else if count <= RAIL_COUNT {
            if sense == Some(Sense::PullUp) { "a wire shorted to ground" } else { "a broken wire" }
        } else {
            continue;
        };
        found.push(finding(
            Level::Note,
            format!("rests.{wire}"),
            format!(
                "Wire {wire} rests at {}, an end of the scale: {fault} looks like rest.",
                count_text(count, 0)
            ),
            "If every button of this wire goes silent at once, look at the wire first.",
        ));
    }
}

fn look_at(project: &Project, button: &Button, found: &mut Vec<Finding>) {
    let id = &button.id.0;
    let name = called(&button.name, id);
    let place = format!("learned.{id}");
    let learned = project.learned.get(&button.id);
    let presses = learned.map_or(&[][..], |learned| &learned.presses);
    if presses.is_empty() {
        found.push(finding(
            Level::Error,
            place,
            format!("{name} isn't learned: no press of it is kept."),
            "Learn it, prompted or from the trace.",
        ));
        return;
    }
    let planned = project.plan.presses as usize;
    if presses.len() < planned {
        found.push(finding(
            Level::Caution,
            place.clone(),
            format!(
                "{name} has {} of {planned} presses: its spread from press to press is less sure.",
                presses.len()
            ),
            "Learn the presses that are missing.",
        ));
    }
    match button.wire {
        None => found.push(finding(
            Level::Error,
            format!("wheel.buttons.{id}"),
            format!("{name} is learned, and its wire isn't known: its rung could be on either."),
            "Say which wire it is on, or learn it again.",
        )),
        Some(wire) => {
            if let Some(rest) = project.rests.get(&wire)
                && let Some(press) = presses.iter().find(|press| reads_as_rest(project, press, rest))
            {
                found.push(finding(
                    Level::Error,
                    place.clone(),
                    format!(
                        "A press of {name} is kept at {}, and wire {wire} rests at {}: it reads as no press at all.",
                        count_text(press.median_count, 1),
                        count_text(rest.median_count, 1)
                    ),
                    "Learn it again; if it stays so, it is on the other wire or not on the ladder.",
                ));
            }
        }
    }
    if let Some((_, other)) =
        learned.and_then(|l| l.indistinct_from.as_ref()).and_then(|id| project.button(id))
    {
        found.push(indistinct(project, button, other, place));
    }
}

/// Whether a press lies within rest's noise, or within the converter's own error of it.
fn reads_as_rest(project: &Project, press: &Press, rest: &RestLevel) -> bool {
    let near = (REST_SIGMA * rest.spread_count).max(project.plan.converter_error_count);
    (press.median_count - rest.median_count).abs() <= near
}

/// Two buttons that the person took as one: harmless where both send the same.
fn indistinct(project: &Project, button: &Button, other: &Button, place: String) -> Finding {
    let (name, other_name) = (called(&button.name, &button.id.0), called(&other.name, &other.id.0));
    let sends = |button: &Button, gesture| {
        let pair = project.pairs.iter().find(|pair| pair.button == button.id && pair.gesture == gesture);
        pair.and_then(|pair| pair.command.as_ref())
    };
    let differs = [Gesture::Tap, Gesture::Hold, Gesture::DoubleTap]
        .into_iter()
        .any(|gesture| sends(button, gesture) != sends(other, gesture));
    let (level, what, do_) = if differs {
        (
            Level::Error,
            format!(
                "{name} can't be told apart from {other_name}, and they are paired differently: one of them sends the other's command."
            ),
            "Pair both alike, or leave one of them out.",
        )
    } else {
        (
            Level::Caution,
            format!("{name} can't be told apart from {other_name}: both do the same."),
            "Leave it so, or choose a sense resistor that parts them.",
        )
    };
    finding(level, place, what, do_)
}
