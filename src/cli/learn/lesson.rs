//! The lesson: reports of the link in, what the session makes of them told. Takes the offers that
//! leave nobody stuck, since a terminal has no keys for them, and notices when nothing goes on. Knows
//! no file and opens nothing: reports and time are arguments.

use std::collections::{BTreeMap, VecDeque};
use std::io;
use std::mem::Discriminant;
use std::time::{Duration, Instant};

use super::super::ports_here;
use super::teller::Teller;
use crate::bands::RestLevel;
use crate::demo::{HandMove, Person};
use crate::device::{BoxReport, Failure, Job};
use crate::learn::{ButtonResult, Command, Event, Hint, Offer, Phase, PressState, Prompt, Session, Setup};
use crate::link::{Batch, DemoTouch, Report, SendError, Target};
use crate::project::ButtonId;
use crate::signal::{Converter, Door, Reading};
use crate::units::{WIRES, count_text};
use crate::wire::{NamedReference, ReferenceKind};

/// A port that went away may be back within this.
const GONE_FOR: Duration = Duration::from_secs(10);

/// From this on a silence is told, in milliseconds.
const SILENT_MS: u64 = 3_000;

/// So many broken lines, and more than one in so many, are told.
const BROKEN: (u64, u64) = (20, 4);

/// The demo's hand is always the same.
const HAND_SEED: u64 = 20_081;

/// Why learning ended before its end.
#[derive(Debug, thiserror::Error)]
pub(super) enum Fault {
    /// Nobody reads what is asked.
    #[error("Standard output was closed, so learning stopped.")]
    Closed,
    /// What is asked can't be written.
    #[error("Standard output could not be written: {0}. Free some room there, or send it elsewhere.")]
    Output(io::Error),
    /// The link says so.
    #[error("{what} {advice}")]
    Link { what: String, advice: String },
    /// The port went away and stayed away.
    #[error(
        "{path} went away and was not back within {} s ({reason}). Plug it in again and go on.",
        GONE_FOR.as_secs()
    )]
    Gone { path: String, reason: String },
    /// Nothing went on.
    #[error("{what} for {} s. {advice}", .waited.as_secs())]
    GaveUp { what: String, waited: Duration, advice: String },
    /// The link takes no requests.
    #[error(transparent)]
    Send(#[from] SendError),
}

impl From<io::Error> for Fault {
    fn from(error: io::Error) -> Self {
        if error.kind() == io::ErrorKind::BrokenPipe { Self::Closed } else { Self::Output(error) }
    }
}

/// What is to be done after a report.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Step {
    /// Nothing.
    Wait,
    /// The demo's hand moves.
    Touch(DemoTouch),
    /// Many lines are broken: show one.
    ShowBroken,
    /// The box has to be told what its converter measures against, before it measures.
    Name(NamedReference),
}

/// The demo's hand, and which of its wheel's buttons each button is.
struct Hand {
    person: Person,
    order: BTreeMap<ButtonId, usize>,
}

/// How the link stands.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Standing {
    Opening { rate: Option<u32> },
    Open,
    Gone { since: Instant, reason: String },
}

/// The least time between two words on lost readings: a flood would tell nothing else.
const LOST_PAUSE: Duration = Duration::from_secs(10);

/// A running lesson.
pub(super) struct Lesson {
    session: Session,
    door: Door,
    hand: Option<Hand>,
    give_up: Duration,
    /// What a box is told that it measures against.
    reference: NamedReference,
    place: String,
    standing: Standing,
    /// When something happened last.
    stirred: Instant,
    last: Option<Reading>,
    readings: u64,
    broken: u64,
    /// Readings lost and not yet told.
    lost: u64,
    told_lost: Option<Instant>,
    told_broken: bool,
    told_silent: bool,
    told_hint: Option<Discriminant<Hint>>,
    counts: Vec<Reading>,
}

impl Lesson {
    /// A lesson that gives up when nothing happens for so long; in the demo with a hand, which is
    /// told which of the demo wheel's buttons each is.
    pub(super) fn new(
        setup: Setup,
        converter: Converter,
        hand: Option<Vec<(ButtonId, usize)>>,
        give_up: Duration,
    ) -> Self {
        let hand =
            hand.map(|order| Hand { person: Person::new(HAND_SEED), order: order.into_iter().collect() });
        Self {
            session: Session::new(setup),
            door: Door::new(converter),
            hand,
            give_up,
            reference: NamedReference::default(),
            place: String::new(),
            standing: Standing::Opening { rate: None },
            stirred: Instant::now(),
            last: None,
            readings: 0,
            broken: 0,
            lost: 0,
            told_lost: None,
            told_broken: false,
            told_silent: false,
            told_hint: None,
            counts: Vec::new(),
        }
    }

    /// A box is told that it measures against this; otherwise against its supply.
    pub(super) fn with_reference(mut self, reference: NamedReference) -> Self {
        self.reference = reference;
        self
    }

