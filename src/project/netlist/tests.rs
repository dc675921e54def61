//! The netlist against what the rooms below say of the same circuit, in other ways.

use proptest::prelude::*;

use super::{NetError, Netlist, NodeId, NodeRole, PartKind, PartRole, Whose};
use crate::circuit::{
    Circuit, Device, FeedMonitor, Filter, Hookup, Module, OutputParts, Reference, ReverseGuard, Sense,
};
use crate::project::{Button, ButtonId, Project, WireInfo, samples};
use crate::wheel::{Ladder, Topology};

/// The demo's ladder: taps at 82 to 4862 Ω, 10 kΩ at its end, 1 kΩ to a feed of 5 V.
fn wheel(topology: Topology, sense: Sense, rest_ohm: Option<f64>, ohms: &[f64]) -> Project {
    let mut project = Project::new("Brindle Linnet", "Tarn R40");
    project.circuit = Some(circuit(sense));
    project.wheel.topology = topology;
    project.wheel.wires.insert(1, WireInfo { colour: "WHGN".into(), rest_ohm, ..Default::default() });
    for (place, &ohm) in ohms.iter().enumerate() {
        project.wheel.buttons.push(Button {
            id: ButtonId(format!("b{place}")),
            name: format!("Button {place}"),
            wire: Some(1),
            meter_ohm: Some(ohm),
        });
    }
    project
}

fn circuit(sense: Sense) -> Circuit {
    Circuit {
        module: None,
        feed_monitor: None,
        filter: Filter::default(),
        sense,
        sense_ohm: 1_000.0,
        feed_v: 5.0,
        reference: Reference::Supply,
        contact_ohm: 0.0,
        leak_ohm: None,
    }
}

const DEMO: [f64; 7] = [82.0, 262.0, 532.0, 922.0, 1_162.0, 2_162.0, 4_862.0];

fn ohm_of(net: &Netlist, role: PartRole) -> Option<f64> {
    match net.find(role).unwrap().1.kind {
        PartKind::Resistor(ohm) => ohm,
        kind => panic!("{kind:?}"),
    }
}

#[test]
fn a_chain_has_the_steps_between_its_taps_and_what_is_left_of_rest() {
    let net = Netlist::of(&wheel(Topology::Series, Sense::PullUp, Some(14_862.0), &DEMO));
    let steps: Vec<_> = (0..7).map(|button| ohm_of(&net, PartRole::Ladder(button)).unwrap()).collect();
    assert_eq!(steps, [82.0, 180.0, 270.0, 390.0, 240.0, 1_000.0, 2_700.0]);
    assert_eq!(ohm_of(&net, PartRole::EndOfLine(1)), Some(10_000.0));
}

#[test]
fn a_chain_is_in_order_of_resistance_whatever_the_order_of_its_buttons() {
    let net = Netlist::of(&wheel(Topology::Series, Sense::PullUp, None, &[532.0, 82.0, 262.0]));
    let order: Vec<_> = net.wires[0].rungs.iter().map(|rung| rung.button).collect();
    assert_eq!(order, [1, 2, 0]);
    assert_eq!(ohm_of(&net, PartRole::Ladder(0)), Some(270.0));
    assert!(net.find(PartRole::EndOfLine(1)).is_none(), "an open wire has nothing at its end");
}

#[test]
fn pressing_source_in_the_demo_gives_the_picture_its_figures() {
    let mut project = wheel(Topology::Series, Sense::PullUp, Some(14_862.0), &DEMO);
    project.circuit.as_mut().unwrap().contact_ohm = 6.0;
    let net = Netlist::of(&project);
    let point = net.solve(&[4]).unwrap();
    let volt = point.volt_at(net.wires[0].sense).unwrap();
    // 1168 Ω below 1 kΩ of 5 V: 2.69 V, 1024 · 1168 / 2168 = 551.6, and 5 V / 2168 Ω = 2.31 mA.
    assert!((volt - 2.693_7).abs() < 2e-4, "{volt}");
    assert_eq!(net.count(volt), Some(551));
    let sense_a = point.amp_through(net.wires[0].sense_resistor).unwrap();
    assert!((sense_a + 5.0 / 2_168.0).abs() < 1e-6, "{sense_a}");
}

