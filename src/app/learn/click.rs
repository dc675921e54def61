//! Click: a stretch dragged over the trace, snapped to its settled part, taken for a button.

use crate::bands::{Press, Rung, Touch};
use crate::learn::{Owner, Refusal, trace_around};
use crate::project::{ButtonId, MAX_PRESSES, Project};
use crate::signal::{NotSettled, Settling, Stretch, settled_part};
use crate::units::count_text;

use super::super::action::{Action, LearnAction};
use super::super::model::Model;
use super::super::notice::{Level, Notice, Topic};
use super::super::station::Station;
use super::{Mark, mark};

/// A stretch dragged by hand.
#[derive(Clone, Debug, PartialEq)]
pub struct Picked {
    /// From 0.
    pub wire: usize,
    /// Where the drag began, in the recording's time.
    pub from_ms: f64,
    /// Where it ended.
    pub to_ms: f64,
    /// How many readings it holds.
    pub readings: u32,
    /// Its settled part, or why there is none.
    pub settled: Result<Stretch, NotSettled>,
    /// What the wire read at rest before it, in counts, where it did.
    pub rest_count: Option<f64>,
}

/// How far around a click a settled stretch is looked for, in milliseconds.
const PICK_MS: f64 = 1_500.0;

/// How far before a stretch its rest is looked for, in milliseconds.
const REST_MS: f64 = 3_000.0;

/// The next button that still wants presses.
pub(super) fn choose_next(model: &mut Model) {
    let next = model.project().and_then(|project| {
        let mut buttons = project.wheel.buttons.iter();
        let wanting = buttons.clone().find(|button| !project.is_learned(&button.id));
        wanting.or_else(|| buttons.next()).map(|button| button.id.clone())
    });
    model.learn.chosen = next;
}

/// A stretch was dragged.
pub(super) fn drag(model: &mut Model, wire: usize, from_ms: f64, to_ms: f64) {
    if !from_ms.is_finite() || !to_ms.is_finite() {
        return;
    }
    let (from_ms, to_ms) = (from_ms.min(to_ms), from_ms.max(to_ms));
    let settled = settled_between(model, wire, from_ms, to_ms);
    let readings = on_wire(model, wire, from_ms, to_ms).count() as u32;
    let rest_count = rest_before(model, wire, from_ms);
    model.notices.clear(Topic::Refused);
    model.learn.picked = Some(Picked { wire, from_ms, to_ms, readings, settled, rest_count });
}

/// Clicked: the settled stretch that holds this time, as far as it goes.
pub(super) fn pick(model: &mut Model, wire: usize, at_ms: f64) {
    let Ok(there) = settled_between(model, wire, at_ms - PICK_MS * 0.2, at_ms + PICK_MS * 0.2)
        .or_else(|_| settled_between(model, wire, at_ms - PICK_MS, at_ms + PICK_MS))
    else {
        drag(model, wire, at_ms - PICK_MS, at_ms + PICK_MS);
        return;
    };
    // Outward from the click while the wire stays on that rung.
    let width = 6.0_f64.max(6.0 * there.spread_count);
    let stays = |count: f64| (count - there.median_count).abs() <= width;
    let before = on_wire(model, wire, at_ms - 20.0 * PICK_MS, at_ms)
        .filter(|&(_, count)| !stays(count))
        .last()
        .map_or(at_ms - 20.0 * PICK_MS, |(t_ms, _)| t_ms);
    let after = on_wire(model, wire, at_ms, at_ms + 20.0 * PICK_MS)
        .find(|&(_, count)| !stays(count))
        .map_or(at_ms + 20.0 * PICK_MS, |(t_ms, _)| t_ms);
    let first = model.recording.first_t_ms().unwrap_or(before);
    let last = model.recording.last_t_ms().unwrap_or(after);
    drag(model, wire, before.max(first), after.min(last));
}

