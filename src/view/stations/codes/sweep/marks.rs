//! Where the stereo did something: each marked code with its name, or a field to name it in. Named, it is
//! a command.

use egui::{Align, Key, Modifiers, Rect, Role, Sense, Ui, pos2, vec2};

use super::caution::note_ui;
use super::{act, see};
use crate::app::codes::sweep::SweepAction;
use crate::app::edit::LONGEST_NAME;
use crate::app::{Action, Model};
use crate::project::{Sweep, SweepMark};
use crate::view::stations::codes::parts;
use crate::view::theme::{self, Theme, control, size, space};
use crate::view::widgets::bracket::bracket_ui;
use crate::view::widgets::button::Button;
use crate::view::widgets::field::Field;
use crate::view::widgets::focus::{self, key_pressed};
use crate::view::widgets::icons::{Icon, icon};
use crate::view::widgets::{keycap, text};

/// Height of a row.
const ROW: f32 = 46.0;

/// Draws the marks, the newest first.
pub(super) fn marks_ui(ui: &mut Ui, model: &Model, sweep: &Sweep, actions: &mut Vec<Action>) {
    let kept = sweep.marks.iter().filter(|mark| mark.command.is_some()).count();
    let words = match sweep.marks.len() {
        0 => String::new(),
        all => format!("{kept} of {all} kept as commands"),
    };
    bracket_ui(ui, "It did something at", &words);
    ui.add_space(space::TIGHT);
    if sweep.marks.is_empty() {
        note_ui(ui, "Nothing marked yet. Press M the moment the stereo does something.");
        return;
    }
    let first_open = sweep.marks.iter().rev().find(|mark| mark.command.is_none()).map(|mark| mark.at);
    for mark in sweep.marks.iter().rev() {
        let names_it = first_open == Some(mark.at);
        ui.push_id(mark.at, |ui| mark_ui(ui, model, sweep, mark, names_it, actions));
    }
}

fn mark_ui(
    ui: &mut Ui,
    model: &Model,
    sweep: &Sweep,
    mark: &SweepMark,
    names_it: bool,
    actions: &mut Vec<Action>,
) {
    let theme = Theme::of(ui.ctx());
    let Some(code) = sweep.range.code(u32::from(mark.at)) else { return };
    let bytes = parts::bytes(&code);
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), ROW), Sense::hover());
    let y = rect.center().y;
    let p = ui.painter().clone();
    p.hline(rect.x_range(), rect.bottom() - 0.5, theme.hairline());
    let wide = text::cap(&p, rect.left() + 4.0, y, Align::Min, &bytes, theme::mono(size::RAIL), theme.ink);
    let left = rect.left() + (wide + 20.0).max(96.0);
    let away = format!("Take away the mark at {bytes}");
    let button = Button::quiet("Take away").name(&away).text_size(size::AXIS);
    let gone_wide = button.wanted_width(&p);
    let gone = Rect::from_min_max(pos2(rect.right() - gone_wide, y - 17.0), pos2(rect.right(), y + 17.0));
    let response = button.show_at(ui, gone);
    see(&response);
    if response.clicked() {
        actions.push(act(SweepAction::Unmark(mark.at)));
    }
    let end = gone.left() - space::TIGHT;
    let command = mark.command.as_ref().and_then(|id| model.project()?.command(id));
    if let Some(command) = command {
        icon(&p, Icon::Tick, pos2(left + 9.0, y), 0.9, theme.ink);
        let (x, font) = (left + 28.0, theme::bold(size::PROSE));
        text::cap_within(&p, x, y, Align::Min, end - x, &command.name, font, theme.ink);
        let place = Rect::from_min_max(pos2(rect.left(), rect.top()), pos2(end, rect.bottom()));
        let said = format!("{bytes} is {}, kept as a command", command.name);
        focus::tell(ui, place, "kept", Role::Label, &said);
        return;
    }
    let keeps = format!("Keep {bytes} as a command");
    let long = rect.width() >= 480.0;
    let button = Button::line(if long { "Keep as command" } else { "Keep" }).name(&keeps);
    let keep_wide = button.wanted_width(&p);
    let keep = Rect::from_min_max(pos2(end - keep_wide, y - 18.0), pos2(end, y + 18.0));
    let place = Rect::from_min_max(
        pos2(left, y - control::USUAL / 2.0),
        pos2(keep.left() - space::TIGHT, y + control::USUAL / 2.0),
    );
    let mut name = model.codes.sweep.names.get(&mark.at).cloned().unwrap_or_default();
    let called = format!("Name of {bytes}");
    let field = Field::new(&mut name, &called).hint("What did it do?").limit(LONGEST_NAME).show_at(ui, place);
    see(&field);
    if names_it && name.is_empty() && !field.has_focus() {
        keycap::keycap(&p, place.right() - 10.0, y, Align::Max, "N", theme.ink2);
    }
    if names_it && key_pressed(ui, Modifiers::NONE, Key::N) {
        field.request_focus();
    }
    let some = !name.trim().is_empty();
    let entered = field.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
    if field.changed() {
        actions.push(act(SweepAction::Name(mark.at, name)));
    }
    let response = button.enabled(some).show_at(ui, keep);
    see(&response);
    if some && (response.clicked() || entered) {
        actions.push(act(SweepAction::Keep(mark.at)));
    }
}
