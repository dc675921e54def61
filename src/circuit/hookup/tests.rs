//! Hook-ups against published and hand-computed values, and against the closed forms.

use super::*;
use crate::circuit::{Reference, converter_count, external_reference_v};
use crate::wheel::Topology;
use proptest::prelude::*;

/// The hook-up of FACTS B1: 5 V, 1 kΩ to ground.
fn pull_down(topology: Topology, ohm: &[f64], end_ohm: Option<f64>) -> Hookup {
    Hookup {
        feed_v: 5.0,
        sense: Sense::PullDown,
        sense_ohm: 1_000.0,
        ladder: Ladder { topology, ohm: ohm.to_vec(), end_ohm },
        end_return: EndReturn::Ladder,
        contact_ohm: 0.0,
        leak_ohm: None,
    }
}

/// The reading of FACTS B1: against 3.3 V through 5.1 kΩ, 2.846 V.
fn count(hookup: &Hookup, pressed: &[usize]) -> u16 {
    let reference_v = external_reference_v(3.3, 5_100.0, 32_000.0);
    converter_count(1024.0 * hookup.node(pressed).unwrap().volt / reference_v).unwrap()
}

/// FACTS B1, series-tap examples (computed there).
#[test]
fn a_chain_of_taps_reads_as_computed_and_a_pair_as_its_nearer_tap() {
    let hookup = pull_down(Topology::Series, &[1200.0, 820.0, 1200.0, 2200.0, 3900.0], None);
    let counts = [817, 595, 426, 280, 174];
    for near in 1..=5 {
        assert_eq!(count(&hookup, &[near]), counts[near - 1]);
        for far in near + 1..=5 {
            assert_eq!(count(&hookup, &[far, near]), counts[near - 1], "{near} and {far}");
        }
    }
    assert_eq!(count(&hookup, &[]), 0);
}

/// FACTS B1, parallel examples (computed there).
#[test]
fn a_parallel_ladder_reads_as_computed_alone_and_in_pairs() {
    let hookup = pull_down(Topology::Parallel, &[2200.0, 4700.0, 10_000.0], None);
    let read = |pressed: &[usize]| count(&hookup, pressed);
    assert_eq!([read(&[1]), read(&[2]), read(&[3])], [562, 315, 163]);
    // Printed rounded there: 719.97, 428.60 and 641.72.
    assert_eq!([read(&[1, 2]), read(&[2, 3]), read(&[1, 3])], [719, 428, 641]);
}

/// FACTS B1, end-of-line example (computed there).
#[test]
fn an_end_of_line_resistor_lifts_rest_off_a_broken_wire() {
    let hookup = pull_down(Topology::Parallel, &[1_000.0, 2_200.0, 4_700.0, 10_000.0], Some(22_000.0));
    let read: Vec<_> = (1..=4).map(|button| count(&hookup, &[button])).collect();
    assert_eq!(read, [919, 599, 369, 228]);
    assert_eq!(count(&hookup, &[]), 78);
    let broken = pull_down(Topology::Parallel, &[1_000.0], None);
    assert_eq!(count(&broken, &[]), 0);
}

/// FACTS C11: open wired headset specification 1.1. 2.2 V through 2.2 kΩ; the counts computed
/// there.
#[test]
fn a_headset_button_ladder_reads_as_its_specification_says() {
    let hookup = Hookup {
        feed_v: 2.2,
        sense: Sense::PullUp,
        sense_ohm: 2_200.0,
        ..pull_down(Topology::Parallel, &[0.0, 135.0, 240.0, 470.0], None)
    };
    let expected = [(0.0, 0), (0.127_19, 59), (0.216_39, 100), (0.387_27, 180)];
    for (button, (volt, count)) in (1..).zip(expected) {
        let point = hookup.node(&[button]).unwrap();
        assert!((point.volt - volt).abs() < 0.5e-5, "{button}: {}", point.volt);
        assert_eq!(converter_count(1024.0 * point.volt / 2.2), Some(count));
    }
}

/// By hand, in kΩ: 5 V, steps of 1 and 2, sense 1, end 3 to ground. Nothing pressed: the chain
/// alone, 5 V over 6. Button 2: tap 2 sees 3 beside 1.
#[test]
fn an_end_to_ground_loads_a_pull_down_chain_and_its_feed() {
    let hookup = Hookup {
        end_return: EndReturn::Ground,
        ..pull_down(Topology::Series, &[1_000.0, 2_000.0], Some(3_000.0))
    };
    let rest = hookup.node(&[]).unwrap();
    assert_eq!(rest.volt, 0.0);
    assert!((rest.feed_amp - 5.0 / 6_000.0).abs() < 1e-18);
    let second = hookup.node(&[2]).unwrap();
    assert!((second.volt - 5.0 * 750.0 / 3_750.0).abs() < 1e-15);
    assert!((second.feed_amp - 5.0 / 3_750.0).abs() < 1e-18);
    let own = Hookup { end_return: EndReturn::Ladder, ..hookup };
    assert!((own.node(&[]).unwrap().volt - 5.0 / 7.0).abs() < 1e-15);
}

