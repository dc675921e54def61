//! The seat check at the Box station: the box's decisions go into the running check, and what comes of it
//! into the project, dated and with what it was done on. Knows no bytes.

use crate::bands::Touch;
use crate::demo::{HandMove, Person};
use crate::device::BoxRequest;
use crate::image::{Built, Image};
use crate::learn::seat::{Decided, DecidedKind, SeatButton, SeatCommand, SeatPrompt, SeatSession};
use crate::link::{DemoTouch, Request};
use crate::project::{Gesture, SeatCheck};
use crate::signal::Reading;
use crate::wire::{DecisionKind, DecisionSeen};

use super::super::effect::Effect;
use super::super::learn::demo_places;
use super::super::link::demo_touch;
use super::super::model::Model;
use super::super::notice::{Level, Notice, Topic};
use super::super::station::Station;
use super::{Held, Presence};

/// The seat check as far as it is.
#[derive(Clone, Debug, Default)]
pub struct SeatState {
    /// The running check, or the one just done.
    pub session: Option<SeatSession>,
    /// The demo's hand, where it presses.
    pub hand: Option<Person>,
    /// The firmware and the image's checksum it runs on.
    on: (String, u16),
}

/// What a person does at the seat check.
#[derive(Clone, Debug, PartialEq)]
pub enum SeatAction {
    /// Begin, or begin anew.
    Start,
    /// Something for the running check.
    Command(SeatCommand),
    /// Whether the demo's hand presses what is asked.
    Hand(bool),
    /// Put the finished check away.
    Leave,
}

/// Why no check can begin, and what to do; `None` where one can.
#[must_use]
pub fn hindrance(model: &Model) -> Option<(&'static str, &'static str)> {
    let derived = &model.derived.the_box;
    match (&model.the_box.presence, &model.the_box.held) {
        (Presence::Found(_), Held::Image { .. }) if derived.is_same() => None,
        (Presence::Found(_), Held::Image { .. }) => {
            Some(("The box differs from the project.", "Write the project to the box first: Contents."))
        }
        (Presence::Found(_), _) => Some(("The box holds nothing yet.", "Fill it first: Contents.")),
        _ => Some(("There is no box to check.", "Contents says what is there, and what to do first.")),
    }
}

/// What a person does.
pub(super) fn update(model: &mut Model, action: SeatAction) -> Vec<Effect> {
    match action {
        SeatAction::Start => start(model),
        SeatAction::Command(command) => {
            if let Some(session) = &mut model.the_box.seat.session {
                session.command(command);
            }
            keep_when_done(model)
        }
        SeatAction::Hand(on) => hand(model, on),
        SeatAction::Leave => {
            model.the_box.seat.session = None;
            model.kept.box_moved = true;
            hand(model, false)
        }
    }
}

fn start(model: &mut Model) -> Vec<Effect> {
    if let Some((head, body)) = hindrance(model) {
        model.notices.show(Notice::new(Topic::Edit, Level::Caution, head, body).at(Station::Box));
        return Vec::new();
    }
    let (Some(project), Some(identity)) = (model.project(), model.the_box.identity()) else {
        return Vec::new();
    };
    let (Some(Ok(built)), Held::Image { image, slot }) = (&model.derived.the_box.built, &model.the_box.held)
    else {
        return Vec::new();
    };
    let buttons = buttons_of(built, image);
    let presses = project.plan.presses;
    let seed = u64::from(slot.check);
    let (major, minor) = identity.firmware;
    let on = (format!("{major}.{minor}"), slot.check);
    model.the_box.seat =
        SeatState { session: Some(SeatSession::new(buttons, presses, seed)), hand: None, on };
    model.kept.box_moved = true;
    model.notices.clear(Topic::Edit);
    if model.the_box.watching {
        return Vec::new();
    }
    model.the_box.watching = true;
    vec![Effect::Link(Request::Box(BoxRequest::Watch(true)))]
}

/// The buttons that the box takes, in the image's order.
fn buttons_of(built: &Built, image: &Image) -> Vec<SeatButton> {
    let band = |number: usize| image.buttons.get(number).map(|button| button.band);
    let buttons = built.buttons.iter().enumerate().filter_map(|(number, id)| Some((id, band(number)?)));
    buttons
        .filter(|(_, band)| band.low <= band.high)
        .map(|(id, band)| SeatButton {
            id: id.clone(),
            low_count: f64::from(band.low),
            high_count: f64::from(band.high),
        })
        .collect()
}

