//! A sweep in the real window, with the demo's box at the other end and the clock on the wall.

use std::time::{Duration, Instant};

use egui::{Key, Modifiers};
use spokewire::app::Station;
use spokewire::app::codes::sweep::Motion;
use spokewire::remote::Origin;

use super::hands::{Bench, CTRL, in_file};

/// The demo at Sweep, its box there.
fn at_sweep(bench: &mut Bench) {
    bench.key(CTRL, Key::Num4);
    assert_eq!(bench.model().station, Station::Codes);
    bench.choose_view("Sweep");
    bench.wait("the demo's box", |bench| bench.model().the_box.identity().is_some());
}

#[test]
fn a_sweep_finds_a_command_is_saved_and_goes_on_where_it_was() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("linnet.ron");
    let mut bench = Bench::open(folder.path());
    bench.key(Modifiers::NONE, Key::D);
    at_sweep(&mut bench);
    bench.type_into("First command", "40");
    bench.type_into("Last command", "45");
    bench.type_into("Pace, in seconds", "0.5");
    assert!(bench.says("6 codes, at most 3.00 s"));
    bench.click("Parked, and its settings are written down");
    let begun = Instant::now();
    bench.click("Start sweep");
    bench.wait_to_say("Sent, 3 of 6: nec address 59 command 42");
    assert!(begun.elapsed() >= Duration::from_millis(990), "{:?}", begun.elapsed());
    bench.key(Modifiers::NONE, Key::Space);
    bench.wait_to_say("Sent last, 3 of 6");
    bench.pass(Duration::from_millis(700));
    assert!(bench.says("Sent last, 3 of 6"), "it waits");
    bench.key(Modifiers::NONE, Key::M);
    bench.key(Modifiers::NONE, Key::N);
    bench.write("Dimmer");
    bench.key(Modifiers::NONE, Key::Enter);
    bench.wait_to_say("59 42 is Dimmer, kept as a command");
    bench.save_as(&file);
    drop(bench);

    let saved = in_file(&file);
    let sweep = saved.stereo.sweep.as_ref().unwrap();
    assert_eq!((sweep.next, sweep.pace_ms, sweep.marks.len()), (3, 500, 1));
    assert_eq!(saved.stereo.commands.last().map(|command| command.origin), Some(Origin::Swept));

    let mut bench = Bench::open(folder.path());
    bench.click("Open linnet.ron");
    bench.wait_to_say("Opened, unchanged");
    bench.key(CTRL, Key::Num4);
    bench.choose_view("Sweep");
    bench.wait_to_say("To be sent next, 4 of 6");
    assert!(bench.says("No box is connected."));
    bench.click("Parked, and its settings are written down");
    assert!(!bench.can("Go on"), "there is nothing to send with");
}

#[test]
fn a_sweep_pauses_when_the_demo_is_unplugged_in_the_middle() {
    let folder = tempfile::tempdir().unwrap();
    let mut bench = Bench::open(folder.path());
    bench.key(Modifiers::NONE, Key::D);
    at_sweep(&mut bench);
    bench.type_into("Last command", "3");
    bench.type_into("Pace, in seconds", "0.5");
    bench.click("Parked, and its settings are written down");
    bench.click("Start sweep");
    bench.wait_to_say("Sent, 2 of 4");
    bench.click_link();
    assert_eq!(bench.model().codes.sweep.motion, Motion::Paused, "the panel stands over it");
    bench.key(Modifiers::NONE, Key::Space);
    assert_eq!(bench.model().codes.sweep.motion, Motion::Running);
    bench.click("Disconnect");
    bench.wait_to_say("No box is connected.");
    let next = bench.project().stereo.sweep.as_ref().unwrap().next;
    bench.pass(Duration::from_millis(1_200));
    assert_eq!(bench.project().stereo.sweep.as_ref().unwrap().next, next, "nothing is sent to nobody");
    assert!(bench.says("Never while driving."), "the caution is asked anew");
}

#[test]
fn a_whole_run_ends_by_itself_with_every_code_sent() {
    let folder = tempfile::tempdir().unwrap();
    let mut bench = Bench::open(folder.path());
    bench.key(Modifiers::NONE, Key::D);
    at_sweep(&mut bench);
    bench.type_into("Last command", "3");
    bench.type_into("Pace, in seconds", "0.5");
    assert!(bench.says("4 codes, at most 2.00 s"));
    bench.click("Parked, and its settings are written down");
    bench.click("Start sweep");
    bench.wait_to_say("All were sent.");
    let sweep = bench.project().stereo.sweep.as_ref().unwrap();
    assert_eq!(sweep.next, 4);
    assert_eq!(bench.model().codes.sweep.sent.map(|sent| (sent.at, sent.whole)), Some((3, true)));
}
