//! Running through candidate codes, for a stereo with no remote: what is typed, how the run stands, and
//! what a person does with it. What keeps it moving is in `run`, what holds it back in `hindrance`. Knows
//! no bytes and no screen.

mod draft;
mod hindrance;
mod run;
#[cfg(test)]
mod tests;

use std::collections::BTreeMap;

use crate::project::{Command, CommandId, Sweep, SweepMark};
use crate::remote::{Origin, SweepRange};

use super::super::action::Edit;
use super::super::effect::Effect;
use super::super::model::Model;
use super::super::{edit as edits, update as updates};

pub use draft::{SweepDraft, SweepFault, SweepPlace};
pub use hindrance::{Hindrance, hindrance};
pub use run::Halt;
pub(in crate::app) use run::{heard, look_after, tick};

/// A mark so soon after a code may be meant for the one before: nobody reacts faster than this, and the
/// stereo takes its time too (common practice, no source).
pub const LATE_MS: f64 = 300.0;

/// What the sweep keeps beside what the project holds of it.
#[derive(Clone, Debug, Default)]
pub struct SweepState {
    /// The set-up as typed; `None` until something is.
    pub draft: Option<SweepDraft>,
    /// Starting was tried: empty fields are told from then on.
    pub attempted: bool,
    /// Whether the caution was answered for this run. Never saved.
    pub agreed: bool,
    /// Whether codes are sent.
    pub motion: Motion,
    /// The candidate sent last, since the run was begun or taken up.
    pub sent: Option<Sent>,
    /// The candidate sent before that one.
    pub before: Option<u16>,
    /// Why it pauses.
    pub halt: Option<Halt>,
    /// A mark that came so soon that it may be meant for the code before.
    pub question: Option<Question>,
    /// Names being typed, by their mark's candidate.
    pub names: BTreeMap<u16, String>,
    /// Since when the box owes word that it sent the last one, by the window's clock.
    awaited_ms: Option<f64>,
    /// When the next one is due.
    due_ms: f64,
    /// The toggle bit of the one sent last.
    toggle: bool,
    /// What the state above belongs to: the document, its range, and how far it has come.
    of: (u64, Option<(SweepRange, u16)>),
    /// Whether a box was there when it was looked at last.
    was_there: bool,
}

/// Whether codes are sent.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Motion {
    /// None.
    #[default]
    Paused,
    /// One, as soon as it may be, and then it pauses.
    Stepping,
    /// One after the other.
    Running,
}

/// A candidate that was sent.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sent {
    /// Which, from 0.
    pub at: u16,
    /// When, by the window's clock, in milliseconds.
    pub ms: f64,
    /// Whether the box has said so.
    pub whole: bool,
}

/// Which of two codes a mark was meant for. Both are marked until it is answered, so that none is lost.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Question {
    /// The one that had just been sent.
    pub last: u16,
    /// The one before it.
    pub before: u16,
}

/// The answer to a [`Question`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Meant {
    /// The one sent last.
    Last,
    /// The one before it.
    Before,
    /// Both did something.
    Both,
}

/// What a person does.
#[derive(Clone, Debug, PartialEq)]
pub enum SweepAction {
    /// Replace what is typed by this.
    Draft(SweepDraft),
    /// Answer the caution, or take the answer back.
    Agree(bool),
    /// Begin a sweep of what is typed.
    Begin,
    /// Go on.
    Go,
    /// Pause.
    Pause,
    /// Go back one, and wait.
    Back,
    /// Send the next one, and wait.
    Forward,
    /// The stereo did something: mark the code sent last, and wait.
    Mark,
    /// Say which code a mark was meant for.
    Answer(Meant),
    /// Take a mark away.
    Unmark(u16),
    /// What a marked code is to be called, as typed so far.
    Name(u16, String),
    /// Keep a marked code as a command of that name.
    Keep(u16),
    /// Begin the same codes again.
    Restart,
    /// Forget the sweep; commands kept of it stay.
    Forget,
}

/// What an action changes.
pub(super) fn update(model: &mut Model, action: SweepAction) -> Vec<Effect> {
    match action {
        SweepAction::Draft(draft) => type_in(model, draft),
        SweepAction::Agree(agreed) => model.codes.sweep.agreed = agreed,
        SweepAction::Begin => return begin(model),
        SweepAction::Go => return run::go(model),
        SweepAction::Pause => run::halt(model, Halt::Person),
        SweepAction::Back => back(model),
        SweepAction::Forward => return run::step(model),
        SweepAction::Mark => mark(model),
        SweepAction::Answer(meant) => answer(model, meant),
        SweepAction::Unmark(at) => unmark(model, at),
        SweepAction::Name(at, name) => {
            model.codes.sweep.names.insert(at, name);
        }
        SweepAction::Keep(at) => keep(model, at),
        SweepAction::Restart => {
            run::halt(model, Halt::Person);
            run::change(model, |sweep| sweep.next = 0);
            let state = &mut model.codes.sweep;
            (state.agreed, state.halt, state.sent, state.before) = (false, None, None, None);
        }
        SweepAction::Forget => forget(model),
    }
    Vec::new()
}

