//! Two buttons at once, as a project tells them.

use proptest::prelude::*;

use super::together::{Falls, Harm, Reaches, Together, TogetherError, TwoButtons, together};
use super::{Button, ButtonId, LearnedButton, Project, WireInfo, bands};
use crate::bands::{Accept, Press, RestLevel, Touch};
use crate::circuit::{Circuit, Hookup, Reference, Sense};
use crate::units::SCALE_COUNT;
use crate::wheel::{Ladder, Topology};

/// The circuit of FACTS B1: 5 V, 1 kΩ to ground, 3.3 V through 5.1 kΩ as reference.
fn as_published() -> Circuit {
    Circuit {
        sense: Sense::PullDown,
        sense_ohm: 1_000.0,
        feed_v: 5.0,
        reference: Reference::External { volt: 3.3, series_ohm: 5_100.0 },
        contact_ohm: 0.0,
        leak_ohm: None,
        feed_monitor: None,
        filter: Default::default(),
    }
}

/// A wheel known by the meter alone.
fn metered(topology: Topology, circuit: Circuit, ohms: &[(&str, f64)]) -> Project {
    let mut project = Project::new("van", "stereo");
    project.wheel.topology = topology;
    project.circuit = Some(circuit);
    for &(name, ohm) in ohms {
        project.wheel.buttons.push(Button {
            id: ButtonId(name.to_lowercase()),
            name: name.to_owned(),
            wire: Some(1),
            meter_ohm: Some(ohm),
        });
    }
    project
}

/// A wheel that was learned: what each button, and rest, read in this hook-up by the network.
fn learned(hookup: &Hookup, circuit: &Circuit) -> Project {
    let mut project = Project::new("van", "stereo");
    project.wheel.topology = hookup.ladder.topology;
    project.circuit = Some(circuit.clone());
    let read = |pressed: &[usize]| network_count(hookup, circuit, pressed).floor();
    let rest = RestLevel { median_count: read(&[]), spread_count: 0.5, readings: 2_000 };
    project.rests.insert(1, rest);
    for number in 1..=hookup.ladder.ohm.len() {
        let id = ButtonId(format!("b{number}"));
        let press = Press {
            median_count: read(&[number]),
            spread_count: 0.5,
            readings: 400,
            touch: Touch::Firm,
            tally: Vec::new(),
        };
        let presses = vec![press; 3];
        project.learned.insert(id.clone(), LearnedButton { presses, indistinct_from: None });
        project.wheel.buttons.push(Button { id, wire: Some(1), ..Button::default() });
    }
    project
}

fn network_count(hookup: &Hookup, circuit: &Circuit, pressed: &[usize]) -> f64 {
    SCALE_COUNT * hookup.node(pressed).unwrap().volt / circuit.reference_v()
}

fn of(project: &Project) -> Together {
    together(project, &bands(project)).unwrap()
}

/// FACTS B1's three parallel buttons, and a fourth that reads what two of them read together.
fn with_a_third_there() -> Project {
    let ohms = [("Up", 2_200.0), ("Down", 4_700.0), ("Next", 10_000.0), ("Mute", 1_500.0)];
    metered(Topology::Parallel, as_published(), &ohms)
}

#[test]
fn a_pair_that_reads_as_a_third_button_is_told_with_its_band() {
    let mut project = with_a_third_there();
    let told = of(&project);
    // 719, 428 and 641 counts: FACTS B1, at its rounded reference of 2.846 V.
    for (a, b, ohm, count) in [(0, 1, 1_498.55, 719), (1, 2, 3_197.28, 428), (0, 2, 1_803.28, 641)] {
        let pair = told.pair(b, a).unwrap();
        assert!((pair.ohm - ohm).abs() < 0.005 && pair.count.abs_diff(count) <= 1, "{pair:?}");
        assert!((pair.volt - 5.0 * 1_000.0 / (1_000.0 + ohm)).abs() < 1e-4);
    }
    let pair = told.pair(0, 1).unwrap();
    assert!(matches!(pair.falls, Falls::Third { button: 3, .. }), "{pair:?}");
    assert_eq!((pair.harm(), pair.falls_on(&project)), (Harm::Mistaken, Some("mute".to_owned())));
    let Falls::Third { accept: Accept { low_count, high_count }, .. } = pair.falls else { unreachable!() };
    let said = format!(
        "Up and Down at once read {}, in Mute's band, {low_count} to {high_count}, on its centre: taken for \
         Mute.",
        pair.count
    );
    assert!(pair.text(&project).starts_with(&said), "{}", pair.text(&project));
    assert!(pair.text(&project).ends_with(" Both have to close within 32 ms."));
    project.plan.rollover = true;
    let pair = of(&project).pair(0, 1).unwrap().clone();
    assert!(pair.text(&project).ends_with(" Rolling from one to the other sends Mute on the way."));
    assert_eq!(told.by_harm()[0].buttons, [0, 1]);
}

