//! Bands in January, in July and in ten years: whole wheels, learned once, then read through every state
//! their circuit can drift to; and the chances of a press against SciPy.

use proptest::prelude::*;
use spokewire::bands::{
    Accept, Band, BandSet, ButtonInput, DraggedEdges, Input, Press, RestLevel, Rung, Settings, Touch,
    Verdict, bands, misread,
};
use spokewire::circuit::{Circuit, FeedMonitor, Parts, Reference, Sense, Stress, seen_ohm, stressed_count};

const SETTINGS: Settings =
    Settings { coverage: 0.999, confidence: 0.95, converter_error_count: 2.0, reject_floor_count: 8.0 };

fn press(median_count: f64) -> Press {
    Press { median_count, spread_count: 0.8, readings: 400, touch: Touch::Firm, tally: Vec::new() }
}

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

/// A wheel on wire 1 whose buttons were pressed three times each about these counts.
fn learned(
    centres: &[f64],
    rest: f64,
    circuit: &Circuit,
    parts: &Parts,
    edges: &[(usize, DraggedEdges)],
) -> BandSet {
    let presses: Vec<Vec<Press>> = centres
        .iter()
        .map(|&centre| [-1.0, 0.0, 1.0].map(|off| press((centre + off).clamp(0.0, 1_023.0))).to_vec())
        .collect();
    let buttons: Vec<_> = presses
        .iter()
        .enumerate()
        .map(|(index, presses)| ButtonInput {
            wire: Some(1),
            presses,
            edges: edges.iter().find(|edge| edge.0 == index).map(|edge| edge.1).unwrap_or_default(),
            ..ButtonInput::default()
        })
        .collect();
    let rest = RestLevel { median_count: rest, spread_count: 0.8, readings: 2_000 };
    bands(&Input {
        buttons: &buttons,
        rests: &[(1, &rest)],
        circuit: Some(circuit),
        parts: Some(parts),
        settings: SETTINGS,
    })
}

/// `tests/golden/chance`: SciPy's tails, summed count by count.
#[test]
fn the_chances_of_a_press_agree_with_scipy() {
    let wheels: [(&str, &[(u16, u16)]); 3] = [
        ("apart", &[(48, 184), (193, 295), (321, 418), (457, 526), (542, 618), (664, 767), (813, 899)]),
        ("tight", &[(90, 99), (108, 119), (120, 131)]),
        ("ends", &[(0, 40), (500, 530), (960, 1023)]),
    ];
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/golden/chance/chances.csv");
    let mut compared = 0;
    for row in csv::Reader::from_path(path).unwrap().deserialize() {
        let (wheel, own, centre, sigma, ignored, taken): (String, usize, f64, f64, f64, f64) = row.unwrap();
        let bands = wheels.iter().find(|known| known.0 == wheel).unwrap().1;
        let bands: Vec<Accept> =
            bands.iter().map(|&(low_count, high_count)| Accept { low_count, high_count }).collect();
        let ours = misread(centre, sigma, own, &bands);
        // Relative where a chance can be told, absolute below 1 in 10^20.
        let near = |ours: f64, theirs: f64| (ours - theirs).abs() <= 1e-9 * theirs + 1e-20;
        assert!(
            near(ours.0, ignored) && near(ours.1, taken),
            "{wheel} {own} {centre}: {ours:?} {ignored} {taken}"
        );
        compared += 1;
    }
    assert_eq!(compared, 15);
}

/// The published resistances of a wired headset's buttons and what a device must accept for each (open
/// wired headset specification 1.1, FACTS C11 and C12): 0, 135, 240 and 470 Ω under 2.2 kΩ to 2.2 V are
/// accepted up to 70, from 110 to 180, from 210 to 290 and from 360 to 680 Ω. Ours know from presses how
/// little these vary, so they need not be as wide; what they take is never what is printed for another,
/// and the gaps printed as nobody's lie between the same two.
#[test]
fn bands_of_the_published_headset_take_what_is_printed_and_nothing_of_another() {
    let circuit = Circuit { sense_ohm: 2_200.0, feed_v: 2.2, ..circuit(Sense::PullUp, Reference::Supply) };
    let ohms = [0.0, 135.0, 240.0, 470.0];
    let centres = ohms.map(|ohm| f64::from(circuit.count(ohm).unwrap()));
    assert_eq!(centres, [0.0, 59.0, 100.0, 180.0]);
    let parts = Parts { wear_ohm: 15.0, ..Parts::default() };
    let set = learned(&centres, 1_010.0, &circuit, &parts, &[]);
    let printed = [(0.0, 70.0), (110.0, 180.0), (210.0, 290.0), (360.0, 680.0)];
    let ohm = |count: u16| seen_ohm(&circuit, f64::from(count));
    for (button, nominal) in ohms.into_iter().enumerate() {
        let band = set.band(Rung::Button(button)).unwrap();
        let accept = band.accept.unwrap();
        let own = (ohm(accept.low_count), ohm(accept.high_count));
        assert!(accept.holds(circuit.ideal_count(nominal)), "{band:?}");
        for (other, &(low, high)) in printed.iter().enumerate().filter(|(other, _)| *other != button) {
            assert!(
                own.1 < low || own.0 > high,
                "{button} takes {own:?}, printed for {other}: {low} to {high}"
            );
        }
        // Half of what is printed for it, and more, is taken.
        let (low, high) = printed[button];
        let both = own.1.min(high) - own.0.max(low);
        assert!(both >= 0.5 * (high - low).min(100.0), "{button}: {own:?} of {low} to {high}");
        assert!(matches!(band.verdict, Verdict::Safe { .. }), "{:?}", band.verdict);
    }
}

