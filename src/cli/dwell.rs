//! `spokewire dwell`: the shortest dwell that is safe for the presses that were recorded. Computes nothing
//! of its own.

use std::fs::File;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use serde::Serialize;

use super::{CliError, Io};
use crate::bands::dwell::{DwellRow, DwellTable, Wanting, table};
use crate::learn::presses_in;
use crate::project::{Project, banding, bands, dwell_input};
use crate::signal::{Door, read_csv};
use crate::units::{count_text, time_text};

/// What the command does, at length.
pub(super) const ABOUT: &str = "The shortest dwell that is safe\n\nSends every press that was recorded while learning, the same presses cut to short taps, slow presses and spikes through the box's own recogniser at each dwell from 1 to 64 ms. For each: how long a tap takes to be decided, how many decisions were wrong or missing, and what 95 of 100 such tables would still allow.";

/// Which project, and which readings besides.
#[derive(Clone, Debug, clap::Args)]
pub struct DwellArgs {
    /// The project file
    pub file: PathBuf,
    /// Recorded readings with more presses: a CSV file with the columns t_ms,wire1[,wire2[,feed]]
    #[arg(value_name = "SAMPLES.csv")]
    pub samples: Option<PathBuf>,
    /// Print one JSON document: {"rows":[{"dwell_ms","latency_ms","latency_95_ms","wrong","missed","of",
    /// "wrong_upper","missed_upper","made_wrong","made_missed","made_of","run_wait_s"}],"planned_ms",
    /// "settle_count","safe_ms","proposed_ms","presses","slow_presses"}
    #[arg(long)]
    pub json: bool,
}

/// The JSON document. What is not known is `null`.
#[derive(Serialize)]
struct Document {
    rows: Vec<Line>,
    planned_ms: u8,
    settle_count: f64,
    safe_ms: Option<u8>,
    proposed_ms: Option<u8>,
    presses: u32,
    slow_presses: u32,
}

/// One dwell. `wrong`, `missed` and `of` are of recorded presses, and the upper bounds theirs; `made_…` of
/// what was made of them and made up.
#[derive(Serialize)]
struct Line {
    dwell_ms: u8,
    latency_ms: Option<f64>,
    latency_95_ms: Option<f64>,
    wrong: u32,
    missed: u32,
    of: u32,
    wrong_upper: f64,
    missed_upper: f64,
    made_wrong: u32,
    made_missed: u32,
    made_of: u32,
    /// `null` where it is longer than any number.
    run_wait_s: Option<f64>,
}

/// Prints the table.
///
/// # Errors
/// A file can't be read, there is nothing to recognise, or nothing can be printed.
pub fn run(args: &DwellArgs, io: &mut Io<'_>) -> Result<ExitCode, CliError> {
    let mut project = io.open(&args.file)?.project;
    let set = bands(&project);
    if let Some(samples) = &args.samples {
        add_samples(&mut project, &set, samples, io)?;
    }
    let input = dwell_input(&project, &set).map_err(CliError::failed)?;
    let found = table(&input, &|| false, &mut |_| ()).map_err(CliError::failed)?;
    // It was not stopped.
    let Some(found) = found else { return Ok(ExitCode::FAILURE) };
    if args.json {
        io.print_json(&document(&found))?;
    } else {
        print(&project, &found, io.out)?;
    }
    Ok(ExitCode::SUCCESS)
}

/// The presses of a recording, beside those the project has.
fn add_samples(
    project: &mut Project,
    set: &crate::bands::BandSet,
    samples: &Path,
    io: &mut Io<'_>,
) -> Result<(), CliError> {
    let path = samples.display();
    let file = File::open(samples)
        .map_err(|error| CliError::Failed(format!("\"{path}\" can't be opened: {error}. Check its name.")))?;
    let recording =
        read_csv(file).map_err(|error| CliError::Failed(format!("\"{path}\" can't be used: {error}")))?;
    if let Some(first) = recording.bad_rows.first() {
        io.remark(format_args!("{} rows of \"{path}\" were left out. {first}", recording.bad_row_count));
    }
    let nominal = project.circuit.as_ref().and_then(crate::circuit::Circuit::monitor_count);
    let mut door = Door::new(project.plan.converter).monitored(nominal);
    let mut readings = Vec::with_capacity(recording.readings.len());
    door.take(&recording.readings, &mut readings);
    let found = presses_in(&readings, project, set);
    if found.unplaced > 0 {
        io.remark(format_args!(
            "{} presses of \"{path}\" were left out: they settled in no button's band.",
            found.unplaced
        ));
    }
    if found.untraced > 0 {
        io.remark(format_args!(
            "{} presses of \"{path}\" were left out: their readings are too far apart, or some are missing. The box gives one a millisecond.",
            found.untraced
        ));
    }
    if found.traces.is_empty() {
        io.remark(format_args!("\"{path}\" holds no press that can be used."));
    }
    project.traces.extend(found.traces);
    Ok(())
}

