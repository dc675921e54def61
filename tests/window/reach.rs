//! Every control has a name, is reached with Tab, and lies inside the window at every size.

use std::collections::BTreeSet;
use std::path::Path;

use egui::accessibility::is_input;
use egui::accesskit::Action;
use egui::{Key, Modifiers, Pos2, Rect, vec2};
use egui_kittest::Node;
use egui_kittest::kittest::NodeT as _;
use spokewire::app::the_box::Held;
use spokewire::shell::Options;

use super::hands::{Bench, CTRL, is_control, said};

/// The sizes of LOOK's width classes, the narrowest being 200 % on 1280 by 800.
const SIZES: [(f32, f32); 4] = [(640.0, 400.0), (1024.0, 640.0), (1280.0, 800.0), (1920.0, 1080.0)];

/// A screen's name, and how it is reached from the one before.
type Screen = (&'static str, fn(&mut Bench));

/// Every screen there is: its name, and how it is reached from the one before.
const SCREENS: [Screen; 26] = [
    ("Start", |_| ()),
    ("Start, cautions read", |bench| {
        if bench.has("Read the cautions") {
            bench.click("Read the cautions");
        }
        bench.click("I have read this");
    }),
    ("Learn, prompted, empty", |bench| {
        bench.click("Open demo");
        bench.wait("the demo's first reading", |bench| !bench.model().recording.is_empty());
        // The rail says what the box holds once it has said so.
        bench.wait("the demo's box", |bench| bench.model().the_box.held == Held::Nothing);
    }),
    ("Learn, prompted", |bench| {
        bench.click("Start prompted");
        bench.wait_to_say("Press 1 of 3");
    }),
    ("Learn, click", |bench| bench.choose_view("Click")),
    ("Wheel", |bench| bench.key(CTRL, Key::Num1)),
    ("Wheel, names and wires", |bench| bench.choose_view("Names and wires")),
    ("Circuit", |bench| bench.key(CTRL, Key::Num2)),
    ("Codes", |bench| bench.key(CTRL, Key::Num4)),
    ("Codes, listening", |bench| {
        bench.key(Modifiers::NONE, Key::L);
        bench.key(Modifiers::NONE, Key::N);
        bench.wait("all to be heard", |bench| bench.has("Listen again"));
    }),
    ("Codes, heard", |bench| {
        bench.key(Modifiers::NONE, Key::Escape);
        bench.key(Modifiers::NONE, Key::L);
        bench.wait_to_say("3 of 3 agree");
        bench.click("Keep nec address 59 command 16");
        bench.wait_to_say("heard: the mean of 3 presses");
    }),
    ("Codes, sweep", |bench| bench.choose_view("Sweep")),
    ("Codes, a sweep under way", |bench| {
        bench.click("Parked, and its settings are written down");
        bench.click("Start sweep");
        bench.wait_to_say("Sent, 1 of 256");
        bench.key(Modifiers::NONE, Key::M);
        bench.wait_to_say("It did something at, 0 of 1");
    }),
    ("Pair", |bench| bench.key(CTRL, Key::Num5)),
    ("Box", |bench| bench.key(CTRL, Key::Num6)),
    ("Box, watch", |bench| bench.choose_view("Watch")),
    ("Box, counters", |bench| bench.choose_view("Counters")),
    ("Box, wiring", |bench| bench.choose_view("Wiring")),
    ("Sheet", |bench| bench.key(CTRL, Key::Num7)),
    ("Cautions", |bench| bench.key(Modifiers::NONE, Key::F1)),
    ("Keys", |bench| {
        bench.key(Modifiers::NONE, Key::F1);
        bench.key(Modifiers::NONE, Key::F2);
    }),
    ("Link", |bench| {
        bench.key(Modifiers::NONE, Key::F2);
        bench.click_link();
    }),
    ("A path to be typed", |bench| {
        bench.key(Modifiers::NONE, Key::Escape);
        bench.key(CTRL, Key::S);
        bench.wait_to_say("Where to save");
    }),
    ("A question about unsaved work", |bench| {
        bench.key(Modifiers::NONE, Key::Escape);
        bench.names();
        bench.type_into("Vehicle name", "Brindle Linnet, the one with the blue roof");
        bench.ask_to_close();
        bench.wait_to_say("first?");
    }),
    ("A notice", |bench| {
        bench.click("Stay here");
        bench.type_into("Vehicle name", "Mine");
        bench.key(CTRL, Key::O);
        bench.type_path(Path::new("/no/such/folder/nor/file/with/a/long/name/linnet.ron"), "Open");
        bench.click("Lose changes");
        bench.wait_to_say("can't be opened.");
    }),
    ("A vehicle without buttons", |bench| {
        bench.key(CTRL, Key::N);
        bench.click("Lose changes");
        bench.key(CTRL, Key::Num3);
        bench.choose_view("Prompted");
        bench.wait_to_say("No buttons yet.");
    }),
];

/// Where a decision stands over everything, Tab stays with it.
const MODAL: [(&str, &[&str]); 2] = [
    ("A path to be typed", &["File path", "Cancel"]),
    ("A question about unsaved work", &["Save first", "Lose changes", "Stay here"]),
];

#[test]
fn every_screen_shows_at_every_size_with_every_control_named_and_inside_the_window() {
    let mut wrong = Vec::new();
    for size in SIZES {
        let folder = tempfile::tempdir().unwrap();
        let mut bench = Bench::start(folder.path(), size, Options { demo_speed: 20, ..Options::default() });
        for (screen, reach) in SCREENS {
            reach(&mut bench);
            bench.resize(size);
            let window = Rect::from_min_size(Pos2::ZERO, vec2(size.0, size.1)).expand(0.5);
            let outside = bench.nodes().filter(|node| is_control(node) && !window.contains_rect(node.rect()));
            // Their names, not the link's, which changes from frame to frame: it is in the strip.
            for name in outside.map(|node| said(&node)).collect::<Vec<_>>() {
                let place = bench.scrolled_to(&name);
                if !window.contains_rect(place) {
                    wrong.push(format!("{size:?}, {screen}: {name} at {place}"));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "outside the window, however one scrolls:\n{}", wrong.join("\n"));
}

#[test]
fn every_control_of_every_screen_is_reached_with_tab() {
    let mut wrong = Vec::new();
    for size in [(1280.0, 800.0), (640.0, 400.0)] {
        let folder = tempfile::tempdir().unwrap();
        let mut bench = Bench::start(folder.path(), size, Options { demo_speed: 20, ..Options::default() });
        for (screen, reach) in SCREENS {
            reach(&mut bench);
            bench.resize(size);
            let there = |bench: &Bench| -> BTreeSet<_> {
                match MODAL.iter().find(|(name, _)| *name == screen) {
                    Some((_, controls)) => controls.iter().map(|&name| name.to_owned()).collect(),
                    None => bench.nodes().filter(wants_tab).map(|node| called(&node)).collect(),
                }
            };
            let controls = there(&bench);
            let mut reached = BTreeSet::new();
            for _ in 0..controls.len() + 8 {
                bench.tab();
                let focused = bench.nodes().find(|node| node.is_focused() && wants_tab(node));
                reached.extend(focused.map(|node| called(&node)));
            }
            // A computation that begins or ends meanwhile changes its button: what stays must be reached.
            let at_last = there(&bench);
            let strangers: Vec<_> = reached
                .iter()
                .filter(|name| !controls.contains(*name) && !at_last.contains(*name))
                .cloned()
                .collect();
            if !strangers.is_empty() {
                wrong.push(format!("{size:?}, {screen}, which are behind: {}", strangers.join("; ")));
            }
            let missed: Vec<_> =
                controls.intersection(&at_last).filter(|name| !reached.contains(*name)).cloned().collect();
            if !missed.is_empty() {
                wrong.push(format!("{size:?}, {screen}: {}", missed.join("; ")));
            }
        }
    }
    assert!(wrong.is_empty(), "not reached with Tab, or only behind a question:\n{}", wrong.join("\n"));
}

/// Whether it takes the keyboard.
fn wants_tab(node: &Node<'_>) -> bool {
    let node = node.accesskit_node();
    is_input(node.role()) && !node.is_disabled() && node.data().supports_action(Action::Focus)
}

/// Its name, without the figures that change from frame to frame.
fn called(node: &Node<'_>) -> String {
    let name = said(node);
    if name.starts_with("Link ") { "Link".to_owned() } else { name }
}
