//! Codes as the box lays them out, against the families' table.

use proptest::prelude::*;

use super::box_image::{BoxImage, PlannedFrame, Which, plan_record};
use super::test_body::{CODE, CONTENTS, Change, Free, NEC_FREE, bytes_for, family_code, fault, raw, record};
use crate::remote::{Code, Family, RepeatKind, encode, families};

/// Where edges lie, in microseconds from the first, the last one included.
fn edges_us(lengths_us: impl IntoIterator<Item = f64>) -> Vec<f64> {
    let sum = |at: &mut f64, length: f64| {
        *at += length;
        Some(*at)
    };
    lengths_us.into_iter().scan(0.0, sum).collect()
}

/// Whether the output's edges lie within 0.5 µs of a float plan's.
fn same_edges(planned: &PlannedFrame, pulses_us: &[f64]) -> Result<(), TestCaseError> {
    prop_assert_eq!(planned.walk_ticks.len(), pulses_us.len());
    let sent = edges_us(planned.walk_ticks.iter().map(|&ticks| f64::from(ticks) / 2.0));
    let parts = edges_us(planned.timings_us.iter().copied());
    for ((sent, parts), plan) in sent.iter().zip(&parts).zip(edges_us(pulses_us.iter().copied())) {
        prop_assert!((sent - plan).abs() <= 0.5, "an edge at {} instead of {}", sent, plan);
        prop_assert!((sent - parts).abs() <= 0.25 + 1e-9, "rounded by more than half a tick");
    }
    if let Some(period_us) = planned.period_us {
        let spent: u32 = planned.walk_ticks.iter().sum();
        prop_assert_eq!(f64::from(spent + planned.gap_ticks) / 2.0, period_us);
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1_500))]

    #[test]
    fn the_box_lays_out_every_family_as_the_table_says((place, address, command) in family_code(), toggle: bool) {
        let family: &Family = &families()[place];
        let frame = encode(&Code::Family { family: family.family_id(), address, command }, toggle).unwrap();
        let record = record(place, address, command);
        let first = plan_record(&record, toggle, Which::First).unwrap();
        let again = plan_record(&record, toggle, Which::Again).unwrap();
        same_edges(&first, &frame.pulses_us)?;
        same_edges(&again, &frame.repeat.pulses_us)?;
        for planned in [first, again] {
            let period_us = frame.repeat.period_us.unwrap();
            prop_assert!((planned.period_us.unwrap() - period_us).abs() <= 0.25);
            prop_assert_eq!(u32::from(planned.carrier_khz) * 1_000, family.carrier_hz);
            // SIRC note: a receiver wants a frame three times.
            let least = if family.id.starts_with("sirc") { 3 } else { 1 };
            prop_assert_eq!(planned.least_frames, least);
        }
    }

    #[test]
    fn a_number_beyond_its_family_is_refused((place, address, command) in family_code(), bit in 0u32..32) {
        let family = &families()[place];
        let (address_max, command_max) = (family.address_max(), family.command_max());
        let high = 1 << bit;
        // Only what its bytes can carry: beyond them it is another command's.
        if high > address_max && bytes_for(high) == bytes_for(address_max) {
            let wrong = record(place, address | high, command);
            prop_assert_eq!(plan_record(&wrong, false, Which::First), Err(CODE));
        }
        if high > command_max && bytes_for(high) == bytes_for(command_max) {
            let wrong = record(place, address, command | high);
            prop_assert_eq!(plan_record(&wrong, false, Which::First), Err(CODE));
        }
    }

    #[test]
    fn raw_timings_are_sent_as_they_are_kept(
        durations in prop::collection::vec(25u16..1_500, 1..=8),
        picks in prop::collection::vec(any::<prop::sample::Index>(), 1..=199),
        repeats: bool,
    ) {
        let mut symbols: Vec<u8> = picks.iter().map(|pick| pick.index(durations.len()) as u8).collect();
        if symbols.len().is_multiple_of(2) {
            symbols.pop();
        }
        let period = if repeats { u16::MAX } else { 0 };
        let record = raw(period, &durations, &symbols);
        let first = plan_record(&record, true, Which::First).unwrap();
        let ticks: Vec<u32> = symbols.iter().map(|&symbol| u32::from(durations[usize::from(symbol)]) * 4).collect();
        prop_assert_eq!(&first.walk_ticks, &ticks);
        prop_assert_eq!(first.period_us, repeats.then_some(65_535.0 * 16.0));
        prop_assert_eq!(first.least_frames, u8::from(repeats));
        prop_assert_eq!(plan_record(&record, false, Which::Again).unwrap(), first);
    }
}

#[test]
fn a_family_of_the_table_described_as_a_free_one_is_sent_alike() {
    // Each family the free one can say: its place, its durations and fields as a free family.
    let distance = |unit: u16, leader: bool| {
        let leader = if leader { [16 * unit, 8 * unit] } else { [8 * unit, 4 * unit] };
        [leader[0], leader[1], unit, unit, unit, 3 * unit]
    };
    let cases = [
        ("nec", NEC_FREE),
        ("nec16", Free { flags: 0x3A, bits: (16, 8), ..NEC_FREE }),
        ("aeha", Free { times: distance(850, false), period: 8_125, flags: 0x02, khz: 38, bits: (16, 32) }),
        ("pd16", Free { times: distance(1_050, true), period: 3_750, flags: 0x22, khz: 38, bits: (8, 8) }),
    ];
    for (id, free) in cases {
        let place = families().iter().position(|family| family.id == id).unwrap();
        let (address, command) = (families()[place].address_max() / 3, families()[place].command_max() / 7);
        let image = BoxImage::new(free.body(address, command).bytes()).unwrap();
        for which in [Which::First, Which::Again] {
            let record = record(place, address, command);
            assert_eq!(
                image.plan_frame(0, false, which),
                plan_record(&record, false, which),
                "{id} {which:?}"
            );
        }
    }
}

