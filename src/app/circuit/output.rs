//! The output stage on the stereo's line.

use crate::app::effect::Effect;
use crate::app::model::Model;
use crate::bands::BandSet;
use crate::project::Project;

/// What this part keeps.
#[derive(Clone, Debug, Default)]
pub struct OutputState {}

/// What happens here.
#[derive(Clone, Debug, PartialEq)]
pub enum OutputAction {}

/// What follows from the project.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct OutputDerived {}

impl OutputDerived {
    /// Of this project and its bands.
    #[must_use]
    pub fn of(_project: &Project, _bands: &BandSet) -> Self {
        Self {}
    }
}

/// What an action changes.
pub(super) fn update(_model: &mut Model, action: OutputAction) -> Vec<Effect> {
    match action {}
}
