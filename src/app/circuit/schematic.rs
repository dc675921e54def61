//! The drawing: which buttons are held closed in it, and what stands at each node.

use std::collections::BTreeSet;
use std::sync::Arc;

use crate::app::effect::Effect;
use crate::app::model::Model;
use crate::app::the_box::Presence;
use crate::bands::{BandSet, Rung};
use crate::circuit::{JackVerdict, mark_text};
use crate::findings::{Level, Station, findings};
use crate::project::{Netlist, Project, banding};
use crate::sheet::{Drawing, Shown, schematic};
use crate::units::{count_text, volt_text};

/// What this part keeps.
#[derive(Clone, Debug, Default)]
pub struct SchematicState {
    /// Buttons held closed in the drawing, by their place in the project.
    pub closed: BTreeSet<usize>,
}

/// What happens here.
#[derive(Clone, Debug, PartialEq)]
pub enum SchematicAction {
    /// Close a button's switch, or open it.
    Set {
        /// Which, by its place.
        button: usize,
        /// Whether it is closed from now on.
        closed: bool,
    },
    /// Close these and no others.
    Only(Vec<usize>),
}

/// What follows from the project.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SchematicDerived {
    /// The circuit. Another one whenever the project changed.
    pub netlist: Arc<Netlist>,
    /// The smallest gap in a sentence; empty where there is none.
    pub gap: String,
    /// How many findings of this station want a look.
    pub to_look_at: usize,
}

impl SchematicDerived {
    /// Of this project and its bands.
    #[must_use]
    pub fn of(project: &Project, bands: &BandSet) -> Self {
        let to_look_at = findings(project)
            .iter()
            .filter(|finding| finding.station == Station::Circuit && finding.level != Level::Note)
            .count();
        Self { netlist: Arc::new(Netlist::of(project)), gap: gap(project, bands), to_look_at }
    }
}

/// `Smallest gap 59 counts, Previous to Source.`
fn gap(project: &Project, bands: &BandSet) -> String {
    let Some((low, high, gap_count)) = bands.smallest_gap() else { return String::new() };
    let gap = count_text(gap_count, 0);
    let counts = if gap == "1" { "count" } else { "counts" };
    let [low, high] = [low, high].map(|rung: Rung| banding::rung_name(project, rung));
    format!("Smallest gap {gap} {counts}, {} to {high}.", capital(&low))
}

/// With its first letter large: it may stand first.
fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// What the drawing shows now; `live` are the buttons pressed on the wheel itself.
#[must_use]
pub fn shown(model: &Model, live: Vec<usize>) -> Shown {
    let buttons = model.derived.circuit.schematic.netlist.names.len();
    let state = &model.circuit.schematic;
    let supply_v = match &model.the_box.presence {
        Presence::Found(identity) if model.link.is_open() => {
            identity.supply_mv.map(|millivolt| f64::from(millivolt) / 1e3)
        }
        _ => None,
    };
    Shown {
        closed: state.closed.iter().copied().filter(|button| *button < buttons).collect(),
        live: live.into_iter().filter(|button| *button < buttons).collect(),
        supply_v,
        output: output_flags(model),
        settle: settle(model),
        works: true,
    }
}

/// The low level and the rise, each over its limit; none before the stereo's input is measured, or where
/// it takes no pulses.
fn output_flags(model: &Model) -> Vec<(String, String)> {
    let Some((on_line, report)) = &model.derived.circuit.output.stage else { return Vec::new() };
    if !on_line.measured || matches!(model.derived.jack.verdict, JackVerdict::ResistanceInput { .. }) {
        return Vec::new();
    }
    let allowed = format!("{} allowed", count_text(report.low_limit_v(), 2));
    let mut flags = vec![(format!("low {}", volt_text(report.point.low_v)), allowed)];
    if report.turn_off_us.is_infinite() {
        flags.push(("no rise".to_owned(), "line stays low".to_owned()));
    } else if report.turn_off_us > 0.0 {
        let share = match 100.0 * report.turn_off_us / report.line.mark_us {
            share if share < 1.0 => "<1 % of mark".to_owned(),
            share if share < 99.5 => format!("{} % of mark", count_text(share, 0)),
            _ => "past the mark".to_owned(),
        };
        flags.push((format!("rise {}", mark_text(report.turn_off_us)), share));
    }
    flags
}

/// How long the filter takes to settle to half a count; empty without one.
fn settle(model: &Model) -> String {
    let costs = model.derived.circuit.sense.costs.as_ref();
    costs
        .map(|costs| costs.filter.settle_s)
        .filter(|settle_s| *settle_s > 0.0)
        .map_or_else(String::new, settle_text)
}

/// `0.80 ms`, `76.3 µs`.
fn settle_text(settle_s: f64) -> String {
    if settle_s >= 99.95e-6 {
        format!("{} ms", count_text(settle_s * 1e3, 2))
    } else {
        mark_text(settle_s * 1e6)
    }
}

/// The drawing of a circuit, solved for what is pressed.
#[must_use]
pub fn drawing(netlist: &Netlist, shown: &Shown) -> Drawing {
    // Without an answer the nodes have no volts, and the drawing says so.
    let point = netlist.solve(&shown.pressed()).ok();
    schematic(netlist, point.as_ref(), shown)
}

/// What an action changes.
pub(super) fn update(model: &mut Model, action: SchematicAction) -> Vec<Effect> {
    let buttons = model.merged().map_or(0, |project| project.wheel.buttons.len());
    let closed = &mut model.circuit.schematic.closed;
    match action {
        SchematicAction::Set { button, closed: true } if button < buttons => {
            closed.insert(button);
        }
        SchematicAction::Set { button, closed: _ } => {
            closed.remove(&button);
        }
        SchematicAction::Only(only) => {
            *closed = only.into_iter().filter(|button| *button < buttons).collect();
        }
    }
    Vec::new()
}
