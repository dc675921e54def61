//! Taking in and giving out a list of the stereo's commands. Knows no bytes and no screen.

use super::super::effect::Effect;
use super::super::model::Model;

/// What lists keeps.
#[derive(Clone, Debug, Default)]
pub struct ListState {}

/// What a person does.
#[derive(Clone, Debug, PartialEq)]
pub enum ListAction {}

/// What an action changes.
pub(super) fn update(_model: &mut Model, action: ListAction) -> Vec<Effect> {
    match action {}
}
