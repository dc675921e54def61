//! The Box station as a conversation: what a person does, what the model asks of the link, and what
//! it shows. The box is played here, by its reports.

#![expect(clippy::expect_used, clippy::panic, reason = "a helper of tests fails as a test does")]

use std::path::{Path, PathBuf};

use spokewire::app::the_box::seat::SeatAction;
use spokewire::app::the_box::{Held, Presence};
use spokewire::app::{
    Action, BoxAction, BoxView, Edit, Effect, FileAction, LinkAction, Model, Now, PathPurpose, Progress,
    Station, Topic,
};
use spokewire::device::{BoxReport, BoxRequest, Failure, Job, Phase, SlotBytes};
use spokewire::image;
use spokewire::learn::seat::{SeatCommand, SeatPrompt};
use spokewire::link::{Report, Request, Target};
use spokewire::project::{CommandId, Gesture, Project, SeatOutcome, read};
use spokewire::wire::{DecisionKind, DecisionSeen, Identity, ReferenceKind, ResetCause, Slot};

struct Desk {
    model: Model,
    asked: Vec<BoxRequest>,
    other: Vec<Effect>,
}

impl Desk {
    /// The demo van's file, learned and paired, and a port that is open.
    fn with_the_van() -> Self {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("projects/demo-van.ron");
        let text = std::fs::read_to_string(&path).expect("the demo's file");
        let mut desk = Self { model: Model::default(), asked: Vec::new(), other: Vec::new() };
        desk.act(Action::Tick(Now { ms: 0.0, clock: "21:14".to_owned(), date: "2008-05-17".to_owned() }));
        desk.act(Action::File(FileAction::Loaded { path, text: Ok(text), elsewhere: false }));
        desk.connect();
        desk
    }

    fn connect(&mut self) {
        let target = Target::Serial { path: "/dev/ttyX0".to_owned(), rate: None };
        self.act(Action::Link(LinkAction::Report(Report::Connected {
            target,
            rate: Some(115_200),
            wires: 2,
        })));
    }

    fn act(&mut self, action: Action) {
        for effect in self.model.update(action) {
            match effect {
                Effect::Link(Request::Box(request)) => self.asked.push(request),
                other => self.other.push(other),
            }
        }
    }

    fn heard(&mut self, report: BoxReport) {
        self.act(Action::Link(LinkAction::Report(Report::Box(report))));
    }

    fn found(&mut self, change: impl FnOnce(&mut Identity)) {
        let mut identity = Identity {
            firmware: (1, 0),
            reference_named: true,
            supply_mv: Some(5_050),
            ..Identity::default()
        };
        change(&mut identity);
        self.heard(BoxReport::Identity(Box::new(identity)));
    }

    fn asked(&mut self) -> Vec<BoxRequest> {
        std::mem::take(&mut self.asked)
    }

    fn project(&self) -> &Project {
        self.model.project().expect("a project is open")
    }

    /// The body that the model sent last.
    fn written(&mut self) -> Vec<u8> {
        self.act(Action::Box(BoxAction::Write));
        match self.asked().pop() {
            Some(BoxRequest::Write(body)) => body,
            other => panic!("{other:?}"),
        }
    }

    /// The box has taken this body and says so, as it does.
    fn takes(&mut self, body: Vec<u8>) {
        let check = image::check(&body);
        self.heard(BoxReport::Progress { job: Job::Write, phase: Phase::Writing, done: 64, of: body.len() });
        let slot = SlotBytes { number: 1, sequence: 7, check, body: body.clone() };
        self.heard(BoxReport::Contents(Some(slot)));
        self.found(|identity| {
            identity.has_image = true;
            identity.slot = Some(Slot { number: 1, sequence: 7, length: body.len() as u16, check });
        });
        self.heard(BoxReport::Done(Job::Write));
    }

