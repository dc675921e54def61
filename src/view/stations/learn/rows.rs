//! What the plots draw, from what the model holds: rungs of one wire, measured bands, marks.

use crate::app::Model;
use crate::bands::{Band, Rung};
use crate::circuit::Sense;
use crate::project::Project;
use crate::units::{count_text, ohm_text};
use crate::view::widgets::plot::trace::{TraceBand, TraceDrag, TraceMark};
use crate::view::widgets::plot::{RungRow, RungState, Wear};

/// The rungs of a wire (from 0), buttons and rest, from the lowest count to the highest.
pub(super) fn rungs(model: &Model, wire: usize) -> Vec<RungRow> {
    let Some(project) = model.merged() else { return Vec::new() };
    let number = wire as u8 + 1;
    let mut rows: Vec<RungRow> = model
        .derived
        .bands
        .bands()
        .filter(|band| band.wire == number)
        .map(|band| match band.rung {
            Rung::Button(index) => button_row(project, band, index),
            Rung::Rest(_) => rest_row(band),
        })
        .collect();
    rows.sort_by(|a, b| a.centre.total_cmp(&b.centre));
    rows
}

/// The measured bands of a wire, for behind its trace.
pub(super) fn bands(rows: &[RungRow]) -> Vec<TraceBand> {
    rows.iter()
        .filter(|row| row.state.is_measured())
        .filter_map(|row| Some(TraceBand { index: row.index?, low: row.low, high: row.high + 1.0 }))
        .collect()
}

/// The marks of a wire that lie in a stretch of the recording.
pub(super) fn marks(model: &Model, wire: usize, from_ms: f64, to_ms: f64) -> Vec<TraceMark> {
    let Some(project) = model.project() else { return Vec::new() };
    model
        .learn
        .marks
        .iter()
        .filter(|mark| mark.wire == wire && mark.to_ms >= from_ms && mark.from_ms <= to_ms)
        .filter_map(|mark| {
            Some(TraceMark {
                from_ms: mark.from_ms,
                to_ms: mark.to_ms,
                count: mark.count,
                index: project.button(&mark.button)?.0,
                refused: mark.refused,
            })
        })
        .collect()
}

/// The stretch dragged by hand, if it is on this wire.
pub(super) fn drag(model: &Model, wire: usize) -> Option<TraceDrag> {
    let picked = model.learn.picked.as_ref().filter(|picked| picked.wire == wire)?;
    let settled =
        picked.settled.as_ref().ok().map(|stretch| (stretch.from_ms, stretch.to_ms, stretch.median_count));
    Some(TraceDrag { from_ms: picked.from_ms, to_ms: picked.to_ms, settled })
}

/// The tightest gap beside a button, or of the whole wire: the lower rung and the upper one.
pub(super) fn nearest(rows: &[RungRow], current: Option<usize>) -> Option<(&RungRow, &RungRow)> {
    let pairs = || rows.windows(2).map(|pair| (&pair[0], &pair[1]));
    let tightest = |pairs: &mut dyn Iterator<Item = (&'_ RungRow, &'_ RungRow)>| {
        let mut best: Option<(f64, usize)> = None;
        for (number, (lower, upper)) in pairs.enumerate() {
            let gap = upper.centre - lower.centre;
            if best.is_none_or(|(least, _)| gap < least) {
                best = Some((gap, number));
            }
        }
        best.map(|(_, number)| number)
    };
    let beside: Vec<_> = pairs()
        .filter(|(lower, upper)| current.is_some() && (lower.index == current || upper.index == current))
        .collect();
    if beside.is_empty() {
        let number = tightest(&mut pairs())?;
        return pairs().nth(number);
    }
    let number = tightest(&mut beside.iter().copied())?;
    beside.get(number).copied()
}

/// How many of a wire's rungs are measured and how many planned, in words.
pub(super) fn measured_words(rows: &[RungRow]) -> String {
    let buttons = rows.iter().filter(|row| row.index.is_some());
    let all = buttons.clone().count();
    let measured = buttons.filter(|row| row.state.is_measured()).count();
    if measured == all {
        format!("{all} measured")
    } else {
        format!("{measured} measured, {} planned", all - measured)
    }
}

fn edges(band: &Band) -> (f64, f64) {
    band.accept.map_or((band.tolerance_low_count, band.tolerance_high_count), |accept| {
        (f64::from(accept.low_count), f64::from(accept.high_count))
    })
}

fn button_row(project: &Project, band: &Band, index: usize) -> RungRow {
    let button = project.wheel.buttons.get(index);
    let name = button.map(|button| button.name.clone()).unwrap_or_default();
    let learned = button.and_then(|button| project.learned.get(&button.id));
    let presses = learned.map(|learned| learned.presses.as_slice()).unwrap_or_default();
    let (taken, of) = (presses.len() as u32, project.plan.presses);
    let state = match taken {
        0 => RungState::Planned,
        taken if taken >= of => RungState::Measured,
        presses => RungState::Partly { presses, of },
    };
    let (low, high) = edges(band);
    let headroom = band.headroom_ohm.filter(|_| state.is_measured()).map(ohm_text);
    let count = count_text(band.centre_count, 0);
    let detail = match state {
        RungState::Planned => format!("{count} by the meter"),
        RungState::Partly { presses, of } => format!("{count} · press {presses} of {of}"),
        RungState::Measured => headroom
            .as_ref()
            .map_or_else(|| format!("{count} counts"), |ohm| format!("{count} · headroom {ohm}")),
    };
    let mut tally: Vec<(f64, f64)> = Vec::new();
    for (count, readings) in presses.iter().flat_map(|press| &press.tally) {
        // Middle of the whole count the readings fell on.
        let at = f64::from(*count) + 0.5;
        match tally.iter_mut().find(|(there, _)| *there == at) {
            Some((_, sum)) => *sum += f64::from(*readings),
            None => tally.push((at, f64::from(*readings))),
        }
    }
    let spoken = match state {
        RungState::Planned => format!("{name}, planned at {count}"),
        _ => format!(
            "{name}, rung {count}, accepts {} to {}{}",
            count_text(low, 0),
            count_text(high, 0),
            headroom
                .as_ref()
                .map(|ohm| format!(", headroom {}", ohm.replace('Ω', "ohms")))
                .unwrap_or_default()
        ),
    };
    RungRow {
        index: Some(index),
        name,
        centre: band.centre_count,
        low,
        high,
        state,
        tolerance: Some((band.tolerance_low_count, band.tolerance_high_count)),
        tally,
        sigma: band.sigma_count,
        wear: wear(project),
        detail,
        count,
        headroom,
        spoken,
    }
}

fn rest_row(band: &Band) -> RungRow {
    let (low, high) = edges(band);
    let count = count_text(band.centre_count, 0);
    RungRow {
        index: None,
        name: "Rest".to_owned(),
        centre: band.centre_count,
        low,
        high,
        state: if band.measured { RungState::Measured } else { RungState::Planned },
        tolerance: Some((band.tolerance_low_count, band.tolerance_high_count)),
        tally: Vec::new(),
        sigma: band.sigma_count,
        wear: Wear::Unknown,
        detail: count.clone(),
        spoken: format!("Rest at {count}"),
        count,
        headroom: None,
    }
}

fn wear(project: &Project) -> Wear {
    match project.circuit.as_ref().map(|circuit| circuit.sense) {
        Some(Sense::PullUp) => Wear::Up,
        Some(Sense::PullDown) => Wear::Down,
        None => Wear::Unknown,
    }
}
