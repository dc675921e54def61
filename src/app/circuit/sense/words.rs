//! What each choice of the circuit costs, in words. Knows what was computed, and no screen.

use crate::bands::Rung;
use crate::circuit::{MonitorMends, PIN_AMP, Reference, SHORT_V, Sense};
use crate::project::banding::rung_name;
use crate::project::{Project, SenseChoice, SenseCosts, bag_text};
use crate::units::{TOP_COUNT, amp_text, count_text, number_of, ohm_text, volt_text};

/// One text a choice; empty where nothing can be told yet.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct CostLines {
    /// The style: the range used, what saturates, what a broken wire looks like.
    pub style: String,
    /// The reference: what a moving feed does, and how well it is known.
    pub reference: String,
    /// The feed monitor: what it mends.
    pub monitor: String,
    /// The sense resistor: what it gives, and what would give more.
    pub resistor: String,
    /// The series and the tolerance: what the tolerance moves.
    pub series: String,
    /// The filter: settling, and what a short does.
    pub filter: String,
    /// The feed: what the node draws.
    pub feed: String,
    /// The drawer: its best.
    pub drawer: String,
    /// The wear: what it moves.
    pub wear: String,
}

impl CostLines {
    /// Of a project, with what was computed for it.
    #[must_use]
    pub(super) fn of(project: &Project, choice: Option<&SenseChoice>, costs: Option<&SenseCosts>) -> Self {
        let mut lines = Self::default();
        if let Some(costs) = costs {
            lines.style = style(project, costs);
            lines.reference = reference(project, costs);
            lines.monitor = monitor(costs.costs.monitor).to_owned();
            lines.filter = filter(costs);
            if let Some((rung, count)) = costs.worst_tolerance {
                lines.series = format!(
                    "A resistor off by that much moves {} by {}; learning takes it in.",
                    rung_name(project, rung),
                    counts(count)
                );
            }
            if let Some((rung, count)) = costs.worst_wear {
                lines.wear =
                    format!("Worn out, {} reads {} further on.", rung_name(project, rung), counts(count));
            }
        }
        if let Some(choice) = choice {
            lines.resistor = resistor(project, choice);
            lines.drawer = drawer(choice);
            let now = &choice.plan.now;
            lines.feed = format!(
                "The node draws {} at most; the resistor turns {} mW into heat.",
                amp_text(now.feed_amp),
                count_text(now.sense_watt * 1e3, 1)
            );
        } else if project.circuit.as_ref().is_some_and(|circuit| circuit.module.is_some()) {
            lines.resistor = crate::circuit::PlanError::Module.to_string();
        }
        lines
    }
}

/// `5.6 counts`, `1 count`.
fn counts(count: f64) -> String {
    let text = count_text(count, usize::from(count < 9.95));
    if text == "1.0" { "1 count".to_owned() } else { format!("{text} counts") }
}

fn style(project: &Project, costs: &SenseCosts) -> String {
    let Some(circuit) = &project.circuit else { return String::new() };
    let mut said = Vec::new();
    if circuit.sense == Sense::PullDown && project.wheel.back.grounded == Some(true) {
        // FACTS section 0, item 4: common practice, no source.
        said.push(
            "The vehicle grounds the ladder's return: a resistor to ground reads nothing. Use the pull-up."
                .to_owned(),
        );
    }
    let (low, high) = costs.costs.range_count;
    said.push(format!(
        "Uses {} to {} of 1023 counts.",
        count_text(low.floor(), 0),
        count_text(high.floor(), 0)
    ));
    if let Some(ohm) = costs.costs.saturates_at_ohm {
        let where_ = if circuit.sense == Sense::PullDown { "up to" } else { "from" };
        let names: Vec<_> = costs
            .costs
            .saturating
            .iter()
            .filter_map(|&at| Some(rung_name(project, *costs.rungs.get(at)?)))
            .collect();
        let which = if names.is_empty() { "no button".to_owned() } else { names.join(", ") };
        said.push(format!("Everything {where_} {} reads 1023: {which}.", ohm_text(ohm)));
    }
    if let Some(&rest) = costs.rungs.iter().find(|rung| at_the_top(project, **rung)) {
        let name = rung_name(project, rest);
        let name = if name == "rest" { "Rest".to_owned() } else { name.replacen("rest", "Rest", 1) };
        said.push(format!(
            "{name} is full scale, so a broken wire looks like rest: a resistor across the ladder's end would tell \
             them apart."
        ));
    }
    said.join(" ")
}

