//! The station's sentences: what a decision was, what a counter means, how box and project stand to
//! each other, and what the one main action is. Draws nothing.

use crate::app::Model;
use crate::app::the_box::{BoxAction, Held, Presence, Running};
use crate::device::{Job, Phase};
use crate::image::{Built, Image, ImageCode, Row};
use crate::project::{CommandId, Project};
use crate::units::{count_text, time_text};
use crate::view::stations::codes::short;
use crate::wire::{Counters, DecisionKind, DecisionSeen, Identity, ResetCause};

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

/// A decision told whole: a head, and lines under it.
pub(super) fn told(names: &Names<'_>, seen: &DecisionSeen) -> (String, Vec<String>) {
    let Some(number) = seen.button else {
        let mut lines = vec!["The wire moved and came back".to_owned(), "without settling".to_owned()];
        if seen.count.is_finite() {
            lines.push(format!("last at {} counts", count_text(seen.count, 0)));
        }
        return ("No button".to_owned(), lines);
    };
    let name = names.button(number);
    let head = match seen.kind {
        DecisionKind::Released => format!("{name} was let go"),
        DecisionKind::Hold => format!("{name} was held"),
        DecisionKind::DoubleTap => format!("{name} was tapped twice"),
        DecisionKind::Pressed | DecisionKind::Tap | DecisionKind::Undecided => {
            format!("{name} was recognised")
        }
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
    (head, lines)
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
pub(super) fn pressed_now(decisions: &std::collections::VecDeque<DecisionSeen>) -> Option<&DecisionSeen> {
    let is_press = |seen: &&DecisionSeen| matches!(seen.kind, DecisionKind::Pressed | DecisionKind::Released);
    decisions.iter().rev().find(is_press).filter(|seen| seen.kind == DecisionKind::Pressed)
}

/// Decisions worth a line, the newest first: a press whose gesture came is told by that, and letting go
/// is none.
pub(super) fn listed(
    decisions: &std::collections::VecDeque<DecisionSeen>,
) -> impl Iterator<Item = &DecisionSeen> {
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

/// Why it started.
pub(super) const fn reset(cause: ResetCause) -> &'static str {
    match cause {
        ResetCause::PowerOn => "power on",
        ResetCause::External => "reset pin",
        ResetCause::BrownOut => "supply too low",
        ResetCause::Watchdog => "watchdog",
    }
}

/// A counter: its name, its figure with its unit, and what that means; empty where there is nothing
/// to say.
pub(super) struct Counter {
    pub(super) name: &'static str,
    pub(super) figure: String,
    pub(super) meaning: &'static str,
}

fn counter(name: &'static str, figure: impl Into<u64>, unit: &str, meaning: &'static str) -> Counter {
    let figure = figure.into();
    Counter { name, figure: counted(figure, unit), meaning: if figure == 0 { "" } else { meaning } }
}

/// `1 press`, `412 presses`, `0 frames`.
pub(super) fn counted(figure: u64, unit: &str) -> String {
    let ending = match (figure, unit.ends_with('s')) {
        (1, _) => "",
        (_, true) => "es",
        (_, false) => "s",
    };
    format!("{figure} {unit}{ending}")
}

/// Since it started: `41 min`, below a minute `12 s`.
pub(super) fn running_for(up_ms: u32) -> String {
    let minutes = up_ms / 60_000;
    if (1..60).contains(&minutes) { format!("{minutes} min") } else { time_text(f64::from(up_ms)) }
}

/// The longest turn of the main loop: `0.41 ms`.
pub(super) fn loop_text(us: u16) -> String {
    format!("{:.2} ms", f64::from(us) / 1e3)
}

/// Every counter, by group.
pub(super) fn counters(c: &Counters) -> [(&'static str, Vec<Counter>); 4] {
    let presses = vec![
        counter("Presses", c.presses, "press", ""),
        counter(
            "Not settled",
            c.undecided,
            "time",
            "A wire left rest and came back without settling on a button: a brush, a slow press, or a band \
             in the wrong place. Watch shows where.",
        ),
        counter(
            "Rejected readings",
            c.rejected,
            "reading",
            "Outside every band. Each press passes through a few; many of them without a press are noise or \
             a bad contact.",
        ),
        counter("Codes sent", c.sent, "code", ""),
        counter("Images written", c.writes, "time", ""),
    ];
    let starts = vec![
        counter("Power came", c.resets.power_on, "time", ""),
        counter("Reset pin", c.resets.external, "time", "Opening the port restarts most boards."),
        counter(
            "Supply too low",
            c.resets.brown_out,
            "time",
            "Cranking, a loose feed or ground, or a converter with too little headroom. Measure the supply \
             while it happens.",
        ),
        counter(
            "Watchdog",
            c.resets.watchdog,
            "time",
            "A restart that was asked for, or the program stood still. Unasked, it is a fault: write down \
             what was done.",
        ),
    ];
    let link = vec![
        counter(
            "Broken frames",
            c.link_errors,
            "frame",
            "Bytes were lost or changed on the way: a poor adapter, a long cable, or another program on the \
             port. They are sent again.",
        ),
        counter(
            "Not told",
            c.frames_lost,
            "frame",
            "The link had no room for them. The box decides all the same.",
        ),
    ];
    let slow = if c.longest_loop_us > 1_000 { "Over 1 ms: the light and the link lag a little." } else { "" };
    let program = vec![
        Counter { name: "Longest loop", figure: loop_text(c.longest_loop_us), meaning: slow },
        Counter { name: "Running for", figure: running_for(c.up_ms), meaning: "" },
    ];
    [("Presses", presses), ("Starts, by cause", starts), ("Link", link), ("Program", program)]
}

/// All starts, and why the last one came: `3, reset pin`.
pub(super) fn resets(c: &Counters, identity: Option<&Identity>) -> String {
    let t = c.resets;
    let all = [t.power_on, t.external, t.brown_out, t.watchdog].map(u32::from).iter().sum::<u32>();
    match identity {
        Some(identity) => format!("{all}, {}", reset(identity.reset)),
        None => all.to_string(),
    }
}

/// Image number and slot: `7, in slot B`.
pub(super) fn image_words(identity: &Identity) -> String {
    match (identity.slot, identity.has_damage) {
        (Some(slot), _) => format!("{}, in slot {}", slot.sequence, slot_letter(slot.number)),
        (None, true) => "damaged".to_owned(),
        (None, false) => "none".to_owned(),
    }
}

pub(super) const fn slot_letter(number: u8) -> char {
    if number == 0 { 'A' } else { 'B' }
}

/// Groups of rows at the left, in this order.
const GROUPS: [&str; 6] = ["Bands", "Dwell", "Pairs", "Codes", "Reference", "Other settings"];

/// The group of a row, by what it compares.
fn group(what: &str) -> usize {
    let ends = |endings: &[&str]| endings.iter().any(|ending| what.ends_with(ending));
    let begins = |beginnings: &[&str]| beginnings.iter().any(|beginning| what.starts_with(beginning));
    if ends(&[", tap", ", hold", ", double tap"]) || begins(&["Pair"]) {
        2
    } else if ends(&[", code"]) || begins(&["Code", "Command"]) {
        3
    } else if ends(&[", band", ", wire", ", rest"]) || begins(&["Band", "Rest", "Button"]) {
        0
    } else if begins(&["Dwell"]) {
        1
    } else if begins(&["Reference"]) {
        4
    } else {
        5
    }
}

/// Several rows as one line.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Summary {
    pub(super) name: &'static str,
    pub(super) figure: String,
    pub(super) same: bool,
}

/// Box against project in a few lines; groups without a row are left out.
pub(super) fn summary(rows: &[Row]) -> Vec<Summary> {
    GROUPS
        .iter()
        .enumerate()
        .filter_map(|(at, name)| {
            let rows: Vec<&Row> = rows.iter().filter(|row| group(&row.what) == at).collect();
            let differing = rows.iter().filter(|row| !row.same).count();
            let figure = match (rows.as_slice(), differing) {
                ([], _) => return None,
                ([row], 0) => row.project.clone(),
                ([row], _) => format!("{}, not {}", or_nothing(&row.held), or_nothing(&row.project)),
                (rows, 0) => rows.len().to_string(),
                (rows, _) => differ(differing, rows.len()),
            };
            Some(Summary { name, figure, same: differing == 0 })
        })
        .collect()
}

/// `1 of 7 differs`, `3 of 24 differ`.
pub(super) fn differ(differing: usize, all: usize) -> String {
    format!("{differing} of {all} {}", if differing == 1 { "differs" } else { "differ" })
}

/// What a line says where one side has no such thing.
pub(super) fn or_nothing(words: &str) -> &str {
    if words.is_empty() { "nothing" } else { words }
}

/// The one main action.
pub(super) struct Main {
    pub(super) label: &'static str,
    pub(super) key: &'static str,
    /// What it does; `None` where there is nothing to do or it can't be done now.
    pub(super) does: Option<BoxAction>,
}

pub(super) fn main_action(model: &Model) -> Main {
    let state = &model.the_box;
    let derived = &model.derived.the_box;
    let mut main = match (&state.presence, &derived.built) {
        (Presence::NoProgram { .. }, _) => {
            Main { label: "Put the program in", key: "P", does: Some(BoxAction::Flash) }
        }
        (Presence::None | Presence::Probe, _) => Main { label: "Write to box", key: "", does: None },
        (Presence::Found(_), Some(Err(_))) => Main { label: "Does not fit the box", key: "", does: None },
        (Presence::Found(_), _) if state.held == Held::Unread => {
            Main { label: "Read it", key: "R", does: Some(BoxAction::Read) }
        }
        (Presence::Found(_), _) if derived.is_same() => {
            Main { label: "Written, nothing to do", key: "", does: None }
        }
        (Presence::Found(_), built) => {
            Main { label: "Write to box", key: "W", does: built.as_ref().map(|_| BoxAction::Write) }
        }
    };
    if long_job(state.running).is_some() {
        main = Main { does: None, key: "", ..main };
    }
    main
}

/// The job under way, where it is one that takes its time.
pub(super) fn long_job(running: Option<Running>) -> Option<Running> {
    running.filter(|running| matches!(running.job, Job::Write | Job::Read | Job::Flash))
}

/// What is being done.
pub(super) const fn job_words(job: Job, phase: Option<Phase>) -> &'static str {
    match (job, phase) {
        (Job::Flash, None | Some(Phase::Calling)) => "Calling the bootloader",
        (Job::Flash, Some(Phase::Writing)) => "Putting the program in",
        (Job::Flash, Some(Phase::Starting)) => "Starting the program",
        (Job::Write, None | Some(Phase::Calling)) => "Asking the box to take an image",
        (Job::Write, Some(Phase::Writing)) => "Writing",
        (Job::Write, Some(Phase::Starting)) => "Taking it into use",
        (_, Some(Phase::Checking)) => "Reading back",
        _ => "Reading",
    }
}

/// Where a job's phases lie along its bar.
pub(super) const fn stages(job: Job) -> &'static [f32] {
    match job {
        Job::Flash => &[0.05, 0.62, 0.97],
        Job::Write => &[0.02, 0.6, 0.96],
        _ => &[],
    }
}

