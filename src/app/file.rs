//! Files and vehicles: beginning, opening, saving, and never losing work.

use std::path::{Path, PathBuf};

use crate::demo;
use crate::project::{self, Project, Warning};

use super::Action;
use super::action::{CloseAction, FileAction, PathPurpose};
use super::document::Document;
use super::effect::{Effect, TapeEffect};
use super::model::{Found, Guarded, Model, Tape};
use super::notice::{Level, Notice, Topic};
use super::station::Station;
use super::{learn, link};

/// How long unsaved work may be before a copy of it is kept, in milliseconds.
const AUTOSAVE_MS: f64 = 3_000.0;

/// What an action changes.
pub(super) fn update(model: &mut Model, action: FileAction) -> Vec<Effect> {
    match action {
        FileAction::New | FileAction::Demo | FileAction::Open(_) => opening(model, action),
        // What is unsaved is asked about once a file is chosen, and not again.
        FileAction::AskOpen => vec![ask(PathPurpose::Open, "")],
        FileAction::Loaded { path, text, elsewhere } => loaded(model, path, text, elsewhere),
        FileAction::Save => save(model),
        FileAction::AskSave => ask_save(model),
        FileAction::SaveTo(path) => save_to(model, path),
        FileAction::Saved { path, project, result } => saved(model, path, *project, result),
        FileAction::Written { path, result } => {
            let place = path.display();
            model.notices.show(match result {
                Ok(()) => {
                    Notice::new(Topic::Export, Level::Note, "The C header is written.", place.to_string())
                }
                Err(why) => Notice::new(Topic::Export, Level::Stop, "The C header was not written.", why),
            });
            Vec::new()
        }
        FileAction::AskPath(purpose) => {
            model.showing.path = Some(purpose);
            Vec::new()
        }
        FileAction::AskPathDone => {
            model.showing.path = None;
            Vec::new()
        }
        FileAction::Found { original, text, when } => {
            model.showing.found = Some(Found { original, text, when });
            Vec::new()
        }
        FileAction::Recover => recover(model),
        FileAction::ForgetFound => {
            model.showing.found = None;
            vec![Effect::DropFound]
        }
        FileAction::AskTape => vec![ask(PathPurpose::Tape, "recording.csv")],
        FileAction::TapeTo(path) => tape_to(model, path),
        FileAction::TapeStop => {
            model.tape = None;
            vec![Effect::Tape(TapeEffect::Stop)]
        }
        FileAction::TapeFailed(why) => {
            model.tape = None;
            model.notices.show(Notice::new(Topic::Tape, Level::Stop, "Nothing is being recorded.", why));
            vec![Effect::Tape(TapeEffect::Stop)]
        }
        FileAction::AskReplay => vec![ask(PathPurpose::Replay, "")],
        FileAction::Recent(recent) => {
            model.recent = recent;
            Vec::new()
        }
        FileAction::Preferences(preferences) => {
            model.preferences = *preferences;
            Vec::new()
        }
    }
}

fn ask(purpose: PathPurpose, suggest: &str) -> Effect {
    Effect::AskPath { purpose, suggest: suggest.to_owned() }
}

/// Opens another project, once nothing of this one can be lost.
fn opening(model: &mut Model, action: FileAction) -> Vec<Effect> {
    if draft_is_in_the_way(model) {
        return Vec::new();
    }
    if has_unsaved_work(model) {
        model.showing.guard = Some(Guarded::File(action));
        return Vec::new();
    }
    open_now(model, action)
}

fn open_now(model: &mut Model, action: FileAction) -> Vec<Effect> {
    match action {
        FileAction::New => {
            let mut effects = begin(model, Document::unsaved(Project::new("", "")));
            model.wheel.view = super::WheelView::Names;
            model.station = Station::Wheel;
            effects.push(Effect::Claim(None));
            effects
        }
        FileAction::Demo => {
            let mut effects = begin(model, Document::unsaved(demo::demo_project()));
            model.station = Station::Learn;
            effects.push(Effect::Claim(None));
            effects.extend(link::open_demo(model, model.demo_speed.max(1)));
            effects
        }
        FileAction::Open(path) => vec![Effect::Load(path)],
        _ => Vec::new(),
    }
}

