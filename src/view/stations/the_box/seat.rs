//! Seat check: the button asked for in large type, what the last press came to, how far each round is,
//! and where each press landed. Reads the running check, else the one that the project keeps.

use egui::epaint::StrokeKind;
use egui::{Align, Key, Modifiers, Rect, Role, Sense, Ui, pos2, vec2};

use super::parts::{say_first, tick_or_cross};
use super::{seat_rows, seat_words};
use crate::app::the_box::BoxAction;
use crate::app::the_box::seat::{SeatAction, hindrance};
use crate::app::{Action, Model};
use crate::learn::seat::{RoundMarks, SeatCommand, SeatPrompt, SeatSession};
use crate::project::{Project, SeatCount, SeatPress};
use crate::view::stations::codes::prose;
use crate::view::theme::{self, Theme, control, size, space, stroke};
use crate::view::widgets::button::{Button, row};
use crate::view::widgets::focus::key_pressed;
use crate::view::widgets::hatch::{self, Hatch};
use crate::view::widgets::icons::Icon;
use crate::view::widgets::plate::{PlateMode, plate};
use crate::view::widgets::{focus, text};

/// The panel of the last press.
const PANEL: f32 = 252.0;
/// From this width on it stands beside the prompt.
const BESIDE: f32 = 560.0;
/// A round's ticks: done, and to come.
const DONE: f32 = 20.0;
const TO_COME: f32 = 8.0;

/// Draws the view.
pub(super) fn seat_ui(ui: &mut Ui, model: &Model) {
    let Some(project) = model.project() else { return };
    if let Some(session) = &model.the_box.seat.session {
        prompt_ui(ui, project, session);
        ui.add_space(space::ROW);
        rounds_ui(ui, &session.rounds());
        ui.add_space(space::ROW);
        seat_rows::rows_ui(ui, model, session.presses());
        statement_ui(ui, session.presses(), Some(session.planned()));
        return;
    }
    if let Some(check) = &project.seat_check {
        let words = format!(
            "Done {}, on firmware {} and image {:04X}.",
            if check.on.is_empty() { "once" } else { &check.on },
            check.firmware,
            check.image_check
        );
        heading(ui, "The last seat check.");
        prose(ui, &words, size::PROSE, Theme::of(ui.ctx()).ink2);
        if model.derived.the_box.check.is_some_and(|(image, _)| image != check.image_check) {
            ui.add_space(space::TIGHT);
            let words = "The project has changed since: what was shown then isn't shown for it. Check again.";
            prose(ui, words, size::PROSE, Theme::of(ui.ctx()).ink);
        }
        ui.add_space(space::ROW);
        seat_rows::rows_ui(ui, model, &check.presses);
        statement_ui(
            ui,
            &check.presses,
            (check.presses.len() < check.planned as usize).then_some(check.planned as usize),
        );
    }
    match hindrance(model) {
        Some((head, body)) => say_first(ui, head, body),
        None if project.seat_check.is_none() => say_first(
            ui,
            "Nothing is proven yet.",
            "Sit as you drive, parked, brake on, engine off. Every button is asked for in turn and then at \
             random; after that the same with the engine running, only outdoors and in park or neutral. \
             Press as you always do, and watch the stereo.",
        ),
        None => {}
    }
}

/// A line in the size of a station's head.
fn heading(ui: &mut Ui, words: &str) {
    prose(ui, words, size::HEAD, Theme::of(ui.ctx()).ink);
    ui.add_space(space::TIGHT);
}

/// What is asked for, and the last press beside or under it.
fn prompt_ui(ui: &mut Ui, project: &Project, session: &SeatSession) {
    let theme = Theme::of(ui.ctx());
    let width = ui.available_width();
    let wide = width >= BESIDE;
    let high = if wide { 112.0 } else { 92.0 };
    let (rect, _) = ui.allocate_exact_size(vec2(width, high), Sense::hover());
    let last = session.presses().last();
    let panel = (wide && last.is_some())
        .then(|| Rect::from_min_size(pos2(rect.right() - PANEL, rect.top()), vec2(PANEL, high)));
    let room_right = panel.map_or(rect.right(), |panel| panel.left() - space::BLOCK);
    let words = seat_words::prompt(project, session);
    let p = ui.painter();
    let radius = if wide { 44.0 } else { 32.0 };
    let x = match words.button {
        Some(index) => {
            let centre = pos2(rect.left() + radius * 1.16, rect.center().y);
            plate(p, &theme, index, centre, radius, PlateMode::Measured);
            rect.left() + radius * 2.32 + space::ROW
        }
        None => rect.left(),
    };
    let room = (room_right - x).max(40.0);
    let y = rect.center().y;
    let above = if wide { 40.0 } else { 30.0 };
    let small = theme::regular(if wide { size::RAIL } else { size::PROSE });
    text::cap_within(p, x, y - above, Align::Min, room, words.instruction, small, theme.ink2);
    let sizes = [size::NAME_SHARED, size::NAME_MEDIUM, size::NAME_NARROW, size::STATE, size::ARM];
    let sizes = if wide { &sizes[..] } else { &sizes[2..] };
    let fits = |points: &&f32| text::width(p, &words.name, theme::bold(**points)) <= room;
    let points = sizes.iter().find(fits).copied().unwrap_or(size::ARM);
    text::cap_within(p, x, y + 12.0, Align::Min, room, &words.name, theme::bold(points), theme.ink);
    let place = Rect::from_min_max(rect.left_top(), pos2(room_right, rect.bottom()));
    focus::tell_live(ui, place, "asked", Role::Status, &format!("{}: {}", words.instruction, words.name));
    if let Some(last) = last {
        match panel {
            Some(panel) => last_ui(ui, panel, project, last),
            None => {
                ui.add_space(space::TIGHT);
                let (panel, _) = ui.allocate_exact_size(vec2(width, 116.0), Sense::hover());
                last_ui(ui, panel, project, last);
            }
        }
    }
}