/// Takes the stretch for the chosen button, or for another.
pub(super) fn take(model: &mut Model, other: Option<ButtonId>) {
    let given = other.is_some();
    let Some(id) = other.or_else(|| model.learn.chosen.clone()) else {
        refuse(model, "No button chosen.", "Choose which button this press is, then take it.", None);
        return;
    };
    let name = model.button_name(&id);
    if model.project().is_some_and(|project| presses_of(project, &id) >= MAX_PRESSES) {
        let body = format!("It has {MAX_PRESSES} presses, the most a file holds. Forget its last first.");
        refuse(model, &format!("Not taken for {name}."), &body, None);
        return;
    }
    let Some(picked) = model.learn.picked.clone() else {
        refuse(model, "Nothing picked.", "Drag over a press on the trace first, or click on it.", None);
        return;
    };
    let stretch = match picked.settled {
        Ok(stretch) => stretch,
        Err(why) => {
            refuse(model, &format!("Not taken for {name}."), &Refusal::from(why).text(), None);
            return;
        }
    };
    let count = count_text(stretch.median_count, 0);
    if let Some(landed) = landed_on(model, &id, picked.wire, stretch.median_count) {
        let body = match &landed {
            Landed::Rest { low, high } => {
                format!(
                    "It settled at {count}, where the wire rests, {low} to {high}. Press {name} and drag over the press."
                )
            }
            Landed::Other { name: other, low, high, .. } => {
                format!("It settled at {count}, on {other}'s rung, {low} to {high}. Press {name} again.")
            }
            Landed::Apart { own } => {
                format!(
                    "It settled at {count}, its earlier presses at {own}. Press {name} again, or forget those."
                )
            }
            Landed::OtherWire { wire } => {
                format!("This press is on the other wire; {name} was learned on wire {wire}.")
            }
        };
        let action = match landed {
            Landed::Other { id: other, name, .. } if !given => {
                Some((format!("Take for {name}"), Action::Learn(LearnAction::Take(Some(other)))))
            }
            _ => None,
        };
        mark(
            model,
            Mark {
                wire: picked.wire,
                from_ms: stretch.from_ms,
                to_ms: stretch.to_ms,
                count: stretch.median_count,
                button: id,
                refused: true,
            },
        );
        refuse(model, &format!("Not taken for {name}."), &body, action);
        return;
    }
    take_stretch(model, &id, picked.wire, &stretch);
}

fn presses_of(project: &Project, id: &ButtonId) -> usize {
    project.learned.get(id).map_or(0, |learned| learned.presses.len())
}

fn take_stretch(model: &mut Model, id: &ButtonId, wire: usize, stretch: &Stretch) {
    let press = Press {
        median_count: stretch.median_count,
        spread_count: stretch.spread_count,
        readings: stretch.readings,
        touch: Touch::Picked,
        tally: super::session::tally(model, wire, stretch.from_ms, stretch.to_ms),
    };
    let rest = rest_of(model, wire, stretch.from_ms);
    let owner = Owner { button: id, wire: wire as u8 + 1, touch: Touch::Picked };
    let trace = rest.and_then(|rest| trace_around(&model.recording, stretch, rest, owner));
    if let Some(document) = &mut model.document {
        let id = id.clone();
        document.change(None, |project| {
            project.learned.entry(id.clone()).or_default().presses.push(press);
            if let Some(trace) = trace {
                project.add_trace(&id, trace);
            }
            if let Some(button) = project.wheel.buttons.iter_mut().find(|button| button.id == id) {
                button.wire = Some(wire as u8 + 1);
            }
        });
    }
    model.kept.learned_since_open.insert(id.clone());
    mark(
        model,
        Mark {
            wire,
            from_ms: stretch.from_ms,
            to_ms: stretch.to_ms,
            count: stretch.median_count,
            button: id.clone(),
            refused: false,
        },
    );
    learn_rest(model, wire, stretch);
    model.learn.picked = None;
    super::follow_again(model);
    model.notices.clear(Topic::Refused);
    let done = model.project().is_some_and(|project| project.is_learned(id));
    if done {
        choose_next(model);
    } else {
        model.learn.chosen = Some(id.clone());
    }
}

/// The wire's rest, from before the press, where it isn't known yet.
fn learn_rest(model: &mut Model, wire: usize, press: &Stretch) {
    let number = wire as u8 + 1;
    if model.project().is_none_or(|project| project.rests.contains_key(&number)) {
        return;
    }
    let Some(rest) = rest_stretch(model, wire, press.from_ms) else { return };
    if (rest.median_count - press.median_count).abs() < 3.0 {
        return;
    }
    if let Some(document) = &mut model.document {
        document.change(Some("rest by hand"), |project| {
            project.rests.insert(
                number,
                crate::bands::RestLevel {
                    median_count: rest.median_count,
                    spread_count: rest.spread_count,
                    readings: rest.readings,
                },
            );
        });
    }
}

/// Where a stretch landed that isn't the button's own place.
enum Landed {
    Rest { low: String, high: String },
    Other { id: ButtonId, name: String, low: String, high: String },
    Apart { own: String },
    OtherWire { wire: u8 },
}

/// How far a press may lie from its button's earlier ones before it is held to be another's, in
/// counts: more than a light touch or wear moves a contact.
const APART_COUNT: f64 = 12.0;

