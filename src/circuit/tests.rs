//! The sense circuit against published and computed values, and its own inverse.

use super::*;
use proptest::prelude::*;

fn pull_down() -> Circuit {
    Circuit {
        feed_monitor: None,
        filter: Default::default(),
        module: None,
        sense: Sense::PullDown,
        sense_ohm: 1_000.0,
        feed_v: 5.0,
        reference: Reference::Supply,
        contact_ohm: 0.0,
        leak_ohm: None,
    }
}

fn some_circuit() -> impl Strategy<Value = Circuit> {
    (
        any::<bool>(),
        50.0..5e4_f64,
        1.0..16.0_f64,
        prop_oneof![
            Just(Reference::Supply),
            (1.0..6.0_f64).prop_map(|volt| Reference::Internal { volt }),
            (1.0..6.0_f64, 0.0..1e4_f64).prop_map(|(volt, series_ohm)| Reference::External {
                volt,
                series_ohm,
                pin_v: None
            }),
        ],
        prop::option::of(1e3..1e8_f64),
    )
        .prop_map(|(down, sense_ohm, feed_v, reference, leak_ohm)| Circuit {
            feed_monitor: None,
            filter: Default::default(),
            module: None,
            sense: if down { Sense::PullDown } else { Sense::PullUp },
            sense_ohm,
            feed_v,
            reference,
            contact_ohm: 0.0,
            leak_ohm,
        })
}

/// FACTS C10: formula from the ATmega328P datasheet, ADC Conversion Result; values computed there.
#[test]
fn counts_follow_the_datasheets_formula() {
    assert_eq!(converter_count(1024.0 * 2.5 / 5.0), Some(512));
    assert_eq!(converter_count(1024.0 * 1.1 / 5.0), Some(225));
    assert_eq!(converter_count(1024.0), Some(1023));
    assert_eq!(converter_count(f64::INFINITY), Some(1023));
    assert_eq!(converter_count(-3.0), Some(0));
    assert_eq!(converter_count(f64::NAN), None);
}

/// FACTS C1: a public note on the ATmega328P's AREF pin.
#[test]
fn the_reference_input_divides_an_external_reference() {
    let circuit = Circuit {
        reference: Reference::External { volt: 2.5, series_ohm: 5_000.0, pin_v: None },
        ..pull_down()
    };
    assert!((circuit.reference_v() - 2.1622).abs() < 0.5e-4);
}

/// FACTS section 0, item 1 (computed there): learned on one supply, read on another.
#[test]
fn a_reference_apart_from_the_feed_moves_readings_with_the_supply() {
    let apart = |feed_v, volt| Circuit {
        feed_v,
        reference: Reference::External { volt, series_ohm: 5_100.0, pin_v: None },
        ..pull_down()
    };
    for (feed_v, volt, count) in
        [(5.0, 3.3, 562), (4.75, 3.3, 534), (4.5, 3.3, 505), (5.1, 3.3, 573), (5.0, 3.2, 579)]
    {
        assert_eq!(apart(feed_v, volt).count(2_200.0), Some(count), "{feed_v} V, {volt} V");
        assert_eq!(Circuit { feed_v, ..pull_down() }.count(2_200.0), Some(320), "{feed_v} V");
    }
}

/// FACTS section 0, item 2: the reference input's 32 kΩ has no printed limits (datasheet 8161D,
/// table 28-7); the volts at 22 and 42 kΩ computed there.
#[test]
fn a_reference_through_a_resistor_is_only_as_sure_as_the_chips_input() {
    for (input_ohm, volt) in [(32e3, 2.846), (22e3, 2.679), (42e3, 2.943)] {
        assert!((external_reference_v(3.3, 5_100.0, input_ohm) - volt).abs() < 0.5e-3);
    }
}

/// FACTS section 0, item 3 (computed there): 2.85 V reference, 5 V feed, below 0.757 of the sense
/// resistor all read 1023. It counts to the full scale, we to the converter's top one step below:
/// 0.7566 and 0.7583.
#[test]
fn low_taps_saturate_under_a_low_reference() {
    let circuit = Circuit {
        reference: Reference::External { volt: 3.3, series_ohm: 5_100.0, pin_v: None },
        ..pull_down()
    };
    assert_eq!(circuit.count(756.0), Some(1023));
    assert_eq!(circuit.count(0.0), Some(1023));
    assert_eq!(circuit.count(760.0), Some(1022));
    let ohm = circuit.saturates_at_ohm().unwrap();
    assert!((ohm - 758.35).abs() < 0.05, "{ohm}");
    assert!((circuit.ideal_count(ohm) - 1023.0).abs() < 1e-9);
    assert_eq!(pull_down().saturates_at_ohm(), None);
}

