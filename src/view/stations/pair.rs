//! Pair.
use super::Area;
use crate::app::{Action, Model};
use egui::Ui;
/// Draws.
pub fn pair_ui(_ui: &mut Ui, _model: &Model, _area: &Area, _actions: &mut Vec<Action>) {}
