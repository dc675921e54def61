//! What each station's node and its one line of truth say.

use crate::bands::{Grade, Rung};
use crate::device::Job;
use crate::learn::seat::SeatPrompt;
use crate::project::{Gesture, Project};

use super::model::Model;
use super::station::{Progress, RailEntry, Station, question};
use super::the_box::{Held, Presence};

/// The rail for the model as it is.
pub(super) fn rail(model: &Model) -> Vec<RailEntry> {
    let project = model.merged();
    Station::ALL
        .into_iter()
        .map(|station| {
            let (progress, truth) = project
                .and_then(|project| entry(model, project, station))
                .unwrap_or_else(|| (Progress::Idle, question(station).to_owned()));
            RailEntry { station, progress, truth }
        })
        .collect()
}

fn entry(model: &Model, project: &Project, station: Station) -> Option<(Progress, String)> {
    match station {
        Station::Wheel => wheel(model, project),
        Station::Circuit => circuit(model, project),
        Station::Learn => learn(model, project),
        Station::Codes => codes(project),
        Station::Pair => pair(project),
        Station::Box => the_box(model),
        Station::Sheet => None,
    }
}

fn wheel(model: &Model, project: &Project) -> Option<(Progress, String)> {
    let buttons = project.wheel.buttons.len();
    let check = &model.derived.wheel.check;
    if check.verdict.is_stop() {
        return Some((Progress::Broken, "No ladder to read".to_owned()));
    }
    let odd = model.derived.wheel.readings.odd().count();
    if odd > 0 {
        return Some((Progress::Look, counted(odd, "odd meter reading", "odd meter readings")));
    }
    if buttons == 0 && check.done() == 0 {
        return None;
    }
    let words = counted(buttons, "button", "buttons");
    if check.verdict.is_ladder() && buttons > 0 {
        return Some((Progress::Done, format!("A ladder, {words}")));
    }
    Some((Progress::Part(check.done() as f32 / 6.0), format!("{words}, {} of 6 steps", check.done())))
}

fn circuit(model: &Model, project: &Project) -> Option<(Progress, String)> {
    if project.circuit.is_none() {
        return Some((Progress::Idle, "No circuit yet".to_owned()));
    }
    let to_look_at = model.derived.circuit.schematic.to_look_at;
    if to_look_at > 0 {
        let words = match to_look_at {
            1 => "1 thing wants a look".to_owned(),
            several => format!("{several} things want a look"),
        };
        return Some((Progress::Look, words));
    }
    match model.derived.bands.smallest_gap() {
        Some((_, _, gap)) => Some((Progress::Done, format!("Smallest gap {gap:.0} counts"))),
        None => Some((Progress::Part(0.5), "No readings yet".to_owned())),
    }
}

fn learn(model: &Model, project: &Project) -> Option<(Progress, String)> {
    let all = project.wheel.buttons.len();
    if all == 0 {
        return None;
    }
    let learned = project.wheel.buttons.iter().filter(|button| project.is_learned(&button.id)).count();
    let presses: usize = project
        .wheel
        .buttons
        .iter()
        .map(|button| project.press_count(&button.id).min(project.plan.presses as usize))
        .sum();
    if presses == 0 {
        return Some((Progress::Idle, format!("0 of {all} learned")));
    }
    if learned < all {
        let share = presses as f32 / (all as f32 * project.plan.presses as f32);
        return Some((Progress::Part(share), format!("{learned} of {all} learned")));
    }
    let alike = model.derived.bands.buttons.iter().filter(|band| band.verdict.grade() == Grade::Stop).count();
    if alike > 0 {
        return Some((Progress::Look, format!("{alike} can't be told apart")));
    }
    Some((Progress::Done, format!("{all} of {all} learned")))
}

fn codes(project: &Project) -> Option<(Progress, String)> {
    let all = project.stereo.commands.len();
    if all == 0 {
        return None;
    }
    let words = counted(all, "code", "codes");
    let tried = project.stereo.commands.iter().filter(|command| command.tried).count();
    if tried == all {
        return Some((Progress::Done, words));
    }
    Some((Progress::Part(tried as f32 / all as f32), format!("{words}, {} not tried", all - tried)))
}

fn pair(project: &Project) -> Option<(Progress, String)> {
    let all = project.wheel.buttons.len();
    if project.pairs.is_empty() || all == 0 {
        return (all > 0).then(|| (Progress::Idle, "Nothing paired".to_owned()));
    }
    let paired = project
        .wheel
        .buttons
        .iter()
        .filter(|button| {
            project.pairs.iter().any(|pair| {
                pair.button == button.id && pair.gesture == Gesture::Tap && pair.command.is_some()
            })
        })
        .count();
    if paired == all {
        Some((Progress::Done, format!("{all} of {all} paired")))
    } else {
        let share = paired as f32 / all as f32;
        Some((Progress::Part(share), counted(all - paired, "button unpaired", "buttons unpaired")))
    }
}

fn the_box(model: &Model) -> Option<(Progress, String)> {
    if let Some(running) = model.the_box.running {
        let share = if running.of == 0 { 0.0 } else { running.done as f32 / running.of as f32 };
        return Some((Progress::Part(share), busy_with(running.job).to_owned()));
    }
    if let Some(failure) = &model.the_box.failure {
        let broken = if failure.half_flashed { Progress::Broken } else { Progress::Look };
        return Some((broken, "Not done: look here".to_owned()));
    }
    if let Some(session) = &model.the_box.seat.session {
        let (done, of) = (session.presses().len(), session.planned());
        if session.prompt() != SeatPrompt::Done && of > 0 {
            return Some((Progress::Part(done as f32 / of as f32), format!("Seat check {done} of {of}")));
        }
    }
    match (&model.the_box.presence, &model.the_box.held) {
        (Presence::NoProgram { .. }, _) => Some((Progress::Look, "No program in it".to_owned())),
        (Presence::Found(_), Held::Nothing) => Some((Progress::Idle, "Holds nothing yet".to_owned())),
        (Presence::Found(_), Held::Unreadable { .. }) => {
            Some((Progress::Look, "Holds another's image".to_owned()))
        }
        (Presence::Found(_), Held::Image { .. }) => {
            let derived = &model.derived.the_box;
            if derived.is_same() {
                Some((Progress::Done, "Same as the project".to_owned()))
            } else if derived.rows.is_empty() {
                Some((Progress::Look, "Project doesn't fit yet".to_owned()))
            } else {
                Some((Progress::Look, "Differs from project".to_owned()))
            }
        }
        _ => None,
    }
}

/// What a job is called while it runs.
const fn busy_with(job: Job) -> &'static str {
    match job {
        Job::Write => "Being written",
        Job::Flash => "Being flashed",
        Job::Restart => "Starting anew",
        _ => "Being read",
    }
}

fn counted(number: usize, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}

/// A rung's name, for words about bands.
#[must_use]
pub fn rung_name(project: &Project, rung: Rung) -> String {
    match rung {
        Rung::Button(index) => project
            .wheel
            .buttons
            .get(index)
            .map_or_else(|| "a button".to_owned(), |button| button.name.clone()),
        Rung::Rest(_) => "Rest".to_owned(),
    }
}
