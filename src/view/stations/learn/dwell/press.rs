//! One recorded press as the recogniser took it: its readings over the bands, when the wire left rest, and
//! when it was decided. Computes nothing.

use egui::{Align, Key, Modifiers, Rect, Role, Sense, Shape, Stroke, Ui, Vec2, WidgetInfo, pos2, vec2};

use crate::app::learn::dwell::DwellAction;
use crate::app::{Action, Model};
use crate::bands::{Rung, Touch};
use crate::project::{DwellChoice, ReplayedPress, banding};
use crate::view::theme::{Theme, regular, size, stroke};
use crate::view::widgets::button::Button;
use crate::view::widgets::focus::key_pressed;
use crate::view::widgets::{plate, text};

/// Room for the labels of the counts, and under the plot.
const LEFT: f32 = 44.0;
const FOOT: f32 = 20.0;
/// How much is shown before the wire left rest, in milliseconds.
const BEFORE_MS: usize = 60;
/// Room over and under what is read, in counts.
const ROOM_COUNT: f64 = 24.0;

/// Which press it is, for its bracket.
pub(super) fn under(model: &Model, choice: &DwellChoice) -> String {
    let Some(shown) = &model.learn.dwell.shown else { return String::new() };
    format!("{}, press {} of {}", outcome(model, shown), shown.index + 1, choice.input.traces.len())
}

/// What became of it, in a sentence.
fn outcome(model: &Model, shown: &ReplayedPress) -> String {
    let name = |button: usize| {
        model.project().map_or_else(String::new, |project| banding::rung_name(project, Rung::Button(button)))
    };
    let touch = match shown.touch {
        Touch::Firm => "firm",
        Touch::Slow => "slow",
        Touch::Light => "light",
        Touch::Picked => "picked from the trace",
    };
    let said = match (shown.wrong, shown.decided_at) {
        (Some(wrong), _) if wrong == shown.button => "decided twice".to_owned(),
        (Some(wrong), _) => format!("taken for {}", name(wrong)),
        (None, Some(at)) => format!("decided {} ms after it left rest", at + 1 - shown.left_at),
        (None, None) => "not decided".to_owned(),
    };
    format!("{}, {touch}: {said}", name(shown.button))
}

/// Draws it.
pub(super) fn press_ui(
    ui: &mut Ui,
    model: &Model,
    choice: &DwellChoice,
    wanted: Vec2,
    actions: &mut Vec<Action>,
) {
    let (rect, response) = ui.allocate_exact_size(wanted, Sense::hover());
    let Some(shown) = &model.learn.dwell.shown else { return };
    keys(ui, shown, choice, actions);
    let said = outcome(model, shown);
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, &said));
    let theme = Theme::of(ui.ctx());
    let well = Rect::from_min_max(rect.min + vec2(LEFT, 0.0), rect.max - vec2(0.0, FOOT));
    let p = ui.painter().with_clip_rect(rect);
    p.rect_filled(well, 0, theme.well);
    let from = shown.left_at.saturating_sub(BEFORE_MS);
    let counts = &shown.counts[from..];
    let (low, high) = counts.iter().fold((f64::INFINITY, 0.0_f64), |(l, h), &c| (l.min(c), h.max(c)));
    let (low, high) = (low - ROOM_COUNT, high + ROOM_COUNT);
    let x = |at: usize| well.left() + well.width() * (at.saturating_sub(from)) as f32 / counts.len() as f32;
    let y =
        |count: f64| well.bottom() - well.height() * ((count - low) / (high - low)).clamp(0.0, 1.0) as f32;
    for (index, (_, band, _)) in choice.input.rules.buttons.iter().enumerate() {
        let (bottom, top) = (f64::from(band.low), f64::from(band.high) + 1.0);
        if band.low > band.high || bottom > high || top < low {
            continue;
        }
        let place = Rect::from_min_max(pos2(well.left(), y(top)), pos2(well.right(), y(bottom)));
        p.rect_filled(place, 0, theme.button(index).trace);
        let edge = Stroke::new(stroke::RULE, theme.band_edge(index));
        p.hline(place.x_range(), place.top(), edge);
        p.hline(place.x_range(), place.bottom(), edge);
        plate::plate(
            &p,
            &theme,
            index,
            pos2(well.left() - 18.0, place.center().y),
            8.0,
            plate::PlateMode::Measured,
        );
    }
    let line = counts.iter().enumerate().map(|(at, &count)| pos2(x(from + at), y(count))).collect();
    p.add(Shape::line(line, Stroke::new(stroke::TRACE, theme.ink)));
    let left = x(shown.left_at);
    p.vline(left, well.y_range(), theme.outline());
    let foot = well.bottom() + 11.0;
    text::cap(&p, left, foot, Align::Center, "leaves rest", regular(size::AXIS), theme.ink2);
    if let Some(at) = shown.decided_at {
        let decided = x(at);
        p.vline(decided, well.y_range(), Stroke::new(stroke::NODE, theme.ink));
        p.circle_filled(pos2(decided, y(shown.counts[at])), 4.0, theme.ink);
        let near = decided - left < 150.0;
        let place = if near { left + 44.0 } else { decided };
        let align = if near { Align::Min } else { Align::Center };
        let said = format!("decided after {} ms", at + 1 - shown.left_at);
        text::cap(&p, place, foot, align, &said, regular(size::AXIS), theme.ink);
    }
}

/// The keys that step through the presses.
fn keys(ui: &Ui, shown: &ReplayedPress, choice: &DwellChoice, actions: &mut Vec<Action>) {
    let last = choice.input.traces.len().saturating_sub(1);
    if key_pressed(ui, Modifiers::NONE, Key::ArrowLeft) && shown.index > 0 {
        actions.push(DwellAction::Show(shown.index - 1).into());
    }
    if key_pressed(ui, Modifiers::NONE, Key::ArrowRight) && shown.index < last {
        actions.push(DwellAction::Show(shown.index + 1).into());
    }
}

/// The buttons that step through the presses.
pub(super) fn steps_ui(
    ui: &mut Ui,
    model: &Model,
    choice: &DwellChoice,
    height: f32,
    short: bool,
    actions: &mut Vec<Action>,
) {
    let Some(shown) = &model.learn.dwell.shown else { return };
    let (before, after) = if short { ("Before", "After") } else { ("Press before", "Press after") };
    let last = choice.input.traces.len().saturating_sub(1);
    if ui
        .add(Button::line(before).name("Press before").key("←").height(height).enabled(shown.index > 0))
        .clicked()
    {
        actions.push(DwellAction::Show(shown.index - 1).into());
    }
    if ui
        .add(Button::line(after).name("Press after").key("→").height(height).enabled(shown.index < last))
        .clicked()
    {
        actions.push(DwellAction::Show(shown.index + 1).into());
    }
}
