//! Every message there and back, any bytes at all, and the box's headers against our tables.

use proptest::collection::vec;
use proptest::option;
use proptest::prelude::*;

use super::limits::*;
use super::*;

/// `#define NAME value /* words */` of a header, in order; the guard left out.
fn defines(header: &str) -> Vec<(String, String, String)> {
    header
        .lines()
        .filter_map(|line| {
            let (name, rest) = line.strip_prefix("#define ")?.split_once(' ')?;
            let (value, words) = rest.split_once("/*").unwrap_or((rest, ""));
            let words = words.trim().trim_end_matches("*/").trim();
            Some((name.to_owned(), value.trim().to_owned(), words.to_owned()))
        })
        .collect()
}

fn number(value: &str) -> Option<u32> {
    let value = value.trim_end_matches(['u', 'L']);
    match value.strip_prefix("0x") {
        Some(hex) => u32::from_str_radix(hex, 16).ok(),
        None => value.parse().ok(),
    }
}

const MESSAGES: &str = include_str!("../../assets/firmware/core/messages.h");
const LIMITS: &str = include_str!("../../assets/firmware/core/limits.h");

fn asks() -> Vec<(&'static str, Ask)> {
    vec![
        ("SW_IDENTIFY", Ask::Identify),
        ("SW_STREAM", Ask::Stream(true)),
        ("SW_REFERENCE", Ask::Reference(NamedReference::default())),
        ("SW_LISTEN", Ask::Listen(true)),
        ("SW_SEND", Ask::StopSending),
        ("SW_WRITE_BEGIN", Ask::WriteBegin { length: 1, check: 2 }),
        ("SW_WRITE_DATA", Ask::WriteData { offset: 0, bytes: vec![1] }),
        ("SW_WRITE_END", Ask::WriteEnd),
        ("SW_READ", Ask::Read { slot: None, offset: 0, count: 1 }),
        ("SW_WATCH", Ask::Watch(false)),
        ("SW_COUNTERS", Ask::Counters),
        ("SW_RATE", Ask::Rate500k(true)),
        ("SW_CALIBRATE", Ask::Calibrate(None)),
        ("SW_RESTART", Ask::Restart),
    ]
}

#[test]
fn the_boxes_messages_and_ours_have_the_same_numbers_and_words() {
    let booted = BoxEvent::Booted(ResetCause::PowerOn);
    let decision = DecisionSeen {
        tick: 0,
        kind: DecisionKind::Tap,
        button: None,
        wire: 1,
        count: 0.0,
        latency_ms: 0,
        command: None,
    };
    let events = [
        ("SW_BOOTED", booted),
        ("SW_SAMPLES", BoxEvent::Samples(SampleBlock::default())),
        ("SW_DECISION", BoxEvent::Decision(decision)),
        ("SW_CAPTURE", BoxEvent::Capture(CapturePart::default())),
        ("SW_SENT", BoxEvent::Sent { frames: 1 }),
    ];
    let faults = [
        "NONE",
        "UNKNOWN",
        "LENGTH",
        "VALUE",
        "BUSY",
        "SUPPLY",
        "NO_IMAGE",
        "TOO_LONG",
        "CHECK",
        "FORMAT",
        "CONTENTS",
        "REFERENCE",
        "WORN",
        "ORDER",
        "CODE",
    ];
    let mut ours = vec![("SW_PROTOCOL".to_owned(), u32::from(PROTOCOL), String::new())];
    ours.extend(
        asks().iter().map(|(name, ask)| ((*name).to_owned(), u32::from(ask.number()), String::new())),
    );
    ours.push(("SW_REPLY".to_owned(), u32::from(REPLY), String::new()));
    ours.extend(
        events.iter().map(|(name, event)| ((*name).to_owned(), u32::from(event.number()), String::new())),
    );
    ours.extend(faults.iter().zip(Fault::ALL).map(|(name, fault)| {
        (format!("SW_FAULT_{name}"), u32::from(fault.number()), fault.words().to_owned())
    }));
    let theirs: Vec<_> = defines(MESSAGES)
        .into_iter()
        .map(|(name, value, words)| (name, number(&value).unwrap(), words))
        .collect();
    assert_eq!(ours, theirs);
}

