//! Random wheels, learned by prompting from simulated presses: no button is mislabelled, and
//! buttons that cannot be told apart are said so. Seeded: the same wheels every time.
//!
//! What is held against the session is what it cannot see: which button the hand really pressed,
//! and the count that Ohm's law gives that button.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use spokewire::bands::Touch;
use spokewire::circuit::{Circuit, Reference, Sense};
use spokewire::demo::{HandMove, Mistakes, Person, PlanButton, VirtualWheel, WheelPlan};
use spokewire::learn::{Ask, Command, Event, Offer, Phase, PressState, Refusal, Session, Setup};
use spokewire::project::ButtonId;
use spokewire::signal::{RawReading, Reading};
use spokewire::wheel::Topology;

/// Readings reach the session in batches of so many milliseconds.
const BATCH_MS: usize = 10;
/// Nobody takes longer than this over one wheel, in milliseconds.
const PATIENCE_MS: f64 = 15.0 * 60.0 * 1e3;

/// A random wheel, and what is true of it.
struct Case {
    plan: WheelPlan,
    topology: Topology,
    /// Two buttons on one wire within a count of each other.
    twins: Option<(usize, usize)>,
    /// Whether the session is told each button's wire.
    wires_told: bool,
}

/// What came of it.
#[derive(Default, Debug)]
struct Tally {
    wheels: u32,
    chains: u32,
    pull_ups: u32,
    two_wires: u32,
    with_twins: u32,
    buttons: usize,
    presses: usize,
    refusals: usize,
    on_rung: usize,
    differs: usize,
    too_short: usize,
    two_places: usize,
    other: usize,
    indistinct: usize,
    started_over: usize,
    near: usize,
    mislabelled: usize,
    wheel_minutes: f64,
}

impl Case {
    fn random(rng: &mut ChaCha8Rng, with_twins: bool) -> Self {
        let number = rng.random_range(5..=12);
        let wires = if rng.random_bool(0.25) { 2 } else { 1 };
        let sense = if rng.random_bool(0.5) { Sense::PullUp } else { Sense::PullDown };
        let topology = if rng.random_bool(0.5) { Topology::Series } else { Topology::Parallel };
        let sense_ohm = [680.0, 820.0, 1_000.0, 1_500.0, 2_200.0][rng.random_range(0..5)];
        let circuit = Circuit {
            feed_monitor: None,
            filter: Default::default(),
            module: None,
            sense,
            sense_ohm,
            feed_v: 5.0,
            reference: Reference::Supply,
            contact_ohm: 0.0,
            leak_ohm: None,
        };
        let ohm_of = |count: f64| match sense {
            Sense::PullUp => sense_ohm * count / (1024.0 - count),
            Sense::PullDown => sense_ohm * (1024.0 - count) / count,
        };
        // Rungs spread over the scale on the side away from rest, each within a place of its own.
        let place = 860.0 / f64::from(number);
        let mut counts: Vec<f64> =
            (0..number).map(|k| 50.0 + place * (f64::from(k) + 0.5 + rng.random_range(-0.2..0.2))).collect();
        if sense == Sense::PullDown {
            counts.iter_mut().for_each(|count| *count = 1024.0 - *count);
        }
        let rest_count = if sense == Sense::PullUp { 978.0 } else { 46.0 };
        let rest_ohm = if rng.random_bool(0.5) { ohm_of(rest_count) } else { f64::INFINITY };
        let wanted_ohm: Vec<f64> = counts.iter().map(|&count| ohm_of(count)).collect();
        let seen_ohm = match topology {
            Topology::Series => chain(&wanted_ohm),
            Topology::Parallel => parallel(&wanted_ohm, rest_ohm),
        };
        let mut buttons: Vec<PlanButton> = (seen_ohm.iter().enumerate())
            .map(|(k, &ohm)| PlanButton {
                name: format!("Button {k}"),
                wire: if wires == 2 { rng.random_range(1..=2) } else { 1 },
                ohm,
            })
            .collect();
        for k in (1..buttons.len()).rev() {
            buttons.swap(k, rng.random_range(0..=k));
        }
        let twins = with_twins.then(|| {
            let second = rng.random_range(1..buttons.len());
            let first = rng.random_range(0..second);
            buttons[second].ohm = buttons[first].ohm * 1.001;
            buttons[second].wire = buttons[first].wire;
            (first, second)
        });
        // From press to press a rung moves by up to 3 counts where the ladder is steepest.
        let steepest_count_per_ohm = 1024.0 / sense_ohm;
        let plan = WheelPlan {
            buttons,
            rest_ohm: [rest_ohm; 2],
            circuit,
            noise_count: rng.random_range(0.5..3.0),
            contact_ohm: rng.random_range(2.0..10.0),
            contact_spread_ohm: rng.random_range(0.3..3.0) / steepest_count_per_ohm,
            bounce: true,
            spike_per_s: rng.random_range(0.0..0.5),
            wires,
        };
        Self { plan, topology, twins, wires_told: rng.random_bool(0.5) }
    }

