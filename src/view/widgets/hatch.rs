//! Hatching at 45°, cut to a rectangle by arithmetic, one mesh each; and dashed lines. Hatched
//! means not accepted, dashed means planned. Knows no meaning beyond those two.

use egui::epaint::{Mesh, Vertex, WHITE_UV};
use egui::{Color32, Painter, Pos2, Rect, Shape, Stroke, pos2};

use crate::view::theme::Theme;

/// Lines x + y = k, `step` apart in k and `width` points thick.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hatch {
    /// Distance of two lines along an axis, in points.
    pub step: f32,
    /// Thickness of a line, in points.
    pub width: f32,
}

impl Hatch {
    /// Gaps between accept bands.
    pub const REJECT: Self = Self { step: 7.0, width: 1.0 };
    /// A press refused, in a plot.
    pub const REFUSED: Self = Self { step: 7.0, width: 2.0 };
    /// The edge of a stop notice.
    pub const STOP: Self = Self { step: 7.0, width: 3.0 };
    /// Large stops: a state panel, the cautions.
    pub const STOP_LARGE: Self = Self { step: 9.0, width: 4.0 };
}

/// Draws reject hatching in the theme's hatch colour. Put an edge line beside it.
pub fn reject(p: &Painter, theme: &Theme, rect: Rect) {
    hatch(p, rect, Hatch::REJECT, theme.hatch);
}

/// Draws alarm hatching.
pub fn alarm(p: &Painter, theme: &Theme, rect: Rect, kind: Hatch) {
    hatch(p, rect, kind, theme.alarm);
}

/// Draws any hatching over `rect`, its ground left as it is.
pub fn hatch(p: &Painter, rect: Rect, kind: Hatch, colour: Color32) {
    let mesh = mesh(rect, kind, colour, 1.0 / p.pixels_per_point());
    if !mesh.is_empty() {
        p.add(Shape::mesh(mesh));
    }
}

/// The hatching as one mesh; `soft` is the width in points over which an edge fades (one pixel).
#[must_use]
pub fn mesh(rect: Rect, kind: Hatch, colour: Color32, soft: f32) -> Mesh {
    let mut mesh = Mesh::default();
    if rect.width() <= 0.0 || rect.height() <= 0.0 || !rect.is_finite() || kind.step <= 0.0 {
        return mesh;
    }
    // Across the line, k grows by √2 a point.
    let root2 = std::f32::consts::SQRT_2;
    let inner = ((kind.width - soft) / 2.0).max(0.0) * root2;
    let outer = (kind.width + soft) / 2.0 * root2;
    let (first, last) = (rect.left() + rect.top(), rect.right() + rect.bottom());
    let mut k = ((first - outer) / kind.step).floor() * kind.step;
    while k <= last + outer {
        if k + outer > first {
            strip(&mut mesh, rect, [k - outer, k - inner], [Color32::TRANSPARENT, colour]);
            strip(&mut mesh, rect, [k - inner, k + inner], [colour, colour]);
            strip(&mut mesh, rect, [k + inner, k + outer], [colour, Color32::TRANSPARENT]);
        }
        k += kind.step;
    }
    mesh
}

/// The part of `rect` where x + y lies between two values, shaded from one colour to the other.
fn strip(mesh: &mut Mesh, rect: Rect, [a, b]: [f32; 2], [at_a, at_b]: [Color32; 2]) {
    if b <= a {
        return;
    }
    let mut corners = [Pos2::ZERO; 8];
    let mut count = 0;
    let ring = [rect.left_top(), rect.right_top(), rect.right_bottom(), rect.left_bottom()];
    let sum = |p: Pos2| p.x + p.y;
    // Walking round the rectangle, keep corners between the two lines and every crossing.
    for (i, &from) in ring.iter().enumerate() {
        let to = ring[(i + 1) % 4];
        let (s0, s1) = (sum(from), sum(to));
        if (a..=b).contains(&s0) {
            corners[count] = from;
            count += 1;
        }
        let mut cuts = if s1 > s0 { [a, b] } else { [b, a] };
        for cut in &mut cuts {
            if (s0 < *cut && *cut < s1) || (s1 < *cut && *cut < s0) {
                corners[count] = from + (to - from) * ((*cut - s0) / (s1 - s0));
                count += 1;
            }
        }
    }
    if count < 3 {
        return;
    }
    let base = u32::try_from(mesh.vertices.len()).unwrap_or(u32::MAX);
    for &pos in &corners[..count] {
        let share = ((sum(pos) - a) / (b - a)).clamp(0.0, 1.0);
        mesh.vertices.push(Vertex { pos, uv: WHITE_UV, color: at_a.lerp_to_gamma(at_b, share) });
    }
    for i in 2..u32::try_from(count).unwrap_or(0) {
        mesh.add_triangle(base, base + i - 1, base + i);
    }
}

