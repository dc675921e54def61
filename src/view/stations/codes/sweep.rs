//! The view Sweep: one code after the other, for a stereo with no remote. The set-up stands at the left,
//! the caution and the run at the right, what acts and its keys at the foot.

mod caution;
mod marks;
mod ruler;
mod run;
mod setup;
#[cfg(test)]
mod tests;

use egui::{EventFilter, Key, Modifiers, Rect, Response, ScrollArea, Ui, UiBuilder, pos2, vec2};

use super::Area;
use crate::app::codes::sweep::{Motion, SweepAction, hindrance};
use crate::app::{Action, CodesAction, Model};
use crate::view::theme::space;
use crate::view::widgets::button::{Button, row};
use crate::view::widgets::focus::key_pressed;
use crate::view::widgets::icons::Icon;
use crate::view::widgets::layout::WidthClass;

/// How wide the set-up stands.
const SETUP: f32 = 316.0;
/// The same in a medium window.
const SETUP_MEDIUM: f32 = 264.0;
/// What the run needs no more than, however large the window.
const WIDEST: f32 = 960.0;

/// Draws the view.
pub(super) fn sweep_ui(ui: &mut Ui, model: &Model, area: &Area, actions: &mut Vec<Action>) {
    let work = area.work();
    let setup = match area.layout.class {
        WidthClass::Wide => SETUP,
        WidthClass::Medium => SETUP_MEDIUM,
        WidthClass::Narrow => 0.0,
    };
    if setup == 0.0 {
        column(ui, "sweep", Rect::from_min_max(work.min, work.max - vec2(8.0, 0.0)), |ui| {
            stacked_ui(ui, model, actions);
        });
    } else {
        let left = Rect::from_min_max(work.min, pos2(work.left() + setup, work.bottom()));
        column(ui, "sweep set-up", left, |ui| setup::setup_ui(ui, model, actions));
        let from = left.right() + space::REGION + 4.0;
        let to = work.right().min(from + WIDEST);
        let right = Rect::from_min_max(pos2(from, work.top()), pos2(to, work.bottom()));
        column(ui, "sweep run", right, |ui| right_ui(ui, model, actions));
    }
    acting_ui(ui, model, area, actions);
}

/// One under the other: what one acts on stands above what only tells.
fn stacked_ui(ui: &mut Ui, model: &Model, actions: &mut Vec<Action>) {
    let agreed = model.codes.sweep.agreed;
    if !agreed {
        caution::caution_ui(ui);
    }
    caution::hindrance_ui(ui, model, actions);
    let is_there = model.project().is_some_and(|project| project.stereo.sweep.is_some());
    if is_there {
        run_or_how_ui(ui, model, actions);
        ui.add_space(space::REGION);
    }
    setup::setup_ui(ui, model, actions);
    ui.add_space(space::REGION);
    if !is_there {
        run_or_how_ui(ui, model, actions);
    }
    if agreed {
        caution::answered_ui(ui, actions);
    }
}

/// The caution first; then the run, or how it goes.
fn right_ui(ui: &mut Ui, model: &Model, actions: &mut Vec<Action>) {
    if model.codes.sweep.agreed {
        caution::answered_ui(ui, actions);
    } else {
        caution::caution_ui(ui);
    }
    caution::hindrance_ui(ui, model, actions);
    run_or_how_ui(ui, model, actions);
}

fn run_or_how_ui(ui: &mut Ui, model: &Model, actions: &mut Vec<Action>) {
    match model.project().and_then(|project| project.stereo.sweep.as_ref()) {
        Some(sweep) => {
            run::run_ui(ui, model, sweep, actions);
            marks::marks_ui(ui, model, sweep, actions);
            run::wire_ui(ui, model, sweep);
        }
        None => run::how_ui(ui),
    }
}

