//! The project's netlist, written as SPICE and solved by ngspice: every topology, sense style (a factory
//! module's pull-up is one), reference, monitor, end-of-line resistor, number of pressed buttons, contact, leak and number of
//! wires, each with each; volts at every node.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use spokewire::circuit::{Circuit, Device, FeedMonitor, Filter, Module, OutputParts, Reference, Sense};
use spokewire::project::netlist::{NetPoint, PartRole};
use spokewire::project::{Button, ButtonId, Netlist, Project, WireInfo};
use spokewire::wheel::Topology;

use super::{NOTHING, RELATIVE, log_between, run_ngspice};

/// Netlists in one run of ngspice.
const AT_A_TIME: usize = 48;

/// One project's netlist, and what is pressed.
struct Case {
    net: Netlist,
    pressed: Vec<usize>,
}

#[test]
fn ngspice_finds_the_same_volts_at_every_node_of_the_netlist() {
    let mut rng = ChaCha8Rng::seed_from_u64(20_080_402);
    let cases = all_cases(&mut rng);
    assert_eq!(cases.len(), 2_304, "2 topologies, 3 styles, 4 references, and so on");
    let mut answers = BTreeMap::new();
    let mut asked = 0;
    // Some at a time: ngspice looks a node up from the first one on.
    for some in cases.iter().enumerate().collect::<Vec<_>>().chunks(AT_A_TIME) {
        let mut spice = "project netlists\n".to_owned();
        let mut prints = String::new();
        for (number, case) in some {
            for node in write_spice(&mut spice, *number, case) {
                writeln!(prints, "print v({node})").unwrap();
                asked += 1;
            }
        }
        writeln!(spice, ".control\nset numdgt=15\nop\n{prints}quit 0\n.endc\n.end").unwrap();
        answers.extend(printed_volts(&run_ngspice(&spice)));
    }

    // A circuit that ngspice can't solve still exits 0: each value asked for must be there.
    assert_eq!(answers.len(), asked, "ngspice printed every node");
    let mut worst = 0.0_f64;
    for (number, case) in cases.iter().enumerate() {
        let point = case.net.solve(&case.pressed).unwrap();
        for (node, role) in case.net.nodes.iter().enumerate() {
            let Some(&theirs) = answers.get(&format!("n{number}_{node}")) else { continue };
            let ours = point.volt[node].unwrap_or_else(|| panic!("case {number}: no volts at {role:?}"));
            let apart = (ours - theirs).abs();
            assert!(
                apart <= RELATIVE * theirs.abs() + NOTHING,
                "case {number}, {role:?}: {ours} here, {theirs} from ngspice\n{:?}",
                case.net
            );
            if theirs.abs() > NOTHING {
                worst = worst.max(apart / theirs.abs());
            }
        }
        same_counts_and_currents(number, case, &point, &answers);
    }
    println!("{} netlists, {asked} nodes, at most {worst:.1e} of the value apart", cases.len());
}

/// From ngspice's volts by the datasheet's formula and Ohm's law: the count, and the current through
/// the sense resistor.
fn same_counts_and_currents(number: usize, case: &Case, point: &NetPoint, answers: &BTreeMap<String, f64>) {
    let at = |node: usize| if node == 0 { 0.0 } else { answers[&format!("n{number}_{node}")] };
    let reference = case.net.nodes.iter().position(|role| format!("{role:?}") == "Reference").unwrap();
    for wire in &case.net.wires {
        let ideal = 1024.0 * at(wire.pin.0) / at(reference);
        let count = f64::from(case.net.count(point.volt[wire.pin.0].unwrap()).unwrap());
        // Next to a whole count the last digits decide; ngspice prints 15.
        let whole = ideal.floor().min(1023.0);
        let near = (ideal - ideal.round()).abs() < 1e-6;
        assert!(count == whole || (near && (count - whole).abs() <= 1.0), "case {number}: {count}, {ideal}");
        let part = &case.net.parts[wire.sense_resistor.0];
        let theirs = (at(part.a.0) - at(part.b.0)) / part.ohm(&[]).unwrap();
        let ours = point.amp[wire.sense_resistor.0].unwrap();
        assert!((ours - theirs).abs() <= 1e-6 * theirs.abs() + 1e-12, "case {number}: {ours} A, {theirs} A");
    }
}

/// Each combination once, its values drawn.
fn all_cases(rng: &mut ChaCha8Rng) -> Vec<Case> {
    let mut cases = Vec::new();
    for topology in [Topology::Series, Topology::Parallel] {
        for style in [(Sense::PullDown, false), (Sense::PullUp, false), (Sense::PullUp, true)] {
            for reference in 0..4 {
                for choice in 0..32_u32 {
                    let is = |bit: u32| choice & (1 << bit) != 0;
                    for presses in 0..3 {
                        let project =
                            project(rng, topology, style, reference, [is(0), is(1), is(2), is(3), is(4)]);
                        let pressed = pressed(rng, &project, presses);
                        cases.push(Case { net: Netlist::of(&project), pressed });
                    }
                }
            }
        }
    }
    cases
}