fn document(table: &DwellTable) -> Document {
    let line = |row: &DwellRow| Line {
        dwell_ms: row.dwell_ms,
        latency_ms: row.latency.map(|latency| latency.median_ms),
        latency_95_ms: row.latency.map(|latency| latency.p95_ms),
        wrong: row.recorded.wrong,
        missed: row.recorded.missed,
        of: row.recorded.of,
        wrong_upper: row.wrong_upper,
        missed_upper: row.missed_upper,
        made_wrong: row.made.wrong,
        made_missed: row.made.missed,
        made_of: row.made.of,
        run_wait_s: Some(row.run_wait_s).filter(|wait| wait.is_finite()),
    };
    Document {
        rows: table.rows.iter().map(line).collect(),
        planned_ms: table.planned_ms,
        settle_count: table.settle_count,
        safe_ms: table.safe_ms,
        proposed_ms: table.proposed_ms,
        presses: table.presses,
        slow_presses: table.slow,
    }
}

/// The dwells that people are shown: these, the planned one, the safe one and the proposed one.
const SHOWN_MS: [u8; 16] = [1, 2, 4, 6, 8, 10, 12, 16, 20, 24, 28, 32, 40, 48, 56, 64];

fn print(project: &Project, table: &DwellTable, out: &mut dyn Write) -> Result<(), CliError> {
    writeln!(
        out,
        "{} recorded presses, {} of them slow; settle limit {} counts.",
        table.presses,
        table.slow,
        count_text(table.settle_count, 1)
    )?;
    writeln!(out, "                        recorded                made up            a run of readings")?;
    writeln!(out, "dwell    tap decided    wrong missed at most    wrong missed of    wrong by chance")?;
    let marked = [Some(table.planned_ms), table.safe_ms, table.proposed_ms];
    let is_shown = |row: &&DwellRow| SHOWN_MS.contains(&row.dwell_ms) || marked.contains(&Some(row.dwell_ms));
    for row in table.rows.iter().filter(is_shown) {
        writeln!(out, "{}", line_text(table, row))?;
    }
    writeln!(out, "{}", verdict(table))?;
    for wanting in &table.wanting {
        writeln!(out, "{}", wanting_text(project, wanting))?;
    }
    Ok(writeln!(
        out,
        "A run by chance takes readings to be wrong one by one; a slow press's are wrong together, and the settle limit stands against those."
    )?)
}

fn line_text(table: &DwellTable, row: &DwellRow) -> String {
    let latency = row.latency.map_or_else(
        || "-".to_owned(),
        |latency| format!("{:.0} to {:.0} ms", latency.median_ms, latency.p95_ms),
    );
    let mut line = format!(
        "{:>2} ms  {latency:>13}  {:>7} {:>6} {:>6.1} %  {:>7} {:>6} {:>4}  {:>16}",
        row.dwell_ms,
        row.recorded.wrong,
        row.recorded.missed,
        100.0 * row.wrong_upper.max(row.missed_upper),
        row.made.wrong,
        row.made.missed,
        row.made.of,
        wait_text(row.run_wait_s),
    );
    for (at, word) in
        [(Some(table.planned_ms), "planned"), (table.safe_ms, "safe"), (table.proposed_ms, "proposed")]
    {
        if at == Some(row.dwell_ms) {
            line.push_str("  ");
            line.push_str(word);
        }
    }
    line
}

