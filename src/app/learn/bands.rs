//! The view Bands: the re-check under the power the box runs on, and the feed while learning. What a
//! re-check reads never becomes what was learned. Knows no screen.

use crate::bands::{BandSet, LearnedOn};
use crate::learn::{Ask, Command, Event, Session, Setup};
use crate::project::{
    ButtonId, Checked, FeedOff, Project, Recheck, checked, feed_off, feed_off_at, planned_feed_v,
};
use crate::signal::Reading;
use crate::units::{number_of, volt_text};

use super::super::action::{Action, LearnAction, LearnView};
use super::super::effect::Effect;
use super::super::model::Model;
use super::super::notice::{Level, Notice, Topic};
use super::super::station::Station;
use super::{link_is_up, session};

/// What happens here.
#[derive(Clone, Debug, PartialEq)]
pub enum RecheckAction {
    /// Ask for each learned button once.
    Start,
    /// Something for the running re-check.
    Session(Command),
    /// End it; what was pressed so far is kept.
    Stop,
}

/// What follows from the project.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct BandsDerived {
    /// The last re-check, held against the bands.
    pub checked: Vec<Checked>,
    /// A feed while learning that was not the planned one.
    pub feed_off: Option<FeedOff>,
}

impl BandsDerived {
    /// Of this project and its bands.
    #[must_use]
    pub fn of(project: &Project, bands: &BandSet) -> Self {
        Self { checked: checked(project, bands), feed_off: feed_off(project) }
    }

    /// What the re-check found of a button, by its place in the wheel.
    #[must_use]
    pub fn checked(&self, button: usize) -> Option<&Checked> {
        self.checked.iter().find(|checked| checked.button == button)
    }
}

/// What was told about the feed, so that it is told once.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(in crate::app) enum FeedTold {
    #[default]
    Nothing,
    /// Nobody measured it, and readings go with it.
    Unknown,
    /// It is off the plan.
    Off(FeedOff),
}

/// The feed as the connected box measures it, in volts; a probe knows none, and a box only where it
/// measures against its supply.
#[must_use]
pub fn measured_feed_v(model: &Model) -> Option<f64> {
    if !model.link.is_open() {
        return None;
    }
    model.the_box.identity()?.supply_mv.map(|mv| f64::from(mv) / 1e3)
}

/// Keeps the feed of what is being learned with it, where it is measured.
pub(super) fn keep_feed(project: &mut Project, feed_v: Option<f64>) {
    if feed_v.is_some() {
        project.learned_on = Some(LearnedOn { feed_v });
    }
}

/// Says at once when the feed isn't the planned one and readings go with it, before bands are final.
pub(in crate::app) fn mind_feed(model: &mut Model) {
    let learning = model.learn.session.as_ref().is_some_and(|session| !session.is_over());
    let told = match (model.project(), learning) {
        (None, _) => FeedTold::Nothing,
        (Some(project), false) => feed_off(project).map_or(FeedTold::Nothing, FeedTold::Off),
        (Some(project), true) => {
            let typed = project.learned_on.and_then(|on| on.feed_v);
            let moves = project.circuit.as_ref().and_then(planned_feed_v).is_some();
            match measured_feed_v(model).or(typed) {
                Some(volt) => feed_off_at(project, volt).map_or(FeedTold::Nothing, FeedTold::Off),
                None if moves => FeedTold::Unknown,
                None => FeedTold::Nothing,
            }
        }
    };
    if told == model.learn.feed_told {
        return;
    }
    model.learn.feed_told = told;
    let planned = model.project().and_then(|project| project.circuit.as_ref()).and_then(planned_feed_v);
    let (level, head, body) = match told {
        FeedTold::Nothing => {
            model.notices.clear(Topic::Feed);
            return;
        }
        FeedTold::Unknown => (
            Level::Note,
            "Nothing measures the feed.".to_owned(),
            format!(
                "Readings go with it, and {} are planned. Measure the box's 5 V and type it at Learn, Bands.",
                volt_text(planned.unwrap_or_default())
            ),
        ),
        FeedTold::Off(off) => (
            Level::Caution,
            format!("The feed is {}, planned {}.", volt_text(off.learned_v), volt_text(off.planned_v)),
            format!(
                "Readings are {}: the bands are provisional. Learn on the power the box will run on, or re-check there.",
                off.share_text()
            ),
        ),
    };
    model.notices.show(Notice::new(Topic::Feed, level, head, body).at(Station::Learn));
}

