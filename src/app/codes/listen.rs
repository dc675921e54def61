//! Listening to the hand-held remote: the presses heard so far, and the command made of them; and
//! sending the command shown for a try. Knows no bytes and no screen.

mod ear;
mod presses;
#[cfg(test)]
mod tests;
mod trying;

use super::super::Action;
use super::super::action::{CodesAction, Edit};
use super::super::effect::Effect;
use super::super::model::Model;
use super::super::notice::Topic;
use super::super::station::Station;
use super::{CodesView, Draft, Place};
use crate::demo::demo_project;
use crate::device::Failure;
use crate::link::{DemoTouch, Request};
use crate::project::{Command, CommandId, MAX_HEARD, Project};
use crate::remote::{Code, FreeFamily, Origin};

pub use ear::{Ear, Shut};
pub use presses::{Press, Presses};
pub use trying::{TryState, Trying};

/// How often the remote is pressed for one command.
pub const PRESSES: usize = 3;

/// Captures with fewer timings than this are flickers of light, not a remote's: a mark and a space
/// carry nothing.
pub const FLICKER_TIMINGS: usize = 3;

/// What listening keeps.
#[derive(Clone, Debug, Default)]
pub struct ListenState {
    /// What is being listened for, from the first press of L until it is kept or put away.
    pub session: Option<Session>,
    /// What was heard for the command shown.
    pub kept: Option<KeptPresses>,
    /// The command that was sent last from here.
    pub trying: Option<Trying>,
    /// Answers to requests to listen, or not to, that the box still owes.
    owed: u32,
}

/// The presses kept with the command shown, understood.
#[derive(Clone, Debug, PartialEq)]
pub struct KeptPresses {
    /// Which command.
    pub command: CommandId,
    /// What was heard.
    pub presses: Presses,
}

/// What is being listened for.
#[derive(Clone, Debug)]
pub struct Session {
    /// The command it is for; `None` makes a new one.
    pub target: Option<CommandId>,
    /// The name of a new command.
    pub name: String,
    /// What is wrong with that name.
    pub name_fault: Option<String>,
    /// Whether keeping was tried: an empty name is told from then on.
    pub attempted: bool,
    /// What was heard so far.
    pub presses: Presses,
    /// Whether the box listens.
    pub ear: Ear,
    /// Captures too short to be a code, since the last one that was long enough.
    pub flickers: u32,
    /// What went wrong with the last capture on its way from the box, and what to do.
    pub torn: Option<String>,
}

/// What a person does.
#[derive(Clone, Debug, PartialEq)]
pub enum ListenAction {
    /// Listen for the command shown, or for a new one where there is none; or go on listening. Where
    /// all was heard, begin again.
    Start,
    /// Forget all presses, and listen.
    Again,
    /// Forget the presses that say something else or were not understood, and listen for as many.
    Redo,
    /// Stop listening; the presses stay.
    Stop,
    /// Stop, and forget the presses.
    PutAway,
    /// Whether it is for a new command, or for the one shown.
    ForNew(bool),
    /// The new command's name.
    Name(String),
    /// Keep what was heard as the command's code.
    Keep,
    /// Keep the timings of a press that was not understood, as they were heard.
    KeepRaw,
    /// Keep what failed its check as a code of a free family, without it.
    KeepFree,
    /// Send this command once, as if its button were tapped.
    Try(CommandId),
    /// The stereo obeyed it.
    Worked(CommandId),
}

impl Session {
    /// What may be kept: most presses say it, or the only one that was understood.
    #[must_use]
    pub fn keepable(&self) -> Option<&Code> {
        self.presses.agreed().map(|consensus| &consensus.heard.code)
    }

    /// The timings of a press that was not understood, where none was: to be kept knowingly.
    #[must_use]
    pub fn raw(&self) -> Option<&Code> {
        self.presses.raw()
    }

    /// What the presses are without the check they fail, as a code of a free family: to be kept knowingly,
    /// where the remote sends no check.
    #[must_use]
    pub fn free(&self) -> Option<&Code> {
        self.presses.free()
    }

    /// Whether all was heard that is asked for.
    #[must_use]
    pub fn is_full(&self) -> bool {
        self.presses.understood() >= PRESSES || self.presses.all.len() >= MAX_HEARD
    }
}

/// The command shown: the chosen one, or the first where that is gone.
#[must_use]
pub fn shown(model: &Model) -> Option<&Command> {
    let commands = &model.project()?.stereo.commands;
    let chosen = model.codes.chosen.as_ref();
    chosen.and_then(|id| commands.iter().find(|command| command.id == *id)).or_else(|| commands.first())
}

