//! A sweep as a conversation: ticks and reports go in, and what is asked of the box comes out.

use std::path::PathBuf;

use super::*;
use crate::app::codes::CodesView;
use crate::app::{Action, BoxAction, CodesAction, FileAction, LinkAction, Now, Station};
use crate::circuit::{Jack, JackWants};
use crate::device::{BoxReport, BoxRequest, Failure, Job};
use crate::link::{Report, Request, Target};
use crate::project::{self, Project};
use crate::remote::{Code, FamilyId};
use crate::wire::{Identity, ResetCause};

struct Desk {
    model: Model,
    tried: Vec<BoxRequest>,
}

impl Desk {
    /// The demo van at Sweep, with a box, and the caution answered.
    fn new() -> Self {
        let mut desk = Self { model: Model::default(), tried: Vec::new() };
        desk.at(0.0);
        desk.act(Action::CautionsRead);
        desk.act(Action::File(FileAction::Demo));
        desk.act(Action::Go(Station::Codes));
        desk.act(Action::Codes(CodesAction::View(CodesView::Sweep)));
        desk.plug_in();
        desk.sweep(SweepAction::Agree(true));
        desk
    }

    fn plug_in(&mut self) {
        let connected = Report::Connected { target: Target::Demo { speed: 1 }, rate: None, wires: 1 };
        self.act(Action::Link(LinkAction::Report(connected)));
        let identity = Identity { reference_named: true, ..Identity::default() };
        self.hear(BoxReport::Identity(Box::new(identity)));
    }

    fn act(&mut self, action: Action) {
        for effect in self.model.update(action) {
            if let Effect::Link(Request::Box(request @ BoxRequest::Try { .. })) = effect {
                self.tried.push(request);
            }
        }
        assert_eq!(self.model.project().map(Project::check_values).unwrap_or_default(), []);
    }

    fn sweep(&mut self, action: SweepAction) {
        self.act(Action::Codes(CodesAction::Sweep(action)));
    }

    fn hear(&mut self, report: BoxReport) {
        self.act(Action::Link(LinkAction::Report(Report::Box(report))));
    }

    fn at(&mut self, ms: f64) {
        self.act(Action::Tick(Now { ms, clock: "21:14".to_owned(), date: String::new() }));
    }

    /// Ticks as the window gives them, until then; the box says each time that it sent what was asked.
    fn run_to(&mut self, ms: f64) {
        while self.model.now.ms + 10.0 <= ms {
            let (now, before) = (self.model.now.ms + 10.0, self.tried.len());
            self.at(now);
            assert!(self.tried.len() <= before + 1, "two at once");
            if self.tried.len() > before {
                self.hear(BoxReport::Sent { frames: 1 });
            }
        }
    }

    /// Begins a sweep of these commands at address 59.
    fn begin(&mut self, family: &str, command: &str, command_to: &str, pace_s: &str) {
        let draft = SweepDraft {
            family: family.to_owned(),
            address: if family == "nec" { "59" } else { "5" }.to_owned(),
            address_to: String::new(),
            command: command.to_owned(),
            command_to: command_to.to_owned(),
            pace_s: pace_s.to_owned(),
        };
        self.sweep(SweepAction::Draft(draft));
        self.sweep(SweepAction::Begin);
        if !self.tried.is_empty() {
            self.hear(BoxReport::Sent { frames: 1 });
        }
    }

    fn state(&self) -> &SweepState {
        &self.model.codes.sweep
    }

    fn saved(&self) -> &Sweep {
        self.model.project().unwrap().stereo.sweep.as_ref().unwrap()
    }

    fn marked(&self) -> Vec<u16> {
        self.saved().marks.iter().map(|mark| mark.at).collect()
    }

    fn is_paused(&self) -> bool {
        self.state().motion == Motion::Paused
    }

    fn halted(&self) -> &Halt {
        self.state().halt.as_ref().unwrap()
    }

    fn records(&self) -> Vec<Vec<u8>> {
        let record = |request: &BoxRequest| match request {
            BoxRequest::Try { record, held_ms: 100, .. } => record.clone(),
            other => panic!("{other:?}"),
        };
        self.tried.iter().map(record).collect()
    }
}

fn nec(command: u32) -> Code {
    Code::Family { family: FamilyId("nec".to_owned()), address: 0x59, command }
}

