//! Listening to the hand-held remote: the presses heard so far, and the command made of them. Knows no bytes and no screen.

use super::super::effect::Effect;
use super::super::model::Model;

/// What listening keeps.
#[derive(Clone, Debug, Default)]
pub struct ListenState {}

/// What a person does.
#[derive(Clone, Debug, PartialEq)]
pub enum ListenAction {}

/// What an action changes.
pub(super) fn update(_model: &mut Model, action: ListenAction) -> Vec<Effect> {
    match action {}
}
