//! What the box is fed through.

use crate::app::effect::Effect;
use crate::app::model::Model;
use crate::bands::BandSet;
use crate::circuit::SupplyReport;
use crate::project::Project;

/// What this part keeps.
#[derive(Clone, Debug, Default)]
pub struct SupplyState {}

/// What happens here.
#[derive(Clone, Debug, PartialEq)]
pub enum SupplyAction {}

/// What follows from the project.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SupplyDerived {
    /// What it comes to in the hottest air of the plan; `None` before a project was there.
    pub report: Option<SupplyReport>,
}

impl SupplyDerived {
    /// Of this project and its bands.
    #[must_use]
    pub fn of(project: &Project, _bands: &BandSet) -> Self {
        Self { report: Some(project.supply.report(project.parts.hot_c)) }
    }
}

/// What an action changes.
pub(super) fn update(_model: &mut Model, action: SupplyAction) -> Vec<Effect> {
    match action {}
}
