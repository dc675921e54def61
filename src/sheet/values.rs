//! Values as they are printed beside a part: short, without the unit where the trade leaves it out.

/// A resistor's value: `82`, `1.0k`, `4.87k`, `10k`, `1.5M`; `?` where it isn't known.
pub(super) fn ohm(ohm: Option<f64>) -> String {
    match ohm {
        None => "?".to_owned(),
        Some(ohm) if ohm.is_infinite() => "open".to_owned(),
        Some(ohm) => scaled(ohm, &[(1e6, "M"), (1e3, "k"), (1.0, "")]),
    }
}

/// A resistor's value with its unit: `82 Ω`, `1.0 kΩ`.
pub(super) fn ohm_with_unit(value: Option<f64>) -> String {
    let text = ohm(value);
    match text.trim_end_matches(['k', 'M']) {
        figures if figures.len() < text.len() => format!("{figures} {}Ω", &text[figures.len()..]),
        figures if figures.ends_with(|last: char| last.is_ascii_digit()) => format!("{figures} Ω"),
        words => words.to_owned(),
    }
}

/// A capacitor's value: `10n`, `4.7µ`, `100p`.
pub(super) fn farad(farad: Option<f64>) -> String {
    farad.map_or_else(|| "?".to_owned(), |farad| scaled(farad, &[(1e-6, "µ"), (1e-9, "n"), (1e-12, "p")]))
}

/// A value that stands whole in its unit: `0.5 A`, `33 V`, `12.5 m`. One decimal below 100 where it has
/// one.
pub(super) fn short(value: f64, unit: &str) -> String {
    let rounded = if value.abs() >= 99.95 { value.round() } else { (value * 10.0).round() / 10.0 };
    format!("{rounded} {unit}")
}

/// Three figures at most, two at least behind a prefix, with the first unit that is reached.
fn scaled(value: f64, units: &[(f64, &str)]) -> String {
    // What rounds up to the next unit is written in it.
    let unit = units.iter().find(|(unit, _)| value >= unit * 0.999_5).or(units.last());
    let Some(&(unit, prefix)) = unit else { return value.to_string() };
    let value = value / unit;
    let decimals = match value {
        value if value >= 99.95 => 0,
        value if value >= 9.995 => 1,
        _ => 2,
    };
    let mut text = format!("{value:.decimals$}");
    let least = usize::from(!prefix.is_empty() && value < 9.995);
    while text.contains('.') && (text.ends_with('0') || text.ends_with('.')) {
        let after = text.len() - text.find('.').map_or(text.len(), |dot| dot + 1);
        if after == least && after > 0 {
            break;
        }
        text.pop();
    }
    text + prefix
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_are_written_as_on_a_drawing() {
        let written = [0.0, 0.5, 82.0, 390.5, 999.9, 1_000.0, 4_865.0, 10_000.0, 14_862.0, 47_000.0, 1.5e6]
            .map(|o| ohm(Some(o)));
        assert_eq!(
            written,
            ["0", "0.5", "82", "390", "1.0k", "1.0k", "4.87k", "10k", "14.9k", "47k", "1.5M"]
        );
        assert_eq!(ohm(None), "?");
        assert_eq!(
            [Some(82.0), Some(1e3), Some(3.216e5), Some(f64::INFINITY), None].map(ohm_with_unit),
            ["82 Ω", "1.0 kΩ", "322 kΩ", "open", "?"]
        );
        let shorts = [(0.5, "A"), (33.0, "V"), (12.46, "m"), (99.97, "V"), (133.3, "V"), (0.04, "A")];
        assert_eq!(
            shorts.map(|(value, unit)| short(value, unit)),
            ["0.5 A", "33 V", "12.5 m", "100 V", "133 V", "0 A"]
        );
        assert_eq!([10e-9, 4.7e-6, 100e-12, 100e-9].map(|f| farad(Some(f))), ["10n", "4.7µ", "100p", "100n"]);
    }
}
