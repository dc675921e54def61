//! The view Dwell in a window without a screen.

use crate::app::learn::dwell::DwellAction;
use crate::app::{Action, Document, Effect, LearnAction, LearnView, Model, Station};
use crate::project;
use crate::view::stations::driven::Driven;
use crate::work::{Kind, News, Task};

/// The demo vehicle as it is kept, with its view Dwell computed.
fn tried(width: f32, height: f32) -> Driven {
    let (mut model, ticket, task) = asked();
    model.update(Action::Computed(task.run_by_hand(ticket)));
    Driven::of(model, width, height)
}

fn asked() -> (Model, u64, Task) {
    let text = include_str!("../../../../../projects/demo-van.ron");
    let mut model = Model::default();
    model.update(Action::CautionsRead);
    model.document = Some(Document::unsaved(project::read(text).unwrap().project));
    model.update(Action::Go(Station::Learn));
    let effects = model.update(Action::Learn(LearnAction::View(LearnView::Dwell)));
    let Some(Effect::Compute { ticket, task }) = effects.into_iter().next() else { panic!() };
    (model, ticket, task)
}

#[test]
fn the_proposed_dwell_is_taken_with_one_click_and_said_to_be_used() {
    let mut window = tried(1280.0, 800.0);
    let found = window.model().learn.dwell.found.clone().unwrap().unwrap();
    let proposed = found.table.proposed_ms.unwrap();
    assert_ne!(proposed, 32, "the demo's plan keeps the default");
    window.click(&format!("Use {proposed} ms"));
    assert_eq!(window.project().plan.dwell_ms, proposed);
    assert!(window.is_there(&format!("{proposed} ms is used")));
    assert!(window.says("21 recorded presses, 7 of them slow"));
    assert!(window.says("more slow presses make it 95 % sure below 25 %"));
    assert!(window.says("At 95 % confidence at most 14 in 100 presses go wrong."));
    assert!(window.says(&format!("proposed {proposed} ms, taps in")));
}

#[test]
fn the_presses_are_stepped_through_and_each_says_what_became_of_it() {
    let mut window = tried(1280.0, 800.0);
    assert!(window.says("Volume up, slow: decided"));
    window.click("Press before");
    assert!(window.says("Volume up, firm: decided"));
    window.key(egui::Key::ArrowRight);
    window.key(egui::Key::ArrowRight);
    assert!(window.says("Volume up, light: decided"));
    window.act(DwellAction::Show(20).into());
    let before = window.actions();
    window.key(egui::Key::ArrowRight);
    assert_eq!(window.actions(), before, "there is none after the last");
}

#[test]
fn progress_is_told_and_can_be_cancelled() {
    let (mut model, ticket, _) = asked();
    model.update(Action::Computed(News::Progress { kind: Kind::Dwell, ticket, share: 0.5 }));
    let mut window = Driven::of(model, 1280.0, 800.0);
    assert!(window.says("32 of 64 dwells"));
    window.click("Cancel");
    assert_eq!(window.model().learn.dwell.trying, None);
    assert!(window.says("21 recorded presses wait to be replayed."));
    window.click("Try every dwell");
    assert!(window.model().learn.dwell.trying.is_some());
}

#[test]
fn without_a_recorded_press_it_says_what_to_do() {
    let mut window = Driven::demo(Station::Learn, 1280.0, 800.0);
    window.act(Action::Learn(LearnAction::View(LearnView::Dwell)));
    assert!(window.says("No press to replay yet."));
    assert!(window.says("Learn the wheel first."));
    window.click("Learn the buttons");
    assert_eq!(window.model().learn.view, LearnView::Prompted);
}

#[test]
fn the_proposed_dwell_can_be_taken_in_the_smallest_window() {
    for (width, height) in [(640.0, 400.0), (1024.0, 640.0)] {
        let mut window = tried(width, height);
        let proposed = window.model().learn.dwell.found.clone().unwrap().unwrap().table.proposed_ms.unwrap();
        window.click(&format!("Use {proposed} ms"));
        assert_eq!(window.project().plan.dwell_ms, proposed, "{width} by {height}");
    }
}
