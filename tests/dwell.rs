//! The dwell against common practice, on the demo's recordings and on presses of our own; and presses
//! found in a recording without a prompt.

#![expect(clippy::unwrap_used, reason = "a helper of tests fails as a test does")]

#[path = "dwell/common_practice.rs"]
mod common_practice;

use spokewire::bands::Touch;
use spokewire::bands::dwell::{Input, Played, TrialKind, decide, table, trials};
use spokewire::demo::{VirtualWheel, demo_van};
use spokewire::learn::{Found, presses_in};
use spokewire::project::{self, Project, bands, dwell_input};
use spokewire::recognise::Rules;
use spokewire::signal::{Converter, Door, Level, Reading};

fn demo_project() -> Project {
    project::read(include_str!("../projects/demo-van.ron")).unwrap().project
}

fn input_of(project: &Project) -> Input {
    dwell_input(project, &bands(project)).unwrap()
}

/// Every button pressed so often, firm, slow and light in turn, held 0.9 s once it is down; the demo's
/// wheel by this seed.
fn pressed(seed: u64, times: usize) -> (Vec<Reading>, Vec<(usize, Touch)>) {
    let mut wheel = VirtualWheel::new(demo_van(), seed);
    let mut door = Door::new(Converter::TenBit);
    let mut readings = Vec::new();
    let mut run = |wheel: &mut VirtualWheel, ms: u32| {
        for _ in 0..ms {
            door.take(&[wheel.next()], &mut readings);
        }
    };
    let mut asked = Vec::new();
    run(&mut wheel, 500);
    for time in 0..times {
        for button in 0..7 {
            let touch = [Touch::Firm, Touch::Slow, Touch::Light][(time + button) % 3];
            asked.push((button, touch));
            wheel.press(button, touch);
            run(&mut wheel, if touch == Touch::Slow { 1_900 } else { 1_100 });
            wheel.release();
            run(&mut wheel, 300);
        }
    }
    (readings, asked)
}

#[derive(Debug, Default)]
struct Score {
    /// Decisions for taps of firm presses, and of light ones.
    taps_ms: [Vec<u32>; 2],
    wrong: usize,
    missed: usize,
    of: usize,
}

impl Score {
    fn take(&mut self, kind: TrialKind, button: Option<u8>, played: &Played) {
        self.of += 1;
        self.wrong += usize::from(played.wrong.is_some());
        self.missed += usize::from(button.is_some() && played.decided_ms.is_none());
        if let TrialKind::Tap(touch) = kind {
            self.taps_ms[usize::from(touch == Touch::Light)].extend(played.decided_ms);
        }
    }

    fn ms(&mut self, light: bool, share: f64) -> f64 {
        let ms = &mut self.taps_ms[usize::from(light)];
        ms.sort_unstable();
        f64::from(ms[((ms.len() - 1) as f64 * share).round() as usize])
    }

    fn errors_in_1000(&self) -> f64 {
        1e3 * (self.wrong + self.missed) as f64 / self.of as f64
    }
}

/// Ours at a dwell.
fn compare_ours(input: &Input, dwell_ms: u8) -> Score {
    let rules = Rules { dwell_ticks: dwell_ms, ..input.rules.clone() };
    let mut ours = Score::default();
    for trial in trials(input) {
        ours.take(trial.kind, trial.button, &decide(&rules, &trial, Level::NONE).unwrap());
    }
    ours
}

/// Ours at a dwell and common practice at all ten phases, over the same trials.
fn compare(name: &str, input: &Input, dwell_ms: u8) -> (Score, Score) {
    let (mut ours, mut common) = (compare_ours(input, dwell_ms), Score::default());
    for trial in trials(input) {
        for phase in 0..common_practice::EVERY_MS {
            let played = common_practice::decide(&input.rules, &trial, phase);
            common.take(trial.kind, trial.button, &played);
        }
    }
    for (who, score) in [("ours", &mut ours), ("common practice", &mut common)] {
        let (wrong, missed, of) = (score.wrong, score.missed, score.of);
        println!(
            "{name}, {who}: taps decided after {} ms median, {} ms 95 %, light ones {} and {}; {wrong} wrong, {missed} missed of {of}",
            score.ms(false, 0.5),
            score.ms(false, 0.95),
            score.ms(true, 0.5),
            score.ms(true, 0.95)
        );
    }
    (ours, common)
}

