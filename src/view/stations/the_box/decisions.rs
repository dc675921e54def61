//! The box's decisions in words: whose its numbers are, how far a reading was from an edge, what was
//! sent. Draws nothing.

use std::collections::VecDeque;

use crate::app::Model;
use crate::app::the_box::Held;
use crate::image::{Built, Image, ImageCode};
use crate::project::{CommandId, Project};
use crate::units::count_text;
use crate::view::stations::codes::short;
use crate::wire::{DecisionKind, DecisionSeen};

/// What the numbers of the box's image mean in the project.
pub(super) struct Names<'a> {
    project: &'a Project,
    built: Option<&'a Built>,
    held: Option<&'a Image>,
}

impl<'a> Names<'a> {
    pub(super) fn of(model: &'a Model) -> Option<Self> {
        let project = model.project()?;
        let built = model.derived.the_box.built.as_ref().and_then(|built| built.as_ref().ok());
        let held = match &model.the_box.held {
            Held::Image { image, .. } => Some(&**image),
            _ => None,
        };
        Some(Self { project, built, held })
    }

    /// The button's place in the project.
    pub(super) fn index(&self, number: u8) -> Option<usize> {
        let number = usize::from(number);
        match self.built {
            Some(built) => self.project.button(built.buttons.get(number)?).map(|(index, _)| index),
            None => (number < self.project.wheel.buttons.len()).then_some(number),
        }
    }

    /// The button's name; its number where the project has none for it.
    pub(super) fn button(&self, number: u8) -> String {
        self.index(number)
            .and_then(|index| self.project.wheel.buttons.get(index))
            .map_or_else(|| format!("Button {}", number + 1), |button| button.name.clone())
    }

    /// The band that the box goes by, in counts; the project's where the box was not read.
    pub(super) fn band(&self, number: u8) -> Option<(f64, f64)> {
        let image = self.held.or(self.built.map(|built| &built.image))?;
        let band = image.buttons.get(usize::from(number))?.band;
        (band.low <= band.high).then(|| (f64::from(band.low), f64::from(band.high)))
    }

    /// How many buttons the box knows; the project's where the box was not read.
    pub(super) fn buttons(&self) -> u8 {
        let image = self.held.or(self.built.map(|built| &built.image));
        u8::try_from(image.map_or(0, |image| image.buttons.len())).unwrap_or(u8::MAX)
    }

    /// How many counts lie between a count and the nearer edge of the button's band.
    pub(super) fn to_edge(&self, number: u8, count: f64) -> Option<f64> {
        let (low, high) = self.band(number).filter(|_| count.is_finite())?;
        Some((count - low).min(high - count))
    }

    /// Name and number of a command: `Source 05`; the number alone where the box holds another than
    /// the project.
    pub(super) fn command(&self, number: u8) -> String {
        let number = usize::from(number);
        let code = |image: &Image| image.commands.get(number).map(|command| command.code.clone());
        let built = self.built.and_then(|built| code(&built.image));
        let held = self.held.and_then(code);
        let is_ours = held.is_none() || held == built;
        let ours = self.built.and_then(|built| built.commands.get(number)).filter(|_| is_ours);
        match (ours, held.or(built)) {
            (Some(id), _) => named(self.project, id),
            (None, Some(code)) => code_number(&code),
            (None, None) => format!("command {}", number + 1),
        }
    }
}

/// `Source 05`.
pub(super) fn named(project: &Project, id: &CommandId) -> String {
    project
        .command(id)
        .map_or_else(|| id.0.clone(), |command| format!("{} {}", command.name, short(&command.code)))
}

fn code_number(code: &ImageCode) -> String {
    match code {
        ImageCode::Family { command, .. } | ImageCode::Free { command, .. } => format!("code {command:02X}"),
        ImageCode::Raw(_) => "a raw code".to_owned(),
    }
}

