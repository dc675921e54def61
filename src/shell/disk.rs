//! The thread that waits for the disk, so that the window never does.

use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::thread::JoinHandle;

use crate::app::codes::list::ListAction;
use crate::app::{Action, CodesAction, FileAction};
use crate::files::{self, Autosave, Claim, InUse, Places, Preferences, Unsaved};
use crate::project::{self, Project};

/// Jobs that wait to be done.
const WAITING: usize = 64;

/// Something to be done on the disk.
pub(super) enum Job {
    /// Read a project, and claim it for this window.
    Load(PathBuf),
    /// Write a project.
    Save { path: PathBuf, project: Box<Project> },
    /// Write a text beside the project.
    WriteText { path: PathBuf, text: String },
    /// Read a list of commands.
    ReadList(PathBuf),
    /// Write a list of commands.
    WriteList { path: PathBuf, text: String },
    /// Keep a copy of unsaved work.
    Autosave { original: Option<PathBuf>, project: Box<Project> },
    /// The kept copy isn't needed any more.
    DropAutosave,
    /// The first of the copies found at the start isn't needed any more; answered by the next.
    DropFound,
    /// Claim this file for this window, or none.
    Claim(Option<PathBuf>),
    /// Put this file first among the recent ones.
    Remember(PathBuf),
    /// Keep the preferences.
    KeepPreferences(Box<Preferences>),
}

/// The thread, and what was remembered when it began.
pub(super) struct Disk {
    jobs: Option<SyncSender<Job>>,
    thread: Option<JoinHandle<()>>,
    remembered: Vec<Action>,
}

impl Disk {
    /// Begins; `places` is `None` where the user has no folders, and then nothing is remembered.
    pub(super) fn start(
        places: Option<Places>,
        answers: SyncSender<Action>,
        wake: impl Fn() + Send + 'static,
    ) -> Self {
        let (jobs, inbox) = sync_channel(WAITING);
        let mut remembered = Vec::new();
        let mut found = Vec::new();
        if let Some(places) = &places {
            let (preferences, _) = Preferences::read(places);
            remembered.push(Action::File(FileAction::Preferences(Box::new(preferences))));
            remembered.push(Action::File(FileAction::Recent(files::recent(places).0)));
            found = files::unsaved(places);
            remembered.extend(found.first().map(offer).map(Action::File));
        }
        let thread = std::thread::Builder::new().name("disk".to_owned()).spawn(move || {
            let autosave = places.as_ref().and_then(|places| Autosave::begin(places).ok());
            let mut worker = Worker { places, autosave, claim: None, found };
            worker.run(&inbox, &answers, &wake);
        });
        // Without the thread nothing can be opened or saved; each job then says so by staying
        // unanswered, and the window keeps the work.
        Self { jobs: Some(jobs), thread: spawned(thread), remembered }
    }

    /// What was remembered from before.
    pub(super) fn remembered(&mut self) -> Vec<Action> {
        std::mem::take(&mut self.remembered)
    }

    /// Asks for something to be done. Jobs come at a person's pace: there is room for them.
    pub(super) fn ask(&self, job: Job) {
        if let Some(jobs) = &self.jobs {
            drop(jobs.send(job));
        }
    }
}

fn spawned(thread: std::io::Result<JoinHandle<()>>) -> Option<JoinHandle<()>> {
    thread.ok()
}

impl Drop for Disk {
    /// What was asked for is done before the window is gone.
    fn drop(&mut self) {
        self.jobs = None;
        if let Some(thread) = self.thread.take() {
            drop(thread.join());
        }
    }
}

struct Worker {
    places: Option<Places>,
    autosave: Option<Autosave>,
    claim: Option<InUse>,
    found: Vec<Unsaved>,
}

impl Worker {
    fn run(&mut self, jobs: &Receiver<Job>, answers: &SyncSender<Action>, wake: &dyn Fn()) {
        while let Ok(job) = jobs.recv() {
            if let Some(action) = self.work(job) {
                // A closed window takes no answer.
                if answers.try_send(action).is_err() {
                    continue;
                }
                wake();
            }
        }
    }

