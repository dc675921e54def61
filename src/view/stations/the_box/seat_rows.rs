//! Where each press of the seat check landed: a strip for each button, engine off above, running below.

use egui::{Align, Rect, Role, Sense, Stroke, Ui, pos2, vec2};

use super::decisions::Names;
use super::parts::heads;
use crate::app::Model;
use crate::project::{SeatCount, SeatPress};
use crate::units::count_text;
use crate::view::theme::{self, Theme, size, space};
use crate::view::widgets::band_strip::BandStrip;
use crate::view::widgets::bracket::bracket_ui;
use crate::view::widgets::plate::{PlateMode, plate};
use crate::view::widgets::{focus, text};

/// A strip, and one with its air.
const STRIP: f32 = 30.0;
const ROW: f32 = 36.0;
/// From this width on the buttons' names and all figures have room.
const ROOMY: f32 = 460.0;
/// A dot of a press.
const DOT: f32 = 4.0;

/// Draws the region.
pub(super) fn rows_ui(ui: &mut Ui, model: &Model, presses: &[SeatPress]) {
    let (Some(project), Some(names)) = (model.project(), Names::of(model)) else { return };
    let running = presses.iter().any(|press| press.running);
    bracket_ui(
        ui,
        "Where each press landed",
        if running { "white engine off, ink running" } else { "engine off" },
    );
    let width = ui.available_width();
    let roomy = width >= ROOMY;
    let (from, tail) = if roomy { (150.0, 244.0) } else { (34.0, 96.0) };
    let strip = (width - from - tail).clamp(60.0, 560.0);
    let ends = [from + strip + 84.0, from + strip + 152.0, from + strip + 244.0];
    let mut words = vec![("nearest", ends[0], Align::Max)];
    if roomy {
        words.extend([("slowest", ends[1], Align::Max), ("right", ends[2], Align::Max)]);
    }
    if strip >= 250.0 {
        words.push(("low edge", from + 4.0, Align::Min));
        words.push(("high edge", from + strip - 4.0, Align::Max));
    }
    heads(ui, &words);
    for (index, button) in project.wheel.buttons.iter().enumerate() {
        let (rect, _) = ui.allocate_exact_size(vec2(width, ROW), Sense::hover());
        let theme = Theme::of(ui.ctx());
        let (left, y) = (rect.left(), rect.center().y);
        let p = ui.painter();
        plate(p, &theme, index, pos2(left + 14.0, y), 12.0, PlateMode::Measured);
        if roomy {
            let font = theme::bold(size::BODY);
            text::cap_within(p, left + 38.0, y, Align::Min, from - 46.0, &button.name, font, theme.ink);
        }
        let own: Vec<&SeatPress> = presses.iter().filter(|press| press.asked == button.id).collect();
        let count = SeatCount::of(own.iter().copied());
        let right = count.presses - count.errors;
        let nearest = own.iter().filter_map(|press| press.edge_count).reduce(f64::min);
        let slowest = own.iter().filter_map(|press| press.latency_ms).max();
        let number = (0..names.buttons()).find(|&number| names.index(number) == Some(index));
        let place = Rect::from_min_size(pos2(left + from, y - STRIP / 2.0), vec2(strip, STRIP));
        let mut said = format!("{}: {right} of {} right", button.name, count.presses);
        if let Some(nearest) = nearest {
            said.push_str(&format!(", nearest {} counts from an edge", count_text(nearest, 0)));
        }
        if let Some(slowest) = slowest {
            said.push_str(&format!(", slowest {slowest} ms"));
        }
        if count.presses > 0 {
            said.push_str(&format!(". {}", count.bound()));
        }
        match number.and_then(|number| names.band(number)) {
            Some((low, high)) => {
                let strip = BandStrip { index, low, high, centre: None, presses: &[] };
                strip.show_at(ui, place, &said);
                dots(ui, &theme, &strip, place, &own);
            }
            None => {
                let font = theme::regular(size::BODY);
                text::cap(ui.painter(), place.left(), y, Align::Min, "accepts nothing", font, theme.ink3);
                focus::tell(ui, rect, &button.name, Role::Label, &format!("{} accepts nothing", button.name));
            }
        }
        let figure = |at: usize, words: &str, bold: bool, ink| {
            let font = if bold { theme::bold(size::BODY) } else { theme::regular(size::BODY) };
            text::cap(ui.painter(), left + ends[at], y, Align::Max, words, font, ink);
        };
        if count.presses == 0 {
            figure(0, "not yet", false, theme.ink3);
            continue;
        }
        if let Some(nearest) = nearest {
            figure(0, &format!("{} counts", count_text(nearest, 0)), false, theme.ink);
        }
        if roomy {
            if let Some(slowest) = slowest {
                figure(1, &format!("{slowest} ms"), false, theme.ink);
            }
            let ink = if count.errors > 0 { theme.alarm_ink } else { theme.ink };
            figure(2, &format!("{right} of {}", count.presses), true, ink);
        }
    }
    ui.add_space(space::TIGHT);
}

/// One dot a press that was right, in two lanes.
fn dots(ui: &Ui, theme: &Theme, strip: &BandStrip<'_>, rect: Rect, presses: &[&SeatPress]) {
    let p = ui.painter();
    for press in presses.iter().filter(|press| !press.outcome.is_error()) {
        let Some(count) = press.count else { continue };
        let x = strip.x(rect, count).clamp(rect.left() + DOT, rect.right() - DOT);
        let (y, fill) = if press.running {
            (rect.center().y + 7.0, theme.ink)
        } else {
            (rect.center().y - 7.0, theme.well)
        };
        p.circle(pos2(x, y), DOT, fill, Stroke::new(1.0, theme.ink));
    }
}
