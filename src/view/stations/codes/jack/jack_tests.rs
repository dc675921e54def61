//! The view driven by its accessible labels.

use egui::Key;

use crate::app::codes::CodesView;
use crate::app::the_box::{BoxAction, BoxView};
use crate::app::{Action, CodesAction, Edit, Station};
use crate::circuit::{Jack, JackContact, JackVerdict, JackWants};
use crate::view::stations::driven::Driven;

/// The view with nothing noted.
fn begun(width: f32, height: f32) -> Driven {
    let mut window = shown(width, height);
    window.click("Start the check over");
    window
}

/// The view of the demo, whose stereo was looked at.
fn shown(width: f32, height: f32) -> Driven {
    let mut window = Driven::demo(Station::Codes, width, height);
    window.act(Action::Codes(CodesAction::View(CodesView::Jack)));
    window
}

fn jack(window: &Driven) -> &Jack {
    &window.project().stereo.jack
}

#[test]
fn the_check_is_gone_through_by_keyboard_alone_up_to_the_verdict() {
    let mut window = begun(1280.0, 800.0);
    assert!(window.is_there("Not known yet. Still to find: which contact carries the signal; a ground in common with the stereo; the idle volts; what 1 kΩ to ground draws; whether it wants pulses or resistances"));
    assert!(window.says("Never short: a contact to 12 V"));
    // The cautions' row has the keyboard: down walks to the next step.
    window.focus("Step 1 of 5, Before the meter, not begun");
    window.key(Key::ArrowDown);
    assert!(window.has_focus("Step 2 of 5, Contact and ground, not begun"));
    window.key(Key::Tab);
    assert!(window.has_focus("Tip"));
    window.key(Key::Space);
    for _ in 0..4 {
        window.key(Key::Tab);
    }
    assert!(window.has_focus("Joined with ground"));
    window.key(Key::Space);
    assert_eq!((jack(&window).contact, jack(&window).grounded), (Some(JackContact::Tip), Some(true)));
    assert!(window.is_there("Step 2 of 5, Contact and ground: tip, grounded, done"));
    window.focus("Next step");
    window.key(Key::Enter);
    assert!(window.has_focus("Volts at idle"));
    window.type_text("4,97");
    window.key(Key::Enter);
    assert!(window.has_focus("Current through 1 kΩ"));
    window.type_text("450 µA");
    assert!(window.is_there("Pull-up: 4.97 V / 0.45 mA − 1 kΩ = 10.0 kΩ"));
    window.key(Key::Enter);
    assert!(window.has_focus("Don't know"));
    window.key(Key::ArrowLeft);
    window.key(Key::ArrowLeft);
    let found = jack(&window);
    assert_eq!((found.idle_v, found.loaded_a), (Some(4.97), Some(450e-6)));
    assert_eq!(found.wants, Some(JackWants::Pulses));
    assert!(matches!(window.model().derived.jack.verdict, JackVerdict::PulseInput { .. }));
    assert!(window.is_there("It takes pulses. idle 4.97 V, pull-up 10.0 kΩ, low 0.20 V at most"));
    window.focus("Next, Listen: hear the remote");
    window.key(Key::Enter);
    assert_eq!(window.model().codes.view, CodesView::Listen);
}

#[test]
fn the_drawing_says_where_the_meter_goes_and_what_is_known_inside() {
    let mut window = shown(1280.0, 800.0);
    assert!(window.is_there("Plug, tip. No meter. In the stereo 10.0 kΩ to 4.97 V."));
    window.click("Step 2 of 5, Contact and ground: tip, grounded, done");
    assert!(window.says("Meter on ohms from the sleeve to the stereo's ground"));
    window.click("A wire");
    assert!(window.says("Plug, wire. Meter on ohms from the input's ground wire to the stereo's ground"));
    window.click("Step 4 of 5, Through 1 kΩ to ground: 0.45 mA, pull-up 10.0 kΩ, done");
    assert!(window.says("Meter on milliamperes, with 1 kΩ, from the contact"));
    window.act(Action::Edit(Edit::Jack(Jack {
        loaded_a: None,
        loaded_v: Some(0.45),
        ..jack(&window).clone()
    })));
    assert!(window.says("Meter on volts across 1 kΩ from the contact"));
    assert!(window.is_there("Pull-up: 4.97 V / 0.45 V · 1 kΩ − 1 kΩ = 10.0 kΩ"));
}

#[test]
fn what_can_t_be_a_reading_is_said_beside_it_and_the_one_before_stays() {
    let mut window = shown(1280.0, 800.0);
    window.click("Step 3 of 5, Volts at idle: 4.97 V, done");
    assert!(window.has_focus("Volts at idle"));
    window.key_with(egui::Modifiers::COMMAND, Key::A);
    window.type_text("-5");
    assert!(window.says("the leads are swapped"));
    assert_eq!(jack(&window).idle_v, Some(4.97));
    window.key(Key::Enter);
    assert!(window.has_focus("Volts at idle"), "Enter leads nowhere from what can't be");
    window.key_with(egui::Modifiers::COMMAND, Key::A);
    window.type_text("nine");
    assert!(window.says("Not a number. Type it like 4.97, 4,97 or 4970 mV."));
    window.key_with(egui::Modifiers::COMMAND, Key::A);
    window.key(Key::Backspace);
    assert_eq!(jack(&window).idle_v, None);
    assert!(window.is_there("Step 3 of 5, Volts at idle, not begun"));
}

