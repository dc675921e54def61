//! The running re-check: which button is asked for, and what the wire says.

use egui::{Align, Key, Modifiers, Rect, Role, Ui, pos2, vec2};

use crate::app::learn::bands::RecheckAction;
use crate::app::{Action, Model};
use crate::learn::{Command, Offer, Phase, PressState, Session};
use crate::project::Project;
use crate::units::count_text;
use crate::view::theme::{self, Theme, size, space, stroke};
use crate::view::widgets::button::Button;
use crate::view::widgets::focus::{key_pressed, tell_live};
use crate::view::widgets::plate::{PlateMode, plate};
use crate::view::widgets::text;

/// How high the prompt stands, in points.
const HEIGHT: f32 = 84.0;

/// What the session asks for now: the button, the instruction, and how it goes.
fn words(session: &Session, project: &Project) -> (Option<usize>, String, String, bool) {
    let prompt = session.prompt();
    let (index, head, line, refused) = match prompt.phase {
        Phase::LearnRest { .. } => {
            (None, "Hands off".to_owned(), "What the wire reads at rest comes first.".to_owned(), false)
        }
        Phase::RestAgain { .. } => {
            (None, "Hands off".to_owned(), "Rest again, then it is done.".to_owned(), false)
        }
        Phase::Press { button, name, state, .. } => {
            let index = project.button(&button).map(|(index, _)| index);
            let (line, refused) = match state {
                PressState::Waiting => ("Once, firmly, and let go.".to_owned(), false),
                PressState::Settling { count, .. } => {
                    (format!("Settling at {}.", count_text(count, 0)), false)
                }
                PressState::Settled { count } => {
                    (format!("{} counts. Let go when you like.", count_text(count, 0)), false)
                }
                PressState::Counted { median_count, .. } => {
                    (format!("{} counts, taken.", count_text(median_count, 0)), false)
                }
                PressState::Refused { reason } => (reason.text(), true),
            };
            (index, format!("Press {name}"), line, refused)
        }
        Phase::Done { .. } | Phase::Stopped => (None, "Done".to_owned(), String::new(), false),
        Phase::Paused => (None, "Paused".to_owned(), "Readings are not looked at.".to_owned(), false),
    };
    match (&prompt.offer, &prompt.hint) {
        (Some(offer), _) => (index, head, offer.text(), refused),
        (None, Some(hint)) if !refused => (index, head, hint.text(), false),
        _ => (index, head, line, refused),
    }
}

/// Draws the prompt; gives where it ends.
pub(super) fn prompt_ui(
    ui: &mut Ui,
    place: Rect,
    project: &Project,
    session: &Session,
    actions: &mut Vec<Action>,
) -> f32 {
    let theme = Theme::of(ui.ctx());
    let (index, head, line, refused) = words(session, project);
    let rect = Rect::from_min_size(place.min, vec2(place.width(), HEIGHT));
    let p = ui.painter();
    let outline = egui::Stroke::new(stroke::NODE, if refused { theme.alarm } else { theme.ink });
    p.rect(rect, 2, theme.raise, outline, egui::StrokeKind::Inside);
    let x = rect.left() + 84.0;
    if let Some(index) = index {
        plate(p, &theme, index, pos2(rect.left() + 44.0, rect.center().y), 26.0, PlateMode::Measured);
    }
    let done = session.results().iter().filter(|result| !result.presses.is_empty()).count();
    let of = session.results().len();
    let right = format!("{done} of {of}");
    let room = rect.width() - 84.0 - 110.0;
    text::cap_within(p, x, rect.top() + 28.0, Align::Min, room, &head, theme::bold(size::STATE), theme.ink);
    text::cap(
        p,
        rect.right() - 20.0,
        rect.top() + 28.0,
        Align::Max,
        &right,
        theme::bold(size::ARM),
        theme.ink,
    );
    let ink = if refused { theme.alarm_ink } else { theme.ink2 };
    text::cap_within(
        p,
        x,
        rect.top() + 60.0,
        Align::Min,
        rect.width() - 104.0,
        &line,
        theme::regular(size::PROSE),
        ink,
    );
    let said = format!("Re-check, {right}. {head}. {line}");
    let _: egui::Response = tell_live(ui, rect, "re-check", Role::Label, &said);
    if key_pressed(ui, Modifiers::NONE, Key::Escape) {
        actions.push(RecheckAction::Stop.into());
    }
    rect.bottom()
}

/// The acting row while it runs.
pub(super) fn acting_ui(ui: &mut Ui, model: &Model, height: f32, actions: &mut Vec<Action>) {
    let Some(session) = &model.learn.recheck else { return };
    let ask = |command| RecheckAction::Session(command).into();
    let offered = session.prompt().offer.map(|offer| match offer {
        Offer::Indistinct { .. } => ("Take it all the same", Command::TakeIndistinct),
        Offer::StartOver { .. } => ("Start this button over", Command::StartOver),
        Offer::LeaveOut { .. } => ("Leave the wire out", Command::LeaveOut),
    });
    if let Some((label, command)) = offered
        && (ui.add(Button::act(label).key("I").height(height)).clicked()
            || key_pressed(ui, Modifiers::NONE, Key::I))
    {
        actions.push(ask(command));
    }
    if ui.add(Button::line("Skip this button").key("S").height(height)).clicked()
        || key_pressed(ui, Modifiers::NONE, Key::S)
    {
        actions.push(ask(Command::Skip));
    }
    if ui.add(Button::line("Stop").key("Esc").height(height)).clicked() {
        actions.push(RecheckAction::Stop.into());
    }
    ui.add_space(space::TIGHT);
}