/// What the last press came to.
fn last_ui(ui: &Ui, rect: Rect, project: &Project, press: &SeatPress) {
    let theme = Theme::of(ui.ctx());
    let p = ui.painter();
    let wrong = press.outcome.is_error();
    let (fill, outline) = if wrong {
        (theme.alarm_face, egui::Stroke::new(stroke::RULE, theme.alarm))
    } else {
        (theme.well, theme.hairline())
    };
    p.rect(rect, control::RADIUS, fill, outline, StrokeKind::Inside);
    tick_or_cross(ui, pos2(rect.left() + 26.0, rect.top() + 28.0), !wrong);
    let told = seat_words::last(project, press);
    let ink = if wrong { theme.alarm_ink } else { theme.ink };
    let (x, room) = (rect.left() + 48.0, rect.width() - 60.0);
    text::cap_within(p, x, rect.top() + 28.0, Align::Min, room, &told.head, theme::bold(size::RAIL), ink);
    let mut y = rect.top() + 54.0;
    for line in &told.lines {
        let room = rect.width() - 36.0;
        text::cap_within(
            p,
            rect.left() + 18.0,
            y,
            Align::Min,
            room,
            line,
            theme::regular(size::BODY),
            theme.ink2,
        );
        y += 21.0;
    }
    let said = format!("{}. {}", told.head, told.lines.join(", "));
    focus::tell_live(ui, rect, "last press", Role::Status, &said);
}

/// Each round as a ruler: one tick a press.
fn rounds_ui(ui: &mut Ui, rounds: &[RoundMarks]) {
    let width = ui.available_width();
    let columns = if width >= BESIDE { rounds.len().max(1) } else { 2 };
    let gap = 18.0;
    let one = (width - gap * (columns as f32 - 1.0)) / columns as f32;
    let current = rounds.iter().position(|round| round.done.len() < round.of);
    for (line, pair) in rounds.chunks(columns).enumerate() {
        let (rect, _) = ui.allocate_exact_size(vec2(width, 48.0), Sense::hover());
        for (column, marks) in pair.iter().enumerate() {
            let left = rect.left() + (one + gap) * column as f32;
            let place = Rect::from_min_size(pos2(left, rect.top()), vec2(one, 44.0));
            round_ui(ui, place, marks, current == Some(line * columns + column));
        }
    }
}

fn round_ui(ui: &Ui, rect: Rect, marks: &RoundMarks, current: bool) {
    let theme = Theme::of(ui.ctx());
    let p = ui.painter();
    let whole = marks.done.len() >= marks.of;
    let (font, ink) =
        if current { (theme::bold(size::AXIS), theme.ink) } else { (theme::regular(size::AXIS), theme.ink2) };
    text::cap_within(
        p,
        rect.left(),
        rect.top() + 7.0,
        Align::Min,
        rect.width() - 22.0,
        marks.round.name(),
        font,
        ink,
    );
    if whole && marks.of > 0 {
        tick_or_cross(
            ui,
            pos2(rect.right() - 8.0, rect.top() + 7.0),
            marks.done.iter().all(|done| *done != Some(false)),
        );
    }
    let foot = rect.bottom() - 1.0;
    let pitch = rect.width() / marks.of.max(1) as f32;
    let wide = if pitch >= 5.0 { pitch - 3.0 } else { (pitch * 0.55).max(1.0) };
    let tick = |at: usize, high: f32| {
        let left = rect.left() + pitch * at as f32;
        Rect::from_min_max(pos2(left, foot - high), pos2(left + wide, foot))
    };
    for at in 0..marks.of {
        match marks.done.get(at) {
            Some(Some(true)) => {
                p.rect_filled(tick(at, DONE), 0, theme.ink);
            }
            Some(Some(false)) => {
                p.rect_filled(tick(at, DONE), 0, theme.alarm_face);
                hatch::alarm(p, &theme, tick(at, DONE), Hatch::REFUSED);
            }
            // Left out, or to come.
            _ => {
                p.rect_filled(tick(at, TO_COME), 0, theme.edge);
            }
        }
    }
    if current {
        let now = tick(marks.done.len(), DONE + 2.0);
        p.rect(now, 0, theme.face, egui::Stroke::new(stroke::RULE, theme.ink), StrokeKind::Outside);
    }
    p.hline(rect.x_range(), foot + 0.5, theme.outline());
    let wrong = marks.done.iter().filter(|done| **done == Some(false)).count();
    let said = format!("{}: {} of {}, {} wrong", marks.round.name(), marks.done.len(), marks.of, wrong);
    focus::tell(ui, rect, marks.round.name(), Role::ProgressIndicator, &said);
}

