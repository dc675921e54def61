//! Click: choose a button, drag over its press, take it.

use egui::{Align, Key, Modifiers, Rect, Sense, Stroke, Ui, UiBuilder, pos2, vec2};

use super::Draft;
use super::plots::{Plots, plots_ui, shown, wheel_at_foot, wheel_foot};
use crate::app::{Action, Edit, LearnAction, Model};
use crate::bands::Touch;
use crate::learn::Refusal;
use crate::project::Project;
use crate::units::{count_text, time_text};
use crate::view::stations::Area;
use crate::view::theme::{self, Theme, control, size, space};
use crate::view::widgets::button::Button;
use crate::view::widgets::focus::{self, key_pressed};
use crate::view::widgets::layout::WidthClass;
use crate::view::widgets::plot::overview::{Overview, overview_ui};
use crate::view::widgets::{hatch, plate, text};

/// Draws the click view.
pub(super) fn click_ui(
    ui: &mut Ui,
    model: &Model,
    draft: &mut Draft,
    area: &Area,
    actions: &mut Vec<Action>,
) {
    let Some(project) = model.project() else { return };
    let work = area.work();
    let narrow = area.layout.class == WidthClass::Narrow;
    let picker = picker_ui(ui, work, model, project, narrow, actions);
    let strip = if narrow { 0.0 } else { 58.0 };
    let plots =
        Rect::from_min_max(pos2(work.left(), picker + space::ROW), pos2(work.right(), work.bottom() - strip));
    let current = model.learn.chosen.as_ref().and_then(|id| project.button(id)).map(|(index, _)| index);
    let foot = wheel_foot(model, plots);
    let what = Plots { current, selects: true, gap_foot: foot };
    let column = plots_ui(ui, plots, model, draft, &area.layout, what, actions);
    wheel_at_foot(ui, column, foot, model, draft, Touch::Firm, actions);
    if !narrow {
        let top = plots.bottom() + 2.0;
        let rect = Rect::from_min_max(pos2(work.left(), top), pos2(work.right(), top + 30.0));
        whole_ui(ui, rect, model, draft, actions);
    }
    keys(ui, project, model, actions);
    acting_ui(ui, model, area, actions);
}

/// One key a button. Gives where they end.
fn picker_ui(
    ui: &mut Ui,
    work: Rect,
    model: &Model,
    project: &Project,
    narrow: bool,
    actions: &mut Vec<Action>,
) -> f32 {
    let buttons = &project.wheel.buttons;
    let top = work.top() - if narrow { 2.0 } else { 0.0 };
    if buttons.is_empty() {
        let mut child =
            ui.new_child(UiBuilder::new().max_rect(Rect::from_min_max(pos2(work.left(), top), work.max)));
        let theme = Theme::of(child.ctx());
        child.label(egui::RichText::new("No buttons yet.").font(theme::bold(size::HEAD)).color(theme.ink));
        if child.add(Button::act("Name the buttons").height(control::ACTING)).clicked() {
            actions.extend(crate::view::stations::wheel::to_names());
        }
        return child.min_rect().bottom();
    }
    let least = if narrow { 62.0 } else { 112.0 };
    let columns = ((work.width() / least) as usize).clamp(1, buttons.len().clamp(1, 8));
    let rows = buttons.len().div_ceil(columns);
    let columns = buttons.len().div_ceil(rows);
    let (wide, high) = (work.width() / columns as f32, if rows > 1 || narrow { 44.0 } else { 64.0 });
    for (index, button) in buttons.iter().enumerate() {
        let (row, column) = (index / columns, index % columns);
        let at = pos2(work.left() + column as f32 * wide, top + row as f32 * (high + 6.0));
        let key = Rect::from_min_size(at, vec2(wide - 6.0, high));
        let chosen = model.learn.chosen.as_ref() == Some(&button.id);
        if key_ui(ui, key, model, project, index, chosen, narrow) {
            actions.push(Action::Learn(LearnAction::Choose(button.id.clone())));
        }
    }
    top + rows as f32 * (high + 6.0)
}

/// A name with less room than this is left out.
const LEAST_NAME: f32 = 48.0;

