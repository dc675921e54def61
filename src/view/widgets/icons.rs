//! The icons: strokes in a box of 20, square-cut, each a few painter calls. No icon font. Knows
//! nothing of what an icon is used for.

use std::f32::consts::{PI, TAU};

use egui::epaint::{PathShape, PathStroke, StrokeKind};
use egui::{Color32, Painter, Pos2, Rect, Shape, Stroke, Vec2, pos2, vec2};

use crate::view::theme::stroke;

/// One of the icons.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[expect(missing_docs, reason = "each is what its name says")]
pub enum Icon {
    Undo,
    Redo,
    Sound,
    Mute,
    Dark,
    Light,
    Night,
    Keys,
    Plug,
    Unplug,
    Listen,
    Print,
    File,
    Again,
    Skip,
    Pause,
    Play,
    Stop,
    Caution,
    StopSign,
    Note,
    Tick,
    Cross,
    Wheel,
    Plus,
    Down,
    Right,
    Arrow,
    Menu,
}

/// Draws an icon in its usual stroke. `scale` 1 fills a box of 20 points.
pub fn icon(p: &Painter, which: Icon, centre: Pos2, scale: f32, colour: Color32) {
    icon_stroked(p, which, centre, scale, Stroke::new(stroke::ICON, colour));
}

