//! The million boxes as a conversation: what is asked for, and what comes back.

use crate::app::{Action, CircuitAction, FileAction};

use super::*;

fn demo() -> Model {
    let mut model = Model::default();
    model.update(Action::File(FileAction::Demo));
    model
}

fn act(model: &mut Model, action: BoxesAction) -> Vec<Effect> {
    model.update(Action::Circuit(CircuitAction::Boxes(action)))
}

/// The number of what is asked for.
fn ticket(effects: &[Effect]) -> u64 {
    let [Effect::Compute { ticket, task: Task::Boxes(_) }] = effects else { panic!("{effects:?}") };
    *ticket
}

fn failed(ticket: u64, why: &str) -> Action {
    Action::Computed(News::Boxes { ticket, result: Err(why.to_owned()) })
}

#[test]
fn an_answer_to_another_ticket_is_dropped() {
    let mut model = demo();
    let first = ticket(&act(&mut model, BoxesAction::Build));
    let second = ticket(&act(&mut model, BoxesAction::Build));
    assert_ne!(first, second);
    model.update(failed(first, "late"));
    assert_eq!(model.circuit.boxes.built, None);
    model.update(Action::Computed(News::Progress { kind: Kind::Boxes, ticket: second, share: 0.5 }));
    assert_eq!(model.circuit.boxes.building, Some(Building { ticket: second, share: 0.5 }));
    model.update(failed(second, "in time"));
    assert_eq!(model.circuit.boxes.built, Some(Err("in time".to_owned())));
    assert_eq!(model.circuit.boxes.building, None);
}

#[test]
fn cancelling_stops_the_computation_and_hears_nothing_more_of_it() {
    let mut model = demo();
    let ticket = ticket(&act(&mut model, BoxesAction::Build));
    assert_eq!(act(&mut model, BoxesAction::Cancel), [Effect::StopComputing(Kind::Boxes)]);
    assert_eq!(act(&mut model, BoxesAction::Cancel), []);
    model.update(failed(ticket, "late"));
    assert_eq!(model.circuit.boxes.built, None);
}

#[test]
fn another_vehicle_stops_what_is_built_of_the_one_before() {
    let mut model = demo();
    act(&mut model, BoxesAction::Build);
    let effects = model.update(Action::File(FileAction::Demo));
    assert!(effects.contains(&Effect::StopComputing(Kind::Boxes)), "{effects:?}");
    assert_eq!(model.circuit.boxes.building, None);
}
