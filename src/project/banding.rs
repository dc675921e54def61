//! Between the project and the bands: its values handed down as plain numbers, and each rung's
//! name handed back. Knows no file and no screen, and computes nothing itself.

use crate::bands::{Band, BandSet, ButtonInput, Edge, Input, Rung, Settings, Verdict};

use super::{Project, feed_off};

/// The bands of everything learned, with those planned by the meter where a button has not been
/// pressed yet. Buttons keep their place in the wheel's order: `Rung::Button(2)` is the third.
///
/// Cheap enough to compute after every press, and so never kept.
#[must_use]
pub fn bands(project: &Project) -> BandSet {
    let rests: Vec<_> = project.rests.iter().map(|(&wire, level)| (wire, level)).collect();
    let buttons: Vec<ButtonInput<'_>> = project
        .wheel
        .buttons
        .iter()
        .map(|button| {
            let learned = project.learned.get(&button.id);
            let taken_as = learned.and_then(|learned| learned.indistinct_from.as_ref());
            ButtonInput {
                wire: button.wire,
                presses: learned.map_or(&[][..], |learned| &learned.presses),
                indistinct_from: taken_as.and_then(|id| project.button(id)).map(|(index, _)| index),
                planned_count: planned_count(project, button.meter_ohm),
                edges: project.edges.get(&button.id).copied().unwrap_or_default(),
            }
        })
        .collect();
    let plan = &project.plan;
    crate::bands::bands(&Input {
        buttons: &buttons,
        rests: &rests,
        circuit: project.circuit.as_ref(),
        parts: Some(&project.parts),
        settings: Settings {
            coverage: plan.coverage,
            confidence: plan.confidence,
            converter_error_count: plan.converter_error_count,
            reject_floor_count: plan.reject_floor_count,
        },
    })
}

/// A rung's name as it stands within a sentence: the button's, its id where it has none; `rest`,
/// with the wire where there are two.
#[must_use]
pub fn rung_name(project: &Project, rung: Rung) -> String {
    match rung {
        Rung::Button(index) => match project.wheel.buttons.get(index) {
            Some(button) if button.name.trim().is_empty() => button.id.0.clone(),
            Some(button) => button.name.clone(),
            None => format!("button {}", index + 1),
        },
        Rung::Rest(wire) if has_two_wires(project) => format!("rest of wire {wire}"),
        Rung::Rest(_) => "rest".to_owned(),
    }
}

/// A verdict's sentence with this project's names in it.
#[must_use]
pub fn verdict_text(project: &Project, verdict: &Verdict) -> String {
    let said = verdict.text(&|rung| rung_name(project, rung));
    let measured = !matches!(
        verdict,
        Verdict::Planned { .. } | Verdict::PlannedClose { .. } | Verdict::Unlearned { .. }
    );
    match feed_off(project).filter(|_| measured) {
        Some(off) => format!("{said} Provisional: {} {}.", off.what(), off.share_text()),
        None => said,
    }
}

/// Why the edges of a band are not where a person put them, in sentences; empty where they are.
#[must_use]
pub fn edges_text(project: &Project, bands: &BandSet, band: &Band) -> Vec<String> {
    let name = |rung: Rung| rung_name(project, rung);
    let floor = bands.reject_floor_count;
    let low = band.moved.low.and_then(|moved| moved.text(Edge::Low, floor, &name));
    let high = band.moved.high.and_then(|moved| moved.text(Edge::High, floor, &name));
    low.into_iter().chain(high).collect()
}

/// What the converter should read for a resistance by the meter: as [`Project::predict`] says.
fn planned_count(project: &Project, meter_ohm: Option<f64>) -> Option<f64> {
    project.circuit.as_ref()?.pressed_count(meter_ohm?).map(f64::from)
}

