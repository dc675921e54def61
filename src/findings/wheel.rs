//! What the wheel lacks: a vehicle's name, buttons, names that tell them apart. Knows no readings.

use std::collections::BTreeMap;

use super::{Finding, Level, Station, called, listed};
use crate::project::Project;

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
}
