//! Where the program's own files live: by each platform's convention, or under a folder that a test
//! chose. Knows no file's content.

use std::path::{Path, PathBuf};

/// The folders of one user.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Places {
    config: PathBuf,
    state: PathBuf,
}

impl Places {
    /// The user's own folders: on Linux `~/.config/spokewire` and `~/.local/state/spokewire`, or
    /// what `XDG_CONFIG_HOME` and `XDG_STATE_HOME` say. `None` where the user has no home.
    #[must_use]
    pub fn of_user() -> Option<Self> {
        let folders = directories::ProjectDirs::from("", "", "spokewire")?;
        // Only Linux has a folder for state; elsewhere it belongs to the local data.
        let state = folders.state_dir().unwrap_or_else(|| folders.data_local_dir());
        Some(Self { config: folders.config_dir().to_owned(), state: state.to_owned() })
    }

    /// Both below one folder.
    #[must_use]
    pub fn under(root: &Path) -> Self {
        Self { config: root.join("config"), state: root.join("state") }
    }

    /// What the user prefers.
    pub(super) fn preferences(&self) -> PathBuf {
        self.config.join("preferences.ron")
    }

    /// The list of recent files.
    pub(super) fn recent(&self) -> PathBuf {
        self.config.join("recent.ron")
    }

    /// The folder of autosaved copies.
    pub(super) fn unsaved(&self) -> PathBuf {
        self.state.join("unsaved")
    }

    /// The folder of the locks on open files.
    pub(super) fn in_use(&self) -> PathBuf {
        self.state.join("in-use")
    }
}
