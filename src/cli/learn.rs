//! `spokewire learn`: prompted learning in the terminal. Opens the link, hands what it reports to
//! the lesson, and saves. What is asked comes from the learn room, what is said from `teller.rs`.

mod errand;
mod lesson;
mod teller;
#[cfg(test)]
mod tests;

use std::path::PathBuf;
use std::process::ExitCode;
use std::time::{Duration, Instant};

use self::errand::Errand;
use self::lesson::{Fault, Lesson, Step};
use self::teller::{Manner, Teller};
use super::{CliError, Io, bands};
use crate::device::BoxRequest;
use crate::findings::CAUTIONS;
use crate::link::{Link, Request, Target};

/// How many times faster than life the demo runs: seven buttons in a few seconds.
const DEMO_SPEED: u32 = 16;

/// The longest wait for a report before the clock is looked at.
const WAIT: Duration = Duration::from_millis(50);

/// What `spokewire learn --help` says first.
pub(super) const ABOUT: &str = "\
Learn a wheel's buttons in the terminal, prompted press by press.

A probe prints one or two numbers on each line, one for each wire, 0 to 1023 or 0 to 4095. Rest is learned first, \
then each button is asked for: three times, among them once slowly and once lightly. A press that can't be taken \
is refused with its reason and asked for again; refused twice at one place, it is taken as indistinct from the \
button that is there. What is learned is saved at the end, and also where learning must stop half-way. The exit \
status is 0 only if all buttons were learned and saved.

With --json, one line per event as it happens:
  {\"event\":\"rest\"}
  {\"event\":\"prompt\",\"button\",\"press\",\"of\"}
  {\"event\":\"pressed\",\"button\",\"press\",\"median_count\"}
  {\"event\":\"refused\",\"button\",\"reason\"}
  {\"event\":\"done\",\"learned\"}";

/// The longest wait, in seconds: a day.
const LONGEST_WAIT_S: u64 = 86_400;

/// Seconds as typed after `--give-up`.
fn give_up_seconds(typed: &str) -> Result<u64, String> {
    let seconds = typed.trim().parse().ok().filter(|seconds| (1..=LONGEST_WAIT_S).contains(seconds));
    seconds.ok_or_else(|| format!("give whole seconds from 1 to {LONGEST_WAIT_S}"))
}

/// What a person should have read before a probe is on the wheel, a line each.
fn cautions() -> String {
    let lines = CAUTIONS.map(|(head, body)| format!("\n  {head} {body}"));
    format!("Before you connect:{}", lines.concat())
}

/// What to learn, where from and where to.
#[derive(Clone, Debug, clap::Args)]
pub struct LearnArgs {
    /// The serial port that the probe is on
    #[arg(long, value_name = "PATH", required_unless_present = "demo", conflicts_with = "demo")]
    pub port: Option<String>,
    /// Learn the demo van's wheel; a hand presses what is asked
    #[arg(long)]
    pub demo: bool,
    /// The buttons in the order they are asked for, by name or id; all of FILE where they are left out
    #[arg(long, value_name = "A,B,C", value_delimiter = ',')]
    pub buttons: Vec<String>,
    /// The project to save in; made if it is not there, otherwise everything else in it is kept
    #[arg(long, value_name = "FILE")]
    pub save: PathBuf,
    /// Bits per second; found by trying unless given
    #[arg(long, value_name = "N", conflicts_with = "demo", value_parser = clap::value_parser!(u32).range(50..=8_000_000))]
    pub rate: Option<u32>,
    /// How many presses of each button, 1 to 9; 3 or what FILE says unless given
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=9))]
    pub presses: Option<u32>,
    /// Give up when nothing has moved for so long
    #[arg(long, value_name = "SECONDS", default_value_t = 120, value_parser = give_up_seconds)]
    pub give_up: u64,
    /// Print one JSON line per event as it happens, and nothing else
    #[arg(long)]
    pub json: bool,
}

/// Learns, and saves what was learned.
///
/// # Errors
/// The buttons or the file can't be what was meant, the port fails, nothing is pressed for too
/// long, or nothing can be saved. What was learned before is then saved and said.
pub fn run(args: &LearnArgs, io: &mut Io<'_>) -> Result<ExitCode, CliError> {
    let mut errand = Errand::of(args, io)?;
    let target = match &args.port {
        Some(path) => {
            io.remark(cautions());
            Target::Serial { path: path.clone(), rate: args.rate }
        }
        None => Target::Demo { speed: DEMO_SPEED },
    };
    let setup = errand.setup();
    let asked = setup.buttons.len();
    let hand = args.demo.then(|| errand.demo_order());
    let mut lesson = Lesson::new(setup, errand.converter(), hand, Duration::from_secs(args.give_up))
        .with_reference(errand.reference());
    let manner = Manner::of(args.json, io.is_watched);
    let mut teller = Teller::new(io, manner, errand.names(), asked);
    let ended = listen(&mut lesson, &mut teller, target);
    let all = errand.keep(&lesson);
    let saved = if errand.learned().is_empty() { Ok(()) } else { errand.save() };
    match (ended, saved) {
        (Ok(()), Ok(())) if all => {
            teller.done(errand.learned().len())?;
            if !args.json {
                teller.line(&format!("Saved in \"{}\".\n", errand.path().display()))?;
                teller.line(&bands::text(errand.project()))?;
            }
            Ok(ExitCode::SUCCESS)
        }
        (Ok(()), Ok(())) => Err(CliError::failed(errand.what_is_kept())),
        (Ok(()), Err(save)) => Err(save),
        (Err(fault), Ok(())) => Err(CliError::Failed(format!("{fault} {}", errand.what_is_kept()))),
        (Err(fault), Err(save)) => Err(CliError::Failed(format!("{fault} {save}"))),
    }
}

/// Hands what the link reports to the lesson until it is over.
fn listen(lesson: &mut Lesson, teller: &mut Teller<'_, '_>, target: Target) -> Result<(), Fault> {
    let link = Link::start(|| ());
    lesson.open(&target, Instant::now());
    link.send(Request::Open(target))?;
    while !lesson.is_over() {
        if let Some(report) = link.recv_timeout(WAIT) {
            match lesson.hear(report, Instant::now(), teller)? {
                Step::Wait => {}
                Step::Touch(touch) => link.send(Request::Demo(touch))?,
                Step::Name(reference) => link.send(Request::Box(BoxRequest::Reference(reference)))?,
                Step::ShowBroken => teller.broken_lines(lesson.broken(), link.broken_sample().as_deref()),
            }
        }
        lesson.look_at_clock(Instant::now())?;
        teller.live(lesson)?;
    }
    Ok(())
}
