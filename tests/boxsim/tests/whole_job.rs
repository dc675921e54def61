//! The whole job with the real program: Spokewire's commands on one side of a pseudo-terminal, the
//! box's own program in the simulator on the other, in real time.

use std::io::{BufRead as _, BufReader, Read as _};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::Arc;
use std::sync::mpsc::sync_channel;
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use boxsim::{
    Chip, Contact, Ladder, MS, Order, Served, Supply, TRUE_TIMING, bootloader, bursts, demo_project,
    firmware, probe, serve,
};
use serde_json::Value;
use spokewire::project::{Project, read, write};
use spokewire::remote::{Code, decode};

/// Longer than any of it takes, even on a busy machine.
const PATIENCE: Duration = Duration::from_secs(240);

/// A program that ends with the test.
struct Ended(Child);
impl Drop for Ended {
    fn drop(&mut self) {
        drop(self.0.kill());
        drop(self.0.wait());
    }
}

fn thread<T: Send + 'static>(work: impl FnOnce() -> T + Send + 'static) -> JoinHandle<T> {
    std::thread::Builder::new().name("reader".to_owned()).spawn(work).expect("a thread")
}

/// Runs one of Spokewire's commands; `heard` is given every line it prints as it comes.
fn spokewire(folder: &Path, words: &[&str], mut heard: impl FnMut(&str)) -> String {
    let mut child = Command::new(env!("CARGO_BIN_EXE_commands"))
        .args(words)
        .current_dir(folder)
        .env("XDG_STATE_HOME", folder.join("state"))
        .env("XDG_CONFIG_HOME", folder.join("config"))
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("it starts");
    let out = child.stdout.take().expect("its output");
    let mut errors = child.stderr.take().expect("its errors");
    let mut child = Ended(child);
    let said = thread(move || {
        let mut text = String::new();
        drop(errors.read_to_string(&mut text));
        text
    });
    let (lines, inbox) = sync_channel(10_000);
    let reader = thread(move || {
        for line in BufReader::new(out).lines().map_while(Result::ok) {
            if lines.send(line).is_err() {
                return;
            }
        }
    });
    let begun = Instant::now();
    let mut printed = String::new();
    while let Ok(line) = inbox.recv_timeout(PATIENCE.saturating_sub(begun.elapsed())) {
        heard(&line);
        printed.push_str(&line);
        printed.push('\n');
    }
    assert!(begun.elapsed() < PATIENCE, "spokewire {words:?} never ended; it said\n{printed}");
    let status = child.0.wait().expect("it ends");
    drop(reader.join());
    let said = said.join().unwrap_or_default();
    println!("spokewire {}: {:.1} s", words[0], begun.elapsed().as_secs_f64());
    assert!(status.success(), "spokewire {words:?}: {status}\n{printed}\n{said}");
    printed
}

/// A chip on the demo van's wheel behind a pseudo-terminal, starting at this address.
fn served(flash: &[u8], start: u32) -> (Served, Ladder) {
    let ladder = Ladder::demo(Supply::default(), 21);
    let (now, later) = (ladder.clone(), ladder.clone());
    let flash = Arc::new(flash.to_vec());
    let first = Arc::clone(&flash);
    let served = serve(
        move || {
            let mut chip = Chip::boot(&first, start, None, TRUE_TIMING);
            chip.power(now);
            chip
        },
        move |flash, eeprom| {
            let mut chip = Chip::boot(flash, start, Some(eeprom), TRUE_TIMING);
            later.forget_presses(); // the new chip counts from 0
            chip.power(later.clone());
            chip
        },
    );
    (served.expect("a pseudo-terminal"), ladder)
}