#[test]
fn current_goes_through_a_contact_of_no_resistance_too() {
    let net = Netlist::of(&wheel(Topology::Series, Sense::PullUp, None, &DEMO));
    let point = net.solve(&[1]).unwrap();
    let through = |button| point.amp_through(net.find(PartRole::Button(button)).unwrap().0);
    assert!((through(1).unwrap() - 5.0 / 1_262.0).abs() < 1e-12);
    assert_eq!(through(2), Some(0.0));
}

#[test]
fn a_button_without_a_reading_has_no_volts_and_spoils_no_others() {
    let mut project = wheel(Topology::Series, Sense::PullUp, Some(14_862.0), &DEMO);
    project.wheel.buttons[6].meter_ohm = None;
    let net = Netlist::of(&project);
    let sense = net.wires[0].sense;
    assert_eq!(net.solve(&[6]).unwrap().volt_at(sense), None);
    assert_eq!(net.solve(&[]).unwrap().volt_at(sense), None);
    let known = net.solve(&[2]).unwrap().volt_at(sense).unwrap();
    assert!((known - 5.0 * 532.0 / 1_532.0).abs() < 1e-9, "{known}");
}

#[test]
fn without_a_sense_circuit_it_says_what_to_give() {
    let mut project = wheel(Topology::Series, Sense::PullUp, None, &DEMO);
    project.circuit = None;
    let net = Netlist::of(&project);
    assert_eq!(ohm_of(&net, PartRole::Sense(1)), None);
    assert_eq!(
        net.solve(&[0]).unwrap_err().to_string(),
        "No volts are known without a sense circuit. Give the sense resistor, the feed and the reference \
         at the Circuit station."
    );
}

#[test]
fn a_button_that_is_not_there_is_named() {
    let net = Netlist::of(&wheel(Topology::Series, Sense::PullUp, None, &DEMO));
    let error = net.solve(&[9]).unwrap_err();
    assert_eq!(error, NetError::NoSuchButton { button: 9, buttons: 7 });
    assert_eq!(error.to_string(), "Button 10 is pressed, but there are 7. Press one of those.");
}

#[test]
fn an_outside_reference_stands_at_what_its_divider_makes_of_it() {
    let mut project = wheel(Topology::Series, Sense::PullDown, None, &DEMO);
    // Public note on the reference pin (FACTS A): 2.5 V through 5 kΩ into 32 kΩ is 2.16 V.
    project.circuit.as_mut().unwrap().reference =
        Reference::External { volt: 2.5, series_ohm: 5_000.0, pin_v: None };
    let net = Netlist::of(&project);
    let point = net.solve(&[]).unwrap();
    let volt = point.volt_at(net.node(NodeRole::Reference).unwrap()).unwrap();
    assert!((volt - 2.162).abs() < 5e-4, "{volt}");
}

#[test]
fn a_measured_reference_wins_over_the_typical_input_resistance() {
    let mut project = wheel(Topology::Series, Sense::PullDown, None, &DEMO);
    for series_ohm in [5_000.0, 0.0] {
        project.circuit.as_mut().unwrap().reference =
            Reference::External { volt: 2.5, series_ohm, pin_v: Some(2.05) };
        let net = Netlist::of(&project);
        let point = net.solve(&[3]).unwrap();
        assert_eq!(point.volt_at(net.node(NodeRole::Reference).unwrap()), Some(2.05));
        assert!(net.find(PartRole::ReferenceInput).is_none());
        // 922 Ω above 1 kΩ of 5 V: 1024 · (5 · 1000 / 1922) / 2.05 is beyond the scale's top.
        assert_eq!(net.count(point.volt_at(net.wires[0].sense).unwrap()), Some(1_023));
    }
}