/// What an action changes.
pub(super) fn update(model: &mut Model, action: ListenAction) -> Vec<Effect> {
    match action {
        ListenAction::Start => start(model),
        ListenAction::Again => {
            forget(model, |_| Presses::default());
            start(model)
        }
        ListenAction::Redo => {
            forget(model, Presses::agreeing);
            start(model)
        }
        ListenAction::Stop => ear::shut(model, Shut::Stopped),
        ListenAction::PutAway => {
            let effects = ear::shut(model, Shut::Stopped);
            model.codes.listen.session = None;
            model.notices.clear(Topic::Edit);
            effects
        }
        ListenAction::ForNew(new) => {
            let target = if new { None } else { shown(model).map(|command| command.id.clone()) };
            aim(model, target)
        }
        ListenAction::Name(name) => {
            if let Some(session) = &mut model.codes.listen.session {
                session.name = name;
                judge_name(model);
            }
            Vec::new()
        }
        ListenAction::Keep => keep(model),
        ListenAction::KeepRaw => keep_raw(model),
        ListenAction::KeepFree => keep_free(model),
        ListenAction::Try(id) => trying::send(model, id),
        ListenAction::Worked(id) => {
            trying::worked(model, &id);
            Vec::new()
        }
    }
}

fn start(model: &mut Model) -> Vec<Effect> {
    if model.document.is_none() {
        return Vec::new();
    }
    model.codes.view = CodesView::Listen;
    let target = shown(model).map(|command| command.id.clone());
    let session = model.codes.listen.session.get_or_insert_with(|| Session {
        target,
        name: String::new(),
        name_fault: None,
        attempted: false,
        presses: Presses::default(),
        ear: Ear::Shut(Shut::Stopped),
        flickers: 0,
        torn: None,
    });
    if session.is_full() {
        session.presses = Presses::default();
    }
    judge_name(model);
    ear::open(model)
}

fn forget(model: &mut Model, but: impl FnOnce(&Presses) -> Presses) {
    if let Some(session) = &mut model.codes.listen.session {
        session.presses = but(&session.presses);
    }
}

/// Listens for another command from here on; what was heard stays.
fn aim(model: &mut Model, target: Option<CommandId>) -> Vec<Effect> {
    let Some(session) = &mut model.codes.listen.session else { return Vec::new() };
    session.target = target;
    session.attempted = false;
    let listens = session.ear.is_on();
    judge_name(model);
    if listens { hold_remote(model) } else { Vec::new() }
}

/// Another command was chosen: what is heard is for that one.
pub(super) fn chosen(model: &mut Model) -> Vec<Effect> {
    let target = shown(model).map(|command| command.id.clone());
    aim(model, target)
}

/// In the demo the remote's button for the command is pressed.
fn hold_remote(model: &Model) -> Vec<Effect> {
    if !model.link.is_demo() {
        return Vec::new();
    }
    let target = model.codes.listen.session.as_ref().and_then(|session| session.target.as_ref());
    let commands = demo_project().stereo.commands;
    let known = target.and_then(|id| commands.iter().position(|command| command.id == *id));
    vec![Effect::Link(Request::Demo(DemoTouch::Remote(Some(known.unwrap_or(commands.len())))))]
}

fn judge_name(model: &mut Model) {
    let commands = model.project().map(|project| project.stereo.commands.clone()).unwrap_or_default();
    let Some(session) = &mut model.codes.listen.session else { return };
    let named = Draft { name: session.name.clone(), ..Draft::default() };
    let fault = named.faults(&commands).into_iter().find(|fault| fault.place == Place::Name);
    session.name_fault = fault.filter(|_| session.target.is_none()).map(|fault| fault.what);
}

fn keep(model: &mut Model) -> Vec<Effect> {
    let Some(session) = &model.codes.listen.session else { return Vec::new() };
    let Some(code) = session.keepable().cloned() else { return Vec::new() };
    take(model, code, |press| press.heard.is_ok())
}

fn keep_raw(model: &mut Model) -> Vec<Effect> {
    let Some(session) = &model.codes.listen.session else { return Vec::new() };
    let Some(code) = session.raw().cloned() else { return Vec::new() };
    take(model, code, |press| press.raw().is_some())
}

fn keep_free(model: &mut Model) -> Vec<Effect> {
    let Some(session) = &model.codes.listen.session else { return Vec::new() };
    let Some(code) = session.free().cloned() else { return Vec::new() };
    take(model, code, |press| press.free().is_some())
}