/// FACTS B2 (computed there): 200 Ω of contact, 1 kΩ sense resistor, supply reference.
#[test]
fn a_worn_contact_moves_low_taps_most() {
    for (ohm, new, worn) in
        [(330.0, 769, 669), (1e3, 512, 465), (2.2e3, 320, 301), (4.7e3, 179, 173), (10e3, 93, 91)]
    {
        assert_eq!(pull_down().count(ohm), Some(new));
        assert_eq!(pull_down().count(ohm + 200.0), Some(worn));
    }
    assert_eq!(pull_down().wear_moves(), WearMoves::Lower);
    assert_eq!(Circuit { sense: Sense::PullUp, ..pull_down() }.wear_moves(), WearMoves::Higher);
}

#[test]
fn a_whole_count_does_not_fall_to_the_one_below() {
    for feed_v in [1.1, 3.3, 4.7, 5.0, 13.8] {
        let circuit = Circuit { feed_v, ..pull_down() };
        for (ohm, count) in [(0.0, 1023), (1e3, 512), (3e3, 256), (7e3, 128), (1023e3, 1)] {
            assert_eq!(circuit.count(ohm), Some(count), "{feed_v} V, {ohm} Ω");
        }
    }
}

#[test]
fn an_open_wire_and_a_short_stand_at_the_rails() {
    let down = Circuit { leak_ohm: Some(1_000.0), ..pull_down() };
    let up = Circuit { sense: Sense::PullUp, ..pull_down() };
    let leaky = Circuit { leak_ohm: Some(1_000.0), ..up };
    assert_eq!((down.node_v(f64::INFINITY), down.node_v(0.0)), (0.0, 5.0));
    assert_eq!((up.node_v(f64::INFINITY), up.node_v(0.0)), (5.0, 0.0));
    assert_eq!((leaky.node_v(f64::INFINITY), leaky.node_v(0.0)), (2.5, 0.0));
    assert_eq!((up.count(f64::INFINITY), up.count(f64::NAN)), (Some(1023), None));
    assert_eq!((up.node_v(-1.0), down.node_v(-1.0)), (0.0, 5.0));
}

#[test]
fn a_count_at_an_end_is_no_one_resistance() {
    let up = Circuit { sense: Sense::PullUp, ..pull_down() };
    for circuit in [&pull_down(), &up] {
        for count in [f64::NAN, f64::NEG_INFINITY, -1.0, 0.0, 1023.0, 1023.5, 1024.0, f64::INFINITY] {
            assert_eq!(circuit.ohm_from_count(count), None, "{count}");
        }
        assert!(circuit.ohm_from_count(512.0).is_some_and(|ohm| (ohm - 1_000.0).abs() < 1e-9));
    }
    // Above what an open wire reads through its leak, and above what the feed itself reads.
    let leaky = Circuit { leak_ohm: Some(1_000.0), ..up };
    assert_eq!(leaky.ohm_from_count(512.0), None);
    assert_eq!(leaky.ohm_from_count(600.0), None);
    let half = Circuit { reference: Reference::Internal { volt: 10.0 }, ..pull_down() };
    assert_eq!((half.ohm_from_count(512.0), half.ohm_from_count(800.0)), (None, None));
}

