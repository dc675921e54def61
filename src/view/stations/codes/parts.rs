//! What the list, the form and the chosen command share: pieces of text in several fonts, a code's
//! waveform, and how a code is called.

use std::sync::Arc;

use egui::text::{LayoutJob, TextFormat, TextWrapping};
use egui::{Color32, FontId, Galley, Rect, Role, Ui, UiBuilder, pos2, vec2};

use crate::remote::{self, Code, Consensus, Frame};
use crate::view::theme::{self, Theme, size, space};
use crate::view::widgets::plot::wave::{Wave, WaveBit, WaveField, wave_ui};
use crate::view::widgets::{bracket, focus, text};

/// The code's number as it stands in a list: its command in hex.
pub(in crate::view::stations) fn short(code: &Code) -> String {
    match code {
        Code::Family { family, command, .. } => {
            let digits = remote::family(family).map_or(2, remote::Family::command_digits);
            format!("{command:0digits$X}")
        }
        Code::Free { free, command, .. } => {
            let digits = usize::from(free.command_bits).div_ceil(8) * 2;
            format!("{command:0digits$X}")
        }
        Code::Raw { .. } => "raw".to_owned(),
    }
}

/// Address and command in hex, `59 16`.
pub(super) fn bytes(code: &Code) -> String {
    match code {
        Code::Family { family, address, .. } => {
            let digits = remote::family(family).map_or(2, remote::Family::address_digits);
            format!("{address:0digits$X} {}", short(code))
        }
        Code::Free { free, address, .. } => {
            let digits = usize::from(free.address_bits).div_ceil(8) * 2;
            let address = if digits > 0 { format!("{address:0digits$X} ") } else { String::new() };
            format!("{address}{}", short(code))
        }
        Code::Raw { .. } => short(code),
    }
}

/// Words in several fonts and colours, wrapped at a width.
pub(super) fn runs(ui: &Ui, width: f32, pieces: &[(&str, FontId, Color32)]) -> Arc<Galley> {
    let mut job = LayoutJob::default();
    let line = pieces.iter().map(|(_, font, _)| font.size).fold(0.0, f32::max) * size::LINE;
    for (words, font, colour) in pieces {
        let format =
            TextFormat { line_height: Some(line.round()), ..TextFormat::simple(font.clone(), *colour) };
        job.append(words, 0.0, format);
    }
    job.wrap = TextWrapping { max_width: width, break_anywhere: false, ..TextWrapping::default() };
    ui.painter().layout_job(job)
}

/// Shows a galley at the layout's next place, and tells what it says.
pub(super) fn show(ui: &mut Ui, galley: Arc<Galley>, salt: &str, role: Role, said: &str) -> Rect {
    let (rect, _) = ui.allocate_exact_size(galley.size(), egui::Sense::hover());
    ui.painter().galley(rect.min, galley, Color32::PLACEHOLDER);
    if !said.is_empty() {
        focus::tell(ui, rect, salt, role, said);
    }
    rect
}

/// Wrapped prose at the layout's next place.
pub(in crate::view::stations) fn prose(ui: &mut Ui, words: &str, points: f32, colour: Color32) -> Rect {
    let width = ui.available_width().min(640.0);
    let galley = text::prose(ui.painter(), words, theme::regular(points), colour, width, 8);
    show(ui, galley, words, Role::Label, words)
}

/// Two regions side by side where both fit, else one under the other.
pub(in crate::view::stations) fn beside(
    ui: &mut Ui,
    left_width: f32,
    right_least: f32,
    left: impl FnOnce(&mut Ui),
    right: impl FnOnce(&mut Ui),
) {
    let whole = ui.available_rect_before_wrap();
    if whole.width() < left_width + space::REGION + right_least {
        left(ui);
        ui.add_space(space::BLOCK);
        right(ui);
        return;
    }
    let split = whole.left() + left_width;
    let one = Rect::from_min_max(whole.min, pos2(split, whole.bottom()));
    let two = Rect::from_min_max(pos2(split + space::REGION, whole.top()), whole.max);
    let one = ui.scope_builder(UiBuilder::new().max_rect(one), left).response.rect;
    let two = ui.scope_builder(UiBuilder::new().max_rect(two), right).response.rect;
    let used = one.union(two);
    ui.advance_cursor_after_rect(used);
}