/// Whether a wire rests at full scale because nothing is across it.
fn at_the_top(project: &Project, rung: Rung) -> bool {
    let Rung::Rest(wire) = rung else { return false };
    let open = project.wheel.wires.get(&wire).is_none_or(|info| info.rest_ohm.is_none());
    let circuit = project.circuit.as_ref();
    open && circuit.is_some_and(|circuit| circuit.ideal_count(f64::INFINITY) >= TOP_COUNT)
}

fn reference(project: &Project, costs: &SenseCosts) -> String {
    let Some(circuit) = &project.circuit else { return String::new() };
    if circuit.is_ratiometric() {
        return "A reading is a ratio: laptop and vehicle power read alike.".to_owned();
    }
    let mut said = Vec::new();
    if circuit.module.is_some() {
        said.push(
            "The module feeds the ladder, so a reading is no ratio: it moves with both supplies.".to_owned(),
        );
    }
    let named = |at: usize| costs.rungs.get(at).map_or_else(String::new, |rung| rung_name(project, *rung));
    if let Some((at, count)) = costs.costs.worst_feed {
        said.push(format!("1 % more feed moves {} by {}.", named(at), counts(count)));
    }
    if matches!(circuit.reference, Reference::Internal { .. }) {
        // ATmega328P datasheet 8161D, table 28-7.
        said.push("The chip's own reference is 1.0 to 1.2 V from chip to chip.".to_owned());
    }
    if let Some(input) = costs.costs.reference_input {
        let (low, high) = input.example_v;
        let moved = input.worst.map_or_else(String::new, |(at, count)| {
            format!(", which moves {} by {}", named(at), counts(count))
        });
        said.push(format!(
            "The pin is said to have a typical 32 kΩ and no limits: with 22 kΩ it would stand at {}, with 42 kΩ at \
             {}{moved}. Meter the pin and type it in.",
            volt_text(low),
            volt_text(high)
        ));
    }
    said.join(" ")
}

const fn monitor(mends: MonitorMends) -> &'static str {
    match mends {
        MonitorMends::Nothing => "Not needed: a reading is a ratio already.",
        MonitorMends::Missing => {
            "None fitted: readings move with the feed. Two resistors to the box's third input take feed and reference \
             out of every reading."
        }
        MonitorMends::FeedAndReference => {
            "Takes the feed and the reference out of every reading. What saturates stays lost."
        }
        MonitorMends::ModuleFeed => {
            "The module's own feed can't be reached from the wire, so none can be watched: learn on the power it will \
             run on."
        }
    }
}

fn resistor(project: &Project, choice: &SenseChoice) -> String {
    let now = &choice.plan.now;
    if let Some(ruled) = now.ruled {
        return format!("{}: {}.", bag_text(now.ohm), choice.ruled_text(project, ruled));
    }
    let gap = number_of(usize::from(now.gap_count), "count");
    let limits = choice.pair_text(project, now.gap_pair);
    let sigma = count_text(now.separation_sigma, 1);
    format!("Smallest gap {gap}, {limits}; {sigma} σ with wear.")
}

fn drawer(choice: &SenseChoice) -> String {
    match choice.from_drawer() {
        Some(value) => {
            format!(
                "Best: {} with {}.",
                bag_text(value.ohm),
                number_of(usize::from(value.gap_count), "count")
            )
        }
        None if choice.plan.drawer.is_empty() => "What you have at hand, like 470, 1k, 4k7.".to_owned(),
        None => "Nothing of it will do.".to_owned(),
    }
}

fn filter(costs: &SenseCosts) -> String {
    let report = &costs.filter;
    let mut said = vec![if report.settle_s > 0.0 {
        let share = 100.0 * report.dwell_share;
        format!(
            "Settles to half a count in {} ms, {} % of the dwell.",
            count_text(report.settle_s * 1e3, 2),
            count_text(share, 0)
        )
    } else {
        "No capacitor: noise goes straight to the pin.".to_owned()
    }];
    let volt = count_text(SHORT_V, 0);
    let limit = amp_text(PIN_AMP);
    said.push(if report.short_amp.is_infinite() {
        format!("A short to {volt} V isn't limited at all, and the pin takes {limit}: fit a resistor.")
    } else if report.short_amp > PIN_AMP {
        format!(
            "A short to {volt} V drives {} through it, and the pin takes {limit}: keep the clamping diodes.",
            amp_text(report.short_amp)
        )
    } else {
        format!("A short to {volt} V drives {}, which the pin takes.", amp_text(report.short_amp))
    });
    if report.leak_count >= 1.0 {
        said.push(format!("The pin's leak moves a reading by {} at most.", counts(report.leak_count)));
    }
    said.join(" ")
}
