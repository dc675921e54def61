//! Dwell: the shortest dwell that is safe, dwell against latency and errors, what it stands on, and one
//! press replayed with its decision. Computes nothing.

mod chart;
mod press;
mod side;

use egui::{Key, Modifiers, Rect, ScrollArea, Ui, UiBuilder, pos2, vec2};

use crate::app::learn::dwell::DwellAction;
use crate::app::{Action, Edit, LearnAction, LearnView, Model};
use crate::project::DwellChoice;
use crate::view::stations::Area;
use crate::view::theme::{self, Theme, control, size, space};
use crate::view::widgets::bracket::bracket_ui;
use crate::view::widgets::button::Button;
use crate::view::widgets::focus::key_pressed;
use crate::view::widgets::layout::WidthClass;
use crate::view::widgets::progress::Progress;

/// What is typed, dragged or scrolled here and isn't part of the model.
#[derive(Debug, Default)]
pub(super) struct Draft {}

/// The chart and the press, at least so high.
const CHART_LEAST: f32 = 220.0;
const PRESS_LEAST: f32 = 170.0;
/// The column beside them.
const SIDE: f32 = 336.0;
/// A bracket and the room to its content.
const HEAD: f32 = 20.0 + space::TIGHT;

/// Draws it.
pub(super) fn dwell_ui(
    ui: &mut Ui,
    model: &Model,
    _draft: &mut Draft,
    area: &Area,
    actions: &mut Vec<Action>,
) {
    let work = area.work();
    let state = &model.learn.dwell;
    let mut top = work.top();
    if let Some(trying) = state.trying {
        let place = Rect::from_min_max(pos2(work.left(), top), work.max);
        let mut child = ui.new_child(UiBuilder::new().max_rect(place));
        let tried = (trying.share * 64.0).round();
        let count = format!("{tried} of 64 dwells");
        let words = "Replaying every press at each dwell";
        let bar = Progress { words, count: &count, share: trying.share, stages: &[], can_cancel: true };
        if bar.show(&mut child) || key_pressed(ui, Modifiers::NONE, Key::Escape) {
            actions.push(DwellAction::Cancel.into());
        }
        top += 40.0 + space::BLOCK;
    }
    let place = Rect::from_min_max(pos2(work.left(), top), work.max);
    match &state.found {
        Some(Ok(choice)) => choice_ui(ui, model, choice, place, area, actions),
        Some(Err(why)) => {
            empty_ui(ui, "No dwell could be tried.", why, place, Some(DwellAction::Try), actions);
        }
        None if model.derived.dwell.presses == 0 => {
            let why = model.derived.dwell.why_not.clone().unwrap_or_else(|| {
                "No press was kept reading by reading: presses learned before, or from a probe slower than 500 readings a second, have none. Learn the buttons once more with the box.".to_owned()
            });
            empty_ui(ui, "No press to replay yet.", &why, place, None, actions);
        }
        None if state.trying.is_none() => {
            let why = format!("{} recorded presses wait to be replayed.", model.derived.dwell.presses);
            empty_ui(ui, "No dwell was tried.", &why, place, Some(DwellAction::Try), actions);
        }
        None => {}
    }
    acting_ui(ui, model, area, actions);
}

/// Nothing to show: what to do first.
fn empty_ui(
    ui: &mut Ui,
    head: &str,
    line: &str,
    place: Rect,
    action: Option<DwellAction>,
    actions: &mut Vec<Action>,
) {
    let theme = Theme::of(ui.ctx());
    let mut child = ui.new_child(UiBuilder::new().max_rect(place));
    child.spacing_mut().item_spacing = vec2(space::ROW, space::TIGHT);
    child.label(egui::RichText::new(head).font(theme::bold(size::HEAD)).color(theme.ink));
    child.label(egui::RichText::new(line).font(theme::regular(size::PROSE)).color(theme.ink2));
    child.add_space(space::TIGHT);
    match action {
        Some(action) => {
            if child.add(Button::act("Try every dwell").height(control::ACTING)).clicked() {
                actions.push(action.into());
            }
        }
        None => {
            if child.add(Button::act("Learn the buttons").height(control::ACTING)).clicked() {
                actions.push(Action::Learn(LearnAction::View(LearnView::Prompted)));
            }
        }
    }
}

