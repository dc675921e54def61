//! Listening as a conversation: what a person does, what the box says, and what is asked of it.

use super::*;
use crate::app::action::{FileAction, LinkAction};
use crate::app::codes::CodesView;
use crate::device::{BoxReport, BoxRequest, Job};
use crate::link::{Report, Target};
use crate::project::Project;
use crate::remote::{FamilyId, encode};
use crate::wire::{Identity, ResetCause};

struct Desk {
    model: Model,
    asked: Vec<Request>,
}

impl Desk {
    /// The demo van's project at Codes, without a box.
    fn new() -> Self {
        let mut desk = Self { model: Model::default(), asked: Vec::new() };
        desk.act(Action::File(FileAction::Demo));
        desk.act(Action::Go(Station::Codes));
        desk.asked.clear();
        desk
    }

    fn with_box() -> Self {
        let mut desk = Self::new();
        desk.connect();
        desk
    }

    fn connect(&mut self) {
        let target = Target::Serial { path: "/dev/ttyX0".to_owned(), rate: None };
        let connected = Report::Connected { target, rate: Some(115_200), wires: 1 };
        self.act(Action::Link(LinkAction::Report(connected)));
        let identity = Identity { reference_named: true, ..Identity::default() };
        self.hears(BoxReport::Identity(Box::new(identity)));
        self.asked.clear();
    }

    fn act(&mut self, action: Action) {
        for effect in self.model.update(action) {
            if let Effect::Link(request) = effect {
                self.asked.push(request);
            }
        }
    }

    fn does(&mut self, what: ListenAction) {
        self.act(action(what));
    }

    fn hears(&mut self, report: BoxReport) {
        self.act(Action::Link(LinkAction::Report(Report::Box(report))));
    }

    fn unplugged(&mut self) {
        let gone = Report::Gone { path: "/dev/ttyX0".to_owned(), reason: "It is gone.".to_owned() };
        self.act(Action::Link(LinkAction::Report(gone)));
    }

    /// Listens for the command shown, and the box does.
    fn listens(&mut self) {
        self.does(ListenAction::Start);
        self.hears(BoxReport::Done(Job::Listen));
        assert_eq!(self.session().ear, Ear::Open);
        self.asked.clear();
    }

    /// The remote's button is pressed.
    fn pressed(&mut self, code: &Code, stretch_us: f64) {
        self.captured(received(code, stretch_us));
    }

    fn captured(&mut self, timings_us: Vec<f64>) {
        self.hears(BoxReport::Captured { timings_us, overflow: false });
    }

    fn session(&self) -> &Session {
        self.model.codes.listen.session.as_ref().unwrap()
    }

    fn project(&self) -> &Project {
        self.model.project().unwrap()
    }

    fn command(&self, id: &str) -> &Command {
        self.project().command(&CommandId(id.to_owned())).unwrap()
    }

    /// What was asked of the box since, oldest first.
    fn asked(&mut self) -> Vec<BoxRequest> {
        let requests = std::mem::take(&mut self.asked).into_iter();
        requests
            .filter_map(|request| match request {
                Request::Box(request) => Some(request),
                _ => None,
            })
            .collect()
    }
}

fn nec(address: u32, command: u32) -> Code {
    Code::Family { family: FamilyId("nec".to_owned()), address, command }
}

/// A press as a receiver gives it: the frame and one repeat, marks longer and spaces shorter.
fn received(code: &Code, stretch_us: f64) -> Vec<f64> {
    let frame = encode(code, false).unwrap();
    let mut timings_us = frame.pulses_us.clone();
    if let Some(period_us) = frame.repeat.period_us {
        timings_us.push(period_us - frame.total_us());
        timings_us.extend(&frame.repeat.pulses_us);
    }
    let signed = |at: usize| if at.is_multiple_of(2) { stretch_us } else { -stretch_us };
    timings_us.iter().enumerate().map(|(at, us)| us + signed(at)).collect()
}

