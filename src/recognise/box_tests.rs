//! The box's image reader and its layout of codes: against the families' table, and against bytes of
//! every kind.

use proptest::prelude::*;

use super::box_image::{BoxCommand, BoxGesture, BoxImage, BoxPair, PlannedFrame, Which, plan_record};
use super::ffi_image::testing::OUTSIDE;
use super::slots::look_at_slots;
use super::types::{Band, Has, Wires};
use crate::remote::{Code, Family, RepeatKind, encode, families};
use crate::signal::Level;
use crate::wire::ReferenceKind;

/// A body being put together.
#[derive(Clone, Debug)]
struct Body {
    head: [u8; 16],
    rests: Vec<(u16, u16)>,
    buttons: Vec<(u16, u16)>,
    pairs: Vec<u16>,
    free: Option<[u8; 18]>,
    /// Each group: how many commands, and its bytes.
    groups: Vec<(u8, Vec<u8>)>,
}

impl Body {
    /// One wire at rest at the top, two buttons, two NEC commands.
    fn plain() -> Self {
        Self {
            head: [0, 12, 64, 0, 0xF4, 1, 0x2C, 1, 0, 0, 0, 0, 0, 0x34, 0x12, 0],
            rests: vec![(1000, 1023)],
            buttons: vec![(100, 150), (300, 400)],
            pairs: vec![0, 1 | 1 << 4 | 1 << 6 | 1 << 7 | 3 << 12],
            free: None,
            groups: vec![(2, vec![0x11, 0x59, 0x16, 0x17])],
        }
    }

    fn bytes(&self) -> Vec<u8> {
        let mut head = self.head;
        if self.rests.len() == 2 {
            head[0] |= 16;
        }
        if self.free.is_some() {
            head[0] |= 128;
        }
        head[10] = self.buttons.len() as u8;
        head[11] = self.pairs.len() as u8;
        head[12] = self.groups.iter().map(|group| group.0).sum();
        let mut bytes = head.to_vec();
        for (low, high) in self.rests.iter().chain(&self.buttons) {
            bytes.extend(low.to_le_bytes());
            bytes.extend(high.to_le_bytes());
        }
        bytes.extend(self.pairs.iter().flat_map(|pair| pair.to_le_bytes()));
        bytes.extend(self.free.iter().flatten());
        bytes.extend(self.groups.iter().flat_map(|group| &group.1));
        bytes
    }

    fn with(mut self, change: impl FnOnce(&mut Self)) -> Self {
        change(&mut self);
        self
    }
}

/// A fault of messages.h.
const TOO_LONG: u8 = 7;
const CONTENTS: u8 = 10;
const CODE: u8 = 14;

fn fault(body: &Body) -> u8 {
    BoxImage::new(body.bytes()).map_or_else(|fault| fault, |_| 0)
}

/// Whole bytes that hold any number up to this.
fn bytes_for(max: u32) -> usize {
    (u32::BITS - max.leading_zeros()).div_ceil(8) as usize
}

/// A record of one command of a family of the table.
fn record(place: usize, address: u32, command: u32) -> Vec<u8> {
    let family = &families()[place];
    let mut bytes = vec![place as u8 + 1];
    bytes.extend(&address.to_le_bytes()[..bytes_for(family.address_max())]);
    bytes.extend(&command.to_le_bytes()[..bytes_for(family.command_max())]);
    bytes
}

/// A record of raw timings by symbol.
fn raw(period: u16, durations: &[u16], symbols: &[u8]) -> Vec<u8> {
    let mut bytes = vec![0x0F, symbols.len() as u8];
    bytes.extend(period.to_le_bytes());
    bytes.push(durations.len() as u8);
    bytes.extend(durations.iter().flat_map(|duration| duration.to_le_bytes()));
    let mut packed = vec![0u8; (3 * symbols.len()).div_ceil(8)];
    for (i, symbol) in symbols.iter().enumerate() {
        for bit in 0..3 {
            packed[(3 * i + bit) / 8] |= (symbol >> bit & 1) << ((3 * i + bit) % 8);
        }
    }
    bytes.extend(packed);
    bytes
}

