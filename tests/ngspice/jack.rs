//! Remote inputs at random: what a meter would read at them by ngspice, and what the box's output
//! stage makes of them there.

use std::fmt::Write as _;

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use spokewire::circuit::{Jack, JackContact, JackVerdict, JackWants, LOAD_OHM, OutputStage};

use super::{log_between, printed, run_ngspice};

/// How many inputs.
const INPUTS: usize = 120;

/// A public SPICE model of the 2N3904, from memory of it: a typical one, where the program goes by the
/// datasheet's limits.
const MODEL: &str = ".model Q2N3904 NPN(Is=6.734f Xti=3 Eg=1.11 Vaf=74.03 Bf=416.4 Ne=1.259 Ise=6.734f \
                     Ikf=66.78m Xtb=1.5 Br=.7371 Nc=2 Isc=0 Ikr=0 Rc=1 Rb=10)";

#[test]
fn ngspice_reads_what_the_pull_up_is_found_from_and_pulls_no_line_higher_than_promised() {
    let mut rng = ChaCha8Rng::seed_from_u64(19_040_039);
    let inputs: Vec<_> =
        (0..INPUTS).map(|_| (rng.random_range(2.0..15.0), log_between(&mut rng, 150.0, 4e5))).collect();
    let OutputStage { drive_v, base_ohm, base_pulldown_ohm, series_ohm, .. } = OutputStage::default();
    assert_eq!(series_ohm, 0.0, "the netlist has no part between collector and line");
    let (mut netlist, mut prints) = (format!("remote inputs\n{MODEL}\n"), String::new());
    for (case, (volt, ohm)) in inputs.iter().enumerate() {
        // With nothing on it, with 1 kΩ behind an ammeter, and pulled low by the box.
        writeln!(netlist, "V{case} s{case} 0 DC {volt:e}").unwrap();
        writeln!(netlist, "R{case}a s{case} idle{case} {ohm:e}").unwrap();
        writeln!(netlist, "R{case}b s{case} m{case} {ohm:e}").unwrap();
        writeln!(netlist, "Vload{case} m{case} r{case} DC 0\nR{case}l r{case} 0 {LOAD_OHM:e}").unwrap();
        writeln!(netlist, "R{case}c s{case} line{case} {ohm:e}").unwrap();
        writeln!(netlist, "Vpin{case} p{case} 0 DC {drive_v:e}\nRb{case} p{case} b{case} {base_ohm:e}")
            .unwrap();
        writeln!(netlist, "Rd{case} b{case} 0 {base_pulldown_ohm:e}").unwrap();
        writeln!(netlist, "Q{case} line{case} b{case} 0 Q2N3904").unwrap();
        writeln!(prints, "print v(idle{case}) i(vload{case}) v(line{case}) v(b{case})").unwrap();
    }
    writeln!(netlist, ".control\nset numdgt=15\nop\n{prints}quit 0\n.endc\n.end").unwrap();
    let output = run_ngspice(&netlist);

    let (mut promised, mut highest_v) = (0, 0.0_f64);
    for (case, (volt, ohm)) in inputs.into_iter().enumerate() {
        let read = |what: &str| printed(&output, &format!("{what}{case})"));
        let jack = Jack {
            contact: Some(JackContact::Tip),
            grounded: Some(true),
            idle_v: Some(read("v(idle")),
            loaded_a: Some(read("i(vload")),
            wants: Some(JackWants::Pulses),
            ..Jack::default()
        };
        let found = jack.pull_up_ohm().unwrap();
        assert!((found / ohm - 1.0).abs() < 1e-5, "{volt} V behind {ohm} Ω: {found} Ω");
        let base_a = (drive_v - read("v(b")) / base_ohm - read("v(b") / base_pulldown_ohm;
        let ours_a = OutputStage::default().base_a();
        assert!((base_a / ours_a - 1.0).abs() < 0.1, "{base_a} A by ngspice, {ours_a} A here");
        let JackVerdict::PulseInput { low_v, .. } = jack.report().verdict else { panic!("{jack:?}") };
        if let Some(low_v) = low_v {
            let line_v = read("v(line");
            assert!(line_v <= low_v, "{volt} V behind {ohm} Ω: {line_v} V by ngspice, {low_v} V promised");
            (promised, highest_v) = (promised + 1, highest_v.max(line_v));
        }
    }
    assert!(promised > INPUTS / 2, "only {promised} low levels were promised");
    println!("{promised} of {INPUTS} promised at most 0.2 V; the highest by ngspice is {highest_v:.3} V");
}
