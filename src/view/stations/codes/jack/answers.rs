//! What a step asks to be answered: contacts and choices as switches, readings in fields with their
//! units.

use egui::{Role, Sense, Ui};

use super::number::{Answer, Quantity, number_ui};
use super::step::meanings;
use super::{Check, Draft, words};
use crate::app::{Action, Edit};
use crate::circuit::{Jack, JackContact, JackStep, JackWants};
use crate::view::stations::codes::form::{fault_ui, labelled};
use crate::view::theme::{self, Theme, size, space};
use crate::view::widgets::check::check as check_box;
use crate::view::widgets::segments::Segments;
use crate::view::widgets::{focus, text};

/// Width of a reading's field.
const FIELD: f32 = 128.0;
/// No part of a switch is chosen.
const NONE: usize = 99;

/// Draws the answers of the open step. True if Enter in a field says to go on.
pub(super) fn answers_ui(
    ui: &mut Ui,
    check: &Check<'_>,
    draft: &mut Draft,
    actions: &mut Vec<Action>,
) -> bool {
    let mut jack = check.jack.clone();
    let take_focus = std::mem::take(&mut draft.focus);
    let go_on = match check.open {
        JackStep::Cautions => {
            meanings(ui, &words::CAUTIONS, "caution ");
            false
        }
        JackStep::Contact => contact_ui(ui, &mut jack, take_focus),
        JackStep::Idle => idle_ui(ui, &mut jack, draft, take_focus),
        JackStep::Load => load_ui(ui, &mut jack, draft, take_focus),
        JackStep::Wants => wants_ui(ui, &mut jack, take_focus),
    };
    if jack != *check.jack {
        actions.push(Action::Edit(Edit::Jack(jack)));
    }
    go_on
}

fn contact_ui(ui: &mut Ui, jack: &mut Jack, take_focus: bool) -> bool {
    let at = jack.contact.and_then(|contact| JackContact::ALL.iter().position(|there| *there == contact));
    let items = ["Tip", "Ring", "Second ring", "A wire"];
    if let Some(chosen) = switch_ui(ui, "Signal on", &items, at, take_focus) {
        jack.contact = JackContact::ALL.get(chosen).copied();
    }
    ui.add_space(4.0);
    let at = jack.grounded.map(|is| usize::from(!is));
    let name = if jack.contact == Some(JackContact::Wire) { "Ground wire" } else { "Sleeve" };
    let items = ["Joined with ground", "Not joined"];
    if let Some(chosen) = switch_ui(ui, name, &items, at, false) {
        jack.grounded = Some(chosen == 0);
    }
    ui.add_space(space::ROW);
    false
}

fn idle_ui(ui: &mut Ui, jack: &mut Jack, draft: &mut Draft, take_focus: bool) -> bool {
    let quantity = Quantity::volts("Volts at idle");
    let answer = labelled(ui, "Idle", |ui| number_ui(ui, &mut draft.idle, &quantity, jack.idle_v, FIELD));
    let go_on = taken(ui, &answer, &mut jack.idle_v, take_focus);
    let label = "They move by themselves";
    if labelled(ui, "", |ui| check_box(ui, jack.idle_moves, label)).clicked() {
        jack.idle_moves = !jack.idle_moves;
    }
    ui.add_space(space::TIGHT);
    go_on
}

fn load_ui(ui: &mut Ui, jack: &mut Jack, draft: &mut Draft, take_focus: bool) -> bool {
    let quantity = Quantity::milliamperes("Current through 1 kΩ");
    let answer =
        labelled(ui, "Current", |ui| number_ui(ui, &mut draft.load, &quantity, jack.loaded_a, FIELD));
    let mut go_on = taken(ui, &answer, &mut jack.loaded_a, take_focus);
    ui.add_space(6.0);
    let quantity = Quantity::volts("Volts across 1 kΩ");
    let answer = labelled(ui, "or volts across", |ui| {
        number_ui(ui, &mut draft.load_volts, &quantity, jack.loaded_v, FIELD)
    });
    go_on |= taken(ui, &answer, &mut jack.loaded_v, false);
    ui.add_space(space::TIGHT);
    if let Some(formula) = words::formula(jack) {
        let theme = Theme::of(ui.ctx());
        let font = theme::bold(size::PROSE);
        let galley = text::prose(ui.painter(), &formula, font, theme.ink, ui.available_width(), 3);
        let (rect, _) = ui.allocate_exact_size(galley.size(), Sense::hover());
        ui.painter().galley(rect.min, galley, theme.ink);
        focus::tell_live(ui, rect, "formula", Role::Status, &formula);
        ui.add_space(space::TIGHT);
    }
    go_on
}

fn wants_ui(ui: &mut Ui, jack: &mut Jack, take_focus: bool) -> bool {
    let at = match jack.wants {
        Some(JackWants::Pulses) => 0,
        Some(JackWants::Resistances) => 1,
        None => 2,
    };
    let items = ["Pulses", "Resistances", "Don't know"];
    if let Some(chosen) = switch_ui(ui, "It wants", &items, Some(at), take_focus) {
        jack.wants = match chosen {
            0 => Some(JackWants::Pulses),
            1 => Some(JackWants::Resistances),
            _ => None,
        };
    }
    ui.add_space(space::ROW);
    false
}

/// Takes over what a field gave, and tells what is wrong under it. True if Enter says to go on.
fn taken(ui: &mut Ui, answer: &Answer, value: &mut Option<f64>, take_focus: bool) -> bool {
    if take_focus {
        answer.response.request_focus();
    }
    if let Some(changed) = answer.changed {
        *value = changed;
    }
    if let Some(fault) = answer.fault {
        ui.add_space(2.0);
        fault_ui(ui, fault);
    }
    answer.entered
}

/// A switch with its label; gives what was chosen.
fn switch_ui(
    ui: &mut Ui,
    name: &str,
    items: &[&str],
    selected: Option<usize>,
    take_focus: bool,
) -> Option<usize> {
    labelled(ui, name, |ui| {
        let switch = Segments::new(name, items, selected.unwrap_or(NONE));
        if take_focus {
            let fits = switch.wanted_width(ui.painter()) <= ui.available_width();
            let part = ("segment", name, selected.unwrap_or(0));
            let id = if fits { ui.make_persistent_id(part) } else { ui.make_persistent_id(("drop", name)) };
            ui.memory_mut(|memory| memory.request_focus(id));
        }
        switch.show(ui)
    })
}
