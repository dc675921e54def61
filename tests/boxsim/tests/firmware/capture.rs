//! A remote captured from the receiver on PB0: what goes in as pulses comes out as the same code.

use boxsim::{Bench, HZ, MS, Supply, demo_body};
use spokewire::image::record;
use spokewire::remote::{Code, decode, encode, families, family};
use spokewire::wire::{Ask, BoxEvent, NamedReference, ReferenceKind};

/// Puts marks and spaces on the receiver's pin, mark first, active low; gives when they end.
fn play(from: u64, bench: &mut Bench, pulses_us: &[f64]) -> u64 {
    let mut at_us = 0.0;
    for (place, us) in pulses_us.iter().enumerate() {
        let at = from + (at_us * HZ as f64 / 1e6) as u64;
        bench.chip.drive_at(at, 'B', 0, place % 2 == 1);
        at_us += us;
    }
    let end = from + (at_us * HZ as f64 / 1e6) as u64;
    bench.chip.drive_at(end, 'B', 0, true);
    end
}

/// Captures told so far: timings, and whether there was an overflow. Parts have to fit together.
fn captures(bench: &mut Bench) -> Vec<(Vec<f64>, bool)> {
    let mut whole = Vec::new();
    let mut timings: Vec<f64> = Vec::new();
    for (_, event) in bench.events.drain(..) {
        if let BoxEvent::Capture(part) = event {
            assert_eq!(usize::from(part.from), timings.len(), "a part is missing");
            timings.extend(part.timings_us.iter().map(|us| f64::from(*us)));
            if part.last {
                whole.push((std::mem::take(&mut timings), part.overflow));
            }
        }
    }
    assert_eq!(timings, [0.0; 0], "a capture never ended");
    whole
}

fn listening() -> Bench {
    let mut bench = Bench::new(Supply::default());
    bench.chip.drive('B', 0, true);
    bench.run_ms(1);
    bench.ask(&Ask::Listen(true));
    bench
}

fn worst(played: &[f64], captured: &[f64]) -> f64 {
    assert_eq!(played.len(), captured.len(), "{captured:?}");
    played.iter().zip(captured).fold(0.0, |worst, (a, b)| f64::max(worst, (a - b).abs()))
}

#[test]
fn a_frame_of_every_family_is_captured_within_a_step_and_decodes_while_samples_stream() {
    let mut bench = listening();
    bench.ask(&Ask::Reference(NamedReference { kind: ReferenceKind::Supply, feed_monitor: true }));
    bench.ask(&Ask::Stream(true));
    let mut all = 0.0_f64;
    for family in families() {
        let (address, command) = (family.address_max() & 0x35, family.command_max() & 0x2A);
        let code = Code::Family { family: family.family_id(), address, command };
        let pulses = encode(&code, false).expect("a code").pulses_us;
        let end = play(bench.chip.now() + MS, &mut bench, &pulses);
        bench.chip.run_to(end + 160 * MS);
        bench.read();
        let heard = captures(&mut bench);
        assert_eq!(heard.len(), 1, "{}", family.id);
        let (timings, overflow) = &heard[0];
        assert!(!overflow);
        let off = worst(&pulses, timings);
        println!("{}: {} timings, {off:.2} us off at worst", family.id, timings.len());
        all = all.max(off);
        assert_eq!(decode(timings).expect("a code").code(), Some(code), "{}", family.id);
    }
    assert!(all <= 4.0, "{all} us: a step is 2 us, at both ends of a timing");
}

#[test]
fn an_nec_frame_and_its_repeat_98_ms_later_are_one_capture() {
    for gap_ms in [40.0, 98.0] {
        let mut bench = listening();
        let code = Code::Family { family: family("nec").expect("nec").family_id(), address: 89, command: 22 };
        let frame = encode(&code, false).expect("a code");
        let first = frame.pulses_us.len();
        let pulses = [&frame.pulses_us[..], &[gap_ms * 1_000.0], &frame.repeat.pulses_us].concat();
        let end = play(bench.chip.now() + MS, &mut bench, &pulses);
        bench.chip.run_to(end + 160 * MS);
        bench.read();
        let heard = captures(&mut bench);
        assert_eq!(heard.len(), 1, "one capture, not {}", heard.len());
        let timings = &heard[0].0;
        assert!(worst(&pulses, timings) <= 4.0, "{timings:?}");
        assert_eq!(decode(&timings[..first]).expect("a code").code(), Some(code));
        assert!(decode(&timings[first + 1..]).expect("a repeat").repeat);
    }
}

