//! Wiring: every pin with what goes there, the status light's blinks, and the cautions near power.

use std::sync::Arc;

use egui::epaint::StrokeKind;
use egui::{Align, Galley, Rect, Role, Sense, Ui, pos2, vec2};

use super::parts::heads;
use crate::view::theme::{self, Theme, control, size, space};
use crate::view::widgets::bracket::bracket_ui;
use crate::view::widgets::hatch::{self, Hatch};
use crate::view::widgets::{focus, text};
use crate::wire::{BLINKS, Blink, PINS, POWER_CAUTIONS, Pin};

/// No wider than a person's eye keeps its line.
const WIDEST: f32 = 760.0;
/// How much time a blink's strip shows, in milliseconds.
const SHOWN_MS: u32 = 4_000;

/// Draws the view.
pub(super) fn wiring_ui(ui: &mut Ui) {
    let width = ui.available_width().min(WIDEST);
    cautions_ui(ui, width);
    ui.add_space(space::BLOCK);
    bracket_ui(ui, "Pin by pin", "ATmega328P, 28 pins");
    pins_ui(ui, width);
    ui.add_space(space::REGION);
    bracket_ui(ui, "What its light says", "4 s of each");
    for blink in BLINKS {
        blink_ui(ui, width, &blink);
    }
}

/// What must be known near power: hatched at its edge, like every stop.
fn cautions_ui(ui: &mut Ui, width: f32) {
    let theme = Theme::of(ui.ctx());
    let p = ui.painter().clone();
    let room = width - 32.0 - 14.0;
    let rows: Vec<_> = POWER_CAUTIONS
        .iter()
        .map(|words| text::prose(&p, words, theme::regular(size::BODY), theme.ink, room, 5))
        .collect();
    let high = rows.iter().map(|row| row.size().y + 6.0).sum::<f32>() + 14.0;
    let (rect, _) = ui.allocate_exact_size(vec2(width, high), Sense::hover());
    let line = egui::Stroke::new(1.0, theme.alarm);
    p.rect(rect, control::RADIUS, theme.alarm_face, line, StrokeKind::Inside);
    let bar = Rect::from_min_size(rect.min + vec2(1.0, 1.0), vec2(14.0, rect.height() - 2.0));
    hatch::alarm(&p, &theme, bar, Hatch::STOP);
    let mut y = rect.top() + 10.0;
    for row in rows {
        let at = pos2(rect.left() + 32.0, y);
        y += row.size().y + 6.0;
        p.galley(at, row, theme.ink);
    }
    focus::tell(ui, rect, "power cautions", Role::Note, &POWER_CAUTIONS.join(" "));
}

