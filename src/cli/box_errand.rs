//! What the commands that speak to a box share: opening the link, waiting for the box with an end to
//! the waiting, asking it for one thing, and telling how it goes. Knows not what is asked.

use std::time::{Duration, Instant};

use super::{CliError, Io, ports_here};
use crate::device::{BoxReport, BoxRequest, Failure, Job, Phase};
use crate::link::{Link, Report, Request, Target};
use crate::wire::Identity;

/// How many times faster than life the demo's box runs.
const DEMO_SPEED: u32 = 8;

/// How long a box is waited for: a board takes 2 s from its reset to its program, and a port that has
/// another rate in mind is asked for a box after a while.
const FIND_WITHIN: Duration = Duration::from_secs(10);

/// A probe that prints numbers may be a box that is asked a moment later.
const PROBE_FOR: Duration = Duration::from_secs(1);

/// For how long a job may stand still. Longer than any of its own timeouts.
const STILL_FOR: Duration = Duration::from_secs(20);

/// The longest wait for a report before the clock is looked at.
const WAIT: Duration = Duration::from_millis(50);

/// Where the box is.
#[derive(Clone, Debug, clap::Args)]
pub struct BoxArgs {
    /// The serial port that the box is on
    #[arg(long, value_name = "PATH", required_unless_present = "demo", conflicts_with = "demo")]
    pub port: Option<String>,
    /// The demo van's box
    #[arg(long)]
    pub demo: bool,
}

/// A link with a box at the other end, or a board that may become one.
pub(super) struct BoxErrand {
    link: Link,
    place: String,
    /// Who the box is; `None` for a board that doesn't say.
    identity: Option<Identity>,
}

/// What was heard while a box was waited for.
#[derive(Clone, Copy, Debug, Default)]
struct Heard {
    silent: bool,
    probe_since: Option<Instant>,
    bootloader: bool,
}

impl BoxErrand {
    /// Opens the link and waits for a box.
    pub(super) fn to_box(args: &BoxArgs, io: &mut Io<'_>) -> Result<Self, CliError> {
        let mut errand = Self::open(args)?;
        let heard = errand.wait(io)?;
        if errand.identity.is_some() {
            return Ok(errand);
        }
        Err(CliError::Failed(no_box(&errand.place, heard)))
    }

    /// Opens the link to a board whose program is to be replaced, whatever it says.
    pub(super) fn to_board(args: &BoxArgs) -> Result<Self, CliError> {
        Self::open(args)
    }

    fn open(args: &BoxArgs) -> Result<Self, CliError> {
        let (target, place) = match &args.port {
            Some(path) => (Target::Serial { path: path.clone(), rate: None }, path.clone()),
            None => (Target::Demo { speed: DEMO_SPEED }, "the demo van".to_owned()),
        };
        let link = Link::start(|| ());
        link.send(Request::Open(target)).map_err(CliError::failed)?;
        Ok(Self { link, place, identity: None })
    }

    /// Where the box is, as it is told.
    pub(super) fn place(&self) -> &str {
        &self.place
    }

    /// Who the box is.
    pub(super) fn identity(&self) -> Option<&Identity> {
        self.identity.as_ref()
    }

    /// Waits until a box says who it is, or it is clear that none will.
    fn wait(&mut self, io: &mut Io<'_>) -> Result<Heard, CliError> {
        let begun = Instant::now();
        let mut heard = Heard::default();
        while begun.elapsed() < FIND_WITHIN {
            if heard.bootloader || heard.probe_since.is_some_and(|since| since.elapsed() > PROBE_FOR) {
                break;
            }
            match self.link.recv_timeout(WAIT) {
                Some(Report::Box(BoxReport::Identity(identity))) => {
                    self.identity = Some(*identity);
                    break;
                }
                Some(Report::Box(BoxReport::NoProgram { bootloader })) => heard.bootloader |= bootloader,
                Some(Report::Silent { bytes_came, .. }) => heard.silent = !bytes_came,
                Some(Report::Connected { .. }) => heard.probe_since = Some(Instant::now()),
                Some(Report::Gone { path, reason }) => {
                    heard.probe_since = None;
                    io.remark(format_args!("{path} went away: {}.", reason.trim_end_matches('.')));
                }
                Some(Report::Failed { what, advice }) => {
                    return Err(CliError::Failed(format!("{what} {advice} {}", ports_here())));
                }
                Some(Report::Closed) => return Err(CliError::Failed(closed(&self.place))),
                Some(Report::Ports(_) | Report::Trying { .. } | Report::Readings(_) | Report::Box(_))
                | None => {}
            }
        }
        Ok(heard)
    }