#[test]
fn the_boxes_limits_and_ours_are_the_same() {
    use crate::{image, signal, units};
    let ours: Vec<(&str, u32)> = vec![
        ("SW_WIRES", units::WIRES as u32),
        ("SW_BUTTONS_MAX", image::BUTTONS_MAX as u32),
        ("SW_PAIRS_MAX", image::PAIRS_MAX as u32),
        ("SW_COMMANDS_MAX", image::COMMANDS_MAX as u32),
        ("SW_LEVEL_PER_COUNT", signal::Level::PER_COUNT as u32),
        ("SW_COUNT_TOP", u32::from(CONVERTER_TOP)),
        ("SW_TICKS_PER_S", u32::from(SAMPLE_HZ)),
        ("SW_LEAST_PULSE_US", u32::from(LEAST_PULSE_US)),
        ("SW_CAPTURE_EDGES", u32::from(CAPTURE_EDGES)),
        ("SW_CAPTURE_STEP_US", u32::from(CAPTURE_STEP_NS) / 1_000),
        ("SW_CAPTURE_GAP_US", CAPTURE_GAP_US),
        ("SW_SLOT_BYTES", u32::from(SLOT_BYTES)),
        ("SW_SLOT_HEADER", u32::from(SLOT_HEADER)),
        ("SW_PAYLOAD_MAX", PAYLOAD_MAX as u32),
    ];
    // What the box keeps to itself: the recogniser's ring, the length and palette of a code (which the
    // image's writer keeps to), and sums of the above.
    let elsewhere =
        ["SW_DWELL_MAX_TICKS", "SW_TIMINGS_MAX", "SW_DISTINCT_MAX", "SW_BODY_MAX", "SW_TAIL_START"];
    let theirs = defines(LIMITS);
    for (name, value) in &ours {
        let found = theirs.iter().find(|(theirs, ..)| theirs == name);
        assert_eq!(found.and_then(|(_, text, _)| number(text)), Some(*value), "{name}");
    }
    for (name, ..) in &theirs {
        assert!(
            ours.iter().any(|(ours, _)| ours == name) || elsewhere.contains(&name.as_str()),
            "{name} is new"
        );
    }
    assert_eq!(image::BODY_MAX, usize::from(SLOT_BYTES - SLOT_HEADER));
    assert_eq!(f64::from(CONVERTER_TOP), units::TOP_COUNT);
}

#[test]
fn every_fault_says_what_to_do() {
    for fault in Fault::ALL {
        assert_eq!(Fault::from_number(fault.number()), Some(fault));
        for text in [fault.words(), fault.advice()] {
            assert!(text.ends_with('.') && !text.contains('!') && !text.contains("  "), "{text}");
        }
    }
    assert_eq!(Fault::from_number(15), None);
    assert_eq!(Fault::Supply.to_string(), "The supply is too low to write safely.");
    assert!(Fault::Supply.advice().starts_with("At least 4.5 V is wanted, or 4.1 V before"));
}

/// Laid out by hand from the link's page of DEVELOPERS.md, byte by byte.
#[test]
fn an_identity_is_laid_out_as_written_down() {
    let identity = full_identity();
    #[rustfmt::skip]
    let bytes = [
        0, 1, 2, 3, 0x1E, 0x95, 0x0F, 1 | 4, 0xFF, 0xDE, 0xFD, 0xCF, 16, 48, 32, 0xD8, 0x01, 96, 0xFF, 0x03,
        0xE8, 0x03, 200, 0xD0, 0x07, 0xF4, 0x01, 50, 0, 3, 1, 9, 0x2C, 0x01, 0xEF, 0xBE, 0x5C, 0x12, 3,
    ];
    assert_eq!(Answer::Identity(Box::new(identity.clone())).payload(), bytes);
    assert_eq!(Answer::parse(0x01, &bytes), Ok(Answer::Identity(Box::new(identity))));
}