fn key_ui(
    ui: &mut Ui,
    rect: Rect,
    model: &Model,
    project: &Project,
    index: usize,
    chosen: bool,
    narrow: bool,
) -> bool {
    let theme = Theme::of(ui.ctx());
    let Some(button) = project.wheel.buttons.get(index) else { return false };
    let response = ui.interact(rect, ui.scope_id().with(("pick", index)), Sense::click());
    let taken = project.press_count(&button.id);
    let of = project.plan.presses as usize;
    let said = format!("{}, {taken} of {of} presses", button.name);
    response.widget_info(|| egui::WidgetInfo::selected(egui::Role::RadioButton, true, chosen, &said));
    let p = ui.painter();
    let (fill, ink) = if chosen { (theme.act, theme.on_act) } else { (theme.raise, theme.ink) };
    let line = if chosen { Stroke::NONE } else { theme.outline() };
    p.rect(rect, control::RADIUS, fill, line, egui::StrokeKind::Inside);
    let measured = taken >= of;
    let mode = match (measured, chosen) {
        (true, _) => plate::PlateMode::Measured,
        (false, true) => plate::PlateMode::PlannedOnAct,
        (false, false) => plate::PlateMode::Planned,
    };
    let x = rect.left() + 40.0;
    let room = rect.right() - x - 6.0;
    // Two letters of a name say nothing: the tag alone does, and what is chosen is named below.
    let has_name = room >= LEAST_NAME;
    let tag_x = if has_name { rect.left() + 21.0 } else { rect.center().x };
    plate::plate(p, &theme, index, pos2(tag_x, rect.center().y), if narrow { 10.0 } else { 12.5 }, mode);
    let two = rect.height() > 50.0;
    let name_y = if two { rect.center().y - 10.0 } else { rect.center().y };
    if has_name {
        text::cap_within(p, x, name_y, Align::Min, room, &button.name, theme::bold(size::BODY), ink);
    }
    if two {
        let y = rect.center().y + 13.0;
        let mut at = x + 6.0;
        for press in 0..of.min(9) {
            if press < taken {
                p.circle_filled(pos2(at, y), 5.0, ink);
            } else {
                let ring = hatch::circle_points(pos2(at, y), 4.4, 20);
                hatch::dashed_ring(p, &ring, Stroke::new(1.25, ink), 2.5, 2.0);
            }
            at += 15.0;
        }
        if let Some(band) = model.derived.bands.band(crate::bands::Rung::Button(index)).filter(|_| taken > 0)
        {
            let second = if chosen { theme.on_act2 } else { theme.ink2 };
            let count = count_text(band.centre_count, 0);
            text::cap(p, at, y, Align::Min, &count, theme::regular(size::AXIS), second);
        }
    }
    focus::ring(p, &theme, &response, rect);
    let response = if has_name { response } else { response.on_hover_text(&button.name) };
    response.clicked()
}

fn whole_ui(ui: &mut Ui, rect: Rect, model: &Model, draft: &mut Draft, actions: &mut Vec<Action>) {
    let theme = Theme::of(ui.ctx());
    let (Some(first), Some(last)) = (model.recording.first_t_ms(), model.recording.last_t_ms()) else {
        return;
    };
    let columns = (rect.width().round() as usize).max(1);
    model.recording.envelope(model.learn.wire, first, last, columns, &mut draft.overview);
    let (from_ms, to_ms, follows) = shown(model);
    let overview = Overview { columns: &draft.overview, whole_ms: (first, last), shown_ms: (from_ms, to_ms) };
    if let Some(middle_ms) = overview_ui(ui, rect, overview) {
        let span_ms = model.learn.span_ms;
        actions.push(Action::Learn(LearnAction::Look { end_ms: Some(middle_ms + span_ms / 2.0), span_ms }));
    }
    let y = rect.bottom() + 14.0;
    let font = theme::regular(size::AXIS);
    let fell_out = model.recording.fell_out();
    let gone =
        if fell_out.readings > 0 { format!(", {} fell out", time_text(fell_out.ms)) } else { String::new() };
    let words = format!("Whole recording, {}{gone}", time_text(last - first));
    text::cap(ui.painter(), rect.left(), y, Align::Min, &words, font, theme.ink2);
    if !follows {
        let place = Rect::from_min_max(
            pos2(rect.right() - 230.0, rect.bottom() + 2.0),
            pos2(rect.right(), rect.bottom() + 26.0),
        );
        let button = Button::quiet("Follow the live reading").key("End").height(24.0).text_size(size::AXIS);
        if button.show_at(ui, place).clicked() {
            let span_ms = model.learn.span_ms;
            actions.push(Action::Learn(LearnAction::Look { end_ms: None, span_ms }));
        }
    }
}

