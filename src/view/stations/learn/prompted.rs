//! Prompted: the name in large type, the press as it settles, and the plots under it.

use egui::{Align, Key, Modifiers, Pos2, Rect, Role, Ui, UiBuilder, pos2, vec2};

use super::Draft;
use super::plots::{Plots, plots_ui, right_end, wheel_at_foot, wheel_foot};
use crate::app::{Action, LearnAction, Model};
use crate::bands::{Grade, Touch};
use crate::learn::{Command, MarkState as Taken, Offer, Phase, PressState, Prompt, Refusal};
use crate::project::{ButtonId, Project};
use crate::units::count_text;
use crate::view::stations::Area;
use crate::view::theme::{self, Theme, control, size, space};
use crate::view::widgets::button::Button;
use crate::view::widgets::focus::{key_pressed, tell, tell_live};
use crate::view::widgets::icons::Icon;
use crate::view::widgets::layout::WidthClass;
use crate::view::widgets::notice::{Notice, NoticeLevel};
use crate::view::widgets::press_marks::{MarkState, PressMark, press_marks};
use crate::view::widgets::state_panel::{MEDIUM, NARROW, PanelState, StatePanel, WIDE};
use crate::view::widgets::{plate, text};

/// Sizes of the prompt in one width class.
struct Fit {
    height: f32,
    plate: f32,
    text_x: f32,
    name: f32,
    instruction: f32,
    follows: f32,
    marks: f32,
    panel: egui::Vec2,
    gap: f32,
}

impl Fit {
    const fn of(class: WidthClass) -> Self {
        match class {
            WidthClass::Wide => Self {
                height: 168.0,
                plate: 56.0,
                text_x: 140.0,
                name: size::NAME,
                instruction: size::ARM,
                follows: size::PROSE,
                marks: 28.0,
                panel: WIDE,
                gap: 22.0,
            },
            WidthClass::Medium => Self {
                height: 112.0,
                plate: 42.0,
                text_x: 102.0,
                name: size::NAME_MEDIUM,
                instruction: size::RAIL,
                follows: size::PROSE,
                marks: 20.0,
                panel: MEDIUM,
                gap: 16.0,
            },
            WidthClass::Narrow => Self {
                height: 78.0,
                plate: 30.0,
                text_x: 76.0,
                name: size::NAME_NARROW,
                instruction: size::PROSE,
                follows: size::AXIS,
                marks: 12.0,
                panel: NARROW,
                gap: 10.0,
            },
        }
    }
}

/// Draws the prompted view.
pub(super) fn prompted_ui(
    ui: &mut Ui,
    model: &Model,
    draft: &mut Draft,
    area: &Area,
    actions: &mut Vec<Action>,
) {
    let prompt = model.learn.session.as_ref().map(crate::learn::Session::prompt);
    let work = area.work();
    let mut top = work.top();
    if let Some(offer) = prompt.as_ref().and_then(|prompt| prompt.offer.as_ref()) {
        top = offer_ui(ui, Rect::from_min_max(pos2(work.left(), top), work.max), offer, actions) + space::ROW;
    }
    let fit = Fit::of(area.layout.class);
    let place = Rect::from_min_max(pos2(work.left(), top), pos2(work.right(), top + fit.height));
    match (&prompt, model.project()) {
        (Some(Prompt { phase: Phase::Done { .. }, .. }), Some(project)) => {
            let panel = panel_place(place, &fit);
            state_panel(ui, panel, project, prompt.as_ref());
            empty_ui(ui, place.with_max_x(panel.left() - 20.0), model, project, actions);
        }
        (Some(prompt), Some(project)) => prompt_ui(ui, place, project, prompt, &fit),
        (None, Some(project)) => empty_ui(ui, place, model, project, actions),
        (_, None) => {}
    }
    let current = prompt.as_ref().and_then(|prompt| asked(model, prompt));
    let plots = Rect::from_min_max(pos2(work.left(), place.bottom() + fit.gap), work.max);
    let foot = wheel_foot(model, plots);
    let what = Plots { current, selects: false, gap_foot: foot };
    let column = plots_ui(ui, plots, model, draft, &area.layout, what, actions);
    wheel_at_foot(ui, column, foot, model, draft, touch_asked(prompt.as_ref()), actions);
    acting_ui(ui, model, prompt.as_ref(), area, actions);
}