/// Makes the command of a code, with the presses it came from: one step of undo.
fn take(model: &mut Model, code: Code, counts: impl Fn(&Press) -> bool) -> Vec<Effect> {
    let Some(session) = &mut model.codes.listen.session else { return Vec::new() };
    if session.target.is_none() && session.name_fault.is_some() {
        session.attempted = true;
        return Vec::new();
    }
    let (target, name) = (session.target.clone(), session.name.clone());
    let heard = session.presses.kept(counts);
    let before = target.as_ref().and_then(|id| model.project()?.command(id)).cloned();
    let tried = before.as_ref().is_some_and(|before| before.tried && before.code == code);
    let change = match before {
        Some(before) => {
            Edit::ChangeCommand(Box::new(Command { code, origin: Origin::Captured, tried, heard, ..before }))
        }
        None => Edit::AddCommand(Box::new(Command {
            id: CommandId::default(),
            name,
            code,
            origin: Origin::Captured,
            tried,
            heard,
        })),
    };
    if !super::super::update::edit(model, &change) {
        return Vec::new();
    }
    let last = model.project().and_then(|project| project.stereo.commands.last());
    model.codes.chosen = target.or_else(|| last.map(|command| command.id.clone()));
    let effects = ear::shut(model, Shut::Enough);
    model.codes.listen.session = None;
    effects
}

/// What is left of listening where another document is there, and what ends it.
pub(super) fn reset(model: &mut Model) -> (ListenState, Vec<Effect>) {
    let effects = ear::shut(model, Shut::Left);
    // The box answers for the one before.
    (ListenState { owed: model.codes.listen.owed, ..ListenState::default() }, effects)
}

/// The box heard a remote.
pub(in crate::app) fn heard(model: &mut Model, timings_us: Vec<f64>, overflow: bool) -> Vec<Effect> {
    let free = model.project().map(free_in_use).unwrap_or_default();
    let Some(session) = model.codes.listen.session.as_mut().filter(|session| session.ear.is_on()) else {
        return Vec::new();
    };
    session.ear = Ear::Open;
    session.torn = None;
    if timings_us.len() < FLICKER_TIMINGS {
        session.flickers += 1;
        return Vec::new();
    }
    session.flickers = 0;
    session.presses.push(Press::new(timings_us, overflow, &free));
    if session.is_full() { ear::shut(model, Shut::Enough) } else { Vec::new() }
}

/// The free families of the stereo's commands, each once.
fn free_in_use(project: &Project) -> Vec<FreeFamily> {
    let mut all: Vec<FreeFamily> = Vec::new();
    for command in &project.stereo.commands {
        match command.code {
            Code::Free { free, .. } if !all.contains(&free) => all.push(free),
            _ => {}
        }
    }
    all
}

/// The box did what it was asked about listening.
pub(in crate::app) fn done(model: &mut Model) {
    ear::answered(model, None);
}

/// The box did not do it, or a capture was torn on the way.
pub(in crate::app) fn failed(model: &mut Model, failure: &Failure) {
    ear::answered(model, Some(failure));
}

/// The box sent what it was asked to.
pub(in crate::app) fn sent(model: &mut Model, frames: u8) {
    trying::sent(model, frames);
}

/// The box did not send it. True if it was asked for here, and is told here.
pub(in crate::app) fn not_sent(model: &mut Model, failure: &Failure) -> bool {
    trying::not_sent(model, failure)
}

/// What follows from everything else that happens: the box listens only while somebody looks, and
/// nothing that was heard is lost.
pub(in crate::app) fn mind(model: &mut Model) -> Vec<Effect> {
    let is_shown = model.station == Station::Codes && model.codes.view == CodesView::Listen;
    let is_here = is_shown && model.document.is_some();
    let has_box = model.the_box.identity().is_some();
    let mut effects = Vec::new();
    if !has_box {
        ear::gone(model);
        trying::gone(model);
    }
    if !is_here {
        effects.extend(ear::shut(model, Shut::Left));
    }
    if is_here {
        effects.extend(let_go(model));
        keep_up(model);
    }
    effects
}

/// Where the command that was listened for is gone, what is heard is for a new one.
fn let_go(model: &mut Model) -> Vec<Effect> {
    let target = model.codes.listen.session.as_ref().and_then(|session| session.target.as_ref());
    let is_gone = target.is_some_and(|id| model.project().and_then(|project| project.command(id)).is_none());
    if is_gone { aim(model, None) } else { Vec::new() }
}

/// Understands the presses kept with the command shown, once.
fn keep_up(model: &mut Model) {
    let Some(command) = shown(model).filter(|command| !command.heard.is_empty()) else {
        model.codes.listen.kept = None;
        return;
    };
    let is_same = |kept: &KeptPresses| kept.command == command.id && kept.presses.are(&command.heard);
    if model.codes.listen.kept.as_ref().is_some_and(is_same) {
        return;
    }
    let free = model.project().map(free_in_use).unwrap_or_default();
    let kept = KeptPresses { command: command.id.clone(), presses: Presses::of(&command.heard, &free) };
    model.codes.listen.kept = Some(kept);
}

/// The action that does this.
#[must_use]
pub const fn action(action: ListenAction) -> Action {
    Action::Codes(CodesAction::Listen(action))
}
