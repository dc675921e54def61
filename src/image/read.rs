//! The bytes of an image back to its fields. What it refuses the box refuses, too; the box also refuses a
//! free family whose frames are longer than its period.

use super::bytes::{SECOND_WIRE, flag};
use super::codes::{FREE, RAW, Widths};
use super::model::{
    BODY_MAX, EVERY_STEP_MS, FreeFamily, FreeRepeat, Image, ImageBand, ImageButton, ImageCode, ImageCommand,
    ImagePair, RawRecord, ReferenceUse,
};
use crate::project::Gesture;
use crate::signal::Level;

/// Why bytes are no image.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum BodyError {
    /// Longer than a slot.
    #[error(
        "The image has {length} bytes, {} more than a slot holds. Write the project to the box again.",
        length - BODY_MAX
    )]
    TooLong {
        /// Its length.
        length: usize,
    },
    /// It ends in the middle of something.
    #[error(
        "The image ends at byte {length}, in the middle of {of}. Read the box again; if it stays so, write the project to it."
    )]
    Cut {
        /// Its length.
        length: usize,
        /// What was being read.
        of: &'static str,
    },
    /// It goes on behind its last command.
    #[error("The image has {over} bytes behind its last command. Write the project to the box again.")]
    Trailing {
        /// How many.
        over: usize,
    },
    /// A number that means nothing.
    #[error("{what} Write the project to the box again.")]
    Contents {
        /// Which, and what it may be.
        what: String,
    },
}

/// Bytes, taken from the front.
struct Bytes<'a> {
    left: &'a [u8],
    length: usize,
}

