//! Unsaved work that outlives a crash: each window keeps one copy of its own in the state folder,
//! and the next start offers what no living window holds.
//!
//! Copies are kept per window and not per file, so that two windows never write over each other's
//! work: neither two new projects without a name, nor one file open twice.

use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::time::{SystemTime, UNIX_EPOCH};

use serde::{Deserialize, Serialize};

use super::load::load_up_to;
use super::places::Places;
use super::save::{SaveError, named, save};
use crate::project::MAX_BYTES;

/// The longest copy that is read, in bytes: a project with every character escaped, and its path.
const MAX_COPY_BYTES: u64 = 8 * MAX_BYTES as u64;

/// One window's copy.
#[derive(Debug)]
pub struct Autosave {
    copy: PathBuf,
    lock_path: PathBuf,
    /// Held for its lock: while it is, the copy belongs to a living window.
    lock: File,
}

/// A copy that was left by a window that is no more.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unsaved {
    /// The file it was opened from; `None` for a project that had no name yet.
    pub original: Option<PathBuf>,
    /// When the copy was made, in milliseconds since 1970.
    pub kept_ms: u64,
    /// The project's text.
    pub text: String,
    copy: PathBuf,
}

/// A copy as it is written.
#[derive(Serialize, Deserialize)]
struct Kept {
    original: Option<String>,
    kept_ms: u64,
    text: String,
}

impl Autosave {
    /// Begins for this window.
    ///
    /// # Errors
    /// [`SaveError`] if the state folder can't be written.
    pub fn begin(places: &Places) -> Result<Self, SaveError> {
        let folder = places.unsaved();
        let failed = |error| named(folder.join("copy.ron"), "making a place for unsaved work", 0, &error);
        fs::create_dir_all(&folder).map_err(failed)?;
        let mut number = 0_u32;
        loop {
            let name = format!("{}-{}-{number}", std::process::id(), now_ms());
            let lock_path = folder.join(&name).with_extension("lock");
            match File::options().create_new(true).write(true).open(&lock_path) {
                Ok(lock) => {
                    lock.lock().map_err(failed)?;
                    return Ok(Self { copy: lock_path.with_extension("ron"), lock_path, lock });
                }
                Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => number += 1,
                Err(error) => return Err(failed(error)),
            }
        }
    }

    /// Keeps a copy of unsaved work, in place of this window's last.
    ///
    /// # Errors
    /// [`SaveError`] if it can't be written; the last copy stays.
    pub fn keep(&self, original: Option<&Path>, text: &str) -> Result<(), SaveError> {
        let original = original.map(|path| path.to_string_lossy().into_owned());
        let kept = Kept { original, kept_ms: now_ms(), text: text.to_owned() };
        // A struct of texts and a number: writing it to memory can't fail.
        save(&self.copy, &ron::to_string(&kept).unwrap_or_default())?;
        // What was there is an older copy of the same work.
        drop(fs::remove_file(super::save::backup_path(&self.copy)));
        Ok(())
    }

    /// Forgets the copy: the work is saved, or was given up by the person.
    pub fn clear(&self) {
        drop(fs::remove_file(&self.copy));
    }
}

impl Drop for Autosave {
    /// Lets go of the copy and leaves it there: whoever closes the window in order clears it first.
    fn drop(&mut self) {
        // By word and not only by closing: a program started a moment ago may still hold our file.
        drop(self.lock.unlock());
        if !self.copy.exists() {
            drop(fs::remove_file(&self.lock_path));
        }
    }
}

impl Unsaved {
    /// Removes the copy: it was taken over and kept anew, or the person doesn't want it.
    pub fn discard(self) {
        drop(fs::remove_file(&self.copy));
        drop(fs::remove_file(self.copy.with_extension("lock")));
    }
}

/// What windows that are no more have left and nobody saved since, newest first.
///
/// A copy that says what its file says is removed; one that is older than its file isn't offered.
#[must_use]
pub fn unsaved(places: &Places) -> Vec<Unsaved> {
    let Ok(entries) = fs::read_dir(places.unsaved()) else { return Vec::new() };
    let copies = entries.flatten().map(|entry| entry.path());
    let copies = copies.filter(|path| path.extension().is_some_and(|extension| extension == "ron"));
    let mut found: Vec<Unsaved> = copies.filter(|copy| !is_held(copy)).filter_map(offered).collect();
    found.sort_by_key(|unsaved| std::cmp::Reverse(unsaved.kept_ms));
    found
}

/// Whether a living window holds this copy.
fn is_held(copy: &Path) -> bool {
    let Ok(lock) = File::open(copy.with_extension("lock")) else { return false };
    let held = lock.try_lock().is_err();
    drop(lock.unlock());
    held
}

/// The copy, if it holds work that its file doesn't.
fn offered(copy: PathBuf) -> Option<Unsaved> {
    let kept: Kept = ron::from_str(&load_up_to(&copy, MAX_COPY_BYTES).ok()?).ok()?;
    let unsaved =
        Unsaved { original: kept.original.map(PathBuf::from), kept_ms: kept.kept_ms, text: kept.text, copy };
    if let Some(original) = &unsaved.original {
        if super::load::load(original).is_ok_and(|text| text == unsaved.text) {
            unsaved.discard();
            return None;
        }
        let changed = |path: &Path| fs::metadata(path).and_then(|found| found.modified());
        if let (Ok(file), Ok(copy)) = (changed(original), changed(&unsaved.copy))
            && copy < file
        {
            return None;
        }
    }
    Some(unsaved)
}

