//! The count axis that trace, spine and rungs share: count to y and back, and the spine between
//! them with its labels and the live reading.

use egui::{Align, CursorIcon, Pos2, Rect, Response, Sense, Shape, Stroke, Ui, pos2};

use crate::units::SCALE_COUNT;
use crate::view::theme::{self, Theme, size, stroke};
use crate::view::widgets::text;

/// The whole axis, in counts.
pub const WHOLE: (f64, f64) = (0.0, SCALE_COUNT - 1.0);

/// The least that can be shown, in counts.
const LEAST: f64 = 8.0;

/// Maps counts to y. One of these is shared by all that stands side by side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Axis {
    /// y of `high`.
    pub top: f32,
    /// y of `low`.
    pub bottom: f32,
    /// The lowest count shown.
    pub low: f64,
    /// The highest count shown.
    pub high: f64,
}

impl Axis {
    /// The axis over a rectangle's height.
    #[must_use]
    pub fn over(rect: Rect, (low, high): (f64, f64)) -> Self {
        Self { top: rect.top(), bottom: rect.bottom(), low, high }
    }

    /// Where a count stands; not held inside.
    #[must_use]
    pub fn y(&self, count: f64) -> f32 {
        let share = (count - self.low) / (self.high - self.low);
        self.bottom - (share * f64::from(self.bottom - self.top)) as f32
    }

    /// Where a count stands, held inside.
    #[must_use]
    pub fn y_within(&self, count: f64) -> f32 {
        self.y(count).clamp(self.top, self.bottom)
    }

    /// The count at a place.
    #[must_use]
    pub fn count_at(&self, y: f32) -> f64 {
        let share = f64::from((self.bottom - y) / (self.bottom - self.top).max(1.0));
        self.low + share * (self.high - self.low)
    }

    /// Points to a count.
    #[must_use]
    pub fn points_per_count(&self) -> f32 {
        (f64::from(self.bottom - self.top) / (self.high - self.low)) as f32
    }

    /// The range after zooming by `factor` (above 1 shows less) about a count.
    #[must_use]
    pub fn zoomed(&self, about: f64, factor: f64) -> (f64, f64) {
        let span = ((self.high - self.low) / factor).clamp(LEAST, WHOLE.1 - WHOLE.0);
        let share = ((about - self.low) / (self.high - self.low)).clamp(0.0, 1.0);
        held(about - share * span, span)
    }

    /// The range after moving by so many counts.
    #[must_use]
    pub fn moved(&self, by: f64) -> (f64, f64) {
        held(self.low + by, self.high - self.low)
    }
}

/// A range of this span, held inside the whole axis.
fn held(low: f64, span: f64) -> (f64, f64) {
    let low = low.clamp(WHOLE.0, WHOLE.1 - span);
    (low, low + span)
}

/// How many counts from label to label, so that labels stand at least 30 points apart.
fn label_step(axis: &Axis) -> f64 {
    let mut step = 1.0;
    while step * f64::from(axis.points_per_count()) < 30.0 && step < 512.0 {
        step *= 2.0;
    }
    step
}

/// The spine: the axis' labels with ticks to both sides, and the live reading as a triangle.
/// Dragging it moves the axis, the wheel zooms it, a double click shows all of it. Gives the range
/// to show from now on, if that changed.
pub fn spine_ui(ui: &mut Ui, rect: Rect, axis: &Axis, live: Option<f64>) -> (Response, Option<(f64, f64)>) {
    let theme = Theme::of(ui.ctx());
    let response = ui
        .interact(rect, ui.scope_id().with("spine"), Sense::click_and_drag())
        .on_hover_cursor(CursorIcon::ResizeVertical);
    response.widget_info(|| {
        let said = live.map_or_else(|| "no reading".to_owned(), |count| format!("reading {count:.0}"));
        egui::WidgetInfo::labeled(egui::Role::Canvas, true, format!("Count axis, {said}"))
    });
    let p = ui.painter();
    let middle = rect.center().x.floor() + 0.5;
    p.rect_filled(rect, 0, theme.face);
    p.vline(middle, rect.y_range(), Stroke::new(stroke::RULE, theme.edge));
    for count in labels(axis) {
        let y = axis.y(count).round() + 0.5;
        if y < rect.top() - 1.0 || y > rect.bottom() + 1.0 {
            continue;
        }
        let tick = Stroke::new(stroke::RULE, theme.edge);
        p.hline(rect.left()..=rect.left() + 6.0, y, tick);
        p.hline(rect.right() - 6.0..=rect.right(), y, tick);
        let words = format!("{count:.0}");
        let font = theme::regular(size::AXIS);
        let half = text::width(p, &words, font.clone()) / 2.0 + 2.0;
        let at = y.clamp(rect.top() + 5.0, rect.bottom() - 5.0);
        p.rect_filled(
            Rect::from_min_max(pos2(middle - half, at - 8.0), pos2(middle + half, at + 8.0)),
            0,
            theme.face,
        );
        text::cap(p, middle, at, Align::Center, &words, font, theme.ink2);
    }
    if let Some(count) = live {
        p.add(live_mark(pos2(rect.left(), axis.y_within(count)), theme.ink));
    }
    let range = moved(ui, &response, axis);
    (response, range)
}

