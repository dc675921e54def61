//! The table over presses of a known wheel, and each trial held against what it says it is.

use super::*;
use crate::bands::{PressTrace, Touch, TraceText};
use crate::circuit::{Circuit, Reference, Sense};
use crate::recognise::{Band, Has, Rules, Wires};
use crate::signal::Level;

/// Two buttons of a pull-up ladder: 0 at 217 counts, 1 at 552; rest at 959.
fn input() -> Input {
    let tap = Has { tap: true, ..Has::default() };
    let rules = Rules {
        wires: Wires::One,
        rests: [Band { low: 940, high: 980 }, Band { low: 1, high: 0 }],
        buttons: vec![(1, Band { low: 200, high: 240 }, tap), (1, Band { low: 530, high: 580 }, tap)],
        dwell_ticks: 20,
        settle: Level::from_count(4.0),
        hold_ticks: 600,
        double_ticks: 300,
        rollover: false,
    };
    let circuit = Circuit {
        module: None,
        feed_monitor: None,
        filter: Default::default(),
        sense: Sense::PullUp,
        sense_ohm: 1_000.0,
        feed_v: 5.0,
        reference: Reference::Supply,
        contact_ohm: 0.0,
        leak_ohm: None,
    };
    let wheel = Wheel {
        centre_count: vec![Some(217.0), Some(552.0)],
        rest_count: [959.0, 0.0],
        circuit: Some(circuit),
        noise_count: 0.8,
    };
    Input { rules, wheel, traces: Vec::new() }
}

/// 100 ms of rest, a bounce of 1 on, 2 off, then held, then rest.
fn trace(count: f64, held_ms: usize, touch: Touch) -> PressTrace {
    let mut counts = vec![959.0; 100];
    counts.extend([count, 959.0, 959.0]);
    counts.extend(std::iter::repeat_n(count, held_ms));
    counts.extend([959.0; 20]);
    let levels: Vec<Level> = counts.into_iter().map(Level::from_count).collect();
    PressTrace {
        wire: 1,
        touch,
        settled_from: 103,
        settled_to: (103 + held_ms) as u16,
        readings: TraceText::of(&levels),
        ..PressTrace::default()
    }
}

fn whole(input: &Input) -> DwellTable {
    table(input, &|| false, &mut |_| ()).unwrap().unwrap()
}

#[test]
fn a_tap_is_cut_to_eighty_milliseconds_and_keeps_its_edges() {
    let mut input = input();
    input.traces.push((0, trace(217.0, 300, Touch::Firm)));
    let all = trials(&input);
    let tap = all.iter().find(|trial| trial.kind == TrialKind::Tap(Touch::Firm)).unwrap();
    let counts: Vec<f64> = tap.levels.iter().map(|level| level.count().unwrap()).collect();
    let pressed: Vec<usize> = (0..counts.len()).filter(|&at| counts[at] < 900.0).collect();
    // The bounce's lone reading is taken for a spike, so that the press begins behind it.
    assert_eq!(pressed.last().unwrap() - pressed[1] + 1, TAP_MS);
    assert_eq!(pressed[1] - pressed[0], 3);
    assert_eq!(tap.left_at, pressed[1]);
    assert_eq!(all.iter().filter(|trial| trial.kind == TrialKind::Recorded(Touch::Firm)).count(), 1);
}

#[test]
fn a_slow_press_makes_no_tap() {
    let mut input = input();
    input.traces.push((0, trace(217.0, 300, Touch::Slow)));
    assert!(trials(&input).iter().all(|trial| !matches!(trial.kind, TrialKind::Tap(_))));
}

#[test]
fn latency_is_the_dwell_and_the_filter() {
    let mut input = input();
    for _ in 0..5 {
        input.traces.push((0, trace(217.0, 300, Touch::Firm)));
    }
    let table = whole(&input);
    for dwell_ms in [1_u8, 10, 32, 64] {
        let latency = table.row(dwell_ms).unwrap().latency.unwrap();
        // The middle of three shows the new level with its second reading.
        assert_eq!((latency.median_ms, latency.of), (f64::from(dwell_ms) + 1.0, 5), "{dwell_ms}");
    }
}

#[test]
fn a_press_of_another_button_is_wrong_and_one_in_no_band_missed() {
    let mut input = input();
    input.traces.push((1, trace(217.0, 300, Touch::Firm)));
    input.traces.push((0, trace(300.0, 300, Touch::Firm)));
    let table = whole(&input);
    let recorded = table.row(32).unwrap().recorded;
    assert_eq!(recorded, Tally { wrong: 1, missed: 2, of: 2 });
    assert_eq!(table.safe_ms, None);
    assert_eq!(table.wrong_readings.0, 0, "no reading of a press outside its own band is looked at");
}