    /// Does a job; gives its answer, if it has one.
    fn work(&mut self, job: Job) -> Option<Action> {
        match job {
            Job::ReadList(path) => {
                // Read here, and not only loaded: a long list takes longer than a frame may.
                let read = files::load_list(&path)
                    .map(|bytes| Box::new(project::read_list(&bytes)))
                    .map_err(|error| error.to_string());
                Some(Action::Codes(CodesAction::List(ListAction::Loaded { path, read })))
            }
            Job::WriteList { path, text } => {
                let result = files::save_list(&path, &text).map(|_| ()).map_err(|error| error.to_string());
                Some(Action::Codes(CodesAction::List(ListAction::Written { path, result })))
            }
            job => self.file_work(job).map(Action::File),
        }
    }

    fn file_work(&mut self, job: Job) -> Option<FileAction> {
        match job {
            // Answered by another station, above.
            Job::ReadList(_) | Job::WriteList { .. } => None,
            Job::Load(path) => {
                let text = files::load(&path).map_err(|error| error.to_string());
                // A file that can't be opened takes nothing from the one that is open.
                let opens = text.as_ref().is_ok_and(|text| project::read(text).is_ok());
                let elsewhere = opens && self.claim(&path);
                Some(FileAction::Loaded { path, text, elsewhere })
            }
            Job::Save { path, project } => {
                let result = files::save(&path, &project::write(&project))
                    .map(|_| ())
                    .map_err(|error| error.to_string());
                if result.is_ok() {
                    self.claim(&path);
                }
                Some(FileAction::Saved { path, project, result })
            }
            Job::WriteText { path, text } => {
                let result = files::save(&path, &text).map(|_| ()).map_err(|error| error.to_string());
                Some(FileAction::Written { path, result })
            }
            Job::Autosave { original, project } => {
                if let Some(autosave) = &self.autosave {
                    // A copy that can't be kept is no reason to stop a person's work; saving says
                    // what is wrong with the disk.
                    drop(autosave.keep(original.as_deref(), &project::write(&project)));
                }
                None
            }
            Job::DropAutosave => {
                if let Some(autosave) = &self.autosave {
                    autosave.clear();
                }
                None
            }
            Job::DropFound => {
                if !self.found.is_empty() {
                    self.found.remove(0).discard();
                }
                self.found.first().map(offer)
            }
            Job::Claim(path) => {
                self.claim = None;
                if let Some(path) = path {
                    self.claim(&path);
                }
                None
            }
            Job::Remember(path) => {
                let places = self.places.as_ref()?;
                files::note_recent(places, &path).ok().map(FileAction::Recent)
            }
            Job::KeepPreferences(preferences) => {
                if let Some(places) = &self.places {
                    drop(preferences.write(places));
                }
                None
            }
        }
    }

    /// Claims a file for this window; true if another has it.
    fn claim(&mut self, path: &Path) -> bool {
        let Some(places) = &self.places else { return false };
        // Letting go first: this window's own claim on the same file is no other window.
        self.claim = None;
        match InUse::claim(places, path) {
            Ok(Claim::Ours(claim)) => {
                self.claim = Some(claim);
                false
            }
            Ok(Claim::Elsewhere) => true,
            Err(_) => false,
        }
    }
}

/// What is said of a copy found at the start.
fn offer(unsaved: &Unsaved) -> FileAction {
    FileAction::Found {
        original: unsaved.original.clone(),
        text: unsaved.text.clone(),
        when: clock(unsaved.kept_ms),
    }
}

/// A time as a person reads it, `21:14` today or with its date before.
fn clock(kept_ms: u64) -> String {
    let Ok(at) = i64::try_from(kept_ms)
        .map_err(drop)
        .and_then(|ms| jiff::Timestamp::from_millisecond(ms).map_err(drop))
    else {
        return "an unknown time".to_owned();
    };
    let at = at.to_zoned_datetime(jiff::tz::TimeZone::system());
    let today = jiff::ZonedDateTime::now().date() == at.date();
    at.strftime(if today { "%H:%M" } else { "%Y-%m-%d %H:%M" }).to_string()
}
