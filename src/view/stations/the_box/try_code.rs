//! Trying a code: a command of the stereo, sent by the box as a tap or as a held button.

use egui::{Align, Key, Modifiers, Rect, Role, Sense, Ui, pos2, vec2};

use super::decisions::named;
use super::parts::see;
use super::tally::counted;
use crate::app::the_box::BoxAction;
use crate::app::{Action, Model, Station};
use crate::view::stations::codes::{prose, short};
use crate::view::theme::{self, Theme, control, size, space};
use crate::view::widgets::bracket::bracket_ui;
use crate::view::widgets::button::Button;
use crate::view::widgets::drop::Drop;
use crate::view::widgets::focus::{self, key_pressed};
use crate::view::widgets::text;

/// How long Try holds the button, in milliseconds: one frame of every family, and no repeat of most.
const TAP_MS: u16 = 100;
/// How long Hold holds it.
const HOLD_MS: u16 = 1_000;

/// Draws the region.
pub(super) fn try_ui(ui: &mut Ui, model: &Model, actions: &mut Vec<Action>) {
    let Some(project) = model.project() else { return };
    let theme = Theme::of(ui.ctx());
    let commands = &project.stereo.commands;
    bracket_ui(ui, "Try a code", "");
    ui.add_space(6.0);
    if commands.is_empty() {
        prose(ui, "No commands yet. Type one in first.", size::BODY, theme.ink2);
        ui.add_space(space::TIGHT);
        if ui.add(Button::line("Go to Codes")).clicked() {
            actions.push(Action::Go(Station::Codes));
        }
        return;
    }
    if let Some(known) = model.derived.jack.before_try() {
        prose(ui, &known, size::BODY, theme.ink);
        prose(ui, "The check of the input is at Codes, Jack.", size::BODY, theme.ink2);
        ui.add_space(space::TIGHT);
    }
    let names: Vec<&str> = commands.iter().map(|command| command.name.as_str()).collect();
    let codes: Vec<String> = commands.iter().map(|command| short(&command.code)).collect();
    let codes: Vec<&str> = codes.iter().map(String::as_str).collect();
    let chosen = model
        .the_box
        .try_command
        .as_ref()
        .and_then(|id| commands.iter().position(|command| command.id == *id));
    let width = ui.available_width().min(320.0);
    let drop = Drop::new("Command to try", &names, chosen)
        .subs(&codes)
        .empty("Choose a command")
        .width(width)
        .height(control::DROP);
    let answer = drop.show(ui);
    see(&answer.response);
    if let Some(command) = answer.chosen.and_then(|at| commands.get(at)) {
        actions.push(Action::Box(BoxAction::ChooseTry(command.id.clone())));
    }
    ui.add_space(space::TIGHT);
    let command = chosen.and_then(|at| commands.get(at));
    let name = command.map_or("", |command| command.name.as_str());
    let (line, _) = ui.allocate_exact_size(vec2(width, control::TRY), Sense::hover());
    let said = [format!("Try {name}"), format!("Hold {name} for 1 s")];
    let buttons = [
        Button::line("Try").name(&said[0]).key("T").height(control::TRY).enabled(command.is_some()),
        Button::line("Hold 1 s")
            .name(&said[1])
            .height(control::TRY)
            .text_size(size::BODY)
            .enabled(command.is_some()),
        Button::line("Stop").name("Stop sending").height(control::TRY).text_size(size::BODY),
    ];
    let part = (line.width() - 2.0 * space::TIGHT) / 3.0;
    let mut clicked = [false; 3];
    for (at, (button, clicked)) in buttons.into_iter().zip(&mut clicked).enumerate() {
        let left = line.left() + at as f32 * (part + space::TIGHT);
        let place = Rect::from_min_size(pos2(left, line.top()), vec2(part, line.height()));
        let response = button.show_at(ui, place);
        see(&response);
        *clicked = response.clicked();
    }
    let [tap, hold, stop] = clicked;
    if tap || (command.is_some() && key_pressed(ui, Modifiers::NONE, Key::T)) {
        actions.push(Action::Box(BoxAction::Try { held_ms: TAP_MS }));
    }
    if hold {
        actions.push(Action::Box(BoxAction::Try { held_ms: HOLD_MS }));
    }
    if stop {
        actions.push(Action::Box(BoxAction::StopTry));
    }
    ui.add_space(4.0);
    let (rect, _) = ui.allocate_exact_size(vec2(width, 22.0), Sense::hover());
    let words = match &model.the_box.sent {
        Some((id, frames)) => {
            format!("Sent {}, {}", named(project, id), counted(u64::from(*frames), "frame"))
        }
        None => "Nothing sent yet".to_owned(),
    };
    let font = theme::regular(size::BODY);
    text::cap_within(ui.painter(), rect.left(), rect.center().y, Align::Min, width, &words, font, theme.ink2);
    focus::tell_live(ui, rect, "sent", Role::Status, &words);
}
