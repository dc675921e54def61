//! The recording and its envelope, held against a plain list of readings.

use proptest::prelude::*;

use super::{Column, Converter, FellOut, Level, Reading, Recording};

/// Readings of two wires every millisecond, `first` counts and `second` counts.
fn ramp(readings: usize) -> Vec<Reading> {
    (0..readings).map(|i| Reading::two(i as f64, (i % 1000) as f64, (i % 7) as f64)).collect()
}

fn recorded(readings: &[Reading]) -> Recording {
    let mut recording = Recording::new();
    recording.push(readings);
    recording
}

fn all(recording: &Recording) -> Vec<Reading> {
    recording.between(f64::NEG_INFINITY, f64::INFINITY).collect()
}

fn envelope(recording: &Recording, wire: usize, from_ms: f64, to_ms: f64, columns: usize) -> Vec<Column> {
    let mut out = vec![Column::of(Level::from_count(1.0)); 3];
    recording.envelope(wire, from_ms, to_ms, columns, &mut out);
    out
}

/// The envelope by looking at every reading: edge by edge as [`Recording::envelope`] promises.
fn brute_envelope(
    readings: &[Reading],
    wire: usize,
    from_ms: f64,
    to_ms: f64,
    columns: usize,
) -> Vec<Column> {
    let edge_ms = |column: usize| from_ms + (to_ms - from_ms) * column as f64 / columns as f64;
    (0..columns)
        .map(|column| {
            let last = column + 1 == columns;
            let levels: Vec<Level> = readings
                .iter()
                .filter(|r| r.t_ms >= edge_ms(column))
                .filter(|r| if last { r.t_ms <= to_ms } else { r.t_ms < edge_ms(column + 1) })
                .map(|r| r.wire[wire])
                .collect();
            let present = || levels.iter().copied().filter(|&level| level != Level::NONE);
            Column {
                low: present().min().unwrap_or(Level::NONE),
                high: present().max().unwrap_or(Level::NONE),
            }
        })
        .collect()
}

#[test]
fn an_empty_recording_answers_everything() {
    let mut recording = Recording::new();
    recording.mark_loss();
    recording.rescale(Converter::TwelveBit);
    assert!(recording.is_empty());
    assert_eq!((recording.len(), recording.wires(), recording.bytes()), (0, 1, 0));
    assert_eq!((recording.first_t_ms(), recording.last_t_ms(), recording.last()), (None, None, None));
    assert_eq!(recording.fell_out(), FellOut::default());
    assert!(recording.losses_between(f64::NEG_INFINITY, f64::INFINITY).is_empty());
    assert_eq!(all(&recording), []);
    assert_eq!(envelope(&recording, 0, 0.0, 10.0, 4), [Column::NONE; 4]);
}

#[test]
fn readings_come_back_as_they_went_in() {
    let readings = ramp(10_000);
    let recording = recorded(&readings);
    assert_eq!(recording.len(), 10_000);
    assert_eq!(recording.wires(), 2);
    assert_eq!(recording.last(), readings.last().copied());
    assert_eq!(all(&recording), readings);
}

#[test]
fn a_stretch_has_both_its_ends() {
    let readings = ramp(10_000);
    let recording = recorded(&readings);
    for (from, to) in [(0, 0), (10, 20), (4_090, 4_100), (4_095, 4_096), (9_990, 9_999)] {
        let stretch: Vec<Reading> = recording.between(from as f64, to as f64).collect();
        assert_eq!(stretch, readings[from..=to]);
    }
    for (from_ms, to_ms) in [(20.0, 10.0), (5_000.0, 4_000.0), (1e6, 2e6), (-5.0, -1.0), (1.0, f64::NAN)] {
        assert_eq!(recording.between(from_ms, to_ms).count(), 0, "{from_ms} to {to_ms}");
    }
}

#[test]
fn a_time_that_runs_backwards_or_is_no_number_is_held() {
    let times = [f64::NAN, 5.0, 3.0, f64::INFINITY, f64::NEG_INFINITY, 5.5, f64::NAN];
    let readings = times.map(|t_ms| Reading::one(t_ms, 100.0));
    let held: Vec<f64> = all(&recorded(&readings)).iter().map(|reading| reading.t_ms).collect();
    assert_eq!(held, [0.0, 5.0, 5.0, 5.0, 5.0, 5.5, 5.5]);
}

