//! What the wheel lacks: a vehicle's name, buttons, names that tell them apart, a finished meter check; and
//! what of its readings is odd. Computes nothing.

use std::collections::BTreeMap;

use super::{Finding, Level, Station, called, listed};
use crate::bands::Rung;
use crate::circuit::{Circuit, Sense};
use crate::project::{Project, Readings, bands, odd_text};
use crate::wheel::{CheckVerdict, Sureness, Topology, wire_colours};

pub(super) fn look(project: &Project, found: &mut Vec<Finding>) {
    let finding =
        |level, where_: &str, what: String, do_: &str| Finding::new(level, Station::Wheel, where_, what, do_);
    if project.vehicle.name.trim().is_empty() {
        found.push(finding(
            Level::Note,
            "vehicle.name",
            "The vehicle has no name.".to_owned(),
            "Name it, so that the next person knows which one the sheet is for.",
        ));
    }
    if project.wheel.buttons.is_empty() {
        found.push(finding(
            Level::Error,
            "wheel.buttons",
            "The wheel has no buttons.".to_owned(),
            "Add each button by its name, in the order they sit on the wheel.",
        ));
    }
    let mut by_name: BTreeMap<String, Vec<&str>> = BTreeMap::new();
    for button in &project.wheel.buttons {
        let id = button.id.0.as_str();
        by_name.entry(called(&button.name, id).trim().to_lowercase()).or_default().push(id);
    }
    for ids in by_name.values().filter(|ids| ids.len() > 1) {
        let first = project.wheel.buttons.iter().find(|button| button.id.0 == ids[0]);
        let name = first.map_or(ids[0], |button| called(&button.name, &button.id.0));
        found.push(finding(
            Level::Caution,
            &format!("wheel.buttons.{}", ids[0]),
            format!("{} buttons are called {name}: {}.", ids.len(), listed(ids)),
            "Give each a name of its own: prompts call buttons by their names.",
        ));
    }
    check(project, found);
    let readings = project.readings(&bands(project));
    odd(project, &readings, found);
    topology(project, &readings, found);
    colours(project, found);
}

/// Whether it is a ladder at all.
fn check(project: &Project, found: &mut Vec<Finding>) {
    let verdict = project.meter_report().verdict;
    let said = format!("{} {}", verdict.head(), verdict.meaning());
    let mut find = |level, what: String, do_: &str| {
        found.push(Finding::new(level, Station::Wheel, "wheel.check", what, do_));
    };
    match &verdict {
        CheckVerdict::Unfinished { .. } => find(
            Level::Note,
            format!("Whether the wheel is a ladder is not known yet: {}", lower_first(&verdict.meaning())),
            "Go through the meter check at the Wheel station before anything is connected.",
        ),
        CheckVerdict::SharedGround { .. }
            if project.circuit.as_ref().is_some_and(|circuit| circuit.sense == Sense::PullDown) =>
        {
            find(
                Level::Error,
                format!("{said} A pull-down needs a ladder that hangs from the feed alone."),
                "Choose the pull-up style at the Circuit station.",
            );
        }
        verdict if verdict.is_stop() => find(Level::Error, said, &verdict.advice()),
        _ => {}
    }
}

fn odd(project: &Project, readings: &Readings, found: &mut Vec<Finding>) {
    // Another reference than the supply moves them all by its own tolerance: that is told at the box.
    let by_supply = project.circuit.as_ref().is_some_and(Circuit::is_ratiometric);
    for wire in readings.wires.iter().filter(|_| by_supply) {
        if let Some((off, of)) = wire.circuit_off {
            found.push(Finding::new(
                Level::Note,
                Station::Circuit,
                "circuit.sense_ohm",
                format!(
                    "{off} of {of} buttons of wire {} were learned far from what the meter promises: the circuit \
                     isn't as planned.",
                    wire.wire
                ),
                "Check the sense resistor and the reference at the Circuit station.",
            ));
        }
    }
    for row in readings.odd() {
        let Some((head, body)) = odd_text(project, row) else { continue };
        let place = match row.rung {
            Rung::Button(index) => project
                .wheel
                .buttons
                .get(index)
                .map_or_else(String::new, |button| format!("wheel.buttons.{}", button.id.0)),
            Rung::Rest(wire) => format!("wheel.wires.{wire}"),
        };
        let do_ = "Meter it again, and learn it again if that reads the same.";
        found.push(Finding::new(Level::Caution, Station::Wheel, place, format!("{head} {body}"), do_));
    }
}

/// Whether the project's topology is the one the readings fit.
fn topology(project: &Project, readings: &Readings, found: &mut Vec<Finding>) {
    let taken = project.wheel.topology;
    for wire in &readings.wires {
        if wire.fit.sureness == Sureness::CannotTell || wire.fit.topology == taken {
            continue;
        }
        let called = |topology| match topology {
            Topology::Series => "a chain with taps",
            Topology::Parallel => "a resistor of its own for each button",
        };
        found.push(Finding::new(
            Level::Caution,
            Station::Wheel,
            "wheel.topology",
            format!(
                "The project takes the ladder as {}, and the readings of wire {} fit {}.",
                called(taken),
                wire.wire,
                called(wire.fit.topology)
            ),
            "Meter two buttons pressed at once at the Wheel station: that decides it.",
        ));
    }
}

fn colours(project: &Project, found: &mut Vec<Finding>) {
    let wires = project.wheel.wires.iter().map(|(wire, info)| (format!("wires.{wire}"), &info.colour));
    for (place, colour) in wires.chain([("back".to_owned(), &project.wheel.back.colour)]) {
        if let Err(error) = wire_colours(colour) {
            let said = error.to_string();
            let (what, do_) = said.split_once(". ").unwrap_or((&said, ""));
            let what = format!("{what}.");
            found.push(Finding::new(Level::Note, Station::Wheel, format!("wheel.{place}"), what, do_));
        }
    }
}

fn lower_first(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}
