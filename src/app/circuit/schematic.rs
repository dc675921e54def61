//! The drawing: which buttons are held closed in it, and what stands at each node.

use crate::app::effect::Effect;
use crate::app::model::Model;
use crate::bands::BandSet;
use crate::project::Project;

/// What this part keeps.
#[derive(Clone, Debug, Default)]
pub struct SchematicState {}

/// What happens here.
#[derive(Clone, Debug, PartialEq)]
pub enum SchematicAction {}

/// What follows from the project.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SchematicDerived {}

impl SchematicDerived {
    /// Of this project and its bands.
    #[must_use]
    pub fn of(_project: &Project, _bands: &BandSet) -> Self {
        Self {}
    }
}

/// What an action changes.
pub(super) fn update(_model: &mut Model, action: SchematicAction) -> Vec<Effect> {
    match action {}
}