fn full_identity() -> Identity {
    Identity {
        protocol: 1,
        firmware: (2, 3),
        signature: [0x1E, 0x95, 0x0F],
        has_image: true,
        has_damage: false,
        reference_named: true,
        calibrated: false,
        fuses: [0xFF, 0xDE, 0xFD, 0xCF],
        most: (16, 48, 32),
        body_max: 472,
        payload_max: 96,
        converter_top: 1023,
        sample_hz: 1000,
        capture_edges: 200,
        capture_step_ns: 2000,
        pulse_step_ns: 500,
        least_pulse_us: 50,
        rates: vec![115_200, 500_000],
        slot: Some(Slot { number: 1, sequence: 9, length: 300, check: 0xBEEF }),
        supply_mv: Some(4700),
        reset: ResetCause::Watchdog,
    }
}

#[test]
fn samples_are_laid_out_as_written_down() {
    // Tick 0x01020304, 2 lost, both wires and the feed; 551 with label 3, 1023 with no button, feed 930.
    let payload = [4, 3, 2, 1, 2, 3, 0x27, 0x0E, 0xFF, 0xFF, 0xA2, 0x03];
    let sample = Sample { raw: [551, 1023], feed: Some(930), label: Some(3), pressed: None };
    let block = SampleBlock { tick: 0x0102_0304, lost: 2, two_wires: true, samples: vec![sample] };
    assert_eq!(BoxEvent::parse(0xC1, &payload), Ok(BoxEvent::Samples(block.clone())));
    assert_eq!(BoxEvent::Samples(block).encode(), payload);
}

#[test]
fn a_decision_is_laid_out_as_written_down() {
    // Tick 1000, hold, button 2, wire 1, level 551.5 counts, 43 ms, no command.
    let payload = [0xE8, 3, 0, 0, 4, 2, 1, 0xF0, 0x44, 43, 0, 255];
    let decision = DecisionSeen {
        tick: 1000,
        kind: DecisionKind::Hold,
        button: Some(2),
        wire: 1,
        count: 551.5,
        latency_ms: 43,
        command: None,
    };
    assert_eq!(BoxEvent::parse(0xC2, &payload), Ok(BoxEvent::Decision(decision)));
    assert_eq!(BoxEvent::Decision(decision).encode(), payload);
    let none = [0, 0, 0, 0, 6, 63, 2, 0xFF, 0xFF, 0, 0, 255];
    let Ok(BoxEvent::Decision(seen)) = BoxEvent::parse(0xC2, &none) else { panic!("no decision") };
    assert!(seen.count.is_nan() && seen.button.is_none());
    assert_eq!(BoxEvent::Decision(seen).encode(), none);
}

#[test]
fn the_box_refuses_an_ask_with_the_fault_that_fits() {
    assert_eq!(Ask::parse(0x42, &[]), Err(Fault::Unknown));
    assert_eq!(Ask::parse(0x01, &[0]), Err(Fault::Length));
    assert_eq!(Ask::parse(0x02, &[2]), Err(Fault::Value));
    assert_eq!(Ask::parse(0x05, &[1, 2, 0]), Err(Fault::Length));
    assert_eq!(Ask::parse(0x07, &[0, 0]), Err(Fault::Length));
    assert_eq!(Ask::parse(0x07, &[0; 67]), Err(Fault::Length));
    assert_eq!(Ask::parse(0x09, &[2, 0, 0, 1]), Err(Fault::Value));
    assert_eq!(Ask::parse(0x09, &[0, 0, 0, 65]), Err(Fault::Value));
    assert_eq!(Ask::parse(0x0D, &899_u16.to_le_bytes()), Err(Fault::Value));
}

