//! The nearest gap, enlarged: two neighbouring rungs from centre to centre and a little over. At
//! full scale a count is a third of a point, and a rung's readings are a needle.

use egui::{Align, Painter, Rangef, Rect, Stroke, Ui, pos2};

use super::axis::Axis;
use super::rungs::{colours, edge};
use super::{RungRow, Wear, density};
use crate::view::theme::{self, Theme, size};
use crate::view::widgets::{hatch, plate, text};

/// How far beyond the two centres is shown, as a share of their distance.
const OVER: f64 = 0.26;

/// How many times larger than on an axis of this many points to a count.
#[must_use]
pub fn enlargement(rect: Rect, lower: &RungRow, upper: &RungRow, axis: &Axis) -> f32 {
    axis_of(rect, lower, upper).points_per_count() / axis.points_per_count()
}

fn axis_of(rect: Rect, lower: &RungRow, upper: &RungRow) -> Axis {
    let span = (upper.centre - lower.centre).max(2.0);
    Axis::over(rect, (lower.centre - OVER * span, lower.centre + (1.0 + OVER) * span))
}

/// Draws the gap between two rungs; `lower` is the one with the lower count.
pub fn gap_ui(ui: &mut Ui, rect: Rect, lower: &RungRow, upper: &RungRow) {
    let theme = Theme::of(ui.ctx());
    let axis = axis_of(rect, lower, upper);
    let p = ui.painter_at(rect);
    p.rect_filled(rect, 0, theme.well);
    let (upper_edge, lower_edge) = (axis.y_within(upper.low), axis.y_within(lower.high));
    let gap = Rect::from_x_y_ranges(rect.x_range(), Rangef::new(upper_edge, lower_edge));
    if gap.height() > 0.0 {
        hatch::hatch(&p, gap, hatch::Hatch { step: 8.0, width: 1.0 }, theme.hatch);
    }
    side(&p, &theme, rect, &axis, upper, Side { edge: upper_edge, is_upper: true });
    side(&p, &theme, rect, &axis, lower, Side { edge: lower_edge, is_upper: false });
    let reject = (upper.low - lower.high).max(0.0);
    if gap.height() > 16.0 {
        let words = format!("reject {reject:.0}");
        let font = theme::bold(size::AXIS);
        let half = text::width(&p, &words, font.clone()) / 2.0 + 8.0;
        let middle = gap.center();
        p.rect_filled(
            Rect::from_min_max(
                pos2(middle.x - half, middle.y - 10.0),
                pos2(middle.x + half, middle.y + 10.0),
            ),
            0,
            theme.well,
        );
        text::cap(&p, middle.x, middle.y, Align::Center, &words, font, theme.ink);
    }
    let small = theme::regular(size::AXIS);
    let left = rect.left() + 14.0;
    text::cap(
        &p,
        left,
        upper_edge - 11.0,
        Align::Min,
        &format!("{:.0}", upper.low),
        small.clone(),
        theme.ink,
    );
    text::cap(&p, left, lower_edge + 12.0, Align::Min, &format!("{:.0}", lower.high), small, theme.ink);
    let said = format!(
        "Nearest gap: {} at {:.0}, {} at {:.0}, reject {reject:.0} counts",
        lower.name, lower.centre, upper.name, upper.centre
    );
    let response = ui.interact(rect, ui.scope_id().with("nearest gap"), egui::Sense::hover());
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Canvas, true, &said));
}

/// How far a row's name with its tag reaches from the rim.
const NAME: f32 = 33.0;

struct Side {
    edge: f32,
    is_upper: bool,
}

fn side(p: &Painter, theme: &Theme, rect: Rect, axis: &Axis, row: &RungRow, side: Side) {
    let range = if side.is_upper {
        Rangef::new(rect.top(), side.edge)
    } else {
        Rangef::new(side.edge, rect.bottom())
    };
    let colour = colours(theme, row.index);
    let measured = row.state.is_measured();
    let ground = if measured { colour.band } else { theme.well };
    let here = Rect::from_x_y_ranges(rect.x_range(), range);
    if here.height() > 0.0 {
        p.rect_filled(here, 0, ground);
    }
    let line = Stroke::new(1.75, edge(theme, row.index));
    if measured {
        p.hline(rect.x_range(), side.edge, line);
    } else {
        hatch::dashed_line(p, pos2(rect.left(), side.edge), pos2(rect.right(), side.edge), line, 5.0, 3.0);
    }
    tolerance(p, theme, rect, axis, row);
    if row.state.has_presses() {
        let bars = density::readings(&row.tally, row.centre, row.sigma);
        let fill = if row.index.is_none() { theme.ink3 } else { colour.plate };
        density::bars(
            p,
            axis,
            rect,
            (rect.left() + 13.0, rect.width() * 0.34),
            &bars,
            (fill, theme.key_line()),
        );
    }
    dimension(p, theme, rect, axis, row, &side);
    name(p, theme, rect, row, side.is_upper);
}

