//! Lists as RON: `(format: 1, stereo: "…", commands: [...])`, each command as the project's own file has
//! it, without its id. A command that can't be read leaves the others as they are.

use ::ron::extensions::Extensions;
use ::ron::{Deserializer, Options};
use serde::Deserialize;
use serde::de::IgnoredAny;

use super::super::model::{Command, CommandId, HeardPress, Stereo};
use super::super::outline::{Kind, Node, Outline};
use super::super::words::{self, Misread};
use super::{Gather, quoted};
use crate::remote::{self, Code, Origin};

/// The format of lists that this program writes.
const FORMAT: u32 = 1;

/// One command, as it is read.
#[derive(Deserialize)]
struct Entry {
    name: String,
    code: Code,
    #[serde(default)]
    origin: Origin,
    #[serde(default)]
    tried: bool,
    #[serde(default)]
    heard: Vec<HeardPress>,
}

/// The whole list, to have `ron`'s word on where it can't be followed.
#[derive(Deserialize)]
struct Any {
    #[serde(rename = "commands")]
    _commands: IgnoredAny,
}

/// Fields of a list.
const OF_LIST: [&str; 3] = ["format", "stereo", "commands"];
/// Fields of a command.
const OF_ENTRY: [&str; 5] = ["name", "code", "origin", "tried", "heard"];
/// Fields of a code, of whatever kind.
const OF_CODE: [&str; 6] = ["family", "address", "command", "free", "pulses_us", "repeat_us"];
/// Fields of a free family.
const OF_FREE: [&str; 12] = [
    "leader_us",
    "zero_us",
    "one_us",
    "stop_mark",
    "high_first",
    "address_bits",
    "address_inverse",
    "command_bits",
    "command_inverse",
    "repeat",
    "period_us",
    "carrier_khz",
];

/// Reads the list.
pub(super) fn read(bytes: &[u8], gather: &mut Gather) {
    let text = match str::from_utf8(bytes) {
        Ok(text) => text,
        Err(error) => {
            let at = error.valid_up_to();
            let line = 1 + bytes.iter().take(at).filter(|&&byte| byte == b'\n').count();
            let byte = bytes.get(at).copied().unwrap_or_default();
            gather.fault(line, format!("Byte 0x{byte:02X} is no UTF-8 here. Save the list as UTF-8."));
            return;
        }
    };
    let line_of = |at: usize| 1 + text.get(..at).map_or(0, |before| before.matches('\n').count());
    let outline = match Outline::of(text) {
        Ok(outline) => outline,
        Err(at) => {
            let (line, what) = unfollowed(text).unwrap_or_else(|| {
                (line_of(at), "This can't be followed. Write it in a simpler way.".to_owned())
            });
            gather.fault(line, what);
            return;
        }
    };
    let fields = match &outline.root.kind {
        Kind::Fields(fields) => fields.as_slice(),
        _ => &[],
    };
    let has = |name: &str| fields.iter().find(|(field, _)| field == name).map(|(_, node)| node);
    if has("vehicle").is_some() {
        gather.fault(
            1,
            "This is a whole project and no list of commands. Open it, and export its commands as a list.",
        );
        return;
    }
    let Some(Node { kind: Kind::Items(items), .. }) = has("commands") else {
        gather.fault(
            line_of(outline.root.at),
            "There are no commands. A list is (format: 1, stereo: \"…\", commands: [(name: \"…\", code: …)]).",
        );
        return;
    };
    match outline.scalar(text, "format").and_then(|format| ::ron::from_str::<u32>(format).ok()) {
        Some(FORMAT) => {}
        Some(found) if found > FORMAT => {
            let what = format!(
                "The list has format {found}, and this program reads up to {FORMAT}. Read it with a newer version."
            );
            gather.fault(line_of(has("format").map_or(0, |node| node.at)), what);
            return;
        }
        _ => {
            let at = has("format").map_or(outline.root.at, |node| node.at);
            gather.fault(line_of(at), format!("The list doesn't say its format. Write format: {FORMAT}."));
        }
    }
    gather.stereo = outline.scalar(text, "stereo").and_then(|stereo| ::ron::from_str(stereo).ok());
    let mut unknown = Vec::new();
    strangers(fields, &OF_LIST, &mut unknown);
    for (at, name) in unknown {
        gather.fault(line_of(at), format!("{} is no field of a list, and is left out.", quoted(&name)));
    }
    // Counted on from command to command: a long list is gone through once.
    let (mut line, mut counted) = (1, 0);
    for (index, item) in items.iter().enumerate() {
        line += text.get(counted..item.at).map_or(0, |between| between.matches('\n').count());
        counted = item.at;
        let end = items.get(index + 1).map_or(text.len(), |next| next.at);
        entry(text.get(item.at..end).unwrap_or_default(), item, line, gather);
    }
}

