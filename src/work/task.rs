//! What can be asked for, and what comes of it. Values only, so that a task can be compared, kept and
//! run by hand.

use crate::project::{BoxesError, BoxesPlan, BuiltBoxes, DwellChoice, Project, dwell_choice};

use super::crew::{each_of, threads_here};

/// The kinds of work. Of each one task runs at a time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A million boxes.
    Boxes,
    /// The choice of the dwell.
    Dwell,
}

impl Kind {
    /// What its threads are called.
    pub(super) const fn name(self) -> &'static str {
        match self {
            Self::Boxes => "boxes",
            Self::Dwell => "dwell",
        }
    }
}

/// One long computation.
#[derive(Clone, Debug, PartialEq)]
pub enum Task {
    /// A million boxes.
    Boxes(BoxesTask),
    /// The choice of the dwell.
    Dwell(DwellTask),
}

/// A million boxes of one project.
#[derive(Clone, Debug, PartialEq)]
pub struct BoxesTask {
    /// The project they are built of.
    pub project: Box<Project>,
    /// How many.
    pub boxes: u64,
    /// Where their chance begins: the same seed gives the same boxes.
    pub seed: u64,
}

/// The choice of the dwell for one project.
#[derive(Clone, Debug, PartialEq)]
pub struct DwellTask {
    /// The project, with its recorded presses.
    pub project: Box<Project>,
}

/// What the desk has to say. A result is the last word of its task; a task that was stopped or
/// replaced says nothing more.
#[derive(Clone, Debug, PartialEq)]
pub enum News {
    /// How far a task has come.
    Progress {
        /// Which kind.
        kind: Kind,
        /// The number it was started under.
        ticket: u64,
        /// 0 to 1.
        share: f32,
    },
    /// A million boxes are built, or can't be: what is wrong and what to do.
    Boxes {
        /// The number it was started under.
        ticket: u64,
        /// What came of it.
        result: Result<Box<BuiltBoxes>, String>,
    },
    /// The table of dwells is there, or can't be: what is wrong and what to do.
    Dwell {
        /// The number it was started under.
        ticket: u64,
        /// What came of it.
        result: Result<Box<DwellChoice>, String>,
    },
}

impl Task {
    /// Which kind it is.
    #[must_use]
    pub const fn kind(&self) -> Kind {
        match self {
            Self::Boxes(_) => Kind::Boxes,
            Self::Dwell(_) => Kind::Dwell,
        }
    }

    /// Computes it here and now. `stop` is asked every few milliseconds, and once it says true the
    /// result is of no use; `progress` is told the share done, 0 to 1.
    #[must_use]
    pub fn run(self, ticket: u64, stop: &(dyn Fn() -> bool + Sync), progress: &mut dyn FnMut(f32)) -> News {
        match self {
            Self::Boxes(task) => {
                let built = task.run(threads_here(), stop, progress);
                News::Boxes { ticket, result: built.map(Box::new).map_err(|error| error.to_string()) }
            }
            Self::Dwell(task) => News::Dwell { ticket, result: task.run(stop, progress) },
        }
    }

    /// The same without a desk, for tests and commands: nothing stops it and nobody watches.
    #[must_use]
    pub fn run_by_hand(self, ticket: u64) -> News {
        self.run(ticket, &|| false, &mut |_| ())
    }
}

impl BoxesTask {
    /// Builds the boxes on so many threads; their number changes nothing but the time.
    ///
    /// # Errors
    /// What is missing, and what to do.
    pub fn run(
        &self,
        threads: usize,
        stop: &(dyn Fn() -> bool + Sync),
        progress: &mut dyn FnMut(f32),
    ) -> Result<BuiltBoxes, BoxesError> {
        let plan = BoxesPlan::of(&self.project)?;
        let run = plan.run(self.boxes, self.seed)?;
        let chunks = run.chunks();
        let mut sum = run.none();
        let mut have = 0;
        each_of(chunks, threads, stop, &|chunk| run.tally(chunk), &mut |_, tally| {
            sum.add(&tally);
            have += 1;
            progress(have as f32 / chunks as f32);
        });
        Ok(plan.built(&run, &sum, self.seed))
    }
}

impl DwellTask {
    /// Tries every dwell.
    ///
    /// # Errors
    /// What is missing, and what to do.
    pub fn run(
        self,
        stop: &dyn Fn() -> bool,
        progress: &mut dyn FnMut(f32),
    ) -> Result<Box<DwellChoice>, String> {
        let found = dwell_choice(&self.project, stop, progress).map_err(|error| error.to_string())?;
        found.map(Box::new).ok_or_else(|| "It was stopped. Try the dwells again.".to_owned())
    }
}

impl News {
    /// Which kind it is of.
    #[must_use]
    pub const fn kind(&self) -> Kind {
        match self {
            Self::Progress { kind, .. } => *kind,
            Self::Boxes { .. } => Kind::Boxes,
            Self::Dwell { .. } => Kind::Dwell,
        }
    }

    /// The number its task was started under.
    #[must_use]
    pub const fn ticket(&self) -> u64 {
        match self {
            Self::Progress { ticket, .. } | Self::Boxes { ticket, .. } | Self::Dwell { ticket, .. } => {
                *ticket
            }
        }
    }

    /// The last word of a task that came to a bad end.
    pub(super) fn failed(kind: Kind, ticket: u64, why: String) -> Option<Self> {
        match kind {
            Kind::Boxes => Some(Self::Boxes { ticket, result: Err(why) }),
            Kind::Dwell => Some(Self::Dwell { ticket, result: Err(why) }),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::demo::demo_project;

    #[test]
    fn the_same_seed_gives_the_same_boxes_on_any_number_of_threads() {
        let task = BoxesTask { project: Box::new(demo_project()), boxes: 30_001, seed: 7 };
        let on = |threads| task.run(threads, &|| false, &mut |_| ()).unwrap();
        let one = on(1);
        assert_eq!(one.boxes, 30_001);
        for threads in [2, 3, 8] {
            assert_eq!(on(threads), one, "{threads} threads");
        }
        let other = BoxesTask { seed: 8, ..task.clone() }.run(2, &|| false, &mut |_| ()).unwrap();
        assert_ne!(other.buttons, one.buttons);
    }

    #[test]
    fn a_billion_boxes_stop_when_they_are_told_to() {
        let task = BoxesTask { project: Box::new(demo_project()), boxes: 1_000_000_000, seed: 1 };
        let told = std::sync::atomic::AtomicUsize::new(0);
        let stop = || told.fetch_add(1, std::sync::atomic::Ordering::Relaxed) >= 3;
        let built = task.run(2, &stop, &mut |_| ()).unwrap();
        assert!(built.boxes <= 5 * 4_096, "{}", built.boxes);
    }

    #[test]
    fn by_hand_a_task_gives_its_last_word() {
        let mut project = demo_project();
        project.circuit = None;
        let task = Task::Boxes(BoxesTask { project: Box::new(project), boxes: 8, seed: 1 });
        let News::Boxes { ticket: 5, result: Err(why) } = task.run_by_hand(5) else { panic!("another word") };
        assert!(why.starts_with("The project has no sense circuit."), "{why}");
    }
}
