//! What is odd about an output stage on its line: each with its values, and what to change.

use super::report::{MOST_STRETCH, StageReport};
use super::{Device, OutputStage};
use crate::units::{Series, amp_text, ohm_text, volt_text};

/// Something odd. Its words are [`StageWarning::what`] and [`StageWarning::advice`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum StageWarning {
    /// More volts at idle than the transistor bears.
    AboveRating {
        /// Which one.
        device: Device,
        /// Idle, in volts.
        idle_v: f64,
    },
    /// More current or heat than it bears.
    TooHot {
        /// Which one.
        device: Device,
        /// What it carries, in amperes.
        collector_a: f64,
        /// What becomes heat in it, in watts.
        heat_w: f64,
    },
    /// Pulled low the line stays above what an input takes as low.
    LowTooHigh {
        /// Pulled low, in volts: the higher of what is promised and what is typical.
        low_v: f64,
        /// What an input takes as low, in volts.
        limit_v: f64,
        /// The largest series resistor of the series E12 with which it wouldn't, in ohms; `None` where none
        /// helps.
        series_ohm: Option<f64>,
    },
    /// It isn't sure to be on fully.
    NotSure {
        /// Which one.
        device: Device,
        /// What it must sink, in amperes.
        sink_a: f64,
        /// Up to where it is sure, in amperes.
        limit_a: f64,
        /// The largest base resistor of the series E12 with which it would be, in ohms; `None` where none
        /// is.
        base_ohm: Option<f64>,
    },
    /// The line rises too slowly, or never.
    Stretched {
        /// As sent, in microseconds.
        mark_us: f64,
        /// As the line sees it, in microseconds; may be infinite, and 0 where it sees none.
        mark_at_line_us: f64,
    },
    /// The pin gives more than it is made for.
    PinAbove {
        /// In amperes.
        pin_a: f64,
    },
    /// Nothing holds the base while the chip's pins float.
    NoPullDown,
}

/// An input of TTL levels takes this and less as low, in volts: `VIL`, as in TI data sheet SLLS591C, TTL
/// input electrical characteristics (JEDEC JESD8C gives the same, from memory).
const TTL_LOW_V: f64 = 0.8;
/// A CMOS input takes this share of its supply and less as low: `VIL` of an ATmega328P's pins,
/// datasheet 8161D, DC characteristics (from memory of it).
const CMOS_LOW_SHARE: f64 = 0.3;
/// What a pin of an ATmega328P gives while its levels hold, in amperes: the test current at 5 V (FACTS A,
/// datasheet 8271H). The absolute maximum is twice that.
const PIN_A: f64 = 20e-3;
/// Resistors to advise lie between these, in ohms.
const ADVISED_OHM: (f64, f64) = (100.0, 1e6);

/// What an input that idles so takes as low, in volts: the lower of TTL's level and CMOS's share.
pub(in crate::circuit) fn low_limit_v(idle_v: f64) -> f64 {
    TTL_LOW_V.min(CMOS_LOW_SHARE * idle_v)
}

/// A mark's length or an edge's: `563 µs`, `12.3 µs`, `0.28 µs`, `1.20 ms`.
#[must_use]
pub fn mark_text(us: f64) -> String {
    if !us.is_finite() {
        "no end".to_owned()
    } else if us >= 9_999.5 {
        format!("{:.1} ms", us / 1e3)
    } else if us >= 999.5 {
        format!("{:.2} ms", us / 1e3)
    } else if us >= 99.95 {
        format!("{us:.0} µs")
    } else if us >= 9.995 {
        format!("{us:.1} µs")
    } else {
        format!("{us:.2} µs")
    }
}

/// The largest resistor of the series E12 up to so many ohms, of those that one would take.
fn largest(ohm: f64) -> Option<f64> {
    Series::E12.within(ADVISED_OHM.0, ohm.min(ADVISED_OHM.1)).into_iter().next_back()
}

/// Everything odd, the gravest first.
pub(super) fn of(stage: &OutputStage, report: &StageReport) -> Vec<StageWarning> {
    let StageReport { line, point, pull, mark_at_line_us, .. } = report;
    let (device, row) = (stage.device, stage.device.row());
    let idle_v = line.source.volt;
    let mut all = Vec::new();
    if idle_v > row.rated_v {
        all.push(StageWarning::AboveRating { device, idle_v });
    }
    if point.collector_a > row.rated_a || point.heat_w() > row.rated_w {
        all.push(StageWarning::TooHot { device, collector_a: point.collector_a, heat_w: point.heat_w() });
    }
    let limit_v = low_limit_v(idle_v);
    let low_v = point.low_v.max(pull.low_v.unwrap_or_default());
    if pull.low_v.is_none() {
        let base_ohm = stage.sure_base_ohm(pull.sink_a).and_then(largest);
        all.push(StageWarning::NotSure { device, sink_a: pull.sink_a, limit_a: pull.limit_a, base_ohm });
    }
    if low_v > limit_v {
        // What the divider of pull-up and series resistor may leave beside the transistor's own volts.
        let left_v = limit_v - point.collector_v.max(row.promise.most_v(point.collector_a));
        let most_ohm = left_v / (idle_v - limit_v) * line.source.ohm;
        let series_ohm = largest(most_ohm.min(stage.series_ohm));
        all.push(StageWarning::LowTooHigh { low_v, limit_v, series_ohm });
    }
    if report.stretch().abs() > MOST_STRETCH {
        all.push(StageWarning::Stretched { mark_us: line.mark_us, mark_at_line_us: *mark_at_line_us });
    }
    if point.pin_a > PIN_A {
        all.push(StageWarning::PinAbove { pin_a: point.pin_a });
    }
    if !stage.base_pulldown_ohm.is_finite() {
        all.push(StageWarning::NoPullDown);
    }
    all
}

