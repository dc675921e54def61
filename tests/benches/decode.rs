//! How many captures a second one core understands: this program's `decode` (first frame, any of the
//! nine families) and `hear` (the whole press, with stretch, repeats and alternatives) beside two
//! libraries made by others, on the same captures: `irp` (one protocol's automaton, from its notation)
//! and `infrared` (one protocol's decoder for microcontrollers). The others are told which protocol to
//! look for and check less; this program finds out.
//! Run with `cargo bench --bench decode`.

use std::hint::black_box;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use infrared::protocol::nec::NecCommand;
use infrared::protocol::{Nec, Rc5};
use infrared::receiver::BufferInputReceiver;
use irp::{DFA, Decoder, InfraredData, Irp, Options};
use spokewire::remote::{Code, FamilyId, decode, encode, hear};

/// Captures of one family.
const CAPTURES: u32 = 256;

/// Marks are longer by this, in microseconds: within what all of them take.
const STRETCH_US: f64 = 40.0;

/// In IRP notation, written from the documents named in `tests/codes/libraries.rs`.
const NEC: &str =
    "{38k,562.5}<1,-1|1,-3>(16,-8,D:8,~D:8,F:8,~F:8,1,^108m,(16,-4,1,^108m)*)[D:0..255,F:0..255]";
/// The first half of the start bit is idle and can't be seen, so that it is written as a mark.
const RC5: &str = "{36k,889,msb}<1,-1|-1,1>(1,~F:1:6,T:1,D:5,F:6,^113778u)*[D:0..31,F:0..127,T:0..1]";

/// How the other libraries match a duration: 100 µs or 30 %, as `irp`'s own page sets it.
fn options() -> Options<'static> {
    Options { aeps: 100, eps: 30, max_gap: 20_000, ..Options::default() }
}

/// A press held for two repeats, marks stretched and the whole a little jittered.
fn press(family: &str, number: u32) -> Vec<f64> {
    let code = Code::Family {
        family: FamilyId(family.to_owned()),
        address: number % 31,
        command: (number * 7) % 64,
    };
    let Ok(frame) = encode(&code, false) else { return Vec::new() };
    let mut timings_us = frame.pulses_us.clone();
    let mut last_us = frame.total_us();
    for _ in 0..2 {
        timings_us.push(frame.repeat.period_us.unwrap_or_default() - last_us);
        timings_us.extend(&frame.repeat.pulses_us);
        last_us = frame.repeat.pulses_us.iter().sum();
    }
    // The gap that ends it, which the others wait for.
    timings_us.push(60_000.0);
    let heard = timings_us.iter().enumerate().map(|(at, us)| {
        let jitter = 1.0 + 0.01 * ((at as u32 * 37 + number) % 7) as f64 - 0.03;
        us * jitter + if at.is_multiple_of(2) { STRETCH_US } else { -STRETCH_US }
    });
    heard.collect()
}

/// The same captures as each of them takes them.
struct Captures {
    ours: Vec<Vec<f64>>,
    edges: Vec<Vec<u32>>,
    irp: Vec<Vec<InfraredData>>,
}

impl Captures {
    fn of(family: &str) -> Self {
        let ours: Vec<Vec<f64>> = (0..CAPTURES).map(|number| press(family, number)).collect();
        let whole =
            |timings_us: &Vec<f64>| -> Vec<u32> { timings_us.iter().map(|us| us.round() as u32).collect() };
        let edges = ours.iter().map(|us| std::iter::once(0).chain(whole(us)).collect()).collect();
        let irp = ours.iter().map(|us| InfraredData::from_u32_slice(&whole(us))).collect();
        Self { ours, edges, irp }
    }
}

/// How many codes one capture's automaton tells.
fn by_irp(dfa: &DFA, capture: &[InfraredData]) -> usize {
    let mut decoder = Decoder::new(options());
    let mut told = 0;
    for &data in capture {
        decoder.dfa_input(data, dfa, |_, _| told += 1);
    }
    told
}

fn decoding(c: &mut Criterion) {
    for (family, notation) in [("nec", NEC), ("rc5", RC5)] {
        let captures = Captures::of(family);
        let dfa = Irp::parse(notation).and_then(|irp| irp.compile(&options()));
        let mut group = c.benchmark_group(family);
        group.throughput(Throughput::Elements(u64::from(CAPTURES)));
        // Each must understand every capture, or a fast refusal would count as speed.
        let understood = captures.ours.iter().filter(|us| hear(us).is_ok() && decode(us).is_ok()).count();
        println!("{family}: of {CAPTURES} captures ours understands {understood}");
        group.bench_function("decode", |b| {
            b.iter(|| captures.ours.iter().filter(|us| decode(black_box(us)).is_ok()).count());
        });
        group.bench_function("hear", |b| {
            b.iter(|| captures.ours.iter().filter(|us| hear(black_box(us)).is_ok()).count());
        });
        match &dfa {
            Ok(dfa) => {
                let understood = captures.irp.iter().filter(|data| by_irp(dfa, data) > 0).count();
                println!("{family}: of {CAPTURES} captures irp understands {understood}");
                group.bench_function("irp", |b| {
                    b.iter(|| captures.irp.iter().filter(|data| by_irp(dfa, black_box(data)) > 0).count());
                });
            }
            Err(error) => println!("{family}: irp builds no automaton: {error}"),
        }
        // Its decoders are types, so that each family has lines of its own.
        if family == "nec" {
            let mut nec = BufferInputReceiver::<Nec<NecCommand>>::with_frequenzy(1_000_000);
            let understood = captures.edges.iter().filter(|us| nec.iter(us).next().is_some()).count();
            println!("{family}: of {CAPTURES} captures infrared understands {understood}");
            group.bench_function("infrared", |b| {
                b.iter(|| captures.edges.iter().map(|us| nec.iter(black_box(us)).count()).sum::<usize>());
            });
        } else {
            let mut rc5 = BufferInputReceiver::<Rc5>::with_frequenzy(1_000_000);
            let understood = captures.edges.iter().filter(|us| rc5.iter(us).next().is_some()).count();
            println!("{family}: of {CAPTURES} captures infrared understands {understood}");
            group.bench_function("infrared", |b| {
                b.iter(|| captures.edges.iter().map(|us| rc5.iter(black_box(us)).count()).sum::<usize>());
            });
        }
        group.finish();
    }
}

criterion_group!(benches, decoding);
criterion_main!(benches);
