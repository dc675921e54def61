//! The output stage on the stereo's line.

use crate::app::effect::Effect;
use crate::app::model::Model;
use crate::bands::BandSet;
use crate::circuit::StageReport;
use crate::project::{Project, ProjectStage, output_stage};

/// What this part keeps.
#[derive(Clone, Debug, Default)]
pub struct OutputState {}

/// What happens here.
#[derive(Clone, Debug, PartialEq)]
pub enum OutputAction {}

/// What follows from the project.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct OutputDerived {
    /// Its parts on the stereo's line, and what they come to; `None` before a project was there.
    pub stage: Option<(ProjectStage, StageReport)>,
}

impl OutputDerived {
    /// Of this project and its bands.
    #[must_use]
    pub fn of(project: &Project, _bands: &BandSet) -> Self {
        let on_line = output_stage(project);
        let report = on_line.stage.report(on_line.line);
        Self { stage: Some((on_line, report)) }
    }
}

/// What an action changes.
pub(super) fn update(_model: &mut Model, action: OutputAction) -> Vec<Effect> {
    match action {}
}
