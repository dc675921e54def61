//! An hour at 1 kHz through the box's recogniser as `replay` does it, beside a plain loop that decides by
//! the same bands; and the file it comes from. `cargo bench --bench replay`.

#![expect(clippy::unwrap_used, reason = "a benchmark that can't be set up may fail")]

use std::hint::black_box;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use spokewire::bands::Touch;
use spokewire::demo::{VirtualWheel, demo_van};
use spokewire::image::{self, Image};
use spokewire::project;
use spokewire::signal::{Converter, RawReading, csv_header, csv_rows, read_csv};

const HOUR_MS: u64 = 3_600_000;

fn demo_image() -> Image {
    let text = include_str!("../../projects/demo-van.ron");
    let project = project::read(text).unwrap().project;
    image::build(&project, &project::bands(&project)).unwrap().image
}

/// A press every 2.5 s, each held for 0.5 s, all touches and buttons in turn.
fn an_hour() -> Vec<RawReading> {
    let mut wheel = VirtualWheel::new(demo_van(), 7);
    let touches = [Touch::Firm, Touch::Light, Touch::Firm, Touch::Slow];
    (0..HOUR_MS)
        .map(|ms| {
            let press = (ms / 2_500) as usize;
            match ms % 2_500 {
                500 => wheel.press(press % 7, touches[press % 4]),
                1_000 => wheel.release(),
                _ => {}
            }
            wheel.next()
        })
        .collect()
}

/// What one would write by hand: the middle of three, the band it lies in, how long that has held. One
/// wire, no settle limit, no gestures, no second press before rest.
fn plain_loop(image: &Image, readings: &[RawReading]) -> u32 {
    let rest = image.rests[0];
    let bands: Vec<(u16, u16)> =
        image.buttons.iter().map(|button| (button.band.low, button.band.high)).collect();
    let dwell = u32::from(image.dwell_ms);
    let (mut past, mut label, mut run, mut is_armed, mut presses) = ([0_u16; 2], usize::MAX, 0_u32, false, 0);
    for reading in readings {
        let now = reading.raw[0];
        let (low, high) = (past[0].min(past[1]), past[0].max(past[1]));
        let middle = now.clamp(low, high);
        past = [past[1], now];
        let found = if (rest.low..=rest.high).contains(&middle) {
            100
        } else {
            bands.iter().position(|&(low, high)| (low..=high).contains(&middle)).unwrap_or(101)
        };
        run = if found == label { run + 1 } else { 1 };
        label = found;
        if run == dwell {
            if label == 100 {
                is_armed = true;
            } else if label < 100 && is_armed {
                is_armed = false;
                presses += 1;
            }
        }
    }
    presses
}

fn replay(c: &mut Criterion) {
    let image = demo_image();
    let readings = an_hour();
    let events = image::replay(&image, Converter::TenBit, &readings).unwrap();
    // 1440 presses; a slow one may not have settled within half a second.
    assert!(events.len() > 3_000, "{} events", events.len());
    assert!(plain_loop(&image, &readings) > 1_000);
    let mut group = c.benchmark_group("an hour at 1 kHz");
    group.sample_size(10).throughput(Throughput::Elements(HOUR_MS));
    group.bench_function("recogniser", |b| {
        b.iter(|| image::replay(&image, Converter::TenBit, black_box(&readings)).unwrap().len());
    });
    group.bench_function("plain loop", |b| b.iter(|| plain_loop(&image, black_box(&readings))));
    let mut text = format!("{}\n", csv_header(1, false));
    csv_rows(&readings, 1, false, &mut text);
    group.bench_function("reading its file", |b| {
        b.iter(|| read_csv(black_box(text.as_bytes())).unwrap().readings.len());
    });
    group.finish();
}

criterion_group!(benches, replay);
criterion_main!(benches);
