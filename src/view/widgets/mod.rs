//! What the window is built from, one idea a file. Plain data in, what was clicked out; no widget
//! knows a station, the model or an action.
//!
//! Two kinds. Drawing helpers take a `Painter` and a [`Theme`](super::theme::Theme) and take up no
//! room: [`text`], [`hatch`], [`icons`], [`plate`], [`bracket`]. Widgets take a `Ui`, fetch the
//! theme with [`Theme::of`](super::theme::Theme::of), take their place in the layout, answer the
//! keyboard and carry an accessible name.

pub mod bracket;
pub mod hatch;
pub mod icons;
pub mod plate;
pub mod text;
