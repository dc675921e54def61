//! The Codes station: which of its views is shown, the chosen command, and what each view keeps. The
//! draft of a command that is being typed is in `draft`.

mod draft;
mod free_draft;
pub mod list;
pub mod listen;
pub mod sweep;

pub use draft::{Draft, DraftError, Fault, Order, Place, Way};
pub use free_draft::{FreeDraft, FreeFault};

use crate::project::{Command, CommandId};
use crate::remote::Origin;

use super::action::{CodesAction, Edit};
use super::effect::Effect;
use super::model::Model;
use super::notice::{Level, Notice, Topic};
use super::station::Station;

/// The Codes station.
#[derive(Clone, Debug, Default)]
pub struct CodesState {
    /// Jack, listen, type in or sweep.
    pub view: CodesView,
    /// The command shown.
    pub chosen: Option<CommandId>,
    /// A command being typed.
    pub draft: Option<Draft>,
    /// Listening to the remote.
    pub listen: listen::ListenState,
    /// Trying one code after the other.
    pub sweep: sweep::SweepState,
    /// A list of commands being taken in.
    pub list: list::ListState,
}

/// The views of the Codes station.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum CodesView {
    /// What the stereo's wired remote input wants, by a meter.
    Jack,
    /// The chosen command, and listening to the remote.
    #[default]
    Listen,
    /// A command typed in.
    TypeIn,
    /// One code after the other, for a stereo with no remote.
    Sweep,
}

impl CodesView {
    /// All of them, in the order of the switch.
    pub const ALL: [Self; 4] = [Self::Jack, Self::Listen, Self::TypeIn, Self::Sweep];

    /// What it is called.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Jack => "Jack",
            Self::Listen => "Listen",
            Self::TypeIn => "Type in",
            Self::Sweep => "Sweep",
        }
    }
}

/// Another document is there: nothing of the one before stays, and the box listens no longer.
pub(super) fn reset(model: &mut Model) -> Vec<Effect> {
    let (listen, effects) = listen::reset(model);
    model.codes = CodesState { listen, ..CodesState::default() };
    effects
}

/// What an action of this station changes.
pub(super) fn update(model: &mut Model, action: CodesAction) -> Vec<Effect> {
    match action {
        CodesAction::View(view) => {
            model.codes.view = view;
            if view == CodesView::TypeIn {
                begin(model);
            }
        }
        CodesAction::Listen(action) => return listen::update(model, action),
        CodesAction::Sweep(action) => return sweep::update(model, action),
        CodesAction::List(action) => return list::update(model, action),
        CodesAction::Choose(id) => {
            model.codes.chosen = Some(id);
            model.codes.draft = None;
            if model.codes.view == CodesView::TypeIn {
                model.codes.view = CodesView::Listen;
            }
            return listen::chosen(model);
        }
        CodesAction::New => {
            model.codes.view = CodesView::TypeIn;
            begin(model);
        }
        CodesAction::Draft(draft) => {
            model.codes.view = CodesView::TypeIn;
            model.codes.draft = Some(draft);
        }
        CodesAction::Keep => keep(model),
        CodesAction::Discard => {
            model.codes.draft = None;
            model.codes.view = CodesView::Listen;
            model.notices.clear(Topic::Edit);
        }
    }
    Vec::new()
}

/// Begins a draft; one that is being typed stays.
fn begin(model: &mut Model) {
    if model.codes.draft.is_none() {
        let commands = model.project().map(|project| project.stereo.commands.as_slice()).unwrap_or_default();
        model.codes.draft = Some(Draft::new(commands));
    }
}

fn keep(model: &mut Model) {
    let Some(draft) = model.codes.draft.clone() else { return };
    let Some(project) = model.project() else { return };
    let code = match draft.code(&project.stereo.commands) {
        Ok(code) => code,
        Err(error) => {
            say(model, &error.to_string());
            return;
        }
    };
    let before = draft.id.as_ref().and_then(|id| project.command(id)).cloned();
    let same_code = before.as_ref().is_some_and(|before| before.code == code);
    let command = Command {
        id: draft.id.clone().unwrap_or_default(),
        name: draft.name.clone(),
        origin: before.as_ref().filter(|_| same_code).map_or(Origin::Typed, |before| before.origin),
        tried: same_code && before.as_ref().is_some_and(|before| before.tried),
        heard: before.as_ref().filter(|_| same_code).map(|before| before.heard.clone()).unwrap_or_default(),
        code,
    };
    let edit = match &draft.id {
        Some(_) => Edit::ChangeCommand(Box::new(command)),
        None => Edit::AddCommand(Box::new(command)),
    };
    if super::update::edit(model, &edit) {
        let commands = model.project().map(|project| project.stereo.commands.as_slice()).unwrap_or_default();
        model.codes.chosen = draft.id.or_else(|| commands.last().map(|command| command.id.clone()));
        model.codes.draft = None;
        model.codes.view = CodesView::Listen;
        model.notices.clear(Topic::Edit);
    }
}

fn say(model: &mut Model, body: &str) {
    model.notices.show(Notice::new(Topic::Edit, Level::Stop, "Not kept.", body).at(Station::Codes));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn asking_for_a_new_command_keeps_the_one_being_typed() {
        let mut model = Model::default();
        update(&mut model, CodesAction::Draft(Draft { name: "Half".to_owned(), ..Draft::default() }));
        update(&mut model, CodesAction::New);
        assert_eq!(model.codes.draft.map(|draft| draft.name), Some("Half".to_owned()));
    }
}
