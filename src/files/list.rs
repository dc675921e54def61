//! Lists of commands on the disk: loaded as bytes, whatever the path leads to, and never saved over a
//! vehicle. What is in a list is for the room `project` to say.

use std::path::{Path, PathBuf};

use thiserror::Error;

use super::load::{LoadError, bytes_up_to, load};
use super::save::{SaveError, Saved, save};
use crate::project::{MAX_LIST_BYTES, read};

/// Why no list was loaded.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum ListLoadError {
    /// Something that is no file: a port, a pipe.
    #[error("\"{}\" is a device and no file. Choose a list of commands.", .path.display())]
    IsDevice {
        /// The device.
        path: PathBuf,
    },
    /// Too long to be a list.
    #[error("\"{}\" has {bytes} bytes and a list at most {}. Choose a list of commands.", .path.display(), MAX_LIST_BYTES)]
    TooLong {
        /// The file.
        path: PathBuf,
        /// Its length in bytes, as far as it was read.
        bytes: u64,
    },
    /// Anything that the system said.
    #[error("Reading \"{}\" failed: {reason}. Try again, or copy it to this computer first.", .path.display())]
    Failed {
        /// The file.
        path: PathBuf,
        /// What the system said.
        reason: String,
    },
    /// What is the same for any file.
    #[error(transparent)]
    Any(LoadError),
}

/// Loads a list of commands, of at most [`MAX_LIST_BYTES`]: its bytes, because reading a list says which
/// line is no text.
///
/// # Errors
/// [`ListLoadError`] says what the path leads to instead.
pub fn load_list(path: &Path) -> Result<Vec<u8>, ListLoadError> {
    bytes_up_to(path, MAX_LIST_BYTES as u64).map_err(|error| match error {
        LoadError::IsDevice { path } => ListLoadError::IsDevice { path },
        LoadError::TooLong { path, bytes } => ListLoadError::TooLong { path, bytes },
        LoadError::Failed { path, reason } => ListLoadError::Failed { path, reason },
        other => ListLoadError::Any(other),
    })
}

/// Why no list was saved. What the file held before is untouched in every case.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum ListSaveError {
    /// A vehicle's own file is there.
    #[error("\"{}\" is a vehicle's own file, and a list in its place would lose it. Choose another name.", .path.display())]
    Vehicle {
        /// The file.
        path: PathBuf,
    },
    /// What is the same for any file.
    #[error(transparent)]
    Any(#[from] SaveError),
}

/// Saves a list of commands as [`save`] does, but never over a vehicle.
///
/// # Errors
/// [`ListSaveError`]: a vehicle is there, or the file can't be written.
pub fn save_list(path: &Path, text: &str) -> Result<Saved, ListSaveError> {
    if load(path).is_ok_and(|there| read(&there).is_ok()) {
        return Err(ListSaveError::Vehicle { path: path.to_owned() });
    }
    Ok(save(path, text)?)
}

#[cfg(test)]
mod tests {
    use std::fs::{self, File};

    use super::*;
    use crate::project::{Project, write};

    #[test]
    fn a_list_is_loaded_as_bytes_and_what_is_none_is_told() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("tarn.csv");
        fs::write(&path, b"name\xFF").unwrap();
        assert_eq!(load_list(&path).unwrap(), b"name\xFF");
        let shown = path.display().to_string();
        File::create(&path).unwrap().set_len(4_194_305).unwrap();
        assert_eq!(
            load_list(&path).unwrap_err().to_string(),
            format!("\"{shown}\" has 4194305 bytes and a list at most 4194304. Choose a list of commands.")
        );
        let gone = folder.path().join("gone.csv");
        assert_eq!(load_list(&gone).unwrap_err(), ListLoadError::Any(LoadError::Missing { path: gone }));
    }

    #[test]
    fn a_list_is_saved_over_anything_but_a_vehicle() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("tarn.ron");
        save_list(&path, "one").unwrap();
        save_list(&path, "two").unwrap();
        assert_eq!(fs::read_to_string(&path).unwrap(), "two");
        let van = write(&Project::new("Van", "Tarn R40"));
        fs::write(&path, &van).unwrap();
        assert_eq!(save_list(&path, "three").unwrap_err(), ListSaveError::Vehicle { path: path.clone() });
        assert_eq!(fs::read_to_string(&path).unwrap(), van);
    }
}
