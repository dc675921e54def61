//! Frames: COBS (Cheshire and Baker, 1999) with a zero after each, and in it message number, sequence,
//! payload, CRC-16. Knows nothing of what the numbers mean.

use crc::{CRC_16_IBM_3740, Crc};

use super::message::PAYLOAD_MAX;

/// Number and sequence in front, CRC behind.
const OVERHEAD: usize = 4;
/// A frame before COBS.
const FRAME_MAX: usize = PAYLOAD_MAX + OVERHEAD;
/// A frame on the line without its zero. COBS adds one byte, and encoders differ on a second one for
/// a frame of 254; ours stay far below that.
const LINE_MAX: usize = FRAME_MAX + 1;

static CRC: Crc<u16> = Crc::<u16>::new(&CRC_16_IBM_3740);

/// CRC-16 as the link and the image use it: polynomial 1021, start FFFF, not reflected, no final
/// exclusive-or (CRC catalogue: IBM 3740; "123456789" gives 29B1).
#[must_use]
pub fn crc16(bytes: &[u8]) -> u16 {
    CRC.checksum(bytes)
}

/// Why a frame could not be made.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum WireError {
    /// It would not fit.
    #[error("a message of {length} bytes does not fit a frame: {PAYLOAD_MAX} is the most. Send it in parts.")]
    TooLong {
        /// Bytes of the payload.
        length: usize,
    },
}

/// A frame as bytes of the line, the zero after it included.
///
/// # Errors
/// Where the payload is longer than [`PAYLOAD_MAX`].
pub fn encode_frame(number: u8, sequence: u8, payload: &[u8]) -> Result<Vec<u8>, WireError> {
    if payload.len() > PAYLOAD_MAX {
        return Err(WireError::TooLong { length: payload.len() });
    }
    let mut plain = Vec::with_capacity(FRAME_MAX);
    plain.extend([number, sequence]);
    plain.extend(payload);
    plain.extend(crc16(&plain).to_le_bytes());
    let mut line = cobs::encode_vec(&plain);
    line.push(0);
    Ok(line)
}

/// A frame that came whole.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Frame {
    /// The message's number.
    pub number: u8,
    /// Its sequence.
    pub sequence: u8,
    /// Its payload, at most [`PAYLOAD_MAX`] bytes.
    pub payload: Vec<u8>,
}

/// Why a frame is no good.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum FrameFault {
    /// No zero came in time.
    #[error("no frame ended within {LINE_MAX} bytes")]
    TooLong,
    /// The bytes are not COBS.
    #[error("a frame of {length} bytes is not COBS")]
    Malformed {
        /// Bytes on the line, without the zero.
        length: usize,
    },
    /// Too short for number, sequence and CRC.
    #[error("a frame of {length} bytes is too short: {OVERHEAD} is the least")]
    TooShort {
        /// Bytes after COBS.
        length: usize,
    },
    /// The CRC differs.
    #[error("a frame's CRC is {said:04X} where {found:04X} was expected")]
    Check {
        /// What the frame says.
        said: u16,
        /// What its bytes give.
        found: u16,
    },
}

/// Takes bytes of the line as they come and gives frames. Never holds more than one frame's bytes.
#[derive(Clone, Debug, Default)]
pub struct Deframer {
    line: Vec<u8>,
    is_over: bool,
}

impl Deframer {
    /// One that has heard nothing.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Takes bytes, and calls `heard` for each frame they complete, whole or broken. Zeros in a row
    /// are no frames.
    pub fn feed(&mut self, bytes: &[u8], mut heard: impl FnMut(Result<Frame, FrameFault>)) {
        for &byte in bytes {
            if byte != 0 {
                if self.line.len() < LINE_MAX {
                    self.line.push(byte);
                } else {
                    self.is_over = true;
                }
                continue;
            }
            if self.is_over {
                heard(Err(FrameFault::TooLong));
            } else if !self.line.is_empty() {
                heard(decode(&self.line));
            }
            self.line.clear();
            self.is_over = false;
        }
    }

    /// Forgets a frame that has begun.
    pub fn clear(&mut self) {
        self.line.clear();
        self.is_over = false;
    }
}

