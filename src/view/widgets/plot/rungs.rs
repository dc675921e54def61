//! The rung map: every button's place on the count axis. Solid is measured, dashed is planned,
//! hatched is not accepted.

use egui::{Align, Painter, Rangef, Rect, Stroke, Ui, pos2};

use super::axis::Axis;
use super::{RungRow, Wear, density};
use crate::view::theme::{self, ButtonColour, Theme, size, stroke};
use crate::view::widgets::{hatch, plate, text};

/// How labels stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Labels {
    /// Name over count and headroom.
    Two,
    /// Name and count on one line.
    One,
    /// Name alone.
    Name,
}

impl Labels {
    /// The least distance of two labels, in points.
    const fn pitch(self) -> f32 {
        match self {
            Self::Two => 38.0,
            Self::One => 27.0,
            Self::Name => 16.5,
        }
    }

    /// These labels, or plainer ones where `rows` of them have no more than `height` points.
    fn fitting(self, rows: usize, height: f32) -> Self {
        let each = height / rows.max(1) as f32;
        match self {
            Self::Two if each < 34.0 => Self::One.fitting(rows, height),
            Self::One if each < 18.0 => Self::Name,
            plain => plain,
        }
    }

    const fn plate_radius(self) -> f32 {
        match self {
            Self::Two | Self::One => 11.0,
            Self::Name => 7.5,
        }
    }

    const fn margin(self) -> f32 {
        match self {
            Self::Two | Self::One => 16.0,
            Self::Name => 8.0,
        }
    }
}

/// The least height of a row whose name is drawn: a line of the smallest letters.
const LEAST_NAMED: f32 = 12.0;

/// The least radius of a tag, in points.
const LEAST_TAG: f32 = 5.0;

/// Draws the map into `rect`: the lane first, labels to its right. `asked` is the row that is now
/// asked for. Each rung is an accessible child.
pub fn rungs_ui(
    ui: &mut Ui,
    rect: Rect,
    lane: f32,
    axis: &Axis,
    rows: &[RungRow],
    asked: Option<usize>,
    labels: Labels,
) {
    let theme = Theme::of(ui.ctx());
    let lane = Rect::from_min_max(rect.min, pos2((rect.left() + lane).min(rect.right()), rect.bottom()));
    let p = ui.painter_at(Rect::from_min_max(
        pos2(rect.left() - 8.0, rect.top() - 2.0),
        pos2(rect.right(), rect.bottom() + 2.0),
    ));
    p.rect_filled(lane, 0, theme.well);
    hatch::reject(&p, &theme, lane);
    let inside = p.with_clip_rect(lane);
    for row in rows {
        band(&inside, &theme, lane, axis, row);
    }
    for row in rows {
        readings(&inside, &theme, lane, axis, row);
    }
    if let Some(row) = asked.and_then(|asked| rows.iter().find(|row| row.index == Some(asked))) {
        asked_bracket(&p, &theme, lane, axis, row);
    }
    p.vline(lane.right().floor() + 0.5, lane.y_range(), Stroke::new(stroke::RULE, theme.edge));
    label_rows(&p, &theme, rect, lane, axis, rows, asked, labels);
    for (number, row) in rows.iter().enumerate() {
        let y = axis.y_within(row.centre);
        let place = Rect::from_x_y_ranges(lane.x_range(), Rangef::new(y - 6.0, y + 6.0));
        let response = ui.interact(place, ui.scope_id().with(("rung", number)), egui::Sense::hover());
        response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::ListItem, true, &row.spoken));
        response.on_hover_text(&row.spoken);
    }
}

/// The colours of a row, rest's where it is no button.
#[must_use]
pub fn colours(theme: &Theme, index: Option<usize>) -> ButtonColour {
    index.map_or(theme.rest, |index| theme.button(index))
}

/// The colour of a band's edge lines.
#[must_use]
pub fn edge(theme: &Theme, index: Option<usize>) -> egui::Color32 {
    index.map_or(theme.ink2, |index| theme.band_edge(index))
}

fn band(p: &Painter, theme: &Theme, lane: Rect, axis: &Axis, row: &RungRow) {
    let (top, bottom) = (axis.y_within(row.high), axis.y_within(row.low));
    if bottom <= top {
        return;
    }
    let rect = Rect::from_x_y_ranges(lane.x_range(), Rangef::new(top, bottom));
    if row.state.is_measured() {
        p.rect_filled(rect, 0, colours(theme, row.index).band);
        let line = Stroke::new(stroke::BAND, edge(theme, row.index));
        p.hline(lane.x_range(), top, line);
        p.hline(lane.x_range(), bottom, line);
    } else {
        p.rect_filled(rect, 0, theme.well);
        let planned = theme.key_line().map_or_else(|| colours(theme, row.index).plate, |_| theme.ink2);
        let line = Stroke::new(1.25, planned);
        for y in [top, bottom] {
            hatch::dashed_line(p, pos2(lane.left(), y), pos2(lane.right(), y), line, 4.0, 3.0);
        }
    }
}

