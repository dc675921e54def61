//! Circuit: the drawing, and under it what the view asks for. Wide windows show both at once; in
//! narrower ones, or where the drawing is taller, they stand one under the other and the whole scrolls.

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
#[cfg(test)]
mod tests;
mod typed;

use egui::{Rect, ScrollArea, Ui, UiBuilder, pos2, vec2};

use super::Area;
use crate::app::{Action, CircuitView, Model};
use crate::view::theme::space;
use crate::view::widgets::layout::WidthClass;

/// From the drawing to what stands under it: the brackets' line is half a bracket further down.
const GAP: f32 = 16.0;
/// Half a bracket's height.
const HALF_BRACKET: f32 = 10.0;
/// What stands under the drawing wants this much to be shown beside each other.
const LOWER_HIGH: f32 = 296.0;
/// The bar that scrolls stands in the margin.
const BAR: f32 = 10.0;

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
    /// The view whose words took more than was left under the drawing.
    too_high: Option<CircuitView>,
}

/// The sentence in the station's head.
#[must_use]
pub fn sentence(model: &Model) -> String {
    let gap = &model.derived.circuit.schematic.gap;
    let Some(project) = model.project() else { return String::new() };
    if project.circuit.is_none() {
        "No sense circuit yet. Begin one below.".to_owned()
    } else if gap.is_empty() {
        "No readings yet: meter the buttons at Wheel.".to_owned()
    } else {
        gap.clone()
    }
}

/// Draws the station.
pub fn circuit_ui(ui: &mut Ui, model: &Model, draft: &mut Draft, area: &Area, actions: &mut Vec<Action>) {
    // There is no acting row here: the work goes down to the window's foot.
    let work = area.content;
    draft.schematic.refresh(model);
    let drawing_high = draft.schematic.height(work.width(), area.layout.is_large());
    let lower_top = work.top() + drawing_high + GAP;
    let view = model.circuit.view;
    let is_wide = area.layout.class == WidthClass::Wide && work.bottom() - lower_top >= LOWER_HIGH;
    if is_wide && draft.too_high != Some(view) {
        let drawing = Rect::from_min_size(work.min, vec2(work.width(), drawing_high));
        schematic::schematic_ui(ui, model, &mut draft.schematic, drawing, actions);
        let lower = Rect::from_min_max(pos2(work.left(), lower_top), work.max);
        let bottom = lower_ui(ui, model, draft, lower, WidthClass::Wide, actions);
        // Nothing is cut: what needs more scrolls from the next frame on.
        if bottom > work.bottom() + 1.0 {
            draft.too_high = Some(view);
            ui.ctx().request_discard("the lower row needs more height");
        }
        return;
    }
    let whole = Rect::from_min_max(work.min, pos2(work.right() + BAR, work.bottom()));
    let mut child = ui.new_child(UiBuilder::new().max_rect(whole));
    ScrollArea::vertical().id_salt("circuit").auto_shrink(false).show(&mut child, |ui| {
        let top = ui.cursor().min;
        let drawing = Rect::from_min_size(top, vec2(work.width(), drawing_high));
        schematic::schematic_ui(ui, model, &mut draft.schematic, drawing, actions);
        let lower = Rect::from_min_size(pos2(top.x, drawing.bottom() + GAP), vec2(work.width(), LOWER_HIGH));
        let bottom = lower_ui(ui, model, draft, lower, area.layout.class, actions);
        if is_wide && bottom - lower.top() <= work.bottom() - lower_top {
            draft.too_high = None;
        }
        // A little room under the last part.
        let all = Rect::from_min_max(top, pos2(top.x + work.width(), bottom + space::ROW));
        ui.allocate_rect(all, egui::Sense::hover());
    });
}

/// What stands under the drawing. Gives where it ends.
fn lower_ui(
    ui: &mut Ui,
    model: &Model,
    draft: &mut Draft,
    lower: Rect,
    class: WidthClass,
    actions: &mut Vec<Action>,
) -> f32 {
    let place = |left: f32, top: f32, width: f32| {
        Rect::from_min_size(pos2(lower.left() + left, top), vec2(width, lower.height()))
    };
    let (top, wide) = (lower.top(), lower.width());
    match model.circuit.view {
        CircuitView::Sense => {
            // As in the picture, or in two columns, or one under the other.
            let choices_wide = 232.0;
            let gap = space::REGION;
            let half = (wide - gap) / 2.0;
            let at_sense = place(
                0.0,
                top,
                match class {
                    WidthClass::Wide => ((wide - choices_wide - 2.0 * gap) * 0.514).round(),
                    WidthClass::Medium => half,
                    WidthClass::Narrow => wide,
                },
            );
            let ends = part(ui, at_sense, |ui, rect| {
                sense::sense_ui(ui, model, &mut draft.sense, rect, actions);
            });
            let at_boxes = match class {
                WidthClass::Wide => {
                    let left = at_sense.width() + gap;
                    place(left, top, wide - choices_wide - gap - left)
                }
                WidthClass::Medium => place(half + gap, top, half),
                WidthClass::Narrow => place(0.0, ends + gap, wide),
            };
            // It draws its bracket's line at its top.
            let at_boxes =
                Rect::from_min_max(pos2(at_boxes.left(), at_boxes.top() + HALF_BRACKET), at_boxes.max);
            let boxes_end = part(ui, at_boxes, |ui, rect| {
                boxes::boxes_ui(ui, model, &mut draft.boxes, rect, actions);
            });
            let ends = ends.max(boxes_end);
            let at_choices = match class {
                WidthClass::Wide => place(wide - choices_wide, top, choices_wide),
                _ => place(0.0, ends + gap, wide),
            };
            ends.max(part(ui, at_choices, |ui, rect| {
                choices::choices_ui(ui, model, &mut draft.choices, rect, actions);
            }))
        }
        CircuitView::Output => part(ui, lower, |ui, rect| {
            output::output_ui(ui, model, &mut draft.output, rect, actions);
        }),
        CircuitView::Supply => part(ui, lower, |ui, rect| {
            supply::supply_ui(ui, model, &mut draft.supply, rect, actions);
        }),
        CircuitView::TwoButtons => part(ui, lower, |ui, rect| {
            pairs::pairs_ui(ui, model, &mut draft.pairs, rect, actions);
        }),
    }
}

/// Draws one part at its place. Gives where what it drew ends.
fn part(ui: &mut Ui, place: Rect, draw: impl FnOnce(&mut Ui, Rect)) -> f32 {
    let mut child = ui.new_child(UiBuilder::new().max_rect(place));
    draw(&mut child, place);
    child.min_rect().bottom().max(place.top())
}
