//! The box's frames against general-purpose COBS and CRC libraries and published values.

use proptest::prelude::*;

use super::ffi_image::testing::{SwDeframer, sw_crc, sw_deframer_take, sw_frame_room, written};

const IBM_3740: crc::Crc<u16> = crc::Crc::<u16>::new(&crc::CRC_16_IBM_3740);

fn box_crc(bytes: &[u8]) -> u16 {
    bytes.iter().fold(0xFFFF, |crc, &byte| sw_crc(crc, byte))
}

/// What the box makes of a line: each frame without its check, or `None` for a broken one.
fn taken(deframer: &mut SwDeframer, line: &[u8]) -> Vec<Option<Vec<u8>>> {
    let mut frames = Vec::new();
    for &byte in line {
        match sw_deframer_take(deframer, byte) {
            0 => {}
            1 => frames.push(Some(deframer.frame()[..deframer.frame().len() - 2].to_vec())),
            _ => frames.push(None),
        }
    }
    frames
}

/// Bytes with their check behind them, as the libraries lay them on the line.
fn on_the_line(bytes: &[u8]) -> Vec<u8> {
    let checked = [bytes, &IBM_3740.checksum(bytes).to_le_bytes()].concat();
    let mut line = cobs::encode_vec(&checked);
    line.push(0);
    line
}

#[test]
fn the_check_of_the_digits_is_the_catalogue_s() {
    // Catalogue of parametrised CRC algorithms, CRC-16/IBM-3740: check 29B1. The same polynomial from
    // 0000 is XMODEM: 31C3; from 1D0F is SPI-FUJITSU: E5CC.
    assert_eq!(box_crc(b"123456789"), 0x29B1);
    let from = |start: u16| b"123456789".iter().fold(start, |crc, &byte| sw_crc(crc, byte));
    assert_eq!(from(0), 0x31C3);
    assert_eq!(from(0x1D0F), 0xE5CC);
}

#[test]
fn published_cobs_lines_are_taken_apart() {
    // Cheshire and Baker 1999, figure 3, and the usual short examples: what the box keeps of each
    // before it looks at the check.
    let cases: [(&[u8], &[u8]); 8] = [
        (&[0x01, 0x01], &[0x00]),
        (&[0x01, 0x01, 0x01], &[0x00, 0x00]),
        (&[0x01, 0x02, 0x11, 0x01], &[0x00, 0x11, 0x00]),
        (&[0x03, 0x11, 0x22, 0x02, 0x33], &[0x11, 0x22, 0x00, 0x33]),
        (&[0x05, 0x11, 0x22, 0x33, 0x44], &[0x11, 0x22, 0x33, 0x44]),
        (&[0x02, 0x11, 0x01, 0x01, 0x01], &[0x11, 0x00, 0x00, 0x00]),
        (&[0x03, 0xDE, 0xAD, 0x03, 0xBE, 0xEF], &[0xDE, 0xAD, 0x00, 0xBE, 0xEF]),
        (
            &[0x02, 0x45, 0x01, 0x04, 0x2C, 0x4C, 0x79, 0x01, 0x05, 0x40, 0x06, 0x4F, 0x37],
            &[0x45, 0x00, 0x00, 0x2C, 0x4C, 0x79, 0x00, 0x00, 0x40, 0x06, 0x4F, 0x37],
        ),
    ];
    for (line, plain) in cases {
        let mut deframer = SwDeframer::new();
        assert_eq!(taken(&mut deframer, line), []);
        assert_eq!(taken(&mut deframer, &[0]), [None], "it has no check");
        assert_eq!(deframer.frame(), plain);
    }
}

#[test]
fn zeros_between_frames_are_nothing() {
    let mut deframer = SwDeframer::new();
    assert_eq!(taken(&mut deframer, &[0, 0, 0]), []);
    let mut line = on_the_line(&[1, 2]);
    line.splice(0..0, [0, 0]);
    line.extend([0, 0]);
    assert_eq!(taken(&mut deframer, &line), [Some(vec![1, 2])]);
}

