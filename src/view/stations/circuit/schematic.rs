//! The drawing in the window: the shapes of `sheet` in the theme's colours, on a grid of dots. Its plates
//! are switches: a click or the button's letter closes one and opens it again, and what is held longer
//! opens when it is let go. What is pressed on the wheel itself closes its switch too.

use std::sync::Arc;

use egui::epaint::{CircleShape, StrokeKind};
use egui::{
    Align, Color32, Key, Modifiers, Painter, Pos2, Rect, Role, ScrollArea, Shape, Stroke, Ui, pos2, vec2,
};

use super::super::live_button;
use crate::app::circuit::schematic::{SchematicAction, drawing, shown};
use crate::app::{Action, CircuitAction, Model};
use crate::project::Netlist;
use crate::sheet::{self, Anchor, Drawing, Fill, Frame, HeldBy, Shown, Spot, Switch, TextSize, Tone};
use crate::view::theme::{Theme, bold, control, letter, mix, regular, stroke};
use crate::view::widgets::plate::{PlateMode, plate};
use crate::view::widgets::{focus, text};

/// The grid of dots.
const GRID: f32 = 20.0;
/// A drawing is never drawn smaller than this share of its size: text of 12.5 stays at 10.5.
const LEAST: f32 = 0.84;
/// And on large screens no larger.
const MOST: f32 = 1.3;
/// A switch held longer than this opens when it is let go, in seconds.
const HELD_S: f64 = 0.4;

/// The drawing as it was laid out last, and what is being held.
#[derive(Debug, Default)]
pub(super) struct Draft {
    of: Option<(Arc<Netlist>, Shown)>,
    drawing: Drawing,
    held: Option<Hold>,
}

/// A switch that is being held closed.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Hold {
    button: usize,
    /// By its letter; else by the pointer.
    by_key: bool,
    since_s: f64,
    was_closed: bool,
}

impl Draft {
    /// Lays it out anew where the circuit or what is pressed has changed.
    pub(super) fn refresh(&mut self, model: &Model) {
        let netlist = &model.derived.circuit.schematic.netlist;
        let now = shown(model, live_button(model).into_iter().collect());
        let is_same = self.of.as_ref().is_some_and(|(of, was)| Arc::ptr_eq(of, netlist) && *was == now);
        if !is_same {
            self.drawing = drawing(netlist, &now);
            self.of = Some((Arc::clone(netlist), now));
        }
    }

    /// How large it is drawn in this width.
    fn scale(&self, width: f32, is_large: bool) -> f32 {
        let most = if is_large { MOST } else { 1.0 };
        (width / self.drawing.width.max(1.0)).clamp(LEAST, most)
    }

    /// How high it is in this width, in points.
    pub(super) fn height(&self, width: f32, is_large: bool) -> f32 {
        (self.drawing.height * self.scale(width, is_large)).round()
    }
}

/// Draws it.
pub(super) fn schematic_ui(
    ui: &mut Ui,
    model: &Model,
    draft: &mut Draft,
    place: Rect,
    actions: &mut Vec<Action>,
) {
    let theme = Theme::of(ui.ctx());
    let scale = place.height() / draft.drawing.height.max(1.0);
    let wide = draft.drawing.width * scale;
    ui.painter().rect_filled(place, 0, theme.well);
    dots(ui.painter(), &theme, place);
    let drawing = std::mem::take(&mut draft.drawing);
    if wide <= place.width() + 1.0 {
        let left = place.left() + ((place.width() - wide) / 2.0).max(0.0).round();
        let mut child = ui.new_child(egui::UiBuilder::new().max_rect(place));
        drawn_ui(
            &mut child,
            model,
            draft,
            &drawing,
            &Sheet { origin: pos2(left, place.top()), scale },
            actions,
        );
    } else {
        // Too wide to stay legible: it is panned.
        let mut child = ui.new_child(egui::UiBuilder::new().max_rect(place));
        ScrollArea::horizontal().id_salt("schematic").auto_shrink(false).show(&mut child, |ui| {
            let (rect, _) = ui.allocate_exact_size(vec2(wide, place.height()), egui::Sense::hover());
            drawn_ui(ui, model, draft, &drawing, &Sheet { origin: rect.min, scale }, actions);
        });
    }
    draft.drawing = drawing;
}

/// Where the drawing lies on the screen.
struct Sheet {
    origin: Pos2,
    scale: f32,
}

impl Sheet {
    fn at(&self, spot: Spot) -> Pos2 {
        self.origin + vec2(spot.x, spot.y) * self.scale
    }