/// One command of the list; `text` begins with it.
fn entry(text: &str, node: &Node, line: usize, gather: &mut Gather) {
    let options = Options::default().with_default_extension(Extensions::IMPLICIT_SOME);
    let read = Deserializer::from_str_with_options(text, &options).and_then(|mut deserializer| {
        Entry::deserialize(&mut deserializer).map_err(|error| deserializer.span_error(error))
    });
    let Entry { name, code, origin, tried, heard } = match read {
        Ok(entry) => entry,
        Err(error) => {
            let Misread { line: further, what, advice, .. } = words::of(&error, text);
            gather.fault(line + further - 1, format!("{what} {advice}"));
            return;
        }
    };
    let mut unknown = Vec::new();
    if let Kind::Fields(fields) = &node.kind {
        strangers(fields, &OF_ENTRY, &mut unknown);
        if let Some((_, Node { kind: Kind::Fields(code), .. })) =
            fields.iter().find(|(name, _)| name == "code")
        {
            strangers(code, &OF_CODE, &mut unknown);
            if let Some((_, Node { kind: Kind::Fields(free), .. })) =
                code.iter().find(|(name, _)| name == "free")
            {
                strangers(free, &OF_FREE, &mut unknown);
                let missing = OF_FREE.iter().find(|wanted| !free.iter().any(|(name, _)| name == *wanted));
                if let Some(missing) = missing {
                    gather.fault(line, format!("The free family doesn't say its {missing}. Add it."));
                    return;
                }
            }
        }
    }
    if let Some((at, field)) = unknown.into_iter().next() {
        let further = text.get(..at - node.at).map_or(0, |before| before.matches('\n').count());
        let what =
            format!("{} is no field of a command. Correct its spelling, or take it out.", quoted(&field));
        gather.fault(line + further, what);
        return;
    }
    gather.command(line, Command { id: CommandId::default(), name, code, origin, tried, heard });
}

/// Fields that aren't known, with where they stand.
fn strangers(fields: &[(String, Node)], known: &[&str], found: &mut Vec<(usize, String)>) {
    let unknown = fields.iter().filter(|(name, _)| !known.contains(&name.as_str()));
    found.extend(unknown.map(|(name, node)| (node.at, name.clone())));
}

/// Where the text as a whole can't be read, in `ron`'s words.
fn unfollowed(text: &str) -> Option<(usize, String)> {
    let error = ::ron::from_str::<Any>(text).err()?;
    let Misread { line, what, advice, .. } = words::of(&error, text);
    if what == "The file ends in the middle." {
        return Some((line, "The list ends in the middle: it was cut off. Export it again.".to_owned()));
    }
    Some((line, format!("{what} {advice} Nothing of the list was taken.")))
}

/// Writes the list, one command a line.
pub(super) fn write(stereo: &Stereo) -> String {
    let mut text =
        format!("(\n    format: {FORMAT},\n    stereo: {},\n    commands: [\n", ron_text(&stereo.name));
    for Command { id: _, name, code, origin, tried, heard } in &stereo.commands {
        let entry = format!(
            "        (name: {}, code: {}, origin: {}, tried: {tried}",
            ron_text(name),
            code_text(code),
            ron_text(origin)
        );
        text.push_str(&entry);
        if !heard.is_empty() {
            text.push_str(", heard: ");
            text.push_str(&ron_text(heard));
        }
        text.push_str("),\n");
    }
    text.push_str("    ],\n)\n");
    text
}

/// A code as the project's file has it, its numbers in hex as codes are written.
fn code_text(code: &Code) -> String {
    match code {
        Code::Family { family, address, command } => {
            let (wide, deep) = remote::family(family)
                .map_or((2, 2), |family| (family.address_digits(), family.command_digits()));
            format!(
                "Family(family: {}, address: 0x{address:0wide$X}, command: 0x{command:0deep$X})",
                ron_text(family)
            )
        }
        Code::Free { free, address, command } => {
            format!("Free(free: {}, address: 0x{address:02X}, command: 0x{command:02X})", ron_text(free))
        }
        Code::Raw { .. } => ron_text(code),
    }
}

/// Plain values as RON: writing them to memory can't fail.
fn ron_text(value: &impl serde::Serialize) -> String {
    ::ron::to_string(value).unwrap_or_default()
}
