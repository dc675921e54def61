//! What is heard of the box, and what it changes. Knows no bytes.

use crate::circuit::Reference;
use crate::device::{BoxReport, BoxRequest, Failure, Job};
use crate::image::Image;
use crate::link::Request;
use crate::project::Project;
use crate::wire::{Identity, NamedReference, ReferenceKind};

use super::super::Action;
use super::super::codes::listen;
use super::super::effect::Effect;
use super::super::model::Model;
use super::super::notice::{Level, Notice, Topic};
use super::{BoxAction, DECISIONS_KEPT, Held, Presence, Running};

/// Takes what was heard of the box.
pub(in crate::app) fn hear(model: &mut Model, report: BoxReport) -> Vec<Effect> {
    let state = &mut model.the_box;
    match report {
        BoxReport::Identity(identity) => return found(model, *identity),
        BoxReport::NoProgram { bootloader } => {
            state.presence = Presence::NoProgram { bootloader };
            state.held = Held::Unread;
            model.kept.stale = true;
        }
        BoxReport::Contents(slot) => {
            state.held = match slot {
                None => Held::Nothing,
                Some(slot) => match Image::from_body(&slot.body) {
                    Ok(image) => Held::Image { slot, image: Box::new(image) },
                    Err(error) => Held::Unreadable { slot, why: error.to_string() },
                },
            };
            model.kept.stale = true;
        }
        BoxReport::Progress { job, phase, done, of } => {
            state.running = Some(Running { job, phase: Some(phase), done, of });
            model.kept.box_moved = true;
        }
        BoxReport::Done(Job::Listen) => listen::done(model),
        BoxReport::Done(job) => {
            if state.running.is_some_and(|running| running.job == job) {
                state.running = None;
            }
            if job == Job::Write {
                state.written_at = Some(model.now.clock.clone());
            }
            if job == Job::Flash {
                state.held = Held::Unread;
            }
            model.kept.stale = true;
        }
        BoxReport::Failed(failure) if failure.job == Job::Listen => listen::failed(model, &failure),
        BoxReport::Failed(failure) => {
            if state.running.is_some_and(|running| running.job == failure.job) {
                state.running = None;
            }
            if failure.job == Job::Try {
                state.sending = None;
            }
            if failure.job == Job::Watch {
                state.watching = false;
            }
            if !listen::not_sent(model, &failure) {
                model.the_box.failure = Some(failure);
            }
            model.kept.stale = true;
        }
        BoxReport::Decision(decision) => {
            if state.decisions.len() >= DECISIONS_KEPT {
                state.decisions.pop_front();
            }
            state.decisions.push_back(decision);
            return super::seat::heard(model, &decision);
        }
        BoxReport::Counters(counters) => state.counters = Some((counters, model.now.ms)),
        BoxReport::Captured { timings_us, overflow } => return listen::heard(model, timings_us, overflow),
        BoxReport::Sent { frames } => {
            state.sent = state.sending.take().map(|command| (command, frames));
            listen::sent(model, frames);
        }
        BoxReport::Restarted(_) => {
            state.counters = None;
            state.sending = None;
            super::seat::interrupted(model);
            let state = &mut model.the_box;
            let mut effects = vec![ask(BoxRequest::Counters)];
            // A box that starts anew tells nothing by itself.
            if state.watching {
                effects.push(ask(BoxRequest::Watch(true)));
            }
            return effects;
        }
    }
    Vec::new()
}

fn ask(request: BoxRequest) -> Effect {
    Effect::Link(Request::Box(request))
}

/// A box said who it is.
fn found(model: &mut Model, identity: Identity) -> Vec<Effect> {
    let mut effects = Vec::new();
    let is_new = model.the_box.identity().is_none();
    let held = identity.slot.map(|slot| slot.check);
    if held.is_none() {
        model.the_box.held = Held::Nothing;
    } else if held != model.the_box.held_check() && model.the_box.running.is_none() {
        model.the_box.held = Held::Unread;
        effects.push(ask(BoxRequest::Read));
    }
    if identity.reference_named {
        if model.notices.on(Topic::Reference).is_some() {
            model.notices.clear(Topic::Reference);
        }
    } else if let Some(named) = model.project().and_then(reference_of) {
        effects.push(ask(BoxRequest::Reference(named)));
    } else {
        model.notices.show(
            Notice::new(
                Topic::Reference,
                Level::Caution,
                "The box waits to be told what it measures against.",
                "If nothing but a capacitor is on its reference pin, it is the supply. Otherwise enter the sense circuit first: choosing the supply against a driven pin shorts the two.",
            )
            .offering("It is the supply", Action::Box(BoxAction::Name(ReferenceKind::Supply))),
        );
    }
    if let (Some(volt), false, Some(mv)) = (model.the_box.pending_v, identity.calibrated, identity.supply_mv)
    {
        model.the_box.pending_v = None;
        effects.push(ask(BoxRequest::Calibrate(super::act::bandgap_mv(volt, mv))));
    }
    model.the_box.presence = Presence::Found(Box::new(identity));
    if is_new {
        model.the_box.failure = None;
        effects.push(ask(BoxRequest::Counters));
    }
    model.kept.stale = true;
    effects
}

/// The reference a project's circuit has; `None` where the circuit isn't known.
pub(super) fn reference_of(project: &Project) -> Option<NamedReference> {
    let circuit = project.circuit.as_ref()?;
    let kind = match circuit.reference {
        Reference::Supply => ReferenceKind::Supply,
        Reference::Internal { .. } => ReferenceKind::Internal,
        Reference::External { .. } => ReferenceKind::External,
    };
    Some(NamedReference { kind, feed_monitor: circuit.feed_monitor.is_some() })
}

/// Something is at the other end, and nothing says yet that it is a box.
pub(in crate::app) fn probe_found(model: &mut Model) {
    if model.the_box.identity().is_none() {
        model.the_box.presence = Presence::Probe;
    }
}

/// Nothing is at the other end any more. What was read of the box stays on screen no longer: another
/// may be plugged in.
pub(in crate::app) fn gone(model: &mut Model) {
    let state = &mut model.the_box;
    if let Some(running) = state.running.take()
        && state.failure.is_none()
    {
        state.failure = Some(Failure {
            job: running.job,
            what: "The port went away in the middle of it.".to_owned(),
            advice:
                "Plug the box in again: it still has what it had, or all of the new. Then do it once more."
                    .to_owned(),
            half_flashed: running.job == Job::Flash,
        });
    }
    super::seat::interrupted(model);
    let state = &mut model.the_box;
    state.presence = Presence::None;
    state.held = Held::Unread;
    state.watching = false;
    state.counters = None;
    state.sending = None;
    state.pending_v = None;
    state.written_at = None;
    model.notices.clear(Topic::Reference);
    model.kept.stale = true;
}
