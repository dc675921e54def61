//! A board: a bootloader that keeps to AVR061 byte by byte, and the program it starts, which answers
//! as the box's contract says. Each of its faults is a switch.

use crate::image::{check as image_check, slot_bytes};
use crate::wire::limits::*;
use crate::wire::*;

pub(super) const SLOT: usize = SLOT_BYTES as usize;

pub(super) struct Board {
    pub(super) rate: u32,
    pub(super) flash: Vec<u8>,
    pub(super) eeprom: Vec<u8>,
    /// The rate the bootloader talks at; `None` for a board without one.
    pub(super) boot_rate: Option<u32>,
    pub(super) signature: [u8; 3],
    /// The bootloader falls silent after so many pages, this often.
    pub(super) dies_after: Option<(usize, usize)>,
    /// A byte of the flash that never takes.
    pub(super) stuck: Option<usize>,
    pub(super) leaves_silently: bool,
    /// Whether a reset reaches the board.
    pub(super) has_reset: bool,

    /// Replies by their number from 0 that are lost on the way.
    pub(super) lost: Vec<usize>,
    /// Replies take this long, in milliseconds.
    pub(super) delay_ms: f64,
    /// Put on the line before each reply.
    pub(super) garbage: Vec<u8>,
    pub(super) mute: bool,
    /// A byte of the EEPROM that never takes.
    pub(super) worn: Option<usize>,
    pub(super) supply_fault: bool,
    /// Answers `busy` so often.
    pub(super) busy: usize,
    pub(super) protocol: u8,
    pub(super) payload_max: u8,
    pub(super) asked: Vec<Ask>,

    pub(super) boot_until_ms: Option<f64>,
    pub(super) boot_in: Vec<u8>,
    pub(super) address: usize,
    pub(super) pages: usize,
    pub(super) replies: usize,
    pub(super) deframer: Deframer,
    pub(super) line: Vec<(f64, Vec<u8>)>,
    pub(super) reference: bool,
    pub(super) streaming: bool,
    pub(super) watching: bool,
    pub(super) listening: bool,
    pub(super) calibrated: bool,
    pub(super) cause: ResetCause,
    pub(super) writing: Option<(u8, u16, u16, Vec<u8>)>,
    pub(super) next_block_ms: f64,
    pub(super) events: u8,
    pub(super) restart_at_ms: Option<f64>,
}

impl Board {
    /// A box that runs, without an image.
    pub(super) fn new() -> Self {
        Self {
            rate: RATE,
            flash: vec![0x0C; 64],
            eeprom: vec![0xFF; 1024],
            boot_rate: Some(115_200),
            signature: [0x1E, 0x95, 0x0F],
            dies_after: None,
            stuck: None,
            leaves_silently: false,
            has_reset: true,
            lost: Vec::new(),
            delay_ms: 2.0,
            garbage: Vec::new(),
            mute: false,
            worn: None,
            supply_fault: false,
            busy: 0,
            protocol: PROTOCOL,
            payload_max: 96,
            asked: Vec::new(),
            boot_until_ms: None,
            boot_in: Vec::new(),
            address: 0,
            pages: 0,
            replies: 0,
            deframer: Deframer::new(),
            line: Vec::new(),
            reference: false,
            streaming: false,
            watching: false,
            listening: false,
            calibrated: false,
            cause: ResetCause::External,
            writing: None,
            next_block_ms: 0.0,
            events: 0,
            restart_at_ms: None,
        }
    }

    /// A box with an image in slot A.
    pub(super) fn with_image(body: &[u8]) -> Self {
        let mut board = Self::new();
        board.store(0, 1, body);
        board.reference = true;
        board
    }

    /// A board with nothing but its bootloader.
    pub(super) fn blank() -> Self {
        Self { flash: Vec::new(), ..Self::new() }
    }

    fn store(&mut self, slot: usize, sequence: u8, body: &[u8]) {
        let bytes = slot_bytes(body, sequence);
        self.eeprom[slot * SLOT..][..bytes.len()].copy_from_slice(&bytes);
        if let Some(worn) = self.worn {
            self.eeprom[worn] = 0xFF;
        }
    }

    fn slot(&self, number: usize) -> Option<Slot> {
        let bytes = &self.eeprom[number * SLOT..][..SLOT];
        let length = u16::from_le_bytes([bytes[4], bytes[5]]);
        let check = u16::from_le_bytes([bytes[6], bytes[7]]);
        (bytes[0] == 0xB5).then_some(Slot { number: number as u8, sequence: bytes[2], length, check })
    }

    fn in_use(&self) -> Option<Slot> {
        match (self.slot(0), self.slot(1)) {
            (Some(a), Some(b)) if b.sequence.wrapping_sub(a.sequence) < 128 => Some(b),
            (Some(a), _) => Some(a),
            (None, b) => b,
        }
    }

