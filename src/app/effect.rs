//! What the model asks of the world. It returns these and never acts, so that a test reads as a
//! conversation.

use std::path::PathBuf;

use crate::files::Preferences;
use crate::link::Request;
use crate::project::Project;
use crate::signal::RawReading;
use crate::work::{Kind, Task};

use super::action::PathPurpose;

/// One thing to be done outside the model.
#[derive(Clone, Debug, PartialEq)]
pub enum Effect {
    /// Ask the link's worker.
    Link(Request),
    /// Show a system dialog for a path; the answer comes back as an action for that purpose.
    AskPath {
        /// What for.
        purpose: PathPurpose,
        /// A name to begin with.
        suggest: String,
    },
    /// Read a file; answered by [`FileAction::Loaded`](super::action::FileAction::Loaded).
    Load(PathBuf),
    /// Write the project; answered by [`FileAction::Saved`](super::action::FileAction::Saved).
    Save {
        /// Where.
        path: PathBuf,
        /// What.
        project: Box<Project>,
    },
    /// Keep a copy of unsaved work.
    Autosave {
        /// The file it belongs to.
        original: Option<PathBuf>,
        /// The copy.
        project: Box<Project>,
    },
    /// Nothing is unsaved any more: the kept copy can go.
    DropAutosave,
    /// The unsaved work found at the start is answered: its copy can go, and the next is offered.
    DropFound,
    /// This file is this window's, or none is.
    Claim(Option<PathBuf>),
    /// Put this file first among the recent ones.
    Remember(PathBuf),
    /// Keep the preferences.
    KeepPreferences(Box<Preferences>),
    /// Write a text beside the project; answered by
    /// [`FileAction::Written`](super::action::FileAction::Written).
    WriteText {
        /// Where.
        path: PathBuf,
        /// What.
        text: String,
    },
    /// Read a list of commands; answered by
    /// [`ListAction::Loaded`](super::codes::list::ListAction::Loaded).
    ReadList(PathBuf),
    /// Write a list of commands; answered by
    /// [`ListAction::Written`](super::codes::list::ListAction::Written).
    WriteList {
        /// Where.
        path: PathBuf,
        /// What.
        text: String,
    },
    /// Write readings to the recording's file.
    Tape(TapeEffect),
    /// Compute something long; answered by [`Action::Computed`](super::action::Action::Computed). It
    /// replaces what is computed of its kind.
    Compute {
        /// The number its answers carry.
        ticket: u64,
        /// What.
        task: Task,
    },
    /// Stop what is computed of a kind; no answer comes.
    StopComputing(Kind),
    /// Close the window.
    Close,
}

/// The recording's file.
#[derive(Clone, Debug, PartialEq)]
pub enum TapeEffect {
    /// Begin this file.
    Start {
        /// Where.
        path: PathBuf,
        /// How many wires, 1 or 2.
        wires: u8,
    },
    /// More readings, as they came.
    Write(Vec<RawReading>),
    /// No more.
    Stop,
}