/// Puts another document in the place of the one there was, whose copies can go.
fn begin(model: &mut Model, document: Document) -> Vec<Effect> {
    let before = model.document.replace(document);
    model.kept.document_number += 1;
    model.kept.derived_for = None;
    model.kept.autosaved = (0, model.now.ms);
    model.kept.learned_since_open.clear();
    let mut effects = super::codes::reset(model);
    effects.extend(super::circuit::reset(model));
    model.the_box.seat = super::the_box::seat::SeatState::default();
    learn::reset(model);
    for topic in [
        Topic::File,
        Topic::Elsewhere,
        Topic::Refused,
        Topic::Rest,
        Topic::Edit,
        Topic::Converter,
        Topic::List,
    ] {
        model.notices.clear(topic);
    }
    effects.extend(given_up(before.as_ref()));
    effects
}

/// The copies of a document that is saved or was given up.
fn given_up(document: Option<&Document>) -> Vec<Effect> {
    let found = document.filter(|document| document.recovered).map(|_| Effect::DropFound);
    std::iter::once(Effect::DropAutosave).chain(found).collect()
}

fn loaded(model: &mut Model, path: PathBuf, text: Result<String, String>, elsewhere: bool) -> Vec<Effect> {
    let name = name_of(&path);
    let read = text.and_then(|text| project::read(&text).map_err(|error| error.to_string()));
    let opened = match read {
        Ok(opened) => opened,
        Err(why) => {
            model.notices.show(Notice::new(
                Topic::File,
                Level::Stop,
                format!("{name} can't be opened."),
                why,
            ));
            return Vec::new();
        }
    };
    let read_only = opened.read_only.as_ref().map(ToString::to_string);
    let mut effects = begin(model, Document::opened(opened.project, path.clone(), read_only.clone()));
    model.station = Station::Learn;
    if model.project().is_some_and(|project| project.wheel.buttons.is_empty()) {
        model.wheel.view = super::WheelView::Names;
        model.station = Station::Wheel;
    }
    if let Some(why) = read_only {
        // What was left out on reading is said before why it can't be saved here.
        let left_out =
            opened.warnings.iter().filter(|warning| matches!(warning, Warning::UnknownSweep { .. }));
        let why: Vec<String> = left_out.map(ToString::to_string).chain([why]).collect();
        let why = why.join(" ");
        model.notices.show(
            Notice::new(Topic::File, Level::Caution, format!("{name} is open read-only."), why)
                .offering("Save as", Action::File(FileAction::AskSave)),
        );
    } else if let Some(warning) = opened.warnings.first() {
        model.notices.show(Notice::new(
            Topic::File,
            Level::Caution,
            format!("{name} is open."),
            warning.to_string(),
        ));
    }
    if elsewhere {
        model.notices.show(Notice::new(
            Topic::Elsewhere,
            Level::Caution,
            "This file is open in another window.",
            "What is saved last wins. Close one of the two.",
        ));
    }
    effects.push(Effect::Remember(path));
    effects
}

fn recover(model: &mut Model) -> Vec<Effect> {
    let Some(found) = model.showing.found.take() else { return Vec::new() };
    match project::read(&found.text) {
        Ok(opened) => {
            let mut document = Document::unsaved(opened.project);
            document.path.clone_from(&found.original);
            document.recovered = true;
            let mut effects = begin(model, document);
            effects.push(Effect::Claim(found.original));
            model.station = Station::Learn;
            model.notices.show(Notice::new(
                Topic::Recovered,
                Level::Note,
                format!("This is the work kept at {}.", found.when),
                "Save it to keep it.",
            ));
            // The found copy stays until this one is saved or given up.
            effects
        }
        Err(error) => {
            model.notices.show(Notice::new(
                Topic::Recovered,
                Level::Stop,
                "The kept copy can't be read.",
                error.to_string(),
            ));
            Vec::new()
        }
    }
}

fn save(model: &mut Model) -> Vec<Effect> {
    let Some(document) = &model.document else { return Vec::new() };
    match (&document.path, &document.read_only) {
        (Some(path), None) => save_to(model, path.clone()),
        _ => ask_save(model),
    }
}

fn ask_save(model: &Model) -> Vec<Effect> {
    let Some(project) = model.project() else { return Vec::new() };
    let name = project::unique_id(&project.vehicle.name, |_| false).replace('_', "-");
    vec![ask(PathPurpose::Save, &format!("{name}.ron"))]
}

