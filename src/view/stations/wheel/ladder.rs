//! The ladder that fits: a chain with its taps, or a resistor of its own for each button; preferred values over
//! metered ones.

use egui::epaint::StrokeKind;
use egui::{Align, Pos2, Rect, Role, Sense, Stroke, Ui, pos2, vec2};

use crate::app::{Action, Edit};
use crate::project::{OddReading, Project, WireReadings, meter_text};
use crate::view::stations::codes::prose;
use crate::view::theme::{self, Theme, control, size, space, stroke};
use crate::view::widgets::segments::Segments;
use crate::view::widgets::{bracket, focus, plate, text};
use crate::wheel::{PairAnswer, Sureness, Topology};

/// Height of the drawing.
const HIGH: f32 = 112.0;
/// From its top to the chain, and from its foot to the return.
const CHAIN: f32 = 32.0;
const BACK: f32 = 8.0;
/// A resistor's box.
const BOX: (f32, f32) = (30.0, 11.0);

/// A resistor to be drawn.
struct Drawn {
    button: Option<usize>,
    value: String,
    metered: String,
}

/// Draws the ladder of a wire.
pub(super) fn ladder_ui(ui: &mut Ui, project: &Project, readings: &WireReadings, actions: &mut Vec<Action>) {
    let theme = Theme::of(ui.ctx());
    let topology = project.wheel.topology;
    let name = match topology {
        Topology::Series => "The chain that fits",
        Topology::Parallel => "The resistors that fit",
    };
    ui.add_space(space::TIGHT);
    bracket::bracket_ui(ui, name, "in Ω, nearest preferred value over the metered one");
    let parts = readings.fit.parts(topology);
    if parts.parts.is_empty() {
        prose(ui, "Meter the buttons: the ladder they fit is drawn here.", size::BODY, theme.ink2);
        return;
    }
    let drawn = drawn(readings, topology);
    let most = ((ui.available_width() / 58.0).floor() as usize).max(2);
    for (row, chunk) in drawn.chunks(most).enumerate() {
        row_ui(ui, project, topology, chunk, row == 0);
    }
    ui.add_space(4.0);
    prose(ui, &sentence(project, readings), size::BODY, theme.ink2);
    ui.add_space(4.0);
    let at = usize::from(topology == Topology::Parallel);
    let items = ["Chain with taps", "Single resistors"];
    if let Some(chosen) = Segments::new("Taken as", &items, at).height(control::TARGET).show(ui) {
        let topology = if chosen == 0 { Topology::Series } else { Topology::Parallel };
        actions.push(Action::Edit(Edit::Topology(topology)));
    }
}

/// The resistors in their order. Where a reading is doubted, the parts it makes say so.
fn drawn(readings: &WireReadings, topology: Topology) -> Vec<Drawn> {
    let parts = readings.fit.parts(topology);
    let doubted = |button: usize| {
        readings.rows.iter().any(|row| {
            row.rung == crate::bands::Rung::Button(button)
                && matches!(row.odd, Some(OddReading::Learned { .. } | OddReading::OutOfOrder))
        })
    };
    let value = |ohm: Option<f64>| ohm.map_or_else(|| "?".to_owned(), preferred);
    let mut drawn = Vec::new();
    let mut before = None;
    for part in &parts.parts {
        let spoilt = doubted(part.button) || (topology == Topology::Series && before.is_some_and(doubted));
        drawn.push(Drawn {
            button: Some(part.button),
            value: value(part.preferred_ohm),
            metered: if spoilt { "not yet".to_owned() } else { short(part.ohm) },
        });
        before = Some(part.button);
    }
    if let Some(end) = parts.end {
        drawn.push(Drawn { button: None, value: value(end.preferred_ohm), metered: short(end.ohm) });
    }
    drawn
}

/// A preferred value, with two figures or as many as it has: `82`, `1.0k`, `10k`, `1.02k`.
fn preferred(ohm: f64) -> String {
    let whole = short(ohm);
    let Some((figures, unit)) =
        whole.strip_suffix(['k', 'M']).map(|figures| (figures, &whole[figures.len()..]))
    else {
        return whole;
    };
    let figures = match figures.strip_suffix(".0") {
        Some(whole) if whole.len() > 1 => whole,
        _ if figures.len() > 3 => figures.strip_suffix('0').unwrap_or(figures),
        _ => figures,
    };
    format!("{figures}{unit}")
}

/// What the meter read, without its sign, three figures: `82`, `1.00k`, `2.71k`, `10.0k`.
fn short(ohm: f64) -> String {
    match ohm {
        ohm if ohm < 0.0 => format!("−{:.0}", -ohm),
        ohm if ohm < 10.0 => format!("{ohm:.1}"),
        ohm if ohm < 999.5 => format!("{ohm:.0}"),
        ohm if ohm < 9_995.0 => format!("{:.2}k", ohm / 1e3),
        ohm if ohm < 999_500.0 => format!("{:.1}k", ohm / 1e3),
        ohm => format!("{:.2}M", ohm / 1e6),
    }
}