fn keys(ui: &Ui, project: &Project, model: &Model, actions: &mut Vec<Action>) {
    for (key, button) in focus::LETTERS.into_iter().zip(&project.wheel.buttons) {
        if key_pressed(ui, Modifiers::NONE, key) {
            actions.push(Action::Learn(LearnAction::Choose(button.id.clone())));
        }
    }
    if model.learn.picked.is_some() && key_pressed(ui, Modifiers::NONE, Key::Enter) {
        actions.push(Action::Learn(LearnAction::Take(None)));
    }
    if key_pressed(ui, Modifiers::NONE, Key::Escape) {
        actions.push(Action::Learn(LearnAction::Clear));
    }
}

fn acting_ui(ui: &mut Ui, model: &Model, area: &Area, actions: &mut Vec<Action>) {
    let row = area.layout.acting;
    let narrow = area.layout.class == WidthClass::Narrow;
    let mut child =
        ui.new_child(UiBuilder::new().max_rect(row).layout(egui::Layout::left_to_right(Align::Min)));
    child.spacing_mut().item_spacing.x = space::ROW;
    let name = model.learn.chosen.as_ref().map(|id| model.button_name(id));
    let label = name.as_ref().map_or_else(|| "Take".to_owned(), |name| format!("Take for {name}"));
    let some = model.learn.picked.is_some() && name.is_some();
    let take = Button::act(&label).key("Enter").height(row.height()).enabled(some);
    let take = if narrow { take } else { take.width(240.0) };
    if child.add(take).clicked() {
        actions.push(Action::Learn(LearnAction::Take(None)));
    }
    if child
        .add(Button::line("Clear").key("Esc").height(row.height()).enabled(model.learn.picked.is_some()))
        .clicked()
    {
        actions.push(Action::Learn(LearnAction::Clear));
    }
    let presses =
        model.learn.chosen.as_ref().and_then(|id| Some(model.project()?.press_count(id))).unwrap_or(0);
    if presses > 0
        && !narrow
        && let Some(id) = &model.learn.chosen
        && child.add(Button::line("Forget last press").height(row.height())).clicked()
    {
        actions.push(Action::Edit(Edit::ForgetLast(id.clone())));
    }
    if !narrow {
        facts(&child, model, child.min_rect().right() + space::REGION, row);
    }
}

/// What was picked, in figures; or why nothing can be taken from it.
fn facts(ui: &Ui, model: &Model, left: f32, row: Rect) {
    let theme = Theme::of(ui.ctx());
    let p = ui.painter();
    let words = |words: &str| {
        text::cap_within(
            p,
            left,
            row.center().y,
            Align::Min,
            row.right() - left,
            words,
            theme::regular(size::BODY),
            theme.ink2,
        );
    };
    let Some(picked) = &model.learn.picked else {
        words("Press the button, then drag over the press, or click on it.");
        return;
    };
    let stretch = match &picked.settled {
        Ok(stretch) => stretch,
        Err(why) => {
            words(&Refusal::from(why.clone()).text());
            return;
        }
    };
    let rest = picked.rest_count.map_or_else(|| "not seen".to_owned(), |count| count_text(count, 0));
    let figures = [
        ("Readings used", format!("{} of {}", stretch.readings, picked.readings)),
        ("Median", count_text(stretch.median_count, 0)),
        ("Spread", count_text(stretch.spread_count, 1)),
        ("Rest before", rest),
    ];
    let mut x = left;
    for (label, figure) in figures {
        let small = theme::regular(size::AXIS);
        let large = theme::bold(size::RAIL);
        let wide = text::width(p, label, small.clone()).max(text::width(p, &figure, large.clone()));
        if x + wide > row.right() {
            break;
        }
        text::cap(p, x, row.top() + 13.0, Align::Min, label, small, theme.ink2);
        text::cap(p, x, row.top() + 34.0, Align::Min, &figure, large, theme.ink);
        x += wide + 32.0;
    }
    let said = format!(
        "Readings used {} of {}, median {} counts",
        stretch.readings,
        picked.readings,
        count_text(stretch.median_count, 0)
    );
    let place = Rect::from_min_max(pos2(left, row.top()), row.max);
    let _: egui::Response = focus::tell_live(ui, place, "picked", egui::Role::Label, &said);
}
