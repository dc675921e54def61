//! The Learn station: the running session, stretches dragged by hand, and where on the recording
//! the person looks.

pub mod bands;
mod click;
pub mod dwell;
mod session;

use std::collections::BTreeMap;

use crate::demo::Person;
use crate::learn::{Command, Session};
use crate::project::ButtonId;
use crate::signal::Reading;
use crate::units::WIRES;

use super::action::{LearnAction, LearnView};
use super::effect::Effect;
use super::link::Phase;
use super::model::Model;
use super::notice::Topic;

pub use click::Picked;
pub use session::demo_places;
pub(super) use session::merged;

/// How much of the recording the trace shows at first, in milliseconds.
pub const FIRST_SPAN_MS: f64 = 14_000.0;

/// The shortest and the longest stretch the trace shows, in milliseconds: a fifth of a second, and
/// the whole recording with room.
pub const SPANS_MS: (f64, f64) = (200.0, 7_300_000.0);

/// A view held still by a drag follows the live reading again if it is no further behind than this.
const FOLLOW_MS: f64 = 60_000.0;

/// The most marks kept over the trace; the oldest go first.
const MOST_MARKS: usize = 600;

/// The Learn station.
#[derive(Debug)]
pub struct LearnState {
    /// Prompted, click or buttons.
    pub view: LearnView,
    /// The running session.
    pub session: Option<Session>,
    /// The running re-check: each button once, held against its band.
    pub recheck: Option<Session>,
    /// What was told about the feed.
    pub(super) feed_told: bands::FeedTold,
    /// The readings of the running session's presses, counted, by button and press.
    pub(super) tallies: BTreeMap<ButtonId, Vec<Vec<(u16, u32)>>>,
    /// The demo's hand, when it presses what is asked.
    pub hand: Option<Person>,
    /// The button a stretch is for.
    pub chosen: Option<ButtonId>,
    /// A stretch dragged by hand.
    pub picked: Option<Picked>,
    /// The choice of the dwell.
    pub dwell: dwell::DwellState,
    /// What is drawn over the trace: presses taken and refused, in the recording's time.
    pub marks: Vec<Mark>,
    /// The latest time shown, or the live reading.
    pub end_ms: Option<f64>,
    /// How much is shown, in milliseconds.
    pub span_ms: f64,
    /// Which wire the trace shows, from 0.
    pub wire: usize,
}

impl Default for LearnState {
    fn default() -> Self {
        Self {
            view: LearnView::default(),
            session: None,
            recheck: None,
            feed_told: bands::FeedTold::default(),
            tallies: BTreeMap::new(),
            hand: None,
            chosen: None,
            picked: None,
            dwell: dwell::DwellState::default(),
            marks: Vec::new(),
            end_ms: None,
            span_ms: FIRST_SPAN_MS,
            wire: 0,
        }
    }
}

/// A press as it is marked over the trace.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// From 0.
    pub wire: usize,
    /// Where its settled part begins, in the recording's time.
    pub from_ms: f64,
    /// Where it ends.
    pub to_ms: f64,
    /// Where it settled, in counts.
    pub count: f64,
    /// Whose it is: the button it was taken for, or refused for.
    pub button: ButtonId,
    /// Whether it was refused.
    pub refused: bool,
}

