//! Wheel: is it a ladder, what the meter read, and what that comes to.

use egui::Ui;

use super::Area;
use crate::app::{Action, Model};

/// What is typed or scrolled at this station and isn't part of the model.
#[derive(Debug, Default)]
pub struct Draft {}

/// Draws the station.
pub fn wheel_ui(_ui: &mut Ui, _model: &Model, _draft: &mut Draft, _area: &Area, _actions: &mut Vec<Action>) {}
