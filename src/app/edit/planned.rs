//! Changes of what is planned and metered: parts, output, supply, the meter check, the wires and what was
//! metered on them, and edges moved by hand.

use crate::app::action::Edit;
use crate::project::{ButtonId, MAX_NAME, MAX_NOTE, Project, Range, TwoMetered};
use crate::units::WIRES;
use crate::wheel::{MeterCheck, wire_colours};

use super::EditError;

/// Makes such an edit; any other changes nothing.
pub(super) fn apply(project: &mut Project, edit: &Edit) -> Result<(), EditError> {
    match edit {
        Edit::Parts(parts) => {
            if let Some(wrong) = parts.check().first() {
                return Err(EditError::Part(wrong.clone()));
            }
            project.parts.clone_from(parts);
        }
        Edit::Output(output) => {
            output.check()?;
            project.output.clone_from(output);
        }
        Edit::Supply(supply) => {
            supply.check()?;
            project.supply.clone_from(supply);
        }
        Edit::MeterCheck(check) => {
            check_found(check)?;
            project.wheel.check = (**check).clone();
        }
        Edit::Back(back) => {
            wire_colours(&back.colour)?;
            project.wheel.back.clone_from(back);
        }
        Edit::WireColour(wire, colour) => {
            check_wire(*wire)?;
            wire_colours(colour)?;
            project.wheel.wires.entry(*wire).or_default().colour.clone_from(colour);
        }
        Edit::VehicleNote(note) => {
            check_length(note, MAX_NOTE)?;
            project.vehicle.note.clone_from(note);
        }
        Edit::TappedAt(wire, place) => {
            check_wire(*wire)?;
            check_length(place, MAX_NAME)?;
            project.wheel.wires.entry(*wire).or_default().tapped_at.clone_from(place);
        }
        Edit::TwoMetered(wire, together) => {
            check_wire(*wire)?;
            if let Some(together) = together {
                check_together(project, together)?;
            }
            project.wheel.wires.entry(*wire).or_default().together.clone_from(together);
        }
        Edit::ButtonWire(id, wire) => button_wire(project, id, *wire)?,
        Edit::AddWire => {
            project.wheel.wires.entry(2).or_default();
        }
        Edit::RemoveWire => {
            let on_second: Vec<ButtonId> = project
                .wheel
                .buttons
                .iter()
                .filter(|button| button.wire == Some(2))
                .map(|button| button.id.clone())
                .collect();
            for id in &on_second {
                button_wire(project, id, 1)?;
            }
            project.wheel.wires.remove(&2);
            project.wheel.check.wires.remove(&2);
        }
        Edit::Edges(id, edges) if *edges == Default::default() => {
            project.edges.remove(id);
        }
        Edit::Edges(id, _) if project.button(id).is_none() => {
            return Err(EditError::Gone(format!("Button {}", id.0)));
        }
        Edit::Edges(id, edges) => {
            let put = [edges.low_count, edges.high_count].into_iter().flatten();
            if let Some(count) = put.into_iter().find(|&count| !Range::EDGE_COUNT.holds(f64::from(count))) {
                return Err(EditError::EdgeCount(count));
            }
            project.edges.insert(id.clone(), *edges);
        }
        Edit::LearnedOn(on) => {
            if let Some(volt) = on.and_then(|on| on.feed_v).filter(|&volt| !Range::VOLT.holds(volt)) {
                return Err(EditError::LearnedFeed(volt));
            }
            project.learned_on = *on;
        }
        _ => {}
    }
    Ok(())
}

/// Puts a button on a wire. What two buttons read at once is another wire's then.
fn button_wire(project: &mut Project, id: &ButtonId, wire: u8) -> Result<(), EditError> {
    check_wire(wire)?;
    super::button(project, id)?.wire = Some(wire);
    project.wheel.wires.entry(wire).or_default();
    for (number, info) in &mut project.wheel.wires {
        let names = |together: &TwoMetered| together.buttons.0 == *id || together.buttons.1 == *id;
        if *number != wire && info.together.as_ref().is_some_and(names) {
            info.together = None;
        }
    }
    Ok(())
}

fn check_wire(wire: u8) -> Result<(), EditError> {
    if (1..=WIRES as u8).contains(&wire) { Ok(()) } else { Err(EditError::NoWire(wire)) }
}

fn check_length(text: &str, most: usize) -> Result<(), EditError> {
    let length = text.chars().count();
    if length > most { Err(EditError::LongText { length, most }) } else { Ok(()) }
}

fn check_found(check: &MeterCheck) -> Result<(), EditError> {
    for (&wire, found) in &check.wires {
        check_wire(wire)?;
        super::check_ohm(found.again_ohm)?;
        if let Some(volt) = found.car_v.filter(|&volt| !Range::JACK_V.holds(volt)) {
            return Err(EditError::CarVolt(volt));
        }
    }
    Ok(())
}

fn check_together(project: &Project, together: &TwoMetered) -> Result<(), EditError> {
    let TwoMetered { buttons: (a, b), ohm } = together;
    for id in [a, b] {
        if project.button(id).is_none() {
            return Err(EditError::Gone(format!("Button {}", id.0)));
        }
    }
    if a == b {
        return Err(EditError::Itself(a.0.clone()));
    }
    super::check_ohm(Some(*ohm))
}
