//! Unsaved work: the one question that stops everything, the copy that survives a crash, and undo.

use egui::{Key, Modifiers};
use spokewire::project::Project;

use super::hands::{Bench, CTRL, CTRL_SHIFT, in_file, kept_copies};

/// The demo with its vehicle called `name`, which no file holds.
fn edited(bench: &mut Bench, name: &str) {
    bench.key(Modifiers::NONE, Key::D);
    bench.names();
    bench.type_into("Vehicle name", name);
    bench.wait_to_say("Not saved yet");
    assert_eq!(bench.project().vehicle.name, name);
}

#[test]
fn opening_another_vehicle_asks_about_unsaved_work_first() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("linnet.ron");
    let mut bench = Bench::open(folder.path());
    edited(&mut bench, "Brindle Linnet, blue");

    bench.key(CTRL, Key::N);
    bench.wait_to_say("Save Brindle Linnet, blue first?");
    bench.click("Stay here");
    assert!(!bench.says("first?"));
    assert_eq!(bench.project().vehicle.name, "Brindle Linnet, blue");

    bench.key(CTRL, Key::N);
    bench.click("Save first");
    bench.wait_to_say("Where to save");
    bench.click("Cancel");
    assert!(bench.says("Save Brindle Linnet, blue first?"), "no path, no answer: the question stays");
    bench.click("Save first");
    bench.type_path(&file, "Save");
    bench.wait_to_say("Vehicle Unnamed vehicle, Nothing to save");
    assert_eq!(in_file(&file).vehicle.name, "Brindle Linnet, blue");

    bench.type_into("Vehicle name", "Another");
    bench.key(CTRL, Key::O);
    bench.type_path(&file, "Open");
    bench.click("Lose changes");
    bench.wait_to_say("Vehicle Brindle Linnet, blue, stereo Tarn R40, Opened, unchanged");
}

#[test]
fn closing_asks_about_unsaved_work_and_saves_it_on_request() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("linnet.ron");
    let mut bench = Bench::open(folder.path());
    edited(&mut bench, "Brindle Linnet, blue");
    bench.ask_to_close();
    bench.wait_to_say("Closing without saving loses them.");
    bench.key(Modifiers::NONE, Key::Escape);
    assert!(!bench.says("first?") && !bench.is_closed());
    bench.ask_to_close();
    bench.click("Save first");
    bench.type_path(&file, "Save");
    bench.wait("closing", Bench::is_closed);
    drop(bench);
    assert_eq!(in_file(&file).vehicle.name, "Brindle Linnet, blue");
    assert_eq!(kept_copies(folder.path()).len(), 0);
    let bench = Bench::open(folder.path());
    assert!(!bench.says("Unsaved work was found") && bench.can("Open linnet.ron"));
}

#[test]
fn closing_without_saving_loses_the_work_only_when_told_to() {
    let folder = tempfile::tempdir().unwrap();
    let mut bench = Bench::open(folder.path());
    edited(&mut bench, "Brindle Linnet, blue");
    bench.wait("a copy", |_| kept_copies(folder.path()).len() == 1);
    bench.ask_to_close();
    bench.click("Lose changes");
    bench.wait("closing", Bench::is_closed);
    drop(bench);
    assert_eq!(kept_copies(folder.path()).len(), 0);
    assert!(!Bench::open(folder.path()).says("Unsaved work was found"));
}

#[test]
fn a_window_without_unsaved_work_closes_at_once() {
    let folder = tempfile::tempdir().unwrap();
    let mut bench = Bench::open(folder.path());
    bench.ask_to_close();
    assert!(bench.is_closed());
    let mut bench = Bench::open(folder.path());
    bench.key(Modifiers::NONE, Key::D);
    bench.ask_to_close();
    assert!(bench.is_closed(), "the demo as it comes is no work");
}

#[test]
fn no_key_acts_behind_the_question() {
    let folder = tempfile::tempdir().unwrap();
    let mut bench = Bench::open(folder.path());
    edited(&mut bench, "Brindle Linnet, blue");
    bench.ask_to_close();
    bench.wait_to_say("first?");
    for (modifiers, key) in [(CTRL, Key::Num4), (CTRL, Key::Z), (CTRL, Key::N), (Modifiers::NONE, Key::F2)] {
        bench.key(modifiers, key);
    }
    assert!(bench.says("first?") && bench.says("Name the vehicle, buttons and wires."));
    assert!(!bench.says("Go to a station"));
    assert_eq!(bench.project().vehicle.name, "Brindle Linnet, blue");
}

