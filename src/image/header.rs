//! The image as a C header, for people who write a firmware of their own. Knows no bytes.
//!
//! It needs nothing but `<stdint.h>`, and compiles as C99 with every warning on. Names come from the
//! project's ids; what a person typed stands in comments alone.

use std::fmt::Write as _;

use super::make::called;
use super::model::{Built, ImageBand};
use crate::project::{Command, Gesture, Project};
use crate::remote::{Code, Frame, describe, encode, family};

/// Timings on one line of a table.
const PER_LINE: usize = 12;

/// Bands, dwell, pairs and pulse tables of a project as a C header.
#[must_use]
pub fn header(project: &Project, built: &Built) -> String {
    let mut text = String::new();
    opening(project, built, &mut text);
    settings(built, &mut text);
    buttons(project, built, &mut text);
    commands(project, built, &mut text);
    pairs(project, built, &mut text);
    text.push_str("#endif\n");
    text
}

/// Adds a line. Writing into a String can't fail.
macro_rules! line {
    ($text:expr, $($arguments:tt)*) => {{
        let _ = writeln!($text, $($arguments)*);
    }};
}

fn opening(project: &Project, built: &Built, text: &mut String) {
    line!(text, "/* {} and {}.", comment(&project.vehicle.name), comment(&project.stereo.name));
    line!(text, " * Written by Spokewire from a project; write it again rather than changing it here.");
    line!(text, " *");
    line!(text, " * A count is a 10-bit reading, 0 to 1023 (1024 * volts / reference volts). A button is");
    line!(text, " * pressed once its band has held for the dwell, and the readings of that dwell span no");
    line!(text, " * more than the settle limit. A reading in no band is nothing, never the nearest. After");
    line!(text, " * a press only rest makes ready for the next. Timings are microseconds: mark, space,");
    line!(text, " * mark, and so on; a mark pulls the line low. */");
    line!(text, "#ifndef SPOKEWIRE_PROJECT_H\n#define SPOKEWIRE_PROJECT_H\n\n#include <stdint.h>\n");
    if let Some(count) = built.image.feed_count {
        line!(text, "/* The bands are for the nominal feed, where the feed monitor reads this many counts:");
        line!(text, " * multiply a reading by it and divide by what the monitor reads. */");
        line!(text, "#define SPOKEWIRE_FEED_COUNT {count:.0}u\n");
    }
}

fn settings(built: &Built, text: &mut String) {
    let image = &built.image;
    line!(
        text,
        "#define SPOKEWIRE_DWELL_MS {}u        /* readings 1 ms apart, all in one band */",
        image.dwell_ms
    );
    line!(
        text,
        "#define SPOKEWIRE_SETTLE_COUNT {}u    /* counts, from the lowest of them to the highest */",
        image.settle_count.floor()
    );
    line!(text, "#define SPOKEWIRE_HOLD_MS {}u        /* from recognition to a hold */", image.hold_ms);
    line!(text, "#define SPOKEWIRE_DOUBLE_TAP_MS {}u  /* at most, between the two taps */", image.double_ms);
    line!(
        text,
        "#define SPOKEWIRE_ROLL_OVER {}        /* 1: the next button needs no rest before it */\n",
        u8::from(image.rollover)
    );
    line!(text, "/* Counts taken, both ends among them. low above high takes nothing. */");
    line!(
        text,
        "struct spokewire_band {{\n    uint16_t low;\n    uint16_t high;\n    uint8_t wire; /* 1 or 2 */\n}};\n"
    );
    line!(text, "/* What each wire reads with no button pressed. */");
    line!(text, "#define SPOKEWIRE_WIRES {}", image.rests.len());
    line!(text, "static const struct spokewire_band spokewire_rests[SPOKEWIRE_WIRES] = {{");
    for (index, rest) in image.rests.iter().enumerate() {
        line!(text, "    {},", band(*rest, index + 1));
    }
    line!(text, "}};\n");
}