/// What is typed, or what is proposed while nothing is.
#[must_use]
pub fn typed(model: &Model) -> SweepDraft {
    let stereo = model.project().map(|project| &project.stereo);
    match (&model.codes.sweep.draft, stereo.and_then(|stereo| stereo.sweep.as_ref())) {
        (Some(draft), _) => draft.clone(),
        (None, Some(sweep)) => SweepDraft::of(sweep),
        (None, None) => stereo.map(SweepDraft::proposed).unwrap_or_default(),
    }
}

/// Takes what is typed; the pace holds from the next code on.
fn type_in(model: &mut Model, draft: SweepDraft) {
    let now = model.project().and_then(|project| project.stereo.sweep.as_ref()).map(|sweep| sweep.pace_ms);
    if let (Some(now), Ok(pace_ms)) = (now, draft.pace_ms())
        && now != pace_ms
    {
        run::change(model, |sweep| sweep.pace_ms = pace_ms);
    }
    model.codes.sweep.draft = Some(draft);
}

fn begin(model: &mut Model) -> Vec<Effect> {
    let draft = typed(model);
    let is_there = model.project().is_none_or(|project| project.stereo.sweep.is_some());
    let (Ok(range), Ok(pace_ms), false) = (draft.range(), draft.pace_ms(), is_there) else {
        model.codes.sweep.attempted = true;
        return Vec::new();
    };
    if !model.codes.sweep.agreed || hindrance(model).is_some() {
        model.codes.sweep.attempted = true;
        return Vec::new();
    }
    let sweep = Sweep { range, pace_ms, next: 0, marks: Vec::new() };
    updates::edit(model, &Edit::Settle);
    if updates::edit(model, &Edit::Sweep(Some(sweep))) {
        let agreed = model.codes.sweep.agreed;
        run::follow(model);
        model.codes.sweep.agreed = agreed;
        return run::go(model);
    }
    Vec::new()
}

fn back(model: &mut Model) {
    run::halt(model, Halt::Person);
    run::change(model, |sweep| sweep.next = sweep.next.saturating_sub(1));
}

/// Marks the code sent last, and waits: what comes after it must not hide what it did.
fn mark(model: &mut Model) {
    let state = &model.codes.sweep;
    let Some(sent) = state.sent else { return };
    let before = state.before.filter(|&before| before != sent.at && model.now.ms - sent.ms < LATE_MS);
    run::halt(model, Halt::Marked);
    let fresh = |at: &u16| marks(model).iter().all(|mark| mark.at != *at);
    let new: Vec<u16> = before.into_iter().chain([sent.at]).filter(fresh).collect();
    if new.is_empty() {
        return;
    }
    let asks = new.len() == 2;
    run::alone(model, |sweep, commands| {
        for &at in &new {
            let code = sweep.range.code(u32::from(at));
            let known = commands.iter().find(|command| Some(&command.code) == code.as_ref());
            sweep.marks.push(SweepMark { at, command: known.map(|command| command.id.clone()) });
        }
    });
    model.codes.sweep.question = before.filter(|_| asks).map(|before| Question { last: sent.at, before });
}

fn marks(model: &Model) -> &[SweepMark] {
    let sweep = model.project().and_then(|project| project.stereo.sweep.as_ref());
    sweep.map(|sweep| sweep.marks.as_slice()).unwrap_or_default()
}

fn answer(model: &mut Model, meant: Meant) {
    let Some(question) = model.codes.sweep.question.take() else { return };
    match meant {
        Meant::Last => unmark(model, question.before),
        Meant::Before => unmark(model, question.last),
        Meant::Both => {}
    }
}

fn unmark(model: &mut Model, at: u16) {
    run::alone(model, |sweep, _| sweep.marks.retain(|mark| mark.at != at));
    let state = &mut model.codes.sweep;
    state.names.remove(&at);
    state.question = state.question.filter(|question| question.last != at && question.before != at);
}

/// Keeps a marked code as a command: one step of undo for both.
fn keep(model: &mut Model, at: u16) {
    let Some(project) = model.project() else { return };
    let code = project.stereo.sweep.as_ref().and_then(|sweep| sweep.range.code(u32::from(at)));
    let is_open = marks(model).iter().any(|mark| mark.at == at && mark.command.is_none());
    let (Some(code), true) = (code, is_open) else { return };
    let command = Command {
        id: CommandId::default(),
        name: model.codes.sweep.names.get(&at).cloned().unwrap_or_default(),
        code,
        origin: Origin::Swept,
        // It was seen to do something: that is why it was marked.
        tried: true,
        heard: Vec::new(),
    };
    let mut both = project.clone();
    let kept = edits::apply(&mut both, &Edit::AddCommand(Box::new(command)));
    let id = both.stereo.commands.last().map(|command| command.id.clone());
    let sweep = both.stereo.sweep.iter_mut().flat_map(|sweep| &mut sweep.marks);
    for mark in sweep.filter(|mark| mark.at == at) {
        mark.command.clone_from(&id);
    }
    if updates::outcome(model, None, kept.map(|()| both)) {
        model.codes.sweep.names.remove(&at);
        model.codes.chosen = id;
    }
}

fn forget(model: &mut Model) {
    let sweep = model.project().and_then(|project| project.stereo.sweep.clone());
    run::halt(model, Halt::Person);
    updates::edit(model, &Edit::Settle);
    if updates::edit(model, &Edit::Sweep(None)) {
        updates::edit(model, &Edit::Settle);
        run::follow(model);
        // What was swept is the beginning of what is swept next.
        model.codes.sweep.draft = sweep.as_ref().map(SweepDraft::of);
    }
}
