//! Our frames against two libraries made by others: `irp` (MIT) lays out frames from the IRP notation
//! of a protocol, written here from the documents; `infrared` (MIT or Apache-2.0) decodes for
//! microcontrollers. Neither shares code with this project.

use infrared::protocol::nec::{Nec16Command, NecCommand};
use infrared::protocol::{Nec, Rc5, Rc6};
use infrared::receiver::BufferInputReceiver;
use irp::{Irp, Vartable};
use spokewire::remote::{encode, families};

use super::{code, frame};

/// Each family in IRP notation: `{carrier,unit}<0|1>(leader,fields,stop mark)`, `D` the address, `F`
/// the command, `T` the toggle bit; `X:n:m` is n bits of X from bit m up, `~` the inverse. Gaps after
/// the frame are left out: they are a matter of the repeat.
const NOTATIONS: &[(&str, &str)] = &[
    // NEC transmission protocol note; rc-protos.rst for the 16-bit address.
    ("nec", "{38k,562.5}<1,-1|1,-3>(16,-8,D:8,~D:8,F:8,~F:8,1,-40m)[D:0..255,F:0..255]"),
    ("nec16", "{38k,562.5}<1,-1|1,-3>(16,-8,D:16,F:8,~F:8,1,-40m)[D:0..65535,F:0..255]"),
    // SAA3010 data sheet; rc-protos.rst for command bit 6.
    ("rc5", "{36k,889,msb}<1,-1|-1,1>(1:1,~F:1:6,T:1,D:5,F:6,-89m)[D:0..31,F:0..127,T:0..1]"),
    // RC-6 note: a unit is 16 periods of the carrier.
    ("rc6", "{36k,16p,msb}<-1,1|1,-1>(6,-2,1:1,0:3,<-2,2|2,-2>(T:1),D:8,F:8,-83m)[D:0..255,F:0..255,T:0..1]"),
    // SIRC note.
    ("sirc12", "{40k,600}<1,-1|2,-1>(4,-1,F:7,D:5,-20m)[D:0..31,F:0..127]"),
    ("sirc15", "{40k,600}<1,-1|2,-1>(4,-1,F:7,D:8,-20m)[D:0..255,F:0..127]"),
    ("sirc20", "{40k,600}<1,-1|2,-1>(4,-1,F:7,D:5,D:8:5,-20m)[D:0..8191,F:0..127]"),
    // AEHA format notes.
    ("aeha", "{38k,425}<1,-1|1,-3>(8,-4,D:16,F:32,1,-40m)[D:0..65535,F:0..4294967295]"),
    // Linux kernel, 16-bit decoder of 525 µs.
    ("pd16", "{38k,525}<1,-1|1,-3>(16,-8,D:8,F:8,1,-20m)[D:0..255,F:0..255]"),
];

/// The library cuts every half bit to whole microseconds, and up to three join into one pulse.
const ROUNDING_US: f64 = 3.0;

/// Numbers spread over a range: its ends, powers of two, and steps in between.
fn spread(max: u32) -> Vec<u32> {
    let mut numbers: Vec<u32> =
        (0..32).map(|place| 1_u32 << place).chain([0, max, max / 3, max / 5]).collect();
    numbers.extend((0..8).map(|step| (u64::from(max) * step / 7) as u32));
    numbers.retain(|&number| number <= max);
    numbers.sort_unstable();
    numbers.dedup();
    numbers
}

#[test]
fn every_family_has_its_notation_here() {
    let here: Vec<_> = NOTATIONS.iter().map(|(id, _)| *id).collect();
    let table: Vec<_> = families().iter().map(|family| family.id).collect();
    assert_eq!(here, table);
}