fn tolerance(p: &Painter, theme: &Theme, rect: Rect, axis: &Axis, row: &RungRow) {
    let Some((low, high)) = row.tolerance else { return };
    if !row.state.is_measured() {
        return;
    }
    let top = axis.y(high).max(rect.top() + 2.0);
    let bottom = axis.y(low).min(rect.bottom() - 2.0);
    if bottom <= top {
        return;
    }
    let (far, near) = (rect.left() + 4.0, rect.left() + 9.0);
    p.line(
        vec![pos2(near, top), pos2(far, top), pos2(far, bottom), pos2(near, bottom)],
        Stroke::new(1.5, theme.ink),
    );
}

/// From the centre to the edge that faces the neighbour, in counts and in what they mean.
fn dimension(p: &Painter, theme: &Theme, rect: Rect, axis: &Axis, row: &RungRow, side: &Side) {
    let x = rect.left() + rect.width() * 0.6;
    let centre = axis.y(row.centre);
    let sign = if side.edge > centre { 1.0 } else { -1.0 };
    let line = Stroke::new(1.25, theme.ink);
    p.hline(Rangef::new(x - 7.0, x + 7.0), centre, Stroke::new(1.0, theme.ink));
    p.vline(x, Rangef::new(centre.min(side.edge), centre.max(side.edge)), line);
    let tip = side.edge - sign;
    p.line_segment([pos2(x - 3.5, tip - sign * 6.0), pos2(x, tip)], line);
    p.line_segment([pos2(x + 3.5, tip - sign * 6.0), pos2(x, tip)], line);
    let counts = (row.centre - if side.is_upper { row.low } else { row.high }).abs();
    let wears_here = matches!((row.wear, side.is_upper), (Wear::Up, false) | (Wear::Down, true));
    let second = match (&row.headroom, wears_here) {
        (Some(headroom), true) => Some(format!("+{headroom}")),
        _ if row.sigma > 0.0 && row.state.has_presses() => Some(format!("{:.0} σ", counts / row.sigma)),
        _ => None,
    };
    if (side.edge - centre).abs() < 16.0 {
        return;
    }
    // The words stand between the edge and the row's name, or not at all.
    let free = if side.is_upper {
        Rangef::new(rect.top() + NAME, side.edge - 2.0)
    } else {
        Rangef::new(side.edge + 2.0, rect.bottom() - NAME)
    };
    let tall = (side.edge - centre).abs() > 34.0 && free.span() > 30.0 && second.is_some();
    let half = if tall { 15.0 } else { 7.0 };
    if free.span() < 2.0 * half {
        return;
    }
    let middle = f32::midpoint(centre, side.edge).clamp(free.min + half, free.max - half);
    let y = if tall { middle - 8.0 } else { middle };
    text::cap(p, x + 9.0, y, Align::Min, &format!("{counts:.0} counts"), theme::bold(size::AXIS), theme.ink);
    if let (true, Some(second)) = (tall, second) {
        text::cap(p, x + 9.0, middle + 8.0, Align::Min, &second, theme::regular(size::AXIS), theme.ink2);
    }
}

fn name(p: &Painter, theme: &Theme, rect: Rect, row: &RungRow, is_upper: bool) {
    let y = if is_upper { rect.top() + 20.0 } else { rect.bottom() - 20.0 };
    let at = pos2(rect.right() - 19.0, y);
    match row.index {
        Some(index) => {
            let mode =
                if row.state.is_measured() { plate::PlateMode::Measured } else { plate::PlateMode::Planned };
            plate::plate(p, theme, index, at, 12.0, mode);
        }
        None => plate::rest_tag(p, theme, at, 8.0),
    }
    let room = rect.width() - 52.0;
    text::cap_within(p, at.x - 19.0, y, Align::Max, room, &row.name, theme::bold(size::BODY), theme.ink);
}
