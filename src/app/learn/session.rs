//! The prompted session: what it says goes into the project, onto the trace and into notices.

use std::collections::BTreeMap;

use crate::bands::Press;
use crate::demo::{HandMove, Person, demo_van};
use crate::learn::{ButtonResult, Command, Event, Phase as Asked, PressState, Session, Setup};
use crate::link::DemoTouch;
use crate::project::{ButtonId, LearnedButton, Project};
use crate::signal::Reading;
use crate::units::count_text;

use super::super::effect::Effect;
use super::super::link::{Phase, demo_touch};
use super::super::model::Model;
use super::super::notice::{Level, Notice, Topic};
use super::super::station::Station;
use super::{Mark, click, link_is_up, mark};

/// Starts the session, for all buttons that still want presses or for one.
pub(super) fn start(model: &mut Model, only: Option<ButtonId>) -> Vec<Effect> {
    let Some(project) = model.project() else { return Vec::new() };
    if !link_is_up(model) {
        let (head, body) = match model.link.phase {
            Phase::Opening(_) => {
                ("Still connecting.", "Start again when readings come: finding a rate takes seconds.")
            }
            _ => ("Nothing is connected.", "Connect the box or a probe first: click the link at the top."),
        };
        model.notices.show(Notice::new(Topic::Link, Level::Caution, head, body).at(Station::Learn));
        return Vec::new();
    }
    let all = project.wheel.buttons.iter().map(|button| button.id.clone());
    let wanting: Vec<_> = all
        .clone()
        .filter(|id| only.as_ref().map_or_else(|| !project.is_learned(id), |only| only == id))
        .collect();
    // All are learned and one asks again: then all are learned anew.
    let asked: Vec<_> = if wanting.is_empty() { all.collect() } else { wanting };
    if asked.is_empty() {
        return Vec::new();
    }
    let setup = Setup::for_project(project, &asked).with_bands(project, &model.derived.bands);
    model.learn.recheck = None;
    model.learn.session = Some(Session::new(setup));
    model.learn.tallies.clear();
    model.learn.picked = None;
    model.notices.clear(Topic::Refused);
    model.notices.clear(Topic::Rest);
    model.kept.stale = true;
    Vec::new()
}

/// Something for the running session.
pub(super) fn command(model: &mut Model, command: Command) -> Vec<Effect> {
    let mut events = Vec::new();
    let stop = command == Command::Stop;
    if let Some(session) = &mut model.learn.session {
        session.command(command, &mut events);
    }
    take_events(model, events);
    if stop {
        model.learn.hand = None;
        model.learn.session = None;
        model.kept.stale = true;
    }
    Vec::new()
}

/// Whether the demo's hand presses what is asked.
pub(super) fn hand(model: &mut Model, on: bool) -> Vec<Effect> {
    let on = on && model.link.is_demo();
    let was = model.learn.hand.take().is_some();
    if on {
        model.learn.hand = Some(Person::new(20_081));
        return Vec::new();
    }
    if was { vec![demo_touch(DemoTouch::Release)] } else { Vec::new() }
}

/// New readings for the session.
pub(super) fn readings(model: &mut Model, readings: &[Reading]) -> Vec<Effect> {
    let mut events = Vec::new();
    if let Some(session) = &mut model.learn.session {
        session.take(readings, &mut events);
    }
    if !events.is_empty() {
        take_events(model, events);
    }
    show_moving_wire(model, readings);
    move_hand(model, readings)
}

/// How far a wire is from rest when it is the one to look at, in counts.
const MOVED_COUNT: f64 = 12.0;

/// While prompted, the trace shows the wire that a press moves.
fn show_moving_wire(model: &mut Model, readings: &[Reading]) {
    let (Some(session), Some(last)) = (&model.learn.session, readings.last()) else { return };
    let rests = session.rests();
    let away = |wire: usize| {
        let rest = rests.get(&(wire as u8 + 1))?;
        Some((last.wire.get(wire)?.count()? - rest.median_count).abs() > MOVED_COUNT)
    };
    let shown = model.learn.wire;
    if away(shown) == Some(false)
        && let Some(other) = (0..crate::units::WIRES).find(|&wire| wire != shown && away(wire) == Some(true))
    {
        model.learn.wire = other;
    }
}

