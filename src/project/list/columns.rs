//! The columns of a CSV list: what each is called, and a code from and to its fields. Knows no rows.

use std::fmt::Write as _;

use super::quoted;
use crate::remote::{self, Code, FamilyId, FreeFamily, FreeRepeat, Origin, RawError, raw_from_text};

/// Every column a list can have, in the order they are written. The last is a word: of a row that is cut
/// off anywhere, something is missed.
pub(super) const COLUMNS: [&str; 19] = [
    "name",
    "family",
    "address",
    "command",
    "pulses_us",
    "repeat_ms",
    "repeat",
    "leader_us",
    "zero_us",
    "one_us",
    "stop_mark",
    "high_first",
    "address_bits",
    "address_inverse",
    "command_bits",
    "command_inverse",
    "carrier_khz",
    "origin",
    "tried",
];

/// The columns every command fills.
pub(super) const OF_ALL: [&str; 6] = ["name", "family", "address", "command", "origin", "tried"];
/// The columns of raw codes.
pub(super) const OF_RAW: [&str; 2] = ["pulses_us", "repeat_ms"];
/// The columns of free families: all from here on but the raw codes' own.
pub(super) const OF_FREE: [&str; 12] = [
    "repeat_ms",
    "repeat",
    "leader_us",
    "zero_us",
    "one_us",
    "stop_mark",
    "high_first",
    "address_bits",
    "address_inverse",
    "command_bits",
    "command_inverse",
    "carrier_khz",
];

/// What stands in the family's column where no family of the table is meant.
const RAW: &str = "raw";
const FREE: &str = "free";

const REPEATS: [(&str, FreeRepeat); 4] = [
    ("whole_frame", FreeRepeat::WholeFrame),
    ("without_leader", FreeRepeat::WithoutLeader),
    ("short_frame", FreeRepeat::ShortFrame),
    ("once", FreeRepeat::Once),
];

const ORIGINS: [(&str, Origin); 3] =
    [("typed", Origin::Typed), ("captured", Origin::Captured), ("swept", Origin::Swept)];

/// A row's fields by column.
pub(super) trait Row {
    /// What stands in this column, without blanks around it; empty where nothing does.
    fn field(&self, column: &str) -> &str;
}

/// The code of a row.
pub(super) fn code(row: &impl Row) -> Result<Code, String> {
    match row.field("family").to_ascii_lowercase().as_str() {
        "" => {
            let ids: Vec<_> = remote::families().iter().map(|family| family.id).collect();
            Err(format!("There is no family. Write {}, {FREE} or {RAW}.", ids.join(", ")))
        }
        RAW => {
            none_but(row, RAW, &OF_RAW)?;
            raw(row)
        }
        FREE => {
            none_but(row, FREE, &[&["address", "command"][..], &OF_FREE].concat())?;
            free(row)
        }
        family => {
            none_but(row, family, &["address", "command"])?;
            Ok(Code::Family {
                family: FamilyId(family.to_owned()),
                address: number(row, "address")?,
                command: number(row, "command")?,
            })
        }
    }
}

/// Where the code came from; typed where nothing says.
pub(super) fn origin(row: &impl Row) -> Result<Origin, String> {
    match row.field("origin") {
        "" => Ok(Origin::Typed),
        _ => one_of(row, "origin", &ORIGINS),
    }
}

/// Whether the stereo was seen to obey; no where nothing says.
pub(super) fn tried(row: &impl Row) -> Result<bool, String> {
    if row.field("tried").is_empty() { Ok(false) } else { yes(row, "tried") }
}

/// What is written in a column for a code, and where it came from.
pub(super) fn text(column: &str, name: &str, code: &Code, origin: Origin, tried: bool) -> String {
    let yes_no = |yes| if yes { "yes".to_owned() } else { "no".to_owned() };
    match column {
        "name" => return name.to_owned(),
        "origin" => return word(&ORIGINS, &origin),
        "tried" => return yes_no(tried),
        _ => {}
    }
    match code {
        Code::Family { family, address, command } => {
            let digits = remote::family(family)
                .map_or((2, 2), |family| (family.address_digits(), family.command_digits()));
            match column {
                "family" => family.0.clone(),
                "address" => hex(*address, digits.0),
                "command" => hex(*command, digits.1),
                _ => String::new(),
            }
        }
        Code::Raw { pulses_us, repeat_us } => match column {
            "family" => RAW.to_owned(),
            "pulses_us" => spaced(pulses_us),
            "repeat_ms" => repeat_us.map_or_else(String::new, ms_text),
            _ => String::new(),
        },
        Code::Free { free, address, command } => match column {
            "family" => FREE.to_owned(),
            "address" => hex(*address, 2),
            "command" => hex(*command, 2),
            "repeat_ms" => ms_text(free.period_us),
            "repeat" => word(&REPEATS, &free.repeat),
            "leader_us" => free.leader_us.map_or_else(String::new, |(mark, space)| spaced(&[mark, space])),
            "zero_us" => spaced(&[free.zero_us.0, free.zero_us.1]),
            "one_us" => spaced(&[free.one_us.0, free.one_us.1]),
            "stop_mark" => yes_no(free.stop_mark),
            "high_first" => yes_no(free.high_first),
            "address_bits" => free.address_bits.to_string(),
            "address_inverse" => yes_no(free.address_inverse),
            "command_bits" => free.command_bits.to_string(),
            "command_inverse" => yes_no(free.command_inverse),
            "carrier_khz" => free.carrier_khz.to_string(),
            _ => String::new(),
        },
    }
}

