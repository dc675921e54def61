//! Shared quantities, and how a number is written with its unit. Knows no room.

mod preferred;
mod typed;

pub use preferred::Series;
pub use typed::ohm_from_text;

/// Steps of the converter's scale: a count is `1024 · V / V_ref` (ATmega328P datasheet, ADC
/// Conversion Result).
pub const SCALE_COUNT: f64 = 1024.0;

/// The highest reading a 10-bit converter can give; whatever is above it reads the same.
pub const TOP_COUNT: f64 = 1023.0;

/// The number of sense wires a wheel can have.
pub const WIRES: usize = 2;

/// The minus sign with the width of a digit, as B612 draws it.
const MINUS: char = '−';

/// Ohms as a person writes them: `87 Ω`, `2.09 kΩ`, `14.9 kΩ`, `open` where there is no path.
#[must_use]
pub fn ohm_text(ohm: f64) -> String {
    if ohm.is_nan() {
        "unknown".to_owned()
    } else if ohm.is_infinite() || ohm >= 1e9 {
        "open".to_owned()
    } else if ohm.abs() >= 1e6 {
        format!("{} MΩ", signed(ohm / 1e6, 2))
    } else if ohm.abs() >= 9_999.5 {
        format!("{} kΩ", signed(ohm / 1e3, 1))
    } else if ohm.abs() >= 999.5 {
        format!("{} kΩ", signed(ohm / 1e3, 2))
    } else if ohm.abs() >= 9.95 || ohm == 0.0 {
        format!("{} Ω", signed(ohm, 0))
    } else {
        format!("{} Ω", signed(ohm, 1))
    }
}

/// How many of something: `1 command`, `7 commands`.
#[must_use]
pub fn number_of(count: usize, what: &str) -> String {
    if count == 1 { format!("1 {what}") } else { format!("{count} {what}s") }
}

/// A count without its unit: `551`, or `551.3` with `decimals` of 1.
#[must_use]
pub fn count_text(count: f64, decimals: usize) -> String {
    if count.is_finite() { signed(count, decimals) } else { "no reading".to_owned() }
}

/// Volts with two decimals: `4.71 V`.
#[must_use]
pub fn volt_text(volt: f64) -> String {
    if volt.is_finite() { format!("{} V", signed(volt, 2)) } else { "no volts".to_owned() }
}

/// A current as a meter shows it: `0.45 mA`, `12.1 mA`, `80 µA`, `1.20 A`.
#[must_use]
pub fn amp_text(amp: f64) -> String {
    if !amp.is_finite() {
        "no current".to_owned()
    } else if amp.abs() >= 0.999_5 {
        format!("{} A", signed(amp, 2))
    } else if amp.abs() >= 9.995e-3 {
        format!("{} mA", signed(amp * 1e3, 1))
    } else if amp.abs() >= 0.999_5e-4 || amp == 0.0 {
        format!("{} mA", signed(amp * 1e3, 2))
    } else {
        format!("{} µA", signed(amp * 1e6, if amp.abs() >= 9.95e-6 { 0 } else { 1 }))
    }
}

/// A stretch of time: `0.30 s`, `12 s`, `6 min 12 s`, `1 h 02 min`.
#[must_use]
pub fn time_text(ms: f64) -> String {
    let s = (ms / 1e3).max(0.0);
    if !s.is_finite() {
        "no time".to_owned()
    } else if s < 9.995 {
        format!("{s:.2} s")
    } else if s < 59.5 {
        format!("{s:.0} s")
    } else if s < 3599.5 {
        let whole = s.round() as u64;
        format!("{} min {:02} s", whole / 60, whole % 60)
    } else {
        let minutes = (s / 60.0).round() as u64;
        format!("{} h {:02} min", minutes / 60, minutes % 60)
    }
}

/// A number with its sign drawn as the trade prints it, and no negative zero.
fn signed(value: f64, decimals: usize) -> String {
    let text = format!("{:.decimals$}", value.abs());
    let zero = text.bytes().all(|b| b == b'0' || b == b'.');
    if value < 0.0 && !zero { format!("{MINUS}{text}") } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ohms_are_written_as_on_a_meter() {
        let written: Vec<_> = [0.0, 6.04, 87.2, 999.6, 2_090.0, 14_900.0, 2.2e6, f64::INFINITY, f64::NAN]
            .iter()
            .map(|&ohm| ohm_text(ohm))
            .collect();
        assert_eq!(
            written,
            ["0 Ω", "6.0 Ω", "87 Ω", "1.00 kΩ", "2.09 kΩ", "14.9 kΩ", "2.20 MΩ", "open", "unknown"]
        );
    }

    #[test]
    fn currents_are_written_as_on_a_meter() {
        let written = [0.0, 3.2e-6, 80e-6, 452e-6, 4.97e-3, 12.1e-3, 1.2, f64::INFINITY].map(amp_text);
        assert_eq!(
            written,
            ["0.00 mA", "3.2 µA", "80 µA", "0.45 mA", "4.97 mA", "12.1 mA", "1.20 A", "no current"]
        );
    }

    #[test]
    fn times_change_unit_where_a_person_would() {
        let written: Vec<_> = [300.0, 12_000.0, 372_000.0, 3_720_000.0].map(time_text).to_vec();
        assert_eq!(written, ["0.30 s", "12 s", "6 min 12 s", "1 h 02 min"]);
    }

    #[test]
    fn a_negative_zero_is_just_zero() {
        assert_eq!(count_text(-0.2, 0), "0");
        assert_eq!(count_text(-74.0, 0), "−74");
    }
}