fn pins_ui(ui: &mut Ui, width: f32) {
    let theme = Theme::of(ui.ctx());
    // Pin, what goes there, part; the wire takes the rest.
    let x = [0.0, 100.0, 100.0 + (width - 100.0) * 0.22, 100.0 + (width - 100.0) * 0.64];
    heads(
        ui,
        &[
            ("pin", x[0], Align::Min),
            ("what goes there", x[1], Align::Min),
            ("part", x[2], Align::Min),
            ("wire", x[3], Align::Min),
        ],
    );
    for pin in &PINS {
        let p = ui.painter().clone();
        let port = cell(&p, pin.port, theme::bold(size::BODY), theme.ink, x[1] - x[0]);
        let where_ = place_words(pin);
        let at = cell(&p, &where_, theme::regular(size::AXIS), theme.ink2, x[1] - x[0]);
        let role = cell(&p, pin.role, theme::bold(size::BODY), theme.ink, x[2] - x[1]);
        let optional = if pin.optional { "if there is one" } else { "" };
        let note = cell(&p, optional, theme::regular(size::AXIS), theme.ink2, x[2] - x[1]);
        let part = cell(&p, pin.part, theme::regular(size::BODY), theme.ink, x[3] - x[2]);
        let wire = cell(&p, pin.wire, theme::regular(size::BODY), theme.ink, width - x[3]);
        let note_high = if pin.optional { note.size().y } else { 0.0 };
        let high = [port.size().y + at.size().y, role.size().y + note_high, part.size().y, wire.size().y]
            .into_iter()
            .fold(0.0, f32::max);
        let (rect, _) = ui.allocate_exact_size(vec2(width, high + 14.0), Sense::hover());
        let top = rect.top() + 6.0;
        let below = |galley: &Arc<Galley>| top + galley.size().y;
        let (port_end, role_end) = (below(&port), below(&role));
        for (galley, left, top) in
            [(port, x[0], top), (at, x[0], port_end), (role, x[1], top), (part, x[2], top), (wire, x[3], top)]
        {
            p.galley(pos2(rect.left() + left, top), galley, theme.ink);
        }
        if pin.optional {
            p.galley(pos2(rect.left() + x[1], role_end), note, theme.ink2);
        }
        p.hline(rect.x_range(), rect.bottom() - 0.5, theme.hairline());
        let said = format!("{}, {where_}: {}. {}. {}", pin.port, pin.role, pin.part, pin.wire);
        focus::tell(ui, rect, pin.port, Role::Row, &said);
    }
}

fn place_words(pin: &Pin) -> String {
    let plural = if pin.number.contains(',') { "pins" } else { "pin" };
    if pin.printed == pin.port {
        format!("{plural} {}", pin.number)
    } else {
        format!("{plural} {}, {}", pin.number, pin.printed)
    }
}

fn cell(p: &egui::Painter, words: &str, font: egui::FontId, ink: egui::Color32, room: f32) -> Arc<Galley> {
    text::prose(p, words, font, ink, (room - 12.0).max(40.0), 8)
}

fn blink_ui(ui: &mut Ui, width: f32, blink: &Blink) {
    const STRIP: f32 = 176.0;
    let theme = Theme::of(ui.ctx());
    let p = ui.painter().clone();
    let x = STRIP + space::BLOCK;
    let room = width - x;
    let head = format!("{}: {}", blink.name, blink.pattern);
    let head_galley = text::prose(&p, &head, theme::bold(size::BODY), theme.ink, room, 2);
    let meaning = text::prose(&p, blink.meaning, theme::regular(size::BODY), theme.ink2, room, 4);
    let high = head_galley.size().y + meaning.size().y + 14.0;
    let (rect, _) = ui.allocate_exact_size(vec2(width, high), Sense::hover());
    let strip = Rect::from_min_size(
        pos2(rect.left(), rect.top() + 6.0 + head_galley.size().y / 2.0 - 7.0),
        vec2(STRIP, 14.0),
    );
    p.rect(strip, 0, theme.well, theme.outline(), StrokeKind::Inside);
    let inside = strip.shrink(1.0);
    let across = |ms: u32| inside.left() + inside.width() * ms.min(SHOWN_MS) as f32 / SHOWN_MS as f32;
    let (mut at, mut step) = (0_u32, 0_usize);
    while at < SHOWN_MS && !blink.steps_ms.is_empty() {
        let ms = u32::from(blink.steps_ms[step % blink.steps_ms.len()]);
        if step % 2 == 0 {
            let lit = Rect::from_x_y_ranges(across(at)..=across(at + ms), inside.y_range());
            p.rect_filled(lit, 0, theme.ink);
        }
        at += ms.max(1);
        step += 1;
    }
    let top = pos2(rect.left() + x, rect.top() + 6.0);
    let below = top + vec2(0.0, head_galley.size().y);
    p.galley(top, head_galley, theme.ink);
    p.galley(below, meaning, theme.ink2);
    p.hline(rect.x_range(), rect.bottom() - 0.5, theme.hairline());
    focus::tell(ui, rect, blink.name, Role::Row, &format!("{head}. {}", blink.meaning));
}
