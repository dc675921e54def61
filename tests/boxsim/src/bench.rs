//! A box on the bench: a simulated chip with the firmware, a ladder on its wires, and the laptop's side
//! of the link, all in simulated time.

use std::collections::VecDeque;

use spokewire::image::{self, Built};
use spokewire::project::{self, Project};
use spokewire::wire::{Answer, AnswerFault, Ask, BoxEvent, Deframer, Frame, REPLY, encode_frame};

use crate::chip::{Chip, EEPROM_BYTES, Edge, HZ, TRUE_TIMING};
use crate::ladder::{Ladder, Supply};

/// Cycles of a millisecond.
pub const MS: u64 = HZ / 1_000;
/// How long an answer may take: a stretch of 64 bytes is written in 220 ms.
const PATIENCE_MS: u64 = 400;

/// A box, its wires and its laptop.
pub struct Bench {
    /// The chip.
    pub chip: Chip,
    /// What hangs on its wires.
    pub ladder: Ladder,
    /// What the box has told of itself, each with the cycle at which its last byte came.
    pub events: Vec<(u64, BoxEvent)>,
    /// Frames from the box that were broken.
    pub broken: usize,
    deframer: Deframer,
    answers: VecDeque<Frame>,
    sequence: u8,
}

impl Bench {
    /// The firmware in an erased chip on the demo van's ladder, power just come and the box booted.
    #[must_use]
    pub fn new(supply: Supply) -> Self {
        Self::with_eeprom(supply, &[])
    }

    /// The same, with this image's body in slot 0, and rest long enough for a press to be recognised.
    #[must_use]
    pub fn with_image(supply: Supply, body: &[u8]) -> Self {
        let mut bench = Self::with_eeprom(supply, &image::slot_bytes(body, 1));
        bench.run_ms(100);
        bench
    }

    /// The same, with this in its EEPROM.
    #[must_use]
    pub fn with_eeprom(supply: Supply, eeprom: &[u8]) -> Self {
        Self::on(Chip::boot(&crate::firmware(), 0, Some(eeprom), TRUE_TIMING), supply)
    }

    /// A chip put on the bench, run until it has said that it started.
    ///
    /// # Panics
    /// If it never says so.
    #[must_use]
    pub fn on(mut chip: Chip, supply: Supply) -> Self {
        let ladder = Ladder::demo(supply, 0x5EED);
        chip.power(ladder.clone());
        let mut bench = Self {
            chip,
            ladder,
            events: Vec::new(),
            broken: 0,
            deframer: Deframer::new(),
            answers: VecDeque::new(),
            sequence: 100,
        };
        bench.wait_for_start();
        bench
    }

    /// Runs until the box says that it has started.
    ///
    /// # Panics
    /// If it doesn't within two seconds.
    pub fn wait_for_start(&mut self) {
        for _ in 0..2_000 {
            self.run_ms(1);
            if self.events.iter().any(|(_, event)| matches!(event, BoxEvent::Booted(_))) {
                return;
            }
        }
        panic!("the box never said that it started");
    }

    /// Runs for so long, and reads what the box sends.
    pub fn run_ms(&mut self, ms: u64) {
        self.chip.run_ms(ms);
        self.read();
    }

    /// Reads what the box has sent.
    pub fn read(&mut self) {
        for (cycle, byte) in self.chip.sent() {
            let (events, answers, broken) = (&mut self.events, &mut self.answers, &mut self.broken);
            self.deframer.feed(&[byte], |frame| match frame {
                Ok(frame) if frame.number >= 0xC0 => match BoxEvent::parse(frame.number, &frame.payload) {
                    Ok(event) => events.push((cycle, event)),
                    Err(_) => *broken += 1,
                },
                Ok(frame) => answers.push_back(frame),
                Err(_) => *broken += 1,
            });
        }
    }

    /// Asks, and gives the answer; `None` where none comes.
    pub fn try_ask(&mut self, ask: &Ask) -> Option<Result<Answer, AnswerFault>> {
        self.sequence = self.sequence.wrapping_add(1);
        self.answers.clear(); // to what nobody here asked
        let line =
            encode_frame(ask.number(), self.sequence, &ask.payload()).expect("a message fits its frame");
        self.chip.send(&[0]);
        self.chip.send(&line);
        for _ in 0..PATIENCE_MS {
            self.run_ms(1);
            while let Some(frame) = self.answers.pop_front() {
                if frame.number == ask.number() | REPLY && frame.sequence == self.sequence {
                    return Some(Answer::parse(ask.number(), &frame.payload));
                }
            }
        }
        None
    }

    /// Asks, and gives the answer.
    ///
    /// # Panics
    /// Where none comes, or a fault does.
    pub fn ask(&mut self, ask: &Ask) -> Answer {
        match self.try_ask(ask) {
            Some(Ok(answer)) => answer,
            other => panic!("{ask:?} was answered by {other:?}"),
        }
    }

    /// Who the box says it is.
    ///
    /// # Panics
    /// If it says something else.
    pub fn identify(&mut self) -> spokewire::wire::Identity {
        match self.ask(&Ask::Identify) {
            Answer::Identity(identity) => *identity,
            other => panic!("{other:?}"),
        }
    }

