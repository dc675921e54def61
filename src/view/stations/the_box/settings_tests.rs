//! The view Settings driven by its accessible labels: here what is typed does change the project.

use egui::Key;

use super::made_up::made_up;
use crate::app::the_box::BoxView;
use crate::app::{Action, Edit};
use crate::project::{Plan, settle_count};
use crate::view::stations::driven::Driven;

const DWELL: &str = "Dwell, in milliseconds";
const SETTLE: &str = "Settle limit, in counts";

fn window() -> Driven {
    Driven::of(made_up("settings"), 1280.0, 800.0)
}

fn plan(window: &Driven) -> Plan {
    window.project().plan.clone()
}

/// Empties a field, and types into it.
fn retype(window: &mut Driven, field: &str, text: &str) {
    window.focus(field);
    window.key(Key::End);
    for _ in 0..9 {
        window.key(Key::Backspace);
    }
    window.type_text(text);
}

#[test]
fn the_view_is_chosen_in_the_head_without_a_box_too() {
    let mut window = Driven::of(made_up("none"), 1280.0, 800.0);
    window.click("Settings");
    assert_eq!(window.model().the_box.view, BoxView::Settings);
    assert!(window.is_there(DWELL));
    assert!(window.is_there("Dwell: 1 to 64 ms"));
}

#[test]
fn each_time_is_typed_and_undone() {
    let mut window = window();
    let before = plan(&window);
    retype(&mut window, DWELL, "32");
    retype(&mut window, "Hold, in milliseconds", "1 500 ms");
    retype(&mut window, "Double tap, in milliseconds", "450");
    let now = plan(&window);
    assert_eq!((now.dwell_ms, now.hold_ms, now.double_ms), (32, 1_500, 450));
    for _ in 0..3 {
        window.act(Action::Undo);
    }
    assert_eq!(plan(&window), before);
}

#[test]
fn a_dwell_that_cannot_be_kept_is_told_beside_its_field_and_leaves_the_one_before() {
    let mut window = window();
    for wrong in ["65", "0", "2.5", "NaN", "inf", "-3", "1e9", "24 s", ""] {
        retype(&mut window, DWELL, wrong);
        assert!(window.is_there("Dwell: Type a whole number from 1 to 64 ms."), "{wrong}");
        assert_eq!(plan(&window).dwell_ms, 32, "{wrong}");
    }
    // It stays told when the keyboard is elsewhere, until another is typed.
    window.focus(SETTLE);
    assert!(window.is_there("Dwell: Type a whole number from 1 to 64 ms."));
    retype(&mut window, DWELL, "64");
    assert!(window.is_there("Dwell: 1 to 64 ms"));
    assert_eq!(plan(&window).dwell_ms, 64);
}

#[test]
fn the_settle_limit_is_the_noises_until_one_is_typed_and_again_when_it_is_taken_back() {
    let mut window = window();
    let auto = settle_count(window.project(), &window.model().derived.bands);
    let from_noise = format!("Settle limit: From the noise: {auto} counts. Or type 0.5 to 100 counts.");
    assert!(window.is_there(&from_noise), "{from_noise}");
    retype(&mut window, SETTLE, "6,5");
    assert_eq!(plan(&window).settle_count, Some(6.5));
    assert!(window.is_there("Settle limit: 0.5 to 100 counts"));
    window.click("Settle limit from the noise");
    assert_eq!(plan(&window).settle_count, None);
    assert!(window.is_there(&from_noise));
    retype(&mut window, SETTLE, "101");
    assert!(window.is_there("Settle limit: Type 0.5 to 100 counts, or leave it empty."));
    assert_eq!(plan(&window).settle_count, None);
}

#[test]
fn what_is_fitted_is_switched_by_click_and_by_keyboard() {
    let mut window = window();
    let before = plan(&window);
    // The keyboard brings into sight what stands below the fold.
    window.focus("Infrared LED");
    window.click("Infrared LED");
    window.focus("A diode or the board's own regulator input parts the vehicle's supply from USB");
    window.key(Key::Space);
    let rollover = "Roll-over: the next button counts without rest in between";
    window.focus(rollover);
    window.click(rollover);
    let now = plan(&window);
    let switched = [
        (now.infrared, before.infrared),
        (now.supplies_parted, before.supplies_parted),
        (now.rollover, before.rollover),
    ];
    assert!(switched.iter().all(|(now, before)| now != before), "{switched:?}");
    for _ in 0..3 {
        window.act(Action::Undo);
    }
    assert_eq!(plan(&window), before);
}

#[test]
fn how_soon_each_gesture_is_sent_follows_the_settings() {
    let mut window = window();
    for row in [
        "Tap, and nothing else on the button: 34 ms after the press",
        "Tap, beside a hold: 34 ms after letting go",
        "Tap, beside a double tap: 334 ms after letting go",
        "Hold: 634 ms after the press",
        "Double tap: 34 ms after the second press",
    ] {
        assert!(window.is_there(row), "{row}");
    }
    window.act(Action::Edit(Edit::Dwell(40)));
    assert!(window.is_there("Hold: 642 ms after the press"));
}

#[test]
fn the_settings_are_reached_whole_in_every_window() {
    for (width, height) in [(1920.0, 1080.0), (1024.0, 640.0), (640.0, 400.0), (500.0, 360.0)] {
        let mut window = Driven::of(made_up("settings"), width, height);
        retype(&mut window, DWELL, "99");
        assert!(window.says("Type a whole number from 1 to 64 ms."), "{width} by {height}");
        window.focus("Infrared LED");
        window.key(Key::Space);
        assert!(plan(&window).infrared, "{width} by {height}");
    }
}
