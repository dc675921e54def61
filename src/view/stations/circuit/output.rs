//! Circuit, output.

use egui::{Rect, Ui};

use crate::app::{Action, Model};

/// What is typed or scrolled here and isn't part of the model.
#[derive(Debug, Default)]
pub(super) struct Draft {}

/// Draws it.
pub(super) fn output_ui(
    _ui: &mut Ui,
    _model: &Model,
    _draft: &mut Draft,
    _place: Rect,
    _actions: &mut Vec<Action>,
) {
}