/// Which of the demo wheel's buttons each button of the project is: the one of its id, wherever it
/// stands in the list; what the demo doesn't know takes a button that is left over.
#[must_use]
pub fn demo_places(project: &Project) -> Vec<Option<usize>> {
    let ids: Vec<_> =
        demo_van().buttons.iter().map(|button| button.name.to_lowercase().replace(' ', "_")).collect();
    let buttons = &project.wheel.buttons;
    let mut places: Vec<_> =
        buttons.iter().map(|button| ids.iter().position(|id| *id == button.id.0)).collect();
    let taken = places.clone();
    let mut free = (0..ids.len()).filter(|place| !taken.contains(&Some(*place)));
    for place in places.iter_mut().filter(|place| place.is_none()) {
        *place = free.next();
    }
    places
}

/// The demo's hand does what the session asks.
pub(super) fn move_hand(model: &mut Model, readings: &[Reading]) -> Vec<Effect> {
    let (Some(last), true) = (readings.last(), model.learn.hand.is_some()) else { return Vec::new() };
    let running = model.learn.recheck.as_ref().or(model.learn.session.as_ref());
    let wanted = running.and_then(|session| match session.prompt().phase {
        Asked::Press { button, touch, state: PressState::Waiting | PressState::Refused { .. }, .. } => {
            Some((button, touch))
        }
        _ => None,
    });
    let place = wanted.and_then(|(id, touch)| {
        let project = model.project()?;
        let (index, _) = project.button(&id)?;
        Some(((*demo_places(project).get(index)?)?, touch))
    });
    let Some(person) = &mut model.learn.hand else { return Vec::new() };
    match person.step(last.t_ms, place) {
        Some(HandMove::Press { button, touch }) => vec![demo_touch(DemoTouch::Press { button, touch })],
        Some(HandMove::Release) => vec![demo_touch(DemoTouch::Release)],
        None => Vec::new(),
    }
}

fn take_events(model: &mut Model, events: Vec<Event>) {
    for event in events {
        take_event(model, event);
        model.kept.stale = true;
    }
}

fn take_event(model: &mut Model, event: Event) {
    match event {
        Event::Pressed { button, press, taken, from_ms, to_ms, wire } => {
            model.notices.clear(Topic::Refused);
            let wire = wire_index(wire);
            model.learn.wire = wire;
            let tally = tally(model, wire, from_ms, to_ms);
            let tallies = model.learn.tallies.entry(button.clone()).or_default();
            tallies.truncate(press.saturating_sub(1) as usize);
            tallies.push(tally);
            let count = taken.median_count;
            mark(model, Mark { wire, from_ms, to_ms, count, button, refused: false });
        }
        Event::Refused { button, reason, from_ms, to_ms, wire } => {
            if let Some(count) = reason.count() {
                let wire = wire_index(wire);
                mark(model, Mark { wire, from_ms, to_ms, count, button, refused: true });
            }
        }
        Event::Learned { button } | Event::Dropped { button } => keep(model, &button),
        Event::RestMoved { wire, was, is } => {
            let (was, is) = (count_text(was.median_count, 1), count_text(is.median_count, 1));
            model.notices.show(
                Notice::new(
                    Topic::Rest,
                    Level::Caution,
                    format!("Rest moved on wire {wire}."),
                    format!(
                        "It was {was} counts and is {is}. Check the ground and the feed, then learn again."
                    ),
                )
                .at(Station::Learn),
            );
        }
        Event::Done { .. } => {
            keep_rests(model);
            model.learn.hand = None;
        }
        Event::Rest { .. }
        | Event::Prompt { .. }
        | Event::Near { .. }
        | Event::Offer { .. }
        | Event::Skipped { .. }
        | Event::Stopped => {}
    }
}

fn wire_index(wire: u8) -> usize {
    usize::from(wire.saturating_sub(1)).min(crate::units::WIRES - 1)
}

