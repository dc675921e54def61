//! What the meter check comes to: what it is, what that means, what to do, and what comes next.

use egui::epaint::StrokeKind;
use egui::{Align, Color32, Rect, Role, Sense, Stroke, Ui, WidgetInfo, pos2, vec2};

use crate::app::{Action, Model, Station};
use crate::view::stations::the_box::see;
use crate::view::theme::{self, Theme, control, size, space, stroke};
use crate::view::widgets::hatch::{self, Hatch};
use crate::view::widgets::icons::{Icon, icon};
use crate::view::widgets::{focus, text};

/// Margin inside.
const PAD: f32 = 18.0;
/// Height of what leads on.
const FOOT: f32 = 44.0;

/// Draws the verdict.
pub(super) fn verdict_ui(ui: &mut Ui, model: &Model, actions: &mut Vec<Action>) {
    let theme = Theme::of(ui.ctx());
    let verdict = &model.derived.wheel.check.verdict;
    let (fill, ink, ink2, line) = if verdict.is_ladder() {
        (theme.act, theme.on_act, theme.on_act2, Stroke::NONE)
    } else if verdict.is_stop() {
        (theme.alarm_face, theme.ink, theme.ink, Stroke::new(stroke::RULE, theme.alarm))
    } else {
        (Color32::TRANSPARENT, theme.ink, theme.ink2, Stroke::NONE)
    };
    let wide = ui.available_width().min(560.0);
    let left = PAD + if verdict.is_stop() { 14.0 } else { 0.0 };
    let room = wide - left - PAD;
    let words = format!("{} {}", verdict.meaning(), verdict.advice());
    let p = ui.painter().clone();
    let body = text::prose(&p, words.trim(), theme::regular(size::BODY), ink2, room, 9);
    let foot = if verdict.is_ladder() { FOOT } else { space::TIGHT };
    let high = 50.0 + body.size().y + space::TIGHT + foot;
    let (rect, _) = ui.allocate_exact_size(vec2(wide, high), Sense::hover());
    p.rect(rect, control::RADIUS, fill, line, StrokeKind::Inside);
    if verdict.is_stop() {
        let bar = Rect::from_min_size(rect.min + vec2(1.0, 1.0), vec2(14.0, rect.height() - 2.0));
        hatch::alarm(&p, &theme, bar, Hatch::STOP);
    } else if !verdict.is_ladder() {
        hatch::dashed_rect(&p, rect, Stroke::new(stroke::RULE, theme.edge), 6.0, 5.0);
    }
    let x = rect.left() + left;
    let head = theme::bold(size::HEAD);
    text::cap_within(&p, x, rect.top() + 27.0, Align::Min, room, verdict.head(), head, ink);
    p.galley(pos2(x, rect.top() + 46.0), body, ink2);
    let said = format!("{} {}", verdict.head(), words.trim());
    focus::tell_live(ui, rect, "ladder verdict", Role::Status, &said);
    if !verdict.is_ladder() {
        return;
    }
    let place = Rect::from_min_max(pos2(rect.left(), rect.bottom() - FOOT), rect.max);
    let label = "Next, Circuit: choose the sense resistor";
    let response = ui.interact(place, ui.make_persistent_id("to circuit"), Sense::click());
    response.widget_info(|| WidgetInfo::labeled(Role::Button, true, label));
    see(&response);
    let (from, to) = (place.left() + PAD, place.right() - PAD);
    p.hline(from..=to, place.top() + 0.5, Stroke::new(stroke::RULE, ink2));
    let y = place.center().y;
    text::cap_within(&p, from, y, Align::Min, to - from - 24.0, label, theme::bold(size::BODY), ink);
    icon(&p, Icon::Arrow, pos2(to - 8.0, y), 0.9, ink);
    if response.hovered() {
        p.rect_stroke(place.shrink(3.0), 1, Stroke::new(stroke::RULE, ink), StrokeKind::Inside);
    }
    focus::ring(&p, &theme, &response, place.shrink(2.0));
    if response.clicked() {
        actions.push(Action::Go(Station::Circuit));
    }
}