#[test]
fn two_presses_of_a_remote_are_two_captures() {
    let mut bench = listening();
    let code = Code::Family { family: family("rc5").expect("rc5").family_id(), address: 5, command: 16 };
    let pulses = encode(&code, false).expect("a code").pulses_us;
    let end = play(bench.chip.now() + MS, &mut bench, &pulses);
    let end = play(end + 140 * MS, &mut bench, &pulses);
    bench.chip.run_to(end + 160 * MS);
    bench.read();
    assert_eq!(captures(&mut bench).len(), 2);
}

#[test]
fn more_edges_than_can_be_kept_are_told_as_such_and_the_next_capture_is_whole() {
    let mut bench = listening();
    let end = play(bench.chip.now() + MS, &mut bench, &[500.0; 401]);
    bench.chip.run_to(end + 160 * MS);
    bench.read();
    let heard = captures(&mut bench);
    assert_eq!(heard.len(), 1);
    assert!(heard[0].1, "{} timings and no word of an overflow", heard[0].0.len());
    assert!(heard[0].0.len() <= 199);
    let pulses = [vec![9_000.0, 4_500.0], vec![560.0; 65]].concat();
    let end = play(bench.chip.now() + MS, &mut bench, &pulses);
    bench.chip.run_to(end + 160 * MS);
    bench.read();
    let heard = captures(&mut bench);
    assert_eq!(heard.len(), 1);
    assert!(worst(&pulses, &heard[0].0) <= 4.0);
}

#[test]
fn the_longest_capture_of_the_shortest_pulses_is_kept_whole() {
    let mut bench = listening();
    // 200 edges: 199 timings, of the least length that any family's unit has.
    let pulses = vec![264.0; 199];
    let end = play(bench.chip.now() + MS, &mut bench, &pulses);
    bench.chip.run_to(end + 160 * MS);
    bench.read();
    let heard = captures(&mut bench);
    assert_eq!(heard.len(), 1);
    assert!(!heard[0].1, "an overflow after {} timings", heard[0].0.len());
    assert!(worst(&pulses, &heard[0].0) <= 4.0);
}

#[test]
fn capturing_and_sending_at_once_share_the_timer() {
    let mut bench = Bench::with_image(Supply::default(), &demo_body());
    bench.chip.drive('B', 0, true);
    bench.ask(&Ask::Listen(true));
    let nec =
        |command| Code::Family { family: family("nec").expect("nec").family_id(), address: 89, command };
    let pulses = encode(&nec(34), false).expect("a code").pulses_us;
    let since = bench.chip.now();
    bench.ask(&Ask::Send { held_ms: 10, toggle: false, record: record(&nec(23)).expect("a record") });
    let end = play(bench.chip.now(), &mut bench, &pulses);
    bench.chip.run_to(end + 160 * MS);
    bench.read();
    let heard = captures(&mut bench);
    assert_eq!(decode(&heard[0].0).expect("a code").code(), Some(nec(34)));
    assert!(worst(&pulses, &heard[0].0) <= 4.0);
    let sent = bench.bursts(since, 6_000.0);
    assert_eq!(decode(&sent[0].1).expect("a code").code(), Some(nec(23)));
}

#[test]
fn nothing_is_captured_unless_asked_for() {
    let mut bench = Bench::new(Supply::default());
    bench.chip.drive('B', 0, true);
    let end = play(bench.chip.now() + MS, &mut bench, &[560.0; 31]);
    bench.chip.run_to(end + 160 * MS);
    bench.read();
    assert_eq!(captures(&mut bench).len(), 0);
}
