//! The commands that speak to a box, the program itself, with a virtual box behind a pseudo-terminal
//! or with the demo's.
#![cfg(all(unix, feature = "serial"))]
#![expect(clippy::expect_used, reason = "the helpers of a test may fail it")]

use std::io::{BufRead as _, BufReader, Write as _};
use std::path::Path;
use std::process::{Command, Output, Stdio};
use std::time::{Duration, Instant};

use bench::{Bench, Hand, pty};
use serde_json::Value;
use spokewire::demo::VirtualBox;

#[path = "link_box/bench.rs"]
mod bench;

/// A project that was learned and paired.
const VAN: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/golden/van/van.ron");

fn spokewire(words: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_spokewire")).args(words).output().expect("it runs")
}

fn out(output: &Output) -> &str {
    std::str::from_utf8(&output.stdout).expect("text")
}

fn said(output: &Output) -> &str {
    std::str::from_utf8(&output.stderr).expect("text")
}

fn json(text: &str) -> Value {
    serde_json::from_str(text).expect("JSON")
}

fn text(path: &Path) -> &str {
    path.to_str().expect("text")
}

#[test]
fn a_project_is_written_and_read_back_and_compared_field_by_field() {
    let bench = Bench::with(VirtualBox::new());
    let folder = tempfile::tempdir().expect("a folder");
    let bin = folder.path().join("held.bin");
    let written = spokewire(&["write", VAN, "--port", &bench.path, "--json"]);
    assert_eq!(written.status.code(), Some(0), "{}", said(&written));
    let document = json(out(&written));
    assert_eq!((document["slot"].as_str(), document["sequence"].as_u64()), (Some("A"), Some(0)));
    assert!(said(&written).lines().any(|line| line.starts_with("Writing: ")), "{}", said(&written));
    assert!(said(&written).lines().any(|line| line.starts_with("Reading back: ")), "{}", said(&written));

    bench.hand(Hand::Reset); // as opening the port does
    let read = spokewire(&["read", "--port", &bench.path, "-o", text(&bin), "--against", VAN, "--json"]);
    assert_eq!((read.status.code(), said(&read)), (Some(0), ""));
    let held = json(out(&read));
    assert_eq!(held["same"], true);
    assert_eq!((&held["check"], &held["bytes"]), (&document["check"], &document["bytes"]));
    assert!(held["rows"].as_array().expect("rows").len() > 3);
    let body = std::fs::read(&bin).expect("saved");
    assert_eq!(Some(body.len() as u64), held["bytes"].as_u64());

    let changed = folder.path().join("other.ron");
    let other = std::fs::read_to_string(VAN).expect("the van").replacen("command: 22)", "command: 23)", 1);
    std::fs::write(&changed, other).expect("a copy");
    let read = spokewire(&["read", "--port", &bench.path, "--against", text(&changed)]);
    assert_eq!(read.status.code(), Some(1), "{}", out(&read));
    assert!(out(&read).contains("differ"), "{}", out(&read));
    assert!(bench.unplug().has_image());
}

#[test]
fn a_board_is_flashed_with_the_kept_firmware_and_its_progress_told() {
    let bench = Bench::with(VirtualBox::without_program(57_600));
    let flashed = spokewire(&["flash", "--port", &bench.path, "--json"]);
    assert_eq!((flashed.status.code(), said(&flashed)), (Some(0), ""), "{}", out(&flashed));
    let events: Vec<Value> = out(&flashed).lines().map(json).collect();
    assert_eq!(events.last().map(|event| event["event"].clone()), Some(Value::from("done")));
    let mut phases: Vec<_> = events.iter().filter_map(|event| event["phase"].as_str()).collect();
    phases.dedup();
    assert_eq!(phases, ["calling", "writing", "checking", "starting"]);
}

#[test]
fn the_demo_has_a_box_without_an_image_that_can_be_written_and_flashed() {
    let read = spokewire(&["read", "--demo"]);
    assert_eq!(read.status.code(), Some(1));
    assert_eq!(said(&read), "The box at the demo van holds no image. Fill it: spokewire write FILE\n");
    let written = spokewire(&["write", VAN, "--demo"]);
    assert_eq!(written.status.code(), Some(0), "{}", said(&written));
    assert!(out(&written).starts_with("Written to slot A and read back: "), "{}", out(&written));
    let flashed = spokewire(&["flash", "--demo"]);
    assert_eq!(flashed.status.code(), Some(0), "{}", said(&flashed));
    assert_eq!(out(&flashed), "The board at the demo van has the firmware 1.0 now.\n");
}

#[test]
fn where_there_is_no_box_it_says_what_was_heard_and_never_hangs() {
    let (mut near, path) = pty();
    let printing = std::thread::Builder::new().spawn(move || {
        let begun = Instant::now();
        while begun.elapsed() < Duration::from_secs(6) {
            let _ = near.write_all(b"512\r\n");
            std::thread::sleep(Duration::from_millis(5));
        }
    });
    let begun = Instant::now();
    let read = spokewire(&["read", "--port", &path]);
    assert_eq!(read.status.code(), Some(1));
    assert!(
        said(&read).starts_with(&format!("At {path} is a probe that prints numbers, not a box. ")),
        "{}",
        said(&read)
    );
    assert!(begun.elapsed() < Duration::from_secs(5), "{:?}", begun.elapsed());
    drop(printing.expect("a thread").join());

    let (_mute, path) = pty();
    let begun = Instant::now();
    let read = spokewire(&["read", "--port", &path]);
    assert_eq!(read.status.code(), Some(1));
    assert!(said(&read).starts_with(&format!("Nothing came from {path} within 10 s. ")), "{}", said(&read));
    assert!(begun.elapsed() < Duration::from_secs(13), "{:?}", begun.elapsed());

    let bench = Bench::with(VirtualBox::without_program(115_200));
    let write = spokewire(&["write", VAN, "--port", &bench.path]);
    assert_eq!(write.status.code(), Some(1));
    assert!(said(&write).contains("has no program of ours; its bootloader answers."), "{}", said(&write));
}

#[test]
fn a_wheel_is_learned_through_a_box_as_through_a_probe() {
    let bench = Bench::with(VirtualBox::new());
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("van.ron");
    let mut learn = Command::new(env!("CARGO_BIN_EXE_spokewire"))
        .args(["learn", "--json", "--presses", "1", "--buttons", "Volume up,Mute", "--port", &bench.path])
        .args(["--give-up", "30", "--save", text(&file)])
        .env("XDG_STATE_HOME", folder.path().join("state"))
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .spawn()
        .expect("learn starts");
    let mut learned = 0;
    for line in BufReader::new(learn.stdout.take().expect("its output")).lines() {
        let event = json(&line.expect("text"));
        match event["event"].as_str() {
            Some("prompt") => {
                std::thread::sleep(Duration::from_millis(500)); // as people do
                bench.hand(Hand::Press(if event["button"] == "mute" { 6 } else { 0 }));
                std::thread::sleep(Duration::from_millis(1_200));
                bench.hand(Hand::Release);
            }
            Some("pressed") => learned += 1,
            _ => {}
        }
    }
    assert_eq!(learn.wait().expect("it ends").code(), Some(0));
    assert_eq!(learned, 2);
}
