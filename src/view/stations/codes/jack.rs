//! The view Jack: the stereo's wired remote input, looked at with a meter.

use egui::Ui;

use crate::app::{Action, Model};
use crate::view::stations::Area;

/// Draws the view.
pub(super) fn jack_ui(_ui: &mut Ui, _model: &Model, _area: &Area, _actions: &mut Vec<Action>) {}
