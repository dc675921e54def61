//! What is in the drawer, and how far parts and climate may be off.

use egui::Ui;

use super::super::typed::{Allowed, Typed, Unit, number_ui};
use super::{ANY_OHM, item};
use crate::app::circuit::sense::SenseDerived;
use crate::app::{Action, Edit};
use crate::circuit::Parts;
use crate::project::Project;
use crate::units::ohm_from_text;
use crate::view::widgets::field::Field;

/// A drawer as typed: values with commas or blanks between them.
fn drawer_of(text: &str) -> Option<Vec<f64>> {
    let words = text.split([',', ';', ' ']).map(str::trim).filter(|word| !word.is_empty());
    words.map(|word| ohm_from_text(word).filter(|ohm| (1.0..=1e8).contains(ohm))).collect()
}

fn drawer_text(ohms: &[f64]) -> String {
    let short = |ohm: &f64| if *ohm >= 1e3 { format!("{}k", ohm / 1e3) } else { ohm.to_string() };
    ohms.iter().map(short).collect::<Vec<_>>().join(", ")
}

pub(super) fn drawer_ui(
    ui: &mut Ui,
    parts: &Parts,
    derived: &SenseDerived,
    typed: &mut Typed,
    actions: &mut Vec<Action>,
) {
    item(ui, "In the drawer, Ω", &derived.lines.drawer, |ui, width| {
        const NAME: &str = "Resistors in the drawer";
        let id = ui.scope_id().with(NAME);
        let had_focus = ui.data(|data| data.get_temp::<bool>(id)).unwrap_or(false);
        let shown = drawer_text(&parts.drawer_ohm);
        let text = typed.entry(NAME.to_owned()).or_insert_with(|| shown.clone());
        if !had_focus && *text != shown {
            *text = shown;
        }
        let error =
            drawer_of(text).is_none().then_some("Write values from 1 Ω to 100 MΩ, like 470, 1k, 4k7.");
        let field =
            Field::new(text, NAME).hint("470, 1k, 4k7").width(width).height(34.0).error(error).limit(400);
        let response = field.show(ui);
        // Asked before: the context is locked within.
        let has_focus = response.has_focus();
        ui.data_mut(|data| data.insert_temp(id, has_focus));
        if let Some(error) = error.filter(|_| has_focus) {
            response.show_tooltip_text(error);
        }
        let read = response.changed().then(|| drawer_of(text)).flatten();
        if let Some(drawer_ohm) = read.filter(|read| *read != parts.drawer_ohm) {
            actions.push(Action::Edit(Edit::Parts(Parts { drawer_ohm, ..parts.clone() })));
        }
    });
}

/// How a number of the parts is read and set.
struct Part {
    name: &'static str,
    allowed: Allowed,
    now: fn(&Parts) -> f64,
    set: fn(&mut Parts, f64),
}

const WEAR: Allowed = (Unit::Ohm, |ohm| (0.0..=1e5).contains(&ohm), "Type 0 Ω to 100 kΩ.");
const COLD: Allowed = (Unit::Celsius, |c| (-60.0..=25.0).contains(&c), "Type −60 °C to 25 °C.");
const HOT: Allowed = (Unit::Celsius, |c| (25.0..=150.0).contains(&c), "Type 25 °C to 150 °C.");
const TOLERANCE: Allowed = (Unit::Percent, |share| (0.0..=0.2).contains(&share), "Type 0 % to 20 %.");
const PER_K: Allowed = (Unit::PerMillion, |per_k| (0.0..=0.005).contains(&per_k), "Type 0 to 5000 ppm/K.");
const OFF: Allowed = (Unit::Percent, |share| (0.0..=0.5).contains(&share), "Type 0 % to 50 %.");

const PARTS: [Part; 9] = [
    Part { name: "Wear of a contact", allowed: WEAR, now: |p| p.wear_ohm, set: |p, to| p.wear_ohm = to },
    Part { name: "Coldest", allowed: COLD, now: |p| p.cold_c, set: |p, to| p.cold_c = to },
    Part { name: "Hottest", allowed: HOT, now: |p| p.hot_c, set: |p, to| p.hot_c = to },
    Part {
        name: "Ladder's tolerance",
        allowed: TOLERANCE,
        now: |p| p.ladder_tolerance,
        set: |p, to| p.ladder_tolerance = to,
    },
    Part {
        name: "Ladder's drift",
        allowed: PER_K,
        now: |p| p.ladder_per_k,
        set: |p, to| p.ladder_per_k = to,
    },
    Part {
        name: "Sense resistor's tolerance",
        allowed: TOLERANCE,
        now: |p| p.sense_tolerance,
        set: |p, to| p.sense_tolerance = to,
    },
    Part {
        name: "Sense resistor's drift",
        allowed: PER_K,
        now: |p| p.sense_per_k,
        set: |p, to| p.sense_per_k = to,
    },
    Part { name: "Feed off by", allowed: OFF, now: |p| p.feed_tolerance, set: |p, to| p.feed_tolerance = to },
    Part {
        name: "Reference off by",
        allowed: OFF,
        now: |p| p.reference_tolerance,
        set: |p, to| p.reference_tolerance = to,
    },
];

pub(super) fn more_ui(
    ui: &mut Ui,
    project: &Project,
    derived: &SenseDerived,
    typed: &mut Typed,
    actions: &mut Vec<Action>,
) {
    let parts = &project.parts;
    for part in &PARTS {
        let cost = if part.name == PARTS[0].name { derived.lines.wear.as_str() } else { "" };
        item(ui, part.name, cost, |ui, width| {
            let now = Some((part.now)(parts));
            if let Some(Some(to)) = number_ui(ui, typed, part.name, now, width, part.allowed) {
                let mut changed = parts.clone();
                (part.set)(&mut changed, to);
                actions.push(Action::Edit(Edit::Parts(changed)));
            }
        });
    }
    // A wheel's wires at rest stand with the wheel; the contact that a circuit adds to every meter
    // reading stands here.
    if let Some(circuit) = &project.circuit {
        item(ui, "Slip ring and wire, added to the meter's readings", "", |ui, width| {
            let now = Some(circuit.contact_ohm);
            if let Some(Some(contact_ohm)) = number_ui(ui, typed, "Ohms in series", now, width, ANY_OHM) {
                let circuit = crate::circuit::Circuit { contact_ohm, ..circuit.clone() };
                actions.push(Action::Edit(Edit::Circuit(Some(circuit))));
            }
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_drawer_is_read_as_it_is_shown() {
        let ohms = drawer_of("470, 1k 4k7;22k").unwrap();
        assert_eq!(ohms, [470.0, 1_000.0, 4_700.0, 22_000.0]);
        assert_eq!(drawer_text(&ohms), "470, 1k, 4.7k, 22k");
        assert_eq!(drawer_of(&drawer_text(&ohms)), Some(ohms));
        assert_eq!(drawer_of(""), Some(Vec::new()));
        assert_eq!(drawer_of("470, x"), None);
        assert_eq!(drawer_of("0"), None);
    }
}
