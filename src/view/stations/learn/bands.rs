//! Bands: what each band is made of, its edges to be moved, how often a press goes wrong, and the re-check
//! under the power the box runs on. Computes nothing.

mod bar;
mod recheck;
mod row;
mod strip;

use egui::{Key, Modifiers, Rect, ScrollArea, Ui, UiBuilder, pos2, vec2};

use crate::app::learn::bands::RecheckAction;
use crate::app::{Action, Edit, LearnAction, LearnView, Model};
use crate::bands::{DraggedEdges, Grade, LearnedOn, Rung};
use crate::project::{Range, planned_feed_v};
use crate::view::stations::Area;
use crate::view::theme::{self, Theme, control, size, space};
use crate::view::widgets::bracket::bracket_ui;
use crate::view::widgets::button::Button;
use crate::view::widgets::field::Field;
use crate::view::widgets::focus::key_pressed;
use crate::view::widgets::layout::WidthClass;

/// What is typed here and isn't part of the model.
#[derive(Debug, Default)]
pub(super) struct Draft {
    /// The feed while learning, as it is typed.
    feed: String,
    feed_had_focus: bool,
}

/// Draws it.
pub(super) fn bands_ui(
    ui: &mut Ui,
    model: &Model,
    draft: &mut Draft,
    area: &Area,
    actions: &mut Vec<Action>,
) {
    let Some(project) = model.merged() else { return };
    let work = area.work();
    let measured = model.derived.bands.buttons.iter().filter(|band| band.measured).count();
    if measured == 0 {
        empty_ui(ui, work, actions);
        return;
    }
    let mut top = work.top();
    if let Some(session) = &model.learn.recheck {
        let place = Rect::from_min_max(pos2(work.left(), top), work.max);
        top = recheck::prompt_ui(ui, place, project, session, actions) + space::ROW;
    }
    let mut child =
        ui.new_child(UiBuilder::new().max_rect(Rect::from_min_max(pos2(work.left(), top), work.max)));
    ScrollArea::vertical().id_salt("bands").auto_shrink(false).show(&mut child, |ui| {
        ui.set_width(ui.available_width() - if area.layout.class == WidthClass::Wide { 0.0 } else { 12.0 });
        ui.spacing_mut().item_spacing = vec2(space::TIGHT, 0.0);
        let buttons = project.wheel.buttons.len();
        let safe = (0..buttons)
            .filter_map(|button| model.derived.bands.verdict(button))
            .filter(|verdict| verdict.grade() == Grade::Good)
            .count();
        bracket_ui(ui, "Bands", &format!("{safe} of {buttons} safe"));
        ui.add_space(4.0);
        let made = || model.derived.bands.buttons.iter().map(|band| &band.contributions);
        bar::legend_ui(ui, bar::causes(made()));
        ui.add_space(3.0);
        let columns = row::Columns::of(ui.available_width(), !model.derived.learn.checked.is_empty());
        columns.heads_ui(ui);
        let reach = bar::reach(made().copied());
        for index in 0..buttons {
            row::row_ui(ui, model, project, &columns, index, reach, actions);
        }
    });
    acting_ui(ui, model, draft, area, actions);
}

/// Nothing is learned: what to do first.
fn empty_ui(ui: &mut Ui, place: Rect, actions: &mut Vec<Action>) {
    let theme = Theme::of(ui.ctx());
    let mut child = ui.new_child(UiBuilder::new().max_rect(place));
    child.spacing_mut().item_spacing = vec2(space::ROW, space::TIGHT);
    child.label(egui::RichText::new("No bands yet.").font(theme::bold(size::HEAD)).color(theme.ink));
    let line = "Bands come from presses made in the seat: learn the buttons first.";
    child.label(egui::RichText::new(line).font(theme::regular(size::PROSE)).color(theme.ink2));
    child.add_space(space::TIGHT);
    if child.add(Button::act("Learn the buttons").height(control::ACTING)).clicked() {
        actions.push(Action::Learn(LearnAction::View(LearnView::Prompted)));
    }
}

/// The acting row: the re-check, the edges, and the feed where readings go with it.
fn acting_ui(ui: &mut Ui, model: &Model, draft: &mut Draft, area: &Area, actions: &mut Vec<Action>) {
    let row = area.layout.acting;
    let narrow = area.layout.class == WidthClass::Narrow;
    let mut child =
        ui.new_child(UiBuilder::new().max_rect(row).layout(egui::Layout::left_to_right(egui::Align::Min)));
    child.spacing_mut().item_spacing.x = if narrow { 8.0 } else { space::ROW };
    let height = row.height();
    if model.learn.recheck.is_some() {
        recheck::acting_ui(&mut child, model, height, actions);
        return;
    }
    let label = if narrow { "Re-check" } else { "Re-check on this power" };
    if child.add(Button::act(label).key("V").height(height)).clicked() {
        actions.push(RecheckAction::Start.into());
    }
    let moved: Vec<_> =
        model.project().map_or_else(Vec::new, |project| project.edges.keys().cloned().collect());
    if child.add(Button::line("Reset edges").height(height).enabled(!moved.is_empty())).clicked() {
        actions.extend(moved.into_iter().map(|id| Action::Edit(Edit::Edges(id, DraggedEdges::default()))));
    }
    feed_ui(&mut child, model, draft, height, actions);
}

/// The feed while learning, by the meter, where readings go with it and the box can't measure it.
fn feed_ui(ui: &mut Ui, model: &Model, draft: &mut Draft, height: f32, actions: &mut Vec<Action>) {
    let Some(project) = model.project() else { return };
    if project.circuit.as_ref().and_then(planned_feed_v).is_none() {
        return;
    }
    let theme = Theme::of(ui.ctx());
    let now = project.learned_on.and_then(|on| on.feed_v);
    if !draft.feed_had_focus {
        draft.feed = now.map(|volt| format!("{volt:.2}")).unwrap_or_default();
    }
    let read = draft.feed.trim().trim_end_matches('V').trim().replace(',', ".").parse::<f64>().ok();
    let empty = draft.feed.trim().is_empty();
    let right = empty || read.is_some_and(|volt| Range::VOLT.holds(volt));
    let error = (!right).then_some("Type 0.1 V to 60 V, or leave it empty.");
    ui.add_space(space::ROW);
    ui.label(egui::RichText::new("Feed while learning").font(theme::regular(size::BODY)).color(theme.ink2));
    let field = Field::new(&mut draft.feed, "Feed while learning, in volts")
        .unit("V")
        .hint("4.70")
        .width(96.0)
        .height(height.min(control::USUAL))
        .limit(8)
        .error(error)
        .show(ui);
    draft.feed_had_focus = field.has_focus();
    if field.changed() && right {
        let on = (!empty).then_some(LearnedOn { feed_v: read });
        actions.push(Action::Edit(Edit::LearnedOn(on)));
    }
}

/// The key of this station that starts a re-check from any of its views.
pub(super) fn keys(ui: &Ui, model: &Model, actions: &mut Vec<Action>) {
    if model.learn.recheck.is_none() && key_pressed(ui, Modifiers::NONE, Key::V) {
        actions.push(RecheckAction::Start.into());
    }
}

/// The rung of a button.
const fn rung(index: usize) -> Rung {
    Rung::Button(index)
}

#[cfg(test)]
mod tests;
