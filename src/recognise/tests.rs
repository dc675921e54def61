//! The recogniser in sentences: what it takes, what it leaves, and when.

use proptest::prelude::*;

use super::*;
use crate::signal::Level;

const NOISE_FREE: Band = Band { low: 930, high: 990 };

/// One wire at rest near 959, five buttons 100 counts apart with bands of 60.
fn rules() -> Rules {
    Rules {
        wires: Wires::One,
        rests: [NOISE_FREE; 2],
        buttons: (0..5)
            .map(|n| {
                (1, Band { low: 70 + 100 * n, high: 130 + 100 * n }, Has { tap: true, ..Has::default() })
            })
            .collect(),
        dwell_ticks: 20,
        settle: Level::from_count(4.0),
        hold_ticks: 600,
        double_ticks: 300,
        rollover: false,
    }
}

fn with(has: Has) -> Rules {
    let mut rules = rules();
    for button in &mut rules.buttons {
        button.2 = has;
    }
    rules
}

fn at(count: u16) -> [Level; 2] {
    [Level::from_count(f64::from(count)), Level::NONE]
}

const REST: u16 = 959;

/// Counts held for so many ticks, one after the other.
fn run(rules: &Rules, held: &[(u16, usize)]) -> Vec<(u32, EventKind, Option<u8>)> {
    let readings = held.iter().flat_map(|&(count, ticks)| std::iter::repeat_n(at(count), ticks));
    let events = replay(rules, readings).unwrap();
    events.into_iter().map(|(tick, event)| (tick, event.kind, event.button)).collect()
}

use EventKind::{DoubleTap, Hold, Pressed, Released, Tap, Undecided};

#[test]
fn a_press_is_recognised_after_the_dwell_and_one_tick_of_the_filter() {
    // Rest to tick 99; the button from tick 100. The filter shows it at 101, the dwell ends 19 later.
    let events = run(&rules(), &[(REST, 100), (200, 200), (REST, 100)]);
    assert_eq!(
        events,
        [(120, Pressed, Some(1)), (120, Tap, Some(1)), (320, Released, Some(1))],
        "and let go once rest has held as long"
    );
}

#[test]
fn a_reading_outside_every_band_is_nothing() {
    assert_eq!(run(&rules(), &[(REST, 100), (150, 400), (REST, 100)]), [(520, Undecided, None)]);
}

#[test]
fn a_button_held_when_power_comes_waits_for_rest() {
    assert_eq!(run(&rules(), &[(200, 500), (REST, 10), (200, 100)]), []);
    let events = run(&rules(), &[(200, 500), (REST, 30), (200, 100)]);
    assert_eq!(events.first().map(|event| event.1), Some(Pressed));
}

#[test]
fn a_bounce_when_letting_go_makes_no_second_press() {
    let bouncing = [(REST, 100), (200, 100), (REST, 6), (200, 30), (REST, 5), (200, 25), (REST, 100)];
    let pressed = run(&rules(), &bouncing).into_iter().filter(|event| event.1 == Pressed).count();
    assert_eq!(pressed, 1);
}

#[test]
fn lone_spikes_are_not_seen() {
    let mut held = vec![(REST, 100)];
    for _ in 0..200 {
        held.extend([(200, 1), (REST, 3), (1023, 1), (REST, 3)]);
    }
    assert_eq!(run(&rules(), &held), []);
    let mut held = vec![(REST, 100), (200, 40)];
    held.extend([(900, 1), (200, 3), (300, 1), (200, 3), (REST, 1), (200, 3)].repeat(50));
    assert_eq!(run(&rules(), &held), [(120, Pressed, Some(1)), (120, Tap, Some(1))]);
}

#[test]
fn a_level_that_slides_through_a_band_never_settles_there() {
    // One count a tick: 61 ticks in each band, three dwells, and never 20 within 4 counts.
    let sliding = (70..930).rev().map(at);
    let readings = std::iter::repeat_n(at(REST), 100).chain(sliding);
    assert_eq!(replay(&rules(), readings).unwrap(), []);
}

