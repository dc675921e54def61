//! `spokewire plan`: which sense resistor to buy. Computes nothing of its own.

use std::path::PathBuf;
use std::process::ExitCode;

use serde::Serialize;

use super::{CliError, Io};
use crate::circuit::PlanValue;
use crate::project::{Project, SenseChoice, bag_text, bands};
use crate::units::{Series, amp_text, count_text, number_of, ohm_from_text};

/// Which project, and which resistors there are.
#[derive(Clone, Debug, clap::Args)]
pub struct PlanArgs {
    /// The project file
    pub file: PathBuf,
    /// The series the resistor is bought from: E12, E24, E48 or E96 (IEC 60063); the project's own
    /// where none is named
    #[arg(long, value_parser = series)]
    pub series: Option<Series>,
    /// What is in the drawer, in ohms, like 470,1k,4k7; the project's own where none is named
    #[arg(long, value_delimiter = ',', value_parser = resistor)]
    pub drawer: Vec<f64>,
    /// Print one JSON document: {"choice_ohm","smallest_gap_count","curve":[[ohm,gap],...]}
    #[arg(long)]
    pub json: bool,
}

/// The curve and the choice; as JSON exactly the command's keys.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PlanReport {
    /// The value to buy, in ohms.
    pub choice_ohm: f64,
    /// The smallest distance of two readings over it, in whole counts.
    pub smallest_gap_count: u16,
    /// Every value of the series with its smallest distance.
    pub curve: Vec<(f64, u16)>,
}

/// A series by its name.
fn series(name: &str) -> Result<Series, String> {
    let known = || Series::ALL.into_iter().filter(|series| (12..=96).contains(&series.per_decade()));
    known().find(|series| series.name().eq_ignore_ascii_case(name.trim())).ok_or_else(|| {
        let names: Vec<_> = known().map(Series::name).collect();
        format!("no series to choose from; take one of {}", names.join(", "))
    })
}

fn resistor(text: &str) -> Result<f64, String> {
    ohm_from_text(text)
        .filter(|ohm| *ohm > 0.0)
        .ok_or_else(|| "no resistor above 0 Ω; write it like 470, 4.7k or 4k7".to_owned())
}

/// Prints the choice.
///
/// # Errors
/// The file can't be loaded or read, the project lacks what a plan needs, no value will do, or nothing
/// can be printed.
pub fn run(args: &PlanArgs, io: &mut Io<'_>) -> Result<ExitCode, CliError> {
    let project = io.open(&args.file)?.project;
    let series = args.series.unwrap_or(project.parts.series);
    let drawer = if args.drawer.is_empty() { &project.parts.drawer_ohm } else { &args.drawer };
    let choice = project.sense_choice(series, drawer, &bands(&project)).map_err(CliError::failed)?;
    let chosen = match choice.plan.choice {
        Ok(index) => &choice.plan.values[index],
        Err(why) => return Err(CliError::failed(choice.no_choice_text(&project, why))),
    };
    if args.json {
        io.print_json(&PlanReport {
            choice_ohm: chosen.ohm,
            smallest_gap_count: chosen.gap_count,
            curve: choice.plan.values.iter().map(|value| (value.ohm, value.gap_count)).collect(),
        })?;
    } else {
        writeln!(io.out, "{}", text(&project, &choice, chosen))?;
    }
    Ok(ExitCode::SUCCESS)
}

/// The choice for people.
#[must_use]
pub fn text(project: &Project, choice: &SenseChoice, chosen: &PlanValue) -> String {
    let mut lines = Vec::new();
    lines.push(format!(
        "Take {} of {}: smallest gap {}, {}.",
        bag_text(chosen.ohm),
        choice.series.name(),
        counts(chosen.gap_count),
        choice.pair_text(project, chosen.gap_pair),
    ));
    lines.push(format!(
        "In noise units the nearest are {}: {} σ of the converter, the noise, the contacts and {} Ω of wear.",
        choice.pair_text(project, chosen.sigma_pair),
        count_text(chosen.separation_sigma, 1),
        count_text(choice.noise.wear_ohm, 0),
    ));
    let (low, high) = chosen.range_count;
    lines.push(format!(
        "It uses {low} to {high} of 1023, draws {} at most and turns {} mW into heat.",
        amp_text(chosen.feed_amp),
        count_text(chosen.sense_watt * 1e3, 1),
    ));
    let others = choice.runners_up(3);
    if !others.is_empty() {
        let named: Vec<_> = others.iter().map(|value| valued(value)).collect();
        lines.push(format!("Next best: {}.", named.join(", ")));
    }
    if !choice.plan.drawer.is_empty() {
        lines.push(match choice.from_drawer() {
            Some(value) => format!("Of the drawer: {}.", valued(value)),
            None => "Nothing of the drawer will do.".to_owned(),
        });
    }
    for (first, last, ruled) in choice.ruled_out() {
        let stretch = if first == last {
            format!("At {}", bag_text(first))
        } else {
            format!("From {} to {}", bag_text(first), bag_text(last))
        };
        lines.push(format!("{stretch}: {}.", choice.ruled_text(project, ruled)));
    }
    lines.push(match choice.plan.now.ruled {
        None => format!("The circuit has {} now.", valued(&choice.plan.now)),
        Some(ruled) => format!(
            "The circuit has {} now: {}.",
            bag_text(choice.plan.now.ohm),
            choice.ruled_text(project, ruled)
        ),
    });
    lines.join("\n")
}

fn counts(gap: u16) -> String {
    number_of(usize::from(gap), "count")
}

fn valued(value: &PlanValue) -> String {
    format!("{} with {}", bag_text(value.ohm), counts(value.gap_count))
}
