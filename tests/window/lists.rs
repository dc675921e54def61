//! Lists of commands, from a file and into one, through the disk's own thread.

use egui::{Key, Modifiers};
use spokewire::project::{ListFormat, read_list, write_list};

use super::hands::{Bench, CTRL, written};

/// The demo at the Codes station.
fn at_codes(folder: &std::path::Path) -> Bench {
    let mut bench = Bench::open(folder);
    bench.key(Modifiers::NONE, Key::D);
    bench.key(CTRL, Key::Num4);
    bench
}

#[test]
fn a_list_written_in_one_window_is_taken_into_another() {
    let folder = tempfile::tempdir().unwrap();
    let mut bench = at_codes(folder.path());
    let commands = bench.project().stereo.commands.clone();
    for name in ["tarn.csv", "tarn.ron"] {
        let path = folder.path().join(name);
        bench.click("Export a list");
        bench.wait_to_say("Where to write the list");
        bench.type_path(&path, "Write");
        bench.wait_to_say("The list is written.");
        bench.click("Put away");
        let format = ListFormat::of_path(&path).unwrap();
        let text = std::fs::read_to_string(&path).unwrap();
        assert_eq!(text, write_list(&bench.project().stereo, format));
        assert_eq!(read_list(text.as_bytes()).commands.len(), commands.len());
    }
    // Dropped onto the window at this station, a table is a list and no recording.
    bench.drop_file(&folder.path().join("tarn.csv"));
    bench.wait_to_say("Nothing new in tarn.csv.");
    for name in ["tarn.csv", "tarn.ron"] {
        let mut bench = Bench::open(folder.path());
        bench.key(CTRL, Key::N);
        bench.key(CTRL, Key::Num4);
        bench.click("Import a list");
        bench.wait_to_say("Which list of commands to take in");
        bench.type_path(&folder.path().join(name), "Read");
        bench.wait_to_say(&format!("{} commands taken in from {name}.", commands.len()));
        let codes = |commands: &[spokewire::project::Command]| {
            commands.iter().map(|command| (command.name.clone(), command.code.clone())).collect::<Vec<_>>()
        };
        assert_eq!(codes(&bench.project().stereo.commands), codes(&commands), "{name}");
    }
}

#[test]
fn what_can_not_be_taken_or_written_is_told_and_changes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let mut bench = at_codes(folder.path());
    let before = bench.project().clone();
    let list = written(folder.path(), "bad.csv", "name,family,address,command\nSeek,nec,0x59,\nOn,nec,1,2\n");
    bench.click("Import a list");
    bench.type_path(&list, "Read");
    bench.wait_to_say("Line 2: There is no command.");
    bench.click("Take nothing");
    assert_eq!(*bench.project(), before);
    for (path, told) in
        [(folder.path().join("gone.csv"), "is not there"), (folder.path().to_owned(), "is a folder")]
    {
        bench.click("Import a list");
        bench.type_path(&path, "Read");
        bench.wait_to_say(told);
        bench.click("Put away");
    }
    let van = written(folder.path(), "van.ron", &spokewire::project::write(&before));
    bench.click("Export a list");
    bench.type_path(&van, "Write");
    bench.wait_to_say("is a vehicle's own file");
    assert_eq!(std::fs::read_to_string(&van).unwrap(), spokewire::project::write(&before));
    assert_eq!(*bench.project(), before);
}
