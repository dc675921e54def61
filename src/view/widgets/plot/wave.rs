//! A code on the wire: idle on top, marks hang from it; the bits under it, the fields over it. Where it
//! was heard, too: that in outline below, and under it how much longer each mark was. Takes a frame as
//! times and values; knows no family.

use egui::{Align, Painter, Rangef, Rect, Stroke, Ui, pos2};

use crate::view::theme::{self, Theme, size, stroke};
use crate::view::widgets::icons::{Icon, icon};
use crate::view::widgets::text;

/// What is drawn over a part of the frame.
#[derive(Clone, Debug, PartialEq)]
pub struct WaveField {
    /// What it is.
    pub label: String,
    /// Its value in hex, where it has one.
    pub value: Option<String>,
    /// Where it begins, in microseconds.
    pub from_us: f64,
    /// Where it ends.
    pub to_us: f64,
    /// Whether a check on it holds, where there is one.
    pub checked: Option<bool>,
}

/// A bit under the wave.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WaveBit {
    /// Where its period begins, in microseconds.
    pub from_us: f64,
    /// Where it ends.
    pub to_us: f64,
    /// Its value.
    pub one: bool,
}

/// A frame to be drawn.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Wave {
    /// Marks and spaces, mark first, in microseconds.
    pub pulses_us: Vec<f64>,
    /// What is written over it.
    pub fields: Vec<WaveField>,
    /// What is written under it.
    pub bits: Vec<WaveBit>,
    /// What the last mark is, where it is no bit's: written behind it.
    pub tail: String,
    /// The same frame as it was heard; empty where it was not.
    pub heard_us: Vec<f64>,
    /// By how much each pulse was longer than sent, in microseconds; empty where nothing tells.
    pub off_us: Vec<f64>,
}

/// The height of one line of the wave, in points.
pub const LINE: f32 = 90.0;

/// The same with what was heard below.
const LINE_HEARD: f32 = 138.0;

/// From one line to the next.
const GAP: f32 = 12.0;

/// The height of a mark that was heard.
const MARK_HEARD: f32 = 16.0;

/// Microseconds of drift that stand one point high.
const US_A_POINT: f32 = 10.0;

/// How far a tick of drift goes up and down at most, in points.
const TICK: (f32, f32) = (17.0, 8.0);

/// Room at the left for the line's name.
const LEFT: f32 = 52.0;

/// The height of a mark.
const MARK: f32 = 26.0;

impl Wave {
    /// How long the frame is, in microseconds.
    #[must_use]
    pub fn total_us(&self) -> f64 {
        self.pulses_us.iter().sum()
    }

    /// Where the frame is split so that both lines hold half its bits, or whole fields if one begins
    /// near there; `None` if one line is enough. Told by bits, not by time, so that the lines stay
    /// where they are while a code is typed.
    fn split_us(&self, width: f32) -> Option<f64> {
        let bits = self.bits.len();
        if bits < 20 || width / bits as f32 > 34.0 {
            return None;
        }
        let half = self.bits.get(bits / 2)?.from_us;
        let apart = |at: &f64| (at - half).abs();
        let edges = self.fields.iter().map(|field| field.from_us);
        let near = edges.filter(|at| apart(at) < 0.15 * self.total_us());
        near.min_by(|a, b| apart(a).total_cmp(&apart(b))).or(Some(half))
    }

    /// How high it stands at this width, in points.
    #[must_use]
    pub fn height(&self, width: f32) -> f32 {
        let line = self.line();
        if self.split_us(width).is_some() { line + GAP + line } else { line }
    }

    /// How high one line stands, in points.
    fn line(&self) -> f32 {
        if self.heard_us.is_empty() { LINE } else { LINE_HEARD }
    }
}

/// Where each pulse of these begins and ends, in microseconds.
fn spans(pulses_us: &[f64]) -> impl Iterator<Item = (f64, f64)> + '_ {
    pulses_us.iter().scan(0.0, |at, length| {
        let from = *at;
        *at += length;
        Some((from, *at))
    })
}

/// Draws a frame from the top of `rect`.
pub fn wave_ui(ui: &mut Ui, rect: Rect, wave: &Wave, said: &str) {
    let theme = Theme::of(ui.ctx());
    let total = wave.total_us();
    let p = ui.painter_at(rect.expand(1.0));
    let lines = match wave.split_us(rect.width()) {
        Some(split) => vec![(0.0, split), (split, total)],
        None => vec![(0.0, total)],
    };
    let longest = lines.iter().map(|(from, to)| to - from).fold(1.0, f64::max);
    // A little is left after the end, so that the idle line is seen to go on.
    let per_us = (rect.width() - LEFT - 4.0) / (longest * 1.008) as f32;
    for (number, &(from, to)) in lines.iter().enumerate() {
        let top = rect.top() + number as f32 * (wave.line() + GAP);
        let line = Rect::from_min_max(pos2(rect.left(), top), pos2(rect.right(), top + wave.line()));
        let part = Part { from, to, per_us, is_last: number + 1 == lines.len() };
        draw_line(&p, &theme, line, wave, part);
        if !wave.heard_us.is_empty() {
            draw_heard(&p, &theme, line, wave, part);
        }
    }
    let response = ui.interact(rect, ui.scope_id().with("wave"), egui::Sense::hover());
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Canvas, true, said));
}