#[test]
fn a_tap_is_decided_in_half_the_time_of_common_practice_at_no_more_errors() {
    let project = demo_project();
    let own = input_of(&project);
    let proposed = table(&own, &|| false, &mut |_| ()).unwrap().unwrap().proposed_ms.unwrap();
    let (readings, asked) = pressed(1_609, 30);
    let mut found = presses_in(&readings, &project, &bands(&project));
    let ids: Vec<String> = project.wheel.buttons.iter().map(|button| button.id.0.clone()).collect();
    // How each was pressed is known here: those found come in order.
    let mut pressed = asked.iter();
    for trace in &mut found.traces {
        trace.touch = pressed.find(|(button, _)| ids[*button] == trace.button).unwrap().1;
    }
    assert!(found.traces.len() * 20 >= asked.len() * 19, "{} of {}", found.traces.len(), asked.len());
    let many = input_of(&Project { traces: found.traces, ..project });
    for (name, input) in [("the demo's recordings", &own), ("the tests' own", &many)] {
        let (mut ours, mut common) = compare(name, input, proposed);
        assert_eq!(ours.wrong + ours.missed, 0, "{name}");
        let factor = common.ms(false, 0.5) / ours.ms(false, 0.5);
        println!("{name}: dwell {proposed} ms, {factor:.2} times faster");
        assert!(factor >= FACTOR, "{name}: {factor}");
        // At as many errors as common practice makes, far less would do.
        let budget = common.errors_in_1000();
        let mut rows = (1..=64).map(|dwell_ms| (dwell_ms, compare_ours(input, dwell_ms)));
        let (dwell_ms, mut least) = rows.find(|(_, ours)| ours.errors_in_1000() <= budget).unwrap();
        let factor = common.ms(false, 0.5) / least.ms(false, 0.5);
        println!(
            "{name}: at {:.0} errors in 1000, common practice {budget:.0}: dwell {dwell_ms} ms, {factor:.1} times faster",
            least.errors_in_1000()
        );
        assert!(dwell_ms <= proposed, "{name}");
    }
}

/// The factor asked for.
const FACTOR: f64 = 2.0;

#[test]
fn presses_in_a_recording_are_found_with_their_buttons() {
    let project = demo_project();
    let (readings, asked) = pressed(77, 6);
    let Found { traces, unplaced, untraced } = presses_in(&readings, &project, &bands(&project));
    let ids: Vec<&str> = project.wheel.buttons.iter().map(|button| button.id.0.as_str()).collect();
    // In order; a press that did not settle is told of.
    let mut wanted = asked.iter();
    for trace in &traces {
        assert!(wanted.any(|(button, _)| ids[*button] == trace.button), "{} is not in order", trace.button);
        assert_eq!(trace.check(), Ok(()));
    }
    assert_eq!(traces.len() + (unplaced + untraced) as usize, asked.len());
    assert!(traces.len() >= 40, "{} of {}", traces.len(), asked.len());
    let slow = traces.iter().filter(|trace| trace.touch == Touch::Slow).count();
    assert!((8..=20).contains(&slow), "{slow} of 14 slow ones, some of them quick, some light ones slow");
}

#[test]
fn a_probe_of_fifty_readings_a_second_leaves_no_traces_and_says_so() {
    let project = demo_project();
    let (readings, asked) = pressed(77, 2);
    let few: Vec<Reading> = readings.iter().step_by(20).copied().collect();
    let found = presses_in(&few, &project, &bands(&project));
    assert_eq!(found.traces, []);
    assert!(found.untraced as usize >= asked.len() / 2, "{found:?}");
}
