//! Filling the box: the body goes over, the box takes it into use, and every byte is read back and
//! compared, the header's too. The box keeps the image it had until the new one is whole.

use std::collections::VecDeque;

use crate::image::{HEADER_BYTES, check, slot_bytes};
use crate::wire::{Answer, AnswerFault, Ask, Fault};

use super::errand::{Errand, Greet, Heard, Known, Trouble, Turn, doing_at};
use super::job::{BoxReport, Job, Phase, SlotBytes};
use super::read::{letter, stretch};

/// Writes one image.
#[derive(Debug)]
pub(super) struct Write {
    body: Vec<u8>,
    check: u16,
    stage: Stage,
    slot: u8,
    /// The slot's sequence number, once the box said it.
    sequence: Option<u8>,
    told: VecDeque<BoxReport>,
    greet: Greet,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Stage {
    Begin,
    /// Bytes of the body that are over.
    Data(usize),
    End,
    /// Bytes of the slot that are compared.
    Check(usize),
    /// The box is asked who it is.
    Greet,
    Over,
}

impl Write {
    pub(super) fn new(body: Vec<u8>) -> Self {
        let check = check(&body);
        Self {
            check,
            body,
            stage: Stage::Begin,
            slot: 0,
            sequence: None,
            told: VecDeque::new(),
            greet: Greet::new(Some(Job::Write)),
        }
    }

    const DOING: &'static str = Job::Write.doing();

    fn tell(&mut self, phase: Phase, done: usize, of: usize) {
        self.told.push_back(BoxReport::Progress { job: Job::Write, phase, done, of });
    }

    fn length(&self) -> u16 {
        u16::try_from(self.body.len()).unwrap_or(u16::MAX)
    }

    /// The bytes asked for or sent from `at` on.
    fn piece(&self, at: usize, of: usize, known: &Known) -> usize {
        (of - at).min(stretch(known))
    }

    fn begin(&mut self, known: &Known) -> Result<Turn, Trouble> {
        let most = known.identity.as_ref().map_or(0, |identity| usize::from(identity.body_max));
        let length = self.body.len();
        if length == 0 || length > most {
            let what = if length == 0 {
                "There is nothing to write: the image is empty.".to_owned()
            } else {
                format!("The image has {length} bytes, this box holds {most}.")
            };
            return Err(Trouble::new(what, Fault::TooLong.advice()));
        }
        self.tell(Phase::Writing, 0, length);
        Ok(Turn::Ask(Ask::WriteBegin { length: self.length(), check: self.check }))
    }

    /// Compares bytes of the slot with what was written; gives how many are compared.
    fn compare(&mut self, at: usize, bytes: &[u8]) -> Result<usize, Trouble> {
        // The box chooses the sequence number; where the answer with it was lost, it is read here.
        let read = (at..).zip(bytes).find(|(place, _)| *place == 2).map(|(_, &byte)| byte);
        let sequence = self.sequence.or(read).unwrap_or_default();
        self.sequence = Some(sequence);
        let slot = slot_bytes(&self.body, sequence);
        let written = slot.iter().skip(at);
        match (at..).zip(bytes.iter().zip(written)).find(|(_, (found, written))| found != written) {
            None => Ok(at + bytes.len()),
            Some((place, (found, written))) => Err(Trouble::new(
                format!(
                    "Byte {place} of slot {} reads {found:02X} where {written:02X} was written.",
                    letter(self.slot)
                ),
                Fault::Worn.advice(),
            )),
        }
    }
}

impl Errand for Write {
    fn job(&self) -> Option<Job> {
        Some(Job::Write)
    }

