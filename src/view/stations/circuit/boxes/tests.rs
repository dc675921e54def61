//! The million boxes as a person meets them.

use crate::app::action::Now;
use crate::app::circuit::boxes::BoxesAction;
use crate::app::{Action, CircuitAction, Effect, FileAction, Model, Station};
use crate::bands::Rung;
use crate::view::stations::driven::Driven;
use crate::work::{BoxesTask, News, Task};

/// The demo at the Circuit station, its first boxes asked for; the task is cut down to what a test waits for.
fn asked() -> (Model, u64, BoxesTask) {
    let mut model = Model::default();
    model.update(Action::CautionsRead);
    model.update(Action::File(FileAction::Demo));
    model.update(Action::Go(Station::Circuit));
    let effects = tick(&mut model, 1_000.0);
    let asked = effects.into_iter().find_map(|effect| match effect {
        Effect::Compute { ticket, task: Task::Boxes(task) } => Some((ticket, task)),
        _ => None,
    });
    let (ticket, task) = asked.unwrap();
    (model, ticket, BoxesTask { boxes: 20_000, ..task })
}

fn tick(model: &mut Model, ms: f64) -> Vec<Effect> {
    model.update(Action::Tick(Now { ms, clock: String::new(), date: String::new() }))
}

/// The same once they are built.
fn built() -> Driven {
    let (mut model, ticket, task) = asked();
    tick(&mut model, 1_200.0);
    model.update(Action::Computed(Task::Boxes(task).run_by_hand(ticket)));
    Driven::of(model, 1280.0, 800.0)
}

#[test]
fn every_button_has_a_row_that_says_what_becomes_of_it() {
    let driven = built();
    assert!(driven.is_there("A million boxes, seed 1, 0.2 s"));
    let state = &driven.model().circuit.boxes;
    let boxes = state.built.as_ref().unwrap().result.as_ref().unwrap();
    for (index, button) in driven.project().wheel.buttons.iter().enumerate() {
        let accept = boxes.buttons[index].accept.unwrap();
        assert_eq!(boxes.buttons[index].rung, Rung::Button(index));
        assert!(driven.says(&format!(
            "{}, accepts {} to {}, worst case ",
            button.name, accept.low_count, accept.high_count
        )));
    }
    assert!(driven.says("misread, "));
}

#[test]
fn results_of_before_a_change_are_marked_and_can_be_built_anew() {
    let mut driven = built();
    driven.act(Action::Edit(crate::app::Edit::Presses(4)));
    assert!(driven.is_there("A million boxes, out of date"));
    driven.click("Build them");
    assert!(driven.asked(&Action::Circuit(CircuitAction::Boxes(BoxesAction::Build))));
    assert!(driven.is_there("A million boxes, building anew"));
}

#[test]
fn a_long_build_shows_how_far_it_is_and_can_be_cancelled() {
    let (mut model, ticket, _) = asked();
    tick(&mut model, 1_400.0);
    let progress = News::Progress { kind: crate::work::Kind::Boxes, ticket, share: 0.25 };
    model.update(Action::Computed(progress));
    let mut driven = Driven::of(model, 1280.0, 800.0);
    assert!(driven.says("Building, 250\u{a0}000 of 1\u{a0}000\u{a0}000"));
    driven.click("Cancel");
    assert!(driven.asked(&Action::Circuit(CircuitAction::Boxes(BoxesAction::Cancel))));
    assert!(driven.is_there("Build them"));
}

#[test]
fn what_keeps_boxes_from_being_built_is_said_where_they_would_stand() {
    let (mut model, ticket, _) = asked();
    let result = Err("The project has no sense circuit.".to_owned());
    model.update(Action::Computed(News::Boxes { ticket, result }));
    let driven = Driven::of(model, 640.0, 400.0);
    assert!(driven.says("The project has no sense circuit."));
}
