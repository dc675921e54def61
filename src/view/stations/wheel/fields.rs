//! Fields of this station: text and numbers of the project, typed as people type them. What can't be used
//! stays typed, and what was there before stays in the project.

use egui::{Rect, Response, Sense, Ui, vec2};

use crate::app::edit;
use crate::project::Range;
use crate::view::stations::the_box::see;
use crate::view::theme::control;
use crate::view::widgets::field::Field;
use crate::wheel::wire_colours;

/// Text of fields that are being typed in, by the field's name.
#[derive(Debug, Default)]
pub(super) struct Typed(std::collections::BTreeMap<String, String>);

/// A field over a piece of text of the project: typed text that can't be used stays typed, and is
/// said to be wrong.
fn typed<'a>(draft: &'a mut Typed, name: &str, now: &str, has_focus: bool) -> &'a mut String {
    let text = draft.0.entry(name.to_owned()).or_insert_with(|| now.to_owned());
    if !has_focus && text != now {
        now.clone_into(text);
    }
    text
}

/// A text field; gives the text when it changed, and what it was before it was typed in.
pub(super) fn text_ui(
    ui: &mut Ui,
    draft: &mut Typed,
    name: &str,
    now: &str,
    width: f32,
    hint: &str,
) -> Option<(String, Option<String>)> {
    let id = ui.scope_id().with(("focus", name));
    let had_focus = ui.data(|data| data.get_temp::<bool>(id)).unwrap_or(false);
    let text = typed(draft, name, now, had_focus);
    let response = Field::new(text, name).hint(hint).width(width).limit(60).show(ui);
    let has_focus = response.has_focus();
    ui.data_mut(|data| data.insert_temp(id, has_focus));
    let before_id = id.with("before");
    if has_focus && !had_focus {
        ui.data_mut(|data| data.insert_temp(before_id, now.to_owned()));
    }
    response.changed().then(|| (text.clone(), ui.data(|data| data.get_temp(before_id))))
}

/// A unit, the numbers that can be typed in it, and what is said of others.
pub(super) type Allowed = (&'static str, fn(f64) -> bool, &'static str);

/// What a meter shows.
pub(super) const METER_OHM: Allowed =
    ("Ω", |ohm| (0.0..=edit::HIGHEST_OHM).contains(&ohm), "No meter shows this. Type 0 Ω to 10 MΩ.");
/// What a meter shows on volts.
pub(super) const CAR_V: Allowed = ("V", |volt| Range::JACK_V.holds(volt), "Type 0 V to 60 V.");

/// A field for the letters of a wire's colour; gives them when they changed to what IEC 60757 knows.
pub(super) fn colour_ui(ui: &mut Ui, draft: &mut Typed, name: &str, now: &str, width: f32) -> Option<String> {
    let id = ui.scope_id().with(("focus", name));
    let had_focus = ui.data(|data| data.get_temp::<bool>(id)).unwrap_or(false);
    let text = draft.0.entry(name.to_owned()).or_insert_with(|| now.to_owned());
    // What is no colour stays typed, and is told, until it is one.
    if !had_focus && wire_colours(text).is_ok() && text != now {
        now.clone_into(text);
    }
    let error = wire_colours(text).err().map(|error| error.to_string());
    let field = Field::new(text, name).hint("WHGN").width(width).error(error.as_deref()).limit(20);
    let response = field.show(ui);
    see(&response);
    let has_focus = response.has_focus();
    ui.data_mut(|data| data.insert_temp(id, has_focus));
    // The fault is that of the frame before; what was typed in this one is looked at anew.
    if let Some(error) = error.filter(|_| has_focus && !response.changed()) {
        response.show_tooltip_text(error);
    }
    (response.changed() && wire_colours(text).is_ok()).then(|| text.clone())
}

/// A field for ohms or volts at the layout's next place; gives the number when it changed to one, or to
/// nothing.
pub(super) fn number_ui(
    ui: &mut Ui,
    draft: &mut Typed,
    name: &str,
    now: Option<f64>,
    width: f32,
    allowed: Allowed,
) -> Option<Option<f64>> {
    let (rect, _) = ui.allocate_exact_size(vec2(width, control::USUAL), Sense::hover());
    number_at(ui, rect, draft, name, now, allowed).1
}

/// The same at a place of its own, with the field's answer.
pub(super) fn number_at(
    ui: &mut Ui,
    rect: Rect,
    draft: &mut Typed,
    name: &str,
    now: Option<f64>,
    (unit, allowed, wanted): Allowed,
) -> (Response, Option<Option<f64>>) {
    let shown = now.map(short_number).unwrap_or_default();
    let id = ui.scope_id().with(("focus", name));
    let had_focus = ui.data(|data| data.get_temp::<bool>(id)).unwrap_or(false);
    let text = typed(draft, name, &shown, had_focus);
    let error = match parse_number(text) {
        None if text.trim().is_empty() => None,
        None => Some("Not a number. Type it like 1240, 14.9k or 4.7k."),
        Some(number) => (!allowed(number)).then_some(wanted),
    };
    let response = Field::new(text, name).unit(unit).error(error).limit(20).show_at(ui, rect);
    see(&response);
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
        return (response, None);
    }
    if text.trim().is_empty() {
        return (response, Some(None));
    }
    // What was there before stays when the whole that is typed can't be: not the part of it that could.
    let before = || ui.data(|data| data.get_temp::<Option<f64>>(before_id));
    let number = parse_number(text).filter(|&number| allowed(number)).map(Some).or_else(before);
    (response, number)
}

/// `1240`, `14.9k`: as short as it can be without losing anything.
fn short_number(value: f64) -> String {
    if value >= 10_000.0 && (value / 100.0).fract() == 0.0 {
        format!("{}k", value / 1e3)
    } else {
        value.to_string()
    }
}

/// A number as typed: a comma for the point, `k` and `M` behind it.
fn parse_number(text: &str) -> Option<f64> {
    let text = text.trim().replace(',', ".");
    let text = text.trim_end_matches(['Ω', 'V', ' ']);
    let (digits, times) = match text.chars().last()? {
        'k' | 'K' => (&text[..text.len() - 1], 1e3),
        'M' => (&text[..text.len() - 1], 1e6),
        _ => (text, 1.0),
    };
    digits.trim().parse::<f64>().ok().map(|value| value * times).filter(|value| value.is_finite())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_read_as_people_type_them() {
        let read: Vec<_> = ["1240", "14.9k", "4,7k", " 82 Ω", "2M", "", "k", "abc", "1e999", "1e308k"]
            .map(parse_number)
            .to_vec();
        assert_eq!(
            read,
            [Some(1240.0), Some(14_900.0), Some(4700.0), Some(82.0), Some(2e6), None, None, None, None, None]
        );
    }

    #[test]
    fn a_number_is_shown_as_short_as_it_can_be_read_back() {
        for value in [82.0, 1240.0, 14_900.0, 9_999.5, 12_345.0] {
            assert_eq!(parse_number(&short_number(value)), Some(value));
        }
    }
}
