//! What the stereo's commands leave open: none at all, one that can't be sent, two with one code,
//! none tried; and, in `jack`, the input they go to. Knows no families: whether a code fits its family is for the room `remote` to say.

mod jack;

use super::{Finding, Level, Station, called, listed};
use crate::project::{Command, Project};
use crate::remote::encode;

pub(super) fn look(project: &Project, found: &mut Vec<Finding>) {
    jack::look(&project.stereo.jack, &project.output.stage(), found);
    let commands = &project.stereo.commands;
    let mut say = |level, station, where_: &str, what: String, do_: &str| {
        found.push(Finding::new(level, station, where_, what, do_));
    };
    if commands.is_empty() {
        say(
            Level::Caution,
            Station::Codes,
            "stereo.commands",
            "The stereo has no commands: there is nothing for a button to send.".to_owned(),
            "Type a code in, or capture one from the hand-held remote.",
        );
    }
    for command in commands {
        if let Err(error) = encode(&command.code, false) {
            let name = called(&command.name, &command.id.0);
            say(
                Level::Error,
                Station::Codes,
                &format!("stereo.commands.{}", command.id.0),
                format!("{name} can't be sent. {error}"),
                "Type its code again.",
            );
        }
    }
    for (index, command) in commands.iter().enumerate() {
        let before: &[Command] = commands.get(..index).unwrap_or_default();
        if let Some(first) = before.iter().find(|other| other.code == command.code) {
            let (name, other) = (called(&command.name, &command.id.0), called(&first.name, &first.id.0));
            say(
                Level::Caution,
                Station::Codes,
                &format!("stereo.commands.{}", command.id.0),
                format!("{name} has the same code as {other}: the stereo does the same for both."),
                "Check both against where they came from.",
            );
        }
    }
    let untried: Vec<&str> = commands
        .iter()
        .filter(|command| !command.tried)
        .map(|command| called(&command.name, &command.id.0))
        .collect();
    if !untried.is_empty() {
        say(
            Level::Note,
            Station::Codes,
            "stereo.commands",
            format!("The stereo wasn't yet seen to obey {}.", listed(&untried)),
            "Try each on the stereo, parked and with the brake on.",
        );
    }
}