/// Works for a while, and is gone without closing.
fn crash(folder: &std::path::Path, name: &str) -> Project {
    let mut bench = Bench::open(folder);
    edited(&mut bench, name);
    let before = kept_copies(folder).len();
    bench.wait("a copy", |_| kept_copies(folder).len() > before);
    bench.project().clone()
}

#[test]
fn work_that_a_crash_left_is_offered_opened_and_saved() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("linnet.ron");
    let lost = crash(folder.path(), "Brindle Linnet, blue");

    let mut bench = Bench::open(folder.path());
    bench.wait_to_say("Unsaved work was found");
    assert!(bench.says("It is a copy of a vehicle that was never saved"));
    bench.key(Modifiers::NONE, Key::D);
    assert!(bench.says("Unsaved work was found") && bench.model().project().is_none());
    bench.click("Open it");
    bench.wait_to_say("This is the work kept at ");
    assert_eq!(*bench.project(), lost);
    drop(bench); // gone again before it was saved

    let mut bench = Bench::open(folder.path());
    bench.click("Open it");
    bench.save_as(&file);
    assert_eq!(in_file(&file), lost);
    drop(bench);
    assert!(!Bench::open(folder.path()).says("Unsaved work was found"), "it is saved");
    assert_eq!(kept_copies(folder.path()).len(), 0);
}

#[test]
fn work_that_a_crash_left_is_thrown_away_only_when_told_to() {
    let folder = tempfile::tempdir().unwrap();
    crash(folder.path(), "Brindle Linnet, blue");
    let mut bench = Bench::open(folder.path());
    bench.wait_to_say("Unsaved work was found");
    bench.key(Modifiers::NONE, Key::Escape);
    assert!(bench.says("Unsaved work was found"), "putting it away is no answer");
    bench.click("Throw it away");
    assert!(!bench.says("Unsaved work was found") && bench.says("Pick one."));
    drop(bench);
    assert!(!Bench::open(folder.path()).says("Unsaved work was found"));
}

#[test]
fn work_that_was_recovered_and_given_up_is_not_offered_again() {
    let folder = tempfile::tempdir().unwrap();
    crash(folder.path(), "Brindle Linnet, blue");
    let mut bench = Bench::open(folder.path());
    bench.click("Open it");
    bench.ask_to_close();
    bench.click("Lose changes");
    bench.wait("closing", Bench::is_closed);
    drop(bench);
    assert!(!Bench::open(folder.path()).says("Unsaved work was found"));
}

#[test]
fn work_of_two_crashed_windows_is_offered_one_after_the_other() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("linnet.ron");
    {
        let (mut first, mut second) = (Bench::open(folder.path()), Bench::open(folder.path()));
        edited(&mut first, "Brindle Linnet, blue");
        first.wait("a copy", |_| kept_copies(folder.path()).len() == 1);
        edited(&mut second, "Brindle Linnet, red");
        second.wait("a copy", |_| kept_copies(folder.path()).len() == 2);
    }
    let mut bench = Bench::open(folder.path());
    bench.click("Open it");
    assert_eq!(bench.project().vehicle.name, "Brindle Linnet, red", "the newest first");
    bench.save_as(&file);
    drop(bench);
    let mut bench = Bench::open(folder.path());
    bench.click("Open it");
    assert_eq!(bench.project().vehicle.name, "Brindle Linnet, blue");
}

