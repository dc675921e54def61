//! The projects that come with the program: each opens cleanly, is written back as it stands, and
//! has nothing wrong with it.
#![expect(clippy::unwrap_used, clippy::panic, reason = "the helpers of a test may fail it")]

use std::fs;
use std::path::{Path, PathBuf};

use spokewire::findings::{Finding, Level, findings};
use spokewire::project::{Opened, Project, read, write};

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("projects")
}

/// Every project with its file's name and text; never none.
fn projects() -> Vec<(String, String, Opened)> {
    let mut all: Vec<_> = fs::read_dir(folder())
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|ext| ext == "ron"))
        .map(|path| {
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            let text = fs::read_to_string(&path).unwrap();
            let opened = read(&text).unwrap_or_else(|error| panic!("{name}: {error}"));
            (name, text, opened)
        })
        .collect();
    all.sort_by(|a, b| a.0.cmp(&b.0));
    assert!(!all.is_empty(), "no project in {}", folder().display());
    all
}

fn demo_van() -> Project {
    let (_, _, opened) = projects().into_iter().find(|(name, ..)| name == "demo-van.ron").unwrap();
    opened.project
}

#[test]
fn every_project_opens_for_writing_without_a_warning() {
    for (name, _, opened) in projects() {
        assert_eq!(opened.warnings, [], "{name}");
        assert_eq!(opened.read_only, None, "{name}");
        assert_eq!(opened.project.check_values(), [], "{name}");
    }
}

#[test]
fn every_project_is_written_back_as_it_stands() {
    for (name, text, opened) in projects() {
        assert!(write(&opened.project) == text, "{name} is not as a save writes it: open it and save it");
    }
}

#[test]
fn no_project_has_an_error_or_a_caution() {
    for (name, _, opened) in projects() {
        let grave: Vec<Finding> =
            findings(&opened.project).into_iter().filter(|finding| finding.level != Level::Note).collect();
        assert_eq!(grave, [], "{name}");
    }
}

#[test]
fn every_project_says_that_it_is_invented() {
    for (name, _, opened) in projects() {
        let note = &opened.project.vehicle.note;
        assert!(note.contains("invented"), "{name}: {note}");
    }
}

#[test]
fn the_demo_van_is_the_programs_own_demo_learned_and_paired() {
    let (van, demo) = (demo_van(), spokewire::demo::demo_project());
    assert_eq!(van.vehicle.name, demo.vehicle.name);
    assert_eq!(van.wheel, demo.wheel);
    assert_eq!(van.circuit, demo.circuit);
    assert_eq!(van.plan, demo.plan);
    assert_eq!(van.stereo, demo.stereo);
    assert_eq!(van.wheel.buttons.len(), 7);
    for button in &van.wheel.buttons {
        assert!(van.is_learned(&button.id), "{}", button.name);
        let sends = van.pairs.iter().any(|pair| pair.button == button.id && pair.command.is_some());
        assert!(sends, "{}", button.name);
    }
}