fn save_to(model: &mut Model, path: PathBuf) -> Vec<Effect> {
    let Some(document) = &model.document else { return Vec::new() };
    if let (Some(why), Some(own)) = (&document.read_only, &document.path)
        && *own == path
    {
        let body = format!("{why} Save it under another name.");
        model.notices.show(Notice::new(Topic::File, Level::Stop, "Not saved over this file.", body));
        return Vec::new();
    }
    let path = if path.extension().is_none() { path.with_extension("ron") } else { path };
    vec![Effect::Save { path, project: Box::new(document.project().clone()) }]
}

fn saved(model: &mut Model, path: PathBuf, project: Project, result: Result<(), String>) -> Vec<Effect> {
    let name = name_of(&path);
    if let Err(why) = result {
        model.kept.save_first = false;
        model.notices.show(
            Notice::new(Topic::File, Level::Stop, format!("{name} was not saved."), why)
                .offering("Save as", Action::File(FileAction::AskSave)),
        );
        return Vec::new();
    }
    let clock = model.now.clock.clone();
    let mut effects = vec![Effect::Remember(path.clone())];
    effects.extend(given_up(model.document.as_ref()));
    if let Some(document) = &mut model.document {
        document.saved(project, path, clock);
        document.recovered = false;
    }
    model.notices.clear(Topic::File);
    model.notices.clear(Topic::Recovered);
    model.kept.stale = true;
    if std::mem::take(&mut model.kept.save_first)
        && let Some(guarded) = model.showing.guard.take()
    {
        effects.extend(go_on(model, guarded));
    }
    effects
}

/// A command that is being typed is in no project yet: it is kept or discarded first.
fn draft_is_in_the_way(model: &mut Model) -> bool {
    let is_typed = model.codes.draft.as_ref().is_some_and(|draft| !draft.name.trim().is_empty());
    if is_typed {
        model.station = Station::Codes;
        model.notices.show(
            Notice::new(
                Topic::Edit,
                Level::Caution,
                "A command is being typed.",
                "Keep it or discard it first.",
            )
            .at(Station::Codes),
        );
    }
    is_typed
}

/// Whether closing this project would lose work.
pub(super) fn has_unsaved_work(model: &Model) -> bool {
    model.document.as_ref().is_some_and(Document::has_unsaved_work)
}

/// The window wants to close, or a decision about that was made.
pub(super) fn close(model: &mut Model, action: CloseAction) -> Vec<Effect> {
    match action {
        CloseAction::Ask => {
            if draft_is_in_the_way(model) {
                return Vec::new();
            }
            if has_unsaved_work(model) {
                model.showing.guard = Some(Guarded::Close);
                Vec::new()
            } else {
                vec![Effect::DropAutosave, Effect::Close]
            }
        }
        CloseAction::Stay => {
            model.showing.guard = None;
            model.kept.save_first = false;
            Vec::new()
        }
        CloseAction::SaveFirst => {
            model.kept.save_first = true;
            save(model)
        }
        CloseAction::Anyway => {
            // Work from before that is given up goes with its document: see `given_up`.
            let guarded = model.showing.guard.take();
            guarded.map_or_else(Vec::new, |guarded| go_on(model, guarded))
        }
    }
}

fn go_on(model: &mut Model, guarded: Guarded) -> Vec<Effect> {
    match guarded {
        Guarded::Close => {
            let mut effects = given_up(model.document.as_ref());
            effects.push(Effect::Close);
            effects
        }
        Guarded::File(action) => open_now(model, action),
    }
}

fn tape_to(model: &mut Model, path: PathBuf) -> Vec<Effect> {
    let path = if path.extension().is_none() { path.with_extension("csv") } else { path };
    model.tape = Some(Tape { path: path.clone(), readings: 0 });
    model.notices.clear(Topic::Tape);
    vec![Effect::Tape(TapeEffect::Start { path, wires: model.link.wires.max(1) })]
}

/// Keeps a copy of unsaved work, now and then.
pub(super) fn autosave(model: &mut Model) -> Option<Effect> {
    let (serial, at_ms) = model.kept.autosaved;
    let document = model.document.as_ref().filter(|document| document.serial() != serial)?;
    // Whether anything is unsaved is asked last: it looks at the whole project.
    if model.now.ms - at_ms < AUTOSAVE_MS || !document.has_unsaved_work() {
        return None;
    }
    let effect =
        Effect::Autosave { original: document.path.clone(), project: Box::new(document.project().clone()) };
    model.kept.autosaved = (document.serial(), model.now.ms);
    Some(effect)
}

/// A file's name without its folders.
fn name_of(path: &Path) -> String {
    path.file_name().map_or_else(|| path.display().to_string(), |name| name.to_string_lossy().into_owned())
}
