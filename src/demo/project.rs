//! The demo vehicle as a project: met by the meter, nothing learned, nothing paired. Knows no
//! file.

use std::collections::BTreeMap;

use super::wheel::{demo_circuit, demo_van};
use crate::circuit::{Jack, JackContact, JackWants};
use crate::project::{Button, ButtonId, Command, CommandId, Project, ReturnWire, WireInfo};
use crate::remote::{Code, FamilyId, Origin};
use crate::wheel::{Differ, MeterCheck, ToChassis, Topology, WireCheck};

/// The stereo's address in family `nec`.
const ADDRESS: u32 = 0x59;

/// What a meter showed for each button, in ohms: the wheel's own resistance, a contact, and the
/// meter's error.
const METER_OHM: [f64; 7] = [84.0, 265.0, 536.0, 920.0, 1_168.0, 2_170.0, 4_880.0];

/// What a meter showed with no button pressed, in ohms.
const METER_REST_OHM: f64 = 14_900.0;

/// What a meter showed at the stereo's remote input: 5 V logic behind some 10 kΩ, at the tip.
const JACK: Jack = Jack {
    contact: Some(JackContact::Tip),
    grounded: Some(true),
    idle_v: Some(4.97),
    idle_moves: false,
    loaded_a: Some(0.000_45),
    loaded_v: None,
    wants: Some(JackWants::Pulses),
};

/// The stereo's commands, with their numbers.
const COMMANDS: [(&str, &str, u32); 10] = [
    ("volume_up", "Volume up", 0x16),
    ("volume_down", "Volume down", 0x17),
    ("next_track", "Next track", 0x1B),
    ("previous_track", "Previous track", 0x1A),
    ("source", "Source", 0x05),
    ("answer_call", "Answer call", 0x22),
    ("end_call", "End call", 0x23),
    ("mute", "Mute", 0x0C),
    ("play_pause", "Play, pause", 0x20),
    ("preset_up", "Preset up", 0x2D),
];

/// What the meter found before anything was connected: a ladder, whose wire a module of the van pulls up.
fn meter_check() -> MeterCheck {
    let wire = WireCheck {
        chassis: Some(ToChassis::Open),
        car_v: Some(4.9),
        again_ohm: Some(METER_REST_OHM),
        ..WireCheck::default()
    };
    MeterCheck {
        ready: true,
        wires: BTreeMap::from([(1, wire)]),
        steady: Some(true),
        differ: Some(Differ::All),
    }
}

/// The demo vehicle, ready to be learned. Its buttons stand in the order of
/// [`demo_van`](super::demo_van).
#[must_use]
pub fn demo_project() -> Project {
    let mut project = Project::new("Brindle Linnet 2008", "Tarn R40");
    project.vehicle.note =
        "The demo: a mobile library's van. Vehicle, stereo, ohms and codes are invented.".to_owned();
    project.circuit = Some(demo_circuit());
    project.plan.supplies_parted = true;
    project.wheel.topology = Topology::Series;
    project.wheel.wires = BTreeMap::from([(
        1,
        WireInfo {
            colour: "WHGN".to_owned(),
            rest_ohm: Some(METER_REST_OHM),
            tapped_at: "stereo's connector, pin 7".to_owned(),
            together: None,
        },
    )]);
    project.wheel.back = ReturnWire { colour: "BK".to_owned(), grounded: Some(false) };
    project.wheel.check = meter_check();
    project.wheel.buttons = demo_van()
        .buttons
        .into_iter()
        .zip(METER_OHM)
        .map(|(button, ohm)| Button {
            id: ButtonId(button.name.to_lowercase().replace(' ', "_")),
            name: button.name,
            wire: Some(button.wire),
            meter_ohm: Some(ohm),
        })
        .collect();
    project.stereo.jack = JACK;
    project.stereo.commands = COMMANDS
        .iter()
        .map(|&(id, name, command)| Command {
            id: CommandId(id.to_owned()),
            name: name.to_owned(),
            code: Code::Family { family: FamilyId("nec".to_owned()), address: ADDRESS, command },
            origin: Origin::Typed,
            tried: false,
            heard: Vec::new(),
        })
        .collect();
    project
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_meter_agrees_with_the_wheel_to_within_a_contact_and_the_meters_error() {
        let project = demo_project();
        assert_eq!(project.wheel.buttons.len(), 7);
        for (button, built) in project.wheel.buttons.iter().zip(demo_van().buttons) {
            let meter_ohm = button.meter_ohm.unwrap();
            assert!((meter_ohm - built.ohm).abs() <= 20.0, "{}: {meter_ohm}, {}", button.name, built.ohm);
        }
    }

    #[test]
    fn nothing_is_learned_or_paired_and_ids_are_unique() {
        let project = demo_project();
        assert!(project.learned.is_empty() && project.pairs.is_empty() && project.rests.is_empty());
        let mut ids: Vec<_> = project.wheel.buttons.iter().map(|b| &b.id.0).collect();
        ids.sort();
        ids.dedup();
        assert_eq!(ids.len(), 7);
        assert!(ids.iter().all(|id| id.chars().all(|c| c.is_ascii_lowercase() || c == '_')));
        let mut numbers: Vec<_> = COMMANDS.iter().map(|&(_, _, number)| number).collect();
        numbers.sort_unstable();
        numbers.dedup();
        assert_eq!(numbers.len(), COMMANDS.len());
    }
}