fn raw(row: &impl Row) -> Result<Code, String> {
    let timings = blanks_only(row, "pulses_us")?;
    let count = timings.split_whitespace().count();
    let Code::Raw { pulses_us, .. } = raw_from_text(timings).map_err(|error| error.to_string())? else {
        return Err("pulses_us holds no timings. Give marks and spaces in microseconds.".to_owned());
    };
    // A space at the end is left out where timings are typed; a list leaves nothing out unsaid.
    if pulses_us.len() != count {
        return Err(RawError::EndsWithSpace { count }.to_string());
    }
    let repeat_us = match row.field("repeat_ms") {
        "" => None,
        _ => Some(us_of_ms(row, "repeat_ms")?),
    };
    Ok(Code::Raw { pulses_us, repeat_us })
}

fn free(row: &impl Row) -> Result<Code, String> {
    let leader_us = match row.field("leader_us") {
        "" => None,
        _ => Some(mark_space(row, "leader_us")?),
    };
    let free = FreeFamily {
        leader_us,
        zero_us: mark_space(row, "zero_us")?,
        one_us: mark_space(row, "one_us")?,
        stop_mark: yes(row, "stop_mark")?,
        high_first: yes(row, "high_first")?,
        address_bits: byte(row, "address_bits")?,
        address_inverse: yes(row, "address_inverse")?,
        command_bits: byte(row, "command_bits")?,
        command_inverse: yes(row, "command_inverse")?,
        repeat: one_of(row, "repeat", &REPEATS)?,
        period_us: us_of_ms(row, "repeat_ms")?,
        carrier_khz: byte(row, "carrier_khz")?,
    };
    Ok(Code::Free { free, address: number(row, "address")?, command: number(row, "command")? })
}

/// Refuses what stands in a column that a code of this kind doesn't have: it would be lost.
fn none_but(row: &impl Row, family: &str, own: &[&str]) -> Result<(), String> {
    let stray = COLUMNS.iter().find(|column| {
        !["name", "family", "origin", "tried"].contains(*column)
            && !own.contains(*column)
            && !row.field(column).is_empty()
    });
    match stray {
        Some(column) => Err(format!(
            "{column} is {}, and a code of the family {} has none. Leave it empty, or correct the family.",
            quoted(row.field(column)),
            quoted(family)
        )),
        None => Ok(()),
    }
}

/// A field that has to be there.
fn needed<'a>(row: &'a impl Row, column: &str, wanted: &str) -> Result<&'a str, String> {
    match row.field(column) {
        "" => Err(format!("There is no {column}. Write {wanted}.")),
        text => Ok(text),
    }
}

/// A whole number: decimal, or hex with 0x in front.
fn number(row: &impl Row, column: &str) -> Result<u32, String> {
    const WANTED: &str = "a whole number, decimal like 89 or hex like 0x59";
    let text = needed(row, column, WANTED)?;
    let hex = text.strip_prefix("0x").or_else(|| text.strip_prefix("0X"));
    let (digits, base) = hex.map_or((text, 10), |digits| (digits, 16));
    let plain = digits.chars().all(|digit| digit.is_digit(base)) && !digits.is_empty();
    match u64::from_str_radix(digits, base).map(u32::try_from) {
        Ok(Ok(number)) if plain => Ok(number),
        _ if plain => Err(format!("{column} is {}, beyond 4294967295. Check its digits.", quoted(text))),
        _ if hex.is_none() && text.chars().all(|digit| digit.is_ascii_hexdigit()) => {
            Err(format!("{column} is {}, no decimal number. If it is hex, write 0x{text}.", quoted(text)))
        }
        _ => Err(format!("{column} is {}. Write {WANTED}.", quoted(text))),
    }
}

fn byte(row: &impl Row, column: &str) -> Result<u8, String> {
    let number = number(row, column)?;
    u8::try_from(number).map_err(|_| format!("{column} is {number}, beyond 255. Check it."))
}

