//! The station driven by its accessible labels.

use egui::{Key, Modifiers};

use crate::app::{Action, Edit, Station};
use crate::project::{ButtonId, CommandId, Gesture, Pair};
use crate::view::stations::driven::Driven;

fn pair(window: &Driven, button: &str, gesture: Gesture) -> Option<Pair> {
    let pairs = &window.project().pairs;
    pairs.iter().find(|pair| pair.button.0 == button && pair.gesture == gesture).cloned()
}

fn command(window: &Driven, button: &str, gesture: Gesture) -> Option<String> {
    pair(window, button, gesture)?.command.map(|id| id.0)
}

fn set(window: &mut Driven, button: &str, gesture: Gesture, command: &str) {
    let (button, command) = (ButtonId(button.to_owned()), CommandId(command.to_owned()));
    window.act(Action::Edit(Edit::Pair(button, gesture, Some(command))));
}

#[test]
fn a_tap_is_paired_by_its_drop_down() {
    let mut window = Driven::demo(Station::Pair, 1280.0, 800.0);
    assert!(window.is_there("Volume up, 16, no button sends this"));
    window.click("Volume up, tap");
    window.click("Mute");
    assert_eq!(command(&window, "volume_up", Gesture::Tap).as_deref(), Some("mute"));
    assert!(window.is_there("Mute, 0C, A tap"));
    window.act(Action::Undo);
    assert_eq!(pair(&window, "volume_up", Gesture::Tap), None);
}

#[test]
fn a_tap_is_paired_with_the_keyboard_alone() {
    let mut window = Driven::demo(Station::Pair, 1280.0, 800.0);
    window.key_with(Modifiers::ALT, Key::Num1);
    assert!(window.has_focus("Volume up, tap"));
    window.key(Key::ArrowDown);
    window.key(Key::ArrowDown);
    window.key(Key::Enter);
    assert_eq!(command(&window, "volume_up", Gesture::Tap).as_deref(), Some("volume_down"));
}

#[test]
fn a_hold_is_added_repeats_and_is_removed_again() {
    let mut window = Driven::demo(Station::Pair, 1280.0, 800.0);
    window.click("Volume up, add a gesture");
    window.click("Volume up, add hold");
    assert_eq!(pair(&window, "volume_up", Gesture::Hold).map(|pair| pair.command), Some(None));
    assert!(window.has_focus("Volume up, hold"));
    window.click("Volume up, hold");
    window.click("Volume up");
    window.click("Volume up, repeat while held");
    assert_eq!(pair(&window, "volume_up", Gesture::Hold).map(|pair| pair.repeats), Some(true));
    assert!(window.is_there("Volume up, hold repeats"));
    window.click("Volume up, repeat while held");
    assert_eq!(pair(&window, "volume_up", Gesture::Hold).map(|pair| pair.repeats), Some(false));
    // The last row of the list lies below what is seen of it.
    window.focus("Volume up, hold");
    window.key(Key::ArrowDown);
    window.key(Key::End);
    window.key(Key::Enter);
    assert_eq!(pair(&window, "volume_up", Gesture::Hold), None);
}

#[test]
fn how_a_hold_repeats_is_chosen_by_click_and_by_keyboard_and_undone() {
    let mut window = Driven::demo(Station::Pair, 1280.0, 800.0);
    set(&mut window, "volume_up", Gesture::Hold, "volume_up");
    assert!(!window.is_there("Volume up, hold, how it repeats"), "it sends once");
    window.click("Volume up, repeat while held");
    let every = |window: &Driven| pair(window, "volume_up", Gesture::Hold).unwrap().every_ms;
    assert_eq!(every(&window), None);
    window.focus("Volume up, hold, how it repeats");
    window.key(Key::ArrowDown);
    window.click("Anew every 150 ms");
    assert_eq!(every(&window), Some(150));
    window.click("Volume up, hold, how it repeats");
    window.click("Anew every 250 ms");
    assert_eq!(every(&window), Some(250));
    window.focus("Volume up, hold, how it repeats");
    window.key(Key::ArrowDown);
    window.key(Key::End);
    window.key(Key::Enter);
    assert_eq!(every(&window), Some(750), "the slowest the box keeps");
    window.act(Action::Undo);
    assert_eq!(every(&window), None, "one run of choices is one step");
    assert!(window.is_there("Volume up, hold repeats"));
}