#[test]
fn three_presses_that_agree_are_kept_with_their_timings_in_one_step_of_undo() {
    let mut desk = Desk::with_box();
    desk.does(ListenAction::Start);
    assert_eq!(desk.asked(), [BoxRequest::Listen(true)]);
    assert_eq!(desk.session().ear, Ear::Asked);
    desk.hears(BoxReport::Done(Job::Listen));
    for stretch_us in [71.0, 74.0, 77.0] {
        assert_eq!(desk.session().ear, Ear::Open);
        desk.pressed(&nec(0x59, 0x18), stretch_us);
    }
    assert_eq!(desk.asked(), [BoxRequest::Listen(false)]);
    assert_eq!(desk.session().ear, Ear::Shut(Shut::Enough));
    let consensus = desk.session().presses.consensus.clone().unwrap();
    assert_eq!((consensus.agree, consensus.of, &consensus.warning), (3, 3, &None));
    assert!((consensus.heard.stretch_us - 74.0).abs() < 1.0, "{}", consensus.heard.stretch_us);
    desk.does(ListenAction::Keep);
    let kept = desk.command("volume_up");
    assert_eq!((&kept.code, kept.origin, kept.tried), (&nec(0x59, 0x18), Origin::Captured, false));
    assert_eq!(kept.heard.len(), 3);
    assert_eq!(kept.heard[0].timings_us, received(&nec(0x59, 0x18), 71.0));
    assert!(desk.model.codes.listen.session.is_none());
    assert_eq!(desk.model.codes.listen.kept.as_ref().map(|kept| kept.presses.understood()), Some(3));
    desk.act(Action::Undo);
    let before = desk.command("volume_up");
    assert_eq!((&before.code, before.origin, before.heard.len()), (&nec(0x59, 0x16), Origin::Typed, 0));
    assert_eq!(desk.model.codes.listen.kept, None);
}

#[test]
fn presses_that_differ_are_told_with_which_and_the_odd_one_is_pressed_again() {
    let mut desk = Desk::with_box();
    desk.listens();
    for command in [0x16, 0x17, 0x16] {
        desk.pressed(&nec(0x59, command), 70.0);
    }
    let presses = &desk.session().presses;
    assert_eq!((presses.agrees(0), presses.agrees(1), presses.agrees(2)), (true, false, true));
    let warning = presses.consensus.as_ref().and_then(|consensus| consensus.warning.clone()).unwrap();
    assert!(warning.contains("Press 2 was heard as nec address 59 command 17"), "{warning}");
    desk.does(ListenAction::Redo);
    assert_eq!(desk.session().presses.all.len(), 2);
    assert_eq!(desk.session().ear, Ear::Asked);
    desk.hears(BoxReport::Done(Job::Listen));
    desk.hears(BoxReport::Done(Job::Listen));
    desk.pressed(&nec(0x59, 0x16), 70.0);
    let consensus = desk.session().presses.consensus.as_ref().unwrap();
    assert_eq!((consensus.agree, &consensus.warning), (3, &None));
}

#[test]
fn three_presses_of_three_buttons_are_not_kept() {
    let mut desk = Desk::with_box();
    desk.listens();
    for command in [0x16, 0x17, 0x18] {
        desk.pressed(&nec(0x59, command), 70.0);
    }
    assert_eq!(desk.session().keepable(), None);
    desk.does(ListenAction::Keep);
    assert_eq!(desk.command("volume_up").origin, Origin::Typed);
    desk.does(ListenAction::Again);
    assert_eq!(desk.session().presses.all.len(), 0);
    assert!(desk.session().ear.is_on());
}

#[test]
fn without_a_box_nothing_is_asked_and_with_one_listening_begins() {
    let mut desk = Desk::new();
    desk.does(ListenAction::Start);
    assert_eq!(desk.session().ear, Ear::Shut(Shut::NoBox));
    assert_eq!(desk.asked(), []);
    desk.connect();
    desk.does(ListenAction::Start);
    assert_eq!(desk.asked(), [BoxRequest::Listen(true)]);
}

#[test]
fn a_box_that_goes_in_the_middle_takes_nothing_along() {
    let mut desk = Desk::with_box();
    desk.listens();
    desk.pressed(&nec(0x59, 0x16), 70.0);
    desk.pressed(&nec(0x59, 0x16), 72.0);
    desk.unplugged();
    assert_eq!(desk.session().ear, Ear::Shut(Shut::Gone));
    assert_eq!(desk.session().presses.all.len(), 2);
    desk.connect();
    desk.listens();
    desk.pressed(&nec(0x59, 0x16), 74.0);
    assert_eq!(desk.session().presses.all.len(), 3);
    assert_eq!(desk.asked(), [BoxRequest::Listen(false)]);
}