fn landed_on(model: &Model, id: &ButtonId, wire: usize, count: f64) -> Option<Landed> {
    let project = model.project()?;
    let bands = &model.derived.bands;
    let number = wire as u8 + 1;
    let (index, button) = project.button(id)?;
    let own = project.learned.get(id).map(|learned| learned.presses.as_slice()).unwrap_or_default();
    if let (Some(wire), false) = (button.wire.filter(|&own| own != number), own.is_empty()) {
        return Some(Landed::OtherWire { wire });
    }
    let edges = |rung| {
        let band = bands.band(rung)?;
        let text = |count| count_text(count, 0);
        Some(match band.accept {
            Some(accept) => (text(f64::from(accept.low_count)), text(f64::from(accept.high_count))),
            None => (text(band.tolerance_low_count), text(band.tolerance_high_count)),
        })
    };
    match bands.same_rung(number, count).filter(|&rung| rung != Rung::Button(index)) {
        Some(rung @ Rung::Rest(_)) => {
            let (low, high) = edges(rung)?;
            return Some(Landed::Rest { low, high });
        }
        Some(rung @ Rung::Button(other)) => {
            let (low, high) = edges(rung)?;
            let other = project.wheel.buttons.get(other)?;
            return Some(Landed::Other { id: other.id.clone(), name: other.name.clone(), low, high });
        }
        None => {}
    }
    let first = own.first()?;
    let reach = bands
        .band(Rung::Button(index))
        .map_or(APART_COUNT, |band| (band.centre_count - band.tolerance_low_count).max(APART_COUNT));
    ((count - first.median_count).abs() > 2.0 * reach)
        .then(|| Landed::Apart { own: count_text(first.median_count, 0) })
}

fn refuse(model: &mut Model, head: &str, body: &str, action: Option<(String, Action)>) {
    let mut notice = Notice::new(Topic::Refused, Level::Stop, head, body).at(Station::Learn);
    notice.action = action;
    model.notices.show(notice);
}

/// The settled part of a stretch, a press rather than the rest beside it.
fn settled_between(model: &Model, wire: usize, from_ms: f64, to_ms: f64) -> Result<Stretch, NotSettled> {
    let rest = rest_of(model, wire, from_ms);
    let is_rest = |count: f64| rest.is_some_and(|(rest, reach)| (count - rest).abs() <= reach);
    settled_part(on_wire(model, wire, from_ms, to_ms), &Settling::default(), is_rest)
}

/// What the wire reads at rest and how far a reading may be from it: as learned, or as before.
fn rest_of(model: &Model, wire: usize, before_ms: f64) -> Option<(f64, f64)> {
    let learned = model.derived.bands.band(Rung::Rest(wire as u8 + 1)).filter(|band| band.measured);
    let (rest, sigma) = match learned {
        Some(band) => (band.centre_count, band.sigma_count),
        None => rest_stretch(model, wire, before_ms).map(|rest| (rest.median_count, rest.spread_count))?,
    };
    Some((rest, (REST_SIGMA * sigma).max(REST_COUNT)))
}

/// A settled reading this near rest is rest: in standard deviations of its noise, and in counts.
const REST_SIGMA: f64 = 4.0;
const REST_COUNT: f64 = 4.0;

/// One wire's readings in a stretch of the recording.
pub(super) fn on_wire(
    model: &Model,
    wire: usize,
    from_ms: f64,
    to_ms: f64,
) -> impl Iterator<Item = (f64, f64)> + '_ {
    model
        .recording
        .between(from_ms, to_ms)
        .filter_map(move |reading| Some((reading.t_ms, reading.wire.get(wire)?.count()?)))
}

fn rest_stretch(model: &Model, wire: usize, before_ms: f64) -> Option<Stretch> {
    let before = on_wire(model, wire, before_ms - REST_MS, before_ms - 1.0);
    settled_part(before, &Settling::default(), |_| true).ok()
}

/// What the wire read at rest just before: near what was learned where that is known, for a press
/// may have been let go only just before.
fn rest_before(model: &Model, wire: usize, before_ms: f64) -> Option<f64> {
    let (rest, reach) = rest_of(model, wire, before_ms)?;
    let is_off = |count: f64| (count - rest).abs() > reach;
    let before = on_wire(model, wire, before_ms - REST_MS, before_ms - 1.0);
    let found = settled_part(before, &Settling::default(), is_off).ok()?;
    (!is_off(found.median_count)).then_some(found.median_count)
}