#[derive(Clone, Copy)]
struct Part {
    from: f64,
    to: f64,
    per_us: f32,
    is_last: bool,
}

fn draw_line(p: &Painter, theme: &Theme, line: Rect, wave: &Wave, part: Part) {
    p.rect_filled(line, 0, theme.well);
    let x = |us: f64| line.left() + LEFT + ((us - part.from) as f32) * part.per_us;
    let top = line.top() + 26.0;
    text::cap(p, line.left() + 8.0, top + 12.0, Align::Min, "sent", theme::bold(size::AXIS), theme.ink);
    for field in &wave.fields {
        if field.from_us < part.to - 1.0 && field.to_us > part.from + 1.0 {
            let range = Rangef::new(x(field.from_us.max(part.from)) + 1.0, x(field.to_us.min(part.to)) - 2.0);
            draw_field(p, theme, line.top() + 11.0, range, field);
        }
    }
    for (from, to) in spans(&wave.pulses_us).step_by(2) {
        if from < part.to - 1.0 && to > part.from + 1.0 {
            let left = x(from).max(x(part.from));
            let right = x(to).min(x(part.to)).max(left + 1.5);
            p.rect_filled(Rect::from_min_max(pos2(left, top), pos2(right, top + MARK)), 0, theme.ink);
        }
    }
    let end = if part.is_last { line.right() - 8.0 } else { line.right() };
    p.hline(Rangef::new(x(part.from), end), top, Stroke::new(1.5, theme.ink));
    if part.is_last {
        let (from, font) = (x(part.to) + 10.0, theme::regular(size::AXIS));
        if from + text::width(p, &wave.tail, font.clone()) < line.right() - 8.0 {
            text::cap(p, from, top + 14.0, Align::Min, &wave.tail, font, theme.ink2);
        }
    }
    let rule = Stroke::new(1.0, theme.rule);
    for bit in &wave.bits {
        if bit.from_us < part.from - 1.0 || bit.from_us >= part.to - 1.0 {
            continue;
        }
        let (from, to) = (x(bit.from_us), x(bit.to_us));
        p.vline(from.round() + 0.5, Rangef::new(line.top() + 56.0, line.top() + 76.0), rule);
        if to - from >= 7.0 {
            let font = if bit.one { theme::bold(size::BODY) } else { theme::regular(size::BODY) };
            let digit = if bit.one { "1" } else { "0" };
            text::cap(p, f32::midpoint(from, to), line.top() + 66.0, Align::Center, digit, font, theme.ink);
        }
    }
}

/// What was heard, in outline, and under it a tick for each mark: how much longer it was than sent.
fn draw_heard(p: &Painter, theme: &Theme, line: Rect, wave: &Wave, part: Part) {
    let left = line.left() + LEFT;
    let x = |us: f64| left + ((us - part.from) as f32) * part.per_us;
    let (top, foot) = (line.top() + 88.0, line.top() + 88.0 + MARK_HEARD);
    let small = theme::regular(size::AXIS);
    text::cap(p, line.left() + 8.0, top + 6.0, Align::Min, "heard", small.clone(), theme.ink2);
    // Each line begins where its first pulse was sent, so that a remote's slow clock doesn't carry it
    // out of its line; the ticks tell it.
    let sent: Vec<_> = spans(&wave.pulses_us).collect();
    let heard: Vec<_> = spans(&wave.heard_us).collect();
    let first = sent.iter().rposition(|(from, _)| *from <= part.from + 1.0).unwrap_or(0);
    let shift = match (sent.get(first), heard.get(first)) {
        (Some((sent, _)), Some((heard, _))) if sent_alike(wave) => sent - heard,
        _ => 0.0,
    };
    let (from, to) = (left, if part.is_last { line.right() - 8.0 } else { x(part.to) });
    let mut outline = Vec::new();
    for (number, (begins, ends)) in heard.iter().enumerate() {
        let (begins, ends) = (x(begins + shift), x(ends + shift));
        // What begins within a hair of the line's end belongs to the next line.
        if ends <= from || begins >= to - 1.5 {
            continue;
        }
        let y = if number.is_multiple_of(2) { foot } else { top };
        if outline.is_empty() && number.is_multiple_of(2) && begins >= from {
            outline.push(pos2(begins, top));
        }
        outline.extend([pos2(begins.max(from), y), pos2(ends.min(to), y)]);
    }
    // After the last mark the wire is idle again.
    if let Some(last) = outline.last().copied()
        && last.x < to
    {
        outline.extend([pos2(last.x, top), pos2(to, top)]);
    }
    if outline.len() > 1 {
        p.line(outline, Stroke::new(stroke::TRACE, theme.ink2));
    }
    if wave.off_us.is_empty() {
        return;
    }
    let zero = (line.top() + 126.0).round() + 0.5;
    text::cap(p, line.left() + 8.0, zero - 4.5, Align::Min, "+ µs", small, theme.ink2);
    p.hline(Rangef::new(left, line.right()), zero, theme.hairline());
    let marks = sent.iter().zip(&wave.off_us).step_by(2);
    for ((from, to), off_us) in marks {
        let middle = f64::midpoint(*from, *to);
        if middle < part.from || middle >= part.to {
            continue;
        }
        let high = (*off_us as f32 / US_A_POINT).clamp(-TICK.1, TICK.0);
        let ends = if high < 0.0 { zero - high.min(-1.0) } else { zero - high.max(1.0) };
        let at = x(middle).round();
        p.vline(at, Rangef::new(ends.min(zero), ends.max(zero)), Stroke::new(stroke::NODE, theme.ink));
    }
}

