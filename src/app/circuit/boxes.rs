//! A million boxes: how many of them would ever misread which button.

use crate::app::effect::Effect;
use crate::app::model::Model;
use crate::bands::BandSet;
use crate::project::Project;

/// What this part keeps.
#[derive(Clone, Debug, Default)]
pub struct BoxesState {}

/// What happens here.
#[derive(Clone, Debug, PartialEq)]
pub enum BoxesAction {}

/// What follows from the project.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct BoxesDerived {}

impl BoxesDerived {
    /// Of this project and its bands.
    #[must_use]
    pub fn of(_project: &Project, _bands: &BandSet) -> Self {
        Self {}
    }
}

/// What an action changes.
pub(super) fn update(_model: &mut Model, action: BoxesAction) -> Vec<Effect> {
    match action {}
}
