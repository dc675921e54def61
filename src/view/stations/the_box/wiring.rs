//! Wiring: every pin with what goes there, and at the remote line what the meter found of the stereo's
//! input; the status light's blinks, and the cautions near power.

use std::sync::Arc;

use egui::epaint::StrokeKind;
use egui::{Align, Galley, Rect, Role, Sense, Ui, pos2, vec2};

use super::parts::heads;
use crate::app::Model;
use crate::circuit::{Jack, JackContact, JackReport, JackVerdict};
use crate::units::{ohm_text, volt_text};
use crate::view::theme::{self, Theme, control, size, space};
use crate::view::widgets::bracket::bracket_ui;
use crate::view::widgets::hatch::{self, Hatch};
use crate::view::widgets::{focus, text};
use crate::wire::{BLINKS, Blink, PINS, POWER_CAUTIONS, Pin, REMOTE_LINE, STEP_MS};

/// No wider than a person's eye keeps its line.
const WIDEST: f32 = 760.0;
/// How wide the pins' column is, and below which width the others stand under one another.
const PIN: f32 = 100.0;
const STACKED: f32 = 600.0;
/// How much time a blink's strip shows, in milliseconds.
const SHOWN_MS: u32 = 32 * STEP_MS;

/// Draws the view.
pub(super) fn wiring_ui(ui: &mut Ui, model: &Model) {
    let width = ui.available_width().min(WIDEST);
    cautions_ui(ui, width);
    ui.add_space(space::BLOCK);
    bracket_ui(ui, "Pin by pin", "ATmega328P, 28 pins");
    let jack = model.project().map(|project| jack_words(&project.stereo.jack, &model.derived.jack));
    pins_ui(ui, width, jack.as_deref().unwrap_or_default());
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

/// What is known of the stereo's input, under what goes to it.
fn jack_words(jack: &Jack, report: &JackReport) -> String {
    let contact = jack.contact.map_or("contact", JackContact::name);
    match report.verdict {
        JackVerdict::PulseInput { pull_up_ohm, idle_v, .. } => {
            format!("By the meter: the {contact}, {} to {}.", ohm_text(pull_up_ohm), volt_text(idle_v))
        }
        JackVerdict::ResistanceInput { .. } => "It takes resistances: don't join this line to it.".to_owned(),
        JackVerdict::Unknown { .. } if jack.is_begun() => {
            "Not known yet what it is: finish the check at Codes, Jack.".to_owned()
        }
        JackVerdict::Unknown { .. } => "Not looked at with a meter yet: Codes, Jack.".to_owned(),
    }
}

fn pins_ui(ui: &mut Ui, width: f32, jack: &str) {
    if width < STACKED {
        heads(ui, &[("pin", 0.0, Align::Min), ("what goes there", PIN, Align::Min)]);
    } else {
        let x = across(width);
        heads(
            ui,
            &[
                ("pin", x[0], Align::Min),
                ("what goes there", x[1], Align::Min),
                ("part", x[2], Align::Min),
                ("wire", x[3], Align::Min),
            ],
        );
    }
    for pin in &PINS {
        pin_ui(ui, width, pin, if pin.role == REMOTE_LINE.role { jack } else { "" });
    }
}

/// Where the columns begin: pin, what goes there, part, wire.
fn across(width: f32) -> [f32; 4] {
    let room = width - PIN;
    [0.0, PIN, PIN + room * 0.22, PIN + room * 0.64]
}

/// A pin; `more` is what is known of where its wire leads.
fn pin_ui(ui: &mut Ui, width: f32, pin: &Pin, more: &str) {
    let theme = Theme::of(ui.ctx());
    let p = ui.painter().clone();
    let place = place_words(pin);
    let (bold, body, small) =
        (theme::bold(size::BODY), theme::regular(size::BODY), theme::regular(size::AXIS));
    let optional = if pin.optional { "if there is one" } else { "" };
    // Each column holds what stands under one another; a narrow window has two.
    let first = [(pin.port, bold.clone(), theme.ink), (&*place, small.clone(), theme.ink2)];
    let known = (more, bold.clone(), theme.ink);
    let role = [(pin.role, bold, theme.ink), (optional, small, theme.ink2)];
    let part = (pin.part, body.clone(), theme.ink);
    let wire = (pin.wire, body.clone(), theme.ink2);
    let columns: Vec<(f32, f32, Vec<_>)> = if width < STACKED {
        let rest = role.into_iter().chain([part, wire, known]).collect();
        vec![(0.0, PIN, first.to_vec()), (PIN, width - PIN, rest)]
    } else {
        let x = across(width);
        let wire = (pin.wire, body, theme.ink);
        vec![
            (x[0], x[1] - x[0], first.to_vec()),
            (x[1], x[2] - x[1], role.to_vec()),
            (x[2], x[3] - x[2], vec![part]),
            (x[3], width - x[3], vec![wire, known]),
        ]
    };
    let laid: Vec<(f32, Vec<_>)> = columns
        .into_iter()
        .map(|(x, room, cells)| {
            let cells = cells.into_iter().filter(|(words, ..)| !words.is_empty());
            (x, cells.map(|(words, font, ink)| (cell(&p, words, font, ink, room), ink)).collect())
        })
        .collect();
    let deep = |cells: &Vec<(Arc<Galley>, _)>| cells.iter().map(|(cell, _)| cell.size().y).sum::<f32>();
    let high = laid.iter().map(|(_, cells)| deep(cells)).fold(0.0, f32::max);
    let (rect, _) = ui.allocate_exact_size(vec2(width, high + 14.0), Sense::hover());
    for (x, cells) in laid {
        let mut at = pos2(rect.left() + x, rect.top() + 6.0);
        for (galley, ink) in cells {
            let high = galley.size().y;
            p.galley(at, galley, ink);
            at.y += high;
        }
    }
    p.hline(rect.x_range(), rect.bottom() - 0.5, theme.hairline());
    let said = format!("{}, {place}: {}. {}. {}. {more}", pin.port, pin.role, pin.part, pin.wire);
    focus::tell(ui, rect, pin.port, Role::Row, said.trim_end_matches(". "));
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
    let strip_wide = if width < STACKED { 96.0 } else { 176.0 };
    let theme = Theme::of(ui.ctx());
    let p = ui.painter().clone();
    let x = strip_wide + space::BLOCK;
    let room = width - x;
    let head = format!("{}: {}", blink.name, blink.pattern);
    let head_galley = text::prose(&p, &head, theme::bold(size::BODY), theme.ink, room, 2);
    let meaning = text::prose(&p, blink.meaning, theme::regular(size::BODY), theme.ink2, room, 4);
    let high = head_galley.size().y + meaning.size().y + 14.0;
    let (rect, _) = ui.allocate_exact_size(vec2(width, high), Sense::hover());
    let strip = Rect::from_min_size(
        pos2(rect.left(), rect.top() + 6.0 + head_galley.size().y / 2.0 - 7.0),
        vec2(strip_wide, 14.0),
    );
    p.rect(strip, 0, theme.well, theme.outline(), StrokeKind::Inside);
    let inside = strip.shrink(1.0);
    let across = |ms: u32| inside.left() + inside.width() * ms.min(SHOWN_MS) as f32 / SHOWN_MS as f32;
    for at in (0..SHOWN_MS).step_by(STEP_MS as usize).filter(|at| blink.is_lit(*at)) {
        p.rect_filled(
            Rect::from_x_y_ranges(across(at)..=across(at + STEP_MS), inside.y_range()),
            0,
            theme.ink,
        );
    }
    let top = pos2(rect.left() + x, rect.top() + 6.0);
    let below = top + vec2(0.0, head_galley.size().y);
    p.galley(top, head_galley, theme.ink);
    p.galley(below, meaning, theme.ink2);
    p.hline(rect.x_range(), rect.bottom() - 0.5, theme.hairline());
    focus::tell(ui, rect, blink.name, Role::Row, &format!("{head}. {}", blink.meaning));
}
