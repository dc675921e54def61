//! The window's model as a conversation: what a person does, what the model asks for, and what it
//! shows. No screen, no port, no file: those are played here.

#![expect(clippy::expect_used, clippy::panic, reason = "a helper of tests fails as a test does")]

use std::path::PathBuf;

use spokewire::app::link::Phase;
use spokewire::app::{
    Action, CloseAction, CodesAction, Edit, Effect, FileAction, LearnAction, LearnView, Level, LinkAction,
    Model, Now, Station, TapeEffect, Topic,
};
use spokewire::bands::Touch;
use spokewire::demo::{HandMove, Person, VirtualWheel, WheelPlan, demo_van};
use spokewire::learn::{Command, Phase as Asked};
use spokewire::link::{Batch, DemoTouch, Report, Request, Target};
use spokewire::project::{ButtonId, Project, read, write};
use spokewire::signal::{Converter, RawReading};

/// A model, a wheel in a hand, and what the model asked for since it was looked at last.
struct Bench {
    model: Model,
    wheel: VirtualWheel,
    /// Numbers to a count: 1 for a 10-bit probe, 4 for a 12-bit one.
    per_count: u16,
    asked: Vec<Effect>,
}

impl Bench {
    fn new(plan: WheelPlan) -> Self {
        let mut bench = Self {
            model: Model::default(),
            wheel: VirtualWheel::new(plan, 7),
            per_count: 1,
            asked: Vec::new(),
        };
        bench.act(Action::Tick(Now { ms: 0.0, clock: "21:14".to_owned(), date: String::new() }));
        bench.act(Action::CautionsRead);
        bench.asked.clear();
        bench
    }

    /// The demo van, open and connected.
    fn demo() -> Self {
        let mut bench = Self::new(demo_van());
        bench.act(Action::File(FileAction::Demo));
        bench.connected(Target::Demo { speed: 1 }, 1);
        bench.asked.clear();
        bench
    }

    fn act(&mut self, action: Action) {
        let effects = self.model.update(action);
        self.asked.extend(effects);
    }

    fn report(&mut self, report: Report) {
        self.act(Action::Link(LinkAction::Report(report)));
    }

    fn connected(&mut self, target: Target, wires: u8) {
        self.report(Report::Connected { target, rate: None, wires });
    }

    fn project(&self) -> &Project {
        self.model.project().expect("a project is open")
    }

    fn id(&self, name: &str) -> ButtonId {
        let button = self.project().wheel.buttons.iter().find(|button| button.name == name);
        button.expect("a button of that name").id.clone()
    }

    /// Lets this many milliseconds of readings come in, in batches as the link makes them, and does
    /// to the wheel what the model asks of the demo's.
    fn run(&mut self, ms: usize) {
        for _ in 0..ms.div_ceil(15) {
            let now_ms = self.model.now.ms + 15.0;
            self.act(Action::Tick(Now { ms: now_ms, clock: "21:15".to_owned(), date: String::new() }));
            let readings = (0..15).map(|_| self.reading()).collect();
            self.report(Report::Readings(Batch { readings, ..Batch::default() }));
            for effect in std::mem::take(&mut self.asked) {
                match effect {
                    Effect::Link(Request::Demo(DemoTouch::Press { button, touch })) => {
                        self.wheel.press(button, touch);
                    }
                    Effect::Link(Request::Demo(DemoTouch::Release)) => self.wheel.release(),
                    other => self.asked.push(other),
                }
            }
        }
    }

    fn reading(&mut self) -> RawReading {
        let reading = self.wheel.next();
        let finer = |number: u16| if number == RawReading::NONE { number } else { number * self.per_count };
        RawReading { raw: reading.raw.map(finer), ..reading }
    }

    /// A press by hand, long enough to settle, and back to rest.
    fn press(&mut self, button: usize) {
        self.wheel.press(button, Touch::Firm);
        self.run(900);
        self.wheel.release();
        self.run(600);
    }

