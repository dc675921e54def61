//! The window's looks: theme, widgets, stations. Reads the model, pushes actions, computes nothing
//! that could be computed once per reading or per change.

mod overlays;
pub mod stations;
pub mod theme;
pub mod widgets;
mod window;

pub use window::{Drafts, window_ui};
