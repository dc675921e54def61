//! The chosen command's head: its name at arm's length, its code in words, and Try, with what stands
//! before it and what came of it.

use std::sync::Arc;

use egui::{Align, Galley, Key, Modifiers, Rect, Role, Sense, Ui, pos2, vec2};

use super::parts;
use crate::app::codes::CodesView;
use crate::app::codes::listen::{ListenAction, TryState, action};
use crate::app::link::Phase;
use crate::app::the_box::Presence;
use crate::app::{Action, CodesAction, Model, Station};
use crate::circuit::JackWants;
use crate::project::Command;
use crate::view::theme::{self, Theme, control, size, space};
use crate::view::widgets::button::Button;
use crate::view::widgets::focus::{self, key_pressed};
use crate::view::widgets::text;

/// How wide Try is.
const TRY: f32 = 196.0;
/// From here on Try stands beside the name.
const BESIDE: f32 = 560.0;
/// Between the code's line and Try.
const GAP: f32 = 10.0;

/// How wide the code's line may be where the whole is so wide.
pub(super) fn code_room(width: f32) -> f32 {
    if width >= BESIDE { width - TRY - GAP } else { width }
}

/// What stands before Try, or came of it.
struct Standing {
    can: bool,
    line: String,
    is_alarm: bool,
    side: Option<Side>,
}

/// The one thing that is offered beside Try.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Side {
    Worked,
    Jack,
    Connect,
    Box,
}

impl Side {
    fn button(self, name: &str) -> Button<'_> {
        match self {
            Self::Worked => Button::line("It worked").key("Y").name(name),
            Self::Jack => Button::line("Look at Jack"),
            Self::Connect => Button::line("Connect"),
            Self::Box => Button::line("Go to Box"),
        }
    }
}

/// Draws the head; asks for the link's panel where that is what is missing.
pub(super) fn head_ui(
    ui: &mut Ui,
    model: &Model,
    command: &Command,
    code: Option<(Arc<Galley>, String)>,
    link_open: &mut bool,
    actions: &mut Vec<Action>,
) {
    let theme = Theme::of(ui.ctx());
    let standing = standing(model, command);
    let width = ui.available_width();
    let is_beside = width >= BESIDE;
    let worked = format!("{} worked", command.name);
    let side = standing.side.map(|side| side.button(&worked));
    let side_wide = side.as_ref().map_or(0.0, |side| side.wanted_width(ui.painter()));
    let small = theme::regular(size::AXIS);
    let ink = if standing.is_alarm { theme.alarm_ink } else { theme.ink2 };
    let line = text::prose(ui.painter(), &standing.line, small, ink, width, 6);
    let has_line = !standing.line.is_empty();
    let line_high = if has_line { line.size().y } else { 0.0 };
    let code_high = code.as_ref().map_or(0.0, |(code, _)| code.size().y);
    let more = (code_high - 22.0).max(0.0);
    // Down to the bracket under it: 80 with a code of one line and nothing to say.
    let high = if is_beside {
        80.0 + more + if has_line { (line_high - 10.0).max(8.0) } else { 0.0 }
    } else {
        48.0 + code_high + 8.0 + control::TRY + line_high + 14.0
    };
    let (place, _) = ui.allocate_exact_size(vec2(width, high), Sense::hover());
    let (left, top) = (place.left(), place.top());
    let try_rect = if is_beside {
        Rect::from_min_size(pos2(place.right() - TRY, top + 10.0), vec2(TRY, control::TRY))
    } else {
        Rect::from_min_size(pos2(left, top + 48.0 + code_high + 8.0), vec2(TRY, control::TRY))
    };
    let side_rect = if is_beside {
        let right = try_rect.left() - space::ROW;
        Rect::from_min_size(pos2(right - side_wide, try_rect.top()), vec2(side_wide, control::USUAL))
    } else {
        let at = pos2(try_rect.right() + space::ROW, try_rect.top());
        Rect::from_min_size(at, vec2(side_wide.min(place.right() - at.x), control::TRY))
    };
    let name_room = match (is_beside, &side) {
        (true, Some(_)) => side_rect.left() - GAP - left,
        (true, None) => try_rect.left() - GAP - left,
        (false, _) => width,
    };
    let font = theme::bold(size::STATE);
    text::cap_within(ui.painter(), left, top + 24.0, Align::Min, name_room, &command.name, font, theme.ink);
    let told = Rect::from_min_size(place.min, vec2(name_room, 44.0));
    focus::tell(ui, told, "command's name", Role::Heading, &command.name);
    if let Some((code, said)) = code {
        let at = pos2(left, top + 56.0 + size::PROSE * size::CAP / 2.0 - text::baseline(&code));
        focus::tell(ui, Rect::from_min_size(at, code.size()), "code", Role::Label, &said);
        ui.painter().galley(at, code, theme.ink);
    }
    if has_line {
        let rows = line.rows.len();
        let at = if is_beside && rows == 1 {
            pos2(place.right() - line.size().x, try_rect.bottom() + 3.0 + more)
        } else if is_beside {
            pos2(left, top + 68.0 + more)
        } else {
            pos2(left, try_rect.bottom() + 4.0)
        };
        let rect = Rect::from_min_size(at, line.size());
        ui.painter().galley(at, line, ink);
        let role = if standing.is_alarm { Role::Alert } else { Role::Status };
        focus::tell_live(ui, rect, "try", role, &standing.line);
    }
    if let (Some(button), Some(side)) = (side, standing.side) {
        let clicked =
            button.height(side_rect.height()).text_size(size::BODY).show_at(ui, side_rect).clicked();
        if clicked || (side == Side::Worked && key_pressed(ui, Modifiers::NONE, Key::Y)) {
            match side {
                Side::Worked => actions.push(action(ListenAction::Worked(command.id.clone()))),
                Side::Jack => actions.push(Action::Codes(CodesAction::View(CodesView::Jack))),
                Side::Connect => *link_open = true,
                Side::Box => actions.push(Action::Go(Station::Box)),
            }
        }
    }
    let button = Button::act("Try on stereo").key("T").height(control::TRY).enabled(standing.can);
    let clicked = button.show_at(ui, try_rect).clicked();
    if clicked || (standing.can && key_pressed(ui, Modifiers::NONE, Key::T)) {
        actions.push(action(ListenAction::Try(command.id.clone())));
    }
}

