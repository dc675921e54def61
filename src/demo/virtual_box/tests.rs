//! The virtual box as the laptop meets it: messages in, ticks, messages out.

use super::*;
use crate::image::{Image, ImageBand, ImageButton, check};
use crate::wire::AnswerFault;

const REST: f64 = 900.0;
const PRESSED: f64 = 300.0;

fn reading(count: f64) -> RawReading {
    RawReading { t_ms: 0.0, raw: [count as u16, RawReading::NONE], feed: RawReading::NONE }
}

/// An image with one button, told apart from others by its dwell.
fn body(dwell_ms: u8) -> Vec<u8> {
    let around = |count: f64| ImageBand { low: count as u16 - 10, high: count as u16 + 10 };
    Image {
        dwell_ms,
        settle_count: 4.0,
        hold_ms: 500,
        double_ms: 300,
        rests: vec![around(REST)],
        buttons: vec![ImageButton { wire: 1, band: around(PRESSED) }],
        ..Image::default()
    }
    .to_body()
    .unwrap()
}

fn pass(virtual_box: &mut VirtualBox, ticks: u32, count: f64) -> Vec<Frame> {
    (0..ticks).for_each(|_| virtual_box.tick(reading(count)));
    let mut frames = Vec::new();
    Deframer::new().feed(&virtual_box.bytes_out(), |frame| frames.push(frame.unwrap()));
    frames
}

/// Asks, and gives the answer that comes within a second.
fn asked(virtual_box: &mut VirtualBox, ask: &Ask) -> Result<Answer, AnswerFault> {
    virtual_box.take(&encode_frame(ask.number(), 7, &ask.payload()).unwrap());
    let frames = pass(virtual_box, 1_000, REST);
    let answer = frames.iter().find(|frame| frame.number == ask.number() | REPLY).unwrap();
    assert_eq!(answer.sequence, 7);
    Answer::parse(ask.number(), &answer.payload)
}

fn identity(virtual_box: &mut VirtualBox) -> Identity {
    match asked(virtual_box, &Ask::Identify) {
        Ok(Answer::Identity(identity)) => *identity,
        other => panic!("{other:?}"),
    }
}

/// Begins a write and sends all of a body but for its end.
fn send_body(virtual_box: &mut VirtualBox, body: &[u8]) {
    let begin = Ask::WriteBegin { length: body.len() as u16, check: check(body) };
    assert!(matches!(asked(virtual_box, &begin), Ok(Answer::WriteBegun { .. })));
    for (at, piece) in body.chunks(64).enumerate() {
        let data = Ask::WriteData { offset: at as u16 * 64, bytes: piece.to_vec() };
        assert_eq!(asked(virtual_box, &data), Ok(Answer::Done));
    }
}

fn fault(fault: Fault) -> Result<Answer, AnswerFault> {
    Err(AnswerFault::Fault(fault))
}

#[test]
fn it_starts_without_an_image_and_with_brown_out_at_4_3_v() {
    let identity = identity(&mut VirtualBox::new());
    assert_eq!((identity.firmware, identity.slot, identity.has_image), ((1, 0), None, false));
    assert_eq!(identity.fuses[2] & 0x07, 0b100, "BODLEVEL of 4.3 V");
    assert_eq!(identity.supply_mv, None, "no reference, no supply");
}

#[test]
fn it_measures_only_once_its_reference_is_named() {
    let mut virtual_box = VirtualBox::new();
    assert_eq!(asked(&mut virtual_box, &Ask::Stream(true)), fault(Fault::Reference));
    asked(&mut virtual_box, &Ask::Reference(NamedReference::default())).unwrap();
    asked(&mut virtual_box, &Ask::Stream(true)).unwrap();
    let blocks: Vec<_> = pass(&mut virtual_box, 80, REST)
        .iter()
        .filter_map(|frame| match BoxEvent::parse(frame.number, &frame.payload) {
            Ok(BoxEvent::Samples(block)) => Some(block),
            _ => None,
        })
        .collect();
    assert_eq!(blocks.len(), 10);
    assert!(blocks.windows(2).all(|pair| pair[1].tick == pair[0].tick + 8));
    assert!(blocks.iter().all(|block| !block.two_wires && block.samples.iter().all(|s| s.raw[0] == 900)));
}

#[test]
fn images_take_turns_in_the_slots_and_a_cut_leaves_the_old_one() {
    let mut virtual_box = VirtualBox::new();
    for (dwell_ms, slot, sequence) in [(10, 0, 0), (20, 1, 1), (30, 0, 2)] {
        send_body(&mut virtual_box, &body(dwell_ms));
        assert_eq!(asked(&mut virtual_box, &Ask::WriteEnd), Ok(Answer::Written { slot, sequence }));
    }
    send_body(&mut virtual_box, &body(40));
    virtual_box.cut_power();
    pass(&mut virtual_box, 2_000, REST);
    let slot = identity(&mut virtual_box).slot.unwrap();
    assert_eq!((slot.number, slot.sequence, slot.check), (0, 2, check(&body(30))));
}

