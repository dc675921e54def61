//! The station driven by its accessible labels.

use egui::Key;

use crate::app::{Action, Edit, Station, WheelAction, WheelView};
use crate::view::stations::driven::Driven;
use crate::wheel::{Differ, MeterCheck, ToChassis, Topology};

fn shown(width: f32, height: f32) -> Driven {
    Driven::demo(Station::Wheel, width, height)
}

fn begun(width: f32, height: f32) -> Driven {
    let mut window = shown(width, height);
    window.act(Action::Edit(Edit::MeterCheck(Box::default())));
    window
}

fn check(window: &Driven) -> &MeterCheck {
    &window.project().wheel.check
}

#[test]
fn the_airbag_is_said_first_on_every_view_and_size() {
    for (width, height) in [(1920.0, 1080.0), (1280.0, 800.0), (1024.0, 640.0), (640.0, 400.0)] {
        let mut window = shown(width, height);
        for view in WheelView::ALL {
            window.act(Action::Wheel(WheelAction::View(view)));
            assert!(window.says("Airbag first. Never open, probe or tap its circuit."), "{width} {view:?}");
        }
    }
}

#[test]
fn the_demos_check_is_done_and_leads_to_the_circuit() {
    let mut window = shown(1280.0, 800.0);
    assert!(window.says("It is a ladder."));
    assert!(window.says("The car pulls wire 1 up too: leave the plug on the car side open."));
    assert!(window.is_there("Step 5 of 6, Key on, car side: 4.90 V pull-up, look here"));
    window.click("Next, Circuit: choose the sense resistor");
    assert_eq!(window.model().station, Station::Circuit);
}

#[test]
fn the_steps_are_gone_through_one_open_at_a_time_up_to_the_verdict() {
    let mut window = begun(1280.0, 2000.0);
    assert!(window.says("Not known yet."));
    window.click("Step 1 of 6, Ignition off, plug open, not done");
    window.click("Ignition is off, the plug is open");
    assert!(check(&window).ready);
    window.click("Next step");
    window.click("Some ohms");
    assert_eq!(check(&window).wire(1).chassis, Some(ToChassis::Resistance));
    window.act(Action::Undo);
    assert_eq!(check(&window).wire(1).chassis, None, "an answer is one step of undo");
    window.act(Action::Redo);
    window.click("Next step");
    window.click("Stands still");
    window.click("All differ");
    assert_eq!((check(&window).steady, check(&window).differ), (Some(true), Some(Differ::All)));
    window.click("Next step");
    window.type_into("Volts on the car side of wire 1", "12.1");
    assert!(window.says("It switches a voltage. 12.10 V stand on the car's side of wire 1."));
}

#[test]
fn a_reading_is_typed_and_enter_goes_to_the_next_row() {
    let mut window = shown(1280.0, 800.0);
    window.click("Meter ohms of Volume up");
    window.key_with(egui::Modifiers::COMMAND, Key::A);
    window.type_text("86");
    assert_eq!(window.project().wheel.buttons[0].meter_ohm, Some(86.0));
    window.key(Key::Enter);
    window.settle();
    assert!(window.has_focus("Meter ohms of Volume down"));
    window.key_with(egui::Modifiers::COMMAND, Key::A);
    window.type_text("-5");
    assert_eq!(window.project().wheel.buttons[1].meter_ohm, Some(265.0), "what no meter shows is left");
}

#[test]
fn a_reading_above_the_rest_is_odd_in_its_row_and_told_under_the_table() {
    let mut window = shown(1280.0, 800.0);
    let id = window.project().wheel.buttons[6].id.clone();
    window.act(Action::Edit(Edit::Meter(id, Some(19_000.0))));
    assert!(window.is_there("Mute read 19.0 kΩ pressed, and 14.9 kΩ at rest: a press never adds."));
    window.click("Read again: Mute read 19.0 kΩ pressed");
    window.settle();
    assert!(window.has_focus("Meter ohms of Mute"));
}

#[test]
fn the_chain_is_drawn_with_preferred_values_and_can_be_taken_for_single_resistors() {
    let mut window = shown(1280.0, 800.0);
    assert!(window.says("Volume up 82 ohms, metered 84; Volume down 180 ohms, metered 181;"));
    assert!(window.says("Press Previous and Source at once: 920 Ω is a chain, 533 Ω is not."));
    window.click("Single resistors");
    assert_eq!(window.project().wheel.topology, Topology::Parallel);
    assert!(window.says("It is taken for the other below."));
}

#[test]
fn a_colour_that_is_none_is_refused_with_the_letters_that_are_known() {
    let mut window = shown(1280.0, 800.0);
    assert!(window.says("Wire 1, WHGN white, green"));
    window.act(Action::Wheel(WheelAction::View(WheelView::Names)));
    window.click("Colour of wire 1");
    window.key_with(egui::Modifiers::COMMAND, Key::A);
    window.type_text("purple");
    assert_eq!(window.project().wheel.wires[&1].colour, "WHGN");
    window.key_with(egui::Modifiers::COMMAND, Key::A);
    window.type_text("bubn");
    assert_eq!(window.project().wheel.wires[&1].colour, "bubn");
}

#[test]
fn a_second_wire_is_added_and_a_button_put_on_it() {
    let mut window = shown(1280.0, 800.0);
    window.act(Action::Wheel(WheelAction::View(WheelView::Names)));
    window.click("Add wire 2");
    assert_eq!(window.project().wires_in_use(), [1, 2]);
    let id = window.project().wheel.buttons[6].id.clone();
    window.act(Action::Edit(Edit::ButtonWire(id, 2)));
    window.act(Action::Wheel(WheelAction::View(WheelView::MeterCheck)));
    assert!(window.says("Readings of wire 2"));
    window.act(Action::Edit(Edit::RemoveWire));
    assert_eq!(window.project().wheel.buttons[6].wire, Some(1));
}

#[test]
fn sixteen_buttons_on_two_wires_show_at_every_size() {
    for (width, height) in [(1280.0, 800.0), (1024.0, 640.0), (640.0, 400.0)] {
        let mut window = shown(width, height);
        for number in 8..=16 {
            window.act(Action::Edit(Edit::AddButton(format!("Extra {number}"))));
        }
        let ids: Vec<_> = window.project().wheel.buttons.iter().map(|button| button.id.clone()).collect();
        for (place, id) in ids.into_iter().enumerate().skip(7) {
            window.act(Action::Edit(Edit::ButtonWire(id.clone(), 2)));
            window.act(Action::Edit(Edit::Meter(id, Some(100.0 * place as f64))));
        }
        assert!(window.says("Meter ohms of Extra 16"), "{width}");
        assert!(window.says("Readings of wire 2"), "{width}");
    }
}