#[test]
fn on_a_chain_the_nearer_button_masks_the_other() {
    let taps = [1_200.0, 2_020.0, 3_220.0, 5_420.0, 9_320.0];
    let names = ["A", "B", "C", "D", "E"];
    let ohms: Vec<_> = names.into_iter().zip(taps).collect();
    let project = metered(Topology::Series, as_published(), &ohms);
    let told = of(&project);
    assert_eq!(told.pairs.len(), 10);
    for pair in &told.pairs {
        assert_eq!((pair.falls, pair.ohm), (Falls::One(pair.buttons[0]), taps[pair.buttons[0]]), "{pair:?}");
    }
    let said = told.pair(1, 3).unwrap().text(&project);
    assert!(said.starts_with("B and D at once read 595, as B alone: D is masked."), "{said}");
}

#[test]
fn a_pair_in_nobodys_band_is_ignored() {
    let project = metered(Topology::Parallel, as_published(), &[("Up", 2_200.0), ("Down", 4_700.0)]);
    let pair = of(&project).pairs.remove(0);
    assert_eq!((pair.falls, pair.harm(), pair.falls_on(&project)), (Falls::Nobody, Harm::Ignored, None));
    assert_eq!(pair.text(&project), "Up and Down at once read 719, in nobody's band: ignored.");
}

#[test]
fn what_parts_and_wear_may_make_of_a_pair_is_told_with_the_band_it_may_reach() {
    // 1497 Ω by hand for the pair; 1660 Ω is 40 counts below, nearer than 5 % resistors and 100 Ω of
    // wear may move it.
    let ohms = [("Up", 2_200.0), ("Down", 4_700.0), ("Mute", 1_660.0)];
    let project = metered(Topology::Parallel, as_published(), &ohms);
    let told = of(&project);
    let pair = told.pair(0, 1).unwrap();
    assert_eq!((pair.falls, pair.harm(), pair.third()), (Falls::Nobody, Harm::MayBeMistaken, Some(2)));
    let Some(Reaches { accept, off_count, .. }) = pair.reaches else { panic!("{pair:?}") };
    assert!(off_count > 0 && off_count == pair.count - accept.high_count);
    let said = format!(
        "Up and Down at once read {}, in nobody's band: ignored. It is {off_count} counts above Mute's \
         band, {} to {}, and with heat, cold and wear it reads {} to {}: it may be taken for Mute.",
        pair.count, accept.low_count, accept.high_count, pair.low_count, pair.high_count
    );
    assert_eq!(pair.text(&project), said);
    assert_eq!(told.mistaken(), [0, 1]);
}

#[test]
fn buttons_of_two_wires_have_no_reading_of_their_own() {
    let mut project = with_a_third_there();
    project.wheel.buttons[2].wire = Some(2);
    let told = of(&project);
    assert_eq!(told.apart, [[0, 2], [1, 2], [2, 3]]);
    assert_eq!(told.pairs.iter().map(|pair| pair.buttons).collect::<Vec<_>>(), [[0, 1], [0, 3], [1, 3]]);
    assert_eq!(told.pair(0, 2), None);
}

#[test]
fn a_button_of_unknown_resistance_is_left_out() {
    let mut project = with_a_third_there();
    project.wheel.buttons[1].meter_ohm = None;
    let told = of(&project);
    assert_eq!((told.left_out.as_slice(), told.pairs.len()), (&[1][..], 3));
}

