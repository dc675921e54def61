//! Flashing over a board's serial bootloader: call it, fill the pages, read every one back. Bytes and
//! the time in, bytes and what happened out. Nothing is left to the bootloader's word: what was
//! written is compared.

use std::collections::VecDeque;

use super::job::Phase;
use super::stk::{Command, Listener, PAGE, SIGNATURE};
use super::timing::{DRAIN_MS, FLASH_TRIES, PAGE_MS, RESET_MS, RESETS, SYNC_EVERY_MS, SYNCS};

/// The most bytes of a program: the flash's 32 KiB less 2 KiB for the largest of the bootloaders
/// these boards come with.
pub const FIRMWARE_MAX: usize = 0x7800;

/// The rates bootloaders of these boards talk at, the newer one first.
pub const BOOTLOADER_RATES: [u32; 2] = [115_200, 57_600];

/// Why a flash failed.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum FlashError {
    /// No bootloader.
    #[error("No bootloader answers at {} or {} bits per second.", BOOTLOADER_RATES[0], BOOTLOADER_RATES[1])]
    NoAnswer,
    /// Another chip.
    #[error("The chip says {:02X} {:02X} {:02X}, an ATmega328P says 1E 95 0F.", .0[0], .0[1], .0[2])]
    WrongChip([u8; 3]),
    /// A byte differs.
    #[error("Byte {address:#06X} reads {found:02X} where {written:02X} was written.")]
    Mismatch {
        /// Where.
        address: usize,
        /// What was written.
        written: u8,
        /// What it reads.
        found: u8,
    },
    /// It fell silent.
    #[error("The bootloader fell silent {doing}, at byte {at} of {of}.")]
    Silent {
        /// While what was done.
        doing: &'static str,
        /// At this byte.
        at: usize,
        /// Of so many.
        of: usize,
    },
    /// It said something else.
    #[error("The bootloader answered {byte:02X} {doing}, at byte {at} of {of}.")]
    Garbled {
        /// What it said.
        byte: u8,
        /// While what was done.
        doing: &'static str,
        /// At this byte.
        at: usize,
        /// Of so many.
        of: usize,
    },
    /// Nothing to flash, or too much.
    #[error("A firmware of {0} bytes can't be flashed: 1 to {FIRMWARE_MAX} bytes fit beside the bootloader.")]
    Size(usize),
}

impl FlashError {
    /// What to do next; `half_flashed` where pages were changed already.
    #[must_use]
    pub fn advice(&self, half_flashed: bool) -> String {
        let advice = match self {
            Self::NoAnswer => {
                "Check the cable (some carry power alone) and that this is the board's port. Where the \
                 port can't reset the board, start again and press its reset button just as it starts."
            }
            Self::WrongChip(_) => "Take an ATmega328P board. Nothing on this one was changed.",
            Self::Mismatch { .. } => {
                "Flash again. If the same byte stays wrong, the chip is worn out: take another board."
            }
            Self::Silent { .. } | Self::Garbled { .. } => {
                "Check the cable, close other programs that use the port, and flash again."
            }
            Self::Size(_) => "Take the firmware that comes with this program.",
        };
        if half_flashed {
            format!("{advice} The box has no whole program until then.")
        } else {
            advice.to_owned()
        }
    }

    /// Whether beginning anew may help.
    const fn may_pass(&self) -> bool {
        matches!(self, Self::Mismatch { .. } | Self::Silent { .. } | Self::Garbled { .. })
    }
}

/// What comes out of a flash.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum FlashStep {
    Send(Vec<u8>),
    SetRate(u32),
    PulseReset,
    Discard,
    Progress {
        phase: Phase,
        done: usize,
        of: usize,
    },
    /// A bootloader is there (only where nothing was to be flashed).
    Found,
    /// Every byte is as it should be.
    Flashed,
    Failed(FlashError),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Stage {
    Signature,
    Enter,
    WriteAt(usize),
    Write(usize),
    CheckAt(usize),
    Check(usize),
    Leave,
}

#[derive(Clone, Debug)]
enum State {
    /// The next reset, at once.
    Reset,
    /// It was reset; it is called from then on.
    Settling { until_ms: f64 },
    /// It is being called.
    Syncing { calls: usize, next_ms: f64, listener: Listener },
    /// It answered.
    Draining { until_ms: f64 },
    /// A command waits for its answer.
    Asking { stage: Stage, until_ms: f64, listener: Listener },
    /// All said.
    Over,
}

