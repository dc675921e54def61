//! The link to a box, over real pseudo-terminals: a virtual box sits at the other end in a thread of
//! its own, in real time. No hardware needed.
#![cfg(all(unix, feature = "serial"))]
#![expect(clippy::expect_used, clippy::panic, reason = "the helpers of a test may fail it")]

use std::io::Write as _;
use std::time::{Duration, Instant};

use bench::{Bench, Hand, pty};
use spokewire::demo::{VirtualBox, demo_van};
use spokewire::device::{BoxReport, BoxRequest, Failure, Job, Phase, SlotBytes};
use spokewire::image::{Image, ImageBand, ImageButton, ImageCode, ImageCommand, ImagePair, check};
use spokewire::link::{Batch, Link, Report, Request, Target};
use spokewire::project::Gesture;
use spokewire::signal::RawReading;
use spokewire::wire::{Ask, DecisionKind, DecisionSeen, Identity, NamedReference, ResetCause, encode_frame};

#[path = "link_box/bench.rs"]
mod bench;

/// How long a test waits for what must come.
const PATIENCE: Duration = Duration::from_secs(20);

fn opened(path: &str, rate: Option<u32>) -> Link {
    let link = Link::start(|| ());
    link.send(Request::Open(Target::Serial { path: path.to_owned(), rate })).expect("sent");
    link
}

/// Reports until `wanted` gives something.
fn until<T>(link: &Link, mut wanted: impl FnMut(&Report) -> Option<T>) -> T {
    let end = Instant::now() + PATIENCE;
    let mut seen = vec![];
    while let Some(report) = link.recv_timeout(end.saturating_duration_since(Instant::now())) {
        if let Some(found) = wanted(&report) {
            return found;
        }
        if !matches!(report, Report::Readings(_)) {
            seen.push(report);
        }
    }
    panic!("it did not come; seen: {seen:?}");
}

fn identity(report: &Report) -> Option<Identity> {
    match report {
        Report::Box(BoxReport::Identity(identity)) => Some((**identity).clone()),
        _ => None,
    }
}

fn found(link: &Link) -> Identity {
    until(link, identity)
}

fn ask(link: &Link, request: BoxRequest) {
    link.send(Request::Box(request)).expect("sent");
}

/// Box reports until the job is done; all of them.
fn done(link: &Link, job: Job) -> Vec<BoxReport> {
    let mut told = vec![];
    until(link, |report| match report {
        Report::Box(BoxReport::Failed(failure)) => panic!("{failure:?}"),
        Report::Box(report) => {
            told.push(report.clone());
            (*report == BoxReport::Done(job)).then_some(())
        }
        _ => None,
    });
    told
}

fn failed(link: &Link) -> Failure {
    until(link, |report| match report {
        Report::Box(BoxReport::Failed(failure)) => Some(failure.clone()),
        _ => None,
    })
}

fn contents(told: &[BoxReport]) -> Option<SlotBytes> {
    told.iter().rev().find_map(|report| match report {
        BoxReport::Contents(held) => held.clone(),
        _ => None,
    })
}

/// The demo van's wheel with a tap of each button paired with a command, as an image's body.
fn van_body() -> Vec<u8> {
    let plan = demo_van();
    let around = |count: f64| ImageBand { low: count as u16 - 6, high: count as u16 + 6 };
    let buttons = (0..plan.buttons.len())
        .map(|button| ImageButton { wire: 1, band: around(plan.button_count(button, plan.contact_ohm)) })
        .collect::<Vec<_>>();
    let pairs = (0..plan.buttons.len() as u8).map(|button| ImagePair {
        button,
        gesture: Gesture::Tap,
        command: button,
        repeats: false,
        every_ms: None,
    });
    let commands = (0..plan.buttons.len() as u32).map(|button| ImageCommand {
        code: ImageCode::Family { family: 1, address: 0x59, command: 0x10 + button },
    });
    Image {
        dwell_ms: 20,
        settle_count: 6.0,
        hold_ms: 600,
        double_ms: 300,
        mark: 0x2008,
        rests: vec![around(plan.count(plan.rest_ohm[0]))],
        pairs: pairs.collect(),
        commands: commands.collect(),
        buttons,
        ..Image::default()
    }
    .to_body()
    .expect("it fits")
}

