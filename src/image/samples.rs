//! Any image at all, for properties.

use proptest::collection::vec;
use proptest::option;
use proptest::prelude::*;

use super::codes::{DISTINCT_MAX, TIMINGS_MAX, Widths};
use super::model::{
    FreeFamily, FreeRepeat, Image, ImageBand, ImageButton, ImageCode, ImageCommand, ImagePair, RawRecord,
    ReferenceUse,
};
use crate::project::Gesture;
use crate::remote::families;
use crate::signal::Level;

/// Any image whose fields the layout holds. Not all are short enough for a slot.
pub(super) fn any_image() -> impl Strategy<Value = Image> {
    let sizes = (1_usize..=2, 0_usize..=16, 0_usize..=32, option::of(free_family()));
    sizes.prop_flat_map(|(wires, buttons, commands, free)| {
        let pairs = if buttons == 0 || commands == 0 { 0 } else { 48 };
        (
            head(),
            vec(band(), wires),
            vec((1..=wires as u8, band()).prop_map(|(wire, band)| ImageButton { wire, band }), buttons),
            vec(pair(buttons.max(1) as u8, commands.max(1) as u8), 0..=pairs),
            vec(code(free).prop_map(|code| ImageCommand { code }), commands),
        )
            .prop_map(move |(image, rests, buttons, pairs, commands)| Image {
                rests,
                buttons,
                pairs,
                commands,
                free,
                ..image
            })
    })
}

fn head() -> impl Strategy<Value = Image> {
    let reference =
        prop_oneof![Just(ReferenceUse::Supply), Just(ReferenceUse::Internal), Just(ReferenceUse::External)];
    let level = |steps: u16| f64::from(steps) / Level::PER_COUNT;
    let feed = option::of((1_u16..0x8000).prop_map(level));
    let settle = (1_u16..=u16::MAX).prop_map(level);
    (reference, feed, any::<(bool, bool, u16, u16, u16)>(), 1_u8..=64, settle).prop_map(
        |(reference, feed_count, (infrared, rollover, hold_ms, double_ms, mark), dwell_ms, settle_count)| {
            Image {
                reference,
                feed_count,
                infrared,
                rollover,
                dwell_ms,
                settle_count,
                hold_ms,
                double_ms,
                mark,
                ..Image::default()
            }
        },
    )
}

fn band() -> impl Strategy<Value = ImageBand> {
    (0_u16..=1023, 0_u16..=1023).prop_map(|(low, high)| ImageBand { low, high })
}

fn pair(buttons: u8, commands: u8) -> impl Strategy<Value = ImagePair> {
    let gesture = prop_oneof![Just(Gesture::Tap), Just(Gesture::Hold), Just(Gesture::DoubleTap)];
    let every_ms = option::of((1_u16..=15).prop_map(|steps| 50 * steps));
    (0..buttons, gesture, 0..commands, any::<bool>(), every_ms).prop_map(
        |(button, gesture, command, repeats, every_ms)| ImagePair {
            button,
            gesture,
            command,
            repeats,
            every_ms,
        },
    )
}

fn free_family() -> impl Strategy<Value = FreeFamily> {
    let half_us = || 100_u16..=u16::MAX;
    let leader = prop_oneof![Just((0, 0)), (200_u16..=u16::MAX, 200_u16..=u16::MAX)];
    let repeat = prop_oneof![
        Just(FreeRepeat::WholeFrame),
        Just(FreeRepeat::Once),
        Just(FreeRepeat::WithoutLeader),
        Just(FreeRepeat::ShortFrame)
    ];
    let bits = (0_u8..=16, 1_u8..=32, prop_oneof![Just(0_u8), 20_u8..=100]);
    let timings = (leader, (half_us(), half_us()), (half_us(), half_us()), any::<u16>());
    (timings, any::<(bool, bool, bool, bool)>(), repeat, bits).prop_map(|(timings, flags, repeat, bits)| {
        let (leader, zero, one, period) = timings;
        let (high_first, stop_mark, address_inverse, command_inverse) = flags;
        let (address_bits, command_bits, carrier_khz) = bits;
        // A short frame is the leader and half of its space.
        let leader = if repeat == FreeRepeat::ShortFrame { (18_000, 9_000) } else { leader };
        FreeFamily {
            leader,
            zero,
            one,
            period,
            high_first,
            stop_mark,
            address_inverse,
            command_inverse,
            repeat,
            carrier_khz,
            address_bits,
            command_bits,
        }
    })
}

fn code(free: Option<FreeFamily>) -> impl Strategy<Value = ImageCode> {
    let table = (1..=families().len() as u8, any::<u16>(), any::<u32>(), any::<bool>()).prop_map(
        move |(family, address, command, is_free)| {
            let group = if is_free && free.is_some() { super::codes::FREE } else { family };
            let widths = Widths::of(group, free.as_ref()).unwrap();
            let cut = |number: u32, bits: u8| (u64::from(number) & ((1_u64 << bits) - 1)) as u32;
            // Few addresses, so that groups come about.
            let address = cut(u32::from(address % 3), widths.address_bits) as u16;
            let command = cut(command, widths.command_bits);
            if group == family {
                ImageCode::Family { family, address, command }
            } else {
                ImageCode::Free { address, command }
            }
        },
    );
    prop_oneof![6 => table, 1 => raw().prop_map(ImageCode::Raw)]
}

fn raw() -> impl Strategy<Value = RawRecord> {
    let sizes = (1..=DISTINCT_MAX, 0..=(TIMINGS_MAX - 1) / 2, any::<bool>());
    sizes.prop_flat_map(|(distinct, half, repeats)| {
        let symbols = vec(0..distinct as u8, 2 * half + 1);
        (vec(25_u16..=2_500, distinct), symbols).prop_map(move |(durations, symbols)| {
            let record = RawRecord { durations, symbols, period: 0 };
            let total: u32 = record.steps().map(u32::from).sum();
            let period = if repeats { (2 * total + 50).div_ceil(16) as u16 } else { 0 };
            RawRecord { period, ..record }
        })
    })
}