#[test]
fn a_second_decision_for_the_same_button_is_wrong() {
    // Let go for 5 ms in the middle: with a dwell of 4 that is two presses, with one of 10 one.
    let mut input = input();
    let mut levels = trace(217.0, 300, Touch::Firm).readings.levels().unwrap();
    levels[250..255].fill(Level::from_count(959.0));
    let bouncing = PressTrace { readings: TraceText::of(&levels), ..trace(217.0, 300, Touch::Firm) };
    input.traces.push((0, bouncing));
    let table = whole(&input);
    assert_eq!(table.row(4).unwrap().recorded.wrong, 1);
    assert_eq!(table.row(10).unwrap().recorded.wrong, 0);
}

#[test]
fn a_spike_of_three_readings_is_a_press_for_a_dwell_of_two_and_none_for_one_of_four() {
    let input = input();
    let of = |dwell_ms: u8| {
        let rules = Rules { dwell_ticks: dwell_ms, ..input.rules.clone() };
        let wrong = |trial: &Trial| decide(&rules, trial, Level::from_count(0.0)).unwrap().wrong.is_some();
        let by_length: Vec<usize> = SPIKE_MS
            .iter()
            .map(|&ms| spikes(&input).iter().skip(ms - 1).step_by(3).filter(|t| wrong(t)).count())
            .collect();
        by_length
    };
    assert_eq!(of(2), [0, 2, 2], "the middle of three takes a lone reading away, and keeps two");
    assert_eq!(of(4), [0, 0, 0]);
}

#[test]
fn a_slow_press_goes_from_rest_to_its_button_through_the_other() {
    let input = input();
    let all = passes(&input);
    assert_eq!(all.len(), 2 * (7 * 4 + 16));
    for trial in all.iter().filter(|trial| trial.button == Some(0)) {
        let counts: Vec<f64> = trial.levels.iter().map(|level| level.count().unwrap()).collect();
        assert!((counts[0] - 959.0).abs() < 5.0);
        let end = counts[counts.len() - 90];
        assert!((end - 217.0).abs() < 5.0, "{end}");
        assert!(counts.iter().any(|count| (530.0..=580.0).contains(count)), "passes the other band");
    }
}

#[test]
fn a_slow_press_is_taken_for_the_other_button_by_a_short_dwell_alone() {
    let input = input();
    let table = whole(&input);
    let wrong = |dwell_ms: u8| table.row(dwell_ms).unwrap().made.wrong;
    assert!(wrong(5) > 0);
    assert_eq!(wrong(40), 0);
    assert!(wrong(5) >= wrong(12) && wrong(12) >= wrong(20));
}

#[test]
fn nothing_is_proposed_on_too_few_presses_and_it_says_what_is_missing() {
    let mut input = input();
    let table = whole(&input);
    assert_eq!((table.presses, table.proposed_ms), (0, None));
    assert!(table.has_too_few());
    assert_eq!(table.wanting[..2], [Wanting::Button(0), Wanting::Button(1)]);
    for _ in 0..6 {
        input.traces.push((0, trace(217.0, 300, Touch::Firm)));
        input.traces.push((1, trace(552.0, 300, Touch::Firm)));
    }
    let table = whole(&input);
    assert_eq!((table.presses, table.slow, table.proposed_ms), (12, 0, None));
    input.traces.push((1, trace(552.0, 300, Touch::Slow)));
    let table = whole(&input);
    let (safe, proposed) = (table.safe_ms.unwrap(), table.proposed_ms.unwrap());
    assert!(proposed >= safe + 2, "{safe} {proposed}");
    assert!((safe..=proposed).all(|ms| table.row(ms).unwrap().made.is_clean()));
    let before = table.row(safe - 1).unwrap();
    assert!(!before.made.is_clean() || !before.recorded.is_clean(), "nothing shorter is clean");
    // 13 presses without an error exclude more than 20.6 % (FACTS C26's formula); the next goal is 10 %,
    // which takes 29 (ln 0.05 / ln 0.9 = 28.4).
    assert!((table.row(40).unwrap().wrong_upper - 0.205_8).abs() < 1e-4);
    assert!(table.wanting.contains(&Wanting::Presses { more: 16, share: 0.1 }));
    // One slow press: 11 for a quarter (ln 0.05 / ln 0.75 = 10.4).
    assert!(table.wanting.contains(&Wanting::Slow { more: 10, share: 0.25 }));
}

#[test]
fn a_stopped_table_is_none_and_progress_runs_to_its_end() {
    let input = input();
    assert_eq!(table(&input, &|| true, &mut |_| ()).unwrap(), None);
    let mut told = Vec::new();
    table(&input, &|| false, &mut |share| told.push(share)).unwrap();
    assert_eq!((told.len(), told.last()), (64, Some(&1.0)));
    assert!(told.windows(2).all(|pair| pair[0] < pair[1]));
}