/// The button asked for, by its place in the project.
fn asked(model: &Model, prompt: &Prompt) -> Option<usize> {
    match &prompt.phase {
        Phase::Press { button, .. } => Some(model.project()?.button(button)?.0),
        _ => None,
    }
}

fn touch_asked(prompt: Option<&Prompt>) -> Touch {
    match prompt.map(|prompt| &prompt.phase) {
        Some(Phase::Press { touch, .. }) => *touch,
        _ => Touch::Firm,
    }
}

/// Nothing runs: what to do first, or that all is done.
fn empty_ui(ui: &mut Ui, place: Rect, model: &Model, project: &Project, actions: &mut Vec<Action>) {
    let theme = Theme::of(ui.ctx());
    let buttons = project.wheel.buttons.len();
    let learned = project.wheel.buttons.iter().filter(|button| project.is_learned(&button.id)).count();
    let (head, line) = match (buttons, learned) {
        (0, _) => ("No buttons yet.", "Name the wheel's buttons first."),
        (_, 0) => ("Nothing learned.", "Start prompted, or drag over a press in the Click view."),
        (all, done) if done < all => ("Some are learned.", "Go on with the ones that are missing."),
        _ => ("All learned.", "Pair each press with a command, or learn again."),
    };
    let mut child = ui.new_child(UiBuilder::new().max_rect(place));
    child.spacing_mut().item_spacing = vec2(space::ROW, space::TIGHT);
    child.label(egui::RichText::new(head).font(theme::bold(size::HEAD)).color(theme.ink));
    child.label(egui::RichText::new(line).font(theme::regular(size::PROSE)).color(theme.ink2));
    if buttons == 0 {
        if child.add(Button::act("Name the buttons").height(control::ACTING)).clicked() {
            actions.extend(crate::view::stations::wheel::to_names());
        }
        return;
    }
    if learned > 0 {
        let room = (place.bottom() - child.min_rect().bottom()) / 26.0;
        verdicts_ui(&mut child, model, room as usize);
    }
}

/// What the bands say, the gravest first, each with its button's tag.
fn verdicts_ui(ui: &mut Ui, model: &Model, most: usize) {
    let theme = Theme::of(ui.ctx());
    ui.spacing_mut().item_spacing.y = 2.0;
    for line in model.derived.verdicts.iter().filter(|line| line.grade != Grade::Open).take(most) {
        let (row, _) = ui.allocate_exact_size(vec2(ui.available_width(), 24.0), egui::Sense::hover());
        let p = ui.painter();
        plate::plate(
            p,
            &theme,
            line.button,
            pos2(row.left() + 11.0, row.center().y),
            9.0,
            plate::PlateMode::Measured,
        );
        let (font, ink) = match line.grade {
            Grade::Good | Grade::Open => (theme::regular(size::PROSE), theme.ink),
            Grade::Caution => (theme::bold(size::PROSE), theme.ink),
            Grade::Stop => (theme::bold(size::PROSE), theme.alarm_ink),
        };
        let x = row.left() + 30.0;
        text::cap_within(p, x, row.center().y, Align::Min, row.right() - x, &line.text, font, ink);
        let _: egui::Response = tell(ui, row, &format!("verdict {}", line.button), Role::Label, &line.text);
    }
}