#[test]
fn going_elsewhere_ends_the_listening_and_keeps_what_was_heard() {
    let ways = [
        Action::Go(Station::Pair),
        Action::Codes(CodesAction::View(CodesView::Sweep)),
        Action::Codes(CodesAction::New),
    ];
    for way in ways {
        let mut desk = Desk::with_box();
        desk.listens();
        desk.pressed(&nec(0x59, 0x16), 70.0);
        desk.act(way.clone());
        assert_eq!(desk.asked(), [BoxRequest::Listen(false)], "{way:?}");
        assert_eq!(desk.session().ear, Ear::Shut(Shut::Left));
        assert_eq!(desk.session().presses.all.len(), 1);
        // A capture that was on its way is nobody's.
        desk.pressed(&nec(0x59, 0x16), 70.0);
        assert_eq!(desk.session().presses.all.len(), 1);
    }
}

#[test]
fn another_vehicle_begins_with_nothing_heard() {
    let mut desk = Desk::with_box();
    desk.listens();
    desk.pressed(&nec(0x59, 0x16), 70.0);
    desk.act(Action::File(FileAction::New));
    assert!(desk.model.codes.listen.session.is_none());
    assert_eq!(desk.asked(), [BoxRequest::Listen(false)]);
}

#[test]
fn a_box_that_does_not_listen_says_why_at_codes_and_not_at_box() {
    let mut desk = Desk::with_box();
    desk.does(ListenAction::Start);
    let failure = |what: &str| Failure {
        job: Job::Listen,
        what: what.to_owned(),
        advice: "Check the cable.".to_owned(),
        half_flashed: false,
    };
    desk.hears(BoxReport::Failed(failure("No answer.")));
    let why = Shut::Failed { what: "No answer.".to_owned(), advice: "Check the cable.".to_owned() };
    assert_eq!(desk.session().ear, Ear::Shut(why));
    assert_eq!(desk.model.the_box.failure, None);
    desk.listens();
    desk.hears(BoxReport::Failed(failure("A part of the remote's code was lost on the way.")));
    assert_eq!(desk.session().ear, Ear::Open);
    assert!(desk.session().torn.as_ref().is_some_and(|torn| torn.contains("A part")));
    desk.pressed(&nec(0x59, 0x16), 70.0);
    assert_eq!(desk.session().torn, None);
}

#[test]
fn stopping_and_starting_faster_than_the_box_answers_ends_listening() {
    let mut desk = Desk::with_box();
    desk.does(ListenAction::Start);
    desk.does(ListenAction::Stop);
    desk.does(ListenAction::Start);
    let asked = [true, false, true].map(BoxRequest::Listen);
    assert_eq!(desk.asked(), asked);
    for ear in [Ear::Asked, Ear::Asked, Ear::Open] {
        desk.hears(BoxReport::Done(Job::Listen));
        assert_eq!(desk.session().ear, ear);
    }
}

#[test]
fn a_box_that_starts_anew_goes_on_listening_by_itself() {
    let mut desk = Desk::with_box();
    desk.listens();
    desk.hears(BoxReport::Restarted(ResetCause::External));
    assert_eq!(desk.session().ear, Ear::Open);
    desk.pressed(&nec(0x59, 0x16), 70.0);
    assert_eq!(desk.session().presses.understood(), 1);
}

#[test]
fn flickers_are_counted_and_noise_is_shown_with_its_reason_and_asks_for_more() {
    let mut desk = Desk::with_box();
    desk.listens();
    desk.captured(vec![40.0]);
    desk.captured(vec![40.0, 90.0]);
    assert_eq!((desk.session().flickers, desk.session().presses.all.len()), (2, 0));
    desk.captured(vec![130.0, 4_100.0, 77.0, 913.0, 2_111.0]);
    assert_eq!((desk.session().flickers, desk.session().presses.all.len()), (0, 1));
    assert!(desk.session().presses.all[0].heard.is_err());
    for _ in 0..3 {
        assert!(desk.session().ear.is_on());
        desk.pressed(&nec(0x59, 0x16), 70.0);
    }
    assert_eq!(desk.session().ear, Ear::Shut(Shut::Enough));
    desk.does(ListenAction::Keep);
    assert_eq!(desk.command("volume_up").heard.len(), 3, "noise is not kept");
}

