//! Taking in and giving out a list of the stereo's commands: what was read is held against what is
//! there, and where something in it can't be taken the person decides. Knows no bytes and no screen.

use std::path::{Path, PathBuf};

use super::super::action::{Edit, PathPurpose};
use super::super::effect::Effect;
use super::super::model::Model;
use super::super::notice::{Level, Notice, Topic};
use super::super::station::Station;
use crate::project::{ListFormat, ListMerge, ListRead, unique_id, write_list};
use crate::units::number_of;

/// What lists keeps.
#[derive(Clone, Debug, Default)]
pub struct ListState {
    /// A list that can't be taken as it is, until the person says what becomes of it.
    pub decision: Option<Decision>,
    /// The file being read.
    asked: Option<PathBuf>,
}

/// A list with faults in it.
#[derive(Clone, Debug, PartialEq)]
pub struct Decision {
    /// The file it came from.
    pub path: PathBuf,
    /// What it holds.
    pub read: ListRead,
    /// The same, held against the commands that are there.
    pub merge: ListMerge,
}

/// What a person does.
#[derive(Clone, Debug, PartialEq)]
pub enum ListAction {
    /// Ask which list to take in.
    AskImport,
    /// Ask where to write a list.
    AskExport,
    /// Read this list.
    ImportFrom(PathBuf),
    /// The list is read.
    Loaded {
        /// Which file.
        path: PathBuf,
        /// What it holds, or why it can't be read and what to do.
        read: Result<Box<ListRead>, String>,
    },
    /// Take what can be taken of the list, and leave the rest.
    KeepGood,
    /// Take nothing of it.
    Drop,
    /// Write the commands here, in the format of the name.
    ExportTo(PathBuf),
    /// The list is written, or isn't.
    Written {
        /// Where.
        path: PathBuf,
        /// What went wrong and what to do.
        result: Result<(), String>,
    },
}

/// What an action changes.
pub(super) fn update(model: &mut Model, action: ListAction) -> Vec<Effect> {
    match action {
        ListAction::AskImport => return vec![ask(PathPurpose::ImportCodes, String::new())],
        ListAction::AskExport => return ask_export(model),
        ListAction::ImportFrom(path) => {
            if model.project().is_none() {
                return Vec::new();
            }
            model.codes.list.decision = None;
            model.codes.list.asked = Some(path.clone());
            return vec![Effect::ReadList(path)];
        }
        ListAction::Loaded { path, read } => loaded(model, path, read),
        ListAction::KeepGood => keep_good(model),
        ListAction::Drop => model.codes.list.decision = None,
        ListAction::ExportTo(path) => return export_to(model, path),
        ListAction::Written { path, result } => match result {
            Ok(()) => note(model, "The list is written.", path.display().to_string()),
            Err(why) => stop(model, "The list was not written.", why),
        },
    }
    Vec::new()
}

fn ask(purpose: PathPurpose, suggest: String) -> Effect {
    Effect::AskPath { purpose, suggest }
}

fn ask_export(model: &Model) -> Vec<Effect> {
    let Some(project) = model.project() else { return Vec::new() };
    let name = match project.stereo.name.trim() {
        "" => "commands".to_owned(),
        name => unique_id(name, |_| false).replace('_', "-"),
    };
    vec![ask(PathPurpose::ExportCodes, format!("{name}.{}", ListFormat::Csv.extension()))]
}

fn export_to(model: &mut Model, path: PathBuf) -> Vec<Effect> {
    let Some(document) = &model.document else { return Vec::new() };
    let path =
        if path.extension().is_none() { path.with_extension(ListFormat::Csv.extension()) } else { path };
    let why = if document.path.as_ref() == Some(&path) {
        Some(format!(
            "{} is the vehicle's own file, and a list in its place would lose the rest. Choose another name.",
            name_of(&path)
        ))
    } else if ListFormat::of_path(&path).is_none() {
        Some(format!("{} ends in neither .csv nor .ron. Choose one of the two.", name_of(&path)))
    } else {
        None
    };
    if let Some(why) = why {
        stop(model, "The list was not written.", why);
        return Vec::new();
    }
    let format = ListFormat::of_path(&path).unwrap_or_default();
    let text = write_list(&document.project().stereo, format);
    vec![Effect::WriteList { path, text }]
}

fn loaded(model: &mut Model, path: PathBuf, read: Result<Box<ListRead>, String>) {
    // Another vehicle may be open by now, or another list asked for.
    if model.codes.list.asked.as_ref() != Some(&path) {
        return;
    }
    model.codes.list.asked = None;
    let name = name_of(&path);
    let read = match read {
        Ok(read) => *read,
        Err(why) => return stop(model, format!("{name} can't be read."), why),
    };
    let Some(merge) = merged(model, &read) else { return };
    if merge.fault_count() > 0 {
        model.notices.clear(Topic::List);
        model.codes.list.decision = Some(Decision { path, read, merge });
    } else {
        take(model, &path, &read, merge);
    }
}

