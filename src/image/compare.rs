//! What the box holds against what the project says, field by field, in words. Knows no bytes.

use super::codes::image_code;
use super::free::difference;
use super::make::called;
use super::model::{Built, Image, ImageBand, ImageCode, ImagePair, ReferenceUse, Row};
use crate::project::{Gesture, Project};
use crate::remote::describe;
use crate::units::count_text;

/// What stands where there is nothing.
const NONE: &str = "nothing";

/// Box against project, one row a field: the vehicle, the settings, each wire's rest, each button's
/// band, each pair, each code. `built` is the project's own image, `held` the box's.
///
/// The box keeps no names. Its commands are called after those of the project's whose code they have.
#[must_use]
pub fn compare(project: &Project, built: &Built, held: &Image) -> Vec<Row> {
    let mut rows = vec![vehicle(project, built, held)];
    rows.extend(settings(&built.image, held));
    rows.extend(rests(&built.image, held));
    rows.extend(bands(project, &built.image, held));
    rows.extend(pairs(project, &built.image, held));
    rows.extend(codes(project, &built.image, held));
    rows
}

fn row(what: impl Into<String>, project: String, held: String) -> Row {
    let same = project == held;
    Row { what: what.into(), project, held, same }
}

fn vehicle(project: &Project, built: &Built, held: &Image) -> Row {
    let or =
        |name: &str, unnamed: &str| if name.trim().is_empty() { unnamed.into() } else { name.to_owned() };
    let names = format!(
        "{}, {}",
        or(&project.vehicle.name, "a vehicle without a name"),
        or(&project.stereo.name, "a stereo without a name")
    );
    let other = if built.image.mark == held.mark {
        names.clone()
    } else {
        "another vehicle or stereo, or another name of them".to_owned()
    };
    row("Vehicle", names, other)
}

fn settings(ours: &Image, held: &Image) -> Vec<Row> {
    let both = |what: &str, text: &dyn Fn(&Image) -> String| row(what, text(ours), text(held));
    let ms = |ms: u16| format!("{ms} ms");
    let is_on = |on: bool| if on { "on" } else { "off" }.to_owned();
    let mut rows = vec![
        both("Reference", &|image| match image.reference {
            ReferenceUse::Supply => "the supply".to_owned(),
            ReferenceUse::Internal => "the chip's own".to_owned(),
            ReferenceUse::External => "external".to_owned(),
        }),
        both("Feed monitor", &|image| match image.feed_count {
            Some(count) => format!("{} at the nominal feed", counts(count)),
            None => "none".to_owned(),
        }),
        both("Dwell", &|image| ms(u16::from(image.dwell_ms))),
        both("Settle limit", &|image| counts(image.settle_count)),
        both("Hold", &|image| ms(image.hold_ms)),
        both("Double tap", &|image| ms(image.double_ms)),
        both("Roll-over", &|image| is_on(image.rollover)),
        both("Infrared LED", &|image| is_on(image.infrared)),
    ];
    if ours.free.is_some() || held.free.is_some() {
        // Its figures are too many for a row: the first that differs stands for them all.
        let text = |image: &Image| if image.free.is_some() { "one" } else { "none" }.to_owned();
        let differ =
            ours.free.as_ref().zip(held.free.as_ref()).and_then(|(ours, held)| difference(ours, held));
        rows.push(match differ {
            Some((ours, held)) => row("Free family", ours, held),
            None => both("Free family", &text),
        });
    }
    rows
}

/// `4 counts`, `963.76 counts`: as fine as the image keeps it.
fn counts(count: f64) -> String {
    let text = count_text(count, 2);
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "1" { "1 count".to_owned() } else { format!("{text} counts") }
}

fn band_text(band: ImageBand) -> String {
    if band.low > band.high { "takes nothing".to_owned() } else { format!("{} to {}", band.low, band.high) }
}

fn rests(ours: &Image, held: &Image) -> Vec<Row> {
    let wires = ours.rests.len().max(held.rests.len());
    let text = |image: &Image, wire: usize| image.rests.get(wire).map_or(NONE.to_owned(), |b| band_text(*b));
    (0..wires)
        .map(|wire| {
            let what = if wires == 1 { "Rest".to_owned() } else { format!("Rest of wire {}", wire + 1) };
            row(what, text(ours, wire), text(held, wire))
        })
        .collect()
}

