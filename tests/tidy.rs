//! Rules of the house that a program can check: short files that say what they are, no place of
//! somebody's machine, colours from the theme alone, tests named as sentences.

use std::fs;
use std::path::{Path, PathBuf};

/// The most lines a source file may have.
const LONGEST: usize = 800;

fn files(folder: &Path, endings: &[&str], found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let path = entry.path();
        if path.is_dir() {
            files(&path, endings, found);
        } else if path.extension().is_some_and(|ending| endings.iter().any(|wanted| ending == *wanted)) {
            found.push(path);
        }
    }
}

/// Every source file with its text.
fn sources() -> Vec<(String, String)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut found = Vec::new();
    for folder in ["src", "tests", "assets"] {
        files(&root.join(folder), &["rs", "c", "h"], &mut found);
    }
    found.sort();
    assert!(found.len() > 100, "the sources were found");
    found
        .into_iter()
        .map(|path| {
            let name = path.strip_prefix(root).unwrap_or(&path).to_string_lossy().replace('\\', "/");
            (name, fs::read_to_string(&path).unwrap_or_default())
        })
        .collect()
}

fn none(what: &str, found: Vec<String>) {
    assert!(found.is_empty(), "{what}:\n{}", found.join("\n"));
}

#[test]
fn no_file_is_longer_than_a_person_reads_at_a_time() {
    let long = sources().into_iter().filter(|(_, text)| text.lines().count() > LONGEST);
    none("over 800 lines", long.map(|(name, text)| format!("{name}: {}", text.lines().count())).collect());
}

#[test]
fn every_file_says_first_what_it_is() {
    let silent =
        sources().into_iter().filter(|(name, text)| name.ends_with(".rs") && !text.starts_with("//!"));
    none("no //! at the top", silent.map(|(name, _)| name).collect());
}

#[test]
fn nothing_is_allowed_without_its_reason() {
    // Put together here, so that this file doesn't find itself.
    let allow = concat!("#[", "allow(");
    let inner = concat!("#![", "allow(");
    let found = sources().into_iter().filter(|(_, text)| text.contains(allow) || text.contains(inner));
    none("use #[expect(lint, reason = …)]", found.map(|(name, _)| name).collect());
}

#[test]
fn no_file_names_a_place_on_somebodys_machine_or_leaves_work_undone() {
    let places = [
        concat!("/ho", "me/"),
        concat!("/wo", "rk/"),
        concat!("/ro", "ot/"),
        concat!("TO", "DO"),
        concat!("FIX", "ME"),
    ];
    let mut found = Vec::new();
    for (name, text) in sources() {
        for (number, line) in text.lines().enumerate() {
            // A path that a hint shows as an example is nobody's.
            if places.iter().any(|place| line.contains(place)) && !line.contains("/home/me/") {
                found.push(format!("{name}:{}: {}", number + 1, line.trim()));
            }
        }
    }
    none("places and leftovers", found);
}

/// A file's text before its tests, which may paint with what they like.
fn without_tests(text: &str) -> &str {
    text.split("#[cfg(test)]").next().unwrap_or_default()
}

#[test]
fn colours_come_from_the_theme_alone() {
    let names =
        ["Color32::from_rgb", "Color32::from_gray", "Color32::RED", "Color32::BLACK", "Color32::WHITE"];
    let found = sources().into_iter().filter(|(name, text)| {
        name.starts_with("src/")
            && !name.starts_with("src/view/theme")
            && names.iter().any(|colour| without_tests(text).contains(colour))
    });
    none("colours outside src/view/theme", found.map(|(name, _)| name).collect());
}

#[test]
fn tests_are_named_as_sentences() {
    let mut short = Vec::new();
    for (name, text) in sources() {
        let lines: Vec<_> = text.lines().map(str::trim).collect();
        for pair in lines.windows(2) {
            let Some(function) = pair[1].strip_prefix("fn ").filter(|_| pair[0] == "#[test]") else {
                continue;
            };
            let function = function.split('(').next().unwrap_or_default();
            if function.split('_').count() < 3 {
                short.push(format!("{name}: {function}"));
            }
        }
    }
    none("test names of fewer than three words", short);
}