/// The waveform of a code under its bracket, as wide as the layout allows.
pub(super) fn wave_block(ui: &mut Ui, frame: &Frame, code: &Code) {
    heard_block(ui, frame, code, None);
}

/// The same with what was heard of it below, where it was heard.
pub(super) fn heard_block(ui: &mut Ui, frame: &Frame, code: &Code, heard: Option<&Consensus>) {
    let long = format!("{:.1} ms", frame.total_us() / 1e3);
    let mut said = format!("Waveform of {}, {long}", remote::describe(code));
    let mut wave = wave(frame);
    let mut words = long;
    if let Some(heard) = heard {
        words = match heard.agree {
            1 => "heard: one press".to_owned(),
            presses => format!("heard: the mean of {presses} presses"),
        };
        said = format!("{said}, {words}");
        wave.heard_us.clone_from(&heard.mean_us);
        // A raw code is sent as it was heard: nothing drifts there.
        let is_raw = matches!(code, Code::Raw { .. });
        if !is_raw && heard.mean_us.len() == frame.pulses_us.len() {
            let pairs = heard.mean_us.iter().zip(&frame.pulses_us);
            wave.off_us = pairs.map(|(heard, sent)| heard - sent).collect();
            said = format!("{said}, marks {}", stretch(heard.heard.stretch_us));
        }
    }
    bracket::bracket_ui(ui, "On the wire", &words);
    ui.add_space(14.0);
    let width = ui.available_width();
    let (rect, _) = ui.allocate_exact_size(vec2(width, wave.height(width)), egui::Sense::hover());
    wave_ui(ui, rect, &wave, &said);
}

/// By how much marks are longer than sent, `+71 µs`.
pub(super) fn stretch(us: f64) -> String {
    // Adding zero makes -0 a plain 0.
    format!("{:+.0} µs", us.round() + 0.0)
}

/// As a sentence begins and ends.
pub(super) fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    let first = letters.next().map(char::to_uppercase).into_iter().flatten();
    first.chain(letters).chain(['.']).collect()
}

/// The place of the waveform while there is no code.
pub(super) fn no_wave_block(ui: &mut Ui, words: &str) {
    let theme = Theme::of(ui.ctx());
    bracket::bracket_ui(ui, "On the wire", "");
    ui.add_space(14.0);
    let high = crate::view::widgets::plot::wave::LINE;
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), high), egui::Sense::hover());
    let p = ui.painter();
    p.rect_filled(rect, 0, theme.well);
    crate::view::widgets::hatch::dashed_rect(p, rect, theme.outline(), 4.0, 3.0);
    let (x, y) = (rect.center().x, rect.center().y);
    let room = rect.width() - 24.0;
    text::cap_within(p, x, y, egui::Align::Center, room, words, theme::regular(size::BODY), theme.ink2);
    focus::tell(ui, rect, "no waveform", Role::Label, words);
}

fn wave(frame: &Frame) -> Wave {
    let is_tail = |field: &&remote::Field| field.width == 0 && field.start_us > 0.0;
    Wave {
        pulses_us: frame.pulses_us.clone(),
        fields: frame
            .fields
            .iter()
            .filter(|field| !is_tail(field))
            .map(|field| WaveField {
                label: field.label.to_owned(),
                value: field.value_text(),
                from_us: field.start_us,
                to_us: field.start_us + field.length_us,
                checked: field.checked,
            })
            .collect(),
        bits: frame
            .bits
            .iter()
            .map(|bit| WaveBit { from_us: bit.start_us, to_us: bit.start_us + bit.length_us, one: bit.value })
            .collect(),
        tail: frame.fields.iter().find(is_tail).map(|field| field.label.to_owned()).unwrap_or_default(),
        ..Wave::default()
    }
}

/// How long the code is and what follows while the button is held.
pub(super) fn timing_words(frame: &Frame) -> String {
    let long = frame.total_us() / 1e3;
    match frame.repeat.period_us {
        Some(period) => format!("{long:.1} ms, repeats every {} ms", short_ms(period)),
        None => format!("{long:.1} ms, sent once"),
    }
}

fn short_ms(us: f64) -> String {
    let text = format!("{:.1}", us / 1e3);
    text.strip_suffix(".0").map(str::to_owned).unwrap_or(text)
}
