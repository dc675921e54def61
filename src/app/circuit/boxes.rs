//! A million boxes: how many of them would ever misread which button. They are built off the window's
//! thread; here is what was asked for and what came of it.

use crate::app::effect::Effect;
use crate::app::model::Model;
use crate::bands::BandSet;
use crate::project::{BuiltBoxes, Project};
use crate::work::{BoxesTask, Kind, News, Task};

/// How many boxes are built.
const BOXES: u64 = 1_000_000;

/// Where their chance begins.
const SEED: u64 = 1;

/// What this part keeps.
#[derive(Clone, Debug, Default)]
pub struct BoxesState {
    /// What is being built.
    pub building: Option<Building>,
    /// What came of it last, or why nothing did.
    pub built: Option<Result<Box<BuiltBoxes>, String>>,
}

/// Boxes being built.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Building {
    /// The number of the computation.
    pub ticket: u64,
    /// How much of it is done, 0 to 1.
    pub share: f32,
}

/// What happens here.
#[derive(Clone, Debug, PartialEq)]
pub enum BoxesAction {
    /// Build them.
    Build,
    /// Stop building.
    Cancel,
}

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
pub(super) fn update(model: &mut Model, action: BoxesAction) -> Vec<Effect> {
    match action {
        BoxesAction::Build => {
            let Some(project) = model.project().cloned().map(Box::new) else { return Vec::new() };
            let ticket = model.next_ticket();
            model.circuit.boxes.building = Some(Building { ticket, share: 0.0 });
            let task = Task::Boxes(BoxesTask { project, boxes: BOXES, seed: SEED });
            vec![Effect::Compute { ticket, task }]
        }
        BoxesAction::Cancel => stop(model),
    }
}

/// Stops what is being built.
pub(super) fn stop(model: &mut Model) -> Vec<Effect> {
    let building = model.circuit.boxes.building.take();
    building.map(|_| Effect::StopComputing(Kind::Boxes)).into_iter().collect()
}

/// Boxes are built, or so many of them.
pub(in crate::app) fn computed(model: &mut Model, news: News) -> Vec<Effect> {
    let state = &mut model.circuit.boxes;
    let Some(building) = state.building.as_mut().filter(|building| building.ticket == news.ticket()) else {
        return Vec::new();
    };
    match news {
        News::Progress { share, .. } => building.share = share,
        News::Dwell { .. } => {}
        News::Boxes { result, .. } => {
            state.built = Some(result);
            state.building = None;
        }
    }
    Vec::new()
}

#[cfg(test)]
mod tests;
