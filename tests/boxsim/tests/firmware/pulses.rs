//! The output: every edge where the plan has it, whatever else the box does meanwhile.

use boxsim::{Bench, Contact, HZ, MS, Supply, built, demo_project};
use spokewire::image::record;
use spokewire::recognise::{Which, plan_record};
use spokewire::remote::{Code, decode, families, family};
use spokewire::wire::{Ask, NamedReference, ReferenceKind};

const US: f64 = HZ as f64 / 1e6;
/// A space longer than any within a frame, and shorter than any between two, in microseconds.
const PAUSE_US: f64 = 6_000.0;

fn code(id: &str, address: u32, command: u32) -> Code {
    let family = family(id).expect("a family of the table");
    Code::Family { family: family.family_id(), address, command }
}

/// A box that samples and streams, with the link busy both ways.
pub(crate) fn busy_bench(rate_500k: bool) -> Bench {
    let mut bench = Bench::new(Supply::default());
    bench.ask(&Ask::Reference(NamedReference { kind: ReferenceKind::Supply, feed_monitor: true }));
    if rate_500k {
        bench.ask(&Ask::Rate500k(true));
    }
    bench.ask(&Ask::Stream(true));
    bench
}

/// The worst distance of an edge from its plan, in microseconds.
fn worst(planned: &[f64], measured: &[f64]) -> f64 {
    assert_eq!(planned.len(), measured.len(), "{planned:?} planned, {measured:?} measured");
    let (mut due, mut came, mut worst) = (0.0_f64, 0.0_f64, 0.0_f64);
    for (planned, measured) in planned.iter().zip(measured) {
        due += planned;
        came += measured;
        worst = worst.max((came - due).abs());
    }
    worst
}

/// Sends it while the link is kept busy, and gives the bursts.
pub(crate) fn send(
    bench: &mut Bench,
    code: &Code,
    held_ms: u16,
    toggle: bool,
    run_ms: u64,
) -> Vec<(u64, Vec<f64>)> {
    let since = bench.chip.now();
    bench.ask(&Ask::Send { held_ms, toggle, record: record(code).expect("it can be sent") });
    let end = bench.chip.now() + run_ms * MS;
    while bench.chip.now() < end {
        // Something comes in and something goes out all the while.
        bench.ask(&Ask::Identify);
        bench.ask(&Ask::Counters);
    }
    bench.bursts(since, PAUSE_US)
}

#[test]
fn every_edge_of_every_family_is_within_a_microsecond_of_the_plan_while_the_box_is_busy() {
    let mut all = 0.0_f64;
    for rate_500k in [false, true] {
        let mut bench = busy_bench(rate_500k);
        for family in families() {
            let mut of_family = 0.0_f64;
            let (address, command) = (family.address_max() & 0x59, family.command_max() & 0x16);
            for toggle in [false, true] {
                let code = code(family.id, address, command);
                let period_ms = (family.repeat_period_us / 1_000.0) as u64;
                let bursts = send(&mut bench, &code, 10, toggle, 4 * period_ms + 60);
                let record = record(&code).expect("it can be sent");
                let first = plan_record(&record, toggle, Which::First).expect("it can be planned");
                let again = plan_record(&record, toggle, Which::Again).expect("it can be planned");
                assert!(!bursts.is_empty(), "{}: nothing came", family.id);
                assert_eq!(bursts.len(), usize::from(first.least_frames.max(1)), "{}: frames", family.id);
                for (place, (_, burst)) in bursts.iter().enumerate() {
                    let plan = if place == 0 { &first } else { &again };
                    of_family = of_family.max(worst(&plan.timings_us, burst));
                    let decoded = decode(burst).unwrap_or_else(|error| panic!("{}: {error}", family.id));
                    assert_eq!(decoded.code().as_ref(), Some(&code), "{}: {decoded:?}", family.id);
                    if family.has_toggle() {
                        assert_eq!(decoded.toggle, Some(toggle), "{}", family.id);
                    }
                }
                // Frames follow one another at the family's period: from the first edge to the first.
                for pair in bursts.windows(2) {
                    let apart = (pair[1].0 - pair[0].0) as f64 / US;
                    of_family = of_family.max((apart - family.repeat_period_us).abs());
                }
            }
            println!(
                "{}: worst edge {of_family:.3} us off{}",
                family.id,
                if rate_500k { ", at 500000" } else { "" }
            );
            all = all.max(of_family);
        }
        assert!(bench.samples().len() > 3_000, "it streamed meanwhile");
    }
    assert!(all <= 1.0, "{all} us");
}

#[test]
fn a_held_button_repeats_as_its_family_wants_and_stops_when_let_go() {
    let project = demo_project();
    let body = built(&project).image.to_body().expect("it fits");
    let mut bench = Bench::with_image(Supply::default(), &body);
    bench.ask(&Ask::Watch(true));
    let from = bench.chip.now();
    bench.ladder.press(0, Contact::Firm(6.0), from + 10 * MS, 2_000);
    bench.run_ms(2_600);
    let bursts = bench.bursts(from, PAUSE_US);
    let heard: Vec<_> = bursts.iter().map(|(at, burst)| (at, decode(burst).expect("a code"))).collect();
    // NEC: a whole frame, then repeat frames 108 ms apart (published NEC format).
    let volume_up = code("nec", 89, 22);
    let firsts = heard.iter().filter(|(_, decoded)| decoded.code().as_ref() == Some(&volume_up)).count();
    let repeats = heard.iter().filter(|(_, decoded)| decoded.repeat).count();
    println!("held for 2 s: {firsts} whole frames, {repeats} repeats");
    assert_eq!(firsts + repeats, heard.len());
    assert!(firsts >= 1 && repeats >= 8, "{firsts} whole frames, {repeats} repeats");
    let last = bursts[bursts.len() - 1].0;
    assert!(
        last < from + (2_010 + 40) * MS,
        "a frame began {} ms after it was let go",
        (last - from) / MS - 2_010
    );
}

