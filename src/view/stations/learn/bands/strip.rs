//! A band between its neighbours, with edges to drag or to move by the arrow keys. Knows no presses.

use egui::{
    Align, CursorIcon, EventFilter, Key, Modifiers, Rect, Response, Role, Sense, Stroke, Ui, WidgetInfo,
    pos2, vec2,
};

use crate::bands::{Accept, Band, BandSet, DraggedEdges, Edge, MovedEdge, Rung};
use crate::units::{TOP_COUNT, count_text};
use crate::view::theme::{self, Theme, control, size, stroke};
use crate::view::widgets::{focus, hatch, text};

/// How high the strip is, in points; its figures stand under it.
pub(super) const STRIP: f32 = 30.0;
/// The figures' line.
pub(super) const FIGURES: f32 = 18.0;

/// What the arrow keys do with Shift held, in counts.
const LEAP: i32 = 8;

/// What a person did to the edges.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum StripAnswer {
    /// Put them here.
    Put(DraggedEdges),
    /// Let go.
    Settled,
}

/// The counts a strip shows: to the neighbours' bands, and a little of them.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Scale {
    from: f64,
    to: f64,
}

impl Scale {
    fn of(band: &Band, accept: Accept, bands: &BandSet) -> Self {
        let edge = |rung: Option<Rung>, pick: fn(Accept) -> u16| {
            rung.and_then(|rung| bands.band(rung)).and_then(|band| band.accept).map(pick).map(f64::from)
        };
        let below = edge(band.below, |accept| accept.high_count);
        let above = edge(band.above, |accept| accept.low_count);
        let (low, high) = (f64::from(accept.low_count), f64::from(accept.high_count));
        let (from, to) = (below.unwrap_or(0.0).min(low), above.unwrap_or(TOP_COUNT).max(high));
        let air = 0.06 * (to - from).max(10.0);
        Self { from: from - air, to: to + air }
    }

    fn x(&self, rect: Rect, count: f64) -> f32 {
        let share = (count - self.from) / (self.to - self.from).max(1.0);
        rect.left() + rect.width() * share.clamp(0.0, 1.0) as f32
    }

    fn count(&self, rect: Rect, x: f32) -> u16 {
        let share = f64::from((x - rect.left()) / rect.width().max(1.0)).clamp(0.0, 1.0);
        (self.from + share * (self.to - self.from)).round().clamp(0.0, TOP_COUNT) as u16
    }
}

/// Draws the strip of a button's band into `rect`, with its figures under it and the live reading of its
/// wire, where there is one; gives what was done.
pub(super) fn strip_ui(
    ui: &mut Ui,
    rect: Rect,
    name: &str,
    band: &Band,
    bands: &BandSet,
    live: Option<f64>,
) -> Option<StripAnswer> {
    let theme = Theme::of(ui.ctx());
    let accept = band.accept?;
    let Rung::Button(index) = band.rung else { return None };
    let scale = Scale::of(band, accept, bands);
    let strip = Rect::from_min_size(rect.min, vec2(rect.width(), STRIP));
    let x = |count: f64| scale.x(strip, count);
    let p = ui.painter();
    p.rect_filled(strip, 0, theme.well);
    hatch::reject(p, &theme, strip);
    for neighbour in [band.below, band.above].into_iter().flatten().filter_map(|rung| bands.band(rung)) {
        let Some(there) = neighbour.accept else { continue };
        let span = x(f64::from(there.low_count) - 0.5)..=x(f64::from(there.high_count) + 0.5);
        let place = Rect::from_x_y_ranges(span, strip.y_range());
        let fill = match neighbour.rung {
            Rung::Button(other) => theme.button(other).band,
            Rung::Rest(_) => theme.rule,
        };
        p.rect_filled(place.intersect(strip), 0, fill);
    }
    let low_x = x(f64::from(accept.low_count) - 0.5);
    let high_x = x(f64::from(accept.high_count) + 0.5);
    p.rect_filled(Rect::from_x_y_ranges(low_x..=high_x, strip.y_range()), 0, theme.button(index).band);
    // Where it reads now, and how far it can drift.
    let y = strip.center().y;
    let drift =
        (band.tolerance_low_count - band.drift.down_count, band.tolerance_high_count + band.drift.up_count);
    p.hline(x(drift.0)..=x(drift.1), y, Stroke::new(stroke::RULE, theme.ink));
    p.hline(
        x(band.tolerance_low_count)..=x(band.tolerance_high_count),
        y,
        Stroke::new(stroke::WIRE + 1.5, theme.ink),
    );
    let centre_x = x(band.centre_count);
    p.vline(centre_x, strip.y_range(), Stroke::new(stroke::RULE, theme.ink));
    if let Some(count) = live.filter(|count| (scale.from..=scale.to).contains(count)) {
        // The live reading: a filled triangle, as on the spine.
        let (x, y) = (x(count), strip.bottom());
        let corners = vec![pos2(x, y - 8.0), pos2(x + 5.0, y), pos2(x - 5.0, y)];
        p.add(egui::Shape::convex_polygon(corners, theme.ink, Stroke::NONE));
    }
    figures(ui, rect, (low_x, centre_x, high_x), band, accept, &theme);

    let said = format!(
        "{name}, rung {}, accepts {} to {}",
        count_text(band.centre_count, 0),
        accept.low_count,
        accept.high_count
    );
    let _: Response = focus::tell(ui, strip, &said, Role::Figure, &said);
    let low = edge_ui(ui, strip, (scale, low_x), index, Edge::Low, accept.low_count, name);
    let high = edge_ui(ui, strip, (scale, high_x), index, Edge::High, accept.high_count, name);
    let keep = |moved: Option<MovedEdge>| moved.map(|moved| moved.wanted_count);
    let put = |put: Option<(u16, bool)>, moved: Option<MovedEdge>, is: u16| match put {
        // Where it would be by itself it isn't moved.
        Some((count, _)) if count == moved.map_or(is, |moved| moved.computed_count) => None,
        Some((count, _)) => Some(count),
        None => keep(moved),
    };
    let settled = low.is_some_and(|low| low.1) || high.is_some_and(|high| high.1);
    if settled {
        return Some(StripAnswer::Settled);
    }
    let edges = DraggedEdges {
        low_count: put(low, band.moved.low, accept.low_count),
        high_count: put(high, band.moved.high, accept.high_count),
    };
    let there = DraggedEdges { low_count: keep(band.moved.low), high_count: keep(band.moved.high) };
    // An edge held against what stops it asks for the same again and again.
    (edges != there).then_some(StripAnswer::Put(edges))
}

