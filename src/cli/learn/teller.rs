//! What `learn` says: JSON lines, plain lines, or plain lines with a live one below them. Without a
//! terminal no control character is written. Knows nothing of what is asked but its words.

use std::collections::BTreeMap;
use std::io;
use std::time::{Duration, Instant};

use serde::Serialize;

use super::super::Io;
use super::lesson::{Lesson, Standing};
use crate::bands::Touch;
use crate::learn::{Event, Phase, PressState};
use crate::project::ButtonId;
use crate::units::count_text;

/// How often the live line is drawn.
const LIVE_EVERY: Duration = Duration::from_millis(100);

/// The live line is kept within the narrowest terminal, in characters.
const LIVE_WIDTH: usize = 78;

/// Cells of the settling bar.
const BAR: usize = 12;

/// How it is said.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Manner {
    Json,
    Plain,
    /// Plain, with a line that is drawn over.
    Live,
}

impl Manner {
    pub(super) const fn of(json: bool, is_watched: bool) -> Self {
        match (json, is_watched) {
            (true, _) => Self::Json,
            (false, true) => Self::Live,
            (false, false) => Self::Plain,
        }
    }
}

/// One JSON line.
#[derive(Serialize)]
#[serde(tag = "event", rename_all = "snake_case")]
enum Line<'a> {
    Rest,
    Prompt { button: &'a ButtonId, press: u32, of: u32 },
    Pressed { button: &'a ButtonId, press: u32, median_count: f64 },
    Refused { button: &'a ButtonId, reason: String },
    Done { learned: usize },
}

/// Says what happens as it happens: every line is out before the next thing is done.
pub(super) struct Teller<'a, 'io> {
    io: &'a mut Io<'io>,
    manner: Manner,
    names: BTreeMap<ButtonId, String>,
    asked: usize,
    learned: usize,
    /// Two wires that rest together are one line of JSON.
    rested: bool,
    /// Characters of the live line that is on the screen.
    drawn: usize,
    drawn_at: Option<Instant>,
    drawn_words: String,
}

impl<'a, 'io> Teller<'a, 'io> {
    /// Speaks to `io` of so many buttons; with the names of those and all others.
    pub(super) fn new(
        io: &'a mut Io<'io>,
        manner: Manner,
        names: Vec<(ButtonId, String)>,
        asked: usize,
    ) -> Self {
        let names = names.into_iter().collect();
        Self {
            io,
            manner,
            names,
            asked,
            learned: 0,
            rested: false,
            drawn: 0,
            drawn_at: None,
            drawn_words: String::new(),
        }
    }

    /// A line of the result.
    pub(super) fn line(&mut self, text: &str) -> io::Result<()> {
        self.wipe()?;
        writeln!(self.io.out, "{}", printable(text))?;
        self.io.out.flush()
    }

    /// A line of the result, which is no JSON: beside it there.
    pub(super) fn say(&mut self, text: &str) -> io::Result<()> {
        if self.manner == Manner::Json { self.remark(text) } else { self.line(text) }
    }

    /// A line beside the result.
    pub(super) fn remark(&mut self, text: &str) -> io::Result<()> {
        self.wipe()?;
        self.io.remark(printable(text));
        Ok(())
    }

    pub(super) fn broken_lines(&mut self, broken: u64, sample: Option<&str>) {
        let shown = sample.map(|line| format!(", the last one \"{line}\"")).unwrap_or_default();
        // Beside the result: if this can't be said, the next line of the result tells.
        let _ = self.remark(&format!(
            "{broken} lines were not one or two numbers{shown}. Check the ground wire and what the probe prints."
        ));
    }

    pub(super) fn connected(&mut self, place: &str, rate: Option<u32>, wires: u8) -> io::Result<()> {
        if self.manner == Manner::Json {
            return Ok(());
        }
        let rate = rate.map(|rate| format!(" at {rate} bits per second")).unwrap_or_default();
        let wires = if wires == 2 { "two wires" } else { "one wire" };
        self.line(&format!("Connected to {place}{rate}, {wires}. Hands off: rest is learned first."))
    }

    /// All was learned and saved.
    pub(super) fn done(&mut self, learned: usize) -> io::Result<()> {
        match self.manner {
            Manner::Json => self.json(&Line::Done { learned }),
            Manner::Plain | Manner::Live if learned == 1 => self.line("The button is learned."),
            Manner::Plain | Manner::Live => self.line(&format!("All {learned} buttons are learned.")),
        }
    }

    /// Something has happened.
    pub(super) fn event(&mut self, event: &Event) -> io::Result<()> {
        if self.manner == Manner::Json { self.event_json(event) } else { self.event_text(event) }
    }

    fn event_json(&mut self, event: &Event) -> io::Result<()> {
        let rested = std::mem::replace(&mut self.rested, matches!(event, Event::Rest { .. }));
        match event {
            Event::Rest { .. } if rested => Ok(()),
            Event::Rest { .. } => self.json(&Line::Rest),
            Event::Prompt { button, press, of, .. } => {
                self.json(&Line::Prompt { button, press: *press, of: *of })
            }
            Event::Pressed { button, press, taken, .. } => {
                self.json(&Line::Pressed { button, press: *press, median_count: taken.median_count })
            }
            Event::Refused { button, reason, .. } => {
                self.json(&Line::Refused { button, reason: reason.text() })
            }
            Event::RestMoved { .. } | Event::Near { .. } => self.event_text(event),
            Event::Learned { .. }
            | Event::Offer { .. }
            | Event::Dropped { .. }
            | Event::Skipped { .. }
            | Event::Done { .. }
            | Event::Stopped => Ok(()),
        }
    }

    fn event_text(&mut self, event: &Event) -> io::Result<()> {
        match event {
            Event::Rest { wire, level } => self.line(&format!(
                "Rest of wire {wire}: {} ± {} counts.",
                count_text(level.median_count, 1),
                count_text(level.spread_count, 1)
            )),
            Event::Prompt { button, press, of, touch } => {
                let name = self.name(button);
                self.line(&format!("Press {name}, {press} of {of}{}.", how(*touch)))
            }
            Event::Pressed { taken, .. } => self.line(&format!(
                "  Counted: {} ± {} counts.",
                count_text(taken.median_count, 1),
                count_text(taken.spread_count, 1)
            )),
            Event::Refused { reason, .. } => self.line(&format!("  {}", reason.text())),
            Event::Learned { button } => {
                self.learned += 1;
                let (name, learned, asked) = (self.name(button), self.learned, self.asked);
                self.line(&format!("{name} is learned: {learned} of {asked}."))
            }
            Event::Near { button, other, gap_count } => {
                let (name, other) = (self.name(button), self.name(other));
                self.remark(&format!(
                    "{name} and {other} lie {} counts apart: they may not be told apart.",
                    count_text(*gap_count, 1)
                ))
            }
            Event::Dropped { button } => {
                let name = self.name(button);
                self.line(&format!("The presses of {name} so far are dropped."))
            }
            Event::RestMoved { wire, was, is } => self.remark(&format!(
                "Rest moved on wire {wire}: it was {} counts and is {}. Check the ground and the feed, then learn again.",
                count_text(was.median_count, 1),
                count_text(is.median_count, 1)
            )),
            Event::Offer { .. } | Event::Skipped { .. } | Event::Done { .. } | Event::Stopped => Ok(()),
        }
    }

    /// Draws the live line, where there is one: at once when its words change, else now and then.
    pub(super) fn live(&mut self, lesson: &Lesson) -> io::Result<()> {
        if self.manner != Manner::Live {
            return Ok(());
        }
        let now = Instant::now();
        let (gauge, words) = live_text(lesson);
        let due = self.drawn_at.is_none_or(|at| now.saturating_duration_since(at) >= LIVE_EVERY);
        if !due && words == self.drawn_words {
            return Ok(());
        }
        let text: String = printable(&format!("{gauge}{words}")).chars().take(LIVE_WIDTH).collect();
        let length = text.chars().count();
        write!(self.io.out, "\r{text}{:1$}", "", self.drawn.saturating_sub(length))?;
        (self.drawn, self.drawn_at, self.drawn_words) = (length, Some(now), words);
        self.io.out.flush()
    }

    /// Takes the live line away.
    fn wipe(&mut self) -> io::Result<()> {
        if self.drawn > 0 {
            write!(self.io.out, "\r{:1$}\r", "", self.drawn)?;
            self.drawn = 0;
            self.io.out.flush()?;
        }
        Ok(())
    }

    fn json(&mut self, line: &Line<'_>) -> io::Result<()> {
        let text = serde_json::to_string(line)?;
        writeln!(self.io.out, "{text}")?;
        self.io.out.flush()
    }

    fn name(&self, id: &ButtonId) -> String {
        self.names.get(id).unwrap_or(&id.0).clone()
    }
}

impl Drop for Teller<'_, '_> {
    fn drop(&mut self) {
        // Whatever comes next begins on an empty line; if output is closed there is none.
        let _ = self.wipe();
    }
}

fn how(touch: Touch) -> &'static str {
    match touch {
        Touch::Slow => ", this one slowly",
        Touch::Light => ", this one light",
        Touch::Firm | Touch::Picked => "",
    }
}

/// The live line: how settled it is and what the wires read; and what is wanted.
fn live_text(lesson: &Lesson) -> (String, String) {
    match lesson.standing() {
        Standing::Opening { rate: Some(rate) } => {
            return (String::new(), format!("Trying {rate} bits per second"));
        }
        Standing::Opening { rate: None } => return (String::new(), "Opening".to_owned()),
        Standing::Gone { .. } => return (String::new(), "The port is gone; waiting for it".to_owned()),
        Standing::Open => {}
    }
    let (progress, words) = match lesson.prompt().phase {
        Phase::LearnRest { progress } | Phase::RestAgain { progress } => {
            (progress, "Hands off: rest".to_owned())
        }
        Phase::Press { name, state, .. } => match state {
            PressState::Waiting => (0.0, format!("Press {name}")),
            PressState::Settling { progress, .. } => (progress, format!("Hold {name} still")),
            PressState::Settled { .. } => (1.0, format!("Settled: let go of {name}")),
            PressState::Counted { .. } => (1.0, "Counted".to_owned()),
            PressState::Refused { reason } => (0.0, format!("{}. Press {name}", reason.headline())),
        },
        Phase::Done { .. } | Phase::Paused | Phase::Stopped => (1.0, String::new()),
    };
    let counts = lesson.last_counts().into_iter().flatten().map(|count| format!("{count:4.0}"));
    (format!("{} {}  ", bar(progress), counts.collect::<Vec<_>>().join("  ")), words)
}

fn bar(progress: f64) -> String {
    let full = ((progress.clamp(0.0, 1.0)) * BAR as f64).round() as usize;
    format!("[{}{}]", "=".repeat(full), " ".repeat(BAR - full))
}

/// The same without control characters, which a name may hold.
fn printable(text: &str) -> String {
    text.chars().map(|c| if c.is_control() && c != '\n' { '\u{FFFD}' } else { c }).collect()
}