    /// Learns everything by prompting, pressed by a person who does what is asked.
    fn learn_all(&mut self) {
        self.act(Action::Learn(LearnAction::Start(None)));
        let mut person = Person::new(3);
        for _ in 0..40_000 {
            let session = self.model.learn.session.as_ref().expect("a session runs");
            if session.is_over() {
                return;
            }
            let wanted = match session.prompt().phase {
                Asked::Press { button, touch, .. } => {
                    self.project().button(&button).map(|(index, _)| (index, touch))
                }
                _ => None,
            };
            match person.step(self.model.now.ms, wanted) {
                Some(HandMove::Press { button, touch }) => self.wheel.press(button, touch),
                Some(HandMove::Release) => self.wheel.release(),
                None => {}
            }
            self.run(15);
        }
        panic!("the session never ended");
    }

    fn notice(&self, topic: Topic) -> &spokewire::app::Notice {
        self.model.notices.on(topic).unwrap_or_else(|| panic!("a notice on {topic:?}"))
    }
}

#[test]
fn the_demo_opens_its_van_and_asks_for_its_wheel() {
    let mut bench = Bench::new(demo_van());
    bench.act(Action::File(FileAction::Demo));
    assert!(bench.asked.contains(&Effect::Link(Request::Open(Target::Demo { speed: 1 }))));
    assert_eq!(bench.model.station, Station::Learn);
    assert_eq!(bench.project().wheel.buttons.len(), 7);
    bench.connected(Target::Demo { speed: 1 }, 1);
    bench.run(300);
    assert_eq!(bench.model.recording.len(), 300);
    assert_eq!(bench.model.link.phase, Phase::Open);
}

#[test]
fn seven_buttons_are_learned_by_prompting_and_kept_one_by_one() {
    let mut bench = Bench::demo();
    bench.learn_all();
    let project = bench.project();
    assert!(project.wheel.buttons.iter().all(|button| project.is_learned(&button.id)));
    assert!(project.rests.contains_key(&1));
    let truth: Vec<_> = bench.model.derived.rail.iter().map(|entry| entry.truth.as_str()).collect();
    assert_eq!(truth[Station::Learn.index()], "7 of 7 learned");
    // Each button was a step of its own, and undo gives them back one at a time.
    bench.act(Action::Undo);
    bench.act(Action::Undo);
    assert_eq!(bench.project().learned.len(), 6);
    bench.act(Action::Redo);
    bench.act(Action::Redo);
    assert_eq!(bench.project().learned.len(), 7);
}

#[test]
fn every_learned_press_lies_where_the_demos_ladder_puts_it() {
    let mut bench = Bench::demo();
    bench.learn_all();
    let plan = demo_van();
    for (index, button) in bench.project().wheel.buttons.iter().enumerate() {
        let expected = plan.button_count(index, plan.contact_ohm);
        for press in &bench.project().learned[&button.id].presses {
            let off = (press.median_count - expected).abs();
            assert!(off < 8.0, "{}: {} counts, {expected} wanted", button.name, press.median_count);
            assert!(!press.tally.is_empty(), "its readings are kept for drawing");
        }
    }
}

#[test]
fn a_stretch_dragged_by_hand_snaps_to_its_settled_part_and_is_taken() {
    let mut bench = Bench::demo();
    bench.act(Action::Learn(LearnAction::View(LearnView::Click)));
    bench.run(1_500);
    let id = bench.id("Source");
    bench.act(Action::Learn(LearnAction::Choose(id.clone())));
    let from_ms = bench.model.recording.last_t_ms().unwrap() - 200.0;
    bench.press(4);
    let to_ms = bench.model.recording.last_t_ms().unwrap() - 200.0;
    bench.act(Action::Learn(LearnAction::Drag { wire: 0, from_ms: to_ms, to_ms: from_ms }));
    let picked = bench.model.learn.picked.clone().expect("a stretch");
    let stretch = picked.settled.expect("settled");
    assert!(stretch.readings > 500 && stretch.readings < picked.readings);
    assert!((stretch.median_count - 551.0).abs() < 4.0, "{stretch:?}");
    assert!(picked.rest_count.is_some_and(|rest| (rest - 959.0).abs() < 3.0));
    bench.act(Action::Learn(LearnAction::Take(None)));
    assert_eq!(bench.project().press_count(&id), 1);
    assert!(bench.model.learn.picked.is_none());
    assert!(bench.project().rests.contains_key(&1), "rest is learned from before the press");
}