/// Learns the demo van's seven buttons over the port, one press each.
fn learn(folder: &Path, box_: &Served, ladder: &Ladder, more: &[&str]) -> Project {
    let demo = demo_project();
    let names: Vec<_> = demo.wheel.buttons.iter().map(|button| button.name.clone()).collect();
    let names = names.join(",");
    let words =
        ["learn", "--json", "--port", &box_.path, "--save", "van.ron", "--buttons", &names, "--presses", "1"];
    spokewire(folder, &[&words[..], more].concat(), |line| {
        let event: Value = serde_json::from_str(line).expect("a line of JSON");
        if event["event"] == "prompt" {
            let asked = event["button"].as_str().expect("a button");
            let button =
                demo.wheel.buttons.iter().position(|button| button.id.0 == asked).expect("of the van");
            let now = box_.now();
            ladder.press(button, Contact::Firm(6.0), now + 400 * MS, 1_500);
        }
    });
    let text = std::fs::read_to_string(folder.join("van.ron")).expect("it was saved");
    let project = read(&text).expect("a project").project;
    for (button, ohm) in project.wheel.buttons.iter().zip(Ladder::DEMO_OHM) {
        // 1024 · R / (R + 1000), the contact's 6 Ω in R.
        let due = 1_024.0 * (ohm + 6.0) / (ohm + 1_006.0);
        let count = project.learned[&button.id].presses[0].median_count;
        assert!((count - due).abs() < 4.0, "{}: {count} learned, {due:.1} due", button.name);
    }
    project
}

#[test]
fn a_board_is_flashed_learned_from_filled_and_works_alone() {
    let folder = tempfile::tempdir().expect("a folder");
    let loader = bootloader();
    let (board, ladder) = served(&loader.flash, loader.start);

    // An empty board, through its bootloader.
    spokewire(folder.path(), &["flash", "--port", &board.path, "--json"], |_| {});
    let flash = board.ask(|chip| chip.flash());
    let program = firmware();
    assert!(flash[..program.len()] == program[..], "what is in the board is not the firmware");
    assert!(flash[0x7800..].starts_with(&loader.flash[0x7800..0x7A00]), "the bootloader is still there");

    // Learned from its stream, paired as the demo is, written, read back.
    let mut project = learn(folder.path(), &board, &ladder, &[]);
    let demo = demo_project();
    project.stereo = demo.stereo.clone();
    project.pairs = demo.pairs.clone();
    project.circuit = demo.circuit.clone();
    std::fs::write(folder.path().join("van.ron"), write(&project)).expect("saved");
    let printed = spokewire(folder.path(), &["write", "van.ron", "--port", &board.path, "--json"], |_| {});
    let written: Value = serde_json::from_str(printed.trim()).expect("JSON");
    println!("written: {written}");

    // The laptop goes; power goes and comes; every button sends what it was paired with.
    board.order(Order::PowerCycle);
    board.ask(|chip| chip.run_ms(3_000));
    let mut heard = Vec::new();
    for button in 0..Ladder::DEMO_OHM.len() {
        let from = board.now();
        ladder.press(button, Contact::Firm(6.0), from + 20 * MS, 150);
        board.ask(|chip| chip.run_ms(600));
        let sent = bursts(&board.output(), from, 6_000.0);
        assert_eq!(sent.len(), 1, "button {button} sent {} frames", sent.len());
        heard.push(decode(&sent[0].1).expect("a code").code().expect("a whole frame"));
    }
    let paired = |place: usize| -> Code {
        let id = &project.wheel.buttons[place].id;
        let is_tap = |pair: &&spokewire::project::Pair| {
            pair.button == *id && pair.gesture == spokewire::project::Gesture::Tap
        };
        let pair = project.pairs.iter().find(is_tap).expect("a pair");
        project.command(pair.command.as_ref().expect("a command")).expect("it is there").code.clone()
    };
    assert_eq!(heard, (0..7).map(paired).collect::<Vec<_>>());
}

#[test]
fn a_plain_number_probe_is_learned_from() {
    let folder = tempfile::tempdir().expect("a folder");
    let (probe, ladder) = served(&probe(), 0);
    let project = learn(folder.path(), &probe, &ladder, &["--rate", "115200"]);
    assert_eq!(project.learned.len(), 7);
}
