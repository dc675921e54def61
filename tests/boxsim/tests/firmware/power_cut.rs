//! Power that goes while an image is written, and memory that doesn't keep what it is given.

use boxsim::{
    Bench, Chip, Contact, MS, Supply, TRUE_TIMING, Torn, built, demo_body, demo_project, write_steps,
};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use spokewire::image::{Image, ImageBand, ImageButton, ImageCode, ImageCommand, check, slot_bytes};
use spokewire::recognise::look_at_slots;
use spokewire::wire::{AnswerFault, Ask, Fault, encode_frame};

/// An image about as full as a slot: the demo's, with buttons that take nothing and more commands.
fn full_image() -> Image {
    let mut image = built(&demo_project()).image;
    image.buttons.resize(16, ImageButton { wire: 1, band: ImageBand::default() });
    for command in 0..22 {
        image
            .commands
            .push(ImageCommand { code: ImageCode::Family { family: 1, address: command, command: 7 } });
    }
    image
}

fn full_body() -> Vec<u8> {
    full_image().to_body().expect("it fits")
}

/// Another one, of the same length.
fn other_body() -> Vec<u8> {
    let mut image = full_image();
    image.mark ^= 0x5555;
    image.hold_ms += 100;
    for button in &mut image.buttons[..7] {
        button.band.low += 1;
    }
    image.to_body().expect("it fits")
}

/// What the box's memory was at each write of a byte, by one write of the whole image from start to end:
/// before it, where, and what was written.
fn whole_write(eeprom: &[u8], body: &[u8]) -> Vec<(Vec<u8>, usize, u8)> {
    let mut bench = Bench::with_eeprom(Supply::default(), eeprom);
    bench.run_ms(50);
    let before = bench.chip.eeprom_writes().len();
    bench.write(body).expect("it is written");
    let mut memory = eeprom.to_vec();
    memory.resize(boxsim::EEPROM_BYTES, 0xFF);
    let mut states = Vec::new();
    for &(_, at, byte) in &bench.chip.eeprom_writes()[before..] {
        states.push((memory.clone(), at, byte));
        memory[at] = byte;
    }
    assert_eq!(memory, bench.chip.eeprom(), "every write was seen");
    states
}

/// The check of the image that the real program takes into use with this memory; `None` for none.
fn in_use(eeprom: &[u8]) -> Option<u16> {
    let mut bench = Bench::with_eeprom(Supply::default(), eeprom);
    let identity = bench.identify();
    assert_eq!(identity.has_image, identity.slot.is_some());
    identity.slot.map(|slot| slot.check)
}

#[test]
fn a_power_cut_at_any_byte_of_a_write_leaves_the_old_image_or_the_new() {
    let (old, new) = (full_body(), other_body());
    let allowed = [check(&old), check(&new)];
    let mut rng = ChaCha8Rng::seed_from_u64(99);
    // Into an empty slot; over junk; and from slot 1 back to slot 0, where the sequence wraps round.
    let slots = |first: &[u8], second: &[u8]| {
        let mut eeprom = vec![0xFF; boxsim::EEPROM_BYTES];
        eeprom[..first.len()].copy_from_slice(first);
        eeprom[480..480 + second.len()].copy_from_slice(second);
        eeprom
    };
    let junk: Vec<u8> = (0..480).map(|_| rng.random()).collect();
    let starts = [
        slots(&slot_bytes(&old, 1), &[]),
        slots(&slot_bytes(&old, 7), &junk),
        slots(&junk, &slot_bytes(&old, 255)),
    ];
    let (mut cuts, mut outcomes) = (0, [0_usize; 2]);
    for (place, start) in starts.iter().enumerate() {
        // The one in use at the start, and the other one to write.
        let before = in_use(start).expect("the box begins with an image");
        let body = if before == allowed[0] { &new } else { &old };
        let states = whole_write(start, body);
        for (step, (memory, at, byte)) in states.iter().enumerate() {
            // Between two bytes, and torn within one in three ways.
            let torn = [None, Some(0xFF), Some(memory[*at] & byte), Some(rng.random())];
            for torn in torn {
                let mut eeprom = memory.clone();
                if let Some(torn) = torn {
                    eeprom[*at] = torn;
                }
                cuts += 1;
                // The same C as in the box for every cut; the box itself for a part of them, and for
                // all at the header and the magic byte, where it is decided.
                let slots = look_at_slots(&eeprom);
                let found = slots.in_use.map(|slot| slot.check);
                let is_header = at % 480 < 8;
                if is_header || (step % 16 == place && torn != Some(0xFF)) {
                    assert_eq!(in_use(&eeprom), found, "the box and its core on the laptop differ");
                }
                match found.and_then(|found| allowed.iter().position(|check| *check == found)) {
                    Some(which) => outcomes[which] += 1,
                    None => panic!("none is left: start {place}, byte {step} at {at}, torn {torn:02X?}"),
                }
            }
        }
    }
    println!("{cuts} cuts: {} with one image, {} with the other, none without", outcomes[0], outcomes[1]);
    assert!(cuts >= 500, "{cuts} cuts");
}

