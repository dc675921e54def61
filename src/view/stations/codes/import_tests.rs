//! Lists taken in and written, driven by their accessible labels.

use std::path::PathBuf;

use egui::Key;

use crate::app::codes::CodesView;
use crate::app::codes::list::ListAction;
use crate::app::{Action, CodesAction, Station};
use crate::project::read_list;
use crate::view::stations::driven::Driven;

const HEAD: &str = "name,family,address,command\n";

fn list(action: ListAction) -> Action {
    Action::Codes(CodesAction::List(action))
}

/// The list chosen and read, as the disk's thread answers.
fn imported(window: &mut Driven, text: &str) {
    let path = PathBuf::from("/lists/tarn.csv");
    window.act(list(ListAction::ImportFrom(path.clone())));
    window.act(list(ListAction::Loaded { path, read: Ok(Box::new(read_list(text.as_bytes()))) }));
}

#[test]
fn the_buttons_under_the_commands_ask_for_a_list() {
    for (width, height) in [(1280.0, 800.0), (1024.0, 640.0), (640.0, 400.0)] {
        let mut window = Driven::demo(Station::Codes, width, height);
        for (label, action) in
            [("Import a list", ListAction::AskImport), ("Export a list", ListAction::AskExport)]
        {
            window.focus(label);
            window.key(Key::Enter);
            assert!(window.asked(&list(action)), "{label}, {width} by {height}");
        }
    }
}

#[test]
fn a_sound_list_goes_in_at_once_and_is_told() {
    let mut window = Driven::demo(Station::Codes, 1280.0, 800.0);
    imported(&mut window, &format!("{HEAD}Seek up,nec,0x59,0x4A\nMute,nec,0x59,0x0C\n"));
    assert!(window.says("1 command taken in from tarn.csv."));
    assert!(window.says("Mute was there already, with the same code."));
    assert!(window.is_there("Seek up, typed, not tried, 4A, no button"));
    assert!(window.says("Waveform of nec address 59 command 4A"));
    window.act(Action::Undo);
    assert_eq!(window.project().stereo.commands.len(), 10);
}

#[test]
fn bad_lines_are_listed_and_the_good_ones_kept_only_when_asked() {
    let text = format!("{HEAD}Seek up,nec,0x59,0x4A\nMute,nec,0x59,0x77\nSeek down,nec,5B,0x4B\n");
    for (width, height) in [(1280.0, 800.0), (1024.0, 640.0), (640.0, 400.0)] {
        let mut window = Driven::demo(Station::Codes, width, height);
        imported(&mut window, &text);
        assert_eq!(window.project().stereo.commands.len(), 10);
        assert!(window.is_there("Can't be taken, 2 faults"));
        assert!(window.says("Line 3: \"Mute\" is there already with another code"));
        assert!(window.says("Line 4: address is \"5B\", no decimal number"));
        assert!(window.is_there("Seek up, nec address 59 command 4A"));
        assert!(window.has_focus("Keep the good one"));
        window.key(Key::Escape);
        assert!(!window.says("Can't be taken"));
        assert_eq!(window.project().stereo.commands.len(), 10);
        imported(&mut window, &text);
        window.key(Key::Enter);
        assert!(!window.says("Can't be taken, "));
        assert_eq!(window.project().stereo.commands.len(), 11);
        assert!(window.says("1 command taken in from tarn.csv."), "{width} by {height}");
    }
}

#[test]
fn a_list_with_nothing_to_keep_offers_only_to_be_put_away() {
    let mut window = Driven::demo(Station::Codes, 1280.0, 800.0);
    imported(&mut window, "Seek up,nec,0x59,0x4A\n");
    assert!(window.says("Nothing of it can be taken."));
    assert!(window.says("Line 1: The line of names is"));
    assert!(!window.says("good one"));
    window.click("Put away");
    assert!(window.model().codes.list.decision.is_none());
}

#[test]
fn the_decision_shows_in_every_view_and_what_is_typed_stays() {
    let mut window = Driven::demo(Station::Codes, 1280.0, 800.0);
    window.key(Key::N);
    window.type_text("Half");
    imported(&mut window, &format!("{HEAD}Seek up,nec,0x59,\n"));
    assert!(window.says("Line 2: There is no command."));
    window.click("Put away");
    assert_eq!(window.model().codes.draft.as_ref().map(|draft| draft.name.as_str()), Some("Half"));
    assert_eq!(window.model().codes.view, CodesView::TypeIn);
}

#[test]
fn a_thousand_faults_are_scrolled_and_counted() {
    let mut window = Driven::demo(Station::Codes, 1280.0, 800.0);
    imported(&mut window, &format!("{HEAD}{}", "x,nec,1,\n".repeat(1_500)));
    assert!(window.is_there("Can't be taken, 1500 faults"));
    assert!(window.says("Line 2: There is no command."));
}
