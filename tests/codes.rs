//! The codes against what others publish: frames from the documents named beside each check, and two
//! independent libraries. Properties over whole ranges are in `codes/properties.rs`.

#[path = "codes/captures.rs"]
mod captures;
#[path = "codes/libraries.rs"]
mod libraries;
#[path = "codes/properties.rs"]
mod properties;

use spokewire::remote::{
    BothOrders, Code, FamilyId, Frame, both_orders, decode, describe, encode, families, read_number,
};

fn code(family: &str, address: u32, command: u32) -> Code {
    Code::Family { family: FamilyId(family.to_owned()), address, command }
}

/// A code's frame, with its toggle bit set or not.
#[expect(clippy::expect_used, reason = "a test that asks for what can't be sent has to fail")]
fn frame(family: &str, address: u32, command: u32, toggle: bool) -> Frame {
    encode(&code(family, address, command), toggle).expect("the numbers are in range")
}

fn bits(frame: &Frame) -> String {
    frame.bits.iter().map(|bit| if bit.value { '1' } else { '0' }).collect()
}

/// What the first frame of these pulses says, in one line.
fn heard(pulses_us: &[f64]) -> String {
    decode(pulses_us).map_or_else(|error| error.to_string(), |decoded| decoded.to_string())
}

/// The published bits, length and both numbers of a 32-bit frame.
fn assert_published(frame: &Frame, published_bits: &str, total_us: f64) {
    assert_eq!(bits(frame), published_bits.replace(' ', ""));
    assert!((frame.total_us() - total_us).abs() < 0.5, "{} against {total_us}", frame.total_us());
}

#[test]
fn nec_00_ad_is_sent_as_the_transmission_note_prints_it() {
    // NEC transmission protocol note: address 00h (00000000b), command ADh (10101101b), lowest bit
    // first, each followed by its inverse; 67.5 ms and the closing 562.5 µs mark.
    let nec = frame("nec", 0x00, 0xAD, false);
    assert_published(&nec, "00000000 11111111 10110101 01001010", 68_062.5);
    assert_eq!(nec.pulses_us.len(), 67);
    assert_eq!(nec.pulses_us[..2], [9_000.0, 4_500.0]);
    assert_eq!(
        both_orders(&code("nec", 0x00, 0xAD)),
        Some(BothOrders { first_bit_first: 0x00FF_B54A.into(), last_bit_first: 0x52AD_FF00.into() })
    );
}

#[test]
fn nec_bits_last_as_long_whatever_the_numbers() {
    // The same note: with its inverse, 16 bits of address or command take 27 ms, always.
    for (address, command) in [(0x00, 0xFF), (0x04, 0x08), (0x59, 0x16), (0xFF, 0x00)] {
        let nec = frame("nec", address, command, false);
        for half in nec.bits.chunks(16) {
            let took_us: f64 = half.iter().map(|bit| bit.length_us).sum();
            assert_eq!(took_us, 27_000.0);
        }
        assert_eq!(nec.total_us(), 67_500.0 + 562.5);
    }
}

#[test]
fn other_nec_frames_have_the_numbers_that_circulate_for_them() {
    // Computed from the rule of the note and of rc-protos.rst (16-bit address, low byte first); the
    // same values stand in the project's table of facts, worked out by hand.
    for (family, address, command, sent, first_bit_first, last_bit_first) in [
        ("nec", 0x04, 0x08, "00100000 11011111 00010000 11101111", 0x20DF_10EF, 0xF708_FB04),
        ("nec", 0x59, 0x16, "10011010 01100101 01101000 10010111", 0x9A65_6897, 0xE916_A659),
        ("nec16", 0x1234, 0x56, "00101100 01001000 01101010 10010101", 0x2C48_6A95, 0xA956_1234_u32),
    ] {
        let total_us = if family == "nec" { 68_062.5 } else { 64_687.5 };
        assert_published(&frame(family, address, command, false), sent, total_us);
        let code = code(family, address, command);
        let (first, last) = (first_bit_first.into(), last_bit_first.into());
        assert_eq!(both_orders(&code), Some(BothOrders { first_bit_first: first, last_bit_first: last }));
        assert_eq!(read_number(first_bit_first, []).first_bit_first.code.as_ref(), Some(&code));
        assert_eq!(read_number(last_bit_first, []).last_bit_first.code.as_ref(), Some(&code));
    }
}

