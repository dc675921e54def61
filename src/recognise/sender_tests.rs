//! Which command the box sends and how long, as sentences.

use super::box_image::{BoxImage, Which};
use super::sender::{Sender, Start};
use super::types::{Event, EventKind};
use crate::signal::Level;

const UP: u8 = 0; // button 0: a tap that repeats sends command 0
const MODE: u8 = 1; // button 1: tap command 1, hold command 2, double tap command 3
const DOWN: u8 = 2; // button 2: a tap sends command 3 anew every 100 ms

/// Three buttons, four commands of NEC.
fn image() -> BoxImage {
    let pair = |button: u16, gesture: u16, repeats: u16, command: u16, every: u16| {
        button | gesture << 4 | repeats << 6 | command << 7 | every << 12
    };
    let pairs = [
        pair(0, 0, 1, 0, 0),
        pair(1, 0, 0, 1, 0),
        pair(1, 1, 1, 2, 0),
        pair(1, 2, 0, 3, 0),
        pair(2, 0, 1, 3, 2),
    ];
    let mut body = vec![0, 12, 64, 0, 0xF4, 1, 0x2C, 1, 0, 0, 3, pairs.len() as u8, 4, 0, 0, 0];
    for low in [0u16, 100, 200, 300] {
        body.extend(low.to_le_bytes());
        body.extend((low + 50).to_le_bytes());
    }
    body.extend(pairs.iter().flat_map(|pair| pair.to_le_bytes()));
    body.extend([0x31, 4, 1, 2, 3, 4]);
    BoxImage::new(body).unwrap()
}

/// A sender, what the recogniser tells it, and an output that sends frames of a family.
struct Bench {
    image: BoxImage,
    sender: Sender,
    least: u8,
}

impl Bench {
    fn new(least: u8) -> Self {
        Self { image: image(), sender: Sender::new(), least }
    }

    fn says(&mut self, kind: EventKind, button: u8) -> Option<u8> {
        let event = Event { kind, button: Some(button), wire: 1, level: Level::from_count(100.0), ticks: 20 };
        self.sender.event(&self.image, &event)
    }

    fn presses(&mut self, button: u8) {
        assert_eq!(self.says(EventKind::Pressed, button), None);
    }

    fn lets_go(&mut self, button: u8) {
        assert_eq!(self.says(EventKind::Released, button), None);
    }

    /// A press that is a tap as soon as it is recognised.
    fn presses_tap(&mut self, button: u8) {
        self.presses(button);
        assert!(self.says(EventKind::Tap, button).is_some());
    }

    fn wait(&mut self, ticks: u32) {
        for _ in 0..ticks {
            self.sender.tick();
        }
    }

    fn next(&mut self) -> Option<Start> {
        self.sender.start_next(self.least)
    }

    /// Frames until there is none, each asked for 100 ticks after the one before; 20 at most.
    fn frames(&mut self) -> Vec<(Which, u8)> {
        let mut frames = Vec::new();
        while let Some(start) = self.next() {
            frames.push((start.which, start.command));
            self.wait(100);
            if frames.len() == 20 {
                break;
            }
        }
        frames
    }
}

use Which::{Again, First};

#[test]
fn nothing_is_sent_before_anything_is_pressed() {
    let mut bench = Bench::new(1);
    assert_eq!(bench.next(), None);
    bench.presses(UP);
    assert_eq!(bench.next(), None, "a press alone asks for nothing");
}

#[test]
fn a_tap_that_does_not_repeat_is_sent_its_least_frames_and_no_more_though_it_is_held() {
    for (least, frames) in [(1, 1), (3, 3), (0, 1)] {
        let mut bench = Bench::new(least);
        bench.presses_tap(MODE);
        let sent = bench.frames();
        assert_eq!(sent.len(), frames);
        assert_eq!(sent[0], (First, 1));
        assert!(sent[1..].iter().all(|&frame| frame == (Again, 1)));
    }
}

#[test]
fn a_tap_that_repeats_goes_on_until_the_button_is_let_go() {
    let mut bench = Bench::new(1);
    bench.presses_tap(UP);
    assert_eq!(bench.frames().len(), 20, "it would go on");
    bench.lets_go(UP);
    assert_eq!(bench.next(), None);
}

#[test]
fn a_press_shorter_than_the_least_frames_is_still_sent_so_often() {
    let mut bench = Bench::new(3);
    bench.presses_tap(UP);
    bench.lets_go(UP);
    assert_eq!(bench.frames(), [(First, 0), (Again, 0), (Again, 0)]);
}

#[test]
fn a_tap_told_after_the_button_was_let_go_does_not_repeat() {
    let mut bench = Bench::new(1);
    bench.presses(UP);
    bench.lets_go(UP);
    assert_eq!(bench.says(EventKind::Tap, UP), Some(0));
    assert_eq!(bench.frames(), [(First, 0)]);
}

#[test]
fn a_tap_told_before_the_release_of_the_same_tick_does_not_repeat_either() {
    let mut bench = Bench::new(1);
    bench.presses_tap(UP);
    bench.lets_go(UP);
    assert_eq!(bench.frames(), [(First, 0)]);
}

#[test]
fn a_command_that_is_sent_once_is_not_sent_again_while_held() {
    let mut bench = Bench::new(0);
    bench.presses_tap(UP);
    assert_eq!(bench.next().map(|start| start.which), Some(First));
    for _ in 0..10 {
        bench.wait(100);
        assert_eq!(bench.next(), None);
    }
    bench.lets_go(UP);
    bench.presses_tap(UP);
    assert_eq!(bench.next().map(|start| start.which), Some(First));
}