#[test]
fn a_spike_of_one_reading_in_two_hours_is_drawn() {
    let mut readings: Vec<Reading> = (0..400_000).map(|i| Reading::one(f64::from(i), 500.0)).collect();
    readings[123_457].wire[0] = Level::from_count(31.0);
    let recording = recorded(&readings);
    let columns = envelope(&recording, 0, 0.0, 400_000.0, 1_000);
    let spikes: Vec<usize> = (0..1_000).filter(|&at| columns[at].low != columns[at].high).collect();
    assert_eq!(spikes, [123_457 / 400]);
    assert_eq!(columns[308].low.count(), Some(31.0));
}

#[test]
fn columns_between_sparse_readings_are_empty_and_the_last_takes_its_end() {
    let recording = recorded(&[Reading::one(0.0, 1.0), Reading::one(50.0, 2.0), Reading::one(100.0, 3.0)]);
    let columns = envelope(&recording, 0, 0.0, 100.0, 10);
    let counts: Vec<Option<f64>> = columns.iter().map(|column| column.low.count()).collect();
    let mut wanted = [None; 10];
    (wanted[0], wanted[5], wanted[9]) = (Some(1.0), Some(2.0), Some(3.0));
    assert_eq!(counts, wanted);
    assert_eq!(envelope(&recording, 0, 50.0, 50.0, 2)[1], Column::of(Level::from_count(2.0)));
}

#[test]
fn a_view_that_makes_no_sense_is_empty() {
    let recording = recorded(&ramp(100));
    for (from_ms, to_ms) in
        [(f64::NAN, 9.0), (0.0, f64::NAN), (0.0, f64::INFINITY), (f64::NEG_INFINITY, 9.0), (9.0, 0.0)]
    {
        assert_eq!(envelope(&recording, 0, from_ms, to_ms, 3), [Column::NONE; 3], "{from_ms} to {to_ms}");
    }
    assert_eq!(envelope(&recording, 2, 0.0, 99.0, 3), [Column::NONE; 3]);
    assert_eq!(envelope(&recording, 0, 0.0, 99.0, 0), []);
}

#[test]
fn a_second_wire_may_appear_late() {
    let mut readings: Vec<Reading> = (0..6_000).map(|i| Reading::one(f64::from(i), 400.0)).collect();
    let mut recording = recorded(&readings);
    assert_eq!(recording.wires(), 1);
    assert_eq!(envelope(&recording, 1, 0.0, 5_999.0, 2), [Column::NONE; 2]);
    let late: Vec<Reading> =
        (6_000..9_000).map(|i| Reading::two(f64::from(i), 400.0, f64::from(i % 10))).collect();
    recording.push(&late);
    readings.extend(late);
    assert_eq!(recording.wires(), 2);
    assert_eq!(all(&recording), readings);
    assert_eq!(envelope(&recording, 1, 0.0, 9_000.0, 9), brute_envelope(&readings, 1, 0.0, 9_000.0, 9));
}

#[test]
fn what_is_older_than_the_time_limit_falls_out_and_is_told() {
    let mut recording = Recording::with_limits(10_000.0, usize::MAX);
    recording.push(&ramp(50_000));
    let fell_out = recording.fell_out();
    assert_eq!(recording.len() as u64 + fell_out.readings, 50_000);
    assert!((10_000..=10_000 + 4_096).contains(&recording.len()), "{}", recording.len());
    assert_eq!(recording.first_t_ms(), Some(fell_out.readings as f64));
    assert_eq!(fell_out.ms, fell_out.readings as f64);
    assert_eq!(all(&recording), ramp(50_000)[fell_out.readings as usize..]);
}

#[test]
fn a_slow_probe_falls_out_a_minute_at_a_time() {
    let mut recording = Recording::with_limits(600_000.0, usize::MAX);
    for i in 0..20_000 {
        recording.push(&[Reading::one(f64::from(i) * 100.0, 300.0)]);
    }
    let held_ms = 1_999_900.0 - recording.first_t_ms().unwrap();
    assert!((600_000.0..=660_100.0).contains(&held_ms), "{held_ms}");
}

