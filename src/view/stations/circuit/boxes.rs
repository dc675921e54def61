//! A million boxes: for each button the band they all carry, laid flat, with where their readings fall on
//! a logarithmic height; what they ignore and misread beside it. Computes nothing.

use egui::epaint::Mesh;
use egui::{Align, Key, Modifiers, Painter, Rect, Role, Stroke, Ui, pos2, vec2};

use crate::app::circuit::boxes::{BOXES, BoxesAction, Building, Built, chance_text, grouped};
use crate::app::{Action, CircuitAction, Model};
use crate::bands::Rung;
use crate::project::banding::rung_name;
use crate::project::{Basis, BuiltBoxes, BuiltRung, Project};
use crate::view::theme::{self, Theme, bold, control, mix, regular, size, stroke};
use crate::view::widgets::bracket::bracket;
use crate::view::widgets::button::Button;
use crate::view::widgets::focus::{self, key_pressed};
use crate::view::widgets::plate::{PlateMode, plate, rest_tag};
use crate::view::widgets::progress::Progress;
use crate::view::widgets::{hatch, text};

/// What is typed or scrolled here and isn't part of the model.
#[derive(Debug, Default)]
pub(super) struct Draft {
    /// The row that was pointed at in the last frame.
    hovered: Option<Rung>,
}

/// From the bracket's line to the first row, and under the last one for the foot.
const HEAD: f32 = 18.0;
const FOOT: f32 = 36.0;
/// A row is as high as there is room, between these.
const LEAST_ROW: f32 = 26.0;
const MOST_ROW: f32 = 34.0;
/// The strip's height, and where it begins.
const STRIP: f32 = 24.0;
const STRIP_LEFT: f32 = 34.0;
/// The right column has at least so much, and at most this share of all.
const FIGURES: f32 = 96.0;
const MOST_FIGURES: f32 = 0.42;
/// How much of its colour a histogram keeps once it is out of date.
const STALE: f32 = 0.4;

/// Draws it.
pub(super) fn boxes_ui(
    ui: &mut Ui,
    model: &Model,
    draft: &mut Draft,
    place: Rect,
    actions: &mut Vec<Action>,
) {
    let Some(project) = model.project() else { return };
    let theme = Theme::of(ui);
    let state = &model.circuit.boxes;
    let built = state.built.as_ref();
    let right = told_right(model);
    bracket(ui.painter(), &theme, place.x_range(), place.top(), "A million boxes", &right);
    let head = Rect::from_center_size(pos2(place.center().x, place.top()), vec2(place.width(), 20.0));
    focus::tell(ui, head, "boxes head", Role::Heading, &format!("A million boxes, {right}"));
    let mut y = place.top() + HEAD;
    if let Some(Built { result: Ok(boxes), .. }) = built {
        y = rows_ui(ui, &theme, project, boxes, model.boxes_are_fresh(), draft, place, y);
    }
    let foot = Rect::from_min_max(pos2(place.left(), y), pos2(place.right(), place.bottom().max(y + FOOT)));
    let used = foot_ui(ui, model, draft, foot, actions);
    // What was drawn, so that whoever placed it knows how far down it went.
    let drawn = Rect::from_min_max(place.min, pos2(place.right(), used.max(y)));
    ui.advance_cursor_after_rect(drawn);
}

/// The bracket's second text.
fn told_right(model: &Model) -> String {
    let state = &model.circuit.boxes;
    match (&state.building, &state.built) {
        (Some(_), Some(_)) => "building anew".to_owned(),
        (Some(_), None) => "building".to_owned(),
        (None, Some(Built { result: Ok(_), .. })) if !model.boxes_are_fresh() => "out of date".to_owned(),
        (None, Some(Built { result: Ok(boxes), took_ms, .. })) => {
            format!("seed {}, {:.1} s", boxes.seed, took_ms / 1e3)
        }
        _ => String::new(),
    }
}

