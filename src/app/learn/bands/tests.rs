//! A re-check as a conversation: the demo's wheel, worn, and a hand that presses what is asked.

use super::*;
use crate::app::{FileAction, LinkAction, Now};
use crate::demo::{VirtualWheel, demo_van};
use crate::link::{Batch, DemoTouch, Report, Request, Target};
use crate::project::{LearnedButton, read};

/// The finished demo vehicle, connected to a wheel.
struct Bench {
    model: Model,
    wheel: VirtualWheel,
    ms: f64,
}

impl Bench {
    fn new(more_contact_ohm: f64) -> Self {
        let mut plan = demo_van();
        plan.contact_ohm += more_contact_ohm;
        let mut bench = Self { model: Model::default(), wheel: VirtualWheel::new(plan, 11), ms: 0.0 };
        bench.act(Action::CautionsRead);
        let text = Ok(include_str!("../../../../projects/demo-van.ron").to_owned());
        bench.act(Action::File(FileAction::Loaded { path: "van.ron".into(), text, elsewhere: false }));
        bench.act(Action::Go(Station::Learn));
        bench
    }

    fn connect(&mut self) {
        let target = Target::Demo { speed: 1 };
        self.act(Action::Link(LinkAction::Report(Report::Connected { target, rate: None, wires: 1 })));
    }

    fn act(&mut self, action: Action) {
        for effect in self.model.update(action) {
            match effect {
                Effect::Link(Request::Demo(DemoTouch::Press { button, touch })) => {
                    self.wheel.press(button, touch);
                }
                Effect::Link(Request::Demo(DemoTouch::Release)) => self.wheel.release(),
                _ => {}
            }
        }
    }

    /// Readings come in until the re-check is over.
    fn recheck(&mut self) {
        self.act(RecheckAction::Start.into());
        for _ in 0..20_000 {
            if self.model.learn.recheck.is_none() {
                return;
            }
            self.run();
        }
        panic!("never over: {:?}", self.model.learn.recheck.as_ref().map(Session::prompt));
    }

    fn run(&mut self) {
        self.ms += 15.0;
        self.act(Action::Tick(Now { ms: self.ms, clock: "21:15".to_owned(), date: String::new() }));
        let readings = (0..15).map(|_| self.wheel.next()).collect();
        self.act(Action::Link(LinkAction::Report(Report::Readings(Batch { readings, ..Batch::default() }))));
    }

    fn told(&self) -> String {
        let notice = self.model.notices.on(Topic::Recheck).unwrap();
        format!("{} {}", notice.head, notice.body)
    }

    fn learned(&self) -> std::collections::BTreeMap<ButtonId, LearnedButton> {
        self.model.project().unwrap().learned.clone()
    }
}

#[test]
fn a_wheel_that_has_not_changed_is_told_to_be_in_its_bands() {
    let mut bench = Bench::new(0.0);
    bench.connect();
    let before = bench.learned();
    bench.recheck();
    assert!(
        bench.told().starts_with("Every button is in its band. 7 buttons re-checked; the furthest moved ")
    );
    let checked = &bench.model.derived.learn.checked;
    assert_eq!(checked.len(), 7);
    for found in checked {
        assert!(found.holds && found.moved_count().abs() < 12.0, "{found:?}");
    }
    assert_eq!(bench.learned(), before, "a re-check is no learning");
    // Kept with the project, and one step of undo.
    let text = crate::project::write(bench.model.project().unwrap());
    assert_eq!(read(&text).unwrap().project.rechecked.unwrap().presses.len(), 7);
    bench.act(Action::Undo);
    assert_eq!(bench.model.project().unwrap().rechecked, None);
}

/// 180 Ω more in each contact: worse than any band of the steep end bears (133 to 152 Ω).
#[test]
fn a_worn_wheel_is_told_button_by_button() {
    let mut bench = Bench::new(180.0);
    bench.connect();
    bench.recheck();
    let told = bench.told();
    assert!(told.starts_with("Not every button is in its band. "), "{told}");
    let checked = &bench.model.derived.learn.checked;
    assert!(!checked[0].holds, "{checked:?}");
    for found in checked {
        let ohm = found.moved_ohm.unwrap();
        // The high rungs show few counts of it, so that a count there is many ohms.
        assert!((100.0..320.0).contains(&ohm), "{found:?}");
    }
    assert!(
        told.contains("Volume up reads as Volume down") || told.contains("Volume up is ignored"),
        "{told}"
    );
}

#[test]
fn a_recheck_that_is_stopped_keeps_what_was_pressed() {
    let mut bench = Bench::new(0.0);
    bench.connect();
    bench.act(RecheckAction::Start.into());
    for _ in 0..4_000 {
        bench.run();
        let done =
            bench.model.learn.recheck.as_ref().unwrap().results().iter().filter(|r| !r.presses.is_empty());
        if done.count() == 2 {
            break;
        }
    }
    bench.act(RecheckAction::Stop.into());
    assert_eq!(bench.model.project().unwrap().rechecked.as_ref().unwrap().presses.len(), 2);
    assert!(bench.model.learn.hand.is_none(), "the demo's hand lets go");
    // Nothing pressed: nothing kept, and what was kept before stays.
    bench.act(RecheckAction::Start.into());
    bench.act(RecheckAction::Stop.into());
    assert_eq!(bench.model.project().unwrap().rechecked.as_ref().unwrap().presses.len(), 2);
}

#[test]
fn without_a_link_or_anything_learned_it_says_what_comes_first() {
    let mut bench = Bench::new(0.0);
    bench.act(RecheckAction::Start.into());
    assert!(bench.told().starts_with("Nothing is connected. Connect the box in the vehicle"));
    assert_eq!(bench.model.learn.view, LearnView::Bands);
    bench.connect();
    for id in bench.learned().keys() {
        bench.act(Action::Edit(crate::app::Edit::Forget(id.clone())));
    }
    bench.act(RecheckAction::Start.into());
    assert_eq!(bench.told(), "Nothing to re-check. Learn the buttons first.");
    assert!(bench.model.learn.recheck.is_none());
}

#[test]
fn learning_where_nothing_measures_the_feed_is_said_at_once() {
    let mut bench = Bench::new(0.0);
    bench.connect();
    let mut circuit = bench.model.project().unwrap().circuit.clone().unwrap();
    circuit.reference = crate::circuit::Reference::External { volt: 5.0, series_ohm: 0.0, pin_v: None };
    bench.act(Action::Edit(crate::app::Edit::Circuit(Some(circuit))));
    assert!(bench.model.notices.on(Topic::Feed).is_none());
    bench.act(Action::Learn(LearnAction::Start(None)));
    let notice = bench.model.notices.on(Topic::Feed).unwrap();
    assert_eq!(notice.head, "Nothing measures the feed.");
    let on = Some(LearnedOn { feed_v: Some(4.70) });
    bench.act(Action::Edit(crate::app::Edit::LearnedOn(on)));
    let notice = bench.model.notices.on(Topic::Feed).unwrap();
    assert_eq!(notice.head, "The feed is 4.70 V, planned 5.00 V.");
    // Dismissed, it stays away until something else is to be told.
    bench.act(Action::Dismiss(Topic::Feed));
    bench.run();
    assert!(bench.model.notices.on(Topic::Feed).is_none());
    let on = Some(LearnedOn { feed_v: Some(5.0) });
    bench.act(Action::Edit(crate::app::Edit::LearnedOn(on)));
    assert!(bench.model.notices.on(Topic::Feed).is_none());
}