#[test]
fn a_flood_does_not_eat_the_memory() {
    let mut recording = Recording::with_limits(f64::INFINITY, 20_000);
    let flood: Vec<Reading> = (0..1_000).map(|_| Reading::two(7.0, 1.0, 2.0)).collect();
    for _ in 0..200 {
        recording.push(&flood);
        assert!(recording.len() < 20_000 + 4_096);
        assert!(recording.bytes() < 2 * 4 * 25_000);
    }
    assert_eq!(recording.fell_out().readings, 200_000 - recording.len() as u64);
    assert_eq!(recording.fell_out().ms, 0.0);
}

#[test]
fn an_absurd_leap_in_time_keeps_the_newest() {
    let mut recording = recorded(&ramp(5_000));
    recording.push(&[Reading::one(1e300, 5.0)]);
    assert_eq!(all(&recording), [Reading::one(1e300, 5.0)]);
    assert_eq!(recording.fell_out(), FellOut { readings: 5_000, ms: 1e300 });
    assert_eq!(envelope(&recording, 0, 0.0, 1e300, 2)[1].low.count(), Some(5.0));
}

#[test]
fn a_loss_stands_between_the_readings_it_parts() {
    let mut recording = Recording::new();
    recording.mark_loss(); // before anything came, nothing is missing
    recording.push(&ramp(11));
    recording.mark_loss();
    recording.mark_loss();
    assert_eq!(recording.losses_between(0.0, 100.0), [10.0]);
    recording.push(&[Reading::one(20.0, 1.0)]);
    assert_eq!(recording.losses_between(0.0, 100.0), [15.0]);
    // After a long silence the loss lies across the edge of two chunks.
    recording.mark_loss();
    recording.push(&[Reading::one(5_020.0, 1.0)]);
    let losses = recording.losses_between(0.0, 10_000.0);
    let off_ms = 20.0 / 510.0; // these readings don't come evenly
    assert!(losses.len() == 2 && (losses[0] - 15.0).abs() <= off_ms, "{losses:?}");
    assert_eq!(losses[1], 2_520.0);
    assert_eq!(recording.losses_between(16.0, 10_000.0), [2_520.0]);
    assert!(recording.losses_between(16.0, 2_000.0).is_empty());
    assert!(recording.losses_between(f64::NAN, 2_000.0).is_empty());
    recording.clear();
    assert!(recording.is_empty());
    assert!(recording.losses_between(0.0, 10_000.0).is_empty());
}

#[test]
fn four_bytes_hold_a_reading_of_a_wire_however_unevenly_it_came() {
    let even = |i: u32| f64::from(i);
    let lumps = |i: u32| f64::from(i / 16) * 16.0 + f64::from(i % 3);
    for t_ms in [even, lumps] {
        let one: Vec<Reading> = (0..60_000).map(|i| Reading::one(t_ms(i), 512.0)).collect();
        let two: Vec<Reading> = (0..60_000).map(|i| Reading::two(t_ms(i), 512.0, 7.0)).collect();
        for (readings, wires) in [(one, 1.0), (two, 2.0)] {
            let mut recording = recorded(&readings);
            for at in (0..60_000).step_by(100) {
                recording.push(&readings[at..at + 100]);
                recording.mark_loss();
            }
            let bytes = recording.bytes() as f64 / recording.len() as f64 / wires;
            assert!(bytes <= 4.0, "{bytes} bytes per reading and wire");
        }
    }
}

/// A reading as its step in time and the levels of its wires.
fn step() -> impl Strategy<Value = (f64, Level, Level)> {
    let step_ms = prop_oneof![
        6 => Just(1.0),
        4 => Just(0.0),
        2 => 0.0..30.0,
        1 => Just(-4.0),
        1 => Just(f64::NAN),
        1 => 500.0..3_000.0,
    ];
    let level = || prop_oneof![1 => Just(Level::NONE), 6 => (0..=32_768_u16).prop_map(Level::from_steps)];
    (step_ms, level(), level())
}

