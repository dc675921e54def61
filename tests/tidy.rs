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
            // A path that a hint shows as an example is nobody's, and one of the rooms is called so.
            let elsewhere = line.replace("src/work/", "");
            if places.iter().any(|place| elsewhere.contains(place)) && !line.contains("/home/me/") {
                found.push(format!("{name}:{}: {}", number + 1, line.trim()));
            }
        }
    }
    none("places and leftovers", found);
}

/// A file's text before its tests, which may paint with what they like. Tests that are only declared
/// stand in a file of their own, and what follows their declaration is no test.
fn without_tests(text: &str) -> &str {
    text.split("#[cfg(test)]\nmod tests {").next().unwrap_or_default()
}

/// Whether a text makes a colour of its own: all of `Color32`'s makers and names but the two that are
/// no colour.
fn makes_a_colour(text: &str) -> bool {
    let no_colours = ["TRANSPARENT", "PLACEHOLDER"];
    without_tests(text).split("Color32::").skip(1).any(|name| {
        let is_made = name.starts_with("from_") || name.starts_with(char::is_uppercase);
        is_made && !no_colours.iter().any(|no_colour| name.starts_with(no_colour))
    })
}

#[test]
fn colours_come_from_the_theme_alone() {
    let is_tests = |name: &str| name.ends_with("tests.rs");
    let found = sources().into_iter().filter(|(name, text)| {
        name.starts_with("src/")
            && !name.starts_with("src/view/theme")
            && !is_tests(name)
            && makes_a_colour(text)
    });
    none("colours outside src/view/theme", found.map(|(name, _)| name).collect());
}

/// The names of a text's tests, whatever stands between `#[test]` and the function.
fn tests_of(text: &str) -> Vec<&str> {
    let marked = text.split("#[test]\n").skip(1);
    marked.filter_map(|after| after.split_once("fn ")?.1.split(['(', '<']).next()).collect()
}

#[test]
fn tests_are_named_as_sentences() {
    let mut short = Vec::new();
    let mut count = 0;
    for (name, text) in sources() {
        for test in tests_of(&text) {
            count += 1;
            if test.split('_').count() < 3 {
                short.push(format!("{name}: {test}"));
            }
        }
    }
    assert!(count > 300, "the tests were found: {count}");
    none("test names of fewer than three words", short);
}

#[test]
fn these_checks_see_what_they_are_for() {
    let paint = concat!("let red = Color", "32::from_rgb(1, 2, 3);");
    assert!(makes_a_colour(paint));
    assert!(makes_a_colour(&format!("#[cfg(test)]\nmod tests;\n{paint}")), "behind a declaration");
    assert!(makes_a_colour(concat!("Color", "32::DARK_RED")));
    assert!(!makes_a_colour(&format!("#[cfg(test)]\nmod tests {{\n{paint}\n}}")));
    assert!(!makes_a_colour(concat!("Color", "32::TRANSPARENT")));
    let mark = concat!("#[te", "st]\n");
    assert_eq!(
        tests_of(&format!("{mark}#[cfg(unix)]\nfn works() {{}}\n{mark}fn a_b() {{}}")),
        ["works", "a_b"]
    );
}
