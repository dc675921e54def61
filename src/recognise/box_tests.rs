//! The box's image reader: what it says of an image, what it refuses, and which slot it takes.

use super::box_image::{BoxCommand, BoxGesture, BoxImage, BoxPair, Which};
use super::slots::{Slots, look_at_slots};
use super::test_body::{Body, CODE, CONTENTS, Change, NEC_FREE, TOO_LONG, fault, raw};
use super::types::{Band, Has, Wires};
use crate::signal::Level;
use crate::wire::ReferenceKind;

#[test]
fn an_image_says_what_was_put_in() {
    let body = Body::plain().with(|body| {
        body.head[0] = 2 | 4 | 8 | 32;
        body.head[8..10].copy_from_slice(&16_000u16.to_le_bytes());
        body.rests.push((0, 20));
        body.buttons.push((500 | 0x8000, 600));
    });
    let image = BoxImage::new(body.bytes()).unwrap();
    let settings = image.settings();
    assert_eq!(settings.reference, ReferenceKind::External);
    assert_eq!(settings.feed, Some(Level::from_count(500.0)));
    assert!(settings.infrared && !settings.has_free);
    assert_eq!((settings.mark, settings.pairs, settings.commands), (0x1234, 2, 2));

    let rules = image.rules();
    assert_eq!(rules.wires, Wires::Two);
    assert_eq!(rules.rests, [Band { low: 1000, high: 1023 }, Band { low: 0, high: 20 }]);
    let tap = Has { tap: true, ..Has::default() };
    let hold = Has { hold: true, ..Has::default() };
    assert_eq!(
        rules.buttons,
        [
            (1, Band { low: 100, high: 150 }, tap),
            (1, Band { low: 300, high: 400 }, hold),
            (2, Band { low: 500, high: 600 }, Has::default()),
        ]
    );
    assert_eq!((rules.dwell_ticks, rules.hold_ticks, rules.double_ticks), (12, 500, 300));
    assert_eq!((rules.settle, rules.rollover), (Level::from_count(2.0), true));

    let pair = BoxPair { command: 1, repeats: true, every_ms: Some(150) };
    assert_eq!(image.pair(1, BoxGesture::Hold), Some(pair));
    assert_eq!(image.pair(0, BoxGesture::Tap), Some(BoxPair { command: 0, repeats: false, every_ms: None }));
    assert_eq!(image.pair(0, BoxGesture::DoubleTap), None);
    assert_eq!(image.pair(16, BoxGesture::Tap), None, "no such button");
    assert_eq!(image.command(1), Some(BoxCommand::Family { family: 1, address: 0x59, command: 0x17 }));
    assert_eq!(image.command(2), None);
    assert_eq!(image.plan_frame(2, false, Which::First), Err(CODE));
}

#[test]
fn a_second_wire_that_is_not_there_rests_nowhere() {
    let rest = BoxImage::new(Body::plain().bytes()).unwrap().rules().rests[1];
    assert!(rest.low > rest.high);
}

#[test]
fn a_full_image_is_taken() {
    let fullest = Body::plain().with(|body| {
        body.rests.push((0, 20));
        body.buttons = vec![(100, 150); 16];
        body.pairs = (0..48).map(|i| (i % 16) | ((i / 16) << 4)).collect();
        body.free = Some(NEC_FREE.bytes());
        let hundred: Vec<u8> = (0..99).map(|i| i % 8).collect();
        let raw = (1, raw(0, &[25, 50, 100, 200, 300, 400, 500, 600], &hundred));
        body.groups =
            vec![(14, [&[0xD1, 9][..], &[5; 14]].concat()), (16, [&[0xFE, 7][..], &[1; 16]].concat())];
        body.groups.extend([raw.clone(), raw]);
    });
    let bytes = fullest.bytes();
    assert!(bytes.len() <= 472, "16 buttons, 48 pairs, 32 commands, two raw of 100 edges: {}", bytes.len());
    let image = BoxImage::new(bytes).unwrap();
    for number in 0..32 {
        assert!(image.plan_frame(number, false, Which::First).is_ok(), "{number}");
    }
}

#[test]
fn a_band_that_takes_nothing_is_allowed() {
    assert_eq!(fault(&Body::plain().with(|body| body.buttons[0] = (1023, 0))), 0);
}