#[test]
fn a_write_that_is_no_image_is_refused_with_its_fault() {
    let mut virtual_box = VirtualBox::new();
    assert_eq!(asked(&mut virtual_box, &Ask::WriteEnd), fault(Fault::Order));
    assert_eq!(asked(&mut virtual_box, &Ask::WriteBegin { length: 473, check: 0 }), fault(Fault::TooLong));
    let body = body(10);
    asked(&mut virtual_box, &Ask::WriteBegin { length: body.len() as u16, check: 1 }).unwrap();
    asked(&mut virtual_box, &Ask::WriteData { offset: 0, bytes: body }).unwrap();
    assert_eq!(asked(&mut virtual_box, &Ask::WriteEnd), fault(Fault::Check));
    send_body(&mut virtual_box, &[0; 40]);
    assert_eq!(asked(&mut virtual_box, &Ask::WriteEnd), fault(Fault::Contents));
    assert_eq!(
        asked(&mut virtual_box, &Ask::Read { slot: None, offset: 0, count: 8 }),
        fault(Fault::NoImage)
    );
}

#[test]
fn a_byte_takes_3_4_ms_to_store() {
    let mut virtual_box = VirtualBox::new();
    send_body(&mut virtual_box, &body(10)[..0]);
    let ask = Ask::WriteBegin { length: 64, check: 0 };
    asked(&mut virtual_box, &ask).unwrap();
    let data = Ask::WriteData { offset: 0, bytes: vec![1; 64] };
    virtual_box.take(&encode_frame(data.number(), 9, &data.payload()).unwrap());
    assert_eq!(pass(&mut virtual_box, 217, REST), []);
    assert_eq!(pass(&mut virtual_box, 2, REST).len(), 1);
}

#[test]
fn broken_frames_get_no_answer_and_are_counted() {
    let mut virtual_box = VirtualBox::new();
    let mut bytes = encode_frame(Ask::Identify.number(), 1, &[]).unwrap();
    bytes[2] ^= 0x40;
    virtual_box.take(&bytes);
    assert_eq!(pass(&mut virtual_box, 50, REST), []);
    let Ok(Answer::Counters(counters)) = asked(&mut virtual_box, &Ask::Counters) else { panic!() };
    assert_eq!((counters.link_errors, counters.resets.power_on), (1, 1));
}

#[test]
fn a_meter_calibrates_the_supply() {
    let mut virtual_box = VirtualBox::new();
    asked(&mut virtual_box, &Ask::Reference(NamedReference::default())).unwrap();
    let before = identity(&mut virtual_box).supply_mv.unwrap();
    assert!(before.abs_diff(SUPPLY_MV as u16) > 50);
    asked(&mut virtual_box, &Ask::Calibrate(Some(BANDGAP_MV as u16))).unwrap();
    let after = identity(&mut virtual_box);
    assert_eq!((after.calibrated, after.supply_mv), (true, Some(SUPPLY_MV as u16)));
}

#[test]
fn a_restart_comes_back_by_the_watchdog_and_a_reset_through_the_bootloader() {
    let mut virtual_box = VirtualBox::new();
    let booted = |frames: &[Frame]| {
        frames.iter().find_map(|frame| match BoxEvent::parse(frame.number, &frame.payload) {
            Ok(BoxEvent::Booted(cause)) => Some(cause),
            _ => None,
        })
    };
    virtual_box.take(&encode_frame(Ask::Restart.number(), 3, &[]).unwrap());
    assert_eq!(booted(&pass(&mut virtual_box, 100, REST)), Some(ResetCause::Watchdog));
    virtual_box.reset();
    assert_eq!(booted(&pass(&mut virtual_box, 900, REST)), None);
    assert_eq!(booted(&pass(&mut virtual_box, 200, REST)), Some(ResetCause::External));
}

#[test]
fn at_a_rate_that_is_not_its_own_it_understands_nothing() {
    let mut virtual_box = VirtualBox::new();
    virtual_box.set_line_rate(9_600);
    virtual_box.take(&encode_frame(Ask::Identify.number(), 1, &[]).unwrap());
    assert_eq!(pass(&mut virtual_box, 100, REST), []);
    virtual_box.set_line_rate(RATE);
    identity(&mut virtual_box);
}

#[test]
fn a_press_is_decided_told_and_counted_and_its_label_is_in_the_samples() {
    let mut virtual_box = VirtualBox::new();
    send_body(&mut virtual_box, &body(10));
    asked(&mut virtual_box, &Ask::WriteEnd).unwrap();
    assert!(identity(&mut virtual_box).has_image);
    asked(&mut virtual_box, &Ask::Watch(true)).unwrap();
    asked(&mut virtual_box, &Ask::Stream(true)).unwrap();
    let mut frames = pass(&mut virtual_box, 96, PRESSED);
    frames.extend(pass(&mut virtual_box, 96, REST));
    let events: Vec<_> = frames.iter().map(|f| BoxEvent::parse(f.number, &f.payload).unwrap()).collect();
    let decided: Vec<_> = events
        .iter()
        .filter_map(|event| match event {
            BoxEvent::Decision(seen) => Some((seen.kind, seen.button, seen.count)),
            _ => None,
        })
        .collect();
    assert_eq!(
        decided,
        [(DecisionKind::Pressed, Some(0), PRESSED), (DecisionKind::Released, Some(0), PRESSED)]
    );
    let labels = |event: &BoxEvent| match event {
        BoxEvent::Samples(block) => {
            block.samples.iter().map(|sample| (sample.label, sample.pressed)).collect()
        }
        _ => Vec::new(),
    };
    let labels: Vec<_> = events.iter().flat_map(labels).collect();
    assert!(labels.contains(&(Some(0), Some(0))) && labels.contains(&(Some(16), None)), "{labels:?}");
    let Ok(Answer::Counters(counters)) = asked(&mut virtual_box, &Ask::Counters) else { panic!() };
    assert_eq!((counters.presses, counters.writes), (1, 1));
}
