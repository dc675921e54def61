//! From pulses to the numbers of a free family whose parameters are known. Whatever comes in, numbers
//! come out only if every check of the family holds.

use super::decode::DecodeError;
use super::family::BitOrder;
use super::free::FreeFamily;
use super::read::{self, Bits, Refusal};
use super::shape::Shape;

/// How errors call it.
const NAME: &str = "the free family";

/// What a frame says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct FreeDecoded {
    /// Address and command; `None` for a short repeat frame.
    pub(super) numbers: Option<(u32, u32)>,
    /// Whether it is sent only while a button is held.
    pub(super) repeat: bool,
    /// How many timings it took.
    pub(super) taken: usize,
}

/// Reads the first frame of these pulses.
pub(super) fn decode_free(
    free: &FreeFamily,
    shape: &Shape,
    pulses_us: &[f64],
    after_leader: bool,
) -> Result<FreeDecoded, DecodeError> {
    let read = match read::read(shape, pulses_us) {
        Err(_) if after_leader => read::read_bare(shape, pulses_us),
        read => read,
    };
    let bits = read.map_err(|refusal| error(refusal, shape, pulses_us))?;
    let numbers = if bits.bits.is_empty() { None } else { Some(numbers(free, &bits)?) };
    Ok(FreeDecoded { numbers, repeat: bits.repeat, taken: bits.taken })
}

fn error(refusal: Refusal, shape: &Shape, pulses_us: &[f64]) -> DecodeError {
    let (family, of) = (NAME, shape.count);
    match refusal {
        Refusal::Leader => DecodeError::Opening {
            mark_us: pulses_us.first().copied().unwrap_or_default(),
            space_us: pulses_us.get(1).copied(),
        },
        Refusal::Bit { bits, pulse } => DecodeError::Bit {
            family,
            bit: bits + 1,
            position: pulse + 1,
            given_us: pulses_us.get(pulse).copied().unwrap_or_default(),
        },
        Refusal::Cut { bits, .. } => DecodeError::Cut { family, bits, of },
        Refusal::TooLong => DecodeError::TooLong { family, of },
    }
}

fn numbers(free: &FreeFamily, read: &Bits) -> Result<(u32, u32), DecodeError> {
    let order = if free.high_first { BitOrder::HighFirst } else { BitOrder::LowFirst };
    let mut bits = read.bits.iter().copied();
    let (mut label, mut sent) = ("", 0);
    let mut found = Vec::new();
    for field in free.fields(0, 0) {
        let value = order.gather(&mut bits, field.width);
        if field.checks {
            let again = !value & (u32::MAX >> (32 - u32::from(field.width)));
            if again != sent {
                return Err(DecodeError::Disagrees { family: NAME, label, sent, again });
            }
        } else {
            (label, sent) = (field.label, value);
            found.push(value);
        }
    }
    Ok(match found[..] {
        [address, command, ..] => (address, command),
        [command] => (0, command),
        [] => (0, 0),
    })
}
