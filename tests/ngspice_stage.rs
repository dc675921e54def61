//! Output stages at random, against ngspice (Debian package `ngspice`), an independent circuit simulator:
//! the low level of each transistor of the table over drive, base, pull-down, series, pull-up and its volts;
//! and the edges of a mark on lines of little and much capacitance.
//!
//! ngspice exits with 0 on a circuit it can't solve: each value must be there.

#![expect(clippy::unwrap_used, clippy::panic, reason = "a test's helpers fail the test")]

use std::fmt::Write as _;
use std::process::Command;

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use spokewire::circuit::{Device, OutputStage, Source, StageLine, THRESHOLD_SHARE};

/// The public models of the makers' data sheets, as they print them; the MOSFET's from its data sheet's
/// values as SPICE's level 1 takes them, with 1 µm of length and width.
const MODELS: &str = "\
.model M2N3904 NPN(Is=6.734f Xti=3 Eg=1.11 Vaf=74.03 Bf=416.4 Ne=1.259 Ise=6.734f Ikf=66.78m Xtb=1.5
+ Br=.7371 Nc=2 Isc=0 Ikr=0 Rc=1 Cjc=3.638p Mjc=.3085 Vjc=.75 Fc=.5 Cje=4.493p Mje=.2593 Vje=.75
+ Tr=239.5n Tf=301.2p Itf=.4 Vtf=4 Xtf=2 Rb=10)
.model M2N2222A NPN(Is=14.34f Xti=3 Eg=1.11 Vaf=74.03 Bf=255.9 Ne=1.307 Ise=14.34f Ikf=.2847 Xtb=1.5
+ Br=6.092 Nc=2 Isc=0 Ikr=0 Rc=1 Cjc=7.306p Mjc=.3416 Vjc=.75 Fc=.5 Cje=22.01p Mje=.377 Vje=.75
+ Tr=46.91n Tf=411.1p Itf=.6 Vtf=1.7 Xtf=3 Rb=10)
.model MBSS138 NMOS(Level=1 Vto=1.3 Kp=0.3125)
";

/// How many low levels for each transistor.
const LEVELS: usize = 150;
/// How far a low level may be off, in volts.
const LEVEL_V: f64 = 0.01;
/// How many marks for each transistor.
const MARKS: usize = 20;
/// How far an edge's time may be off, as a share of it, and in seconds: ngspice's pin takes a nanosecond
/// for its edge, and its steps are as coarse as a hundredth of the mark.
const EDGE: (f64, f64) = (0.05, 5e-9);

/// Any stage on any line: from deep in saturation to out of it.
fn some_case(rng: &mut ChaCha8Rng, device: Device) -> (OutputStage, Source) {
    let stage = OutputStage {
        drive_v: rng.random_range(1.5..5.5),
        base_ohm: log_between(rng, 220.0, 2e6),
        base_pulldown_ohm: if rng.random_bool(0.2) { f64::INFINITY } else { log_between(rng, 4.7e3, 1e6) },
        series_ohm: if rng.random_bool(0.4) { 0.0 } else { log_between(rng, 10.0, 2.2e3) },
        device,
    };
    (stage, Source { volt: rng.random_range(1.8..16.0), ohm: log_between(rng, 150.0, 2e5) })
}

