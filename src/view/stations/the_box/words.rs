//! The station's sentences: who the box is, how box and project stand to each other, what the one main
//! action is, and how far a job is. Draws nothing.

use crate::app::Model;
use crate::app::the_box::{BoxAction, Held, Presence, Running};
use crate::device::{Job, Phase};
use crate::image::Row;
use crate::wire::{Counters, Identity, ResetCause};

/// Why it started.
pub(super) const fn reset(cause: ResetCause) -> &'static str {
    match cause {
        ResetCause::PowerOn => "power on",
        ResetCause::External => "reset pin",
        ResetCause::BrownOut => "supply too low",
        ResetCause::Watchdog => "watchdog",
    }
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
const GROUPS: [&str; 7] = ["Vehicle", "Bands", "Dwell", "Pairs", "Codes", "Reference", "Other settings"];

/// The group of a row, by what it compares. The vehicle has a line of its own only where it is another.
fn group(row: &Row) -> &'static str {
    let ends = |endings: &[&str]| endings.iter().any(|ending| row.what.ends_with(ending));
    if ends(&[", tap", ", hold", ", double tap"]) {
        "Pairs"
    } else if ends(&[", band"]) {
        "Bands"
    } else if row.what.starts_with("Code of ") || row.what == "Another code" {
        "Codes"
    } else {
        let own = ["Dwell", "Reference"].into_iter().find(|name| row.what == *name);
        let other = if row.what == "Vehicle" && !row.same { "Vehicle" } else { "Other settings" };
        own.unwrap_or(other)
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
        .into_iter()
        .filter_map(|name| {
            let rows: Vec<&Row> = rows.iter().filter(|row| group(row) == name).collect();
            let differing = rows.iter().filter(|row| !row.same).count();
            let figure = match (rows.as_slice(), differing) {
                ([], _) => return None,
                ([row], _) if name == "Vehicle" => row.held.clone(),
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
