//! The wheel seen from the seat, plates where its buttons may be, the hub hatched because nothing there may be
//! touched; and its wires in their colours.

use egui::epaint::StrokeKind;
use egui::{Align, Color32, Painter, Pos2, Rect, Role, Sense, Shape, Stroke, Ui, pos2, vec2};

use crate::project::Project;
use crate::view::theme::{self, Theme, size, stroke};
use crate::view::widgets::hatch::{self, Hatch};
use crate::view::widgets::{bracket, focus, plate, text};
use crate::wheel::{WireColour, colour_text, wire_colours};

/// Height of the drawing, the same with three wires beside it, and how much of it one with its words takes.
const HIGH: f32 = 214.0;
const HIGH_OF_THREE: f32 = 240.0;
const WIRE_HIGH: f32 = 68.0;
/// How wide a wire is drawn.
const WIRE: f32 = 122.0;
/// How thick.
const THICK: f32 = 8.0;

/// Draws wheel and wires.
pub(super) fn drawing_ui(ui: &mut Ui, project: &Project) {
    let theme = Theme::of(ui.ctx());
    let name = if project.vehicle.name.trim().is_empty() { "The wheel" } else { &project.vehicle.name };
    bracket::bracket_ui(ui, name, "seen from the seat");
    let high = if project.wires_in_use().len() > 1 { HIGH_OF_THREE } else { HIGH };
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), high), Sense::hover());
    let radius = (HIGH / 2.0 - 4.0).min((rect.width() - WIRE - 16.0) / 2.0).max(60.0);
    let centre = pos2(rect.left() + radius + 2.0, rect.center().y);
    let p = ui.painter().clone();
    let wheel = Rect::from_center_size(centre, vec2(2.0, 2.0) * radius);
    rim(&p, &theme, centre, radius);
    plates(&p, &theme, project, centre, radius);
    let said = format!(
        "The wheel from the seat, {}. The hub carries the airbag: keep out.",
        crate::units::number_of(project.wheel.buttons.len(), "button")
    );
    focus::tell(ui, wheel, "wheel", Role::Image, &said);
    let x = rect.right() - WIRE;
    if x < wheel.right() + 8.0 {
        return;
    }
    let back = &project.wheel.back;
    let mut wires: Vec<(String, String, String)> = project
        .wires_in_use()
        .into_iter()
        .map(|wire| {
            let info = project.wheel.wires.get(&wire).cloned().unwrap_or_default();
            (format!("Wire {wire}"), info.colour, info.tapped_at)
        })
        .collect();
    let grounded = match back.grounded {
        Some(true) => "the car's ground",
        Some(false) => "its own wire",
        None => "",
    };
    wires.push(("Return".to_owned(), back.colour.clone(), grounded.to_owned()));
    // Three wires want all of the height, two stand more apart.
    let pitch = (high / wires.len() as f32).min(97.0);
    let first = rect.center().y - pitch * wires.len() as f32 / 2.0;
    for (place, (name, letters, more)) in wires.iter().enumerate() {
        let top = first + pitch * (place as f32 + 0.5) - WIRE_HIGH / 2.0;
        wire_ui(ui, &theme, pos2(x, top), name, letters, more);
    }
}

fn wire_ui(ui: &Ui, theme: &Theme, at: Pos2, name: &str, letters: &str, more: &str) {
    let p = ui.painter();
    text::cap(p, at.x, at.y + 8.0, Align::Min, name, theme::bold(size::BODY), theme.ink);
    let bar = Rect::from_min_size(at + vec2(0.0, 22.0), vec2(WIRE, THICK));
    let colours = wire_colours(letters).unwrap_or_default();
    wire(p, theme, bar, &colours);
    let told = if colours.is_empty() {
        if letters.trim().is_empty() {
            "no colour noted".to_owned()
        } else {
            format!("{letters}: unknown letters")
        }
    } else {
        colour_text(&colours)
    };
    let font = theme::regular(size::AXIS);
    text::cap_within(p, at.x, at.y + 46.0, Align::Min, WIRE, &told, font.clone(), theme.ink2);
    text::cap_within(p, at.x, at.y + 62.0, Align::Min, WIRE, more, font, theme.ink2);
    let place = Rect::from_min_size(at, vec2(WIRE, WIRE_HIGH));
    let said = [name, &told, more].into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(", ");
    focus::tell(ui, place, &format!("wire {name}"), Role::Image, &said).on_hover_text(said);
}