#[test]
fn the_most_significant_bit_first_is_the_reversed_number_the_other_way_round() {
    let high = Free { flags: NEC_FREE.flags | 1, ..NEC_FREE };
    let (address, command) = (0x59_u8, 0x16_u8);
    let first = BoxImage::new(NEC_FREE.body(address.into(), command.into()).bytes()).unwrap();
    let turned = high.body(address.reverse_bits().into(), command.reverse_bits().into());
    let turned = BoxImage::new(turned.bytes()).unwrap();
    assert_eq!(first.plan_frame(0, false, Which::First), turned.plan_frame(0, false, Which::First));
}

#[test]
fn a_free_family_without_address_leader_and_stop_mark_ends_with_its_last_mark() {
    let free = Free { times: [0, 0, 200, 400, 600, 800], period: 6_250, flags: 0x10, khz: 0, bits: (0, 3) };
    let image = BoxImage::new(free.body(0, 0b110).bytes()).unwrap();
    for which in [Which::First, Which::Again] {
        let planned = image.plan_frame(0, true, which).unwrap();
        assert_eq!(planned.walk_ticks, [200, 400, 600, 800, 600]);
        assert_eq!((planned.period_us, planned.least_frames, planned.gap_ticks), (None, 0, 0), "sent once");
        assert_eq!(planned.carrier_khz, 38, "none given: the usual one");
    }
}

#[test]
fn a_raw_code_the_output_cannot_send_is_refused() {
    let sent = |record: &[u8]| plan_record(record, false, Which::First).map(|_| ());
    assert_eq!(sent(&raw(0, &[25], &[0])), Ok(()));
    assert_eq!(sent(&raw(0, &[24], &[0])), Err(CODE), "48 µs");
    assert_eq!(sent(&raw(0, &[25], &[])), Err(CODE), "no timings");
    assert_eq!(sent(&raw(0, &[25], &[0, 0])), Err(CODE), "ends with a space");
    assert_eq!(sent(&raw(0, &[25], &[0; 201])), Err(CODE), "too many");
    assert_eq!(sent(&raw(0, &[], &[0])), Err(CODE), "no durations");
    assert_eq!(sent(&raw(0, &[25; 9], &[0])), Err(CODE), "too many durations");
    assert_eq!(sent(&raw(0, &[25, 30], &[0, 1, 2])), Err(CODE), "a duration there is none of");
    // Three times 800 µs and the least gap are 2450 µs: 154 steps of 16 µs, not 153.
    assert_eq!(sent(&raw(154, &[400], &[0, 0, 0])), Ok(()));
    assert_eq!(sent(&raw(153, &[400], &[0, 0, 0])), Err(CODE), "repeats before it has ended");
    let whole = raw(0, &[25, 30], &[0, 1, 0, 1, 0]);
    for length in 0..whole.len() {
        assert_eq!(sent(&whole[..length]), Err(CODE), "cut after {length}");
    }
    assert_eq!(sent(&[&whole[..], &[0]].concat()), Err(CODE), "a byte too many");
    assert_eq!(sent(&[0x11, 1, 2, 3]), Err(CODE), "two commands in one record");
    assert_eq!(sent(&[0x0E, 1, 2]), Err(CODE), "the free family of no image");
}

#[test]
fn a_free_family_the_output_cannot_send_is_refused() {
    let taken = |change: fn(&mut Free)| {
        let mut free = NEC_FREE;
        change(&mut free);
        fault(&free.body(1, 2))
    };
    assert_eq!(taken(|_| {}), 0);
    let refused: [(&str, Change<Free>); 13] = [
        ("a leader without its space", |free| free.times[1] = 0),
        ("a leader without its mark", |free| free.times[0] = 0),
        ("a leader's mark too short", |free| free.times[0] = 99),
        ("a 0's mark too short", |free| free.times[2] = 99),
        ("a 1's space too short", |free| free.times[5] = 99),
        ("a short frame's space too short", |free| free.times[1] = 197),
        ("a short frame of no leader", |free| free.times[..2].fill(0)),
        ("repeated before it has ended", |free| free.period = 4_000),
        ("a flag there is none of", |free| free.flags |= 0x40),
        ("a carrier too low", |free| free.khz = 19),
        ("a carrier too high", |free| free.khz = 101),
        ("an address too wide", |free| free.bits.0 = 17),
        ("no command", |free| free.bits.1 = 0),
    ];
    for (what, change) in refused {
        assert_eq!(taken(change), CONTENTS, "{what}");
    }
    assert_eq!(taken(|free| free.bits.1 = 33), CONTENTS, "a command too wide");
}

#[test]
fn a_mark_that_only_a_short_frame_has_is_looked_at_too() {
    // One bit that is 1, and no mark behind it: the frame has no mark of a 0, and the short one has.
    let taken = |mark: u16| {
        let mut free = Free { flags: 0x30, bits: (0, 1), ..NEC_FREE };
        free.times[2] = mark;
        fault(&free.body(0, 1))
    };
    assert_eq!(taken(100), 0);
    assert_eq!(taken(99), CONTENTS);
}

#[test]
fn the_families_of_the_table_are_those_of_the_box() {
    for (place, family) in families().iter().enumerate() {
        assert!(plan_record(&record(place, 0, 0), false, Which::First).is_ok(), "{}", family.id);
        assert_ne!(family.repeat, RepeatKind::Once, "the box's table has none that is sent once");
    }
    assert_eq!(families().len(), 9);
}