#[test]
fn a_hold_comes_once_and_a_tap_on_letting_go() {
    let both = with(Has { tap: true, hold: true, double_tap: false });
    let events = run(&both, &[(REST, 100), (200, 200), (REST, 100)]);
    assert_eq!(events, [(120, Pressed, Some(1)), (320, Released, Some(1)), (320, Tap, Some(1))]);
    let events = run(&both, &[(REST, 100), (200, 2_000), (REST, 100)]);
    assert_eq!(events, [(120, Pressed, Some(1)), (720, Hold, Some(1)), (2_120, Released, Some(1))]);
}

#[test]
fn two_taps_soon_after_each_other_are_a_double_tap() {
    let both = with(Has { tap: true, hold: false, double_tap: true });
    let events = run(&both, &[(REST, 100), (200, 60), (REST, 80), (200, 60), (REST, 600)]);
    assert_eq!(
        events,
        [
            (120, Pressed, Some(1)),
            (180, Released, Some(1)),
            (260, Pressed, Some(1)),
            (260, DoubleTap, Some(1)),
            (320, Released, Some(1)),
        ]
    );
    let events = run(&both, &[(REST, 100), (200, 60), (REST, 600)]);
    assert_eq!(events, [(120, Pressed, Some(1)), (180, Released, Some(1)), (481, Tap, Some(1))]);
}

#[test]
fn another_button_ends_the_wait_for_a_second_tap() {
    let both = with(Has { tap: true, hold: false, double_tap: true });
    let events = run(&both, &[(REST, 100), (200, 60), (REST, 60), (400, 60), (REST, 600)]);
    let kinds: Vec<_> = events.iter().map(|event| (event.1, event.2)).collect();
    assert_eq!(
        kinds,
        [
            (Pressed, Some(1)),
            (Released, Some(1)),
            (Tap, Some(1)),
            (Pressed, Some(3)),
            (Released, Some(3)),
            (Tap, Some(3)),
        ]
    );
}

#[test]
fn a_finger_that_slides_on_is_let_go_and_what_it_slides_to_waits_for_rest() {
    let slide = [(REST, 100), (200, 100), (300, 200), (REST, 100)];
    assert_eq!(
        run(&rules(), &slide),
        [(120, Pressed, Some(1)), (120, Tap, Some(1)), (220, Released, Some(1))]
    );
    let mut rolling = rules();
    rolling.rollover = true;
    assert_eq!(
        run(&rolling, &slide),
        [
            (120, Pressed, Some(1)),
            (120, Tap, Some(1)),
            (220, Released, Some(1)),
            (220, Pressed, Some(2)),
            (220, Tap, Some(2)),
            (420, Released, Some(2)),
        ]
    );
}

#[test]
fn the_first_wire_to_leave_rest_owns_the_press() {
    let mut two = rules();
    two.wires = Wires::Two;
    two.buttons[3].0 = 2;
    let level = |count: u16| Level::from_count(f64::from(count));
    let stretch = |first: u16, second: u16, ticks| std::iter::repeat_n([level(first), level(second)], ticks);
    let readings = stretch(REST, REST, 100)
        .chain(stretch(200, REST, 60))
        .chain(stretch(200, 400, 60))
        .chain(stretch(REST, 400, 200))
        .chain(stretch(REST, REST, 60))
        .chain(stretch(REST, 400, 60));
    let events = replay(&two, readings).unwrap();
    let pressed: Vec<_> =
        events.iter().filter(|(_, event)| event.kind == Pressed).map(|(_, e)| (e.button, e.wire)).collect();
    assert_eq!(pressed, [(Some(1), 1), (Some(3), 2)], "the second one only after rest of both");
}

#[test]
fn a_wire_that_falls_off_is_no_press() {
    let mut off = rules();
    off.rests[0] = Band { low: 930, high: 990 };
    assert_eq!(run(&off, &[(REST, 100), (1_023, 1_000)]), []);
    let gone = std::iter::repeat_n(at(REST), 100).chain(std::iter::repeat_n([Level::NONE; 2], 500));
    assert_eq!(replay(&off, gone).unwrap(), []);
}

