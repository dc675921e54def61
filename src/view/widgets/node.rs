//! A station's terminal on the wire: done, in hand, not begun, look here, broken. Knows no
//! station.

use egui::{Align, Painter, Pos2, Shape, Stroke, vec2};

use super::icons::{Icon, icon_stroked, octagon, pie};
use super::text;
use crate::view::theme::{Theme, bold, stroke};

/// How a station stands.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum NodeState {
    /// All of it is done.
    Done,
    /// In hand: the true share, 0 to 1.
    Part(f32),
    /// Not begun.
    #[default]
    Idle,
    /// Something wants a look.
    Caution,
    /// Something is broken.
    Stop,
}

impl NodeState {
    /// Whether the wire runs solid up to and through this station.
    #[must_use]
    pub fn carries(self) -> bool {
        self != Self::Idle
    }

    /// The state in words, for screen readers.
    #[must_use]
    pub fn spoken(self) -> &'static str {
        match self {
            Self::Done => "done",
            Self::Part(_) => "in hand",
            Self::Idle => "not begun",
            Self::Caution => "look here",
            Self::Stop => "broken",
        }
    }
}

/// Radius of a node, in points.
pub const RADIUS: f32 = 11.0;
/// Radius of the ring round the current station's node.
pub const CURRENT: f32 = 16.0;

/// Draws a node; `current` puts the second ring round it.
pub fn node(p: &Painter, t: &Theme, centre: Pos2, state: NodeState, current: bool) {
    if current {
        p.circle(centre, CURRENT, t.face, Stroke::new(stroke::NODE, t.ink));
    }
    match state {
        NodeState::Done => {
            p.circle_filled(centre, RADIUS, t.ink);
            icon_stroked(p, Icon::Tick, centre, 0.82, Stroke::new(2.4, t.face));
        }
        NodeState::Part(share) => {
            p.circle(centre, RADIUS, t.well, Stroke::new(stroke::NODE, t.ink));
            let share = if share.is_finite() { share.clamp(0.0, 1.0) } else { 0.0 };
            pie(p, centre, RADIUS - 3.2, 0.0, share, t.ink);
        }
        NodeState::Idle => {
            p.circle(centre, RADIUS - 2.0, t.face, Stroke::new(stroke::SCHEMATIC, t.edge));
        }
        NodeState::Caution => {
            let corners = [(0.0, -12.0), (13.0, 10.0), (-13.0, 10.0)].map(|(x, y)| centre + vec2(x, y));
            p.add(Shape::convex_polygon(corners.to_vec(), t.well, Stroke::new(stroke::NODE, t.ink)));
            text::cap(p, centre.x, centre.y + 3.0, Align::Center, "!", bold(13.0), t.ink);
        }
        NodeState::Stop => {
            let corners = octagon(12.5).map(|(x, y)| centre + vec2(x, y));
            let line = Stroke::new(stroke::NODE, t.alarm);
            p.add(Shape::convex_polygon(corners.to_vec(), t.alarm_face, line));
            icon_stroked(p, Icon::Cross, centre, 0.8, Stroke::new(2.2, t.alarm_ink));
        }
    }
}