struct Free {
    times: [u16; 6],
    period: u16,
    flags: u8,
    khz: u8,
    bits: (u8, u8),
}

/// NEC as a free family.
const NEC_FREE: Free = Free {
    times: [18_000, 9_000, 1_125, 1_125, 1_125, 3_375],
    period: 6_750,
    flags: 0x3E,
    khz: 38,
    bits: (8, 8),
};

impl Free {
    fn bytes(&self) -> [u8; 18] {
        let mut bytes = [0; 18];
        for (place, time) in bytes.chunks_exact_mut(2).zip(self.times) {
            place.copy_from_slice(&time.to_le_bytes());
        }
        bytes[12..14].copy_from_slice(&self.period.to_le_bytes());
        bytes[14..].copy_from_slice(&[self.flags, self.khz, self.bits.0, self.bits.1]);
        bytes
    }

    /// A body with one command of it.
    fn body(&self, address: u32, command: u32) -> Body {
        let mut group = vec![0x0E];
        group.extend(&u64::from(address).to_le_bytes()[..usize::from(self.bits.0.div_ceil(8))]);
        group.extend(&u64::from(command).to_le_bytes()[..usize::from(self.bits.1.div_ceil(8))]);
        Body::plain().with(|body| {
            body.free = Some(self.bytes());
            body.pairs.clear();
            body.groups = vec![(1, group)];
        })
    }
}

/// Where edges lie, in microseconds from the first, the last one included.
fn edges_us(lengths_us: impl IntoIterator<Item = f64>) -> Vec<f64> {
    let sum = |at: &mut f64, length: f64| {
        *at += length;
        Some(*at)
    };
    lengths_us.into_iter().scan(0.0, sum).collect()
}

/// Whether the output's edges lie within 0.5 µs of a float plan's.
fn same_edges(planned: &PlannedFrame, pulses_us: &[f64]) -> Result<(), TestCaseError> {
    prop_assert_eq!(planned.walk_ticks.len(), pulses_us.len());
    let sent = edges_us(planned.walk_ticks.iter().map(|&ticks| f64::from(ticks) / 2.0));
    let parts = edges_us(planned.timings_us.iter().copied());
    for ((sent, parts), plan) in sent.iter().zip(&parts).zip(edges_us(pulses_us.iter().copied())) {
        prop_assert!((sent - plan).abs() <= 0.5, "an edge at {} instead of {}", sent, plan);
        prop_assert!((sent - parts).abs() <= 0.25 + 1e-9, "rounded by more than half a tick");
    }
    if let Some(period_us) = planned.period_us {
        let spent: u32 = planned.walk_ticks.iter().sum();
        prop_assert_eq!(f64::from(spent + planned.gap_ticks) / 2.0, period_us);
    }
    Ok(())
}

fn any_family() -> impl Strategy<Value = usize> {
    0..families().len()
}

/// A number in a family's range, its ends among them.
fn upto(max: u32) -> impl Strategy<Value = u32> {
    prop_oneof![1 => Just(0), 1 => Just(max), 6 => 0..=max]
}

