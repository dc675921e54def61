//! The open project with its history: what can be undone, what is saved, and where.

use std::path::PathBuf;

use crate::project::Project;

/// How many steps back are kept. A project is a few kilobytes; two hundred of them are nothing.
const HISTORY: usize = 200;

/// The open project.
#[derive(Clone, Debug)]
pub struct Document {
    project: Project,
    past: Vec<Step>,
    future: Vec<Step>,
    /// The project as it stands in the file; `None` if it was never saved.
    saved: Option<Project>,
    /// Counts every change, so that what is derived from the project knows when it is stale.
    serial: u64,
    /// The file it came from or went to.
    pub path: Option<PathBuf>,
    /// The wall clock when it was saved last, as `21:14`.
    pub saved_at: Option<String>,
    /// Why it can't be saved over its file, if so.
    pub read_only: Option<String>,
    /// Whether it is work found from before, which nothing but a save makes safe.
    pub recovered: bool,
}

/// A state of the project that undo or redo goes to.
#[derive(Clone, Debug)]
struct Step {
    project: Project,
    /// What the change was; edits with one key follow each other as one step.
    key: Option<String>,
}

impl Document {
    /// A project that no file holds yet.
    #[must_use]
    pub fn unsaved(project: Project) -> Self {
        Self {
            project,
            past: Vec::new(),
            future: Vec::new(),
            saved: None,
            serial: 0,
            path: None,
            saved_at: None,
            read_only: None,
            recovered: false,
        }
    }

    /// A project as it stands in a file.
    #[must_use]
    pub fn opened(project: Project, path: PathBuf, read_only: Option<String>) -> Self {
        let saved = Some(project.clone());
        Self { saved, path: Some(path), read_only, ..Self::unsaved(project) }
    }

    /// The project.
    #[must_use]
    pub const fn project(&self) -> &Project {
        &self.project
    }

    /// Grows with every change, undo and redo included.
    #[must_use]
    pub const fn serial(&self) -> u64 {
        self.serial
    }

    /// Changes the project as one step of undo. Changes with the same `key` that directly follow
    /// each other (a name being typed) are one step. A change that changes nothing is no step.
    pub fn change(&mut self, key: Option<&str>, change: impl FnOnce(&mut Project)) {
        let before = self.project.clone();
        change(&mut self.project);
        if self.project == before {
            return;
        }
        self.serial += 1;
        self.future.clear();
        let continues = key.is_some() && self.past.last().is_some_and(|step| step.key.as_deref() == key);
        if !continues {
            self.past.push(Step { project: before, key: key.map(str::to_owned) });
            if self.past.len() > HISTORY {
                self.past.remove(0);
            }
        }
    }

    /// Ends a run of edits that would be one step.
    pub fn settle(&mut self) {
        if let Some(step) = self.past.last_mut() {
            step.key = None;
        }
    }

    /// Whether there is a step to undo.
    #[must_use]
    pub const fn can_undo(&self) -> bool {
        !self.past.is_empty()
    }

    /// Whether there is a step to redo.
    #[must_use]
    pub const fn can_redo(&self) -> bool {
        !self.future.is_empty()
    }

    /// One step back; false if there is none.
    pub fn undo(&mut self) -> bool {
        let Some(step) = self.past.pop() else { return false };
        let now = std::mem::replace(&mut self.project, step.project);
        self.future.push(Step { project: now, key: None });
        self.settle();
        self.serial += 1;
        true
    }

    /// One step forward again; false if there is none.
    pub fn redo(&mut self) -> bool {
        let Some(step) = self.future.pop() else { return false };
        let now = std::mem::replace(&mut self.project, step.project);
        self.past.push(Step { project: now, key: None });
        self.serial += 1;
        true
    }

    /// Whether the project differs from what its file holds.
    #[must_use]
    pub fn is_dirty(&self) -> bool {
        self.saved.as_ref() != Some(&self.project)
    }

    /// Whether closing it would lose anything a person did.
    #[must_use]
    pub fn has_unsaved_work(&self) -> bool {
        self.is_dirty() && (self.recovered || self.was_saved() || self.can_undo())
    }

    /// Whether any file holds it, in this or an older state.
    #[must_use]
    pub const fn was_saved(&self) -> bool {
        self.saved.is_some()
    }

    /// Takes note that `project` now stands in the file at `path`.
    pub fn saved(&mut self, project: Project, path: PathBuf, at: String) {
        self.saved = Some(project);
        self.path = Some(path);
        self.saved_at = Some(at);
        self.read_only = None;
        self.settle();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn named(document: &Document) -> &str {
        &document.project().vehicle.name
    }

    fn rename(document: &mut Document, key: Option<&str>, name: &str) {
        let name = name.to_owned();
        document.change(key, |project| project.vehicle.name = name);
    }

    #[test]
    fn every_edit_can_be_undone_and_redone() {
        let mut document = Document::unsaved(Project::new("a", ""));
        rename(&mut document, None, "b");
        rename(&mut document, None, "c");
        assert!(document.undo() && document.undo() && !document.undo());
        assert_eq!(named(&document), "a");
        assert!(document.redo() && document.redo() && !document.redo());
        assert_eq!(named(&document), "c");
    }

    #[test]
    fn typing_a_name_is_one_step() {
        let mut document = Document::unsaved(Project::new("", ""));
        for name in ["v", "va", "van"] {
            rename(&mut document, Some("vehicle"), name);
        }
        document.settle();
        rename(&mut document, Some("vehicle"), "vans");
        assert!(document.undo());
        assert_eq!(named(&document), "van");
        assert!(document.undo());
        assert_eq!(named(&document), "");
    }

    #[test]
    fn an_edit_after_undo_drops_what_was_undone() {
        let mut document = Document::unsaved(Project::new("a", ""));
        rename(&mut document, None, "b");
        document.undo();
        rename(&mut document, None, "c");
        assert!(!document.can_redo());
    }

    #[test]
    fn a_change_that_changes_nothing_is_no_step() {
        let mut document = Document::unsaved(Project::new("a", ""));
        let serial = document.serial();
        rename(&mut document, None, "a");
        assert!(!document.can_undo());
        assert_eq!(document.serial(), serial);
    }

    #[test]
    fn undoing_back_to_what_the_file_holds_is_saved_again() {
        let mut document = Document::opened(Project::new("a", ""), "a.ron".into(), None);
        assert!(!document.is_dirty());
        rename(&mut document, None, "b");
        assert!(document.is_dirty());
        document.undo();
        assert!(!document.is_dirty());
    }

    #[test]
    fn history_is_bounded() {
        let mut document = Document::unsaved(Project::new("", ""));
        for step in 0..(HISTORY + 50) {
            rename(&mut document, None, &step.to_string());
        }
        let mut steps = 0;
        while document.undo() {
            steps += 1;
        }
        assert_eq!(steps, HISTORY);
    }
}