    fn all(&self, spots: &[Spot]) -> Vec<Pos2> {
        spots.iter().map(|spot| self.at(*spot)).collect()
    }

    fn rect(&self, frame: Frame) -> Rect {
        Rect::from_min_max(
            self.at(Spot { x: frame.left, y: frame.top }),
            self.at(Spot { x: frame.right, y: frame.bottom }),
        )
    }
}

fn dots(p: &Painter, theme: &Theme, place: Rect) {
    let colour = mix(theme.well, theme.rule, 0.8);
    let mut mesh = egui::Mesh::default();
    let mut y = place.top() + 8.0;
    while y < place.bottom() {
        let mut x = place.left() + 8.0;
        while x < place.right() {
            mesh.add_colored_rect(Rect::from_min_size(pos2(x, y), vec2(1.0, 1.0)), colour);
            x += GRID;
        }
        y += GRID;
    }
    p.add(Shape::mesh(mesh));
}

fn drawn_ui(
    ui: &mut Ui,
    model: &Model,
    draft: &mut Draft,
    drawing: &Drawing,
    sheet: &Sheet,
    actions: &mut Vec<Action>,
) {
    let theme = Theme::of(ui.ctx());
    for shape in &drawing.shapes {
        shape_ui(ui.painter(), &theme, sheet, shape);
    }
    for (number, found) in drawing.found.iter().enumerate() {
        let rect = sheet.rect(found.frame);
        focus::tell(ui, rect, &format!("found {number}"), Role::Label, &found.words)
            .on_hover_text(&found.words);
    }
    for switch in &drawing.switches {
        switch_ui(ui, model, draft, sheet, switch, actions);
    }
    letters(ui, model, draft, actions);
}

fn set(button: usize, closed: bool) -> Action {
    Action::Circuit(CircuitAction::Schematic(SchematicAction::Set { button, closed }))
}

/// A switch that a click works.
fn switch_ui(
    ui: &mut Ui,
    model: &Model,
    draft: &mut Draft,
    sheet: &Sheet,
    switch: &Switch,
    actions: &mut Vec<Action>,
) {
    let button = switch.button;
    let rect = sheet.rect(switch.frame);
    let closed = model.circuit.schematic.closed.contains(&button);
    let id = ui.make_persistent_id(("switch", button));
    let response = ui.interact(rect, id, egui::Sense::click());
    let words = format!("{}, key {}", switch.words, letter(button));
    response.widget_info(|| egui::WidgetInfo::selected(Role::Switch, true, closed, &words));
    focus::ring(ui.painter(), &Theme::of(ui.ctx()), &response, rect.shrink(3.0));
    let response = response.on_hover_cursor(egui::CursorIcon::PointingHand).on_hover_text(&switch.words);
    let now_s = ui.input(|input| input.time);
    let by_pointer = |hold: Hold| hold.button == button && !hold.by_key;
    if response.is_pointer_button_down_on() {
        if draft.held.is_none() {
            draft.held = Some(Hold { button, by_key: false, since_s: now_s, was_closed: closed });
            actions.push(set(button, true));
        }
    } else if let Some(hold) = draft.held.filter(|hold| by_pointer(*hold)) {
        draft.held = None;
        let stays = !hold.was_closed && now_s - hold.since_s < HELD_S;
        actions.push(set(button, stays));
    } else if response.clicked() {
        // By the keyboard, or a screen reader.
        actions.push(set(button, !closed));
    }
}

/// The buttons' letters.
fn letters(ui: &Ui, model: &Model, draft: &mut Draft, actions: &mut Vec<Action>) {
    let buttons = model.derived.circuit.schematic.netlist.names.len();
    let now_s = ui.input(|input| input.time);
    if let Some(hold) = draft.held.filter(|hold| hold.by_key) {
        let key = focus::LETTERS.get(hold.button).copied().unwrap_or(Key::A);
        // A key that is held sends itself again: it stays with the switch it holds.
        let _again = focus::key_pressed(ui, Modifiers::NONE, key);
        if !ui.input(|input| input.key_down(key)) {
            draft.held = None;
            let stays = !hold.was_closed && now_s - hold.since_s < HELD_S;
            actions.push(set(hold.button, stays));
        }
        return;
    }
    for (button, key) in focus::LETTERS.into_iter().enumerate().take(buttons) {
        if focus::key_pressed(ui, Modifiers::NONE, key) {
            let was_closed = model.circuit.schematic.closed.contains(&button);
            draft.held = Some(Hold { button, by_key: true, since_s: now_s, was_closed });
            actions.push(set(button, true));
            // What is let go within this frame is seen in the next.
            ui.request_repaint();
            return;
        }
    }
}