/// Something a person does, and what it is.
type Edit = (&'static str, fn(&mut Bench));

/// Makes each edit, undoes it and redoes it by keys; then goes back over all of them and forth.
fn undo_and_redo(bench: &mut Bench, edits: &[Edit]) {
    let mut states = vec![bench.project().clone()];
    for (what, edit) in edits {
        edit(bench);
        let now = bench.project().clone();
        assert_ne!(states.last(), Some(&now), "{what}: nothing changed");
        states.push(now);
        bench.key(CTRL, Key::Z);
        assert_eq!(*bench.project(), states[states.len() - 2], "{what}: not undone in one step");
        bench.key(CTRL_SHIFT, Key::Z);
        assert_eq!(bench.project(), &states[states.len() - 1], "{what}: not redone");
    }
    for state in states.iter().rev().skip(1) {
        bench.key(CTRL, Key::Z);
        assert_eq!(bench.project(), state);
    }
    assert!(!bench.can("Undo"));
    for state in &states[1..] {
        bench.key(CTRL, Key::Y);
        assert_eq!(bench.project(), state);
    }
    assert!(!bench.can("Redo"));
}

#[test]
fn every_edit_of_the_buttons_is_undone_and_redone_by_keys() {
    let folder = tempfile::tempdir().unwrap();
    let mut bench = Bench::open(folder.path());
    bench.key(Modifiers::NONE, Key::D);
    bench.names();
    let edits: [Edit; 13] = [
        ("the vehicle's name", |bench| bench.type_into("Vehicle name", "Van")),
        ("the stereo's name", |bench| bench.type_into("Stereo name", "Radio")),
        ("a new button", |bench| {
            bench.type_into("New button's name", "Phone");
            bench.click("Add button");
        }),
        ("a button's name", |bench| bench.type_into("Name of A", "Louder")),
        ("a meter's reading", |bench| bench.type_into("Meter ohms of Next", "540")),
        ("a meter's reading taken away", |bench| bench.type_into("Meter ohms of Answer", "")),
        ("the order", |bench| bench.click("Move Source up")),
        ("a button removed", |bench| bench.click("Remove Mute")),
        ("the number of presses", |bench| bench.choose("Presses of each", "5")),
        ("the probe's numbers", |bench| bench.choose("Probe's numbers", "0 to 4095")),
        ("rest", |bench| bench.type_into("Ohms at rest", "")),
        ("a wire's colour", |bench| bench.type_into("Colour of wire 1", "BU")),
        ("where it is tapped", |bench| bench.type_into("Wire 1 is tapped at", "pin 9")),
    ];
    undo_and_redo(&mut bench, &edits);
}

#[test]
fn every_edit_of_commands_and_pairs_is_undone_and_redone_by_keys() {
    let folder = tempfile::tempdir().unwrap();
    let mut bench = Bench::open(folder.path());
    bench.key(Modifiers::NONE, Key::D);
    let edits: [Edit; 9] = [
        ("a new command", |bench| {
            bench.go("Codes");
            bench.key(Modifiers::NONE, Key::N);
            bench.type_into("Name", "Menu");
            bench.choose("Family", "nec, address to FF, command to FF");
            bench.type_into("Address", "59");
            bench.type_into("Command", "31");
            bench.click("Keep command");
        }),
        ("a command changed", |bench| {
            bench.click("Edit Menu");
            bench.type_into("Command", "32");
            bench.click("Keep change");
        }),
        ("a tap paired", |bench| {
            bench.go("Pair");
            bench.choose("Mute, tap", "Menu");
        }),
        ("a gesture added", |bench| {
            bench.click("Mute, add a gesture");
            bench.click("Mute, add hold");
        }),
        ("a hold paired", |bench| bench.choose("Mute, hold", "Volume up")),
        ("whether a hold repeats", |bench| bench.click("Mute, repeat while held")),
        ("a tap that sends nothing", |bench| bench.choose("Mute, tap", "Send nothing")),
        ("a gesture taken away", |bench| {
            let name = if bench.has("Mute, hold repeats") { "Mute, hold repeats" } else { "Mute, hold" };
            bench.choose(name, "Remove hold");
        }),
        ("a command removed", |bench| {
            bench.go("Codes");
            bench.click("Remove Menu");
        }),
    ];
    undo_and_redo(&mut bench, &edits);
}

#[test]
fn what_was_learned_is_undone_button_by_button() {
    let folder = tempfile::tempdir().unwrap();
    let mut bench = Bench::open(folder.path());
    bench.key(Modifiers::NONE, Key::D);
    bench.click("Start prompted");
    bench.key(Modifiers::NONE, Key::H);
    bench.wait("two buttons", |bench| bench.project().learned.len() == 2);
    bench.key(Modifiers::NONE, Key::Escape); // stops
    let learned = bench.project().clone();
    bench.key(CTRL, Key::Z);
    assert_eq!(bench.project().learned.len(), 1);
    bench.key(CTRL, Key::Z);
    assert_eq!(bench.project().learned.len(), 0);
    bench.key(CTRL_SHIFT, Key::Z);
    bench.key(CTRL_SHIFT, Key::Z);
    assert_eq!(*bench.project(), learned);
}