/// One flash, or one look for a bootloader.
#[derive(Clone, Debug)]
pub(super) struct Flasher {
    /// Nothing is to be flashed.
    is_look: bool,
    /// Whole pages.
    image: Option<Vec<u8>>,
    length: usize,
    state: State,
    now_ms: f64,
    resets: usize,
    rate: usize,
    tries: usize,
    touched: bool,
    told: Option<(Phase, usize)>,
    out: VecDeque<FlashStep>,
}

impl Flasher {
    /// Looks whether a bootloader answers.
    pub(super) fn look(now_ms: f64) -> Self {
        Self {
            is_look: true,
            image: None,
            length: 0,
            state: State::Reset,
            now_ms,
            resets: 0,
            rate: 0,
            tries: 1,
            touched: false,
            told: None,
            out: VecDeque::new(),
        }
    }

    /// Flashes these bytes from address 0 on.
    pub(super) fn new(mut image: Vec<u8>, now_ms: f64) -> Self {
        let length = image.len();
        let mut flasher = Self::look(now_ms);
        flasher.is_look = false;
        flasher.length = length;
        if length == 0 || length > FIRMWARE_MAX {
            flasher.state = State::Over;
            flasher.out.push_back(FlashStep::Failed(FlashError::Size(length)));
            return flasher;
        }
        image.resize(length.next_multiple_of(PAGE), 0xFF);
        flasher.image = Some(image);
        flasher.tell(Phase::Calling, 0, RESETS);
        flasher
    }

    /// Whether it only looks.
    pub(super) const fn is_look(&self) -> bool {
        self.is_look
    }

    /// Whether pages may have been changed.
    pub(super) const fn touched(&self) -> bool {
        self.touched
    }

    /// Where it stands, in words.
    pub(super) fn whereabouts(&self) -> String {
        match self.told {
            Some((Phase::Writing, done)) => format!("after {done} of {} bytes", self.length),
            Some((Phase::Checking, done)) => {
                format!("all bytes written, {done} of {} read back", self.length)
            }
            _ => "while the bootloader was called".to_owned(),
        }
    }

    pub(super) fn take(&mut self, bytes: &[u8], now_ms: f64) {
        self.now_ms = now_ms;
        for &byte in bytes {
            let heard = match &mut self.state {
                State::Syncing { listener, .. } | State::Asking { listener, .. } => listener.take(byte),
                _ => None,
            };
            match (heard, &self.state) {
                (None, _) => {}
                (Some(Ok(_)), State::Syncing { .. }) => {
                    self.state = State::Draining { until_ms: now_ms + DRAIN_MS };
                }
                (Some(Ok(answer)), &State::Asking { stage, .. }) => self.answered(stage, &answer),
                (Some(Err(byte)), &State::Asking { stage, .. }) => {
                    let (doing, at) = self.doing(stage);
                    self.fail(FlashError::Garbled { byte, doing, at, of: self.length });
                }
                _ => {}
            }
        }
    }

    pub(super) fn poll(&mut self, now_ms: f64) -> Option<FlashStep> {
        self.now_ms = now_ms;
        if self.out.is_empty() {
            self.advance();
        }
        self.out.pop_front()
    }

    fn advance(&mut self) {
        let now_ms = self.now_ms;
        match &mut self.state {
            State::Reset if self.resets == RESETS => self.fail(FlashError::NoAnswer),
            State::Reset => {
                self.out.extend([
                    FlashStep::SetRate(BOOTLOADER_RATES[self.rate]),
                    FlashStep::PulseReset,
                    FlashStep::Discard,
                ]);
                self.state = State::Settling { until_ms: now_ms + RESET_MS };
            }
            State::Settling { until_ms } if now_ms >= *until_ms => {
                self.out.push_back(FlashStep::Discard);
                let listener = Listener::to(&Command::Sync);
                self.state = State::Syncing { calls: 0, next_ms: now_ms, listener };
            }
            State::Syncing { calls, next_ms, .. } if now_ms >= *next_ms => {
                if *calls < SYNCS {
                    *calls += 1;
                    *next_ms = now_ms + SYNC_EVERY_MS;
                    self.out.push_back(FlashStep::Send(Command::Sync.bytes()));
                } else {
                    self.resets += 1;
                    self.rate = (self.rate + 1) % BOOTLOADER_RATES.len();
                    self.state = State::Reset;
                    self.tell(Phase::Calling, self.resets, RESETS);
                }
            }
            State::Draining { until_ms } if now_ms >= *until_ms => {
                self.out.push_back(FlashStep::Discard);
                if self.image.is_some() {
                    self.ask(Stage::Signature);
                } else {
                    self.state = State::Over;
                    self.out.push_back(FlashStep::Found);
                }
            }
            &mut State::Asking { stage, until_ms, .. } if now_ms >= until_ms => {
                let (doing, at) = self.doing(stage);
                self.fail(FlashError::Silent { doing, at, of: self.length });
            }
            _ => {}
        }
    }