fn family_code() -> impl Strategy<Value = (usize, u32, u32)> {
    any_family().prop_flat_map(|place| {
        let family = &families()[place];
        (Just(place), upto(family.address_max()), upto(family.command_max()))
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1_500))]

    #[test]
    fn the_box_lays_out_every_family_as_the_table_says((place, address, command) in family_code(), toggle: bool) {
        let family: &Family = &families()[place];
        let frame = encode(&Code::Family { family: family.family_id(), address, command }, toggle).unwrap();
        let record = record(place, address, command);
        let first = plan_record(&record, toggle, Which::First).unwrap();
        let again = plan_record(&record, toggle, Which::Again).unwrap();
        same_edges(&first, &frame.pulses_us)?;
        same_edges(&again, &frame.repeat.pulses_us)?;
        for planned in [first, again] {
            let period_us = frame.repeat.period_us.unwrap();
            prop_assert!((planned.period_us.unwrap() - period_us).abs() <= 0.25);
            prop_assert_eq!(u32::from(planned.carrier_khz) * 1_000, family.carrier_hz);
            // SIRC note: a receiver wants a frame three times.
            let least = if family.id.starts_with("sirc") { 3 } else { 1 };
            prop_assert_eq!(planned.least_frames, least);
        }
    }

    #[test]
    fn a_number_beyond_its_family_is_refused((place, address, command) in family_code(), bit in 0u32..32) {
        let family = &families()[place];
        let (address_max, command_max) = (family.address_max(), family.command_max());
        let high = 1 << bit;
        // Only what its bytes can carry: beyond them it is another command's.
        if high > address_max && bytes_for(high) == bytes_for(address_max) {
            let wrong = record(place, address | high, command);
            prop_assert_eq!(plan_record(&wrong, false, Which::First), Err(CODE));
        }
        if high > command_max && bytes_for(high) == bytes_for(command_max) {
            let wrong = record(place, address, command | high);
            prop_assert_eq!(plan_record(&wrong, false, Which::First), Err(CODE));
        }
    }

    #[test]
    fn raw_timings_are_sent_as_they_are_kept(
        durations in prop::collection::vec(25u16..1_500, 1..=8),
        picks in prop::collection::vec(any::<prop::sample::Index>(), 1..=199),
        repeats: bool,
    ) {
        let mut symbols: Vec<u8> = picks.iter().map(|pick| pick.index(durations.len()) as u8).collect();
        if symbols.len() % 2 == 0 {
            symbols.pop();
        }
        let period = if repeats { u16::MAX } else { 0 };
        let record = raw(period, &durations, &symbols);
        let first = plan_record(&record, true, Which::First).unwrap();
        let ticks: Vec<u32> = symbols.iter().map(|&symbol| u32::from(durations[usize::from(symbol)]) * 4).collect();
        prop_assert_eq!(&first.walk_ticks, &ticks);
        prop_assert_eq!(first.period_us, repeats.then_some(65_535.0 * 16.0));
        prop_assert_eq!(first.least_frames, u8::from(repeats));
        prop_assert_eq!(plan_record(&record, false, Which::Again).unwrap(), first);
    }
}

#[test]
fn a_family_of_the_table_described_as_a_free_one_is_sent_alike() {
    // Each family the free one can say: its place, its durations and fields as a free family.
    let distance = |unit: u16, leader: bool| {
        let leader = if leader { [16 * unit, 8 * unit] } else { [8 * unit, 4 * unit] };
        [leader[0], leader[1], unit, unit, unit, 3 * unit]
    };
    let cases = [
        ("nec", NEC_FREE),
        ("nec16", Free { flags: 0x3A, bits: (16, 8), ..NEC_FREE }),
        ("aeha", Free { times: distance(850, false), period: 8_125, flags: 0x02, khz: 38, bits: (16, 32) }),
        ("pd16", Free { times: distance(1_050, true), period: 3_750, flags: 0x22, khz: 38, bits: (8, 8) }),
    ];
    for (id, free) in cases {
        let place = families().iter().position(|family| family.id == id).unwrap();
        let (address, command) = (families()[place].address_max() / 3, families()[place].command_max() / 7);
        let image = BoxImage::new(free.body(address, command).bytes()).unwrap();
        for which in [Which::First, Which::Again] {
            let record = record(place, address, command);
            assert_eq!(
                image.plan_frame(0, false, which),
                plan_record(&record, false, which),
                "{id} {which:?}"
            );
        }
    }
}

