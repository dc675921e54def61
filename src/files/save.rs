//! Saving so that at every moment, and after every failure, the old file or the new one is whole.

use std::fs::{self, File, Permissions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;
use thiserror::Error;

/// What was done.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Saved {
    /// The file that was written, with links followed.
    pub path: PathBuf,
    /// Where what was there before is kept; `None` if nothing was there, or the same text.
    pub backup: Option<PathBuf>,
}

/// Why nothing was saved. What the file held before is untouched in every case.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum SaveError {
    /// A path such as `/` or `..`.
    #[error("\"{}\" names no file, so nothing was saved. Choose a folder and a file name.", .path.display())]
    NoName {
        /// What was given.
        path: PathBuf,
    },
    /// A folder stands where the file should be.
    #[error("\"{}\" is a folder, so nothing was saved there. Choose a file name.", .path.display())]
    IsFolder {
        /// The folder.
        path: PathBuf,
    },
    /// Something else that is no file: a port, a pipe.
    #[error("\"{}\" is a device and no file, so nothing was saved there. Choose a file name.", .path.display())]
    IsDevice {
        /// The device.
        path: PathBuf,
    },
    /// The folder went away.
    #[error(
        "The folder of \"{}\" is not there: renamed, removed, or its drive unplugged. Bring it back, or save in another folder.",
        .path.display()
    )]
    NoFolder {
        /// The file that was to be written.
        path: PathBuf,
    },
    /// The file is marked read-only.
    #[error("\"{}\" is write-protected and was left as it was. Save under another name, or lift its protection.", .path.display())]
    Protected {
        /// The file.
        path: PathBuf,
    },
    /// The system doesn't let this user write in the folder.
    #[error(
        "Writing beside \"{}\" is not allowed; the file was left as it was. Save in a folder of your own.",
        .path.display()
    )]
    NotAllowed {
        /// The file that was to be written.
        path: PathBuf,
    },
    /// No room.
    #[error(
        "The disk is full; \"{}\" was left as it was. Free {bytes} bytes or more and save again, or save on another disk.",
        .path.display()
    )]
    Full {
        /// The file that was to be written.
        path: PathBuf,
        /// What is needed, in bytes.
        bytes: usize,
    },
    /// The system can't have such a name.
    #[error("The system takes no file name like that of \"{}\", so nothing was saved. Choose a shorter, plainer one.", .path.display())]
    BadName {
        /// The file that was to be written.
        path: PathBuf,
    },
    /// Anything else.
    #[error(
        "Saving \"{}\" failed while {step}: {reason}. The file was left as it was. Save again, or on another disk.",
        .path.display()
    )]
    Failed {
        /// The file that was to be written.
        path: PathBuf,
        /// What was being done.
        step: &'static str,
        /// What the system said.
        reason: String,
    },
}

/// Writes a text to a file: whole in a temporary file beside it, flushed to the disk, then put in
/// its place. What was there is kept as one backup, `NAME.ron.bak`. Permissions stay as they were;
/// a link is followed.
///
/// # Errors
/// [`SaveError`] says what stood in the way; the file is then as it was.
pub fn save(path: &Path, text: &str) -> Result<Saved, SaveError> {
    save_by(path, text, |file, bytes| file.write_all(bytes))
}

/// Where the backup of a file is kept.
#[must_use]
pub fn backup_path(path: &Path) -> PathBuf {
    let mut name = path.file_name().unwrap_or_default().to_owned();
    name.push(".bak");
    path.with_file_name(name)
}

/// [`save`], with the writing itself left open: a full disk can't be had in a test.
fn save_by(
    path: &Path,
    text: &str,
    write: impl FnOnce(&mut File, &[u8]) -> io::Result<()>,
) -> Result<Saved, SaveError> {
    let target = Target::of(path)?;
    let bytes = text.as_bytes();
    let error = |step| {
        let path = target.path.clone();
        move |error: io::Error| named(path, step, bytes.len(), &error)
    };
    let new = target.temporary(bytes, write).map_err(error("writing it"))?;
    let backup = target.keep_old(bytes).map_err(error("keeping a backup of what was there"))?;
    new.persist(&target.path).map_err(|failed| error("putting it in its place")(failed.error))?;
    target.flush_folder();
    Ok(Saved { path: target.path, backup })
}

/// A file that is to be written.
struct Target {
    path: PathBuf,
    folder: PathBuf,
    /// Of the file that is there now.
    permissions: Option<Permissions>,
}

