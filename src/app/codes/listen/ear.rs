//! Whether the box listens: asking it to, and what ends it. Knows no presses.

use super::super::super::effect::Effect;
use super::super::super::model::Model;
use super::hold_remote;
use crate::device::{BoxRequest, Failure};
use crate::link::Request;

/// Whether the box listens.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Ear {
    /// It was asked to, and has not answered yet.
    Asked,
    /// It listens.
    Open,
    /// It does not, and why.
    Shut(Shut),
}

/// Why the box does not listen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Shut {
    /// No box is there that could.
    NoBox,
    /// The box went away in the middle.
    Gone,
    /// All was heard that is asked for.
    Enough,
    /// The person went somewhere else.
    Left,
    /// The person stopped it.
    Stopped,
    /// The box did not do it: what failed, and what to do.
    Failed {
        /// What failed.
        what: String,
        /// What to do.
        advice: String,
    },
}

impl Ear {
    /// Whether it listens, or was asked to.
    #[must_use]
    pub const fn is_on(&self) -> bool {
        matches!(self, Self::Asked | Self::Open)
    }
}

/// Asks the box to listen.
pub(super) fn open(model: &mut Model) -> Vec<Effect> {
    let has_box = model.the_box.identity().is_some();
    let Some(session) = &mut model.codes.listen.session else { return Vec::new() };
    if session.ear.is_on() {
        return Vec::new();
    }
    (session.flickers, session.torn) = (0, None);
    if !has_box {
        session.ear = Ear::Shut(Shut::NoBox);
        return Vec::new();
    }
    session.ear = Ear::Asked;
    model.codes.listen.owed += 1;
    let mut effects = hold_remote(model);
    effects.push(listen(true));
    effects
}

/// Asks the box to listen no longer.
pub(super) fn shut(model: &mut Model, why: Shut) -> Vec<Effect> {
    let state = &mut model.codes.listen;
    let Some(session) = state.session.as_mut().filter(|session| session.ear.is_on()) else {
        return Vec::new();
    };
    session.ear = Ear::Shut(why);
    state.owed += 1;
    vec![listen(false)]
}

/// The box answered a request to listen or not to; or, where it owes none, lost a part of a capture.
pub(super) fn answered(model: &mut Model, failure: Option<&Failure>) {
    let state = &mut model.codes.listen;
    let owed = state.owed;
    state.owed = owed.saturating_sub(1);
    let Some(session) = state.session.as_mut().filter(|session| session.ear.is_on()) else { return };
    match failure {
        None if owed <= 1 => session.ear = Ear::Open,
        None => {}
        Some(failure) if owed == 0 => {
            session.torn = Some(format!("{} {}", failure.what, failure.advice));
        }
        Some(Failure { what, advice, .. }) => {
            session.ear = Ear::Shut(Shut::Failed { what: what.clone(), advice: advice.clone() });
        }
    }
}

/// No box is there: what was heard stays, and no answer comes any more.
pub(super) fn gone(model: &mut Model) {
    let state = &mut model.codes.listen;
    state.owed = 0;
    if let Some(session) = state.session.as_mut().filter(|session| session.ear.is_on()) {
        session.ear = Ear::Shut(Shut::Gone);
    }
}

fn listen(on: bool) -> Effect {
    Effect::Link(Request::Box(BoxRequest::Listen(on)))
}