#[test]
fn a_band_that_one_of_the_two_shares_is_no_third_buttons() {
    // Twins on a parallel ladder: a pair with an open-as-rest button reads as one of the twins.
    let circuit = Circuit { reference: Reference::Supply, ..as_published() };
    let hookup = Hookup::new(
        &circuit,
        Ladder { topology: Topology::Series, ohm: vec![500.0, 0.4, 2_000.0], end_ohm: None },
    );
    let mut project = learned(&hookup, &circuit);
    let twin = ButtonId("b1".to_owned());
    project.learned.get_mut(&ButtonId("b2".to_owned())).unwrap().indistinct_from = Some(twin);
    let told = of(&project);
    let pair = told.pair(1, 2).unwrap();
    assert_eq!((pair.falls, pair.harm()), (Falls::One(0), Harm::Masked));
    assert_eq!(pair.falls_on(&project), Some("b1".to_owned()));
    assert!(pair.text(&project).ends_with("in the band shared with b1."), "{}", pair.text(&project));
}

#[test]
fn what_is_missing_is_said() {
    let said = |project: &Project| together(project, &bands(project)).unwrap_err().to_string();
    let mut project = metered(Topology::Series, as_published(), &[("Up", 100.0)]);
    assert_eq!(
        said(&project),
        "Two buttons at once want two buttons with a resistance, and 1 of 1 have one. Learn them, or meter \
         each while pressed and enter it at the Wheel station."
    );
    project.wheel.buttons[0].wire = Some(9);
    assert_eq!(said(&project), "up is on wire 9. Wires are numbered 1 to 2: choose one of those.");
    project.circuit.as_mut().unwrap().sense_ohm = -5.0;
    assert!(matches!(together(&project, &bands(&project)), Err(TogetherError::Circuit(_))));
    project.circuit = None;
    assert_eq!(
        said(&project),
        "The project has no sense circuit, so two buttons at once can't be told. Enter the sense resistor, \
         the feed and the reference at the Circuit station."
    );
}

/// A wheel whose rungs are learned from what the network reads for single presses tells what the
/// network reads for two.
fn foretold(hookup: &Hookup, circuit: &Circuit) -> Vec<(TwoButtons, f64)> {
    let told = of(&learned(hookup, circuit));
    let numbers = |pair: &TwoButtons| pair.buttons.map(|button| button + 1);
    told.pairs
        .into_iter()
        .map(|pair| (pair.clone(), network_count(hookup, circuit, &numbers(&pair))))
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn two_at_once_are_foretold_from_what_was_learned_of_each(
        steps in prop::collection::vec(150.0..900.0_f64, 2..7),
        parallel in any::<bool>(), pull_up in any::<bool>(), contact_ohm in 0.0..30.0_f64,
        end_ohm in prop::option::of(8e3..3e4_f64),
    ) {
        let sense = if pull_up { Sense::PullUp } else { Sense::PullDown };
        let circuit = Circuit { sense, contact_ohm, reference: Reference::Supply, ..as_published() };
        let topology = if parallel { Topology::Parallel } else { Topology::Series };
        let hookup = Hookup::new(&circuit, Ladder { topology, ohm: steps, end_ohm });
        for (pair, count) in foretold(&hookup, &circuit) {
            prop_assert!(pair.learned);
            // Each single reading is off by half a step of the converter.
            prop_assert!((f64::from(pair.count) + 0.5 - count).abs() <= 1.6, "{pair:?}: {count}");
            let reach = f64::from(pair.low_count)..=f64::from(pair.high_count) + 1.0;
            prop_assert!(reach.contains(&count), "{pair:?}: {count}");
        }
    }
}

#[test]
fn an_end_of_line_resistor_that_was_metered_stands_beside_both() {
    let mut project = metered(
        Topology::Parallel,
        Circuit { reference: Reference::Supply, ..as_published() },
        // 2.2 kΩ and 4.7 kΩ beside 22 kΩ each, as the meter sees them.
        &[("Up", 2_000.0), ("Down", 3_872.659_2)],
    );
    project.wheel.wires.insert(1, WireInfo { rest_ohm: Some(22_000.0), ..WireInfo::default() });
    let pair = of(&project).pairs.remove(0);
    // 1 / (1/2200 + 1/4700 + 1/22000).
    assert!((pair.ohm - 1_402.98).abs() < 0.05, "{}", pair.ohm);
}
