//! What goes down to the worker, and what comes up from it.

use std::path::PathBuf;

use crate::bands::Touch;
use crate::device::{BoxReport, BoxRequest};
use crate::signal::RawReading;

/// The rates tried, in bits per second, likeliest first.
pub const RATES: [u32; 9] = [115_200, 9_600, 57_600, 38_400, 19_200, 230_400, 250_000, 500_000, 1_000_000];

/// What the link is opened on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Target {
    /// A serial port by its path; the rate is found by trying unless it is given.
    Serial {
        /// The port's path, as listed or typed.
        path: String,
        /// Bits per second, where the person knows it.
        rate: Option<u32>,
    },
    /// The demo van's wheel.
    Demo {
        /// How many times faster than life it runs; 1 in the window.
        speed: u32,
    },
    /// A recorded file with columns `t_ms,wire1[,wire2]`.
    Replay {
        /// The file.
        path: PathBuf,
        /// How many times faster than life it runs; 0 is as fast as it can be taken.
        speed: u32,
    },
}

/// What the worker is asked to do.
#[derive(Clone, Debug, PartialEq)]
pub enum Request {
    /// Open this, closing what was open.
    Open(Target),
    /// Close what is open and stop waiting for it.
    Close,
    /// Press or release a button of the demo's wheel, or of its remote.
    Demo(DemoTouch),
    /// Ask the box for something; heard only while a box is at the other end.
    Box(BoxRequest),
}

/// A hand on the demo's wheel, or on its remote.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DemoTouch {
    /// Press the button with this number (from 0, in the demo wheel's order) and keep it pressed.
    Press {
        /// Which button.
        button: usize,
        /// How it is pressed.
        touch: Touch,
    },
    /// Let go.
    Release,
    /// While the box listens, press the button of the demo's remote with this number (from 0, in the
    /// order of the demo's commands; the one behind them is of no command yet) again and again.
    /// `None` presses all in order, three times each.
    Remote(Option<usize>),
}

/// A port that could be opened, with what is known of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PortInfo {
    /// The path that opens it.
    pub path: String,
    /// What is known: maker's text and numbers of a USB port, or what else it is.
    pub about: String,
}

/// Readings in order, as they came, with what went wrong on the way.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Batch {
    /// The readings.
    pub readings: Vec<RawReading>,
    /// Lines that were not one or two numbers, since the last batch.
    pub broken_lines: u64,
    /// Readings thrown away because nobody took them in time, since the last batch. They are
    /// missing before the first reading of this batch.
    pub lost_readings: u64,
}

/// What the worker has to say.
#[derive(Clone, Debug, PartialEq)]
pub enum Report {
    /// The ports there are now; said whenever the list changes, open or not.
    Ports(Vec<PortInfo>),
    /// A rate is being tried.
    Trying {
        /// Bits per second.
        rate: u32,
    },
    /// The link is open and readings make sense.
    Connected {
        /// What was opened.
        target: Target,
        /// The rate found, in bits per second; `None` where there is none (demo, replay).
        rate: Option<u32>,
        /// How many numbers a line holds, 1 or 2.
        wires: u8,
    },
    /// Readings.
    Readings(Batch),
    /// The port went away while it was open. The worker waits for it and opens it again by itself.
    Gone {
        /// The port's path.
        path: String,
        /// What the system said.
        reason: String,
    },
    /// The port is open but nothing that makes sense has come for `ms` milliseconds.
    Silent {
        /// For how long, in milliseconds.
        ms: u64,
        /// Whether bytes came at all: without, look at the wiring; with, at the rate or the probe.
        bytes_came: bool,
    },
    /// It could not be opened, or none of the rates made sense; the worker has given up.
    Failed {
        /// What failed, with the values.
        what: String,
        /// What to do next.
        advice: String,
    },
    /// Heard of the box.
    Box(BoxReport),
    /// The link is closed: as asked, or because a replay has come to its end.
    Closed,
}
