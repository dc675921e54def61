//! The front-panel bracket that names a region: a line with two ticks, interrupted by the name,
//! and a second text at its right. Knows nothing of what it names.

use egui::{Align, Painter, Rangef, Response, Role, Sense, Shape, Ui, WidgetInfo, pos2, vec2};

use super::text;
use crate::view::theme::{Theme, bold, regular, size};

const TICK: f32 = 6.0;
const INSET: f32 = 12.0;
/// Below this many points of line between the two texts the right one is cut.
const LINE_LEAST: f32 = 12.0;

/// Draws a bracket whose line lies at `y`; `right` is cut or left out where there's no room.
pub fn bracket(p: &Painter, theme: &Theme, x: Rangef, y: f32, name: &str, right: &str) {
    let line = theme.outline();
    let name_room = (x.span() - 2.0 * INSET - 6.0).max(0.0);
    let name_wide =
        text::cap_within(p, x.min + INSET, y, Align::Min, name_room, name, bold(size::BODY), theme.ink);
    let px = 1.0 / p.pixels_per_point();
    let snap = |v: f32| p.round_to_pixel_center(v);
    let (l, r, yy) = (snap(x.min), snap(x.max - px), snap(y));
    p.add(Shape::line(vec![pos2(l, yy + TICK), pos2(l, yy), pos2(x.min + TICK, yy)], line));

    let after_name = x.min + INSET + name_wide + 6.0;
    let room = x.max - INSET - (after_name + LINE_LEAST + 6.0);
    let right_wide = if room >= 20.0 {
        text::cap_within(p, x.max - INSET, y, Align::Max, room, right, regular(size::AXIS), theme.ink2)
    } else {
        0.0
    };
    if right_wide > 0.0 {
        p.hline(after_name..=(x.max - INSET - 6.0 - right_wide), yy, line);
        p.add(Shape::line(vec![pos2(x.max - TICK, yy), pos2(r, yy), pos2(r, yy + TICK)], line));
    } else {
        let from = after_name.min(r - TICK);
        p.add(Shape::line(vec![pos2(from, yy), pos2(r, yy), pos2(r, yy + TICK)], line));
    }
}

/// A bracket as wide as the layout allows, 20 points high, that screen readers see as a heading.
pub fn bracket_ui(ui: &mut Ui, name: &str, right: &str) -> Response {
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), 20.0), Sense::hover());
    bracket(ui.painter(), &Theme::of(ui), rect.x_range(), rect.center().y, name, right);
    response.widget_info(|| {
        let label = if right.is_empty() { name.to_owned() } else { format!("{name}, {right}") };
        WidgetInfo::labeled(Role::Heading, true, label)
    });
    response
}