#[test]
fn a_factory_module_is_the_only_pull_up_and_the_supply_stays_the_reference() {
    let mut project = wheel(Topology::Series, Sense::PullUp, Some(14_862.0), &DEMO);
    let circuit = project.circuit.as_mut().unwrap();
    (circuit.feed_v, circuit.sense_ohm) = (4.6, 2_200.0);
    circuit.module = Some(Module { supply_v: 5.0 });
    let net = Netlist::of(&project);
    let from = |node: NodeId| net.parts.iter().filter(|part| part.is_solved() && part.b == node).count();
    assert_eq!((from(Netlist::FEED), from(net.node(NodeRole::Module).unwrap())), (0, 1));
    assert_eq!(net.part(net.wires[0].sense_resistor).unwrap().whose, Whose::Vehicle);
    let point = net.solve(&[2]).unwrap();
    let volt = point.volt_at(net.wires[0].sense).unwrap();
    assert!((volt - 4.6 * 532.0 / 2_732.0).abs() < 1e-9, "{volt}");
    let reference = point.volt_at(net.node(NodeRole::Reference).unwrap());
    assert_eq!((reference, net.held_v(NodeRole::Feed)), (Some(5.0), Some(5.0)));
}

#[test]
fn output_and_supply_are_what_the_project_says_and_what_is_not_fitted_is_not_there() {
    let mut project = samples::van();
    let kind = |project: &Project, role| Netlist::of(project).find(role).map(|(_, part)| part.kind);
    assert_eq!(kind(&project, PartRole::LineResistor), None, "the box has none");
    project.output = OutputParts {
        device: Device::Bss138,
        base_ohm: 220.0,
        base_pulldown_ohm: None,
        series_ohm: 470.0,
        line_farad: Some(1e-9),
        ..OutputParts::default()
    };
    assert_eq!(kind(&project, PartRole::BaseResistor), Some(PartKind::Resistor(Some(220.0))));
    assert_eq!(kind(&project, PartRole::BasePullDown), None);
    assert_eq!(kind(&project, PartRole::LineResistor), Some(PartKind::Resistor(Some(470.0))));
    assert_eq!(kind(&project, PartRole::LineCapacitance), Some(PartKind::Capacitor(Some(1e-9))));
    assert_eq!(kind(&project, PartRole::Output), Some(PartKind::Transistor(Device::Bss138)));
    let chain = [PartRole::Fuse, PartRole::SupplyWire, PartRole::Guard, PartRole::Regulator];
    let ends = |project: &Project| {
        let net = Netlist::of(project);
        let parts = chain.iter().filter_map(|role| net.find(*role).map(|(_, part)| (part.a, part.b)));
        let parts: Vec<_> = parts.collect();
        assert!(parts.windows(2).all(|two| two[0].1 == two[1].0), "each begins where one ends: {parts:?}");
        assert_eq!(parts[0].0, net.node(NodeRole::Accessory).unwrap());
        assert_eq!(parts.last().unwrap().1, Netlist::FEED);
        parts.len()
    };
    assert_eq!(ends(&project), 4);
    (project.supply.fuse_amp, project.supply.reverse) = (None, ReverseGuard::Nothing);
    project.supply.suppressor = None;
    assert_eq!((ends(&project), kind(&project, PartRole::Suppressor)), (2, None));
}

#[test]
fn the_monitor_and_the_idle_line_stand_at_their_dividers() {
    let mut project = samples::van();
    project.circuit.as_mut().unwrap().feed_monitor =
        Some(FeedMonitor { upper_ohm: 47_000.0, lower_ohm: 10_000.0 });
    let net = Netlist::of(&project);
    let point = net.solve(&[]).unwrap();
    let monitor = point.volt_at(net.node(NodeRole::Monitor).unwrap()).unwrap();
    assert!((monitor - 5.0 * 10.0 / 57.0).abs() < 1e-12, "{monitor}");
    let line = point.volt_at(net.node(NodeRole::Line).unwrap()).unwrap();
    assert!((line - 4.97).abs() < 1e-12, "{line}");
}

#[test]
fn a_learned_button_stands_in_for_one_that_was_not_metered() {
    let mut project = samples::van();
    let before = project.wheel.buttons[1].meter_ohm.take().unwrap();
    let net = Netlist::of(&project);
    let seen = net.wires[0].rungs[1].seen_ohm.unwrap();
    // 287 counts of 1024 at 1 kΩ are 389.4 to 391.3 Ω, of which 2 Ω are the contact.
    assert!((seen - before).abs() < 4.0, "{seen}");
}

