//! The main job: start, demo, learn, pair, save, open again.

use std::time::Duration;

use egui::accesskit::Role;
use egui::{Key, Modifiers, pos2};
use egui_kittest::kittest::NodeT as _;
use spokewire::bands::Touch;
use spokewire::project::{ButtonId, Gesture};
use spokewire::shell::Options;

use super::hands::{Bench, in_file, said};

#[test]
fn a_wheel_is_learned_paired_saved_and_opened_again_the_same() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("linnet.ron");
    let mut bench = Bench::open(folder.path());
    assert!(bench.says("Nothing on the bench yet. Pick one."));
    bench.click("Open demo");
    bench.wait_to_say("Nothing learned.");
    bench.click("Start prompted");
    // Rest is learned within a frame or two where frames are slow, so its prompt needn't be seen.
    bench
        .wait("the session to begin", |bench| bench.says("Rest first. Hands off.") || asked(bench).is_some());
    bench.click("Press for me");
    bench.wait_to_say("All learned");
    assert!(bench.says("Learn, 7 of 7 learned"));
    for button in &bench.project().wheel.buttons {
        let presses = &bench.project().learned[&button.id].presses;
        let touches: Vec<_> = presses.iter().map(|press| press.touch).collect();
        assert!(
            touches.len() == 3 && touches.contains(&Touch::Slow) && touches.contains(&Touch::Light),
            "{}: {touches:?}",
            button.name
        );
    }

    bench.click("Next: Codes");
    bench.wait_to_say("Codes, 10 codes, 10 not tried");
    assert_eq!(bench.project().stereo.commands.len(), 10);
    for command in &bench.project().stereo.commands {
        assert!(bench.says(&format!("{}, typed", command.name)), "{}", bench.all_said());
    }

    bench.click("Next: pair them");
    bench.choose("Volume up, tap", "Volume up");
    let pair = &bench.project().pairs[0];
    assert_eq!((pair.button.0.as_str(), pair.gesture), ("volume_up", Gesture::Tap));
    assert_eq!(pair.command.as_ref().map(|id| id.0.as_str()), Some("volume_up"));

    bench.save_as(&file);
    let saved = in_file(&file);
    assert_eq!(saved, *bench.project());
    drop(bench);

    let mut bench = Bench::open(folder.path());
    bench.click("Open linnet.ron");
    bench.wait_to_say("Vehicle Brindle Linnet 2008, stereo Tarn R40, Opened, unchanged");
    assert_eq!(*bench.project(), saved);
    assert!(bench.says("Learn, 7 of 7 learned"));
    assert!(bench.says("All learned."));
}

#[test]
fn every_button_of_the_wheel_on_the_screen_is_pressed_as_the_prompt_says() {
    let folder = tempfile::tempdir().unwrap();
    let mut bench = Bench::open(folder.path());
    bench.key(Modifiers::NONE, Key::D);
    bench.wait("the demo to be joined", |bench| bench.model().link.is_open());
    bench.key(Modifiers::NONE, Key::Enter); // starts the session
    bench.wait("the session to begin", |bench| bench.says("Rest first") || asked(bench).is_some());
    let mut presses = 0;
    while bench.project().learned.len() < 7 {
        bench.wait("asking for a press", |bench| asked(bench).is_some() || bench.says("Rest again"));
        let Some(name) = asked(&bench) else { break };
        let at = bench.place(&format!("Press {name}")).center();
        bench.pointer(at, true);
        bench.wait("settling", |bench| bench.says("Let go when you like") || bench.says("Counted"));
        bench.pointer(at, false);
        presses += 1;
        assert!(presses <= 30, "{}", bench.all_said());
    }
    bench.wait_to_say("All learned");
    assert_eq!(presses, 21, "no press was refused");
    assert!(bench.project().learned.values().all(|learned| learned.presses.len() == 3));
}