/// Ladders with steps from 30 to 900 Ω, and what their circuit is built of.
fn wheel() -> impl Strategy<Value = (Circuit, Parts, Vec<f64>)> {
    let reference = prop_oneof![
        3 => Just(Reference::Supply),
        1 => Just(Reference::External { volt: 5.0, series_ohm: 0.0, pin_v: None }),
    ];
    let parts = (0.0..300.0_f64, 0.0..5e-4_f64, 0.0..5e-4_f64, 0.0..0.05_f64).prop_map(
        |(wear_ohm, sense_per_k, ladder_per_k, feed_tolerance)| Parts {
            wear_ohm,
            sense_per_k,
            ladder_per_k,
            feed_tolerance,
            ..Parts::default()
        },
    );
    let steps = prop::collection::vec(30.0..900.0_f64, 3..=10);
    (any::<bool>(), any::<bool>(), reference, parts, steps).prop_map(
        |(up, monitored, reference, parts, steps)| {
            let sense = if up { Sense::PullUp } else { Sense::PullDown };
            let mut circuit = circuit(sense, reference);
            if monitored && circuit.reference != Reference::Supply {
                circuit.feed_monitor = Some(FeedMonitor { upper_ohm: 10e3, lower_ohm: 15e3 });
            }
            let mut ohm = 0.0;
            let ohms = steps.into_iter().map(|step| {
                ohm += step;
                ohm
            });
            (circuit, parts, ohms.collect())
        },
    )
}

/// What a wheel reads now, for each button.
fn centres(circuit: &Circuit, ohms: &[f64]) -> Vec<f64> {
    ohms.iter().map(|&ohm| circuit.ideal_count(ohm).min(1_023.0)).collect()
}

fn rest_of(circuit: &Circuit) -> f64 {
    if circuit.sense == Sense::PullUp { 1_010.0 } else { 6.0 }
}