/// Draws an icon in any stroke.
pub fn icon_stroked(p: &Painter, which: Icon, centre: Pos2, scale: f32, stroke: Stroke) {
    let pen = Pen { p, centre, scale, stroke };
    match which {
        Icon::Undo | Icon::Redo => {
            let m = if which == Icon::Undo { 1.0 } else { -1.0 };
            pen.line(&[(-3.0 * m, -7.0), (-7.0 * m, -3.0), (-3.0 * m, 1.0)]);
            pen.line(&[
                (-7.0 * m, -3.0),
                (2.0 * m, -3.0),
                (5.0 * m, -2.0),
                (7.0 * m, 1.0),
                (5.0 * m, 5.0),
                (2.0 * m, 6.0),
                (-3.0 * m, 6.0),
            ]);
        }
        Icon::Sound => {
            pen.speaker();
            pen.arc((-1.0, 0.0), 4.5, 0.14, 0.36);
            pen.arc((-1.0, 0.0), 8.0, 0.15, 0.35);
        }
        Icon::Mute => {
            pen.speaker();
            pen.line(&[(3.0, -3.0), (8.0, 3.0)]);
            pen.line(&[(8.0, -3.0), (3.0, 3.0)]);
        }
        Icon::Dark => {
            pen.ring((0.0, 0.0), 6.5);
            pen.pie((0.0, 0.0), 6.5, 0.0, 0.5);
        }
        Icon::Light => {
            pen.ring((0.0, 0.0), 3.6);
            for i in 0..8_u8 {
                let a = f32::from(i) * PI / 4.0;
                pen.line(&[(a.cos() * 6.0, a.sin() * 6.0), (a.cos() * 8.6, a.sin() * 8.6)]);
            }
        }
        Icon::Night => pen.closed(&moon()),
        Icon::Keys => {
            pen.frame((-9.0, -6.0), (18.0, 12.0), 2.0);
            for x in [-5.0, -1.7, 1.7, 5.0] {
                pen.dot((x, -1.8));
            }
            pen.line(&[(-4.0, 2.4), (4.0, 2.4)]);
        }
        Icon::Plug => {
            pen.line(&[(-10.0, 0.0), (-6.0, 0.0)]);
            pen.block((-6.0, -4.5), (6.0, 9.0));
            pen.frame((0.8, -4.5), (5.2, 9.0), 0.0);
            pen.line(&[(6.0, 0.0), (10.0, 0.0)]);
        }
        Icon::Unplug => {
            pen.line(&[(-11.0, 0.0), (-8.0, 0.0)]);
            pen.frame((-8.0, -4.5), (5.0, 9.0), 0.0);
            pen.line(&[(-3.0, -2.0), (-0.5, -2.0)]);
            pen.line(&[(-3.0, 2.0), (-0.5, 2.0)]);
            pen.frame((3.0, -4.5), (5.0, 9.0), 0.0);
            pen.line(&[(8.0, 0.0), (11.0, 0.0)]);
        }
        Icon::Listen => pen.line(&[
            (-8.0, 6.0),
            (-8.0, -6.0),
            (-4.0, -6.0),
            (-4.0, 6.0),
            (0.0, 6.0),
            (0.0, -6.0),
            (2.5, -6.0),
            (2.5, 6.0),
            (8.0, 6.0),
        ]),
        Icon::Print => {
            pen.line(&[(-5.0, -3.0), (-5.0, -8.0), (5.0, -8.0), (5.0, -3.0)]);
            pen.line(&[(-5.0, 4.0), (-8.0, 4.0), (-8.0, -3.0), (8.0, -3.0), (8.0, 4.0), (5.0, 4.0)]);
            pen.closed(&[(-5.0, 1.5), (5.0, 1.5), (5.0, 8.0), (-5.0, 8.0)]);
        }
        Icon::File => {
            pen.closed(&[(-5.5, -8.0), (2.0, -8.0), (5.5, -4.5), (5.5, 8.0), (-5.5, 8.0)]);
            pen.line(&[(2.0, -8.0), (2.0, -4.5), (5.5, -4.5)]);
        }
        Icon::Again => {
            pen.arc((0.0, 0.0), 6.5, 0.12, 0.92);
            pen.solid(&[(-1.5, -9.4), (-3.0, -5.6), (-6.6, -7.6)]);
        }
        Icon::Skip => {
            pen.line(&[(-6.0, -6.0), (1.0, 0.0), (-6.0, 6.0)]);
            pen.line(&[(0.0, -6.0), (7.0, 0.0), (0.0, 6.0)]);
        }
        Icon::Pause => {
            pen.block((-5.0, -6.0), (3.6, 12.0));
            pen.block((1.4, -6.0), (3.6, 12.0));
        }
        Icon::Play => pen.solid(&[(-4.0, -6.5), (6.5, 0.0), (-4.0, 6.5)]),
        Icon::Stop => pen.block((-5.5, -5.5), (11.0, 11.0)),
        Icon::Caution => {
            pen.closed(&[(0.0, -7.5), (8.0, 6.5), (-8.0, 6.5)]);
            pen.line(&[(0.0, -2.4), (0.0, 2.0)]);
            pen.dot((0.0, 4.2));
        }
        Icon::StopSign => {
            pen.closed(&octagon(7.5));
            pen.line(&[(-3.0, -3.0), (3.0, 3.0)]);
            pen.line(&[(-3.0, 3.0), (3.0, -3.0)]);
        }
        Icon::Note => {
            pen.ring((0.0, 0.0), 7.0);
            pen.dot((0.0, -3.4));
            pen.line(&[(0.0, -0.4), (0.0, 3.8)]);
        }
        Icon::Tick => pen.line(&[(-6.0, 0.5), (-2.0, 5.0), (6.5, -5.5)]),
        Icon::Cross => {
            pen.line(&[(-5.0, -5.0), (5.0, 5.0)]);
            pen.line(&[(5.0, -5.0), (-5.0, 5.0)]);
        }
        Icon::Wheel => {
            pen.ring((0.0, 0.0), 8.4);
            pen.ring((0.0, 0.0), 2.6);
            pen.line(&[(-8.4, 0.0), (-2.6, 0.0)]);
            pen.line(&[(2.6, 0.0), (8.4, 0.0)]);
            pen.line(&[(0.0, 2.6), (0.0, 8.4)]);
        }
        Icon::Plus => {
            pen.line(&[(-6.0, 0.0), (6.0, 0.0)]);
            pen.line(&[(0.0, -6.0), (0.0, 6.0)]);
        }
        Icon::Down => pen.line(&[(-4.0, -2.0), (0.0, 2.4), (4.0, -2.0)]),
        Icon::Right => pen.line(&[(-2.0, -4.0), (2.4, 0.0), (-2.0, 4.0)]),
        Icon::Arrow => {
            pen.line(&[(-8.0, 0.0), (7.0, 0.0)]);
            pen.line(&[(3.0, -4.0), (7.0, 0.0), (3.0, 4.0)]);
        }
        Icon::Menu => {
            for y in [-5.0, 0.0, 5.0] {
                pen.line(&[(-7.0, y), (7.0, y)]);
            }
        }
    }
}

/// A filled slice of a disc. Angles in turns from 12 o'clock, clockwise.
pub fn pie(p: &Painter, centre: Pos2, radius: f32, from: f32, to: f32, colour: Color32) {
    let share = (to - from).clamp(0.0, 1.0);
    if share <= 0.0 {
        return;
    }
    if share >= 1.0 {
        p.circle_filled(centre, radius, colour);
        return;
    }
    // A fan from the centre, so that more than half a disc fills rightly too.
    let mut points = vec![centre];
    points.extend(arc_points(centre, radius, from, from + share));
    p.add(Shape::Path(PathShape { points, closed: true, fill: colour, stroke: PathStroke::NONE }));
}

