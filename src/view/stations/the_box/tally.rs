//! The box's counters in words, each with its unit and what it means. Draws nothing.

use crate::units::time_text;
use crate::wire::Counters;

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
