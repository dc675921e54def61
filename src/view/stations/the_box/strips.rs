//! Where in its band each press landed: a strip for each button the box knows, to its own scale.

use std::collections::BTreeMap;

use egui::{Align, Rect, Role, Sense, Ui, pos2, vec2};

use super::decisions::Names;
use super::parts::heads;
use super::tally;
use crate::app::Model;
use crate::bands::Rung;
use crate::units::count_text;
use crate::view::stations::codes::prose;
use crate::view::theme::{self, Theme, size, space};
use crate::view::widgets::band_strip::BandStrip;
use crate::view::widgets::bracket::bracket_ui;
use crate::view::widgets::plate::{PlateMode, plate};
use crate::view::widgets::{focus, text};
use crate::wire::DecisionKind;

/// A strip, and one with its air.
const STRIP: f32 = 30.0;
const ROW: f32 = 36.0;
/// From this width on the buttons' names and all figures have room.
const ROOMY: f32 = 460.0;

/// What the presses of one button came to.
#[derive(Default)]
struct Landed {
    counts: Vec<f64>,
    slowest_ms: u16,
}

/// Where the columns lie, from a row's left end.
struct Columns {
    width: f32,
    roomy: bool,
    /// Where the strip begins, and how wide it is.
    from: f32,
    strip: f32,
    /// Where the figures end: to the nearest edge, slowest, presses.
    ends: [f32; 3],
}

impl Columns {
    fn of(width: f32) -> Self {
        let roomy = width >= ROOMY;
        let (from, tail) = if roomy { (150.0, 244.0) } else { (34.0, 96.0) };
        let strip = (width - from - tail).clamp(60.0, 560.0);
        let end = from + strip;
        Self { width, roomy, from, strip, ends: [end + 84.0, end + 152.0, end + 244.0] }
    }

    fn heads(&self, ui: &mut Ui) {
        let mut words = vec![("nearest", self.ends[0], Align::Max)];
        if self.roomy {
            words.extend([("slowest", self.ends[1], Align::Max), ("presses", self.ends[2], Align::Max)]);
        }
        if self.strip >= 250.0 {
            words.push(("low edge", self.from + 4.0, Align::Min));
            words.push(("high edge", self.from + self.strip - 4.0, Align::Max));
        }
        if self.strip >= 100.0 {
            words.push(("accept band", self.from + self.strip / 2.0, Align::Center));
        }
        heads(ui, &words);
    }
}

/// Draws the region.
pub(super) fn strips_ui(ui: &mut Ui, model: &Model, names: &Names<'_>) {
    let mut landed: BTreeMap<u8, Landed> = BTreeMap::new();
    for seen in model.the_box.decisions.iter().filter(|seen| seen.kind == DecisionKind::Pressed) {
        let Some(number) = seen.button.filter(|_| seen.count.is_finite()) else { continue };
        let there = landed.entry(number).or_default();
        there.counts.push(seen.count);
        there.slowest_ms = there.slowest_ms.max(seen.latency_ms);
    }
    let right = match landed.values().map(|landed| landed.counts.len()).sum::<usize>() {
        0 => "no press yet".to_owned(),
        presses => tally::counted(presses as u64, "press"),
    };
    bracket_ui(ui, "Where each press landed", &right);
    if names.buttons() == 0 {
        ui.add_space(space::TIGHT);
        prose(ui, "The box holds no bands yet.", size::BODY, Theme::of(ui.ctx()).ink2);
        return;
    }
    let columns = Columns::of(ui.available_width());
    columns.heads(ui);
    for number in 0..names.buttons() {
        let nothing = Landed::default();
        row_ui(ui, model, names, &columns, number, landed.get(&number).unwrap_or(&nothing));
    }
}

fn row_ui(ui: &mut Ui, model: &Model, names: &Names<'_>, columns: &Columns, number: u8, landed: &Landed) {
    let theme = Theme::of(ui.ctx());
    let (rect, _) = ui.allocate_exact_size(vec2(columns.width, ROW), Sense::hover());
    let (left, y) = (rect.left(), rect.center().y);
    let index = names.index(number).unwrap_or(usize::from(number));
    let name = names.button(number);
    let p = ui.painter();
    plate(p, &theme, index, pos2(left + 14.0, y), 12.0, PlateMode::Measured);
    if columns.roomy {
        let room = columns.from - 38.0 - 8.0;
        let font = theme::bold(size::BODY);
        text::cap_within(p, left + 38.0, y, Align::Min, room, &name, font, theme.ink);
    }
    let place = Rect::from_min_size(pos2(left + columns.from, y - STRIP / 2.0), vec2(columns.strip, STRIP));
    let font = theme::regular(size::BODY);
    let Some((low, high)) = names.band(number) else {
        text::cap(p, place.left(), y, Align::Min, "accepts nothing", font, theme.ink3);
        focus::tell(ui, rect, &name, Role::Label, &format!("{name} accepts nothing"));
        return;
    };
    let nearest = landed.counts.iter().map(|count| (count - low).min(high - count)).reduce(f64::min);
    let centre = model.derived.bands.band(Rung::Button(index)).map(|band| band.centre_count);
    let said = match nearest {
        Some(nearest) => format!(
            "{name}, {}, nearest {} from an edge, slowest {} ms",
            tally::counted(landed.counts.len() as u64, "press"),
            counts(nearest),
            landed.slowest_ms
        ),
        None => format!("{name}, no press yet, accepts {low:.0} to {high:.0}"),
    };
    BandStrip { index, low, high, centre, presses: &landed.counts }.show_at(ui, place, &said);
    let figure = |at: usize, words: &str, font, ink| {
        text::cap(ui.painter(), left + columns.ends[at], y, Align::Max, words, font, ink);
    };
    let Some(nearest) = nearest else {
        figure(0, "not yet", font, theme.ink3);
        return;
    };
    figure(0, &counts(nearest), font.clone(), theme.ink);
    if columns.roomy {
        figure(1, &format!("{} ms", landed.slowest_ms), font, theme.ink);
        figure(2, &landed.counts.len().to_string(), theme::bold(size::BODY), theme.ink);
    }
}

fn counts(edge: f64) -> String {
    format!("{} {}", count_text(edge, 0), if edge.round() == 1.0 { "count" } else { "counts" })
}
