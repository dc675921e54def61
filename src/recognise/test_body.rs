//! Bodies and records for tests, put together byte by byte from the layout in DEVELOPERS.md and not by
//! the room that writes images.

use proptest::prelude::*;

use super::box_image::BoxImage;
use crate::remote::families;

/// A body being put together.
#[derive(Clone, Debug)]
pub(super) struct Body {
    pub(super) head: [u8; 16],
    pub(super) rests: Vec<(u16, u16)>,
    pub(super) buttons: Vec<(u16, u16)>,
    pub(super) pairs: Vec<u16>,
    pub(super) free: Option<[u8; 18]>,
    /// Each group: how many commands, and its bytes.
    pub(super) groups: Vec<(u8, Vec<u8>)>,
}

impl Body {
    /// One wire at rest at the top, two buttons, two NEC commands.
    pub(super) fn plain() -> Self {
        Self {
            head: [0, 12, 64, 0, 0xF4, 1, 0x2C, 1, 0, 0, 0, 0, 0, 0x34, 0x12, 0],
            rests: vec![(1000, 1023)],
            buttons: vec![(100, 150), (300, 400)],
            pairs: vec![0, 1 | 1 << 4 | 1 << 6 | 1 << 7 | 3 << 12],
            free: None,
            groups: vec![(2, vec![0x11, 0x59, 0x16, 0x17])],
        }
    }

    pub(super) fn bytes(&self) -> Vec<u8> {
        let mut head = self.head;
        if self.rests.len() == 2 {
            head[0] |= 16;
        }
        if self.free.is_some() {
            head[0] |= 128;
        }
        head[10] = self.buttons.len() as u8;
        head[11] = self.pairs.len() as u8;
        head[12] = self.groups.iter().map(|group| group.0).sum();
        let mut bytes = head.to_vec();
        for (low, high) in self.rests.iter().chain(&self.buttons) {
            bytes.extend(low.to_le_bytes());
            bytes.extend(high.to_le_bytes());
        }
        bytes.extend(self.pairs.iter().flat_map(|pair| pair.to_le_bytes()));
        bytes.extend(self.free.iter().flatten());
        bytes.extend(self.groups.iter().flat_map(|group| &group.1));
        bytes
    }

    pub(super) fn with(mut self, change: impl FnOnce(&mut Self)) -> Self {
        change(&mut self);
        self
    }
}

/// A fault of messages.h.
pub(super) const TOO_LONG: u8 = 7;
pub(super) const CONTENTS: u8 = 10;
pub(super) const CODE: u8 = 14;

pub(super) fn fault(body: &Body) -> u8 {
    BoxImage::new(body.bytes()).map_or_else(|fault| fault, |_| 0)
}

/// Whole bytes that hold any number up to this.
pub(super) fn bytes_for(max: u32) -> usize {
    (u32::BITS - max.leading_zeros()).div_ceil(8) as usize
}

/// A record of one command of a family of the table.
pub(super) fn record(place: usize, address: u32, command: u32) -> Vec<u8> {
    let family = &families()[place];
    let mut bytes = vec![place as u8 + 1];
    bytes.extend(&address.to_le_bytes()[..bytes_for(family.address_max())]);
    bytes.extend(&command.to_le_bytes()[..bytes_for(family.command_max())]);
    bytes
}

/// A record of raw timings by symbol.
pub(super) fn raw(period: u16, durations: &[u16], symbols: &[u8]) -> Vec<u8> {
    let mut bytes = vec![0x0F, symbols.len() as u8];
    bytes.extend(period.to_le_bytes());
    bytes.push(durations.len() as u8);
    bytes.extend(durations.iter().flat_map(|duration| duration.to_le_bytes()));
    let mut packed = vec![0u8; (3 * symbols.len()).div_ceil(8)];
    for (i, symbol) in symbols.iter().enumerate() {
        for bit in 0..3 {
            packed[(3 * i + bit) / 8] |= (symbol >> bit & 1) << ((3 * i + bit) % 8);
        }
    }
    bytes.extend(packed);
    bytes
}

/// A free family's record.
pub(super) struct Free {
    pub(super) times: [u16; 6],
    pub(super) period: u16,
    pub(super) flags: u8,
    pub(super) khz: u8,
    pub(super) bits: (u8, u8),
}

/// NEC as a free family.
pub(super) const NEC_FREE: Free = Free {
    times: [18_000, 9_000, 1_125, 1_125, 1_125, 3_375],
    period: 6_750,
    flags: 0x3E,
    khz: 38,
    bits: (8, 8),
};

impl Free {
    pub(super) fn bytes(&self) -> [u8; 18] {
        let mut bytes = [0; 18];
        for (place, time) in bytes.chunks_exact_mut(2).zip(self.times) {
            place.copy_from_slice(&time.to_le_bytes());
        }
        bytes[12..14].copy_from_slice(&self.period.to_le_bytes());
        bytes[14..].copy_from_slice(&[self.flags, self.khz, self.bits.0, self.bits.1]);
        bytes
    }

    /// A body with one command of it.
    pub(super) fn body(&self, address: u32, command: u32) -> Body {
        let mut group = vec![0x0E];
        group.extend(&u64::from(address).to_le_bytes()[..usize::from(self.bits.0.div_ceil(8))]);
        group.extend(&u64::from(command).to_le_bytes()[..usize::from(self.bits.1.div_ceil(8))]);
        Body::plain().with(|body| {
            body.free = Some(self.bytes());
            body.pairs.clear();
            body.groups = vec![(1, group)];
        })
    }
}

/// A change that makes something wrong.
pub(super) type Change<T> = fn(&mut T);

pub(super) fn any_family() -> impl Strategy<Value = usize> {
    0..families().len()
}

/// A number in a family's range, its ends among them.
pub(super) fn upto(max: u32) -> impl Strategy<Value = u32> {
    prop_oneof![1 => Just(0), 1 => Just(max), 6 => 0..=max]
}

pub(super) fn family_code() -> impl Strategy<Value = (usize, u32, u32)> {
    any_family().prop_flat_map(|place| {
        let family = &families()[place];
        (Just(place), upto(family.address_max()), upto(family.command_max()))
    })
}