/// Draws a row for each rung, and says where they end.
#[expect(clippy::too_many_arguments, reason = "rows are a place, what they show of which project, and how")]
fn rows_ui(
    ui: &Ui,
    theme: &Theme,
    project: &Project,
    boxes: &BuiltBoxes,
    fresh: bool,
    draft: &mut Draft,
    place: Rect,
    top: f32,
) -> f32 {
    // Rest has a row only where something is wrong with it.
    let rests = boxes.rests.iter().filter(|rest| rest.ignored + rest.misread > 0);
    let rungs: Vec<&BuiltRung> = boxes.buttons.iter().chain(rests).collect();
    let room = place.bottom() - FOOT - top;
    let high = (room / rungs.len().max(1) as f32).clamp(LEAST_ROW, MOST_ROW);
    let figures: Vec<_> = rungs.iter().map(|rung| figure(project, rung)).collect();
    let p = ui.painter();
    let widest = figures.iter().map(|(said, _)| text::width(p, said, bold(size::AXIS))).fold(0.0, f32::max);
    let column = (widest + 12.0).clamp(FIGURES, FIGURES.max(MOST_FIGURES * place.width()));
    let mode = if boxes.basis == Basis::Learned { PlateMode::Measured } else { PlateMode::Planned };
    let mut hovered = None;
    for (at, (rung, (said, weight))) in rungs.iter().zip(&figures).enumerate() {
        let row = Rect::from_min_size(pos2(place.left(), top + at as f32 * high), vec2(place.width(), high));
        let y = row.center().y - 1.0;
        let words = row_words(project, rung, boxes.boxes);
        let response = focus::tell(ui, row, &format!("boxes {at}"), Role::Figure, &words);
        if response.hovered() {
            hovered = Some(rung.rung);
        }
        match rung.rung {
            Rung::Button(index) => plate(p, theme, index, pos2(row.left() + 12.0, y), 10.5, mode),
            Rung::Rest(_) => rest_tag(p, theme, pos2(row.left() + 12.0, y), 8.0),
        }
        let strip = Rect::from_min_max(
            pos2(row.left() + STRIP_LEFT, y - STRIP / 2.0),
            pos2(row.right() - column, y + STRIP / 2.0),
        );
        strip_painted(p, theme, rung, strip, fresh);
        let (font, colour) = match weight {
            Weight::Nothing => (regular(size::AXIS), theme.ink2),
            Weight::Ignored => (bold(size::AXIS), theme.ink),
            Weight::Misread => (bold(size::AXIS), theme.alarm_ink),
        };
        text::cap_within(p, row.right(), y, Align::Max, column - 8.0, said, font, colour);
    }
    draft.hovered = hovered;
    top + rungs.len() as f32 * high
}

/// How much a row's figure weighs.
enum Weight {
    Nothing,
    Ignored,
    Misread,
}

/// What stands at a row's right: the gravest of what happens to it.
fn figure(project: &Project, rung: &BuiltRung) -> (String, Weight) {
    if rung.misread > 0 {
        let most = rung.misread_as.iter().max_by_key(|(_, boxes)| *boxes);
        let other = most.map(|&(index, _)| format!(" as {}", rung_name(project, Rung::Button(index))));
        (format!("{} misread{}", grouped(rung.misread), other.unwrap_or_default()), Weight::Misread)
    } else if rung.ignored > 0 {
        (format!("{} ignored", grouped(rung.ignored)), Weight::Ignored)
    } else {
        ("0".to_owned(), Weight::Nothing)
    }
}

/// One rung's band with the histogram over it.
fn strip_painted(p: &Painter, theme: &Theme, rung: &BuiltRung, strip: Rect, fresh: bool) {
    let (tint, fill, edge) = match rung.rung {
        Rung::Button(index) => (theme.button(index).band, theme.button(index).plate, theme.band_edge(index)),
        Rung::Rest(_) => (theme.rest.band, theme.rest.plate, theme.ink2),
    };
    p.rect_filled(strip, 0, theme.well);
    hatch::reject(p, theme, strip);
    let (low, high) = rung.axis_count;
    let x = |count: f64| {
        let share = ((count - low) / (high - low)).clamp(0.0, 1.0);
        strip.left() + strip.width() * if share.is_finite() { share as f32 } else { 0.0 }
    };
    let edges = rung.accept.map(|accept| {
        let (left, right) = (x(f64::from(accept.low_count)), x(f64::from(accept.high_count) + 1.0));
        p.rect_filled(Rect::from_x_y_ranges(left..=right, strip.y_range()), 0, tint);
        [left, right]
    });
    let fill = if fresh { fill } else { mix(theme.well, fill, STALE) };
    p.add(bars(&rung.histogram, strip, fill));
    for edge_x in edges.into_iter().flatten() {
        p.vline(edge_x, strip.y_range(), Stroke::new(stroke::BAND, edge));
    }
}

