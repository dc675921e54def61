//! What the pair looked at reads, in large, and what holds for all of them.

use egui::{Align, Rect, Role, Ui, pos2, vec2};

use super::matrix::mode;
use super::{HEAD, heading};
use crate::app::Model;
use crate::bands::Rung;
use crate::project::banding::rung_name;
use crate::project::{Falls, Harm, Together, TwoButtons};
use crate::units::{number_of, ohm_text, volt_text};
use crate::view::theme::{self, Theme, control, size, space};
use crate::view::widgets::hatch::{self, Hatch};
use crate::view::widgets::icons::{Icon, icon};
use crate::view::widgets::plate::{half_width, plate, rest_tag};
use crate::view::widgets::{focus, text};

/// The two plates, and the one their reading falls on.
const PLATES: f32 = 44.0;
const RADIUS: f32 = 17.0;
/// What to do about a third button.
const ADVICE: &str = "The box can't know the two from that button. Give it a hold or a double tap, learn the two as a \
     button of its own, or choose another sense resistor.";

/// Draws it from the top of `place`, as high as it needs; gives what it took.
pub(super) fn sentence_ui(
    ui: &Ui,
    model: &Model,
    told: &Together,
    shown: Option<&TwoButtons>,
    place: Rect,
) -> Rect {
    let theme = Theme::of(ui.ctx());
    let p = ui.painter().clone();
    let head = Rect::from_min_size(place.min, vec2(place.width(), 20.0));
    let right = shown.map_or_else(String::new, |pair| {
        let from = if pair.learned { "as learned" } else { "by the meter" };
        format!("{} · {} · {from}", ohm_text(pair.ohm), volt_text(pair.volt))
    });
    let mut y = place.top() + HEAD;
    let wide = place.width();
    match shown {
        Some(pair) => {
            heading(ui, &theme, head, "Pressed together", &right);
            plates(ui, &theme, model, pair, pos2(place.left(), y + PLATES / 2.0));
            y += PLATES + space::TIGHT;
            let harm = pair.harm();
            let bad = matches!(harm, Harm::Mistaken | Harm::MayBeMistaken);
            let inset = if bad { 14.0 + space::ROW } else { 0.0 };
            let ink = if harm == Harm::Mistaken { theme.alarm_ink } else { theme.ink };
            let words = model.derived.circuit.pairs.sentence(pair);
            let font = if words.chars().count() > 110 { size::RAIL } else { size::ARM };
            let galley = text::prose(&p, words, theme::regular(font), ink, wide - inset, 12);
            let mut rect = Rect::from_min_size(pos2(place.left(), y), vec2(wide, galley.size().y));
            p.galley(pos2(place.left() + inset, y), galley, ink);
            focus::tell_live(ui, rect, "pair", Role::Status, words);
            if bad {
                let top = rect.bottom() + space::TIGHT;
                let galley = text::prose(&p, ADVICE, theme::regular(size::BODY), theme.ink2, wide - inset, 8);
                let advice = Rect::from_min_size(pos2(place.left() + inset, top), galley.size());
                p.galley(advice.min, galley, theme.ink2);
                focus::tell(ui, advice, "advice", Role::Label, ADVICE);
                rect = rect.union(advice);
                let bar = Rect::from_min_max(rect.min, pos2(rect.left() + 14.0, rect.bottom()));
                hatch::alarm(&p, &theme, bar, Hatch::STOP);
            }
            y = rect.bottom() + space::BLOCK;
        }
        None => heading(ui, &theme, head, "Pressed together", ""),
    }
    for note in notes(model, told) {
        let galley = text::prose(&p, &note, theme::regular(size::BODY), theme.ink2, wide, 6);
        let rect = Rect::from_min_size(pos2(place.left(), y), galley.size());
        p.galley(rect.min, galley, theme.ink2);
        focus::tell(ui, rect, &note, Role::Label, &note);
        y = rect.bottom() + space::TIGHT;
    }
    Rect::from_min_max(place.min, pos2(place.right(), y))
}

/// `A + B → C`.
fn plates(ui: &Ui, theme: &Theme, model: &Model, pair: &TwoButtons, from: egui::Pos2) {
    let p = ui.painter();
    let learned =
        |button: usize| model.derived.bands.band(Rung::Button(button)).is_some_and(|band| band.measured);
    let mut x = from.x;
    let put = |x: &mut f32, button: usize| {
        let half = half_width(theme.shape(button), RADIUS);
        plate(p, theme, button, pos2(*x + half, from.y), RADIUS, mode(learned(button)));
        *x += 2.0 * half + space::ROW;
    };
    put(&mut x, pair.buttons[0]);
    icon(p, Icon::Plus, pos2(x + 4.0, from.y), 0.8, theme.ink2);
    x += 8.0 + space::ROW;
    put(&mut x, pair.buttons[1]);
    icon(p, Icon::Arrow, pos2(x + 8.0, from.y), 1.0, theme.ink2);
    x += 16.0 + space::ROW;
    match pair.falls {
        Falls::One(button) | Falls::Third { button, .. } => put(&mut x, button),
        Falls::Rest => {
            rest_tag(p, theme, pos2(x + RADIUS * 0.7, from.y), RADIUS * 0.7);
            x += RADIUS * 1.4 + space::ROW;
        }
        Falls::Nobody => {
            let gap =
                Rect::from_center_size(pos2(x + RADIUS, from.y), vec2(2.0 * RADIUS, 2.0 * RADIUS - 8.0));
            hatch::reject(p, theme, gap);
            p.rect_stroke(gap, control::RADIUS, theme.outline(), egui::StrokeKind::Inside);
            x += 2.0 * RADIUS + space::ROW;
        }
    }
    let font = theme::bold(size::STATE);
    x += text::cap(p, x, from.y, Align::Min, &pair.count.to_string(), font, theme.ink) + space::TIGHT;
    text::cap(p, x, from.y, Align::Min, "counts", theme::regular(size::BODY), theme.ink2);
}

/// What holds for more than one pair.
fn notes(model: &Model, told: &Together) -> Vec<String> {
    let mut notes = Vec::new();
    if !told.apart.is_empty() {
        notes.push(format!(
            "{} on two wires: the first wire to leave rest owns the press, until both rest.",
            number_of(told.apart.len(), "pair")
        ));
    }
    if !told.left_out.is_empty()
        && let Some(project) = model.merged()
    {
        let names: Vec<_> =
            told.left_out.iter().map(|button| rung_name(project, Rung::Button(*button))).collect();
        notes.push(format!("Not told, for want of a reading: {}.", names.join(", ")));
    }
    notes
}
