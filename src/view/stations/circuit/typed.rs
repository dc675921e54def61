//! A number typed into a field of this station: ohms, volts, farads, per cent, degrees. What can't be
//! used stays typed and is said to be wrong, and the project keeps the whole number that was there.

use std::collections::BTreeMap;

use egui::Ui;

use crate::units::ohm_from_text;
use crate::view::widgets::field::Field;

/// What is typed, by the field's name.
pub(super) type Typed = BTreeMap<String, String>;

/// In what a number is typed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Unit {
    /// Ohms, with k and M.
    Ohm,
    /// Volts.
    Volt,
    /// Nanofarads; a p, n or µ behind the number says otherwise.
    Farad,
    /// Per cent of something.
    Percent,
    /// Degrees Celsius.
    Celsius,
    /// Per cent of 1 in a million and kelvin: ppm/K.
    PerMillion,
}

impl Unit {
    const fn sign(self) -> &'static str {
        match self {
            Self::Ohm => "Ω",
            Self::Volt => "V",
            Self::Farad => "nF",
            Self::Percent => "%",
            Self::Celsius => "°C",
            Self::PerMillion => "ppm/K",
        }
    }

    /// The number in SI units.
    fn read(self, text: &str) -> Option<f64> {
        match self {
            Self::Ohm => ohm_from_text(text),
            Self::Farad => {
                let plain = text.trim().trim_end_matches('F').trim_end().replace(',', ".");
                let (digits, power) = match plain.chars().last()? {
                    'p' => (plain.trim_end_matches('p'), -12),
                    'n' => (plain.trim_end_matches('n'), -9),
                    'u' | 'µ' | 'μ' => (plain.trim_end_matches(['u', 'µ', 'μ']), -6),
                    _ => (plain.as_str(), -9),
                };
                scaled(digits.trim(), power)
            }
            Self::Percent => scaled(&plain(text, "%"), -2),
            Self::PerMillion => scaled(&plain(text, "ppm/K"), -6),
            Self::Volt => scaled(&plain(text, "V"), 0),
            Self::Celsius => scaled(&plain(text, "°C"), 0),
        }
    }

    /// As short as it can be read back.
    fn write(self, value: f64) -> String {
        let in_unit = match self {
            Self::Ohm if value >= 10_000.0 && (value / 100.0).fract() == 0.0 => {
                return format!("{}k", value / 1e3);
            }
            Self::Ohm | Self::Volt | Self::Celsius => value,
            Self::Farad => round(value * 1e9),
            Self::Percent => round(value * 1e2),
            Self::PerMillion => round(value * 1e6),
        };
        in_unit.to_string().replace('-', "−")
    }
}

/// Nine digits: what a scaling by ten adds behind them isn't shown.
fn round(value: f64) -> f64 {
    format!("{value:.9e}").parse().unwrap_or(value)
}

fn plain(text: &str, unit: &str) -> String {
    text.trim().trim_end_matches(unit).trim_end().replace(',', ".").replace('−', "-")
}

/// Digits times a power of ten, read as one number so that no digit is lost.
fn scaled(digits: &str, power: i32) -> Option<f64> {
    let number = digits.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.' || byte == b'-');
    if !number || digits.is_empty() {
        return None;
    }
    format!("{digits}e{power}").parse().ok().filter(|value: &f64| value.is_finite())
}

/// What may be typed: the unit, the numbers, and what is said of others.
pub(super) type Allowed = (Unit, fn(f64) -> bool, &'static str);

/// A field for a number; gives it when it changed to one that may be, or to nothing.
pub(super) fn number_ui(
    ui: &mut Ui,
    typed: &mut Typed,
    name: &str,
    now: Option<f64>,
    width: f32,
    (unit, allowed, wanted): Allowed,
) -> Option<Option<f64>> {
    let shown = now.map(|value| unit.write(value)).unwrap_or_default();
    let id = ui.scope_id().with(("number", name));
    let had_focus = ui.data(|data| data.get_temp::<bool>(id)).unwrap_or(false);
    let text = typed.entry(name.to_owned()).or_insert_with(|| shown.clone());
    if !had_focus && *text != shown {
        text.clone_from(&shown);
    }
    let error = match unit.read(text) {
        None if text.trim().is_empty() => None,
        None => Some("Not a number. Type it like 1240, 14.9k or 4k7."),
        Some(number) => (!allowed(number)).then_some(wanted),
    };
    let response =
        Field::new(text, name).unit(unit.sign()).width(width).height(34.0).error(error).limit(20).show(ui);
    let has_focus = response.has_focus();
    let before_id = id.with("before");
    ui.data_mut(|data| {
        data.insert_temp(id, has_focus);
        if has_focus && !had_focus {
            data.insert_temp(before_id, now);
        }
    });
    let changed = response.changed();
    if let Some(error) = error.filter(|_| has_focus) {
        response.show_tooltip_text(error);
    }
    if !changed {
        return None;
    }
    if text.trim().is_empty() {
        return Some(None);
    }
    // What was there before stays when the whole that is typed can't be: not the part of it that could.
    let before = || ui.data(|data| data.get_temp::<Option<f64>>(before_id));
    unit.read(text).filter(|&number| allowed(number)).map(Some).or_else(before)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_read_in_their_unit_and_shown_as_short_as_they_can_be_read_back() {
        for (unit, text, value) in [
            (Unit::Ohm, "14.9k", 14_900.0),
            (Unit::Volt, "4,71 V", 4.71),
            (Unit::Farad, "10", 10e-9),
            (Unit::Farad, "100 nF", 100e-9),
            (Unit::Farad, "0.1µF", 0.1e-6),
            (Unit::Farad, "470p", 470e-12),
            (Unit::Percent, "1 %", 0.01),
            (Unit::Percent, "0.5", 0.005),
            (Unit::Celsius, "−40", -40.0),
            (Unit::Celsius, "85 °C", 85.0),
            (Unit::PerMillion, "200", 200e-6),
        ] {
            assert_eq!(unit.read(text), Some(value), "{text}");
            assert_eq!(unit.read(&unit.write(value)), Some(value), "{text} shown as {}", unit.write(value));
        }
        for (unit, text) in [
            (Unit::Volt, "x"),
            (Unit::Farad, "n"),
            (Unit::Percent, ""),
            (Unit::Celsius, "1e3"),
            (Unit::Volt, "1-2"),
        ] {
            assert_eq!(unit.read(text), None, "{text}");
        }
    }
}
