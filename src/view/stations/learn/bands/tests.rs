//! The view Bands, driven by its accessible labels.

use egui::{Key, Modifiers};

use crate::app::{Action, Edit, FileAction, LearnAction, LearnView, Model, Station};
use crate::bands::{DraggedEdges, LearnedOn, Rung};
use crate::circuit::Reference;
use crate::project::{ButtonId, Project};
use crate::view::stations::driven::Driven;

/// The finished demo vehicle, at Bands.
fn window(width: f32, height: f32, change: impl FnOnce(&mut Project)) -> Driven {
    let text = include_str!("../../../../../projects/demo-van.ron");
    let mut project = crate::project::read(text).unwrap().project;
    change(&mut project);
    let mut model = Model::default();
    model.update(Action::CautionsRead);
    let text = Ok(crate::project::write(&project));
    let opened = FileAction::Loaded { path: "van.ron".into(), text, elsewhere: false };
    model.update(Action::File(opened));
    model.update(Action::Go(Station::Learn));
    model.update(Action::Learn(LearnAction::View(LearnView::Bands)));
    Driven::of(model, width, height)
}

fn accept(window: &Driven, button: usize) -> (u16, u16) {
    let accept = window.model().derived.bands.band(Rung::Button(button)).unwrap().accept.unwrap();
    (accept.low_count, accept.high_count)
}

#[test]
fn every_row_says_its_bar_its_band_its_figures_and_its_verdict() {
    for (width, height) in [(1280.0, 800.0), (1024.0, 640.0), (640.0, 400.0)] {
        let window = window(width, height, |_| ());
        assert!(window.says("Volume up is moved by: noise"), "{width}");
        assert!(window.says("Volume up, rung 81, accepts 48 to 184"), "{width}");
        assert!(window.says("Volume up: headroom 133 Ω, any feed; ignored under 1 in a billion"), "{width}");
        assert!(
            window.says("Volume up and Volume down are 134 counts apart: safe to 133 Ω of wear."),
            "{width}"
        );
        assert!(
            window.says("The bars are made of: noise, between presses, temperature, wear, converter"),
            "{width}"
        );
        assert!(window.says("Bands, 7 of 7 safe"), "{width}");
    }
}

#[test]
fn an_edge_is_moved_by_the_arrow_keys_stops_at_its_neighbour_and_is_reset() {
    let mut window = window(1280.0, 800.0, |_| ());
    let (low, high) = accept(&window, 3);
    let label = format!("Upper edge of Previous, {high} counts. Arrow keys move it.");
    window.focus(&label);
    window.key(Key::ArrowLeft);
    assert_eq!(accept(&window, 3), (low, high - 1));
    window.key_with(Modifiers::SHIFT, Key::ArrowLeft);
    assert_eq!(accept(&window, 3), (low, high - 9));
    for _ in 0..9 {
        window.key(Key::ArrowRight);
    }
    assert!(window.project().edges.is_empty(), "where it would be by itself it isn't moved");
    for _ in 0..6 {
        window.key_with(Modifiers::SHIFT, Key::ArrowRight);
    }
    let next_low = accept(&window, 4).0;
    assert_eq!(accept(&window, 3).1, next_low - 9, "8 counts stay rejected");
    assert!(window.says("8 counts stay rejected before the band of Source"));
    window.click("Reset edges");
    assert_eq!(accept(&window, 3), (low, high));
    assert!(window.project().edges.is_empty());
}

#[test]
fn an_edge_put_inside_the_presses_says_how_many_are_ignored_and_reaches_the_box() {
    let mut window = window(1280.0, 800.0, |_| ());
    let edges = DraggedEdges { low_count: None, high_count: Some(492) };
    window.act(Action::Edit(Edit::Edges(ButtonId("previous".into()), edges)));
    assert!(window.says("The upper edge of Previous was moved to 492, and its presses reach to"));
    let built = window.model().derived.the_box.built.as_ref().unwrap().as_ref().unwrap();
    assert!(built.image.buttons.iter().any(|button| button.band.high == 492), "{built:?}");
}

#[test]
fn nothing_learned_says_what_to_do_first() {
    let mut window = window(640.0, 400.0, |project| project.learned.clear());
    assert!(window.says("No bands yet."));
    window.click("Learn the buttons");
    assert_eq!(window.model().learn.view, LearnView::Prompted);
}

#[test]
fn a_feed_off_its_plan_is_typed_and_makes_the_bands_provisional() {
    let mut window = window(1280.0, 800.0, |project| {
        project.circuit.as_mut().unwrap().reference =
            Reference::External { volt: 5.0, series_ohm: 0.0, pin_v: None };
    });
    window.type_into("Feed while learning, in volts", "4.70");
    assert_eq!(window.project().learned_on, Some(LearnedOn { feed_v: Some(4.7) }));
    assert!(window.says("The feed is 4.70 V, planned 5.00 V."));
    assert!(window.says("Provisional: the feed was 6.0 % low."));
    window.act(Action::Edit(Edit::LearnedOn(Some(LearnedOn { feed_v: Some(5.02) }))));
    assert!(!window.says("Provisional"), "near enough");
    assert!(!window.says("The feed is 4.70 V"), "and the notice is gone");
}

#[test]
fn v_without_a_link_says_what_to_connect() {
    let mut window = window(1280.0, 800.0, |_| ());
    window.act(Action::Learn(LearnAction::View(LearnView::Prompted)));
    window.key(Key::V);
    assert_eq!(window.model().learn.view, LearnView::Bands);
    assert!(window.says("Connect the box in the vehicle, on its power, then press V again."));
}
