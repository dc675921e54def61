//! Box: who it is and how it stands to the project at the left; what it holds, what it decides, what
//! it counted, how it is wired and what it goes by at the right.

mod contents;
mod counters;
mod decisions;
#[cfg(test)]
mod made_up;
mod parts;
mod seat;
mod seat_rows;
mod seat_words;
mod settings;
#[cfg(test)]
mod settings_tests;
mod side;
mod strips;
mod tally;
#[cfg(test)]
mod tests;
mod try_code;
mod watch;
mod wiring;
mod words;

use egui::{Key, Modifiers, Popup, Rect, Ui, pos2, vec2};

pub(super) use parts::{column, see};

use super::Area;
use crate::app::the_box::{BoxAction, BoxView, Presence};
use crate::app::{Action, Model};
use crate::units::volt_text;
use crate::view::theme::{Theme, size, space};
use crate::view::widgets::button::{Button, row};
use crate::view::widgets::focus::key_pressed;
use crate::view::widgets::layout::WidthClass;
use crate::view::widgets::notice::{Notice, NoticeLevel};
use crate::view::widgets::progress::Progress;

/// What is typed at this station and isn't part of the model.
#[derive(Debug, Default)]
pub struct Draft {
    /// What a meter showed, half typed.
    volts: String,
    /// Whether calibrating with it was tried: what is wrong is told from then on.
    volts_tried: bool,
    /// Settings, half typed.
    settings: settings::Draft,
}

/// How wide the left column stands.
const SIDE: f32 = 268.0;
/// From it to the right one.
const GAP: f32 = 32.0;

/// The one sentence in the station's head.
#[must_use]
pub fn sentence(model: &Model) -> String {
    let state = &model.the_box;
    let derived = &model.derived.the_box;
    let words = match (state.view, &state.presence) {
        (BoxView::Wiring, _) => "What goes to which pin.",
        (BoxView::Settings, _) => "What the box goes by.",
        (_, Presence::None) => "Connect it, fill it, then prove it.",
        (_, Presence::Probe) => "A probe is connected, no box.",
        (_, Presence::NoProgram { .. }) => "Put the program in first.",
        (BoxView::Watch, _) => "Press, and see what it decides.",
        (BoxView::SeatCheck, _) => "Prove in the seat that every button works.",
        (BoxView::Counters, _) => "What happened since power came.",
        (BoxView::Contents, _) if derived.is_same() => "It holds what the project says.",
        (BoxView::Contents, _) if !derived.rows.is_empty() => "It differs from the project.",
        (BoxView::Contents, _) => "What it holds against what the project says.",
    };
    words.to_owned()
}

/// The supply as the chip measures it: `5.05 V`, while there is a box that can.
#[must_use]
pub fn supply_volts(model: &Model) -> Option<String> {
    match &model.the_box.presence {
        Presence::Found(identity) if model.link.is_open() => {
            identity.supply_mv.map(|mv| volt_text(f64::from(mv) / 1e3))
        }
        _ => None,
    }
}

/// Draws the station. `link_open` opens the link's panel.
pub fn the_box_ui(
    ui: &mut Ui,
    model: &Model,
    draft: &mut Draft,
    link_open: &mut bool,
    area: &Area,
    actions: &mut Vec<Action>,
) {
    let mut work = area.work();
    let foot = area.layout.content.bottom();
    if area.layout.class == WidthClass::Narrow {
        let acts = has_acting(model) || side::has_main(model);
        if !acts {
            work.max.y = foot;
        }
        parts::column(ui, "box", work, true, |ui| {
            view_ui(ui, model, draft, link_open, actions);
            ui.add_space(space::BLOCK);
            side::side_ui(ui, model, false, actions);
        });
        if acts {
            acting_ui(ui, model, area.layout.acting, true, actions);
        }
    } else {
        let left = Rect::from_min_max(work.min, pos2(work.left() + SIDE, foot));
        parts::column(ui, "the box", left, false, |ui| side::side_ui(ui, model, true, actions));
        // Without an acting row the view has its room too.
        let end = if has_acting(model) { work.bottom() } else { foot };
        let right = Rect::from_min_max(pos2(left.right() + GAP, work.top()), pos2(work.right(), end));
        parts::column(ui, "its view", right, true, |ui| view_ui(ui, model, draft, link_open, actions));
        let acting = area.layout.acting.with_min_x(right.left());
        acting_ui(ui, model, acting, false, actions);
    }
    side::main_key(ui, model, actions);
}

fn view_ui(ui: &mut Ui, model: &Model, draft: &mut Draft, link_open: &mut bool, actions: &mut Vec<Action>) {
    running_ui(ui, model, actions);
    failure_ui(ui, model, actions);
    match model.the_box.view {
        BoxView::Contents => contents::contents_ui(ui, model, link_open, actions),
        BoxView::Watch => watch::watch_ui(ui, model, actions),
        BoxView::SeatCheck => seat::seat_ui(ui, model),
        BoxView::Counters => counters::counters_ui(ui, model, draft, actions),
        BoxView::Wiring => wiring::wiring_ui(ui, model),
        BoxView::Settings => settings::settings_ui(ui, model, &mut draft.settings, actions),
    }
}