#[test]
fn rules_the_box_has_no_room_for_are_refused_with_the_number() {
    let mut many = rules();
    many.buttons = vec![many.buttons[0]; 17];
    assert_eq!(
        Recogniser::new(&many).unwrap_err().to_string(),
        "There are 17 buttons, and the box knows 16 at most. Leave the others out."
    );
    let mut long = rules();
    long.dwell_ticks = 65;
    assert_eq!(
        Recogniser::new(&long).unwrap_err().to_string(),
        "A dwell of 65 ms can't be counted: 1 to 64 ms can. Change it."
    );
    let mut third = rules();
    third.buttons[1].0 = 3;
    assert_eq!(
        Recogniser::new(&third).unwrap_err().to_string(),
        "Button 2 hangs on wire 3, and there are wires 1 and 2. Change its wire."
    );
}

#[test]
fn a_monitored_feed_takes_the_supply_out_of_a_reading() {
    // The monitor reads 680 at the nominal feed. 4.70 V instead of 5.00 V lowers both alike.
    let nominal = Level::from_count(680.0);
    let mut feed = Feed::default();
    assert_eq!(feed.scale(400, nominal), Level::NONE, "before the monitor was read");
    for _ in 0..100 {
        feed.take(639);
    }
    let count = feed.scale(376, nominal).count().unwrap();
    assert!((count - 400.0).abs() < 1.0, "{count}");
    let mut low = Feed::default();
    low.take(169);
    assert_eq!(low.scale(100, nominal), Level::NONE, "under a quarter of the nominal");
    assert_eq!(plain(511).count(), Some(511.0));
}

#[test]
fn a_smoothed_feed_reads_neither_high_nor_low() {
    // Rounding down would read 0.4 to 0.9 of a count high after each fall, 1.2 counts at the scale's top.
    let mut feed = Feed::default();
    for raw in std::iter::repeat_n(720, 50).chain(std::iter::repeat_n(680, 200)) {
        feed.take(raw);
    }
    let count = feed.scale(950, Level::from_count(680.0)).count().unwrap();
    assert!((count - 950.0).abs() < 0.7, "{count}");
    let (mut low, mut sum) = (feed, 0.0);
    for raw in [679, 681, 680, 682, 678].repeat(40) {
        low.take(raw);
        sum += low.scale(950, Level::from_count(680.0)).count().unwrap() / 200.0;
    }
    assert!((sum - 950.0).abs() < 0.3, "{sum}");
}

#[test]
fn a_tap_told_late_still_says_where_its_button_had_settled() {
    let both = with(Has { tap: true, hold: false, double_tap: true });
    // The second press hangs in a gap at 150 while the wait runs out; the third lands on another button.
    for then in [(150, 400), (400, 60)] {
        let readings = [(REST, 100), (200, 60), (REST, 80), then, (REST, 600)]
            .into_iter()
            .flat_map(|(c, t)| std::iter::repeat_n(at(c), t));
        let events = replay(&both, readings).unwrap();
        let tap = events.iter().find(|(_, event)| event.kind == Tap).unwrap();
        assert_eq!((tap.1.button, tap.1.level.count()), (Some(1), Some(200.0)));
    }
}

#[test]
fn a_press_that_slid_off_with_roll_over_is_not_undecided_afterwards() {
    let mut rolling = rules();
    rolling.rollover = true;
    let kinds = |held: &[(u16, usize)]| -> Vec<_> { run(&rolling, held).into_iter().map(|e| e.1).collect() };
    assert_eq!(kinds(&[(REST, 100), (200, 100), (150, 60), (REST, 100)]), [Pressed, Tap, Released]);
    assert_eq!(
        kinds(&[(REST, 100), (200, 100), (150, 60), (300, 60), (REST, 100)]),
        [Pressed, Tap, Released, Pressed, Tap, Released],
        "and the next button needs no rest"
    );
    assert_eq!(kinds(&[(200, 100), (150, 60), (300, 60), (REST, 100)]), [], "but after power-up it does");
}