    fn next(&mut self, known: &mut Known) -> Turn {
        if let Some(report) = self.told.pop_front() {
            return Turn::Report(report);
        }
        let whole = HEADER_BYTES + self.body.len();
        match self.stage {
            Stage::Begin => self.begin(known).unwrap_or_else(Turn::Failed),
            Stage::Data(at) => {
                let piece = self.piece(at, self.body.len(), known);
                let offset = u16::try_from(at).unwrap_or(u16::MAX);
                Turn::Ask(Ask::WriteData { offset, bytes: self.body[at..at + piece].to_vec() })
            }
            Stage::End => Turn::Ask(Ask::WriteEnd),
            Stage::Check(at) => {
                let count = u8::try_from(self.piece(at, whole, known)).unwrap_or(u8::MAX);
                let offset = u16::try_from(at).unwrap_or(u16::MAX);
                Turn::Ask(Ask::Read { slot: Some(self.slot), offset, count })
            }
            Stage::Greet => match self.greet.next(known) {
                Turn::Done => {
                    self.stage = Stage::Over;
                    let used = known.identity.as_ref().and_then(|identity| identity.slot);
                    match used {
                        Some(used) if used.number == self.slot && used.check == self.check => Turn::Done,
                        _ => Turn::Failed(Trouble::new(
                            format!(
                                "Slot {} was written and read back, but the box has not taken it into use.",
                                letter(self.slot)
                            ),
                            "Restart the box and read it again.",
                        )),
                    }
                }
                turn => turn,
            },
            Stage::Over => Turn::Done,
        }
    }

    fn hear(&mut self, heard: Heard, known: &mut Known) -> Result<(), Trouble> {
        let length = self.body.len();
        let whole = HEADER_BYTES + length;
        let was_done_before = heard.was_done_before();
        self.stage = match (self.stage, heard.answer) {
            (Stage::Greet, answer) => return self.greet.hear(Heard { answer, ..heard }, known),
            (Stage::Begin, Ok(Answer::WriteBegun { slot })) => {
                self.slot = slot;
                Stage::Data(0)
            }
            // Sent again after its answer was lost, and refused: these bytes are in already. Where
            // they are not, the next ones or the checksum say so.
            (Stage::Data(at), answer) if answer == Ok(Answer::Done) || was_done_before => {
                let done = at + self.piece(at, length, known);
                self.tell(Phase::Writing, done, length);
                if done == length { Stage::End } else { Stage::Data(done) }
            }
            (Stage::End, Ok(Answer::Written { slot, sequence })) if slot == self.slot => {
                self.sequence = Some(sequence);
                self.tell(Phase::Checking, 0, whole);
                Stage::Check(0)
            }
            // The write had ended already; what was read back tells whether well.
            (Stage::End, _) if was_done_before => {
                self.tell(Phase::Checking, 0, whole);
                Stage::Check(0)
            }
            (Stage::Check(at), Ok(Answer::Bytes { slot, offset, bytes }))
                if slot == self.slot
                    && usize::from(offset) == at
                    && bytes.len() == self.piece(at, whole, known) =>
            {
                let done = self.compare(at, &bytes)?;
                self.tell(Phase::Checking, done, whole);
                if done < whole {
                    Stage::Check(done)
                } else {
                    self.tell(Phase::Starting, 0, 1);
                    let (number, sequence) = (self.slot, self.sequence.unwrap_or_default());
                    let slot = SlotBytes { number, sequence, check: self.check, body: self.body.clone() };
                    self.told.push_back(BoxReport::Contents(Some(slot)));
                    Stage::Greet
                }
            }
            (_, Err(AnswerFault::Fault(fault @ Fault::Supply))) => {
                let supply_mv = known.identity.as_ref().and_then(|identity| identity.supply_mv);
                let measured = supply_mv.map_or_else(String::new, |mv| {
                    format!(
                        " It measured {} when it was asked last.",
                        crate::units::volt_text(f64::from(mv) / 1e3)
                    )
                });
                let trouble = Trouble::from_answer(Self::DOING, AnswerFault::Fault(fault));
                return Err(Trouble { what: trouble.what + &measured, ..trouble });
            }
            (_, Err(fault)) => {
                return Err(Trouble::from_answer(&doing_at(Job::Write, &self.whereabouts()), fault));
            }
            (_, Ok(_)) => return Err(Trouble::beside(Self::DOING)),
        };
        Ok(())
    }

    fn whereabouts(&self) -> String {
        match self.stage {
            Stage::Data(at) => format!("at byte {at} of {}", self.body.len()),
            Stage::Check(at) => format!("at byte {at} of {} read back", HEADER_BYTES + self.body.len()),
            _ => String::new(),
        }
    }
}
