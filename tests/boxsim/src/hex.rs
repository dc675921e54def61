//! Intel HEX to bytes from address 0 on; what is not written is FF, as in an erased chip.

/// Reads the records of a file as avr-objcopy writes it.
///
/// # Panics
/// If a record is broken: a test has nothing to run then.
#[must_use]
pub fn parse_hex(text: &str) -> Vec<u8> {
    let mut bytes = Vec::new();
    for line in text.lines().filter(|line| !line.trim().is_empty()) {
        let digits = line.trim().strip_prefix(':').unwrap_or_else(|| panic!("no record: {line}"));
        let record: Vec<u8> = (0..digits.len() / 2)
            .map(|at| {
                u8::from_str_radix(&digits[2 * at..2 * at + 2], 16).unwrap_or_else(|_| panic!("{line}"))
            })
            .collect();
        assert_eq!(record.iter().fold(0_u8, |sum, byte| sum.wrapping_add(*byte)), 0, "checksum of {line}");
        if record[3] == 0 {
            let from = usize::from(record[1]) << 8 | usize::from(record[2]);
            let data = &record[4..4 + usize::from(record[0])];
            if bytes.len() < from + data.len() {
                bytes.resize(from + data.len(), 0xFF);
            }
            bytes[from..from + data.len()].copy_from_slice(data);
        }
    }
    bytes
}