#[test]
fn a_drag_that_takes_in_more_rest_than_press_still_means_the_press() {
    let mut bench = Bench::demo();
    bench.act(Action::Learn(LearnAction::View(LearnView::Click)));
    bench.run(4_000);
    let from_ms = bench.model.recording.last_t_ms().unwrap() - 1_000.0;
    bench.press(5);
    bench.run(3_000);
    let to_ms = bench.model.recording.last_t_ms().unwrap();
    bench.act(Action::Learn(LearnAction::Drag { wire: 0, from_ms, to_ms }));
    let stretch = bench.model.learn.picked.clone().expect("a stretch").settled.expect("settled");
    assert!((stretch.median_count - 700.0).abs() < 5.0, "{stretch:?}");
}

#[test]
fn a_press_on_another_buttons_rung_is_refused_with_its_reading_and_can_go_there() {
    let mut bench = Bench::demo();
    bench.learn_all();
    let (source, mute) = (bench.id("Source"), bench.id("Mute"));
    bench.act(Action::Edit(Edit::Forget(mute.clone())));
    bench.act(Action::Learn(LearnAction::View(LearnView::Click)));
    bench.act(Action::Learn(LearnAction::Choose(mute.clone())));
    let from_ms = bench.model.recording.last_t_ms().unwrap();
    bench.press(4);
    let to_ms = bench.model.recording.last_t_ms().unwrap();
    bench.act(Action::Learn(LearnAction::Drag { wire: 0, from_ms, to_ms }));
    bench.act(Action::Learn(LearnAction::Take(None)));
    assert_eq!(bench.project().press_count(&mute), 0);
    let notice = bench.notice(Topic::Refused);
    assert_eq!(notice.level, Level::Stop);
    assert_eq!(notice.head, "Not taken for Mute.");
    assert!(
        notice.body.starts_with("It settled at 55") && notice.body.contains("on Source's rung"),
        "{}",
        notice.body
    );
    assert_eq!(notice.action.as_ref().map(|(label, _)| label.as_str()), Some("Take for Source"));
    bench.act(Action::Answer(Topic::Refused));
    assert_eq!(bench.project().press_count(&source), 4);
}

#[test]
fn a_drag_over_nothing_settled_says_why_and_changes_nothing() {
    let mut bench = Bench::demo();
    bench.act(Action::Learn(LearnAction::View(LearnView::Click)));
    bench.run(1_000);
    let before = bench.project().clone();
    for (from_ms, to_ms) in [(0.0, 0.0), (f64::NAN, 500.0), (-1e12, -1e11), (100.0, 180.0)] {
        bench.act(Action::Learn(LearnAction::Drag { wire: 0, from_ms, to_ms }));
        bench.act(Action::Learn(LearnAction::Take(None)));
        assert_eq!(bench.notice(Topic::Refused).level, Level::Stop);
    }
    assert_eq!(*bench.project(), before);
}

#[test]
fn a_port_that_goes_away_loses_nothing_and_comes_back_by_itself() {
    let mut bench = Bench::demo();
    bench.learn_all();
    let learned = bench.project().clone();
    let target = Target::Serial { path: "/dev/ttyUSB0".to_owned(), rate: None };
    bench.report(Report::Gone { path: "/dev/ttyUSB0".to_owned(), reason: String::new() });
    assert_eq!(bench.model.link.phase, Phase::Gone);
    let notice = bench.notice(Topic::Link);
    assert_eq!((notice.level, notice.head.as_str()), (Level::Stop, "The port went away."));
    assert!(notice.body.contains("Plug ttyUSB0 back in"));
    assert_eq!(*bench.project(), learned);
    let last = bench.model.recording.last_t_ms().unwrap();
    let ms = bench.model.now.ms + 4_000.0;
    bench.act(Action::Tick(Now { ms, clock: "21:16".to_owned(), date: String::new() }));
    bench.connected(target, 1);
    assert!(bench.model.notices.on(Topic::Link).is_none());
    // The link's clock begins anew; the recording goes on, later by as long as nothing came.
    bench.wheel = VirtualWheel::new(demo_van(), 9);
    bench.run(300);
    let first_after = bench.model.recording.between(last + 1.0, f64::INFINITY).next().unwrap();
    assert!(first_after.t_ms >= last + 4_000.0);
    assert!(!bench.model.recording.losses_between(last, first_after.t_ms).is_empty());
}