    fn rail(&self) -> (Progress, String) {
        let entry = self.model.derived.rail.iter().find(|entry| entry.station == Station::Box);
        entry.map(|entry| (entry.progress, entry.truth.clone())).expect("the Box station is on the rail")
    }
}

#[test]
fn an_empty_box_is_filled_and_then_holds_the_same() {
    let mut desk = Desk::with_the_van();
    assert_eq!(desk.model.the_box.presence, Presence::Probe);
    desk.found(|_| {});
    assert_eq!(desk.asked(), [BoxRequest::Counters]);
    assert_eq!(desk.rail(), (Progress::Idle, "Holds nothing yet".to_owned()));
    let body = desk.written();
    assert_eq!(desk.rail(), (Progress::Part(0.0), "Being written".to_owned()));
    desk.takes(body.clone());
    assert!(desk.model.derived.the_box.is_same(), "{:#?}", desk.model.derived.the_box.rows);
    assert_eq!(desk.rail(), (Progress::Done, "Same as the project".to_owned()));
    assert_eq!(desk.model.the_box.written_at.as_deref(), Some("21:14"));
    let (check, length) = desk.model.derived.the_box.check.expect("it fits");
    assert_eq!((check, length), (image::check(&body), body.len()));
}

#[test]
fn an_edit_makes_the_box_differ_and_undo_makes_it_the_same() {
    let mut desk = Desk::with_the_van();
    desk.found(|_| {});
    let body = desk.written();
    desk.takes(body);
    let pair = desk.project().pairs[0].clone();
    let other = desk.project().stereo.commands.iter().find(|c| Some(&c.id) != pair.command.as_ref());
    let other = other.expect("another command").id.clone();
    desk.act(Action::Edit(Edit::Pair(pair.button, pair.gesture, Some(other))));
    assert_eq!(desk.rail(), (Progress::Look, "Differs from project".to_owned()));
    let differing = desk.model.derived.the_box.rows.iter().filter(|row| !row.same).count();
    assert!(differing >= 1);
    desk.act(Action::Undo);
    assert_eq!(desk.rail().0, Progress::Done);
}

#[test]
fn a_box_with_an_image_is_read_without_being_asked() {
    let mut desk = Desk::with_the_van();
    let with_image = |identity: &mut Identity| {
        identity.has_image = true;
        identity.slot = Some(Slot { number: 0, sequence: 3, length: 200, check: 0x4C1A });
    };
    desk.found(with_image);
    assert_eq!(desk.asked(), [BoxRequest::Read, BoxRequest::Counters]);
    let body = vec![0xFF; 40];
    desk.heard(BoxReport::Contents(Some(SlotBytes { number: 0, sequence: 3, check: 0x4C1A, body })));
    let Held::Unreadable { why, .. } = &desk.model.the_box.held else { panic!("it is no image") };
    assert!(!why.is_empty());
    assert_eq!(desk.rail().0, Progress::Look);
    desk.found(with_image);
    assert_eq!(desk.asked(), [], "what was read once is not read again");
}

#[test]
fn the_reference_comes_from_the_circuit_or_is_asked_for() {
    let mut desk = Desk::with_the_van();
    desk.found(|identity| identity.reference_named = false);
    let named = |asked: &[BoxRequest]| {
        asked.iter().any(
            |request| matches!(request, BoxRequest::Reference(named) if named.kind == ReferenceKind::Supply),
        )
    };
    assert!(named(&desk.asked()));
    desk.act(Action::Edit(Edit::Circuit(None)));
    desk.act(Action::Link(LinkAction::Disconnect));
    desk.connect();
    desk.found(|identity| identity.reference_named = false);
    assert!(!named(&desk.asked()), "without a circuit nothing is assumed");
    assert!(desk.model.notices.on(Topic::Reference).is_some());
    desk.act(Action::Answer(Topic::Reference));
    assert!(named(&desk.asked()));
    desk.found(|_| {});
    assert!(desk.model.notices.on(Topic::Reference).is_none());
}

