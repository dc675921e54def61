//! What the sense circuit leaves open: no circuit given, a rest that a broken wire would look like, a
//! reference that isn't the supply.

use super::{Finding, Level, Station};
use crate::circuit::{Circuit, Problem, Reference, Sense};
use crate::project::Project;
use crate::units::{TOP_COUNT, WIRES, count_text, volt_text};

pub(super) fn look(project: &Project, found: &mut Vec<Finding>) {
    let Some(circuit) = &project.circuit else {
        found.push(Finding::new(
            Level::Note,
            Station::Circuit,
            "circuit",
            "The sense circuit isn't given: spreads stay in counts, and headroom in ohms can't be told.",
            "Give the sense resistor, which way it stands, and the feed.",
        ));
        return;
    };
    impossible(circuit, found);
    for wire in 1..=WIRES as u8 {
        rest_at_a_rail(project, circuit, wire, found);
    }
    if circuit.module.is_some() {
        found.push(Finding::new(
            Level::Caution,
            Station::Circuit,
            "circuit.module",
            "A factory module feeds the ladder: readings move with its supply and with the box's, and a feed \
             monitor can't reach the module's.",
            "Learn on the power it will run on, with the module awake, and check again once it has slept.",
        ));
        return;
    }
    // The monitor takes the feed out of every reading; and with readings of buttons at hand the shift
    // is told in counts, at the Box.
    if circuit.feed_monitor.is_some() || !project.learned.is_empty() {
        return;
    }
    let against = match circuit.reference {
        Reference::Supply => return,
        Reference::Internal { volt } => format!("the chip's own reference of {}", volt_text(volt)),
        Reference::External { volt, .. } => format!("a reference of {}", volt_text(volt)),
    };
    found.push(Finding::new(
        Level::Caution,
        Station::Circuit,
        "circuit.reference",
        format!(
            "The converter measures against {against} and there is no feed monitor: readings move with the feed. What was learned on laptop power is off on vehicle power by as much as the two differ.",
        ),
        "Measure against the supply, or add a feed monitor, or learn on the power it will run on.",
    ));
}

/// Values with which nothing can be read; those of the feed monitor are told at the Box.
fn impossible(circuit: &Circuit, found: &mut Vec<Finding>) {
    for problem in circuit.check() {
        if !problem.is_error() || matches!(problem, Problem::Monitor { .. }) {
            continue;
        }
        let said = problem.to_string();
        let (what, advice) = said.split_once(". ").unwrap_or((&said, ""));
        found.push(Finding::new(Level::Error, Station::Circuit, "circuit", format!("{what}."), advice));
    }
}

/// A wire that rests where a broken one reads: full scale with a pull-up, 0 with a pull-down.
fn rest_at_a_rail(project: &Project, circuit: &Circuit, wire: u8, found: &mut Vec<Finding>) {
    if !project.wheel.buttons.iter().any(|button| button.wire.unwrap_or(1) == wire) {
        return;
    }
    // What was learned counts; else what the meter found, where open is an infinite resistance.
    let learned = project.rests.get(&wire).map(|level| level.median_count);
    let metered = project.wheel.wires.get(&wire).map(|info| info.rest_ohm.unwrap_or(f64::INFINITY));
    let planned = metered.and_then(|ohm| circuit.count(ohm)).map(f64::from);
    let Some(count) = learned.or(planned) else { return };
    // Within the converter's own error of the rail, the two are one.
    let error = project.plan.converter_error_count.max(1.0);
    let (is_at_rail, rail) = match circuit.sense {
        Sense::PullUp => (count >= TOP_COUNT - error, "full scale"),
        Sense::PullDown => (count <= error, "0"),
    };
    if is_at_rail {
        found.push(Finding::new(
            Level::Note,
            Station::Circuit,
            format!("wheel.wires.{wire}"),
            format!(
                "Wire {wire} rests at {rail}, {} counts: a broken wire or an open plug reads just like rest.",
                count_text(count, 0)
            ),
            "After any work on the wiring press each button once, or fit a resistor across the wire and its \
             return at the wheel.",
        ));
    }
}
