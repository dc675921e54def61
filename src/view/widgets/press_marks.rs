//! The row of presses asked for: done with a tick, the one in hand as a pie, those to come dashed,
//! a refused one with a cross. Knows no session.

use egui::{Align, FontId, Painter, Pos2, Role, Stroke, Ui, pos2, vec2};

use super::hatch;
use super::icons::{Icon, icon_stroked, pie};
use super::{focus, text};
use crate::view::theme::{Theme, bold, regular, size, stroke};

/// How one press stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum MarkState {
    /// Taken.
    Done,
    /// In hand: the share of the dwell it has settled, 0 to 1.
    Current(f32),
    /// Not yet asked for.
    ToCome,
    /// In hand, and refused once.
    Refused,
}

/// One press.
#[derive(Debug, Clone, Copy)]
pub struct PressMark<'a> {
    /// How it stands.
    pub state: MarkState,
    /// How to press: firm, slow, light.
    pub label: &'a str,
    /// What it read, once taken.
    pub reading: &'a str,
}

/// Draws the marks from the centre of the first, `radius` points each (28, 20, or 12, which
/// leaves the words out). Gives the distance from one to the next.
pub fn press_marks(ui: &Ui, first: Pos2, radius: f32, marks: &[PressMark<'_>]) -> f32 {
    let t = Theme::of(ui);
    let p = ui.painter();
    let words = radius >= 16.0;
    let pitch = if words { radius * 2.0 + 26.0 } else { radius * 2.0 + 8.0 };
    let mut x = first.x;
    for (i, mark) in marks.iter().enumerate() {
        let centre = pos2(x, first.y);
        paint(p, &t, centre, radius, mark.state);
        if words {
            let now = matches!(mark.state, MarkState::Current(_) | MarkState::Refused);
            let size = if radius >= 24.0 { size::PROSE } else { size::BODY };
            let font: FontId = if now { bold(size) } else { regular(size) };
            let ink = if now { t.ink } else { t.ink2 };
            let y = first.y + radius + 0.68 * radius.min(20.0) + 4.0;
            text::cap_within(p, x, y, Align::Center, pitch - 6.0, mark.label, font, ink);
            text::cap(p, x, y + size * 1.4, Align::Center, mark.reading, regular(size), t.ink2);
        }
        let rect = egui::Rect::from_center_size(centre, vec2(pitch, 2.0 * radius));
        let salt = format!("press {i}");
        focus::tell(ui, rect, &salt, Role::ListItem, &spoken(i + 1, marks.len(), mark));
        x += pitch;
    }
    pitch
}

fn spoken(number: usize, of: usize, mark: &PressMark<'_>) -> String {
    let state = match mark.state {
        MarkState::Done if mark.reading.is_empty() => "taken".to_owned(),
        MarkState::Done => format!("taken at {}", mark.reading),
        MarkState::Current(_) => "now".to_owned(),
        MarkState::ToCome => "to come".to_owned(),
        MarkState::Refused => "not taken, again".to_owned(),
    };
    if mark.label.is_empty() {
        format!("Press {number} of {of}, {state}")
    } else {
        format!("Press {number} of {of}, {}, {state}", mark.label)
    }
}

fn paint(p: &Painter, t: &Theme, centre: Pos2, r: f32, state: MarkState) {
    // Lines grow with the mark: 2 at 12, 2.5 at 20, 3 at 28.
    let line = 2.0 + (r - 12.0) / 16.0;
    let tick = r * 1.7 / 28.0;
    match state {
        MarkState::Done => {
            p.circle_filled(centre, r, t.ink);
            icon_stroked(p, Icon::Tick, centre, tick, Stroke::new(line + 0.75, t.face));
        }
        MarkState::Current(share) => {
            p.circle(centre, r - line / 2.0, t.well, Stroke::new(line, t.ink));
            let share = if share.is_finite() { share.clamp(0.0, 1.0) } else { 0.0 };
            pie(p, centre, r - line - 2.5, 0.0, share, t.ink);
        }
        MarkState::ToCome => {
            let ring = hatch::circle_points(centre, r - 1.0, 64);
            let wide = if r >= 16.0 { stroke::NODE } else { stroke::BAND };
            hatch::dashed_ring(p, &ring, Stroke::new(wide, t.edge), r * 0.22, r * 0.18);
        }
        MarkState::Refused => {
            p.circle(centre, r - line / 2.0, t.well, Stroke::new(line, t.ink));
            icon_stroked(p, Icon::Cross, centre, r * 1.1 / 20.0, Stroke::new(line, t.alarm_ink));
        }
    }
}
