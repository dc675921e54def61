//! What pairing left open: buttons that send nothing, commands nobody sends, commands sent twice.
//! Knows no readings.

use super::{Finding, Level, Station, called, listed};
use crate::project::{Button, ButtonId, Command, Gesture, Pair, Project};

pub(super) fn look(project: &Project, found: &mut Vec<Finding>) {
    for button in &project.wheel.buttons {
        look_at_button(project, button, found);
    }
    for command in &project.stereo.commands {
        look_at_command(project, command, found);
    }
    look_at_unsent(project, found);
}

/// Commands that no button sends: each by itself, or in one sentence where a list brought many.
fn look_at_unsent(project: &Project, found: &mut Vec<Finding>) {
    const MANY: usize = 12;
    let is_sent =
        |command: &&Command| project.pairs.iter().any(|pair| pair.command.as_ref() == Some(&command.id));
    let unsent: Vec<&Command> = project.stereo.commands.iter().filter(|command| !is_sent(command)).collect();
    let mut say = |where_: String, names: &[&str]| {
        found.push(Finding::new(
            Level::Note,
            Station::Pair,
            where_,
            format!("No button sends {}.", listed(names)),
            "Pair it with a gesture, or leave it to the hand-held remote.",
        ));
    };
    if unsent.len() > MANY {
        let names: Vec<&str> = unsent.iter().map(|command| called(&command.name, &command.id.0)).collect();
        say("stereo.commands".to_owned(), &names);
        return;
    }
    for command in unsent {
        say(format!("stereo.commands.{}", command.id.0), &[called(&command.name, &command.id.0)]);
    }
}

fn look_at_button(project: &Project, button: &Button, found: &mut Vec<Finding>) {
    let id = &button.id.0;
    let name = called(&button.name, id);
    let pairs: Vec<&Pair> = project.pairs.iter().filter(|pair| pair.button == button.id).collect();
    if !pairs.iter().any(|pair| pair.gesture == Gesture::Tap) {
        found.push(Finding::new(
            Level::Caution,
            Station::Pair,
            format!("pairs.{id}"),
            format!("{name} is not paired: a tap of it sends nothing."),
            "Choose the command that a tap sends.",
        ));
    }
    for pair in pairs.iter().filter(|pair| pair.command.is_none()) {
        found.push(Finding::new(
            Level::Caution,
            Station::Pair,
            format!("pairs.{id}.{}", gesture_id(pair.gesture)),
            format!("{} of {name} goes nowhere: no command is chosen.", gesture_text(pair.gesture)),
            "Choose its command, or remove the gesture.",
        ));
    }
}

fn look_at_command(project: &Project, command: &Command, found: &mut Vec<Finding>) {
    let id = &command.id.0;
    let name = called(&command.name, id);
    let pairs = project.pairs.iter().filter(|pair| pair.command.as_ref() == Some(&command.id));
    let pairs: Vec<&Pair> = pairs.collect();
    let buttons: Vec<&ButtonId> = pairs.iter().map(|pair| &pair.button).collect();
    // A tap that sends once and a hold that goes on sending is how a volume button is meant.
    let goes_on = pairs.iter().any(|pair| pair.gesture == Gesture::Hold && pair.repeats);
    let mut senders: Vec<&str> = Vec::new();
    for button in &project.wheel.buttons {
        if buttons.contains(&&button.id) {
            senders.push(called(&button.name, &button.id.0));
        }
    }
    let (level, what, do_) = match senders.as_slice() {
        [] => return,
        [one] if buttons.len() > 1 && !(goes_on && buttons.len() == 2) => (
            Level::Note,
            format!("{} gestures of {one} send {name}.", buttons.len()),
            "Keep one of them if that isn't meant.",
        ),
        [_] => return,
        several => (
            Level::Caution,
            format!("{name} is sent by {} buttons: {}.", several.len(), listed(several)),
            "Pair each with a command of its own if that isn't meant.",
        ),
    };
    found.push(Finding::new(level, Station::Pair, format!("stereo.commands.{id}"), what, do_));
}

/// A gesture at the start of a sentence.
const fn gesture_text(gesture: Gesture) -> &'static str {
    match gesture {
        Gesture::Tap => "A tap",
        Gesture::Hold => "A hold",
        Gesture::DoubleTap => "A double tap",
    }
}

/// A gesture as the file has it.
const fn gesture_id(gesture: Gesture) -> &'static str {
    match gesture {
        Gesture::Tap => "tap",
        Gesture::Hold => "hold",
        Gesture::DoubleTap => "double_tap",
    }
}