#[test]
fn every_code_is_sent_once_in_order_at_the_pace_and_then_it_stops() {
    let mut desk = Desk::new();
    desk.begin("nec", "10", "17", "1");
    desk.run_to(20_000.0);
    let wanted: Vec<_> = (0x10..=0x17).map(|command| crate::image::record(&nec(command)).unwrap()).collect();
    assert_eq!(desk.records(), wanted);
    assert!(desk.is_paused());
    assert_eq!((desk.halted(), desk.saved().next), (&Halt::Finished, 8));
    desk.sweep(SweepAction::Go);
    desk.run_to(30_000.0);
    assert_eq!(desk.tried.len(), 8, "there is no ninth");
}

#[test]
fn the_whole_run_takes_no_longer_than_was_said_where_ticks_come_a_little_late() {
    let mut desk = Desk::new();
    desk.begin("nec", "0", "FF", "0.5");
    let at_most_ms = desk.saved().range.at_most_ms(500) as f64;
    // A tick every 33 ms: no due time falls on one.
    while desk.state().motion == Motion::Running {
        let before = desk.tried.len();
        desk.at(desk.model.now.ms + 33.0);
        if desk.tried.len() > before {
            desk.hear(BoxReport::Sent { frames: 1 });
        }
    }
    assert_eq!(desk.tried.len(), 256);
    let ms = desk.model.now.ms;
    assert!((at_most_ms - 500.0..=at_most_ms + 33.0).contains(&ms), "{ms} of {at_most_ms}");
}

#[test]
fn the_next_code_waits_for_the_pace_and_for_the_box() {
    let mut desk = Desk::new();
    desk.sweep(SweepAction::Draft(SweepDraft { pace_s: "0.5".to_owned(), ..typed(&desk.model) }));
    desk.sweep(SweepAction::Begin);
    assert_eq!(desk.tried.len(), 1, "the first goes at once");
    desk.at(600.0);
    assert_eq!(desk.tried.len(), 1, "the box hasn't said that it sent the first");
    desk.hear(BoxReport::Sent { frames: 1 });
    desk.at(601.0);
    assert_eq!(desk.tried.len(), 2);
    desk.hear(BoxReport::Sent { frames: 1 });
    desk.at(900.0);
    assert_eq!(desk.tried.len(), 2, "its pace hasn't passed");
    desk.at(9_000.0);
    desk.hear(BoxReport::Sent { frames: 1 });
    desk.at(9_001.0);
    assert_eq!(desk.tried.len(), 3, "a late tick sends one, not those that were missed");
    assert!(desk.model.next_tick_ms().is_some_and(|ms| (400.0..=500.0).contains(&ms)));
}

#[test]
fn nothing_is_sent_before_the_caution_is_answered() {
    let mut desk = Desk::new();
    desk.sweep(SweepAction::Agree(false));
    desk.sweep(SweepAction::Begin);
    desk.sweep(SweepAction::Go);
    desk.run_to(3_000.0);
    assert!(desk.tried.is_empty() && desk.model.project().unwrap().stereo.sweep.is_none());
    desk.sweep(SweepAction::Agree(true));
    desk.begin("nec", "0", "1", "0.5");
    desk.run_to(9_000.0);
    assert_eq!(desk.tried.len(), 2);
    desk.sweep(SweepAction::Restart);
    assert_eq!(desk.saved().next, 0);
    assert!(!desk.state().agreed, "each run asks anew");
    desk.sweep(SweepAction::Go);
    assert_eq!(desk.tried.len(), 2);
}

#[test]
fn the_toggle_bit_changes_from_code_to_code_in_families_that_have_one() {
    let toggles = |family: &str| {
        let mut desk = Desk::new();
        desk.begin(family, "0", "3", "0.5");
        desk.run_to(5_000.0);
        let of = |request: &BoxRequest| matches!(request, BoxRequest::Try { toggle: true, .. });
        desk.tried.iter().map(of).collect::<Vec<_>>()
    };
    for family in ["rc5", "rc6"] {
        assert_eq!(toggles(family), [true, false, true, false], "{family}");
    }
    assert_eq!(toggles("nec"), [false; 4]);
}

