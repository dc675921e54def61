//! Loading a text that a person chose: whatever the path leads to, the answer is a text of a sane
//! size or a message.

use std::fs::{self, File};
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use thiserror::Error;

use crate::project::MAX_BYTES;

/// Why nothing was loaded.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum LoadError {
    /// Nothing there.
    #[error("\"{}\" is not there: renamed, removed, or its drive unplugged. Look for it under another name, or choose another file.", .path.display())]
    Missing {
        /// What was given.
        path: PathBuf,
    },
    /// A folder.
    #[error("\"{}\" is a folder. Choose a file in it.", .path.display())]
    IsFolder {
        /// The folder.
        path: PathBuf,
    },
    /// Something else that is no file: a port, a pipe.
    #[error("\"{}\" is a device and no file. Choose a project file; a port is opened in Learn.", .path.display())]
    IsDevice {
        /// The device.
        path: PathBuf,
    },
    /// The system doesn't let this user read it.
    #[error("Reading \"{}\" is not allowed. Ask its owner for leave, or choose another file.", .path.display())]
    NotAllowed {
        /// The file.
        path: PathBuf,
    },
    /// Too long to be a project.
    #[error(
        "\"{}\" has {bytes} bytes and a project at most {}. Choose the project's own file.",
        .path.display(), MAX_BYTES
    )]
    TooLong {
        /// The file.
        path: PathBuf,
        /// Its length in bytes, as far as it was read.
        bytes: u64,
    },
    /// Not UTF-8.
    #[error(
        "\"{}\" is no text: byte {position} is 0x{byte:02X}, which UTF-8 doesn't have there. Choose a project file, or its backup, which ends in `.ron.bak`.",
        .path.display()
    )]
    NotText {
        /// The file.
        path: PathBuf,
        /// The first byte that fits no text, from 0.
        position: usize,
        /// Its value.
        byte: u8,
    },
    /// Anything else.
    #[error("Reading \"{}\" failed: {reason}. Try again, or choose its backup, which ends in `.ron.bak`.", .path.display())]
    Failed {
        /// The file.
        path: PathBuf,
        /// What the system said.
        reason: String,
    },
}

/// Loads a text of at most [`MAX_BYTES`].
///
/// # Errors
/// [`LoadError`] says what the path leads to instead.
pub fn load(path: &Path) -> Result<String, LoadError> {
    load_up_to(path, MAX_BYTES as u64)
}

/// Loads a text of at most `most` bytes.
pub(super) fn load_up_to(path: &Path, most: u64) -> Result<String, LoadError> {
    String::from_utf8(bytes_up_to(path, most)?).map_err(|error| {
        let position = error.utf8_error().valid_up_to();
        let byte = error.as_bytes().get(position).copied().unwrap_or_default();
        LoadError::NotText { path: path.to_owned(), position, byte }
    })
}

/// Loads at most `most` bytes.
pub(super) fn bytes_up_to(path: &Path, most: u64) -> Result<Vec<u8>, LoadError> {
    let given = || path.to_owned();
    let failed = |error: io::Error| match error.kind() {
        io::ErrorKind::NotFound | io::ErrorKind::NotADirectory => LoadError::Missing { path: given() },
        io::ErrorKind::PermissionDenied => LoadError::NotAllowed { path: given() },
        _ => LoadError::Failed { path: given(), reason: error.to_string() },
    };
    // Looked at before it is opened: opening a pipe waits for whoever writes to it.
    let found = fs::metadata(path).map_err(failed)?;
    if found.is_dir() {
        return Err(LoadError::IsFolder { path: given() });
    }
    if !found.is_file() {
        return Err(LoadError::IsDevice { path: given() });
    }
    let mut bytes = Vec::new();
    File::open(path).and_then(|file| file.take(most + 1).read_to_end(&mut bytes)).map_err(failed)?;
    if bytes.len() as u64 > most {
        return Err(LoadError::TooLong { path: given(), bytes: found.len().max(bytes.len() as u64) });
    }
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_is_loaded_as_it_is() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("van.ron");
        fs::write(&path, "Ω\r\n").unwrap();
        assert_eq!(load(&path).unwrap(), "Ω\r\n");
    }

    #[test]
    fn whatever_else_a_path_leads_to_is_told() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("van.ron");
        let shown = path.display().to_string();
        assert_eq!(
            load(&path).unwrap_err().to_string(),
            format!(
                "\"{shown}\" is not there: renamed, removed, or its drive unplugged. Look for it under another name, or choose another file."
            )
        );
        fs::write(&path, b"(format\xFF: 1)").unwrap();
        assert_eq!(
            load(&path).unwrap_err().to_string(),
            format!(
                "\"{shown}\" is no text: byte 7 is 0xFF, which UTF-8 doesn't have there. Choose a project file, or its backup, which ends in `.ron.bak`."
            )
        );
        File::create(&path).unwrap().set_len(50_000_000_000).unwrap();
        assert_eq!(
            load(&path).unwrap_err().to_string(),
            format!(
                "\"{shown}\" has 50000000000 bytes and a project at most 4194304. Choose the project's own file."
            )
        );
        assert_eq!(load(folder.path()).unwrap_err(), LoadError::IsFolder { path: folder.path().to_owned() });
        let through = path.join("inner.ron");
        assert_eq!(load(&through).unwrap_err(), LoadError::Missing { path: through });
    }

    #[cfg(unix)]
    #[test]
    fn a_device_is_never_waited_for() {
        let path = PathBuf::from("/dev/zero");
        assert_eq!(load(&path).unwrap_err(), LoadError::IsDevice { path });
    }
}
