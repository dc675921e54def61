//! A job as it is carried out: what it asks next, and what it makes of the answers. Knows no frames,
//! no sequences and no time.

use std::collections::VecDeque;

use crate::wire::limits::PROTOCOL;
use crate::wire::{Answer, AnswerFault, Ask, Fault, Identity, NamedReference};

use super::job::{BoxReport, Job};

/// What is known of the box at the other end.
#[derive(Clone, Debug, Default)]
pub(super) struct Known {
    pub(super) identity: Option<Identity>,
    /// What the link named as reference: named again when the box has forgotten it.
    pub(super) reference: Option<NamedReference>,
    pub(super) is_streaming: bool,
    /// A stream was begun, which nobody was told yet: the box drops what it had gathered before.
    pub(super) began_stream: bool,
    pub(super) is_watching: bool,
    pub(super) is_listening: bool,
}

/// What an errand wants next.
#[derive(Debug)]
pub(super) enum Turn {
    Ask(Ask),
    /// Until the box says it has started.
    AwaitBoot,
    Report(BoxReport),
    Done,
    Failed(Trouble),
}

/// What went wrong, and what to do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Trouble {
    pub(super) what: String,
    pub(super) advice: String,
}

impl Trouble {
    pub(super) fn new(what: impl Into<String>, advice: impl Into<String>) -> Self {
        Self { what: what.into(), advice: advice.into() }
    }

    /// From an answer that is a fault, or none at all. `doing` begins the sentence.
    pub(super) fn from_answer(doing: &str, fault: AnswerFault) -> Self {
        match fault {
            AnswerFault::Fault(fault) => {
                let what = format!("{doing}: the box answered fault {}. {}", fault.number(), fault.words());
                Self::new(what, fault.advice())
            }
            AnswerFault::Malformed { number, length } => Self::new(
                format!("{doing}: the answer to message {number:02X} has {length} bytes and can't be read."),
                "Flash the firmware that comes with this program.",
            ),
        }
    }

    /// From an answer to something else.
    pub(super) fn beside(doing: &str) -> Self {
        Self::new(
            format!("{doing}: the box answered something that was not asked."),
            "Try again. If it stays, flash the firmware that comes with this program.",
        )
    }
}

/// What a job does and where it stands, as a sentence begins.
pub(super) fn doing_at(job: Job, place: &str) -> String {
    if place.is_empty() { job.doing().to_owned() } else { format!("{}, {place}", job.doing()) }
}

/// An answer, and whether it may answer a request that was carried out before and sent again.
pub(super) struct Heard {
    pub(super) answer: Result<Answer, AnswerFault>,
    pub(super) is_retry: bool,
}

impl Heard {
    /// Whether the box refused a repeated request because it had carried it out already.
    pub(super) fn was_done_before(&self) -> bool {
        self.is_retry && self.answer == Err(AnswerFault::Fault(Fault::Order))
    }
}

/// A job as it is carried out.
pub(super) trait Errand: Send + std::fmt::Debug {
    /// Which; `None` for what nobody asked for.
    fn job(&self) -> Option<Job>;
    /// What it wants next; called only while no answer is outstanding.
    fn next(&mut self, known: &mut Known) -> Turn;
    /// Takes the answer to what it asked.
    fn hear(&mut self, heard: Heard, known: &mut Known) -> Result<(), Trouble>;
    /// The box has started. Whether that was to be.
    fn booted(&mut self) -> bool {
        false
    }
    /// Where it stands, for a sentence; empty where there is nothing to say.
    fn whereabouts(&self) -> String {
        String::new()
    }
}

/// Asks who it is, names the reference where the box has forgotten it, and turns on again what it was
/// doing: a box that starts anew does nothing by itself.
#[derive(Debug, Default)]
pub(super) struct Greet {
    job: Option<Job>,
    steps: VecDeque<Step>,
    asked: Option<Step>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Step {
    Identify,
    Reference,
    /// Identify once more: with a reference the box knows its supply.
    Again,
    Tell,
    Stream,
    Watch,
    Listen,
}

impl Greet {
    pub(super) fn new(job: Option<Job>) -> Self {
        use Step::*;
        Self { job, steps: [Identify, Reference, Again, Tell, Stream, Watch, Listen].into(), asked: None }
    }

    /// After an identity that was just heard.
    pub(super) fn known(job: Option<Job>) -> Self {
        let mut greet = Self::new(job);
        greet.steps.pop_front();
        greet
    }

    fn doing(&self) -> &'static str {
        self.job.unwrap_or(Job::Identify).doing()
    }
}

impl Errand for Greet {
    fn job(&self) -> Option<Job> {
        self.job
    }

