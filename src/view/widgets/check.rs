//! A check box: a well that takes a tick. Knows nothing of what is switched.

use egui::epaint::StrokeKind;
use egui::{Align, Rect, Response, Role, Sense, Stroke, Ui, WidgetInfo, vec2};

use super::icons::{Icon, icon_stroked};
use super::{focus, text};
use crate::view::theme::{Theme, control, regular, size, stroke};

const BOX: f32 = 18.0;

/// Shows a check box with its label; the answer's `clicked` says that it was switched.
pub fn check(ui: &mut Ui, on: bool, label: &str) -> Response {
    let wide = BOX + 10.0 + text::width(ui.painter(), label, regular(size::BODY));
    let wide = wide.min(ui.available_width());
    let (rect, response) = ui.allocate_exact_size(vec2(wide, control::TARGET), Sense::click());
    response.widget_info(|| WidgetInfo::selected(Role::CheckBox, ui.is_enabled(), on, label));
    let t = Theme::of(ui);
    let p = ui.painter();
    let y = rect.center().y.round();
    let square = Rect::from_min_size(egui::pos2(rect.left(), y - BOX / 2.0), vec2(BOX, BOX));
    let fill = if response.is_pointer_button_down_on() { t.press } else { t.well };
    let line = if response.hovered() { t.ink } else { t.edge };
    p.rect(square, control::RADIUS, fill, Stroke::new(stroke::RULE, line), StrokeKind::Inside);
    if on {
        icon_stroked(p, Icon::Tick, square.center(), 0.8, Stroke::new(stroke::NODE, t.ink));
    }
    let (x, room) = (square.right() + 10.0, rect.right() - square.right() - 10.0);
    text::cap_within(p, x, y, Align::Min, room + 1.0, label, regular(size::BODY), t.ink);
    focus::ring(p, &t, &response, rect.shrink2(vec2(0.0, 4.0)));
    response
}
