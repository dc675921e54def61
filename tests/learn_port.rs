//! `spokewire learn --port`, the program itself, on a pseudo-terminal that a process of its own
//! feeds in real time: `tests/examples/feeder.rs`.
#![cfg(all(unix, feature = "serial"))]
#![expect(clippy::expect_used, reason = "the helpers of a test may fail it")]

use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, Command, ExitStatus, Stdio};
use std::time::{Duration, Instant};

use serde_json::Value;
use spokewire::bands::Touch;
use spokewire::demo::{WheelPlan, demo_van};
use spokewire::project::{Button, ButtonId, Project, bands, read};
use spokewire::signal::Converter;

/// Longer than any of it takes, even on a busy machine.
const PATIENCE: Duration = Duration::from_secs(120);

/// A process that ends with the test.
struct Ended(Child);

impl Drop for Ended {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// What a run of `learn` gave.
struct Ran {
    status: ExitStatus,
    events: Vec<Value>,
    said: String,
}

/// The feeder, its input, and the port it feeds.
fn feeder(kind: &str) -> (Ended, ChildStdin, String) {
    // Built by `cargo test` beside the tests, which stand in `target/PROFILE/deps`.
    let program = Path::new(env!("CARGO_BIN_EXE_spokewire")).with_file_name("examples").join("feeder");
    assert!(program.exists(), "{} is missing: cargo build --example feeder", program.display());
    let mut child = Command::new(program)
        .arg(kind)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("the feeder starts");
    let input = child.stdin.take().expect("its input");
    let mut path = String::new();
    BufReader::new(child.stdout.take().expect("its output")).read_line(&mut path).expect("a path");
    (Ended(child), input, path.trim().to_owned())
}

/// Learns, forwarding each event to the feeder, or what `forward` makes of it.
fn learned(kind: &str, words: &[&str], save: &Path, forward: impl Fn(&Value) -> Option<String>) -> Ran {
    let (_feeder, mut prompts, path) = feeder(kind);
    let mut learn = Command::new(env!("CARGO_BIN_EXE_spokewire"))
        .args(["learn", "--json", "--port", &path, "--save"])
        .arg(save)
        .args(words)
        .env("XDG_STATE_HOME", save.with_file_name("state"))
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("learn starts");
    let lines = BufReader::new(learn.stdout.take().expect("its output")).lines();
    let mut said = learn.stderr.take().expect("its errors");
    let mut learn = Ended(learn);
    let told = std::thread::Builder::new()
        .spawn(move || {
            let mut text = String::new();
            said.read_to_string(&mut text).map(|_| text)
        })
        .expect("a thread");
    let begun = Instant::now();
    let mut events = Vec::new();
    for line in lines {
        let line = line.expect("text");
        assert!(begun.elapsed() < PATIENCE, "still learning: {events:?}");
        let event: Value = serde_json::from_str(&line).expect("a line of JSON");
        let line = forward(&event).unwrap_or(line);
        // A feeder that was unplugged takes no more.
        let _ = writeln!(prompts, "{line}").and_then(|()| prompts.flush());
        events.push(event);
    }
    let status = learn.0.wait().expect("learn ends");
    let said = told.join().expect("no panic").expect("text");
    eprintln!("{kind} {words:?}: {:.1} s, {} events\n{said}", begun.elapsed().as_secs_f64(), events.len());
    Ran { status, events, said }
}

fn folder() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("van.ron");
    (folder, file)
}

fn saved(file: &Path) -> Project {
    let text = std::fs::read_to_string(file).expect("the project");
    read(&text).expect("a project").project
}

fn id(text: &str) -> ButtonId {
    ButtonId(text.to_owned())
}

fn kinds(events: &[Value]) -> Vec<&str> {
    events.iter().map(|event| event["event"].as_str().expect("an event")).collect()
}

/// The button of a plan whose exact reading with a usual contact is nearest to this count.
fn nearest(plan: &WheelPlan, wire: u8, count: f64) -> &str {
    let off = |button: &usize| (plan.button_count(*button, plan.contact_ohm) - count).abs();
    let on_wire = (0..plan.buttons.len()).filter(|&button| plan.buttons[button].wire == wire);
    let button = on_wire.min_by(|a, b| off(a).total_cmp(&off(b))).expect("a button");
    &plan.buttons[button].name
}

