//! What keeps a sweep moving, and what stops it: one code at a time, the next one only after the pace has
//! passed and the box has said that the one before was sent. Knows no screen.

use crate::device::{BoxReport, BoxRequest, Job};
use crate::image;
use crate::link::Request;
use crate::project::{Command, Sweep};
use crate::remote::{self, Code};
use crate::wire::ResetCause;

use super::super::super::action::Edit;
use super::super::super::effect::Effect;
use super::super::super::model::Model;
use super::super::super::station::Station;
use super::super::super::update as updates;
use super::super::CodesView;
use super::{Hindrance, Motion, Sent, SweepState, hindrance};

/// How long each code is held, in milliseconds: a short press. The last frame of it begins within 100 ms
/// (the third of those that are sent three times, 45 ms apart, at 90 ms) and is over, its gap included, 130
/// ms later at most: well within the shortest pace.
const HELD_MS: u16 = 100;

/// From one code to the next by hand, in milliseconds: no shorter than the shortest pace.
const BY_HAND_MS: f64 = 500.0;

/// How late a tick may be for the one after it to come on time again, in milliseconds. What is later
/// shifts the rest: no code gets much less than its pace.
const CATCH_UP_MS: f64 = 50.0;

/// How long the box has to say that it sent a code, in milliseconds: many times what the longest takes.
const PATIENCE_MS: f64 = 3_000.0;

/// Why a sweep pauses.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Halt {
    /// The person paused it, or goes by hand.
    Person,
    /// The stereo did something, and it is marked.
    Marked,
    /// The view was left.
    Left,
    /// Something else stands over the view.
    Covered,
    /// The window was minimised, or covered by another.
    Hidden,
    /// What it sends to isn't there any more, or is busy.
    Hindered(Hindrance),
    /// The box started anew.
    Restarted(ResetCause),
    /// The box could not send a code.
    Failed {
        /// What failed.
        what: String,
        /// What to do.
        advice: String,
    },
    /// The box never said that it sent a code.
    Silent,
    /// A step of the project was undone or done again.
    Changed,
    /// All were sent.
    Finished,
}

impl Halt {
    /// Why, and what to do; `None` where the person knows.
    #[must_use]
    pub fn words(&self) -> Option<String> {
        Some(match self {
            Self::Person => return None,
            Self::Marked => "Marked. Name it, or go on.".to_owned(),
            Self::Left => "It paused because you left this view.".to_owned(),
            Self::Covered => "It paused while something else stood over it.".to_owned(),
            Self::Hidden => "It paused because the window was out of sight.".to_owned(),
            Self::Hindered(hindrance) => hindrance.words(),
            Self::Restarted(cause) => format!(
                "It paused because the box started anew: {}. Check its supply, go back one, and go on.",
                match cause {
                    ResetCause::PowerOn => "power came",
                    ResetCause::External => "its reset pin",
                    ResetCause::BrownOut => "its supply fell too low",
                    ResetCause::Watchdog => "its watchdog",
                }
            ),
            Self::Failed { what, advice } => format!("{what} {advice}"),
            Self::Silent => format!(
                "The box did not say within {:.0} s that it sent the code. Check its cable, go back one, and go on.",
                PATIENCE_MS / 1e3
            ),
            Self::Changed => "It paused because a step was undone.".to_owned(),
            Self::Finished => {
                "All were sent. Nothing happened? Then the address or the family is another one.".to_owned()
            }
        })
    }

    /// Whether something went wrong.
    #[must_use]
    pub const fn is_trouble(&self) -> bool {
        matches!(self, Self::Hindered(_) | Self::Restarted(_) | Self::Failed { .. } | Self::Silent)
    }
}

impl Model {
    /// How long, in milliseconds, until the sweep wants the next tick; `None` while it wants none.
    pub(in crate::app) fn sweep_tick_ms(&self) -> Option<f64> {
        let state = &self.codes.sweep;
        if state.motion == Motion::Paused {
            return None;
        }
        let until_ms = state.awaited_ms.map_or(state.due_ms, |since_ms| since_ms + PATIENCE_MS);
        Some((until_ms - self.now.ms).max(0.0))
    }
}