    /// What the box has counted.
    ///
    /// # Panics
    /// If it says something else.
    pub fn counters(&mut self) -> spokewire::wire::Counters {
        match self.ask(&Ask::Counters) {
            Answer::Counters(counters) => counters,
            other => panic!("{other:?}"),
        }
    }

    /// Writes an image over the link.
    ///
    /// # Errors
    /// The box's fault, and with which step it came.
    pub fn write(&mut self, body: &[u8]) -> Result<(u8, u8), (Ask, AnswerFault)> {
        for ask in write_steps(body) {
            match self.try_ask(&ask) {
                Some(Ok(Answer::Written { slot, sequence })) => return Ok((slot, sequence)),
                Some(Ok(_)) => {}
                Some(Err(fault)) => return Err((ask, fault)),
                None => panic!("{ask:?} was never answered"),
            }
        }
        unreachable!("the last step is answered by Written, or by a fault")
    }

    /// Edges of the output so far.
    #[must_use]
    pub fn output(&self) -> &[Edge] {
        self.chip.edges('B', 1)
    }

    /// Marks on the output since a cycle, with what lies between them: mark, space, … mark, in
    /// microseconds, one list for every burst that a pause of so long ends.
    #[must_use]
    pub fn bursts(&self, since: u64, pause_us: f64) -> Vec<(u64, Vec<f64>)> {
        bursts(self.output(), since, pause_us)
    }

    /// Every sample told so far, in order, with its tick.
    #[must_use]
    pub fn samples(&self) -> Vec<(u32, spokewire::wire::Sample)> {
        let blocks = self.events.iter().filter_map(|(_, event)| match event {
            BoxEvent::Samples(block) => Some(block),
            _ => None,
        });
        blocks.flat_map(|block| (block.tick..).zip(block.samples.iter().copied())).collect()
    }

    /// Every decision told so far.
    #[must_use]
    pub fn decisions(&self) -> Vec<spokewire::wire::DecisionSeen> {
        let decision = |(_, event): &(u64, BoxEvent)| match event {
            BoxEvent::Decision(decision) => Some(*decision),
            _ => None,
        };
        self.events.iter().filter_map(decision).collect()
    }

    /// Power goes and comes: what is in flash and EEPROM stays.
    #[must_use]
    pub fn power_cycled(self, supply: Supply, torn: crate::Torn) -> Self {
        let eeprom = self.chip.cut_power(torn);
        Self::with_eeprom(supply, &eeprom)
    }

    /// A whole EEPROM with a body in each slot, the second one later.
    #[must_use]
    pub fn two_slots(first: &[u8], second: &[u8]) -> Vec<u8> {
        let mut eeprom = vec![0xFF; EEPROM_BYTES];
        let (first, second) = (image::slot_bytes(first, 1), image::slot_bytes(second, 2));
        eeprom[..first.len()].copy_from_slice(&first);
        eeprom[480..480 + second.len()].copy_from_slice(&second);
        eeprom
    }
}

/// Bursts among edges: see [`Bench::bursts`].
#[must_use]
pub fn bursts(edges: &[Edge], since: u64, pause_us: f64) -> Vec<(u64, Vec<f64>)> {
    let us = |cycles: u64| cycles as f64 * 1e6 / HZ as f64;
    let mut found: Vec<(u64, Vec<f64>)> = Vec::new();
    let mut last = None;
    for edge in edges.iter().filter(|edge| edge.cycle >= since) {
        match (last, edge.high) {
            (Some(before), true) if us(edge.cycle - before) < pause_us => {
                if let Some((_, burst)) = found.last_mut() {
                    burst.push(us(edge.cycle - before));
                }
            }
            (_, true) => found.push((edge.cycle, Vec::new())),
            (Some(before), false) => {
                if let Some((_, burst)) = found.last_mut() {
                    burst.push(us(edge.cycle - before));
                }
            }
            (None, false) => continue,
        }
        last = Some(edge.cycle);
    }
    found
}

/// The messages that write an image.
#[must_use]
pub fn write_steps(body: &[u8]) -> Vec<Ask> {
    let mut steps = vec![Ask::WriteBegin { length: body.len() as u16, check: image::check(body) }];
    let stretches = body.chunks(64).enumerate();
    steps.extend(
        stretches.map(|(place, bytes)| Ask::WriteData { offset: 64 * place as u16, bytes: bytes.to_vec() }),
    );
    steps.push(Ask::WriteEnd);
    steps
}

/// The demo van, as its project file has it.
///
/// # Panics
/// If the project isn't there, or can't be read.
#[must_use]
pub fn demo_project() -> Project {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../projects/demo-van.ron");
    let text = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    project::read(&text).expect("the demo van can be read").project
}

/// A project's image.
///
/// # Panics
/// If it doesn't fit a box.
#[must_use]
pub fn built(project: &Project) -> Built {
    image::build(project, &project::bands(project)).unwrap_or_else(|misfits| panic!("{misfits:?}"))
}

/// The demo van's image as bytes.
///
/// # Panics
/// If it doesn't fit a box.
#[must_use]
pub fn demo_body() -> Vec<u8> {
    built(&demo_project()).image.to_body().expect("the demo van fits a slot")
}
