//! Drift against true corners, closed forms, and what must hold of any circuit.

use proptest::prelude::*;

use super::*;
use crate::circuit::FeedMonitor;

fn circuit(sense: Sense, reference: Reference) -> Circuit {
    Circuit {
        sense,
        sense_ohm: 1_000.0,
        feed_v: 5.0,
        reference,
        contact_ohm: 0.0,
        leak_ohm: None,
        feed_monitor: None,
        filter: Default::default(),
        module: None,
    }
}

fn near(value: f64, wanted: f64, within: f64) {
    assert!((value - wanted).abs() <= within, "{value} instead of {wanted} ± {within}");
}

/// FACTS B2, computed: 200 Ω of contact with a sense resistor of 1 kΩ to ground and the supply as
/// reference take 330 Ω from 769 to 669, 1 kΩ from 512 to 465, 2.2 kΩ from 320 to 301, 4.7 kΩ from 179 to
/// 173 and 10 kΩ from 93 to 91.
#[test]
fn worn_contacts_move_a_pull_down_as_the_table_says() {
    let circuit = circuit(Sense::PullDown, Reference::Supply);
    let parts = Parts { wear_ohm: 200.0, ..Parts::default() };
    for (ohm, new, worn) in
        [(330.0, 769, 669), (1e3, 512, 465), (2.2e3, 320, 301), (4.7e3, 179, 173), (10e3, 93, 91)]
    {
        assert_eq!(circuit.count(ohm), Some(new));
        let wear = drift(&circuit, &parts, ohm, true, 0.0).wear;
        assert_eq!((circuit.ideal_count(ohm) - wear.down_count).floor() as u16, worn);
        assert_eq!(wear.up_count, 0.0, "wear goes one way");
    }
}

/// FACTS section 0, row 1, computed: 2.2 kΩ over 1 kΩ against 3.3 V through 5.1 kΩ reads 562 at a feed of
/// 5.00 V, 534 at 4.75 V, 505 at 4.50 V and 573 at 5.10 V; against the supply always 320.
#[test]
fn a_feed_off_its_plan_moves_what_is_no_ratio() {
    let external =
        circuit(Sense::PullDown, Reference::External { volt: 3.3, series_ohm: 5_100.0, pin_v: None });
    let read = |circuit: &Circuit, feed_v: f64| {
        let stress = Stress { feed_share: feed_v / 5.0 - 1.0, ..Stress::default() };
        stressed_count(circuit, 2_200.0, &stress).floor() as u16
    };
    assert_eq!([5.0, 4.75, 4.5, 5.1].map(|feed_v| read(&external, feed_v)), [562, 534, 505, 573]);
    let supply = circuit(Sense::PullDown, Reference::Supply);
    assert_eq!([5.0, 4.75, 4.5, 5.1].map(|feed_v| read(&supply, feed_v)), [320; 4]);
    let parts = Parts { feed_tolerance: 0.1, ..Parts::default() };
    let feed = drift(&external, &parts, 2_200.0, true, 0.0).feed;
    near(external.ideal_count(2_200.0) - feed.down_count, 0.9 * 562.2, 0.2);
    assert_eq!(drift(&supply, &parts, 2_200.0, true, 0.0).feed, Shift::default());
    // FACTS section 0, row 1: 3.3 V that are 3.2 V read 579.
    let low = Stress { reference_share: 3.2 / 3.3 - 1.0, ..Stress::default() };
    assert_eq!(stressed_count(&external, 2_200.0, &low).floor(), 579.0);
}

/// FACTS B2: 25 to 90 °C at 100 ppm/K is 0.65 %, at 200 ppm/K 1.3 %. By hand: the share of a pull-up is
/// 1 / (1 + Rs/R).
#[test]
fn heat_takes_the_ladder_up_and_the_sense_resistor_down_at_worst() {
    let circuit = circuit(Sense::PullUp, Reference::Supply);
    let parts = Parts { cold_c: 25.0, hot_c: 90.0, ..Parts::default() };
    let temperature = drift(&circuit, &parts, 922.0, true, 0.0).temperature;
    let at = |ladder: f64, sense: f64| 1_024.0 / (1.0 + 1_000.0 * (1.0 + sense) / (922.0 * (1.0 + ladder)));
    near(temperature.up_count, at(0.013, -0.006_5) - at(0.0, 0.0), 1e-9);
    near(temperature.down_count, at(0.0, 0.0) - at(-0.013, 0.006_5), 1e-9);
    assert_eq!(drift(&circuit, &parts, f64::INFINITY, false, 0.0).temperature, Shift::default());
}

