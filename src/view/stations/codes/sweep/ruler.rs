//! How far a sweep is: one tick a code, long and filled where it was sent, short where it is to come, a
//! flag where the stereo did something. Knows no code but what its ends are called.

use egui::epaint::StrokeKind;
use egui::{Align, Painter, Rect, Role, Sense, Shape, Stroke, Ui, WidgetInfo, pos2, vec2};

use crate::view::theme::{Theme, mono, size, stroke};
use crate::view::widgets::text;

/// A ruler.
pub(super) struct Ruler<'a> {
    /// How many codes there are.
    pub(super) codes: usize,
    /// The one to be sent next, from 0.
    pub(super) next: usize,
    /// Where it did something.
    pub(super) marks: &'a [u16],
    /// The first code.
    pub(super) first: &'a str,
    /// The last code.
    pub(super) last: &'a str,
}

/// Room for flags, the ticks, and the names of the ends.
const FLAGS: f32 = 14.0;
const TICKS: f32 = 24.0;
const ENDS: f32 = 22.0;
/// Heights of a tick that was sent, and of one to come.
const SENT: f32 = 20.0;
const TO_COME: f32 = 8.0;
/// No tick stands further from the next.
const FURTHEST: f32 = 24.0;

impl Ruler<'_> {
    /// Shows it as wide as the layout allows.
    pub(super) fn show(self, ui: &mut Ui) {
        let width = ui.available_width();
        let (rect, response) = ui.allocate_exact_size(vec2(width, FLAGS + TICKS + ENDS), Sense::hover());
        let marks = match self.marks.len() {
            0 => "no marks".to_owned(),
            1 => "1 mark".to_owned(),
            more => format!("{more} marks"),
        };
        let said = format!("{} of {} codes sent, {marks}", self.next, self.codes);
        let share = if self.codes == 0 { 0.0 } else { self.next as f64 / self.codes as f64 };
        response.widget_info(|| WidgetInfo {
            value: Some(share * 100.0),
            ..WidgetInfo::labeled(Role::ProgressIndicator, true, said.as_str())
        });
        self.paint(ui.painter(), &Theme::of(ui), rect);
    }

    fn paint(&self, p: &Painter, theme: &Theme, rect: Rect) {
        let pitch = (rect.width() / self.codes.max(1) as f32).min(FURTHEST);
        // The gap between ticks is drawn where there is room for it.
        let wide = if pitch >= 5.0 { pitch - 3.0 } else { (pitch * 0.55).max(1.0) };
        let foot = rect.top() + FLAGS + TICKS;
        let tick = |at: usize, high: f32| {
            let left = rect.left() + pitch * at as f32;
            Rect::from_min_max(pos2(left, foot - high), pos2(left + wide, foot))
        };
        for at in 0..self.codes {
            if at < self.next {
                p.rect_filled(tick(at, SENT), 0, theme.ink);
            } else {
                p.rect_filled(tick(at, TO_COME), 0, theme.edge);
            }
        }
        if self.next < self.codes {
            let now = tick(self.next, SENT + 4.0).expand2(vec2(1.0, 0.0));
            p.rect(now, 0, theme.face, Stroke::new(stroke::RULE, theme.ink), StrokeKind::Outside);
        }
        p.hline(rect.left()..=rect.left() + pitch * self.codes as f32, foot + 0.5, theme.outline());
        for &at in self.marks {
            let x = tick(usize::from(at), SENT).center().x;
            let tip = foot - TICKS;
            let flag = vec![pos2(x - 6.0, tip - 11.0), pos2(x + 6.0, tip - 11.0), pos2(x, tip - 1.0)];
            p.add(Shape::convex_polygon(flag, theme.ink, Stroke::NONE));
        }
        let y = foot + ENDS / 2.0 + 1.0;
        let first = text::cap(p, rect.left(), y, Align::Min, self.first, mono(size::AXIS), theme.ink2);
        let wide = text::width(p, self.last, mono(size::AXIS));
        // Under a short ruler the last one stands as far out as it must.
        let end = (rect.left() + pitch * self.codes as f32).max(rect.left() + first + 16.0 + wide);
        if self.codes > 1 && end <= rect.right() {
            text::cap(p, end, y, Align::Max, self.last, mono(size::AXIS), theme.ink2);
        }
    }
}