/// A histogram as bars side by side, each as high as the logarithm of what is in it: one reading in six
/// million is still to be seen.
fn bars(histogram: &[u64], strip: Rect, fill: egui::Color32) -> Mesh {
    let mut mesh = Mesh::default();
    let most = histogram.iter().copied().max().unwrap_or(0);
    let whole = ((most + 1) as f32).ln();
    let wide = strip.width() / histogram.len().max(1) as f32;
    for (at, &readings) in histogram.iter().enumerate().filter(|(_, readings)| **readings > 0) {
        let high = ((strip.height() - 2.0) * ((readings + 1) as f32).ln() / whole).max(1.0);
        let left = strip.left() + at as f32 * wide;
        let bar = Rect::from_min_max(pos2(left, strip.bottom() - high), pos2(left + wide, strip.bottom()));
        mesh.add_colored_rect(bar, fill);
    }
    mesh
}

/// What a row says to screen readers: all that it shows, and all that pointing at it shows.
fn row_words(project: &Project, rung: &BuiltRung, of: u64) -> String {
    let name = match rung.rung {
        Rung::Button(_) => rung_name(project, rung.rung),
        Rung::Rest(_) => "Rest".to_owned(),
    };
    let accepts = rung.accept.map_or_else(
        || "no band of its own".to_owned(),
        |accept| format!("accepts {} to {}", accept.low_count, accept.high_count),
    );
    format!("{name}, {accepts}, {}, {}", corners(rung), chances(project, rung, of))
}

/// Worst case and root sum square.
fn corners(rung: &BuiltRung) -> String {
    let counts = |(low, high): (f64, f64)| format!("{:.0} to {:.0}", low.floor(), high.floor());
    format!("worst case {}, root sum square {}", counts(rung.worst_count), counts(rung.rss_count))
}

/// What happens to it, as chances in words.
fn chances(project: &Project, rung: &BuiltRung, of: u64) -> String {
    let mut said = vec![format!("ignored by {}", chance_text(rung.ignored, of))];
    let mut others = rung.misread_as.clone();
    others.sort_by_key(|&(_, boxes)| std::cmp::Reverse(boxes));
    for (index, boxes) in others {
        let other = rung_name(project, Rung::Button(index));
        said.push(format!("taken for {other} by {}", chance_text(boxes, of)));
    }
    if rung.misread == 0 {
        said.push(format!("misread by {}", chance_text(0, of)));
    }
    said.join(", ")
}

/// Under the rows: how far the building is, what to do, or what it all comes to. Gives where it ends.
fn foot_ui(ui: &mut Ui, model: &Model, draft: &Draft, foot: Rect, actions: &mut Vec<Action>) -> f32 {
    let theme = Theme::of(ui);
    let state = &model.circuit.boxes;
    let act = |action| Action::Circuit(CircuitAction::Boxes(action));
    if let Some(building) = state.building.filter(|building| building.is_slow(model.now.ms)) {
        if progress_ui(ui, &building, foot) || key_pressed(ui, Modifiers::NONE, Key::Escape) {
            actions.push(act(BoxesAction::Cancel));
        }
        return foot.top() + 44.0;
    }
    if key_pressed(ui, Modifiers::COMMAND, Key::B) {
        actions.push(act(BoxesAction::Build));
    }
    let mut y = foot.top();
    let boxes = state.built.as_ref().and_then(|built| built.result.as_ref().ok());
    match (&state.built, boxes) {
        (Some(Built { result: Err(why), .. }), _) => {
            y = prose(ui, &theme, foot, y + 4.0, why, theme.ink, 6);
        }
        (_, Some(boxes)) if model.boxes_are_fresh() || state.building.is_some() => {
            let hovered = draft
                .hovered
                .and_then(|rung| boxes.buttons.iter().chain(&boxes.rests).find(|built| built.rung == rung));
            return match (hovered, model.project()) {
                (Some(rung), Some(project)) => hovered_painted(ui, &theme, project, rung, boxes.boxes, foot),
                _ => sum_ui(ui, &theme, boxes, foot),
            };
        }
        (_, None) if state.building.is_none() => {
            let about = "Each of a million boxes is built of parts as they are sold, a little off each, and read \
                         cold, at 25 °C and hot, new and worn, against the bands of this project.";
            y = prose(ui, &theme, foot, y + 4.0, about, theme.ink2, 6);
        }
        _ => {}
    }
    if state.building.is_none() && !model.boxes_are_fresh() {
        let at =
            Rect::from_min_size(pos2(foot.left(), y + 4.0), vec2(foot.width().min(168.0), control::DENSE));
        let button = Button::line("Build them").key("Ctrl B").text_size(13.0).height(control::DENSE);
        if button.show_at(ui, at).clicked() {
            actions.push(act(BoxesAction::Build));
        }
        y = at.bottom();
    }
    y
}