/// Low, centre and high under the strip, pushed apart; a moved edge's figure is bold.
fn figures(ui: &Ui, rect: Rect, at: (f32, f32, f32), band: &Band, accept: Accept, theme: &Theme) {
    const APART: f32 = 34.0;
    let y = rect.top() + STRIP + FIGURES / 2.0 + 1.0;
    let p = ui.painter();
    let centre = at.1.clamp(rect.left() + APART, rect.right() - APART);
    let low = at.0.min(centre - APART).max(rect.left() + 12.0);
    let high = at.2.max(centre + APART).min(rect.right() - 12.0);
    let font = |moved: bool| if moved { theme::bold(size::AXIS) } else { theme::regular(size::AXIS) };
    let figure = |x: f32, words: &str, moved: bool, ink| {
        text::cap(p, x, y, Align::Center, words, font(moved), ink);
    };
    figure(low, &accept.low_count.to_string(), band.moved.low.is_some(), theme.ink2);
    figure(centre, &count_text(band.centre_count, 0), false, theme.ink);
    figure(high, &accept.high_count.to_string(), band.moved.high.is_some(), theme.ink2);
}

/// One edge: a handle to drag, or to move with the arrow keys. Gives where it was put, and whether it was
/// let go.
fn edge_ui(
    ui: &mut Ui,
    strip: Rect,
    (scale, x): (Scale, f32),
    index: usize,
    edge: Edge,
    count: u16,
    name: &str,
) -> Option<(u16, bool)> {
    let theme = Theme::of(ui.ctx());
    // Targets lie outwards of the edge, so that those of a narrow band don't cover each other.
    let out = if edge == Edge::Low { -1.0 } else { 1.0 };
    let target = Rect::from_center_size(
        pos2(x + out * (control::TARGET / 2.0 - 8.0), strip.center().y),
        vec2(control::TARGET, control::TARGET),
    );
    let id = ui.make_persistent_id(("edge", index, edge));
    let response = ui.interact(target, id, Sense::click_and_drag());
    let end = if edge == Edge::Low { "Lower" } else { "Upper" };
    let label = format!("{end} edge of {name}, {count} counts. Arrow keys move it.");
    response.widget_info(|| WidgetInfo::labeled(Role::Slider, true, &label));
    let p = ui.painter();
    let hot = response.hovered() || response.dragged() || response.has_focus();
    p.vline(
        x,
        strip.y_range(),
        Stroke::new(if hot { stroke::LOOM } else { stroke::BAND }, theme.band_edge(index)),
    );
    // The grip.
    let grip = Rect::from_center_size(pos2(x, strip.center().y), vec2(7.0, 14.0));
    p.rect(grip, 1, theme.raise, Stroke::new(stroke::RULE, theme.ink), egui::StrokeKind::Inside);
    focus::ring(p, &theme, &response, Rect::from_center_size(grip.center(), vec2(10.0, STRIP)));
    if response.hovered() || response.dragged() {
        ui.ctx().set_cursor_icon(CursorIcon::ResizeHorizontal);
    }
    if response.clicked() {
        response.request_focus();
    }
    if response.has_focus() {
        let filter = EventFilter { horizontal_arrows: true, ..EventFilter::default() };
        ui.memory_mut(|memory| memory.set_focus_lock_filter(id, filter));
        let steps: i32 = ui.input_mut(|input| {
            let mut by = |modifiers: Modifiers, step: i32| {
                step * (input.count_and_consume_key(modifiers, Key::ArrowRight) as i32
                    - input.count_and_consume_key(modifiers, Key::ArrowLeft) as i32)
            };
            by(Modifiers::SHIFT, LEAP) + by(Modifiers::NONE, 1)
        });
        if steps != 0 {
            let put = (i32::from(count) + steps).clamp(0, TOP_COUNT as i32);
            return Some((u16::try_from(put).unwrap_or(count), false));
        }
    }
    if response.drag_stopped() {
        return Some((count, true));
    }
    if response.dragged()
        && let Some(pointer) = response.interact_pointer_pos()
    {
        // The edge lies half a count beyond the last count taken.
        let put = scale.count(strip, pointer.x);
        if put != count {
            return Some((put, false));
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_on_the_strip_and_its_count_are_each_others_inverse() {
        let scale = Scale { from: 440.0, to: 560.0 };
        let rect = Rect::from_min_size(pos2(100.0, 0.0), vec2(240.0, 30.0));
        for count in [440_u16, 457, 491, 526, 560] {
            assert_eq!(scale.count(rect, scale.x(rect, f64::from(count))), count);
        }
        assert_eq!(scale.count(rect, -50.0), 440);
        assert_eq!(scale.x(rect, 5_000.0), 340.0);
    }
}
