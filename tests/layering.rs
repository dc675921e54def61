//! The rooms stand on floors, and a room uses only rooms on lower floors. The floors are read from
//! the table in `src/lib.rs`, the uses from every `crate::room` in the sources.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// What only some files may name, and which.
const WALLS: [(&str, &[&str]); 8] = [
    ("serialport", &["src/link/serial.rs", "src/link/serial/"]),
    ("egui", &["src/view/", "src/shell/", "src/lib.rs"]),
    ("eframe", &["src/shell/"]),
    ("rfd", &["src/shell/"]),
    ("std::fs", &["src/link/", "src/files/", "src/cli/", "src/shell/"]),
    ("std::thread", &["src/link/", "src/files/", "src/shell/", "src/cli/"]),
    ("Instant", &["src/link/", "src/shell/", "src/cli/"]),
    ("SystemTime", &["src/link/", "src/files/", "src/shell/"]),
];

/// Each room's floor, from the table's rows `| 3 | `bands` | … |`.
fn floors(table: &str) -> BTreeMap<String, u32> {
    table
        .lines()
        .filter_map(|line| {
            let mut cells = line.trim_start_matches("//!").split('|').map(str::trim).skip(1);
            let floor = cells.next()?.parse().ok()?;
            Some((cells.next()?.trim_matches('`').to_owned(), floor))
        })
        .collect()
}

/// The code of a file: no comments, no text in quotes, no tests, which may reach anywhere.
fn code(source: &str) -> String {
    let code = source.split("\n#[cfg(test)]\nmod tests {").next().unwrap_or_default();
    code.lines().map(without_words).collect::<Vec<_>>().join("\n")
}

fn without_words(line: &str) -> String {
    let mut kept = String::new();
    let mut quoted = false;
    let mut letters = line.chars().peekable();
    while let Some(letter) = letters.next() {
        match letter {
            '\\' if quoted => drop(letters.next()),
            '"' => quoted = !quoted,
            '/' if !quoted && letters.peek() == Some(&'/') => break,
            _ if !quoted => kept.push(letter),
            _ => {}
        }
    }
    kept
}

/// The rooms that a file's code uses: `crate::room`, also in a list `crate::{room, …}`.
fn rooms_used(code: &str) -> Vec<String> {
    let mut used = Vec::new();
    for rest in code.split("crate::").skip(1) {
        match rest.strip_prefix('{') {
            Some(list) => {
                let mut depth = 1;
                let mut name = String::new();
                let mut at_start = true;
                for letter in list.chars() {
                    match letter {
                        '{' => depth += 1,
                        '}' => depth -= 1,
                        ',' if depth == 1 => at_start = true,
                        _ if (letter.is_alphanumeric() || letter == '_') && at_start && depth == 1 => {
                            name.push(letter);
                        }
                        ':' => at_start = false,
                        _ => {}
                    }
                    if (!letter.is_alphanumeric() && letter != '_' && !name.is_empty()) || depth == 0 {
                        used.push(std::mem::take(&mut name));
                    }
                    if depth == 0 {
                        break;
                    }
                }
            }
            None => {
                used.push(
                    rest.chars().take_while(|letter| letter.is_alphanumeric() || *letter == '_').collect(),
                );
            }
        }
    }
    used.retain(|room| !room.is_empty());
    used
}

/// Which room a file belongs to: `src/bands/gap.rs` and `src/units.rs` to `bands` and `units`.
fn room_of(path: &str) -> Option<String> {
    let inside = path.strip_prefix("src/")?;
    let room = inside.split('/').next()?.trim_end_matches(".rs");
    (!matches!(room, "lib" | "main")).then(|| room.to_owned())
}