/// What an action changes.
pub(super) fn update(model: &mut Model, action: RecheckAction) -> Vec<Effect> {
    match action {
        RecheckAction::Start => start(model),
        RecheckAction::Session(command) => {
            let mut events = Vec::new();
            if let Some(session) = &mut model.learn.recheck {
                session.command(command, &mut events);
            }
            take_events(model, &events)
        }
        RecheckAction::Stop => end(model),
    }
}

fn start(model: &mut Model) -> Vec<Effect> {
    model.learn.view = LearnView::Bands;
    let Some(project) = model.project() else { return Vec::new() };
    let asks: Vec<Ask> = project
        .wheel
        .buttons
        .iter()
        .filter(|button| project.learned.get(&button.id).is_some_and(|learned| !learned.presses.is_empty()))
        .map(|button| Ask { id: button.id.clone(), name: button.name.clone(), wire: button.wire })
        .collect();
    if asks.is_empty() {
        return told(model, Level::Caution, "Nothing to re-check.", "Learn the buttons first.".to_owned());
    }
    if !link_is_up(model) {
        return told(
            model,
            Level::Caution,
            "Nothing is connected.",
            "Connect the box in the vehicle, on its power, then press V again.".to_owned(),
        );
    }
    let converter_error_count = project.plan.converter_error_count;
    let setup = Setup { converter_error_count, ..Setup::new(asks, 1) };
    session::command(model, Command::Pause);
    model.learn.recheck = Some(Session::new(setup));
    model.notices.clear(Topic::Recheck);
    // Nobody sits at the demo's wheel.
    if model.link.is_demo() { session::hand(model, true) } else { Vec::new() }
}

fn told(model: &mut Model, level: Level, head: &str, body: String) -> Vec<Effect> {
    model.notices.show(Notice::new(Topic::Recheck, level, head, body).at(Station::Learn));
    Vec::new()
}

/// New readings for the running re-check.
pub(super) fn readings(model: &mut Model, readings: &[Reading]) -> Vec<Effect> {
    let mut events = Vec::new();
    if let Some(session) = &mut model.learn.recheck {
        session.take(readings, &mut events);
    }
    take_events(model, &events)
}

fn take_events(model: &mut Model, events: &[Event]) -> Vec<Effect> {
    if events.iter().any(|event| matches!(event, Event::Done { .. } | Event::Stopped)) {
        return end(model);
    }
    Vec::new()
}

/// Keeps what was pressed, as one step of undo, and tells what came of it.
fn end(model: &mut Model) -> Vec<Effect> {
    let effects = session::hand(model, false);
    let Some(session) = model.learn.recheck.take() else { return effects };
    let presses = session.results().iter().filter_map(|result| {
        let press = result.presses.last()?;
        Some((result.id.clone(), press.clone()))
    });
    let presses: std::collections::BTreeMap<ButtonId, _> = presses.collect();
    if presses.is_empty() {
        return effects;
    }
    let recheck = Recheck { feed_v: measured_feed_v(model), presses };
    if let Some(document) = &mut model.document {
        document.change(None, |project| project.rechecked = Some(recheck));
    }
    let Some(project) = model.project() else { return effects };
    let bands = crate::project::bands(project);
    let found = checked(project, &bands);
    let left: Vec<String> = found
        .iter()
        .filter(|checked| !checked.holds)
        .map(|checked| {
            let name = |rung| crate::project::banding::rung_name(project, rung);
            let own = name(crate::bands::Rung::Button(checked.button));
            match checked.lands {
                Some(other) => format!("{own} reads as {}", name(other)),
                None => format!("{own} is ignored"),
            }
        })
        .collect();
    let furthest = found.iter().map(|checked| checked.moved_count().abs()).fold(0.0, f64::max);
    let buttons = number_of(found.len(), "button");
    let (level, head, body) = if left.is_empty() {
        (
            Level::Note,
            "Every button is in its band.",
            format!("{buttons} re-checked; the furthest moved {furthest:.0} counts."),
        )
    } else {
        (
            Level::Stop,
            "Not every button is in its band.",
            format!("{}. Learn these again on this power.", left.join(", ")),
        )
    };
    told(model, level, head, body);
    effects
}

/// The notice's way to the view.
impl From<RecheckAction> for Action {
    fn from(action: RecheckAction) -> Self {
        Self::Learn(LearnAction::Recheck(action))
    }
}

#[cfg(test)]
mod tests;
