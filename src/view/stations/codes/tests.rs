//! The station driven by its accessible labels.

use egui::Key;

use crate::app::{Action, Edit, Station};
use crate::remote::{Code, FamilyId, Origin};
use crate::view::stations::driven::Driven;

fn nec(address: u32, command: u32) -> Code {
    Code::Family { family: FamilyId("nec".to_owned()), address, command }
}

fn empty() -> Driven {
    let mut window = Driven::demo(Station::Codes, 1280.0, 800.0);
    let ids: Vec<_> = window.project().stereo.commands.iter().map(|command| command.id.clone()).collect();
    for id in ids {
        window.act(Action::Edit(Edit::RemoveCommand(id)));
    }
    window
}

#[test]
fn a_command_is_typed_by_address_and_command_and_kept_with_enter() {
    let mut window = Driven::demo(Station::Codes, 1280.0, 800.0);
    window.key(Key::N);
    assert!(window.has_focus("Name"));
    window.type_text("Seek up");
    assert_eq!(window.model().codes.draft.as_ref().map(|draft| draft.name.as_str()), Some("Seek up"));
    window.type_into("Command", "4a");
    assert!(window.says("Waveform of nec address 59 command 4A"));
    window.key(Key::Enter);
    let kept = window.project().stereo.commands.last().unwrap();
    assert_eq!((kept.name.as_str(), &kept.code, kept.origin), ("Seek up", &nec(0x59, 0x4A), Origin::Typed));
    assert!(window.is_there("Seek up, typed, not tried, 4A, no button"));
    assert!(window.is_there("First bit first 9A 65 52 AD"));
}

#[test]
fn a_number_no_check_can_place_is_asked_about_and_kept_in_the_order_chosen() {
    let mut window = empty();
    assert!(window.is_there("No commands yet. Press the remote, or type a number."));
    window.click("New command");
    window.type_text("Louder");
    window.click("Number");
    window.type_text("9A656897");
    assert_eq!(window.model().codes.draft.as_ref().map(|draft| draft.number.as_str()), Some("9A656897"));
    assert!(window.says("no check can tell"));
    window.click("Keep command");
    assert!(window.project().stereo.commands.is_empty());
    window.click("Last bit first, nec address 97 command 65");
    window.click("Keep command");
    assert_eq!(window.project().stereo.commands.last().map(|command| &command.code), Some(&nec(0x97, 0x65)));
}

#[test]
fn what_is_wrong_is_said_beside_it_and_nothing_typed_is_lost() {
    let mut window = Driven::demo(Station::Codes, 1280.0, 800.0);
    window.key(Key::N);
    window.type_text("Mute");
    assert!(window.is_there("Mute is there already. Give this one another name."));
    window.type_into("Command", "1FF");
    assert!(window.says("Command 1FF"));
    window.key(Key::Enter);
    assert_eq!(window.project().stereo.commands.len(), 10);
    let draft = window.model().codes.draft.clone().unwrap();
    assert_eq!((draft.name.as_str(), draft.command.as_str()), ("Mute", "1FF"));
    window.key(Key::Escape);
    assert!(window.model().codes.draft.is_none());
}

#[test]
fn empty_fields_are_told_only_when_keeping_is_tried() {
    let mut window = empty();
    window.click("New command");
    assert!(!window.says("needs at least one letter"));
    window.click("Keep command");
    assert!(window.says("needs at least one letter"));
    assert!(window.says("The address"));
}

#[test]
fn typing_in_the_middle_of_a_name_keeps_the_caret_there() {
    let mut window = Driven::demo(Station::Codes, 1280.0, 800.0);
    window.key(Key::N);
    window.type_text("Sek");
    window.key(Key::ArrowLeft);
    window.type_text("eping");
    assert_eq!(window.model().codes.draft.as_ref().map(|draft| draft.name.as_str()), Some("Seepingk"));
}

#[test]
fn a_command_is_edited_with_its_code_and_undone() {
    let mut window = Driven::demo(Station::Codes, 1280.0, 800.0);
    window.click("Next track, typed, not tried, 1B, no button");
    window.key(Key::E);
    assert!(window.is_there("Change Next track"));
    window.type_into("Address", "");
    window.key(Key::Backspace);
    window.key(Key::Backspace);
    window.type_text("5a");
    window.click("Keep change");
    assert_eq!(window.project().stereo.commands[2].code, nec(0x5A, 0x1B));
    window.act(Action::Undo);
    assert_eq!(window.project().stereo.commands[2].code, nec(0x59, 0x1B));
}

#[test]
fn a_command_is_removed_and_its_neighbour_shown() {
    let mut window = Driven::demo(Station::Codes, 1280.0, 800.0);
    window.click("Next track, typed, not tried, 1B, no button");
    window.click("Remove Next track");
    assert!(!window.is_there("Next track, typed, not tried, 1B, no button"));
    assert_eq!(window.project().stereo.commands.len(), 9);
    assert_eq!(window.model().codes.chosen.as_ref().map(|id| id.0.as_str()), Some("previous_track"));
    assert!(window.says("Waveform of nec address 59 command 1A"));
}

#[test]
fn timings_are_typed_with_their_repeat() {
    let mut window = Driven::demo(Station::Codes, 1280.0, 800.0);
    window.key(Key::N);
    window.type_text("Odd one");
    window.click("Timings");
    window.type_text("9000 4500 560");
    window.type_into("Repeat every", "10");
    assert!(window.says("Type milliseconds above 14.1"));
    window.type_text("8");
    window.key(Key::Enter);
    let kept = window.project().stereo.commands.last().unwrap();
    let pulses_us = vec![9000.0, 4500.0, 560.0];
    assert_eq!(kept.code, Code::Raw { pulses_us, repeat_us: Some(108_000.0) });
}

#[test]
fn the_list_is_walked_with_the_arrow_keys() {
    let mut window = Driven::demo(Station::Codes, 1280.0, 800.0);
    window.click("Volume up, typed, not tried, 16, no button");
    window.key(Key::ArrowDown);
    window.key(Key::ArrowDown);
    assert_eq!(window.model().codes.chosen.as_ref().map(|id| id.0.as_str()), Some("next_track"));
    assert!(window.has_focus("Next track, typed, not tried, 1B, no button"));
    window.key(Key::ArrowUp);
    assert_eq!(window.model().codes.chosen.as_ref().map(|id| id.0.as_str()), Some("volume_down"));
}

#[test]
fn every_window_size_shows_the_station_and_its_form() {
    for (width, height) in [(1920.0, 1080.0), (1024.0, 640.0), (640.0, 400.0), (500.0, 360.0)] {
        let mut window = Driven::demo(Station::Codes, width, height);
        assert!(window.says("Waveform of"), "{width} by {height}");
        window.key(Key::N);
        window.type_text("Seek");
        assert_eq!(
            window.model().codes.draft.as_ref().map(|draft| draft.name.as_str()),
            Some("Seek"),
            "{width} by {height}"
        );
    }
}