/// What a decision was, in a few words.
pub(super) const fn gesture(kind: DecisionKind) -> &'static str {
    match kind {
        DecisionKind::Pressed => "pressed",
        DecisionKind::Released => "let go",
        DecisionKind::Tap => "tap",
        DecisionKind::Hold => "hold",
        DecisionKind::DoubleTap => "double tap",
        DecisionKind::Undecided => "not settled",
    }
}

/// A decision told: the button's name, what happened to it, and lines under that.
pub(super) struct Told {
    /// The button's name, or that there was none.
    pub(super) name: String,
    /// What happened to it; empty where there was no button.
    pub(super) what: &'static str,
    /// The reading, the latency, what was sent.
    pub(super) lines: Vec<String>,
}

impl Told {
    /// The whole of it in one line.
    pub(super) fn said(&self) -> String {
        format!("{} {}", self.name, self.what).trim().to_owned() + "; " + &self.lines.join("; ")
    }
}

/// Tells a decision whole.
pub(super) fn told(names: &Names<'_>, seen: &DecisionSeen) -> Told {
    let Some(number) = seen.button else {
        let mut lines = vec!["The wire moved and came back".to_owned(), "without settling".to_owned()];
        if seen.count.is_finite() {
            lines.push(format!("last at {} counts", count_text(seen.count, 0)));
        }
        return Told { name: "No button".to_owned(), what: "", lines };
    };
    let what = match seen.kind {
        DecisionKind::Released => "was let go",
        DecisionKind::Hold => "was held",
        DecisionKind::DoubleTap => "was tapped twice",
        DecisionKind::Pressed | DecisionKind::Tap | DecisionKind::Undecided => "was recognised",
    };
    let mut lines = vec![reading(names, number, seen.count)];
    if seen.kind != DecisionKind::Released {
        lines.push(format!("{} ms after it left rest", seen.latency_ms));
    }
    let sends = seen.command.map(|command| names.command(command));
    match (sends, seen.kind) {
        (Some(command), _) => lines.push(format!("sends {command}")),
        (None, DecisionKind::Tap | DecisionKind::Hold | DecisionKind::DoubleTap) => {
            lines.push("sends nothing".to_owned());
        }
        (None, _) => {}
    }
    Told { name: names.button(number), what, lines }
}

/// `552 counts, 12 from its edge`.
fn reading(names: &Names<'_>, number: u8, count: f64) -> String {
    if !count.is_finite() {
        return "no reading".to_owned();
    }
    let counts = count_text(count, 0);
    match names.to_edge(number, count) {
        Some(edge) if edge < 0.0 => format!("{counts} counts, {} outside its band", count_text(-edge, 0)),
        Some(edge) => format!("{counts} counts, {} from its edge", count_text(edge, 0)),
        None => format!("{counts} counts"),
    }
}

/// Since the box started: `0:41.2`.
pub(super) fn clock(tick_ms: u32) -> String {
    let tenths = tick_ms / 100;
    format!("{}:{:02}.{}", tenths / 600, tenths / 10 % 60, tenths % 10)
}

/// The button pressed now: recognised, and not let go since.
pub(super) fn pressed_now(decisions: &VecDeque<DecisionSeen>) -> Option<&DecisionSeen> {
    let is_press = |seen: &&DecisionSeen| matches!(seen.kind, DecisionKind::Pressed | DecisionKind::Released);
    decisions.iter().rev().find(is_press).filter(|seen| seen.kind == DecisionKind::Pressed)
}

/// Decisions worth a line, the newest first: a press whose gesture came is told by that, and letting go
/// is none.
pub(super) fn listed(decisions: &VecDeque<DecisionSeen>) -> impl Iterator<Item = &DecisionSeen> {
    // Going back, the button whose gesture came after the press that is met next.
    let mut told = None;
    decisions.iter().rev().filter(move |seen| match seen.kind {
        DecisionKind::Tap | DecisionKind::Hold | DecisionKind::DoubleTap => {
            told = seen.button;
            true
        }
        DecisionKind::Pressed => told.take() != seen.button,
        DecisionKind::Undecided => true,
        DecisionKind::Released => false,
    })
}