fn band(band: ImageBand, wire: usize) -> String {
    format!("{{ {}u, {}u, {wire}u }}", band.low, band.high)
}

fn buttons(project: &Project, built: &Built, text: &mut String) {
    line!(text, "#define SPOKEWIRE_BUTTONS {}", built.buttons.len());
    for (index, id) in built.buttons.iter().enumerate() {
        line!(text, "#define SPOKEWIRE_BUTTON_{} {index}", id.0.to_ascii_uppercase());
    }
    line!(text, "");
    if built.image.buttons.is_empty() {
        return;
    }
    line!(text, "static const struct spokewire_band spokewire_buttons[SPOKEWIRE_BUTTONS] = {{");
    for (button, id) in built.image.buttons.iter().zip(&built.buttons) {
        let name = project.button(id).map_or(id.0.as_str(), |(_, button)| called(&button.name, &id.0));
        line!(text, "    {}, /* {} */", band(button.band, usize::from(button.wire)), comment(name));
    }
    line!(text, "}};\n");
}

/// A command with its frames.
struct Sent<'a> {
    command: &'a Command,
    frame: Frame,
    /// With the toggle bit set, for families that have one.
    toggled: Option<Frame>,
}

fn commands(project: &Project, built: &Built, text: &mut String) {
    let sent: Vec<Sent<'_>> = built.commands.iter().filter_map(|id| sent(project.command(id)?)).collect();
    line!(text, "#define SPOKEWIRE_COMMANDS {}", sent.len());
    for (index, Sent { command, .. }) in sent.iter().enumerate() {
        line!(text, "#define SPOKEWIRE_COMMAND_{} {index}", command.id.0.to_ascii_uppercase());
    }
    line!(text, "");
    if sent.is_empty() {
        return;
    }
    for Sent { command, frame, toggled } in &sent {
        let name = called(&command.name, &command.id.0);
        line!(text, "/* {}: {} */", comment(name), comment(&describe(&command.code)));
        table(text, "frame", &command.id.0, &frame.pulses_us);
        if let Some(toggled) = toggled {
            table(text, "toggled", &command.id.0, &toggled.pulses_us);
        }
        table(text, "again", &command.id.0, &frame.repeat.pulses_us);
        line!(text, "");
    }
    line!(
        text,
        "/* A code. For a press send `frame`; where there is `toggled` too, take the two in turn, press"
    );
    line!(
        text,
        " * by press. While the button is held send `again`, each so many microseconds after the start"
    );
    line!(
        text,
        " * of the frame before; where there is none the code is sent once. A press that sent `toggled`"
    );
    line!(text, " * repeats `toggled`. */");
    line!(
        text,
        "struct spokewire_code {{\n    const uint32_t *frame;\n    const uint32_t *toggled;\n    const uint32_t *again;"
    );
    line!(
        text,
        "    uint8_t frame_count;   /* timings of it */\n    uint8_t toggled_count;\n    uint8_t again_count;"
    );
    line!(text, "    uint32_t period;       /* microseconds from start to start; 0: sent once */\n}};\n");
    line!(text, "static const struct spokewire_code spokewire_codes[SPOKEWIRE_COMMANDS] = {{");
    for Sent { command, frame, toggled } in &sent {
        let table = |kind: &str, there: bool| {
            if there { format!("spokewire_{kind}_{}", command.id.0) } else { "0".to_owned() }
        };
        let toggled = toggled.as_ref().map_or(0, |frame| frame.pulses_us.len());
        let again = frame.repeat.pulses_us.len();
        line!(
            text,
            "    {{ {}, {}, {}, {}u, {toggled}u, {again}u, {:.0}u }},",
            table("frame", true),
            table("toggled", toggled > 0),
            table("again", again > 0),
            frame.pulses_us.len(),
            frame.repeat.period_us.unwrap_or(0.0)
        );
    }
    line!(text, "}};\n");
}