#[test]
fn a_frame_longer_than_the_box_takes_is_broken_and_the_next_one_is_whole() {
    let longest: Vec<u8> = (0..98).map(|i| i as u8).collect();
    let mut line = on_the_line(&[&longest[..], &[7]].concat());
    line.extend(on_the_line(&longest));
    for long in [254, 300, 1_000] {
        line.extend(on_the_line(&vec![0x55; long]));
        line.extend(on_the_line(&vec![0; long]));
    }
    line.extend(on_the_line(&[3, 4, 5]));
    let mut expected = vec![None, Some(longest)];
    expected.extend([const { None }; 6]);
    expected.push(Some(vec![3, 4, 5]));
    assert_eq!(taken(&mut SwDeframer::new(), &line), expected);
}

#[test]
fn a_frame_shorter_than_number_and_sequence_is_broken() {
    for bytes in [&[][..], &[9]] {
        assert_eq!(taken(&mut SwDeframer::new(), &on_the_line(bytes)), [None]);
    }
}

/// Payloads rich in zeros, where COBS has its corners.
fn payload() -> impl Strategy<Value = Vec<u8>> {
    prop::collection::vec(prop_oneof![Just(0u8), any::<u8>()], 0..=96)
}

proptest! {
    #[test]
    fn what_the_box_writes_is_what_the_libraries_write(number: u8, sequence: u8, payload in payload()) {
        let line = written(number, sequence, &payload);
        prop_assert_eq!(&line, &on_the_line(&[&[number, sequence], &payload[..]].concat()));
        prop_assert!(line.len() <= usize::from(sw_frame_room(payload.len() as u8)));
    }

    #[test]
    fn what_the_libraries_write_is_what_the_box_reads(
        frames in prop::collection::vec((any::<u8>(), any::<u8>(), payload()), 1..5),
    ) {
        let plain: Vec<Vec<u8>> =
            frames.iter().map(|(number, sequence, payload)| [&[*number, *sequence], &payload[..]].concat()).collect();
        let line: Vec<u8> = plain.iter().flat_map(|plain| on_the_line(plain)).collect();
        let whole: Vec<_> = plain.into_iter().map(Some).collect();
        prop_assert_eq!(taken(&mut SwDeframer::new(), &line), whole);
    }

    #[test]
    fn after_any_garbage_and_a_zero_a_frame_is_read(garbage in prop::collection::vec(any::<u8>(), 0..400)) {
        let mut deframer = SwDeframer::new();
        taken(&mut deframer, &garbage);
        taken(&mut deframer, &[0]);
        prop_assert_eq!(taken(&mut deframer, &on_the_line(&[1, 2, 3])), [Some(vec![1, 2, 3])]);
    }

    /// A CRC-16 finds every burst of errors up to 16 bits within the data; a byte changed on the line
    /// may move zeros, so that only what the libraries read, too, may pass.
    #[test]
    fn a_line_cut_or_changed_gives_only_what_the_libraries_read(
        payload in payload(), at in any::<prop::sample::Index>(), byte in 1u8.., cut: bool,
    ) {
        let mut line = written(1, 2, &payload);
        let at = at.index(line.len() - 1);
        if cut { line.remove(at); } else { line[at] ^= byte; }
        let expected: Vec<Option<Vec<u8>>> = line
            .split(|&byte| byte == 0)
            .filter(|part| !part.is_empty())
            .map(|part| {
                let plain = cobs::decode_vec(part).ok()?;
                let (bytes, check) = plain.split_last_chunk::<2>()?;
                let holds = IBM_3740.checksum(bytes).to_le_bytes() == *check;
                (holds && (2..=98).contains(&bytes.len())).then(|| bytes.to_vec())
            })
            .collect();
        prop_assert_eq!(taken(&mut SwDeframer::new(), &line), expected);
    }
}