#[test]
fn an_end_to_ground_on_a_parallel_pull_down_only_loads_the_feed() {
    let with =
        Hookup { end_return: EndReturn::Ground, ..pull_down(Topology::Parallel, &[3_000.0], Some(1_000.0)) };
    let without = pull_down(Topology::Parallel, &[3_000.0], None);
    let (loaded, free) = (with.node(&[1]).unwrap(), without.node(&[1]).unwrap());
    assert_eq!((loaded.volt, free.volt), (1.25, 1.25));
    assert!((loaded.feed_amp - free.feed_amp - 0.005).abs() < 1e-17);
}

#[test]
fn no_ohms_anywhere_ties_the_node_to_the_feed_or_to_ground() {
    let down = pull_down(Topology::Series, &[0.0, 0.0], None);
    for pressed in [&[1][..], &[2], &[1, 2]] {
        assert_eq!(down.node(pressed), Ok(NodePoint { volt: 5.0, feed_amp: 0.005 }));
    }
    let up = Hookup { sense: Sense::PullUp, ..down };
    assert_eq!(up.node(&[2]), Ok(NodePoint { volt: 0.0, feed_amp: 0.005 }));
    assert_eq!(up.node(&[]), Ok(NodePoint { volt: 5.0, feed_amp: 0.0 }));
}

proptest! {
    #[test]
    fn a_ladder_seen_as_one_resistance_gives_the_same_volts_and_current(
        ohm in prop::collection::vec(prop_oneof![5 => 1.0..2e4_f64, 1 => Just(0.0)], 1..9),
        is_series in any::<bool>(), is_pull_down in any::<bool>(), mask in 0_u32..256,
        end_ohm in prop::option::of(100.0..5e4_f64), leak_ohm in prop::option::of(1e3..1e7_f64),
        contact_ohm in prop_oneof![Just(0.0), 0.01..300.0_f64], sense_ohm in 100.0..1e4_f64,
    ) {
        let circuit = Circuit { feed_monitor: None,
 filter: Default::default(),
 module: None,
            sense: if is_pull_down { Sense::PullDown } else { Sense::PullUp },
            sense_ohm, feed_v: 5.0, reference: Reference::Supply, contact_ohm, leak_ohm,
        };
        let topology = if is_series { Topology::Series } else { Topology::Parallel };
        let ladder = Ladder { topology, ohm, end_ohm };
        let pressed: Vec<_> = (1..=ladder.ohm.len()).filter(|k| mask >> (k - 1) & 1 == 1).collect();
        let seen_ohm = ladder.seen_ohm(&pressed, contact_ohm).unwrap();
        let point = Hookup::new(&circuit, ladder).node(&pressed).unwrap();
        prop_assert!((point.volt - circuit.node_v(seen_ohm)).abs() < 1e-12);
        let feed_amp = match circuit.sense {
            Sense::PullUp => (5.0 - point.volt) / sense_ohm,
            Sense::PullDown => point.volt / sense_ohm + leak_ohm.map_or(0.0, |leak| point.volt / leak),
        };
        prop_assert!((point.feed_amp - feed_amp).abs() < 1e-12 * (1.0 + feed_amp));
    }
}

#[test]
fn what_cannot_be_is_said_with_its_value_and_what_to_do() {
    let good = pull_down(Topology::Series, &[100.0], None);
    let said = |hookup: Hookup, pressed: &[usize]| hookup.node(pressed).unwrap_err().to_string();
    assert_eq!(
        said(Hookup { feed_v: -5.0, ..good.clone() }, &[]),
        "The feed is -5 V. Give the voltage that feeds the ladder, above 0 V."
    );
    assert_eq!(
        said(Hookup { sense_ohm: 0.0, ..good.clone() }, &[]),
        "The sense resistor is 0 Ω. Give its value by the meter, above 0 Ω."
    );
    assert_eq!(
        said(Hookup { contact_ohm: f64::NAN, ..good.clone() }, &[]),
        "The contact is NaN Ω. Give 0 Ω or more."
    );
    assert!(
        said(Hookup { leak_ohm: Some(-1.0), ..good.clone() }, &[]).starts_with("The leak to ground is -1 Ω.")
    );
    assert!(said(good, &[2]).starts_with("Button 2 is pressed, but the ladder's buttons are 1 to 1."));
    let shorted = Hookup { leak_ohm: Some(0.0), ..pull_down(Topology::Series, &[0.0], None) };
    assert_eq!(
        said(shorted, &[1]),
        "The feed of 5 V is shorted to ground: every resistance in one path is 0 Ω. Give the contact, \
         the leak or a step its real value."
    );
    let huge = Hookup { feed_v: 1e308, sense_ohm: 1e-9, ..pull_down(Topology::Series, &[0.0], None) };
    assert_eq!(
        said(huge, &[1]).replace(&"0".repeat(308), "…"),
        "With a feed of 1… V the current is beyond any number. Give the feed in volts and resistances in \
         ohms."
    );
}
