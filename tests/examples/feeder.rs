//! A probe on a wheel, in a process of its own: opens a pseudo-terminal, prints the path of its far
//! end, and writes plain numbers to it at 1 kHz, in real time, for as long as its input is open.
//! A hand presses what is asked: each line of input is a line of `spokewire learn --json`, except
//! `unplug`, which ends it.
//!
//! `feeder van` prints one number a line: the demo van's wheel, with bounce, spikes, and a person who
//! now and then presses the wrong button or lets go too soon; a number behind it is another person. `feeder two` prints two 12-bit
//! numbers a line, ended by CR and LF: a button on each wire.
#![expect(clippy::expect_used, clippy::panic, reason = "a helper of a test may fail it")]

#[cfg(unix)]
fn main() {
    let mut words = std::env::args().skip(1);
    let kind = words.next().unwrap_or_default();
    unix::run(&kind, words.next().map_or(7, |seed| seed.parse().expect("a number")));
}

#[cfg(not(unix))]
fn main() {
    panic!("there are no pseudo-terminals here");
}

#[cfg(unix)]
mod unix {
    use std::io::{BufRead as _, Write as _};
    use std::sync::mpsc::{Receiver, TryRecvError, sync_channel};
    use std::time::{Duration, Instant};

    use serialport::{SerialPort as _, TTYPort};
    use spokewire::bands::Touch;
    use spokewire::demo::{HandMove, Mistakes, Person, PlanButton, VirtualWheel, WheelPlan, demo_van};
    use spokewire::learn::touches;
    use spokewire::project::unique_id;
    use spokewire::signal::RawReading;

    /// How often numbers are written: a USB bridge hands over about this much at a time.
    const LUMP: Duration = Duration::from_millis(4);

    /// A person in a hurry: their time runs so many times faster than the wheel's.
    const BRISK: f64 = 1.7;

    /// At this prompt another button is pressed: a second press, so that the first one shows it.
    const SLIP_BUTTON: u32 = 5;

    /// At this prompt the button is let go too soon.
    const SLIP_SHORT: u32 = 9;

    /// What the probe is on, and how it prints.
    struct Probe {
        plan: WheelPlan,
        /// Whether the person gets it wrong twice.
        slips: bool,
        print: fn(&RawReading) -> String,
    }

    fn probe(kind: &str) -> Probe {
        match kind {
            "van" => Probe {
                plan: WheelPlan { spike_per_s: 0.5, ..demo_van() },
                slips: true,
                print: |reading| format!("{}\n", reading.raw[0]),
            },
            "two" => Probe {
                plan: WheelPlan {
                    buttons: [("Left", 1, 262.0), ("Right", 2, 922.0)]
                        .map(|(name, wire, ohm)| PlanButton { name: name.to_owned(), wire, ohm })
                        .to_vec(),
                    rest_ohm: [14_862.0, f64::INFINITY],
                    wires: 2,
                    ..demo_van()
                },
                slips: false,
                print: |reading| format!("{} {}\r\n", reading.raw[0] * 4 + 1, reading.raw[1] * 4 + 2),
            },
            _ => panic!("feeder van, or feeder two"),
        }
    }

    pub(super) fn run(kind: &str, person_seed: u64) {
        let Probe { plan, slips, print } = probe(kind);
        let ids: Vec<String> = plan.buttons.iter().map(|b| unique_id(&b.name, |_| false)).collect();
        let (mut port, far) = TTYPort::pair().expect("a pseudo-terminal");
        port.set_timeout(LUMP).expect("a timeout");
        println!("{}", far.name().expect("its path"));
        drop(far); // it is exclusive

        let lines = lines_of_input();
        let mut wheel = VirtualWheel::new(plan, 41);
        // Two slips at prompts set beforehand, so that however the clocks run there are two; whoever
        // got it wrong takes care the next time.
        let slip = |wrong_button, too_short| Mistakes { wrong_button, too_short, buttons: ids.len() };
        let mut on_another = Person::with_mistakes(person_seed, slip(1.0, 0.0));
        let mut in_a_hurry = Person::with_mistakes(person_seed, slip(0.0, 1.0));
        let mut careful = Person::new(person_seed);
        let (mut wanted, mut takes_care, mut prompts) = (None, false, 0);
        let begun = Instant::now();
        loop {
            match lines.try_recv() {
                Ok(line) if line.trim() == "unplug" => return,
                Ok(line) => {
                    prompts += u32::from(line.contains(r#""event":"prompt""#));
                    listen(&line, &ids, &mut wanted, &mut takes_care);
                }
                Err(TryRecvError::Empty) => {}
                Err(TryRecvError::Disconnected) => return,
            }
            let mut text = String::new();
            while wheel.now_ms() < begun.elapsed().as_secs_f64() * 1e3 {
                let person = match (slips && !takes_care, prompts) {
                    (true, SLIP_BUTTON) => &mut on_another,
                    (true, SLIP_SHORT) => &mut in_a_hurry,
                    _ => &mut careful,
                };
                match person.step(wheel.now_ms() * BRISK, wanted) {
                    Some(HandMove::Press { button, touch }) => wheel.press(button, touch),
                    Some(HandMove::Release) => wheel.release(),
                    None => {}
                }
                text += &print(&wheel.next());
            }
            // What nobody takes in time is lost, as on a real wire; that may be part of a line.
            let _ = port.write_all(text.as_bytes());
            std::thread::sleep(LUMP);
        }
    }

    /// What is asked for, after this line.
    fn listen(line: &str, ids: &[String], wanted: &mut Option<(usize, Touch)>, takes_care: &mut bool) {
        let event: serde_json::Value = serde_json::from_str(line).expect("a line of JSON");
        match event["event"].as_str() {
            Some("prompt") => {
                let button =
                    ids.iter().position(|id| event["button"] == **id).expect("a button of this wheel");
                let number =
                    |key: &str| event[key].as_u64().and_then(|n| u32::try_from(n).ok()).expect("a number");
                *wanted = Some((button, touches(number("of"))[number("press") as usize - 1]));
            }
            Some("refused") => {}
            _ => *wanted = None,
        }
        *takes_care = event["event"] == "refused";
    }

    fn lines_of_input() -> Receiver<String> {
        let (sender, lines) = sync_channel(64);
        let reading = std::thread::Builder::new().name("input".to_owned()).spawn(move || {
            for line in std::io::stdin().lock().lines().map_while(Result::ok) {
                if sender.send(line).is_err() {
                    return;
                }
            }
        });
        reading.expect("a thread");
        lines
    }
}