/// Time has passed.
pub(in crate::app) fn tick(model: &mut Model) -> Vec<Effect> {
    if model.codes.sweep.motion == Motion::Paused {
        return Vec::new();
    }
    // Whatever holds it back is seen before anything is sent.
    look_after(model);
    advance(model)
}

/// Goes on; the next code is sent as soon as its pace has passed.
pub(super) fn go(model: &mut Model) -> Vec<Effect> {
    let pace_ms = sweep(model).map_or(0.0, |sweep| f64::from(sweep.pace_ms));
    start(model, Motion::Running, pace_ms)
}

/// Sends the next one, and waits.
pub(super) fn step(model: &mut Model) -> Vec<Effect> {
    let shortest_ms = sweep(model).map_or(0.0, |sweep| f64::from(sweep.pace_ms).min(BY_HAND_MS));
    start(model, Motion::Stepping, shortest_ms)
}

fn start(model: &mut Model, motion: Motion, pace_ms: f64) -> Vec<Effect> {
    let Some(sweep) = sweep(model) else { return Vec::new() };
    let is_done = u64::from(sweep.next) >= sweep.range.len();
    if is_done || !model.codes.sweep.agreed {
        return Vec::new();
    }
    if let Some(hindrance) = hindrance(model) {
        halt(model, Halt::Hindered(hindrance));
        return Vec::new();
    }
    let now_ms = model.now.ms;
    let state = &mut model.codes.sweep;
    state.motion = motion;
    state.halt = None;
    state.question = None;
    state.due_ms = state.sent.map_or(now_ms, |sent| (sent.ms + pace_ms).max(now_ms));
    advance(model)
}

/// Sends the next one, if it is due and the box has sent the one before.
fn advance(model: &mut Model) -> Vec<Effect> {
    let (now_ms, state) = (model.now.ms, &mut model.codes.sweep);
    if state.motion == Motion::Paused {
        return Vec::new();
    }
    if let Some(since_ms) = state.awaited_ms {
        if now_ms - since_ms >= PATIENCE_MS {
            state.awaited_ms = None;
            halt(model, Halt::Silent);
        }
        return Vec::new();
    }
    if now_ms < state.due_ms {
        return Vec::new();
    }
    let Some(sweep) = sweep(model) else { return Vec::new() };
    let (at, pace_ms) = (sweep.next, f64::from(sweep.pace_ms));
    let Some(code) = sweep.range.code(u32::from(at)) else {
        // The last one has had its time.
        halt(model, Halt::Finished);
        return Vec::new();
    };
    let record = match image::record(&code) {
        Ok(record) => record,
        Err(misfit) => {
            halt(model, Halt::Failed { what: misfit.what, advice: misfit.advice });
            return Vec::new();
        }
    };
    let state = &mut model.codes.sweep;
    // A press anew for every one, as its family tells presses apart.
    state.toggle = has_toggle(&code) && !state.toggle;
    state.before = state.sent.map(|sent| sent.at);
    state.sent = Some(Sent { at, ms: now_ms, whole: false });
    state.awaited_ms = Some(now_ms);
    state.due_ms = state.due_ms.max(now_ms - CATCH_UP_MS) + pace_ms;
    let (toggle, steps) = (state.toggle, state.motion == Motion::Stepping);
    model.the_box.failure = None;
    change(model, |sweep| sweep.next = at + 1);
    if steps {
        halt(model, Halt::Person);
    }
    vec![Effect::Link(Request::Box(BoxRequest::Try { record, held_ms: HELD_MS, toggle }))]
}

fn has_toggle(code: &Code) -> bool {
    match code {
        Code::Family { family, .. } => remote::family(family).is_some_and(remote::Family::has_toggle),
        Code::Free { .. } | Code::Raw { .. } => false,
    }
}

/// Pauses, and says why.
pub(super) fn halt(model: &mut Model, why: Halt) {
    let state = &mut model.codes.sweep;
    // The reason it stopped for stays: what follows from it is no news.
    let keeps = state.motion == Motion::Paused && state.halt.is_some() && why == Halt::Person;
    state.motion = Motion::Paused;
    if !keeps {
        state.halt = Some(why);
    }
    // What is sent from here on is another step of undo.
    updates::edit(model, &Edit::Settle);
}

