//! Sending the command shown for a try, and whether the stereo obeyed. Knows no bytes but those it
//! hands on.

use super::super::super::action::Edit;
use super::super::super::effect::Effect;
use super::super::super::model::Model;
use super::super::super::the_box::{self, BoxAction};
use crate::device::{Failure, Job};
use crate::image;
use crate::project::{Command, CommandId};
use crate::remote::Code;

/// How long Try holds the button, in milliseconds: one frame of every family, and no repeat of most.
const TAP_MS: u16 = 100;

/// A command that was sent for a try.
#[derive(Clone, Debug, PartialEq)]
pub struct Trying {
    /// Which.
    pub command: CommandId,
    /// How it stands.
    pub state: TryState,
    /// What was sent.
    code: Code,
}

impl Trying {
    /// Whether it is this command that was sent, with the code it has now.
    #[must_use]
    pub fn is_of(&self, command: &Command) -> bool {
        self.command == command.id && self.code == command.code
    }
}

/// How a try stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum TryState {
    /// The box has not said yet that it sent it.
    Sending,
    /// It was sent, in so many frames.
    Sent(u8),
    /// It was not: why, and what to do.
    Failed(String),
}

pub(super) fn send(model: &mut Model, id: CommandId) -> Vec<Effect> {
    let Some(command) = model.project().and_then(|project| project.command(&id)) else { return Vec::new() };
    let code = command.code.clone();
    let misfit = image::record(&code).err();
    let state = misfit
        .as_ref()
        .map_or(TryState::Sending, |misfit| TryState::Failed(format!("{} {}", misfit.what, misfit.advice)));
    model.codes.listen.trying = Some(Trying { command: id.clone(), state, code });
    if misfit.is_some() {
        return Vec::new();
    }
    let mut effects = the_box::update(model, BoxAction::ChooseTry(id));
    effects.extend(the_box::update(model, BoxAction::Try { held_ms: TAP_MS }));
    effects
}

/// What is being sent, if it was asked for here.
fn sending(model: &mut Model) -> Option<&mut TryState> {
    let trying = model.codes.listen.trying.as_mut()?;
    (trying.state == TryState::Sending).then_some(&mut trying.state)
}

pub(super) fn sent(model: &mut Model, frames: u8) {
    if let Some(state) = sending(model) {
        *state = TryState::Sent(frames);
    }
}

pub(super) fn not_sent(model: &mut Model, failure: &Failure) -> bool {
    if failure.job != Job::Try {
        return false;
    }
    match sending(model) {
        Some(state) => *state = TryState::Failed(format!("{} {}", failure.what, failure.advice)),
        None => return false,
    }
    true
}

pub(super) fn gone(model: &mut Model) {
    if let Some(state) = sending(model) {
        let words = "The box went away before it said that it was sent. Plug it in, and try again.";
        *state = TryState::Failed(words.to_owned());
    }
}

pub(super) fn worked(model: &mut Model, id: &CommandId) {
    let Some(command) = model.project().and_then(|project| project.command(id)) else { return };
    let change = Edit::ChangeCommand(Box::new(Command { tried: true, ..command.clone() }));
    super::super::super::update::edit(model, &change);
}
