//! The firmware as it is kept: Intel HEX text (Intel HEX specification, revision A, 1988) to the bytes
//! of a flash from address 0 on.

use super::flash::FIRMWARE_MAX;

/// What is wrong with a line, or with the text as a whole.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("line {line}: {what}. Take a firmware file that came whole.")]
pub struct HexError {
    /// The line, from 1.
    pub line: usize,
    /// What is wrong there.
    pub what: HexFault,
}

/// What can be wrong.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum HexFault {
    /// It is no record.
    #[error("a record begins with a colon and holds pairs of hexadecimal digits")]
    NotARecord,
    /// It is cut or too long.
    #[error("it says {said} bytes and holds {found}")]
    Length {
        /// What it says.
        said: usize,
        /// What it holds.
        found: usize,
    },
    /// Its sum is not 0.
    #[error("its checksum is {said:02X} where {wanted:02X} fits")]
    Sum {
        /// What it says.
        said: u8,
        /// What fits.
        wanted: u8,
    },
    /// A kind of record that has no place here.
    #[error("a record of type {0:02X} has no place in this chip's firmware")]
    Kind(u8),
    /// It lies beyond the flash.
    #[error(
        "it ends at {end:#06X}, beyond the {FIRMWARE_MAX:#06X} that a program may take beside the bootloader"
    )]
    TooHigh {
        /// The address after its last byte.
        end: usize,
    },
    /// Bytes after the end.
    #[error("something follows the end record")]
    AfterEnd,
    /// No end.
    #[error("the end record is missing")]
    NoEnd,
    /// Nothing in it.
    #[error("it holds no program")]
    Empty,
}

/// A firmware's bytes from address 0 on; what no record names is 0xFF, as in an erased flash.
///
/// # Errors
/// With the line, where the text is not whole or the program does not fit.
pub fn firmware_bytes(text: &str) -> Result<Vec<u8>, HexError> {
    let mut bytes = Vec::new();
    let mut has_ended = false;
    let mut lines = 0;
    for (line, record) in (1..).zip(text.lines().map(str::trim)) {
        lines = line;
        let at = |what| HexError { line, what };
        if record.is_empty() {
            continue;
        }
        if has_ended {
            return Err(at(HexFault::AfterEnd));
        }
        let Record { address, kind, data } = Record::read(record).map_err(at)?;
        match kind {
            0x00 => {
                let start = usize::from(address);
                let end = start + data.len();
                if end > FIRMWARE_MAX {
                    return Err(at(HexFault::TooHigh { end }));
                }
                if bytes.len() < end {
                    bytes.resize(end, 0xFF);
                }
                bytes[start..end].copy_from_slice(&data);
            }
            0x01 => has_ended = true,
            // A segment or upper address of 0 changes nothing; a start address is no byte of the flash.
            0x02 | 0x04 if data.iter().all(|&byte| byte == 0) => {}
            0x03 | 0x05 => {}
            kind => return Err(at(HexFault::Kind(kind))),
        }
    }
    if !has_ended {
        return Err(HexError { line: lines.max(1), what: HexFault::NoEnd });
    }
    if bytes.is_empty() {
        return Err(HexError { line: lines, what: HexFault::Empty });
    }
    Ok(bytes)
}

#[derive(Debug, PartialEq, Eq)]
struct Record {
    address: u16,
    kind: u8,
    data: Vec<u8>,
}