fn standing(model: &Model, command: &Command) -> Standing {
    let off = |line: &str, side| Standing { can: false, line: line.to_owned(), is_alarm: false, side };
    let on = |line: &str, side| Standing { can: true, line: line.to_owned(), is_alarm: false, side };
    let wants = model.project().and_then(|project| project.stereo.jack.wants);
    if wants == Some(JackWants::Resistances) {
        let line = "The stereo's input wants resistances, and this box sends pulses.";
        return off(line, Some(Side::Jack));
    }
    if let Some((line, side)) = no_box(model) {
        return off(line, side);
    }
    if model.the_box.running.is_some() {
        return off("The box is busy. Try is back once that is done.", None);
    }
    let trying = model.codes.listen.trying.as_ref().filter(|trying| trying.is_of(command));
    match trying.map(|trying| &trying.state) {
        Some(TryState::Sending) => on("Sending.", None),
        Some(TryState::Sent(frames)) => {
            let frames = if *frames == 1 { "1 frame".to_owned() } else { format!("{frames} frames") };
            match command.tried {
                true => on(&format!("Sent in {frames}. It worked."), None),
                false => on(&format!("Sent in {frames}."), Some(Side::Worked)),
            }
        }
        Some(TryState::Failed(why)) => {
            Standing { can: true, line: format!("Not sent. {why}"), is_alarm: true, side: None }
        }
        None if wants.is_none() => {
            on("The stereo's input isn't checked. Look at Jack first.", Some(Side::Jack))
        }
        None => on("", None),
    }
}

/// Why no box can send, and where to go; `None` where one can.
fn no_box(model: &Model) -> Option<(&'static str, Option<Side>)> {
    Some(match (&model.the_box.presence, &model.link.phase) {
        (Presence::Found(_), _) => return None,
        (Presence::NoProgram { .. }, _) => ("The box has no program yet. Put it in first.", Some(Side::Box)),
        (Presence::Probe, _) => ("A probe can't send. Connect a box.", Some(Side::Connect)),
        (Presence::None, Phase::Gone) => ("The box went away. It is picked up by itself.", None),
        (Presence::None, Phase::Opening(_) | Phase::Open) => ("Asking what is at the other end.", None),
        (Presence::None, Phase::Closed) => ("Try takes a box, and none is connected.", Some(Side::Connect)),
    })
}

/// A code that can't be sent: why, and what to do.
pub(super) fn fault(ui: &mut Ui, why: &str) {
    let theme = Theme::of(ui.ctx());
    parts::prose(ui, why, size::PROSE, theme.alarm_ink);
    parts::prose(ui, "Edit it, or remove it.", size::PROSE, theme.ink2);
}