/// Points along an arc. Angles in turns from 12 o'clock, clockwise.
#[must_use]
pub fn arc_points(centre: Pos2, radius: f32, from: f32, to: f32) -> Vec<Pos2> {
    const STEPS: u8 = 48;
    (0..=STEPS)
        .map(|i| {
            let a = (from + (to - from) * f32::from(i) / f32::from(STEPS)) * TAU;
            pos2(centre.x + radius * a.sin(), centre.y - radius * a.cos())
        })
        .collect()
}

/// Corners of a regular octagon standing on a side, from its centre.
#[must_use]
pub fn octagon(radius: f32) -> [(f32, f32); 8] {
    [0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0].map(|i: f32| {
        let a = PI / 8.0 + i * PI / 4.0;
        (radius * a.cos(), radius * a.sin())
    })
}

/// A crescent: an outer arc and an inner one back.
fn moon() -> Vec<(f32, f32)> {
    let outer = arc_points(pos2(0.0, 0.0), 7.0, 0.10, 0.90);
    let inner = arc_points(pos2(2.6, -2.6), 5.6, 0.79, 0.21);
    outer.into_iter().rev().chain(inner.into_iter().rev()).map(|p| (p.x, p.y)).collect()
}

struct Pen<'a> {
    p: &'a Painter,
    centre: Pos2,
    scale: f32,
    stroke: Stroke,
}

impl Pen<'_> {
    fn at(&self, (x, y): (f32, f32)) -> Pos2 {
        self.centre + vec2(x, y) * self.scale
    }

    fn line(&self, points: &[(f32, f32)]) {
        if let [a, b] = points {
            // A path, not a segment: segments on an axis are moved to pixel centres, and two
            // halves of one icon would part.
            self.p.add(Shape::line(vec![self.at(*a), self.at(*b)], self.stroke));
        } else {
            self.p.add(Shape::line(points.iter().map(|q| self.at(*q)).collect(), self.stroke));
        }
    }

    fn closed(&self, points: &[(f32, f32)]) {
        self.p.add(Shape::closed_line(points.iter().map(|q| self.at(*q)).collect(), self.stroke));
    }

    fn solid(&self, points: &[(f32, f32)]) {
        let points = points.iter().map(|q| self.at(*q)).collect();
        self.p.add(Shape::convex_polygon(points, self.stroke.color, Stroke::NONE));
    }

    fn block(&self, min: (f32, f32), (w, h): (f32, f32)) {
        let rect = Rect::from_min_size(self.at(min), vec2(w, h) * self.scale);
        self.p.rect_filled(rect, 0, self.stroke.color);
    }

    fn frame(&self, min: (f32, f32), (w, h): (f32, f32), radius: f32) {
        let rect = Rect::from_min_size(self.at(min), vec2(w, h) * self.scale);
        self.p.rect_stroke(rect, radius * self.scale, self.stroke, StrokeKind::Middle);
    }

    fn ring(&self, centre: (f32, f32), radius: f32) {
        self.p.circle_stroke(self.at(centre), radius * self.scale, self.stroke);
    }

    fn dot(&self, centre: (f32, f32)) {
        self.p.circle_filled(self.at(centre), self.stroke.width * 0.6, self.stroke.color);
    }

    fn arc(&self, centre: (f32, f32), radius: f32, from: f32, to: f32) {
        let points = arc_points(self.at(centre), radius * self.scale, from, to);
        self.p.add(Shape::line(points, self.stroke));
    }

    fn pie(&self, centre: (f32, f32), radius: f32, from: f32, to: f32) {
        pie(self.p, self.at(centre), radius * self.scale, from, to, self.stroke.color);
    }

    fn speaker(&self) {
        self.closed(&[(-8.0, -2.5), (-5.0, -2.5), (-1.0, -6.0), (-1.0, 6.0), (-5.0, 2.5), (-8.0, 2.5)]);
    }
}

/// A gesture's sign: one dot tap, a bar hold, two dots double tap.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum GestureSign {
    /// One dot.
    Tap,
    /// A bar.
    Hold,
    /// Two dots.
    DoubleTap,
}

/// Draws a gesture's sign, 15 points wide at most.
pub fn gesture(p: &Painter, which: GestureSign, centre: Pos2, colour: Color32) {
    match which {
        GestureSign::Tap => {
            p.circle_filled(centre, 3.2, colour);
        }
        GestureSign::Hold => {
            p.rect_filled(Rect::from_center_size(centre, vec2(14.0, 5.0)), 2.5, colour);
        }
        GestureSign::DoubleTap => {
            for dx in [-4.2, 4.2] {
                p.circle_filled(centre + Vec2::new(dx, 0.0), 3.2, colour);
            }
        }
    }
}
