//! The recogniser in the box beside the one on the laptop: the same C, so the same at every tick.

use boxsim::{Bench, Contact, Ladder, MS, Supply, built, demo_body, demo_project};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use spokewire::recognise::{Label, Recogniser, Rules, plain};
use spokewire::wire::{Ask, BoxEvent, DecisionKind};

/// Presses as people make them and as they don't: firm, slow, short, over each other, with spikes.
fn press_at_random(ladder: &Ladder, rng: &mut ChaCha8Rng, from: u64, to: u64) {
    let mut at = from;
    while at < to {
        at += rng.random_range(1..500) * MS + rng.random_range(0..MS);
        let button = rng.random_range(0..Ladder::DEMO_OHM.len());
        let contact = match rng.random_range(0..3) {
            0 => Contact::Slow(rng.random_range(0.02..0.6)),
            _ => Contact::Firm(rng.random_range(0.0..20.0)),
        };
        let most_ms = if rng.random_bool(0.3) { 1_500 } else { 150 };
        ladder.press(button, contact, at, rng.random_range(1..most_ms));
        if rng.random_bool(0.2) {
            let spike = at + rng.random_range(0..200) * MS;
            ladder.spike(rng.random_range(0.0..1.0), spike, spike + rng.random_range(1..4) * MS);
        }
    }
}

/// Ticks compared, decisions compared.
fn compare(body: &[u8], rules: &Rules, seed: u64, ms: u64) -> (usize, usize) {
    let mut bench = Bench::with_image(Supply::default(), body);
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    bench.ask(&Ask::Watch(true));
    bench.ask(&Ask::Stream(true));
    let from = bench.chip.now();
    // It starts at rest, so that laptop and box agree on where they begin.
    press_at_random(&bench.ladder, &mut rng, from + 300 * MS, from + ms * MS);
    bench.run_ms(ms + 3_000);
    let samples = bench.samples();
    assert!(samples.windows(2).all(|pair| pair[1].0 == pair[0].0 + 1), "the stream has a hole");
    assert!(samples.len() > (ms + 2_900) as usize, "{}", samples.len());
    assert!(samples[..100].iter().all(|(_, sample)| sample.label == Some(16)), "it starts at rest");
    let mut recogniser = Recogniser::new(rules).expect("the box took these rules");
    let mut due = Vec::new();
    for (tick, sample) in &samples {
        let levels = sample.raw.map(plain);
        due.extend(recogniser.tick(levels).map(|event| (*tick, event)));
        let label = match recogniser.label() {
            Label::Button(button) => button,
            Label::Rest => 16,
            Label::Nothing => 17,
        };
        // The laptop's has seen nothing before; after rest for longer than any dwell both are the same.
        if *tick >= samples[0].0 + 100 {
            assert_eq!((sample.label, sample.pressed), (Some(label), recogniser.pressed()), "at tick {tick}");
        }
    }
    let told: Vec<_> =
        bench.decisions().into_iter().filter(|decision| decision.tick >= samples[0].0).collect();
    let last = samples[samples.len() - 1].0;
    let told: Vec<_> = told.into_iter().filter(|decision| decision.tick <= last).collect();
    assert_eq!(told.len(), due.len(), "decisions");
    for (told, (tick, due)) in told.iter().zip(&due) {
        let kind = format!("{:?}", due.kind);
        assert_eq!((told.tick, format!("{:?}", told.kind)), (*tick, kind));
        assert_eq!((told.button, told.wire, told.latency_ms), (due.button, due.wire, due.ticks));
    }
    (samples.len(), due.len())
}

#[test]
fn the_box_and_the_laptop_decide_the_same_at_every_tick() {
    let built = built(&demo_project());
    let (mut ticks, mut decisions) = (0, 0);
    for seed in 1..=2 {
        let (some, of) = compare(&demo_body(), &built.image.rules(), seed, 25_000);
        (ticks, decisions) = (ticks + some, decisions + of);
    }
    println!("{ticks} ticks and {decisions} decisions are equal");
    assert!(decisions > 150, "{decisions} decisions: too little was pressed");
}

#[test]
fn they_decide_the_same_where_rolling_over_and_double_taps_are_allowed() {
    let mut image = built(&demo_project()).image;
    image.rollover = true;
    image.double_ms = 400;
    for pair in &mut image.pairs {
        if pair.button % 2 == 0 && pair.gesture == spokewire::project::Gesture::Hold {
            pair.gesture = spokewire::project::Gesture::DoubleTap;
        }
    }
    let (ticks, decisions) = compare(&image.to_body().expect("it fits"), &image.rules(), 3, 25_000);
    println!("{ticks} ticks and {decisions} decisions are equal");
    assert!(decisions > 100, "{decisions}");
}

#[test]
fn a_button_held_while_power_comes_is_not_taken_before_it_is_let_go() {
    let bench = Bench::with_image(Supply::default(), &demo_body());
    let ladder = bench.ladder.clone();
    // Power goes and comes with the button down.
    let mut bench = bench.power_cycled(Supply::default(), boxsim::Torn::Erased);
    drop(ladder);
    bench.ladder.press(2, Contact::Firm(6.0), 0, 800);
    bench.ask(&Ask::Watch(true));
    bench.run_ms(1_500);
    let pressed = |bench: &Bench| {
        let told = bench.decisions();
        told.iter().filter(|decision| decision.kind == DecisionKind::Pressed).count()
    };
    assert_eq!(pressed(&bench), 0, "{:?}", bench.decisions());
    let now = bench.chip.now();
    bench.ladder.press(2, Contact::Firm(6.0), now, 100);
    bench.run_ms(300);
    assert_eq!(pressed(&bench), 1);
    assert!(bench.events.iter().any(|(_, event)| matches!(event, BoxEvent::Sent { .. })), "and it is sent");
}
