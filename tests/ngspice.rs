//! Ladders hooked up at random, against ngspice (Debian package `ngspice`), an independent circuit
//! simulator: every sense node and every feed current of 240 circuits, solved by it in one run. In
//! `ngspice/jack.rs`, the stereo's remote input and the box's output stage; in `ngspice/netlist.rs`,
//! every node of a project's netlist, each style with each.

#![expect(clippy::unwrap_used, clippy::panic, reason = "a test's helpers fail the test")]

#[path = "ngspice/jack.rs"]
mod jack;
#[path = "ngspice/netlist.rs"]
mod netlist;

use std::fmt::Write as _;
use std::process::Command;

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use spokewire::circuit::{EndReturn, Hookup, NodePoint, Sense};
use spokewire::wheel::{Ladder, Topology};

/// How many circuits; each combination of topology, sense, return and buttons comes 10 times.
const CIRCUITS: usize = 240;

/// How far the two may be apart, of the value.
const RELATIVE: f64 = 1e-6;

/// And where the value is nothing, in volts or amperes.
const NOTHING: f64 = 1e-12;

#[test]
fn ngspice_finds_the_same_volts_and_feed_current() {
    let mut rng = ChaCha8Rng::seed_from_u64(20_080_401);
    let cases: Vec<_> = (0..CIRCUITS).map(|case| some_case(&mut rng, case)).collect();
    let mut netlist = "sense nodes\n".to_owned();
    let mut prints = String::new();
    for (case, (hookup, pressed)) in cases.iter().enumerate() {
        write_circuit(&mut netlist, case, hookup, pressed);
        writeln!(prints, "print v(s{case}) i(vfeed{case})").unwrap();
    }
    writeln!(netlist, ".control\nset numdgt=15\nop\n{prints}quit 0\n.endc\n.end").unwrap();

    let output = run_ngspice(&netlist);
    let mut worst = 0.0_f64;
    for (case, (hookup, pressed)) in cases.iter().enumerate() {
        let point = solve(hookup, pressed);
        // SPICE counts the current into the source's positive end.
        let expected =
            [printed(&output, &format!("v(s{case})")), -printed(&output, &format!("i(vfeed{case})"))];
        for (ours, theirs) in [point.volt, point.feed_amp].into_iter().zip(expected) {
            let apart = (ours - theirs).abs();
            assert!(
                apart <= RELATIVE * theirs.abs() + NOTHING,
                "circuit {case}: {ours} here, {theirs} from ngspice\n{hookup:?} {pressed:?}"
            );
            if theirs.abs() > NOTHING {
                worst = worst.max(apart / theirs.abs());
            }
        }
    }
    println!("{CIRCUITS} circuits, at most {worst:.1e} of the value apart");
}

/// The point by the function behind the `node` command where the circuit can be put to it, so that
/// reading its keys is checked too; otherwise by the library.
fn solve(hookup: &Hookup, pressed: &[usize]) -> NodePoint {
    let Hookup { feed_v, sense, sense_ohm, ladder, end_return, contact_ohm, leak_ohm } = hookup;
    if *end_return == EndReturn::Ladder {
        return hookup.node(pressed).unwrap();
    }
    let question = serde_json::json!({
        "feed_v": feed_v, "sense": sense, "topology": ladder.topology, "ladder_ohm": ladder.ohm,
        "sense_ohm": sense_ohm, "contact_ohm": contact_ohm, "leak_ohm": leak_ohm,
        "end_ohm": ladder.end_ohm, "pressed": pressed,
    });
    spokewire::cli::node::answer(&question.to_string()).unwrap()
}