fn prompt_ui(ui: &mut Ui, place: Rect, project: &Project, prompt: &Prompt, fit: &Fit) {
    let theme = Theme::of(ui.ctx());
    let panel = panel_place(place, fit);
    let words = Words::of(prompt, project, fit.name < size::NAME_MEDIUM);
    state_panel(ui, panel, project, Some(prompt));
    let marks: Vec<_> = prompt
        .marks
        .iter()
        .map(|mark| PressMark { state: mark_state(mark.state), label: touch_name(mark.touch), reading: "" })
        .collect();
    let readings: Vec<String> = prompt.marks.iter().map(|mark| mark_reading(mark.state)).collect();
    let marks: Vec<_> =
        marks.into_iter().zip(&readings).map(|(mark, reading)| PressMark { reading, ..mark }).collect();
    let radius = if marks.len() > 3 { fit.marks.min(12.0) } else { fit.marks };
    let pitch = if radius >= 16.0 { radius * 2.0 + 26.0 } else { radius * 2.0 + 8.0 };
    let marks_left = panel.left() - 20.0 - pitch * marks.len() as f32;
    if !marks.is_empty() {
        let y = place.top() + fit.height * if radius >= 16.0 { 0.40 } else { 0.5 };
        press_marks(ui, pos2(marks_left + pitch / 2.0, y), radius, &marks);
    }
    let index = match &prompt.phase {
        Phase::Press { button, .. } => project.button(button).map(|(index, _)| index),
        _ => None,
    };
    let p = ui.painter().clone();
    let x = match index {
        Some(index) => {
            let at = Pos2::new(place.left() + fit.plate + 2.0, place.top() + fit.height / 2.0);
            plate::plate(&p, &theme, index, at, fit.plate, plate::PlateMode::Measured);
            place.left() + fit.text_x
        }
        None => place.left(),
    };
    let room = (if marks.is_empty() { panel.left() - 20.0 } else { marks_left - 8.0 }) - x;
    let y = |share: f32| place.top() + fit.height * share;
    let line = theme::regular(fit.instruction);
    text::cap_within(&p, x, y(0.155), Align::Min, room, &words.instruction, line, theme.ink2);
    let name_size = [fit.name, size::NAME_SHARED, size::NAME_MEDIUM, size::NAME_NARROW, size::STATE]
        .into_iter()
        .filter(|&name| name <= fit.name)
        .find(|&name| text::width(&p, &words.name, theme::bold(name)) <= room)
        .unwrap_or(size::ARM);
    text::cap_within(&p, x - 2.0, y(0.53), Align::Min, room, &words.name, theme::bold(name_size), theme.ink);
    let (font, colour) = match words.weight {
        Weight::Plain => (theme::regular(fit.follows), theme.ink2),
        Weight::Hint => (theme::bold(fit.follows), theme.ink),
        Weight::Refused => (theme::bold(fit.follows), theme.alarm_ink),
    };
    // The line under the name may run on under the marks where those are without words.
    text::cap_within(&p, x, y(0.915), Align::Min, panel.left() - 20.0 - x, &words.follows, font, colour);
    let said = format!("{}. {}. {}", words.instruction, words.name, words.follows);
    let _: egui::Response = tell_live(ui, place.with_max_x(panel.left() - 8.0), "prompt", Role::Label, &said);
}

enum Weight {
    Plain,
    Hint,
    Refused,
}

/// What the prompt says.
struct Words {
    instruction: String,
    name: String,
    follows: String,
    weight: Weight,
}

