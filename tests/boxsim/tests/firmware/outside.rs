//! What the box puts on the line, read by decoders that others wrote and that know nothing of this
//! project: `sigrok-cli` (Debian package) for what it has a decoder of, crate `irp` for every family.
//! The edges are the simulated chip's own; only the files in between are ours.

#[path = "../../../outside_decoders/irp.rs"]
mod irp;
#[path = "../../../outside_decoders/sigrok.rs"]
mod sigrok;

use irp::IrpReader;
use sigrok::read_by;
use spokewire::remote::{Code, Family, families, family};

use super::pulses::{busy_bench, send};

/// A code as it was sent, and the first frame of it that came.
struct Sent {
    address: u32,
    command: u32,
    toggle: bool,
    frame: Vec<f64>,
}

/// Codes spread over a family's range, and what came of each while the box was busy.
fn sent(family: &Family) -> Vec<Sent> {
    let mut bench = busy_bench(false);
    let (most, deep) = (family.address_max(), family.command_max());
    // As for nec16 in `tests/outside_decoders.rs`: address bytes that share no bit.
    let address = if family.id == "nec16" { 0xA659 } else { most & 0x59 };
    let codes = [(address, deep & 0x16), (0, deep), (if family.id == "nec16" { 0x00FF } else { most }, 0)];
    let mut all = Vec::new();
    for (address, command) in codes {
        for toggle in [false, true] {
            let code = Code::Family { family: family.family_id(), address, command };
            let bursts = send(&mut bench, &code, 10, toggle, 220);
            let (_, frame) = bursts.into_iter().next().expect("a frame came");
            all.push(Sent { address, command, toggle, frame });
        }
    }
    all
}

#[test]
fn irp_reads_what_the_box_sends_in_every_family() {
    for family in families() {
        let reader = IrpReader::of(family.id);
        let all = sent(family);
        for Sent { address, command, toggle, frame } in &all {
            let wanted = (*address, *command, family.has_toggle().then_some(*toggle));
            assert_eq!(reader.read(frame), Some(wanted), "{} {address:X} {command:X}", family.id);
        }
        println!("{}: irp reads {} frames", family.id, all.len());
    }
}

#[test]
fn sigrok_reads_what_the_box_sends_in_the_families_it_knows() {
    let of = |id: &str| sent(family(id).expect("a family of the table"));
    for id in ["nec", "nec16"] {
        let all = of(id);
        let frames: Vec<_> = all.iter().map(|sent| sent.frame.clone()).collect();
        let read =
            read_by("ir_nec:ir=0:polarity=active-high", "ir_nec=addr:addr-inv:cmd:cmd-inv:warnings", &frames);
        let wanted: Vec<String> = all.iter().flat_map(|sent| nec_words(id, sent)).collect();
        assert_eq!(read, wanted, "{id}");
        println!("{id}: sigrok reads {} frames", all.len());
    }
    for Sent { address, command, toggle, frame } in of("rc5") {
        // A frame a run: see `tests/outside_decoders.rs`.
        let read = read_by(
            "ir_rc5:ir=0:polarity=active-high:protocol=extended",
            "ir_rc5=togglebit-0:togglebit-1:address:command",
            &[frame],
        );
        let begins = [
            format!("CMD[6]#: {}", u8::from(command < 64)),
            format!("Togglebit: {}", u8::from(toggle)),
            format!("Address: {address} ("),
            format!("Command: {command} ("),
        ];
        assert_eq!(read.len(), begins.len(), "{read:?}");
        assert!(read.iter().zip(&begins).all(|(read, begins)| read.starts_with(begins.as_str())), "{read:?}");
    }
    let all = of("rc6");
    let frames: Vec<_> = all.iter().map(|sent| sent.frame.clone()).collect();
    let read = read_by("ir_rc6:ir=0:polarity=active-high", "ir_rc6=address:command", &frames);
    let wanted: Vec<String> = all
        .iter()
        .flat_map(|sent| [format!("Address: {:02X}", sent.address), format!("Data: {:02X}", sent.command)])
        .collect();
    assert_eq!(read, wanted);
}

/// What the NEC decoder says of a frame.
fn nec_words(id: &str, sent: &Sent) -> [String; 4] {
    let Sent { address, command, .. } = sent;
    let second = if id == "nec16" { address >> 8 } else { 0xFF ^ address };
    [
        format!("Address: 0x{:02X}", address & 0xFF),
        format!("Address#: 0x{second:02X}"),
        format!("Command: 0x{command:02X}"),
        format!("Command#: 0x{:02X}", 0xFF ^ command),
    ]
}