#[test]
fn power_that_goes_within_the_real_write_leaves_the_old_image_or_the_new() {
    let (old, new) = (demo_body(), other_body());
    let allowed = [check(&old), check(&new)];
    let mut rng = ChaCha8Rng::seed_from_u64(5);
    let (mut kept, mut taken) = (0, 0);
    for cut in 0..24 {
        let mut bench = Bench::with_image(Supply::default(), &old);
        for (number, ask) in (1..).zip(write_steps(&new)) {
            let line = encode_frame(ask.number(), number, &ask.payload()).expect("it fits");
            bench.chip.send(&line);
            bench.chip.run_ms(4 + 4 * ask.payload().len() as u64 + if ask == Ask::WriteEnd { 40 } else { 0 });
            // One cut in three falls into the last step, where the header is written.
            let is_end = ask == Ask::WriteEnd;
            if !is_end && cut % 3 != 0 && rng.random_range(0..5) == 0 {
                break;
            }
        }
        if cut % 3 == 0 {
            bench = Bench::with_image(Supply::default(), &old);
            let steps = write_steps(&new);
            for ask in &steps[..steps.len() - 1] {
                bench.ask(ask);
            }
            let end = encode_frame(Ask::WriteEnd.number(), 1, &[]).expect("it fits");
            bench.chip.send(&end);
            bench.chip.run_us(rng.random_range(0..45_000));
        } else {
            bench.chip.run_us(rng.random_range(0..4_000));
        }
        let torn = [Torn::Erased, Torn::Both, Torn::Junk(rng.random())][cut % 3];
        let mut bench = bench.power_cycled(Supply::default(), torn);
        let found = bench.identify().slot.map(|slot| slot.check);
        assert!(found.is_some_and(|found| allowed.contains(&found)), "cut {cut}: {found:?}");
        if found == Some(allowed[0]) { kept += 1 } else { taken += 1 }
    }
    println!("cut within the write: {kept} kept the old image, {taken} had the new");
}

#[test]
fn a_written_image_is_in_use_at_once_and_after_power_came_again() {
    let mut bench = Bench::new(Supply::default());
    assert_eq!(bench.write(&demo_body()), Ok((0, 1)));
    assert_eq!(bench.identify().slot.map(|slot| slot.check), Some(check(&demo_body())));
    let (slot, sequence) = bench.write(&other_body()).expect("it is written");
    assert_eq!((slot, sequence), (1, 2));
    // Read back over the link, byte for byte.
    let mut held = Vec::new();
    let whole = slot_bytes(&other_body(), 2);
    while held.len() < whole.len() {
        let count = (whole.len() - held.len()).min(64) as u8;
        match bench.ask(&Ask::Read { slot: None, offset: held.len() as u16, count }) {
            spokewire::wire::Answer::Bytes { bytes, .. } => held.extend(bytes),
            other => panic!("{other:?}"),
        }
    }
    assert_eq!(held, whole);
    let mut bench = bench.power_cycled(Supply::default(), Torn::Erased);
    assert_eq!(bench.identify().slot.map(|slot| slot.check), Some(check(&other_body())));
}

/// Blinks of the status LED in the 2 s that begin with its next flash after a long pause.
fn flashes(bench: &mut Bench) -> usize {
    bench.run_ms(1_500);
    let from = bench.chip.now();
    bench.run_ms(6_144);
    let edges = bench.chip.edges('B', 5);
    edges.iter().filter(|edge| edge.high && edge.cycle > from).count()
}

fn stays_silent(bench: &mut Bench) {
    let from = bench.chip.now();
    for button in 0..3 {
        bench.ladder.press(button, Contact::Firm(6.0), from + (100 + 400 * button as u64) * MS, 150);
    }
    bench.run_ms(1_500);
    assert_eq!(bench.output().iter().filter(|edge| edge.high && edge.cycle > from).count(), 0, "a pulse");
    assert!(!bench.chip.is_high('B', 1));
}