/// What an action of this station changes.
pub(super) fn update(model: &mut Model, action: LearnAction) -> Vec<Effect> {
    match action {
        LearnAction::View(view) => {
            model.learn.view = view;
            if view != LearnView::Prompted {
                // Presses made here are for the eye and the pointer, not for the session.
                session::command(model, Command::Pause);
            }
            if view == LearnView::Click && model.learn.chosen.is_none() {
                click::choose_next(model);
            }
            if view == LearnView::Dwell { dwell::look(model) } else { Vec::new() }
        }
        LearnAction::Recheck(action) => bands::update(model, action),
        LearnAction::Dwell(action) => dwell::update(model, action),
        LearnAction::Start(only) => session::start(model, only),
        LearnAction::Session(command) => session::command(model, command),
        LearnAction::Hand(on) => session::hand(model, on),
        LearnAction::Choose(id) => {
            model.learn.chosen = Some(id);
            model.notices.clear(Topic::Refused);
            Vec::new()
        }
        LearnAction::Drag { wire, from_ms, to_ms } => {
            click::drag(model, wire, from_ms, to_ms);
            Vec::new()
        }
        LearnAction::Pick { wire, at_ms } => {
            click::pick(model, wire, at_ms);
            Vec::new()
        }
        LearnAction::Take(other) => {
            click::take(model, other);
            Vec::new()
        }
        LearnAction::Clear => {
            model.learn.picked = None;
            model.notices.clear(Topic::Refused);
            follow_again(model);
            Vec::new()
        }
        LearnAction::Look { end_ms, span_ms } => {
            look(model, end_ms, span_ms);
            Vec::new()
        }
        LearnAction::Wire(wire) => {
            model.learn.wire = wire.min(WIRES - 1);
            Vec::new()
        }
    }
}

/// Moves the view over the recording, and keeps it there.
fn look(model: &mut Model, end_ms: Option<f64>, span_ms: f64) {
    if !span_ms.is_finite() || end_ms.is_some_and(|end| !end.is_finite()) {
        return;
    }
    let span_ms = span_ms.clamp(SPANS_MS.0, SPANS_MS.1);
    let first = model.recording.first_t_ms().unwrap_or(0.0);
    let last = model.recording.last_t_ms().unwrap_or(0.0);
    // Some of the recording always stays in view.
    let earliest = first + 0.2 * span_ms;
    model.learn.end_ms = end_ms.map(|end| end.max(earliest)).filter(|end| *end < last);
    model.learn.span_ms = span_ms;
}

/// A drag held the view still; near the live reading it follows again.
fn follow_again(model: &mut Model) {
    let last = model.recording.last_t_ms().unwrap_or(0.0);
    if model.learn.end_ms.is_some_and(|end| last - end < FOLLOW_MS.max(model.learn.span_ms)) {
        model.learn.end_ms = None;
    }
}

/// New readings, already in the recording.
pub(super) fn readings(model: &mut Model, readings: &[Reading]) -> Vec<Effect> {
    if model.learn.recheck.is_some() {
        let mut effects = bands::readings(model, readings);
        effects.extend(session::move_hand(model, readings));
        return effects;
    }
    session::readings(model, readings)
}

/// Readings are missing here.
pub(super) fn lost(model: &mut Model) {
    for session in model.learn.session.iter_mut().chain(&mut model.learn.recheck) {
        session.loss();
    }
}

/// What was learned on the running link was four times too high.
pub(super) fn rescale(model: &mut Model) {
    for session in model.learn.session.iter_mut().chain(&mut model.learn.recheck) {
        session.rescale_quarter();
    }
    for mark in &mut model.learn.marks {
        mark.count /= crate::signal::Converter::TwelveBit.per_count();
    }
    model.learn.picked = None;
    model.kept.stale = true;
}

/// The scale of everything recorded changed by the person's word: a session begins anew.
pub(super) fn converter_changed(model: &mut Model) {
    model.learn.session = None;
    model.learn.recheck = None;
    model.learn.marks.clear();
    model.learn.picked = None;
    model.kept.stale = true;
}

/// Another project is open: nothing of the old one's learning is left.
pub(super) fn reset(model: &mut Model) {
    let wire = model.learn.wire;
    model.learn = LearnState { wire, ..LearnState::default() };
}

/// Puts a mark over the trace.
fn mark(model: &mut Model, mark: Mark) {
    let marks = &mut model.learn.marks;
    marks.push(mark);
    if marks.len() > MOST_MARKS {
        marks.remove(0);
    }
}

/// Whether readings can be expected.
fn link_is_up(model: &Model) -> bool {
    matches!(model.link.phase, Phase::Open | Phase::Gone)
}
