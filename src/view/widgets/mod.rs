//! What the window is built from, one idea a file. Plain data in, what was clicked out; no widget
//! knows a station, the model or an action.
//!
//! Two kinds. Drawing helpers take a `Painter` and a [`Theme`](super::theme::Theme) and take up no
//! room: [`text`], [`hatch`], [`icons`], [`plate`], [`bracket`]. Widgets take a `Ui`, fetch the
//! theme with [`Theme::of`](super::theme::Theme::of), take their place in the layout, answer the
//! keyboard and carry an accessible name. What is drawn at a place given to it ([`frame`], [`rail`],
//! [`strip`], [`head`]) takes a rectangle instead of the layout's next one.

pub mod band_strip;
pub mod bracket;
pub mod button;
pub mod check;
pub mod drop;
pub mod field;
pub mod focus;
pub mod frame;
pub mod hatch;
pub mod head;
pub mod icons;
pub mod keycap;
pub mod layout;
pub mod node;
pub mod notice;
pub mod plate;
pub mod plot;
pub mod press_marks;
pub mod progress;
pub mod rail;
pub mod segments;
pub mod state_panel;
pub mod strip;
pub mod text;

#[cfg(test)]
mod tests;