#[test]
fn a_feed_monitor_takes_feed_and_reference_out_and_puts_its_divider_in() {
    let monitored = Circuit {
        feed_monitor: Some(FeedMonitor { upper_ohm: 10e3, lower_ohm: 10e3 }),
        ..circuit(Sense::PullUp, Reference::Internal { volt: 5.0 })
    };
    let found = drift(&monitored, &Parts::default(), 1_000.0, true, 0.0);
    assert_eq!(found.feed, Shift::default());
    // Half of 50 ppm/K over 65 K, of 512 counts.
    near(found.reference.up_count, 512.0 * 0.5 * 50e-6 * 65.0, 2e-3);
    let bare = Circuit { feed_monitor: None, ..monitored };
    near(drift(&bare, &Parts::default(), 1_000.0, true, 0.0).reference.down_count, 512.0 * 0.00975, 0.06);
}

#[test]
fn what_is_no_number_moves_nothing() {
    let bad = Circuit { sense_ohm: f64::NAN, ..circuit(Sense::PullUp, Reference::Supply) };
    assert_eq!(drift(&bad, &Parts::default(), 500.0, true, 2.0), Drift::default());
    let good = circuit(Sense::PullUp, Reference::Supply);
    assert_eq!(drift(&good, &Parts::default(), f64::NAN, true, 2.0), Drift::default());
    let nonsense = Parts {
        wear_ohm: f64::NAN,
        cold_c: f64::NAN,
        hot_c: f64::NAN,
        feed_tolerance: f64::NAN,
        ..Parts::default()
    };
    let found = drift(&good, &nonsense, 500.0, true, f64::NAN);
    assert_eq!(found, Drift::default());
}

fn any_circuit() -> impl Strategy<Value = Circuit> {
    let reference = prop_oneof![
        Just(Reference::Supply),
        (2.0..5.0_f64).prop_map(|volt| Reference::Internal { volt }),
        (3.0..6.0_f64, 0.0..8e3_f64).prop_map(|(volt, series_ohm)| Reference::External {
            volt,
            series_ohm,
            pin_v: None
        }),
    ];
    let monitor = proptest::option::of((1e3..1e5_f64, 1e3..1e5_f64));
    let leak = proptest::option::of(1e4..1e6_f64);
    (any::<bool>(), 100.0..10e3_f64, reference, monitor, leak, 0.0..50.0_f64).prop_map(
        |(up, sense_ohm, reference, monitor, leak_ohm, contact_ohm)| Circuit {
            sense_ohm,
            leak_ohm,
            contact_ohm,
            feed_monitor: monitor.map(|(upper_ohm, lower_ohm)| FeedMonitor { upper_ohm, lower_ohm }),
            ..circuit(if up { Sense::PullUp } else { Sense::PullDown }, reference)
        },
    )
}