    fn are_twins(&self, a: usize, b: usize) -> bool {
        self.twins.is_some_and(|(first, second)| (first, second) == (a.min(b), a.max(b)))
    }

    fn session(&self) -> Session {
        let asks = self.plan.buttons.iter().enumerate().map(|(index, button)| Ask {
            id: id_of(index),
            name: button.name.clone(),
            wire: self.wires_told.then_some(button.wire),
        });
        Session::new(Setup::new(asks.collect(), 3))
    }

    /// The median a button should have, and how far its presses may lie from it: the contact's
    /// spread to 5 standard deviations through the slope of the divider, what is left of a slow
    /// press or of wandering (within 2 counts), and the median's own error.
    fn truth(&self, button: usize) -> (f64, f64) {
        let WheelPlan { contact_ohm, contact_spread_ohm, noise_count, .. } = self.plan;
        let at = |contact_ohm: f64| self.plan.button_count(button, contact_ohm.max(0.5));
        let spread_ohm = 5.0 * contact_spread_ohm;
        let edge_count = (at(contact_ohm + spread_ohm) - at(contact_ohm)).abs();
        (at(contact_ohm) - 0.5, edge_count + 2.0 + 0.5 * noise_count)
    }
}

/// A chain of whole-ohm steps with its taps as wanted: what each tap is seen as.
fn chain(wanted_ohm: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..wanted_ohm.len()).collect();
    order.sort_by(|&a, &b| wanted_ohm[a].total_cmp(&wanted_ohm[b]));
    let mut seen_ohm = vec![0.0; wanted_ohm.len()];
    let mut sum_ohm = 0.0;
    for index in order {
        let step_ohm = (wanted_ohm[index] - sum_ohm).round();
        sum_ohm += step_ohm;
        seen_ohm[index] = sum_ohm;
    }
    seen_ohm
}

/// Whole-ohm resistors of their own, each seen together with the end-of-line resistor.
fn parallel(wanted_ohm: &[f64], end_ohm: f64) -> Vec<f64> {
    let seen = |wanted: &f64| {
        let own_ohm = (1.0 / (1.0 / wanted - 1.0 / end_ohm)).round();
        1.0 / (1.0 / own_ohm + 1.0 / end_ohm)
    };
    wanted_ohm.iter().map(seen).collect()
}

fn id_of(index: usize) -> ButtonId {
    ButtonId(format!("b{index}"))
}

fn index_of(id: &ButtonId) -> usize {
    id.0[1..].parse().unwrap_or(usize::MAX)
}

fn reading(raw: RawReading) -> Reading {
    let count = |raw: u16| if raw == RawReading::NONE { f64::NAN } else { f64::from(raw) };
    Reading::two(raw.t_ms, count(raw.raw[0]), count(raw.raw[1]))
}