/// Whether a rung is said to be apart from all others, whatever drifts.
fn is_safe(band: &Band) -> bool {
    matches!(band.verdict, Verdict::Safe { .. })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// The promise of the whole: a button whose verdict is that it is safe is never taken for another, in
    /// any state the circuit can be in. It may be ignored.
    #[test]
    fn no_safe_button_is_taken_for_another_wherever_its_circuit_drifts(
        (circuit, parts, ohms) in wheel(),
        states in prop::collection::vec((0.0..1.0_f64, -1.0..1.0_f64, -1.0..1.0_f64, -1.0..1.0_f64, -1.0..1.0_f64), 20),
    ) {
        let set = learned(&centres(&circuit, &ohms), rest_of(&circuit), &circuit, &parts, &[]);
        let away_k = (25.0 - parts.cold_c).max(parts.hot_c - 25.0);
        for (index, &ohm) in ohms.iter().enumerate() {
            let Some(band) = set.band(Rung::Button(index)).filter(|band| is_safe(band)) else { continue };
            for &(wear, ladder, sense, feed, reference) in &states {
                let stress = Stress {
                    wear_ohm: wear * parts.wear_ohm,
                    ladder_share: ladder * parts.ladder_per_k * away_k,
                    sense_share: sense * parts.sense_per_k * away_k,
                    feed_share: feed * parts.feed_tolerance,
                    reference_share: reference
                        * if circuit.feed_monitor.is_some() { 20e-6 } else { 150e-6 } * away_k,
                };
                let count = stressed_count(&circuit, ohm, &stress);
                let read = set.which(1, count);
                prop_assert!(
                    matches!(read, None | Some(Rung::Rest(_))) || read == Some(Rung::Button(index)),
                    "{index} at {count:.1} read as {read:?}: {band:?}"
                );
            }
            // And at its worst the chance of it says so.
            let chance = band.chance.unwrap();
            prop_assert!(chance.drifted_taken < 0.01, "{chance:?}");
        }
    }

    /// No band reaches where a neighbour can drift, but for its own tolerance interval; and a button of a
    /// roomy wheel is taken wherever it drifts.
    #[test]
    fn a_band_leaves_the_neighbours_drift_alone_and_takes_in_its_own_where_there_is_room(
        (circuit, parts, ohms) in wheel(),
    ) {
        let set = learned(&centres(&circuit, &ohms), rest_of(&circuit), &circuit, &parts, &[]);
        for gap in &set.gaps {
            let (lower, upper) = (set.band(gap.lower).unwrap(), set.band(gap.upper).unwrap());
            let (low, high) = (lower.accept.unwrap(), upper.accept.unwrap());
            let own_high = lower.tolerance_high_count.min(1_023.0).ceil();
            let own_low = upper.tolerance_low_count.max(0.0).floor();
            let apart = own_low - own_high - 1.0;
            if apart < 1.0 {
                continue;
            }
            let (up, down) = (lower.drift.up_count, upper.drift.down_count);
            prop_assert!(f64::from(low.high_count) <= (own_low - down - 8.0).max(own_high), "{lower:?} {upper:?}");
            prop_assert!(f64::from(high.low_count) >= (own_high + up + 8.0).min(own_low), "{lower:?} {upper:?}");
            if apart >= up.ceil() + down.ceil() + 8.0 {
                prop_assert!(f64::from(low.high_count) >= own_high + up, "{lower:?}");
                prop_assert!(f64::from(high.low_count) <= own_low - down, "{upper:?}");
            }
        }
    }

    /// Whatever edges a person asks for, bands stay in order, apart by the floor, and hold their centres.
    #[test]
    fn edges_moved_by_hand_break_no_promise(
        (circuit, parts, ohms) in wheel(),
        edges in prop::collection::vec((prop::option::of(0..1_100_u16), prop::option::of(0..1_100_u16)), 10),
    ) {
        let edges: Vec<_> = edges
            .into_iter()
            .enumerate()
            .map(|(index, (low_count, high_count))| (index, DraggedEdges { low_count, high_count }))
            .collect();
        let plain = learned(&centres(&circuit, &ohms), rest_of(&circuit), &circuit, &parts, &[]);
        let set = learned(&centres(&circuit, &ohms), rest_of(&circuit), &circuit, &parts, &edges);
        for (gap, was) in set.gaps.iter().zip(&plain.gaps) {
            prop_assert!(gap.reject_count() >= was.reject_count().min(8), "{gap:?} {was:?}");
        }
        for (band, was) in set.bands().zip(plain.bands()) {
            let (Some(accept), Some(computed)) = (band.accept, was.accept) else { continue };
            prop_assert!(accept.low_count <= accept.high_count && accept.high_count <= 1_023);
            if computed.holds(band.centre_count) {
                prop_assert!(accept.holds(band.centre_count), "{band:?}");
            }
            if matches!(band.rung, Rung::Rest(_)) {
                prop_assert_eq!(accept, computed, "rest is nobody's to move");
            }
        }
        let none = learned(&centres(&circuit, &ohms), rest_of(&circuit), &circuit, &parts, &[(0, DraggedEdges::default())]);
        prop_assert_eq!(none, plain, "no edges, no difference");
    }
}

/// The demo's ladder, by its counts.
const DEMO: [f64; 7] = [81.0, 215.0, 358.0, 491.0, 551.0, 700.0, 849.0];

#[test]
fn an_edge_moved_inwards_tells_the_chance_at_once() {
    let (circuit, parts) = (circuit(Sense::PullUp, Reference::Supply), Parts::default());
    let before = learned(&DEMO, 959.0, &circuit, &parts, &[]);
    let was = before.band(Rung::Button(3)).unwrap();
    assert!(was.chance.unwrap().ignored < 1e-9, "{:?}", was.chance);
    let high = DraggedEdges { low_count: None, high_count: Some(492) };
    let after = learned(&DEMO, 959.0, &circuit, &parts, &[(3, high)]);
    let band = after.band(Rung::Button(3)).unwrap();
    let moved = band.moved.high.unwrap();
    assert_eq!((moved.count, moved.stop), (492, None));
    assert_eq!(moved.computed_count, was.accept.unwrap().high_count);
    // One side cut half a count past 492: the upper tail of a bell of this spread.
    let tail = spokewire::bands::upper_tail((492.5 - band.centre_count) / band.sigma_count);
    assert!((band.chance.unwrap().ignored / tail - 1.0).abs() < 1e-6, "{:?} {tail}", band.chance);
    assert!(matches!(band.verdict, Verdict::Trimmed { edge_count: 492, .. }), "{:?}", band.verdict);
    assert!(band.headroom_ohm.unwrap() < was.headroom_ohm.unwrap());
}

