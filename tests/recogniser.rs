//! The recogniser over the demo van's wheel: slow presses, firm and light ones, and what is no press;
//! and held at every tick against rules written anew from its header's words.

#![expect(clippy::unwrap_used, reason = "a helper of tests fails as a test does")]

#[path = "recogniser/reference.rs"]
mod reference;
#[path = "recogniser/study.rs"]
mod study;

use spokewire::bands::Touch;
use spokewire::demo::{VirtualWheel, demo_van};
use spokewire::recognise::{EventKind, Recogniser, Rules};
use spokewire::signal::Level;
use study::{Draws, SlowPress, count_of, demo_rules, noisy};

/// Kinds of event, in order, over exact counts: noise is added and rounded down.
fn kinds(rules: &Rules, seed: u64, counts: impl Iterator<Item = f64>) -> Vec<EventKind> {
    let mut source = Draws::new(seed);
    let mut recogniser = Recogniser::new(rules).unwrap();
    counts
        .flat_map(|count| recogniser.tick(noisy(&mut source, count)).map(|e| e.kind).collect::<Vec<_>>())
        .collect()
}

#[test]
fn a_slow_press_never_yields_another_button() {
    let rules = demo_rules();
    let mut source = Draws::new(20);
    for press in 0..2_100_u32 {
        let button = (press % 7) as usize;
        let slow = SlowPress::drawn(&mut source, button);
        assert_eq!(slow.decided(&rules, &mut source), Some(button as u8), "{slow:?}");
    }
}

#[test]
fn the_slow_presses_would_yield_others_without_the_settle_limit() {
    // What the test above can fail on: the same presses, any spread taken, half the dwell.
    let rules = Rules { settle: Level::from_count(200.0), dwell_ticks: 12, ..demo_rules() };
    let mut source = Draws::new(20);
    let wrong = (0..210_usize)
        .filter(|press| {
            let slow = SlowPress::drawn(&mut source, press % 7);
            slow.decided(&rules, &mut source) != Some((press % 7) as u8)
        })
        .count();
    assert!(wrong > 50, "{wrong} of 210");
}

#[test]
fn firm_and_light_presses_are_all_recognised_as_their_button() {
    let rules = demo_rules();
    for touch in [Touch::Firm, Touch::Light] {
        let mut wheel = VirtualWheel::new(demo_van(), 77);
        let mut recogniser = Recogniser::new(&rules).unwrap();
        let mut ticks = |wheel: &mut VirtualWheel, count: u32| -> Vec<(u32, EventKind, Option<u8>)> {
            let mut seen = Vec::new();
            for tick in 0..count {
                let levels = wheel
                    .next()
                    .raw
                    .map(|raw| if raw <= 1023 { Level::from_count(f64::from(raw)) } else { Level::NONE });
                seen.extend(recogniser.tick(levels).map(|event| (tick, event.kind, event.button)));
            }
            seen
        };
        ticks(&mut wheel, 100);
        let mut latencies = Vec::new();
        for press in 0..700_usize {
            wheel.press(press % 7, touch);
            let seen = ticks(&mut wheel, 500);
            let pressed: Vec<_> = seen.iter().filter(|event| event.1 == EventKind::Pressed).collect();
            assert_eq!(pressed.len(), 1, "{touch:?} press {press}: {seen:?}");
            assert_eq!(pressed[0].2, Some((press % 7) as u8), "{touch:?} press {press}");
            latencies.push(pressed[0].0);
            wheel.release();
            let after = ticks(&mut wheel, 150);
            let told: Vec<_> = after.iter().map(|event| event.1).collect();
            assert_eq!(told[0], EventKind::Released, "{touch:?} press {press}");
            assert!(told[1..].iter().all(|&kind| kind == EventKind::Tap), "{told:?}");
        }
        latencies.sort_unstable();
        let at = |share: f64| latencies[((latencies.len() - 1) as f64 * share) as usize];
        println!(
            "{touch:?}: contact to PRESSED {} ms median, {} ms 95 %, {} ms at most",
            at(0.5),
            at(0.95),
            at(1.0)
        );
    }
}

#[test]
fn a_spike_is_no_event() {
    let rules = demo_rules();
    let rest = count_of(f64::INFINITY);
    for rung in [83.0, 217.0, 551.0, 849.0, 1_023.0, 0.0] {
        let spiky = (0..20_000).map(|tick| if tick % 9 == 5 { rung } else { rest });
        assert_eq!(kinds(&rules, 3, spiky), [], "spikes to {rung}");
    }
}

#[test]
fn a_wire_off_and_back_is_undecided_and_no_press() {
    let rules = demo_rules();
    let rest = count_of(f64::INFINITY);
    for off in [0.0, 1_023.0] {
        let counts = std::iter::repeat_n(rest, 200)
            .chain(std::iter::repeat_n(off, 3_000))
            .chain(std::iter::repeat_n(rest, 200));
        assert_eq!(kinds(&rules, 4, counts), [EventKind::Undecided], "wire reads {off}");
    }
}

#[test]
fn slow_drift_of_rest_is_no_press() {
    // Rest drifts out of its band and back over 20 s, into the gap beside it.
    let rules = demo_rules();
    let rest = count_of(f64::INFINITY);
    let low = f64::from(rules.rests[0].low);
    let highest = rules.buttons.iter().map(|button| f64::from(button.1.high)).fold(0.0, f64::max);
    let depth = rest - f64::midpoint(low, highest);
    assert!(low - highest > 12.0, "there is a gap to drift into: {highest} to {low}");
    let drift =
        (0..20_000).map(|tick| rest - depth * (std::f64::consts::PI * f64::from(tick) / 20_000.0).sin());
    let seen = kinds(&rules, 5, drift.chain(std::iter::repeat_n(rest, 200)));
    assert!(seen.iter().all(|&kind| kind == EventKind::Undecided), "{seen:?}");
}

#[test]
fn two_buttons_whose_reading_lies_in_a_gap_are_undecided() {
    // The chain of the demo is tapped to its return, so that the nearer of two wins; two that hang in
    // parallel read between the rungs. Every pair whose reading keeps clear of all bands is tried.
    let rules = demo_rules();
    let ohms: Vec<f64> = demo_van().buttons.iter().map(|button| button.ohm + 6.0).collect();
    let rest = count_of(f64::INFINITY);
    let mut tried = 0;
    for a in 0..ohms.len() {
        for b in a + 1..ohms.len() {
            let both = count_of(1.0 / (1.0 / ohms[a] + 1.0 / ohms[b]));
            let near = |low: u16, high: u16| both > f64::from(low) - 4.0 && both < f64::from(high) + 5.0;
            if rules.buttons.iter().any(|button| near(button.1.low, button.1.high)) {
                continue;
            }
            tried += 1;
            let counts = std::iter::repeat_n(rest, 100)
                .chain(std::iter::repeat_n(both, 500))
                .chain(std::iter::repeat_n(rest, 100));
            assert_eq!(kinds(&rules, 6, counts), [EventKind::Undecided], "buttons {a} and {b} at {both}");
        }
    }
    assert!(tried >= 3, "{tried} pairs lie in gaps");
}
