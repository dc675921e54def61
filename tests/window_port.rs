//! The real window on a real port: a probe on a wheel of four buttons, played over a
//! pseudo-terminal by a thread of its own, while a person does what the window says. Everything in
//! real time, as a probe's clock can't be hurried.
#![cfg(all(unix, feature = "window", feature = "serial"))]
#![expect(clippy::expect_used, clippy::panic, reason = "the helpers of a test may fail it")]

#[expect(dead_code, reason = "this session needs a part of what hands can do")]
#[path = "window/hands.rs"]
mod hands;

use std::io::{ErrorKind, Write as _};
use std::os::unix::fs::symlink;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use egui::accesskit::Role;
use egui_kittest::kittest::NodeT as _;
use serialport::{SerialPort as _, TTYPort};
use spokewire::bands::Touch;
use spokewire::circuit::{Circuit, Reference, Sense};
use spokewire::demo::{PlanButton, VirtualWheel, WheelPlan};
use spokewire::shell::Options;

use hands::{Bench, in_file, said};

/// Four buttons on one wire, as in a small van: ohms across the wire while pressed.
const BUTTONS: [(&str, f64); 4] =
    [("Louder", 120.0), ("Softer", 430.0), ("Next", 1_050.0), ("Mute", 2_600.0)];

/// Between two writes of the probe, in milliseconds: five readings of its converter.
const LUMP_MS: u64 = 5;

fn plan() -> WheelPlan {
    let button = |&(name, ohm): &(&str, f64)| PlanButton { name: name.to_owned(), wire: 1, ohm };
    WheelPlan {
        buttons: BUTTONS.iter().map(button).collect(),
        rest_ohm: [12_000.0, f64::INFINITY],
        circuit: Circuit {
            feed_monitor: None,
            filter: Default::default(),
            module: None,
            sense: Sense::PullUp,
            sense_ohm: 1_000.0,
            feed_v: 5.0,
            reference: Reference::Supply,
            contact_ohm: 0.0,
            leak_ohm: None,
        },
        noise_count: 0.8,
        contact_ohm: 3.0,
        contact_spread_ohm: 2.0,
        bounce: true,
        spike_per_s: 0.3,
        wires: 1,
    }
}

/// The probe's side: the wheel, and the port while it is plugged in.
struct Bus {
    wheel: VirtualWheel,
    port: Option<TTYPort>,
}

/// A probe that writes a number a millisecond into whatever it is plugged into.
struct Probe {
    bus: Arc<Mutex<Bus>>,
    stop: Arc<AtomicBool>,
    thread: Option<std::thread::JoinHandle<()>>,
    /// Where the window finds it.
    path: PathBuf,
}

impl Probe {
    fn start(path: PathBuf) -> Self {
        let bus = Arc::new(Mutex::new(Bus { wheel: VirtualWheel::new(plan(), 11), port: None }));
        let stop = Arc::new(AtomicBool::new(false));
        let (shared, stopped) = (Arc::clone(&bus), Arc::clone(&stop));
        let thread = std::thread::Builder::new().name("probe".to_owned()).spawn(move || {
            let begun = Instant::now();
            while !stopped.load(Ordering::Relaxed) {
                lock(&shared).write_due(begun.elapsed().as_secs_f64() * 1e3);
                std::thread::sleep(Duration::from_millis(LUMP_MS));
            }
        });
        Self { bus, stop, thread: Some(thread.expect("a thread")), path }
    }

    fn plug(&self) {
        let (port, far) = TTYPort::pair().expect("a pseudo-terminal");
        symlink(far.name().expect("its name"), &self.path).expect("plugged in");
        drop(far);
        lock(&self.bus).port = Some(port);
    }

    fn unplug(&self) {
        std::fs::remove_file(&self.path).expect("unplugged");
        lock(&self.bus).port = None;
    }

    fn press(&self, button: usize, touch: Touch) {
        lock(&self.bus).wheel.press(button, touch);
    }

    fn release(&self) {
        lock(&self.bus).wheel.release();
    }
}

impl Bus {
    /// The readings that are due; they are lost where nothing takes them, as a real probe's are.
    fn write_due(&mut self, due_ms: f64) {
        let mut lines = String::new();
        while self.wheel.now_ms() < due_ms {
            lines.push_str(&format!("{}\r\n", self.wheel.next().raw[0]));
        }
        if let Some(port) = &mut self.port
            && let Err(error) = port.write_all(lines.as_bytes())
        {
            // Not opened yet, or not read for a while.
            assert!(matches!(error.kind(), ErrorKind::BrokenPipe | ErrorKind::TimedOut), "{error}");
        }
    }
}

fn lock(bus: &Mutex<Bus>) -> MutexGuard<'_, Bus> {
    bus.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Drop for Probe {
    fn drop(&mut self) {
        self.stop.store(true, Ordering::Relaxed);
        if let Some(thread) = self.thread.take()
            && thread.join().is_err()
            && !std::thread::panicking()
        {
            panic!("the probe has failed");
        }
    }
}

/// What the prompt asks for, as it says it: which button, how, and which press of how many.
struct Asked {
    button: usize,
    touch: Touch,
    words: String,
}