#[test]
fn it_pauses_goes_back_one_and_forward_one_by_hand() {
    let mut desk = Desk::new();
    desk.begin("nec", "0", "7F", "1");
    desk.run_to(3_500.0);
    assert_eq!((desk.tried.len(), desk.saved().next), (4, 4));
    desk.sweep(SweepAction::Pause);
    desk.run_to(9_000.0);
    assert_eq!(desk.tried.len(), 4);
    desk.sweep(SweepAction::Go);
    desk.hear(BoxReport::Sent { frames: 1 });
    desk.run_to(9_900.0);
    desk.sweep(SweepAction::Back);
    assert!(desk.is_paused());
    desk.run_to(20_000.0);
    assert_eq!((desk.tried.len(), desk.saved().next), (5, 4), "it goes back one and waits");
    desk.sweep(SweepAction::Forward);
    assert_eq!(desk.records().last(), crate::image::record(&nec(4)).ok().as_ref());
    desk.hear(BoxReport::Sent { frames: 1 });
    desk.sweep(SweepAction::Forward);
    assert_eq!(desk.tried.len(), 6, "by hand too, one follows the other in no less than half a second");
    desk.run_to(20_600.0);
    assert_eq!((desk.tried.len(), desk.is_paused()), (7, true));
    for _ in 0..200 {
        desk.sweep(SweepAction::Back);
    }
    assert_eq!(desk.saved().next, 0);
}

#[test]
fn a_mark_is_for_the_code_sent_last_and_pauses() {
    let mut desk = Desk::new();
    desk.sweep(SweepAction::Mark);
    desk.begin("nec", "0", "7F", "1");
    desk.run_to(3_400.0);
    desk.sweep(SweepAction::Mark);
    assert_eq!((desk.marked(), desk.halted()), (vec![3], &Halt::Marked));
    assert_eq!(desk.state().question, None);
    desk.sweep(SweepAction::Mark);
    assert_eq!(desk.marked(), [3], "one mark is enough");
    desk.sweep(SweepAction::Unmark(3));
    assert!(desk.marked().is_empty());
    desk.act(Action::Undo);
    assert_eq!((desk.marked(), desk.saved().next), (vec![3], 4), "undo takes back the mark's removal alone");
    desk.act(Action::Undo);
    assert_eq!((desk.marked(), desk.saved().next), (vec![], 4));
}

#[test]
fn a_mark_right_after_a_new_code_offers_the_one_before_too() {
    for (meant, left) in [(Meant::Last, vec![3]), (Meant::Before, vec![2]), (Meant::Both, vec![2, 3])] {
        let mut desk = Desk::new();
        desk.begin("nec", "0", "7F", "1");
        desk.run_to(3_200.0);
        desk.sweep(SweepAction::Mark);
        assert_eq!(desk.state().question, Some(Question { last: 3, before: 2 }));
        assert_eq!(desk.marked(), [2, 3], "nothing is lost while it isn't answered");
        desk.sweep(SweepAction::Answer(meant));
        assert_eq!((desk.marked(), desk.state().question), (left, None));
    }
    let mut desk = Desk::new();
    desk.begin("nec", "0", "7F", "1");
    desk.run_to(100.0);
    desk.sweep(SweepAction::Mark);
    assert_eq!((desk.marked(), desk.state().question), (vec![0], None), "none was sent before the first");
}

#[test]
fn a_marked_code_is_named_and_kept_in_one_step() {
    let mut desk = Desk::new();
    desk.begin("nec", "40", "7F", "1");
    desk.run_to(3_400.0);
    desk.sweep(SweepAction::Mark);
    desk.sweep(SweepAction::Keep(3));
    assert!(desk.model.notices.on(crate::app::Topic::Edit).is_some(), "a name is wanted");
    desk.sweep(SweepAction::Name(3, "Mute".to_owned()));
    desk.sweep(SweepAction::Keep(3));
    assert_eq!(desk.saved().marks[0].command, None, "there is a Mute already");
    desk.sweep(SweepAction::Name(3, "Dimmer".to_owned()));
    desk.sweep(SweepAction::Keep(3));
    let kept = desk.model.project().unwrap().stereo.commands.last().cloned().unwrap();
    assert_eq!((kept.name.as_str(), &kept.code, kept.origin), ("Dimmer", &nec(0x43), Origin::Swept));
    assert!(kept.tried);
    assert_eq!(desk.saved().marks[0].command.as_ref(), Some(&kept.id));
    desk.sweep(SweepAction::Keep(3));
    assert_eq!(desk.model.project().unwrap().stereo.commands.len(), 11);
    desk.act(Action::Undo);
    assert_eq!(desk.model.project().unwrap().stereo.commands.len(), 10);
    assert_eq!(desk.saved().marks[0].command, None);
}

