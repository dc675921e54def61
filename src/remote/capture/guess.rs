//! A frame as one of a free pulse-distance or pulse-width family, its parameters guessed from the frame
//! itself. Every guess is laid out again and compared.

use super::super::code::Code;
use super::super::family::BitOrder;
use super::super::frame::encode;
use super::super::free::{
    FREE_ADDRESS_BITS_MAX, FREE_COMMAND_BITS_MAX, FREE_PERIOD_MAX_US, FreeFamily, FreeRepeat,
};
use super::super::raw::clusters;
use super::frames::alike;

/// How bits are shared between address and command.
#[derive(Clone, Copy)]
struct Layout {
    address_bits: u8,
    address_inverse: bool,
    command_bits: u8,
    command_inverse: bool,
}

impl Layout {
    fn on(self, free: FreeFamily) -> FreeFamily {
        let Self { address_bits, address_inverse, command_bits, command_inverse } = self;
        FreeFamily { address_bits, address_inverse, command_bits, command_inverse, ..free }
    }
}

/// Bits as numbers of a free family of this timing: with inverses where they are, else in halves.
fn numbered(free: FreeFamily, bits: &[bool]) -> Option<Code> {
    let count = u8::try_from(bits.len()).ok()?;
    let quarter = count / 4;
    let inverse =
        |a: u8, b: u8, width: u8| (0..width).all(|i| bits[usize::from(a + i)] != bits[usize::from(b + i)]);
    let fits = count.is_multiple_of(4) && count >= 8 && inverse(2 * quarter, 3 * quarter, quarter);
    let layout = if fits && inverse(0, quarter, quarter) {
        Layout { address_bits: quarter, address_inverse: true, command_bits: quarter, command_inverse: true }
    } else if fits && 2 * quarter <= FREE_ADDRESS_BITS_MAX {
        Layout {
            address_bits: 2 * quarter,
            address_inverse: false,
            command_bits: quarter,
            command_inverse: true,
        }
    } else {
        let address_bits = match count {
            0 => return None,
            33.. => count - FREE_COMMAND_BITS_MAX,
            even if even.is_multiple_of(8) => even / 2,
            _ => 0,
        };
        let command_bits = count - address_bits;
        Layout { address_bits, address_inverse: false, command_bits, command_inverse: false }
    };
    if layout.address_bits > FREE_ADDRESS_BITS_MAX {
        return None;
    }
    let order = if free.high_first { BitOrder::HighFirst } else { BitOrder::LowFirst };
    let mut sent = bits.iter().copied();
    let address = order.gather(&mut sent, layout.address_bits);
    if layout.address_inverse {
        sent.by_ref().take(usize::from(layout.address_bits)).for_each(drop);
    }
    let command = order.gather(&mut sent, layout.command_bits);
    let free = layout.on(free);
    let code = Code::Free { free, address, command };
    encode(&code, false).ok().map(|_| code)
}

/// The parameters of a free family that would send this frame, and its numbers. The stretch is taken
/// out where a 0 looks as if its mark and space were meant to be alike.
pub(super) fn guessed(pulses_us: &[f64], repeat: FreeRepeat, period_us: Option<f64>) -> Option<Code> {
    let leader = leader(pulses_us);
    let body = &pulses_us[if leader { 2 } else { 0 }..];
    let means = |from: usize| -> Vec<f64> {
        let mean = |of: &Vec<usize>| of.iter().map(|&at| body[at]).sum::<f64>() / of.len() as f64;
        clusters(body, from).iter().map(mean).collect()
    };
    let (marks, spaces) = (means(0), means(1));
    let (zero, one, stop_mark) = match (&marks[..], &spaces[..]) {
        (&[mark], &[short, long]) => ((mark, short), (mark, long), true),
        (&[short, long], &[space]) => ((short, space), (long, space), false),
        _ => return None,
    };
    let stretch_us = even_stretch(zero);
    let signed = |(mark, space): (f64, f64)| ((mark - stretch_us).round(), (space + stretch_us).round());
    let (zero_us, one_us) = (signed(zero), signed(one));
    let bits: Vec<bool> = if stop_mark {
        let middle = (zero.1 * one.1).sqrt();
        body.iter().skip(1).step_by(2).map(|&us| us > middle).collect()
    } else {
        let middle = (zero.0 * one.0).sqrt();
        body.iter().step_by(2).map(|&us| us > middle).collect()
    };
    let repeat = if leader || repeat == FreeRepeat::Once { repeat } else { FreeRepeat::WholeFrame };
    let free = FreeFamily {
        leader_us: leader.then(|| signed((pulses_us[0], pulses_us[1]))),
        zero_us,
        one_us,
        stop_mark,
        repeat,
        period_us: FREE_PERIOD_MAX_US,
        ..FreeFamily::default()
    };
    let Code::Free { free, address, command } = numbered(free, &bits)? else { return None };
    let usual_us = FreeFamily::default().period_us;
    let longest_us = free.longest_us();
    let period_us = period_us.filter(|us| *us > longest_us).unwrap_or(usual_us.max(1.2 * longest_us));
    let code = Code::Free { free: FreeFamily { period_us: period_us.round(), ..free }, address, command };
    let frame = encode(&code, false).ok()?;
    let stretched = super::stretch::without(&frame.pulses_us, -stretch_us);
    alike(&stretched, pulses_us).then_some(code)
}

/// Whether a frame opens with a mark or a space unlike those that follow.
pub(super) fn leader(pulses_us: &[f64]) -> bool {
    /// So many times as long as the longest that follows.
    const LONGER: f64 = 1.5;
    let longest = |from: usize| pulses_us.iter().skip(from).step_by(2).copied().fold(0.0, f64::max);
    match pulses_us {
        [mark_us, space_us, _, _, ..] => *mark_us > LONGER * longest(2) || *space_us > LONGER * longest(3),
        _ => false,
    }
}

/// By how much marks are stretched if the mark and space of a 0 were meant to be alike; 0 if they are
/// too far apart for that.
fn even_stretch((mark_us, space_us): (f64, f64)) -> f64 {
    /// Further apart than a receiver pulls them, as a share of both.
    const APART: f64 = 0.45;
    let apart = (mark_us - space_us) / (mark_us + space_us);
    if apart.abs() < APART / 2.0 { (mark_us - space_us) / 2.0 } else { 0.0 }
}