#[test]
fn a_12_bit_probe_is_found_out_and_what_came_before_is_rescaled() {
    let mut bench = Bench::demo();
    // Everything low at first: nothing above 1023 gives the probe away.
    let mut t_ms = 0.0;
    for _ in 0..20 {
        let readings = (0..15)
            .map(|_| {
                t_ms += 1.0;
                RawReading { feed: RawReading::NONE, t_ms, raw: [800, RawReading::NONE] }
            })
            .collect();
        bench.report(Report::Readings(Batch { readings, ..Batch::default() }));
    }
    assert_eq!(bench.model.recording.last().unwrap().wire[0].count(), Some(800.0));
    let readings = (1..=5)
        .map(|n| RawReading {
            feed: RawReading::NONE,
            t_ms: t_ms + f64::from(n),
            raw: [3_836, RawReading::NONE],
        })
        .collect();
    bench.report(Report::Readings(Batch { readings, ..Batch::default() }));
    assert_eq!(bench.model.recording.last().unwrap().wire[0].count(), Some(959.0));
    let first = bench.model.recording.between(0.0, 1e9).next().unwrap();
    assert_eq!(first.wire[0].count(), Some(200.0));
    assert_eq!(bench.project().plan.converter, Converter::TwelveBit);
    assert_eq!(bench.notice(Topic::Converter).head, "A 12-bit probe.");
}

#[test]
fn saying_what_the_probe_counts_to_can_be_taken_back_and_the_recording_follows() {
    let mut bench = Bench::demo();
    bench.connected(Target::Serial { path: "/dev/ttyUSB0".to_owned(), rate: None }, 1);
    bench.run(300);
    let reads = |bench: &Bench| bench.model.recording.last().unwrap().wire[0].count().unwrap();
    let before = reads(&bench);
    bench.act(Action::Edit(Edit::Converter(Converter::TwelveBit)));
    assert_eq!(reads(&bench), before / 4.0);
    assert_eq!(bench.model.door.converter(), Converter::TwelveBit);
    bench.act(Action::Undo);
    assert_eq!(reads(&bench), before);
    assert_eq!(bench.model.door.converter(), Converter::TenBit);
}

#[test]
fn connecting_waits_until_the_cautions_are_read() {
    let mut model = Model::default();
    let connect = || Action::Link(LinkAction::Connect("/dev/ttyUSB0".to_owned()));
    assert!(model.update(connect()).is_empty());
    assert!(model.showing.cautions);
    model.update(Action::CautionsRead);
    let asked = model.update(connect());
    let target = Target::Serial { path: "/dev/ttyUSB0".to_owned(), rate: None };
    assert_eq!(asked, [Effect::Link(Request::Open(target))]);
    assert!(model.update(Action::Link(LinkAction::Connect("  ".to_owned()))).is_empty());
}

