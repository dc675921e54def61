//! The path rail: the job drawn as a wire from wheel to stereo. Solid as far as the work is true,
//! dotted beyond; the chosen station taps it. Knows stations by name, state and a line of truth.

use egui::epaint::StrokeKind;
use egui::{Align, Painter, Pos2, Rect, Response, Role, Sense, Shape, Stroke, Ui, WidgetInfo, pos2, vec2};

use super::icons::{Icon, icon_stroked};
use super::layout::Layout;
use super::node::{self, NodeState, node};
use super::{keycap, text};
use crate::view::theme::{Theme, bold, control, regular, size, stroke};

/// One station as the rail shows it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RailStation<'a> {
    /// Its name.
    pub name: &'a str,
    /// One line of truth: 4 of 7 learned.
    pub truth: &'a str,
    /// How it stands.
    pub state: NodeState,
    /// The key that goes there: Ctrl 3.
    pub key: &'a str,
}

/// What was clicked on the rail.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct RailAnswer {
    /// A station.
    pub station: Option<usize>,
    /// The cautions.
    pub cautions: bool,
}

/// How long the wire's solid end takes to the next station.
const GROW_SECS: f32 = 0.2;
const WORDS_X: f32 = 64.0;

/// Draws the rail; `stereo` names what the wire ends in. Draw [`tap`] after the head, so that it
/// lies over the border.
pub fn rail(
    ui: &Ui,
    layout: &Layout,
    stations: &[RailStation<'_>],
    current: Option<usize>,
    stereo: &str,
    reduced_motion: bool,
) -> RailAnswer {
    let t = Theme::of(ui);
    let p = ui.painter();
    p.vline(layout.rail.right(), layout.rail.top() + 1.0..=layout.rail.bottom(), t.hairline());
    let finished = !stations.is_empty() && stations.iter().all(|s| s.state == NodeState::Done);
    wire(ui, &t, layout, stations, finished, reduced_motion);

    let mut answer = RailAnswer::default();
    for (i, station) in stations.iter().enumerate() {
        let at = layout.node(i);
        let place = layout.station(i);
        let response = ui.interact(place, ui.make_persistent_id(("station", i)), Sense::click());
        let is_current = current == Some(i);
        describe(ui, &response, station, is_current);
        hover(p, &t, layout, &response, i);
        node(p, &t, at, station.state, is_current);
        if layout.rail_has_words() {
            words(p, &t, layout, at, station, is_current);
        }
        if response.has_focus() {
            let line = Stroke::new(stroke::NODE, t.focus);
            p.rect_stroke(place, 2, line, StrokeKind::Inside);
        }
        answer.station = answer.station.or(response.clicked().then_some(i));
        let tip = if layout.rail_has_words() {
            station.key.to_owned()
        } else {
            format!("{}\n{}\n{}", station.name, station.truth, station.key)
        };
        if !tip.is_empty() {
            response.on_hover_text(tip);
        }
    }
    plug(p, &t, layout, stereo, finished);
    answer.cautions = cautions(ui, &t, layout);
    answer
}

/// Draws the tap from the current station to the line under the head, with its ring at the end.
pub fn tap(p: &Painter, t: &Theme, layout: &Layout, current: usize) {
    let points = layout.tap(current);
    let end = points.last().copied();
    p.add(Shape::line(points, Stroke::new(stroke::WIRE, t.ink)));
    if let Some(end) = end {
        p.circle(end, 4.0, t.face, Stroke::new(stroke::NODE, t.ink));
    }
}

/// What a screen reader says of a station: "Learn, 4 of 7 learned".
#[must_use]
pub fn accessible_name(station: &RailStation<'_>) -> String {
    if station.truth.is_empty() {
        format!("{}, {}", station.name, station.state.spoken())
    } else {
        format!("{}, {}", station.name, station.truth)
    }
}

fn describe(ui: &Ui, response: &Response, station: &RailStation<'_>, current: bool) {
    response.widget_info(|| WidgetInfo::labeled(Role::Button, true, accessible_name(station)));
    ui.accesskit_node_builder(response.id, |node| {
        node.set_description(station.state.spoken());
        if current {
            node.set_aria_current(egui::accesskit::AriaCurrent::Page);
        }
        if !station.key.is_empty() {
            node.set_keyboard_shortcut(station.key);
        }
    });
}

fn hover(p: &Painter, t: &Theme, layout: &Layout, response: &Response, index: usize) {
    if !response.hovered() {
        return;
    }
    let at = layout.node(index);
    p.circle_filled(at, node::CURRENT, t.raise);
    if layout.rail_has_words() {
        let x = layout.rail.left() + WORDS_X;
        p.hline(x..=layout.rail.right() - 12.0, at.y + 23.0, t.outline());
    }
}

fn words(p: &Painter, t: &Theme, layout: &Layout, at: Pos2, station: &RailStation<'_>, current: bool) {
    let dim = station.state == NodeState::Idle && !current;
    let x = layout.rail.left() + WORDS_X;
    let room = layout.rail.right() - 6.0 - x;
    let name_font = if current { bold(size::RAIL) } else { regular(size::RAIL) };
    let name_ink = if dim { t.ink2 } else { t.ink };
    let truth_ink = match station.state {
        NodeState::Stop => t.alarm_ink,
        _ if dim => t.ink3,
        _ => t.ink2,
    };
    // Lines stand closer where stations do.
    let spread = (layout.pitch() / 86.0).clamp(0.8, 1.0);
    text::cap_within(p, x, at.y - 9.0 * spread, Align::Min, room, station.name, name_font, name_ink);
    let truth = regular(size::AXIS);
    text::cap_within(p, x, at.y + 12.0 * spread, Align::Min, room, station.truth, truth, truth_ink);
}

/// The wire itself. Its solid end moves on when a station is begun or done, at once with reduced
/// motion.
fn wire(
    ui: &Ui,
    t: &Theme,
    layout: &Layout,
    stations: &[RailStation<'_>],
    finished: bool,
    reduced_motion: bool,
) {
    let p = ui.painter();
    let (x, top, plug) = (layout.wire_x, layout.rail.top(), layout.plug().y);
    let carried = stations.iter().take_while(|s| s.state.carries()).count();
    let end = match carried.checked_sub(1) {
        _ if finished => plug,
        Some(last) => layout.node(last).y,
        None => top + 2.0,
    };
    let seconds = if reduced_motion { 0.0 } else { GROW_SECS };
    // As a share of the rail, so that a resized window doesn't set the wire moving.
    let share = (end - top) / (plug - top).max(1.0);
    let shown = ui.animate_value_with_time(ui.make_persistent_id("wire end"), share, seconds);
    let end = top + shown * (plug - top);
    wire_line(p, x, top, end, t.ink);
    dotted(p, x, end + 5.0, plug, t.edge);
}

/// A vertical wire, through a point in its middle: a line of two points on an axis would be moved
/// to pixel centres and lose its 2.5 points.
pub(super) fn wire_line(p: &Painter, x: f32, top: f32, bottom: f32, colour: egui::Color32) {
    if bottom > top {
        let points = vec![pos2(x, top), pos2(x, f32::midpoint(top, bottom)), pos2(x, bottom)];
        p.add(Shape::line(points, Stroke::new(stroke::WIRE, colour)));
    }
}

/// Dots 3 long, 8 apart: the wire where the work isn't done yet.
fn dotted(p: &Painter, x: f32, top: f32, bottom: f32, colour: egui::Color32) {
    let mut y = top.round();
    while y + 3.0 <= bottom {
        // Softened ends add half a point each.
        wire_line(p, x, y + 0.5, y + 2.5, colour);
        y += 8.0;
    }
}

fn plug(p: &Painter, t: &Theme, layout: &Layout, stereo: &str, finished: bool) {
    let at = layout.plug();
    let line = Stroke::new(stroke::NODE, if finished { t.ink } else { t.edge });
    for (half, top, high) in [(6.0, 0.0, 16.0), (3.5, 16.0, 7.0), (3.5, 25.0, 5.0)] {
        let rect = Rect::from_min_size(at + vec2(-half, top), vec2(2.0 * half, high));
        p.rect(rect, 0, t.face, line, StrokeKind::Middle);
    }
    if layout.rail_has_words() {
        let x = layout.rail.left() + WORDS_X;
        let room = layout.rail.right() - 10.0 - x;
        let ink = if finished { t.ink } else { t.ink2 };
        text::cap_within(p, x, at.y + 14.0, Align::Min, room, stereo, regular(size::BODY), ink);
    }
}

fn cautions(ui: &Ui, t: &Theme, layout: &Layout) -> bool {
    let place = layout.cautions();
    let response = ui.interact(place, ui.make_persistent_id("cautions"), Sense::click());
    response.widget_info(|| WidgetInfo::labeled(Role::Button, true, "Cautions"));
    ui.accesskit_node_builder(response.id, |node| node.set_keyboard_shortcut("F1"));
    let p = ui.painter();
    let y = place.center().y;
    let ink = if response.hovered() { t.ink } else { t.ink2 };
    icon_stroked(p, Icon::Caution, pos2(layout.wire_x, y), 0.95, Stroke::new(stroke::BAND, ink));
    if layout.rail_has_words() {
        let x = layout.rail.left() + WORDS_X;
        text::cap(p, x, y, Align::Min, "Cautions", regular(size::BODY), ink);
        let key_ink = if response.hovered() { t.ink2 } else { t.ink3 };
        keycap::keycap(p, layout.rail.right() - 14.0, y, Align::Max, "F1", key_ink);
    }
    if response.has_focus() {
        focus_inside(p, t, place);
    }
    let clicked = response.clicked();
    if !layout.rail_has_words() {
        response.on_hover_text("Cautions, F1");
    }
    clicked
}

fn focus_inside(p: &Painter, t: &Theme, place: Rect) {
    let line = Stroke::new(stroke::NODE, t.focus);
    p.rect_stroke(place, control::RADIUS, line, StrokeKind::Inside);
}
