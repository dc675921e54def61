//! Circuit: the drawing, and under it what the view asks for.

mod boxes;
#[cfg(test)]
mod built_tests;
mod choices;
mod lower;
mod output;
mod pairs;
mod schematic;
mod sense;
mod supply;
mod typed;

use egui::{Rect, Ui, pos2};

use super::Area;
use crate::app::{Action, CircuitView, Model};

/// What is typed or scrolled at this station and isn't part of the model.
#[derive(Debug, Default)]
pub struct Draft {
    boxes: boxes::Draft,
    choices: choices::Draft,
    output: output::Draft,
    pairs: pairs::Draft,
    schematic: schematic::Draft,
    sense: sense::Draft,
    supply: supply::Draft,
}

/// Draws the station.
pub fn circuit_ui(ui: &mut Ui, model: &Model, draft: &mut Draft, area: &Area, actions: &mut Vec<Action>) {
    let work = area.work();
    let split = work.top() + 350.0;
    let drawing = Rect::from_min_max(work.min, pos2(work.right(), split));
    schematic::schematic_ui(ui, model, &mut draft.schematic, drawing, actions);
    let lower = Rect::from_min_max(pos2(work.left(), split + 26.0), work.max);
    match model.circuit.view {
        CircuitView::Sense => {
            let at = |left: f32, width: f32| {
                Rect::from_min_max(
                    pos2(lower.left() + left, lower.top()),
                    pos2(lower.left() + left + width, lower.bottom()),
                )
            };
            sense::sense_ui(ui, model, &mut draft.sense, at(0.0, 372.0), actions);
            boxes::boxes_ui(ui, model, &mut draft.boxes, at(396.0, 352.0), actions);
            choices::choices_ui(ui, model, &mut draft.choices, at(772.0, 232.0), actions);
        }
        CircuitView::Output => output::output_ui(ui, model, &mut draft.output, lower, actions),
        CircuitView::Supply => supply::supply_ui(ui, model, &mut draft.supply, lower, actions),
        CircuitView::TwoButtons => pairs::pairs_ui(ui, model, &mut draft.pairs, lower, actions),
    }
}
