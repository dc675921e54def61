//! Which window has which file: a lock in the state folder, keyed by the file's canonical path.
//! The system lets go of it when the program ends, however it ends.
//!
//! It tells windows of one user on one machine apart, not machines that share a folder.

use std::fs::{self, File, TryLockError};
use std::path::{Path, PathBuf};

use super::places::Places;
use super::save::{SaveError, named};

/// A file that this window has; let go of when dropped.
#[derive(Debug)]
pub struct InUse {
    lock: File,
}

impl Drop for InUse {
    fn drop(&mut self) {
        // By word and not only by closing: a program started a moment ago may still hold our file.
        drop(self.lock.unlock());
    }
}

/// Whose a file is.
#[derive(Debug)]
pub enum Claim {
    /// This window's, until the value is dropped.
    Ours(InUse),
    /// Another window has it open.
    Elsewhere,
}

impl InUse {
    /// Claims a file, which need not exist yet.
    ///
    /// # Errors
    /// [`SaveError`] if the state folder can't be written: then nobody knows.
    pub fn claim(places: &Places, path: &Path) -> Result<Claim, SaveError> {
        let folder = places.in_use();
        let lock_path = folder.join(lock_name(&canonical(path)));
        let failed = |error| named(lock_path.clone(), "claiming the file for this window", 0, &error);
        fs::create_dir_all(&folder).map_err(failed)?;
        // Lock files stay where they are: one that is removed while another waits for it would
        // let two have it.
        let lock =
            File::options().create(true).truncate(false).write(true).open(&lock_path).map_err(failed)?;
        match lock.try_lock() {
            Ok(()) => Ok(Claim::Ours(Self { lock })),
            Err(TryLockError::WouldBlock) => Ok(Claim::Elsewhere),
            Err(TryLockError::Error(error)) => Err(failed(error)),
        }
    }
}

/// The path with links followed, as far as it exists.
fn canonical(path: &Path) -> PathBuf {
    if let Ok(path) = fs::canonicalize(path) {
        return path;
    }
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    match (fs::canonicalize(folder), path.file_name()) {
        (Ok(folder), Some(name)) => folder.join(name),
        _ => std::path::absolute(path).unwrap_or_else(|_| path.to_owned()),
    }
}

/// A name for the lock that is the same in every version of the program.
fn lock_name(path: &Path) -> String {
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    let hash = path
        .as_os_str()
        .as_encoded_bytes()
        .iter()
        .fold(FNV_BASIS, |hash, &byte| (hash ^ u64::from(byte)).wrapping_mul(FNV_PRIME));
    format!("{}-{hash:016x}.lock", crate::project::unique_id(&stem, |_| false))
}

/// FNV-1a, 64 bits, by Fowler, Noll and Vo (IETF draft-eastlake-fnv): the standard library's hash may
/// change with its version.
const FNV_BASIS: u64 = 0xcbf2_9ce4_8422_2325;
const FNV_PRIME: u64 = 0x0000_0100_0000_01b3;

#[cfg(test)]
mod tests {
    use super::*;

    fn ours(claim: Result<Claim, SaveError>) -> Option<InUse> {
        match claim.unwrap() {
            Claim::Ours(guard) => Some(guard),
            Claim::Elsewhere => None,
        }
    }

    #[test]
    fn a_file_is_one_windows_at_a_time() {
        let folder = tempfile::tempdir().unwrap();
        let places = Places::under(folder.path());
        let (van, other) = (folder.path().join("van.ron"), folder.path().join("other.ron"));
        let first = ours(InUse::claim(&places, &van));
        assert!(first.is_some());
        assert!(ours(InUse::claim(&places, &van)).is_none());
        assert!(ours(InUse::claim(&places, &other)).is_some());
        drop(first);
        assert!(ours(InUse::claim(&places, &van)).is_some());
    }

    #[test]
    fn a_window_that_is_killed_lets_go() {
        const AS_CHILD: &str = "SPOKEWIRE_TEST_CLAIM_UNDER";
        let claim = |root: &Path| ours(InUse::claim(&Places::under(root), &root.join("van.ron")));
        if let Some(root) = std::env::var_os(AS_CHILD).map(PathBuf::from) {
            // The other window: this same test in a process of its own, until it is killed.
            let _claim = claim(&root).unwrap();
            fs::write(root.join("claimed"), "").unwrap();
            std::thread::sleep(std::time::Duration::from_secs(60));
            return;
        }
        let folder = tempfile::tempdir().unwrap();
        let mut window = std::process::Command::new(std::env::current_exe().unwrap())
            .args(["--exact", "files::in_use::tests::a_window_that_is_killed_lets_go"])
            .env(AS_CHILD, folder.path())
            .stdout(std::process::Stdio::null())
            .spawn()
            .unwrap();
        for _ in 0..3_000 {
            if folder.path().join("claimed").exists() {
                break;
            }
            std::thread::sleep(std::time::Duration::from_millis(10));
        }
        let while_open = claim(folder.path()).is_none();
        window.kill().unwrap();
        window.wait().unwrap();
        assert!(while_open, "the other window has it");
        assert!(claim(folder.path()).is_some(), "the other window is gone");
    }

    #[test]
    fn another_way_to_the_same_file_is_the_same_file() {
        let folder = tempfile::tempdir().unwrap();
        let places = Places::under(folder.path());
        fs::create_dir(folder.path().join("sub")).unwrap();
        let first = ours(InUse::claim(&places, &folder.path().join("van.ron")));
        assert!(ours(InUse::claim(&places, &folder.path().join("sub/../van.ron"))).is_none());
        fs::write(folder.path().join("van.ron"), "").unwrap();
        assert!(ours(InUse::claim(&places, &folder.path().join("van.ron"))).is_none(), "it exists by now");
        drop(first);
    }

    #[test]
    fn a_state_folder_that_cannot_be_made_is_told() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("state"), "a file in its way").unwrap();
        let claim = InUse::claim(&Places::under(folder.path()), &folder.path().join("van.ron"));
        assert!(matches!(claim, Err(SaveError::NoFolder { .. })), "{claim:?}");
    }

    #[test]
    fn lock_names_never_change() {
        // FNV-1a 64 of "foobar": a published test value (IETF draft-eastlake-fnv), from memory.
        assert_eq!(lock_name(Path::new("foobar")), "foobar-85944171f73967e8.lock");
    }
}
