//! Cautions before the first connection, the sheets, the stations and the look.

use egui::{Key, Modifiers};
use spokewire::app::Station;
use spokewire::app::the_box::Held;

use super::hands::{Bench, CTRL, said};

#[test]
fn nothing_is_connected_before_the_cautions_are_read() {
    let folder = tempfile::tempdir().unwrap();
    let mut bench = Bench::open(folder.path());
    assert!(bench.says("Connect waits until the cautions are read."));
    for caution in ["Airbag. The wheel carries it.", "Parked.", "Fuse at the source", "Never while driving."]
    {
        assert!(bench.says(caution), "{caution}");
    }
    bench.type_into("Port path", "/dev/null/no-port");
    assert!(!bench.can("Connect"));
    bench.key(Modifiers::NONE, Key::Enter);
    assert!(bench.says("Link Not connected"), "Enter asks for no more than the button does");
    bench.click("I have read this");
    assert!(bench.can("Connect") && !bench.says("Connect waits"));
    bench.click("Connect");
    bench.wait("the port's failure", |bench| bench.says("/dev/null/no-port"));
    drop(bench);
    let mut bench = Bench::open(folder.path());
    bench.type_into("Port path", "/dev/null/no-port");
    assert!(bench.can("Connect"), "it is remembered");
}

#[test]
fn cautions_and_keys_are_one_key_away_at_every_station() {
    let folder = tempfile::tempdir().unwrap();
    let mut bench = Bench::open(folder.path());
    bench.key(Modifiers::NONE, Key::D);
    // Being joined leads to Learn: a key pressed before that is overtaken where frames are slow.
    bench.wait("the demo to be joined", |bench| bench.model().link.is_open());
    let numbers = [Key::Num1, Key::Num2, Key::Num3, Key::Num4, Key::Num5, Key::Num6, Key::Num7];
    for (number, station) in numbers.into_iter().zip(Station::ALL) {
        bench.key(CTRL, number);
        assert_eq!(bench.model().station, station);
        let built = station != Station::Sheet;
        let to_come = bench.nodes().any(|node| said(&node).starts_with("Here the "));
        assert_ne!(built, to_come, "a station works, or says what it will hold: {}", station.name());
        for (key, words) in [(Key::F1, "Before the first connection"), (Key::F2, "Put away")] {
            assert!(!bench.says(words), "{}", station.name());
            bench.key(Modifiers::NONE, key);
            assert!(bench.says(words), "{}", station.name());
            bench.key(Modifiers::NONE, key);
            assert!(!bench.says(words), "the same key puts it away, {}", station.name());
            bench.key(Modifiers::NONE, key);
            bench.key(Modifiers::NONE, Key::Escape);
            assert!(!bench.says(words), "Esc puts it away, {}", station.name());
        }
    }
}

#[test]
fn putting_a_sheet_away_stops_no_session() {
    let folder = tempfile::tempdir().unwrap();
    let mut bench = Bench::open(folder.path());
    bench.key(Modifiers::NONE, Key::D);
    // What stands on the screen moves once more when the demo's box has said what it holds.
    bench.wait("the demo's first reading", |bench| !bench.model().recording.is_empty());
    bench.wait("the demo's box", |bench| bench.model().the_box.held == Held::Nothing);
    bench.click("Start prompted");
    bench.wait_to_say("Press 1 of 3");
    for key in [Key::F1, Key::F2] {
        bench.key(Modifiers::NONE, key);
        bench.key(Modifiers::NONE, Key::Escape);
        assert!(!bench.has("Put away"));
        assert!(bench.says("Press 1 of 3. Volume up."), "Esc goes to the sheet, not behind it");
    }
    bench.click_link();
    assert!(bench.says("Where readings come from"));
    bench.key(Modifiers::NONE, Key::Escape);
    assert!(!bench.says("Where readings come from"));
    assert!(bench.says("Press 1 of 3. Volume up."), "Esc goes to the panel, not behind it");
}

#[test]
fn the_look_changes_and_is_remembered() {
    let folder = tempfile::tempdir().unwrap();
    let mut bench = Bench::open(folder.path());
    bench.click("Dark look");
    assert!(bench.can("Light look"));
    drop(bench);
    let mut bench = Bench::open(folder.path());
    bench.click("Light look");
    assert!(bench.can("Dark look"));
}

#[test]
fn undo_and_redo_are_buttons_too_and_stand_still_when_there_is_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let mut bench = Bench::open(folder.path());
    bench.key(Modifiers::NONE, Key::D);
    assert!(!bench.can("Undo") && !bench.can("Redo"));
    bench.names();
    bench.type_into("Vehicle name", "Van");
    bench.click("Undo");
    assert_eq!(bench.project().vehicle.name, "Brindle Linnet 2008");
    bench.click("Redo");
    assert_eq!(bench.project().vehicle.name, "Van");
}