fn project(
    rng: &mut ChaCha8Rng,
    topology: Topology,
    (sense, has_module): (Sense, bool),
    reference: u8,
    [monitored, ended, touching, leaking, two_wires]: [bool; 5],
) -> Project {
    let mut project = Project::new("van", "stereo");
    project.wheel.topology = topology;
    project.circuit = Some(Circuit {
        // The module's own volts feed the ladder; the box's supply stands apart.
        module: has_module.then(|| Module { supply_v: rng.random_range(4.5..5.5) }),
        sense,
        sense_ohm: log_between(rng, 100.0, 2e4),
        feed_v: rng.random_range(3.0..5.5),
        reference: match reference {
            0 => Reference::Supply,
            1 => Reference::Internal { volt: rng.random_range(1.0..1.2) },
            _ => Reference::External {
                pin_v: (reference == 3).then(|| rng.random_range(1.5..3.0)),
                volt: rng.random_range(2.0..5.0),
                series_ohm: log_between(rng, 1e3, 2e4),
            },
        },
        contact_ohm: if touching { log_between(rng, 0.05, 600.0) } else { 0.0 },
        leak_ohm: leaking.then(|| log_between(rng, 1e3, 1e7)),
        feed_monitor: monitored.then(|| FeedMonitor {
            upper_ohm: log_between(rng, 1e3, 1e5),
            lower_ohm: log_between(rng, 1e3, 1e5),
        }),
        filter: Filter::default(),
    });
    for wire in 1..=if two_wires { 2 } else { 1 } {
        let mut seen_ohm = 0.0;
        for button in 0..rng.random_range(2..=6) {
            seen_ohm += log_between(rng, 10.0, 5e3);
            project.wheel.buttons.push(Button {
                id: ButtonId(format!("w{wire}b{button}")),
                name: format!("Button {button} of wire {wire}"),
                wire: Some(wire),
                meter_ohm: Some(seen_ohm),
            });
        }
        let rest_ohm = ended.then(|| seen_ohm + log_between(rng, 500.0, 5e4));
        project.wheel.wires.insert(wire, WireInfo { colour: String::new(), rest_ohm, ..Default::default() });
    }
    project.output = OutputParts {
        device: Device::ALL[rng.random_range(0..Device::ALL.len())],
        base_ohm: log_between(rng, 100.0, 1e5),
        base_pulldown_ohm: rng.random_bool(0.7).then(|| log_between(rng, 1e3, 1e6)),
        series_ohm: if rng.random_bool(0.5) { 0.0 } else { log_between(rng, 10.0, 1e4) },
        ..OutputParts::default()
    };
    project.stereo.jack.idle_v = Some(rng.random_range(3.0..5.5));
    project.stereo.jack.loaded_a = Some(rng.random_range(1e-4..2e-3));
    project
}

/// None, one, or two buttons; two of one wire where it is the first's turn.
fn pressed(rng: &mut ChaCha8Rng, project: &Project, presses: usize) -> Vec<usize> {
    let mut all: Vec<usize> = (0..project.wheel.buttons.len()).collect();
    (0..presses).map(|_| all.remove(rng.random_range(0..all.len()))).collect()
}

/// A netlist as SPICE elements, from its parts and sources alone. Gives the nodes to ask for: all that a
/// resistor, a switch or a source meets. Ground is node 0 in both.
fn write_spice(spice: &mut String, number: usize, case: &Case) -> Vec<String> {
    let name = |node: usize| if node == 0 { "0".to_owned() } else { format!("n{number}_{node}") };
    let mut met = vec![false; case.net.nodes.len()];
    let mut joined = |a: usize, b: usize| (met[a], met[b]) = (true, true);
    for (place, part) in case.net.parts.iter().enumerate() {
        let Some(ohm) = part.ohm(&case.pressed).filter(|_| part.is_solved()) else {
            let unsolved = [
                PartRole::Output,
                PartRole::Fuse,
                PartRole::SupplyWire,
                PartRole::Guard,
                PartRole::Suppressor,
                PartRole::Regulator,
            ];
            let capacitor = format!("{:?}", part.kind).starts_with("Capacitor");
            assert!(capacitor || unsolved.contains(&part.role), "a part is left out: {part:?}");
            continue;
        };
        if ohm.is_infinite() {
            continue; // an open switch
        }
        joined(part.a.0, part.b.0);
        // SPICE makes a resistor of 0 Ω one of a milliohm; a source of 0 V is a wire.
        let kind = if ohm == 0.0 { "V" } else { "R" };
        let (a, b) = (name(part.a.0), name(part.b.0));
        writeln!(spice, "{kind}{number}_p{place} {a} {b} {ohm:e}").unwrap();
    }
    for (place, &(node, volt)) in case.net.held.iter().enumerate() {
        if node.0 != 0 {
            joined(node.0, 0);
            writeln!(spice, "V{number}_h{place} {} 0 DC {volt:e}", name(node.0)).unwrap();
        }
    }
    (1..met.len()).filter(|node| met[*node]).map(name).collect()
}

/// Every `v(name) = value` that ngspice printed.
fn printed_volts(output: &str) -> BTreeMap<String, f64> {
    output
        .lines()
        .filter_map(|line| {
            let (name, value) = line.strip_prefix("v(")?.split_once(") =")?;
            Some((name.to_owned(), value.trim().parse().unwrap()))
        })
        .collect()
}
