//! The stereo's commands: each where its wires arrive, with what sends it.

use egui::{Align, Rangef, Rect, Role, Stroke, Ui, pos2};

use super::plan::Place;
use super::{Table, gesture_name};
use crate::project::Gesture;
use crate::view::stations::codes::short;
use crate::view::theme::{self, Theme, control, letter, size, stroke};
use crate::view::widgets::icons::{Icon, icon};
use crate::view::widgets::{focus, text};

/// Half the height of the ground under a live command.
const HALF: f32 = 26.0;

/// Draws the commands, where there is room for them.
pub(super) fn commands_ui(ui: &Ui, table: &Table<'_>) {
    let Some((_, across)) = table.columns.loom else { return };
    for place in &table.plan.places {
        let Some(command) = table.project.stereo.commands.get(place.command) else { continue };
        let y = table.top + place.y;
        let rect = Rect::from_x_y_ranges(across, Rangef::new(y - 23.0, y + 23.0));
        if !ui.is_rect_visible(rect) {
            continue;
        }
        let live = place.senders.iter().any(|(button, _)| table.live == Some(*button));
        let code = short(&command.code);
        paint(ui, across, y, place, (&command.name, &code), live);
        let said = format!("{}, {code}, {}", command.name, sent_by(place));
        let told = focus::tell(ui, rect, &command.id.0, Role::Label, &said);
        told.on_hover_text(sent_by(place));
    }
}

/// What sends it, in words.
pub(super) fn sent_by(place: &Place) -> String {
    let gestures = |gestures: &[Gesture]| {
        gestures.iter().map(|gesture| gesture_name(*gesture)).collect::<Vec<_>>().join(", ")
    };
    match place.senders.as_slice() {
        [] => "no button sends this".to_owned(),
        several => several
            .iter()
            .map(|(button, with)| format!("{} {}", letter(*button), gestures(with)))
            .collect::<Vec<_>>()
            .join(" and "),
    }
}

fn paint(ui: &Ui, across: Rangef, y: f32, place: &Place, (name, code): (&str, &str), live: bool) {
    let theme = Theme::of(ui.ctx());
    let p = ui.painter();
    let x = across.min;
    let sent = !place.senders.is_empty();
    if live {
        let ground = Rect::from_min_max(pos2(x + 14.0, y - HALF), pos2(across.max, y + HALF));
        p.rect_filled(ground, control::RADIUS, theme.raise);
    }
    let ring = Stroke::new(stroke::NODE, if sent { theme.ink } else { theme.edge });
    let dot = pos2(x + 4.0, y);
    p.circle(dot, 7.0, if live { theme.ink } else { theme.face }, ring);
    if !sent {
        p.circle_filled(dot, 2.0, theme.edge);
    }
    let ink = if sent { theme.ink } else { theme.ink2 };
    let font = theme::mono(size::RAIL);
    let code = text::cap(p, across.max - 10.0, y - 9.0, Align::Max, code, font, theme.ink2);
    let left = x + 26.0;
    let room = across.max - 20.0 - code - left;
    text::cap_within(p, left, y - 9.0, Align::Min, room, name, theme::bold(size::PROSE), ink);
    let mut at = left;
    let doubled = place.is_doubled();
    if doubled {
        icon(p, Icon::Caution, pos2(at + 7.0, y + 12.0), 0.8, theme.ink);
        at += 22.0;
    }
    let (font, ink) = match (sent, doubled) {
        (false, _) => (theme::regular(size::AXIS), theme.ink3),
        (true, true) => (theme::bold(size::AXIS), theme.ink),
        (true, false) => (theme::regular(size::AXIS), theme.ink2),
    };
    text::cap_within(p, at, y + 12.0, Align::Min, across.max - 10.0 - at, &sent_by(place), font, ink);
}