#[test]
fn a_wheel_is_learned_whole_from_another_process() {
    let (_folder, file) = folder();
    let names = ["Volume up", "Previous", "Source", "Mute"];
    let ran = learned("van", &["--buttons", &names.join(",")], &file, |_| None);
    assert!(ran.status.success(), "{}", ran.said);
    let kinds = kinds(&ran.events);
    let count = |wanted| kinds.iter().filter(|&&kind| kind == wanted).count();
    assert_eq!((kinds[0], *kinds.last().expect("events")), ("rest", "done"));
    assert_eq!(ran.events.last().expect("events").to_string(), r#"{"event":"done","learned":4}"#);
    assert_eq!(count("rest"), 2, "at the beginning and at the end");
    assert!(count("pressed") >= 12 && count("refused") >= 2, "the person gets it wrong twice: {kinds:?}");
    let project = saved(&file);
    let plan = demo_van();
    assert_eq!(project.wheel.buttons.iter().map(|button| button.name.as_str()).collect::<Vec<_>>(), names);
    for Button { id, name, wire, .. } in &project.wheel.buttons {
        let learned = &project.learned[id];
        assert_eq!((*wire, &learned.indistinct_from), (Some(1), &None), "{name}");
        let touches: Vec<_> = learned.presses.iter().map(|press| press.touch).collect();
        assert_eq!(touches, [Touch::Firm, Touch::Slow, Touch::Light], "{name}");
        for press in &learned.presses {
            assert_eq!(nearest(&plan, 1, press.median_count), name, "{press:?}");
            assert!(press.spread_count < 4.0 && press.readings > 100, "{name}: {press:?}");
        }
    }
    let rest = &project.rests[&1];
    assert!((rest.median_count - plan.count(plan.rest_ohm[0])).abs() < 2.0, "{rest:?}");
    let bands = bands(&project);
    assert!(bands.buttons.iter().all(|band| band.measured && band.accept.is_some()), "{bands:?}");
}

#[test]
fn two_12_bit_numbers_on_lines_that_end_in_cr_and_lf_are_two_wires() {
    let (_folder, file) = folder();
    let ran =
        learned("two", &["--buttons", "Left,Right", "--presses", "1", "--rate", "115200"], &file, |_| None);
    assert!(ran.status.success(), "{}", ran.said);
    assert_eq!(kinds(&ran.events), ["rest", "prompt", "pressed", "prompt", "pressed", "rest", "done"]);
    let project = saved(&file);
    assert_eq!((project.plan.presses, project.plan.converter), (1, Converter::TwelveBit));
    // 1024 · R / (R + 1000) with a contact of 6 ± 3 Ω.
    for (name, wire, low_count, high_count) in [("left", 1, 208.0, 222.0), ("right", 2, 485.0, 497.0)] {
        let (_, button) = project.button(&id(name)).expect("the button");
        let count = project.learned[&id(name)].presses[0].median_count;
        assert_eq!(button.wire, Some(wire));
        assert!((low_count..high_count).contains(&count), "{name}: {count}");
    }
    assert_eq!(project.rests.keys().copied().collect::<Vec<_>>(), [1, 2]);
}

#[test]
fn a_port_that_stays_away_ends_it_and_what_was_learned_is_kept() {
    let (_folder, file) = folder();
    // The third button is asked for: gone.
    let pull = |event: &Value| {
        (event["event"] == "prompt" && event["button"] == "source").then(|| "unplug".to_owned())
    };
    let words = ["--buttons", "Volume up,Previous,Source,Mute", "--presses", "1"];
    let ran = learned("van", &words, &file, pull);
    assert_eq!(ran.status.code(), Some(1), "{}", ran.said);
    assert!(!kinds(&ran.events).contains(&"done"));
    assert!(ran.said.contains(" went away: "), "{}", ran.said);
    let last = ran.said.lines().last().expect("an error");
    assert!(last.contains(" went away and was not back within 10 s ("), "{last}");
    assert!(last.contains(": Volume up, Previous. Go on with --buttons source,mute."), "{last}");
    let project = saved(&file);
    assert_eq!(project.learned.keys().cloned().collect::<Vec<_>>(), [id("previous"), id("volume_up")]);
    assert_eq!(project.wheel.buttons.len(), 4, "the others are there to go on with");
}
