//! The Circuit station driven by its accessible names.

use egui::Key;

use super::super::driven::Driven;
use crate::app::circuit::schematic::SchematicAction;
use crate::app::{Action, CircuitAction, CircuitView, Edit, Model, Progress, Station};
use crate::sheet::{TextSize, width_at_most};
use crate::view::theme::{Theme, ThemeKind, install, regular};

const SOURCE: &str = "Switch of Source, 1.17 kΩ, reads 551 counts, key E";

fn closed(window: &Driven) -> Vec<usize> {
    window.model().circuit.schematic.closed.iter().copied().collect()
}

#[test]
fn a_click_closes_a_switch_and_the_nodes_tell_what_they_stand_at() {
    let mut window = Driven::demo(Station::Circuit, 1280.0, 800.0);
    assert!(window.says("Sense node, 4.69 V"), "at rest");
    window.click(SOURCE);
    assert_eq!(closed(&window), [4]);
    assert!(window.is_there("Sense node, 2.69 V, 551 counts"));
    assert!(window.says("Sense resistor, 1.00 kΩ, carries 2.31 mA"));
    assert!(window.is_there("Filter, settles to half a count in 0.83 ms"));
    window.click(SOURCE);
    assert_eq!(closed(&window), [0; 0]);
    assert!(window.says("Sense node, 4.69 V"));
}

#[test]
fn letters_close_several_at_once_and_the_nearer_tap_wins() {
    let mut window = Driven::demo(Station::Circuit, 1280.0, 800.0);
    window.key(Key::E);
    window.key(Key::C);
    assert_eq!(closed(&window), [2, 4]);
    // Next at 536 Ω below 1 kΩ: 1024 · 536 / 1536 = 357.3.
    assert!(window.says("Sense node, 1.74 V, 357 counts"));
    window.key(Key::C);
    assert_eq!(closed(&window), [4]);
    assert!(!window.asked(&Action::Go(Station::Codes)));
}

#[test]
fn a_pair_chosen_elsewhere_closes_just_these_two() {
    let mut window = Driven::demo(Station::Circuit, 1280.0, 800.0);
    window.key(Key::A);
    let only = SchematicAction::Only(vec![1, 6, 99]);
    window.act(Action::Circuit(CircuitAction::Schematic(only)));
    assert_eq!(closed(&window), [1, 6]);
}

#[test]
fn the_drawing_is_whole_in_narrow_windows_too() {
    for (width, height) in [(1024.0, 640.0), (640.0, 400.0)] {
        let mut window = Driven::demo(Station::Circuit, width, height);
        window.click(SOURCE);
        assert!(window.is_there("Sense node, 2.69 V, 551 counts"), "{width}");
    }
}

#[test]
fn the_brackets_under_the_drawing_stand_on_one_line() {
    let mut window = Driven::demo(Station::Circuit, 1280.0, 800.0);
    for (view, names) in [
        (CircuitView::Sense, ["Sense resistor, smallest gap", "A million boxes", "Choices"]),
        (CircuitView::Output, ["Parts", "Pulled low", "Shortest mark"]),
        (CircuitView::Supply, ["From the source", "To 5 V", "While cranking"]),
    ] {
        window.act(Action::Circuit(CircuitAction::View(view)));
        for name in names {
            // As in the picture: 26 points under a drawing that is 350 high. A heading's place is told with
            // half the air around it.
            let y = window.place(name).center().y;
            assert!((y - 500.0).abs() <= 4.0, "{name} at {y}");
        }
    }
}

#[test]
fn output_and_supply_fit_under_the_drawing() {
    let mut window = Driven::demo(Station::Circuit, 1280.0, 800.0);
    for (view, lowest) in [
        (CircuitView::Output, ["On the line", "Capacitance of the line", "On fully, and it will do."]),
        (CircuitView::Supply, ["Clamping voltage", "Fuse at the source, before", "A box that resets"]),
    ] {
        window.act(Action::Circuit(CircuitAction::View(view)));
        for name in lowest {
            let bottom = window.place(name).bottom();
            assert!(bottom <= 788.0, "{name} ends at {bottom}");
        }
    }
}

#[test]
fn what_is_too_high_for_the_window_is_scrolled_to() {
    let mut window = Driven::demo(Station::Circuit, 1024.0, 640.0);
    window.act(Action::Circuit(CircuitAction::View(CircuitView::Output)));
    let before = window.place("On the line");
    assert!(before.bottom() > 628.0, "{before}");
    window.scroll_at(egui::pos2(500.0, 600.0), -2_000.0);
    let after = window.place("On the line");
    assert!(after.bottom() <= 628.0, "{before} before, {after} after");
}

#[test]
fn without_a_circuit_the_drawing_says_what_is_not_known() {
    let mut window = Driven::demo(Station::Circuit, 1280.0, 800.0);
    window.act(Action::Edit(Edit::Circuit(None)));
    assert!(window.is_there("Sense resistor, not known yet"));
    assert!(window.says("No sense circuit yet."));
    let entry = window.model().derived.rail.iter().find(|entry| entry.station == Station::Circuit).unwrap();
    assert_eq!((entry.progress, entry.truth.as_str()), (Progress::Idle, "No circuit yet"));
}

#[test]
fn the_head_names_the_two_nearest_readings() {
    let window = Driven::demo(Station::Circuit, 1280.0, 800.0);
    // 920 and 1168 Ω by the meter against 1 kΩ: 490 and 551 counts.
    assert_eq!(super::sentence(window.model()), "Smallest gap 61 counts, Previous to Source.");
}

#[test]
fn an_empty_wheel_has_a_drawing_that_asks_for_buttons() {
    let mut model = Model::default();
    model.update(Action::CautionsRead);
    model.update(Action::File(crate::app::FileAction::New));
    model.update(Action::Go(Station::Circuit));
    let window = Driven::of(model, 1280.0, 800.0);
    assert!(window.is_there("Fuse, 0.5 A"));
}

/// The drawing is laid out by a bound on the width of texts. It must hold for the font they are drawn in.
#[test]
fn no_letter_is_wider_than_the_drawing_reckons_with() {
    let context = egui::Context::default();
    let mut first = context.run_ui(egui::RawInput::default(), |ui| {
        install(ui.ctx(), &Theme::new(ThemeKind::Dark));
    });
    let mut second = context.run_ui(egui::RawInput::default(), |ui| {
        for letter in (' '..='~').chain("Ωµ±·−–…≥≤→°".chars()) {
            let font = regular(100.0);
            let wide = ui.fonts_mut(|fonts| fonts.glyph_width(&font, letter)) / 100.0;
            let bound = width_at_most(&letter.to_string(), TextSize::Body) / TextSize::Body.points();
            assert!(wide <= bound + 0.01, "{letter} is {wide} wide, reckoned with {bound}");
        }
    });
    first.textures_delta.clear();
    second.textures_delta.clear();
}