#[test]
fn an_answer_with_a_fault_is_that_fault_and_nothing_else() {
    assert_eq!(Answer::parse(0x06, &[5]), Err(AnswerFault::Fault(Fault::Supply)));
    for bad in [&[][..], &[5, 1], &[77], &[0], &[0, 2], &[0, 1, 1]] {
        let malformed = AnswerFault::Malformed { number: 0x06, length: bad.len() };
        assert_eq!(Answer::parse(0x06, bad), Err(malformed), "{bad:?}");
    }
    assert_eq!(
        Answer::parse(0x06, &[]).unwrap_err().to_string(),
        "The answer to message 06 can't be read: 0 bytes. Flash the firmware that comes with this program."
    );
    assert_eq!(
        BoxEvent::parse(0xC9, &[1]).unwrap_err().to_string(),
        "the box's message C9 with 1 bytes can't be read. Flash the firmware that comes with this program."
    );
}

fn any_ask() -> impl Strategy<Value = Ask> {
    let kind =
        prop::sample::select(vec![ReferenceKind::Supply, ReferenceKind::Internal, ReferenceKind::External]);
    prop_oneof![
        Just(Ask::Identify),
        Just(Ask::StopSending),
        Just(Ask::WriteEnd),
        Just(Ask::Counters),
        Just(Ask::Restart),
        any::<bool>().prop_map(Ask::Stream),
        any::<bool>().prop_map(Ask::Listen),
        any::<bool>().prop_map(Ask::Watch),
        any::<bool>().prop_map(Ask::Rate500k),
        (kind, any::<bool>())
            .prop_map(|(kind, feed_monitor)| Ask::Reference(NamedReference { kind, feed_monitor })),
        (any::<u16>(), any::<bool>(), vec(any::<u8>(), 1..=93))
            .prop_map(|(held_ms, toggle, record)| Ask::Send { held_ms, toggle, record }),
        any::<(u16, u16)>().prop_map(|(length, check)| Ask::WriteBegin { length, check }),
        (any::<u16>(), vec(any::<u8>(), 1..=64)).prop_map(|(offset, bytes)| Ask::WriteData { offset, bytes }),
        (option::of(0_u8..2), any::<u16>(), 1_u8..=64).prop_map(|(slot, offset, count)| Ask::Read {
            slot,
            offset,
            count
        }),
        option::of(900_u16..=1300).prop_map(Ask::Calibrate),
    ]
}

fn any_sample(has_feed: bool) -> impl Strategy<Value = Sample> {
    let feed = if has_feed { (0_u16..1024).prop_map(Some).boxed() } else { Just(None).boxed() };
    ([0_u16..1024, 0_u16..1024], feed, option::of(0_u8..18), option::of(0_u8..16))
        .prop_map(|(raw, feed, label, pressed)| Sample { raw, feed, label, pressed })
}

fn any_event() -> impl Strategy<Value = BoxEvent> {
    use DecisionKind::*;
    let cause = prop::sample::select(vec![
        ResetCause::PowerOn,
        ResetCause::External,
        ResetCause::BrownOut,
        ResetCause::Watchdog,
    ]);
    let block = any::<bool>().prop_flat_map(|has_feed| {
        let most = SampleBlock::most(has_feed);
        // Without a sample there is nothing that tells of the feed.
        (any::<u32>(), any::<u8>(), any::<bool>(), vec(any_sample(has_feed), 1..=most)).prop_map(
            |(tick, lost, two_wires, samples)| {
                BoxEvent::Samples(SampleBlock { tick, lost, two_wires, samples })
            },
        )
    });
    let kind = prop::sample::select(vec![Pressed, Released, Tap, Hold, DoubleTap, Undecided]);
    let decision = (
        any::<u32>(),
        kind,
        option::of(0_u8..16),
        1_u8..=2,
        0_u16..=32_768,
        any::<u16>(),
        option::of(0_u8..32),
    )
        .prop_map(|(tick, kind, button, wire, level, latency_ms, command)| {
            let count = f64::from(level) / 32.0;
            BoxEvent::Decision(DecisionSeen { tick, kind, button, wire, count, latency_ms, command })
        });
    let capture = (any::<u8>(), any::<bool>(), any::<bool>(), vec(any::<u16>(), 0..=40)).prop_map(
        |(from, last, overflow, steps)| {
            let timings_us = steps.into_iter().map(|steps| u32::from(steps) * 2).collect();
            BoxEvent::Capture(CapturePart { from, last, overflow, timings_us })
        },
    );
    prop_oneof![
        cause.prop_map(BoxEvent::Booted),
        block,
        decision,
        capture,
        any::<u8>().prop_map(|frames| BoxEvent::Sent { frames }),
    ]
}

