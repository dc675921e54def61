//! Two buttons at once, as `project::together` tells them from a project's meter readings, against
//! ngspice (Debian package `ngspice`), an independent circuit simulator: every pair of eight wheels,
//! both topologies and both senses, with and without end-of-line resistor and contact.

#![expect(clippy::unwrap_used, clippy::expect_used, reason = "a test's helpers fail the test")]

use std::fmt::Write as _;
use std::process::Command;

use spokewire::circuit::{Circuit, Reference, Sense};
use spokewire::project::{Button, ButtonId, Project, WireInfo, bands, together};
use spokewire::wheel::{Ladder, Topology};

/// Of the value, the two may be apart by this.
const RELATIVE: f64 = 1e-6;
/// Each button's own resistor (parallel) or the chain's steps (series), in ohms; made up.
const LADDER_OHM: [f64; 5] = [82.0, 180.0, 470.0, 1_500.0, 3_300.0];
const END_OHM: f64 = 10_000.0;
const SENSE_OHM: f64 = 1_000.0;
const FEED_V: f64 = 5.0;

/// One wheel.
struct Case {
    topology: Topology,
    sense: Sense,
    end: bool,
    contact_ohm: f64,
}

#[test]
fn ngspice_finds_the_same_volts_for_every_two_buttons() {
    let mut cases = Vec::new();
    for topology in [Topology::Series, Topology::Parallel] {
        for sense in [Sense::PullDown, Sense::PullUp] {
            cases.push(Case { topology, sense, end: false, contact_ohm: 0.5 });
            cases.push(Case { topology, sense, end: true, contact_ohm: 47.0 });
        }
    }
    let mut netlist = "two buttons at once\n".to_owned();
    let mut told = Vec::new();
    for (number, case) in cases.iter().enumerate() {
        let project = project(case);
        for pair in together(&project, &bands(&project)).unwrap().pairs {
            let name = format!("s{number}_{}_{}", pair.buttons[0], pair.buttons[1]);
            write_circuit(&mut netlist, &name, case, pair.buttons);
            told.push((name, pair.volt));
        }
    }
    assert_eq!(told.len(), 80);
    let prints: String = told.iter().map(|(name, _)| format!("print v({name})\n")).collect();
    writeln!(netlist, ".control\nset numdgt=15\nop\n{prints}quit 0\n.endc\n.end").unwrap();
    let output = ngspice(&netlist);
    let mut worst = 0.0_f64;
    for (name, volt) in told {
        // ngspice exits with 0 even where it solved nothing: the value must be there.
        let theirs = printed(&output, &format!("v({name})"));
        let apart = (volt / theirs - 1.0).abs();
        assert!(apart <= RELATIVE, "{name}: {volt} V here, {theirs} V from ngspice");
        worst = worst.max(apart);
    }
    println!("80 pairs, at most {worst:.1e} of the value apart");
}

/// The wheel as a meter sees it, its contact left to the circuit.
fn project(case: &Case) -> Project {
    let mut project = Project::new("van", "stereo");
    project.wheel.topology = case.topology;
    project.circuit = Some(Circuit {
        sense: case.sense,
        sense_ohm: SENSE_OHM,
        feed_v: FEED_V,
        reference: Reference::Supply,
        contact_ohm: case.contact_ohm,
        leak_ohm: None,
        feed_monitor: None,
        filter: Default::default(),
        module: None,
    });
    let rest_ohm = match case.topology {
        Topology::Series => LADDER_OHM.iter().sum::<f64>() + END_OHM,
        Topology::Parallel => END_OHM,
    };
    if case.end {
        project.wheel.wires.insert(1, WireInfo { rest_ohm: Some(rest_ohm), ..WireInfo::default() });
    }
    let end_ohm = case.end.then_some(END_OHM);
    let ladder = Ladder { topology: case.topology, ohm: LADDER_OHM.to_vec(), end_ohm };
    for index in 0..LADDER_OHM.len() {
        // What the contact adds comes on top of the meter's reading (`Circuit::contact_ohm`): a press
        // reads as it does with that contact in the ladder.
        let meter_ohm = ladder.single_ohm(index + 1, case.contact_ohm).unwrap() - case.contact_ohm;
        let id = ButtonId(format!("b{index}"));
        let name = format!("B{index}");
        project.wheel.buttons.push(Button { id, name, wire: Some(1), meter_ohm: Some(meter_ohm) });
    }
    project
}

/// The circuit as SPICE elements, from the ladder's own resistors.
fn write_circuit(netlist: &mut String, node: &str, case: &Case, pressed: [usize; 2]) {
    let feed = format!("f{node}");
    writeln!(netlist, "V{node} {feed} 0 DC {FEED_V}").unwrap();
    let (start, back, sense_to) = match case.sense {
        Sense::PullDown => (feed.as_str(), node, "0"),
        Sense::PullUp => (node, "0", feed.as_str()),
    };
    writeln!(netlist, "R{node}_s {node} {sense_to} {SENSE_OHM}").unwrap();
    let mut far = start.to_owned();
    for (index, ohm) in LADDER_OHM.iter().enumerate() {
        let tap = format!("{node}_t{index}");
        let from = if case.topology == Topology::Series { far.as_str() } else { start };
        writeln!(netlist, "R{node}_{index} {from} {tap} {ohm}").unwrap();
        if pressed.contains(&index) {
            writeln!(netlist, "R{node}_c{index} {tap} {back} {}", case.contact_ohm).unwrap();
        }
        if case.topology == Topology::Series {
            far = tap;
        }
    }
    if case.end {
        writeln!(netlist, "R{node}_e {far} {back} {END_OHM}").unwrap();
    }
}

fn ngspice(netlist: &str) -> String {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("together.cir");
    std::fs::write(&file, netlist).unwrap();
    let output = Command::new("ngspice")
        .args(["-b", "-n"])
        .arg(&file)
        .output()
        .expect("the Debian package ngspice: apt-get install --no-install-recommends ngspice");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8_lossy(&output.stdout).into_owned()
}

/// The value after `name =`, which must be there.
fn printed(output: &str, name: &str) -> f64 {
    let value = output.lines().find_map(|line| line.strip_prefix(name)?.trim_start().strip_prefix('='));
    value.map(str::trim).and_then(|value| value.parse().ok()).expect("ngspice prints the node")
}
