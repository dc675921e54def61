//! Running through candidate codes, for a stereo with no remote. Knows no bytes and no screen.

use super::super::effect::Effect;
use super::super::model::Model;

/// What the sweep keeps.
#[derive(Clone, Debug, Default)]
pub struct SweepState {}

/// What a person does.
#[derive(Clone, Debug, PartialEq)]
pub enum SweepAction {}

/// What an action changes.
pub(super) fn update(_model: &mut Model, action: SweepAction) -> Vec<Effect> {
    match action {}
}