#[test]
fn frames_laid_out_from_irp_notation_are_ours() {
    let mut compared = 0;
    for (family, (_, notation)) in families().iter().zip(NOTATIONS) {
        let irp = Irp::parse(notation).expect("the notation parses");
        assert_eq!(irp.carrier(), i64::from(family.carrier_hz), "{}", family.id);
        for address in spread(family.address_max()) {
            for command in spread(family.command_max()) {
                for toggle in [false, true] {
                    let mut given = Vartable::new();
                    given.set("D".to_owned(), address.into());
                    given.set("F".to_owned(), command.into());
                    if family.has_toggle() {
                        given.set("T".to_owned(), toggle.into());
                    }
                    let mut theirs = irp.encode_raw(given, 0).expect("the numbers are in range");
                    theirs.remove_trailing_gap();
                    let ours =
                        encode(&code(family.id, address, command), toggle).expect("in range").pulses_us;
                    assert_eq!(ours.len(), theirs.raw.len(), "{} {address:X} {command:X}", family.id);
                    for (i, (ours, theirs)) in ours.iter().zip(&theirs.raw).enumerate() {
                        let off_us = ours - f64::from(*theirs);
                        assert!(
                            off_us.abs() <= ROUNDING_US,
                            "{} {address:X} {command:X}, pulse {i}: {ours} against {theirs}",
                            family.id
                        );
                    }
                    compared += 1;
                }
            }
        }
    }
    assert!(compared > 1000, "{compared} frames compared");
}

/// Edges for `infrared`: whole microseconds between them, the first after an idle line.
fn edges(family: &str, address: u32, command: u32, toggle: bool) -> Vec<u32> {
    let frame = frame(family, address, command, toggle);
    std::iter::once(0).chain(frame.pulses_us.iter().map(|us| us.round() as u32)).collect()
}

// `infrared` checks no inverses in its buffer receiver, so that it reads ours says that bits and order
// are right; the inverses are checked against the documents and `irp`.

#[test]
fn infrared_reads_every_nec_frame_of_ours() {
    let mut nec = BufferInputReceiver::<Nec<NecCommand>>::with_frequenzy(1_000_000);
    for address in 0..=0xFF {
        for command in 0..=0xFF {
            let edges = edges("nec", address, command, false);
            let read = nec.iter(&edges).next().expect("a command");
            assert_eq!((u32::from(read.addr), u32::from(read.cmd), read.repeat), (address, command, false));
        }
    }
}

#[test]
fn infrared_reads_nec16_frames_of_ours() {
    let mut nec16 = BufferInputReceiver::<Nec<Nec16Command>>::with_frequenzy(1_000_000);
    for address in spread(0xFFFF) {
        for command in spread(0xFF) {
            let edges = edges("nec16", address, command, false);
            let read = nec16.iter(&edges).next().expect("a command");
            assert_eq!((u32::from(read.addr), u32::from(read.cmd)), (address, command));
        }
    }
}

#[test]
fn infrared_reads_every_rc5_frame_of_ours() {
    let mut rc5 = BufferInputReceiver::<Rc5>::with_frequenzy(1_000_000);
    for address in 0..32 {
        for command in 0..128 {
            for toggle in [false, true] {
                let edges = edges("rc5", address, command, toggle);
                let read = rc5.iter(&edges).next().expect("a command");
                // It knows no command bit 6: that is the second start bit, turned over.
                let extended = if read.start == 0b11 { 0 } else { 64 };
                assert_eq!((u32::from(read.addr), u32::from(read.cmd) + extended), (address, command));
                assert_eq!(read.toggle, toggle);
            }
        }
    }
}

#[test]
fn infrared_reads_every_rc6_frame_of_ours() {
    let mut rc6 = BufferInputReceiver::<Rc6>::with_frequenzy(1_000_000);
    for address in 0..=0xFF {
        for command in 0..=0xFF {
            let toggle = (address ^ command) & 1 == 1;
            let edges = edges("rc6", address, command, toggle);
            let read = rc6.iter(&edges).next().expect("a command");
            assert_eq!((u32::from(read.addr), u32::from(read.cmd), read.toggle), (address, command, toggle));
        }
    }
}