fn readings(p: &Painter, theme: &Theme, lane: Rect, axis: &Axis, row: &RungRow) {
    let colour = colours(theme, row.index);
    let centre = axis.y(row.centre);
    let Some(_) = row.index else {
        let line = Stroke::new(2.0, theme.ink2);
        p.hline(Rangef::new(lane.left(), lane.left() + lane.width() * 0.72), centre, line);
        return;
    };
    if !row.state.has_presses() {
        let planned = theme.key_line().map_or(colour.plate, |_| theme.ink2);
        let to = pos2(lane.left() + lane.width() * 0.5, centre);
        hatch::dashed_line(p, pos2(lane.left(), centre), to, Stroke::new(1.25, planned), 4.0, 3.0);
        return;
    }
    if let Some((low, high)) = row.tolerance {
        let (top, bottom) = (axis.y(high), axis.y(low));
        let least = (2.0 - (bottom - top)).max(0.0) / 2.0;
        let bar = Rect::from_x_y_ranges(
            Rangef::new(lane.left() + 2.0, lane.left() + 4.0),
            Rangef::new(top - least, bottom + least),
        );
        p.rect_filled(bar, 0, theme.ink);
    }
    let share = match row.state {
        super::RungState::Partly { presses, of } => {
            0.55 + 0.45 * (presses as f32 / of.max(1) as f32).min(1.0)
        }
        _ => 1.0,
    };
    let bars = density::readings(&row.tally, row.centre, row.sigma);
    density::density(
        p,
        axis,
        lane.left() + 6.0,
        lane.width() * 0.7 * share,
        &bars,
        (colour.plate, theme.key_line()),
    );
    if row.state.is_measured() {
        headroom(p, theme, lane, axis, row);
    }
}

/// An arrow from the centre to the edge that wear moves it towards.
fn headroom(p: &Painter, theme: &Theme, lane: Rect, axis: &Axis, row: &RungRow) {
    let (to, sign) = match row.wear {
        Wear::Up => (axis.y_within(row.high), 1.0),
        Wear::Down => (axis.y_within(row.low), -1.0),
        Wear::Unknown => return,
    };
    let from = axis.y_within(row.centre);
    let x = lane.right() - 13.0;
    let line = Stroke::new(1.5, theme.ink);
    p.hline(Rangef::new(x - 5.0, x + 5.0), from, line);
    if (from - to).abs() < 3.0 {
        return;
    }
    let tip = to + sign;
    p.vline(x, Rangef::new(from.min(tip), from.max(tip)), line);
    let head = (5.0_f32).min((from - to).abs());
    p.line_segment([pos2(x - 4.0, tip + sign * head), pos2(x, tip)], line);
    p.line_segment([pos2(x + 4.0, tip + sign * head), pos2(x, tip)], line);
}

fn asked_bracket(p: &Painter, theme: &Theme, lane: Rect, axis: &Axis, row: &RungRow) {
    let (top, bottom) = (axis.y_within(row.high) - 2.0, axis.y_within(row.low) + 2.0);
    let line = Stroke::new(2.0, theme.ink);
    let (near, far) = (lane.left() - 1.0, lane.left() - 5.0);
    p.line(vec![pos2(near, top), pos2(far, top), pos2(far, bottom), pos2(near, bottom)], line);
}