impl Words {
    fn of(prompt: &Prompt, project: &Project, brief: bool) -> Self {
        let plain = |instruction: &str, name: &str, follows: String| Self {
            instruction: instruction.to_owned(),
            name: name.to_owned(),
            follows,
            weight: Weight::Plain,
        };
        let mut words = match &prompt.phase {
            Phase::LearnRest { .. } => plain(
                "Rest first",
                "Hands off",
                "Nothing pressed: this is what the wire reads at rest.".to_owned(),
            ),
            Phase::RestAgain { .. } => {
                plain("Rest again", "Hands off", "To see whether rest has moved.".to_owned())
            }
            Phase::Press { name, press, of, touch, state, .. } => {
                let how = match (touch, brief) {
                    (Touch::Slow, false) => ", this one slowly",
                    (Touch::Light, false) => ", this one light",
                    (Touch::Slow, true) => ", slowly",
                    (Touch::Light, true) => ", light",
                    (Touch::Firm | Touch::Picked, _) => "",
                };
                let mut words =
                    plain(&format!("Press {press} of {of}{how}"), name, upcoming(&prompt.upcoming, project));
                if let PressState::Refused { reason } = state {
                    words.follows = refusal_line(reason, name);
                    words.weight = Weight::Refused;
                }
                words
            }
            Phase::Done { learned } => {
                plain("That was all", "Learned", format!("{learned} buttons, rest again."))
            }
            Phase::Paused => plain("Readings are not looked at", "Paused", "Space goes on.".to_owned()),
            Phase::Stopped => plain("", "Stopped", "What was learned is kept.".to_owned()),
        };
        if let Some(hint) = prompt.hint.as_ref().filter(|_| prompt.phase != Phase::Paused) {
            words.follows = hint.text();
            words.weight = Weight::Hint;
        }
        words
    }
}

/// What comes after this button.
fn upcoming(next: &[ButtonId], project: &Project) -> String {
    let names: Vec<_> = next
        .iter()
        .take(2)
        .filter_map(|id| project.button(id))
        .map(|(index, button)| format!("{} {}", theme::letter(index), button.name))
        .collect();
    match (names.is_empty(), next.len() > 2) {
        (true, _) => "then rest again".to_owned(),
        (false, true) => format!("then {}, {} more, rest again", names.join(", "), next.len() - 2),
        (false, false) => format!("then {}, rest again", names.join(", ")),
    }
}

fn refusal_line(reason: &Refusal, asked: &str) -> String {
    match reason {
        Refusal::OnRung { other_name, .. } => format!("That was {other_name}. Press {asked}."),
        reason => reason.text(),
    }
}

fn panel_place(place: Rect, fit: &Fit) -> Rect {
    Rect::from_min_size(pos2(place.right() - fit.panel.x, place.top()), fit.panel)
}

fn state_panel(ui: &Ui, rect: Rect, project: &Project, prompt: Option<&Prompt>) {
    let Some(prompt) = prompt else { return };
    let counts = "counts";
    let percent = |share: f64| format!("{:.0}", share * 100.0);
    let (state, button, word, figure, unit, note) = match &prompt.phase {
        Phase::LearnRest { progress } | Phase::RestAgain { progress } => (
            PanelState::Settling(*progress as f32),
            None,
            "Rest".to_owned(),
            percent(*progress),
            "%",
            "Hands off the wheel".to_owned(),
        ),
        Phase::Press { button, name, state, of, .. } => {
            let index = project.button(button).map(|(index, _)| index);
            let (state, word, figure, unit, note) = match state {
                PressState::Waiting => (
                    PanelState::Waiting,
                    format!("Press {name}"),
                    String::new(),
                    "",
                    "waiting for a press".to_owned(),
                ),
                PressState::Settling { count, progress } => (
                    PanelState::Settling(*progress as f32),
                    "Settling".to_owned(),
                    count_text(*count, 0),
                    counts,
                    format!("{:.2} s of 0.30 s", 0.3 * progress.min(1.0)),
                ),
                PressState::Settled { count } => (
                    PanelState::Settled,
                    "Settled".to_owned(),
                    count_text(*count, 0),
                    counts,
                    "Let go when you like".to_owned(),
                ),
                PressState::Counted { press, median_count, spread_count, .. } => (
                    PanelState::Counted,
                    "Counted".to_owned(),
                    press.to_string(),
                    "of",
                    format!("{}, spread {}", count_text(*median_count, 0), count_text(*spread_count, 1)),
                ),
                PressState::Refused { reason } => (
                    PanelState::Refused,
                    "Not taken".to_owned(),
                    reason.count().map(|count| count_text(count, 0)).unwrap_or_default(),
                    if reason.count().is_some() { counts } else { "" },
                    reason.headline(),
                ),
            };
            let of = format!("of {of}");
            let unit = if unit == "of" { of.as_str() } else { unit };
            let panel = StatePanel { state, button: index, word: &word, figure: &figure, unit, note: &note };
            let _: egui::Response = panel.show_at(ui, rect);
            return;
        }
        Phase::Done { learned } => (
            PanelState::Done,
            None,
            "All learned".to_owned(),
            learned.to_string(),
            "buttons",
            "Next: Codes".to_owned(),
        ),
        Phase::Paused => {
            (PanelState::Waiting, None, "Paused".to_owned(), String::new(), "", "Space goes on".to_owned())
        }
        Phase::Stopped => {
            (PanelState::Done, None, "Stopped".to_owned(), String::new(), "", "Start goes on".to_owned())
        }
    };
    let panel = StatePanel { state, button, word: &word, figure: &figure, unit, note: &note };
    let _: egui::Response = panel.show_at(ui, rect);
}

