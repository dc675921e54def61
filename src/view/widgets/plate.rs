//! A button's tag: its letter on its shape in its colour. Solid where the button is measured,
//! dashed on the well where it is planned. Knows a button by its index only.

use egui::epaint::StrokeKind;
use egui::{Align, Color32, Painter, Pos2, Rect, Shape, Stroke, pos2, vec2};

use super::{hatch, text};
use crate::sheet::{PlateOutline, plate_outline};
use crate::view::theme::{PlateShape, Theme, ThemeKind, bold, letter};

/// What is known of the button.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum PlateMode {
    /// Learned: filled.
    Measured,
    /// From the meter or not yet learned: dashed outline on the well.
    Planned,
    /// Planned, standing on the act colour (a chosen key): dashed outline, no fill.
    PlannedOnAct,
}

/// From here on a plate's lines are 2 points wide.
const LARGE: f32 = 20.0;
/// From here on a plate is an outline at night: nothing large is bright.
const LARGE_AT_NIGHT: f32 = 28.0;

/// Draws the plate of button `index` (0 is A) with the given radius in points.
pub fn plate(p: &Painter, theme: &Theme, index: usize, centre: Pos2, radius: f32, mode: PlateMode) {
    let look = Look::of(theme, index, radius, mode);
    let shape = theme.shape(index);
    let outline = outline(shape, centre, radius);
    match mode {
        PlateMode::Measured => body(p, shape, centre, radius, outline, &look),
        PlateMode::Planned | PlateMode::PlannedOnAct => {
            if mode == PlateMode::Planned {
                body(p, shape, centre, radius, outline.clone(), &Look { line: Stroke::NONE, ..look });
            }
            hatch::dashed_ring(p, &outline, look.line, (radius * 0.22).max(2.0), (radius * 0.16).max(1.6));
        }
    }
    // The roof and the point move the middle of the body; the letter follows.
    let shift = match shape {
        PlateShape::House => vec2(0.0, 0.10),
        PlateShape::Shield => vec2(0.0, -0.08),
        PlateShape::Flag => vec2(-0.08, 0.0),
        _ => vec2(0.0, 0.0),
    } * radius;
    let at = centre + shift;
    let mut buffer = [0; 4];
    let letter = letter(index).encode_utf8(&mut buffer);
    text::cap(p, at.x, at.y, Align::Center, letter, bold(radius * 1.08), look.letter);
}

/// Rest's tag: an open grey ring.
pub fn rest_tag(p: &Painter, theme: &Theme, centre: Pos2, radius: f32) {
    p.circle(centre, radius, theme.well, Stroke::new(1.5, theme.ink2));
}

/// Half the plate's width in points, for setting text beside it.
#[must_use]
pub fn half_width(shape: PlateShape, radius: f32) -> f32 {
    radius
        * match shape {
            PlateShape::Circle => 0.98,
            PlateShape::Square => 0.86,
            PlateShape::House | PlateShape::Shield => 0.92,
            PlateShape::Hexagon => 1.04,
            PlateShape::Barrel => 1.14,
            PlateShape::Diamond | PlateShape::Flag => 1.16,
        }
}

struct Look {
    fill: Color32,
    line: Stroke,
    letter: Color32,
}

impl Look {
    fn of(t: &Theme, index: usize, radius: f32, mode: PlateMode) -> Self {
        let c = t.button(index);
        let thin = if radius >= LARGE { 2.0 } else { 1.25 };
        match mode {
            PlateMode::Measured if t.kind == ThemeKind::Night && radius >= LARGE_AT_NIGHT => {
                Self { fill: t.well, line: Stroke::new(3.0, c.plate), letter: c.plate }
            }
            PlateMode::Measured => {
                let line = t.key_line().map_or(Stroke::NONE, |ink| Stroke::new(thin, ink));
                Self { fill: c.plate, line, letter: c.letter }
            }
            PlateMode::Planned => {
                Self { fill: t.well, line: Stroke::new(thin, t.band_edge(index)), letter: t.ink }
            }
            PlateMode::PlannedOnAct => {
                Self { fill: t.act, line: Stroke::new(thin.max(1.5), t.on_act), letter: t.on_act }
            }
        }
    }
}

fn body(p: &Painter, shape: PlateShape, centre: Pos2, r: f32, outline: Vec<Pos2>, look: &Look) {
    match shape {
        PlateShape::Circle => {
            p.circle(centre, 0.98 * r, look.fill, look.line);
        }
        PlateShape::Barrel => {
            let rect = Rect::from_center_size(centre, vec2(2.28 * r, 1.60 * r));
            p.rect(rect, 0.80 * r, look.fill, look.line, StrokeKind::Middle);
        }
        _ => {
            p.add(Shape::convex_polygon(outline, look.fill, look.line));
        }
    }
}

/// Corners of a plate, clockwise; round ones as many.
fn outline(shape: PlateShape, c: Pos2, r: f32) -> Vec<Pos2> {
    match plate_outline(shape as usize) {
        PlateOutline::Corners(corners) => corners.iter().map(|(x, y)| c + vec2(*x, *y) * r).collect(),
        PlateOutline::Circle(of) => hatch::circle_points(c, of * r, 48),
        PlateOutline::Barrel { reach, end } => {
            // Two half rings joined.
            let ring = hatch::circle_points(pos2(0.0, 0.0), end * r, 48);
            let side = |q: &Pos2| if q.x >= 0.0 { reach * r } else { -reach * r };
            ring.iter().map(|q| c + vec2(q.x + side(q), q.y)).collect()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_outline_is_convex_so_that_it_fills_rightly() {
        for shape in PlateShape::ALL {
            let points = outline(shape, pos2(100.0, 100.0), 50.0);
            for i in 0..points.len() {
                let [a, b, c] = [i, i + 1, i + 2].map(|k| points[k % points.len()]);
                let turn = (b - a).x * (c - b).y - (b - a).y * (c - b).x;
                assert!(turn >= -1e-2, "{shape:?} turns the wrong way at corner {i}: {turn}");
            }
        }
    }

    #[test]
    fn half_width_is_where_the_outline_ends() {
        for shape in PlateShape::ALL {
            let right = outline(shape, Pos2::ZERO, 50.0).iter().fold(0.0_f32, |m, p| m.max(p.x));
            assert!((right - half_width(shape, 50.0)).abs() < 0.5, "{shape:?}: {right}");
        }
    }
}
