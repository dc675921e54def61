//! The circuit chosen by its accessible labels, and the curve walked by the keys.

use egui::Key;

use crate::app::{Action, Edit, Station};
use crate::circuit::{Circuit, FeedMonitor, Filter, Module, Reference, Sense};
use crate::view::stations::driven::Driven;

fn window() -> Driven {
    Driven::demo(Station::Circuit, 1280.0, 2400.0)
}

fn circuit(window: &Driven) -> Circuit {
    window.project().circuit.clone().unwrap()
}

/// Chooses the row so many below the one chosen.
fn choose(window: &mut Driven, drop: &str, down: usize) {
    window.focus(drop);
    for _ in 0..=down {
        window.key(Key::ArrowDown);
    }
    window.key(Key::Enter);
}

fn retype(window: &mut Driven, field: &str, text: &str) {
    window.focus(field);
    window.key_with(egui::Modifiers::COMMAND, Key::A);
    window.type_text(text);
}

#[test]
fn the_choice_is_taken_by_its_button_and_can_be_undone() {
    let mut window = window();
    assert!(window.says("Curve of the sense resistor. Choice 1.2 kΩ: 61 counts, Previous and Source"));
    window.click("Use 1.2 kΩ");
    assert_eq!(circuit(&window).sense_ohm, 1_200.0);
    assert!(!window.is_there("Use 1.2 kΩ"), "it is in the circuit now");
    window.act(Action::Undo);
    assert_eq!(circuit(&window).sense_ohm, 1_000.0);
}

#[test]
fn the_curve_is_walked_by_the_arrow_keys_and_taken_with_enter() {
    let mut window = window();
    let curve = |window: &Driven| window.says("Pointing at 1.5 kΩ");
    window.act(Action::Edit(Edit::Settle));
    let label = "Curve of the sense resistor. Choice 1.2 kΩ: 61 counts, Previous and Source; 4.3 σ. Now 1.0 kΩ: \
                 61 counts, Previous and Source; 4.3 σ.";
    window.focus(label);
    window.key(Key::ArrowRight);
    window.key(Key::ArrowRight);
    assert!(curve(&window), "two steps of E24 up from 1.2 kΩ");
    window.key(Key::Enter);
    assert_eq!(circuit(&window).sense_ohm, 1_500.0);
}

#[test]
fn a_project_without_a_circuit_begins_one_with_one_press() {
    let mut window = window();
    window.act(Action::Edit(Edit::Circuit(None)));
    assert!(window.says("No circuit yet."));
    window.click("Begin a circuit");
    assert_eq!(circuit(&window), Circuit::recommended());
}

#[test]
fn a_wheel_without_readings_leads_to_the_wheel() {
    let mut window = window();
    for button in window.project().wheel.buttons.clone() {
        window.act_unseen(Action::Edit(Edit::Meter(button.id, None)));
    }
    window.settle();
    assert!(window.says("No resistance is known for"));
    window.click("Go to Wheel");
    assert!(window.asked(&Action::Go(Station::Wheel)));
}

#[test]
fn the_style_the_reference_and_the_feed_monitor_are_set_and_judged() {
    let mut window = window();
    assert!(!window.is_there("Feed monitor"), "the supply as reference needs none");
    choose(&mut window, "Sense style", 1);
    assert_eq!(circuit(&window).sense, Sense::PullDown);
    choose(&mut window, "Reference", 2);
    assert!(matches!(circuit(&window).reference, Reference::External { pin_v: None, .. }));
    retype(&mut window, "Reference volts", "3.3");
    retype(&mut window, "Resistor into the reference", "5.1k");
    assert!(window.says("with 22 kΩ it would stand at 2.68 V, with 42 kΩ at 2.94 V"));
    assert!(window.says("Everything up to 758 Ω reads 1023: Volume up, Volume down, Next."));
    retype(&mut window, "Volts at the reference pin", "2.71");
    let reference = Reference::External { volt: 3.3, series_ohm: 5_100.0, pin_v: Some(2.71) };
    assert_eq!(circuit(&window).reference, reference);
    choose(&mut window, "Feed monitor", 1);
    assert_eq!(circuit(&window).feed_monitor, Some(FeedMonitor { upper_ohm: 10_000.0, lower_ohm: 10_000.0 }));
    retype(&mut window, "Lower resistor", "90k");
    assert!(window.says("Make its lower resistor smaller"));
}

#[test]
fn a_factory_module_is_metered_and_refused_above_five_volts() {
    let mut window = window();
    choose(&mut window, "Sense style", 2);
    assert_eq!(circuit(&window).module, Some(Module { supply_v: 5.0 }));
    assert!(window.says("A factory module pulls the wire up, so there is no sense resistor to choose"));
    retype(&mut window, "Module's idle voltage", "8.5");
    assert!(window.says("The factory module holds the wire at 8.50 V at rest"));
}

#[test]
fn filter_drawer_and_parts_are_typed_in_their_units() {
    let mut window = window();
    retype(&mut window, "Filter's capacitor", "100n");
    retype(&mut window, "Filter's resistor", "4k7");
    assert_eq!(circuit(&window).filter, Filter { series_ohm: 4_700.0, farad: 100e-9 });
    window.click("Use 11 kΩ, 33 nF: needs no clamping diodes for 16 V");
    assert_eq!(circuit(&window).filter.series_ohm, 11e3);
    retype(&mut window, "Resistors in the drawer", "470, 1k");
    assert_eq!(window.project().parts.drawer_ohm, [470.0, 1_000.0]);
    assert!(window.says("Best: 1.0 kΩ with 61 counts."));
    window.click("More: wear, temperatures, tolerances");
    retype(&mut window, "Wear of a contact", "30");
    retype(&mut window, "Coldest", "−20");
    retype(&mut window, "Ladder's tolerance", "2");
    let parts = &window.project().parts;
    assert_eq!((parts.wear_ohm, parts.cold_c, parts.ladder_tolerance), (30.0, -20.0, 0.02));
    // What can't be leaves the whole number that was there.
    retype(&mut window, "Hottest", "900");
    assert_eq!(window.project().parts.hot_c, 85.0);
}

#[test]
fn the_choices_are_all_there_in_a_small_window() {
    let window = Driven::demo(Station::Circuit, 640.0, 400.0);
    assert!(window.says("Curve of the sense resistor"));
    assert!(window.is_there("Sense style"));
}
