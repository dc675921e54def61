//! Output and supply driven by their names: what is typed is kept, what comes of it is told.

use egui::{Key, Modifiers};

use crate::app::{Action, CircuitAction, CircuitView, Station};
use crate::circuit::{Device, Regulator};
use crate::view::stations::driven::Driven;

/// The demo van at a view of the station.
fn at(view: CircuitView, width: f32, height: f32) -> Driven {
    let mut driven = Driven::demo(Station::Circuit, width, height);
    driven.act(Action::Circuit(CircuitAction::View(view)));
    driven.settle();
    driven
}

/// Writes over what stands in a field.
fn write_over(driven: &mut Driven, label: &str, text: &str) {
    driven.focus(label);
    driven.key_with(Modifiers::COMMAND, Key::A);
    driven.type_text(text);
}

#[test]
fn the_output_says_what_it_does_and_follows_its_parts() {
    let mut driven = at(CircuitView::Output, 1280.0, 800.0);
    assert!(driven.says("Line pulled low: 0.03 V, 0.80 V allowed"));
    assert!(driven.says("The mark at the line: 562 µs as sent"));
    assert!(driven.says("it will do"));
    write_over(&mut driven, "Resistor from collector to line, in ohms", "4.7k");
    assert_eq!(driven.project().output.series_ohm, 4_700.0);
    assert!(driven.says("Pulled low the line may stay at 1.7"));
    assert!(driven.says("Make the resistor between collector and line 1.20 kΩ or less"));
    // None is a value, too.
    write_over(&mut driven, "Resistor from base to ground, in ohms", " ");
    assert_eq!(driven.project().output.base_pulldown_ohm, None);
    driven.click("Transistor");
    driven.key(Key::ArrowDown);
    driven.key(Key::ArrowDown);
    driven.key(Key::Enter);
    assert_eq!(driven.project().output.device, Device::Bss138);
    assert!(driven.says("takes no current"));
}

#[test]
fn what_cant_be_a_part_is_told_and_changes_nothing() {
    let mut driven = at(CircuitView::Output, 1280.0, 800.0);
    write_over(&mut driven, "Resistor from pin to base, in ohms", "0");
    assert!(driven.says("Type 1 to 10 M Ω."));
    assert_eq!(driven.project().output.base_ohm, 4_700.0);
    let mut driven = at(CircuitView::Supply, 1280.0, 800.0);
    write_over(&mut driven, "Current of the box, in milliamperes", "-5");
    assert!(driven.says("Type 1 to 5000 mA."));
    assert_eq!(driven.project().supply.load_amp, 0.045);
}

#[test]
fn the_supply_says_heat_and_cranking_and_follows_its_parts() {
    let mut driven = at(CircuitView::Supply, 1280.0, 800.0);
    assert!(driven.says("16 V: linear 0.6"));
    assert!(driven.says("III: 3, 5 V: 1.79 V, resets"));
    assert!(driven.says("It will do."));
    driven.click("Regulator");
    driven.key(Key::ArrowUp);
    driven.key(Key::Enter);
    assert_eq!(driven.project().supply.regulator, Regulator::Linear);
    assert!(driven.says("The suppressor lets 53.3 V through, and the regulator bears 35 V."));
    write_over(&mut driven, "Fuse at the source, in amperes", " ");
    assert_eq!(driven.project().supply.fuse_amp, None);
    assert!(driven.says("The wire has no fuse"));
}

#[test]
fn both_are_there_at_every_width() {
    for (width, height) in [(1280.0, 800.0), (1024.0, 640.0), (640.0, 400.0)] {
        let driven = at(CircuitView::Output, width, height);
        assert!(driven.says("Forced beta"), "{width}");
        let driven = at(CircuitView::Supply, width, height);
        assert!(driven.says("9 V: linear") && driven.says("Wire takes"), "{width}");
    }
}
