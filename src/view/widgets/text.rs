//! Text set by the middle of its capitals, cut with an ellipsis where it must fit, or wrapped at
//! the prose line height. Knows fonts and colours only as arguments.

use std::sync::Arc;

use egui::text::{ByteIndex, LayoutJob, LayoutSection, TextFormat, TextWrapping};
use egui::{Align, Color32, FontId, Galley, Painter, Pos2, Rect, pos2};

use crate::view::theme::size;

/// Draws one line whose capitals have their middle at `y`; `align` says which end stands at `x`.
/// Gives the width in points.
pub fn cap(p: &Painter, x: f32, y: f32, align: Align, text: &str, font: FontId, colour: Color32) -> f32 {
    if text.is_empty() {
        return 0.0;
    }
    let size = font.size;
    let job = job_of(text, TextFormat::simple(font, colour));
    place(p, x, y, align, p.layout_job(job), size, colour)
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
    p.layout_job(job_of(text, TextFormat::simple(font, Color32::PLACEHOLDER))).size().x
}

/// One line, cut with an ellipsis at `max_width`. `Galley::elided` tells whether it was.
#[must_use]
pub fn one_line(p: &Painter, text: &str, font: FontId, colour: Color32, max_width: f32) -> Arc<Galley> {
    let mut job = job_of(text, TextFormat::simple(font, colour));
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
    append(&mut job, text, 0.0, &TextFormat { line_height: line, ..TextFormat::simple(font, colour) });
    job.wrap = TextWrapping { break_anywhere: false, ..cut(max_width, max_rows) };
    p.layout_job(job)
}

/// Appends words to a job. What is written right to left stands in sections of its own: the layout
/// turns a whole section round by its first letter, and a sentence about such a button would be
/// told backwards, its figures too.
pub fn append(job: &mut LayoutJob, text: &str, leading: f32, format: &TextFormat) {
    let mut leading_space = leading;
    for run in runs(text) {
        let start = job.text.len();
        job.text += run;
        // Not by the job's own `append`, which joins sections of one format again.
        let byte_range = ByteIndex(start)..ByteIndex(job.text.len());
        job.sections.push(LayoutSection { leading_space, byte_range, format: format.clone() });
        leading_space = 0.0;
    }
}

fn job_of(text: &str, format: TextFormat) -> LayoutJob {
    let mut job = LayoutJob::default();
    job.wrap.max_width = f32::INFINITY;
    append(&mut job, text, 0.0, &format);
    job
}

/// The pieces of a text, each in one direction. Blanks between two words that are written right to
/// left go with them.
fn runs(text: &str) -> Vec<&str> {
    let mut runs = Vec::new();
    let (mut from, mut end_of_word, mut turned) = (0, 0, false);
    for (at, letter) in text.char_indices() {
        let turns = is_right_to_left(letter);
        if turns && !turned {
            runs.push(&text[from..at]);
            from = at;
        } else if turned && !turns && !letter.is_whitespace() {
            runs.push(&text[from..end_of_word]);
            from = end_of_word;
        }
        if turns {
            end_of_word = at + letter.len_utf8();
        }
        turned = turns || (turned && letter.is_whitespace());
    }
    runs.push(&text[from..]);
    runs.retain(|run| !run.is_empty());
    runs
}

/// Letters of the scripts that are written right to left, by their Unicode blocks: Hebrew to Arabic
/// Extended-A, the presentation forms, and the two ranges kept for such scripts beyond the first
/// plane (Unicode Standard Annex 9, the default Bidi_Class of unassigned code points).
const fn is_right_to_left(letter: char) -> bool {
    matches!(letter,
        '\u{590}'..='\u{8FF}' | '\u{FB1D}'..='\u{FDFF}' | '\u{FE70}'..='\u{FEFE}'
        | '\u{10800}'..='\u{10FFF}' | '\u{1E800}'..='\u{1EFFF}')
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_right_to_left_stands_in_runs_of_its_own() {
        assert_eq!(runs("Mute: 16 Ω"), ["Mute: 16 Ω"]);
        assert_eq!(runs("קול למעלה and Mute are 42"), ["קול למעלה", " and Mute are 42"]);
        assert_eq!(runs("Mute and קול are 42"), ["Mute and ", "קול", " are 42"]);
        assert_eq!(runs("קול"), ["קול"]);
        assert!(runs("").is_empty());
    }
}
