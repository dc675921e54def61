//! What `learn` was sent for: which buttons, of which project, saved where. Knows no link and no
//! presses being made.

use std::fs::File;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use super::super::io::{CliError, Io};
use super::LearnArgs;
use super::lesson::Lesson;
use crate::app::Edit;
use crate::app::edit::apply;
use crate::circuit::Reference;
use crate::demo::demo_project;
use crate::files::{Claim, InUse, Places, SaveError, save};
use crate::learn::{ButtonResult, Setup};
use crate::project::{Button, ButtonId, LearnedButton, Project, bands, write};
use crate::signal::Converter;
use crate::wire::{NamedReference, ReferenceKind};

/// What is to be learned, and where it is kept.
pub(super) struct Errand {
    project: Project,
    path: PathBuf,
    asked: Vec<ButtonId>,
    learned: Vec<ButtonId>,
    presses: u32,
    is_demo: bool,
    is_new: bool,
    /// Held until the end, so that no window opens the file meanwhile.
    _claim: Option<InUse>,
}

impl Errand {
    /// Finds the project and its buttons, and makes sure that it can be saved before anybody
    /// presses anything.
    pub(super) fn of(args: &LearnArgs, io: &mut Io<'_>) -> Result<Self, CliError> {
        let path = args.save.clone();
        let is_new = !path.exists();
        let claim = claim(&path)?;
        let mut project = if is_new { new_project(args) } else { old_project(&path, io)? };
        let wanted = wanted(args, &project)?;
        let mut asked = Vec::new();
        for name in &wanted {
            let id = match find(&project, name) {
                Some(id) => id,
                None => add(&mut project, name, is_new, io)?,
            };
            if asked.contains(&id) {
                return Err(CliError::Use(format!("\"{name}\" is asked for twice. Name each button once.")));
            }
            asked.push(id);
        }
        if is_new {
            project.plan.presses = args.presses.unwrap_or(project.plan.presses);
            can_be_made(&path).map_err(CliError::failed)?;
        }
        let presses = args.presses.unwrap_or(project.plan.presses);
        Ok(Self {
            project,
            path,
            asked,
            learned: Vec::new(),
            presses,
            is_demo: args.demo,
            is_new,
            _claim: claim,
        })
    }

    /// What the session is told.
    pub(super) fn setup(&self) -> Setup {
        let mut setup = Setup::for_project(&self.project, &self.asked);
        setup.presses = self.presses;
        if self.is_demo {
            return setup;
        }
        setup.with_bands(&self.project, &bands(&self.project))
    }

    /// What the probe's numbers run to, as far as the project knows.
    pub(super) fn converter(&self) -> Converter {
        if self.is_demo { Converter::TenBit } else { self.project.plan.converter }
    }

    /// What a box measures against: what the project says, else the supply.
    pub(super) fn reference(&self) -> NamedReference {
        let Some(circuit) = &self.project.circuit else { return NamedReference::default() };
        let kind = match circuit.reference {
            Reference::Supply => ReferenceKind::Supply,
            Reference::Internal { .. } => ReferenceKind::Internal,
            Reference::External { .. } => ReferenceKind::External,
        };
        NamedReference { kind, feed_monitor: circuit.feed_monitor.is_some() }
    }

    /// What each button is called.
    pub(super) fn names(&self) -> Vec<(ButtonId, String)> {
        let buttons = self.project.wheel.buttons.iter();
        buttons.map(|button| (button.id.clone(), called(button).to_owned())).collect()
    }

    /// Which of the demo wheel's buttons each button asked for is.
    pub(super) fn demo_order(&self) -> Vec<(ButtonId, usize)> {
        let buttons = self.asked.iter().filter_map(|id| self.project.button(id));
        buttons
            .filter_map(|(_, button)| {
                let number = demo_number(&button.id.0).or_else(|| demo_number(&button.name))?;
                Some((button.id.clone(), number))
            })
            .collect()
    }

    /// Takes what was learned into the project: whole buttons only. True where that is all.
    pub(super) fn keep(&mut self, lesson: &Lesson) -> bool {
        let whole = |result: &&ButtonResult| result.presses.len() >= self.presses as usize;
        for result in lesson.results().iter().filter(whole) {
            let learned = LearnedButton {
                presses: result.presses.clone(),
                indistinct_from: result.indistinct_from.clone(),
            };
            self.project.learned.insert(result.id.clone(), learned);
            self.project.put_traces(&result.id, result.traces.iter().cloned());
            let button = self.project.wheel.buttons.iter_mut().find(|button| button.id == result.id);
            if let Some(button) = button {
                button.wire = result.wire.or(button.wire);
            }
            self.learned.push(result.id.clone());
        }
        if !self.learned.is_empty() {
            self.project.rests.extend(lesson.rests());
            if !self.is_demo {
                self.project.plan.converter = lesson.converter();
            }
        }
        self.learned.len() == self.asked.len()
    }

    /// Saves the project.
    pub(super) fn save(&self) -> Result<(), CliError> {
        save(&self.path, &write(&self.project)).map(|_| ()).map_err(CliError::failed)
    }

    /// What was learned, in the order it was asked for.
    pub(super) fn learned(&self) -> &[ButtonId] {
        &self.learned
    }

    pub(super) fn project(&self) -> &Project {
        &self.project
    }

    pub(super) fn path(&self) -> &Path {
        &self.path
    }

