//! An image as the box reads it: the C reader and the C layout of codes, safely. Knows no project, and
//! writes no image.

use std::sync::Arc;

use super::ffi_image::{
    ON_SECOND_WIRE, SwBand, SwCommand, SwFrame, SwImage, flags, reading, sw_frame_next, sw_frame_plan,
    sw_frame_start, sw_frame_timing, sw_image_command, sw_image_load, sw_image_pair, sw_record_command,
};
use super::types::{Band, Has, Rules, Wires};
use crate::signal::Level;
use crate::wire::ReferenceKind;

/// Parts of a microsecond that the box keeps timings in: 1/256 of a tick of 0.5 µs.
const PARTS_PER_US: f64 = 512.0;
/// The output's ticks in a microsecond.
const TICKS_PER_US: f64 = 2.0;
/// The gestures in the image's order.
const GESTURES: [BoxGesture; 3] = [BoxGesture::Tap, BoxGesture::Hold, BoxGesture::DoubleTap];
/// `SW_NO_PAIR`.
const NO_PAIR: u16 = 0xFFFF;
/// Where a wire rests that is not there.
const NOWHERE: Band = Band { low: 1, high: 0 };
/// The box's fault for an image longer than a slot.
const FAULT_TOO_LONG: u8 = 7;
/// The box's fault for a code that can't be sent.
const FAULT_CODE: u8 = 14;

/// A body of an image that the box would take.
#[derive(Clone, Debug)]
pub struct BoxImage {
    body: Arc<[u8]>,
    loaded: SwImage,
}

/// What an image says beside bands, pairs and codes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BoxSettings {
    /// What the converter measures against.
    pub reference: ReferenceKind,
    /// The feed monitor's reading at the nominal feed; `None` where none is fitted.
    pub feed: Option<Level>,
    /// Whether the infrared LED is sent, too.
    pub infrared: bool,
    /// Tells one vehicle's image from another's.
    pub mark: u16,
    /// How many pairs there are.
    pub pairs: u8,
    /// How many commands there are.
    pub commands: u8,
    /// Whether there is a free family.
    pub has_free: bool,
}

/// What is done to a button, as the image numbers it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum BoxGesture {
    /// A tap.
    Tap,
    /// A hold.
    Hold,
    /// A double tap.
    DoubleTap,
}

/// What a gesture of a button leads to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BoxPair {
    /// The command, by its number in the image.
    pub command: u8,
    /// Whether it is sent on while the button is held.
    pub repeats: bool,
    /// A press anew each so many milliseconds while held; `None` repeats in the family's own way.
    pub every_ms: Option<u16>,
}

/// A command of the image.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BoxCommand {
    /// A code of a family of the table, by its number from 1 in the table's order.
    Family {
        /// The family.
        family: u8,
        /// The address.
        address: u16,
        /// The command.
        command: u32,
    },
    /// A code of the free family.
    Free {
        /// The address.
        address: u16,
        /// The command.
        command: u32,
    },
    /// Timings.
    Raw,
}

/// Which frame of a press.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Which {
    /// The first.
    First,
    /// One that follows while the button is held.
    Again,
}

/// A frame as the box would send it.
#[derive(Clone, Debug, PartialEq)]
pub struct PlannedFrame {
    /// Marks and spaces in microseconds as planned, in steps of 1/512 µs; begins and ends with a mark.
    pub timings_us: Vec<f64>,
    /// The same as the output times them, in ticks of 0.5 µs.
    pub walk_ticks: Vec<u32>,
    /// From the last edge to the start of the next frame, in ticks; 0 if none follows.
    pub gap_ticks: u32,
    /// From the start of a frame to the start of the next while held; `None` if it is sent once.
    pub period_us: Option<f64>,
    /// How many frames are sent at least, however short the press; 0: one, and no more while held.
    pub least_frames: u8,
    /// The infrared LED's carrier.
    pub carrier_khz: u8,
}

impl BoxImage {
    /// A body, if the box would take it.
    ///
    /// # Errors
    /// The box's fault number, as in an answer over the link.
    pub fn new(body: Vec<u8>) -> Result<Self, u8> {
        let body: Arc<[u8]> = body.into();
        let length = u16::try_from(body.len()).map_err(|_| FAULT_TOO_LONG)?;
        let mut loaded = SwImage::default();
        match reading(&body, |read| sw_image_load(read, 0, length, &mut loaded)) {
            0 => Ok(Self { body, loaded }),
            fault => Err(fault),
        }
    }

    /// The bytes.
    #[must_use]
    pub fn body(&self) -> &[u8] {
        &self.body
    }

    /// The memory its numbers are read from, with the body at its start.
    pub(super) fn memory(&self) -> &Arc<[u8]> {
        &self.body
    }

    /// What the box keeps of it in memory.
    pub(super) fn loaded(&self) -> &SwImage {
        &self.loaded
    }

