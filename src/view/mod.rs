//! The window's looks: theme, widgets, stations. Reads the model, pushes actions, computes nothing.

pub mod theme;
pub mod widgets;
