//! Files that can't be read, are newer, or are open twice.

use std::path::Path;
use std::time::Duration;

use egui::{Key, Modifiers};
use spokewire::demo::demo_project;
use spokewire::project;
use spokewire::shell::Options;

use super::hands::{Bench, CTRL, in_file, written};

fn opened(folder: &Path, file: &Path) -> Bench {
    let options = Options { file: Some(file.to_owned()), ..Options::default() };
    let mut bench = Bench::start(folder, (1280.0, 800.0), options);
    bench
        .wait("the file's answer", |bench| bench.model().document.is_some() || bench.says("can't be opened"));
    bench
}

#[test]
fn a_file_that_cannot_be_read_is_told_with_its_line_and_leaves_the_bench_as_it_was() {
    let folder = tempfile::tempdir().unwrap();
    let whole = project::write(&demo_project());
    let line = whole.lines().position(|line| line.contains("meter_ohm")).unwrap() + 1;
    let cases = [
        ("cut.ron", whole[..whole.len() / 2].to_owned(), "Line ".to_owned()),
        (
            "wrong.ron",
            whole.replacen("meter_ohm: Some(84", "meter_ohm: Some(\"84", 1),
            format!("Line {line}, "),
        ),
        (
            "nan.ron",
            whole.replacen("meter_ohm: Some(84.0)", "meter_ohm: Some(NaN)", 1),
            format!("Line {line}, "),
        ),
        ("empty.ron", String::new(), "empty".to_owned()),
        ("missing.ron", String::new(), "missing.ron".to_owned()),
    ];
    let mut bench = Bench::open(folder.path());
    bench.key(Modifiers::NONE, Key::D);
    bench.names();
    bench.type_into("Vehicle name", "Mine");
    let before = bench.project().clone();
    for (name, text, told) in cases {
        let path = folder.path().join(name);
        if name != "missing.ron" {
            assert_ne!(text, whole, "{name}");
            written(folder.path(), name, &text);
        }
        bench.key(CTRL, Key::O);
        bench.type_path(&path, "Open");
        bench.click("Lose changes");
        bench.wait_to_say(&format!("{name} can't be opened."));
        let notice = bench.model().notices.on(spokewire::app::Topic::File).unwrap();
        assert!(notice.body.contains(&told), "{name}: {}", notice.body);
        println!("{name}: {}", notice.body);
        assert_eq!(*bench.project(), before, "{name}");
        assert!(bench.says("Not saved yet") && bench.can("Undo"), "{name}: what was unsaved still is");
        if name != "missing.ron" {
            assert_eq!(std::fs::read_to_string(&path).unwrap(), text, "{name} is left as it was");
        }
        bench.click("Put away");
    }
}

#[test]
fn a_newer_file_opens_read_only_and_is_saved_elsewhere() {
    let folder = tempfile::tempdir().unwrap();
    let whole = project::write(&demo_project());
    let newer = whole.replacen("format: 1", "format: 99", 1);
    assert_ne!(newer, whole);
    let path = written(folder.path(), "newer.ron", &newer);
    let mut bench = opened(folder.path(), &path);
    assert!(bench.says("newer.ron is open read-only.") && bench.says("Read-only"));
    assert_eq!(bench.project().vehicle.name, "Brindle Linnet 2008");

    bench.key(CTRL, Key::S);
    bench.wait_to_say("Where to save");
    bench.type_path(&path, "Save");
    bench.wait_to_say("Not saved over this file.");
    assert_eq!(std::fs::read_to_string(&path).unwrap(), newer);

    let other = folder.path().join("older.ron");
    bench.save_as(&other);
    assert_eq!(in_file(&other), *bench.project());
    assert_eq!(std::fs::read_to_string(&path).unwrap(), newer);
    bench.names();
    bench.type_into("Vehicle name", "Mine");
    bench.key(CTRL, Key::S);
    bench.wait("saving where it was saved before", |bench| {
        bench.model().document.as_ref().is_some_and(|document| !document.is_dirty())
    });
    assert_eq!(in_file(&other).vehicle.name, "Mine");
}

