//! Sessions played by hand: what the wire does in, what the session says out.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::StandardNormal;

use super::super::{Ask, Hint, Mark, MarkState, Phase, PressState, Refusal};
use super::*;
use crate::signal::Level;

const REST: f64 = 959.5;

/// A session with a clock and a wire.
struct Bench {
    session: Session,
    events: Vec<Event>,
    rng: ChaCha8Rng,
    t_ms: f64,
    step_ms: f64,
    sigma: f64,
    rest: [f64; 2],
    two: bool,
}

impl Bench {
    fn new(names: &[&str]) -> Self {
        Self::with(Setup::new(names.iter().map(|name| ask(name, None)).collect(), 3))
    }

    fn with(setup: Setup) -> Self {
        Self {
            session: Session::new(setup),
            events: Vec::new(),
            rng: ChaCha8Rng::seed_from_u64(5),
            t_ms: 0.0,
            step_ms: 1.0,
            sigma: 0.9,
            rest: [REST, 300.5],
            two: false,
        }
    }

    fn reading(&mut self, exact: [f64; 2]) -> Reading {
        let noisy = exact.map(|count| {
            (count + self.sigma * self.rng.sample::<f64, _>(StandardNormal)).floor().clamp(0.0, 1023.0)
        });
        self.t_ms += self.step_ms;
        if self.two { Reading::two(self.t_ms, noisy[0], noisy[1]) } else { Reading::one(self.t_ms, noisy[0]) }
    }

    /// The wires do this for so long.
    fn wires(&mut self, ms: f64, exact: impl Fn(f64) -> [f64; 2]) -> &mut Self {
        let from_ms = self.t_ms;
        while self.t_ms < from_ms + ms {
            let reading = self.reading(exact(self.t_ms - from_ms));
            self.session.take(&[reading], &mut self.events);
        }
        self
    }

    fn hold(&mut self, count: f64, ms: f64) -> &mut Self {
        let rest = self.rest;
        self.wires(ms, |_| [count, rest[1]])
    }

    fn rest(&mut self, ms: f64) -> &mut Self {
        let rest = self.rest;
        self.wires(ms, |_| rest)
    }

    /// A press at this count, let go again.
    fn press(&mut self, count: f64) -> &mut Self {
        self.hold(count, 700.0).rest(500.0)
    }

    fn tell(&mut self, command: Command) -> &mut Self {
        self.session.command(command, &mut self.events);
        self
    }

    /// What was said since last asked, in short.
    fn said(&mut self) -> Vec<String> {
        let short = |event: Event| match event {
            Event::Rest { wire, level } => format!("rest {wire} {}", level.median_count),
            Event::RestMoved { wire, was, is } => {
                format!("rest {wire} moved {} {}", was.median_count, is.median_count)
            }
            Event::Prompt { button, press, of, touch } => format!("ask {} {press}/{of} {touch:?}", button.0),
            Event::Pressed { button, press, wire, .. } => format!("pressed {} {press} wire {wire}", button.0),
            Event::Learned { button } => format!("learned {}", button.0),
            Event::Near { button, other, .. } => format!("near {} {}", button.0, other.0),
            Event::Refused { reason, .. } => reason.text(),
            Event::Offer { offer } => offer.text(),
            Event::Dropped { button } => format!("dropped {}", button.0),
            Event::Skipped { button } => format!("skipped {}", button.0),
            Event::Done { learned } => format!("done {learned}"),
            Event::Stopped => "stopped".to_owned(),
        };
        std::mem::take(&mut self.events).into_iter().map(short).collect()
    }

    fn state(&self) -> PressState {
        match self.session.prompt().phase {
            Phase::Press { state, .. } => state,
            other => panic!("no press asked for: {other:?}"),
        }
    }
}

fn ask(name: &str, wire: Option<u8>) -> Ask {
    Ask { id: ButtonId(name.to_lowercase()), name: name.to_owned(), wire }
}

