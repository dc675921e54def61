//! The keycap inside every acting button: an outline with a second line at its foot. Knows no key.

use egui::epaint::StrokeKind;
use egui::{Align, Color32, Painter, Rect, Stroke, pos2, vec2};

use super::text;
use crate::view::theme::{control, regular, stroke};

const TEXT: f32 = 12.0;
const LEAST: f32 = 22.0;

/// Width of the cap for a key, in points.
#[must_use]
pub fn width(p: &Painter, key: &str) -> f32 {
    (text::width(p, key, regular(TEXT)) + 12.0).max(LEAST)
}

/// Draws a cap with its middle at `y`; `align` says which end stands at `x`. Gives its width.
pub fn keycap(p: &Painter, x: f32, y: f32, align: Align, key: &str, colour: Color32) -> f32 {
    let wide = width(p, key);
    let left = match align {
        Align::Min => x,
        Align::Center => x - wide / 2.0,
        Align::Max => x - wide,
    };
    let rect = Rect::from_min_size(pos2(left, y - control::KEYCAP / 2.0), vec2(wide, control::KEYCAP));
    let rect = egui::emath::GuiRounding::round_to_pixels(rect, p.pixels_per_point());
    let line = Stroke::new(stroke::RULE, colour);
    p.rect_stroke(rect, control::RADIUS, line, StrokeKind::Inside);
    let foot = p.round_to_pixel_center(rect.bottom() - 2.0);
    p.hline(rect.left() + 1.0..=rect.right() - 1.0, foot, line);
    text::cap(p, rect.center().x, y - 0.8, Align::Center, key, regular(TEXT), colour);
    wide
}
