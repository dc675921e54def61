//! System file dialogs, off the window's thread. Where none can be shown, a path is typed instead.

use std::sync::mpsc::SyncSender;
use std::time::{Duration, Instant};

use crate::app::{Action, FileAction, PathPurpose};

use super::path_action;

/// A dialog that was gone sooner than this was never on the screen: the library gives the same
/// answer for "cancelled" and "there is none".
const NEVER_SHOWN: Duration = Duration::from_millis(300);

/// Asks for a path in a thread of its own. It is never waited for: a desktop that dies leaves it
/// hanging.
pub(super) fn ask(purpose: PathPurpose, suggest: String, answers: SyncSender<Action>, ctx: egui::Context) {
    let thread = std::thread::Builder::new().name("dialog".to_owned());
    let fallback = answers.clone();
    let spawned = thread.spawn(move || {
        let began = Instant::now();
        let picked = show(purpose, &suggest);
        let action = match picked {
            Some(path) => path_action(purpose, path),
            None if began.elapsed() < NEVER_SHOWN => Action::File(FileAction::AskPath(purpose)),
            None => return,
        };
        // Nobody listens any more once the window is closed.
        drop(answers.send(action));
        ctx.request_repaint();
    });
    if spawned.is_err() {
        drop(fallback.try_send(Action::File(FileAction::AskPath(purpose))));
    }
}

fn show(purpose: PathPurpose, suggest: &str) -> Option<std::path::PathBuf> {
    let dialog = rfd::FileDialog::new();
    match purpose {
        PathPurpose::Open => dialog.add_filter("Vehicle", &["ron"]).pick_file(),
        PathPurpose::Save => dialog.add_filter("Vehicle", &["ron"]).set_file_name(suggest).save_file(),
        PathPurpose::Tape => dialog.add_filter("Recording", &["csv"]).set_file_name(suggest).save_file(),
        PathPurpose::Header => dialog.add_filter("C header", &["h"]).set_file_name(suggest).save_file(),
        PathPurpose::Replay => dialog.add_filter("Recording", &["csv"]).pick_file(),
        PathPurpose::ImportCodes => dialog.add_filter("List of commands", &["csv", "ron"]).pick_file(),
        PathPurpose::ExportCodes => dialog
            .add_filter("List for spreadsheets", &["csv"])
            .add_filter("List, all of it", &["ron"])
            .set_file_name(suggest)
            .save_file(),
    }
}
