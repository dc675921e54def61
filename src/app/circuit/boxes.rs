//! A million boxes: how many of them would ever misread which button. They are built off the window's
//! thread; here is when they are asked for, and what came of it.

use crate::app::circuit::CircuitView;
use crate::app::effect::Effect;
use crate::app::model::Model;
use crate::app::station::Station;
use crate::project::BuiltBoxes;
use crate::work::{BoxesTask, Kind, News, Task};

/// How many boxes are built.
pub const BOXES: u64 = 1_000_000;

/// Where their chance begins, always: the same project gives the same boxes.
pub const SEED: u64 = 1;

/// They are built by themselves once nothing was changed for so long, in milliseconds.
const PAUSE_MS: f64 = 300.0;

/// What this part keeps.
#[derive(Clone, Debug, Default)]
pub struct BoxesState {
    /// What is being built.
    pub building: Option<Building>,
    /// What came of it last.
    pub built: Option<Built>,
    /// The state of the document that waits to be built, and since when.
    waiting: Option<(u64, f64)>,
    /// The state that a person did not want built.
    declined: Option<u64>,
}

/// Boxes being built.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Building {
    /// The number of the computation.
    pub ticket: u64,
    /// How much of it is done, 0 to 1.
    pub share: f32,
    /// When it began, by the model's clock.
    began_ms: f64,
    /// Of which state of the document.
    serial: u64,
}

impl Building {
    /// Whether it has taken so long that a person wants to see how far it is: what is over in a moment
    /// flickers.
    #[must_use]
    pub fn is_slow(&self, now_ms: f64) -> bool {
        now_ms - self.began_ms >= PAUSE_MS
    }
}

/// Boxes that were built.
#[derive(Clone, Debug, PartialEq)]
pub struct Built {
    /// What came of them, or why none can be built and what to do.
    pub result: Result<Box<BuiltBoxes>, String>,
    /// How long it took, in milliseconds.
    pub took_ms: f64,
    /// Of which state of the document.
    serial: u64,
}

/// What happens here.
#[derive(Clone, Debug, PartialEq)]
pub enum BoxesAction {
    /// Build them now.
    Build,
    /// Stop building; they are not built by themselves again until something changes.
    Cancel,
}

/// What an action changes.
pub(super) fn update(model: &mut Model, action: BoxesAction) -> Vec<Effect> {
    let Some(serial) = model.serial() else { return Vec::new() };
    match action {
        BoxesAction::Build => build(model, serial),
        BoxesAction::Cancel => {
            model.circuit.boxes.declined = Some(serial);
            stop(model)
        }
    }
}

/// Asks for the boxes of the open project.
fn build(model: &mut Model, serial: u64) -> Vec<Effect> {
    let Some(project) = model.project().cloned().map(Box::new) else { return Vec::new() };
    let ticket = model.next_ticket();
    let state = &mut model.circuit.boxes;
    state.building = Some(Building { ticket, share: 0.0, began_ms: model.now.ms, serial });
    state.waiting = None;
    state.declined = None;
    vec![Effect::Compute { ticket, task: Task::Boxes(BoxesTask { project, boxes: BOXES, seed: SEED }) }]
}

/// Stops what is being built.
pub(super) fn stop(model: &mut Model) -> Vec<Effect> {
    let building = model.circuit.boxes.building.take();
    building.map(|_| Effect::StopComputing(Kind::Boxes)).into_iter().collect()
}

/// Looks after every action whether the boxes are those of the project, and builds them anew where they
/// are looked at and aren't.
pub(in crate::app) fn mind(model: &mut Model) -> Vec<Effect> {
    let Some(serial) = model.serial() else { return Vec::new() };
    let is_seen = model.station == Station::Circuit && model.circuit.view == CircuitView::Sense;
    let mut effects = Vec::new();
    if model.circuit.boxes.building.is_some_and(|building| building.serial != serial) {
        effects = stop(model);
    }
    let now_ms = model.now.ms;
    let state = &mut model.circuit.boxes;
    let is_there = state.built.as_ref().is_some_and(|built| built.serial == serial);
    if !is_seen || is_there || state.building.is_some() || state.declined == Some(serial) {
        state.waiting = None;
        return effects;
    }
    match state.waiting {
        Some((waiting, since_ms)) if waiting == serial => {
            if now_ms - since_ms >= PAUSE_MS {
                effects.extend(build(model, serial));
            }
        }
        _ => state.waiting = Some((serial, now_ms)),
    }
    effects
}

/// How long until the pause is over, in milliseconds.
pub(in crate::app) fn tick_ms(model: &Model) -> Option<f64> {
    let (_, since_ms) = model.circuit.boxes.waiting?;
    Some((since_ms + PAUSE_MS - model.now.ms).max(0.0))
}

/// Boxes are built, or so many of them.
pub(in crate::app) fn computed(model: &mut Model, news: News) -> Vec<Effect> {
    let now_ms = model.now.ms;
    let state = &mut model.circuit.boxes;
    let Some(building) = state.building.as_mut().filter(|building| building.ticket == news.ticket()) else {
        return Vec::new();
    };
    match news {
        News::Progress { share, .. } => building.share = share,
        News::Dwell { .. } => {}
        News::Boxes { result, .. } => {
            let Building { began_ms, serial, .. } = *building;
            state.built = Some(Built { result, took_ms: (now_ms - began_ms).max(0.0), serial });
            state.building = None;
        }
    }
    Vec::new()
}

impl Model {
    /// Whether what came of the last boxes is of the project as it is now.
    #[must_use]
    pub fn boxes_are_fresh(&self) -> bool {
        let built = self.circuit.boxes.built.as_ref();
        built.is_some_and(|built| Some(built.serial) == self.serial())
    }
}

/// A number of boxes as a chance in words: `none of 1 000 000`, `1 box in 2 240`, `every box`.
#[must_use]
pub fn chance_text(some: u64, of: u64) -> String {
    match (some, of) {
        (0, _) => format!("none of {}", grouped(of)),
        (some, of) if some >= of => "every box".to_owned(),
        (some, of) if some.saturating_mul(2) > of => {
            // Rounded down, so that it never becomes all of them.
            format!("{} boxes in 100", (100.0 * some as f64 / of as f64).floor())
        }
        (some, of) => format!("1 box in {}", grouped((of as f64 / some as f64).round() as u64)),
    }
}

/// A whole number with its thousands apart: `1 000 000` (ISO 80000-1, 7.3.1: a small space, no comma).
#[must_use]
pub fn grouped(number: u64) -> String {
    let digits = number.to_string();
    let mut text = String::new();
    for (place, digit) in digits.chars().enumerate() {
        let behind = digits.len() - place;
        if place > 0 && behind.is_multiple_of(3) && digits.len() > 4 {
            text.push('\u{a0}');
        }
        text.push(digit);
    }
    text
}

#[cfg(test)]
mod tests;