/// One circuit and its pressed buttons. Its number chooses topology, sense, return and how many
/// are pressed, so that all are met; the values are drawn.
fn some_case(rng: &mut ChaCha8Rng, case: usize) -> (Hookup, Vec<usize>) {
    let topology = if case.is_multiple_of(2) { Topology::Series } else { Topology::Parallel };
    let sense = if (case / 2).is_multiple_of(2) { Sense::PullDown } else { Sense::PullUp };
    let end_return = if (case / 4).is_multiple_of(2) { EndReturn::Ground } else { EndReturn::Ladder };
    let buttons = rng.random_range(2..=12);
    let mut ohm: Vec<f64> = (0..buttons).map(|_| log_between(rng, 10.0, 2e4)).collect();
    let contact_ohm = if rng.random_bool(0.3) { 0.0 } else { log_between(rng, 0.05, 600.0) };
    // At most one resistor of 0 Ω, and none where 0 Ω contacts could close a loop of nothing
    // but 0 Ω: SPICE does not solve that.
    if contact_ohm > 0.0 && rng.random_bool(0.3) {
        ohm[rng.random_range(0..buttons)] = 0.0;
    }
    let end_ohm = rng.random_bool(0.6).then(|| log_between(rng, 500.0, 5e4));
    let hookup = Hookup {
        feed_v: rng.random_range(2.0..15.0),
        sense,
        sense_ohm: log_between(rng, 100.0, 2e4),
        ladder: Ladder { topology, ohm, end_ohm },
        end_return,
        contact_ohm,
        leak_ohm: rng.random_bool(0.4).then(|| log_between(rng, 1e3, 1e7)),
    };
    let first = rng.random_range(1..=buttons);
    let second = (first + rng.random_range(1..buttons) - 1) % buttons + 1;
    let pressed = match (case / 8) % 3 {
        0 => vec![],
        1 => vec![first],
        _ => vec![first, second],
    };
    (hookup, pressed)
}

/// A value as likely in one decade as in another.
fn log_between(rng: &mut ChaCha8Rng, low: f64, high: f64) -> f64 {
    rng.random_range(low.ln()..high.ln()).exp()
}

/// The circuit as SPICE elements, written from the meaning of the fields and not from the code
/// under test. Node `s` is the sense node, `f` the feed, `t` a tap.
fn write_circuit(netlist: &mut String, case: usize, hookup: &Hookup, pressed: &[usize]) {
    let Hookup { feed_v, sense, sense_ohm, ladder, end_return, contact_ohm, leak_ohm } = hookup;
    let (feed, node) = (format!("f{case}"), format!("s{case}"));
    writeln!(netlist, "Vfeed{case} {feed} 0 DC {feed_v:e}").unwrap();
    let (start, back, sense_to) = match sense {
        Sense::PullDown => (&feed, node.as_str(), "0"),
        Sense::PullUp => (&node, "0", feed.as_str()),
    };
    let mut element = 0;
    // SPICE makes a resistor of 0 Ω one of a milliohm; a source of 0 V is a wire.
    let mut join = |a: &str, b: &str, ohm: f64| {
        element += 1;
        let kind = if ohm == 0.0 { "V" } else { "R" };
        writeln!(netlist, "{kind}{case}_{element} {a} {b} {ohm:e}").unwrap();
    };
    join(&node, sense_to, *sense_ohm);
    if let Some(ohm) = leak_ohm {
        join(&node, "0", *ohm);
    }
    let mut far = start.clone();
    for (place, &ohm) in ladder.ohm.iter().enumerate() {
        let tap = format!("t{case}_{place}");
        let from = if ladder.topology == Topology::Series { &far } else { start };
        join(from, &tap, ohm);
        if pressed.contains(&(place + 1)) {
            join(&tap, back, *contact_ohm);
        }
        if ladder.topology == Topology::Series {
            far = tap;
        }
    }
    if let Some(ohm) = ladder.end_ohm {
        join(&far, if *end_return == EndReturn::Ladder { back } else { "0" }, ohm);
    }
}

/// What ngspice prints for this netlist.
fn run_ngspice(netlist: &str) -> String {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("ladders.cir");
    std::fs::write(&file, netlist).unwrap();
    let output = Command::new("ngspice").args(["-b", "-n"]).arg(&file).output().unwrap_or_else(|error| {
        panic!(
            "ngspice did not start ({error}). It is the Debian package ngspice: \
             apt-get install --no-install-recommends ngspice"
        )
    });
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(
        output.status.success(),
        "ngspice failed: {}\n{text}{}",
        output.status,
        String::from_utf8_lossy(&output.stderr)
    );
    text
}

/// The value after `name =`, which must be there.
fn printed(output: &str, name: &str) -> f64 {
    output
        .lines()
        .find_map(|line| line.strip_prefix(name)?.trim_start().strip_prefix('='))
        .unwrap_or_else(|| panic!("ngspice did not print {name}:\n{output}"))
        .trim()
        .parse()
        .unwrap()
}
