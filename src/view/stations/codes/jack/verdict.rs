//! What the readings come to: the verdict with its numbers and what to do next, and what is odd.

use egui::epaint::StrokeKind;
use egui::{Align, Color32, Painter, Rect, Role, Sense, Stroke, Ui, WidgetInfo, pos2, vec2};

use super::Check;
use super::step::odd_ui;
use crate::app::codes::CodesView;
use crate::app::{Action, CodesAction};
use crate::circuit::{JackMissing, JackVerdict};
use crate::units::{ohm_text, volt_text};
use crate::view::stations::the_box::see;
use crate::view::theme::{self, Theme, ThemeKind, control, size, space, stroke};
use crate::view::widgets::hatch::{self, Hatch};
use crate::view::widgets::icons::{Icon, icon};
use crate::view::widgets::{focus, text};

/// Between the block's edge and its words.
const PAD: f32 = 18.0;
/// Height of a figure's row, and of the foot that leads on.
const FIGURE: f32 = 32.0;
const FOOT: f32 = 44.0;
/// No wider, however large the window.
const WIDEST: f32 = 480.0;

/// How a verdict looks.
struct Look {
    fill: Color32,
    line: Stroke,
    ink: Color32,
    ink2: Color32,
    /// Hatched at its left edge.
    stop: bool,
    /// Not known yet.
    dashed: bool,
}

impl Look {
    fn of(theme: &Theme, verdict: &JackVerdict, odd: bool) -> Self {
        let plain = Self {
            fill: theme.face,
            line: Stroke::NONE,
            ink: theme.ink,
            ink2: theme.ink2,
            stop: false,
            dashed: false,
        };
        match verdict {
            JackVerdict::PulseInput { .. } if odd => {
                Self { fill: theme.raise, line: Stroke::new(stroke::RULE, theme.edge), ..plain }
            }
            // Nothing large is bright at night.
            JackVerdict::PulseInput { .. } if theme.kind == ThemeKind::Night => {
                Self { line: Stroke::new(3.0, theme.ink), ..plain }
            }
            JackVerdict::PulseInput { .. } => {
                Self { fill: theme.act, ink: theme.on_act, ink2: theme.on_act2, ..plain }
            }
            JackVerdict::ResistanceInput { .. } => {
                let line = Stroke::new(stroke::RULE, theme.alarm);
                Self { fill: theme.alarm_face, line, ink2: theme.ink, stop: true, ..plain }
            }
            JackVerdict::Unknown { .. } => Self { dashed: true, ..plain },
        }
    }
}

/// What a verdict says.
struct Words {
    head: &'static str,
    figures: Vec<(&'static str, String, &'static str)>,
    body: String,
    /// What is missing, one a line.
    list: Vec<&'static str>,
    next: Option<&'static str>,
}

fn words(verdict: &JackVerdict, odd: bool) -> Words {
    match verdict {
        JackVerdict::PulseInput { pull_up_ohm, idle_v, low_v } => Words {
            head: if odd { "Pulses, but look below." } else { "It takes pulses." },
            figures: vec![
                ("idle", volt_text(*idle_v), ""),
                ("pull-up", ohm_text(*pull_up_ohm), ""),
                (
                    "low",
                    low_v.map_or_else(|| "not sure".to_owned(), volt_text),
                    if low_v.is_some() { "at most" } else { "" },
                ),
            ],
            body: String::new(),
            list: Vec::new(),
            next: Some("Next, Listen: hear the remote"),
        },
        JackVerdict::ResistanceInput { idle_v, pull_up_ohm } => Words {
            head: "It takes resistances.",
            figures: [("idle", idle_v.map(volt_text)), ("behind", pull_up_ohm.map(ohm_text))]
                .into_iter()
                .filter_map(|(name, value)| Some((name, value?, "")))
                .collect(),
            body:
                "This box sends pulses: no button would do anything. Such an input wants a resistor of its \
                   own to ground for each button, switched by a transistor each, all off while no button is \
                   pressed, with the stereo's ground in common."
                    .to_owned(),
            list: Vec::new(),
            next: None,
        },
        JackVerdict::Unknown { missing } => Words {
            head: "Not known yet.",
            figures: Vec::new(),
            body: "Still to find:".to_owned(),
            list: missing.iter().map(|missing| JackMissing::words(*missing)).collect(),
            next: None,
        },
    }
}