/// What takes its time, how far it is, and Cancel.
fn running_ui(ui: &mut Ui, model: &Model, actions: &mut Vec<Action>) {
    let Some(running) = words::long_job(model.the_box.running) else { return };
    let count =
        if running.of > 0 { format!("{} of {} bytes", running.done, running.of) } else { String::new() };
    let cancelled = Progress {
        words: words::job_words(running.job, running.phase),
        count: &count,
        share: words::share(&running),
        stages: words::stages(running.job),
        can_cancel: true,
    }
    .show(ui);
    let escaped = !Popup::is_any_open(ui.ctx()) && key_pressed(ui, Modifiers::NONE, Key::Escape);
    if cancelled || escaped {
        actions.push(Action::Box(BoxAction::Cancel));
    }
    ui.add_space(space::BLOCK);
}

/// Why the last job was not done, and what to do.
fn failure_ui(ui: &mut Ui, model: &Model, actions: &mut Vec<Action>) {
    let Some(failure) = &model.the_box.failure else { return };
    let theme = Theme::of(ui.ctx());
    let reachable = model.the_box.presence != Presence::None;
    let offered = (failure.half_flashed && reachable).then_some(("Put it in again", None));
    let notice = Notice {
        level: NoticeLevel::Stop,
        head: words::failed(failure.job),
        body: &failure.what,
        action: offered,
    };
    if notice.show(ui, "failure") {
        actions.push(Action::Box(BoxAction::Flash));
    }
    ui.add_space(space::TIGHT);
    if failure.half_flashed {
        let words = "The board may now be without a program. Its bootloader is untouched: put the program in \
                     again, as often as it takes.";
        super::codes::prose(ui, words, size::PROSE, theme.ink);
        ui.add_space(4.0);
    }
    super::codes::prose(ui, &failure.advice, size::PROSE, theme.ink);
    ui.add_space(space::BLOCK);
}

/// Whether there is anything to do at the window's foot.
fn has_acting(model: &Model) -> bool {
    let asks = !matches!(model.the_box.view, BoxView::Wiring | BoxView::Settings);
    asks && matches!(model.the_box.presence, Presence::Found(_))
}

/// The acting row; in a narrow window it holds the main action too.
fn acting_ui(ui: &mut Ui, model: &Model, place: Rect, with_main: bool, actions: &mut Vec<Action>) {
    let state = &model.the_box;
    let on = words::long_job(state.running).is_none();
    let high = place.height();
    let mut place = place;
    let checks = state.view == BoxView::SeatCheck && state.seat.session.is_some();
    if with_main && !checks {
        let wide = (place.width() * 0.4).min(220.0);
        let rect = Rect::from_min_size(place.min, vec2(wide, high));
        side::main_ui(ui, model, rect, actions);
        place = place.with_min_x(rect.right() + space::ROW);
    }
    if !has_acting(model) {
        return;
    }
    if state.view == BoxView::SeatCheck {
        seat::acting(ui, model, place, actions);
        return;
    }
    let loud = !side::has_main(model);
    let mut offered: Vec<(Button<'_>, Option<Key>, BoxAction)> = Vec::new();
    match state.view {
        BoxView::Contents => {
            let read = Button::line("Read again").key("R").enabled(on);
            offered.push((read, Some(Key::R), BoxAction::Read));
            offered.push((
                Button::line("Restart").name("Restart the box").enabled(on),
                None,
                BoxAction::Restart,
            ));
            if !with_main {
                let again = Button::line("New program").name("Put the program in again").enabled(on);
                offered.push((again, None, BoxAction::Flash));
            }
        }
        BoxView::Watch => {
            let label = if state.watching { "Stop watch" } else { "Start watch" };
            let watch = if loud && on { Button::act(label) } else { Button::line(label) };
            offered.push((
                watch.key("Space").enabled(on),
                Some(Key::Space),
                BoxAction::Watch(!state.watching),
            ));
            let clear = Button::line("Clear").name("Clear the decisions").key("C");
            offered.push((clear.enabled(!state.decisions.is_empty()), Some(Key::C), BoxAction::ClearWatch));
        }
        BoxView::Counters => {
            let again = if state.counters.is_some() { "Read again" } else { "Read the counters" };
            let read =
                if loud && on && state.counters.is_none() { Button::act(again) } else { Button::line(again) };
            offered.push((
                read.name("Read the counters").key("R").enabled(on),
                Some(Key::R),
                BoxAction::Counters,
            ));
        }
        BoxView::SeatCheck | BoxView::Wiring | BoxView::Settings => {}
    }
    let buttons: Vec<_> = offered.iter().map(|(button, ..)| button.clone().height(high)).collect();
    let rects = row(ui.painter(), place, &buttons, space::ROW);
    let is_on = |action: &BoxAction| match action {
        BoxAction::ClearWatch => !state.decisions.is_empty(),
        _ => on,
    };
    for (((_, key, action), button), rect) in offered.into_iter().zip(buttons).zip(rects) {
        let clicked = button.show_at(ui, rect).clicked();
        let keyed = is_on(&action) && key.is_some_and(|key| key_pressed(ui, Modifiers::NONE, key));
        if clicked || keyed {
            actions.push(Action::Box(action));
        }
    }
}