/// The chart, the press and the column beside them; under each other where there is no room.
fn choice_ui(
    ui: &mut Ui,
    model: &Model,
    choice: &DwellChoice,
    place: Rect,
    area: &Area,
    actions: &mut Vec<Action>,
) {
    let beside = area.layout.class == WidthClass::Wide;
    let mut child = ui.new_child(UiBuilder::new().max_rect(place));
    ScrollArea::vertical().id_salt("dwell").auto_shrink(false).show(&mut child, |ui| {
        ui.spacing_mut().item_spacing = vec2(space::TIGHT, 0.0);
        let whole = ui.available_rect_before_wrap();
        let wide = whole.width() - if beside { 0.0 } else { 12.0 };
        let left = if beside { wide - SIDE - space::REGION } else { wide };
        if !beside {
            // What it comes to stands first, under what it is.
            let place = Rect::from_min_size(whole.min, vec2(wide, 10.0));
            side::side_ui(ui, model, choice, place);
            ui.add_space(space::BLOCK);
        }
        let top = ui.available_rect_before_wrap().min;
        let room = whole.height() - 2.0 * HEAD - space::BLOCK;
        let (chart, press) = if beside { (0.56 * room, 0.44 * room) } else { (CHART_LEAST, PRESS_LEAST) };
        let column = Rect::from_min_size(top, vec2(left, f32::INFINITY));
        let mut inner = ui.new_child(UiBuilder::new().max_rect(column));
        inner.spacing_mut().item_spacing = vec2(space::TIGHT, 0.0);
        bracket_ui(&mut inner, "Dwell against time and errors", &chart::under(&choice.table));
        inner.add_space(space::TIGHT);
        chart::chart_ui(&mut inner, &choice.table, vec2(left, chart.max(CHART_LEAST)));
        inner.add_space(space::BLOCK);
        bracket_ui(&mut inner, "One press replayed", &press::under(model, choice));
        inner.add_space(space::TIGHT);
        press::press_ui(&mut inner, model, choice, vec2(left, press.max(PRESS_LEAST)), actions);
        let drawn = inner.min_rect();
        if beside {
            let place = Rect::from_min_size(pos2(whole.right() - SIDE, top.y), vec2(SIDE, 10.0));
            let mut inner = ui.new_child(UiBuilder::new().max_rect(place));
            side::side_ui(&mut inner, model, choice, place);
            ui.allocate_rect(drawn.union(inner.min_rect()), egui::Sense::hover());
        } else {
            ui.allocate_rect(drawn, egui::Sense::hover());
        }
    });
}

/// The acting row: take the proposed dwell, try again, the press that is looked at.
fn acting_ui(ui: &mut Ui, model: &Model, area: &Area, actions: &mut Vec<Action>) {
    let Some(Ok(choice)) = &model.learn.dwell.found else { return };
    let row = area.layout.acting;
    let height = row.height();
    let mut child =
        ui.new_child(UiBuilder::new().max_rect(row).layout(egui::Layout::left_to_right(egui::Align::Min)));
    child.spacing_mut().item_spacing.x = space::ROW;
    let planned = model.project().map_or(choice.table.planned_ms, |project| project.plan.dwell_ms);
    if let Some(ms) = choice.table.proposed_ms {
        let is_new = ms != planned && !model.derived.dwell.is_stale;
        let label = if ms == planned { format!("{ms} ms is used") } else { format!("Use {ms} ms") };
        if child.add(Button::act(&label).height(height).enabled(is_new)).clicked() {
            actions.push(Action::Edit(Edit::Dwell(ms)));
            actions.push(Action::Edit(Edit::Settle));
        }
    }
    let is_free = model.learn.dwell.trying.is_none();
    let again = if model.derived.dwell.is_stale { "Try with the new presses" } else { "Try again" };
    if child.add(Button::line(again).height(height).enabled(is_free)).clicked() {
        actions.push(DwellAction::Try.into());
    }
    let short = area.layout.class == WidthClass::Narrow;
    press::steps_ui(&mut child, model, choice, height, short, actions);
}

#[cfg(test)]
mod tests;