fn decode(line: &[u8]) -> Result<Frame, FrameFault> {
    let plain = cobs::decode_vec(line).map_err(|_| FrameFault::Malformed { length: line.len() })?;
    let short = FrameFault::TooShort { length: plain.len() };
    let (covered, check) = plain.split_last_chunk::<2>().ok_or(short)?;
    let [number, sequence, payload @ ..] = covered else { return Err(short) };
    let (said, found) = (u16::from_le_bytes(*check), crc16(covered));
    if said == found {
        Ok(Frame { number: *number, sequence: *sequence, payload: payload.to_vec() })
    } else {
        Err(FrameFault::Check { said, found })
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn heard(bytes: &[u8]) -> Vec<Result<Frame, FrameFault>> {
        let mut frames = Vec::new();
        Deframer::new().feed(bytes, |frame| frames.push(frame));
        frames
    }

    /// FACTS C30: the CRC catalogue's check values.
    #[test]
    fn the_crc_is_the_one_the_catalogue_calls_ibm_3740() {
        assert_eq!(crc16(b"123456789"), 0x29B1);
        assert_eq!(crc16(b""), 0xFFFF);
    }

    /// FACTS C31 (COBS draft and paper style), C32 (public example), C33 (Cheshire and Baker 1999,
    /// figure 3): the library we frame with.
    #[test]
    fn cobs_is_the_papers() {
        let pairs: [(&[u8], &[u8]); 9] = [
            (&[0], &[1, 1]),
            (&[0, 0], &[1, 1, 1]),
            (&[0, 0x11, 0], &[1, 2, 0x11, 1]),
            (&[0x11, 0x22, 0, 0x33], &[3, 0x11, 0x22, 2, 0x33]),
            (&[0x11, 0x22, 0x33, 0x44], &[5, 0x11, 0x22, 0x33, 0x44]),
            (&[0x11, 0, 0, 0], &[2, 0x11, 1, 1, 1]),
            (&[0xDE, 0xAD, 0xBE, 0xEF], &[5, 0xDE, 0xAD, 0xBE, 0xEF]),
            (&[0xDE, 0xAD, 0, 0xBE, 0xEF], &[3, 0xDE, 0xAD, 3, 0xBE, 0xEF]),
            (
                &[0x45, 0, 0, 0x2C, 0x4C, 0x79, 0, 0, 0x40, 6, 0x4F, 0x37],
                &[2, 0x45, 1, 4, 0x2C, 0x4C, 0x79, 1, 5, 0x40, 6, 0x4F, 0x37],
            ),
        ];
        for (plain, line) in pairs {
            assert_eq!(cobs::encode_vec(plain), line);
            assert_eq!(cobs::decode_vec(line).unwrap(), plain);
        }
    }

    /// FACTS C30 and C31 put together; the CRC is worked out here bit by bit, apart from the library.
    #[test]
    fn a_frame_is_number_sequence_payload_and_crc_low_byte_first() {
        fn by_hand(bytes: &[u8]) -> u16 {
            bytes.iter().fold(0xFFFF, |crc, &byte| {
                (0..8).fold(crc ^ (u16::from(byte) << 8), |crc, _| {
                    if crc & 0x8000 == 0 { crc << 1 } else { (crc << 1) ^ 0x1021 }
                })
            })
        }
        assert_eq!(by_hand(b"123456789"), 0x29B1);
        let line = encode_frame(0x01, 0x00, &[]).unwrap();
        let [low, high] = by_hand(&[1, 0]).to_le_bytes();
        assert_eq!(cobs::decode_vec(&line[..line.len() - 1]).unwrap(), [1, 0, low, high]);
        assert_eq!(line.last(), Some(&0));
        assert_eq!(line[..2], [2, 1]);
    }

    #[test]
    fn a_payload_too_long_is_refused_with_its_length() {
        assert_eq!(
            encode_frame(7, 0, &[0; 97]).unwrap_err().to_string(),
            "a message of 97 bytes does not fit a frame: 96 is the most. Send it in parts."
        );
        assert!(encode_frame(7, 0, &[0; 96]).is_ok());
    }

    #[test]
    fn a_broken_frame_says_why_and_the_next_one_is_heard() {
        let good = encode_frame(5, 9, &[1, 2, 3]).unwrap();
        let mut flipped = good.clone();
        flipped[2] ^= 0x40;
        let mut bytes = vec![0, 0];
        bytes.extend([7, 1, 0]); // a block that is cut
        bytes.extend(cobs::encode_vec(&[1, 2, 3]));
        bytes.push(0);
        bytes.extend(flipped);
        bytes.extend([0xAA; 300]);
        bytes.push(0);
        bytes.extend(&good);
        let heard = heard(&bytes);
        assert_eq!(heard[0], Err(FrameFault::Malformed { length: 2 }));
        assert_eq!(heard[1], Err(FrameFault::TooShort { length: 3 }));
        assert!(matches!(heard[2], Err(FrameFault::Check { .. })), "{:?}", heard[2]);
        assert_eq!(heard[3], Err(FrameFault::TooLong));
        assert_eq!(heard[4], Ok(Frame { number: 5, sequence: 9, payload: vec![1, 2, 3] }));
        assert_eq!(heard.len(), 5);
    }

    proptest! {
        #[test]
        fn a_frame_comes_back_however_it_is_cut(
            number: u8, sequence: u8,
            payload in proptest::collection::vec(any::<u8>(), 0..=PAYLOAD_MAX),
            cut in 1_usize..20,
        ) {
            let line = encode_frame(number, sequence, &payload).unwrap();
            prop_assert_eq!(line.iter().filter(|&&byte| byte == 0).count(), 1);
            let mut deframer = Deframer::new();
            let mut frames = Vec::new();
            for part in line.chunks(cut) {
                deframer.feed(part, |frame| frames.push(frame));
            }
            prop_assert_eq!(frames, vec![Ok(Frame { number, sequence, payload })]);
        }

        #[test]
        fn any_bytes_at_all_are_taken_and_little_is_kept(
            bytes in proptest::collection::vec(any::<u8>(), 0..2_000)
        ) {
            let mut deframer = Deframer::new();
            deframer.feed(&bytes, |frame| {
                if let Ok(frame) = frame {
                    assert!(frame.payload.len() <= PAYLOAD_MAX);
                }
            });
            prop_assert!(deframer.line.len() <= LINE_MAX);
        }

        #[test]
        fn one_flipped_bit_never_passes_as_a_frame(
            payload in proptest::collection::vec(any::<u8>(), 0..=PAYLOAD_MAX), at: prop::sample::Index, bit in 0..8
        ) {
            let mut line = encode_frame(6, 1, &payload).unwrap();
            let place = at.index(line.len());
            line[place] ^= 1_u8 << bit;
            line.push(0);
            for frame in heard(&line).into_iter().flatten() {
                prop_assert!(false, "passed: {frame:?}");
            }
        }
    }
}
