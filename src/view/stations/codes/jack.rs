//! The view Jack: the stereo's wired remote input, looked at with a meter. The steps stand at the left,
//! one of them open; at the right the plug with the meter on it, and what the readings come to.

mod answers;
#[cfg(test)]
mod jack_tests;
mod number;
mod plug;
mod step;
mod verdict;
mod words;

use egui::{Key, Modifiers, Rect, Ui, pos2, vec2};

use self::number::Typed;
use crate::app::codes::CodesView;
use crate::app::{Action, CodesAction, Edit, Model};
use crate::circuit::{Jack, JackReport, JackStep, JackVerdict};
use crate::view::stations::Area;
use crate::view::stations::the_box::column;
use crate::view::theme::space;
use crate::view::widgets::bracket::bracket_ui;
use crate::view::widgets::button::{Button, row};
use crate::view::widgets::focus::key_pressed;
use crate::view::widgets::layout::WidthClass;

/// What belongs to the screen and not to the project.
#[derive(Debug, Default)]
pub(super) struct Draft {
    /// The step that is open; the first that isn't done, until one is chosen.
    open: Option<JackStep>,
    /// The open step's first control wants the keyboard.
    focus: bool,
    /// The open step's row wants the keyboard.
    focus_row: bool,
    /// The open step wants to be seen.
    bring: bool,
    idle: Typed,
    load: Typed,
    load_volts: Typed,
}

/// How wide the plug and the verdict stand.
const SIDE: f32 = 372.0;
/// The same in a medium window.
const SIDE_MEDIUM: f32 = 340.0;

/// What the view is drawn from.
#[derive(Clone, Copy)]
struct Check<'a> {
    jack: &'a Jack,
    report: &'a JackReport,
    open: JackStep,
}

impl Check<'_> {
    /// Whether a step has all it is to give; the cautions, once one has gone on from them.
    fn is_done(&self, step: JackStep) -> bool {
        let passed = step == JackStep::Cautions && self.open > step;
        passed || self.report.is_done(step, self.jack)
    }

    /// The first step that isn't done.
    fn first_left(&self) -> Option<JackStep> {
        JackStep::ALL.into_iter().find(|step| !self.is_done(*step))
    }
}

/// Draws the view.
pub(super) fn jack_ui(ui: &mut Ui, model: &Model, draft: &mut Draft, area: &Area, actions: &mut Vec<Action>) {
    let Some(project) = model.project() else { return };
    let jack = &project.stereo.jack;
    let mut check = Check { jack, report: &model.derived.jack, open: JackStep::Cautions };
    check.open = *draft.open.get_or_insert_with(|| check.first_left().unwrap_or(JackStep::Wants));
    let work = area.work();
    let side = match area.layout.class {
        WidthClass::Wide => SIDE,
        WidthClass::Medium => SIDE_MEDIUM,
        WidthClass::Narrow => 0.0,
    };
    let mut go_on = false;
    if side > 0.0 {
        let split = work.right() - side;
        let left = Rect::from_min_max(work.min, pos2(split - space::REGION - 4.0, work.bottom()));
        let right = Rect::from_min_max(pos2(split, work.top()), work.max);
        column(ui, "jack steps", left, false, |ui| {
            go_on = steps_ui(ui, &check, draft, actions);
        });
        column(ui, "jack verdict", right, false, |ui| {
            plug_ui(ui, &check);
            verdict::verdict_ui(ui, &check, actions);
        });
    } else {
        let narrow = Rect::from_min_max(work.min, work.max - vec2(10.0, 0.0));
        column(ui, "jack steps", narrow, true, |ui| {
            go_on = steps_ui(ui, &check, draft, actions);
            ui.add_space(space::REGION);
            plug_ui(ui, &check);
            verdict::verdict_ui(ui, &check, actions);
        });
    }
    acting_ui(ui, &check, draft, area, go_on, actions);
}