/// A mean wait, as people say it.
fn wait_text(wait_s: f64) -> String {
    const YEAR_S: f64 = 365.25 * 86_400.0;
    if wait_s < 1.0 {
        "in under 1 s".to_owned()
    } else if wait_s < 86_400.0 {
        format!("in {}", time_text(wait_s * 1e3))
    } else if wait_s < YEAR_S {
        format!("in {:.0} days", wait_s / 86_400.0)
    } else if wait_s < 1e4 * YEAR_S {
        format!("in {:.0} years", wait_s / YEAR_S)
    } else {
        "never".to_owned()
    }
}

/// What the table comes to, in a sentence or two.
fn verdict(table: &DwellTable) -> String {
    let planned = table.planned_ms;
    let good = table.good_text().unwrap_or_default();
    match (table.safe_ms, table.proposed_ms) {
        (None, _) => {
            "No dwell is without an error: lower the settle limit, or learn the buttons that go wrong anew."
                .to_owned()
        }
        (Some(_), None) => format!(
            "{good} nothing goes wrong here, but {} presses are too few to propose a dwell by. The planned {planned} ms stay.",
            table.presses
        ),
        (Some(_), Some(proposed)) => {
            let than = match proposed.cmp(&planned) {
                std::cmp::Ordering::Less => format!("{} ms shorter than planned", planned - proposed),
                std::cmp::Ordering::Equal => "as planned".to_owned(),
                std::cmp::Ordering::Greater => format!("{} ms longer than planned", proposed - planned),
            };
            format!("{good} nothing goes wrong here. Proposed: {proposed} ms, {than}.")
        }
    }
}

/// What would make it surer, in a sentence.
fn wanting_text(project: &Project, wanting: &Wanting) -> String {
    let percent = |share: f64| format!("{} %", 100.0 * share);
    match *wanting {
        Wanting::Button(place) => {
            let name = banding::rung_name(project, crate::bands::Rung::Button(place.into()));
            format!("No press of {name} was recorded: learn it again.")
        }
        Wanting::Slow { more, share } => {
            format!(
                "{more} more slow presses without an error make it 95 % sure that fewer than {} of them go wrong.",
                percent(share)
            )
        }
        Wanting::Presses { more, share } => {
            format!(
                "{more} more presses without an error make it 95 % sure that fewer than {} go wrong.",
                percent(share)
            )
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::io::on;
    use super::*;

    fn told(json: bool) -> (String, String) {
        let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("projects/demo-van.ron");
        let (ended, out, aside) = on(b"", |io| run(&DwellArgs { file, samples: None, json }, io));
        assert_eq!(ended.unwrap(), ExitCode::SUCCESS);
        (out, aside)
    }

    #[test]
    fn json_has_a_row_a_dwell_with_exactly_the_promised_keys() {
        let (out, aside) = told(true);
        assert_eq!(aside, "");
        let document: serde_json::Value = serde_json::from_str(&out).unwrap();
        let rows = document["rows"].as_array().unwrap();
        assert_eq!(rows.len(), 64);
        let mut keys: Vec<&str> = rows[31].as_object().unwrap().keys().map(String::as_str).collect();
        keys.sort_unstable();
        assert_eq!(
            keys.join(" "),
            "dwell_ms latency_95_ms latency_ms made_missed made_of made_wrong missed missed_upper of run_wait_s \
             wrong wrong_upper"
        );
        assert_eq!((&rows[31]["dwell_ms"], &rows[31]["of"]), (&32.into(), &21.into()));
        let mut keys: Vec<&str> = document.as_object().unwrap().keys().map(String::as_str).collect();
        keys.sort_unstable();
        assert_eq!(keys.join(" "), "planned_ms presses proposed_ms rows safe_ms settle_count slow_presses");
    }

    #[test]
    fn people_are_told_what_is_proposed_and_what_would_make_it_surer() {
        let (out, _) = told(false);
        assert!(out.starts_with("21 recorded presses, 7 of them slow; settle limit "), "{out}");
        // Longer ones miss taps: that is told, too.
        assert!(out.contains("\nFrom 26 to 52 ms nothing goes wrong here. Proposed: 30 ms"), "{out}");
        assert!(
            out.contains("4 more slow presses without an error make it 95 % sure that fewer than 25 % "),
            "{out}"
        );
        assert!(
            out.contains("it stands against those.") || out.contains("settle limit stands against those.")
        );
    }
}