/// A dashed line between two points.
pub fn dashed_line(p: &Painter, from: Pos2, to: Pos2, stroke: Stroke, dash: f32, gap: f32) {
    p.extend(Shape::dashed_line(&[from, to], stroke, dash, gap));
}

/// A dashed closed outline through `points`.
pub fn dashed_ring(p: &Painter, points: &[Pos2], stroke: Stroke, dash: f32, gap: f32) {
    let mut ring = points.to_vec();
    ring.extend(points.first());
    p.extend(Shape::dashed_line(&ring, stroke, dash, gap));
}

/// A dashed rectangle, its line inside `rect`.
pub fn dashed_rect(p: &Painter, rect: Rect, stroke: Stroke, dash: f32, gap: f32) {
    let r = rect.shrink(stroke.width / 2.0);
    let ring = [r.left_top(), r.right_top(), r.right_bottom(), r.left_bottom()];
    dashed_ring(p, &ring, stroke, dash, gap);
}

/// Points round a circle, for dashed rings and arcs.
#[must_use]
pub fn circle_points(centre: Pos2, radius: f32, count: u16) -> Vec<Pos2> {
    (0..count)
        .map(|i| {
            let angle = f32::from(i) / f32::from(count.max(1)) * std::f32::consts::TAU;
            pos2(centre.x + radius * angle.sin(), centre.y - radius * angle.cos())
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn area(mesh: &Mesh) -> f32 {
        mesh.indices
            .chunks(3)
            .map(|t| {
                let [a, b, c] = [0, 1, 2].map(|i| mesh.vertices[t[i] as usize].pos);
                ((b - a).x * (c - a).y - (b - a).y * (c - a).x).abs() / 2.0
            })
            .sum()
    }

    #[test]
    fn hatching_never_leaves_its_rectangle() {
        for rect in [
            Rect::from_min_max(pos2(10.0, 20.0), pos2(71.0, 48.0)),
            Rect::from_min_max(pos2(-5.5, 3.25), pos2(-1.0, 90.0)),
            Rect::from_min_max(pos2(0.0, 0.0), pos2(2.0, 2.0)),
        ] {
            for kind in [Hatch::REJECT, Hatch::STOP, Hatch::STOP_LARGE] {
                let mesh = mesh(rect, kind, Color32::WHITE, 1.0);
                for v in &mesh.vertices {
                    assert!(rect.expand(1e-3).contains(v.pos), "{:?} outside {rect:?}", v.pos);
                }
                assert!(mesh.is_valid());
            }
        }
    }

    #[test]
    fn hatching_covers_the_share_its_width_and_step_promise() {
        // Lines of width w every step/√2 cover w·√2/step; edges fade over a point beyond that.
        let rect = Rect::from_min_max(pos2(0.0, 0.0), pos2(700.0, 700.0));
        let mesh = mesh(rect, Hatch { step: 14.0, width: 3.0 }, Color32::WHITE, 0.01);
        let share = area(&mesh) / rect.area();
        assert!((share - 3.01 * std::f32::consts::SQRT_2 / 14.0).abs() < 0.01, "{share}");
    }

    #[test]
    fn nothing_is_drawn_over_an_empty_or_broken_rectangle() {
        for rect in [Rect::NOTHING, Rect::NAN, Rect::from_min_max(pos2(5.0, 5.0), pos2(5.0, 9.0))] {
            assert!(mesh(rect, Hatch::REJECT, Color32::WHITE, 1.0).is_empty());
        }
    }
}