/// Whether what was heard has just the pulses that are sent.
fn sent_alike(wave: &Wave) -> bool {
    wave.heard_us.len() == wave.pulses_us.len()
}

fn draw_field(p: &Painter, theme: &Theme, y: f32, range: Rangef, field: &WaveField) {
    let line = Stroke::new(1.0, theme.edge);
    p.line(
        vec![pos2(range.min, y + 5.0), pos2(range.min, y), pos2(range.max, y), pos2(range.max, y + 5.0)],
        line,
    );
    let label = theme::regular(size::AXIS);
    let value = theme::mono(size::BODY);
    let words = field.value.as_deref().unwrap_or_default();
    let mut wide = text::width(p, &field.label, label.clone());
    let value_wide = if words.is_empty() { 0.0 } else { text::width(p, words, value.clone()) + 5.0 };
    let tick = if field.checked.is_some() { 20.0 } else { 0.0 };
    let mut show_label = true;
    if wide + value_wide + tick + 12.0 > range.span() {
        // Where there is no room for both, the value says more.
        if words.is_empty() && wide + 6.0 > range.span() {
            return;
        }
        if !words.is_empty() {
            show_label = false;
            wide = 0.0;
        }
    }
    let whole = wide + value_wide + tick;
    let left = range.center() - whole / 2.0;
    let back = Rect::from_min_max(pos2(left - 5.0, y - 8.0), pos2(left + whole + 5.0, y + 8.0));
    p.rect_filled(back, 0, theme.well);
    let mut x = left;
    if show_label {
        x += text::cap(p, x, y, Align::Min, &field.label, label, theme.ink2);
    }
    if !words.is_empty() {
        x += 5.0 + text::cap(p, x + 5.0, y, Align::Min, words, value, theme.ink);
    }
    match field.checked {
        Some(true) => icon(p, Icon::Tick, pos2(x + 12.0, y), 0.62, theme.ink),
        Some(false) => icon(p, Icon::Cross, pos2(x + 12.0, y), 0.62, theme.alarm_ink),
        None => {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::remote::{Code, encode, family};

    fn wave(address: u32, command: u32) -> Wave {
        let code = Code::Family { family: family("nec").unwrap().family_id(), address, command };
        let frame = encode(&code, false).unwrap();
        Wave {
            fields: frame
                .fields
                .iter()
                .map(|field| WaveField {
                    label: field.label.to_owned(),
                    value: None,
                    from_us: field.start_us,
                    to_us: field.start_us + field.length_us,
                    checked: None,
                })
                .collect(),
            bits: frame
                .bits
                .iter()
                .map(|bit| WaveBit {
                    from_us: bit.start_us,
                    to_us: bit.start_us + bit.length_us,
                    one: bit.value,
                })
                .collect(),
            pulses_us: frame.pulses_us,
            ..Wave::default()
        }
    }

    #[test]
    fn whatever_the_code_is_its_command_begins_the_second_line() {
        for (address, command) in [(0x59, 0x16), (0x97, 0x65), (0x00, 0xFF), (0xFF, 0x00)] {
            let wave = wave(address, command);
            assert_eq!(wave.split_us(660.0), Some(wave.bits[16].from_us));
        }
    }

    #[test]
    fn a_wide_window_needs_one_line() {
        let wave = wave(0x59, 0x16);
        assert_eq!(wave.split_us(1300.0), None);
        assert!(wave.height(1300.0) < wave.height(660.0));
    }

    #[test]
    fn what_was_heard_takes_room_below_each_line() {
        let sent = wave(0x59, 0x16);
        let heard = Wave { heard_us: sent.pulses_us.clone(), ..sent.clone() };
        assert_eq!((sent.height(660.0), sent.height(1300.0)), (192.0, 90.0));
        assert_eq!((heard.height(660.0), heard.height(1300.0)), (288.0, 138.0));
    }
}