impl Target {
    /// Follows links, and refuses what is no file.
    fn of(path: &Path) -> Result<Self, SaveError> {
        let given = || path.to_owned();
        let path = match fs::canonicalize(path) {
            Ok(path) => path,
            Err(error) if error.kind() == io::ErrorKind::NotFound => given(),
            Err(error) => return Err(named(given(), "looking at it", 0, &error)),
        };
        if path.file_name().is_none() && !path.is_dir() {
            return Err(SaveError::NoName { path });
        }
        let folder = match path.parent() {
            Some(folder) if !folder.as_os_str().is_empty() => folder.to_owned(),
            _ => PathBuf::from("."),
        };
        let permissions = match fs::metadata(&path) {
            Ok(found) if found.is_dir() => return Err(SaveError::IsFolder { path }),
            Ok(found) if !found.is_file() => return Err(SaveError::IsDevice { path }),
            Ok(found) if found.permissions().readonly() => return Err(SaveError::Protected { path }),
            Ok(found) => Some(found.permissions()),
            Err(_) => None,
        };
        Ok(Self { path, folder, permissions })
    }

    /// A file beside the target, whole and flushed, that removes itself unless it is put in place.
    fn temporary(
        &self,
        bytes: &[u8],
        write: impl FnOnce(&mut File, &[u8]) -> io::Result<()>,
    ) -> io::Result<NamedTempFile> {
        let mut builder = tempfile::Builder::new();
        builder.prefix(".spokewire-").suffix(".tmp");
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            // What any new file gets; the user's own mask still takes its share.
            builder.permissions(Permissions::from_mode(0o666));
        }
        let mut file = builder.tempfile_in(&self.folder)?;
        write(file.as_file_mut(), bytes)?;
        if let Some(permissions) = &self.permissions {
            file.as_file().set_permissions(permissions.clone())?;
        }
        file.as_file().sync_all()?;
        Ok(file)
    }

    /// Keeps what is there now, unless it is the same text: saving twice must not lose the backup.
    fn keep_old(&self, new: &[u8]) -> io::Result<Option<PathBuf>> {
        if self.permissions.is_none() {
            return Ok(None);
        }
        let old = fs::read(&self.path)?;
        if old == new {
            return Ok(None);
        }
        let backup = backup_path(&self.path);
        let copy = self.temporary(&old, |file, bytes| file.write_all(bytes))?;
        copy.persist(&backup).map_err(|failed| failed.error)?;
        Ok(Some(backup))
    }

    /// Makes the new name itself last through a power cut. Some file systems can't; the file is
    /// whole all the same, so that is no failure.
    fn flush_folder(&self) {
        #[cfg(unix)]
        if let Ok(folder) = File::open(&self.folder) {
            drop(folder.sync_all());
        }
    }
}