#[test]
fn ngspice_pulls_the_line_to_the_same_low_level() {
    let mut rng = ChaCha8Rng::seed_from_u64(19_631_105);
    for device in Device::ALL {
        let cases: Vec<_> = (0..LEVELS).map(|_| some_case(&mut rng, device)).collect();
        let (mut netlist, mut prints) = (format!("low levels\n{MODELS}"), String::new());
        for (case, (stage, line)) in cases.iter().enumerate() {
            write_stage(&mut netlist, case, stage, *line, &format!("DC {:e}", stage.drive_v));
            writeln!(prints, "print v(l{case}) v(b{case}) v(c{case})").unwrap();
        }
        writeln!(netlist, ".control\nset numdgt=15\nop\n{prints}quit 0\n.endc\n.end").unwrap();
        let output = run_ngspice(&netlist);
        let (mut worst_v, mut high, mut edge) = (0.0_f64, 0, 0);
        for (case, (stage, line)) in cases.iter().enumerate() {
            let theirs_v = printed(&output, &format!("v(l{case})"));
            let point = stage.point(*line);
            let apart_v = (point.low_v - theirs_v).abs();
            assert!(apart_v <= LEVEL_V, "{} here, {theirs_v} by ngspice: {stage:?} on {line:?}", point.low_v);
            let control_v = printed(&output, &format!("v(b{case})"));
            assert!((point.control_v - control_v).abs() <= LEVEL_V, "{point:?}: {control_v}");
            worst_v = worst_v.max(apart_v);
            let collector_v = printed(&output, &format!("v(c{case})"));
            if collector_v > 0.6 {
                high += 1;
            } else if collector_v > 0.15 {
                edge += 1;
            }
        }
        println!(
            "{}: {LEVELS} low levels, at most {worst_v:.1e} V apart; {high} out of saturation, {edge} at its edge",
            device.name()
        );
        assert!(high > LEVELS / 10 && edge > 2, "{high} high, {edge} at the edge");
    }
}

#[test]
fn ngspice_turns_the_same_stages_off_sooner_and_later_and_takes_as_long() {
    let mut rng = ChaCha8Rng::seed_from_u64(19_700_813);
    for device in Device::ALL {
        let mut times: Vec<(f64, f64)> = Vec::new();
        let mut worst = 0.0_f64;
        for case in 0..MARKS {
            let stage = OutputStage {
                drive_v: rng.random_range(4.5..5.5),
                base_ohm: log_between(&mut rng, 1e3, 22e3),
                base_pulldown_ohm: log_between(&mut rng, 22e3, 220e3),
                series_ohm: if case % 3 == 0 { 0.0 } else { log_between(&mut rng, 47.0, 680.0) },
                device,
            };
            let source =
                Source { volt: rng.random_range(3.0..12.0), ohm: log_between(&mut rng, 2.2e3, 4.7e4) };
            // Every fourth line has nothing but the transistor on it: its own charge is what takes time.
            let farad = if case % 4 == 0 { 0.0 } else { log_between(&mut rng, 20e-12, 5e-9) };
            let mark_us = rng.random_range(400.0..900.0);
            let report = stage.report(StageLine { source, farad, mark_us });
            let (fall_s, rise_s) =
                spice_edges(&stage, source, farad, mark_us * 1e-6, report.turn_off_us * 1e-6);
            for (ours_s, theirs_s) in
                [(report.edges.fall_s.unwrap(), fall_s), (report.turn_off_us * 1e-6, rise_s)]
            {
                let apart_s = (ours_s - theirs_s).abs();
                assert!(
                    apart_s <= EDGE.0 * theirs_s + EDGE.1,
                    "{ours_s:e} s here, {theirs_s:e} s by ngspice: {stage:?} on {source:?} and {farad:e} F"
                );
            }
            worst = worst.max((report.turn_off_us * 1e-6 / rise_s - 1.0).abs());
            let mark_s = mark_us * 1e-6 + rise_s - fall_s;
            assert!((report.mark_at_line_us * 1e-6 / mark_s - 1.0).abs() < 2e-3, "{report:?}");
            times.push((report.turn_off_us * 1e-6, rise_s));
        }
        times.sort_by(|a, b| a.0.total_cmp(&b.0));
        assert!(
            times.windows(2).all(|pair| pair[0].1 <= pair[1].1 * (1.0 + EDGE.0)),
            "the order differs: {times:?}"
        );
        let (first, last) = (times[0].1 * 1e6, times[MARKS - 1].1 * 1e6);
        println!(
            "{}: {MARKS} turn-offs from {first:.3} to {last:.1} µs, at most {:.1} % apart",
            device.name(),
            worst * 100.0
        );
        assert!(last > 20.0 * first, "{first} to {last}");
    }
}