/// A link to a box that measures.
fn measuring(bench: &Bench) -> Link {
    let link = opened(&bench.path, None);
    assert!(!found(&link).reference_named);
    ask(&link, BoxRequest::Reference(NamedReference::default()));
    done(&link, Job::Reference);
    link
}

/// A link to a box that was filled.
fn filled(bench: &Bench) -> Link {
    let link = opened(&bench.path, None);
    found(&link);
    ask(&link, BoxRequest::Write(van_body()));
    done(&link, Job::Write);
    link
}

/// So many readings as one batch.
fn gathered(link: &Link, readings: usize) -> Batch {
    let mut all = Batch::default();
    until(link, |report| {
        if let Report::Readings(batch) = report {
            all.readings.extend_from_slice(&batch.readings);
            all.broken_lines += batch.broken_lines;
            all.lost_readings += batch.lost_readings;
        }
        (all.readings.len() >= readings).then_some(())
    });
    all
}

fn steps(batch: &Batch) -> Vec<f64> {
    batch.readings.windows(2).map(|pair| pair[1].t_ms - pair[0].t_ms).collect()
}

#[test]
fn a_box_is_found_among_plain_probes_and_says_who_it_is() {
    let bench = Bench::with(VirtualBox::new());
    let link = opened(&bench.path, None);
    let mut rate = None;
    let identity = until(&link, |report| {
        if let Report::Connected { rate: found, .. } = report {
            rate = *found;
        }
        identity(report)
    });
    assert_eq!(rate, Some(115_200), "connected comes first");
    assert_eq!(identity.firmware, (1, 0));
    assert_eq!(identity.slot, None);

    let (mut near, path) = pty();
    let plain = opened(&path, None);
    let begun = Instant::now();
    let mut connected = false;
    while begun.elapsed() < Duration::from_secs(3) {
        let _ = near.write_all(b"512\r\n510\r\n");
        while let Some(report) = plain.try_recv() {
            assert!(!matches!(report, Report::Box(_)), "{report:?}");
            connected |= matches!(report, Report::Connected { rate: Some(115_200), wires: 1, .. });
        }
        std::thread::sleep(Duration::from_millis(5));
    }
    assert!(connected);
}

#[test]
fn a_box_is_found_although_opening_the_port_resets_it() {
    let bench = Bench::with(VirtualBox::new());
    let link = opened(&bench.path, None);
    bench.hand(Hand::Reset);
    assert_eq!(found(&link).reset, ResetCause::External);
}

#[test]
fn a_box_is_found_where_a_probe_at_another_rate_was_before() {
    let bench = Bench::with(VirtualBox::new());
    let begun = Instant::now();
    let link = opened(&bench.path, Some(9_600));
    found(&link);
    println!("found after {:?}", begun.elapsed());
}

#[test]
fn a_box_that_streams_already_is_found_in_the_middle_of_its_stream() {
    let mut virtual_box = VirtualBox::new();
    for (sequence, ask) in (1..).zip([Ask::Reference(NamedReference::default()), Ask::Stream(true)]) {
        virtual_box.take(&encode_frame(ask.number(), sequence, &ask.payload()).expect("short"));
    }
    let bench = Bench::with(virtual_box);
    let link = opened(&bench.path, None);
    assert!(found(&link).reference_named);
    // It was in the middle of a block when it was asked to stream anew: that is no loss.
    assert_eq!(gathered(&link, 500).lost_readings, 0);
}

#[test]
fn samples_become_readings_in_exact_steps_of_a_millisecond() {
    let bench = Bench::with(VirtualBox::new());
    let link = measuring(&bench);
    let all = gathered(&link, 2_000);
    assert_eq!(all.lost_readings, 0);
    assert!(steps(&all).iter().all(|step| *step == 1.0), "{:?}", steps(&all));
    let wanted = RawReading::NONE;
    assert!(all.readings.iter().all(|reading| reading.raw[1] == wanted && reading.feed == wanted));
    let rest = demo_van().count(demo_van().rest_ohm[0]);
    let near = |reading: &&RawReading| (f64::from(reading.raw[0]) - rest).abs() < 8.0;
    assert!(all.readings.iter().filter(near).count() > 1_980);
}