const fn touch_name(touch: Touch) -> &'static str {
    match touch {
        Touch::Firm => "firm",
        Touch::Slow => "slow",
        Touch::Light => "light",
        Touch::Picked => "picked",
    }
}

fn mark_state(state: Taken) -> MarkState {
    match state {
        Taken::ToCome => MarkState::ToCome,
        Taken::Now { progress } => MarkState::Current(progress as f32),
        Taken::Counted { .. } => MarkState::Done,
        Taken::Refused => MarkState::Refused,
    }
}

fn mark_reading(state: Taken) -> String {
    match state {
        Taken::Counted { median_count } => count_text(median_count, 0),
        _ => String::new(),
    }
}

/// What is offered so that nobody is stuck. Gives where it ends.
fn offer_ui(ui: &mut Ui, rect: Rect, offer: &Offer, actions: &mut Vec<Action>) -> f32 {
    let (label, command) = match offer {
        Offer::Indistinct { .. } => ("Take as indistinct", Command::TakeIndistinct),
        Offer::StartOver { .. } => ("Start this button over", Command::StartOver),
        Offer::LeaveOut { .. } => ("Leave it out", Command::LeaveOut),
    };
    let body = offer.text();
    let notice = Notice {
        level: NoticeLevel::Caution,
        head: "Twice now.",
        body: &body,
        action: Some((label, Some("I"))),
    };
    let mut child = ui.new_child(UiBuilder::new().max_rect(rect));
    if notice.show(&mut child, "offer") || key_pressed(ui, Modifiers::NONE, Key::I) {
        actions.push(Action::Learn(LearnAction::Session(command)));
    }
    child.min_rect().bottom()
}