#[test]
fn what_the_box_cannot_use_is_refused() {
    let refused: [(&str, Change<Body>); 27] = [
        ("a reference there is none of", |body| body.head[0] |= 3),
        ("a flag that is to be zero", |body| body.head[0] |= 64),
        ("the free family's flag without its record", |body| body.head[0] |= 128),
        ("no dwell", |body| body.head[1] = 0),
        ("a dwell longer than the ring", |body| body.head[1] = 65),
        ("no settle limit", |body| body.head[2] = 0),
        ("a monitor without its nominal level", |body| body.head[0] |= 4),
        ("a nominal level without a monitor", |body| body.head[8] = 1),
        ("a nominal level above the scale", |body| {
            body.head[0] |= 4;
            body.head[9] = 0x80;
        }),
        ("the last byte of the fixed part", |body| body.head[15] = 1),
        ("a rest above the scale", |body| body.rests[0].1 = 1024),
        ("a band's low end above the scale", |body| body.buttons[0].0 = 1024),
        ("a band's high end above the scale", |body| body.buttons[1].1 = 0x8000),
        ("a button on a wire that is not there", |body| body.buttons[0].0 |= 0x8000),
        ("too many buttons", |body| body.buttons = vec![(1, 2); 17]),
        ("too many pairs", |body| body.pairs = vec![0; 49]),
        ("a pair of no button", |body| body.pairs[0] = 2),
        ("a pair of no gesture", |body| body.pairs[0] = 3 << 4),
        ("a pair of no command", |body| body.pairs[0] = 2 << 7),
        ("too many commands", |body| body.groups = vec![(33, [&[0xF1, 9][..], &[5; 33]].concat())]),
        ("a family there is none of", |body| body.groups[0].1[0] = 0x1A),
        ("a free code without a free family", |body| body.groups[0].1[0] = 0x1E),
        ("a byte behind the end", |body| body.groups[0].1.push(0)),
        ("a byte too few", |body| body.groups[0].1.truncate(3)),
        ("more commands in the groups than said", |body| {
            body.pairs.clear();
            body.groups[0].0 = 1;
        }),
        ("fewer commands in the groups than said", |body| body.groups[0].0 = 3),
        ("an address out of its family's range", |body| body.groups[0].1 = vec![0x13, 32, 0, 0]),
    ];
    for (what, change) in refused {
        assert_eq!(fault(&Body::plain().with(change)), CONTENTS, "{what}");
    }
    assert_eq!(fault(&Body::plain()), 0);
    assert_eq!(BoxImage::new(vec![0; 15]).unwrap_err(), CONTENTS);
    assert_eq!(BoxImage::new(Vec::new()).unwrap_err(), CONTENTS);
    assert_eq!(BoxImage::new(vec![0; 473]).unwrap_err(), TOO_LONG);
    assert_eq!(BoxImage::new(vec![0; 70_000]).unwrap_err(), TOO_LONG);
}

/// A memory with a body in a slot, as the box writes it.
fn slot(memory: &mut [u8], number: usize, sequence: u8, body: &[u8]) {
    let length = (body.len() as u16).to_le_bytes();
    let crc = crc::Crc::<u16>::new(&crc::CRC_16_IBM_3740);
    let check = crc.checksum(&[&[1, length[0], length[1]], body].concat()).to_le_bytes();
    let header = [0xB5, 1, sequence, !sequence, length[0], length[1], check[0], check[1]];
    memory[480 * number..][..8].copy_from_slice(&header);
    memory[480 * number + 8..][..body.len()].copy_from_slice(body);
}

#[test]
fn the_later_whole_slot_is_in_use() {
    let body = Body::plain().bytes();
    let mut memory = vec![0xFF; 1024];
    assert_eq!(look_at_slots(&memory), Slots::default(), "erased");
    slot(&mut memory, 1, 255, &body);
    let found = look_at_slots(&memory).in_use.unwrap();
    assert_eq!(
        (found.number, found.sequence, found.body, usize::from(found.length)),
        (1, 255, 488, body.len())
    );
    slot(&mut memory, 0, 0, &body);
    assert_eq!(look_at_slots(&memory).in_use.unwrap().number, 0, "0 comes after 255");
    slot(&mut memory, 1, 1, &body);
    assert_eq!(look_at_slots(&memory).in_use.unwrap().number, 1);
    assert!(!look_at_slots(&memory).damaged);
}

#[test]
fn any_byte_of_a_slot_that_is_changed_hands_over_to_the_other_slot() {
    let body = Body::plain().bytes();
    let mut whole = vec![0xFF; 1024];
    slot(&mut whole, 0, 4, &body);
    slot(&mut whole, 1, 5, &body);
    for at in 480..488 + body.len() {
        for bit in 0..8 {
            let mut memory = whole.clone();
            memory[at] ^= 1 << bit;
            let seen = look_at_slots(&memory);
            assert_eq!(seen.in_use.unwrap().number, 0, "byte {at}, bit {bit}");
            assert_eq!(seen.damaged, at != 480, "without its magic it counts as empty");
        }
    }
}
