//! README.md and DEVELOPERS.md keep their word: every command shown there prints what is shown, and
//! what they point to is there.
#![cfg(unix)]
#![expect(clippy::unwrap_used, reason = "the helpers of a test may fail it")]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use spokewire::project::ListFormat;
use spokewire::remote::{Code, FreeFamily, Origin};

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn text(name: &str) -> String {
    fs::read_to_string(root().join(name)).unwrap()
}

/// One command line as shown, and the lines shown under it.
struct Example {
    line: String,
    shown: Vec<String>,
}

/// The indented blocks that begin with `$ `.
fn examples(text: &str) -> Vec<Example> {
    let mut examples: Vec<Example> = Vec::new();
    let mut is_open = false;
    for line in text.lines() {
        let code = line.strip_prefix("    ");
        match (code, code.and_then(|code| code.strip_prefix("$ "))) {
            (_, Some(command)) => {
                examples.push(Example { line: command.to_owned(), shown: Vec::new() });
                is_open = true;
            }
            (Some(code), None) if is_open => examples.last_mut().unwrap().shown.push(code.to_owned()),
            _ => is_open = false,
        }
    }
    examples
}

/// Runs a command line in a folder that holds the projects, with `spokewire` in the path.
fn run(line: &str) -> Vec<String> {
    let folder = tempfile::tempdir().unwrap();
    std::os::unix::fs::symlink(root().join("projects"), folder.path().join("projects")).unwrap();
    let programs = PathBuf::from(env!("CARGO_BIN_EXE_spokewire"));
    let path = format!("{}:{}", programs.parent().unwrap().display(), std::env::var("PATH").unwrap());
    let output = Command::new("sh")
        .args(["-c", line])
        .current_dir(folder.path())
        .env("PATH", path)
        .env("HOME", folder.path())
        .env_remove("XDG_CONFIG_HOME")
        .env_remove("XDG_STATE_HOME")
        .output()
        .unwrap();
    assert!(output.status.success(), "{line}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap().lines().map(|line| line.trim_end().to_owned()).collect()
}

/// Whether these are the lines shown; `…` stands for as many as there are.
fn are_as_shown(printed: &[String], shown: &[String]) -> bool {
    match shown.iter().position(|line| line == "…") {
        None => printed == shown,
        Some(cut) => {
            let (head, tail) = (&shown[..cut], &shown[cut + 1..]);
            printed.len() >= shown.len() && printed.starts_with(head) && printed.ends_with(tail)
        }
    }
}

/// The files that a text's links and pictures name.
fn files_named(text: &str) -> Vec<&str> {
    let targets = text.split("](").skip(1).filter_map(|after| after.split(')').next());
    targets.filter(|target| !target.starts_with("http") && !target.starts_with('#')).collect()
}

#[test]
fn every_command_in_the_readme_prints_what_is_shown() {
    let examples = examples(&text("README.md"));
    assert!(examples.len() >= 5, "the examples were found: {}", examples.len());
    for Example { line, shown } in examples {
        // The demo's hand keeps time by the clock, so that a press is as long as it happens to be.
        let masked = |lines: Vec<String>| match line.contains("learn --demo") {
            true => lines.into_iter().map(|line| mask_medians(&line)).collect(),
            false => lines,
        };
        let (printed, shown) = (masked(run(&line)), masked(shown));
        assert!(are_as_shown(&printed, &shown), "$ {line}\n{}\n", printed.join("\n"));
    }
}

/// A line without the digits of its median.
fn mask_medians(line: &str) -> String {
    let key = r#""median_count":"#;
    line.split_once(key).map_or(line.to_owned(), |(head, _)| format!("{head}{key}…"))
}

#[test]
fn the_lists_in_the_readme_are_read_and_every_column_is_described() {
    let readme = text("README.md");
    let blocks: Vec<String> = readme
        .split("\n\n")
        .filter(|block| block.lines().all(|line| line.starts_with("    ")))
        .map(|block| block.lines().map(|line| format!("{}\n", &line[4..])).collect())
        .collect();
    for (begins, count) in [("name,family,address,command", 2), ("(\n    format: 1", 1)] {
        let list = blocks.iter().find(|block| block.starts_with(begins)).unwrap();
        let read = spokewire::project::read_list(list.as_bytes());
        assert_eq!((read.faults.as_slice(), read.commands.len()), (&[][..], count), "{list}");
    }
    // A list with every kind of code has every column.
    let mut stereo = spokewire::project::Stereo::default();
    for code in [
        Code::Raw { pulses_us: vec![500.0], repeat_us: None },
        Code::Free { free: FreeFamily::default(), address: 1, command: 1 },
    ] {
        stereo.commands.push(spokewire::project::Command {
            id: spokewire::project::CommandId::default(),
            name: "Any".to_owned(),
            code,
            origin: Origin::Typed,
            tried: false,
            heard: Vec::new(),
        });
    }
    let written = spokewire::project::write_list(&stereo, ListFormat::Csv);
    let columns: Vec<&str> = written.lines().next().unwrap().split(',').collect();
    assert_eq!(columns.len(), 19);
    for column in columns {
        assert!(readme.contains(&format!("`{column}`")), "README says nothing of the column {column}");
    }
}

#[test]
fn every_file_that_the_documents_point_to_is_there() {
    for document in ["README.md", "DEVELOPERS.md", "CHANGELOG.md"] {
        let text = text(document);
        for file in files_named(&text) {
            assert!(root().join(file).exists(), "{document} points to {file}, which is not there");
        }
    }
}

#[test]
fn these_checks_see_what_they_are_for() {
    let two = examples("    $ a b\n    one\n    two\n\n    no example\n\n    $ c\n");
    assert_eq!(two.len(), 2);
    assert_eq!(
        (two[0].line.as_str(), two[0].shown.as_slice()),
        ("a b", &["one".to_owned(), "two".to_owned()][..])
    );
    let lines = |text: &str| text.lines().map(str::to_owned).collect::<Vec<_>>();
    assert!(are_as_shown(&lines("1\n2\n3\n4"), &lines("1\n…\n4")));
    for wrong in ["1\n…\n5", "1\n2\n3", "2\n…\n4", "1\n2\n3\n4\n5"] {
        assert!(!are_as_shown(&lines("1\n2\n3\n4"), &lines(wrong)), "{wrong}");
    }
    assert_eq!(files_named("[a](b.md) ![c](d/e.png) [f](https://g) [h](#i)"), ["b.md", "d/e.png"]);
}