#[test]
fn unsaved_work_is_asked_about_before_another_vehicle_opens() {
    let mut bench = Bench::demo();
    bench.act(Action::Edit(Edit::Vehicle("Brindle Linnet, red".to_owned())));
    bench.act(Action::File(FileAction::New));
    assert!(bench.model.showing.guard.is_some());
    assert_eq!(bench.project().vehicle.name, "Brindle Linnet, red");
    bench.act(Action::Close(CloseAction::Stay));
    assert!(bench.model.showing.guard.is_none());
    bench.act(Action::File(FileAction::New));
    bench.act(Action::Close(CloseAction::SaveFirst));
    // Never saved: it asks where, saves, and only then opens the other.
    assert!(matches!(bench.asked.last(), Some(Effect::AskPath { .. })));
    bench.act(Action::File(FileAction::SaveTo(PathBuf::from("/tmp/linnet"))));
    let Some(Effect::Save { path, project }) = bench.asked.pop() else { panic!("{:?}", bench.asked) };
    assert_eq!(path, PathBuf::from("/tmp/linnet.ron"));
    bench.act(Action::File(FileAction::Saved { path, project, result: Ok(()) }));
    assert_eq!(bench.project().vehicle.name, "");
}

#[test]
fn a_command_being_typed_is_not_lost_to_another_vehicle() {
    let mut bench = Bench::demo();
    bench.act(Action::Codes(CodesAction::New));
    let mut draft = bench.model.codes.draft.clone().expect("a draft");
    draft.name = "Eject".to_owned();
    bench.act(Action::Codes(CodesAction::Draft(draft)));
    bench.act(Action::Go(Station::Learn));
    for action in [Action::File(FileAction::New), Action::Close(CloseAction::Ask)] {
        bench.act(action);
        assert_eq!(bench.model.station, Station::Codes);
        assert_eq!(bench.notice(Topic::Edit).head, "A command is being typed.");
        assert!(bench.model.codes.draft.is_some() && !bench.asked.contains(&Effect::Close));
    }
    bench.act(Action::Codes(CodesAction::Discard));
    bench.act(Action::File(FileAction::New));
    assert_eq!(bench.project().vehicle.name, "");
}

#[test]
fn a_save_that_fails_says_why_and_keeps_the_work_unsaved() {
    let mut bench = Bench::demo();
    bench.act(Action::Edit(Edit::Vehicle("Red".to_owned())));
    let project = Box::new(bench.project().clone());
    let path = PathBuf::from("/mnt/stick/red.ron");
    let result = Err("The stick is full. Make room, or save elsewhere.".to_owned());
    bench.act(Action::File(FileAction::Saved { path, project, result }));
    let notice = bench.notice(Topic::File);
    assert_eq!((notice.level, notice.head.as_str()), (Level::Stop, "red.ron was not saved."));
    assert_eq!(notice.body, "The stick is full. Make room, or save elsewhere.");
    assert!(bench.model.derived.unsaved);
    bench.act(Action::Close(CloseAction::Ask));
    assert!(!bench.asked.contains(&Effect::Close), "it asks first");
}

#[test]
fn a_file_from_a_newer_program_opens_read_only_and_is_never_saved_over() {
    let mut bench = Bench::demo();
    let text = write(bench.project()).replacen("format: 1", "format: 2", 1);
    let path = PathBuf::from("/tmp/newer.ron");
    bench.act(Action::File(FileAction::Loaded { path: path.clone(), text: Ok(text), elsewhere: false }));
    assert_eq!(bench.notice(Topic::File).level, Level::Caution);
    assert_eq!(bench.model.derived.saved_line, "Read-only");
    bench.asked.clear();
    bench.act(Action::File(FileAction::Save));
    assert!(matches!(bench.asked.as_slice(), [Effect::AskPath { .. }]));
    bench.act(Action::File(FileAction::SaveTo(path)));
    assert!(!bench.asked.iter().any(|effect| matches!(effect, Effect::Save { .. })));
}

#[test]
fn a_file_that_cannot_be_read_leaves_the_bench_as_it_was() {
    let mut bench = Bench::demo();
    let before = bench.project().clone();
    for text in ["", "(format: 1", "(format: 1, vehicle: 3)", "\u{0}\u{0}"] {
        let path = PathBuf::from("/tmp/bad.ron");
        bench.act(Action::File(FileAction::Loaded { path, text: Ok(text.to_owned()), elsewhere: false }));
        let notice = bench.notice(Topic::File);
        assert_eq!(notice.head, "bad.ron can't be opened.");
        assert!(notice.body.len() > 20, "{}", notice.body);
        assert_eq!(*bench.project(), before);
    }
}

