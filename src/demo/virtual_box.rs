//! A virtual box: the box's side of the link in bytes, with its memory, its recogniser and its serial
//! bootloader. Its clock is one tick a millisecond, one reading each. Knows no port.
//!
//! The recogniser and the choice of commands are the box's own, compiled for the laptop; what the chip
//! does around them (memory, converter, reset) is imitated here.

mod bootloader;
mod memory;
mod remote;
mod running;
#[cfg(test)]
mod tests;

use self::bootloader::{Bootloader, SIGNATURE};
use self::memory::Memory;
use self::remote::DemoRemote;
use self::running::{Running, Tried};
use crate::signal::{Level, RawReading};
use crate::wire::limits::{
    CAPTURE_EDGES, CAPTURE_STEP_NS, CONVERTER_TOP, LEAST_PULSE_US, PROTOCOL, PULSE_STEP_NS, RATE, RATE_FAST,
    SAMPLE_HZ,
};
use crate::wire::{
    Answer, Ask, BoxEvent, Counters, DecisionKind, Deframer, Fault, Frame, Identity, NamedReference,
    PAYLOAD_MAX, REPLY, ReferenceKind, ResetCause, Sample, SampleBlock, encode_frame,
};

/// The firmware it claims to be.
const FIRMWARE: (u8, u8) = (1, 0);

/// Low, high, extended, lock: an external crystal, a bootloader, brown-out at 4.3 V (ATmega328P
/// datasheet, chapter 31: BODLEVEL 100).
const FUSES: [u8; 4] = [0xFF, 0xDE, 0xFC, 0xCF];

/// The voltage on its supply, in millivolts.
const SUPPLY_MV: u32 = 5_020;

/// What its bandgap truly is, and what a chip nobody measured is taken to have, in millivolts.
const BANDGAP_MV: u32 = 1_086;
const BANDGAP_NOMINAL_MV: u32 = 1_100;

/// Samples in a frame.
const BLOCK: usize = 8;

/// From a restart over the link to the program, in ticks.
const RESTART_TICKS: u32 = 20;

/// A fast link falls back after so long without a good frame, in ticks.
const FAST_TICKS: u32 = 2_000;

/// What runs in it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Mode {
    /// The bootloader, and then the program where there is one.
    Bootloader,
    /// The program, once so many ticks have gone.
    Starting(u32),
    Program,
}

/// A reply that waits for bytes to be stored.
#[derive(Clone, Debug)]
struct Waiting {
    number: u8,
    sequence: u8,
    answer: Answer,
    /// Whether the image is taken into use then.
    starts_image: bool,
}

/// A box without a laptop's help: bytes and readings in, bytes out.
#[derive(Clone, Debug)]
pub struct VirtualBox {
    mode: Mode,
    /// Whether the flash holds our program.
    has_program: bool,
    bootloader: Bootloader,
    bootloader_rate: u32,
    /// The rate the laptop's port runs at.
    line_rate: u32,
    rate: u32,
    quiet_ticks: u32,
    memory: Memory,
    deframer: Deframer,
    out: Vec<u8>,
    events: u8,
    tick: u32,
    cause: ResetCause,
    counters: Counters,
    reference: Option<NamedReference>,
    is_streaming: bool,
    is_watching: bool,
    remote: Option<DemoRemote>,
    /// The remote's button that is pressed while it listens; `None` presses all in order.
    remote_button: Option<usize>,
    running: Option<Running>,
    block: SampleBlock,
    waiting: Option<Waiting>,
    tried: Option<Tried>,
}

impl Default for VirtualBox {
    fn default() -> Self {
        Self::new()
    }
}

impl VirtualBox {
    /// A box that has just got its power, with the firmware and without an image.
    #[must_use]
    pub fn new() -> Self {
        let mut made = Self {
            mode: Mode::Program,
            has_program: true,
            bootloader: Bootloader::new(),
            bootloader_rate: RATE,
            line_rate: RATE,
            rate: RATE,
            quiet_ticks: 0,
            memory: Memory::new(),
            deframer: Deframer::new(),
            out: Vec::new(),
            events: 0,
            tick: 0,
            cause: ResetCause::PowerOn,
            counters: Counters::default(),
            reference: None,
            is_streaming: false,
            is_watching: false,
            remote: None,
            remote_button: None,
            running: None,
            block: SampleBlock::default(),
            waiting: None,
            tried: None,
        };
        made.counters.resets.power_on = 1;
        made
    }