#[test]
fn bit_reversal_turns_the_published_pair_into_each_other() {
    // Published pair: CB340102 in one order is 40802CD3 in the other. It turns bits, not bytes.
    let one = read_number(0xCB34_0102, []);
    let other = read_number(0x4080_2CD3, []);
    assert_eq!(one.first_bit_first.code, other.last_bit_first.code);
    assert_eq!(one.last_bit_first.code, other.first_bit_first.code);
    assert_eq!(0xCB34_0102_u32.reverse_bits(), 0x4080_2CD3);
    // As sent, first bit first, the bytes are D3 2C 80 40: the address's inverse holds, the command's doesn't.
    assert!(one.first_bit_first.address_inverse && !one.first_bit_first.command_inverse);
}

#[test]
fn a_real_capture_with_stretched_marks_decodes() {
    // A public capture: marks of about 600 µs, spaces of about 540 and 1648 µs, leader 9152 / 4498,
    // after 39 966 µs a repeat of 9152 / 2224 / 600; known to be 00FFC03F.
    let mut capture_us = vec![9_152.0, 4_498.0];
    for place in (0..32).rev() {
        capture_us.extend([600.0, if 0x00FF_C03F_u32 >> place & 1 == 1 { 1_648.0 } else { 540.0 }]);
    }
    capture_us.extend([600.0, 39_966.0, 9_152.0, 2_224.0, 600.0]);
    let decoded = decode(&capture_us).expect("it is a nec frame");
    let number = both_orders(&decoded.code().expect("it carries numbers")).expect("it has 32 bits");
    assert_eq!(number.first_bit_first, 0x00FF_C03F.into());
    assert_eq!(decoded.to_string(), "nec address 00 command 03");
    assert_eq!(heard(&capture_us[68..]), "nec repeat frame");
}

#[test]
fn rc5_frames_are_sent_as_published() {
    // A published breakdown of RC-5: address 5, command 53, toggle 0; the frame without the idle half
    // bit before it, and with it 24.89 ms.
    let rc5 = frame("rc5", 5, 53, false);
    assert_eq!(bits(&rc5), "11000101110101");
    let published_us = "889 889 1778 889 889 889 889 1778 1778 1778 889 889 889 889 1778 1778 1778 1778 889";
    let published_us: Vec<f64> = published_us.split(' ').map(|us| us.parse().expect("a number")).collect();
    assert_eq!(rc5.pulses_us, published_us);
    assert!((rc5.total_us() + 889.0 - 24_890.0).abs() < 5.0);
    assert_eq!(heard(&rc5.pulses_us), "rc5 address 05 command 35 toggle 0");
    // The same source: address 0, command 1, toggle 1.
    assert_eq!(bits(&frame("rc5", 0, 1, true)), "11100000000001");
    // Worked out by hand from the SAA3010 data sheet: 17 / 1 is 3441h, with toggle 3C41h; and with
    // command bit 6 through the field bit (rc-protos.rst), 20 / 45h is 2505h.
    for (address, command, toggle, word) in
        [(17, 1, false, 0x3441), (17, 1, true, 0x3C41), (20, 0x45, false, 0x2505)]
    {
        assert_eq!(u32::from_str_radix(&bits(&frame("rc5", address, command, toggle)), 2), Ok(word));
    }
}

#[test]
fn rc6_frames_are_sent_as_published() {
    // A published frame of RC-6 mode 0, address 11h, command 22h, toggle 1, in cycles of 36 kHz (hex).
    let published =
        "+60-20+10-20+10-10+10-10+30-30+10-10+10-10+20-20+10-10+10-10+20-20+10-10+20-20+10-10+10-10+20-20+10";
    let cycles: Vec<_> = published
        .split(['+', '-'])
        .skip(1)
        .map(|cycles| i64::from_str_radix(cycles, 16).expect("hex"))
        .collect();
    let in_cycles = |frame: &Frame| -> Vec<i64> {
        frame.pulses_us.iter().map(|us| (us * 0.036).round() as i64).collect()
    };
    let rc6 = frame("rc6", 0x11, 0x22, true);
    assert_eq!(in_cycles(&rc6), cycles);
    assert!((rc6.total_us() - 23_110.0).abs() < 5.0, "{}", rc6.total_us());
    assert_eq!(heard(&rc6.pulses_us), "rc6 address 11 command 22 toggle 1");
    // The same with toggle 0 differs after the mode bits only: +10 -20 +20 -10.
    let other = in_cycles(&frame("rc6", 0x11, 0x22, false));
    assert_eq!((&other[..8], &other[8..12]), (&cycles[..8], &[0x10, 0x20, 0x20, 0x10][..]));
    assert_eq!(other[12..], cycles[10..]);
}