#[expect(
    clippy::too_many_arguments,
    reason = "a label stands between the lane, its row and the other labels"
)]
fn label_rows(
    p: &Painter,
    theme: &Theme,
    rect: Rect,
    lane: Rect,
    axis: &Axis,
    rows: &[RungRow],
    asked: Option<usize>,
    labels: Labels,
) {
    let shown: Vec<_> =
        rows.iter().filter(|row| row.centre >= axis.low - 1.0 && row.centre <= axis.high + 1.0).collect();
    let wanted: Vec<_> = shown.iter().map(|row| axis.y_within(row.centre)).collect();
    let each = rect.height() / shown.len().max(1) as f32;
    let labels = labels.fitting(shown.len(), rect.height());
    // Names that would run into each other are left to the tags, and tags shrink to their row; each
    // rung still tells its name under the pointer.
    let named = each >= LEAST_NAMED;
    let pitch = labels.pitch().min(each);
    let places = pushed_apart(&wanted, pitch, rect.y_range(), labels.margin());
    let left = lane.right() + if labels == Labels::Name { 16.0 } else { 26.0 };
    for ((row, &from), &y) in shown.iter().zip(&wanted).zip(&places) {
        let leader = Stroke::new(stroke::RULE, theme.edge);
        let start = lane.right();
        p.line(vec![pos2(start, from), pos2(start + 6.0, from), pos2(left - 4.0, y)], leader);
        let radius = labels.plate_radius().min((each / 2.0).max(LEAST_TAG));
        let at = pos2(left + 9.0, y);
        match row.index {
            Some(index) => {
                let mode = if row.state.is_measured() {
                    plate::PlateMode::Measured
                } else {
                    plate::PlateMode::Planned
                };
                plate::plate(p, theme, index, at, radius, mode);
            }
            None => plate::rest_tag(p, theme, at, radius * 0.6),
        }
        let is_asked = row.index.is_some() && row.index == asked;
        if !named && !is_asked {
            continue;
        }
        let dim = row.index.is_some() && !row.state.is_measured() && !is_asked;
        let ink = if dim { theme.ink2 } else { theme.ink };
        let room = rect.right() - left;
        match labels {
            Labels::Two => {
                let font = if dim { theme::regular(size::BODY) } else { theme::bold(size::BODY) };
                let x = left + 28.0;
                text::cap_within(p, x, y - 8.0, Align::Min, room - 28.0, &row.name, font, ink);
                let detail = theme::regular(size::AXIS);
                text::cap_within(p, x, y + 9.0, Align::Min, room - 28.0, &row.detail, detail, theme.ink2);
            }
            Labels::One => {
                let font = if dim { theme::regular(size::BODY) } else { theme::bold(size::BODY) };
                let x = left + 28.0;
                let wide = text::cap_within(p, x, y, Align::Min, room - 64.0, &row.name, font, ink);
                text::cap(
                    p,
                    x + wide + 8.0,
                    y,
                    Align::Min,
                    &row.count,
                    theme::regular(size::AXIS),
                    theme.ink2,
                );
            }
            Labels::Name => {
                let font = if is_asked { theme::bold(size::AXIS) } else { theme::regular(size::AXIS) };
                text::cap_within(p, left + 22.0, y, Align::Min, room - 22.0, &row.name, font, ink);
            }
        }
    }
}

/// Places for labels that want to stand at `wanted`, at least `pitch` apart and inside `range`,
/// in the same order from top to bottom, moved as little as that allows.
fn pushed_apart(wanted: &[f32], pitch: f32, range: Rangef, margin: f32) -> Vec<f32> {
    let mut order: Vec<usize> = (0..wanted.len()).collect();
    order.sort_by(|&a, &b| wanted[a].total_cmp(&wanted[b]));
    let (top, bottom) =
        (range.min + margin.min(range.span() / 2.0), range.max - margin.min(range.span() / 2.0));
    let mut places: Vec<f32> = order.iter().map(|&row| wanted[row].clamp(top, bottom)).collect();
    for _ in 0..200 {
        let mut moved = false;
        for i in 1..places.len() {
            let short = places[i - 1] + pitch - places[i];
            if short > 0.01 {
                places[i - 1] -= short / 2.0;
                places[i] += short / 2.0;
                moved = true;
            }
        }
        for place in &mut places {
            *place = place.clamp(top, bottom);
        }
        if !moved {
            break;
        }
    }
    let mut result = vec![0.0; wanted.len()];
    for (&row, &place) in order.iter().zip(&places) {
        result[row] = place;
    }
    result
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_keep_their_order_and_distance() {
        let wanted = [300.0, 310.0, 312.0, 100.0];
        let places = pushed_apart(&wanted, 38.0, Rangef::new(0.0, 400.0), 16.0);
        assert!(places[0] < places[1] && places[1] < places[2]);
        assert!(places[1] - places[0] > 37.0 && places[2] - places[1] > 37.0);
        assert_eq!(places[3], 100.0);
    }

    #[test]
    fn labels_stay_inside_even_when_all_want_the_same_place() {
        let places = pushed_apart(&[399.0; 8], 38.0, Rangef::new(0.0, 400.0), 16.0);
        assert!(places.iter().all(|&y| (16.0..=384.0).contains(&y)));
        assert!(places.windows(2).all(|pair| pair[1] - pair[0] > 30.0), "{places:?}");
    }

    #[test]
    fn labels_of_many_buttons_take_one_line_before_they_touch() {
        assert_eq!(Labels::Two.fitting(8, 370.0), Labels::Two);
        assert_eq!(Labels::Two.fitting(17, 370.0), Labels::One);
        assert_eq!(Labels::One.fitting(17, 200.0), Labels::Name);
    }

    #[test]
    fn no_labels_need_no_place() {
        assert!(pushed_apart(&[], 38.0, Rangef::new(0.0, 400.0), 16.0).is_empty());
    }
}