fn labels(axis: &Axis) -> Vec<f64> {
    let step = label_step(axis);
    let mut labels = Vec::new();
    let mut count = (axis.low / step).ceil() * step;
    while count <= axis.high {
        labels.push(count);
        count += step;
    }
    // The top of the range is named where there is room for it.
    if axis.high >= WHOLE.1 {
        let top = WHOLE.1;
        labels.retain(|&count| f64::from(axis.points_per_count()) * (top - count).abs() > 20.0);
        labels.push(top);
    }
    labels
}

/// A filled triangle that points at the reading.
fn live_mark(at: Pos2, ink: egui::Color32) -> Shape {
    let points = vec![pos2(at.x - 1.0, at.y - 7.0), pos2(at.x + 9.0, at.y), pos2(at.x - 1.0, at.y + 7.0)];
    Shape::convex_polygon(points, ink, Stroke::NONE)
}

fn moved(ui: &Ui, response: &Response, axis: &Axis) -> Option<(f64, f64)> {
    if response.double_clicked() {
        return Some(WHOLE);
    }
    if response.dragged() {
        let by = f64::from(response.drag_delta().y / axis.points_per_count());
        return (by != 0.0).then(|| axis.moved(by));
    }
    let pointer = response.hover_pos()?;
    let wheel = ui.input(|input| input.smooth_scroll_delta().y);
    (wheel != 0.0).then(|| axis.zoomed(axis.count_at(pointer.y), f64::from(wheel / 120.0).exp2()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn axis() -> Axis {
        Axis { top: 100.0, bottom: 470.0, low: 0.0, high: 1023.0 }
    }

    #[test]
    fn a_count_and_its_place_are_one_another() {
        for count in [0.0, 1.0, 551.0, 1023.0] {
            assert!((axis().count_at(axis().y(count)) - count).abs() < 1e-2);
        }
    }

    #[test]
    fn zooming_keeps_the_count_under_the_pointer_and_stays_on_the_axis() {
        let axis = axis();
        let (low, high) = axis.zoomed(700.0, 4.0);
        let zoomed = Axis { low, high, ..axis };
        assert!((zoomed.y(700.0) - axis.y(700.0)).abs() < 0.01);
        assert_eq!(axis.zoomed(700.0, 0.01), WHOLE);
        let (low, high) = axis.zoomed(0.0, 1e9);
        assert_eq!((low, high), (0.0, LEAST));
    }

    #[test]
    fn moving_stops_at_the_ends() {
        let axis = Axis { low: 100.0, high: 200.0, ..axis() };
        assert_eq!(axis.moved(-500.0), (0.0, 100.0));
        assert_eq!(axis.moved(5000.0), (923.0, 1023.0));
    }

    #[test]
    fn labels_never_stand_closer_than_a_line_of_text() {
        for (low, high) in [(0.0, 1023.0), (500.0, 560.0), (1000.0, 1023.0)] {
            let axis = Axis { low, high, ..axis() };
            let places: Vec<_> = labels(&axis).iter().map(|&count| axis.y(count)).collect();
            assert!(places.windows(2).all(|pair| (pair[0] - pair[1]).abs() >= 16.0), "{places:?}");
        }
    }
}