impl<'a> Bytes<'a> {
    fn take(&mut self, count: usize, of: &'static str) -> Result<&'a [u8], BodyError> {
        let (taken, left) =
            self.left.split_at_checked(count).ok_or(BodyError::Cut { length: self.length, of })?;
        self.left = left;
        Ok(taken)
    }

    /// A number of `bytes` bytes, 4 at most, low byte first.
    fn number(&mut self, bytes: usize, of: &'static str) -> Result<u32, BodyError> {
        let taken = self.take(bytes, of)?;
        Ok(taken.iter().rev().fold(0, |number, &byte| number << 8 | u32::from(byte)))
    }

    fn u8(&mut self, of: &'static str) -> Result<u8, BodyError> {
        Ok(self.number(1, of)? as u8)
    }

    fn u16(&mut self, of: &'static str) -> Result<u16, BodyError> {
        Ok(self.number(2, of)? as u16)
    }
}

fn contents(what: impl Into<String>) -> BodyError {
    BodyError::Contents { what: what.into() }
}

impl Image {
    /// The image in a body, all of it.
    ///
    /// # Errors
    /// [`BodyError`] where the box, too, would refuse it.
    pub fn from_body(body: &[u8]) -> Result<Self, BodyError> {
        if body.len() > BODY_MAX {
            return Err(BodyError::TooLong { length: body.len() });
        }
        let mut bytes = Bytes { left: body, length: body.len() };
        let mut image = Self::default();
        let (flags, buttons, pairs, commands) = head(&mut bytes, &mut image)?;
        for _ in 0..if flags & flag::TWO_WIRES == 0 { 1 } else { 2 } {
            let (low, high) = (bytes.u16("a rest")?, bytes.u16("a rest")?);
            image.rests.push(ImageBand { low, high });
        }
        for _ in 0..buttons {
            let (low, high) = (bytes.u16("a band")?, bytes.u16("a band")?);
            let wire = if low & SECOND_WIRE == 0 { 1 } else { 2 };
            image.buttons.push(ImageButton { wire, band: ImageBand { low: low & !SECOND_WIRE, high } });
        }
        for _ in 0..pairs {
            image.pairs.push(pair(bytes.u16("a pair")?)?);
        }
        if flags & flag::FREE != 0 {
            image.free = Some(free(&mut bytes)?);
        }
        while image.commands.len() < usize::from(commands) {
            let left = usize::from(commands) - image.commands.len();
            group(&mut bytes, &mut image, left)?;
        }
        if !bytes.left.is_empty() {
            return Err(BodyError::Trailing { over: bytes.left.len() });
        }
        match image.fault() {
            Some((_, what)) => Err(contents(what)),
            None => Ok(image),
        }
    }
}

/// The fixed part; gives flags and how many buttons, pairs and commands follow.
fn head(bytes: &mut Bytes<'_>, image: &mut Image) -> Result<(u8, u8, u8, u8), BodyError> {
    const OF: &str = "the settings";
    let flags = bytes.u8(OF)?;
    image.reference = match flags & flag::REFERENCE {
        0 => ReferenceUse::Supply,
        1 => ReferenceUse::Internal,
        2 => ReferenceUse::External,
        other => return Err(contents(format!("The reference is number {other}, which there is not."))),
    };
    if flags & flag::ZERO != 0 {
        return Err(contents("A flag that means nothing is set."));
    }
    image.rollover = flags & flag::ROLLOVER != 0;
    image.infrared = flags & flag::INFRARED != 0;
    image.dwell_ms = bytes.u8(OF)?;
    image.settle_count = f64::from(bytes.u16(OF)?) / Level::PER_COUNT;
    image.hold_ms = bytes.u16(OF)?;
    image.double_ms = bytes.u16(OF)?;
    let feed = bytes.u16(OF)?;
    if (feed != 0) != (flags & flag::MONITOR != 0) {
        return Err(contents("The feed monitor has a level and no flag, or a flag and no level."));
    }
    image.feed_count = (feed != 0).then(|| f64::from(feed) / Level::PER_COUNT);
    let (buttons, pairs, commands) = (bytes.u8(OF)?, bytes.u8(OF)?, bytes.u8(OF)?);
    image.mark = bytes.u16(OF)?;
    if bytes.u8(OF)? != 0 {
        return Err(contents("A byte that must be 0 is not."));
    }
    Ok((flags, buttons, pairs, commands))
}

fn pair(bits: u16) -> Result<ImagePair, BodyError> {
    let gesture = match bits >> 4 & 3 {
        0 => Gesture::Tap,
        1 => Gesture::Hold,
        2 => Gesture::DoubleTap,
        other => return Err(contents(format!("A pair is for gesture {other}, which there is not."))),
    };
    let every = bits >> 12;
    Ok(ImagePair {
        button: (bits & 0xF) as u8,
        gesture,
        command: (bits >> 7 & 0x1F) as u8,
        repeats: bits >> 6 & 1 != 0,
        every_ms: (every != 0).then_some(every * EVERY_STEP_MS),
    })
}

fn free(bytes: &mut Bytes<'_>) -> Result<FreeFamily, BodyError> {
    const OF: &str = "the free family";
    let mut word = || bytes.u16(OF);
    let leader = (word()?, word()?);
    let zero = (word()?, word()?);
    let one = (word()?, word()?);
    let period = word()?;
    let flags = bytes.u8(OF)?;
    if flags & 0xC0 != 0 {
        return Err(contents("A flag of the free family that means nothing is set."));
    }
    let repeat = match flags >> 4 & 3 {
        0 => FreeRepeat::WholeFrame,
        1 => FreeRepeat::Once,
        2 => FreeRepeat::WithoutLeader,
        _ => FreeRepeat::ShortFrame,
    };
    Ok(FreeFamily {
        leader,
        zero,
        one,
        period,
        high_first: flags & 1 != 0,
        stop_mark: flags & 2 != 0,
        address_inverse: flags & 4 != 0,
        command_inverse: flags & 8 != 0,
        repeat,
        carrier_khz: bytes.u8(OF)?,
        address_bits: bytes.u8(OF)?,
        command_bits: bytes.u8(OF)?,
    })
}

/// One group of commands, of which no more than `left` may be.
fn group(bytes: &mut Bytes<'_>, image: &mut Image, left: usize) -> Result<(), BodyError> {
    const OF: &str = "a command";
    let head = bytes.u8(OF)?;
    let (family, count) = (head & 0xF, usize::from(head >> 4) + 1);
    if count > left {
        return Err(contents(format!("A group has {count} commands, and {left} are left.")));
    }
    if family == RAW {
        for _ in 0..count {
            let code = ImageCode::Raw(raw(bytes)?);
            image.commands.push(ImageCommand { code });
        }
        return Ok(());
    }
    let Some(widths) = Widths::of(family, image.free.as_ref()) else {
        return Err(contents(format!("A group is of family {family}, which is not known.")));
    };
    if widths.address_bits > 16 || widths.command_bits > 32 {
        return Err(contents("The free family is wider than 16 bits of address or 32 of command."));
    }
    let address = bytes.number(widths.address_bytes(), OF)? as u16;
    for _ in 0..count {
        let command = bytes.number(widths.command_bytes(), OF)?;
        let code = if family == FREE {
            ImageCode::Free { address, command }
        } else {
            ImageCode::Family { family, address, command }
        };
        image.commands.push(ImageCommand { code });
    }
    Ok(())
}

fn raw(bytes: &mut Bytes<'_>) -> Result<RawRecord, BodyError> {
    const OF: &str = "a raw code";
    let timings = usize::from(bytes.u8(OF)?);
    let period = bytes.u16(OF)?;
    let distinct = usize::from(bytes.u8(OF)?);
    let durations = (0..distinct).map(|_| bytes.u16(OF)).collect::<Result<_, _>>()?;
    let packed = bytes.take((3 * timings).div_ceil(8), OF)?;
    let symbols = (0..timings).map(|at| {
        let bit = 3 * at;
        let low = packed[bit / 8];
        let high = packed.get(bit / 8 + 1).copied().unwrap_or(0);
        (u16::from_le_bytes([low, high]) >> (bit % 8) & 7) as u8
    });
    Ok(RawRecord { durations, symbols: symbols.collect(), period })
}