fn some_wheel() -> impl Strategy<Value = (Project, Vec<usize>)> {
    let topology = prop_oneof![Just(Topology::Series), Just(Topology::Parallel)];
    let sense = prop_oneof![Just(Sense::PullDown), Just(Sense::PullUp)];
    let values = (10.0..2e4_f64, prop_oneof![Just(0.0), 0.1..300.0_f64], prop::option::of(1e3..1e6_f64));
    let ohms = prop::collection::vec(1.0..3e4_f64, 1..=16);
    (topology, sense, values, prop::option::of(4e4..2e5_f64), ohms).prop_flat_map(
        |(topology, sense, (sense_ohm, contact_ohm, leak_ohm), rest_ohm, ohms)| {
            let mut project = wheel(topology, sense, rest_ohm, &ohms);
            let circuit = project.circuit.as_mut().unwrap();
            (circuit.sense_ohm, circuit.contact_ohm, circuit.leak_ohm) = (sense_ohm, contact_ohm, leak_ohm);
            let count = ohms.len();
            (Just(project), prop::sample::subsequence((0..count).collect::<Vec<_>>(), 0..=count.min(3)))
        },
    )
}

proptest! {
    #[test]
    fn one_solve_agrees_with_the_hook_up_and_with_the_divider((project, pressed) in some_wheel()) {
        let net = Netlist::of(&project);
        let circuit = project.circuit.as_ref().unwrap();
        let wire = &net.wires[0];
        let ladder = Ladder {
            topology: project.wheel.topology,
            ohm: wire.rungs.iter().map(|rung| ohm_of(&net, net.parts[rung.resistor.0].role).unwrap()).collect(),
            end_ohm: wire.end.map(|end| ohm_of(&net, net.parts[end.0].role).unwrap()),
        };
        let numbers: Vec<usize> = pressed
            .iter()
            .map(|button| 1 + wire.rungs.iter().position(|rung| rung.button == *button).unwrap())
            .collect();
        let point = net.solve(&pressed).unwrap();
        let volt = point.volt_at(wire.sense).unwrap();
        let near = |a: f64, b: f64| (a - b).abs() <= 1e-9 * a.abs().max(b.abs()) + 1e-15;

        let hookup = Hookup::new(circuit, ladder.clone()).node(&numbers).unwrap();
        prop_assert!(near(volt, hookup.volt), "{volt} against {}", hookup.volt);
        let by_divider = circuit.node_v(ladder.seen_ohm(&numbers, circuit.contact_ohm).unwrap());
        prop_assert!(near(volt, by_divider), "{volt} against {by_divider}");
        prop_assert_eq!(point.volt_at(wire.pin), Some(volt), "no steady current through the filter");

        // What leaves the feed is what the hook-up says.
        let from_feed: f64 = net.parts.iter().zip(&point.amp).map(|(part, amp)| {
            let amp = amp.unwrap_or(f64::NAN);
            if part.a == Netlist::FEED { amp } else if part.b == Netlist::FEED { -amp } else { 0.0 }
        }).sum();
        if from_feed.is_finite() {
            let scale = hookup.feed_amp.abs();
            prop_assert!((from_feed - hookup.feed_amp).abs() <= 1e-7 * scale + 1e-15);
        }
    }

    #[test]
    fn a_single_button_reads_what_the_meter_saw((mut project, _) in some_wheel(), which in 0_usize..16) {
        project.circuit.as_mut().unwrap().contact_ohm = 0.0;
        let button = which % project.wheel.buttons.len();
        let net = Netlist::of(&project);
        let volt = net.solve(&[button]).unwrap().volt_at(net.wires[0].sense).unwrap();
        let meter_ohm = project.wheel.buttons[button].meter_ohm.unwrap();
        let promised = project.circuit.as_ref().unwrap().node_v(meter_ohm);
        prop_assert!((volt - promised).abs() <= 1e-9 * promised, "{volt} against {promised}");
    }

    #[test]
    fn any_project_has_a_netlist_and_no_solve_panics(project in samples::any_project()) {
        let net = Netlist::of(&project);
        prop_assert_eq!(
            net.wires.iter().map(|wire| wire.rungs.len()).sum::<usize>(),
            project.wheel.buttons.len()
        );
        for button in 0..project.wheel.buttons.len() {
            let _ = net.solve(&[button]);
        }
        let _ = net.solve(&[]);
    }
}
