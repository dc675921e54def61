//! Learn, bands.

use egui::Ui;

use crate::app::{Action, Model};
use crate::view::stations::Area;

/// What is typed, dragged or scrolled here and isn't part of the model.
#[derive(Debug, Default)]
pub(super) struct Draft {}

/// Draws it.
pub(super) fn bands_ui(
    _ui: &mut Ui,
    _model: &Model,
    _draft: &mut Draft,
    _area: &Area,
    _actions: &mut Vec<Action>,
) {
}
