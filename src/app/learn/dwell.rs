//! The view Dwell: every dwell is tried off the window's thread; here is what was asked for, what came of
//! it, and the press that is looked at. Knows no screen.

use crate::bands::dwell::Input;
use crate::bands::{BandSet, Touch};
use crate::project::{DwellChoice, Project, ReplayedPress, dwell_input, replayed};
use crate::work::{DwellTask, Kind, News, Task};

use super::super::action::{Action, LearnAction};
use super::super::effect::Effect;
use super::super::model::Model;

/// What this view keeps.
#[derive(Clone, Debug, Default)]
pub struct DwellState {
    /// Dwells being tried.
    pub trying: Option<Trying>,
    /// What came of it last, or why nothing did.
    pub found: Option<Result<Box<DwellChoice>, String>>,
    /// The recorded press that is looked at.
    pub shown: Option<ReplayedPress>,
}

/// Dwells being tried.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Trying {
    /// The number of the computation.
    pub ticket: u64,
    /// How much of it is done, 0 to 1.
    pub share: f32,
}

/// What happens here.
#[derive(Clone, Debug, PartialEq)]
pub enum DwellAction {
    /// Try every dwell.
    Try,
    /// Stop trying.
    Cancel,
    /// Look at this recorded press, from 0.
    Show(usize),
}

impl From<DwellAction> for Action {
    fn from(action: DwellAction) -> Self {
        Self::Learn(LearnAction::Dwell(action))
    }
}

/// What follows from the project.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct DwellDerived {
    /// How many recorded presses can be replayed.
    pub presses: usize,
    /// Slow ones among them.
    pub slow: usize,
    /// Why no dwell can be tried, and what to do.
    pub why_not: Option<String>,
    /// Whether what was found is of other presses, bands or settings than those there are now.
    pub is_stale: bool,
}

impl DwellDerived {
    /// Of this project and its bands, beside what a choice was computed of.
    #[must_use]
    pub fn of(project: &Project, bands: &BandSet, before: Option<&Input>) -> Self {
        match dwell_input(project, bands) {
            Ok(now) => Self {
                presses: now.traces.len(),
                slow: now.traces.iter().filter(|(_, trace)| trace.touch == Touch::Slow).count(),
                why_not: None,
                is_stale: before.is_some_and(|before| !is_same(before, now)),
            },
            Err(error) => {
                Self { why_not: Some(error.to_string()), is_stale: before.is_some(), ..Self::default() }
            }
        }
    }
}

/// Whether a table of the one is a table of the other: the planned dwell itself is no part of it.
fn is_same(before: &Input, mut now: Input) -> bool {
    now.rules.dwell_ticks = before.rules.dwell_ticks;
    *before == now
}

/// The view is looked at: what it shows is computed, unless that was done or is being done.
pub(super) fn look(model: &mut Model) -> Vec<Effect> {
    let derived = &model.derived.dwell;
    let is_wanted = model.learn.dwell.found.is_none() || derived.is_stale;
    if is_wanted && model.learn.dwell.trying.is_none() && derived.presses > 0 {
        update(model, DwellAction::Try)
    } else {
        Vec::new()
    }
}

/// What an action changes.
pub(super) fn update(model: &mut Model, action: DwellAction) -> Vec<Effect> {
    match action {
        DwellAction::Try => {
            let Some(project) = model.project().cloned().map(Box::new) else { return Vec::new() };
            let ticket = model.next_ticket();
            model.learn.dwell.trying = Some(Trying { ticket, share: 0.0 });
            vec![Effect::Compute { ticket, task: Task::Dwell(DwellTask { project }) }]
        }
        DwellAction::Cancel => {
            let trying = model.learn.dwell.trying.take();
            trying.map(|_| Effect::StopComputing(Kind::Dwell)).into_iter().collect()
        }
        DwellAction::Show(index) => {
            show(model, index);
            Vec::new()
        }
    }
}

/// Looks at a recorded press, with the dwell that is proposed, else the planned one.
fn show(model: &mut Model, index: usize) {
    let Some(Ok(choice)) = &model.learn.dwell.found else { return };
    let dwell_ms = choice.table.proposed_ms.unwrap_or(choice.table.planned_ms);
    model.learn.dwell.shown = replayed(&choice.input, index, dwell_ms);
}

/// So many dwells are tried, or all.
pub(in crate::app) fn computed(model: &mut Model, news: News) -> Vec<Effect> {
    let state = &mut model.learn.dwell;
    let Some(trying) = state.trying.as_mut().filter(|trying| trying.ticket == news.ticket()) else {
        return Vec::new();
    };
    match news {
        News::Progress { share, .. } => trying.share = share,
        News::Dwell { result, .. } => {
            // A slow press shows most: it passes other rungs.
            let slow = result.as_ref().ok().and_then(|choice| {
                choice.input.traces.iter().position(|(_, trace)| trace.touch == Touch::Slow)
            });
            state.found = Some(result);
            state.trying = None;
            show(model, slow.unwrap_or(0));
            model.kept.stale = true;
        }
        News::Boxes { .. } => {}
    }
    Vec::new()
}

#[cfg(test)]
mod tests;