#[test]
fn a_wheel_is_learned_from_rest_to_rest() {
    let mut bench = Bench::new(&["Source", "Mute"]);
    bench.rest(1_400.0);
    assert!(matches!(bench.session.prompt().phase, Phase::LearnRest { progress } if progress > 0.9));
    bench.rest(300.0);
    assert_eq!(bench.said(), ["rest 1 959", "ask source 1/3 Firm"]);
    bench.press(551.5).press(551.5).press(551.5).press(849.5).press(849.5).press(849.5);
    assert_eq!(
        bench.said(),
        [
            "pressed source 1 wire 1",
            "ask source 2/3 Slow",
            "pressed source 2 wire 1",
            "ask source 3/3 Light",
            "pressed source 3 wire 1",
            "learned source",
            "ask mute 1/3 Firm",
            "pressed mute 1 wire 1",
            "ask mute 2/3 Slow",
            "pressed mute 2 wire 1",
            "ask mute 3/3 Light",
            "pressed mute 3 wire 1",
            "learned mute",
        ]
    );
    assert!(matches!(bench.session.prompt().phase, Phase::RestAgain { .. }));
    bench.rest(1_700.0);
    assert_eq!(bench.said(), ["rest 1 959", "done 2"]);
    assert_eq!(bench.session.prompt().phase, Phase::Done { learned: 2 });
    let medians: Vec<Vec<f64>> = (bench.session.results().iter())
        .map(|result| result.presses.iter().map(|p| p.median_count).collect())
        .collect();
    assert_eq!(medians, [[551.0; 3], [849.0; 3]]);
}

#[test]
fn a_press_is_shown_as_it_settles_and_counts_only_once_it_is_let_go() {
    let mut bench = Bench::new(&["Source"]);
    bench.rest(1_600.0);
    assert_eq!(bench.state(), PressState::Waiting);
    bench.hold(551.5, 150.0);
    assert!(matches!(bench.state(), PressState::Settling { progress, .. } if (0.3..0.7).contains(&progress)));
    bench.hold(551.5, 250.0);
    assert_eq!(bench.state(), PressState::Settled { count: 551.0 });
    bench.hold(551.5, 5_000.0);
    assert_eq!(bench.said().len(), 2, "held for long, counted not once");
    bench.rest(100.0);
    let counted = bench.state();
    assert!(
        matches!(counted, PressState::Counted { press: 1, of: 3, median_count: 551.0, .. }),
        "{counted:?}"
    );
    let marks = bench.session.prompt().marks;
    assert_eq!(marks[0], Mark { touch: Touch::Firm, state: MarkState::Counted { median_count: 551.0 } });
    bench.rest(500.0);
    assert_eq!(bench.state(), PressState::Waiting);
}

#[test]
fn a_press_on_anothers_rung_is_refused_and_the_second_time_may_be_taken_as_indistinct() {
    let mut bench = Bench::new(&["Source", "Mute"]);
    bench.rest(1_600.0).press(551.5).press(551.5).press(551.5);
    bench.said();
    bench.hold(551.5, 600.0);
    assert!(matches!(bench.state(), PressState::Refused { reason: Refusal::OnRung { .. } }));
    bench.rest(500.0);
    let refusal = "Not taken for Mute. It settled at 551, on Source's rung, 547 to 555. Press Mute again.";
    assert_eq!(bench.said(), [refusal]);
    assert_eq!(bench.session.prompt().offer, None);
    bench.tell(Command::TakeIndistinct).press(551.5);
    let offer =
        "Mute settled at 551 again, on Source's rung. If that was Mute, take it as indistinct from Source.";
    assert_eq!(bench.said(), [refusal, offer]);
    bench.tell(Command::TakeIndistinct).press(551.5).press(551.5);
    let said = bench.said();
    assert_eq!(said[0], "pressed mute 1 wire 1");
    assert!(said.contains(&"near mute source".to_owned()), "{said:?}");
    let mute = &bench.session.results()[1];
    assert_eq!(mute.indistinct_from, Some(ButtonId("source".to_owned())));
    assert_eq!(mute.presses.len(), 3);
}