#[test]
fn the_toggle_turns_over_with_each_press_and_not_while_held() {
    let mut image = built(&demo_project()).image;
    for command in &mut image.commands {
        command.code = spokewire::image::ImageCode::Family { family: 3, address: 5, command: 16 };
    }
    assert_eq!(families()[2].id, "rc5");
    let mut bench = Bench::with_image(Supply::default(), &image.to_body().expect("it fits"));
    let from = bench.chip.now();
    for press in 0..4 {
        bench.ladder.press(2, Contact::Firm(6.0), from + (20 + press * 500) * MS, 100);
    }
    bench.run_ms(2_300);
    let toggles: Vec<_> =
        bench.bursts(from, PAUSE_US).iter().map(|(_, burst)| decode(burst).expect("rc5").toggle).collect();
    assert_eq!(toggles.len(), 4, "{toggles:?}");
    assert!(toggles.windows(2).all(|pair| pair[0] != pair[1]), "{toggles:?}");
}

#[test]
fn the_line_is_released_through_reset_and_a_frame_that_a_reset_cuts_ends_at_once() {
    let mut bench = Bench::new(Supply::default());
    let nec = record(&code("nec", 89, 22)).expect("it can be sent");
    bench.ask(&Ask::Send { held_ms: 10, toggle: false, record: nec });
    bench.run_ms(5);
    assert!(bench.chip.is_driven('B', 1), "a frame runs");
    bench.chip.reset_pin();
    bench.chip.step();
    let low = !bench.chip.is_high('B', 1);
    assert!(low, "the base is pulled down while the chip is in reset");
    let since = bench.chip.now();
    bench.run_ms(1_500);
    assert_eq!(bench.output().iter().filter(|edge| edge.cycle > since + MS && edge.high).count(), 0);
}

#[test]
fn stopping_ends_what_is_sent_after_the_frame_that_runs() {
    let mut bench = Bench::new(Supply::default());
    let since = bench.chip.now();
    let nec = record(&code("nec", 89, 22)).expect("it can be sent");
    bench.ask(&Ask::Send { held_ms: 5_000, toggle: false, record: nec });
    bench.run_ms(500);
    bench.ask(&Ask::StopSending);
    bench.run_ms(800);
    let bursts = bench.bursts(since, PAUSE_US);
    assert!((4..=6).contains(&bursts.len()), "{} frames in half a second", bursts.len());
    assert!(bursts.iter().all(|(_, burst)| decode(burst).is_ok()), "and each is whole");
}

// Registers of Timer 2, in data space (datasheet, register summary).
const TCCR2A: usize = 0xB0;
const TCCR2B: usize = 0xB1;
const OCR2A: usize = 0xB3;
const OCR2B: usize = 0xB4;

/// The simulator doesn't run Timer 2 to a top of its own, so the carrier is seen in its registers: a
/// period of OCR2A + 1 steps of 0.5 us, connected to the pin while the line is marked and only then.
#[test]
fn the_infrared_pin_is_connected_to_its_carrier_in_every_mark_where_the_image_wants_it() {
    for infrared in [false, true] {
        let mut image = built(&demo_project()).image;
        image.infrared = infrared;
        let mut bench = Bench::with_image(Supply::default(), &image.to_body().expect("it fits"));
        let from = bench.chip.now();
        bench.ladder.press(2, Contact::Firm(6.0), from + 10 * MS, 100);
        let (mut seen, mut edges) = (Vec::new(), bench.output().len());
        while bench.chip.now() < from + 300 * MS {
            bench.chip.step();
            if bench.output().len() > edges {
                edges = bench.output().len();
                let high = bench.output()[edges - 1].high;
                bench.chip.run_us(25); // the compare's interrupt follows the edge
                seen.push((high, bench.chip.data(TCCR2A) & 0x30 == 0x20));
            }
        }
        assert!(seen.len() >= 68, "{} edges of an NEC frame", seen.len());
        assert!(seen.iter().all(|(mark, carrier)| *carrier == (*mark && infrared)), "{infrared}: {seen:?}");
        if infrared {
            let period_us = f64::from(bench.chip.data(OCR2A) + 1) * 0.5;
            let on_us = f64::from(bench.chip.data(OCR2B) + 1) * 0.5;
            println!("carrier {:.2} kHz, on {:.2}", 1_000.0 / period_us, on_us / period_us);
            assert_eq!(bench.chip.data(TCCR2B) & 0x0F, 0x0A, "fast PWM to OCR2A, 2 MHz");
            assert!((1_000.0 / period_us - 38.0).abs() < 0.5, "{period_us} us");
            assert!((0.25..0.5).contains(&(on_us / period_us)), "{on_us} of {period_us} us");
        }
        assert!(!bench.chip.is_high('D', 3), "and dark afterwards");
    }
}