/// A button has all its presses, or lost some: the project follows, as one step of undo.
fn keep(model: &mut Model, id: &ButtonId) {
    let Some(session) = &model.learn.session else { return };
    let Some(result) = session.results().iter().find(|result| result.id == *id) else { return };
    let is_whole = result.presses.len() >= session.setup().presses as usize;
    if !is_whole && !model.project().is_some_and(|project| project.learned.contains_key(id)) {
        return;
    }
    let learned = learned_of(model, result);
    let wire = result.wire;
    let traces = result.traces.clone();
    let rests = session.rests();
    let feed_v = super::bands::measured_feed_v(model);
    if let Some(document) = &mut model.document {
        document.change(None, |project| {
            super::bands::keep_feed(project, feed_v);
            // What was re-checked was held against other presses.
            if let Some(recheck) = &mut project.rechecked {
                recheck.presses.remove(id);
            }
            project.rechecked = project.rechecked.take().filter(|recheck| !recheck.presses.is_empty());
            if learned.presses.is_empty() {
                project.learned.remove(id);
            } else {
                project.learned.insert(id.clone(), learned);
            }
            project.put_traces(id, traces);
            put_wire(project, id, wire);
            project.rests.extend(rests);
        });
    }
    model.kept.learned_since_open.insert(id.clone());
}

fn put_wire(project: &mut Project, id: &ButtonId, wire: Option<u8>) {
    let button = project.wheel.buttons.iter_mut().find(|button| button.id == *id);
    if let (Some(wire), Some(button)) = (wire, button) {
        button.wire = Some(wire);
    }
}

fn keep_rests(model: &mut Model) {
    let Some(session) = &model.learn.session else { return };
    let rests = session.rests();
    if let Some(document) = &mut model.document {
        document.change(None, |project| project.rests.extend(rests));
    }
}

/// A result as the project keeps it: each press with its readings counted, where that was done.
fn learned_of(model: &Model, result: &ButtonResult) -> LearnedButton {
    let tallies = model.learn.tallies.get(&result.id);
    let presses = result.presses.iter().enumerate().map(|(number, press)| {
        let tally = tallies.and_then(|tallies| tallies.get(number)).cloned().unwrap_or_default();
        Press { tally, ..press.clone() }
    });
    LearnedButton { presses: presses.collect(), indistinct_from: result.indistinct_from.clone() }
}

/// How many readings of a stretch fell on each whole count, for drawing them as they were.
pub(super) fn tally(model: &Model, wire: usize, from_ms: f64, to_ms: f64) -> Vec<(u16, u32)> {
    let mut tally = BTreeMap::new();
    for (_, count) in click::on_wire(model, wire, from_ms, to_ms) {
        *tally.entry(count as u16).or_insert(0_u32) += 1;
    }
    // A spike inside the stretch is no part of the rung.
    let total: u32 = tally.values().sum();
    tally.retain(|_, readings| *readings * 500 >= total);
    tally.into_iter().collect()
}

/// The project with what the running session has so far.
pub(in crate::app) fn merged(model: &Model) -> Option<Project> {
    let session = model.learn.session.as_ref()?;
    let mut project = model.project()?.clone();
    for result in session.results().iter().filter(|result| !result.presses.is_empty()) {
        project.learned.insert(result.id.clone(), learned_of(model, result));
        project.put_traces(&result.id, result.traces.iter().cloned());
        put_wire(&mut project, &result.id, result.wire);
    }
    project.rests.extend(session.rests());
    Some(project)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::demo::demo_project;
    use crate::project::Button;

    #[test]
    fn a_button_of_the_demo_stays_itself_when_the_list_changes() {
        let mut project = demo_project();
        let first = project.wheel.buttons.remove(0);
        assert_eq!(demo_places(&project), (1..7).map(Some).collect::<Vec<_>>());
        project.wheel.buttons.push(Button::default());
        project.wheel.buttons.push(Button::default());
        assert_eq!(demo_places(&project)[5..], [Some(6), Some(0), None]);
        project.wheel.buttons.insert(3, first);
        assert_eq!(demo_places(&project)[3], Some(0));
    }
}