#[test]
fn a_mark_at_a_code_that_is_known_already_has_its_name() {
    let mut desk = Desk::new();
    desk.begin("nec", "C", "F", "1");
    desk.run_to(500.0);
    desk.sweep(SweepAction::Mark);
    assert_eq!(desk.saved().marks[0].command, Some(CommandId("mute".to_owned())));
}

#[test]
fn it_pauses_when_the_box_goes_away_and_asks_the_caution_anew() {
    let mut desk = Desk::new();
    desk.begin("nec", "0", "7F", "1");
    desk.run_to(3_500.0);
    let gone = Report::Gone { path: "/dev/ttyX0".to_owned(), reason: String::new() };
    desk.act(Action::Link(LinkAction::Report(gone)));
    assert_eq!(desk.halted(), &Halt::Hindered(Hindrance::Gone));
    assert!(desk.is_paused() && !desk.state().agreed);
    desk.run_to(9_000.0);
    desk.sweep(SweepAction::Agree(true));
    desk.sweep(SweepAction::Go);
    assert_eq!(desk.tried.len(), 4, "never while nothing is connected");
    desk.plug_in();
    assert!(desk.is_paused() && desk.state().agreed, "it waits for the person");
    desk.sweep(SweepAction::Go);
    assert_eq!(desk.records().last(), crate::image::record(&nec(4)).ok().as_ref());
}

#[test]
fn it_pauses_on_leaving_the_view_or_the_station_and_under_what_stands_over_it() {
    for (leave, why) in [
        (Action::Go(Station::Pair), Halt::Left),
        (Action::Codes(CodesAction::View(CodesView::Listen)), Halt::Left),
        (Action::Codes(CodesAction::New), Halt::Left),
        (Action::ShowCautions(true), Halt::Covered),
        (Action::ShowKeys(true), Halt::Covered),
        (Action::Box(BoxAction::Read), Halt::Hindered(Hindrance::Busy(Job::Read))),
        (Action::Undo, Halt::Changed),
        (Action::Link(LinkAction::Disconnect), Halt::Hindered(Hindrance::NotConnected)),
        (
            Action::Edit(Edit::Jack(Jack { wants: Some(JackWants::Resistances), ..Jack::default() })),
            Halt::Hindered(Hindrance::Resistances),
        ),
    ] {
        let mut desk = Desk::new();
        desk.begin("nec", "0", "7F", "1");
        desk.run_to(500.0);
        desk.sweep(SweepAction::Pause);
        desk.sweep(SweepAction::Go);
        desk.run_to(2_500.0);
        let sent = desk.tried.len();
        desk.act(leave.clone());
        assert!(desk.is_paused(), "{leave:?}");
        assert_eq!(desk.halted(), &why, "{leave:?}");
        desk.run_to(9_000.0);
        assert_eq!(desk.tried.len(), sent, "{leave:?}");
    }
}

#[test]
fn it_pauses_with_the_reason_when_the_box_fails_restarts_or_stays_silent() {
    let failure = Failure {
        job: Job::Try,
        what: "Sending a code: no answer.".to_owned(),
        advice: "Check the cable.".to_owned(),
        half_flashed: false,
    };
    let begun = || {
        let mut desk = Desk::new();
        desk.begin("nec", "0", "7F", "1");
        desk.at(1_000.0);
        assert_eq!(desk.tried.len(), 2);
        desk
    };
    let mut desk = begun();
    desk.hear(BoxReport::Failed(failure.clone()));
    assert_eq!(desk.halted().words().as_deref(), Some("Sending a code: no answer. Check the cable."));
    let mut desk = begun();
    desk.hear(BoxReport::Restarted(ResetCause::BrownOut));
    assert!(desk.halted().words().is_some_and(|words| words.contains("its supply fell too low")));
    desk.hear(BoxReport::Failed(failure));
    assert_eq!(desk.halted(), &Halt::Restarted(ResetCause::BrownOut), "what follows from it is no news");
    let mut desk = begun();
    desk.at(3_900.0);
    assert!(!desk.is_paused());
    desk.at(4_000.0);
    assert_eq!((desk.halted(), desk.tried.len()), (&Halt::Silent, 2));
    desk.sweep(SweepAction::Back);
    desk.sweep(SweepAction::Go);
    assert_eq!(desk.records().last(), crate::image::record(&nec(1)).ok().as_ref(), "it can be sent again");
    for halt in [Halt::Marked, Halt::Left, Halt::Covered, Halt::Silent, Halt::Changed, Halt::Finished] {
        assert!(halt.words().is_some_and(|words| words.ends_with('.') && !words.contains('!')), "{halt:?}");
    }
}