fn tone(theme: &Theme, tone: Tone) -> Color32 {
    match tone {
        Tone::Ink => theme.ink,
        Tone::Second => theme.ink2,
        Tone::Third => theme.ink3,
        Tone::Edge => theme.edge,
    }
}

fn fill(theme: &Theme, fill: Fill) -> Color32 {
    match fill {
        Fill::Ground => theme.well,
        Fill::Raised => theme.raise,
        Fill::Ink => theme.ink,
    }
}

fn shape_ui(p: &Painter, theme: &Theme, sheet: &Sheet, shape: &sheet::Shape) {
    let scale = sheet.scale;
    match shape {
        sheet::Shape::Current { points, button } => {
            let line = Stroke::new(stroke::CURRENT * scale, theme.button(*button).plate);
            p.add(Shape::line(sheet.all(points), line));
        }
        sheet::Shape::Line { points, width, tone: of, dashed } => {
            let line = Stroke::new((width * scale).max(1.0), tone(theme, *of));
            let points = sheet.all(points);
            let (dash, gap) = if *of == Tone::Edge { (6.0, 4.0) } else { (4.0, 3.0) };
            if *dashed {
                p.extend(Shape::dashed_line(&points, line, dash, gap));
            } else {
                p.add(Shape::line(points, line));
            }
        }
        sheet::Shape::Area { points, fill: of, dashed } => {
            let line = Stroke::new(stroke::SCHEMATIC * scale, theme.ink);
            let mut points = sheet.all(points);
            let outline = if *dashed { Stroke::NONE } else { line };
            p.add(Shape::convex_polygon(points.clone(), fill(theme, *of), outline));
            if *dashed {
                points.extend(points.first().copied());
                p.extend(Shape::dashed_line(&points, line, 4.0, 3.0));
            }
        }
        sheet::Shape::Disc { middle, radius, open } => {
            let (ground, line) = if *open {
                (theme.well, Stroke::new(stroke::BAND * scale, theme.ink))
            } else {
                (theme.ink, Stroke::NONE)
            };
            let (center, radius) = (sheet.at(*middle), radius * scale);
            p.add(CircleShape { center, radius, fill: ground, stroke: line });
        }
        sheet::Shape::Plate { middle, radius, button, dashed } => {
            let mode = if *dashed { PlateMode::Planned } else { PlateMode::Measured };
            plate(p, theme, *button, sheet.at(*middle), radius * scale, mode);
        }
        sheet::Shape::Held { middle, by } => held(p, theme, sheet.at(*middle), scale, *by),
        sheet::Shape::Text { place, anchor, size, bold: is_bold, tone: of, words } => {
            let place = sheet.at(*place);
            let points = size.points() * scale;
            let font = if *is_bold { bold(points) } else { regular(points) };
            let align = match anchor {
                Anchor::Start => Align::Min,
                Anchor::Middle => Align::Center,
                Anchor::End => Align::Max,
            };
            text::cap(p, place.x, place.y, align, words, font, tone(theme, *of));
        }
        sheet::Shape::Flag { frame, large, small, button } => {
            let rect = sheet.rect(*frame);
            p.rect(rect, control::RADIUS, theme.raise, theme.outline(), StrokeKind::Inside);
            if let Some(button) = button {
                let strip = Rect::from_min_size(rect.min, vec2(5.0 * scale, rect.height()));
                p.rect_filled(strip, 0, theme.button(*button).plate);
            }
            let line = |down: f32| rect.left_top() + vec2(12.0, down) * scale;
            let (first, second) = (line(12.0), line(27.0));
            let (body, axis) = (TextSize::Body.points() * scale, TextSize::Small.points() * scale);
            text::cap(p, first.x, first.y, Align::Min, large, bold(body), theme.ink);
            text::cap(p, second.x, second.y, Align::Min, small, regular(axis), theme.ink2);
        }
    }
}

/// A ring for a switch that is held in the drawing, four corners for one that is pressed on the wheel.
fn held(p: &Painter, theme: &Theme, middle: Pos2, scale: f32, by: HeldBy) {
    let line = Stroke::new(stroke::NODE, theme.ink);
    let reach = 19.0 * scale;
    match by {
        HeldBy::Drawing => {
            p.circle(middle, reach, theme.well, line);
        }
        HeldBy::Wheel => {
            let arm = 8.0 * scale;
            for (x, y) in [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)] {
                let corner = middle + vec2(x, y) * reach;
                let ends = [corner - vec2(x * arm, 0.0), corner, corner - vec2(0.0, y * arm)];
                p.add(Shape::line(ends.to_vec(), line));
            }
        }
    }
}
