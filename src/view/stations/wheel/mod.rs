//! Wheel: is it a ladder, what the meter read, and what that comes to.

mod check;
mod drawing;
mod fields;
mod ladder;
mod names;
mod table;
#[cfg(test)]
mod tests;
mod verdict;

use egui::{Rect, Ui, pos2, vec2};

use super::Area;
use crate::app::{Action, Model, Station, WheelAction, WheelView};
use crate::project::{Project, WireReadings};
use crate::view::stations::the_box::column;
use crate::view::theme::space;
use crate::view::widgets::button::Button;
use crate::view::widgets::layout::WidthClass;
use crate::view::widgets::notice::{Notice, NoticeLevel};
use crate::wheel::{AIRBAG, Topology};

/// What is typed or scrolled at this station and isn't part of the model.
#[derive(Debug, Default)]
pub struct Draft {
    names: names::Draft,
    check: check::Draft,
    table: table::Draft,
}

/// How wide the wheel and the steps stand, and the gap beside them.
const LEFT: f32 = 380.0;
const GAP: f32 = 28.0;

/// Leads to where buttons and wires are named.
#[must_use]
pub fn to_names() -> [Action; 2] {
    [Action::Go(Station::Wheel), Action::Wheel(WheelAction::View(WheelView::Names))]
}

/// The station in one sentence.
#[must_use]
pub fn sentence(model: &Model) -> String {
    let Some(project) = model.project() else { return String::new() };
    if model.wheel.view == WheelView::Names {
        return "Name the vehicle, buttons and wires.".to_owned();
    }
    let buttons = crate::units::number_of(project.wheel.buttons.len(), "button");
    let wires = match project.wires_in_use().len() {
        1 => "one wire",
        _ => "two wires",
    };
    if !model.derived.wheel.check.verdict.is_ladder() {
        return format!("Is it a ladder? {buttons} on {wires}.");
    }
    match project.wheel.topology {
        Topology::Series => format!("A series ladder, {buttons} on {wires}."),
        Topology::Parallel => format!("A ladder of single resistors, {buttons} on {wires}."),
    }
}

/// Draws the station.
pub fn wheel_ui(ui: &mut Ui, model: &Model, draft: &mut Draft, area: &Area, actions: &mut Vec<Action>) {
    let Some(project) = model.project() else { return };
    let content =
        Rect::from_min_max(area.content.min, pos2(area.layout.acting.right(), area.content.bottom()));
    let airbag = Rect::from_min_max(content.min - vec2(0.0, 2.0), content.max);
    let mut child = ui.new_child(egui::UiBuilder::new().max_rect(airbag));
    let (head, body) = AIRBAG;
    let notice = Notice { level: NoticeLevel::Stop, head, body, action: None };
    notice.show(&mut child, "airbag");
    let top = child.min_rect().bottom() + space::BLOCK;
    let place = Rect::from_min_max(pos2(content.left(), top), content.max);
    match model.wheel.view {
        WheelView::Names => names::names_ui(ui, model, &mut draft.names, area, place, actions),
        WheelView::MeterCheck => check_ui(ui, model, project, draft, area, place, actions),
    }
}

/// The view Meter check: wheel and steps at the left, readings and the ladder they fit at the right; one under
/// the other where the window is too narrow.
fn check_ui(
    ui: &mut Ui,
    model: &Model,
    project: &Project,
    draft: &mut Draft,
    area: &Area,
    place: Rect,
    actions: &mut Vec<Action>,
) {
    let wires: &[WireReadings] = &model.derived.wheel.readings.wires;
    let is_wide = area.layout.class != WidthClass::Narrow && place.width() >= LEFT + GAP + 440.0;
    let Draft { check, table, .. } = draft;
    if is_wide {
        let left = Rect::from_min_max(place.min, pos2(place.left() + LEFT, place.bottom()));
        let right = Rect::from_min_max(pos2(left.right() + GAP, place.top()), place.max);
        column(ui, "wheel and steps", left, false, |ui| {
            drawing::drawing_ui(ui, project);
            check::steps_ui(ui, model, project, check, actions);
            verdict::verdict_ui(ui, model, actions);
        });
        column(ui, "readings", right, false, |ui| right_ui(ui, project, wires, table, actions));
    } else {
        let place = Rect::from_min_max(place.min, place.max - vec2(10.0, 0.0));
        column(ui, "wheel", place, true, |ui| {
            check::steps_ui(ui, model, project, check, actions);
            verdict::verdict_ui(ui, model, actions);
            ui.add_space(space::BLOCK);
            right_ui(ui, project, wires, table, actions);
            ui.add_space(space::BLOCK);
            drawing::drawing_ui(ui, project);
        });
    }
}

fn right_ui(
    ui: &mut Ui,
    project: &Project,
    wires: &[WireReadings],
    draft: &mut table::Draft,
    actions: &mut Vec<Action>,
) {
    if project.wheel.buttons.is_empty() {
        super::codes::prose(
            ui,
            "No buttons yet. Name each as it sits on the wheel.",
            crate::view::theme::size::PROSE,
            crate::view::theme::Theme::of(ui.ctx()).ink2,
        );
        ui.add_space(space::ROW);
        if ui.add(Button::act("Name the buttons").height(crate::view::theme::control::ACTING)).clicked() {
            actions.extend(to_names());
        }
        return;
    }
    for readings in wires {
        ui.push_id(readings.wire, |ui| {
            table::table_ui(ui, project, readings, wires.len() > 1, draft, actions);
            ladder::ladder_ui(ui, project, readings, actions);
        });
        ui.add_space(space::BLOCK);
    }
}
