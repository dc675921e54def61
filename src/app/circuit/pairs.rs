//! Two buttons at once: what each pair reads, and whose band that is.

use crate::app::effect::Effect;
use crate::app::model::Model;
use crate::bands::BandSet;
use crate::project::Project;

/// What this part keeps.
#[derive(Clone, Debug, Default)]
pub struct PairsState {}

/// What happens here.
#[derive(Clone, Debug, PartialEq)]
pub enum PairsAction {}

/// What follows from the project.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PairsDerived {}

impl PairsDerived {
    /// Of this project and its bands.
    #[must_use]
    pub fn of(_project: &Project, _bands: &BandSet) -> Self {
        Self {}
    }
}

/// What an action changes.
pub(super) fn update(_model: &mut Model, action: PairsAction) -> Vec<Effect> {
    match action {}
}