fn sent(command: &Command) -> Option<Sent<'_>> {
    let has_toggle = match &command.code {
        Code::Family { family: id, .. } => family(id).is_some_and(|family| family.has_toggle()),
        Code::Free { .. } | Code::Raw { .. } => false,
    };
    let frame = encode(&command.code, false).ok()?;
    let toggled = if has_toggle { encode(&command.code, true).ok() } else { None };
    Some(Sent { command, frame, toggled })
}

/// One frame's timings; nothing where there are none.
fn table(text: &mut String, kind: &str, id: &str, pulses_us: &[f64]) {
    if pulses_us.is_empty() {
        return;
    }
    line!(text, "static const uint32_t spokewire_{kind}_{id}[{}] = {{", pulses_us.len());
    for some in whole_us(pulses_us).chunks(PER_LINE) {
        let some: Vec<String> = some.iter().map(|us| format!("{us}u")).collect();
        line!(text, "    {},", some.join(", "));
    }
    line!(text, "}};");
}

/// Whole microseconds whose edges never stray from the plan by more than half of one.
fn whole_us(pulses_us: &[f64]) -> Vec<u32> {
    let (mut planned_us, mut spent_us) = (0.0, 0.0);
    let next = |us: &f64| {
        planned_us += us;
        let whole = (planned_us - spent_us).round();
        spent_us += whole;
        whole as u32
    };
    pulses_us.iter().map(next).collect()
}

fn pairs(project: &Project, built: &Built, text: &mut String) {
    let pairs = &built.image.pairs;
    line!(text, "#define SPOKEWIRE_TAP 0\n#define SPOKEWIRE_HOLD 1\n#define SPOKEWIRE_DOUBLE_TAP 2\n");
    line!(text, "#define SPOKEWIRE_PAIRS {}\n", pairs.len());
    if pairs.is_empty() {
        return;
    }
    line!(text, "/* What leads where. */\nstruct spokewire_pair {{\n    uint8_t button;");
    line!(text, "    uint8_t gesture;    /* SPOKEWIRE_TAP, SPOKEWIRE_HOLD, SPOKEWIRE_DOUBLE_TAP */");
    line!(text, "    uint8_t command;    /* its place in spokewire_codes */");
    line!(text, "    uint8_t repeats;    /* 1: sent on while held */");
    line!(
        text,
        "    uint16_t every_ms;  /* a press anew so often while held; 0: `again` as the code has it */\n}};\n"
    );
    line!(text, "static const struct spokewire_pair spokewire_pairs[SPOKEWIRE_PAIRS] = {{");
    for pair in pairs {
        let gesture = match pair.gesture {
            Gesture::Tap => "TAP",
            Gesture::Hold => "HOLD",
            Gesture::DoubleTap => "DOUBLE_TAP",
        };
        let id = built.buttons.get(usize::from(pair.button)).map_or("", |id| id.0.as_str());
        let name = built
            .commands
            .get(usize::from(pair.command))
            .and_then(|id| project.command(id))
            .map_or("", |command| called(&command.name, &command.id.0));
        line!(
            text,
            "    {{ SPOKEWIRE_BUTTON_{}, SPOKEWIRE_{gesture}, {}u, {}u, {}u }}, /* {} */",
            id.to_ascii_uppercase(),
            pair.command,
            u8::from(pair.repeats),
            pair.every_ms.unwrap_or(0),
            comment(name)
        );
    }
    line!(text, "}};\n");
}

/// What a person typed, so that it can't end a comment, begin one, or be taken for anything else: letters
/// and digits of any script, plain marks, and blanks for the rest.
fn comment(text: &str) -> String {
    let kept = |c: char| if c.is_alphanumeric() || (c.is_ascii_punctuation() && c != '\\') { c } else { ' ' };
    let mut line: String = text.chars().map(kept).collect();
    for (from, to) in [("*/", "* /"), ("/*", "/ *"), ("??", "? ?")] {
        while line.contains(from) {
            line = line.replace(from, to);
        }
    }
    let line = line.trim();
    if line.is_empty() { "without a name".to_owned() } else { line.to_owned() }
}