fn any_parts() -> impl Strategy<Value = Parts> {
    let share = 0.0..0.1_f64;
    (0.0..1e-3_f64, 0.0..1e-3_f64, 0.0..500.0_f64, -60.0..25.0_f64, 25.0..150.0_f64, share).prop_map(
        |(sense_per_k, ladder_per_k, wear_ohm, cold_c, hot_c, feed_tolerance)| Parts {
            sense_per_k,
            ladder_per_k,
            wear_ohm,
            cold_c,
            hot_c,
            feed_tolerance,
            ..Parts::default()
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// Every one of the 2⁵ corners, the circuit worked out anew at each, without the module's own idea of
    /// which way a change moves a reading.
    #[test]
    fn no_corner_lies_outside_the_whole_drift(
        circuit in any_circuit(), parts in any_parts(), ohm in 1.0..20e3_f64,
    ) {
        let now = circuit.ideal_count(ohm.max(circuit.contact_ohm)).min(TOP_COUNT);
        let ohm = ohm.max(circuit.contact_ohm);
        let found = drift(&circuit, &parts, ohm, true, 0.0);
        let away_k = (25.0 - parts.cold_c).max(parts.hot_c - 25.0);
        let (mut low, mut high) = (f64::MAX, f64::MIN);
        for corner in 0..32_u32 {
            let sign = |bit: u32| if corner >> bit & 1 == 1 { 1.0 } else { -1.0 };
            let ladder = (ohm - circuit.contact_ohm) * (1.0 + sign(0) * parts.ladder_per_k * away_k);
            let worn = if sign(1) > 0.0 { parts.wear_ohm } else { 0.0 };
            let there = Circuit {
                sense_ohm: circuit.sense_ohm * (1.0 + sign(2) * parts.sense_per_k * away_k),
                ..circuit.clone()
            };
            let mut count = there.ideal_count(ladder + circuit.contact_ohm + worn);
            if circuit.reference != Reference::Supply {
                match circuit.feed_monitor {
                    None => {
                        count *= 1.0 + sign(3) * parts.feed_tolerance;
                        count /= 1.0 + sign(4) * 150e-6 * away_k;
                    }
                    Some(monitor) => {
                        let share = monitor.upper_ohm / (monitor.upper_ohm + monitor.lower_ohm);
                        count /= 1.0 + sign(4) * 50e-6 * share * away_k;
                    }
                }
            }
            low = low.min(count.clamp(0.0, 1_023.0));
            high = high.max(count.clamp(0.0, 1_023.0));
        }
        prop_assert!((found.whole.down_count - (now - low)).abs() < 1e-6, "{found:?} {low} {now}");
        prop_assert!((found.whole.up_count - (high - now)).abs() < 1e-6, "{found:?} {high} {now}");
    }

    #[test]
    fn drift_grows_with_every_limit_and_is_nothing_without_any(
        circuit in any_circuit(), parts in any_parts(), ohm in 60.0..20e3_f64, more in 1.0..2.0_f64,
    ) {
        let less = drift(&circuit, &parts, ohm, true, 1.0);
        let wider = Parts {
            sense_per_k: parts.sense_per_k * more,
            ladder_per_k: parts.ladder_per_k * more,
            wear_ohm: parts.wear_ohm * more,
            feed_tolerance: parts.feed_tolerance * more,
            ..parts.clone()
        };
        let wide = drift(&circuit, &wider, ohm, true, 1.0);
        for (less, wide) in [
            (less.feed, wide.feed), (less.temperature, wide.temperature), (less.wear, wide.wear),
            (less.whole, wide.whole),
        ] {
            prop_assert!(wide.down_count >= less.down_count - 1e-9 && wide.up_count >= less.up_count - 1e-9);
        }
        let still = Parts {
            cold_c: 25.0, hot_c: 25.0, wear_ohm: 0.0, feed_tolerance: 0.0, ..parts.clone()
        };
        prop_assert_eq!(drift(&circuit, &still, ohm, true, 0.0), Drift::default());
        // At rest there is no contact, so nothing wears.
        prop_assert_eq!(drift(&circuit, &parts, ohm, false, 0.0).wear, Shift::default());
    }
}

/// By hand, `1024 · V / V_ref` (ATmega328P datasheet, ADC Conversion Result): a module of 3.3 V behind
/// 1 kΩ under 1 kΩ reads 1024 · 1.65 / 5; 5 % less of its supply is 5 % less, 5 % less of the box's is a
/// twentieth in the divisor, and a monitor that watches another feed would take out neither.
#[test]
fn beside_a_factory_module_both_supplies_move_a_reading() {
    let supply = Circuit {
        feed_v: 3.3,
        module: Some(crate::circuit::Module { supply_v: 5.0 }),
        ..circuit(Sense::PullUp, Reference::Supply)
    };
    assert!(!is_ratio(&supply));
    let parts = Parts { feed_tolerance: 0.05, ..Parts::default() };
    let now = 1_024.0 * 1.65 / 5.0;
    let found = drift(&supply, &parts, 1_000.0, true, 0.0);
    near(found.feed.up_count, 0.05 * now, 1e-9);
    near(found.feed.down_count, 0.05 * now, 1e-9);
    near(found.reference.up_count, now / 0.95 - now, 1e-9);
    near(found.reference.down_count, now - now / 1.05, 1e-9);
    let monitored = Circuit { feed_monitor: Some(FeedMonitor { upper_ohm: 1e4, lower_ohm: 1e4 }), ..supply };
    assert!(!is_ratio(&monitored));
    let internal = Circuit { reference: Reference::Internal { volt: 1.1 }, ..supply };
    // 150 ppm/K over 65 K is 0.975 %.
    let now = internal.ideal_count(100.0);
    near(drift(&internal, &parts, 100.0, true, 0.0).reference.down_count, now - now / 1.009_75, 1e-9);
}
