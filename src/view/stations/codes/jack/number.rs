//! A reading as a person types it: `4.97`, `4,97`, `0.8 mA`, `800 µA`; and its field, which keeps what
//! can't be used until it can.

use egui::{Key, Response, Ui};

use crate::project::Range;
use crate::view::stations::the_box::see;
use crate::view::widgets::field::Field;

/// A field's text, what the project said when it was written, and before it was typed in.
#[derive(Debug, Default)]
pub(super) struct Typed {
    text: String,
    shown: String,
    before: Option<f64>,
    had_focus: bool,
}

/// What can be typed.
#[derive(Clone, Copy)]
pub(super) struct Quantity {
    /// What the field is called by screen readers.
    pub name: &'static str,
    /// The unit beside the field, and what one of it is in the project's.
    unit: (&'static str, f64),
    /// Units that may be typed, and what one of each is in the project's.
    units: &'static [(&'static str, f64)],
    range: Range,
    /// What is said of a number out of range, and of what is none.
    out_of_range: &'static str,
    no_number: &'static str,
}

const VOLTS: &[(&str, f64)] = &[("mV", 1e-3), ("V", 1.0)];
// The micro sign, the Greek letter, and what stands for both on a plain keyboard.
const AMPERES: &[(&str, f64)] = &[("mA", 1e-3), ("µA", 1e-6), ("μA", 1e-6), ("uA", 1e-6), ("A", 1.0)];

impl Quantity {
    /// Volts at the input.
    pub(super) const fn volts(name: &'static str) -> Self {
        Self {
            name,
            unit: ("V", 1.0),
            units: VOLTS,
            range: Range::JACK_V,
            out_of_range: "Type 0 V to 60 V.",
            no_number: "Not a number. Type it like 4.97, 4,97 or 4970 mV.",
        }
    }

    /// The current through the load.
    pub(super) const fn milliamperes(name: &'static str) -> Self {
        Self {
            name,
            unit: ("mA", 1e-3),
            units: AMPERES,
            range: Range::JACK_A,
            out_of_range: "Type 0 mA to 100 mA.",
            no_number: "Not a number. Type it like 0.8, 0,8 mA or 800 µA.",
        }
    }

    /// The number as typed, in volts or amperes; `None` for nothing.
    pub(super) fn read(&self, typed: &str) -> Result<Option<f64>, &'static str> {
        let typed: String = typed.chars().filter(|letter| !letter.is_whitespace()).collect();
        let typed = typed.replace(',', ".").replace('−', "-");
        if typed.is_empty() {
            return Ok(None);
        }
        let (digits, times) = self
            .units
            .iter()
            .find_map(|(unit, times)| Some((strip_unit(&typed, unit)?, *times)))
            .unwrap_or((&typed, self.unit.1));
        let is_plain = digits.bytes().all(|byte| byte.is_ascii_digit() || matches!(byte, b'.' | b'-' | b'+'));
        let number = digits.parse::<f64>().ok().filter(|_| is_plain).ok_or(self.no_number)?;
        // To a nano, so that 800 µA is 0.0008 A in the file too.
        let value = (number * times * 1e9).round() / 1e9;
        if value < 0.0 {
            return Err("Below 0: the leads are swapped. Swap them, or type it without its sign.");
        }
        if self.range.holds(value) { Ok(Some(value + 0.0)) } else { Err(self.out_of_range) }
    }

    /// The number as it stands in the field.
    fn written(&self, value: Option<f64>) -> String {
        let Some(value) = value else { return String::new() };
        let text = format!("{:.6}", value / self.unit.1);
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    }
}

/// What stands before a unit, whatever its letters' case.
fn strip_unit<'a>(typed: &'a str, unit: &str) -> Option<&'a str> {
    let at = typed.len().checked_sub(unit.len())?;
    let (digits, tail) = (typed.get(..at)?, typed.get(at..)?);
    tail.eq_ignore_ascii_case(unit).then_some(digits)
}

