//! Two buttons at once that read as a third: the one fault the box cannot see. Knows no gestures and no
//! presses.

use super::{Finding, Level, Station, called, listed};
use crate::project::{Harm, Project, TwoButtons, bands, together};

/// What helps: the box reads one number, so it can't.
const ADVICE: &str = "The box can't know the two from that button. Give the button a hold or a double tap instead of a \
     tap, learn the two pressed together as a button of its own, or choose a sense resistor that parts them.";

pub(super) fn look(project: &Project, found: &mut Vec<Finding>) {
    // What is missing for it is another finding's.
    let Ok(told) = together(project, &bands(project)) else { return };
    for (index, button) in project.wheel.buttons.iter().enumerate() {
        let taken = |harm: Harm| {
            told.pairs.iter().filter(move |pair| pair.harm() == harm && pair.third() == Some(index))
        };
        let pairs: Vec<&TwoButtons> = taken(Harm::Mistaken).chain(taken(Harm::MayBeMistaken)).collect();
        let Some(first) = pairs.first() else { continue };
        let mut what = first.text(project);
        if pairs.len() > 1 {
            let more: Vec<String> = pairs[1..].iter().map(|pair| both(project, pair)).collect();
            let more: Vec<&str> = more.iter().map(String::as_str).collect();
            what += &format!(" So do, or may, {}.", listed(&more));
        }
        found.push(Finding::new(
            Level::Caution,
            Station::Circuit,
            format!("circuit.together.{}", button.id.0),
            what,
            ADVICE,
        ));
    }
}

/// `Up with Down`.
fn both(project: &Project, pair: &TwoButtons) -> String {
    let names = pair.buttons.map(|index| {
        project.wheel.buttons.get(index).map_or("", |button| called(&button.name, &button.id.0))
    });
    names.join(" with ")
}