/// What the box says of what it was asked to send.
pub(in crate::app) fn heard(model: &mut Model, report: &BoxReport) {
    let state = &mut model.codes.sweep;
    match report {
        BoxReport::Sent { .. } if state.awaited_ms.is_some() => {
            state.awaited_ms = None;
            if let Some(sent) = &mut state.sent {
                sent.whole = true;
            }
        }
        BoxReport::Failed(failure) if failure.job == Job::Try && state.awaited_ms.is_some() => {
            state.awaited_ms = None;
            let (what, advice) = (failure.what.clone(), failure.advice.clone());
            halt(model, Halt::Failed { what, advice });
        }
        BoxReport::Restarted(cause) => {
            let moves = state.motion != Motion::Paused || state.awaited_ms.is_some();
            state.awaited_ms = None;
            if moves {
                halt(model, Halt::Restarted(*cause));
            }
        }
        _ => {}
    }
}

/// Whatever happened: the run belongs to what is open, and sends nothing that nobody watches.
pub(in crate::app) fn look_after(model: &mut Model) {
    follow(model);
    let held_back = hindrance(model);
    let is_there = matches!(held_back, None | Some(Hindrance::Busy(_)));
    let state = &mut model.codes.sweep;
    if !is_there {
        // Who plugs it in again may sit elsewhere, or drive: the caution is answered anew.
        state.agreed &= !state.was_there;
        state.awaited_ms = None;
    }
    state.was_there = is_there;
    if state.motion == Motion::Paused {
        return;
    }
    let showing = &model.showing;
    let covered = showing.cautions
        || showing.keys
        || showing.guard.is_some()
        || showing.path.is_some()
        || showing.found.is_some();
    if let Some(hindrance) = held_back {
        halt(model, Halt::Hindered(hindrance));
    } else if model.station != Station::Codes || model.codes.view != CodesView::Sweep {
        halt(model, Halt::Left);
    } else if showing.hidden {
        halt(model, Halt::Hidden);
    } else if covered {
        halt(model, Halt::Covered);
    }
}

/// Keeps what belongs to this document and this range, and forgets the rest.
pub(super) fn follow(model: &mut Model) {
    let document = model.kept.document_number;
    let there = sweep(model).map(|sweep| (&sweep.range, sweep.next));
    let (of, was) = &model.codes.sweep.of;
    if *of == document && was.as_ref().map(|(range, next)| (range, *next)) == there {
        return;
    }
    let there = there.map(|(range, next)| (range.clone(), next));
    let same_range = was.as_ref().map(|(range, _)| range) == there.as_ref().map(|(range, _)| range);
    let same_document = *of == document;
    let state = &mut model.codes.sweep;
    if !same_document {
        *state = SweepState::default();
    } else if same_range {
        let moved = state.motion != Motion::Paused;
        state.of = (document, there);
        if moved {
            halt(model, Halt::Changed);
        }
        return;
    } else {
        // Another sweep: what was typed and who it was sent to stay.
        *state = SweepState {
            draft: state.draft.take(),
            toggle: state.toggle,
            was_there: state.was_there,
            ..SweepState::default()
        };
    }
    state.of = (document, there);
}

/// Changes the sweep where it stands; runs of such changes are one step of undo.
pub(super) fn change(model: &mut Model, change: impl FnOnce(&mut Sweep)) {
    let Some(mut sweep) = sweep(model).cloned() else { return };
    change(&mut sweep);
    let of = (model.kept.document_number, Some((sweep.range.clone(), sweep.next)));
    if updates::edit(model, &Edit::Sweep(Some(sweep))) {
        model.codes.sweep.of = of;
    }
}

/// Changes the sweep as a step of undo of its own.
pub(super) fn alone(model: &mut Model, with: impl FnOnce(&mut Sweep, &[Command])) {
    let commands = model.project().map(|project| project.stereo.commands.clone()).unwrap_or_default();
    updates::edit(model, &Edit::Settle);
    change(model, |sweep| with(sweep, &commands));
    updates::edit(model, &Edit::Settle);
}

fn sweep(model: &Model) -> Option<&Sweep> {
    model.project().and_then(|project| project.stereo.sweep.as_ref())
}
