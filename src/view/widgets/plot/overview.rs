//! The whole recording in one strip, with a window on the part that is shown. Drag the window, or
//! click where to look.

use egui::{CursorIcon, Painter, Rect, Sense, Shape, Stroke, Ui, pos2};

use crate::signal::Column;
use crate::view::theme::{Theme, stroke};

use super::axis::{Axis, WHOLE};

/// What the strip shows.
#[derive(Clone, Copy, Debug)]
pub struct Overview<'a> {
    /// The recording's envelope, one column a point.
    pub columns: &'a [Column],
    /// When it begins and ends, in milliseconds.
    pub whole_ms: (f64, f64),
    /// What the trace shows.
    pub shown_ms: (f64, f64),
}

/// Draws the strip; gives the time that was clicked or dragged to, as the middle of the window.
pub fn overview_ui(ui: &mut Ui, rect: Rect, overview: Overview<'_>) -> Option<f64> {
    let theme = Theme::of(ui.ctx());
    let response = ui.interact(
        rect.expand2(egui::vec2(0.0, 2.0)),
        ui.scope_id().with("overview"),
        Sense::click_and_drag(),
    );
    let response = response.on_hover_cursor(CursorIcon::ResizeHorizontal);
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Canvas, true, "Whole recording"));
    let p = ui.painter();
    p.rect_filled(rect, 0, theme.well);
    envelope(p, rect.shrink2(egui::vec2(0.0, 3.0)), overview.columns, theme.ink);
    let (first, last) = overview.whole_ms;
    let span = (last - first).max(1.0);
    let x = |ms: f64| rect.left() + (((ms - first) / span) as f32 * rect.width()).clamp(0.0, rect.width());
    let (from, to) = (x(overview.shown_ms.0), x(overview.shown_ms.1));
    let short = ((8.0 - (to - from)) / 2.0).max(0.0);
    let window = Rect::from_min_max(
        pos2((from - short).max(rect.left()), rect.top() - 3.0),
        pos2((to + short).min(rect.right()), rect.bottom() + 3.0),
    );
    p.rect_stroke(window, 2, Stroke::new(2.0, theme.ink), egui::StrokeKind::Inside);
    let pointer = response.interact_pointer_pos()?;
    (response.clicked() || response.dragged())
        .then(|| first + f64::from(((pointer.x - rect.left()) / rect.width()).clamp(0.0, 1.0)) * span)
}

/// An envelope over the whole count axis, as one line.
fn envelope(p: &Painter, rect: Rect, columns: &[Column], ink: egui::Color32) {
    let axis = Axis::over(rect, WHOLE);
    let wide = rect.width() / columns.len().max(1) as f32;
    let mut points = Vec::with_capacity(columns.len() * 2);
    for (number, column) in columns.iter().enumerate() {
        let x = rect.left() + (number as f32 + 0.5) * wide;
        if let (Some(low), Some(high)) = (column.low.count(), column.high.count()) {
            let (a, b) = (axis.y(high), axis.y(low));
            // The nearer end first: the shortest way through the columns.
            let down = number.is_multiple_of(2);
            points.push(pos2(x, if down { a } else { b }));
            points.push(pos2(x, if down { b } else { a }));
        }
    }
    p.add(Shape::line(points, Stroke::new(stroke::RULE, ink)));
}