/// How far a job is, 0 to 1.
pub(super) fn share(running: &Running) -> f32 {
    let part = if running.of == 0 { 0.0 } else { running.done as f32 / running.of as f32 };
    let part = part.clamp(0.0, 1.0);
    let [calling, writing, checking] = match stages(running.job) {
        [a, b, c] => [*a, *b, *c],
        _ => return part,
    };
    let (from, to) = match running.phase {
        None | Some(Phase::Calling) => (0.0, calling),
        Some(Phase::Writing) => (calling, writing),
        Some(Phase::Checking) => (writing, checking),
        Some(Phase::Starting) => (checking, 1.0),
    };
    from + (to - from) * part
}

/// What a failed job is called.
pub(super) const fn failed(job: Job) -> &'static str {
    match job {
        Job::Identify => "The box did not say who it is.",
        Job::Write => "Not written.",
        Job::Read => "Not read.",
        Job::Watch => "The watch did not start.",
        Job::Try => "Not sent.",
        Job::Counters => "The counters were not read.",
        Job::Listen => "The box does not listen.",
        Job::Reference => "The reference was not named.",
        Job::Calibrate => "Not calibrated.",
        Job::Restart => "Not restarted.",
        Job::Flash => "The program was not put in.",
    }
}

/// What a typed voltage is; why it can't be one.
pub(super) fn volts(typed: &str) -> Result<f64, &'static str> {
    const RANGE: std::ops::RangeInclusive<f64> = 3.0..=6.0;
    let typed = typed.trim().trim_end_matches(['V', 'v']).trim_end().replace(',', ".");
    match typed.parse::<f64>() {
        Ok(volts) if RANGE.contains(&volts) => Ok(volts),
        Ok(_) => Err("The supply lies between 3 and 6 V. Measure between the box's 5 V and its ground."),
        Err(_) => Err("Type what the meter shows between the box's 5 V and its ground, such as 5.04."),
    }
}