#[test]
fn the_shortest_and_the_longest_dwell_count_exactly() {
    for dwell in [1_u8, 64] {
        let mut rules = rules();
        rules.dwell_ticks = dwell;
        let ticks = u32::from(dwell);
        let whole = run(&rules, &[(REST, 100), (200, usize::from(dwell)), (REST, 200)]);
        if dwell == 1 {
            assert_eq!(whole, [], "the filter takes a lone reading for a spike");
        } else {
            assert_eq!(whole[0], (100 + ticks, Pressed, Some(1)));
        }
        let longer = run(&rules, &[(REST, 100), (200, 80), (REST, 200)]);
        assert_eq!(longer[0], (100 + ticks, Pressed, Some(1)));
        assert_eq!(longer.last(), Some(&(180 + ticks, Released, Some(1))));
        let short = run(&rules, &[(REST, 100), (200, usize::from(dwell) - 1), (REST, 200)]);
        assert!(short.iter().all(|event| event.1 == Undecided), "{short:?}");
    }
}

#[test]
fn a_dwell_may_span_the_settle_limit_and_not_a_step_more() {
    for (over, pressed) in [(0, 1), (1, 0)] {
        let mut rules = rules();
        rules.settle = Level::from_steps(40);
        let base = Level::from_count(200.0).steps();
        let button = (0..300).map(|tick| {
            let up = if tick / 2 % 2 == 0 { 0 } else { 40 + over };
            [Level::from_steps(base + up), Level::NONE]
        });
        let events = replay(&rules, std::iter::repeat_n(at(REST), 100).chain(button)).unwrap();
        assert_eq!(events.iter().filter(|(_, event)| event.kind == Pressed).count(), pressed);
    }
}

#[test]
fn times_stop_at_their_greatest_and_do_not_start_over() {
    let mut late = with(Has { tap: true, hold: true, double_tap: false });
    late.hold_ticks = u16::MAX;
    let readings = std::iter::repeat_n(at(REST), 100)
        .chain(std::iter::repeat_n(at(200), 150_000))
        .chain(std::iter::repeat_n(at(REST), 100));
    let events = replay(&late, readings).unwrap();
    let told: Vec<_> = events.iter().map(|(tick, event)| (*tick, event.kind, event.ticks)).collect();
    assert_eq!(told, [(120, Pressed, 19), (120 + 65_535, Hold, 65_535), (150_120, Released, u16::MAX)]);
}

#[test]
fn a_reading_that_is_missing_is_a_spike_when_alone_and_nothing_when_it_stays() {
    let gone = [Level::NONE; 2];
    let button = |ticks| std::iter::repeat_n(at(200), ticks);
    let readings = std::iter::repeat_n(at(REST), 100)
        .chain(button(30))
        .chain([gone])
        .chain(button(30))
        .chain(std::iter::repeat_n(gone, 60))
        .chain(button(60))
        .chain(std::iter::repeat_n(at(REST), 100));
    let events = replay(&rules(), readings).unwrap();
    let told: Vec<_> = events.iter().map(|(tick, event)| (*tick, event.kind)).collect();
    assert_eq!(told, [(120, Pressed), (120, Tap), (181, Released)], "and before rest no second press");
}

#[test]
fn two_wires_pressed_in_the_same_tick_give_one_press_of_the_first() {
    let mut two = rules();
    two.wires = Wires::Two;
    two.buttons[3].0 = 2;
    let level = |count: u16| Level::from_count(f64::from(count));
    let readings = std::iter::repeat_n([level(REST), level(REST)], 100)
        .chain(std::iter::repeat_n([level(200), level(400)], 100))
        .chain(std::iter::repeat_n([level(REST), level(REST)], 100));
    let events = replay(&two, readings).unwrap();
    let pressed: Vec<_> =
        events.iter().filter(|(_, event)| event.kind == Pressed).map(|(_, e)| (e.button, e.wire)).collect();
    assert_eq!(pressed, [(Some(1), 1)]);
    // A button of the other wire is no button of this one.
    let crossed = std::iter::repeat_n([level(REST), level(REST)], 100)
        .chain(std::iter::repeat_n([level(400), level(REST)], 100));
    assert!(replay(&two, crossed).unwrap().is_empty());
}