/// What came of showing a field.
pub(super) struct Answer {
    pub(super) response: Response,
    /// The number, when it changed to one, or to nothing.
    pub(super) changed: Option<Option<f64>>,
    /// Why what is typed can't be used.
    pub(super) fault: Option<&'static str>,
    /// Enter was pressed on something that can be used.
    pub(super) entered: bool,
}

/// Shows the field at the layout's next place.
pub(super) fn number_ui(
    ui: &mut Ui,
    typed: &mut Typed,
    quantity: &Quantity,
    now: Option<f64>,
    width: f32,
) -> Answer {
    let shown = quantity.written(now);
    let is_right = quantity.read(&typed.text).is_ok();
    // What can't be used stays typed, and is told, until the project says something else.
    if !typed.had_focus && (is_right || typed.shown != shown) {
        typed.text.clone_from(&shown);
    }
    typed.shown = shown;
    let fault = quantity.read(&typed.text).err();
    let field = Field::new(&mut typed.text, quantity.name).unit(quantity.unit.0).width(width);
    let response = field.error(fault).limit(16).show(ui);
    see(&response);
    if response.has_focus() && !typed.had_focus {
        typed.before = now;
    }
    let entered = response.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
    if entered && fault.is_some() {
        // Where something is wrong, one goes on typing.
        response.request_focus();
    }
    typed.had_focus = response.has_focus();
    // What was there before stays when the whole that is typed can't be: not the part of it that could.
    let changed = response.changed().then(|| quantity.read(&typed.text).unwrap_or(typed.before));
    Answer { response, changed, fault, entered: entered && fault.is_none() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn readings_are_taken_as_a_meter_or_a_person_writes_them() {
        let volts = Quantity::volts("volts");
        for typed in ["4.97", "4,97", " 4.97 V", "4,97v", "4970 mV", "+4.97"] {
            assert_eq!(volts.read(typed), Ok(Some(4.97)), "{typed}");
        }
        let current = Quantity::milliamperes("current");
        for typed in ["0.8", "0,8", "0.8 mA", "0,8ma", "800 µA", "800 μA", "800uA", "0.0008 A", ".8"] {
            assert_eq!(current.read(typed), Ok(Some(0.0008)), "{typed}");
        }
        assert_eq!(current.read("452 µA"), Ok(Some(0.000_452)));
        assert_eq!(volts.read("  "), Ok(None));
        assert_eq!(volts.read("-0"), Ok(Some(0.0)));
    }

    #[test]
    fn what_is_no_reading_says_how_to_type_one() {
        let volts = Quantity::volts("volts");
        for typed in ["five", "4.9.7", "1,234.5", "NaN", "inf", "1e3", "V", "4 mA", "4..", "µ"] {
            assert_eq!(
                volts.read(typed),
                Err("Not a number. Type it like 4.97, 4,97 or 4970 mV."),
                "{typed}"
            );
        }
        let swapped = Err("Below 0: the leads are swapped. Swap them, or type it without its sign.");
        assert_eq!((volts.read("-4.97"), volts.read("−4,97")), (swapped, swapped));
        assert_eq!(volts.read("61"), Err("Type 0 V to 60 V."));
        let current = Quantity::milliamperes("current");
        assert_eq!(current.read("452"), Err("Type 0 mA to 100 mA."));
        assert_eq!(current.read("5 V"), Err("Not a number. Type it like 0.8, 0,8 mA or 800 µA."));
    }

    #[test]
    fn a_number_is_written_in_the_unit_beside_its_field() {
        let current = Quantity::milliamperes("current");
        let written = [None, Some(0.0), Some(0.000_45), Some(0.012), Some(1e-7)].map(|a| current.written(a));
        assert_eq!(written, ["", "0", "0.45", "12", "0.0001"]);
        assert_eq!(Quantity::volts("volts").written(Some(4.97)), "4.97");
    }
}