/// A wire in its colours: the ground, and a stripe along its middle; dashed where no colour is known.
pub(super) fn wire(p: &Painter, theme: &Theme, bar: Rect, colours: &[WireColour]) {
    let Some((ground, stripe)) = colours.split_first() else {
        hatch::dashed_rect(p, bar, Stroke::new(stroke::RULE, theme.edge), 6.0, 4.0);
        return;
    };
    p.rect(bar, 0, theme.wire(*ground), Stroke::new(stroke::RULE, theme.ink), StrokeKind::Inside);
    if let Some(stripe) = stripe.first() {
        let inner = bar.shrink2(vec2(1.0, bar.height() * 0.34));
        p.rect_filled(inner, 0, theme.wire(*stripe));
    }
}

/// Rim, spokes and column, and the hub.
fn rim(p: &Painter, theme: &Theme, centre: Pos2, radius: f32) {
    let line = Stroke::new(stroke::NODE, theme.ink);
    p.circle(centre, radius, theme.raise, line);
    p.circle(centre, radius * 0.86, theme.face, line);
    let shape = |points: &[(f32, f32)], fill: Color32, line: Stroke| {
        let points: Vec<_> = points.iter().map(|&(x, y)| centre + vec2(x, y) * radius).collect();
        p.add(Shape::convex_polygon(points, fill, line));
    };
    for side in [-1.0, 1.0] {
        shape(
            &[(side * 0.32, -0.26), (side * 0.82, -0.30), (side * 0.82, 0.24), (side * 0.32, 0.20)],
            theme.raise,
            line,
        );
    }
    shape(&[(-0.16, 0.33), (-0.12, 0.84), (0.12, 0.84), (0.16, 0.33)], theme.raise, line);
    let hub = Rect::from_center_size(centre + vec2(0.0, 0.02 * radius), vec2(0.64, 0.60) * radius);
    p.rect_filled(hub, 0, theme.alarm_face);
    hatch::alarm(p, theme, hub, Hatch::REFUSED);
    p.rect_stroke(hub, 0, Stroke::new(stroke::BAND, theme.alarm), StrokeKind::Inside);
    let words = Rect::from_center_size(hub.center(), vec2(hub.width() - 10.0, 30.0));
    p.rect_filled(words, 0, theme.alarm_face);
    let at = hub.center();
    text::cap(p, at.x, at.y - 7.0, Align::Center, "airbag", theme::bold(size::AXIS), theme.alarm_ink);
    text::cap(p, at.x, at.y + 7.0, Align::Center, "keep out", theme::regular(size::AXIS), theme.alarm_ink);
}

/// The buttons' plates on the two spokes: the first half at the left, the rest at the right. Where they
/// truly sit nobody has said.
fn plates(p: &Painter, theme: &Theme, project: &Project, centre: Pos2, radius: f32) {
    let all = project.wheel.buttons.len();
    let left = all.div_ceil(2);
    for (index, button) in project.wheel.buttons.iter().enumerate() {
        let (side, at, of) = if index < left { (-1.0, index, left) } else { (1.0, index - left, all - left) };
        let columns = if of > 4 { 3 } else { 2 };
        let rows = of.div_ceil(columns).max(1);
        let step = vec2(0.38 / columns as f32 + 0.02, 0.46 / rows as f32) * radius;
        let (row, column) = (at / columns, at % columns);
        let x = 0.36 * radius + step.x * (column as f32 + 0.5);
        let y = -0.27 * radius + step.y * (row as f32 + 0.5);
        let plate_radius = (step.y.min(step.x) * 0.40).clamp(5.0, 11.0);
        let mode = if project.is_learned(&button.id) {
            plate::PlateMode::Measured
        } else {
            plate::PlateMode::Planned
        };
        let x =
            if side < 0.0 { -(0.36 * radius + step.x * ((columns - 1 - column) as f32 + 0.5)) } else { x };
        plate::plate(p, theme, index, centre + vec2(x, y), plate_radius, mode);
    }
}
