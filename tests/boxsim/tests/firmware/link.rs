//! The link: who the box is, its stream, and that nothing on the line harms it.

use boxsim::{Bench, MS, Supply, demo_body};
use rand::{Rng, RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use spokewire::wire::{
    Answer, AnswerFault, Ask, BoxEvent, Fault, NamedReference, ReferenceKind, ResetCause, encode_frame,
};

#[test]
fn the_box_says_first_that_it_started_and_then_who_it_is() {
    let mut bench = Bench::new(Supply::default());
    assert!(matches!(bench.events[0].1, BoxEvent::Booted(ResetCause::PowerOn)), "{:?}", bench.events);
    let identity = bench.identify();
    // Datasheet 8161D: signature 1E 95 0F, 10-bit converter.
    assert_eq!(identity.signature, [0x1E, 0x95, 0x0F]);
    assert_eq!((identity.converter_top, identity.sample_hz), (1_023, 1_000));
    assert_eq!((identity.most, identity.body_max), ((16, 48, 32), 472));
    assert_eq!(identity.rates, [115_200, 500_000]);
    assert_eq!((identity.capture_edges, identity.capture_step_ns), (200, 2_000));
    assert!(!identity.has_image && !identity.has_damage && !identity.reference_named && !identity.calibrated);
    assert_eq!((identity.slot, identity.supply_mv, identity.reset), (None, None, ResetCause::PowerOn));
}

#[test]
fn nothing_streams_before_the_reference_has_a_name_and_nothing_touches_a_driven_pin() {
    let mut bench = Bench::new(Supply { reference_v: Some(5.0), ..Supply::default() });
    let refused = bench.try_ask(&Ask::Stream(true));
    assert_eq!(refused, Some(Err(AnswerFault::Fault(Fault::Reference))));
    bench.run_ms(1_200);
    bench.ask(&Ask::Reference(NamedReference { kind: ReferenceKind::External, feed_monitor: false }));
    bench.ask(&Ask::Stream(true));
    bench.run_ms(1_200);
    assert!(!bench.chip.was_shorted(), "the supply was put on a pin that is driven from outside");
    assert!(bench.samples().len() > 1_100, "{}", bench.samples().len());
}

#[test]
fn every_millisecond_has_its_sample_and_the_supply_is_measured_beside_them() {
    let mut bench = Bench::new(Supply { bandgap_v: 1.08, ..Supply::default() });
    bench.ask(&Ask::Reference(NamedReference { kind: ReferenceKind::Supply, feed_monitor: false }));
    bench.ask(&Ask::Stream(true));
    let from = bench.chip.now();
    bench.ladder.press(5, boxsim::Contact::Firm(6.0), from + 500 * MS, 800);
    bench.run_ms(3_000);
    let samples = bench.samples();
    assert!(samples.len() > 2_950, "{} samples in 3 s", samples.len());
    assert!(samples.windows(2).all(|pair| pair[1].0 == pair[0].0 + 1), "the ticks have no hole");
    assert_eq!(bench.broken, 0);
    // 5.0 V · 14862 / 15862 of 5.0 V, and 5.0 V · 2168 / 3168: counts by floor(1024 · share).
    let rest = &samples[100].1;
    assert!(rest.raw[0].abs_diff(959) <= 5, "{rest:?}");
    let pressed = samples.iter().filter(|(_, sample)| sample.raw[0].abs_diff(700) <= 5).count();
    assert!((790..=810).contains(&pressed), "{pressed} samples of a press of 800 ms");
    assert!(samples.iter().all(|(_, sample)| sample.label.is_none() && sample.pressed.is_none()));
    // A bandgap of 1.08 V is taken for 1.1 V: 5.0 V reads as 5.09 V until it is calibrated.
    let guess = bench.identify().supply_mv;
    assert!(guess.is_some_and(|mv| mv.abs_diff(5_093) < 30), "{guess:?}");
    bench.ask(&Ask::Calibrate(Some(1_080)));
    let known = bench.identify();
    assert!(known.calibrated && known.supply_mv.is_some_and(|mv| mv.abs_diff(5_000) < 30), "{known:?}");
}

/// What somebody else's program, a bad cable or a burst of noise puts on the line.
fn nonsense(rng: &mut ChaCha8Rng, kind: u32) -> Vec<u8> {
    let sound = |rng: &mut ChaCha8Rng, most: usize| {
        let mut payload = vec![0_u8; rng.random_range(0..=most)];
        rng.fill_bytes(&mut payload);
        // Every number but those that rightly write or send.
        let number = [0x01, 0x02, 0x03, 0x04, 0x09, 0x0A, 0x0B, 0x0C][rng.random_range(0..8)];
        encode_frame(number, rng.random(), &payload).expect("it fits")
    };
    match kind {
        0 => {
            let mut bytes = vec![0_u8; rng.random_range(1..600)];
            rng.fill_bytes(&mut bytes);
            bytes
        }
        // Cut anywhere, the rest of the next one behind it.
        1 => {
            let mut bytes = sound(rng, 96);
            bytes.truncate(rng.random_range(0..bytes.len()));
            bytes.extend(sound(rng, 96));
            bytes
        }
        // A bit that fell over, in a frame that would write, send or restart.
        2 => {
            let mut payload = vec![0_u8; rng.random_range(0..80)];
            rng.fill_bytes(&mut payload);
            let number = [0x05, 0x06, 0x07, 0x08, 0x0D, 0x0E][rng.random_range(0..6)];
            let mut bytes = encode_frame(number, 1, &payload).expect("it fits");
            let at = rng.random_range(0..bytes.len() - 1);
            bytes[at] ^= 1 << rng.random_range(0..8);
            bytes
        }
        // Wrong lengths, wrong values, in sound frames.
        3 => sound(rng, 96),
        // Messages that write or send, with a length that none of them has, or out of order.
        4 => {
            let number = [0x05, 0x06, 0x07, 0x0D, 0x0E, 0x08][rng.random_range(0..6)];
            let length = match number {
                0x05 => [1, 2, 3][rng.random_range(0..3)],
                0x06 => [0, 1, 2, 3, 5, 40][rng.random_range(0..6)],
                0x0D => [0, 1, 3, 96][rng.random_range(0..4)],
                0x0E => rng.random_range(1..96),
                _ => rng.random_range(0..96),
            };
            let mut payload = vec![0_u8; length];
            rng.fill_bytes(&mut payload);
            encode_frame(number, 7, &payload).expect("it fits")
        }
        // A flood: identify, over and over, with nobody waiting for an answer.
        5 => encode_frame(0x01, 9, &[]).expect("it fits").repeat(200),
        // Never an end.
        6 => vec![rng.random_range(1..=255); rng.random_range(100..2_000)],
        // Zeroes.
        _ => vec![0; rng.random_range(1..2_000)],
    }
}

/// Two minutes of nonsense, of these kinds: no hang, no write, no pulse, and the image still works.
fn survive(seed: u64, kinds: std::ops::Range<u32>) {
    let mut bench = Bench::with_image(Supply::default(), &demo_body());
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let before = bench.chip.eeprom();
    let end = bench.chip.now() + 120_000 * MS;
    let mut sent = 0;
    while bench.chip.now() < end {
        if bench.chip.unsent() == 0 {
            let bytes = nonsense(&mut rng, kinds.start + (sent % (kinds.end - kinds.start)));
            bench.chip.send(&bytes);
            sent += 1;
        }
        bench.run_ms(5);
        bench.events.clear();
    }
    println!(
        "seed {seed}: {sent} pieces, {} bytes lost, {} frames broken",
        bench.chip.overruns(),
        bench.broken
    );
    assert_eq!(bench.chip.resets(), 0, "the box restarted");
    assert_eq!(bench.chip.eeprom(), before, "the memory changed");
    assert_eq!(bench.chip.eeprom_writes(), [], "something was written");
    // One edge, low, is the pin's own start.
    assert_eq!(bench.output().iter().filter(|edge| edge.high && edge.cycle > 100 * MS).count(), 0, "a pulse");
    // Whatever rate was asked for is given up after two seconds of silence.
    bench.chip.send(&[0]);
    bench.run_ms(2_600);
    let counters = bench.counters();
    assert!(counters.link_errors > 0 || kinds.start == 3, "{counters:?}");
    assert_eq!(counters.resets.watchdog, 0);
    let from = bench.chip.now();
    bench.ladder.press(0, boxsim::Contact::Firm(6.0), from, 120);
    bench.run_ms(400);
    assert_eq!(bench.bursts(from, 20_000.0).len(), 1, "the image no longer works");
}

#[test]
fn two_minutes_of_random_bytes_do_nothing() {
    survive(1, 0..1);
}

#[test]
fn two_minutes_of_cut_and_mangled_frames_do_nothing() {
    survive(2, 1..3);
}

#[test]
fn two_minutes_of_wrong_lengths_and_values_do_nothing() {
    survive(3, 3..5);
}

#[test]
fn two_minutes_of_floods_and_endless_frames_do_nothing() {
    survive(4, 5..8);
}

#[test]
fn two_minutes_of_all_of_it_do_nothing() {
    survive(5, 0..8);
}

#[test]
fn an_answer_comes_while_nonsense_stands_before_it() {
    let mut bench = Bench::new(Supply::default());
    bench.chip.send(&[0x41; 300]);
    assert!(matches!(bench.ask(&Ask::Identify), Answer::Identity(_)));
    assert!(bench.counters().link_errors > 0);
}
