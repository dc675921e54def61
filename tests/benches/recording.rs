//! What the recording costs: readings taken in per second, a screen's envelope over a minute and
//! over two hours, bytes per reading and wire by its own count and by the system's.
//! Run with `cargo bench --bench recording`.

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
            RawReading { feed: RawReading::NONE, t_ms: t_ms(i), raw: [first, second] }
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

/// What the system has given this process, in bytes; `None` where it doesn't say.
fn resident() -> Option<f64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:"))?;
    Some(line.trim().trim_end_matches("kB").trim().parse::<f64>().ok()? * 1024.0)
}

/// Two hours on two wires, batch by batch, so that nothing but the recording grows; what it says
/// of itself beside what the system says. Comes first, while the process holds nothing else.
fn memory_of_the_process(_: &mut Criterion) {
    // All are held to the end: memory that one gives back would serve the next unseen.
    let mut held = Vec::new();
    for (arrival, t_ms) in ARRIVALS {
        let mut door = Door::new(Converter::TenBit);
        let mut batch = Vec::with_capacity(BATCH);
        let mut recording = Recording::new();
        let minute = raw(MINUTE, 2, |_| 0.0);
        let before = resident();
        for at in (0..120 * MINUTE).step_by(BATCH) {
            let mut lump = [RawReading { feed: RawReading::NONE, t_ms: 0.0, raw: [0; 2] }; BATCH];
            for (k, reading) in lump.iter_mut().enumerate() {
                *reading = RawReading { t_ms: t_ms(at + k), ..minute[(at + k) % MINUTE] };
            }
            batch.clear();
            black_box(door.take(&lump, &mut batch));
            recording.push(&batch);
        }
        let each = recording.len() as f64 * 2.0;
        let said = recording.bytes() as f64 / each;
        match before.zip(resident()) {
            Some((before, after)) => println!(
                "memory, {arrival}, 2 wires, {} readings: {said:.2} bytes per reading and wire by its own count, {:.2} by the process's growth",
                recording.len(),
                (after - before) / each
            ),
            None => println!("memory, {arrival}: {said:.2} bytes by its own count; the system doesn't say"),
        }
        held.push(recording);
    }
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

criterion_group!(benches, memory_of_the_process, taking_in, envelope, memory);
criterion_main!(benches);
