//! The stacked bar of what moves a reading, from its centre outwards, in counts; and the legend. A cause is
//! told by its pattern and its word: hue is kept for buttons. Knows no button.

use egui::{Align, Painter, Rect, Role, Sense, Stroke, Ui, pos2, vec2};

use crate::bands::Contributions;
use crate::circuit::Shift;
use crate::units::count_text;
use crate::view::theme::{self, Theme, size, stroke};
use crate::view::widgets::{focus, text};

/// How high a bar is, in points.
pub(super) const BAR: f32 = 16.0;

/// Causes that move a reading less than this are not told, in counts.
const LEAST: f64 = 0.05;

/// Draws one cause's piece: each its own pattern in ink, each outlined.
fn piece(p: &Painter, theme: &Theme, rect: Rect, cause: usize) {
    if rect.width() < 0.5 {
        return;
    }
    let thin = Stroke::new(stroke::RULE, theme.ink);
    let inner = p.with_clip_rect(rect.intersect(p.clip_rect()));
    let upright = |step: f32| {
        let mut x = rect.left() + step / 2.0;
        while x < rect.right() {
            inner.vline(x, rect.y_range(), thin);
            x += step;
        }
    };
    let across = |step: f32| {
        let mut y = rect.top() + step / 2.0;
        while y < rect.bottom() {
            inner.hline(rect.x_range(), y, thin);
            y += step;
        }
    };
    match cause {
        0 => {
            p.rect_filled(rect, 0, theme.ink);
        }
        1 => {
            p.rect_filled(rect, 0, theme.edge);
        }
        2 => {
            let mut x = rect.left() + 2.5;
            while x < rect.right() {
                let mut y = rect.top() + 3.0;
                while y < rect.bottom() {
                    inner.circle_filled(pos2(x, y), 1.1, theme.ink);
                    y += 5.0;
                }
                x += 5.0;
            }
        }
        3 => upright(4.0),
        4 => across(4.0),
        5 => {
            upright(5.0);
            across(5.0);
        }
        _ => {}
    }
    p.rect_stroke(rect, 0, Stroke::new(stroke::RULE, theme.ink2), egui::StrokeKind::Inside);
}

/// How many counts the widest of these bars reaches to either side.
pub(super) fn reach(all: impl Iterator<Item = Contributions>) -> Shift {
    all.map(|made| made.sum()).fold(Shift::default(), |most, sum| Shift {
        down_count: most.down_count.max(sum.down_count),
        up_count: most.up_count.max(sum.up_count),
    })
}

/// Draws a bar into `rect`, all bars to one scale: `reach` is what the widest has.
pub(super) fn bar(p: &Painter, theme: &Theme, rect: Rect, made: &Contributions, reach: Shift) {
    p.rect_filled(rect, 0, theme.well);
    let whole = (reach.down_count + reach.up_count).max(1.0);
    let per_count = f64::from(rect.width()) / whole;
    let centre = rect.left() + (reach.down_count * per_count) as f32;
    let body = rect.shrink2(vec2(0.0, 1.0));
    let (mut left, mut right) = (centre, centre);
    for (cause, shift) in made.parts().into_iter().enumerate() {
        let down = left - (shift.down_count * per_count) as f32;
        let up = right + (shift.up_count * per_count) as f32;
        piece(p, theme, Rect::from_x_y_ranges(down..=left, body.y_range()), cause);
        piece(p, theme, Rect::from_x_y_ranges(right..=up, body.y_range()), cause);
        (left, right) = (down, up);
    }
    p.vline(centre, rect.top() - 3.0..=rect.bottom() + 3.0, Stroke::new(stroke::NODE, theme.ink));
}

/// What a bar says: `noise −3 +3, wear +38 counts`.
pub(super) fn words(made: &Contributions) -> String {
    let said: Vec<String> = Contributions::NAMES
        .into_iter()
        .zip(made.parts())
        .filter(|(_, shift)| shift.down_count.max(shift.up_count) >= LEAST)
        .map(|(name, shift)| {
            let side = |sign: &str, count: f64| {
                if count < LEAST { String::new() } else { format!(" {sign}{}", count_text(count, 1)) }
            };
            format!("{name}{}{}", side("−", shift.down_count), side("+", shift.up_count))
        })
        .collect();
    if said.is_empty() { "nothing moves it".to_owned() } else { format!("{} counts", said.join(", ")) }
}

/// Draws the legend: the causes that are there.
pub(super) fn legend_ui(ui: &mut Ui, there: Causes) {
    let theme = Theme::of(ui.ctx());
    let font = theme::regular(size::AXIS);
    let whole = ui.available_width();
    let names: Vec<(usize, &str)> =
        Contributions::NAMES.into_iter().enumerate().filter(|(cause, _)| there[*cause]).collect();
    let wide = |p: &Painter, name: &str| 24.0 + 6.0 + text::width(p, name, font.clone()) + 18.0;
    let mut rows: Vec<Vec<(usize, &str)>> = vec![Vec::new()];
    let mut x = 0.0;
    for &(cause, name) in &names {
        let w = wide(ui.painter(), name);
        if x + w > whole && x > 0.0 {
            rows.push(Vec::new());
            x = 0.0;
        }
        if let Some(row) = rows.last_mut() {
            row.push((cause, name));
        }
        x += w;
    }
    let (rect, _) = ui.allocate_exact_size(vec2(whole, 20.0 * rows.len() as f32), Sense::hover());
    let p = ui.painter();
    for (number, row) in rows.iter().enumerate() {
        let y = rect.top() + 10.0 + 20.0 * number as f32;
        let mut x = rect.left();
        for &(cause, name) in row {
            piece(p, &theme, Rect::from_min_size(pos2(x, y - 6.0), vec2(24.0, 12.0)), cause);
            text::cap(p, x + 30.0, y, Align::Min, name, font.clone(), theme.ink2);
            x += wide(p, name);
        }
    }
    let said: Vec<&str> = names.iter().map(|&(_, name)| name).collect();
    let said = format!("The bars are made of: {}", said.join(", "));
    let _: egui::Response = focus::tell(ui, rect, "legend", Role::Label, &said);
}

/// Which causes there are, in the order of [`Contributions::parts`].
pub(super) type Causes = [bool; 7];

/// Which causes move any of these.
pub(super) fn causes<'a>(all: impl Iterator<Item = &'a Contributions>) -> Causes {
    let mut there = [false; 7];
    for made in all {
        for (there, shift) in there.iter_mut().zip(made.parts()) {
            *there |= shift.down_count.max(shift.up_count) >= LEAST;
        }
    }
    there
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bar_says_in_words_what_it_shows() {
        let made = Contributions {
            noise: Shift::even(3.04),
            wear: Shift { down_count: 0.0, up_count: 38.2 },
            ..Contributions::default()
        };
        assert_eq!(words(&made), "noise −3.0 +3.0, wear +38.2 counts");
        assert_eq!(words(&Contributions::default()), "nothing moves it");
        assert_eq!(causes([&made].into_iter()), [true, false, false, false, true, false, false]);
        assert_eq!(reach([made].into_iter()).up_count, 41.24);
    }
}