fn yes(row: &impl Row, column: &str) -> Result<bool, String> {
    const WORDS: [(&str, bool); 6] =
        [("yes", true), ("no", false), ("true", true), ("false", false), ("1", true), ("0", false)];
    let text = needed(row, column, "yes or no")?;
    let found = WORDS.iter().find(|(word, _)| text.eq_ignore_ascii_case(word));
    found.map(|(_, yes)| *yes).ok_or_else(|| format!("{column} is {}. Write yes or no.", quoted(text)))
}

fn one_of<T: Copy>(row: &impl Row, column: &str, words: &[(&str, T)]) -> Result<T, String> {
    let known: Vec<_> = words.iter().map(|(word, _)| *word).collect();
    let wanted = known.join(" or ");
    let text = needed(row, column, &wanted)?;
    let found = words.iter().find(|(word, _)| text.eq_ignore_ascii_case(word));
    found.map(|(_, value)| *value).ok_or_else(|| format!("{column} is {}. Write {wanted}.", quoted(text)))
}

/// Timings parted by blanks. A comma could part them, or stand for the point of a fraction.
fn blanks_only<'a>(row: &'a impl Row, column: &str) -> Result<&'a str, String> {
    let text = needed(row, column, "marks and spaces in microseconds, like 9000 4500 562.5")?;
    if text.contains([',', ';']) {
        return Err(format!(
            "{column} is {}. Part timings by blanks, and write fractions with a point, like 9000 4500 562.5.",
            quoted(text)
        ));
    }
    Ok(text)
}

/// A mark and a space in microseconds.
fn mark_space(row: &impl Row, column: &str) -> Result<(f64, f64), String> {
    let text = blanks_only(row, column)?;
    let read: Option<Vec<f64>> = text.split_whitespace().map(decimal).collect();
    match read.as_deref() {
        Some(&[mark, space]) => Ok((mark, space)),
        _ => Err(format!(
            "{column} is {}. Write a mark and a space in microseconds, like 9000 4500.",
            quoted(text)
        )),
    }
}

/// A plain decimal number: no sign, no exponent, no word.
fn decimal(text: &str) -> Option<f64> {
    let plain = text.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.');
    text.parse().ok().filter(|value: &f64| plain && value.is_finite())
}

/// Milliseconds as microseconds, to the last bit: the point is moved in the text, not by computing.
fn us_of_ms(row: &impl Row, column: &str) -> Result<f64, String> {
    let text = needed(row, column, "milliseconds, like 108")?;
    decimal(text)
        .and_then(|_| format!("{text}e3").parse().ok())
        .filter(|us: &f64| us.is_finite())
        .ok_or_else(|| format!("{column} is {}. Write milliseconds, like 108 or 113.778.", quoted(text)))
}

/// Microseconds as milliseconds, to the last bit.
fn ms_text(us: f64) -> String {
    let text = us.to_string();
    let (whole, part) = text.split_once('.').unwrap_or((&text, ""));
    let whole = format!("{whole:0>4}");
    let (ms, rest) = whole.split_at(whole.len() - 3);
    let digits = format!("{rest}{part}");
    match digits.trim_end_matches('0') {
        "" => ms.to_owned(),
        digits => format!("{ms}.{digits}"),
    }
}

fn hex(number: u32, digits: usize) -> String {
    format!("0x{number:0digits$X}")
}

fn spaced(timings_us: &[f64]) -> String {
    let mut text = String::new();
    for (at, us) in timings_us.iter().enumerate() {
        let blank = if at == 0 { "" } else { " " };
        // Writing into a String can't fail.
        let _ = write!(text, "{blank}{us}");
    }
    text
}

fn word<T: PartialEq>(words: &[(&str, T)], value: &T) -> String {
    words.iter().find(|(_, there)| there == value).map_or_else(String::new, |(word, _)| (*word).to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    struct Ms(String);
    impl Row for Ms {
        fn field(&self, _: &str) -> &str {
            &self.0
        }
    }

    #[test]
    fn microseconds_become_milliseconds_and_come_back_to_the_last_bit() {
        for (us, ms) in
            [(108_000.0, "108"), (113_778.0, "113.778"), (5.0, "0.005"), (0.5, "0.0005"), (1e7, "10000")]
        {
            assert_eq!(ms_text(us), ms);
        }
        for us in [106_666.666_666_666_67, 0.1 + 0.2, 1e6 / 3.0, 123_456.789_012_345] {
            assert_eq!(us_of_ms(&Ms(ms_text(us)), "repeat_ms"), Ok(us), "{}", ms_text(us));
        }
    }
}
