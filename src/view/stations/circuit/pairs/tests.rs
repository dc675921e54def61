//! The matrix driven by what its cells say.

use egui::Key;

use crate::app::circuit::pairs::PairsAction;
use crate::app::{Action, CircuitAction, CircuitView, FileAction, Model, Station};
use crate::demo::demo_project;
use crate::project::{Button, ButtonId, Project, write};
use crate::view::stations::driven::Driven;
use crate::wheel::Topology;

/// The window at the view with this project open.
fn opened(project: &Project, width: f32, height: f32) -> Driven {
    let mut model = Model::default();
    model.update(Action::CautionsRead);
    let text = Ok(write(project));
    model.update(Action::File(FileAction::Loaded { path: "van.ron".into(), text, elsewhere: false }));
    model.update(Action::Go(Station::Circuit));
    model.update(Action::Circuit(CircuitAction::View(CircuitView::TwoButtons)));
    Driven::of(model, width, height)
}

/// The demo's circuit with a parallel ladder, as the meter sees it: FACTS B1's 2.2 kΩ and 4.7 kΩ, a
/// third button where the two read together, and as many more as wanted.
fn parallel(more: usize) -> Project {
    let mut project = demo_project();
    project.wheel.topology = Topology::Parallel;
    project.wheel.wires.clear();
    project.wheel.buttons.clear();
    project.pairs.clear();
    let ohms = [2_200.0, 4_700.0, 1_498.6].into_iter().chain((0..more).map(|n| 5e3 + 2e3 * n as f64));
    for (index, ohm) in ohms.enumerate() {
        let id = ButtonId(format!("b{index}"));
        let name =
            ["Up", "Down", "Mute"].get(index).map_or_else(|| format!("More {index}"), |&n| n.to_owned());
        project.wheel.buttons.push(Button { id, name, wire: Some(1), meter_ohm: Some(ohm) });
    }
    project
}

fn chose(buttons: [usize; 2]) -> Action {
    Action::Circuit(CircuitAction::Pairs(PairsAction::Choose(buttons)))
}

#[test]
fn the_most_harmful_pair_is_told_in_large_before_anything_is_chosen() {
    let window = opened(&parallel(0), 1280.0, 800.0);
    let pair = window.model().shown_pair().unwrap();
    assert_eq!(pair.buttons, [0, 1]);
    let said = window.model().derived.circuit.pairs.sentence(pair).to_owned();
    assert!(said.starts_with("Up and Down at once read 614, in Mute's band, "), "{said}");
    assert!(window.is_there(&said), "in the cell and in large");
    assert!(window.says("The box can't know the two from that button."));
    assert!(window.says("3 pairs, 1 taken for a third button"));
}

#[test]
fn a_cell_is_chosen_by_a_click_and_the_arrows_go_on_from_there() {
    for (width, height) in [(1280.0, 800.0), (1024.0, 640.0)] {
        let mut window = opened(&demo_project(), width, height);
        let sentence = |window: &Driven, a, b| {
            let pairs = &window.model().derived.circuit.pairs;
            pairs.sentence(pairs.pairs().unwrap().pair(a, b).unwrap()).to_owned()
        };
        let second = sentence(&window, 0, 2);
        window.click(&second);
        assert!(window.asked(&chose([0, 2])), "{width}");
        window.key(Key::ArrowDown);
        assert!(window.asked(&chose([0, 3])), "{width}");
        window.key(Key::ArrowRight);
        assert!(window.asked(&chose([1, 3])), "{width}");
        assert_eq!(window.model().shown_pair().unwrap().buttons, [1, 3]);
        // At the slope there is no pair further right.
        window.key(Key::ArrowRight);
        window.key(Key::ArrowRight);
        assert_eq!(window.model().shown_pair().unwrap().buttons, [2, 3]);
    }
}

#[test]
fn sixteen_buttons_are_drawn_or_scrolled_to_at_every_size() {
    let project = parallel(13);
    for (width, height) in [(1280.0, 800.0), (1024.0, 640.0), (640.0, 400.0)] {
        let mut window = opened(&project, width, height);
        assert!(window.says("120 pairs, "), "{width}");
        window.act(chose([14, 15]));
        let pair = window.model().shown_pair().unwrap();
        assert_eq!(pair.buttons, [14, 15]);
        let said = window.model().derived.circuit.pairs.sentence(pair).to_owned();
        assert!(window.says(&said), "{width}: {said}");
    }
}

#[test]
fn what_is_missing_is_said_with_where_to_give_it() {
    let mut project = parallel(0);
    project.wheel.buttons.truncate(1);
    let mut window = opened(&project, 1280.0, 800.0);
    assert!(window.says("Two buttons at once want two buttons with a resistance, and 1 of 1 have one."));
    window.click("Enter meter readings");
    assert!(window.asked(&Action::Go(Station::Wheel)));
    project.circuit = None;
    let window = opened(&project, 1280.0, 800.0);
    assert!(window.says("The project has no sense circuit, so two buttons at once can't be told."));
    assert!(!window.is_there("Enter meter readings"));
}

#[test]
fn buttons_of_two_wires_are_said_to_be_so() {
    let mut project = parallel(0);
    project.wheel.buttons[2].wire = Some(2);
    let window = opened(&project, 1280.0, 800.0);
    assert!(window.says("A and C: On two wires: the first wire to leave rest owns the press"));
    assert!(
        window.says("2 pairs on two wires: the first wire to leave rest owns the press, until both rest.")
    );
}