#[test]
fn an_image_is_written_with_progress_and_read_back_the_same() {
    let bench = Bench::with(VirtualBox::new());
    let link = opened(&bench.path, None);
    found(&link);
    let body = van_body();
    let begun = Instant::now();
    ask(&link, BoxRequest::Write(body.clone()));
    let told = done(&link, Job::Write);
    println!("{} bytes written and read back in {:?}", body.len(), begun.elapsed());
    let written: Vec<_> = told
        .iter()
        .filter_map(|report| match report {
            BoxReport::Progress { phase: Phase::Writing, done, of, .. } => Some((*done, *of)),
            _ => None,
        })
        .collect();
    assert!(written.len() >= 3 && written.is_sorted(), "{written:?}");
    ask(&link, BoxRequest::Read);
    let held = contents(&done(&link, Job::Read)).expect("an image");
    assert_eq!((held.body.clone(), held.check), (body.clone(), check(&body)));
    drop(link);
    let mut virtual_box = bench.unplug();
    assert!(virtual_box.has_image());
    virtual_box.cut_power();
    assert!(virtual_box.has_image());
}

#[test]
fn a_box_unplugged_in_the_middle_of_a_write_fails_the_job_and_is_picked_up_again() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("box");
    let plug = |far: &str| std::os::unix::fs::symlink(far, &path).expect("plugged in");
    let bench = Bench::with(VirtualBox::new());
    plug(&bench.path);
    let link = opened(path.to_str().expect("text"), None);
    found(&link);
    ask(&link, BoxRequest::Write(van_body()));
    until(&link, |report| match report {
        Report::Box(BoxReport::Progress { phase: Phase::Writing, done, .. }) if *done > 0 => Some(()),
        _ => None,
    });
    std::fs::remove_file(&path).expect("unplugged");
    let mut virtual_box = bench.unplug();
    let failure = failed(&link);
    println!("{failure:?}");
    assert_eq!(failure.job, Job::Write);
    assert!(!failure.what.is_empty() && !failure.advice.is_empty());
    until(&link, |report| matches!(report, Report::Gone { .. }).then_some(()));

    virtual_box.cut_power();
    assert!(!virtual_box.has_image(), "half an image is none");
    let bench = Bench::with(virtual_box);
    plug(&bench.path);
    assert_eq!(found(&link).slot, None);
    ask(&link, BoxRequest::Write(van_body()));
    assert_eq!(contents(&done(&link, Job::Write)).map(|held| held.body), Some(van_body()));
}

#[test]
fn the_watch_tells_each_decision_with_its_reading_and_its_command() {
    let bench = Bench::with(VirtualBox::new());
    let link = filled(&bench);
    ask(&link, BoxRequest::Watch(true));
    done(&link, Job::Watch);
    std::thread::sleep(Duration::from_millis(200)); // it arms once it has seen rest
    bench.hand(Hand::Press(3));
    let mut seen: Vec<DecisionSeen> = vec![];
    let mut sent = 0;
    until(&link, |report| {
        match report {
            Report::Box(BoxReport::Decision(decision)) => {
                if decision.kind == DecisionKind::Tap {
                    bench.hand(Hand::Release);
                }
                seen.push(*decision);
            }
            Report::Box(BoxReport::Sent { frames }) => sent = *frames,
            _ => {}
        }
        (sent > 0 && seen.iter().any(|decision| decision.kind == DecisionKind::Released)).then_some(())
    });
    let kinds: Vec<_> = seen.iter().map(|decision| (decision.kind, decision.button)).collect();
    assert_eq!(
        kinds,
        [(DecisionKind::Pressed, Some(3)), (DecisionKind::Tap, Some(3)), (DecisionKind::Released, Some(3))]
    );
    let plan = demo_van();
    let exact = plan.button_count(3, plan.contact_ohm);
    assert!((seen[0].count - exact).abs() < 6.0, "{} {exact}", seen[0].count);
    assert!((20..60).contains(&seen[0].latency_ms), "{}", seen[0].latency_ms);
    assert_eq!(seen[1].command, Some(3));
    ask(&link, BoxRequest::Counters);
    let counters = done(&link, Job::Counters).into_iter().find_map(|report| match report {
        BoxReport::Counters(counters) => Some(counters),
        _ => None,
    });
    assert_eq!(counters.map(|counters| (counters.presses, counters.sent, counters.writes)), Some((1, 1, 1)));
}