#[test]
fn rungs_known_before_count_unless_their_button_is_asked_for_again() {
    let known = |id: &str, centre_count: f64| KnownRung {
        id: ButtonId(id.to_owned()),
        wire: 1,
        low_count: centre_count - 10.0,
        high_count: centre_count + 10.0,
        centre_count,
    };
    let mut setup = Setup::new(vec![ask("Mute", None)], 1);
    setup.known = vec![known("source", 551.0), known("mute", 849.0)];
    setup.names.insert(ButtonId("source".to_owned()), "Source".to_owned());
    let mut bench = Bench::with(setup);
    bench.rest(1_600.0).press(551.5).press(849.5);
    let said = bench.said();
    assert!(said[2].contains("on Source's rung, 541 to 561"), "{said:?}");
    assert_eq!(said[3..], ["pressed mute 1 wire 1", "learned mute"]);
}

#[test]
fn a_wrong_first_press_is_found_out_by_the_next_two() {
    let mut bench = Bench::new(&["Source"]);
    bench.rest(1_600.0).press(849.5).press(551.5);
    let said = bench.said();
    assert_eq!(
        said.last().unwrap(),
        "Not taken for Source. It settled at 551, 298 counts from its first press at 849. Press Source again."
    );
    bench.press(552.5);
    assert!(bench.said().last().unwrap().contains("start Source over"));
    assert!(matches!(bench.session.prompt().offer, Some(Offer::StartOver { .. })));
    bench.tell(Command::StartOver);
    assert_eq!(bench.said(), ["dropped source", "ask source 1/3 Firm"]);
    bench.press(551.5).press(551.5).press(551.5);
    assert!(bench.said().contains(&"learned source".to_owned()));
    let mut keep = Bench::new(&["Source"]);
    keep.rest(1_600.0).press(849.5).press(551.5).tell(Command::Accept);
    assert!(keep.said().contains(&"pressed source 2 wire 1".to_owned()));
}

#[test]
fn short_noisy_saturated_restless_and_double_presses_are_refused_with_the_reading() {
    let mut bench = Bench::new(&["Source"]);
    bench.rest(1_600.0);
    bench.said();
    bench.hold(551.5, 120.0).rest(300.0);
    assert_eq!(bench.said(), ["Too short: 0.12 s settled, 0.30 s wanted."]);
    bench.sigma = 30.0;
    bench.hold(551.5, 900.0);
    bench.sigma = 0.9;
    bench.rest(300.0);
    let said = bench.said();
    assert!(said.len() == 1 && said[0].starts_with("Too noisy: ± "), "{said:?}");
    bench.hold(1_030.0, 900.0).rest(300.0);
    assert_eq!(bench.said(), ["At the top of the range: 1023. Check the return wire."]);
    bench.wires(1_500.0, |t| [200.0 + 0.4 * t, 0.0]).rest(300.0);
    let said = bench.said();
    assert!(said[0].starts_with("It never settled: from 200 to 79") && said.len() == 1, "{said:?}");
    bench.hold(551.5, 500.0).hold(700.5, 500.0).rest(300.0);
    assert_eq!(bench.said(), ["It settled at two places, 551 and 700. Press one button, and hold it still."]);
    assert_eq!(bench.session.results()[0].presses.len(), 0);
}

#[test]
fn the_wire_that_leaves_rest_first_owns_the_press_until_both_rest() {
    let mut bench = Bench::new(&["Source", "Mute"]);
    bench.two = true;
    bench.rest(1_600.0);
    assert_eq!(bench.said()[..2], ["rest 1 959", "rest 2 300"]);
    bench.wires(600.0, |_| [REST, 551.5]).wires(600.0, |_| [700.5, 551.5]).wires(400.0, |_| [700.5, 300.5]);
    assert!(bench.said().is_empty(), "wire 1 is still away");
    bench.rest(300.0);
    assert_eq!(bench.said()[0], "pressed source 1 wire 2");
    bench.press(551.5);
    assert_eq!(
        bench.said(),
        ["Not taken for Source. Wire 1 moved, to 551; Source is on wire 2. Press Source again."]
    );
}

