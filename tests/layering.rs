//! The rooms stand on floors, and a room uses only rooms on lower floors. The floors are read from
//! the table in `src/lib.rs`, the uses from the sources' tokens: whatever is written as a path
//! counts, in a `use`, in the code or in a macro; comments, texts and tests don't.

use std::collections::BTreeMap;
use std::fs;
use std::iter::Peekable;
use std::path::{Path, PathBuf};

use proc_macro2::token_stream::IntoIter;
use proc_macro2::{Delimiter, TokenStream, TokenTree};

/// What only some files may name, and which.
const WALLS: [(&[&str], &[&str]); 13] = [
    (&["serialport"], &["src/link/serial.rs", "src/link/serial/"]),
    (&["egui"], &["src/view/", "src/shell/"]),
    (&["egui_plot"], &["src/view/"]),
    (&["eframe"], &["src/shell/"]),
    (&["winit"], &["src/shell/"]),
    (&["rfd"], &["src/shell/"]),
    (&["jiff"], &["src/files/", "src/shell/"]),
    (&["tempfile"], &["src/files/"]),
    (&["std", "fs"], &["src/link/", "src/files/", "src/cli/", "src/shell/"]),
    (&["std", "net"], &[]),
    (&["std", "thread"], &["src/link/", "src/files/", "src/work/", "src/cli/", "src/shell/"]),
    (&["Instant"], &["src/link/", "src/cli/", "src/shell/"]),
    (&["SystemTime"], &["src/link/", "src/files/", "src/shell/"]),
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

/// A module's place in the crate: `src/bands/gap.rs` is `bands::gap`, `src/bands/mod.rs` is `bands`.
fn module_of(path: &str) -> Vec<String> {
    let inside = path.trim_start_matches("src/").trim_end_matches(".rs");
    let steps = inside.split('/').filter(|step| !matches!(*step, "mod" | "lib" | "main"));
    steps.map(str::to_owned).collect()
}

/// Every path in a file's code, tests left out. Those that begin with `super` are given from the
/// crate on; a list `a::{b, c}` gives one for each of its members.
fn paths(code: TokenStream, module: &[String]) -> Vec<Vec<String>> {
    let mut found = Vec::new();
    walk(code, module, &mut found);
    for (path, module) in &mut found {
        let ups = path.iter().take_while(|step| *step == "super").count();
        if ups > 0 {
            let kept = module.len().saturating_sub(ups);
            let from_crate = [&["crate".to_owned()], &module[..kept], &path[ups..]].concat();
            *path = from_crate;
        }
    }
    found.into_iter().map(|(path, _)| path).collect()
}

type Found = Vec<(Vec<String>, Vec<String>)>;

fn walk(code: TokenStream, module: &[String], found: &mut Found) {
    let mut tokens = code.into_iter().peekable();
    while let Some(token) = tokens.next() {
        match token {
            TokenTree::Punct(mark) if mark.as_char() == '#' => {
                if let Some(TokenTree::Group(attribute)) = tokens.peek()
                    && attribute.stream().to_string().replace(' ', "") == "cfg(test)"
                {
                    skip_item(&mut tokens);
                }
            }
            TokenTree::Ident(word) if word == "mod" => {
                let name = tokens.next().map(|name| name.to_string()).unwrap_or_default();
                if let Some(TokenTree::Group(body)) = tokens.peek() {
                    walk(body.stream(), &[module, &[name]].concat(), found);
                    tokens.next();
                }
            }
            TokenTree::Ident(word) => path(vec![word.to_string()], &mut tokens, module, found),
            TokenTree::Group(group) => walk(group.stream(), module, found),
            TokenTree::Punct(_) | TokenTree::Literal(_) => {}
        }
    }
}

/// The rest of a path whose first steps are known.
fn path(mut steps: Vec<String>, tokens: &mut Peekable<IntoIter>, module: &[String], found: &mut Found) {
    let is_colon =
        |token: Option<&TokenTree>| matches!(token, Some(TokenTree::Punct(mark)) if mark.as_char() == ':');
    loop {
        let mut ahead = tokens.clone();
        let colons = is_colon(ahead.next().as_ref()) && is_colon(ahead.next().as_ref());
        match ahead.next() {
            Some(TokenTree::Ident(step)) if colons => steps.push(step.to_string()),
            Some(TokenTree::Punct(star)) if colons && star.as_char() == '*' => steps.push("*".to_owned()),
            Some(TokenTree::Group(list)) if colons && list.delimiter() == Delimiter::Brace => {
                *tokens = ahead;
                let mut members = list.stream().into_iter().peekable();
                while let Some(member) = members.next() {
                    if let TokenTree::Ident(step) = member {
                        path([steps.clone(), vec![step.to_string()]].concat(), &mut members, module, found);
                    }
                }
                return;
            }
            _ => break,
        }
        *tokens = ahead;
    }
    found.push((steps, module.to_vec()));
}

/// Leaves out the item behind an attribute: up to its semicolon or its body.
fn skip_item(tokens: &mut Peekable<IntoIter>) {
    for token in tokens {
        match token {
            TokenTree::Punct(mark) if mark.as_char() == ';' => return,
            TokenTree::Group(body) if body.delimiter() == Delimiter::Brace => return,
            _ => {}
        }
    }
}

/// What is wrong with one file.
fn faults(name: &str, source: &str, floors: &BTreeMap<String, u32>) -> Vec<String> {
    let code: TokenStream = match source.parse() {
        Ok(code) => code,
        Err(error) => return vec![format!("{name}: can't be read: {error}")],
    };
    let module = module_of(name);
    let mut faults = Vec::new();
    let floor = module.first().map(|room| (room, floors.get(room)));
    if let Some((room, None)) = floor {
        faults.push(format!("{name}: room {room} is not in the table of src/lib.rs"));
    }
    for path in paths(code, &module) {
        let shown = path.join("::");
        if let (Some((room, Some(floor))), "crate") = (floor, path[0].as_str()) {
            match path.get(1).map(String::as_str) {
                None | Some("self" | "*") => faults.push(format!("{name}: {shown} takes the whole house")),
                Some(used) => {
                    let above = floors.get(used).filter(|other| used != room && *other >= floor);
                    faults.extend(
                        above.map(|other| format!("{name}: floor {floor} uses {shown} on floor {other}")),
                    );
                }
            }
        }
        for (wall, may) in WALLS {
            // A name behind others too: `time::Instant` is the clock wherever it was brought in from.
            let names = path
                .windows(wall.len())
                .enumerate()
                .any(|(at, steps)| steps == wall && (at == 0 || wall.len() == 1));
            if names && !may.iter().any(|place| name.starts_with(place)) {
                let may =
                    if may.is_empty() { "no file".to_owned() } else { format!("only {}", may.join(", ")) };
                faults.push(format!("{name}: names {shown}, which {may} may"));
            }
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
    for good in [
        "use crate::low::Thing;\nuse crate::high::Own;",
        "use super::super::low::Thing;",
        "use super::Own;\nmod inner { use super::super::Own; }",
    ] {
        assert_eq!(faults("src/high/deep.rs", good, &small), [""; 0], "{good}");
    }
    for bad in [
        "use crate::high::Thing;",
        "fn f() { crate::side::g() }",
        "use crate::{low::A, side::B};",
        "use crate::{\n    low::{A, B},\n    high,\n};",
        "say!(\"{}\", crate::high::Thing);",
        "macro_rules! m { () => { $crate::side::g() } }",
        "use super::super::super::side::B;",
        "mod inner { use super::super::super::super::high::C; }",
        "use crate::*;",
        "use crate as house;",
        "const QUOTE: char = '\"'; fn f() { crate::side::g() }",
        "#[cfg(test)]\nmod tests {}\nuse crate::side::B;",
        "#[cfg(test)]\nmod tests;\nuse crate::side::B;",
    ] {
        assert_eq!(faults("src/low/deep/file.rs", bad, &small).len(), 1, "{bad}");
    }
    assert_eq!(faults("src/low.rs", "use super::high::Thing;", &small).len(), 1);
    assert_eq!(faults("src/low/mod.rs", "use super::high::Thing;", &small).len(), 1);
    assert_eq!(faults("src/new/mod.rs", "", &small).len(), 1, "a room that is not in the table");
}

#[test]
fn the_checker_sees_what_only_some_files_may_name() {
    let small = small();
    for bad in [
        "use serialport::SerialPort;",
        "let t = std::time::Instant::now();",
        "use std::time;\nfn f(t: time::SystemTime) {}",
        "use std::{collections::BTreeMap, fs};",
        "use std::{\n    net::TcpStream,\n};",
        "fn f() { std::thread::yield_now() }",
        "use egui_plot as plot;",
    ] {
        assert_eq!(faults("src/low/a.rs", bad, &small).len(), 1, "{bad}");
    }
    assert_eq!(faults("src/low/a.rs", "fn broken( {", &small).len(), 1, "what can't be read is no pass");
}

#[test]
fn the_checker_passes_over_comments_texts_and_tests() {
    let small = small();
    for good in [
        "// egui draws it\nlet egui_like = \"egui\";",
        "/* crate::high */ const A: &str = r#\"crate::high and std::fs\"#;",
        "/// [`crate::high::Thing`] does it.\nfn f() {}",
        "#[cfg(test)]\nmod tests {\n    use crate::high::Thing;\n}",
        "#[cfg(test)]\nuse crate::high::Thing;",
    ] {
        assert_eq!(faults("src/low/a.rs", good, &small), [""; 0], "{good}");
    }
}