#[test]
fn a_press_that_is_refused_can_be_kept_raw_knowingly() {
    let mut desk = Desk::with_box();
    desk.listens();
    // Cut after 20 bits: a frame of no family.
    for _ in 0..MAX_HEARD {
        desk.captured(received(&nec(0x59, 0x16), 60.0)[..43].to_vec());
    }
    assert_eq!(desk.session().ear, Ear::Shut(Shut::Enough));
    assert_eq!(desk.session().keepable(), None);
    assert!(matches!(desk.session().raw(), Some(Code::Raw { .. })));
    desk.does(ListenAction::Keep);
    assert_eq!(desk.command("volume_up").origin, Origin::Typed);
    desk.does(ListenAction::KeepRaw);
    let kept = desk.command("volume_up");
    assert!(matches!(&kept.code, Code::Raw { pulses_us, .. } if pulses_us.len() == 43), "{:?}", kept.code);
    assert_eq!((kept.origin, kept.heard.len()), (Origin::Captured, MAX_HEARD));
    assert_eq!(desk.project().check_values(), []);
}

/// A frame of 59/16 with the last bit of the command's inverse the other way, as received.
fn with_a_wrong_inverse() -> Vec<f64> {
    let mut timings_us = received(&nec(0x59, 0x16), 60.0);
    timings_us[65] = 562.5 + 1_687.5 - 120.0 - timings_us[65];
    timings_us
}

#[test]
fn a_press_that_fails_its_check_can_be_kept_as_a_free_family_knowingly() {
    let mut desk = Desk::with_box();
    desk.listens();
    for _ in 0..3 {
        desk.captured(with_a_wrong_inverse());
    }
    assert_eq!(desk.session().keepable(), None);
    assert!(desk.session().raw().is_some());
    let Some(Code::Free { free, address: 0xA659, .. }) = desk.session().free().cloned() else {
        panic!("{:?}", desk.session().free())
    };
    desk.does(ListenAction::KeepFree);
    let kept = desk.command("volume_up").clone();
    assert!(matches!(kept.code, Code::Free { free: there, .. } if there == free));
    assert_eq!((kept.origin, kept.heard.len()), (Origin::Captured, 3));
    assert_eq!(desk.project().check_values(), []);
    // From then on its family is known: another button of that remote is understood.
    let presses = desk.model.codes.listen.kept.as_ref().unwrap().presses.understood();
    assert_eq!(presses, 3);
}

#[test]
fn presses_that_fail_their_check_each_in_another_way_are_no_free_family() {
    let mut desk = Desk::with_box();
    desk.listens();
    for bit in [49, 57, 63] {
        let mut timings_us = received(&nec(0x59, 0x16), 60.0);
        timings_us[bit] = 562.5 + 1_687.5 - 120.0 - timings_us[bit];
        desk.captured(timings_us);
    }
    assert!(desk.session().free().is_none() && desk.session().raw().is_some());
    desk.does(ListenAction::KeepFree);
    assert_eq!(desk.command("volume_up").origin, Origin::Typed);
}

#[test]
fn a_new_command_is_named_after_it_was_heard_and_not_kept_without_a_name() {
    let mut desk = Desk::with_box();
    desk.listens();
    desk.does(ListenAction::ForNew(true));
    for _ in 0..3 {
        desk.pressed(&nec(0x59, 0x31), 70.0);
    }
    desk.does(ListenAction::Keep);
    assert_eq!(desk.project().stereo.commands.len(), 10);
    assert!(desk.session().attempted && desk.session().name_fault.is_some());
    desk.does(ListenAction::Name("Mute".to_owned()));
    assert!(desk.session().name_fault.as_ref().is_some_and(|fault| fault.contains("Mute is there already")));
    desk.does(ListenAction::Name("Seek up".to_owned()));
    assert_eq!(desk.session().name_fault, None);
    desk.does(ListenAction::Keep);
    let kept = desk.project().stereo.commands.last().unwrap();
    assert_eq!((kept.name.as_str(), &kept.code, kept.heard.len()), ("Seek up", &nec(0x59, 0x31), 3));
    assert_eq!(desk.model.codes.chosen.as_ref(), Some(&kept.id));
    desk.act(Action::Undo);
    assert_eq!(desk.project().stereo.commands.len(), 10);
}