/// The box decided something.
pub(super) fn heard(model: &mut Model, seen: &DecisionSeen) -> Vec<Effect> {
    let Some(Ok(built)) = &model.derived.the_box.built else { return Vec::new() };
    let Some(session) = &mut model.the_box.seat.session else { return Vec::new() };
    let id = seen.button.and_then(|number| built.buttons.get(usize::from(number)));
    let decided = Decided {
        kind: match seen.kind {
            DecisionKind::Pressed => DecidedKind::Pressed,
            DecisionKind::Released => DecidedKind::Released,
            DecisionKind::Tap => DecidedKind::Gesture(Gesture::Tap),
            DecisionKind::Hold => DecidedKind::Gesture(Gesture::Hold),
            DecisionKind::DoubleTap => DecidedKind::Gesture(Gesture::DoubleTap),
            DecisionKind::Undecided => DecidedKind::Undecided,
        },
        button: id.and_then(|id| session.buttons().iter().position(|button| button.id == *id)),
        count: Some(seen.count).filter(|count| count.is_finite()),
        latency_ms: seen.latency_ms,
        sent: seen.command.and_then(|number| built.commands.get(usize::from(number))).cloned(),
    };
    session.decided(&decided);
    keep_when_done(model)
}

/// Once all are done, or it was stopped with something to show, the project keeps it.
fn keep_when_done(model: &mut Model) -> Vec<Effect> {
    model.kept.box_moved = true;
    let Some(session) = &model.the_box.seat.session else { return Vec::new() };
    if session.prompt() != SeatPrompt::Done {
        return Vec::new();
    }
    if !session.presses().is_empty() {
        let (firmware, image_check) = model.the_box.seat.on.clone();
        let check = SeatCheck {
            on: [model.now.date.as_str(), model.now.clock.as_str()].join(" ").trim().to_owned(),
            firmware,
            image_check,
            planned: u32::try_from(session.planned()).unwrap_or(u32::MAX),
            taken_back: session.taken_back(),
            presses: session.presses().to_vec(),
        };
        let known = model.project().and_then(|project| project.seat_check.as_ref());
        if known.is_none_or(|known| known.presses != check.presses)
            && let Some(document) = &mut model.document
        {
            document.change(None, |project| project.seat_check = Some(check));
        }
    }
    hand(model, false)
}

/// The box is gone, or starts anew: what is asked for waits, and nothing is lost.
pub(super) fn interrupted(model: &mut Model) {
    if let Some(session) = &mut model.the_box.seat.session {
        session.command(SeatCommand::Pause);
    }
}

/// Whether the demo's hand presses what is asked.
fn hand(model: &mut Model, on: bool) -> Vec<Effect> {
    let was = model.the_box.seat.hand.take().is_some();
    if on && model.link.is_demo() {
        model.the_box.seat.hand = Some(Person::new(20_082));
        return Vec::new();
    }
    if was { vec![demo_touch(DemoTouch::Release)] } else { Vec::new() }
}

/// New readings: the demo's hand does what the check asks.
pub(in crate::app) fn readings(model: &mut Model, readings: &[Reading]) -> Vec<Effect> {
    let (Some(last), Some(session), true) =
        (readings.last(), &model.the_box.seat.session, model.the_box.seat.hand.is_some())
    else {
        return Vec::new();
    };
    let prompt = session.prompt();
    let asked = match prompt {
        SeatPrompt::Press(button) => session.buttons().get(button).map(|button| button.id.clone()),
        _ => None,
    };
    let place = asked.and_then(|id| {
        let project = model.project()?;
        let (index, _) = project.button(&id)?;
        Some(((*demo_places(project).get(index)?)?, Touch::Firm))
    });
    let mut effects = Vec::new();
    if let Some(person) = &mut model.the_box.seat.hand {
        effects.extend(match person.step(last.t_ms, place) {
            Some(HandMove::Press { button, touch }) => Some(demo_touch(DemoTouch::Press { button, touch })),
            Some(HandMove::Release) => Some(demo_touch(DemoTouch::Release)),
            None => None,
        });
        if prompt == SeatPrompt::StartEngine
            && !person.is_holding()
            && let Some(session) = &mut model.the_box.seat.session
        {
            // The demo's engine starts at once.
            session.command(SeatCommand::EngineRuns);
        }
    }
    effects
}
