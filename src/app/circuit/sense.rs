//! The sense resistor: which value to buy, and what each style of sensing costs.

use crate::app::effect::Effect;
use crate::app::model::Model;
use crate::bands::BandSet;
use crate::project::Project;

/// What this part keeps.
#[derive(Clone, Debug, Default)]
pub struct SenseState {}

/// What happens here.
#[derive(Clone, Debug, PartialEq)]
pub enum SenseAction {}

/// What follows from the project.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SenseDerived {}

impl SenseDerived {
    /// Of this project and its bands.
    #[must_use]
    pub fn of(_project: &Project, _bands: &BandSet) -> Self {
        Self {}
    }
}

/// What an action changes.
pub(super) fn update(_model: &mut Model, action: SenseAction) -> Vec<Effect> {
    match action {}
}