proptest! {
    #[test]
    fn a_count_gives_back_its_resistance(circuit in some_circuit(), ohm in 1.0..5e4_f64) {
        let count = circuit.ideal_count(ohm);
        match circuit.ohm_from_count(count) {
            Some(back) => prop_assert!((back - ohm).abs() < 1e-6 * ohm, "{ohm} came back as {back}"),
            None => prop_assert!(count >= 1023.0),
        }
    }

    #[test]
    fn the_slope_is_the_slope(circuit in some_circuit(), ohm in 10.0..5e4_f64) {
        let step = 1e-4 * ohm;
        let chord = (circuit.ideal_count(ohm + step) - circuit.ideal_count(ohm - step)) / (2.0 * step);
        let slope = circuit.slope_count_per_ohm(ohm);
        prop_assert!((slope - chord).abs() < 1e-5 * slope.abs(), "{slope} and {chord}");
        prop_assert_eq!(slope > 0.0, circuit.wear_moves() == WearMoves::Higher);
    }

    #[test]
    fn the_node_is_a_source_that_a_leak_loads(
        circuit in some_circuit(), ohm in 0.0..5e4_f64, load_ohm in 100.0..1e6_f64,
    ) {
        let loaded = Circuit {
            leak_ohm: Some(crate::wheel::beside(load_ohm, circuit.leak_ohm.unwrap_or(f64::INFINITY))),
            ..circuit
        };
        prop_assert!((circuit.source(ohm).loaded_v(load_ohm) - loaded.node_v(ohm)).abs() < 1e-12 * 16.0);
    }
}

#[test]
fn an_open_wire_has_no_slope() {
    for sense in [Sense::PullDown, Sense::PullUp] {
        for leak_ohm in [None, Some(1e4)] {
            let circuit = Circuit { sense, leak_ohm, ..pull_down() };
            assert_eq!(circuit.slope_count_per_ohm(f64::INFINITY).abs(), 0.0);
        }
    }
}

/// FACTS section 0, item 2: 3.3 V through 5.1 kΩ is 2.846 V at the typical 32 kΩ, 2.679 V at 22 kΩ and
/// 2.943 V at 42 kΩ; what a meter reads at the pin is neither.
#[test]
fn what_is_measured_at_the_reference_pin_wins_over_what_is_computed() {
    for (input_ohm, volt) in [(32e3, 2.846), (22e3, 2.679), (42e3, 2.943)] {
        assert!((external_reference_v(3.3, 5_100.0, input_ohm) - volt).abs() < 0.5e-3, "{input_ohm}");
    }
    let external = |pin_v| Circuit {
        reference: Reference::External { volt: 3.3, series_ohm: 5_100.0, pin_v },
        ..pull_down()
    };
    assert!((external(None).reference_v() - 2.846).abs() < 0.5e-3);
    assert_eq!(external(Some(2.71)).reference_v(), 2.71);
    assert_eq!(external(Some(0.0)).check(), [Problem::Reference { volt: 0.0 }]);
}

/// FACTS C8 (Thevenin worked example): a module that divides 24 V by 1 kΩ over 2 kΩ is 16 V behind
/// 667 Ω. One of a vehicle, at most 5 V, is the source of a pull-up in the same way.
#[test]
fn a_factory_module_is_a_pull_up_with_volts_of_its_own() {
    let inside = Source::divider(24.0, 1_000.0, 2_000.0);
    let module = Circuit {
        sense: Sense::PullUp,
        feed_v: inside.volt / 4.0,
        sense_ohm: inside.ohm,
        module: Some(Module { supply_v: 5.0 }),
        ..pull_down()
    };
    assert!(module.check().is_empty(), "{:?}", module.check());
    let at = Source { volt: inside.volt / 4.0, ohm: inside.ohm };
    for ohm in [0.0, 82.0, 666.67, 4_862.0, f64::INFINITY] {
        assert!((module.node_v(ohm) - at.loaded_v(ohm)).abs() < 1e-9, "{ohm}");
    }
    assert_eq!(module.reference_v(), 5.0);
    assert!(!module.is_ratiometric() && pull_down().is_ratiometric());
    // 4 V at rest against the box's 5 V: 819 of 1024.
    assert_eq!(module.count(f64::INFINITY), Some(819));

    let refused = |circuit: Circuit| circuit.check()[0].to_string();
    assert_eq!(
        refused(Circuit { feed_v: 8.5, ..module }),
        "The factory module holds the wire at 8.50 V at rest, and the box's pins take 5.00 V at most. \
         Disconnect the module and pull the wire up to the box's own supply, or leave it alone."
    );
    assert_eq!(
        refused(Circuit { sense: Sense::PullDown, ..module }),
        "A factory module pulls the wire up, and the circuit has a sense resistor to ground. Choose the \
         module's pull-up, or disconnect the module."
    );
    assert_eq!(
        refused(Circuit { module: Some(Module { supply_v: f64::NAN }), ..module }),
        "The box's own supply is NaN V. Give its voltage by the meter, above 0 V."
    );
}
