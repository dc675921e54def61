//! The box's image reader over bytes of every kind: what is found valid answers everything, and nothing
//! is read outside the body either way.

use proptest::prelude::*;

use super::box_image::{BoxGesture, BoxImage, Which, plan_record};
use super::ffi_image::testing::OUTSIDE;
use super::slots::look_at_slots;
use super::test_body::{Body, NEC_FREE, family_code, raw, record};

/// Asks a body for everything it can be asked for, if the box takes it. Gives whether it does.
fn ask_everything(bytes: Vec<u8>) -> Result<bool, TestCaseError> {
    OUTSIDE.set(0);
    let length = bytes.len();
    let taken = BoxImage::new(bytes);
    prop_assert_eq!(OUTSIDE.get(), 0, "looking at {} bytes read outside them", length);
    let Ok(image) = taken else { return Ok(false) };
    let settings = image.settings();
    let rules = image.rules();
    prop_assert!(rules.buttons.len() <= 16 && (1..=64).contains(&rules.dwell_ticks));
    let mut pairs = 0;
    for button in 0..=255 {
        for gesture in [BoxGesture::Tap, BoxGesture::Hold, BoxGesture::DoubleTap] {
            if let Some(pair) = image.pair(button, gesture) {
                prop_assert!(usize::from(button) < rules.buttons.len() && pair.command < settings.commands);
                pairs += 1;
            }
        }
    }
    prop_assert!(pairs <= settings.pairs);
    for number in 0..=255 {
        prop_assert_eq!(image.command(number).is_some(), number < settings.commands);
        for (toggle, which) in [(false, Which::First), (true, Which::Again)] {
            let planned = image.plan_frame(number, toggle, which);
            prop_assert_eq!(planned.is_ok(), number < settings.commands);
            if let Ok(planned) = planned {
                prop_assert!(planned.walk_ticks.len() % 2 == 1);
                prop_assert!(planned.walk_ticks.iter().all(|&ticks| ticks >= 100), "no pulse under 50 µs");
                prop_assert_eq!(planned.gap_ticks >= 100, planned.period_us.is_some());
            }
        }
    }
    prop_assert_eq!(OUTSIDE.get(), 0, "an accessor read outside the body");
    Ok(true)
}

/// Groups of commands: of families, free, raw.
fn group() -> impl Strategy<Value = (u8, Vec<u8>)> {
    prop_oneof![
        family_code().prop_map(|(place, address, command)| (1, record(place, address, command))),
        (1u8..=16, any::<u8>()).prop_map(|(count, address)| {
            let head = [(count - 1) << 4 | 1, address];
            (count, head.into_iter().chain(0..count).collect())
        }),
        any::<[u8; 2]>().prop_map(|[address, command]| (1, vec![0x0E, address, command])),
        (1usize..=50, 1usize..=8).prop_map(|(half, distinct)| {
            let symbols: Vec<u8> = (0..2 * half - 1).map(|i| (i % distinct) as u8).collect();
            (1, raw(0, &[25, 100, 200, 300, 400, 500, 600, 700][..distinct], &symbols))
        }),
    ]
}

/// Bodies the box takes, mostly.
fn body() -> impl Strategy<Value = Body> {
    let band = (0u16..=1023, 0u16..=1023);
    let bands = |n| prop::collection::vec(band.clone(), n);
    let groups = prop::collection::vec(group(), 1..8);
    let pairs = prop::collection::vec((0u16..16, 0u16..3, any::<u16>()), 0..20);
    (bands(1..=2), bands(1..=16), pairs, groups).prop_map(|(rests, buttons, pairs, mut groups)| {
        let mut total = 0;
        groups.retain(|group| {
            let fits = total + group.0 <= 32;
            total += if fits { group.0 } else { 0 };
            fits
        });
        let pairs = pairs.into_iter().map(|(button, gesture, more)| {
            let command = (more >> 8) % u16::from(total);
            let button = button % buttons.len() as u16;
            button | gesture << 4 | (more & 1) << 6 | command << 7 | more << 12
        });
        let pairs = pairs.collect();
        Body { rests, buttons, pairs, free: Some(NEC_FREE.bytes()), groups, ..Body::plain() }
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(3_000))]

    #[test]
    fn a_body_put_together_by_the_layout_is_taken(body in body()) {
        let bytes = body.bytes();
        let fits = bytes.len() <= 472;
        prop_assert_eq!(ask_everything(bytes)?, fits);
    }

    #[test]
    fn a_body_with_bytes_changed_is_refused_or_answers_everything(
        body in body(),
        changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..5),
        cut in prop::option::weighted(0.2, any::<prop::sample::Index>()),
    ) {
        let mut bytes = body.bytes();
        for (at, byte) in changes {
            let at = at.index(bytes.len());
            bytes[at] = byte;
        }
        if let Some(cut) = cut {
            bytes.truncate(cut.index(bytes.len()));
        }
        ask_everything(bytes)?;
    }

    #[test]
    fn any_bytes_are_refused_or_answer_everything(
        head in any::<[u8; 16]>(), counts in any::<[u8; 3]>(), rest in prop::collection::vec(any::<u8>(), 0..460),
    ) {
        let mut bytes = [&head[..], &rest].concat();
        ask_everything(bytes.clone())?;
        // The same with a fixed part that is passed, so that what follows is looked at.
        bytes[0] &= 0x98;
        bytes[1] = 1 + bytes[1] % 64;
        bytes[8..10].fill(0);
        bytes[10] = counts[0] % 3;
        bytes[11] = counts[1] % 3;
        bytes[12] = counts[2] % 4;
        bytes[15] = 0;
        for at in 16..bytes.len().min(32) {
            bytes[at] &= if at % 2 == 0 { 0xFF } else { 0x03 };
        }
        ask_everything(bytes)?;
    }

    #[test]
    fn any_record_is_refused_or_laid_out(record in prop::collection::vec(any::<u8>(), 0..100), family in 0u8..16) {
        let mut record = record;
        if let Some(first) = record.first_mut() {
            *first = family;
        }
        OUTSIDE.set(0);
        let planned = plan_record(&record, true, Which::First);
        prop_assert_eq!(OUTSIDE.get(), 0);
        if let Ok(planned) = planned {
            prop_assert!(planned.walk_ticks.len() % 2 == 1);
        }
    }

    #[test]
    fn any_memory_holds_a_slot_or_none(mut memory in prop::collection::vec(any::<u8>(), 1024)) {
        OUTSIDE.set(0);
        prop_assert!(look_at_slots(&memory).in_use.is_none(), "a check that holds by chance");
        for base in [0, 480] {
            memory[base..base + 2].copy_from_slice(&[0xB5, 1]);
            memory[base + 3] = !memory[base + 2];
        }
        prop_assert!(look_at_slots(&memory).in_use.is_none(), "a check that holds by chance");
        prop_assert_eq!(OUTSIDE.get(), 0);
    }
}
