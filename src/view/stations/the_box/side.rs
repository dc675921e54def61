//! The left column: who the box is, how it stands to the project, the one main action, and what
//! happened since power came.

use egui::{Rect, Sense, Ui, vec2};

use super::parts::{Mark, code_fact, fact, see};
use super::tally::{self, loop_text};
use super::words::{self, image_words, main_action, resets};
use crate::app::Action;
use crate::app::Model;
use crate::app::the_box::{BoxAction, Presence};
use crate::view::stations::codes::prose;
use crate::view::theme::{Theme, control, size, space};
use crate::view::widgets::bracket::bracket_ui;
use crate::view::widgets::button::Button;
use crate::wire::chip_name;

/// Draws the column; `with_main` where the main action isn't on the acting row.
pub(super) fn side_ui(ui: &mut Ui, model: &Model, with_main: bool, actions: &mut Vec<Action>) {
    identity_ui(ui, model);
    ui.add_space(space::BLOCK + 4.0);
    against_ui(ui, model);
    if with_main {
        ui.add_space(space::BLOCK);
        let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), control::ACTING), Sense::hover());
        main_ui(ui, model, rect, actions);
        ui.add_space(space::REGION);
    } else {
        ui.add_space(space::BLOCK);
    }
    since_ui(ui, model);
}

/// The one main action, at a place given to it.
pub(super) fn main_ui(ui: &mut Ui, model: &Model, rect: Rect, actions: &mut Vec<Action>) {
    let main = main_action(model);
    let on = main.does.is_some();
    let button = if on { Button::act(main.label) } else { Button::line(main.label) };
    let button = button.key(main.key).height(rect.height()).text_size(size::PROSE).enabled(on);
    let response = button.show_at(ui, rect);
    see(&response);
    if response.clicked() {
        actions.extend(main.does.map(Action::Box));
    }
}

fn identity_ui(ui: &mut Ui, model: &Model) {
    let state = &model.the_box;
    let theme = Theme::of(ui.ctx());
    let Presence::Found(identity) = &state.presence else {
        let (right, words) = match state.presence {
            Presence::NoProgram { .. } => ("no program", "It can't say who it is before it has its program."),
            Presence::Probe => ("a probe", "A probe only prints numbers."),
            _ => ("not connected", "Nothing is known of it yet."),
        };
        bracket_ui(ui, "The box", right);
        ui.add_space(space::TIGHT);
        prose(ui, words, size::BODY, theme.ink2);
        return;
    };
    bracket_ui(ui, "The box", "");
    ui.add_space(3.0);
    let (major, minor) = identity.firmware;
    fact(ui, "Firmware", &format!("{major}.{minor}"), Mark::None);
    fact(ui, "Chip", &chip_name(identity.signature), Mark::None);
    fact(ui, "Image", &image_words(identity), Mark::None);
    let written = match (&state.written_at, identity.slot) {
        (Some(at), Some(_)) => format!("{at}, read back"),
        (None, Some(_)) => "not by this window".to_owned(),
        (_, None) => "never".to_owned(),
    };
    fact(ui, "Written", &written, Mark::None);
    match identity.slot {
        Some(slot) => code_fact(ui, "Checksum", &format!("{:04X}", slot.check)),
        None => fact(ui, "Checksum", "none", Mark::None),
    };
}

fn against_ui(ui: &mut Ui, model: &Model) {
    let derived = &model.derived.the_box;
    let theme = Theme::of(ui.ctx());
    let rows = words::summary(&derived.rows);
    let right = match (derived.rows.is_empty(), derived.is_same()) {
        (true, _) => "",
        (false, true) => "the same",
        (false, false) => "differs",
    };
    bracket_ui(ui, "Box against project", right);
    if rows.is_empty() {
        ui.add_space(space::TIGHT);
        let words = match (&derived.built, derived.check) {
            (Some(Err(misfits)), _) if misfits.len() == 1 => {
                "One thing keeps the project out of a box.".to_owned()
            }
            (Some(Err(misfits)), _) => format!("{} things keep the project out of a box.", misfits.len()),
            (Some(Ok(_)), Some((check, long))) => {
                format!("The project is ready: {long} bytes, checksum {check:04X}.")
            }
            _ => "Nothing to compare yet.".to_owned(),
        };
        prose(ui, &words, size::BODY, theme.ink2);
        return;
    }
    ui.add_space(4.0);
    for row in rows {
        fact(ui, row.name, &row.figure, if row.same { Mark::Same } else { Mark::Differs });
    }
}

fn since_ui(ui: &mut Ui, model: &Model) {
    let state = &model.the_box;
    let theme = Theme::of(ui.ctx());
    let identity = match &state.presence {
        Presence::Found(identity) => Some(&**identity),
        _ => None,
    };
    let Some((counters, _)) = &state.counters else {
        bracket_ui(ui, "Since power-up", "");
        ui.add_space(space::TIGHT);
        prose(ui, "Counted by the box, and not read yet.", size::BODY, theme.ink2);
        return;
    };
    bracket_ui(ui, "Since power-up", &tally::running_for(counters.up_ms));
    ui.add_space(3.0);
    fact(ui, "Presses", &counters.presses.to_string(), Mark::None);
    fact(ui, "Rejected readings", &counters.rejected.to_string(), Mark::None);
    fact(ui, "Resets", &resets(counters, identity), Mark::None);
    fact(ui, "Link errors", &counters.link_errors.to_string(), Mark::None);
    fact(ui, "Longest loop", &loop_text(counters.longest_loop_us), Mark::None);
}

/// Whether the main action is there to be pressed.
pub(super) fn has_main(model: &Model) -> bool {
    main_action(model).does.is_some()
}

/// The main action by its key.
pub(super) fn main_key(ui: &Ui, model: &Model, actions: &mut Vec<Action>) {
    use crate::view::widgets::focus::key_pressed;
    use egui::{Key, Modifiers};
    let Some(does) = main_action(model).does else { return };
    let key = match does {
        BoxAction::Write => Key::W,
        BoxAction::Flash => Key::P,
        _ => return,
    };
    if key_pressed(ui, Modifiers::NONE, key) {
        actions.push(Action::Box(does));
    }
}