    /// This is being opened now.
    pub(super) fn open(&mut self, target: &Target, now: Instant) {
        self.place = match target {
            Target::Serial { path, .. } => path.clone(),
            Target::Demo { .. } | Target::Replay { .. } => "the demo van".to_owned(),
        };
        self.stirred = now;
    }

    /// Takes a report of the link.
    pub(super) fn hear(
        &mut self,
        report: Report,
        now: Instant,
        teller: &mut Teller<'_, '_>,
    ) -> Result<Step, Fault> {
        match report {
            Report::Ports(_) => {}
            Report::Box(report) => return self.hear_box(report, teller),
            Report::Trying { rate } => {
                if matches!(self.standing, Standing::Opening { .. }) {
                    self.standing = Standing::Opening { rate: Some(rate) };
                }
            }
            Report::Connected { rate, wires, .. } => {
                self.standing = Standing::Open;
                self.stirred = now;
                self.session.loss();
                teller.connected(&self.place, rate, wires)?;
            }
            Report::Readings(batch) => return self.readings(&batch, now, teller),
            Report::Gone { reason, .. } => {
                self.session.loss();
                let since = match &self.standing {
                    Standing::Gone { since, .. } => *since,
                    Standing::Opening { .. } | Standing::Open => now,
                };
                teller.remark(&format!(
                    "{} went away: {}. Plug it in again within {} s and learning goes on.",
                    self.place,
                    reason.trim_end_matches('.'),
                    GONE_FOR.as_secs()
                ))?;
                self.standing = Standing::Gone { since, reason: reason.trim_end_matches('.').to_owned() };
            }
            Report::Silent { ms, bytes_came } => {
                if ms >= SILENT_MS && !self.told_silent {
                    self.told_silent = true;
                    teller.remark(&format!(
                        "No readings come from {}. {}",
                        self.place,
                        silence_advice(bytes_came)
                    ))?;
                }
            }
            Report::Failed { what, advice } => {
                let seen = self.standing == Standing::Open;
                let advice = if seen { advice } else { format!("{advice} {}", ports_here()) };
                return Err(Fault::Link { what, advice });
            }
            Report::Closed => {
                return Err(Fault::Link {
                    what: format!("The link to {} was closed.", self.place),
                    advice: "Open it again.".to_owned(),
                });
            }
        }
        Ok(Step::Wait)
    }

    /// A box that has no image measures only once its reference is named; one that has an image knows.
    fn hear_box(&mut self, report: BoxReport, teller: &mut Teller<'_, '_>) -> Result<Step, Fault> {
        match report {
            BoxReport::Identity(identity) if !identity.reference_named && self.hand.is_none() => {
                let named = self.reference;
                teller.say(&format!("A box. It measures against {}.", reference_words(named)))?;
                Ok(Step::Name(named))
            }
            BoxReport::NoProgram { bootloader: true } => {
                teller.remark(&format!(
                    "The board at {0} has no program; its bootloader answers. Make it a box: spokewire flash --port {0}",
                    self.place
                ))?;
                Ok(Step::Wait)
            }
            BoxReport::Failed(Failure { job: Job::Reference, what, advice, .. }) => {
                Err(Fault::Link { what, advice })
            }
            _ => Ok(Step::Wait),
        }
    }

    /// Whether it went on for too long without anything happening.
    pub(super) fn look_at_clock(&self, now: Instant) -> Result<(), Fault> {
        if let Standing::Gone { since, reason } = &self.standing {
            if now.saturating_duration_since(*since) > GONE_FOR {
                return Err(Fault::Gone { path: self.place.clone(), reason: reason.clone() });
            }
            return Ok(());
        }
        if now.saturating_duration_since(self.stirred) < self.give_up {
            return Ok(());
        }
        let prompt = self.session.prompt();
        let hint = prompt.hint.map(|hint| hint.text());
        let or = |advice: &str| hint.clone().unwrap_or_else(|| advice.to_owned());
        let (what, advice) = match prompt.phase {
            _ if self.readings == 0 => {
                (format!("No readings came from {}", self.place), silence_advice(false).to_owned())
            }
            Phase::Press { name, press, of, .. } => (
                format!("Nothing was pressed for {name}, press {press} of {of},"),
                or("Check that the probe is on the wheel's wire."),
            ),
            _ => {
                ("Rest did not hold still".to_owned(), or("Hands off; check the return wire and the ground."))
            }
        };
        Err(Fault::GaveUp { what, waited: self.give_up, advice })
    }

    pub(super) fn is_over(&self) -> bool {
        self.session.is_over()
    }

    pub(super) fn results(&self) -> &[ButtonResult] {
        self.session.results()
    }

    pub(super) fn rests(&self) -> BTreeMap<u8, RestLevel> {
        self.session.rests()
    }

    /// What the probe's numbers turned out to run to.
    pub(super) fn converter(&self) -> Converter {
        self.door.converter()
    }

    /// How many lines were broken.
    pub(super) fn broken(&self) -> u64 {
        self.broken
    }

    pub(super) fn prompt(&self) -> Prompt {
        self.session.prompt()
    }

    pub(super) fn standing(&self) -> &Standing {
        &self.standing
    }