    /// A board with nothing but a bootloader that listens at this rate, in bits per second.
    #[must_use]
    pub fn without_program(bootloader_rate: u32) -> Self {
        let mut made = Self { has_program: false, bootloader_rate, ..Self::new() };
        made.mode = Mode::Bootloader;
        made
    }

    /// The laptop's port runs at this rate now. At another than the box's own nothing is understood.
    pub fn set_line_rate(&mut self, rate: u32) {
        self.line_rate = rate;
    }

    /// The reset pin, as opening the port does it: the bootloader first.
    pub fn reset(&mut self) {
        self.halt(ResetCause::External);
        self.mode = Mode::Bootloader;
        self.bootloader.start();
    }

    /// Power goes and comes again.
    pub fn cut_power(&mut self) {
        self.counters = Counters::default();
        self.halt(ResetCause::PowerOn);
        self.mode = Mode::Bootloader;
        self.bootloader.start();
    }

    /// Whether a whole image is in use.
    #[must_use]
    pub fn has_image(&self) -> bool {
        self.memory.in_use().is_some()
    }

    /// The program's flash from address 0 on, as the bootloader wrote it.
    #[must_use]
    pub fn flash(&self) -> &[u8] {
        self.bootloader.flash()
    }

    /// Which button of the remote is pressed while the box listens, from 0 in the order of the demo's
    /// commands; the one behind them is of no command yet. `None` presses all in order.
    pub fn hold_remote(&mut self, button: Option<usize>) {
        self.remote_button = button;
        if self.remote.is_some() {
            self.remote = Some(DemoRemote::new(button));
        }
    }

    /// Takes bytes from the laptop.
    pub fn take(&mut self, bytes: &[u8]) {
        match self.mode {
            Mode::Bootloader if self.line_rate == self.bootloader_rate => self.bootloader.take(bytes),
            Mode::Program if self.line_rate == self.rate => {
                let mut frames = Vec::new();
                self.deframer.feed(bytes, |frame| frames.push(frame));
                for frame in frames {
                    match frame {
                        Ok(frame) => self.hear(&frame),
                        Err(_) => bump(&mut self.counters.link_errors),
                    }
                }
            }
            Mode::Program => bump(&mut self.counters.link_errors),
            Mode::Bootloader | Mode::Starting(_) => {}
        }
    }

    /// What the box has sent since it was asked last. At a rate that is not its own the laptop hears
    /// nothing that makes sense; here it hears nothing.
    pub fn bytes_out(&mut self) -> Vec<u8> {
        std::mem::take(&mut self.out)
    }

    /// One tick later, with the reading taken then.
    pub fn tick(&mut self, reading: RawReading) {
        match self.mode {
            Mode::Bootloader => self.boot(),
            Mode::Starting(0) => self.start(),
            Mode::Starting(ticks) => self.mode = Mode::Starting(ticks - 1),
            Mode::Program => self.run(reading),
        }
    }

    fn boot(&mut self) {
        let mut out = Vec::new();
        self.bootloader.tick(&mut out);
        if self.line_rate == self.bootloader_rate {
            self.out.extend(out);
        }
        if self.bootloader.has_left() {
            self.has_program |= self.bootloader.has_program();
            if self.has_program {
                self.start();
            } else {
                self.bootloader.start();
            }
        }
    }

    /// Stops the program; what it kept in RAM is gone, but for the counters.
    fn halt(&mut self, cause: ResetCause) {
        self.cause = cause;
        let resets = &mut self.counters.resets;
        bump(match cause {
            ResetCause::PowerOn => &mut resets.power_on,
            ResetCause::External => &mut resets.external,
            ResetCause::BrownOut => &mut resets.brown_out,
            ResetCause::Watchdog => &mut resets.watchdog,
        });
        self.memory.cut();
        self.deframer.clear();
        self.out.clear();
        (self.rate, self.quiet_ticks, self.events, self.tick) = (RATE, 0, 0, 0);
        (self.reference, self.is_streaming, self.is_watching) = (None, false, false);
        (self.remote, self.running, self.waiting, self.tried) = (None, None, None, None);
        self.block = SampleBlock::default();
    }

    fn start(&mut self) {
        self.mode = Mode::Program;
        self.load();
        self.tell(&BoxEvent::Booted(self.cause));
    }

    /// Takes the image in use, which names the reference.
    fn load(&mut self) {
        self.running = self.memory.body().and_then(Running::new);
        if let Some(running) = &self.running {
            self.reference = Some(running.reference());
        }
    }