    fn next(&mut self, known: &mut Known) -> Turn {
        while let Some(step) = self.steps.pop_front() {
            let identity = known.identity.as_ref();
            let is_ours = identity.is_some_and(|identity| identity.protocol == PROTOCOL);
            let is_named = identity.is_some_and(|identity| identity.reference_named);
            let ask = match step {
                Step::Identify => Ask::Identify,
                Step::Reference => match known.reference {
                    Some(reference) if is_ours && !is_named => Ask::Reference(reference),
                    _ => {
                        self.steps.retain(|&step| step != Step::Again);
                        continue;
                    }
                },
                Step::Again => Ask::Identify,
                Step::Tell => match identity {
                    Some(identity) => return Turn::Report(BoxReport::Identity(Box::new(identity.clone()))),
                    None => continue,
                },
                Step::Stream if !is_ours => {
                    let spoken = identity.map_or(0, |identity| identity.protocol);
                    return Turn::Failed(other_protocol(spoken));
                }
                Step::Stream if is_named => Ask::Stream(true),
                Step::Watch if known.is_watching => Ask::Watch(true),
                Step::Listen if known.is_listening => Ask::Listen(true),
                Step::Stream | Step::Watch | Step::Listen => continue,
            };
            self.asked = Some(step);
            return Turn::Ask(ask);
        }
        Turn::Done
    }

    fn hear(&mut self, heard: Heard, known: &mut Known) -> Result<(), Trouble> {
        match (self.asked.take(), heard.answer) {
            (Some(Step::Identify | Step::Again), Ok(Answer::Identity(identity))) => {
                known.identity = Some(*identity);
            }
            (Some(Step::Reference | Step::Watch | Step::Listen), Ok(Answer::Done)) => {}
            (Some(Step::Stream), Ok(Answer::Done)) => {
                (known.is_streaming, known.began_stream) = (true, true);
            }
            (_, Err(fault)) => return Err(Trouble::from_answer(self.doing(), fault)),
            (_, Ok(_)) => return Err(Trouble::beside(self.doing())),
        }
        Ok(())
    }
}

pub(super) fn other_protocol(spoken: u8) -> Trouble {
    let advice = if spoken > PROTOCOL {
        "Take a newer version of this program, or flash the firmware that comes with this one."
    } else {
        "Flash the firmware that comes with this program."
    };
    Trouble::new(
        format!("The box speaks version {spoken} of the link, this program version {PROTOCOL}."),
        advice,
    )
}

/// One question, and what follows from it.
#[derive(Debug)]
pub(super) struct Simple {
    job: Job,
    ask: Option<Ask>,
    asked: Option<Ask>,
    report: Option<BoxReport>,
    awaits_boot: bool,
    greet: Option<Greet>,
}

impl Simple {
    /// A question that ends with its answer.
    pub(super) fn new(job: Job, ask: Ask) -> Self {
        Self { job, ask: Some(ask), asked: None, report: None, awaits_boot: false, greet: None }
    }

    /// A question after which the box is asked who it is.
    pub(super) fn then_greet(job: Job, ask: Ask) -> Self {
        Self { greet: Some(Greet::new(Some(job))), ..Self::new(job, ask) }
    }

    /// Starts the box anew.
    pub(super) fn restart() -> Self {
        Self { awaits_boot: true, ..Self::then_greet(Job::Restart, Ask::Restart) }
    }

    fn is_greeting(&self) -> bool {
        self.ask.is_none() && self.asked.is_none() && !self.awaits_boot
    }
}

impl Errand for Simple {
    fn job(&self) -> Option<Job> {
        Some(self.job)
    }

    fn next(&mut self, known: &mut Known) -> Turn {
        if let Some(ask) = self.ask.take() {
            self.asked = Some(ask.clone());
            return Turn::Ask(ask);
        }
        if self.awaits_boot {
            return Turn::AwaitBoot;
        }
        if let Some(report) = self.report.take() {
            return Turn::Report(report);
        }
        self.greet.as_mut().map_or(Turn::Done, |greet| greet.next(known))
    }

    fn hear(&mut self, heard: Heard, known: &mut Known) -> Result<(), Trouble> {
        if self.is_greeting()
            && let Some(greet) = &mut self.greet
        {
            return greet.hear(heard, known);
        }
        let doing = self.job.doing();
        match (self.asked.take(), heard.answer) {
            (Some(Ask::Counters), Ok(Answer::Counters(counters))) => {
                self.report = Some(BoxReport::Counters(counters));
            }
            (Some(ask), Ok(Answer::Done)) => match ask {
                Ask::Watch(on) => known.is_watching = on,
                Ask::Listen(on) => known.is_listening = on,
                _ => {}
            },
            (_, Err(fault)) => return Err(Trouble::from_answer(doing, fault)),
            (_, Ok(_)) => return Err(Trouble::beside(doing)),
        }
        Ok(())
    }

    fn booted(&mut self) -> bool {
        self.asked = None;
        std::mem::take(&mut self.awaits_boot)
    }
}