/// The steps, one under the other. True if Enter in a field says to go on.
fn steps_ui(ui: &mut Ui, check: &Check<'_>, draft: &mut Draft, actions: &mut Vec<Action>) -> bool {
    let done = JackStep::ALL.into_iter().filter(|step| check.is_done(*step)).count();
    let right = format!("{done} of {} steps", JackStep::ALL.len());
    bracket_ui(ui, "The stereo's remote input, by the meter", &right);
    ui.add_space(space::TIGHT);
    let mut go_on = false;
    // Opened once all are drawn: what is open now would take its focus.
    let mut to = None;
    for step in JackStep::ALL {
        let is_open = step == check.open;
        let bring = is_open && std::mem::take(&mut draft.bring);
        let take_focus = is_open && std::mem::take(&mut draft.focus_row);
        let row = step::row_ui(ui, check, step, bring, take_focus);
        match row {
            step::RowAnswer::Nothing => {}
            step::RowAnswer::Chosen => to = Some((step, false)),
            step::RowAnswer::Walked(step) => to = Some((step, true)),
        }
        if is_open {
            go_on |= step::open_ui(ui, check, draft, actions);
        }
    }
    if let Some((step, walked)) = to {
        open(draft, step, actions);
        (draft.focus, draft.focus_row) = (!walked, walked);
    }
    go_on
}

/// Opens a step; its first control takes the keyboard. What is answered there can be undone by itself.
fn open(draft: &mut Draft, step: JackStep, actions: &mut Vec<Action>) {
    actions.push(Action::Edit(Edit::Settle));
    draft.open = Some(step);
    (draft.focus, draft.bring) = (true, true);
}

/// The plug with the meter on it.
fn plug_ui(ui: &mut Ui, check: &Check<'_>) {
    bracket_ui(ui, "Where the meter goes", words::meter(check.open));
    ui.add_space(space::TIGHT + 4.0);
    plug::plug_ui(ui, check.jack, check.open);
    ui.add_space(space::BLOCK);
}

fn acting_ui(
    ui: &mut Ui,
    check: &Check<'_>,
    draft: &mut Draft,
    area: &Area,
    go_on: bool,
    actions: &mut Vec<Action>,
) {
    let place = area.layout.acting;
    let high = place.height();
    let Check { jack, report, open: at } = *check;
    // It then leads on by itself, or nothing does.
    let stands = match report.verdict {
        JackVerdict::PulseInput { .. } => report.warnings.is_empty(),
        JackVerdict::ResistanceInput { .. } => true,
        JackVerdict::Unknown { .. } => false,
    };
    // After the last step comes what was left out, or the next view.
    let next = at.next().or_else(|| check.first_left().filter(|left| *left != at));
    let label = match next {
        Some(to) if at.next().is_none() => format!("Back to: {}", words::title(to)),
        Some(_) => "Next step".to_owned(),
        None => "Go to Listen".to_owned(),
    };
    // The verdict is the one thing to act on, once it stands.
    let forward = if stands { Button::line(&label) } else { Button::act(&label) };
    let listen_name = "Next: go to Listen";
    let forward = if next.is_none() { forward.name(listen_name) } else { forward };
    let buttons = [
        forward.key("Enter").height(high),
        Button::line("Back").name("Step back").height(high).enabled(at.before().is_some()),
        Button::line("Start over").name("Start the check over").height(high).enabled(jack.is_begun()),
    ];
    let mut rects = row(ui.painter(), place, &buttons, space::ROW);
    if let Some(last) = rects.last_mut() {
        *last = last.translate(vec2((place.right() - last.right()).max(0.0), 0.0));
    }
    let mut clicked = [false; 3];
    for ((button, rect), clicked) in buttons.into_iter().zip(rects).zip(&mut clicked) {
        *clicked = button.show_at(ui, rect).clicked();
    }
    let [forward, back, over] = clicked;
    if forward || go_on || key_pressed(ui, Modifiers::NONE, Key::Enter) {
        match next {
            Some(to) => open(draft, to, actions),
            None => actions.push(Action::Codes(CodesAction::View(CodesView::Listen))),
        }
    } else if let (true, Some(to)) = (back, at.before()) {
        open(draft, to, actions);
    } else if over {
        let edits = [Edit::Settle, Edit::Jack(Jack::default()), Edit::Settle];
        actions.extend(edits.map(Action::Edit));
        *draft = Draft { open: Some(JackStep::Cautions), ..Draft::default() };
    }
}
