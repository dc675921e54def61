//! The million boxes as a conversation: what is asked for, and what comes back.

use crate::app::action::Now;
use crate::app::{Action, CircuitAction, Edit, FileAction};

use super::*;

/// The demo at the Circuit station, its first boxes asked for.
fn demo() -> (Model, u64) {
    let mut model = Model::default();
    model.update(Action::File(FileAction::Demo));
    model.update(Action::Go(Station::Circuit));
    let effects = at(&mut model, 1_000.0);
    let ticket = ticket(&effects);
    (model, ticket)
}

fn act(model: &mut Model, action: BoxesAction) -> Vec<Effect> {
    model.update(Action::Circuit(CircuitAction::Boxes(action)))
}

/// The clock says so many milliseconds; what is asked for then, copies of unsaved work left out.
fn at(model: &mut Model, ms: f64) -> Vec<Effect> {
    let mut effects = model.update(Action::Tick(Now { ms, clock: String::new(), date: String::new() }));
    effects.retain(|effect| !matches!(effect, Effect::Autosave { .. }));
    effects
}

/// The number of what is asked for.
fn ticket(effects: &[Effect]) -> u64 {
    let asked = effects.iter().find_map(|effect| match effect {
        Effect::Compute { ticket, task: Task::Boxes(_) } => Some(*ticket),
        _ => None,
    });
    asked.unwrap_or_else(|| panic!("{effects:?}"))
}

fn failed(ticket: u64, why: &str) -> Action {
    Action::Computed(News::Boxes { ticket, result: Err(why.to_owned()) })
}

fn why(model: &Model) -> Option<&str> {
    model.circuit.boxes.built.as_ref()?.result.as_ref().err().map(String::as_str)
}

#[test]
fn they_build_themselves_once_the_station_is_looked_at_and_nothing_changes_for_a_moment() {
    let mut model = Model::default();
    model.update(Action::File(FileAction::Demo));
    assert_eq!((at(&mut model, 1_000.0), model.next_tick_ms()), (vec![], None), "nobody looks");
    model.update(Action::Go(Station::Circuit));
    assert_eq!(model.next_tick_ms(), Some(300.0));
    assert_eq!(at(&mut model, 1_200.0), []);
    model.update(Action::Edit(Edit::Presses(4)));
    assert_eq!(at(&mut model, 1_400.0), [], "it was changed just now");
    assert!((model.next_tick_ms().unwrap() - 100.0).abs() < 1e-9);
    let effects = at(&mut model, 1_500.0);
    let number = ticket(&effects);
    assert_eq!((at(&mut model, 2_000.0), model.next_tick_ms()), (vec![], None), "once is enough");
    model.update(failed(number, "no"));
    assert_eq!((why(&model), model.boxes_are_fresh()), (Some("no"), true));
    assert_eq!(at(&mut model, 9_000.0), []);
}

#[test]
fn a_change_makes_what_stands_there_stale_and_stops_what_is_being_built() {
    let (mut model, first) = demo();
    model.update(failed(first, "first"));
    model.update(Action::Edit(Edit::Presses(4)));
    assert_eq!((why(&model), model.boxes_are_fresh()), (Some("first"), false));
    let effects = at(&mut model, 2_000.0);
    let second = ticket(&effects);
    let effects = model.update(Action::Edit(Edit::Presses(5)));
    assert_eq!(effects, [Effect::StopComputing(Kind::Boxes)]);
    model.update(failed(second, "second"));
    assert_eq!(why(&model), Some("first"), "a late answer is dropped");
    let effects = at(&mut model, 3_000.0);
    model.update(failed(ticket(&effects), "third"));
    assert_eq!((why(&model), model.boxes_are_fresh()), (Some("third"), true));
}

#[test]
fn an_answer_to_another_ticket_is_dropped() {
    let (mut model, first) = demo();
    let second = ticket(&act(&mut model, BoxesAction::Build));
    assert_ne!(first, second);
    model.update(failed(first, "late"));
    assert_eq!(why(&model), None);
    model.update(Action::Computed(News::Progress { kind: Kind::Boxes, ticket: second, share: 0.5 }));
    assert_eq!(model.circuit.boxes.building.map(|building| building.share), Some(0.5));
    at(&mut model, 1_400.0);
    model.update(failed(second, "in time"));
    assert_eq!((why(&model), model.circuit.boxes.building), (Some("in time"), None));
    assert_eq!(model.circuit.boxes.built.as_ref().map(|built| built.took_ms), Some(400.0));
}

#[test]
fn cancelling_stops_the_computation_until_a_change_or_the_person_wants_it() {
    let (mut model, first) = demo();
    assert_eq!(act(&mut model, BoxesAction::Cancel), [Effect::StopComputing(Kind::Boxes)]);
    model.update(failed(first, "late"));
    assert_eq!(why(&model), None);
    assert_eq!((at(&mut model, 5_000.0), model.next_tick_ms()), (vec![], None));
    ticket(&act(&mut model, BoxesAction::Build));
    act(&mut model, BoxesAction::Cancel);
    model.update(Action::Edit(Edit::Presses(4)));
    let effects = at(&mut model, 6_000.0);
    ticket(&effects);
}

#[test]
fn another_vehicle_stops_what_is_built_of_the_one_before() {
    let (mut model, _) = demo();
    let effects = model.update(Action::File(FileAction::Demo));
    assert!(effects.contains(&Effect::StopComputing(Kind::Boxes)), "{effects:?}");
    assert_eq!(model.circuit.boxes.building, None);
}

#[test]
fn a_chance_is_told_in_words() {
    let million = 1_000_000;
    let said = [0, 1, 446, 250_000, 600_000, 999_999, million].map(|some| chance_text(some, million));
    assert_eq!(
        said.map(|said| said.replace('\u{a0}', " ")),
        [
            "none of 1 000 000",
            "1 box in 1 000 000",
            "1 box in 2242",
            "1 box in 4",
            "60 boxes in 100",
            "99 boxes in 100",
            "every box"
        ]
    );
    assert_eq!(grouped(12_345).replace('\u{a0}', " "), "12 345");
}