    /// What it says beside bands, pairs and codes.
    #[must_use]
    pub fn settings(&self) -> BoxSettings {
        let said = &self.loaded.rules;
        BoxSettings {
            reference: match said.flags & flags::REFERENCE {
                0 => ReferenceKind::Supply,
                1 => ReferenceKind::Internal,
                _ => ReferenceKind::External,
            },
            feed: (said.flags & flags::MONITOR != 0).then(|| Level::from_steps(said.feed_level)),
            infrared: said.flags & flags::INFRARED != 0,
            mark: u16::from_le_bytes(said.mark),
            pairs: said.pairs,
            commands: said.commands,
            has_free: self.loaded.free_at != 0,
        }
    }

    /// What its recogniser goes by.
    #[must_use]
    pub fn rules(&self) -> Rules {
        let said = &self.loaded.rules;
        let two = said.flags & flags::TWO_WIRES != 0;
        let (rests, buttons) = said.band.split_at(if two { 2 } else { 1 });
        let band = |band: &SwBand| Band { low: band.low & !ON_SECOND_WIRE, high: band.high };
        let button = |(low, &has): (&SwBand, &u8)| {
            let wire = if low.low & ON_SECOND_WIRE != 0 { 2 } else { 1 };
            (wire, band(low), Has { tap: has & 1 != 0, hold: has & 2 != 0, double_tap: has & 4 != 0 })
        };
        Rules {
            wires: if two { Wires::Two } else { Wires::One },
            rests: [0, 1].map(|wire| rests.get(wire).map_or(NOWHERE, band)),
            buttons: buttons.iter().zip(&said.has).take(said.buttons.into()).map(button).collect(),
            dwell_ticks: said.dwell_ticks,
            settle: Level::from_steps(said.settle_levels),
            hold_ticks: said.hold_ticks,
            double_ticks: said.double_ticks,
            rollover: said.flags & flags::ROLLOVER != 0,
        }
    }

    /// What a gesture of a button leads to, if to anything.
    #[must_use]
    pub fn pair(&self, button: u8, gesture: BoxGesture) -> Option<BoxPair> {
        let number = GESTURES.iter().position(|&other| other == gesture)? as u8;
        if button >= self.loaded.rules.buttons {
            return None;
        }
        let pair = reading(&self.body, |read| sw_image_pair(read, &self.loaded, button, number));
        // As in the image: DEVELOPERS.md, "The image".
        (pair != NO_PAIR).then_some(BoxPair {
            command: (pair >> 7 & 0x1F) as u8,
            repeats: pair & 0x40 != 0,
            every_ms: (pair >> 12 != 0).then_some((pair >> 12) * 50),
        })
    }

    /// The command with this number, if there is one.
    #[must_use]
    pub fn command(&self, number: u8) -> Option<BoxCommand> {
        self.raw_command(number).map(|found| BoxCommand::from(&found))
    }

    /// Lays out a frame of the command with this number.
    ///
    /// # Errors
    /// The box's fault number: there is no such command, or it can't be sent.
    pub fn plan_frame(&self, number: u8, toggle: bool, which: Which) -> Result<PlannedFrame, u8> {
        plan(&self.body, &self.raw_command(number).ok_or(FAULT_CODE)?, toggle, which)
    }

    fn raw_command(&self, number: u8) -> Option<SwCommand> {
        let mut command = SwCommand::default();
        let found = reading(&self.body, |read| sw_image_command(read, &self.loaded, number, &mut command));
        (found != 0).then_some(command)
    }
}

impl From<&SwCommand> for BoxCommand {
    fn from(&SwCommand { family, address, command, .. }: &SwCommand) -> Self {
        match family {
            14 => Self::Free { address, command },
            15 => Self::Raw,
            family => Self::Family { family, address, command },
        }
    }
}

/// Lays out a frame of a command record as the message "send" carries it: a group of one, of a family
/// of the table or raw.
///
/// # Errors
/// The box's fault number if it would refuse the record.
pub fn plan_record(record: &[u8], toggle: bool, which: Which) -> Result<PlannedFrame, u8> {
    let memory: Arc<[u8]> = record.into();
    let length = u16::try_from(record.len()).map_err(|_| FAULT_CODE)?;
    let mut command = SwCommand::default();
    match reading(&memory, |read| sw_record_command(read, 0, length, 0, &mut command)) {
        0 => plan(&memory, &command, toggle, which),
        fault => Err(fault),
    }
}

fn plan(memory: &Arc<[u8]>, command: &SwCommand, toggle: bool, which: Which) -> Result<PlannedFrame, u8> {
    let mut frame = SwFrame::default();
    let again = u8::from(which == Which::Again);
    match reading(memory, |read| sw_frame_plan(read, command, toggle.into(), again, &mut frame)) {
        0 => {}
        fault => return Err(fault),
    }
    sw_frame_start(&mut frame);
    let walk_ticks: Vec<u32> = (0..frame.count).map(|_| sw_frame_next(&mut frame)).collect();
    let period = walk_ticks.iter().sum::<u32>() + frame.gap_ticks;
    Ok(PlannedFrame {
        timings_us: (0..frame.count)
            .map(|at| f64::from(sw_frame_timing(&frame, at)) / PARTS_PER_US)
            .collect(),
        gap_ticks: frame.gap_ticks,
        walk_ticks,
        period_us: (frame.gap_ticks != 0).then(|| f64::from(period) / TICKS_PER_US),
        least_frames: frame.row.least_frames,
        carrier_khz: frame.row.carrier_khz,
    })
}
