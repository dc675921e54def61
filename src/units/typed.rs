//! A resistance as a person types it. Knows no range: what may be is for whoever asks.

/// Ohms as typed: `470`, `4.7k`, `4,7 kΩ`, `1M`, and by the letter code of IEC 60062 `4k7`, `4R7`.
/// `None` for anything else, and for what is no finite number.
#[must_use]
pub fn ohm_from_text(text: &str) -> Option<f64> {
    let plain: String = text.chars().filter(|letter| !letter.is_whitespace()).collect();
    let plain = plain.trim_end_matches(['Ω', 'Ω']).replace(',', ".");
    let letter = plain.char_indices().find(|(_, letter)| matches!(letter, 'R' | 'r' | 'k' | 'K' | 'M'));
    let (digits, times) = match letter {
        None => (plain, 1.0),
        Some((at, letter)) => {
            let times = match letter {
                'k' | 'K' => 1e3,
                'M' => 1e6,
                _ => 1.0,
            };
            let (whole, rest) = (&plain[..at], &plain[at + letter.len_utf8()..]);
            match (whole.contains('.'), rest.is_empty()) {
                (_, true) => (whole.to_owned(), times),
                (true, false) => return None,
                (false, false) => (format!("{whole}.{rest}"), times),
            }
        }
    };
    if !digits.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.') {
        return None;
    }
    // A decimal shifted in text, not multiplied: 4.7k is 4700 to the last bit.
    let value: f64 = digits.parse().ok()?;
    let ohm = if times == 1.0 {
        value
    } else {
        format!("{digits}e{}", if times == 1e3 { 3 } else { 6 }).parse().ok()?
    };
    ohm.is_finite().then_some(ohm)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The letter code is that of IEC 60062 (from memory): the letter stands for the point.
    #[test]
    fn resistances_are_read_as_people_type_them() {
        for (text, ohm) in [
            ("470", 470.0),
            ("4.7k", 4_700.0),
            ("4,7 kΩ", 4_700.0),
            ("4k7", 4_700.0),
            ("1M", 1e6),
            ("1M2", 1_200_000.0),
            ("4R7", 4.7),
            ("100R", 100.0),
            (" 82 Ω", 82.0),
            ("1.13k", 1_130.0),
        ] {
            assert_eq!(ohm_from_text(text), Some(ohm), "{text}");
        }
        for text in ["", "k", "abc", "-5", "1.2k3", "1e9", "inf", "NaN", "4k7k", "1..2", "4 7k8 M"] {
            assert_eq!(ohm_from_text(text), None, "{text}");
        }
        let long = format!("{}k", "9".repeat(400));
        assert_eq!(ohm_from_text(&long), None);
    }
}