/// The first readings after something was told.
fn after(link: &Link, told: impl Fn(&Report) -> bool) -> Batch {
    let mut after = Batch::default();
    let mut was_told = false;
    until(link, |report| {
        was_told |= told(report);
        match report {
            Report::Readings(batch) if was_told => after.readings.extend_from_slice(&batch.readings),
            Report::Box(BoxReport::Failed(failure)) => panic!("{failure:?}"),
            _ => {}
        }
        (after.readings.len() > 200).then_some(())
    });
    after
}

#[test]
fn a_box_that_restarts_is_heard_of_and_its_readings_go_on_later() {
    let bench = Bench::with(VirtualBox::new());
    let link = filled(&bench);
    let newest_ms = |batch: &Batch| batch.readings[batch.readings.len() - 1].t_ms;
    let before = gathered(&link, 500);
    ask(&link, BoxRequest::Restart);
    let asked = after(&link, |report| *report == Report::Box(BoxReport::Done(Job::Restart)));
    assert!(asked.readings[0].t_ms > newest_ms(&before));
    assert!(steps(&asked).iter().all(|step| *step == 1.0));
    bench.hand(Hand::Reset);
    let restarted = BoxReport::Restarted(ResetCause::External);
    let reset = after(&link, |report| *report == Report::Box(restarted.clone()));
    assert!(reset.readings[0].t_ms > newest_ms(&asked) + 900.0, "the bootloader took its second");
    assert!(steps(&reset).iter().all(|step| *step == 1.0));
}

#[test]
fn a_remote_held_at_the_box_is_captured() {
    let bench = Bench::with(VirtualBox::new());
    let link = opened(&bench.path, None);
    found(&link);
    ask(&link, BoxRequest::Listen(true));
    let timings_us = until(&link, |report| match report {
        Report::Box(BoxReport::Captured { timings_us, overflow: false }) => Some(timings_us.clone()),
        _ => None,
    });
    let first = spokewire::remote::decode(&timings_us[..67]).expect("a code");
    assert_eq!((first.family.id, first.address, first.command), ("nec", Some(0x59), Some(0x16)));
}

#[test]
fn a_board_with_a_slow_bootloader_and_no_program_is_flashed_and_is_a_box_then() {
    let bench = Bench::with(VirtualBox::without_program(57_600));
    let link = opened(&bench.path, None);
    std::thread::sleep(Duration::from_millis(500));
    let program: Vec<u8> = (0..3_000_u32).map(|at| (at * 7 % 251) as u8).collect();
    let begun = Instant::now();
    ask(&link, BoxRequest::Flash(program.clone()));
    let mut phases = vec![];
    let mut flashed = false;
    let mut who = None;
    until(&link, |report| {
        match report {
            Report::Box(BoxReport::Progress { phase, .. }) => phases.push(*phase),
            Report::Box(BoxReport::Failed(failure)) => panic!("{failure:?}"),
            Report::Box(BoxReport::Done(Job::Flash)) => flashed = true,
            _ => who = who.take().or_else(|| identity(report)),
        }
        (flashed && who.is_some()).then_some(())
    });
    println!("3000 bytes flashed and checked in {:?}", begun.elapsed());
    phases.dedup();
    assert!(phases.is_sorted() && phases.contains(&Phase::Writing) && phases.contains(&Phase::Checking));
    drop(link);
    assert_eq!(bench.unplug().flash()[..program.len()], program);
}

#[test]
fn a_board_without_a_program_is_told_apart_from_one_that_says_nothing_at_all() {
    let program = |report: &Report| match report {
        Report::Box(BoxReport::NoProgram { bootloader }) => Some(*bootloader),
        _ => None,
    };
    let bench = Bench::with(VirtualBox::without_program(115_200));
    let board = opened(&bench.path, None);
    let (mut near, path) = pty();
    let mute = opened(&path, None);
    assert!(until(&board, program), "its bootloader answers");
    assert!(!until(&mute, program), "nothing answers");
    // It goes on being listened to all the same.
    let _ = near.write_all("512\n511\n".repeat(20).as_bytes());
    until(&mute, |report| matches!(report, Report::Connected { wires: 1, .. }).then_some(()));
}

#[test]
fn what_is_asked_where_no_box_is_fails_with_what_to_do() {
    let link = Link::start(|| ());
    ask(&link, BoxRequest::Read);
    let failure = failed(&link);
    assert_eq!(failure.what, "There is no box at the other end of the link.");
    assert_eq!(failure.job, Job::Read);
}