    fn run(&mut self, reading: RawReading) {
        self.tick = self.tick.wrapping_add(1);
        self.quiet_ticks += 1;
        if self.rate == RATE_FAST && self.quiet_ticks > FAST_TICKS {
            self.rate = RATE;
        }
        self.memory.tick();
        if !self.memory.is_storing()
            && let Some(waiting) = self.waiting.take()
        {
            if waiting.starts_image {
                bump(&mut self.counters.writes);
                self.load();
            }
            self.reply(waiting.number, waiting.sequence, &waiting.answer.payload());
        }
        let label = self.recognise(reading);
        self.stream(reading, label);
        let parts = self.remote.as_mut().map(DemoRemote::tick).unwrap_or_default();
        for part in parts {
            self.tell(&BoxEvent::Capture(part));
        }
        let sent = [
            self.tried.as_mut().and_then(Tried::tick),
            self.running.as_mut().filter(|_| !self.memory.is_writing()).and_then(Running::send),
        ];
        if sent[0].is_some() {
            self.tried = None;
        }
        for frames in sent.into_iter().flatten() {
            bump(&mut self.counters.sent);
            self.tell(&BoxEvent::Sent { frames });
        }
    }

    /// What the recogniser makes of a reading: its label and the button pressed.
    fn recognise(&mut self, reading: RawReading) -> (Option<u8>, Option<u8>) {
        if self.memory.is_writing() {
            return (None, None);
        }
        let Some(running) = &mut self.running else { return (None, None) };
        let level = reading.raw.map(|number| {
            if number > CONVERTER_TOP { Level::NONE } else { Level::from_count(f64::from(number)) }
        });
        let seen = running.tick(level, self.tick);
        self.counters.rejected = self.counters.rejected.saturating_add(u32::from(seen.is_rejected));
        for decision in seen.decisions {
            match decision.kind {
                DecisionKind::Pressed => bump(&mut self.counters.presses),
                DecisionKind::Undecided => bump(&mut self.counters.undecided),
                _ => {}
            }
            if self.is_watching {
                self.tell(&BoxEvent::Decision(decision));
            }
        }
        (Some(seen.label), seen.pressed)
    }

    fn stream(&mut self, reading: RawReading, (label, pressed): (Option<u8>, Option<u8>)) {
        if !self.is_streaming {
            return;
        }
        if self.block.samples.is_empty() {
            self.block.tick = self.tick;
        }
        let two_wires = self.running.as_ref().is_none_or(Running::has_two_wires);
        self.block.two_wires = two_wires && reading.raw[1] != RawReading::NONE;
        let feed = (reading.feed != RawReading::NONE).then_some(reading.feed);
        let raw = reading.raw.map(|number| if number > CONVERTER_TOP { 0 } else { number });
        self.block.samples.push(Sample { raw, feed, label, pressed });
        if self.block.samples.len() == BLOCK {
            let block = std::mem::take(&mut self.block);
            self.tell(&BoxEvent::Samples(block));
        }
    }

    fn hear(&mut self, frame: &Frame) {
        self.quiet_ticks = 0;
        let answer = Ask::parse(frame.number, &frame.payload).and_then(|ask| self.obey(ask, frame));
        match answer {
            Ok(Some(answer)) => self.reply(frame.number, frame.sequence, &answer.payload()),
            Ok(None) => {}
            Err(fault) => self.reply(frame.number, frame.sequence, &[fault.number()]),
        }
        // These take effect once they were answered.
        match Ask::parse(frame.number, &frame.payload) {
            Ok(Ask::Rate500k(fast)) => self.rate = if fast { RATE_FAST } else { RATE },
            Ok(Ask::Restart) => {
                let answered = std::mem::take(&mut self.out);
                self.halt(ResetCause::Watchdog);
                self.out = answered;
                self.mode = Mode::Starting(RESTART_TICKS);
            }
            _ => {}
        }
    }

