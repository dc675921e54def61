//! The view Sweep: one code after the other, for a stereo with no remote.

use egui::Ui;

use crate::app::{Action, Model};
use crate::view::stations::Area;

/// Draws the view.
pub(super) fn sweep_ui(_ui: &mut Ui, _model: &Model, _area: &Area, _actions: &mut Vec<Action>) {}