/// The acting row.
fn acting_ui(ui: &mut Ui, model: &Model, prompt: Option<&Prompt>, area: &Area, actions: &mut Vec<Action>) {
    let row = area.layout.acting;
    let narrow = area.layout.class == WidthClass::Narrow;
    let mut child =
        ui.new_child(UiBuilder::new().max_rect(row).layout(egui::Layout::left_to_right(egui::Align::Min)));
    child.spacing_mut().item_spacing.x = if narrow { 8.0 } else { space::ROW };
    let session = |command| Action::Learn(LearnAction::Session(command));
    let is_running =
        prompt.is_some_and(|prompt| !matches!(prompt.phase, Phase::Done { .. } | Phase::Stopped));
    if is_running {
        let paused = prompt.is_some_and(|prompt| matches!(prompt.phase, Phase::Paused));
        let pause = if paused {
            ("Go on", Icon::Play, Command::Resume)
        } else {
            ("Pause", Icon::Pause, Command::Pause)
        };
        let button = Button::act(pause.0).icon(pause.1).key("Space").height(row.height());
        if child.add(button).clicked() || key_pressed(ui, Modifiers::NONE, Key::Space) {
            actions.push(session(pause.2));
        }
        if matches!(prompt.and_then(|prompt| prompt.offer.as_ref()), Some(Offer::StartOver { .. }))
            && child.add(Button::line("Keep both").height(row.height())).clicked()
        {
            actions.push(session(Command::Accept));
        }
        // In a narrow demo the hand's button takes the room of the keys.
        let caps = !(narrow && model.link.is_demo());
        let redo = if narrow { "Redo" } else { "Redo press" };
        for (label, cap, key, command) in [
            (redo, "R", Key::R, Command::Redo),
            ("Skip", "S", Key::S, Command::Skip),
            ("Stop", "Esc", Key::Escape, Command::Stop),
        ] {
            let button = Button::line(label).key(if caps { cap } else { "" }).height(row.height());
            if child.add(button).clicked() || key_pressed(ui, Modifiers::NONE, key) {
                actions.push(session(command));
            }
        }
    } else if let Some(project) = model.project().filter(|project| !project.wheel.buttons.is_empty()) {
        let learned = project.wheel.buttons.iter().filter(|button| project.is_learned(&button.id)).count();
        let label = match learned {
            0 => "Start prompted",
            learned if learned < project.wheel.buttons.len() => "Go on prompted",
            _ => "Learn all again",
        };
        let done = learned == project.wheel.buttons.len();
        let start = if done { Button::line(label) } else { Button::act(label).key("Enter") };
        let start = child.add(start.height(row.height()));
        if start.clicked() || (!done && key_pressed(ui, Modifiers::NONE, Key::Enter)) {
            actions.push(Action::Learn(LearnAction::Start(None)));
        }
        if done {
            let next = child.add(Button::act("Next: Codes").key("Enter").height(row.height()));
            if next.clicked() || key_pressed(ui, Modifiers::NONE, Key::Enter) {
                actions.push(Action::Go(crate::app::Station::Codes));
            }
        }
    }
    if model.link.is_demo() && is_running {
        let on = model.learn.hand.is_some();
        let label = match (on, narrow) {
            (true, false) => "Press it myself",
            (false, false) => "Press for me",
            (true, true) => "Myself",
            (false, true) => "For me",
        };
        let name = if on { "Press it myself" } else { "Press for me" };
        let button = Button::line(label).name(name).key(if narrow { "" } else { "H" });
        if child.add(button.height(row.height())).clicked() || key_pressed(ui, Modifiers::NONE, Key::H) {
            actions.push(Action::Learn(LearnAction::Hand(!on)));
        }
    }
    if !narrow {
        foot(ui, model, area, child.min_rect().right());
    }
}

/// What stands at the right of the acting row: rest, and what solid, dashed and hatched mean.
fn foot(ui: &Ui, model: &Model, area: &Area, used: f32) {
    let theme = Theme::of(ui.ctx());
    let at = right_end(&area.layout);
    let room = at.x - used - 20.0;
    let rests: Vec<_> = model
        .merged()
        .iter()
        .flat_map(|project| &project.rests)
        .map(|(wire, rest)| {
            let which = if model.link.wires > 1 { format!("wire {wire} ") } else { String::new() };
            format!(
                "{which}{} ± {}",
                count_text(rest.median_count, 0),
                count_text(rest.spread_count.max(0.5), 0)
            )
        })
        .collect();
    let p = ui.painter();
    if !rests.is_empty() {
        let words = format!("Rest {}", rests.join(", "));
        text::cap_within(
            p,
            at.x,
            at.y - 9.0,
            Align::Max,
            room,
            &words,
            theme::regular(size::BODY),
            theme.ink2,
        );
    }
    let key = "Solid measured · dashed planned · hatched rejected";
    if text::width(p, key, theme::regular(size::AXIS)) <= room {
        text::cap(p, at.x, at.y + 11.0, Align::Max, key, theme::regular(size::AXIS), theme.ink3);
    }
}