/// The system's error in words that say what to do.
pub(super) fn named(path: PathBuf, step: &'static str, bytes: usize, error: &io::Error) -> SaveError {
    use io::ErrorKind;
    match error.kind() {
        ErrorKind::NotFound | ErrorKind::NotADirectory => SaveError::NoFolder { path },
        ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem => SaveError::NotAllowed { path },
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded | ErrorKind::FileTooLarge => {
            SaveError::Full { path, bytes }
        }
        ErrorKind::InvalidFilename | ErrorKind::InvalidInput => SaveError::BadName { path },
        _ => SaveError::Failed { path, step, reason: error.to_string() },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn folder() -> tempfile::TempDir {
        tempfile::tempdir().unwrap()
    }

    /// Everything in a folder but what is hidden from no one: temporary files show too.
    fn names(folder: &Path) -> Vec<String> {
        let mut names: Vec<String> =
            fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    }

    #[test]
    fn a_save_keeps_what_was_there_as_one_backup_and_leaves_nothing_else() {
        let folder = folder();
        let path = folder.path().join("van.ron");
        assert_eq!(save(&path, "one").unwrap().backup, None);
        assert_eq!(
            save(&path, "two").unwrap().backup,
            Some(folder.path().canonicalize().unwrap().join("van.ron.bak"))
        );
        save(&path, "three").unwrap();
        assert_eq!(fs::read_to_string(&path).unwrap(), "three");
        assert_eq!(fs::read_to_string(backup_path(&path)).unwrap(), "two");
        assert_eq!(save(&path, "three").unwrap().backup, None, "the same text again keeps the backup");
        assert_eq!(fs::read_to_string(backup_path(&path)).unwrap(), "two");
        assert_eq!(names(folder.path()), ["van.ron", "van.ron.bak"]);
    }

    #[test]
    fn a_full_disk_leaves_the_file_and_its_backup_as_they_were() {
        let folder = folder();
        let path = folder.path().join("van.ron");
        save(&path, "one").unwrap();
        save(&path, "two").unwrap();
        // The device that is always full says what a full disk says.
        let full = |file: &mut File, bytes: &[u8]| {
            file.write_all(&bytes[..2])?;
            fs::OpenOptions::new().write(true).open("/dev/full")?.write_all(bytes)
        };
        let error = save_by(&path, "three", full).unwrap_err();
        let path = path.canonicalize().unwrap();
        assert_eq!(error, SaveError::Full { path: path.clone(), bytes: 5 });
        assert_eq!(
            error.to_string(),
            format!(
                "The disk is full; \"{}\" was left as it was. Free 5 bytes or more and save again, or save on another disk.",
                path.display()
            )
        );
        assert_eq!(fs::read_to_string(&path).unwrap(), "two");
        assert_eq!(fs::read_to_string(backup_path(&path)).unwrap(), "one");
        assert_eq!(names(folder.path()), ["van.ron", "van.ron.bak"], "the temporary file is gone");
    }

    #[test]
    fn a_backup_that_cannot_be_kept_stops_the_save() {
        let folder = folder();
        let path = folder.path().join("van.ron");
        save(&path, "one").unwrap();
        fs::create_dir(backup_path(&path)).unwrap();
        let told = save(&path, "two").unwrap_err().to_string();
        assert!(told.contains("failed while keeping a backup of what was there"), "{told}");
        assert_eq!(fs::read_to_string(&path).unwrap(), "one");
        assert_eq!(names(folder.path()), ["van.ron", "van.ron.bak"]);
    }

    #[test]
    fn what_is_no_file_is_refused() {
        let folder = folder();
        let here = folder.path().canonicalize().unwrap();
        assert_eq!(save(&here, "x").unwrap_err(), SaveError::IsFolder { path: here.clone() });
        assert_eq!(
            save(Path::new("/dev/full"), "x").unwrap_err().to_string(),
            "\"/dev/full\" is a device and no file, so nothing was saved there. Choose a file name."
        );
        assert_eq!(save(Path::new(""), "x").unwrap_err(), SaveError::NoName { path: PathBuf::new() });
        let gone = here.join("gone").join("van.ron");
        assert_eq!(save(&gone, "x").unwrap_err(), SaveError::NoFolder { path: gone.clone() });
        let through_a_file = here.join("van.ron").join("inner.ron");
        save(&here.join("van.ron"), "one").unwrap();
        assert_eq!(save(&through_a_file, "x").unwrap_err(), SaveError::NoFolder { path: through_a_file });
        let long = here.join("x".repeat(300));
        assert_eq!(save(&long, "x").unwrap_err(), SaveError::BadName { path: long });
        let nul = here.join("a\0b");
        assert_eq!(save(&nul, "x").unwrap_err(), SaveError::BadName { path: nul });
        assert_eq!(names(&here), ["van.ron"]);
    }

    #[cfg(unix)]
    #[test]
    fn permissions_stay_and_protection_is_heeded() {
        use std::os::unix::fs::PermissionsExt;
        let folder = folder();
        let path = folder.path().join("van.ron");
        save(&path, "one").unwrap();
        let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
        assert_ne!(mode(&path) & 0o044, 0, "a new file can be read by others, as the mask allows");
        fs::set_permissions(&path, Permissions::from_mode(0o640)).unwrap();
        save(&path, "two").unwrap();
        assert_eq!((mode(&path), mode(&backup_path(&path))), (0o640, 0o640));
        fs::set_permissions(&path, Permissions::from_mode(0o440)).unwrap();
        let path = path.canonicalize().unwrap();
        assert_eq!(save(&path, "three").unwrap_err(), SaveError::Protected { path: path.clone() });
        assert_eq!(fs::read_to_string(&path).unwrap(), "two");
    }

    #[cfg(unix)]
    #[test]
    fn a_link_is_followed_and_stays_a_link() {
        let folder = folder();
        let (file, link) = (folder.path().join("van.ron"), folder.path().join("link.ron"));
        save(&file, "one").unwrap();
        std::os::unix::fs::symlink(&file, &link).unwrap();
        save(&link, "two").unwrap();
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
        assert_eq!(fs::read_to_string(&file).unwrap(), "two");
        assert_eq!(names(folder.path()), ["link.ron", "van.ron", "van.ron.bak"]);
    }
}