fn any_answer() -> impl Strategy<Value = (u8, Answer)> {
    let counters = any::<([u16; 4], [u16; 4], [u16; 3], u32, u32)>().prop_map(
        |(resets, link, rest, up_ms, rejected)| {
            let [power_on, external, brown_out, watchdog] = resets;
            let [link_errors, frames_lost, longest_loop_us, presses] = link;
            let [undecided, sent, writes] = rest;
            let resets = Tally { power_on, external, brown_out, watchdog };
            Answer::Counters(Counters {
                up_ms,
                resets,
                link_errors,
                frames_lost,
                longest_loop_us,
                presses,
                rejected,
                undecided,
                sent,
                writes,
            })
        },
    );
    let slot = option::of((0_u8..2, any::<(u8, u16, u16)>()));
    let identity = (any::<[bool; 4]>(), any::<[u8; 4]>(), slot, option::of(1_u16..), 0_usize..4).prop_map(
        |(flags, fuses, slot, supply_mv, rates)| {
            let [has_image, has_damage, reference_named, calibrated] = flags;
            let slot =
                slot.map(|(number, (sequence, length, check))| Slot { number, sequence, length, check });
            let rates = [vec![], vec![115_200], vec![500_000], vec![115_200, 500_000]][rates].clone();
            let flagged = Identity { has_image, has_damage, reference_named, calibrated, ..full_identity() };
            Answer::Identity(Box::new(Identity { fuses, slot, supply_mv, rates, ..flagged }))
        },
    );
    prop_oneof![
        prop::sample::select(vec![2_u8, 3, 4, 5, 7, 10, 12, 13, 14])
            .prop_map(|number| (number, Answer::Done)),
        identity.prop_map(|identity| (1, identity)),
        (0_u8..2).prop_map(|slot| (6, Answer::WriteBegun { slot })),
        (0_u8..2, any::<u8>()).prop_map(|(slot, sequence)| (8, Answer::Written { slot, sequence })),
        (0_u8..2, any::<u16>(), vec(any::<u8>(), 1..=64))
            .prop_map(|(slot, offset, bytes)| (9, Answer::Bytes { slot, offset, bytes })),
        counters.prop_map(|counters| (11, counters)),
    ]
}

proptest! {
    #[test]
    fn every_ask_comes_back(ask in any_ask()) {
        let payload = ask.payload();
        prop_assert!(payload.len() <= PAYLOAD_MAX);
        prop_assert_eq!(Ask::parse(ask.number(), &payload), Ok(ask));
    }

    #[test]
    fn every_answer_comes_back((number, answer) in any_answer()) {
        let payload = answer.payload();
        prop_assert!(payload.len() <= PAYLOAD_MAX);
        prop_assert_eq!(Answer::parse(number, &payload), Ok(answer));
    }

    #[test]
    fn every_event_comes_back(event in any_event()) {
        let payload = event.encode();
        prop_assert!(payload.len() <= PAYLOAD_MAX);
        prop_assert_eq!(BoxEvent::parse(event.number(), &payload), Ok(event));
    }

    #[test]
    fn no_bytes_at_all_make_a_panic(number: u8, payload in vec(any::<u8>(), 0..=PAYLOAD_MAX)) {
        // What is accepted is said again in the same bytes, but for bits that mean nothing.
        if let Ok(ask) = Ask::parse(number, &payload) {
            prop_assert_eq!(ask.payload(), payload.clone());
        }
        let _ = Answer::parse(number, &payload);
        let _ = BoxEvent::parse(number, &payload);
        for event in 0xC0..=0xC4 {
            let _ = BoxEvent::parse(event, &payload);
        }
        for asked in 0..=0x0F {
            let _ = Answer::parse(asked, &[&[0], &payload[..]].concat());
        }
    }
}