    /// Starts anew: the bootloader first, where there is one.
    pub(super) fn reset(&mut self, now_ms: f64) {
        if self.has_reset {
            self.restart(ResetCause::External, now_ms);
        }
    }

    pub(super) fn restart(&mut self, cause: ResetCause, now_ms: f64) {
        self.cause = cause;
        self.reference = self.in_use().is_some();
        (self.streaming, self.watching, self.listening, self.writing) = (false, false, false, None);
        self.line.clear();
        self.boot_in.clear();
        self.restart_at_ms = None;
        match self.boot_rate {
            Some(_) => self.boot_until_ms = Some(now_ms + 1_000.0),
            None => self.boot(now_ms),
        }
    }

    fn boot(&mut self, now_ms: f64) {
        self.boot_until_ms = None;
        if !self.flash.is_empty() {
            self.tell(BoxEvent::Booted(self.cause), now_ms);
        }
    }

    pub(super) fn tell(&mut self, event: BoxEvent, now_ms: f64) {
        self.events = self.events.wrapping_add(1);
        let bytes = encode_frame(event.number(), self.events, &event.encode()).unwrap();
        self.line.push((now_ms, bytes));
    }

    pub(super) fn put(&mut self, bytes: &[u8], now_ms: f64) {
        self.line.push((now_ms, bytes.to_vec()));
    }

    pub(super) fn discard(&mut self) {
        self.line.retain(|(_, bytes)| bytes.is_empty());
    }

    pub(super) fn take(&mut self, bytes: &[u8], now_ms: f64) {
        if self.mute {
            return;
        }
        if self.boot_until_ms.is_some() {
            if self.boot_rate == Some(self.rate) {
                self.boot_in.extend(bytes);
                while self.bootloader(now_ms) {}
            }
            return;
        }
        if self.flash.is_empty() || self.rate != RATE {
            return;
        }
        let mut frames = Vec::new();
        self.deframer.feed(bytes, |frame| frames.extend(frame));
        for frame in frames {
            let asked = Ask::parse(frame.number, &frame.payload);
            if let Ok(ask) = &asked {
                self.asked.push(ask.clone());
            }
            let payload = asked
                .and_then(|ask| self.answer(ask, now_ms))
                .map_or_else(|fault| vec![fault.number()], |answer| answer.payload());
            let reply = encode_frame(frame.number | REPLY, frame.sequence, &payload).unwrap();
            self.replies += 1;
            if !self.lost.contains(&(self.replies - 1)) {
                let at_ms = now_ms + self.delay_ms;
                self.line.push((at_ms, [&self.garbage[..], &reply].concat()));
            }
        }
    }

    pub(super) fn give(&mut self, now_ms: f64) -> Vec<u8> {
        if self.boot_until_ms.is_some_and(|until_ms| now_ms >= until_ms) {
            self.boot(now_ms);
        }
        if self.restart_at_ms.is_some_and(|at_ms| now_ms >= at_ms) {
            self.restart(ResetCause::Watchdog, now_ms);
        }
        if self.streaming && now_ms >= self.next_block_ms {
            self.next_block_ms = now_ms + 8.0;
            let sample = Sample { raw: [551, 1023], feed: None, label: None, pressed: None };
            let block =
                SampleBlock { tick: now_ms as u32, lost: 0, two_wires: false, samples: vec![sample; 8] };
            self.tell(BoxEvent::Samples(block), now_ms);
        }
        if self.mute {
            self.line.clear();
        }
        let (due, later) =
            std::mem::take(&mut self.line).into_iter().partition(|(at_ms, _)| *at_ms <= now_ms);
        self.line = later;
        due.into_iter().flat_map(|(_, bytes): (f64, Vec<u8>)| bytes).collect()
    }

