//! Text set by the middle of its capitals, cut with an ellipsis where it must fit, or wrapped at
//! the prose line height. Knows fonts and colours only as arguments.

use std::sync::Arc;

use egui::text::{LayoutJob, TextFormat, TextWrapping};
use egui::{Align, Color32, FontId, Galley, Painter, Pos2, Rect, pos2};

use crate::view::theme::size;

/// Draws one line whose capitals have their middle at `y`; `align` says which end stands at `x`.
/// Gives the width in points.
pub fn cap(p: &Painter, x: f32, y: f32, align: Align, text: &str, font: FontId, colour: Color32) -> f32 {
    if text.is_empty() {
        return 0.0;
    }
    let size = font.size;
    place(p, x, y, align, p.layout_no_wrap(text.to_owned(), font, colour), size, colour)
}

/// As [`cap`], but never wider than `max_width`: what doesn't fit ends in an ellipsis.
#[expect(
    clippy::too_many_arguments,
    reason = "a line of text is a place, a limit, words, a font and a colour"
)]
pub fn cap_within(
    p: &Painter,
    x: f32,
    y: f32,
    align: Align,
    max_width: f32,
    text: &str,
    font: FontId,
    colour: Color32,
) -> f32 {
    if text.is_empty() || max_width <= 0.0 {
        return 0.0;
    }
    let size = font.size;
    place(p, x, y, align, one_line(p, text, font, colour, max_width), size, colour)
}

/// Width of one line, in points.
#[must_use]
pub fn width(p: &Painter, text: &str, font: FontId) -> f32 {
    if text.is_empty() {
        return 0.0;
    }
    p.layout_no_wrap(text.to_owned(), font, Color32::PLACEHOLDER).size().x
}

/// One line, cut with an ellipsis at `max_width`. `Galley::elided` tells whether it was.
#[must_use]
pub fn one_line(p: &Painter, text: &str, font: FontId, colour: Color32, max_width: f32) -> Arc<Galley> {
    let mut job = LayoutJob::single_section(text.to_owned(), TextFormat::simple(font, colour));
    job.wrap = cut(max_width, 1);
    p.layout_job(job)
}

/// Wrapped text at the prose line height, at most `max_rows` rows, then an ellipsis.
#[must_use]
pub fn prose(
    p: &Painter,
    text: &str,
    font: FontId,
    colour: Color32,
    max_width: f32,
    max_rows: usize,
) -> Arc<Galley> {
    let mut job = LayoutJob::default();
    let line = Some((font.size * size::LINE).round());
    job.append(text, 0.0, TextFormat { line_height: line, ..TextFormat::simple(font, colour) });
    job.wrap = TextWrapping { break_anywhere: false, ..cut(max_width, max_rows) };
    p.layout_job(job)
}

/// Baseline of a galley's first row, measured from its top, in points.
#[must_use]
pub fn baseline(galley: &Galley) -> f32 {
    galley.rows.first().map_or(0.0, |row| row.pos.y + row.glyphs.first().map_or(0.0, |g| g.pos.y))
}

fn cut(max_width: f32, max_rows: usize) -> TextWrapping {
    TextWrapping {
        max_width: max_width.max(1.0),
        max_rows,
        break_anywhere: max_rows == 1,
        overflow_character: Some('…'),
    }
}

fn place(p: &Painter, x: f32, y: f32, align: Align, galley: Arc<Galley>, size: f32, colour: Color32) -> f32 {
    let wide = galley.size().x;
    let rect: Rect = align_left(x, wide, align);
    let top = y + size * size::CAP / 2.0 - baseline(&galley);
    p.galley(Pos2::new(rect.left(), top), galley, colour);
    wide
}

fn align_left(x: f32, wide: f32, align: Align) -> Rect {
    let left = match align {
        Align::Min => x,
        Align::Center => x - wide / 2.0,
        Align::Max => x - wide,
    };
    Rect::from_min_max(pos2(left, 0.0), pos2(left + wide, 0.0))
}