/// A button's name by its number in the image.
fn button_name(project: &Project, index: usize) -> String {
    match project.wheel.buttons.get(index) {
        Some(button) => called(&button.name, &button.id.0).to_owned(),
        None => format!("Button {}", index + 1),
    }
}

fn bands(project: &Project, ours: &Image, held: &Image) -> Vec<Row> {
    let two = ours.rests.len().max(held.rests.len()) == 2;
    let text = |image: &Image, index: usize| match image.buttons.get(index) {
        None => NONE.to_owned(),
        Some(button) if two => format!("wire {}, {}", button.wire, band_text(button.band)),
        Some(button) => band_text(button.band),
    };
    (0..ours.buttons.len().max(held.buttons.len()))
        .map(|index| {
            let what = format!("{}, band", button_name(project, index));
            row(what, text(ours, index), text(held, index))
        })
        .collect()
}

/// What a code is called: the project's command that has it, else the code itself.
fn command_name(project: &Project, image: &Image, code: &ImageCode) -> String {
    let free = image.free.as_ref();
    let has_it = |ours: &&crate::project::Command| image_code(&ours.code, "", free).as_ref() == Ok(code);
    match project.stereo.commands.iter().find(has_it) {
        Some(command) => called(&command.name, &command.id.0).to_owned(),
        None => code_text(image, code),
    }
}

/// A code in words, numbers in hex.
fn code_text(image: &Image, code: &ImageCode) -> String {
    let known = code.code(image.free.as_ref());
    known.map_or_else(|| "a family this program does not know".to_owned(), |code| describe(&code))
}

fn pair_text(project: &Project, image: &Image, pair: &ImagePair) -> String {
    let code = image.commands.get(usize::from(pair.command)).map(|command| &command.code);
    let mut text = code.map_or_else(|| NONE.to_owned(), |code| command_name(project, image, code));
    if pair.repeats {
        text.push_str(", repeats");
    }
    if let Some(ms) = pair.every_ms {
        text.push_str(&format!(" every {ms} ms"));
    }
    text
}

fn pairs(project: &Project, ours: &Image, held: &Image) -> Vec<Row> {
    let find = |image: &'_ Image, button: usize, gesture: Gesture| {
        image.pairs.iter().find(|pair| usize::from(pair.button) == button && pair.gesture == gesture).copied()
    };
    let mut rows = Vec::new();
    for button in 0..ours.buttons.len().max(held.buttons.len()) {
        for (gesture, word) in
            [(Gesture::Tap, "tap"), (Gesture::Hold, "hold"), (Gesture::DoubleTap, "double tap")]
        {
            let (own, other) = (find(ours, button, gesture), find(held, button, gesture));
            if own.is_none() && other.is_none() {
                continue;
            }
            let text = |image: &Image, pair: Option<ImagePair>| {
                pair.map_or_else(|| NONE.to_owned(), |pair| pair_text(project, image, &pair))
            };
            let what = format!("{}, {word}", button_name(project, button));
            rows.push(row(what, text(ours, own), text(held, other)));
        }
    }
    rows
}

fn codes(project: &Project, ours: &Image, held: &Image) -> Vec<Row> {
    // Two free families are two, though address and command are the same.
    let holds = |image: &Image, other: &Image, code: &ImageCode| {
        let alike = !matches!(code, ImageCode::Free { .. }) || image.free == other.free;
        alike && image.commands.iter().any(|command| command.code == *code)
    };
    let mut rows: Vec<Row> = ours
        .commands
        .iter()
        .map(|command| {
            let text = code_text(ours, &command.code);
            let other = if holds(held, ours, &command.code) { text.clone() } else { NONE.to_owned() };
            row(format!("Code of {}", command_name(project, ours, &command.code)), text, other)
        })
        .collect();
    let others = held.commands.iter().filter(|command| !holds(ours, held, &command.code));
    rows.extend(others.map(|command| {
        let name = command_name(project, held, &command.code);
        let text = code_text(held, &command.code);
        let what = if name == text { "Another code".to_owned() } else { format!("Code of {name}") };
        row(what, NONE.to_owned(), text)
    }));
    rows
}
