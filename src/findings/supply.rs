//! What the box's supply leaves open: heat, pulses, fuse and wire. Knows no regulator.

use super::{Finding, Level, Station};
use crate::project::Project;

pub(super) fn look(project: &Project, found: &mut Vec<Finding>) {
    for warning in project.supply.report(project.parts.hot_c).warnings {
        let do_ = warning.advice();
        found.push(Finding::new(Level::Caution, Station::Circuit, "supply", warning.what(), &do_));
    }
}
