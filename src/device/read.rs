//! Reading the slot in use: its header, then its body, then the sum over both.

use crate::image::{FORMAT, HEADER_BYTES, MAGIC, check};
use crate::wire::limits::STRETCH_MAX;
use crate::wire::{Answer, AnswerFault, Ask, Fault};

use super::errand::{Errand, Heard, Known, Trouble, Turn};
use super::job::{BoxReport, Job, Phase, SlotBytes};

/// A slot's header: magic, format, sequence and its inverse, length, check.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Header {
    format: u8,
    sequence: u8,
    length: u16,
    check: u16,
}

impl Header {
    fn read(bytes: &[u8]) -> Option<Self> {
        let &[MAGIC, format, sequence, inverse, low, high, check_low, check_high] = bytes else {
            return None;
        };
        let (length, check) = (u16::from_le_bytes([low, high]), u16::from_le_bytes([check_low, check_high]));
        (inverse == !sequence).then_some(Self { format, sequence, length, check })
    }
}

/// A slot's letter on the screen.
pub(super) const fn letter(slot: u8) -> char {
    if slot == 0 { 'A' } else { 'B' }
}

/// The most bytes one answer of this box carries.
pub(super) fn stretch(known: &Known) -> usize {
    let payload = known.identity.as_ref().map_or(0, |identity| usize::from(identity.payload_max));
    payload.saturating_sub(4).clamp(1, STRETCH_MAX) // fault, slot, offset
}

/// Reads what the box holds.
#[derive(Debug, Default)]
pub(super) struct Read {
    slot: Option<u8>,
    bytes: Vec<u8>,
    header: Option<Header>,
    wanted: usize,
    told: usize,
    asked: usize,
    is_empty: bool,
    is_told: bool,
}

impl Read {
    pub(super) fn new() -> Self {
        Self::default()
    }

    const DOING: &'static str = Job::Read.doing();
}

impl Errand for Read {
    fn job(&self) -> Option<Job> {
        Some(Job::Read)
    }

    fn next(&mut self, known: &mut Known) -> Turn {
        if self.is_told {
            return Turn::Done;
        }
        if self.is_empty {
            self.is_told = true;
            return Turn::Report(BoxReport::Contents(None));
        }
        let done = self.bytes.len();
        if let Some(header) = self.header {
            if self.told < done {
                self.told = done;
                return Turn::Report(BoxReport::Progress {
                    job: Job::Read,
                    phase: Phase::Checking,
                    done,
                    of: self.wanted,
                });
            }
            if done == self.wanted {
                let body = self.bytes.split_off(HEADER_BYTES);
                let number = self.slot.unwrap_or(0);
                let found = check(&body);
                if found != header.check {
                    return Turn::Failed(Trouble::new(
                        format!(
                            "Slot {} says its checksum is {:04X}, its {} bytes give {found:04X}.",
                            letter(number),
                            header.check,
                            body.len()
                        ),
                        "Read again. If it stays, write the project to the box.",
                    ));
                }
                self.is_told = true;
                let (sequence, check) = (header.sequence, header.check);
                return Turn::Report(BoxReport::Contents(Some(SlotBytes { number, sequence, check, body })));
            }
        }
        let whole = if self.header.is_some() { self.wanted } else { HEADER_BYTES };
        self.asked = (whole - done).min(stretch(known));
        let offset = u16::try_from(done).unwrap_or(u16::MAX);
        Turn::Ask(Ask::Read { slot: self.slot, offset, count: u8::try_from(self.asked).unwrap_or(u8::MAX) })
    }

    fn hear(&mut self, heard: Heard, known: &mut Known) -> Result<(), Trouble> {
        let (slot, offset, bytes) = match heard.answer {
            Ok(Answer::Bytes { slot, offset, bytes }) => (slot, offset, bytes),
            Err(AnswerFault::Fault(Fault::NoImage)) if self.bytes.is_empty() => {
                self.is_empty = true;
                return Ok(());
            }
            Err(fault) => return Err(Trouble::from_answer(Self::DOING, fault)),
            Ok(_) => return Err(Trouble::beside(Self::DOING)),
        };
        let is_asked = usize::from(offset) == self.bytes.len() && bytes.len() == self.asked;
        if !is_asked || self.slot.is_some_and(|asked| asked != slot) {
            return Err(Trouble::beside(Self::DOING));
        }
        self.slot = Some(slot);
        self.bytes.extend(bytes);
        if self.header.is_none() && self.bytes.len() == HEADER_BYTES {
            let most = known.identity.as_ref().map_or(0, |identity| identity.body_max);
            let header =
                Header::read(&self.bytes).filter(|header| header.length <= most).ok_or_else(|| {
                    let said: Vec<_> = self.bytes.iter().map(|byte| format!("{byte:02X}")).collect();
                    Trouble::new(
                        format!("Slot {} does not begin like an image: {}.", letter(slot), said.join(" ")),
                        "Write the project to the box.",
                    )
                })?;
            if header.format != FORMAT {
                let what = format!(
                    "Slot {} holds an image of format {}, this program knows format {FORMAT}.",
                    letter(slot),
                    header.format
                );
                let advice = "Take a newer version of this program, or write the project to the box.";
                return Err(Trouble::new(what, advice));
            }
            self.wanted = HEADER_BYTES + usize::from(header.length);
            self.header = Some(header);
        }
        Ok(())
    }

    fn whereabouts(&self) -> String {
        if self.wanted == 0 {
            String::new()
        } else {
            format!("at byte {} of {}", self.bytes.len(), self.wanted)
        }
    }
}
