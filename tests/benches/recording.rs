//! What the recording costs: readings taken in per second, a screen's envelope over a minute and
//! over two hours, bytes per reading and wire. Run with `cargo bench --bench recording`.

use std::hint::black_box;

use criterion::{BatchSize, BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use spokewire::signal::{Converter, Door, RawReading, Recording};

/// Columns of a wide screen's plot.
const COLUMNS: usize = 1_000;

/// Readings in a batch from the link: a sixtieth of a second at 1 kHz.
const BATCH: usize = 16;

const MINUTE: usize = 60_000;

/// When a reading comes, in milliseconds, by its place in the recording.
type Arrival = fn(usize) -> f64;

/// How readings come: one each millisecond, or in lumps as a serial port hands them over.
const ARRIVALS: [(&str, Arrival); 2] =
    [("even", |i| i as f64), ("lumps", |i| (i / BATCH * BATCH) as f64 + (i % BATCH) as f64 / 100.0)];

/// A wheel at rest with noise, pressed now and then.
fn raw(readings: usize, wires: usize, t_ms: Arrival) -> Vec<RawReading> {
    let mut noise = 1_u32;
    (0..readings)
        .map(|i| {
            noise = noise.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let jitter = (noise >> 30) as u16;
            let pressed = i % 4_000 > 3_000;
            let first = if pressed { 300 + (i / 4_000 % 8 * 80) as u16 } else { 1_000 } + jitter;
            let second = if wires == 2 { 900 + jitter } else { RawReading::NONE };
            RawReading { t_ms: t_ms(i), raw: [first, second] }
        })
        .collect()
}

fn take_in(raw: &[RawReading], recording: &mut Recording) {
    let mut door = Door::new(Converter::TenBit);
    let mut batch = Vec::with_capacity(BATCH);
    for lump in raw.chunks(BATCH) {
        batch.clear();
        black_box(door.take(lump, &mut batch));
        recording.push(&batch);
    }
}

fn recorded(raw: &[RawReading]) -> Recording {
    let mut recording = Recording::new();
    take_in(raw, &mut recording);
    recording
}

fn taking_in(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("readings taken in (door and recording)");
    for (name, t_ms) in ARRIVALS {
        for wires in [1, 2] {
            let raw = raw(10 * MINUTE, wires, t_ms);
            group.throughput(Throughput::Elements(raw.len() as u64));
            group.bench_function(BenchmarkId::new(name, format!("{wires} wires")), |bencher| {
                bencher.iter_batched_ref(
                    Recording::new,
                    |recording| take_in(&raw, recording),
                    BatchSize::PerIteration,
                );
            });
        }
    }
    group.finish();
}

fn envelope(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("1000 columns of two wires, wholly in view");
    for (arrival, t_ms) in ARRIVALS {
        for (span, minutes) in [("1 min", 1), ("10 min", 10), ("1 h", 60), ("2 h", 120)] {
            let recording = recorded(&raw(minutes * MINUTE, 2, t_ms));
            let (from_ms, to_ms) =
                (recording.first_t_ms().unwrap_or(0.0), recording.last_t_ms().unwrap_or(0.0));
            let mut out = Vec::with_capacity(COLUMNS);
            group.bench_function(BenchmarkId::new(arrival, span), |bencher| {
                bencher.iter(|| {
                    for wire in 0..2 {
                        recording.envelope(wire, from_ms, to_ms, COLUMNS, &mut out);
                        black_box(&out);
                    }
                });
            });
        }
    }
    group.finish();
}

/// No time is taken here: the bytes are counted and printed.
fn memory(_: &mut Criterion) {
    for (arrival, t_ms) in ARRIVALS {
        for wires in [1, 2] {
            for (span, minutes) in [("1 min", 1), ("2 h", 120)] {
                let recording = recorded(&raw(minutes * MINUTE, wires, t_ms));
                let bytes = recording.bytes() as f64 / recording.len() as f64 / wires as f64;
                println!("memory, {arrival}, {wires} wires, {span}: {bytes:.2} bytes per reading and wire");
            }
        }
    }
}

criterion_group!(benches, taking_in, envelope, memory);
criterion_main!(benches);