#[test]
fn a_job_that_fails_says_so_until_the_next_one_begins() {
    let mut desk = Desk::with_the_van();
    desk.heard(BoxReport::NoProgram { bootloader: true });
    assert_eq!(desk.rail(), (Progress::Look, "No program in it".to_owned()));
    desk.act(Action::Box(BoxAction::Flash));
    assert!(matches!(desk.asked().as_slice(), [BoxRequest::Flash(bytes)] if bytes.len() > 1_000));
    desk.act(Action::Box(BoxAction::Flash));
    assert_eq!(desk.asked(), [], "one at a time");
    desk.heard(BoxReport::Progress { job: Job::Flash, phase: Phase::Writing, done: 128, of: 8_192 });
    let failure = Failure {
        job: Job::Flash,
        what: "It went silent at 128 of 8192 bytes.".to_owned(),
        advice: "Flash it again.".to_owned(),
        half_flashed: true,
    };
    desk.heard(BoxReport::Failed(failure.clone()));
    assert_eq!(desk.model.the_box.failure, Some(failure));
    assert_eq!(desk.rail().0, Progress::Broken);
    desk.act(Action::Box(BoxAction::Flash));
    assert_eq!(desk.model.the_box.failure, None);
}

#[test]
fn unplugged_in_the_middle_of_a_write_the_station_says_so() {
    let mut desk = Desk::with_the_van();
    desk.found(|_| {});
    let _ = desk.written();
    let gone = Report::Gone { path: "/dev/ttyX0".to_owned(), reason: "it ended".to_owned() };
    desk.act(Action::Link(LinkAction::Report(gone)));
    assert_eq!(desk.model.the_box.presence, Presence::None);
    let failure = desk.model.the_box.failure.clone().expect("the write failed");
    assert_eq!(failure.job, Job::Write);
    assert!(!failure.advice.is_empty() && !failure.half_flashed);
    assert!(desk.model.the_box.running.is_none());
}

#[test]
fn a_code_is_tried_with_a_new_toggle_bit_each_time() {
    let mut desk = Desk::with_the_van();
    desk.found(|_| {});
    desk.asked();
    let mute = CommandId("mute".to_owned());
    desk.act(Action::Box(BoxAction::ChooseTry(mute.clone())));
    desk.act(Action::Box(BoxAction::Try { held_ms: 100 }));
    desk.act(Action::Box(BoxAction::Try { held_ms: 1_000 }));
    let toggles: Vec<_> = desk
        .asked()
        .into_iter()
        .map(|request| match request {
            BoxRequest::Try { toggle, held_ms, record } => (toggle, held_ms, !record.is_empty()),
            other => panic!("{other:?}"),
        })
        .collect();
    assert_eq!(toggles, [(true, 100, true), (false, 1_000, true)]);
    desk.heard(BoxReport::Sent { frames: 9 });
    assert_eq!(desk.model.the_box.sent, Some((mute, 9)));
}

#[test]
fn the_watch_keeps_the_newest_and_is_asked_for_again_after_a_restart() {
    let mut desk = Desk::with_the_van();
    desk.found(|_| {});
    desk.act(Action::Box(BoxAction::View(BoxView::Watch)));
    desk.act(Action::Box(BoxAction::Watch(true)));
    desk.asked();
    for tick in 0..500 {
        desk.heard(BoxReport::Decision(DecisionSeen {
            tick,
            kind: DecisionKind::Pressed,
            button: Some(4),
            wire: 1,
            count: 552.0,
            latency_ms: 24,
            command: Some(3),
        }));
    }
    let decisions = &desk.model.the_box.decisions;
    assert_eq!((decisions.len(), decisions.back().map(|seen| seen.tick)), (200, Some(499)));
    desk.heard(BoxReport::Restarted(ResetCause::Watchdog));
    assert!(desk.asked().contains(&BoxRequest::Watch(true)));
}