    /// What became of the file when not all was learned, and how to go on.
    pub(super) fn what_is_kept(&self) -> String {
        let file = self.path.display();
        let rest = self.asked.iter().filter(|id| !self.learned.contains(id)).map(|id| id.0.as_str());
        let rest = rest.collect::<Vec<_>>().join(",");
        if self.learned.is_empty() {
            let file_is = if self.is_new { "was not made" } else { "was left as it was" };
            return format!("No button was learned, and \"{file}\" {file_is}.");
        }
        let learned: Vec<_> = self
            .learned
            .iter()
            .filter_map(|id| self.project.button(id))
            .map(|(_, button)| called(button))
            .collect();
        let kept = format!("Learned and saved in \"{file}\": {}.", learned.join(", "));
        if rest.is_empty() { kept } else { format!("{kept} Go on with --buttons {rest}.") }
    }
}

/// A button's name, or its id where it has none.
pub(super) fn called(button: &Button) -> &str {
    if button.name.trim().is_empty() { &button.id.0 } else { &button.name }
}

/// Takes the file for this process, where the system can tell.
fn claim(path: &Path) -> Result<Option<InUse>, CliError> {
    match Places::of_user().map(|places| InUse::claim(&places, path)) {
        Some(Ok(Claim::Elsewhere)) => Err(CliError::Failed(format!(
            "\"{}\" is open in a window, or is being learned into. Close it there, or --save another file.",
            path.display()
        ))),
        Some(Ok(Claim::Ours(claim))) => Ok(Some(claim)),
        // Without a state folder nobody can tell; that is no reason not to learn.
        Some(Err(_)) | None => Ok(None),
    }
}

fn new_project(args: &LearnArgs) -> Project {
    if args.demo {
        return demo_project();
    }
    let stem = args.save.file_stem().unwrap_or_default().to_string_lossy();
    Project::new(&stem, "")
}

/// The project to learn into, which must be one that can be saved as it is.
fn old_project(path: &Path, io: &mut Io<'_>) -> Result<Project, CliError> {
    let text = crate::files::load(path).map_err(CliError::failed)?;
    let opened = super::super::io::read_named(path, &text)?;
    if let Some(reason) = opened.read_only {
        return Err(CliError::Failed(format!("\"{}\" can't be learned into. {reason}", path.display())));
    }
    for warning in &opened.warnings {
        io.remark(warning);
    }
    // The same text once more: whatever would stand in the way at the end does so now.
    save(path, &text).map_err(CliError::failed)?;
    Ok(opened.project)
}

/// The names as they were given, or all there are.
fn wanted(args: &LearnArgs, project: &Project) -> Result<Vec<String>, CliError> {
    let wanted: Vec<String> = if !args.buttons.is_empty() {
        args.buttons.iter().map(|name| name.trim().to_owned()).collect()
    } else if args.demo {
        demo_project().wheel.buttons.into_iter().map(|button| button.name).collect()
    } else {
        project.wheel.buttons.iter().map(|button| button.id.0.clone()).collect()
    };
    if wanted.is_empty() {
        return Err(CliError::Use(
            "There are no buttons to learn. Name them: --buttons \"Volume up,Volume down,Mute\".".to_owned(),
        ));
    }
    if let Some(stranger) = wanted.iter().find(|name| args.demo && demo_number(name).is_none()) {
        let names: Vec<_> = demo_project().wheel.buttons.into_iter().map(|button| button.id.0).collect();
        return Err(CliError::Use(format!(
            "The demo van's wheel has no button \"{stranger}\". It has {}.",
            names.join(", ")
        )));
    }
    Ok(wanted)
}

/// The button that a person means by its id or its name.
fn find(project: &Project, name: &str) -> Option<ButtonId> {
    let buttons = &project.wheel.buttons;
    let by_id = buttons.iter().find(|button| button.id.0 == name);
    let by_name = || buttons.iter().find(|button| button.name.trim().to_lowercase() == name.to_lowercase());
    by_id.or_else(by_name).map(|button| button.id.clone())
}

/// Adds a button that the project doesn't have; to an old project not without a word.
fn add(project: &mut Project, name: &str, is_new: bool, io: &mut Io<'_>) -> Result<ButtonId, CliError> {
    let there: Vec<_> = project.wheel.buttons.iter().map(|button| button.id.0.clone()).collect();
    apply(project, &Edit::AddButton(name.to_owned())).map_err(CliError::bad_use)?;
    let id = project.wheel.buttons.last().map(|button| button.id.clone()).unwrap_or_default();
    if !is_new && !there.is_empty() {
        io.remark(format_args!("\"{name}\" is a new button, {}. There were {}.", id.0, there.join(", ")));
    }
    Ok(id)
}

/// The place of a button on the demo wheel, by its id or its name.
fn demo_number(name: &str) -> Option<usize> {
    let demo = demo_project();
    let id = find(&demo, name)?;
    demo.button(&id).map(|(index, _)| index)
}

/// Whether a new file can be made there: it is made, and taken away again.
fn can_be_made(path: &Path) -> Result<(), SaveError> {
    let given = || path.to_owned();
    if path.file_name().is_none() {
        return Err(SaveError::NoName { path: given() });
    }
    let made =
        File::options().write(true).create_new(true).open(path).map_err(|error| match error.kind() {
            ErrorKind::NotFound | ErrorKind::NotADirectory => SaveError::NoFolder { path: given() },
            ErrorKind::PermissionDenied => SaveError::NotAllowed { path: given() },
            ErrorKind::InvalidFilename | ErrorKind::InvalidInput => SaveError::BadName { path: given() },
            _ => SaveError::Failed { path: given(), step: "making it", reason: error.to_string() },
        })?;
    drop(made);
    // A file that stays would be empty; saving puts the project in its place.
    let _ = std::fs::remove_file(path);
    Ok(())
}
