//! What stands before every run: the caution, which is answered each time, and what keeps the box from
//! sending. Knows no code.

use egui::{Align, Rect, Role, Sense, Stroke, Ui, pos2, vec2};

use super::{act, see};
use crate::app::codes::sweep::{SweepAction, hindrance};
use crate::app::{Action, Model};
use crate::view::stations::codes::{parts, prose};
use crate::view::theme::{self, Theme, control, size, space, stroke};
use crate::view::widgets::button::Button;
use crate::view::widgets::hatch::{self, Hatch};
use crate::view::widgets::icons::{Icon, icon};
use crate::view::widgets::{focus, text};

const HEAD: &str = "Before each run";

/// What can go wrong, and what to do first (common practice, no source).
const CAUTIONS: [(&str, &str); 4] = [
    ("Parked, brake on, engine off.", "Never while driving."),
    (
        "An unknown code can do anything the stereo can.",
        "Change its settings, even its language; erase its presets. Write them down first, and every change \
         as you see it.",
    ),
    ("Turn the volume down.", "A code may turn it up."),
    ("Some stereos lock themselves.", "Have the code that unlocks it at hand, or don't sweep."),
];

/// The answer to it.
pub(super) const READY: &str = "Parked, and its settings are written down";

/// The caution, until it is answered.
pub(super) fn caution_ui(ui: &mut Ui) {
    let theme = Theme::of(ui.ctx());
    let left = ui.cursor().left();
    let width = ui.available_width();
    let room = width - 44.0 - 20.0;
    let ground = ui.painter().add(egui::Shape::Noop);
    let top = ui.cursor().top();
    let inner = Rect::from_min_size(pos2(left + 44.0, top + 16.0), vec2(room, 0.0));
    let shown = ui.scope_builder(egui::UiBuilder::new().max_rect(inner), |ui| {
        let head = text::prose(ui.painter(), HEAD, theme::bold(size::ARM), theme.ink, room, 1);
        parts::show(ui, head, "caution", Role::Heading, HEAD);
        ui.add_space(space::TIGHT);
        for (head, body) in CAUTIONS {
            let pieces = [
                (head, theme::bold(size::PROSE), theme.alarm_ink),
                (" ", theme::regular(size::PROSE), theme.ink),
                (body, theme::regular(size::PROSE), theme.ink),
            ];
            let galley = parts::runs(ui, room, &pieces);
            parts::show(ui, galley, head, Role::Label, &format!("{head} {body}"));
            ui.add_space(6.0);
        }
    });
    let rect = Rect::from_min_max(pos2(left, top), pos2(left + width, shown.response.rect.bottom() + 12.0));
    let p = ui.painter();
    let edge = Stroke::new(stroke::RULE, theme.alarm);
    p.set(ground, egui::Shape::rect_filled(rect, 0, theme.alarm_face));
    let stripe = Rect::from_min_max(rect.min, pos2(rect.left() + 16.0, rect.bottom()));
    hatch::alarm(p, &theme, stripe, Hatch::STOP_LARGE);
    p.vline(stripe.right().floor() + 0.5, rect.y_range(), edge);
    ui.advance_cursor_after_rect(rect);
    ui.add_space(space::BLOCK);
}

/// That it was answered for this run, and the way back.
pub(super) fn answered_ui(ui: &mut Ui, actions: &mut Vec<Action>) {
    let theme = Theme::of(ui.ctx());
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), control::TARGET), Sense::hover());
    let y = rect.center().y;
    icon(ui.painter(), Icon::Tick, pos2(rect.left() + 9.0, y), 0.9, theme.ink);
    let back = Button::quiet("Take back").name("Take the answer to the caution back").text_size(size::AXIS);
    let wide = back.wanted_width(ui.painter());
    let place = Rect::from_min_max(pos2(rect.right() - wide, rect.top()), rect.max);
    let (x, room) = (rect.left() + 28.0, place.left() - rect.left() - 36.0);
    let words = format!("{READY}.");
    text::cap_within(ui.painter(), x, y, Align::Min, room, &words, theme::regular(size::BODY), theme.ink2);
    focus::tell(ui, rect.with_max_x(place.left()), "caution answered", Role::Label, &words);
    let response = back.show_at(ui, place);
    see(&response);
    if response.clicked() {
        actions.push(act(SweepAction::Agree(false)));
    }
    ui.add_space(space::TIGHT);
}

/// What keeps the box from sending, and where that is put right.
pub(super) fn hindrance_ui(ui: &mut Ui, model: &Model, actions: &mut Vec<Action>) {
    let Some(hindrance) = hindrance(model) else { return };
    trouble_ui(ui, &hindrance.words());
    if let Some((label, action)) = hindrance.remedy() {
        ui.add_space(space::TIGHT);
        let response = ui.add(Button::line(label));
        see(&response);
        if response.clicked() {
            actions.push(action);
        }
    }
    ui.add_space(space::BLOCK);
}

/// What is wrong, with an octagon before it.
pub(super) fn trouble_ui(ui: &mut Ui, words: &str) {
    let theme = Theme::of(ui.ctx());
    let room = (ui.available_width() - 28.0).clamp(80.0, 640.0);
    let galley = text::prose(ui.painter(), words, theme::regular(size::PROSE), theme.alarm_ink, room, 8);
    let (rect, _) = ui.allocate_exact_size(vec2(room + 28.0, galley.size().y), Sense::hover());
    icon(ui.painter(), Icon::StopSign, rect.min + vec2(9.0, 11.0), 0.9, theme.alarm_ink);
    ui.painter().galley(rect.min + vec2(28.0, 0.0), galley, theme.alarm_ink);
    focus::tell_live(ui, rect, words, Role::Alert, words);
}

/// A plain sentence under what it is about.
pub(super) fn note_ui(ui: &mut Ui, words: &str) {
    let theme = Theme::of(ui.ctx());
    prose(ui, words, size::BODY, theme.ink2);
}