/// Milliseconds since 1970; 0 where the clock is set before that.
fn now_ms() -> u64 {
    SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |since| since.as_millis() as u64)
}

#[cfg(test)]
mod tests {
    use std::time::Duration;

    use super::*;

    /// A window that is gone without closing.
    fn crashed(places: &Places, original: Option<&Path>, text: &str) {
        let window = Autosave::begin(places).unwrap();
        window.keep(original, text).unwrap();
        drop(window);
    }

    #[test]
    fn work_without_a_name_is_offered_after_a_crash() {
        let folder = tempfile::tempdir().unwrap();
        let places = Places::under(folder.path());
        assert_eq!(unsaved(&places), []);
        crashed(&places, None, "(vehicle: \"\\ Ω\n\")");
        let found = unsaved(&places);
        assert_eq!(found.len(), 1);
        assert_eq!((found[0].original.as_deref(), found[0].text.as_str()), (None, "(vehicle: \"\\ Ω\n\")"));
        assert!(found[0].kept_ms.abs_diff(now_ms()) < 60_000);
        found.into_iter().for_each(Unsaved::discard);
        assert_eq!(unsaved(&places), []);
        assert_eq!(fs::read_dir(places.unsaved()).unwrap().count(), 0);
    }

    #[test]
    fn what_a_living_window_holds_is_not_offered_and_windows_keep_apart() {
        let folder = tempfile::tempdir().unwrap();
        let places = Places::under(folder.path());
        let (first, second) = (Autosave::begin(&places).unwrap(), Autosave::begin(&places).unwrap());
        first.keep(None, "first").unwrap();
        first.keep(None, "first, later").unwrap();
        second.keep(None, "second").unwrap();
        assert_eq!(unsaved(&places), []);
        drop(first);
        let texts: Vec<_> = unsaved(&places).into_iter().map(|found| found.text).collect();
        assert_eq!(texts, ["first, later"]);
        drop(second);
        assert_eq!(unsaved(&places).len(), 2);
    }

    #[test]
    fn a_window_closed_in_order_leaves_nothing() {
        let folder = tempfile::tempdir().unwrap();
        let places = Places::under(folder.path());
        let window = Autosave::begin(&places).unwrap();
        window.keep(None, "work").unwrap();
        window.clear();
        drop(window);
        assert_eq!(fs::read_dir(places.unsaved()).unwrap().count(), 0);
    }

    #[test]
    fn only_a_copy_newer_than_its_file_is_offered() {
        let folder = tempfile::tempdir().unwrap();
        let places = Places::under(folder.path());
        let path = folder.path().join("van.ron");
        fs::write(&path, "saved").unwrap();
        crashed(&places, Some(&path), "unsaved");
        assert_eq!(unsaved(&places)[0].original.as_deref(), Some(path.as_path()));
        let later = SystemTime::now() + Duration::from_secs(60);
        File::options().write(true).open(&path).unwrap().set_modified(later).unwrap();
        assert_eq!(unsaved(&places), [], "it was saved since");
        fs::remove_file(&path).unwrap();
        assert_eq!(unsaved(&places).len(), 1, "its file is gone");
        fs::write(&path, "unsaved").unwrap();
        assert_eq!(unsaved(&places), [], "it says what the file says");
        assert_eq!(fs::read_dir(places.unsaved()).unwrap().count(), 0);
    }

    #[test]
    fn a_copy_that_is_no_copy_is_passed_over() {
        let folder = tempfile::tempdir().unwrap();
        let places = Places::under(folder.path());
        crashed(&places, None, "work");
        fs::write(places.unsaved().join("1-1-0.ron"), b"\xFF").unwrap();
        fs::write(places.unsaved().join("1-1-1.ron"), "(original: None").unwrap();
        assert_eq!(unsaved(&places).len(), 1);
    }

    #[test]
    fn programs_started_meanwhile_hold_no_copy_back() {
        // Between its start and its own program, a child shares our open files, and with them a lock
        // that is only closed: more than one look in four then took a dead window for a living one.
        use std::sync::atomic::{AtomicBool, Ordering};
        let folder = tempfile::tempdir().unwrap();
        let places = Places::under(folder.path());
        let done = AtomicBool::new(false);
        let found: Vec<usize> = std::thread::scope(|scope| {
            scope.spawn(|| {
                while !done.load(Ordering::Relaxed) {
                    // Its answer doesn't matter: that it starts does.
                    drop(std::process::Command::new(std::env::current_exe().unwrap()).arg("--help").output());
                }
            });
            let found = (0..100).map(|_| {
                crashed(&places, None, "work");
                let found = unsaved(&places);
                let count = found.len();
                found.into_iter().for_each(Unsaved::discard);
                count
            });
            let found = found.collect();
            done.store(true, Ordering::Relaxed);
            found
        });
        assert_eq!(found, [1; 100]);
    }
}
