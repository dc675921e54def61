//! Codes.
use super::Area;
use crate::app::{Action, Model};
use egui::Ui;
/// Typed.
#[derive(Debug, Default)]
pub struct Draft {}
/// Draws.
pub fn codes_ui(_ui: &mut Ui, _model: &Model, _draft: &mut Draft, _area: &Area, _actions: &mut Vec<Action>) {}