fn has_two_wires(project: &Project) -> bool {
    let learned = project.rests.keys().copied();
    let mut wires = learned.chain(project.wheel.buttons.iter().filter_map(|button| button.wire));
    wires.next().is_some_and(|first| wires.any(|wire| wire != first))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bands::{Press, RestLevel, Touch};
    use crate::circuit::{Circuit, Reference, Sense};
    use crate::project::{Button, ButtonId, LearnedButton};

    fn press(median_count: f64) -> Press {
        Press { median_count, spread_count: 0.9, readings: 400, touch: Touch::Firm, tally: Vec::new() }
    }

    /// The demo's ladder and circuit, with the buttons' presses as given.
    fn wheel(presses: &[&[f64]]) -> Project {
        let mut project = Project::new("Brindle Linnet", "Tarn R40");
        project.circuit = Some(Circuit {
            feed_monitor: None,
            filter: Default::default(),
            module: None,
            sense: Sense::PullUp,
            sense_ohm: 1_000.0,
            feed_v: 5.0,
            reference: Reference::Supply,
            contact_ohm: 6.0,
            leak_ohm: None,
        });
        project.rests.insert(1, RestLevel { median_count: 959.0, spread_count: 0.9, readings: 2_000 });
        let names = ["Volume up", "Volume down", "Next", "Previous", "Source", "Answer", "Mute"];
        let ohms = [82.0, 262.0, 532.0, 922.0, 1_162.0, 2_162.0, 4_862.0];
        for (index, (name, ohm)) in names.into_iter().zip(ohms).enumerate() {
            let id = ButtonId(name.to_lowercase().replace(' ', "_"));
            project.wheel.buttons.push(Button {
                id: id.clone(),
                name: name.to_owned(),
                wire: Some(1),
                meter_ohm: Some(ohm),
            });
            if let Some(medians) = presses.get(index).filter(|medians| !medians.is_empty()) {
                let presses = medians.iter().map(|&median| press(median)).collect();
                project.learned.insert(id, LearnedButton { presses, indistinct_from: None });
            }
        }
        project
    }

    #[test]
    fn a_button_not_pressed_yet_is_planned_by_the_meter() {
        let set = bands(&wheel(&[&[82.0, 83.0, 85.0], &[217.0, 218.0, 218.0], &[357.0, 358.0, 359.0]]));
        let measured: Vec<bool> = set.buttons.iter().map(|band| band.measured).collect();
        assert_eq!(measured, [true, true, true, false, false, false, false]);
        // floor(1024 · R / (R + 1000)), the datasheet's formula, R with the contact's 6 Ω on top.
        let planned: Vec<f64> = set.buttons[3..].iter().map(|band| band.centre_count).collect();
        assert_eq!(planned, [492.0, 551.0, 700.0, 849.0]);
        assert!(set.buttons.iter().all(|band| band.accept.is_some()));
    }

    #[test]
    fn verdicts_carry_the_names_on_the_wheel() {
        let project = wheel(&[
            &[82.0, 83.0, 85.0],
            &[217.0, 218.0, 218.0],
            &[357.0, 358.0, 359.0],
            &[491.0, 492.0, 493.0],
            &[551.0, 552.0, 552.0],
            &[700.0, 700.0, 701.0],
            &[849.0, 849.0, 849.0],
        ]);
        let set = bands(&project);
        let said = verdict_text(&project, &set.verdicts[3]);
        assert!(said.starts_with("Previous and Source are 60 counts apart: safe to "), "{said}");
        assert!(said.ends_with(" Ω of wear."), "{said}");
        assert_eq!(verdict_text(&project, &set.rests[0].verdict), "Rest and Mute are 110 counts apart.");
    }

    #[test]
    fn a_mark_reaches_the_bands_by_its_id() {
        let mut project = wheel(&[&[82.0, 83.0, 85.0], &[83.0, 84.0, 84.0], &[357.0, 358.0, 359.0]]);
        let first = project.wheel.buttons[0].id.clone();
        let second = project.wheel.buttons[1].id.clone();
        project.learned.get_mut(&second).unwrap().indistinct_from = Some(first);
        let set = bands(&project);
        assert_eq!(
            verdict_text(&project, &set.verdicts[1]),
            "Volume down is taken as one with Volume up: a press of either counts as Volume up."
        );
        assert_eq!(set.which(1, 84.0), Some(Rung::Button(0)));
    }

    #[test]
    fn rest_is_named_with_its_wire_where_there_are_two() {
        let mut project = wheel(&[]);
        assert_eq!(rung_name(&project, Rung::Rest(1)), "rest");
        project.wheel.buttons[6].wire = Some(2);
        assert_eq!(rung_name(&project, Rung::Rest(2)), "rest of wire 2");
        project.wheel.buttons[0].name.clear();
        assert_eq!(rung_name(&project, Rung::Button(0)), "volume_up");
        assert_eq!(rung_name(&project, Rung::Button(40)), "button 41");
    }
}