/// What is wrong with one file.
fn faults(path: &str, source: &str, floors: &BTreeMap<String, u32>) -> Vec<String> {
    let code = code(source);
    let mut faults = Vec::new();
    if let Some(room) = room_of(path) {
        match floors.get(&room) {
            None => faults.push(format!("{path}: room {room} is not in the table of src/lib.rs")),
            Some(floor) => {
                for used in rooms_used(&code) {
                    let Some(other) = floors.get(&used) else { continue };
                    if used != room && other >= floor {
                        faults.push(format!("{path}: floor {floor} uses {used} on floor {other}"));
                    }
                }
            }
        }
    }
    for (name, may) in WALLS {
        let names = code.split(name).zip(code.split(name).skip(1)).any(|(before, after)| {
            let edge = |letter: Option<char>| !letter.is_some_and(|c| c.is_alphanumeric() || c == '_');
            edge(before.chars().next_back()) && edge(after.chars().next())
        });
        if names && !may.iter().any(|place| path.starts_with(place)) {
            faults.push(format!("{path}: names {name}, which only {} may", may.join(", ")));
        }
    }
    faults
}

fn sources(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let path = entry.path();
        if path.is_dir() {
            found.extend(sources(&path));
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            found.push(path);
        }
    }
    found.sort();
    found
}

/// Whether a file holds nothing but tests: its module is declared under `#[cfg(test)]`.
fn is_test_file(path: &Path) -> bool {
    let (Some(name), Some(folder)) = (path.file_stem().and_then(|name| name.to_str()), path.parent()) else {
        return false;
    };
    // A folder's own file is `mod.rs` in it or a file beside it of its name.
    let beside = folder.with_extension("rs");
    [folder.join("mod.rs"), beside].iter().filter_map(|file| fs::read_to_string(file).ok()).any(|parent| {
        let lines: Vec<_> = parent.lines().map(str::trim).collect();
        lines.windows(2).any(|pair| {
            let declares = ["mod ", "pub(crate) mod ", "pub(super) mod "]
                .iter()
                .any(|how| pair[1] == format!("{how}{name};"));
            pair[0] == "#[cfg(test)]" && declares
        })
    })
}

#[test]
fn no_room_uses_a_room_that_is_not_below_it() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let floors = floors(&fs::read_to_string(root.join("src/lib.rs")).expect("src/lib.rs"));
    assert!(floors.len() >= 15, "the table was read: {floors:?}");
    let files = sources(&root.join("src"));
    assert!(files.len() > 100, "the sources were found");
    let faults: Vec<_> = files
        .iter()
        .filter(|file| !is_test_file(file))
        .flat_map(|file| {
            let path = file.strip_prefix(root).expect("below the root").to_string_lossy().replace('\\', "/");
            faults(&path, &fs::read_to_string(file).expect("a source"), &floors)
        })
        .collect();
    assert!(faults.is_empty(), "\n{}", faults.join("\n"));
}

#[test]
fn every_room_of_the_table_is_there() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    for room in floors(&fs::read_to_string(root.join("src/lib.rs")).expect("src/lib.rs")).keys() {
        let is_there = root.join("src").join(room).is_dir() || root.join(format!("src/{room}.rs")).is_file();
        assert!(is_there, "{room}");
    }
}

/// A small house to hold the checker against.
fn small() -> BTreeMap<String, u32> {
    floors(
        "//! | floor | room | what |\n//! | --- | --- | --- |\n//! | 1 | `low` | a |\n//! | 1 | `side` | b |\n//! | 2 | `high` | c |",
    )
}

#[test]
fn the_checker_sees_imports_that_run_upwards_and_sideways() {
    let small = small();
    assert_eq!(small.len(), 3);
    assert!(faults("src/high/mod.rs", "use crate::low::Thing;\nuse crate::high::Own;", &small).is_empty());
    for bad in ["use crate::high::Thing;", "fn f() { crate::side::g() }", "use crate::{low::A, side::B};"] {
        assert_eq!(faults("src/low/deep/file.rs", bad, &small).len(), 1, "{bad}");
    }
    assert_eq!(faults("src/new/mod.rs", "", &small).len(), 1, "a room that is not in the table");
}

#[test]
fn the_checker_sees_what_only_some_files_may_name() {
    let small = small();
    assert_eq!(faults("src/low/a.rs", "use serialport::SerialPort;", &small).len(), 1);
    assert_eq!(faults("src/low/a.rs", "let t = std::time::Instant::now();", &small).len(), 1);
    assert!(faults("src/low/a.rs", "// egui draws it\nlet egui_like = \"egui\";", &small).is_empty());
}
