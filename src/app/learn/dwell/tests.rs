//! The choice of the dwell as a conversation: what is asked for, what comes back, and when it is out of
//! date.

use crate::app::{Document, Edit, LearnView};
use crate::project;

use super::*;

/// The demo vehicle as it is kept, learned and recorded.
fn demo() -> Model {
    let text = include_str!("../../../../projects/demo-van.ron");
    let document = Document::unsaved(project::read(text).unwrap().project);
    let mut model = Model { document: Some(document), ..Model::default() };
    model.kept.stale = true;
    model.update(Action::Go(crate::app::Station::Learn));
    model
}

fn look_at_dwell(model: &mut Model) -> Vec<Effect> {
    model.update(Action::Learn(LearnAction::View(LearnView::Dwell)))
}

fn task(effects: Vec<Effect>) -> (u64, Task) {
    let [Effect::Compute { ticket, task }] = <[Effect; 1]>::try_from(effects).unwrap() else { panic!() };
    (ticket, task)
}

#[test]
fn looking_at_the_view_tries_every_dwell_once() {
    let mut model = demo();
    assert_eq!((model.derived.dwell.presses, model.derived.dwell.slow), (21, 7));
    let (ticket, task) = task(look_at_dwell(&mut model));
    assert_eq!(look_at_dwell(&mut model), [], "it is being done");
    model.update(Action::Computed(News::Progress { kind: Kind::Dwell, ticket, share: 0.5 }));
    assert_eq!(model.learn.dwell.trying, Some(Trying { ticket, share: 0.5 }));
    model.update(Action::Computed(task.run_by_hand(ticket)));
    assert_eq!(model.learn.dwell.trying, None);
    let found = model.learn.dwell.found.clone().unwrap().unwrap();
    assert_eq!((found.table.presses, found.table.rows.len()), (21, 64));
    let shown = model.learn.dwell.shown.clone().unwrap();
    assert_eq!((shown.touch, shown.wrong), (Touch::Slow, None));
    assert!(shown.decided_at.is_some_and(|at| at > shown.left_at && at < shown.counts.len()));
    assert_eq!(look_at_dwell(&mut model), [], "it is done");

    // Another dwell is no other table; other presses are.
    let proposed = found.table.proposed_ms.unwrap();
    model.update(Action::Edit(Edit::Dwell(proposed)));
    assert!(!model.derived.dwell.is_stale);
    let id = model.project().unwrap().wheel.buttons[2].id.clone();
    model.update(Action::Edit(Edit::ForgetLast(id)));
    assert!(model.derived.dwell.is_stale);
    assert_eq!(model.derived.dwell.presses, 20);
    assert_eq!(look_at_dwell(&mut model).len(), 1);
}

#[test]
fn a_cancelled_or_late_answer_is_dropped() {
    let mut model = demo();
    let (ticket, _) = task(look_at_dwell(&mut model));
    assert_eq!(model.update(DwellAction::Cancel.into()), [Effect::StopComputing(Kind::Dwell)]);
    assert_eq!(model.update(DwellAction::Cancel.into()), []);
    model.update(Action::Computed(News::Dwell { ticket, result: Err("late".to_owned()) }));
    assert_eq!(model.learn.dwell.found, None);
}

#[test]
fn nothing_is_tried_where_nothing_was_recorded() {
    let mut model = Model::default();
    model.update(Action::File(crate::app::FileAction::Demo));
    assert_eq!(look_at_dwell(&mut model), []);
    let why = model.derived.dwell.why_not.clone().unwrap();
    assert_eq!(why, "No button was learned, so that there is nothing to recognise. Learn the wheel first.");
    model.update(DwellAction::Show(4).into());
    assert_eq!(model.learn.dwell.shown, None);
}