fn merged(model: &Model, read: &ListRead) -> Option<ListMerge> {
    model.project().map(|project| read.merge(&project.stereo.commands))
}

fn keep_good(model: &mut Model) {
    let Some(Decision { path, read, merge: shown }) = model.codes.list.decision.take() else { return };
    let Some(merge) = merged(model, &read) else { return };
    if merge == shown {
        take(model, &path, &read, merge);
    } else {
        // The commands changed meanwhile: what would be taken is shown first.
        model.codes.list.decision = Some(Decision { path, read, merge });
    }
}

/// Adds what is new, in one step of undo, and says what became of the list.
fn take(model: &mut Model, path: &Path, read: &ListRead, merge: ListMerge) {
    let ListMerge { fresh, same, faults: _, more_faults: _ } = &merge;
    let first = fresh.first().map(|command| command.name.clone());
    if !fresh.is_empty() && !super::super::update::edit(model, &Edit::AddCommands(fresh.clone())) {
        return;
    }
    let commands = model.project().map(|project| project.stereo.commands.as_slice()).unwrap_or_default();
    if let Some(first) = first.and_then(|first| commands.iter().find(|command| command.name == first)) {
        model.codes.chosen = Some(first.id.clone());
    }
    let name = name_of(path);
    let head = match fresh.len() {
        0 => format!("Nothing new in {name}."),
        count => format!("{} taken in from {name}.", number_of(count, "command")),
    };
    let of = read.stereo.as_deref().map(str::trim).filter(|stereo| !stereo.is_empty());
    let parts = [
        of.map(|stereo| format!("It is a list of {stereo}.")),
        (!same.is_empty()).then(|| match same.as_slice() {
            [one] => format!("{one} was there already, with the same code."),
            _ => format!("{} were there already, with the same codes.", same.len()),
        }),
        (merge.fault_count() > 0).then(|| {
            format!("What can't be taken was left out: {}.", number_of(merge.fault_count(), "fault"))
        }),
        (!fresh.is_empty()).then(|| "Ctrl Z takes them out again.".to_owned()),
    ];
    let body: Vec<String> = parts.into_iter().flatten().collect();
    note(model, head, body.join(" "));
}

fn note(model: &mut Model, head: impl Into<String>, body: String) {
    model.notices.show(Notice::new(Topic::List, Level::Note, head, body).at(Station::Codes));
}

fn stop(model: &mut Model, head: impl Into<String>, why: String) {
    model.notices.show(Notice::new(Topic::List, Level::Stop, head, why).at(Station::Codes));
}

/// A file's name without its folders.
fn name_of(path: &Path) -> String {
    path.file_name().map_or_else(|| path.display().to_string(), |name| name.to_string_lossy().into_owned())
}

#[cfg(test)]
mod tests {
    use super::super::super::action::{Action, CodesAction, FileAction};
    use super::super::super::edit::{LONGEST_NAME, MOST_COMMANDS};
    use super::*;
    use crate::project::{MAX_COMMAND_NAME, MAX_COMMANDS, read_list};

    const GOOD: &str = "name,family,address,command\nSeek up,nec,0x59,0x4A\nSeek down,nec,0x59,0x4B\n";

    fn demo() -> Model {
        let mut model = Model::default();
        model.update(Action::File(FileAction::Demo));
        model
    }

    fn act(model: &mut Model, action: ListAction) -> Vec<Effect> {
        model.update(Action::Codes(CodesAction::List(action)))
    }

    fn import(model: &mut Model, text: &str) {
        let path = PathBuf::from("/lists/tarn.csv");
        assert_eq!(act(model, ListAction::ImportFrom(path.clone())), [Effect::ReadList(path.clone())]);
        act(model, ListAction::Loaded { path, read: Ok(Box::new(read_list(text.as_bytes()))) });
    }

    fn told(model: &Model) -> String {
        model
            .notices
            .on(Topic::List)
            .map(|notice| format!("{} {}", notice.head, notice.body))
            .unwrap_or_default()
    }

    fn count(model: &Model) -> usize {
        model.project().map_or(0, |project| project.stereo.commands.len())
    }

    #[test]
    fn a_list_holds_what_the_window_and_the_file_hold() {
        assert_eq!(MAX_COMMAND_NAME, LONGEST_NAME);
        assert_eq!(MAX_COMMANDS, MOST_COMMANDS);
    }