#[test]
fn unpaired_buttons_are_flagged_until_they_are_paired() {
    let mut window = Driven::demo(Station::Pair, 1280.0, 800.0);
    assert!(window.says("Seven buttons do nothing."));
    let buttons = ["volume_up", "volume_down", "next", "source", "answer", "mute"];
    let commands = ["volume_up", "volume_down", "next_track", "source", "answer_call", "mute"];
    for (button, command) in buttons.into_iter().zip(commands) {
        set(&mut window, button, Gesture::Tap, command);
    }
    assert!(window.is_there("Previous does nothing. Its tap is empty."));
    window.click("Choose");
    assert!(window.has_focus("Previous, tap"));
    set(&mut window, "previous", Gesture::Tap, "previous_track");
    assert!(window.is_there("All 7 buttons send something."));
}

#[test]
fn a_command_on_two_buttons_is_flagged_until_it_is_meant_so() {
    let mut window = Driven::demo(Station::Pair, 1280.0, 800.0);
    set(&mut window, "answer", Gesture::Hold, "end_call");
    set(&mut window, "mute", Gesture::Hold, "end_call");
    assert!(window.is_there("End call, 23, F hold and G hold"));
    assert!(window.is_there("End call is on two buttons. F and G, hold."));
    window.key_with(Modifiers::ALT, Key::Num2);
    assert!(!window.says("End call is on two buttons."));
    assert!(window.is_there("End call, 23, F hold and G hold"));
    // Another use is another question.
    set(&mut window, "source", Gesture::Tap, "end_call");
    assert!(window.is_there("End call is on three buttons. E tap and F hold and G hold."));
}

#[test]
fn removing_a_command_leaves_its_gesture_to_be_chosen_again() {
    let mut window = Driven::demo(Station::Pair, 1280.0, 800.0);
    set(&mut window, "mute", Gesture::Hold, "mute");
    window.act(Action::Edit(Edit::RemoveCommand(CommandId("mute".to_owned()))));
    assert_eq!(pair(&window, "mute", Gesture::Hold).map(|pair| pair.command), Some(None));
    assert!(window.says("gestures go nowhere") || window.says("Eight gestures"));
}

#[test]
fn without_commands_the_way_to_them_is_offered() {
    let mut window = Driven::demo(Station::Pair, 1280.0, 800.0);
    let ids: Vec<_> = window.project().stereo.commands.iter().map(|command| command.id.clone()).collect();
    for id in ids {
        window.act(Action::Edit(Edit::RemoveCommand(id)));
    }
    window.click("Type one in");
    assert_eq!(window.model().station, Station::Codes);
    assert!(window.model().codes.draft.is_some());
}

#[test]
fn the_fullest_box_is_reached_whole_in_every_window() {
    for (width, height) in [(1280.0, 800.0), (1024.0, 640.0), (640.0, 400.0), (500.0, 360.0)] {
        let mut window = Driven::demo(Station::Pair, width, height);
        for number in 0..9 {
            window.act(Action::Edit(Edit::AddButton(format!("Extra {number}"))));
        }
        let ids: Vec<_> = window.project().wheel.buttons.iter().map(|button| button.id.0.clone()).collect();
        for id in &ids {
            for gesture in [Gesture::Tap, Gesture::Hold, Gesture::DoubleTap] {
                set(&mut window, id, gesture, "mute");
            }
            let id = ButtonId(id.clone());
            window.act(Action::Edit(Edit::Repeats(id, Gesture::Hold, true)));
        }
        assert!(window.is_there("Extra 8, hold, how it repeats"), "{width} by {height}");
        assert!(window.is_there("Extra 8, double tap"), "{width} by {height}");
        assert!(!window.is_there("Extra 8, add a gesture"));
    }
}
