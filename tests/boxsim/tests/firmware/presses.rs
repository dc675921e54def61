//! Presses as they are on a wheel: how soon a code follows one, and what never becomes one.

use boxsim::{Bench, Contact, HZ, Ladder, MS, Supply, demo_body};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use spokewire::remote::{Code, decode};
use spokewire::wire::{Ask, DecisionKind};

const PAUSE_US: f64 = 6_000.0;

/// What each of the demo van's buttons sends when tapped: NEC, address 89.
const TAPS: [u32; 7] = [22, 23, 27, 26, 5, 34, 12];

/// The NEC commands sent since a cycle, repeat frames left out.
fn commands(bench: &Bench, since: u64) -> Vec<u32> {
    let heard = bench.bursts(since, PAUSE_US);
    let codes = heard.iter().filter_map(|(_, burst)| decode(burst).expect("a whole frame").code());
    codes
        .map(|code| match code {
            Code::Family { command, address: 89, .. } => command,
            other => panic!("{other:?}"),
        })
        .collect()
}

#[test]
fn a_tap_of_every_button_sends_its_code_soon() {
    let mut bench = Bench::with_image(Supply::default(), &demo_body());
    let mut rng = ChaCha8Rng::seed_from_u64(11);
    bench.ask(&Ask::Watch(true));
    let ms = |cycles: u64| cycles as f64 * 1_000.0 / HZ as f64;
    let (mut told_at_once, mut told_after) = (Vec::new(), Vec::new());
    for _ in 0..6 {
        for (button, &tap) in TAPS.iter().enumerate() {
            let from = bench.chip.now() + rng.random_range(0..2 * MS);
            let held_ms = 120;
            bench.ladder.press(button, Contact::Firm(rng.random_range(0.0..10.0)), from, held_ms);
            bench.run_ms(450);
            assert_eq!(commands(&bench, from), [tap], "button {button}");
            let first_edge = bench.bursts(from, PAUSE_US)[0].0;
            let let_go = from + held_ms * MS;
            // A button with a hold says only when let go which of the two it is.
            if first_edge < let_go {
                told_at_once.push(ms(first_edge - from));
            } else {
                told_after.push(ms(first_edge - let_go));
            }
        }
    }
    for (what, latency) in [("from the press", &told_at_once), ("from letting go", &told_after)] {
        let worst = latency.iter().fold(0.0_f64, |worst, one| worst.max(*one));
        let mean = latency.iter().sum::<f64>() / latency.len().max(1) as f64;
        println!("{}: {:.1} ms on average, {worst:.1} ms at worst, {} taps", what, mean, latency.len());
        assert!(worst < 60.0, "{what}: {latency:?}");
    }
    assert!(!told_at_once.is_empty() && !told_after.is_empty());
}

#[test]
fn a_hold_sends_its_own_code() {
    let mut bench = Bench::with_image(Supply::default(), &demo_body());
    // Source and Answer have another code for a hold.
    for (button, hold) in [(4, 45), (5, 35)] {
        let from = bench.chip.now();
        bench.ladder.press(button, Contact::Firm(6.0), from, 1_200);
        bench.run_ms(1_600);
        assert_eq!(commands(&bench, from), [hold], "button {button}");
    }
}

#[test]
fn a_slow_press_of_any_button_is_never_another_button() {
    let mut bench = Bench::with_image(Supply::default(), &demo_body());
    let mut own = 0;
    let mut presses = 0;
    for button in 0..Ladder::DEMO_OHM.len() {
        for over_s in [0.1, 0.3, 1.0] {
            for settles in [false, true] {
                let from = bench.chip.now();
                // Let go at the end of its slide, or held for 150 ms behind it.
                let ms = (over_s * 1_000.0) as u64 + if settles { 150 } else { 0 };
                bench.ladder.press(button, Contact::Slow(over_s), from, ms);
                bench.run_ms(ms + 300);
                presses += 1;
                let sent = commands(&bench, from);
                let allowed: &[u32] = match button {
                    4 => &[5, 45],
                    5 => &[34, 35],
                    6 => &[12, 32],
                    _ => &TAPS[button..=button],
                };
                assert!(
                    sent.iter().all(|command| allowed.contains(command)),
                    "button {button} closing over {over_s} s sent {sent:?}"
                );
                own += sent.len();
            }
        }
    }
    println!("{presses} slow presses: {own} sent their own button's code, none another's");
    assert!(own > 0, "none was recognised at all");
}

#[test]
fn spikes_send_nothing() {
    let mut bench = Bench::with_image(Supply::default(), &demo_body());
    let mut rng = ChaCha8Rng::seed_from_u64(7);
    let from = bench.chip.now();
    for at in 0..400 {
        let begin = from + (20 + at * 25) * MS + rng.random_range(0..MS);
        bench.ladder.spike(rng.random_range(0.0..1.0), begin, begin + rng.random_range(1..=5) * MS);
    }
    bench.run_ms(10_500);
    assert_eq!(bench.bursts(from, PAUSE_US).len(), 0);
}

#[test]
fn two_buttons_at_once_never_send_a_third_ones_code() {
    let mut bench = Bench::with_image(Supply::default(), &demo_body());
    let mut rng = ChaCha8Rng::seed_from_u64(23);
    let mut heard = 0;
    for (first, &near) in TAPS.iter().enumerate() {
        for (second, &far) in TAPS.iter().enumerate().skip(first + 1) {
            let from = bench.chip.now();
            bench.ladder.press(first, Contact::Firm(6.0), from + rng.random_range(0..4) * MS, 110);
            bench.ladder.press(second, Contact::Firm(6.0), from + rng.random_range(0..4) * MS, 110);
            bench.run_ms(400);
            let sent = commands(&bench, from);
            assert!(sent.iter().all(|command| [near, far].contains(command)), "{first}, {second}: {sent:?}");
            assert!(sent.len() <= 1, "{first}, {second}: {sent:?}");
            heard += sent.len();
        }
    }
    println!("21 pairs of buttons: {heard} sent one of their two codes, none another");
}

#[test]
fn a_wire_that_falls_off_sends_nothing_and_no_press_is_told() {
    let mut bench = Bench::with_image(Supply::default(), &demo_body());
    bench.ask(&Ask::Watch(true));
    let from = bench.chip.now();
    for _ in 0..10 {
        bench.ladder.fall_off(true);
        bench.run_ms(170);
        bench.ladder.fall_off(false);
        bench.run_ms(90);
    }
    bench.ladder.fall_off(true);
    bench.run_ms(1_000);
    assert_eq!(bench.bursts(from, PAUSE_US).len(), 0);
    let decisions = bench.decisions();
    assert!(decisions.iter().all(|decision| decision.kind == DecisionKind::Undecided), "{decisions:?}");
    // It works again once the wire is back.
    bench.ladder.fall_off(false);
    bench.run_ms(100);
    let from = bench.chip.now();
    bench.ladder.press(2, Contact::Firm(6.0), from, 120);
    bench.run_ms(300);
    assert_eq!(commands(&bench, from), [TAPS[2]]);
}