fn wanted(session: &Session) -> Option<(usize, Touch)> {
    match session.prompt().phase {
        Phase::Press { button, touch, state: PressState::Waiting | PressState::Refused { .. }, .. } => {
            Some((index_of(&button), touch))
        }
        _ => None,
    }
}

fn wanted_button(session: &Session) -> Option<usize> {
    match session.prompt().phase {
        Phase::Press { button, .. } => Some(index_of(&button)),
        _ => None,
    }
}

/// A person who knows which button was really pressed, answering what is offered.
fn answer(case: &Case, session: &Session, asked: usize, pressed: &[Vec<usize>]) -> Option<Command> {
    match session.prompt().offer? {
        Offer::Indistinct { from, .. } => {
            case.are_twins(asked, index_of(&from)).then_some(Command::TakeIndistinct)
        }
        Offer::StartOver { .. } if pressed[asked].iter().any(|&really| really != asked) => {
            Some(Command::StartOver)
        }
        // The first press was right: so these two were not, and the next one will be.
        Offer::StartOver { .. } | Offer::LeaveOut { .. } => None,
    }
}

/// Learns one wheel and adds up what happened.
fn learn(case: &Case, seed: u64, mistakes: Mistakes, tally: &mut Tally) {
    let mut wheel = VirtualWheel::new(case.plan.clone(), seed);
    let mut person = Person::with_mistakes(seed ^ 0x5eed, mistakes);
    let mut session = case.session();
    // Which button was really pressed, for each press that counts.
    let mut pressed: Vec<Vec<usize>> = vec![Vec::new(); case.plan.buttons.len()];
    let mut really = usize::MAX;
    let (mut events, mut batch) = (Vec::new(), Vec::new());
    let mut twins_refused = 0;
    while !session.is_over() {
        assert!(wheel.now_ms() < PATIENCE_MS, "wheel {seed}: stuck at {:?}", session.prompt());
        let wanted = if person.is_holding() { None } else { wanted(&session) };
        batch.clear();
        for _ in 0..BATCH_MS {
            match person.step(wheel.now_ms(), wanted) {
                Some(HandMove::Press { button, touch }) => {
                    really = button;
                    wheel.press(button, touch);
                }
                Some(HandMove::Release) => wheel.release(),
                None => {}
            }
            batch.push(reading(wheel.next()));
        }
        session.take(&batch, &mut events);
        let mut offered = false;
        for event in std::mem::take(&mut events) {
            match event {
                Event::Pressed { button, .. } => pressed[index_of(&button)].push(really),
                Event::Refused { button, reason, .. } => {
                    tally.refusals += 1;
                    match &reason {
                        Refusal::OnRung { other, .. } => {
                            tally.on_rung += 1;
                            let twins = case.are_twins(index_of(&button), index_of(other));
                            twins_refused += usize::from(twins);
                        }
                        Refusal::Differs { .. } => tally.differs += 1,
                        Refusal::TooShort { .. } => tally.too_short += 1,
                        Refusal::TwoPlaces { .. } => tally.two_places += 1,
                        _ => tally.other += 1,
                    }
                }
                Event::Offer { .. } => offered = true,
                Event::Near { button, other, .. } => {
                    tally.near += 1;
                    let (a, b) = (index_of(&button), index_of(&other));
                    assert!(
                        mistakes.wrong_button > 0.0 || case.are_twins(a, b),
                        "wheel {seed}: {a} near {b}"
                    );
                }
                _ => {}
            }
        }
        let asked = wanted_button(&session).filter(|_| offered);
        let Some(asked) = asked else { continue };
        match answer(case, &session, asked, &pressed) {
            Some(Command::StartOver) => {
                tally.started_over += 1;
                pressed[asked].clear();
                session.command(Command::StartOver, &mut events);
            }
            Some(Command::TakeIndistinct) => {
                session.command(Command::TakeIndistinct, &mut events);
                let counted = |event: &Event| matches!(event, Event::Pressed { .. });
                assert!(events.iter().any(counted), "wheel {seed}: an offer taken counts a press");
                if events.iter().any(|event| matches!(event, Event::Dropped { .. })) {
                    pressed[asked].clear();
                }
                pressed[asked].push(really);
                events.retain(|event| !counted(event));
            }
            _ => {}
        }
    }
    tally.wheels += 1;
    tally.wheel_minutes += wheel.now_ms() / 60e3;
    tally.chains += u32::from(case.topology == Topology::Series);
    tally.pull_ups += u32::from(case.plan.circuit.sense == Sense::PullUp);
    tally.two_wires += u32::from(case.plan.wires == 2);
    if case.twins.is_some() {
        tally.with_twins += 1;
        assert!(twins_refused >= 2, "wheel {seed}: twins were not reported");
    }
    hold_against_the_truth(case, seed, &session, &pressed, tally);
}