/// "Press 2 of 3, this one slowly. Louder. then B Softer, 2 more, rest again"
fn asked(bench: &Bench) -> Option<Asked> {
    // Refused, a person presses again.
    if !bench.says("waiting for a press") && !bench.says("Not taken, ") {
        return None;
    }
    let labels = bench.nodes().filter(|node| node.accesskit_node().role() == Role::Label);
    let mut prompts = labels.map(|node| said(&node)).filter(|words| words.starts_with("Press "));
    prompts.find_map(|words| {
        let (how, rest) = words.split_once(". ")?;
        let button = BUTTONS.iter().position(|(name, _)| rest.starts_with(&format!("{name}. ")))?;
        let touch = match how {
            how if how.ends_with("slowly") => Touch::Slow,
            how if how.ends_with("light") => Touch::Light,
            _ => Touch::Firm,
        };
        Some(Asked { button, touch, words })
    })
}

/// A person who does what the window says until so many buttons are learned: presses what is asked,
/// and lets go when told so.
fn press_what_is_asked(bench: &mut Bench, probe: &Probe, buttons: usize) {
    loop {
        let enough = |bench: &Bench| bench.project().learned.len() >= buttons;
        bench.wait("asking for a press", |bench| asked(bench).is_some() || enough(bench));
        let Some(asked) = asked(bench).filter(|_| !enough(bench)) else { return };
        probe.press(asked.button, asked.touch);
        bench.wait(&format!("settling after: {}", asked.words), |bench| bench.says("Let go when you like"));
        probe.release();
        bench
            .wait("seeing it let go", |bench| !bench.says("Let go when you like") && !bench.says("Settling"));
    }
}

/// Begins a vehicle with the four buttons, and connects it to the typed path.
fn connected(bench: &mut Bench, path: &Path) {
    bench.click("I have read this");
    bench.click("New vehicle");
    for (name, _) in BUTTONS {
        bench.type_into("New button's name", name);
        bench.click("Add button");
    }
    bench.click_link();
    bench.type_into("Port path", path.to_str().expect("text"));
    bench.click("Connect");
    bench.wait("readings", |bench| bench.model().recording.len() > 100);
}

#[test]
fn a_wheel_on_a_port_is_learned_by_prompting_although_the_port_goes_away_in_the_middle() {
    let folder = tempfile::tempdir().unwrap();
    let probe = Probe::start(folder.path().join("probe"));
    probe.plug();
    let mut bench = Bench::start(folder.path(), (1280.0, 800.0), Options::default());
    connected(&mut bench, &probe.path);
    assert!(bench.says("Link probe, "));
    bench.click("Prompted");
    bench.click("Start prompted");
    press_what_is_asked(&mut bench, &probe, 2);

    // Unplugged while a button is held, before its press has settled.
    bench.wait("asking for a press", |bench| asked(bench).is_some());
    let learned = bench.project().clone();
    probe.press(2, Touch::Firm);
    bench.pass(Duration::from_millis(100));
    let unplugged = Instant::now();
    probe.unplug();
    bench.wait_to_say("The port went away.");
    let noticed = unplugged.elapsed();
    println!("noticed after {noticed:?}");
    assert!(noticed < Duration::from_secs(1), "{noticed:?}");
    assert!(bench.says("Link Port gone, Waiting for probe"));
    assert_eq!(*bench.project(), learned);
    probe.release();
    bench.pass(Duration::from_millis(700));

    let plugged = Instant::now();
    probe.plug();
    bench.wait("the port's coming back", |bench| !bench.says("The port went away."));
    println!("back after {:?}", plugged.elapsed());
    assert_eq!(*bench.project(), learned, "nothing learned is lost");
    press_what_is_asked(&mut bench, &probe, 4);
    bench.wait_to_say("All learned");

    let project = bench.project();
    assert_eq!(project.rests.len(), 1);
    for (button, (name, ohm)) in project.wheel.buttons.iter().zip(BUTTONS) {
        let presses = &project.learned[&button.id].presses;
        assert_eq!((button.name.as_str(), presses.len(), button.wire), (name, 3, Some(1)));
        for press in presses {
            // The divider with a contact of 0.5 to 11 ohms, and a count for noise and rounding.
            let [low, high] = [0.5, 11.0].map(|contact| plan().count(ohm + contact));
            let median = press.median_count;
            assert!((low - 1.5..=high + 1.5).contains(&median), "{name}: {median}, not {low} to {high}");
        }
    }
    let file = folder.path().join("van.ron");
    bench.save_as(&file);
    assert_eq!(in_file(&file), *bench.project());
    // The window first: a port that goes away is looked for, and its number may be another test's.
    drop(bench);
    drop(probe);
}

#[test]
fn a_port_that_is_not_there_or_says_nothing_is_told_and_the_window_goes_on() {
    let folder = tempfile::tempdir().unwrap();
    let mut bench = Bench::start(folder.path(), (1280.0, 800.0), Options::default());
    bench.click("I have read this");
    bench.type_into("Port path", "/dev/no-such-port");
    bench.click("Connect");
    bench.wait("being told", |bench| bench.says("/dev/no-such-port") && bench.says("Link Not connected"));
    let (silent, far) = TTYPort::pair().unwrap();
    let path = folder.path().join("probe");
    symlink(far.name().unwrap(), &path).unwrap();
    drop(far);
    bench.type_into("Port path", path.to_str().unwrap());
    bench.click("Connect");
    bench.wait_to_say("Nothing comes.");
    bench.click("New vehicle");
    bench.wait_to_say("Vehicle Unnamed vehicle");
    // The window first: a port that goes away is looked for, and its number may be another test's.
    drop(bench);
    drop(silent);
}