#[test]
fn the_supply_is_calibrated_by_the_meter_in_one_step() {
    let mut desk = Desk::with_the_van();
    // By its nominal 1100 mV the box shows 5.50 V; the meter says 5.00 V: the bandgap is 1000 mV.
    desk.found(|identity| identity.supply_mv = Some(5_500));
    desk.asked();
    desk.act(Action::Box(BoxAction::Calibrate(Some(5.0))));
    assert_eq!(desk.asked(), [BoxRequest::Calibrate(Some(1_000)), BoxRequest::Identify]);
    // A second time the old calibration is forgotten first.
    desk.found(|identity| (identity.supply_mv, identity.calibrated) = (Some(5_000), true));
    desk.act(Action::Box(BoxAction::Calibrate(Some(4.9))));
    assert_eq!(desk.asked(), [BoxRequest::Calibrate(None), BoxRequest::Identify]);
    desk.found(|identity| identity.supply_mv = Some(5_500));
    assert_eq!(desk.asked(), [BoxRequest::Calibrate(Some(980))]);
    desk.act(Action::Box(BoxAction::Calibrate(Some(12.6))));
    let failure = desk.model.the_box.failure.clone().expect("12.6 V is no supply of the box");
    assert!(failure.what.contains("12.6 V"), "{}", failure.what);
    assert_eq!(desk.asked(), []);
}

#[test]
fn the_c_header_goes_where_the_person_says() {
    let mut desk = Desk::with_the_van();
    desk.other.clear();
    desk.act(Action::Box(BoxAction::AskHeader));
    assert!(matches!(&desk.other[..], [Effect::AskPath { purpose: PathPurpose::Header, .. }]));
    desk.other.clear();
    desk.act(Action::Box(BoxAction::SaveHeader(PathBuf::from("wheel.h"))));
    let [Effect::WriteText { path, text }] = &desk.other[..] else { panic!("{:?}", desk.other) };
    assert_eq!(path, Path::new("wheel.h"));
    assert!(text.contains("#define"), "{text}");
    desk.act(Action::File(FileAction::Written { path: path.clone(), result: Err("No room.".to_owned()) }));
    assert!(desk.model.notices.on(Topic::Export).is_some_and(|notice| notice.body == "No room."));
}

#[test]
fn a_project_that_does_not_fit_says_why_instead_of_writing() {
    let mut desk = Desk::with_the_van();
    desk.found(|_| {});
    desk.asked();
    let text = std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("projects/demo-van.ron"));
    let mut project = read(&text.expect("the demo's file")).expect("it reads").project;
    project.rests.clear();
    let text = spokewire::project::write(&project);
    desk.act(Action::File(FileAction::Loaded { path: "other.ron".into(), text: Ok(text), elsewhere: false }));
    desk.act(Action::Box(BoxAction::Write));
    assert_eq!(desk.asked(), []);
    let failure = desk.model.the_box.failure.clone().expect("it doesn't fit");
    assert!(!failure.what.is_empty() && !failure.advice.is_empty());
}

impl Desk {
    fn decides(&mut self, kind: DecisionKind, button: Option<u8>, command: Option<u8>) {
        let count = button.map_or(f64::NAN, |button| {
            let id = &self.project().wheel.buttons[usize::from(button)].id;
            self.project().learned[id].presses[0].median_count
        });
        let seen = DecisionSeen { tick: 0, kind, button, wire: 1, count, latency_ms: 24, command };
        self.heard(BoxReport::Decision(seen));
    }

    fn tap(&mut self, button: u8) {
        self.decides(DecisionKind::Pressed, Some(button), None);
        self.decides(DecisionKind::Tap, Some(button), Some(0));
        self.decides(DecisionKind::Released, Some(button), None);
    }

    fn prompt(&self) -> SeatPrompt {
        self.model.the_box.seat.session.as_ref().expect("a seat check runs").prompt()
    }
}

