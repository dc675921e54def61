//! A rung's readings: turned sideways as a smoothed density, and as bars of one count each. Takes
//! counts with how many readings fell there; a rung without kept readings is drawn from its spread.

use egui::{Color32, Painter, Pos2, Rect, Shape, Stroke, pos2};

use super::axis::Axis;

/// The density is at least this wide across the axis, in points, or it would be a hair.
const THINNEST: f32 = 1.1;

/// What is below this share of the peak is cut off.
const CUT: f32 = 0.03;

/// Readings as counts with weights: the kept ones, or, where none were kept, whole counts under a
/// normal curve of this spread.
#[must_use]
pub fn readings(tally: &[(f64, f64)], centre: f64, sigma: f64) -> Vec<(f64, f64)> {
    if !tally.is_empty() {
        return tally.to_vec();
    }
    let sigma = sigma.max(0.3);
    let reach = (3.0 * sigma).ceil();
    let mut bars = Vec::new();
    let mut count = (centre - reach).floor();
    while count <= centre + reach {
        let z = (count - centre) / sigma;
        bars.push((count, (-0.5 * z * z).exp()));
        count += 1.0;
    }
    bars
}

/// Draws a density from `x` to the right, `length` long at its peak.
pub fn density(
    p: &Painter,
    axis: &Axis,
    x: f32,
    length: f32,
    bars: &[(f64, f64)],
    (fill, line): (Color32, Option<Color32>),
) {
    let Some((low, high)) = extent(bars) else { return };
    let smooth = f64::from(THINNEST / axis.points_per_count()).max(0.55);
    let step = (smooth / 3.0).max(0.05);
    let mut curve = Vec::new();
    let mut peak = 0.0_f64;
    let mut count = low - 4.0 * smooth;
    while count <= high + 4.0 * smooth && curve.len() < 600 {
        let height: f64 = bars
            .iter()
            .map(|&(at, weight)| {
                let z = (count - at) / smooth;
                weight * (-0.5 * z * z).exp()
            })
            .sum();
        peak = peak.max(height);
        curve.push((count, height));
        count += step;
    }
    if peak <= 0.0 {
        return;
    }
    let outline: Vec<Pos2> = curve
        .iter()
        .map(|&(count, height)| (axis.y(count), (height / peak) as f32))
        .filter(|&(y, share)| share > CUT && y > axis.top && y < axis.bottom)
        .map(|(y, share)| pos2(x + share * length, y))
        .collect();
    fill_from_base(p, x, &outline, fill);
    if let Some(line) = line {
        p.add(Shape::line(outline, Stroke::new(1.0, line)));
    }
}

/// Fills between the base line and the outline: a strip of quads, since the outline isn't convex.
fn fill_from_base(p: &Painter, x: f32, outline: &[Pos2], fill: Color32) {
    let mut mesh = egui::Mesh::default();
    for pair in outline.windows(2) {
        let [a, b] = [pair[0], pair[1]];
        let first = mesh.vertices.len() as u32;
        for corner in [pos2(x, a.y), a, b, pos2(x, b.y)] {
            mesh.colored_vertex(corner, fill);
        }
        mesh.add_triangle(first, first + 1, first + 2);
        mesh.add_triangle(first, first + 2, first + 3);
    }
    if !mesh.is_empty() {
        p.add(Shape::mesh(mesh));
    }
}

/// Draws one bar a count from `x` to the right, `length` long for the fullest.
pub fn bars(
    p: &Painter,
    axis: &Axis,
    clip: Rect,
    (x, length): (f32, f32),
    bars: &[(f64, f64)],
    (fill, line): (Color32, Option<Color32>),
) {
    let most = bars.iter().map(|&(_, weight)| weight).fold(0.0, f64::max);
    if most <= 0.0 {
        return;
    }
    let thick = (axis.points_per_count() - 1.0).max(1.0);
    for &(count, weight) in bars {
        let long = (weight / most) as f32 * length;
        let middle = axis.y(count);
        if long < 1.0 || !clip.y_range().contains(middle) {
            continue;
        }
        let bar = Rect::from_min_max(pos2(x, middle - thick / 2.0), pos2(x + long, middle + thick / 2.0));
        p.rect_filled(bar, 0, fill);
        if let Some(line) = line
            && thick > 3.0
        {
            p.rect_stroke(bar, 0, Stroke::new(0.75, line), egui::StrokeKind::Inside);
        }
    }
}

fn extent(bars: &[(f64, f64)]) -> Option<(f64, f64)> {
    let low = bars.iter().map(|&(count, _)| count).min_by(f64::total_cmp)?;
    let high = bars.iter().map(|&(count, _)| count).max_by(f64::total_cmp)?;
    (high - low < 2048.0).then_some((low, high))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn kept_readings_are_drawn_as_they_are() {
        let tally = [(551.0, 40.0), (552.0, 12.0)];
        assert_eq!(readings(&tally, 500.0, 9.0), tally);
    }

    #[test]
    fn a_rung_without_kept_readings_is_drawn_from_its_spread() {
        let bars = readings(&[], 551.0, 1.0);
        assert!(bars.iter().any(|&(count, weight)| count == 551.0 && weight == 1.0));
        assert!(bars.iter().all(|&(count, _)| (count - 551.0).abs() <= 4.0));
    }
}