#[test]
fn two_rungs_that_wear_brings_together_are_said_to_meet_there() {
    let circuit = circuit(Sense::PullUp, Reference::Supply);
    let parts = Parts { wear_ohm: 300.0, cold_c: 25.0, hot_c: 25.0, ..Parts::default() };
    let set = learned(&DEMO, 959.0, &circuit, &parts, &[]);
    let Verdict::Meets { of, other, meeting, .. } = set.verdicts[3] else { panic!("{:?}", set.verdicts[3]) };
    assert_eq!((of, other), (Rung::Button(3), Rung::Button(4)));
    assert_eq!((meeting.celsius, meeting.feed_share), (None, 0.0));
    // By hand: worn by so much, the far end of its interval and the converter's error reach the band.
    let (own, next) = (set.band(of).unwrap(), set.band(other).unwrap());
    let ohm = |count: f64| 1_000.0 * count / (1_024.0 - count);
    let reach = own.centre_count + f64::from(next.accept.unwrap().low_count) - own.tolerance_high_count - 2.0;
    let wanted = ohm(reach) - ohm(own.centre_count);
    assert!((meeting.wear_ohm / wanted - 1.0).abs() < 0.01, "{} {wanted}", meeting.wear_ohm);
    let said =
        set.verdicts[3].text(&|rung| if rung == of { "Previous".to_owned() } else { "Source".to_owned() });
    assert!(said.starts_with("Previous and Source are 60 counts apart: once worn by 1"), "{said}");
    assert!(said.ends_with("Previous can be taken for Source."), "{said}");
}

#[test]
fn headroom_of_the_feed_is_what_a_reading_bears_and_endless_where_it_is_a_ratio() {
    let parts = Parts::default();
    let ratio = learned(&DEMO, 959.0, &circuit(Sense::PullUp, Reference::Supply), &parts, &[]);
    assert!(ratio.buttons.iter().all(|band| band.headroom_feed == Some(f64::INFINITY)));
    let held = circuit(Sense::PullUp, Reference::External { volt: 5.0, series_ohm: 0.0, pin_v: None });
    let set = learned(&DEMO, 959.0, &held, &parts, &[]);
    for band in &set.buttons {
        let Some(share) = band.headroom_feed.filter(|share| share.is_finite()) else { continue };
        let accept = band.accept.unwrap();
        for sign in [-1.0, 1.0] {
            assert!(accept.holds(band.centre_count * (1.0 + sign * share * 0.999)), "{band:?}");
        }
        let out =
            [-1.0, 1.0].map(|sign| band.centre_count * (1.0 + sign * (share + 1.5 / band.centre_count)));
        assert!(out.iter().any(|&count| !accept.holds(count)), "{band:?}");
    }
}

#[test]
fn the_bar_is_made_of_the_interval_and_of_what_drifts() {
    let held = circuit(Sense::PullUp, Reference::External { volt: 5.0, series_ohm: 0.0, pin_v: None });
    for (circuit, ratio) in [(circuit(Sense::PullUp, Reference::Supply), true), (held, false)] {
        let set = learned(&DEMO, 959.0, &circuit, &Parts::default(), &[]);
        for band in &set.buttons {
            let made = band.contributions;
            let interval = made.noise.plus(made.between);
            assert!((interval.up_count - (band.tolerance_high_count - band.centre_count)).abs() < 1e-9);
            assert!((interval.down_count - (band.centre_count - band.tolerance_low_count)).abs() < 1e-9);
            assert_eq!(made.wear.down_count, 0.0, "wear of a pull-up moves up alone");
            assert!(made.wear.up_count > 0.0 && made.temperature.down_count > 0.0);
            assert_eq!(made.feed.up_count == 0.0, ratio);
            assert_eq!(made.reference.up_count == 0.0, ratio);
            assert_eq!(made.parts().len(), spokewire::bands::Contributions::NAMES.len());
        }
        let rest = &set.rests[0];
        assert_eq!(rest.contributions.wear.up_count, 0.0, "rest has no contact to wear");
        assert_eq!(rest.chance, None);
    }
}