fn progress_ui(ui: &mut Ui, building: &Building, foot: Rect) -> bool {
    let share = building.share.clamp(0.0, 1.0);
    let count = format!("{} of {}", grouped((share * BOXES as f32) as u64), grouped(BOXES));
    let bar = Progress { words: "Building", count: &count, share, stages: &[], can_cancel: true };
    let place = Rect::from_min_size(pos2(foot.left(), foot.top() + 2.0), vec2(foot.width(), 40.0));
    ui.scope_builder(egui::UiBuilder::new().max_rect(place), |ui| bar.show(ui)).inner
}

/// The sentence that all rows come to.
fn sum_ui(ui: &Ui, theme: &Theme, boxes: &BuiltBoxes, foot: Rect) -> f32 {
    let p = ui.painter();
    let y = foot.top() + 14.0;
    let misread = format!("{} misread", grouped(boxes.misreading_boxes));
    let ink = if boxes.misreading_boxes > 0 { theme.alarm_ink } else { theme.ink };
    let wide = text::cap(p, foot.left(), y, Align::Min, &misread, bold(size::AXIS), ink);
    let ignored = match boxes.ignoring_boxes {
        0 => "none ignores a button".to_owned(),
        1 => "1 ignores a button".to_owned(),
        some => format!("{} ignore a button", grouped(some)),
    };
    let rest = format!(" · {ignored} · log scale");
    let room = foot.width() - wide;
    text::cap_within(p, foot.left() + wide, y, Align::Min, room, &rest, regular(size::AXIS), theme.ink2);
    let line = Rect::from_center_size(pos2(foot.center().x, y), vec2(foot.width(), 20.0));
    let basis = match boxes.basis {
        Basis::Planned => "planned, all tolerances counted",
        Basis::Learned => "learned, tolerances are in what was learned",
    };
    let words = format!("Of {} boxes {misread}, {ignored}; {basis}", grouped(boxes.boxes));
    focus::tell(ui, line, "boxes sum", Role::Label, &words);
    y + 10.0
}

/// What pointing at a row shows.
fn hovered_painted(ui: &Ui, theme: &Theme, project: &Project, rung: &BuiltRung, of: u64, foot: Rect) -> f32 {
    let said = format!("{}; {}.", corners(rung), chances(project, rung, of));
    let mut letters = said.chars();
    let said =
        letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or(said.clone());
    prose(ui, theme, foot, foot.top() + 4.0, &said, theme.ink, 3)
}

/// Wrapped words from `y` on, told to screen readers, too; gives where they end.
fn prose(ui: &Ui, theme: &Theme, foot: Rect, y: f32, words: &str, ink: egui::Color32, rows: usize) -> f32 {
    let galley = text::prose(ui.painter(), words, theme::regular(size::AXIS), ink, foot.width(), rows);
    let rect = Rect::from_min_size(pos2(foot.left(), y), galley.size());
    focus::tell(ui, rect, "boxes words", Role::Label, words);
    ui.painter().galley(rect.min, galley, theme.ink);
    rect.bottom()
}

#[cfg(test)]
mod tests;