/// A scrolling column with room for the ring round what has the keyboard.
fn column(ui: &mut Ui, salt: &str, rect: Rect, add: impl FnOnce(&mut Ui)) {
    let outer = Rect::from_min_max(rect.min - vec2(6.0, 4.0), rect.max + vec2(10.0, 0.0));
    let mut child = ui.new_child(UiBuilder::new().max_rect(outer));
    ScrollArea::vertical().id_salt(salt).auto_shrink(false).show(&mut child, |ui| {
        let place = Rect::from_min_size(ui.cursor().min + vec2(6.0, 4.0), vec2(rect.width(), 0.0));
        ui.scope_builder(UiBuilder::new().max_rect(place), |ui| {
            ui.spacing_mut().item_spacing = vec2(space::TIGHT, 0.0);
            add(ui);
            ui.add_space(space::TIGHT);
        });
    });
}

/// Brings into sight what takes the keyboard.
fn see(response: &Response) {
    if response.gained_focus() {
        response.scroll_to_me(None);
    }
}

fn act(action: SweepAction) -> Action {
    Action::Codes(CodesAction::Sweep(action))
}

/// Something that can be done.
struct Deed<'a> {
    button: Button<'a>,
    key: Key,
    action: SweepAction,
    can: bool,
}

/// What can be done now, each with its key; what comes first is the one main action.
fn acting_ui(ui: &mut Ui, model: &Model, area: &Area, actions: &mut Vec<Action>) {
    let narrow = area.layout.class == WidthClass::Narrow;
    let deeds = deeds(model, narrow);
    let high = area.layout.acting.height();
    let buttons: Vec<Button<'_>> =
        deeds.iter().map(|deed| deed.button.clone().height(high).enabled(deed.can)).collect();
    let rects = row(ui.painter(), area.layout.acting, &buttons, space::ROW);
    for ((deed, button), rect) in deeds.into_iter().zip(buttons).zip(rects) {
        let response = button.show_at(ui, rect);
        if response.has_focus() {
            // Left and right step through the codes, not through the buttons.
            let filter = EventFilter { horizontal_arrows: true, ..EventFilter::default() };
            ui.memory_mut(|memory| memory.set_focus_lock_filter(response.id, filter));
        }
        if response.clicked() || (deed.can && key_pressed(ui, Modifiers::NONE, deed.key)) {
            actions.push(act(deed.action));
        }
    }
    // Esc stops it even while one types, where Space is a letter.
    if model.codes.sweep.motion != Motion::Paused && key_pressed(ui, Modifiers::NONE, Key::Escape) {
        actions.push(act(SweepAction::Pause));
    }
}

fn deeds(model: &Model, narrow: bool) -> Vec<Deed<'static>> {
    let state = &model.codes.sweep;
    let free = hindrance(model).is_none();
    let deed = |button, key, action, can| Deed { button, key, action, can };
    let agree = || deed(Button::act(caution::READY).key("R"), Key::R, SweepAction::Agree(true), true);
    let Some(sweep) = model.project().and_then(|project| project.stereo.sweep.as_ref()) else {
        let start = Button::act("Start sweep").key("Enter").icon(Icon::Play);
        return vec![if state.agreed { deed(start, Key::Enter, SweepAction::Begin, free) } else { agree() }];
    };
    let label = if narrow { "Mark" } else { "It did something" };
    let mark = Button::line(label).name("It did something").key("M");
    let mark = deed(mark, Key::M, SweepAction::Mark, state.sent.is_some());
    let moves = state.motion != Motion::Paused;
    let is_done = u64::from(sweep.next) >= sweep.range.len();
    if !moves && !is_done && !state.agreed {
        return vec![agree(), mark];
    }
    let (label, icon, action) = match (moves, is_done, sweep.next) {
        (true, ..) => ("Pause", Icon::Pause, SweepAction::Pause),
        (false, true, _) => ("Start again", Icon::Again, SweepAction::Restart),
        (false, false, 0) => ("Start", Icon::Play, SweepAction::Go),
        (false, false, _) => ("Go on", Icon::Play, SweepAction::Go),
    };
    let back = Button::line("Back").name("Back one").key("←");
    let next = Button::line("Next").name("Send the next one").key("→");
    vec![
        deed(Button::act(label).key("Space").icon(icon), Key::Space, action, moves || is_done || free),
        mark,
        deed(back, Key::ArrowLeft, SweepAction::Back, sweep.next > 0),
        deed(next, Key::ArrowRight, SweepAction::Forward, free && !is_done),
    ]
}
