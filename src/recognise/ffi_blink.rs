//! The C side of the status LED's blinks, for the test that holds the words to it.
#![expect(unsafe_code, reason = "the box's own blinks are C")]

unsafe extern "C" {
    fn sw_blink_lit(state: u8, step: u8) -> u8;
}

/// Whether the LED is lit in a step of a state's pattern, 0 to 15.
pub(super) fn is_lit(state: u8, step: u8) -> bool {
    // SAFETY: takes and gives numbers.
    unsafe { sw_blink_lit(state, step) != 0 }
}

/// The states of `enum sw_blink` with their numbers, as its header has them.
pub(super) fn states() -> Vec<(String, u8)> {
    let header = include_str!("../../assets/firmware/core/blink.h");
    let line = |line: &str| {
        let (name, rest) = line.trim().split_once(" = ")?;
        let digits: String = rest.chars().take_while(char::is_ascii_digit).collect();
        Some((name.to_owned(), digits.parse().ok()?))
    };
    header.lines().filter_map(line).collect()
}
