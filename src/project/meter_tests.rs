//! From what the meter showed to what is read in use: every part of the project that tells a reading tells
//! the same, with a contact on top, and with a factory module.

use super::netlist::Netlist;
use super::samples::van;
use super::together::together;
use super::{BoxesPlan, Button, ButtonId, Project, WireInfo, bands};
use crate::bands::Rung;
use crate::circuit::tolerance::{BoxDraws, CONDITIONS};
use crate::circuit::{Circuit, Module, Reference, Sense};
use crate::units::Series;
use crate::wheel::Topology;

/// A metered wheel of one wire, nothing of it learned.
fn metered(topology: Topology, circuit: Circuit, ohms: &[f64], rest_ohm: Option<f64>) -> Project {
    let mut project = Project::new("Brindle Linnet", "Tarn R40");
    project.wheel.topology = topology;
    project.circuit = Some(circuit);
    project.wheel.wires.insert(1, WireInfo { rest_ohm, ..WireInfo::default() });
    for (place, &ohm) in ohms.iter().enumerate() {
        project.wheel.buttons.push(Button {
            id: ButtonId(format!("b{place}")),
            name: format!("B{place}"),
            wire: Some(1),
            meter_ohm: Some(ohm),
        });
    }
    project
}

/// Checks that all who tell a reading tell this one of each button pressed alone, and the network's of two.
fn all_tell(project: &Project, wanted: &[u16]) {
    let predicted = project.predict().unwrap();
    let counts: Vec<u16> = predicted.buttons.iter().map(|button| button.count).collect();
    assert_eq!(counts, wanted, "predict");

    let set = bands(project);
    let planned: Vec<f64> = set.buttons.iter().map(|band| band.centre_count).collect();
    assert!(set.buttons.iter().all(|band| !band.measured));
    assert_eq!(planned, wanted.iter().map(|&count| f64::from(count)).collect::<Vec<_>>(), "bands");

    let rows = project.readings(&set).wires.remove(0).rows;
    for row in &rows {
        let Rung::Button(place) = row.rung else { panic!("{row:?}") };
        assert_eq!(row.promised_count, Some(f64::from(wanted[place])), "readings");
    }

    let circuit = project.circuit.as_ref().unwrap();
    if circuit.module.is_none() {
        let plan = project.sense_choice(Series::E24, &[], &set).unwrap().plan;
        let value = plan.values.iter().find(|value| value.ohm == circuit.sense_ohm).unwrap();
        let counts: Vec<u16> = value.readings.iter().map(|reading| reading.count).collect();
        assert_eq!(counts[..wanted.len()], *wanted, "plan");
        assert_eq!(Some(value.gap_count), predicted.smallest_gap_count, "plan's gap");
    }

    let boxes = BoxesPlan::of(project).unwrap();
    let still = BoxDraws(vec![0.0; boxes.model().draws()]);
    let mut order: Vec<u16> = (0..wanted.len())
        .map(|rung| boxes.model().reading(&still, 0, rung, CONDITIONS[2]))
        .map(whole)
        .collect();
    let mut sorted = wanted.to_vec();
    order.sort_unstable();
    sorted.sort_unstable();
    assert_eq!(order, sorted, "boxes");

    let net = Netlist::of(project);
    let reads = |pressed: &[usize]| {
        let volt = net.solve(pressed).unwrap().volt_at(net.wires[0].sense).unwrap();
        whole(1_024.0 * volt / circuit.reference_v())
    };
    let solved: Vec<u16> = (0..wanted.len()).map(|button| reads(&[button])).collect();
    assert_eq!(solved, wanted, "drawing");
    for pair in together(project, &set).unwrap().pairs {
        assert_eq!(pair.count, reads(&pair.buttons), "together {:?}", pair.buttons);
    }
}

/// As the converter gives it, what the arithmetic lost given back.
fn whole(count: f64) -> u16 {
    (count + 1e-6).floor() as u16
}

