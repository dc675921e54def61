//! Files: atomic saving, backups, the autosaved copy, recent files, preferences, and the lock that
//! tells two windows apart. The only room below the shell that touches the disk for a project; it
//! knows text, not what is in it. Everything here may wait for a disk: never call it from the
//! window's own thread.

mod autosave;
mod in_use;
mod list;
mod load;
mod places;
mod preferences;
mod recent;
mod save;

pub use autosave::{Autosave, Unsaved, unsaved};
pub use in_use::{Claim, InUse};
pub use list::{ListLoadError, ListSaveError, load_list, save_list};
pub use load::{LoadError, load};
pub use places::Places;
pub use preferences::{Preferences, Theme, Warning};
pub use recent::{MAX_RECENT, note_recent, recent};
pub use save::{SaveError, Saved, backup_path, save};