impl Record {
    /// `:` length, address high byte first, type, data, checksum.
    fn read(line: &str) -> Result<Self, HexFault> {
        let digits = line.strip_prefix(':').ok_or(HexFault::NotARecord)?.as_bytes();
        let bytes: Option<Vec<u8>> = digits
            .chunks(2)
            .map(|pair| {
                let text = std::str::from_utf8(pair).ok().filter(|text| text.len() == 2)?;
                // from_str_radix would take a sign
                let is_hex = text.bytes().all(|digit| digit.is_ascii_hexdigit());
                is_hex.then(|| u8::from_str_radix(text, 16).ok())?
            })
            .collect();
        let bytes = bytes.ok_or(HexFault::NotARecord)?;
        let [length, high, low, kind, rest @ ..] = bytes.as_slice() else { return Err(HexFault::NotARecord) };
        let Some((&said, data)) = rest.split_last() else { return Err(HexFault::NotARecord) };
        if data.len() != usize::from(*length) {
            return Err(HexFault::Length { said: usize::from(*length), found: data.len() });
        }
        let sum = bytes[..bytes.len() - 1].iter().fold(0_u8, |sum, &byte| sum.wrapping_add(byte));
        let wanted = sum.wrapping_neg();
        if said != wanted {
            return Err(HexFault::Sum { said, wanted });
        }
        Ok(Self { address: u16::from_be_bytes([*high, *low]), kind: *kind, data: data.to_vec() })
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// FACTS C35: records that sum to 0 modulo 256.
    #[test]
    fn the_known_records_are_read() {
        assert_eq!(
            Record::read(":03012300010203D3"),
            Ok(Record { address: 0x0123, kind: 0, data: vec![1, 2, 3] })
        );
        let second = Record::read(":04FEDC00210080CFB2").unwrap();
        assert_eq!((second.address, second.data), (0xFEDC, vec![0x21, 0x00, 0x80, 0xCF]));
        let third = Record::read(":07002000DBFEDCFADDF62235").unwrap();
        assert_eq!((third.address, third.data.len()), (0x20, 7));
        let fourth = Record::read(":10E0000002E003E4F588758910F58DF58BD28E302A").unwrap();
        assert_eq!((fourth.address, fourth.data.len()), (0xE000, 16));
        assert_eq!(Record::read(":00000001FF"), Ok(Record { address: 0, kind: 1, data: vec![] }));
    }

    #[test]
    fn a_gap_is_erased_flash() {
        let bytes = firmware_bytes(":0100000011EE\r\n:0100030022DA\n:00000001FF\n\n").unwrap();
        assert_eq!(bytes, [0x11, 0xFF, 0xFF, 0x22]);
    }

    #[test]
    fn what_is_wrong_is_said_with_its_line() {
        let cases = [
            ("", "line 1: the end record is missing"),
            (":0100000011EE\n", "line 1: the end record is missing"),
            (":00000001FF\n", "line 1: it holds no program"),
            (":0100000011EF\n:00000001FF\n", "line 1: its checksum is EF where EE fits"),
            (":0100000011EE\n:0200000011ED\n", "line 2: it says 2 bytes and holds 1"),
            ("hello\n", "line 1: a record begins with a colon and holds pairs of hexadecimal digits"),
            (":01000000+1EE\n", "line 1: a record begins with a colon and holds pairs of hexadecimal digits"),
            (":01µ\n", "line 1: a record begins with a colon and holds pairs of hexadecimal digits"),
            (":020000021000EC\n", "line 1: a record of type 02 has no place in this chip's firmware"),
            (":00000001FF\n:0100000011EE\n", "line 2: something follows the end record"),
            (
                ":04FEDC00210080CFB2\n",
                "line 1: it ends at 0xFEE0, beyond the 0x7800 that a program may take beside the bootloader",
            ),
        ];
        for (text, words) in cases {
            let said = firmware_bytes(text).unwrap_err().to_string();
            assert_eq!(said, format!("{words}. Take a firmware file that came whole."), "{text:?}");
        }
    }

    proptest! {
        #[test]
        fn any_text_is_taken(text in ".{0,200}") {
            let _ = firmware_bytes(&text);
            let _ = firmware_bytes(&format!(":{text}"));
        }

        #[test]
        fn what_is_written_in_records_comes_back(bytes in proptest::collection::vec(any::<u8>(), 1..2_000)) {
            prop_assert_eq!(firmware_bytes(&written(&bytes)).unwrap(), bytes);
        }
    }

    fn written(bytes: &[u8]) -> String {
        let mut text = String::new();
        for (number, data) in bytes.chunks(16).enumerate() {
            let [high, low] = ((number * 16) as u16).to_be_bytes();
            let mut record = vec![data.len() as u8, high, low, 0];
            record.extend(data);
            record.push(record.iter().fold(0_u8, |sum, &byte| sum.wrapping_add(byte)).wrapping_neg());
            let digits: String = record.iter().map(|byte| format!("{byte:02X}")).collect();
            text += &format!(":{digits}\n");
        }
        text + ":00000001FF\n"
    }
}
