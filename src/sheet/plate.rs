//! The outlines of the buttons' plates, for a radius of 1, y downwards: the window and the sheet draw the
//! same. Knows no colour.

/// The outline of a plate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum PlateOutline {
    /// A circle of this radius.
    Circle(f32),
    /// A bar with round ends: half its length between the ends' middles, and the ends' radius.
    Barrel {
        /// From the middle to an end's middle.
        reach: f32,
        /// The ends' radius.
        end: f32,
    },
    /// Corners, clockwise.
    Corners(&'static [(f32, f32)]),
}

/// The outlines in the order buttons take them: circle, square, diamond, house, hexagon, flag, barrel,
/// shield.
const OUTLINES: [PlateOutline; 8] = [
    PlateOutline::Circle(0.98),
    PlateOutline::Corners(&[(-0.86, -0.86), (0.86, -0.86), (0.86, 0.86), (-0.86, 0.86)]),
    PlateOutline::Corners(&[(0.0, -1.16), (1.16, 0.0), (0.0, 1.16), (-1.16, 0.0)]),
    PlateOutline::Corners(&[(-0.92, -0.30), (0.0, -1.12), (0.92, -0.30), (0.92, 0.88), (-0.92, 0.88)]),
    PlateOutline::Corners(&[
        (-1.04, 0.0),
        (-0.52, -0.936),
        (0.52, -0.936),
        (1.04, 0.0),
        (0.52, 0.936),
        (-0.52, 0.936),
    ]),
    PlateOutline::Corners(&[(-1.0, -0.82), (0.50, -0.82), (1.16, 0.0), (0.50, 0.82), (-1.0, 0.82)]),
    PlateOutline::Barrel { reach: 0.34, end: 0.80 },
    PlateOutline::Corners(&[(-0.92, -0.88), (0.92, -0.88), (0.92, 0.30), (0.0, 1.12), (-0.92, 0.30)]),
];

/// Button `index` (0 is A) takes outline i mod 8.
#[must_use]
pub const fn plate_outline(index: usize) -> PlateOutline {
    OUTLINES[index % OUTLINES.len()]
}