fn hold_against_the_truth(
    case: &Case,
    seed: u64,
    session: &Session,
    pressed: &[Vec<usize>],
    tally: &mut Tally,
) {
    assert_eq!(session.learned() as usize, case.plan.buttons.len(), "wheel {seed}");
    for (index, result) in session.results().iter().enumerate() {
        tally.buttons += 1;
        assert_eq!(result.presses.len(), 3, "wheel {seed} button {index}");
        assert_eq!(pressed[index].len(), 3, "wheel {seed} button {index}");
        assert_eq!(result.wire, Some(case.plan.buttons[index].wire), "wheel {seed} button {index}");
        let from = result.indistinct_from.as_ref().map(index_of);
        tally.indistinct += usize::from(from.is_some());
        let first_twin = case.twins.filter(|&(_, second)| second == index).map(|(first, _)| first);
        assert_eq!(from, first_twin, "wheel {seed} button {index}");
        let (expected, within) = case.truth(index);
        for (press, &really) in result.presses.iter().zip(&pressed[index]) {
            tally.presses += 1;
            let off = (press.median_count - expected).abs();
            if off > within || (really != index && !case.are_twins(really, index)) {
                tally.mislabelled += 1;
                println!(
                    "wheel {seed} button {index} {:?}: {} wanted {expected:.1} ± {within:.1}, pressed {really}, noise {:.2}",
                    press.touch, press.median_count, case.plan.noise_count
                );
            }
        }
    }
}

#[test]
fn two_hundred_random_wheels_are_learned_and_no_button_is_mislabelled() {
    let mut rng = ChaCha8Rng::seed_from_u64(20_081);
    let mut tally = Tally::default();
    for seed in 0..200 {
        let case = Case::random(&mut rng, seed % 5 == 0);
        learn(&case, seed, Mistakes::default(), &mut tally);
    }
    println!("{tally:?}");
    assert_eq!(tally.mislabelled, 0, "{tally:?}");
    assert_eq!((tally.wheels, tally.with_twins, tally.indistinct), (200, 40, 40), "{tally:?}");
    assert!(tally.two_wires > 20 && tally.chains > 60 && tally.pull_ups > 60, "{tally:?}");
}

#[test]
fn a_hand_that_gets_it_wrong_now_and_then_still_mislabels_nothing() {
    let mut rng = ChaCha8Rng::seed_from_u64(4_077);
    let mut tally = Tally::default();
    for seed in 1_000..1_040 {
        let case = Case::random(&mut rng, seed % 5 == 0);
        let mistakes = Mistakes { wrong_button: 0.1, too_short: 0.1, buttons: case.plan.buttons.len() };
        learn(&case, seed, mistakes, &mut tally);
    }
    println!("{tally:?}");
    assert_eq!(tally.mislabelled, 0, "{tally:?}");
    assert!(tally.too_short > 20 && tally.started_over > 5 && tally.on_rung > 40, "{tally:?}");
}