#[test]
fn erased_memory_says_so_and_stays_silent() {
    let mut bench = Bench::new(Supply::default());
    let identity = bench.identify();
    assert!(!identity.has_image && !identity.has_damage);
    stays_silent(&mut bench);
    // Two flashes each 2.048 s: three rounds.
    assert_eq!(flashes(&mut bench), 6);
}

#[test]
fn a_damaged_image_says_so_and_stays_silent() {
    let mut slot = slot_bytes(&demo_body(), 1);
    slot[40] ^= 0x10;
    let mut bench = Bench::with_eeprom(Supply::default(), &slot);
    let identity = bench.identify();
    assert!(!identity.has_image && identity.has_damage);
    stays_silent(&mut bench);
    assert_eq!(flashes(&mut bench), 9);
    // One flash when a whole one is there.
    let mut bench = Bench::with_image(Supply::default(), &demo_body());
    assert_eq!(flashes(&mut bench), 3);
}

#[test]
fn memory_that_keeps_nothing_is_told_at_once_and_the_old_image_goes_on() {
    let old = demo_body();
    let mut chip = Chip::boot(&boxsim::firmware(), 0, Some(&slot_bytes(&old, 1)), TRUE_TIMING);
    // A cell in the middle of the other slot's body that can't be set any more.
    chip.wear_out(480 + 52);
    let mut bench = Bench::on(chip, Supply::default());
    let refused = bench.write(&other_body());
    assert!(
        matches!(&refused, Err((Ask::WriteData { .. } | Ask::WriteEnd, AnswerFault::Fault(Fault::Worn)))),
        "{refused:?}"
    );
    let identity = bench.identify();
    assert_eq!(identity.slot.map(|slot| slot.check), Some(check(&old)), "the old one is in use");
    assert_eq!(flashes(&mut bench), 12, "four flashes: a fault");
}

#[test]
fn a_supply_that_is_too_low_is_not_written_at() {
    let low = Supply { volt: 4.0, ..Supply::default() };
    let mut bench = Bench::with_image(low, &demo_body());
    bench.run_ms(1_200);
    let refused = bench.write(&other_body());
    assert!(
        matches!(refused, Err((Ask::WriteBegin { .. }, AnswerFault::Fault(Fault::Supply)))),
        "{refused:?}"
    );
    bench.ladder.supply(Supply::default());
    bench.run_ms(1_200);
    bench.write(&other_body()).expect("at 5 V it is written");
}

#[test]
fn an_image_that_did_not_arrive_whole_is_not_taken() {
    let (old, new) = (demo_body(), other_body());
    let mut bench = Bench::with_image(Supply::default(), &old);
    let refused = |bench: &mut Bench, ask: &Ask| match bench.try_ask(ask) {
        Some(Err(AnswerFault::Fault(fault))) => fault,
        other => panic!("{ask:?}: {other:?}"),
    };
    assert_eq!(refused(&mut bench, &Ask::WriteEnd), Fault::Order);
    assert_eq!(refused(&mut bench, &Ask::WriteData { offset: 0, bytes: vec![1] }), Fault::Order);
    assert_eq!(refused(&mut bench, &Ask::WriteBegin { length: 473, check: 0 }), Fault::TooLong);
    bench.ask(&Ask::WriteBegin { length: new.len() as u16, check: check(&new) });
    assert_eq!(refused(&mut bench, &Ask::WriteData { offset: 64, bytes: vec![1] }), Fault::Order);
    bench.ask(&Ask::WriteData { offset: 0, bytes: new[..64].to_vec() });
    assert_eq!(refused(&mut bench, &Ask::WriteEnd), Fault::Order);
    // Whole, and one bit is not what was announced.
    let mut steps = write_steps(&new);
    if let Ask::WriteData { bytes, .. } = &mut steps[2] {
        bytes[3] ^= 4;
    }
    let end = steps.pop().expect("there is an end");
    for ask in &steps {
        bench.ask(ask);
    }
    assert_eq!(refused(&mut bench, &end), Fault::Check);
    // Whole, as announced, and nonsense.
    let nonsense = vec![0xEE; 100];
    let refused = bench.write(&nonsense);
    assert!(
        matches!(refused, Err((Ask::WriteEnd, AnswerFault::Fault(Fault::Contents | Fault::Format)))),
        "{refused:?}"
    );
    assert_eq!(bench.identify().slot.map(|slot| slot.check), Some(check(&old)));
    let from = bench.chip.now() + 100 * MS;
    bench.ladder.press(2, Contact::Firm(6.0), from, 120);
    bench.run_ms(500);
    assert_eq!(bench.bursts(from, 6_000.0).len(), 1, "and the old image works");
}