    /// Does what was asked. No answer yet where bytes have to be stored first.
    fn obey(&mut self, ask: Ask, frame: &Frame) -> Result<Option<Answer>, Fault> {
        match ask {
            Ask::Identify => return Ok(Some(Answer::Identity(Box::new(self.identity())))),
            Ask::Stream(on) => {
                if on && self.reference.is_none() {
                    return Err(Fault::Reference);
                }
                self.is_streaming = on;
                self.block = SampleBlock::default();
            }
            Ask::Reference(named) => self.reference = Some(named),
            Ask::Listen(on) => self.remote = on.then(|| DemoRemote::new(self.remote_button)),
            Ask::Watch(on) => self.is_watching = on,
            Ask::Send { held_ms, record, toggle } => {
                let tried = Tried::new(record, held_ms, toggle);
                self.tried = Some(tried.map_err(|fault| Fault::from_number(fault).unwrap_or(Fault::Code))?);
            }
            Ask::StopSending => {
                if let Some(tried) = &mut self.tried {
                    tried.stop();
                }
            }
            Ask::WriteBegin { length, check } => {
                if self.supply_mv() < if self.memory.calibration().is_some() { 4_500 } else { 4_100 } {
                    return Err(Fault::Supply);
                }
                let slot = self.memory.begin(length, check)?;
                return Ok(self.later(frame, Answer::WriteBegun { slot }, false));
            }
            Ask::WriteData { offset, bytes } => {
                self.memory.data(offset, &bytes)?;
                return Ok(self.later(frame, Answer::Done, false));
            }
            Ask::WriteEnd => {
                let (slot, sequence) = self.memory.end()?;
                return Ok(self.later(frame, Answer::Written { slot, sequence }, true));
            }
            Ask::Read { slot, offset, count } => {
                let slot = match slot {
                    Some(slot) => slot,
                    None => self.memory.in_use().ok_or(Fault::NoImage)?.number,
                };
                let bytes = self.memory.read(slot, offset, count).ok_or(Fault::Value)?;
                return Ok(Some(Answer::Bytes { slot, offset, bytes }));
            }
            Ask::Counters => {
                return Ok(Some(Answer::Counters(Counters {
                    up_ms: self.tick,
                    longest_loop_us: 212,
                    ..self.counters
                })));
            }
            Ask::Calibrate(bandgap_mv) => self.memory.calibrate(bandgap_mv),
            Ask::Rate500k(_) | Ask::Restart => {}
        }
        Ok(Some(Answer::Done))
    }

    /// Answers once everything is stored.
    fn later(&mut self, frame: &Frame, answer: Answer, starts_image: bool) -> Option<Answer> {
        let Frame { number, sequence, .. } = *frame;
        self.waiting = Some(Waiting { number, sequence, answer, starts_image });
        None
    }

    /// The supply as the chip measures it, in millivolts: the bandgap it believes in, over what the
    /// converter makes of the true one.
    fn supply_mv(&self) -> u16 {
        let believed = self.memory.calibration().map_or(BANDGAP_NOMINAL_MV, u32::from);
        (SUPPLY_MV * believed / BANDGAP_MV) as u16
    }

    fn identity(&self) -> Identity {
        let on_supply = self.reference.is_some_and(|named| named.kind == ReferenceKind::Supply);
        Identity {
            protocol: PROTOCOL,
            firmware: FIRMWARE,
            signature: SIGNATURE,
            has_image: self.running.is_some(),
            has_damage: self.memory.has_damage(),
            reference_named: self.reference.is_some(),
            calibrated: self.memory.calibration().is_some(),
            fuses: FUSES,
            most: (16, 48, 32),
            body_max: 472,
            payload_max: PAYLOAD_MAX as u8,
            converter_top: CONVERTER_TOP,
            sample_hz: SAMPLE_HZ,
            capture_edges: CAPTURE_EDGES,
            capture_step_ns: CAPTURE_STEP_NS,
            pulse_step_ns: PULSE_STEP_NS,
            least_pulse_us: LEAST_PULSE_US,
            rates: vec![RATE, RATE_FAST],
            slot: self.memory.in_use(),
            supply_mv: on_supply.then(|| self.supply_mv()),
            reset: self.cause,
        }
    }

    fn reply(&mut self, number: u8, sequence: u8, payload: &[u8]) {
        self.send(number | REPLY, sequence, payload);
    }

    fn tell(&mut self, event: &BoxEvent) {
        self.events = self.events.wrapping_add(1);
        self.send(event.number(), self.events, &event.encode());
    }

    fn send(&mut self, number: u8, sequence: u8, payload: &[u8]) {
        if self.line_rate != self.rate {
            return;
        }
        match encode_frame(number, sequence, payload) {
            Ok(bytes) => self.out.extend(bytes),
            Err(_) => bump(&mut self.counters.frames_lost),
        }
    }
}

fn bump(counter: &mut u16) {
    *counter = counter.saturating_add(1);
}