#[test]
fn a_slow_press_is_not_taken_for_the_rungs_it_passes() {
    let mut bench = Bench::new(&["Source", "Mute", "Answer"]);
    bench.rest(1_600.0);
    for count in [551.5, 849.5] {
        bench.press(count).press(count).press(count);
    }
    bench.said();
    let ohm = |t: f64| 82.0 + 30_000.0 * (-t / 95.0_f64).exp();
    bench.wires(2_000.0, |t| [(1024.0 * ohm(t) / (ohm(t) + 1_000.0)).min(REST), 0.0]).rest(400.0);
    assert_eq!(bench.said()[0], "pressed answer 1 wire 1");
    assert!((bench.session.results()[2].presses[0].median_count - 77.0).abs() <= 2.0);
}

#[test]
fn redo_skip_pause_and_stop_do_as_they_say() {
    let mut bench = Bench::new(&["Source", "Mute"]);
    bench.rest(1_600.0).press(551.5);
    bench.said();
    bench.tell(Command::Redo);
    assert_eq!(bench.said(), ["dropped source", "ask source 1/3 Firm"]);
    bench.hold(551.5, 500.0).tell(Command::Redo).rest(400.0);
    assert!(bench.said().is_empty(), "the press in hand was dropped");
    bench.tell(Command::Pause).press(551.5);
    assert_eq!(bench.session.prompt().phase, Phase::Paused);
    bench.hold(551.5, 500.0).tell(Command::Resume).hold(551.5, 100.0).rest(400.0);
    assert!(bench.session.results()[0].presses.is_empty());
    bench.said();
    bench.press(551.5).press(551.5).press(551.5);
    bench.said();
    bench.tell(Command::Redo);
    assert_eq!(bench.said(), ["dropped source", "ask source 3/3 Light"], "back over a button's end");
    bench.press(551.5).tell(Command::Skip);
    assert!(bench.said().contains(&"skipped mute".to_owned()));
    bench.rest(1_700.0);
    assert_eq!(bench.said().last().unwrap(), "done 1");
    let mut stopped = Bench::new(&["Source"]);
    stopped.rest(1_600.0).tell(Command::Stop).press(551.5);
    assert_eq!(stopped.said().last().unwrap(), "stopped");
    assert_eq!(stopped.session.prompt().phase, Phase::Stopped);
}

#[test]
fn rest_that_moved_is_reported_and_slow_drift_is_no_press() {
    let mut bench = Bench::new(&["Source"]);
    bench.rest(1_600.0).press(551.5).press(551.5);
    bench.said();
    // 12 counts in two minutes.
    bench.wires(120_000.0, |t| [REST - t / 10_000.0, 0.0]);
    bench.rest = [REST - 12.0, 0.0];
    assert!(bench.said().is_empty());
    bench.press(551.5).rest(1_700.0);
    let said = bench.said();
    assert!(said.contains(&"rest 1 moved 959 947".to_owned()), "{said:?}");
}

#[test]
fn rest_again_waits_for_a_hand_to_let_go() {
    let mut bench = Bench::new(&["Source"]);
    bench.rest(1_600.0).press(551.5).press(551.5).press(551.5);
    bench.said();
    bench.hold(551.5, 2_000.0);
    assert!(bench.said().is_empty());
    let prompt = bench.session.prompt();
    assert!(matches!(prompt.hint, Some(Hint::LetGo { wire: 1, .. })), "{prompt:?}");
    bench.rest(1_700.0);
    assert_eq!(bench.said(), ["rest 1 959", "done 1"]);
}

#[test]
fn rest_works_at_either_rail_and_at_any_rate() {
    for (rest, press) in [(1_030.0, 551.5), (-5.0, 551.5), (1.0, 300.5), (1_022.5, 12.5)] {
        for step_ms in [0.2, 1.0, 10.0, 100.0] {
            let mut bench = Bench::new(&["Source"]);
            (bench.rest, bench.step_ms, bench.sigma) = ([rest, 0.0], step_ms, 2.0);
            bench.rest(4_000.0);
            for _ in 0..3 {
                bench.hold(press, 1_500.0).rest(1_000.0);
            }
            bench.rest(4_000.0);
            let said = bench.said();
            assert_eq!(said.last().unwrap(), "done 1", "rest {rest}, every {step_ms} ms: {said:?}");
        }
    }
}