    /// What each wire reads now, in counts.
    pub(super) fn last_counts(&self) -> [Option<f64>; WIRES] {
        self.last.map_or([None; WIRES], |reading| reading.wire.map(|level| level.count()))
    }

    fn readings(&mut self, batch: &Batch, now: Instant, teller: &mut Teller<'_, '_>) -> Result<Step, Fault> {
        if batch.lost_readings > 0 {
            self.session.loss();
            self.lost += batch.lost_readings;
        }
        let told_lately = self.told_lost.is_some_and(|told| now.saturating_duration_since(told) < LOST_PAUSE);
        if self.lost > 0 && !told_lately {
            teller.remark(&format!(
                "{} readings were lost: they came faster than they could be taken. A press they fell into is not counted.",
                self.lost
            ))?;
            self.lost = 0;
            self.told_lost = Some(now);
        }
        let mut counts = std::mem::take(&mut self.counts);
        counts.clear();
        let taken = self.door.take(&batch.readings, &mut counts);
        if taken.rescale {
            self.session.rescale_quarter();
            teller.say("Numbers above 1023 came: a 12-bit probe. Its numbers are divided by 4.")?;
        }
        let mut events = Vec::new();
        self.session.take(&counts, &mut events);
        self.last = counts.last().copied().or(self.last);
        self.told_silent &= counts.is_empty();
        self.readings += counts.len() as u64;
        self.broken += batch.broken_lines + taken.out_of_range;
        self.counts = counts;
        if !events.is_empty() {
            self.stirred = now;
        }
        self.tell(events, teller)?;
        self.take_what_holds_up(teller)?;
        if self.broken > BROKEN.0 && self.broken * BROKEN.1 > self.readings && !self.told_broken {
            self.told_broken = true;
            return Ok(Step::ShowBroken);
        }
        Ok(self.move_hand().map_or(Step::Wait, Step::Touch))
    }

    /// Tells events, and takes what they offer, which makes more of them.
    fn tell(&mut self, events: Vec<Event>, teller: &mut Teller<'_, '_>) -> Result<(), Fault> {
        let mut waiting = VecDeque::from(events);
        while let Some(event) = waiting.pop_front() {
            teller.event(&event)?;
            let command = match &event {
                Event::Offer { offer: Offer::Indistinct { button, from_name, count, .. } } => {
                    let count = count_text(*count, 0);
                    teller.say(&format!(
                        "{button} settled at {count} again, on {from_name}'s rung: taken as indistinct from {from_name}."
                    ))?;
                    Command::TakeIndistinct
                }
                Event::Offer { offer: Offer::StartOver { button, first_count, count } } => {
                    let (first, count) = (count_text(*first_count, 0), count_text(*count, 0));
                    teller.say(&format!(
                        "{button} settled at {count} twice, but first at {first}: {button} starts over."
                    ))?;
                    Command::StartOver
                }
                _ => continue,
            };
            let mut more = Vec::new();
            self.session.command(command, &mut more);
            waiting.extend(more);
        }
        Ok(())
    }

    /// A wire that never holds still is left out; a hint is told once.
    fn take_what_holds_up(&mut self, teller: &mut Teller<'_, '_>) -> Result<(), Fault> {
        let Prompt { offer, hint, .. } = self.session.prompt();
        let told = hint.as_ref().map(std::mem::discriminant);
        if let (Some(hint), true) = (hint, told != self.told_hint) {
            teller.remark(&hint.text())?;
        }
        self.told_hint = told;
        if let Some(Offer::LeaveOut { wire }) = offer {
            teller.say(&format!("Wire {wire} does not hold still and is left out."))?;
            let mut events = Vec::new();
            self.session.command(Command::LeaveOut, &mut events);
            self.tell(events, teller)?;
        }
        Ok(())
    }

    /// The demo's hand does what is asked.
    fn move_hand(&mut self) -> Option<DemoTouch> {
        let Hand { person, order } = self.hand.as_mut()?;
        let wanted = match self.session.prompt().phase {
            Phase::Press {
                button, touch, state: PressState::Waiting | PressState::Refused { .. }, ..
            } => order.get(&button).map(|&place| (place, touch)),
            _ => None,
        };
        match person.step(self.last?.t_ms, wanted)? {
            HandMove::Press { button, touch } => Some(DemoTouch::Press { button, touch }),
            HandMove::Release => Some(DemoTouch::Release),
        }
    }
}

fn reference_words(NamedReference { kind, feed_monitor }: NamedReference) -> String {
    let kind = match kind {
        ReferenceKind::Supply => "its supply",
        ReferenceKind::Internal => "its own 1.1 V",
        ReferenceKind::External => "the voltage on its reference pin",
    };
    if feed_monitor { format!("{kind}, with the feed monitor") } else { kind.to_owned() }
}

fn silence_advice(bytes_came: bool) -> &'static str {
    if bytes_came {
        "Bytes come, but not one or two numbers on a line. Check what the probe prints, and its rate."
    } else {
        "Check that the probe is powered and prints one or two numbers on each line by itself."
    }
}