#[test]
fn another_command_chosen_takes_what_was_heard_and_one_removed_gives_it_to_a_new_one() {
    let mut desk = Desk::with_box();
    desk.listens();
    desk.pressed(&nec(0x59, 0x0C), 70.0);
    desk.act(Action::Codes(CodesAction::Choose(CommandId("mute".to_owned()))));
    assert_eq!(desk.session().target, Some(CommandId("mute".to_owned())));
    assert_eq!(desk.session().presses.all.len(), 1);
    desk.act(Action::Edit(Edit::RemoveCommand(CommandId("mute".to_owned()))));
    assert_eq!(desk.session().target, None);
    assert_eq!(desk.session().presses.all.len(), 1);
    assert!(desk.session().ear.is_on());
}

#[test]
fn in_the_demo_the_remotes_button_for_the_command_is_pressed() {
    let mut desk = Desk::with_box();
    let target = Target::Demo { speed: 1 };
    desk.act(Action::Link(LinkAction::Report(Report::Connected { target, rate: None, wires: 1 })));
    desk.act(Action::Codes(CodesAction::Choose(CommandId("mute".to_owned()))));
    desk.does(ListenAction::Start);
    let demo = |button| Request::Demo(DemoTouch::Remote(Some(button)));
    assert_eq!(std::mem::take(&mut desk.asked), [demo(7), Request::Box(BoxRequest::Listen(true))]);
    desk.does(ListenAction::ForNew(true));
    assert_eq!(desk.asked, [demo(10)]);
}

#[test]
fn a_code_that_worked_is_marked_as_tried_and_another_code_is_not() {
    let mut desk = Desk::with_box();
    let id = CommandId("volume_up".to_owned());
    desk.does(ListenAction::Try(id.clone()));
    assert!(matches!(desk.asked().as_slice(), [BoxRequest::Try { held_ms: 100, .. }]));
    assert_eq!(desk.model.codes.listen.trying.as_ref().unwrap().state, TryState::Sending);
    desk.hears(BoxReport::Sent { frames: 1 });
    let trying = desk.model.codes.listen.trying.clone().unwrap();
    assert_eq!(trying.state, TryState::Sent(1));
    assert!(trying.is_of(desk.command("volume_up")));
    desk.does(ListenAction::Worked(id));
    assert!(desk.command("volume_up").tried);
    desk.listens();
    for _ in 0..3 {
        desk.pressed(&nec(0x59, 0x18), 70.0);
    }
    desk.does(ListenAction::Keep);
    assert!(!desk.command("volume_up").tried);
    assert!(!trying.is_of(desk.command("volume_up")));
}

#[test]
fn a_try_that_fails_says_why_here_and_a_box_that_goes_is_one() {
    let mut desk = Desk::with_box();
    let id = CommandId("volume_up".to_owned());
    desk.does(ListenAction::Try(id.clone()));
    desk.hears(BoxReport::Failed(Failure {
        job: Job::Try,
        what: "No answer.".to_owned(),
        advice: "Check the cable.".to_owned(),
        half_flashed: false,
    }));
    let state = |desk: &Desk| desk.model.codes.listen.trying.clone().unwrap().state;
    assert_eq!(state(&desk), TryState::Failed("No answer. Check the cable.".to_owned()));
    assert_eq!(desk.model.the_box.failure, None);
    desk.does(ListenAction::Try(id));
    desk.unplugged();
    assert!(matches!(state(&desk), TryState::Failed(why) if why.contains("went away before it said")));
}

#[test]
fn the_rail_counts_the_codes_that_were_not_tried() {
    let mut desk = Desk::with_box();
    let truth = |desk: &Desk| desk.model.derived.rail[Station::Codes.index()].truth.clone();
    assert_eq!(truth(&desk), "10 codes, 10 not tried");
    let ids: Vec<_> = desk.project().stereo.commands.iter().map(|command| command.id.clone()).collect();
    for id in ids {
        desk.does(ListenAction::Worked(id));
    }
    assert_eq!(truth(&desk), "10 codes");
}
