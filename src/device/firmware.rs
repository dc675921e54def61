//! The box's program as it is kept beside its sources, built into this one: nobody needs a compiler to
//! fill a board.

use super::hex::{HexError, firmware_bytes};

/// The kept image, Intel HEX.
const BOX_HEX: &str = include_str!("../../assets/firmware/box.hex");

/// The firmware that comes with this program: the bytes from address 0 on, for
/// [`super::BoxRequest::Flash`].
///
/// # Errors
/// Where the kept file is not whole; a test holds that it is.
pub fn firmware() -> Result<Vec<u8>, HexError> {
    firmware_bytes(BOX_HEX)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::device::FIRMWARE_MAX;

    #[test]
    fn the_kept_firmware_is_whole_and_fits_beside_a_bootloader() {
        let bytes = firmware().unwrap();
        assert!(bytes.len() <= FIRMWARE_MAX, "{} bytes", bytes.len());
        // Every one of the ATmega328P's 26 vectors is four bytes (datasheet 8161D, table 11-6) and
        // begins with a jump (AVR instruction set: JMP is 1001 010k kkkk 110k, RJMP 1100 kkkk …).
        for vector in bytes[..26 * 4].chunks(4) {
            let word = u16::from_le_bytes([vector[0], vector[1]]);
            assert!(word & 0xFE0E == 0x940C || word & 0xF000 == 0xC000, "{vector:02X?}");
        }
    }
}