/// Draws verdict and warnings.
pub(super) fn verdict_ui(ui: &mut Ui, check: &Check<'_>, actions: &mut Vec<Action>) {
    let theme = Theme::of(ui.ctx());
    let verdict = &check.report.verdict;
    let odd = !check.report.warnings.is_empty();
    let (look, words) = (Look::of(&theme, verdict, odd), words(verdict, odd));
    let wide = ui.available_width().min(WIDEST);
    let left = PAD + if look.stop { 14.0 } else { 0.0 };
    let room = wide - left - PAD;
    let p = ui.painter().clone();
    let body = text::prose(&p, &words.body, theme::regular(size::BODY), look.ink2, room, 8);
    let body_high = if words.body.is_empty() { 0.0 } else { body.size().y + space::TIGHT };
    let list: Vec<_> = words
        .list
        .iter()
        .map(|what| text::prose(&p, what, theme::regular(size::BODY), look.ink, room - 18.0, 2))
        .collect();
    let list_high: f32 = list.iter().map(|row| row.size().y + 2.0).sum();
    let figures_high = FIGURE * words.figures.len() as f32;
    let foot = if words.next.is_some() { FOOT + space::TIGHT } else { space::TIGHT };
    let figures_high =
        if body_high > 0.0 && figures_high > 0.0 { figures_high + space::TIGHT } else { figures_high };
    let high = 52.0 + figures_high + body_high + list_high + foot;
    let (rect, _) = ui.allocate_exact_size(vec2(wide, high), Sense::hover());
    ground(&p, &theme, rect, &look);

    let x = rect.left() + left;
    let mut y = rect.top() + 28.0;
    let head_font = theme::bold(size::HEAD);
    text::cap_within(&p, x, y, Align::Min, room, words.head, head_font, look.ink);
    y += 24.0;
    for (name, value, more) in &words.figures {
        let middle = y + FIGURE / 2.0;
        text::cap(&p, x, middle, Align::Min, name, theme::regular(size::BODY), look.ink2);
        let at = x + 72.0;
        let value_wide = text::cap(&p, at, middle, Align::Min, value, theme::bold(size::ARM), look.ink);
        let beside = at + value_wide + 10.0;
        text::cap(&p, beside, middle, Align::Min, more, theme::regular(size::BODY), look.ink2);
        y += FIGURE;
    }
    if body_high > 0.0 {
        y += if words.figures.is_empty() { 0.0 } else { space::TIGHT };
        p.galley(pos2(x, y), body, look.ink2);
        y += body_high;
    }
    for row in list {
        p.circle_stroke(pos2(x + 5.0, y + 10.0), 4.0, Stroke::new(stroke::BAND, theme.edge));
        let row_high = row.size().y + 2.0;
        p.galley(pos2(x + 18.0, y), row, look.ink);
        y += row_high;
    }
    focus::tell_live(ui, rect, "verdict", Role::Status, &said(&words));
    if let Some(next) = words.next {
        let place = Rect::from_min_max(pos2(rect.left(), rect.bottom() - FOOT), rect.max);
        if next_ui(ui, &theme, &look, place, next) {
            actions.push(Action::Codes(CodesAction::View(CodesView::Listen)));
        }
    }
    ui.add_space(space::TIGHT);
    for warning in &check.report.warnings {
        odd_ui(ui, &warning.what(), warning.advice());
    }
}

fn ground(p: &Painter, theme: &Theme, rect: Rect, look: &Look) {
    p.rect(rect, control::RADIUS, look.fill, look.line, StrokeKind::Inside);
    if look.dashed {
        hatch::dashed_rect(p, rect, Stroke::new(stroke::RULE, theme.edge), 6.0, 5.0);
    }
    if look.stop {
        let bar = Rect::from_min_size(rect.min + vec2(1.0, 1.0), vec2(14.0, rect.height() - 2.0));
        hatch::alarm(p, theme, bar, Hatch::STOP);
    }
}

/// The verdict in one sentence or two.
fn said(words: &Words) -> String {
    let figures: Vec<String> = words
        .figures
        .iter()
        .map(|(name, value, more)| format!("{name} {value} {more}").trim().to_owned())
        .collect();
    let parts = [words.head.to_owned(), figures.join(", "), words.body.clone(), words.list.join("; ")];
    parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" ")
}

/// What leads on, at the block's foot. True if it was clicked.
fn next_ui(ui: &Ui, theme: &Theme, look: &Look, place: Rect, label: &str) -> bool {
    let response = ui.interact(place, ui.make_persistent_id("to listen"), Sense::click());
    response.widget_info(|| WidgetInfo::labeled(Role::Button, true, label));
    see(&response);
    let p = ui.painter();
    let (left, right) = (place.left() + PAD, place.right() - PAD);
    p.hline(left..=right, place.top() + 0.5, Stroke::new(stroke::RULE, look.ink2));
    let y = place.center().y;
    text::cap_within(p, left, y, Align::Min, right - left - 24.0, label, theme::bold(size::BODY), look.ink);
    icon(p, Icon::Arrow, pos2(right - 8.0, y), 0.9, look.ink);
    if response.hovered() {
        let line = Stroke::new(stroke::RULE, look.ink);
        p.rect_stroke(place.shrink(3.0), 1, line, StrokeKind::Inside);
    }
    focus::ring(p, theme, &response, place.shrink(2.0));
    response.clicked()
}