#[test]
fn the_most_significant_bit_first_is_the_reversed_number_the_other_way_round() {
    let high = Free { flags: NEC_FREE.flags | 1, ..NEC_FREE };
    let (address, command) = (0x59_u8, 0x16_u8);
    let first = BoxImage::new(NEC_FREE.body(address.into(), command.into()).bytes()).unwrap();
    let turned = high.body(address.reverse_bits().into(), command.reverse_bits().into());
    let turned = BoxImage::new(turned.bytes()).unwrap();
    assert_eq!(first.plan_frame(0, false, Which::First), turned.plan_frame(0, false, Which::First));
}

#[test]
fn a_free_family_without_address_leader_and_stop_mark_ends_with_its_last_mark() {
    let free = Free { times: [0, 0, 200, 400, 600, 800], period: 6_250, flags: 0x10, khz: 0, bits: (0, 3) };
    let image = BoxImage::new(free.body(0, 0b110).bytes()).unwrap();
    for which in [Which::First, Which::Again] {
        let planned = image.plan_frame(0, true, which).unwrap();
        assert_eq!(planned.walk_ticks, [200, 400, 600, 800, 600]);
        assert_eq!((planned.period_us, planned.least_frames, planned.gap_ticks), (None, 0, 0), "sent once");
        assert_eq!(planned.carrier_khz, 38, "none given: the usual one");
    }
}

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
        body.pairs = (0..48).map(|i| i % 16 | i / 16 << 4).collect();
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
    let refused: [(&str, fn(&mut Body)); 27] = [
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

#[test]
fn a_raw_code_the_output_cannot_send_is_refused() {
    let sent = |record: &[u8]| plan_record(record, false, Which::First).map(|_| ());
    assert_eq!(sent(&raw(0, &[25], &[0])), Ok(()));
    assert_eq!(sent(&raw(0, &[24], &[0])), Err(CODE), "48 µs");
    assert_eq!(sent(&raw(0, &[25], &[])), Err(CODE), "no timings");
    assert_eq!(sent(&raw(0, &[25], &[0, 0])), Err(CODE), "ends with a space");
    assert_eq!(sent(&raw(0, &[25], &[0; 201])), Err(CODE), "too many");
    assert_eq!(sent(&raw(0, &[], &[0])), Err(CODE), "no durations");
    assert_eq!(sent(&raw(0, &[25; 9], &[0])), Err(CODE), "too many durations");
    assert_eq!(sent(&raw(0, &[25, 30], &[0, 1, 2])), Err(CODE), "a duration there is none of");
    // Three times 800 µs and the least gap are 2450 µs: 154 steps of 16 µs, not 153.
    assert_eq!(sent(&raw(154, &[400], &[0, 0, 0])), Ok(()));
    assert_eq!(sent(&raw(153, &[400], &[0, 0, 0])), Err(CODE), "repeats before it has ended");
    let whole = raw(0, &[25, 30], &[0, 1, 0, 1, 0]);
    for length in 0..whole.len() {
        assert_eq!(sent(&whole[..length]), Err(CODE), "cut after {length}");
    }
    assert_eq!(sent(&[&whole[..], &[0]].concat()), Err(CODE), "a byte too many");
    assert_eq!(sent(&[0x11, 1, 2, 3]), Err(CODE), "two commands in one record");
    assert_eq!(sent(&[0x0E, 1, 2]), Err(CODE), "the free family of no image");
}

#[test]
fn a_free_family_the_output_cannot_send_is_refused() {
    let taken = |change: fn(&mut Free)| {
        let mut free = NEC_FREE;
        change(&mut free);
        fault(&free.body(1, 2))
    };
    assert_eq!(taken(|_| {}), 0);
    let refused: [(&str, fn(&mut Free)); 13] = [
        ("a leader without its space", |free| free.times[1] = 0),
        ("a leader without its mark", |free| free.times[0] = 0),
        ("a leader's mark too short", |free| free.times[0] = 99),
        ("a 0's mark too short", |free| free.times[2] = 99),
        ("a 1's space too short", |free| free.times[5] = 99),
        ("a short frame's space too short", |free| free.times[1] = 199),
        ("a short frame of no leader", |free| free.times[..2].fill(0)),
        ("repeated before it has ended", |free| free.period = 4_000),
        ("a flag there is none of", |free| free.flags |= 0x40),
        ("a carrier too low", |free| free.khz = 19),
        ("a carrier too high", |free| free.khz = 101),
        ("an address too wide", |free| free.bits.0 = 17),
        ("no command", |free| free.bits.1 = 0),
    ];
    for (what, change) in refused {
        assert_eq!(taken(change), CONTENTS, "{what}");
    }
    assert_eq!(taken(|free| free.bits.1 = 33), CONTENTS, "a command too wide");
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
    assert_eq!(look_at_slots(&memory), super::Slots::default(), "erased");
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

/// Asks a body for everything it can be asked for, if the box takes it. Gives whether it does.
fn ask_everything(bytes: Vec<u8>) -> Result<bool, TestCaseError> {
    OUTSIDE.set(0);
    let length = bytes.len();
    let taken = BoxImage::new(bytes);
    prop_assert_eq!(OUTSIDE.get(), 0, "looking at {} bytes read outside them", length);
    let Ok(image) = taken else { return Ok(false) };
    let settings = image.settings();
    let rules = image.rules();
    prop_assert!(rules.buttons.len() <= 16 && (1..=64).contains(&rules.dwell_ticks));
    let mut pairs = 0;
    for button in 0..=255 {
        for gesture in [BoxGesture::Tap, BoxGesture::Hold, BoxGesture::DoubleTap] {
            if let Some(pair) = image.pair(button, gesture) {
                prop_assert!(usize::from(button) < rules.buttons.len() && pair.command < settings.commands);
                pairs += 1;
            }
        }
    }
    prop_assert!(pairs <= settings.pairs);
    for number in 0..=255 {
        prop_assert_eq!(image.command(number).is_some(), number < settings.commands);
        for (toggle, which) in [(false, Which::First), (true, Which::Again)] {
            let planned = image.plan_frame(number, toggle, which);
            prop_assert_eq!(planned.is_ok(), number < settings.commands);
            if let Ok(planned) = planned {
                prop_assert!(planned.walk_ticks.len() % 2 == 1);
                prop_assert!(planned.walk_ticks.iter().all(|&ticks| ticks >= 100), "no pulse under 50 µs");
                prop_assert_eq!(planned.gap_ticks >= 100, planned.period_us.is_some());
            }
        }
    }
    prop_assert_eq!(OUTSIDE.get(), 0, "an accessor read outside the body");
    Ok(true)
}

/// Groups of commands: of families, free, raw.
fn group() -> impl Strategy<Value = (u8, Vec<u8>)> {
    prop_oneof![
        family_code().prop_map(|(place, address, command)| (1, record(place, address, command))),
        (1u8..=16, any::<u8>()).prop_map(|(count, address)| {
            let head = [(count - 1) << 4 | 1, address];
            (count, head.into_iter().chain(0..count).collect())
        }),
        any::<[u8; 2]>().prop_map(|[address, command]| (1, vec![0x0E, address, command])),
        (1usize..=50, 1usize..=8).prop_map(|(half, distinct)| {
            let symbols: Vec<u8> = (0..2 * half - 1).map(|i| (i % distinct) as u8).collect();
            (1, raw(0, &[25, 100, 200, 300, 400, 500, 600, 700][..distinct], &symbols))
        }),
    ]
}

/// Bodies the box takes, mostly.
fn body() -> impl Strategy<Value = Body> {
    let band = (0u16..=1023, 0u16..=1023);
    let bands = |n| prop::collection::vec(band.clone(), n);
    let groups = prop::collection::vec(group(), 1..8);
    let pairs = prop::collection::vec((0u16..16, 0u16..3, any::<u16>()), 0..20);
    (bands(1..=2), bands(1..=16), pairs, groups).prop_map(|(rests, buttons, pairs, mut groups)| {
        let mut total = 0;
        groups.retain(|group| {
            let fits = total + group.0 <= 32;
            total += if fits { group.0 } else { 0 };
            fits
        });
        let pairs = pairs.into_iter().map(|(button, gesture, more)| {
            let command = (more >> 8) % u16::from(total);
            button % buttons.len() as u16 | gesture << 4 | (more & 1) << 6 | command << 7 | more << 12
        });
        let pairs = pairs.collect();
        Body { rests, buttons, pairs, free: Some(NEC_FREE.bytes()), groups, ..Body::plain() }
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(3_000))]

    #[test]
    fn a_body_put_together_by_the_layout_is_taken(body in body()) {
        let bytes = body.bytes();
        let fits = bytes.len() <= 472;
        prop_assert_eq!(ask_everything(bytes)?, fits);
    }

    #[test]
    fn a_body_with_bytes_changed_is_refused_or_answers_everything(
        body in body(),
        changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..5),
        cut in prop::option::weighted(0.2, any::<prop::sample::Index>()),
    ) {
        let mut bytes = body.bytes();
        for (at, byte) in changes {
            let at = at.index(bytes.len());
            bytes[at] = byte;
        }
        if let Some(cut) = cut {
            bytes.truncate(cut.index(bytes.len()));
        }
        ask_everything(bytes)?;
    }

    #[test]
    fn any_bytes_are_refused_or_answer_everything(
        head in any::<[u8; 16]>(), counts in any::<[u8; 3]>(), rest in prop::collection::vec(any::<u8>(), 0..460),
    ) {
        let mut bytes = [&head[..], &rest].concat();
        ask_everything(bytes.clone())?;
        // The same with a fixed part that is passed, so that what follows is looked at.
        bytes[0] &= 0x98;
        bytes[1] = 1 + bytes[1] % 64;
        bytes[8..10].fill(0);
        bytes[10] = counts[0] % 3;
        bytes[11] = counts[1] % 3;
        bytes[12] = counts[2] % 4;
        bytes[15] = 0;
        for at in 16..bytes.len().min(32) {
            bytes[at] &= if at % 2 == 0 { 0xFF } else { 0x03 };
        }
        ask_everything(bytes)?;
    }

    #[test]
    fn any_record_is_refused_or_laid_out(record in prop::collection::vec(any::<u8>(), 0..100), family in 0u8..16) {
        let mut record = record;
        if let Some(first) = record.first_mut() {
            *first = family;
        }
        OUTSIDE.set(0);
        let planned = plan_record(&record, true, Which::First);
        prop_assert_eq!(OUTSIDE.get(), 0);
        if let Ok(planned) = planned {
            prop_assert!(planned.walk_ticks.len() % 2 == 1);
        }
    }

    #[test]
    fn any_memory_holds_a_slot_or_none(mut memory in prop::collection::vec(any::<u8>(), 1024)) {
        OUTSIDE.set(0);
        look_at_slots(&memory);
        for base in [0, 480] {
            memory[base..base + 2].copy_from_slice(&[0xB5, 1]);
            memory[base + 3] = !memory[base + 2];
        }
        prop_assert!(look_at_slots(&memory).in_use.is_none(), "a check that holds by chance");
        prop_assert_eq!(OUTSIDE.get(), 0);
    }
}

#[test]
fn the_families_of_the_table_are_those_of_the_box() {
    for (place, family) in families().iter().enumerate() {
        assert!(plan_record(&record(place, 0, 0), false, Which::First).is_ok(), "{}", family.id);
        assert_ne!(family.repeat, RepeatKind::Once, "the box's table has none that is sent once");
    }
    assert_eq!(families().len(), 9);
}