fn stream() -> impl Strategy<Value = Vec<[Level; 2]>> {
    // Stretches of a level with a little noise: what a wheel gives, and what it never gives.
    let stretch = (0_u16..1024, 1_usize..80, 0_u16..6);
    prop::collection::vec(stretch, 1..40).prop_map(|stretches| {
        let mut levels = vec![at(REST); 40];
        for (count, ticks, noise) in stretches {
            for tick in 0..ticks {
                let shaken = count.saturating_add((tick as u16 * 7) % (noise + 1)).min(1023);
                levels.push(at(shaken));
            }
            if count % 3 == 0 {
                levels.extend(vec![at(REST); ticks / 2]);
            }
        }
        levels
    })
}

/// What the spike filter makes of the first wire: the middle of each three.
fn filtered(levels: &[[Level; 2]]) -> Vec<u16> {
    let steps: Vec<u16> = levels.iter().map(|level| level[0].steps()).collect();
    let middle = |at: usize| {
        let mut three = [steps[at.saturating_sub(2)], steps[at.saturating_sub(1)], steps[at]];
        three.sort_unstable();
        three[1]
    };
    (0..steps.len()).map(middle).collect()
}

proptest! {
    #[test]
    fn between_two_presses_lies_a_whole_dwell_of_rest(levels in stream()) {
        let rules = rules();
        let events = replay(&rules, levels.iter().copied()).unwrap();
        let pressed: Vec<u32> =
            events.iter().filter(|(_, event)| event.kind == Pressed).map(|(tick, _)| *tick).collect();
        let seen = filtered(&levels);
        for pair in pressed.windows(2) {
            let rests = seen[pair[0] as usize..pair[1] as usize].iter().map(|&level| {
                let count = level / 32;
                (930..=990).contains(&count)
            });
            let (longest, _) = rests.fold((0, 0), |(longest, run): (usize, usize), is_rest| {
                let run = if is_rest { run + 1 } else { 0 };
                (longest.max(run), run)
            });
            prop_assert!(longest >= 20, "{longest} ticks of rest");
        }
    }

    #[test]
    fn every_press_was_in_its_band_and_still_for_the_dwell(levels in stream()) {
        let rules = rules();
        let seen = filtered(&levels);
        for (tick, event) in replay(&rules, levels.iter().copied()).unwrap() {
            if event.kind != Pressed {
                continue;
            }
            let band = rules.buttons[usize::from(event.button.unwrap())].1;
            let end = tick as usize;
            let dwell = &seen[end - 19..=end];
            let (low, high) = (dwell.iter().min().unwrap(), dwell.iter().max().unwrap());
            prop_assert!(low / 32 >= band.low && high / 32 <= band.high);
            prop_assert!(high - low <= rules.settle.steps());
        }
    }

    #[test]
    fn presses_and_releases_take_turns_whatever_comes(
        levels in stream(), rollover in any::<bool>(), hold in any::<bool>(), double_tap in any::<bool>(),
    ) {
        let mut rules = with(Has { tap: true, hold, double_tap });
        rules.rollover = rollover;
        let mut held = None;
        for (_, event) in replay(&rules, levels).unwrap() {
            match event.kind {
                Pressed => {
                    prop_assert_eq!(held, None);
                    held = event.button;
                }
                Released => {
                    prop_assert_eq!(held, event.button);
                    held = None;
                }
                Hold | DoubleTap => prop_assert_eq!(held, event.button),
                Tap => prop_assert!(event.button.is_some()),
                Undecided => prop_assert_eq!((held, event.button), (None, None)),
            }
        }
    }
}