#[test]
fn an_unsteady_wire_is_named_and_can_be_left_out() {
    let mut bench = Bench::new(&["Source"]);
    bench.two = true;
    bench.wires(6_000.0, |t| [REST, 500.0 + 300.0 * (t / 150.0).sin()]);
    let prompt = bench.session.prompt();
    assert!(matches!(prompt.hint, Some(Hint::RestUnsteady { wire: 2, .. })), "{prompt:?}");
    assert_eq!(prompt.offer, Some(Offer::LeaveOut { wire: 2 }));
    bench.tell(Command::LeaveOut);
    assert_eq!(bench.said()[0], "rest 1 959");
    bench.wires(700.0, |t| [551.5, 500.0 + 300.0 * (t / 150.0).sin()]).rest(300.0);
    assert_eq!(bench.said()[0], "pressed source 1 wire 1");
}

#[test]
fn nothing_moving_for_long_is_asked_about() {
    let mut bench = Bench::new(&["Source"]);
    bench.rest(9_000.0);
    assert_eq!(bench.session.prompt().hint, None);
    bench.rest(2_000.0);
    assert_eq!(bench.session.prompt().hint, Some(Hint::NotMoved));
    bench.press(551.5);
    assert_eq!(bench.session.prompt().hint, None);
}

#[test]
fn a_probe_that_turns_out_to_count_to_4095_costs_nothing_learned() {
    let mut bench = Bench::new(&["Source"]);
    bench.rest = [640.5, 0.0];
    bench.rest(1_600.0).press(400.5);
    bench.session.rescale_quarter();
    bench.rest = [160.2, 0.0];
    bench.press(100.2).press(100.2).rest(1_800.0);
    let said = bench.said();
    assert_eq!(said.last().unwrap(), "done 1", "{said:?}");
    assert_eq!(bench.session.results()[0].presses[0].median_count, 100.0);
}

#[test]
fn losses_gaps_and_nonsense_in_the_middle_harm_nothing() {
    let mut bench = Bench::new(&["Source"]);
    bench.session.take(&[], &mut bench.events);
    let none = [Level::NONE; 2];
    for t_ms in [f64::NAN, f64::INFINITY, 0.0, -5.0] {
        bench.session.take(&[Reading { t_ms, wire: none }], &mut bench.events);
    }
    bench.rest(1_000.0);
    bench.session.loss();
    bench.rest(1_600.0).hold(551.5, 200.0);
    bench.session.loss();
    bench.hold(551.5, 100.0).rest(300.0);
    let said = bench.said();
    assert!(said[2].starts_with("Too short"), "{said:?}");
    bench.hold(551.5, 400.0);
    bench.t_ms += 100_000.0;
    bench.rest(500.0);
    bench.t_ms -= 50_000.0;
    bench.press(551.5).press(551.5).rest(1_700.0);
    let said = bench.said();
    assert_eq!(said.last().unwrap(), "done 1", "{said:?}");
}

#[test]
fn no_buttons_and_the_same_button_twice_come_to_an_end() {
    let mut none = Bench::new(&[]);
    for command in [Command::Redo, Command::Skip, Command::StartOver, Command::Accept, Command::LearnRest] {
        none.tell(command);
    }
    none.rest(1_700.0);
    assert_eq!(none.said(), ["rest 1 959", "done 0"]);
    let mut twice = Bench::new(&["Source", "Source"]);
    twice.rest(1_600.0);
    for _ in 0..6 {
        twice.press(551.5);
    }
    twice.rest(1_700.0);
    assert_eq!(twice.said().last().unwrap(), "done 2");
}

#[test]
fn three_or_more_presses_have_one_slow_and_one_light() {
    use super::super::touches;
    use Touch::{Firm, Light, Slow};
    assert_eq!(touches(0), [Firm]);
    assert_eq!(touches(2), [Firm, Slow]);
    assert_eq!(touches(3), [Firm, Slow, Light]);
    assert_eq!(touches(5), [Firm, Slow, Light, Firm, Firm]);
    assert_eq!(touches(40).len(), 9);
}
