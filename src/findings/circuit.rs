//! What the sense circuit leaves open: no circuit given, a reference that isn't the supply. Knows
//! no readings.

use super::{Finding, Level, Station};
use crate::circuit::{Circuit, Problem, Reference};
use crate::project::Project;
use crate::units::volt_text;

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