#[test]
fn the_toggle_bit_changes_with_every_press_and_stays_while_held() {
    let mut bench = Bench::new(1);
    let mut seen = Vec::new();
    for _ in 0..4 {
        bench.presses_tap(UP);
        let first = bench.next().unwrap();
        for _ in 0..3 {
            let again = bench.next().unwrap();
            assert_eq!((again.which, again.toggle), (Again, first.toggle));
        }
        seen.push(first.toggle);
        bench.lets_go(UP);
        assert_eq!(bench.next(), None);
    }
    assert_eq!(seen, [false, true, false, true]);
}

#[test]
fn a_rate_of_its_own_presses_anew_each_time_with_the_toggle_bit_changed() {
    let mut bench = Bench::new(1);
    bench.presses_tap(DOWN);
    let mut starts = Vec::new();
    for tick in 0..350 {
        if let Some(start) = bench.next() {
            starts.push((tick, start.which, start.command, start.toggle));
        }
        bench.wait(1);
    }
    assert_eq!(
        starts,
        [(0, First, 3, false), (100, First, 3, true), (200, First, 3, false), (300, First, 3, true)]
    );
    bench.lets_go(DOWN);
    bench.wait(100);
    assert_eq!(bench.next(), None);
}

#[test]
fn a_rate_of_its_own_still_sends_the_least_frames_each_time() {
    let mut bench = Bench::new(3);
    bench.presses_tap(DOWN);
    let mut starts = Vec::new();
    for _ in 0..7 {
        starts.extend(bench.next().map(|start| start.which));
        bench.wait(45);
    }
    assert_eq!(starts, [First, Again, Again, First, Again, Again, First]);
}

#[test]
fn a_hold_and_a_double_tap_lead_where_their_pairs_say() {
    let mut bench = Bench::new(1);
    bench.presses(MODE);
    assert_eq!(bench.says(EventKind::Hold, MODE), Some(2));
    assert_eq!(bench.next().map(|start| (start.which, start.command)), Some((First, 2)));
    assert_eq!(bench.next().map(|start| (start.which, start.command)), Some((Again, 2)));
    bench.lets_go(MODE);
    assert_eq!(bench.next(), None);
    assert_eq!(bench.says(EventKind::DoubleTap, MODE), Some(3));
    assert_eq!(bench.frames(), [(First, 3)]);
}

#[test]
fn a_gesture_without_a_pair_asks_for_nothing() {
    let mut bench = Bench::new(1);
    bench.presses(UP);
    assert_eq!(bench.says(EventKind::Hold, UP), None);
    assert_eq!(bench.says(EventKind::Undecided, 0), None);
    assert_eq!(bench.next(), None);
}

#[test]
fn one_command_waits_for_the_least_frames_of_the_one_before_and_a_later_one_takes_its_place() {
    let mut bench = Bench::new(3);
    bench.presses_tap(MODE);
    assert_eq!(bench.next().map(|start| start.command), Some(1));
    bench.lets_go(MODE);
    bench.presses_tap(UP);
    bench.lets_go(UP);
    bench.presses_tap(DOWN);
    bench.lets_go(DOWN);
    assert_eq!(
        bench.frames(),
        [(Again, 1), (Again, 1), (First, 3), (Again, 3), (Again, 3)],
        "the press between was overtaken"
    );
}

#[test]
fn what_waits_repeats_only_while_its_own_button_is_held() {
    let mut bench = Bench::new(1);
    bench.presses_tap(MODE);
    assert_eq!(bench.next().map(|start| start.command), Some(1));
    bench.lets_go(MODE);
    bench.presses_tap(UP);
    bench.lets_go(UP);
    assert_eq!(bench.frames(), [(First, 0)], "let go before its turn came");

    bench.presses_tap(MODE);
    assert_eq!(bench.next().map(|start| start.command), Some(1));
    bench.lets_go(MODE);
    bench.presses_tap(UP);
    assert_eq!(bench.frames().len(), 20, "still held");
}

#[test]
fn rolling_over_ends_the_first_button_s_command() {
    let mut bench = Bench::new(1);
    bench.presses_tap(UP);
    assert_eq!(bench.next().map(|start| start.command), Some(0));
    bench.lets_go(UP);
    bench.presses_tap(DOWN);
    assert_eq!(bench.next().map(|start| (start.which, start.command)), Some((First, 3)));
}

#[test]
fn the_link_s_command_is_held_as_long_as_it_says() {
    let mut bench = Bench::new(1);
    bench.sender.ask(200, 350);
    assert_eq!(bench.frames(), [(First, 200), (Again, 200), (Again, 200), (Again, 200)]);
    bench.sender.ask(200, 0);
    assert_eq!(bench.frames(), [(First, 200)]);
}

#[test]
fn the_link_s_command_replaces_what_waits_and_ends_what_is_held() {
    let mut bench = Bench::new(1);
    bench.presses_tap(UP);
    assert_eq!(bench.next().map(|start| start.command), Some(0));
    bench.sender.ask(200, 0);
    assert_eq!(bench.frames(), [(First, 200)]);
    bench.lets_go(UP);
    assert_eq!(bench.next(), None);
}

#[test]
fn stopping_starts_no_further_frame() {
    let mut bench = Bench::new(3);
    bench.sender.ask(200, 60_000);
    assert!(bench.next().is_some());
    bench.sender.ask(201, 60_000);
    bench.sender.stop();
    bench.wait(100);
    assert_eq!(bench.next(), None);
}

#[test]
fn a_button_held_for_minutes_goes_on() {
    let mut bench = Bench::new(1);
    bench.presses_tap(UP);
    assert_eq!(bench.next().map(|start| start.which), Some(First));
    for _ in 0..2_000 {
        bench.wait(100);
        assert_eq!(bench.next().map(|start| start.which), Some(Again));
    }
}
