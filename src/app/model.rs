//! The model: everything the window shows, and nothing that draws, opens or writes.

use std::collections::BTreeSet;
use std::path::PathBuf;

use crate::bands::{BandSet, Grade};
use crate::circuit::JackReport;
use crate::files::Preferences;
use crate::project::{ButtonId, Project};
use crate::signal::{Door, Recording};

use super::action::{FileAction, Now, PathPurpose};
use super::circuit::{CircuitDerived, CircuitState, boxes};
use super::codes::CodesState;
use super::document::Document;
use super::learn::LearnState;
use super::link::LinkState;
use super::notice::Notices;
use super::station::{RailEntry, Station};
use super::the_box::{BoxDerived, BoxState};
use super::wheel::{WheelDerived, WheelState};

/// Everything the window shows.
#[derive(Debug, Default)]
pub struct Model {
    /// The open project, if any.
    pub document: Option<Document>,
    /// Where the person is.
    pub station: Station,
    /// The link.
    pub link: LinkState,
    /// What turns the converter's numbers into counts.
    pub door: Door,
    /// What the wires read.
    pub recording: Recording,
    /// The Wheel station.
    pub wheel: WheelState,
    /// The Circuit station.
    pub circuit: CircuitState,
    /// The Learn station.
    pub learn: LearnState,
    /// The Codes station.
    pub codes: CodesState,
    /// The Box station.
    pub the_box: BoxState,
    /// What a person has to know.
    pub notices: Notices,
    /// What is remembered between starts.
    pub preferences: Preferences,
    /// Files opened before, newest first.
    pub recent: Vec<PathBuf>,
    /// What the clocks said last.
    pub now: Now,
    /// What stands over or beside the stations.
    pub showing: Showing,
    /// The file the recording is written to.
    pub tape: Option<Tape>,
    /// How many times faster than life the demo runs; 0 and 1 are as in life.
    pub demo_speed: u32,
    /// What follows from the project; computed when it changes.
    pub derived: Derived,
    pub(super) kept: Kept,
}

/// What stands over or beside the stations.
#[derive(Clone, Debug, Default)]
pub struct Showing {
    /// The cautions.
    pub cautions: bool,
    /// The sheet of keys.
    pub keys: bool,
    /// A decision about unsaved work, before this is done.
    pub guard: Option<Guarded>,
    /// A path to be typed.
    pub path: Option<PathPurpose>,
    /// Unsaved work from before.
    pub found: Option<Found>,
    /// Whether nobody sees the window, as far as the desktop says: minimised, or wholly covered.
    pub hidden: bool,
}

/// What waits for a decision about unsaved work.
#[derive(Clone, Debug, PartialEq)]
pub enum Guarded {
    /// The window closes.
    Close,
    /// Another project opens.
    File(FileAction),
}

/// Unsaved work from before.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Found {
    /// The file it belongs to.
    pub original: Option<PathBuf>,
    /// The kept text.
    pub text: String,
    /// When it was kept.
    pub when: String,
}

/// A recording being written to a file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tape {
    /// Where.
    pub path: PathBuf,
    /// How many readings went there.
    pub readings: u64,
}

/// What follows from the project.
#[derive(Clone, Debug, Default)]
pub struct Derived {
    /// Bands of what is learned, of the running session's presses and of what the meter promises.
    pub bands: BandSet,
    /// The project with the running session's presses in it: what `bands` was computed from.
    pub merged: Option<Project>,
    /// The project as the box would hold it, and what the box holds against it.
    pub the_box: BoxDerived,
    /// The last re-check, and the feed while learning.
    pub learn: super::learn::bands::BandsDerived,
    /// What a choice of the dwell would stand on.
    pub dwell: super::learn::dwell::DwellDerived,
    /// What the meter's readings of the wheel come to.
    pub wheel: WheelDerived,
    /// What the circuit comes to.
    pub circuit: CircuitDerived,
    /// What the meter's readings at the stereo's input come to.
    pub jack: JackReport,
    /// What the bands say in words, the gravest first.
    pub verdicts: Vec<VerdictLine>,
    /// The stations' nodes.
    pub rail: Vec<RailEntry>,
    /// Whether there is work that no file holds.
    pub unsaved: bool,
    /// The line under the vehicle's name.
    pub saved_line: String,
}

/// What the bands say of one button.
#[derive(Clone, Debug, PartialEq)]
pub struct VerdictLine {
    /// Which button, from 0.
    pub button: usize,
    /// How much it asks for attention.
    pub grade: Grade,
    /// The sentence.
    pub text: String,
}

/// Bookkeeping that nobody sees.
#[derive(Debug, Default)]
pub(super) struct Kept {
    /// The document's serial when a copy was kept last, and when.
    pub autosaved: (u64, f64),
    /// The serial that `derived` was computed for.
    pub derived_for: Option<u64>,
    /// Something other than the document changed what is derived.
    pub stale: bool,
    /// A job of the box goes on: the rail says so, and nothing else follows from it.
    pub box_moved: bool,
    /// Buttons learned since the link was opened: a converter found to be a finer one rescales them.
    pub learned_since_open: BTreeSet<ButtonId>,
    /// Save first, then do what is guarded.
    pub save_first: bool,
    /// Counts documents, so that a late answer about another one is known as such.
    pub document_number: u64,
    /// The number of the last long computation that was asked for.
    pub ticket: u64,
}

impl Model {
    /// The open project.
    #[must_use]
    pub fn project(&self) -> Option<&Project> {
        self.document.as_ref().map(Document::project)
    }

    /// How long, in milliseconds, until something wants the next tick; `None` while nothing does.
    #[must_use]
    pub fn next_tick_ms(&self) -> Option<f64> {
        [self.sweep_tick_ms(), boxes::tick_ms(self)].into_iter().flatten().min_by(f64::total_cmp)
    }

    /// Which state of which document is open; another number for any other.
    pub(super) fn serial(&self) -> Option<u64> {
        self.document.as_ref().map(|document| (self.kept.document_number << 32) | document.serial())
    }

    /// A number for a long computation, that none before it had: an answer to another one is late.
    pub(super) fn next_ticket(&mut self) -> u64 {
        self.kept.ticket += 1;
        self.kept.ticket
    }

    /// The project with what the running session has learned so far.
    #[must_use]
    pub fn merged(&self) -> Option<&Project> {
        self.derived.merged.as_ref().or_else(|| self.project())
    }

    /// The name of a button, or its id where it is gone.
    #[must_use]
    pub fn button_name(&self, id: &ButtonId) -> String {
        self.project()
            .and_then(|project| project.button(id))
            .map_or_else(|| id.0.clone(), |(_, button)| button.name.clone())
    }
}
