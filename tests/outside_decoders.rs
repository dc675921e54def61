//! Our frames read by decoders that others wrote: `sigrok-cli` for what it has a decoder of, crate
//! `irp` for every family. Positive checks only: that they read our frames right says that bits, order
//! and timing are right; what they refuse is their own affair.
//!
//! libsigrokdecode 0.5.3, which Debian has, decodes NEC, RC-5 and RC-6 mode 0, and no other family of
//! the table. Its NEC decoder takes an address of 16 bits only where its two bytes share no bit.

#[path = "outside_decoders/irp.rs"]
mod irp;
#[path = "outside_decoders/sigrok.rs"]
mod sigrok;

use irp::IrpReader;
use sigrok::read_by;
use spokewire::remote::{Code, FamilyId, encode, families};

#[expect(clippy::expect_used, reason = "a test that asks for what can't be sent has to fail")]
fn frame(family: &str, address: u32, command: u32, toggle: bool) -> Vec<f64> {
    let code = Code::Family { family: FamilyId(family.to_owned()), address, command };
    encode(&code, toggle).expect("the numbers are in range").pulses_us
}

/// Numbers spread over a range: its ends, powers of two, and alternating bits.
fn spread(max: u32) -> Vec<u32> {
    let mut numbers: Vec<u32> = (0..32).map(|place| 1_u32 << place).collect();
    numbers.extend([0, max, max / 3, max / 5, max / 3 * 2, max / 7]);
    numbers.retain(|&number| number <= max);
    numbers.sort_unstable();
    numbers.dedup();
    numbers
}

#[test]
fn sigrok_reads_our_nec_frames_and_their_repeat_frame() {
    let codes: Vec<(u32, u32)> = spread(0xFF)
        .into_iter()
        .flat_map(|address| spread(0xFF).into_iter().map(move |c| (address, c)))
        .collect();
    let repeat = vec![9_000.0, 2_250.0, 562.5];
    let frames: Vec<Vec<f64>> = codes
        .iter()
        .flat_map(|&(address, command)| [frame("nec", address, command, false), repeat.clone()])
        .collect();
    let read = read_by(
        "ir_nec:ir=0:polarity=active-high",
        "ir_nec=addr:addr-inv:cmd:cmd-inv:repeat-code:warnings",
        &frames,
    );
    let wanted: Vec<String> = codes
        .iter()
        .flat_map(|&(address, command)| {
            [
                format!("Address: 0x{address:02X}"),
                format!("Address#: 0x{:02X}", 0xFF ^ address),
                format!("Command: 0x{command:02X}"),
                format!("Command#: 0x{:02X}", 0xFF ^ command),
                "Repeat code".to_owned(),
            ]
        })
        .collect();
    assert!(codes.len() > 100, "{} codes", codes.len());
    assert_eq!(read, wanted);
}

#[test]
fn sigrok_reads_our_nec16_frames_whose_address_bytes_share_no_bit() {
    let codes: Vec<(u32, u32)> = spread(0xFFFF)
        .into_iter()
        .filter(|address| (address >> 8) & address & 0xFF == 0)
        .flat_map(|address| [(address, 0x16), (address, 0xE9)])
        .collect();
    let frames: Vec<Vec<f64>> =
        codes.iter().map(|&(address, command)| frame("nec16", address, command, false)).collect();
    let read =
        read_by("ir_nec:ir=0:polarity=active-high", "ir_nec=addr:addr-inv:cmd:cmd-inv:warnings", &frames);
    let wanted: Vec<String> = codes
        .iter()
        .flat_map(|&(address, command)| {
            [
                format!("Address: 0x{:02X}", address & 0xFF),
                format!("Address#: 0x{:02X}", address >> 8),
                format!("Command: 0x{command:02X}"),
                format!("Command#: 0x{:02X}", 0xFF ^ command),
            ]
        })
        .collect();
    assert!(codes.len() > 30, "{} codes", codes.len());
    assert_eq!(read, wanted);
}

#[test]
fn sigrok_reads_our_rc5_frames_with_their_toggle_and_the_extended_bit() {
    // A frame a run: the decoder takes the last edge of a frame for the first of the next.
    let mut read_right = 0;
    for (at, address) in [0, 5, 0x10, 0x15, 0x1F].into_iter().enumerate() {
        for command in [0, 3, 0x16, 0x2A, 0x3F, 0x40, 0x55, 0x7F] {
            let toggle = (at + command as usize).is_multiple_of(2);
            let read = read_by(
                "ir_rc5:ir=0:polarity=active-high:protocol=extended",
                "ir_rc5=togglebit-0:togglebit-1:address:command",
                &[frame("rc5", address, command, toggle)],
            );
            let beginnings = [
                format!("CMD[6]#: {}", u8::from(command < 64)),
                format!("Togglebit: {}", u8::from(toggle)),
                format!("Address: {address} ("),
                format!("Command: {command} ("),
            ];
            assert_eq!(read.len(), beginnings.len(), "{address} {command}: {read:?}");
            for (read, begins) in read.iter().zip(&beginnings) {
                assert!(read.starts_with(begins.as_str()), "{address} {command}: {read}, not {begins}");
            }
            read_right += 1;
        }
    }
    assert_eq!(read_right, 40);
}

#[test]
fn sigrok_reads_our_rc6_frames_with_their_toggle() {
    let mut codes = Vec::new();
    for address in spread(0xFF) {
        for command in spread(0xFF) {
            codes.push((address, command, (address ^ command) & 1 == 1));
        }
    }
    let frames: Vec<Vec<f64>> =
        codes.iter().map(|&(address, command, toggle)| frame("rc6", address, command, toggle)).collect();
    let mut read =
        read_by("ir_rc6:ir=0:polarity=active-high", "ir_rc6=field:togglebit:address:command", &frames);
    // Where the toggle bit is one run with its neighbour the decoder tells mode and toggle twice.
    while let Some(at) = read.windows(4).position(|four| four[..2] == four[2..]) {
        read.drain(at..at + 2);
    }
    let wanted: Vec<String> = codes
        .iter()
        .flat_map(|&(address, command, toggle)| {
            [
                "Field: 0".to_owned(),
                format!("Toggle: {}", u8::from(toggle)),
                format!("Address: {address:02X}"),
                format!("Data: {command:02X}"),
            ]
        })
        .collect();
    assert!(codes.len() > 100, "{} codes", codes.len());
    assert_eq!(read, wanted);
}

#[test]
fn irp_reads_frames_of_every_family() {
    for family in families() {
        let reader = IrpReader::of(family.id);
        let mut read_right = 0;
        for address in spread(family.address_max()) {
            for command in spread(family.command_max()) {
                let toggle = (address ^ command) & 1 == 1;
                let read = reader.read(&frame(family.id, address, command, toggle));
                let wanted = (address, command, family.has_toggle().then_some(toggle));
                assert_eq!(read, Some(wanted), "{} {address:X} {command:X}", family.id);
                read_right += 1;
            }
        }
        println!("{}: {read_right} frames", family.id);
        assert!(read_right > 50, "{}: {read_right}", family.id);
    }
}