/// The sentence a person can sign.
fn statement_ui(ui: &mut Ui, presses: &[SeatPress], planned: Option<usize>) {
    let count = SeatCount::of(presses);
    let theme = Theme::of(ui.ctx());
    let ink = if count.errors > 0 { theme.alarm_ink } else { theme.ink };
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), 26.0), Sense::hover());
    let font = theme::bold(size::ARM);
    text::cap_within(
        ui.painter(),
        rect.left(),
        rect.center().y,
        Align::Min,
        rect.width(),
        &count.counted(),
        font,
        ink,
    );
    focus::tell_live(ui, rect, "statement", Role::Status, &format!("{} {}", count.counted(), count.bound()));
    let mut words = count.bound();
    if let Some(planned) = planned.filter(|planned| *planned > presses.len() && count.errors == 0) {
        let all = SeatCount::without_error(u32::try_from(planned).unwrap_or(u32::MAX));
        words = format!("{words} All {planned} right: {}.", all.share_words());
    }
    prose(ui, &words, size::PROSE, theme.ink2);
    let latency = seat_words::latencies(presses);
    if !latency.is_empty() {
        prose(ui, &latency, size::PROSE, theme.ink2);
    }
    ui.add_space(space::BLOCK);
}

/// The acting row.
pub(super) fn acting(ui: &mut Ui, model: &Model, place: Rect, actions: &mut Vec<Action>) {
    let command = |command| BoxAction::Seat(SeatAction::Command(command));
    let mut offered: Vec<(Button<'_>, Option<Key>, BoxAction)> = Vec::new();
    let narrow = place.width() < 560.0;
    match model.the_box.seat.session.as_ref().map(SeatSession::prompt) {
        None => {
            let label = if model.project().is_some_and(|project| project.seat_check.is_some()) {
                "Check again"
            } else {
                "Start the seat check"
            };
            if hindrance(model).is_none() {
                offered.push((
                    Button::act(label).key("Space"),
                    Some(Key::Space),
                    BoxAction::Seat(SeatAction::Start),
                ));
            }
        }
        Some(SeatPrompt::Done) => {
            offered.push((
                Button::act("Done").key("Enter"),
                Some(Key::Enter),
                BoxAction::Seat(SeatAction::Leave),
            ));
            offered.push((Button::line("Check again"), None, BoxAction::Seat(SeatAction::Start)));
        }
        Some(prompt) => {
            let (main, does) = match prompt {
                SeatPrompt::Paused => (Button::act("Go on").icon(Icon::Play), SeatCommand::Resume),
                SeatPrompt::StartEngine => (Button::act("The engine runs"), SeatCommand::EngineRuns),
                _ => (Button::act("Pause").icon(Icon::Pause), SeatCommand::Pause),
            };
            offered.push((main.key("Space"), Some(Key::Space), command(does)));
            if matches!(prompt, SeatPrompt::Press(_)) {
                let nothing = if narrow { "Nothing" } else { "Stereo did nothing" };
                offered.push((
                    Button::line(nothing).name("Stereo did nothing").key("X"),
                    Some(Key::X),
                    command(SeatCommand::Nothing),
                ));
                let back = if narrow { "Back" } else { "My slip" };
                offered.push((
                    Button::line(back).name("My slip: ask again").key("B"),
                    Some(Key::B),
                    command(SeatCommand::TakeBack),
                ));
                offered.push((Button::line("Skip").key("S"), Some(Key::S), command(SeatCommand::Skip)));
            }
            offered.push((
                Button::line("Stop").name("Stop the seat check").key("Esc"),
                Some(Key::Escape),
                command(SeatCommand::Stop),
            ));
            if model.link.is_demo() {
                let on = model.the_box.seat.hand.is_some();
                let label = if on { "Hands off" } else { "Press for me" };
                if !narrow {
                    offered.push((
                        Button::line(label).key("D"),
                        Some(Key::D),
                        BoxAction::Seat(SeatAction::Hand(!on)),
                    ));
                }
            }
        }
    }
    let high = place.height();
    let buttons: Vec<_> = offered.iter().map(|(button, ..)| button.clone().height(high)).collect();
    let rects = row(ui.painter(), place, &buttons, space::TIGHT);
    for (((_, key, action), button), rect) in offered.into_iter().zip(buttons).zip(rects) {
        let clicked = button.show_at(ui, rect).clicked();
        if clicked || key.is_some_and(|key| key_pressed(ui, Modifiers::NONE, key)) {
            actions.push(Action::Box(action));
        }
    }
}