#[test]
fn a_seat_check_wants_a_box_that_holds_the_project() {
    let mut desk = Desk::with_the_van();
    desk.act(Action::Box(BoxAction::Seat(SeatAction::Start)));
    assert!(desk.model.the_box.seat.session.is_none());
    desk.found(|_| {});
    desk.act(Action::Box(BoxAction::Seat(SeatAction::Start)));
    let told = desk.model.notices.on(Topic::Edit).map(|notice| notice.head.clone());
    assert_eq!(told.as_deref(), Some("The box holds nothing yet."));
    let body = desk.written();
    desk.takes(body);
    desk.asked();
    desk.act(Action::Box(BoxAction::Seat(SeatAction::Start)));
    assert_eq!(desk.asked(), [BoxRequest::Watch(true)]);
    assert_eq!(desk.prompt(), SeatPrompt::Press(0));
    assert_eq!(desk.rail(), (Progress::Part(0.0), "Seat check 0 of 84".to_owned()));
}

#[test]
fn a_whole_seat_check_is_kept_with_its_day_its_firmware_and_its_image() {
    let mut desk = Desk::with_the_van();
    desk.found(|_| {});
    let body = desk.written();
    let image = image::check(&body);
    desk.takes(body);
    desk.act(Action::Box(BoxAction::Seat(SeatAction::Start)));
    for step in 0..200 {
        match desk.prompt() {
            // Once another button is recognised than the one asked for.
            SeatPrompt::Press(0) if step == 0 => desk.tap(1),
            SeatPrompt::Press(button) => desk.tap(button as u8),
            SeatPrompt::StartEngine => {
                desk.act(Action::Box(BoxAction::Seat(SeatAction::Command(SeatCommand::EngineRuns))));
            }
            SeatPrompt::Paused | SeatPrompt::Done => break,
        }
    }
    let check = desk.project().seat_check.clone().expect("it is kept");
    assert_eq!((check.on.as_str(), check.firmware.as_str()), ("2008-05-17 21:14", "1.0"));
    assert_eq!((check.image_check, check.planned, check.presses.len()), (image, 84, 84));
    assert!(matches!(check.presses[0].outcome, SeatOutcome::TakenAs(_)));
    assert!(check.presses[1..].iter().all(|press| press.outcome == SeatOutcome::Right));
    assert_eq!(check.presses[1].gesture, Some((Gesture::Tap, 24)));
    assert!(check.presses[1].sent.is_some() && check.presses[1].edge_count.is_some_and(|edge| edge > 3.0));
    assert_eq!(desk.project().check_values(), []);
    // It is one step of undo, and in the file.
    assert_eq!(read(&spokewire::project::write(desk.project())).expect("it opens").project, *desk.project());
    desk.act(Action::Undo);
    assert_eq!(desk.project().seat_check, None);
}

#[test]
fn a_box_unplugged_in_a_seat_check_pauses_it_and_nothing_is_lost() {
    let mut desk = Desk::with_the_van();
    desk.found(|_| {});
    let body = desk.written();
    desk.takes(body);
    desk.act(Action::Box(BoxAction::Seat(SeatAction::Start)));
    for button in 0..3 {
        desk.tap(button);
    }
    desk.act(Action::Link(LinkAction::Report(Report::Gone {
        path: "/dev/ttyX0".to_owned(),
        reason: String::new(),
    })));
    assert_eq!(desk.prompt(), SeatPrompt::Paused);
    desk.act(Action::Box(BoxAction::Seat(SeatAction::Command(SeatCommand::Resume))));
    assert_eq!(desk.prompt(), SeatPrompt::Press(3));
    desk.act(Action::Box(BoxAction::Seat(SeatAction::Command(SeatCommand::Stop))));
    assert_eq!(desk.project().seat_check.as_ref().map(|check| check.presses.len()), Some(3));
}
