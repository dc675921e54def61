//! How many readings a second one core takes in, stage by stage and along the whole road: bytes to
//! numbers, numbers to counts, counts to the recording, counts to a prompted session. The wheel is
//! the demo van's, on one wire and on two, at rest and while a person learns it.
//! Run with `cargo bench --bench intake`.

mod van;

use std::fmt::Write as _;
use std::hint::black_box;

use criterion::{BatchSize, BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use spokewire::demo::{HandMove, Person, VirtualWheel};
use spokewire::learn::{Ask, Event, Phase, PressState, Session, Setup};
use spokewire::link::PlainParser;
use spokewire::project::ButtonId;
use spokewire::signal::{Converter, Door, RawReading, Reading, Recording};

use van::van;

/// Bytes that a port hands over at once: a sixtieth of a second of two wires at 1 kHz.
const PIECE: usize = 128;

/// Readings taken in at once: as many lines as a piece holds, give or take.
const BATCH: usize = 16;

/// How long nothing is pressed, in readings.
const IDLE: usize = 60_000;

/// Readings, and the session as it was before the first of them.
struct Stream {
    name: String,
    session: Session,
    raw: Vec<RawReading>,
    counts: Vec<Reading>,
    text: Vec<u8>,
}

impl Stream {
    fn new(name: String, session: Session, raw: Vec<RawReading>) -> Self {
        let mut counts = Vec::new();
        Door::new(Converter::TenBit).take(&raw, &mut counts);
        // The parser drops the first line, which may have been cut.
        let mut text = String::from("\n");
        for reading in &raw {
            let _ = match reading.raw {
                [first, RawReading::NONE] => writeln!(text, "{first}"),
                [first, second] => writeln!(text, "{first} {second}"),
            };
        }
        Self { name, session, raw, counts, text: text.into_bytes() }
    }
}

/// A person learns the van by prompting. Gives what was read while rest was learned, then with
/// nobody pressing anything, and then instead from the first press asked for to the end.
fn streams(wires: u8) -> [Stream; 3] {
    let plan = van(wires);
    let buttons = plan.buttons.iter().map(|button| Ask {
        id: ButtonId(button.name.clone()),
        name: button.name.clone(),
        wire: (wires == 2).then_some(button.wire),
    });
    let mut session = Session::new(Setup::new(buttons.collect(), 3));
    let (begun, mut at_first) = (session.clone(), Vec::new());
    let mut door = Door::new(Converter::TenBit);
    let mut wheel = VirtualWheel::new(plan.clone(), 7);
    let mut person = Person::new(7);
    let (mut counts, mut events) = (Vec::new(), Vec::new());
    let mut take = |session: &mut Session, reading: RawReading| {
        counts.clear();
        events.clear();
        door.take(&[reading], &mut counts);
        session.take(&counts, &mut events);
    };
    while !matches!(session.prompt().phase, Phase::Press { .. }) {
        let reading = wheel.next();
        at_first.push(reading);
        take(&mut session, reading);
    }
    let (waiting, mut untouched) = (session.clone(), wheel.clone());
    let idle = (0..IDLE).map(|_| untouched.next()).collect();
    let mut pressed = Vec::new();
    while !session.is_over() {
        let reading = wheel.next();
        pressed.push(reading);
        take(&mut session, reading);
        let wanted = match session.prompt().phase {
            Phase::Press {
                button, touch, state: PressState::Waiting | PressState::Refused { .. }, ..
            } => plan.buttons.iter().position(|planned| planned.name == button.0).map(|index| (index, touch)),
            _ => None,
        };
        match person.step(reading.t_ms, wanted) {
            Some(HandMove::Press { button, touch }) => wheel.press(button, touch),
            Some(HandMove::Release) => wheel.release(),
            None => {}
        }
    }
    assert_eq!(
        session.learned() as usize,
        plan.buttons.len(),
        "all are learned, or this measures something else"
    );
    let wires = if wires == 2 { "2 wires" } else { "1 wire" };
    [
        Stream::new(format!("{wires}, rest being learned"), begun, at_first),
        Stream::new(format!("{wires}, at rest"), waiting.clone(), idle),
        Stream::new(format!("{wires}, being learned"), waiting, pressed),
    ]
}

fn parse(text: &[u8]) -> u64 {
    let mut parser = PlainParser::new();
    let mut sum = 0;
    for piece in text.chunks(PIECE) {
        parser.feed(piece, |first, second| sum += u64::from(first) + u64::from(second.unwrap_or(0)));
    }
    assert_eq!(parser.tally().broken, 0);
    sum
}

fn count(raw: &[RawReading], out: &mut Vec<Reading>) {
    let mut door = Door::new(Converter::TenBit);
    for lump in raw.chunks(BATCH) {
        out.clear();
        black_box(door.take(lump, out));
        black_box(&out);
    }
}

fn record(counts: &[Reading], recording: &mut Recording) {
    counts.chunks(BATCH).for_each(|lump| recording.push(lump));
}

fn learn(counts: &[Reading], session: &mut Session, events: &mut Vec<Event>) {
    counts.chunks(BATCH).for_each(|lump| session.take(lump, events));
}

/// The whole road, as the link's thread and the model walk it.
fn all(stream: &Stream, recording: &mut Recording, session: &mut Session, events: &mut Vec<Event>) {
    let mut parser = PlainParser::new();
    let mut door = Door::new(Converter::TenBit);
    let mut t_ms = stream.raw.first().map_or(0.0, |reading| reading.t_ms);
    let (mut raw, mut counts) = (Vec::with_capacity(PIECE), Vec::with_capacity(PIECE));
    for piece in stream.text.chunks(PIECE) {
        raw.clear();
        counts.clear();
        parser.feed(piece, |first, second| {
            raw.push(RawReading {
                feed: RawReading::NONE,
                t_ms,
                raw: [first, second.unwrap_or(RawReading::NONE)],
            });
            t_ms += 1.0;
        });
        door.take(&raw, &mut counts);
        recording.push(&counts);
        session.take(&counts, events);
    }
}

fn intake(criterion: &mut Criterion) {
    let streams: Vec<Stream> = [1, 2].into_iter().flat_map(streams).collect();
    for stream in &streams {
        // What is timed below does what it is said to do.
        let (mut recording, mut session, mut events) = (Recording::new(), stream.session.clone(), Vec::new());
        all(stream, &mut recording, &mut session, &mut events);
        assert_eq!(recording.len(), stream.raw.len());
        let presses = events.iter().filter(|event| matches!(event, Event::Pressed { .. })).count();
        println!("{}: {} readings, {presses} presses counted", stream.name, stream.raw.len());
    }
    let mut group = criterion.benchmark_group("intake");
    for stream in &streams {
        group.throughput(Throughput::Elements(stream.raw.len() as u64));
        let id = |stage: &str| BenchmarkId::new(stage, &stream.name);
        group.bench_function(id("bytes to numbers"), |bencher| bencher.iter(|| parse(&stream.text)));
        group.bench_function(id("numbers to counts"), |bencher| {
            let mut out = Vec::with_capacity(BATCH);
            bencher.iter(|| count(&stream.raw, &mut out));
        });
        group.bench_function(id("counts to recording"), |bencher| {
            bencher.iter_batched_ref(
                Recording::new,
                |recording| record(&stream.counts, recording),
                BatchSize::PerIteration,
            );
        });
        group.bench_function(id("counts to session"), |bencher| {
            bencher.iter_batched_ref(
                || (stream.session.clone(), Vec::new()),
                |(session, events)| learn(&stream.counts, session, events),
                BatchSize::PerIteration,
            );
        });
        group.bench_function(id("all"), |bencher| {
            bencher.iter_batched_ref(
                || (Recording::new(), stream.session.clone(), Vec::new()),
                |(recording, session, events)| all(stream, recording, session, events),
                BatchSize::PerIteration,
            );
        });
    }
    group.finish();
}

criterion_group!(benches, intake);
criterion_main!(benches);