#[test]
fn a_step_undone_in_the_middle_of_a_run_pauses_it_where_that_was() {
    let mut desk = Desk::new();
    desk.begin("nec", "0", "7F", "1");
    desk.run_to(2_500.0);
    desk.act(Action::Undo);
    assert!(desk.is_paused());
    assert!(desk.model.project().unwrap().stereo.sweep.is_none(), "the run was begun with this step");
    desk.run_to(5_000.0);
    assert_eq!(desk.tried.len(), 3);
    desk.act(Action::Redo);
    assert_eq!(desk.saved().next, 3);
}

#[test]
fn a_saved_sweep_is_taken_up_where_it_was_after_the_caution() {
    let mut desk = Desk::new();
    desk.begin("nec", "0", "7F", "2");
    desk.run_to(10_500.0);
    desk.sweep(SweepAction::Mark);
    let text = project::write(desk.model.project().unwrap());
    let path = PathBuf::from("/nowhere/van.ron");
    let mut desk = Desk::new();
    desk.act(Action::File(FileAction::Loaded { path, text: Ok(text), elsewhere: false }));
    assert_eq!((desk.saved().next, desk.saved().pace_ms, desk.marked()), (6, 2_000, vec![5]));
    assert!(desk.is_paused() && !desk.state().agreed && desk.state().sent.is_none());
    desk.act(Action::Go(Station::Codes));
    desk.act(Action::Codes(CodesAction::View(CodesView::Sweep)));
    desk.sweep(SweepAction::Go);
    assert!(desk.tried.is_empty());
    desk.sweep(SweepAction::Agree(true));
    desk.sweep(SweepAction::Go);
    assert_eq!(desk.records(), [crate::image::record(&nec(6)).unwrap()]);
}

#[test]
fn the_pace_can_be_changed_on_the_way_and_a_wrong_one_changes_nothing() {
    let mut desk = Desk::new();
    desk.begin("nec", "0", "7F", "2");
    desk.sweep(SweepAction::Draft(SweepDraft { pace_s: "0.1".to_owned(), ..typed(&desk.model) }));
    assert_eq!(desk.saved().pace_ms, 2_000);
    desk.sweep(SweepAction::Draft(SweepDraft { pace_s: "0.5".to_owned(), ..typed(&desk.model) }));
    assert_eq!(desk.saved().pace_ms, 500);
    desk.run_to(4_100.0);
    assert_eq!(desk.tried.len(), 6);
}

#[test]
fn a_forgotten_sweep_leaves_its_commands_and_what_was_typed() {
    let mut desk = Desk::new();
    desk.begin("nec", "40", "4F", "1");
    desk.run_to(500.0);
    desk.sweep(SweepAction::Mark);
    desk.sweep(SweepAction::Name(0, "Dimmer".to_owned()));
    desk.sweep(SweepAction::Keep(0));
    desk.sweep(SweepAction::Forget);
    let stereo = &desk.model.project().unwrap().stereo;
    assert!(stereo.sweep.is_none());
    assert_eq!(stereo.commands.last().map(|command| command.name.as_str()), Some("Dimmer"));
    assert_eq!(typed(&desk.model).command_to, "4F");
    assert!(!desk.state().agreed);
    desk.act(Action::Undo);
    assert_eq!(desk.marked(), [0]);
}

#[test]
fn a_set_up_that_can_not_be_swept_begins_nothing() {
    let mut desk = Desk::new();
    desk.begin("nec", "0", "1FF", "1");
    assert!(desk.tried.is_empty() && desk.state().attempted);
    desk.begin("nec", "0", "FF", "11");
    assert!(desk.tried.is_empty());
    assert!(desk.model.project().unwrap().stereo.sweep.is_none());
}

#[test]
fn every_hindrance_says_what_to_do() {
    for hindrance in [
        Hindrance::Resistances,
        Hindrance::NotConnected,
        Hindrance::Opening,
        Hindrance::Gone,
        Hindrance::NoBox,
        Hindrance::NoProgram,
        Hindrance::Busy(Job::Write),
    ] {
        let words = hindrance.words();
        assert!(words.matches('.').count() >= 2 && !words.contains("  "), "{words}");
    }
    let mut desk = Desk::new();
    assert_eq!(hindrance(&desk.model), None);
    desk.hear(BoxReport::NoProgram { bootloader: true });
    assert_eq!(hindrance(&desk.model), Some(Hindrance::NoProgram));
}