const LOW_TAPS: [f64; 5] = [330.0, 1_000.0, 2_200.0, 4_700.0, 10_000.0];

/// FACTS B2, 200 Ω of contact and slip ring under 1 kΩ (computed there): 769 falls to 669, 512 to 465,
/// 320 to 301, 179 to 173, 93 to 91.
#[test]
fn a_contact_on_top_of_the_meter_reads_as_published_wherever_it_is_told() {
    for topology in [Topology::Series, Topology::Parallel] {
        let circuit = Circuit { sense: Sense::PullDown, ..Circuit::recommended() };
        let new = metered(topology, circuit, &LOW_TAPS, None);
        all_tell(&new, &[769, 512, 320, 179, 93]);
        let mut worn = new;
        worn.circuit.as_mut().unwrap().contact_ohm = 200.0;
        all_tell(&worn, &[669, 465, 301, 173, 91]);
    }
}

/// `1024 · R / (R + 1000)` with R the meter's reading and 50 Ω (ATmega328P datasheet, ADC Conversion
/// Result; by hand), whatever returns at the end of the line.
#[test]
fn fifty_ohms_of_contact_are_told_alike_with_and_without_a_resistor_at_rest() {
    let circuit = Circuit { contact_ohm: 50.0, ..Circuit::recommended() };
    let ohms = [82.0, 262.0, 532.0, 922.0, 1_162.0, 2_162.0, 4_862.0];
    for topology in [Topology::Series, Topology::Parallel] {
        for rest_ohm in [None, Some(14_862.0)] {
            let project = metered(topology, circuit.clone(), &ohms, rest_ohm);
            all_tell(&project, &[119, 243, 376, 504, 561, 705, 850]);
        }
    }
}

/// 3.3 V behind 2.2 kΩ (Thevenin) against the box's 5 V: `1024 · 3.3 / 5 · R / (R + 2200)`, by hand.
#[test]
fn a_factory_modules_pull_up_is_told_alike_wherever_a_reading_is_told() {
    let circuit = Circuit {
        feed_v: 3.3,
        sense_ohm: 2_200.0,
        module: Some(Module { supply_v: 5.0 }),
        ..Circuit::recommended()
    };
    let project = metered(Topology::Series, circuit, &LOW_TAPS, None);
    all_tell(&project, &[88, 211, 337, 460, 553]);
}

/// What was learned is in use already: as the meter would show it, the contact on top is taken off.
#[test]
fn what_was_learned_is_laid_beside_the_meter_without_the_contact_on_top() {
    let mut project = van();
    project.circuit.as_mut().unwrap().contact_ohm = 50.0;
    let before = project.readings(&bands(&project)).wires.remove(0).rows;
    project.circuit.as_mut().unwrap().contact_ohm = 20.0;
    let after = project.readings(&bands(&project)).wires.remove(0).rows;
    for (before, after) in before.iter().zip(&after) {
        let moved = after.learned_ohm.unwrap() - before.learned_ohm.unwrap();
        assert!((moved - 30.0).abs() < 1e-9, "{moved}");
        assert!(before.promised_count > after.promised_count);
    }
}

/// A module's supply and the box's move on their own: nothing of a reading is a ratio.
#[test]
fn boxes_beside_a_factory_module_are_moved_by_both_supplies() {
    let drifts = |module, reference| {
        let circuit = Circuit { feed_v: 5.0, module, reference, ..Circuit::recommended() };
        let project = metered(Topology::Series, circuit, &LOW_TAPS, None);
        let plan = BoxesPlan::of(&project).unwrap();
        (plan.model().drifts().feed_tolerance, plan.model().drifts().reference_tolerance)
    };
    let module = Some(Module { supply_v: 5.0 });
    assert_eq!(drifts(None, Reference::Supply), (0.0, 0.0));
    assert_eq!(drifts(module, Reference::Supply), (0.05, 0.05));
    assert_eq!(drifts(module, Reference::Internal { volt: 1.1 }), (0.05, 0.09));
}