    #[test]
    fn a_list_is_one_step_of_undo_and_taken_a_second_time_it_adds_nothing() {
        let mut model = demo();
        import(&mut model, GOOD);
        assert_eq!(told(&model), "2 commands taken in from tarn.csv. Ctrl Z takes them out again.");
        assert_eq!(model.codes.chosen.as_ref().map(|id| id.0.as_str()), Some("seek_up"));
        import(&mut model, GOOD);
        assert_eq!(told(&model), "Nothing new in tarn.csv. 2 were there already, with the same codes.");
        assert_eq!(count(&model), 12);
        model.update(Action::Undo);
        assert_eq!(count(&model), 10);
    }

    #[test]
    fn an_answer_about_another_vehicle_or_another_list_changes_nothing() {
        let mut model = demo();
        let path = PathBuf::from("/lists/tarn.csv");
        act(&mut model, ListAction::ImportFrom(path.clone()));
        act(&mut model, ListAction::ImportFrom("/lists/other.csv".into()));
        let read = || Ok(Box::new(read_list(GOOD.as_bytes())));
        act(&mut model, ListAction::Loaded { path: path.clone(), read: read() });
        assert_eq!(count(&model), 10);
        act(&mut model, ListAction::ImportFrom(path.clone()));
        model.update(Action::File(FileAction::Demo));
        act(&mut model, ListAction::Loaded { path, read: read() });
        assert_eq!((count(&model), told(&model)), (10, String::new()));
    }

    #[test]
    fn commands_that_changed_while_a_decision_was_open_are_looked_at_again() {
        let mut model = demo();
        import(&mut model, &format!("{GOOD}Wrong,nec,0x59,\n"));
        assert_eq!(model.codes.list.decision.as_ref().map(|decision| decision.merge.fresh.len()), Some(2));
        let read = read_list(b"name,family,address,command\nSeek up,nec,1,1\n");
        model.update(Action::Edit(Edit::AddCommands(read.merge(&[]).fresh)));
        act(&mut model, ListAction::KeepGood);
        let shown = model.codes.list.decision.as_ref().map(|decision| &decision.merge);
        assert_eq!(shown.map(|merge| (merge.fresh.len(), merge.faults.len())), Some((1, 2)));
        assert_eq!(count(&model), 11);
        act(&mut model, ListAction::KeepGood);
        assert_eq!(count(&model), 12);
        assert_eq!(
            told(&model),
            "1 command taken in from tarn.csv. What can't be taken was left out: 2 faults. Ctrl Z takes them \
             out again."
        );
    }

    #[test]
    fn a_list_is_written_as_its_name_says_and_never_over_the_vehicle() {
        let mut model = demo();
        let effects = act(&mut model, ListAction::AskExport);
        let suggest = "tarn-r40.csv".to_owned();
        assert_eq!(effects, [Effect::AskPath { purpose: PathPurpose::ExportCodes, suggest }]);
        let written = |effects: Vec<Effect>| match effects.as_slice() {
            [Effect::WriteList { path, text }] => (path.display().to_string(), text.clone()),
            other => panic!("{other:?}"),
        };
        let (path, text) = written(act(&mut model, ListAction::ExportTo("/lists/tarn".into())));
        assert_eq!(path, "/lists/tarn.csv");
        assert!(
            text.starts_with("name,family,address,command,origin,tried\nVolume up,nec,0x59,0x16,"),
            "{text}"
        );
        let (_, text) = written(act(&mut model, ListAction::ExportTo("/lists/tarn.RON".into())));
        assert!(text.starts_with("(\n    format: 1,\n    stereo: \"Tarn R40\",\n"), "{text}");
        assert_eq!(act(&mut model, ListAction::ExportTo("/lists/tarn.txt".into())), []);
        assert!(told(&model).contains("tarn.txt ends in neither .csv nor .ron."), "{}", told(&model));
        if let Some(document) = &mut model.document {
            document.path = Some("/cars/van.ron".into());
        }
        assert_eq!(act(&mut model, ListAction::ExportTo("/cars/van.ron".into())), []);
        assert!(told(&model).contains("van.ron is the vehicle's own file"), "{}", told(&model));
        act(
            &mut model,
            ListAction::Written { path: "/lists/tarn.csv".into(), result: Err("No room.".into()) },
        );
        assert_eq!(told(&model), "The list was not written. No room.");
        act(&mut model, ListAction::Written { path: "/lists/tarn.csv".into(), result: Ok(()) });
        assert_eq!(told(&model), "The list is written. /lists/tarn.csv");
    }

    #[test]
    fn a_list_that_can_not_be_read_says_why() {
        let mut model = demo();
        let path = PathBuf::from("/lists/tarn.csv");
        act(&mut model, ListAction::ImportFrom(path.clone()));
        act(&mut model, ListAction::Loaded { path, read: Err("It is a folder.".to_owned()) });
        assert_eq!(told(&model), "tarn.csv can't be read. It is a folder.");
    }
}