#[test]
fn a_file_that_is_open_in_another_window_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let path = written(folder.path(), "linnet.ron", &project::write(&demo_project()));
    let first = opened(folder.path(), &path);
    assert!(!first.says("This file is open in another window."));
    let second = opened(folder.path(), &path);
    assert!(second.says("This file is open in another window. What is saved last wins."));
    drop(second);
    drop(first);
    let third = opened(folder.path(), &path);
    assert!(!third.says("This file is open in another window."), "both are closed");
}

#[test]
fn a_file_that_could_not_be_opened_takes_nothing_from_the_one_that_is() {
    let folder = tempfile::tempdir().unwrap();
    let path = written(folder.path(), "linnet.ron", &project::write(&demo_project()));
    let broken = written(folder.path(), "broken.ron", "(");
    let mut first = opened(folder.path(), &path);
    first.key(CTRL, Key::O);
    first.type_path(&broken, "Open");
    first.wait_to_say("broken.ron can't be opened.");
    let second = opened(folder.path(), &path);
    assert!(second.says("This file is open in another window."), "the first window still has it");
}

#[test]
fn a_file_that_was_left_for_another_is_free_again() {
    let folder = tempfile::tempdir().unwrap();
    let path = written(folder.path(), "linnet.ron", &project::write(&demo_project()));
    let mut first = opened(folder.path(), &path);
    first.key(CTRL, Key::N);
    first.wait_to_say("Vehicle Unnamed vehicle");
    first.pass(Duration::from_millis(300)); // the disk's thread lets go
    let second = opened(folder.path(), &path);
    assert!(!second.says("This file is open in another window."));
}

#[test]
fn a_place_that_cannot_be_written_keeps_the_work_and_asks_for_another() {
    let folder = tempfile::tempdir().unwrap();
    let mut bench = Bench::open(folder.path());
    bench.key(Modifiers::NONE, Key::D);
    bench.key(CTRL, Key::S);
    bench.type_path(&folder.path().join("no/such/folder/linnet.ron"), "Save");
    bench.wait_to_say("linnet.ron was not saved.");
    bench.click("Save as");
    let file = folder.path().join("linnet.ron");
    bench.type_path(&file, "Save");
    bench.wait_to_say("Saved ");
    assert_eq!(in_file(&file), *bench.project());
}

#[test]
fn a_typed_path_is_taken_with_enter_and_put_away_with_escape() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("linnet");
    let mut bench = Bench::open(folder.path());
    bench.key(Modifiers::NONE, Key::D);
    bench.key(CTRL, Key::S);
    bench.wait_to_say("Where to save");
    bench.key(Modifiers::NONE, Key::Escape);
    assert!(!bench.says("Where to save"));
    bench.key(CTRL, Key::S);
    bench.wait_to_say("Where to save");
    bench.write(file.to_str().unwrap()); // the field has the keyboard already
    bench.key(Modifiers::NONE, Key::Enter);
    bench.wait_to_say("Saved ");
    assert!(!bench.says("Where to save"));
    assert_eq!(in_file(&folder.path().join("linnet.ron")), *bench.project(), "the ending is ours");
}

#[test]
fn dropping_a_file_on_the_window_opens_it() {
    let folder = tempfile::tempdir().unwrap();
    let path = written(folder.path(), "linnet.ron", &project::write(&demo_project()));
    let mut bench = Bench::open(folder.path());
    bench.drop_file(&path);
    bench.wait_to_say("Vehicle Brindle Linnet 2008, stereo Tarn R40, Opened, unchanged");
    let other = written(folder.path(), "drive.csv", "t_ms,wire1\n0,512\n1,512\n2,513\n");
    bench.drop_file(&other);
    bench.wait_to_say("The recording has come to its end.");
}