    fn answer(&mut self, ask: Ask, now_ms: f64) -> Result<Answer, Fault> {
        if self.busy > 0 {
            self.busy -= 1;
            return Err(Fault::Busy);
        }
        match ask {
            Ask::Identify => return Ok(Answer::Identity(Box::new(self.identity()))),
            Ask::Stream(_) if !self.reference => return Err(Fault::Reference),
            Ask::Stream(on) => self.streaming = on,
            Ask::Reference(_) => self.reference = true,
            Ask::Listen(on) => self.listening = on,
            Ask::Watch(on) => self.watching = on,
            Ask::Send { .. } => self.tell(BoxEvent::Sent { frames: 3 }, now_ms + 50.0),
            Ask::Calibrate(mv) => self.calibrated = mv.is_some(),
            Ask::Counters => return Ok(Answer::Counters(Counters { presses: 12, ..Counters::default() })),
            Ask::Restart => self.restart_at_ms = Some(now_ms + 250.0),
            Ask::StopSending | Ask::Rate500k(_) => {}
            Ask::WriteBegin { .. } if self.supply_fault => return Err(Fault::Supply),
            Ask::WriteBegin { length, check } => {
                let slot = self.in_use().map_or(0, |slot| 1 - slot.number);
                self.eeprom[usize::from(slot) * SLOT] = 0xFF;
                self.writing = Some((slot, length, check, Vec::new()));
                return Ok(Answer::WriteBegun { slot });
            }
            Ask::WriteData { offset, bytes } => match &mut self.writing {
                Some((.., stored)) if stored.len() == usize::from(offset) => stored.extend(bytes),
                _ => return Err(Fault::Order),
            },
            Ask::WriteEnd => {
                let Some((slot, length, check, body)) = self.writing.take() else { return Err(Fault::Order) };
                if body.len() != usize::from(length) || image_check(&body) != check {
                    return Err(Fault::Check);
                }
                let sequence = self.in_use().map_or(1, |slot| slot.sequence.wrapping_add(1));
                self.store(usize::from(slot), sequence, &body);
                self.reference = true;
                return Ok(Answer::Written { slot, sequence });
            }
            Ask::Read { slot, offset, count } => {
                let slot = slot.or(self.in_use().map(|slot| slot.number)).ok_or(Fault::NoImage)?;
                let start = usize::from(slot) * SLOT + usize::from(offset);
                let bytes = self.eeprom[start..][..usize::from(count)].to_vec();
                return Ok(Answer::Bytes { slot, offset, bytes });
            }
        }
        Ok(Answer::Done)
    }

    fn identity(&self) -> Identity {
        Identity {
            protocol: self.protocol,
            firmware: (1, 0),
            signature: self.signature,
            has_image: self.in_use().is_some(),
            has_damage: false,
            reference_named: self.reference,
            calibrated: self.calibrated,
            fuses: [0xFF, 0xDE, 0xFC, 0xCF],
            most: (16, 48, 32),
            body_max: 472,
            payload_max: self.payload_max,
            converter_top: CONVERTER_TOP,
            sample_hz: SAMPLE_HZ,
            capture_edges: CAPTURE_EDGES,
            capture_step_ns: CAPTURE_STEP_NS,
            pulse_step_ns: PULSE_STEP_NS,
            least_pulse_us: LEAST_PULSE_US,
            rates: vec![RATE, RATE_FAST],
            slot: self.in_use(),
            supply_mv: self.reference.then_some(4_020),
            reset: self.cause,
        }
    }

    /// One command of AVR061, where it is whole.
    fn bootloader(&mut self, now_ms: f64) -> bool {
        let length = match self.boot_in.first() {
            None => return false,
            Some(0x30 | 0x50 | 0x51 | 0x75) => 2,
            Some(0x55) => 4,
            Some(0x64) => 5 + 128,
            Some(0x74) => 5,
            // Anything else makes it start the program.
            Some(_) => {
                self.boot_in.clear();
                self.boot(now_ms);
                return false;
            }
        };
        if self.boot_in.len() < length {
            return false;
        }
        let command: Vec<u8> = self.boot_in.drain(..length).collect();
        self.boot_until_ms = Some(now_ms + 1_000.0);
        assert_eq!(command.last(), Some(&0x20), "every command ends with Sync_CRC_EOP: {command:02X?}");
        let mut answer = vec![0x14];
        match command[0] {
            0x75 => answer.extend(self.signature),
            0x55 => self.address = 2 * usize::from(u16::from_le_bytes([command[1], command[2]])),
            0x64 => {
                assert_eq!(command[1..4], [0x00, 0x80, b'F']);
                if let Some((after, times)) = self.dies_after
                    && self.pages >= after
                    && times > 0
                {
                    self.dies_after = Some((after, times - 1));
                    return false;
                }
                self.pages += 1;
                let end = self.address + 128;
                if self.flash.len() < end {
                    self.flash.resize(end, 0xFF);
                }
                self.flash[self.address..end].copy_from_slice(&command[4..132]);
                if let Some(stuck) = self.stuck {
                    self.flash[stuck] = 0x00;
                }
            }
            0x74 => {
                assert_eq!(command[1..4], [0x00, 0x80, b'F']);
                answer.extend(&self.flash[self.address..][..128]);
            }
            0x51 if self.leaves_silently => {
                self.boot(now_ms);
                return false;
            }
            _ => {}
        }
        answer.push(0x10);
        self.line.push((now_ms + self.delay_ms, answer));
        if command[0] == 0x51 {
            self.boot(now_ms + self.delay_ms);
        }
        true
    }
}
