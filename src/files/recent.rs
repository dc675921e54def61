//! The files opened last. Reading the list never fails: what can't be read is left out and said.

use std::path::{Path, PathBuf};

use super::load::{LoadError, load};
use super::places::Places;
use super::preferences::Warning;
use super::save::{SaveError, save};

/// How many are kept.
pub const MAX_RECENT: usize = 10;

/// The files opened last, newest first, those that are gone left out.
#[must_use]
pub fn recent(places: &Places) -> (Vec<PathBuf>, Vec<Warning>) {
    let file = places.recent();
    match load(&file) {
        Ok(text) => match ron::from_str::<Vec<ron::Value>>(&text) {
            Ok(entries) => read(&file, entries),
            Err(error) => (Vec::new(), vec![Warning::unreadable(file, error.to_string())]),
        },
        Err(LoadError::Missing { .. }) => (Vec::new(), Vec::new()),
        Err(error) => (Vec::new(), vec![Warning::unreadable(file, error.to_string())]),
    }
}

/// Puts a file on top of the list, as it is on the disk now: other windows add to it too.
///
/// # Errors
/// [`SaveError`] if the list can't be written.
pub fn note_recent(places: &Places, path: &Path) -> Result<Vec<PathBuf>, SaveError> {
    let path = std::fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    let (mut paths, _) = recent(places);
    paths.retain(|other| *other != path);
    paths.insert(0, path);
    paths.truncate(MAX_RECENT);
    // A path that is no text can't be written in a text; it is left out.
    let texts: Vec<&str> = paths.iter().filter_map(|path| path.to_str()).collect();
    let style = ron::ser::PrettyConfig::new().new_line("\n");
    save(&made(places.recent())?, &ron::ser::to_string_pretty(&texts, style).unwrap_or_default())?;
    Ok(paths)
}

/// The path, with its folder made.
pub(super) fn made(path: PathBuf) -> Result<PathBuf, SaveError> {
    if let Some(folder) = path.parent() {
        std::fs::create_dir_all(folder)
            .map_err(|error| super::save::named(path.clone(), "making its folder", 0, &error))?;
    }
    Ok(path)
}

fn read(file: &Path, entries: Vec<ron::Value>) -> (Vec<PathBuf>, Vec<Warning>) {
    let mut paths: Vec<PathBuf> = Vec::new();
    let mut warnings = Vec::new();
    for (index, entry) in entries.into_iter().enumerate().take(MAX_RECENT) {
        match entry {
            ron::Value::String(text) => {
                let path = PathBuf::from(text);
                if path.is_file() && !paths.contains(&path) {
                    paths.push(path);
                }
            }
            other => warnings.push(Warning::Value {
                file: file.to_owned(),
                key: format!("entry {}", index + 1),
                found: format!("{other:?}"),
            }),
        }
    }
    (paths, warnings)
}

#[cfg(test)]
mod tests {
    use std::fs;

    use super::*;

    #[test]
    fn the_newest_is_on_top_once_and_ten_are_kept() {
        let folder = tempfile::tempdir().unwrap();
        let places = Places::under(folder.path());
        let root = folder.path().canonicalize().unwrap();
        let file = |number: usize| root.join(format!("van {number} Ω.ron"));
        for number in 0..12 {
            fs::write(file(number), "").unwrap();
            note_recent(&places, &file(number)).unwrap();
        }
        note_recent(&places, &file(5)).unwrap();
        let (paths, warnings) = recent(&places);
        assert_eq!(warnings, []);
        assert_eq!(paths, [5, 11, 10, 9, 8, 7, 6, 4, 3, 2].map(file));
        fs::remove_file(file(11)).unwrap();
        assert_eq!(recent(&places).0, [5, 10, 9, 8, 7, 6, 4, 3, 2].map(file), "what is gone is left out");
    }

    #[test]
    fn a_spoilt_list_is_said_and_mended_by_the_next_file() {
        let folder = tempfile::tempdir().unwrap();
        let places = Places::under(folder.path());
        let van = folder.path().canonicalize().unwrap().join("van.ron");
        fs::write(&van, "").unwrap();
        assert_eq!(recent(&places), (Vec::new(), Vec::new()), "no list yet");
        let list = made(places.recent()).unwrap();
        for (spoilt, told) in [
            ("[".to_owned(), "could not be read"),
            ("[7]".to_owned(), "entry 1 in"),
            (format!("[{van:?}, 7, {van:?}]"), "entry 2 in"),
        ] {
            fs::write(&list, spoilt).unwrap();
            let (_, warnings) = recent(&places);
            assert_eq!(warnings.len(), 1);
            assert!(warnings[0].to_string().contains(told), "{}", warnings[0]);
            assert_eq!(note_recent(&places, &van).unwrap(), std::slice::from_ref(&van));
            assert_eq!(recent(&places), (vec![van.clone()], Vec::new()));
        }
    }
}