/// The mark's edges by ngspice: from the pin's edges until the line passes the threshold, in seconds.
fn spice_edges(stage: &OutputStage, source: Source, farad: f64, mark_s: f64, about_s: f64) -> (f64, f64) {
    let delay_s = 1e-6;
    let drive = format!("PULSE(0 {:e} {delay_s:e} 1n 1n {mark_s:e} 1)", stage.drive_v);
    let mut netlist = format!("a mark\n{MODELS}");
    write_stage(&mut netlist, 0, stage, source, &drive);
    if farad > 0.0 {
        writeln!(netlist, "Cl0 l0 0 {farad:e}").unwrap();
    }
    let threshold_v = THRESHOLD_SHARE * source.volt;
    let end_s = delay_s + mark_s + 20.0 * about_s + 1e-6;
    let step_s = (about_s / 200.0).max(2e-10);
    writeln!(
        netlist,
        ".control\nset numdgt=15\ntran {step_s:e} {end_s:e} 0 {:e}\n\
         meas tran fall trig v(p0) val={on:e} rise=1 targ v(l0) val={threshold_v:e} fall=1\n\
         meas tran rise trig v(p0) val={on:e} fall=1 targ v(l0) val={threshold_v:e} rise=1\n\
         quit 0\n.endc\n.end",
        (mark_s / 100.0).min(about_s / 5.0).max(1e-9),
        on = stage.drive_v / 2.0
    )
    .unwrap();
    let output = run_ngspice(&netlist);
    (printed(&output, "fall"), printed(&output, "rise"))
}

/// The stage as SPICE elements, written from the meaning of the fields. Node `p` is the pin, `b` base or
/// gate, `c` collector or drain, `l` the line, `s` the stereo's own supply.
fn write_stage(netlist: &mut String, case: usize, stage: &OutputStage, line: Source, drive: &str) {
    let OutputStage { drive_v: _, base_ohm, base_pulldown_ohm, series_ohm, device } = stage;
    writeln!(netlist, "Vp{case} p{case} 0 {drive}\nRb{case} p{case} b{case} {base_ohm:e}").unwrap();
    if base_pulldown_ohm.is_finite() {
        writeln!(netlist, "Rd{case} b{case} 0 {base_pulldown_ohm:e}").unwrap();
    }
    let model = format!("M{}", device.name());
    if device.is_mosfet() {
        writeln!(netlist, "M{case} c{case} b{case} 0 0 {model} L=1u W=1u").unwrap();
        // Ciss 27 pF, Coss 13 pF, Crss 6 pF.
        writeln!(netlist, "Cgs{case} b{case} 0 21p\nCgd{case} b{case} c{case} 6p\nCds{case} c{case} 0 7p")
            .unwrap();
    } else {
        writeln!(netlist, "Q{case} c{case} b{case} 0 {model}").unwrap();
    }
    // SPICE makes a resistor of 0 Ω one of a milliohm; a source of 0 V is a wire.
    if *series_ohm > 0.0 {
        writeln!(netlist, "Rs{case} l{case} c{case} {series_ohm:e}").unwrap();
    } else {
        writeln!(netlist, "Vs{case} l{case} c{case} 0").unwrap();
    }
    writeln!(netlist, "Vu{case} s{case} 0 DC {:e}\nRu{case} s{case} l{case} {:e}", line.volt, line.ohm)
        .unwrap();
}

/// A value as likely in one decade as in another.
fn log_between(rng: &mut ChaCha8Rng, low: f64, high: f64) -> f64 {
    rng.random_range(low.ln()..high.ln()).exp()
}

/// What ngspice prints for this netlist.
fn run_ngspice(netlist: &str) -> String {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("stage.cir");
    std::fs::write(&file, netlist).unwrap();
    let output = Command::new("ngspice").args(["-b", "-n"]).arg(&file).output().unwrap_or_else(|error| {
        panic!(
            "ngspice did not start ({error}). It is the Debian package ngspice: \
             apt-get install --no-install-recommends ngspice"
        )
    });
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(output.status.success(), "{text}{}", String::from_utf8_lossy(&output.stderr));
    text
}

/// The value after `name =`, which must be there and a number.
fn printed(output: &str, name: &str) -> f64 {
    let value = output
        .lines()
        .find_map(|line| line.strip_prefix(name)?.trim_start().strip_prefix('='))
        .and_then(|rest| rest.split_whitespace().next())
        .unwrap_or_else(|| panic!("ngspice did not print {name}:\n{output}"));
    value.parse().unwrap_or_else(|_| panic!("ngspice printed {name} = {value}"))
}