    /// Asks for something and hears it to its end. `hear` is handed every report on the way.
    pub(super) fn ask(
        &mut self,
        request: BoxRequest,
        job: Job,
        mut hear: impl FnMut(&BoxReport) -> Result<(), CliError>,
    ) -> Result<(), CliError> {
        self.link.send(Request::Box(request)).map_err(CliError::failed)?;
        let mut stirred = Instant::now();
        while stirred.elapsed() < STILL_FOR {
            match self.link.recv_timeout(WAIT) {
                Some(Report::Box(report)) => {
                    match &report {
                        BoxReport::Identity(identity) => self.identity = Some((**identity).clone()),
                        BoxReport::Failed(failure) if failure.job == job => {
                            return Err(CliError::Failed(told(failure)));
                        }
                        BoxReport::Progress { .. } => stirred = Instant::now(),
                        _ => {}
                    }
                    hear(&report)?;
                    if report == BoxReport::Done(job) {
                        return Ok(());
                    }
                }
                Some(Report::Failed { what, advice }) => {
                    return Err(CliError::Failed(format!("{what} {advice}")));
                }
                Some(Report::Closed) => return Err(CliError::Failed(closed(&self.place))),
                // Of a port that went away the job itself tells.
                Some(_) | None => {}
            }
        }
        Err(CliError::Failed(format!(
            "Nothing went on at {} for {} s. Unplug the box, plug it in again, and try once more.",
            self.place,
            STILL_FOR.as_secs()
        )))
    }
}

/// The advice itself says where the box was left without a whole program.
fn told(failure: &Failure) -> String {
    format!("{} {}", failure.what, failure.advice)
}

fn closed(place: &str) -> String {
    format!("The link to {place} was closed. Open it again.")
}

/// What was heard instead of a box, and what to do.
fn no_box(place: &str, heard: Heard) -> String {
    let flash = format!("spokewire flash --port {place}");
    if heard.bootloader {
        format!("The board at {place} has no program of ours; its bootloader answers. Fill it: {flash}")
    } else if heard.probe_since.is_some() {
        format!(
            "At {place} is a probe that prints numbers, not a box. Connect the box, or make this board one: {flash}"
        )
    } else if heard.silent {
        format!(
            "Nothing came from {place} within {} s. Check the cable and the power; a board that was never filled needs {flash}",
            FIND_WITHIN.as_secs()
        )
    } else {
        format!(
            "Bytes came from {place}, but no box said who it is within {} s. Unplug it and plug it in again; if that doesn't help: {flash}",
            FIND_WITHIN.as_secs()
        )
    }
}

/// Tells how a longer job goes: a line for each phase, and one for each quarter of it.
pub(super) struct Going {
    phase: Option<Phase>,
    quarter: usize,
}

impl Going {
    pub(super) const fn new() -> Self {
        Self { phase: None, quarter: 0 }
    }

    /// What to say of a report, where there is something new to say.
    pub(super) fn line(&mut self, report: &BoxReport) -> Option<String> {
        let BoxReport::Progress { phase, done, of, .. } = *report else { return None };
        let quarter = (done * 4).checked_div(of).unwrap_or(0);
        if self.phase == Some(phase) && quarter <= self.quarter {
            return None;
        }
        (self.phase, self.quarter) = (Some(phase), quarter);
        let word = phase_word(phase);
        // Calling and starting move no bytes of the image: their counts would say nothing.
        let is_counted = of > 0 && matches!(phase, Phase::Writing | Phase::Checking);
        Some(if !is_counted { format!("{word}.") } else { format!("{word}: {done} of {of} bytes.") })
    }
}

/// What a phase is called.
const fn phase_word(phase: Phase) -> &'static str {
    match phase {
        Phase::Calling => "Calling the bootloader",
        Phase::Writing => "Writing",
        Phase::Checking => "Reading back",
        Phase::Starting => "Taking it into use",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_heard_instead_of_a_box_is_told_with_what_to_do() {
        let at = |heard| no_box("/dev/x", heard);
        let heard = Heard::default();
        assert!(at(Heard { bootloader: true, ..heard }).ends_with("Fill it: spokewire flash --port /dev/x"));
        assert!(
            at(Heard { probe_since: Some(Instant::now()), ..heard })
                .starts_with("At /dev/x is a probe that prints numbers, not a box. ")
        );
        assert!(at(Heard { silent: true, ..heard }).starts_with("Nothing came from /dev/x within 10 s. "));
        assert!(at(heard).starts_with("Bytes came from /dev/x, but no box said who it is within 10 s. "));
    }

    #[test]
    fn a_job_is_told_by_phases_and_quarters() {
        let mut going = Going::new();
        let lines: Vec<_> =
            [(Phase::Writing, 0), (Phase::Writing, 20), (Phase::Writing, 25), (Phase::Checking, 100)]
                .into_iter()
                .filter_map(|(phase, done)| {
                    going.line(&BoxReport::Progress { job: Job::Write, phase, done, of: 100 })
                })
                .collect();
        assert_eq!(
            lines,
            ["Writing: 0 of 100 bytes.", "Writing: 25 of 100 bytes.", "Reading back: 100 of 100 bytes."]
        );
        assert_eq!(going.line(&BoxReport::Done(Job::Write)), None);
    }
}