fn row_ui(ui: &mut Ui, project: &Project, topology: Topology, drawn: &[Drawn], first: bool) {
    let theme = Theme::of(ui.ctx());
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width().min(640.0), HIGH), Sense::hover());
    let p = ui.painter().clone();
    let line = Stroke::new(stroke::SCHEMATIC, theme.ink);
    let (top, bottom) = (rect.top() + CHAIN, rect.bottom() - BACK);
    let (left, right) = (rect.left() + 8.0, rect.right() - 38.0);
    let step = (right - left) / drawn.len() as f32;
    p.hline(left..=left + step * drawn.len() as f32, bottom, line);
    for y in [top, bottom] {
        if first {
            p.circle(pos2(left - 4.0, y), 3.5, theme.face, line);
        }
    }
    for (place, part) in drawn.iter().enumerate() {
        let from = left + step * place as f32;
        let to = from + step;
        p.hline(from..=to, top, line);
        let at = match topology {
            Topology::Series => pos2(from + step / 2.0, top),
            Topology::Parallel => pos2(to, top + 30.0),
        };
        p.vline(to, top..=bottom, line);
        resistor(&p, &theme, at, topology == Topology::Parallel);
        let words = if topology == Topology::Series { at.x } else { to };
        let font = theme::bold(size::BODY);
        text::cap(&p, words, top - 18.0, Align::Center, &part.value, font, theme.ink);
        let below = match topology {
            Topology::Series => pos2(at.x, top + 18.0),
            Topology::Parallel => pos2(to - 18.0, top + 30.0),
        };
        let align = if topology == Topology::Series { Align::Center } else { Align::Max };
        text::cap(&p, below.x, below.y, align, &part.metered, theme::regular(size::AXIS), theme.ink2);
        if let Some(index) = part.button {
            for y in [top, bottom] {
                p.circle_filled(pos2(to, y), 3.0, theme.ink);
            }
            let learned =
                project.wheel.buttons.get(index).is_some_and(|button| project.is_learned(&button.id));
            let mode = if learned { plate::PlateMode::Measured } else { plate::PlateMode::Planned };
            plate::plate(&p, &theme, index, pos2(to, f32::midpoint(top, bottom) + 10.0), 11.5, mode);
        }
    }
    let said: Vec<String> = drawn
        .iter()
        .map(|part| {
            let name = part.button.and_then(|index| project.wheel.buttons.get(index));
            let name = name.map_or("end", |button| button.name.as_str());
            format!("{name} {} ohms, metered {}", part.value, part.metered)
        })
        .collect();
    focus::tell(ui, rect, &format!("ladder {first} {}", rect.top()), Role::Image, &said.join("; "));
}

fn resistor(p: &egui::Painter, theme: &Theme, at: Pos2, upright: bool) {
    let size = if upright { vec2(BOX.1, BOX.0) } else { vec2(BOX.0, BOX.1) };
    let rect = Rect::from_center_size(at, size);
    p.rect(rect, 0, theme.face, Stroke::new(stroke::SCHEMATIC, theme.ink), StrokeKind::Middle);
}

/// How sure the topology is, and what would decide it.
fn sentence(project: &Project, readings: &WireReadings) -> String {
    let fit = &readings.fit;
    let kind = match fit.topology {
        Topology::Series => "a chain with taps",
        Topology::Parallel => "a resistor of its own for each button",
    };
    let ratio = if fit.ratio >= 1_000.0 { "over 1000".to_owned() } else { format!("{:.0}", fit.ratio) };
    let sure = match fit.sureness {
        Sureness::Certain => format!("Certainly {kind}: two pressed at once read so."),
        Sureness::Likely => {
            format!("Likely {kind}, {ratio} to 1 by how near the parts are to preferred values.")
        }
        Sureness::CannotTell => "The readings can't tell a chain from single resistors.".to_owned(),
    };
    let neither = if fit.answer == Some(PairAnswer::Neither) {
        " Two at once read as neither: meter them again."
    } else {
        ""
    };
    let differs = if fit.topology != project.wheel.topology && fit.sureness != Sureness::CannotTell {
        " It is taken for the other below."
    } else {
        ""
    };
    let name = |index: usize| project.wheel.buttons.get(index).map_or("", |button| button.name.as_str());
    let ask = match fit.ask {
        Some(ask) if fit.sureness != Sureness::Certain => format!(
            " Press {} and {} at once: {} is a chain, {} is not.",
            name(ask.buttons.0),
            name(ask.buttons.1),
            meter_text(ask.series_ohm),
            meter_text(ask.parallel_ohm)
        ),
        _ => String::new(),
    };
    format!("{sure}{differs}{neither}{ask}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_preferred_value_is_written_as_resistors_are_sold() {
        let written = [
            8.2, 82.0, 820.0, 1000.0, 1020.0, 2700.0, 9100.0, 10_000.0, 15_000.0, 10_200.0, 47_500.0,
            100_000.0, 1e6,
        ]
        .map(preferred);
        assert_eq!(
            written,
            [
                "8.2", "82", "820", "1.0k", "1.02k", "2.7k", "9.1k", "10k", "15k", "10.2k", "47.5k", "100k",
                "1.0M"
            ]
        );
    }

    #[test]
    fn a_metered_value_keeps_three_figures() {
        let written = [84.0, 384.2, 1002.0, 2710.0, 10_020.0].map(short);
        assert_eq!(written, ["84", "384", "1.00k", "2.71k", "10.0k"]);
    }
}