#[test]
fn resistances_are_a_stop_with_what_such_an_input_would_need() {
    let mut window = shown(1280.0, 800.0);
    window.click("Resistances");
    assert!(window.is_there("Step 5 of 5, Pulses or resistances: resistances, broken"));
    assert!(window.says("It takes resistances. idle 4.97 V, behind 10.0 kΩ This box sends pulses"));
    assert!(!window.is_there("Next, Listen: hear the remote"));
    window.click("Don't know");
    assert!(window.is_there("Not known yet. Still to find: whether it wants pulses or resistances"));
    window.act(Action::Undo);
    assert_eq!(jack(&window).wants, Some(JackWants::Pulses));
}

#[test]
fn an_odd_reading_is_told_at_its_step_and_beside_the_verdict_with_what_to_do() {
    let mut window = shown(1280.0, 800.0);
    window.click("Step 3 of 5, Volts at idle: 4.97 V, done");
    window.key_with(egui::Modifiers::COMMAND, Key::A);
    window.type_text("12.1");
    assert!(window.is_there("Step 3 of 5, Volts at idle: 12.10 V, look here"));
    assert!(window.says("12.10 V at idle is the vehicle's supply"));
    assert!(window.says("Check it against the stereo's manual before anything is joined to it."));
    window.click("They move by themselves");
    assert!(jack(&window).idle_moves);
    assert!(window.says("The idle volts move by themselves"));
    assert!(window.is_there("Step 3 of 5, Volts at idle: 12.10 V, moves, look here"));
}

#[test]
fn after_the_last_step_what_was_left_out_comes_next_and_then_listen() {
    let mut window = shown(1280.0, 800.0);
    window.act(Action::Edit(Edit::Jack(Jack { grounded: None, ..jack(&window).clone() })));
    window.click("Back to: Contact and ground");
    window.click("Not joined");
    assert!(window.says("isn't the stereo's ground"));
    window.click("Joined with ground");
    for _ in 0..3 {
        window.click("Next step");
    }
    window.click("Next: go to Listen");
    assert_eq!(window.model().codes.view, CodesView::Listen);
}

#[test]
fn starting_over_clears_the_check_and_can_be_undone() {
    let mut window = shown(1280.0, 800.0);
    window.click("Start the check over");
    assert!(!jack(&window).is_begun());
    assert!(window.is_there("Step 1 of 5, Before the meter, not begun"));
    window.act(Action::Undo);
    assert_eq!(jack(&window).idle_v, Some(4.97));
}

#[test]
fn what_one_step_was_given_is_one_step_of_undo() {
    let mut window = begun(1280.0, 800.0);
    window.click("Step 3 of 5, Volts at idle, not begun");
    window.type_text("3.3");
    window.key(Key::Enter);
    window.type_text("0.3");
    assert_eq!((jack(&window).idle_v, jack(&window).loaded_a), (Some(3.3), Some(0.0003)));
    window.act(Action::Undo);
    assert_eq!((jack(&window).idle_v, jack(&window).loaded_a), (Some(3.3), None));
    window.act(Action::Undo);
    assert!(!jack(&window).is_begun());
}

#[test]
fn every_window_size_shows_the_check_and_takes_a_reading() {
    for (width, height) in [(1920.0, 1080.0), (1024.0, 640.0), (640.0, 400.0), (500.0, 360.0)] {
        let mut window = begun(width, height);
        window.click("Next step");
        window.click("Next step");
        assert!(window.has_focus("Volts at idle"), "{width} by {height}");
        window.type_text("4.97");
        assert_eq!(jack(&window).idle_v, Some(4.97), "{width} by {height}");
        assert!(window.says("Not known yet. Still to find"), "{width} by {height}");
    }
}

#[test]
fn the_remote_lines_wiring_says_what_the_meter_found_where_it_leads() {
    let mut window = Driven::demo(Station::Box, 1280.0, 800.0);
    window.act(Action::Box(BoxAction::View(BoxView::Wiring)));
    assert!(window.says("By the meter: the tip, 10.0 kΩ to 4.97 V."));
    let known = jack(&window).clone();
    for (jack, said) in [
        (Jack { wants: None, ..known.clone() }, "finish the check at Codes, Jack."),
        (Jack { wants: Some(JackWants::Resistances), ..known }, "don't join this line to it."),
        (Jack::default(), "Not looked at with a meter yet"),
    ] {
        window.act(Action::Edit(Edit::Jack(jack)));
        assert!(window.says(said), "{said}");
    }
}