impl StageWarning {
    /// What was found, with the values.
    #[must_use]
    pub fn what(&self) -> String {
        match *self {
            Self::AboveRating { device, idle_v } => format!(
                "{} at idle is more than the output's transistor bears: a {} is made for {} V.",
                volt_text(idle_v),
                device.name(),
                device.row().rated_v
            ),
            Self::TooHot { device, collector_a, heat_w } => format!(
                "The output's transistor would carry {} and turn {heat_w:.2} W into heat: a {} bears {} and {} W.",
                amp_text(collector_a),
                device.name(),
                amp_text(device.row().rated_a),
                device.row().rated_w
            ),
            Self::LowTooHigh { low_v, limit_v, .. } => format!(
                "Pulled low the line may stay at {}, and such an input takes {} and less as low.",
                volt_text(low_v),
                volt_text(limit_v)
            ),
            Self::NotSure { device, sink_a, limit_a, .. } => format!(
                "The line's pull-up gives {}, and the {} is sure to pull only {} low.",
                amp_text(sink_a),
                device.name(),
                amp_text(limit_a)
            ),
            Self::Stretched { mark_us, mark_at_line_us: 0.0 } => format!(
                "The line never goes low for the shortest mark of {}: the stereo would see nothing.",
                mark_text(mark_us)
            ),
            Self::Stretched { mark_us, mark_at_line_us } if mark_at_line_us.is_infinite() => format!(
                "Once pulled low the line doesn't rise again: the shortest mark of {} never ends.",
                mark_text(mark_us)
            ),
            Self::Stretched { mark_us, mark_at_line_us } => format!(
                "The line makes {} of the shortest mark of {}: {:.0} % off, and {:.0} % is allowed.",
                mark_text(mark_at_line_us),
                mark_text(mark_us),
                (mark_at_line_us / mark_us - 1.0).abs() * 100.0,
                MOST_STRETCH * 100.0
            ),
            Self::PinAbove { pin_a } => format!(
                "The box's pin would give {}, and its levels hold up to {}.",
                amp_text(pin_a),
                amp_text(PIN_A)
            ),
            Self::NoPullDown => {
                "Nothing holds the transistor off while the chip starts: the line may go low by itself."
                    .to_owned()
            }
        }
    }

    /// What to change.
    #[must_use]
    pub fn advice(&self) -> String {
        match *self {
            Self::AboveRating { .. } => {
                "Don't join the box to it. Look for the remote input in the stereo's manual.".to_owned()
            }
            Self::TooHot { .. } => {
                "Measure the input's pull-up again; if it stays, put a resistor between collector and line, or \
                 look for the remote input in the stereo's manual."
                    .to_owned()
            }
            Self::LowTooHigh { series_ohm: Some(ohm), .. } => format!(
                "Make the resistor between collector and line {} or less, or leave it out.",
                ohm_text(ohm)
            ),
            Self::LowTooHigh { .. } => {
                "Leave out the resistor between collector and line, and give the base more current.".to_owned()
            }
            Self::NotSure { base_ohm: Some(ohm), .. } => {
                format!("Make the base resistor {} or less.", ohm_text(ohm))
            }
            Self::NotSure { device: Device::Bss138, .. } => {
                "Drive its gate with 4.5 V or more: a smaller gate resistor, or a larger pull-down.".to_owned()
            }
            Self::NotSure { .. } => {
                "Take a transistor for more current, or measure the input's pull-up again.".to_owned()
            }
            Self::Stretched { mark_at_line_us: 0.0, .. } => {
                "Use a shorter cable, and give the transistor more base current.".to_owned()
            }
            Self::Stretched { .. } => {
                "Use a shorter cable or one of less capacitance, or add a pull-up from the line to the \
                 stereo's own supply."
                    .to_owned()
            }
            Self::PinAbove { .. } => {
                "Make the base resistor larger, or take a transistor that needs less.".to_owned()
            }
            Self::NoPullDown => "Put 47 kΩ from base or gate to ground.".to_owned(),
        }
    }
}
