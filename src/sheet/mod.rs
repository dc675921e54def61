//! The build sheet's pictures as values: the circuit drawn from its netlist as lines, boxes and words on
//! a grid, and the same as an SVG document. Knows no colour (shapes have roles), no screen and no file.

mod plate;
mod schematic;
mod shape;
mod svg;
mod values;

pub use plate::{PlateOutline, plate_outline};
pub use schematic::{Drawing, FoundAt, Shown, Switch, schematic};
pub use shape::{Anchor, Fill, Frame, HeldBy, Shape, Spot, TextSize, Tone, cut_to, width_at_most};
pub use svg::{Inks, svg};