#[test]
fn sirc_frames_are_sent_as_published() {
    // SIRC note: command 19, address 1; 19.2 ms, so that 25.8 ms are left of 45.
    let sirc12 = frame("sirc12", 1, 19, false);
    assert_eq!(bits(&sirc12), "110010010000");
    assert_eq!(sirc12.total_us(), 19_200.0);
    assert_eq!(sirc12.repeat.period_us.map(|us| us - sirc12.total_us()), Some(25_800.0));
    // The shortest and the longest frames, worked out by hand from the same note.
    assert_eq!(frame("sirc12", 0, 0, false).total_us(), 16_800.0);
    assert_eq!(frame("sirc12", 31, 127, false).total_us(), 24_000.0);
    assert_eq!(frame("sirc20", 0x1FFF, 127, false).total_us(), 38_400.0);
    // The extended byte goes last, lowest bit first.
    assert_eq!(
        bits(&frame("sirc20", 0x1A | 0x43 << 5, 0x15, false)),
        "1010100 01011 11000010".replace(' ', "")
    );
    assert_eq!(heard(&frame("sirc15", 0x9A, 0x15, false).pulses_us), "sirc15 address 9A command 15");
}

#[test]
fn aeha_frames_are_sent_as_the_format_notes_say() {
    // Worked out by hand from the AEHA format notes, T 425 µs: customer 1234h, parity 4, data B, 56,
    // 78, 9A, each byte lowest bit first.
    let aeha = frame("aeha", 0x1234, 0x9A78_56B4, false);
    assert_published(&aeha, "0010110001001000 0010 1101 01101010 00011110 01011001", 64_175.0);
    assert_eq!(aeha.pulses_us[..2], [3_400.0, 1_700.0]);
    let parity =
        |frame: &Frame| frame.fields.iter().find(|field| field.label == "parity").and_then(|f| f.checked);
    assert_eq!(parity(&aeha), Some(true));
    assert_eq!(parity(&frame("aeha", 0x1234, 0x9A78_56B5, false)), Some(false));
    // T may be anything from 350 to 500 µs.
    for t_us in [350.0, 380.0, 425.0, 460.0, 500.0] {
        let pulses_us: Vec<_> = aeha.pulses_us.iter().map(|us| us * t_us / 425.0).collect();
        assert_eq!(heard(&pulses_us), "aeha address 1234 command 9A7856B4", "T = {t_us}");
    }
}

#[test]
fn pd16_frames_are_sent_as_the_kernels_decoder_takes_them() {
    // Worked out by hand from the units of the kernel's 16-bit decoder: 525 µs, leader 16 and 8.
    let pd16 = frame("pd16", 0xA5, 0x3C, false);
    assert_published(&pd16, "10100101 00111100", 38_325.0);
    let again_us: f64 = pd16.repeat.pulses_us.iter().sum();
    assert_eq!(again_us, 25_725.0);
    assert_eq!(pd16.repeat.pulses_us, pd16.pulses_us[2..]);
    assert_eq!(heard(&pd16.pulses_us), "pd16 address A5 command 3C");
    assert_eq!(heard(&pd16.repeat.pulses_us), "pd16 address A5 command 3C repeat frame");
}

#[test]
fn every_family_of_the_table_describes_what_it_decodes() {
    for family in families() {
        let code = code(family.id, 1, 2);
        let sent = encode(&code, false).expect("every family takes 1 and 2");
        let decoded = decode(&sent.pulses_us).expect("a clean frame decodes");
        assert_eq!(decoded.code().map(|heard| describe(&heard)), Some(describe(&code)));
    }
}