#[test]
fn unsaved_work_is_kept_within_seconds_and_offered_again() {
    let mut bench = Bench::demo();
    bench.act(Action::Edit(Edit::Vehicle("Red".to_owned())));
    let mut kept = None;
    for second in 1..8 {
        let ms = bench.model.now.ms + 1_000.0;
        bench.act(Action::Tick(Now { ms, clock: "21:20".to_owned(), date: String::new() }));
        for effect in bench.asked.drain(..) {
            if let Effect::Autosave { project, .. } = effect {
                assert!(kept.is_none(), "kept once while nothing changes");
                kept = Some((second, project));
            }
        }
    }
    let (second, project) = kept.expect("a copy");
    assert!(second <= 5, "{second} s");
    let mut next = Bench::new(demo_van());
    let text = write(&project);
    next.act(Action::File(FileAction::Found { original: None, text, when: "21:20".to_owned() }));
    next.act(Action::File(FileAction::Recover));
    assert_eq!(next.project().vehicle.name, "Red");
    assert!(next.model.derived.unsaved, "it is in no file yet");
    assert!(!next.asked.contains(&Effect::DropFound), "until it is, the copy stays");
    let path = PathBuf::from("/tmp/red.ron");
    next.act(Action::File(FileAction::Saved { path, project, result: Ok(()) }));
    assert!(next.asked.contains(&Effect::DropFound));
    assert!(!next.model.derived.unsaved);
}

#[test]
fn lost_readings_are_counted_shown_and_end_what_was_settling() {
    let mut bench = Bench::demo();
    bench.run(300);
    let t_ms = bench.model.recording.last_t_ms().unwrap() + 500.0;
    let readings = vec![RawReading { feed: RawReading::NONE, t_ms, raw: [959, RawReading::NONE] }];
    bench.report(Report::Readings(Batch { readings, lost_readings: 500, broken_lines: 3 }));
    assert_eq!((bench.model.link.lost, bench.model.link.broken), (500, 3));
    assert_eq!(bench.notice(Topic::Readings).head, "Readings were lost.");
    assert_eq!(bench.model.recording.losses_between(0.0, 1e9).len(), 1);
}

#[test]
fn a_recording_to_a_file_gets_every_reading_as_it_came() {
    let mut bench = Bench::demo();
    bench.act(Action::File(FileAction::TapeTo(PathBuf::from("/tmp/all"))));
    let start = Effect::Tape(TapeEffect::Start { path: PathBuf::from("/tmp/all.csv"), wires: 1 });
    assert!(bench.asked.contains(&start));
    bench.asked.clear();
    bench.run(150);
    let written: usize = bench
        .asked
        .iter()
        .map(|effect| match effect {
            Effect::Tape(TapeEffect::Write(readings)) => readings.len(),
            _ => 0,
        })
        .sum();
    assert_eq!(written, 150);
    bench.act(Action::File(FileAction::TapeFailed("The disk is full.".to_owned())));
    assert!(bench.model.tape.is_none());
    assert_eq!(bench.notice(Topic::Tape).body, "The disk is full.");
}

#[test]
fn going_to_the_click_view_pauses_the_session() {
    let mut bench = Bench::demo();
    bench.act(Action::Learn(LearnAction::Start(None)));
    bench.run(3_000);
    bench.act(Action::Learn(LearnAction::View(LearnView::Click)));
    let paused = |bench: &Bench| bench.model.learn.session.as_ref().unwrap().prompt().phase == Asked::Paused;
    assert!(paused(&bench));
    bench.act(Action::Learn(LearnAction::View(LearnView::Prompted)));
    bench.act(Action::Learn(LearnAction::Session(Command::Resume)));
    assert!(!paused(&bench));
}

#[test]
fn a_project_learned_here_reads_back_the_same_from_its_text() {
    let mut bench = Bench::demo();
    bench.learn_all();
    let opened = read(&write(bench.project())).expect("its own text");
    assert!(opened.warnings.is_empty() && opened.read_only.is_none());
    assert_eq!(opened.project, *bench.project());
}