/// The button the prompt names while it waits for a press.
fn asked(bench: &Bench) -> Option<String> {
    if !bench.says("waiting for a press") {
        return None;
    }
    // "Press 2 of 3, this one slowly. Volume up. then B Volume down, 5 more, rest again"
    let prompts = bench.nodes().filter(|node| node.accesskit_node().role() == Role::Label);
    let mut prompts = prompts.map(|node| said(&node)).filter(|words| words.starts_with("Press "));
    prompts.find_map(|words| Some(words.split_once(". ")?.1.split_once(". ")?.0.to_owned()))
}

#[test]
fn a_session_is_paused_redone_skipped_and_stopped_by_keys() {
    let folder = tempfile::tempdir().unwrap();
    let mut bench = Bench::open(folder.path());
    bench.key(Modifiers::NONE, Key::D);
    bench.wait("the demo to be joined", |bench| bench.model().link.is_open());
    bench.key(Modifiers::NONE, Key::Enter);
    bench.wait_to_say("Press 1 of 3");
    bench.key(Modifiers::NONE, Key::Space);
    bench.wait_to_say("Readings are not looked at. Paused.");
    bench.key(Modifiers::NONE, Key::Space);
    bench.wait_to_say("Press 1 of 3. Volume up.");
    bench.key(Modifiers::NONE, Key::S);
    bench.wait_to_say("Press 1 of 3. Volume down.");
    bench.key(Modifiers::NONE, Key::H);
    bench.wait_to_say("Press 2 of 3");
    bench.key(Modifiers::NONE, Key::H); // the hand lets go
    bench.key(Modifiers::NONE, Key::R);
    bench.wait_to_say("Press 1 of 3. Volume down.");
    bench.key(Modifiers::NONE, Key::Escape);
    bench.wait_to_say("Start prompted");
    assert!(bench.project().learned.is_empty(), "half a button is none");
}

#[test]
fn a_press_that_lands_on_another_rung_is_refused_and_offered_to_the_button_it_fits() {
    let folder = tempfile::tempdir().unwrap();
    let mut bench =
        Bench::start(folder.path(), (1280.0, 800.0), Options { demo_speed: 8, ..Options::default() });
    bench.key(Modifiers::NONE, Key::D);
    bench.click("Click");
    bench.click("Volume up, 0 of 3 presses");
    assert!(!bench.can("Take for Volume up"), "nothing is dragged yet");
    for press in 1..=3 {
        drag_over_a_press(&mut bench, "Press Volume up");
        bench.click("Take for Volume up");
        assert_eq!(bench.project().press_count(&ButtonId("volume_up".to_owned())), press);
    }

    bench.click("Volume down, 0 of 3 presses");
    drag_over_a_press(&mut bench, "Press Volume up");
    bench.click("Take for Volume down");
    bench.wait_to_say("Not taken for Volume down. It settled at ");
    assert!(bench.says("on Volume up's rung"));
    assert_eq!(bench.project().press_count(&ButtonId("volume_down".to_owned())), 0);
    bench.click("Take for Volume up"); // what the notice offers
    assert_eq!(bench.project().press_count(&ButtonId("volume_up".to_owned())), 4);
    assert!(!bench.says("Not taken"), "the notice is answered");
}

/// Presses a button of the wheel on the screen and drags over the middle of that press.
fn drag_over_a_press(bench: &mut Bench, button: &str) {
    // Held for 1.3 s, as a screen reader presses: 10.4 s of the demo, of the 14 in view.
    bench.press_by_name(button);
    bench.pass(Duration::from_millis(1_200));
    let trace = bench.trace();
    let at = |share: f32| pos2(trace.left() + share * trace.width(), trace.center().y);
    bench.drag(at(0.60), at(0.90));
    bench.wait_to_say("Readings used ");
    bench.wait("letting go", |bench| bench.can("Clear"));
    bench.pass(Duration::from_millis(300));
}