/// Up to some thousand readings that come irregularly; one wire in half of them, at first.
fn readings() -> impl Strategy<Value = Vec<Reading>> {
    (proptest::collection::vec(step(), 1..600), 1..14_usize, 0..8_000_usize).prop_map(
        |(steps, times, second_from)| {
            let mut t_ms = 100.0;
            let again = steps.iter().cycle().take(steps.len() * times).enumerate();
            again
                .map(|(at, &(step_ms, first, second))| {
                    let now_ms = t_ms + step_ms;
                    if now_ms > t_ms {
                        t_ms = now_ms;
                    }
                    Reading {
                        t_ms: now_ms,
                        wire: [first, if at >= second_from { second } else { Level::NONE }],
                    }
                })
                .collect()
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn levels_come_back_exactly_and_times_in_order(readings in readings(), batch in 1..700_usize) {
        let mut recording = Recording::new();
        readings.chunks(batch).for_each(|batch| recording.push(batch));
        let back = all(&recording);
        prop_assert_eq!(back.len(), readings.len());
        prop_assert!(back.iter().zip(&readings).all(|(back, reading)| back.wire == reading.wire));
        prop_assert!(back.is_sorted_by(|a, b| a.t_ms <= b.t_ms));
        prop_assert_eq!(recording.last_t_ms(), back.last().map(|reading| reading.t_ms));
        prop_assert_eq!(recording.first_t_ms(), back.first().map(|reading| reading.t_ms));
    }

    #[test]
    fn the_envelope_is_what_looking_at_every_reading_gives(
        readings in readings(),
        ends in (-0.2..1.2, -0.2..1.2),
        whole: bool,
        columns in 1..300_usize,
        quartered: bool,
    ) {
        let mut recording = recorded(&readings);
        if quartered {
            recording.rescale(Converter::TwelveBit);
        }
        let back = all(&recording);
        let (first_ms, last_ms) = (recording.first_t_ms().unwrap(), recording.last_t_ms().unwrap());
        let at = |share: f64| first_ms + share * (last_ms - first_ms);
        let (from_ms, to_ms) = if whole {
            (first_ms, last_ms)
        } else {
            (at(ends.0).min(at(ends.1)), at(ends.0).max(at(ends.1)))
        };
        for wire in 0..2 {
            prop_assert_eq!(
                envelope(&recording, wire, from_ms, to_ms, columns),
                brute_envelope(&back, wire, from_ms, to_ms, columns)
            );
        }
        let wanted: Vec<Reading> =
            back.iter().copied().filter(|r| r.t_ms >= from_ms && r.t_ms <= to_ms).collect();
        prop_assert_eq!(recording.between(from_ms, to_ms).collect::<Vec<_>>(), wanted);
    }

    #[test]
    fn quartering_undoes_a_twelve_bit_converter_taken_for_ten(raw in proptest::collection::vec(0..=1023_u16, 1..5_000)) {
        let taken_for_ten: Vec<Reading> =
            raw.iter().enumerate().map(|(i, &raw)| Reading::one(i as f64, f64::from(raw))).collect();
        let mut recording = recorded(&taken_for_ten);
        recording.rescale(Converter::TwelveBit);
        for (reading, &raw) in all(&recording).iter().zip(&raw) {
            prop_assert_eq!(reading.wire[0].count(), Some(f64::from(raw) / 4.0));
        }
    }

    #[test]
    fn limits_hold_and_every_reading_is_held_or_told(
        readings in readings(),
        limit_ms in 0.0..5_000.0,
        limit in 0..6_000_usize,
        batch in 1..700_usize,
    ) {
        let mut recording = Recording::with_limits(limit_ms, limit);
        for batch in readings.chunks(batch) {
            recording.push(batch);
            prop_assert!(recording.len() <= limit + 4_096);
        }
        let fell_out = recording.fell_out();
        prop_assert_eq!(recording.len() as u64 + fell_out.readings, readings.len() as u64);
        prop_assert_eq!(all(&recording).len(), recording.len());
        let back = all(&recording);
        let tail = &readings[fell_out.readings as usize..];
        prop_assert!(back.iter().zip(tail).all(|(back, reading)| back.wire == reading.wire));
    }

    #[test]
    fn every_loss_is_found_between_its_readings(
        readings in readings(),
        marks in proptest::collection::btree_set(1..8_000_usize, 0..20),
    ) {
        let mut recording = Recording::new();
        for (at, reading) in readings.iter().enumerate() {
            if marks.contains(&at) {
                recording.mark_loss();
            }
            recording.push(&[*reading]);
        }
        let back = all(&recording);
        let wanted: Vec<f64> = marks
            .iter()
            .filter(|&&at| at < back.len())
            .map(|&at| back[at - 1].t_ms.midpoint(back[at].t_ms))
            .collect();
        prop_assert_eq!(recording.losses_between(f64::NEG_INFINITY, f64::INFINITY), wanted);
    }
}
