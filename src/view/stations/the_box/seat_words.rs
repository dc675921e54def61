//! What the seat check says: what is asked for, what the last press came to, how fast gestures are.
//! Draws nothing.

use crate::learn::seat::{SeatPrompt, SeatSession};
use crate::project::{ButtonId, Gesture, Project, SeatOutcome, SeatPress};
use crate::units::count_text;
use crate::view::stations::codes::short;

/// What is asked for.
pub(super) struct Asked {
    pub(super) button: Option<usize>,
    pub(super) instruction: &'static str,
    pub(super) name: String,
}

pub(super) fn prompt(project: &Project, session: &SeatSession) -> Asked {
    let say = |instruction, name: &str| Asked { button: None, instruction, name: name.to_owned() };
    match session.prompt() {
        SeatPrompt::Press(button) => {
            let id = session.buttons().get(button).map(|button| &button.id);
            let found = id.and_then(|id| project.button(id));
            Asked {
                button: found.map(|(index, _)| index),
                instruction: "Press once, any way you like",
                name: id.map_or_else(String::new, |id| name(project, id)),
            }
        }
        SeatPrompt::StartEngine => say("Outdoors, in park or neutral, brake on", "Start the engine"),
        SeatPrompt::Paused => say("Presses don't count meanwhile", "Paused"),
        SeatPrompt::Done => say("The project keeps it", "Done"),
    }
}

/// What a press came to.
pub(super) struct Last {
    pub(super) head: String,
    pub(super) lines: Vec<String>,
}

pub(super) fn last(project: &Project, press: &SeatPress) -> Last {
    let asked = name(project, &press.asked);
    let head = match &press.outcome {
        SeatOutcome::Right => format!("{asked}, right"),
        SeatOutcome::TakenAs(other) => format!("Taken as {}", name(project, other)),
        SeatOutcome::Unnoticed => "Not recognised".to_owned(),
        SeatOutcome::StereoSilent => "The stereo did nothing".to_owned(),
    };
    let mut lines = Vec::new();
    if press.outcome.is_error() {
        lines.push(format!("{asked} was asked for"));
    }
    match (press.count, press.edge_count) {
        (Some(count), Some(edge)) => {
            lines.push(format!("{} counts, {} from its edge", count_text(count, 0), count_text(edge, 0)));
        }
        (Some(count), None) => lines.push(format!("{} counts, in nobody's band", count_text(count, 0))),
        _ => {}
    }
    let sent = press
        .sent
        .as_ref()
        .and_then(|id| project.command(id))
        .map(|command| format!("sent {} {}", command.name, short(&command.code)));
    match (press.latency_ms, sent) {
        (Some(ms), Some(sent)) => lines.push(format!("after {ms} ms, {sent}")),
        (Some(ms), None) => lines.push(format!("after {ms} ms, nothing sent")),
        _ => {}
    }
    Last { head, lines }
}

/// `Recognised after 24 ms, at most 31. Tap after 25 ms, hold after 640 ms.`; empty without any.
pub(super) fn latencies(presses: &[SeatPress]) -> String {
    let recognised: Vec<u16> = presses.iter().filter_map(|press| press.latency_ms).collect();
    let Some(middle) = median(&recognised) else { return String::new() };
    let most = recognised.iter().copied().max().unwrap_or(middle);
    let mut words = format!("Recognised after {middle} ms, at most {most} ms.");
    let gestures = [(Gesture::Tap, "tap"), (Gesture::Hold, "hold"), (Gesture::DoubleTap, "double tap")];
    let told: Vec<String> = gestures
        .into_iter()
        .filter_map(|(gesture, what)| {
            let all: Vec<u16> = presses
                .iter()
                .filter_map(|press| press.gesture)
                .filter(|(is, _)| *is == gesture)
                .map(|(_, ms)| ms)
                .collect();
            median(&all).map(|ms| format!("{what} after {ms} ms"))
        })
        .collect();
    if !told.is_empty() {
        words.push_str(&format!(" In the middle: {}.", told.join(", ")));
    }
    words
}

fn median(all: &[u16]) -> Option<u16> {
    let mut sorted = all.to_vec();
    sorted.sort_unstable();
    sorted.get(sorted.len() / 2).copied()
}

fn name(project: &Project, id: &ButtonId) -> String {
    project.button(id).map_or_else(|| id.0.clone(), |(_, button)| button.name.clone())
}