    fn ask(&mut self, stage: Stage) {
        let page = |page: usize| &self.image.as_deref().unwrap_or_default()[page * PAGE..][..PAGE];
        let command = match stage {
            Stage::Signature => Command::Signature,
            Stage::Enter => Command::Enter,
            Stage::WriteAt(page) | Stage::CheckAt(page) => Command::Address(page),
            Stage::Write(number) => Command::Program(page(number)),
            Stage::Check(_) => Command::Read,
            Stage::Leave => Command::Leave,
        };
        self.touched |= matches!(stage, Stage::Write(_));
        self.out.push_back(FlashStep::Send(command.bytes()));
        self.state =
            State::Asking { stage, until_ms: self.now_ms + PAGE_MS, listener: Listener::to(&command) };
    }

    fn answered(&mut self, stage: Stage, answer: &[u8]) {
        let pages = self.image.as_ref().map_or(0, Vec::len) / PAGE;
        let length = self.length;
        let next = match stage {
            Stage::Signature => {
                if let Ok(found) = <[u8; 3]>::try_from(answer)
                    && found != SIGNATURE
                {
                    self.fail(FlashError::WrongChip(found));
                    return;
                }
                Stage::Enter
            }
            Stage::Enter => {
                self.tell(Phase::Writing, 0, length);
                Stage::WriteAt(0)
            }
            Stage::WriteAt(page) => Stage::Write(page),
            Stage::Write(page) => {
                self.tell(Phase::Writing, ((page + 1) * PAGE).min(length), length);
                if page + 1 < pages { Stage::WriteAt(page + 1) } else { Stage::CheckAt(0) }
            }
            Stage::CheckAt(page) => Stage::Check(page),
            Stage::Check(page) => {
                let written = self.image.as_deref().unwrap_or_default().iter().skip(page * PAGE);
                let differs =
                    (page * PAGE..).zip(written.zip(answer)).find(|(_, (written, found))| written != found);
                if let Some((address, (&written, &found))) = differs {
                    self.fail(FlashError::Mismatch { address, written, found });
                    return;
                }
                self.tell(Phase::Checking, ((page + 1) * PAGE).min(length), length);
                if page + 1 < pages { Stage::CheckAt(page + 1) } else { Stage::Leave }
            }
            Stage::Leave => {
                self.state = State::Over;
                self.out.push_back(FlashStep::Flashed);
                return;
            }
        };
        self.ask(next);
    }

    /// What a stage is in words, and its byte.
    fn doing(&self, stage: Stage) -> (&'static str, usize) {
        match stage {
            Stage::Signature => ("when asked for the chip", 0),
            Stage::Enter => ("before the first page", 0),
            Stage::WriteAt(page) | Stage::Write(page) => ("while a page was written", page * PAGE),
            Stage::CheckAt(page) | Stage::Check(page) => ("while a page was read back", page * PAGE),
            Stage::Leave => ("when told to leave", self.length),
        }
    }

    /// A fault that may pass begins anew, at the rate that answered.
    fn fail(&mut self, error: FlashError) {
        if matches!(self.state, State::Asking { stage: Stage::Leave, .. }) {
            // Every byte was read back; some bootloaders leave without a word, and the program speaks.
            self.state = State::Over;
            self.out.push_back(FlashStep::Flashed);
        } else if error.may_pass() && self.tries < FLASH_TRIES {
            self.tries += 1;
            self.resets = 0;
            self.state = State::Reset;
        } else {
            self.state = State::Over;
            self.out.push_back(FlashStep::Failed(error));
        }
    }

    /// Progress that never runs backwards, however often it begins anew.
    fn tell(&mut self, phase: Phase, done: usize, of: usize) {
        if self.image.is_some() && self.told.is_none_or(|told| told < (phase, done)) {
            self.told = Some((phase, done));
            self.out.push_back(FlashStep::Progress { phase, done, of });
        }
    }
}
