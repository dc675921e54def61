//! A band laid flat, to its own scale: hatch, edge, tint, edge, hatch, and one dot a press. Knows a
//! button by its index only.

use egui::{Painter, Rect, Role, Stroke, Ui, pos2};

use super::{focus, hatch};
use crate::view::theme::{Theme, stroke};

/// What a strip shows. Counts throughout.
#[derive(Debug, Clone, Copy)]
pub struct BandStrip<'a> {
    /// Which button, from 0.
    pub index: usize,
    /// The lowest count taken.
    pub low: f64,
    /// The highest count taken.
    pub high: f64,
    /// Where the button was learned to read; a tick at both edges of the strip.
    pub centre: Option<f64>,
    /// Where each press settled, the newest last: it is ringed.
    pub presses: &'a [f64],
}

/// What is shown beyond each edge, as a share of the band.
const BEYOND: f64 = 0.13;
const DOT: f32 = 4.2;

impl BandStrip<'_> {
    /// Where a count lies across `rect`; what is further out stands at its end.
    #[must_use]
    pub fn x(&self, rect: Rect, count: f64) -> f32 {
        // A band of one count still has a middle.
        let wide = (self.high - self.low).max(1.0);
        let from = self.low - wide * BEYOND;
        let share = (count - from) / (wide * (1.0 + 2.0 * BEYOND));
        let share = if share.is_finite() { share.clamp(0.0, 1.0) } else { 0.0 };
        rect.left() + rect.width() * share as f32
    }

    /// Draws it over `rect`, 30 points high as a rule, and tells `words` to screen readers.
    pub fn show_at(&self, ui: &Ui, rect: Rect, words: &str) {
        focus::tell(ui, rect, words, Role::Figure, words);
        if ui.is_rect_visible(rect) {
            self.paint(ui.painter(), &Theme::of(ui), rect);
        }
    }

    fn paint(&self, p: &Painter, t: &Theme, rect: Rect) {
        p.rect_filled(rect, 0, t.well);
        hatch::reject(p, t, rect);
        let (left, right) = (self.x(rect, self.low), self.x(rect, self.high));
        let band = Rect::from_x_y_ranges(left..=right, rect.y_range());
        p.rect_filled(band, 0, t.button(self.index).band);
        let edge = Stroke::new(stroke::BAND, t.band_edge(self.index));
        p.vline(left, rect.y_range(), edge);
        p.vline(right, rect.y_range(), edge);
        if let Some(centre) = self.centre {
            let (x, line) = (self.x(rect, centre), Stroke::new(stroke::RULE, t.ink));
            p.vline(x, rect.top()..=rect.top() + 3.0, line);
            p.vline(x, rect.bottom() - 3.0..=rect.bottom(), line);
        }
        let y = rect.center().y;
        let room = rect.shrink(DOT);
        for count in self.presses {
            let x = self.x(rect, *count).clamp(room.left(), room.right());
            p.circle(pos2(x, y), DOT, t.ink, Stroke::new(1.0, t.well));
        }
        if let Some(newest) = self.presses.last() {
            let x = self.x(rect, *newest).clamp(room.left(), room.right());
            p.circle_stroke(pos2(x, y), DOT + 3.0, Stroke::new(stroke::BAND, t.ink));
        }
    }
}

#[cfg(test)]
mod tests {
    use egui::vec2;

    use super::*;

    fn strip(low: f64, high: f64) -> BandStrip<'static> {
        BandStrip { index: 0, low, high, centre: None, presses: &[] }
    }

    #[test]
    fn edges_stand_as_far_from_the_ends_whatever_the_band() {
        let rect = Rect::from_min_size(pos2(700.0, 10.0), vec2(310.0, 30.0));
        for (low, high) in [(540.0, 614.0), (0.0, 16.0), (7.0, 7.0)] {
            let strip = strip(low, high);
            let left = strip.x(rect, low) - rect.left();
            assert!((left - 310.0 * 0.13 / 1.26).abs() < 0.01, "{low} to {high}: {left}");
        }
    }

    #[test]
    fn what_is_far_out_or_no_number_stands_at_an_end() {
        let rect = Rect::from_min_size(pos2(0.0, 0.0), vec2(100.0, 30.0));
        let strip = strip(100.0, 200.0);
        assert_eq!(strip.x(rect, 5000.0), 100.0);
        assert_eq!(strip.x(rect, -5000.0), 0.0);
        assert_eq!(strip.x(rect, f64::NAN), 0.0);
    }
}
