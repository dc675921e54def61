//! Between the project and the choice of the dwell: the recogniser's rules and the recorded presses as
//! plain numbers. Knows no file and no screen, and computes nothing itself.

use crate::bands::dwell::{DwellTable, Input, TrialKind, Wheel, decide, table, trials};
use crate::bands::{BandSet, PressTrace, Rung, Touch, auto_settle_count, bound_traces, noise_count};
use crate::recognise::{Band, Has, Rules, Wires};
use crate::signal::Level;
use crate::units::WIRES;

use super::{ButtonId, Project};

/// Why no dwell can be tried.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum DwellError {
    /// Nothing was learned.
    #[error("No button was learned, so that there is nothing to recognise. Learn the wheel first.")]
    NothingLearned,
    /// A wire's rest has no band.
    #[error(
        "The rest of wire {wire} isn't known, and a press begins where rest ends. Learn the rest with no button pressed."
    )]
    NoRest {
        /// Which wire.
        wire: u8,
    },
    /// More buttons than the box has room for.
    #[error(transparent)]
    Rules(#[from] crate::recognise::RulesError),
}

/// How far the readings of a dwell may spread, in counts: the plan's, or four standard deviations of the
/// noise within the presses of the noisiest button that was learned, rounded up to whole counts, 2 at
/// least. Noise of 0.9 counts gives 4. Where nothing was learned the bands' own assumption stands in.
#[must_use]
pub fn settle_count(project: &Project, bands: &BandSet) -> f64 {
    project.plan.settle_count.unwrap_or_else(|| auto_settle_count(bands))
}

/// What the choice of the dwell stands on: the project's bands and plan as the box goes by them, each
/// button with a tap that is sent at once, and the presses that were recorded of buttons that are still
/// there.
///
/// # Errors
/// [`DwellError`] where there is nothing to recognise, or no rest to recognise it from.
pub fn dwell_input(project: &Project, bands: &BandSet) -> Result<Input, DwellError> {
    let plan = &project.plan;
    let nothing = Band { low: 1, high: 0 };
    let accept = |rung: Rung| {
        let band = bands.band(rung).filter(|band| band.measured)?;
        band.accept.map(|accept| (band.wire, Band { low: accept.low_count, high: accept.high_count }))
    };
    let places = 0..project.wheel.buttons.len();
    let buttons: Vec<(u8, Band, Has)> = places
        .clone()
        .map(|place| {
            let (wire, band) = accept(Rung::Button(place)).unwrap_or((1, nothing));
            (wire, band, Has { tap: true, ..Has::default() })
        })
        .collect();
    let used = |wire: u8| buttons.iter().any(|(on, band, _)| *on == wire && band.low <= band.high);
    let Some(wires) = (1..=WIRES as u8).rfind(|&wire| used(wire)) else {
        return Err(DwellError::NothingLearned);
    };
    let mut rests = [nothing; WIRES];
    for wire in 1..=wires {
        rests[usize::from(wire) - 1] = match accept(Rung::Rest(wire)) {
            Some((_, band)) => band,
            None if used(wire) => return Err(DwellError::NoRest { wire }),
            // A wire without buttons counts as always at rest, as in the image.
            None => Band { low: 0, high: crate::units::TOP_COUNT as u16 },
        };
    }
    let centre = |rung: Rung| bands.band(rung).map(|band| band.centre_count);
    let learned =
        |place: usize| centre(Rung::Button(place)).filter(|_| buttons[place].1.low <= buttons[place].1.high);
    let wheel = Wheel {
        centre_count: places.map(learned).collect(),
        rest_count: [1, 2].map(|wire| centre(Rung::Rest(wire)).unwrap_or(0.0)),
        circuit: project.circuit.clone().filter(|c| !c.check().iter().any(|problem| problem.is_error())),
        noise_count: noise_count(bands),
    };
    let rules = Rules {
        wires: if wires == 2 { Wires::Two } else { Wires::One },
        rests,
        buttons,
        dwell_ticks: plan.dwell_ms,
        // Held at the end by the cast.
        settle: Level::from_steps((settle_count(project, bands) * Level::PER_COUNT).round() as u16),
        hold_ticks: plan.hold_ms,
        double_ticks: plan.double_ms,
        rollover: plan.rollover,
    };
    // Says what the box has no room for before anything is computed.
    crate::recognise::Recogniser::new(&rules)?;
    let place_of = |trace: &PressTrace| {
        let (place, _) = project.button(&ButtonId(trace.button.clone()))?;
        let (wire, band, _) = rules.buttons[place];
        (band.low <= band.high && wire == trace.wire).then_some(place as u8)
    };
    let traces = project.traces.iter().filter_map(|trace| Some((place_of(trace)?, trace.clone()))).collect();
    Ok(Input { rules, wheel, traces })
}

/// The table of dwells, with what it stands on.
#[derive(Clone, Debug, PartialEq)]
pub struct DwellChoice {
    /// What it was computed of.
    pub input: Input,
    /// The table.
    pub table: DwellTable,
}

/// Computes the table of a project's dwells. `stop` is asked often; `progress` is told the share done, 0 to
/// 1. `Ok(None)` where it was stopped.
///
/// # Errors
/// [`DwellError`] where there is nothing to recognise, or no rest to recognise it from.
pub fn dwell_choice(
    project: &Project,
    stop: &dyn Fn() -> bool,
    progress: &mut dyn FnMut(f32),
) -> Result<Option<DwellChoice>, DwellError> {
    let input = dwell_input(project, &super::bands(project))?;
    let found = table(&input, stop, progress)?;
    Ok(found.map(|table| DwellChoice { input, table }))
}

/// One recorded press as the recogniser took it.
#[derive(Clone, Debug, PartialEq)]
pub struct ReplayedPress {
    /// Which of the recorded presses, from 0.
    pub index: usize,
    /// Its button's place in the wheel.
    pub button: usize,
    /// How it was asked for.
    pub touch: Touch,
    /// Counts, one a millisecond.
    pub counts: Vec<f64>,
    /// The reading with which the wire left rest.
    pub left_at: usize,
    /// The reading with which it was decided for the button, where it was.
    pub decided_at: Option<usize>,
    /// Another decision that came of it: the button's place in the wheel.
    pub wrong: Option<usize>,
}

/// A recorded press of an input sent through the recogniser with this dwell; `None` where there is none.
#[must_use]
pub fn replayed(input: &Input, index: usize, dwell_ms: u8) -> Option<ReplayedPress> {
    let (button, trace) = input.traces.get(index)?;
    let one = Input { traces: vec![(*button, trace.clone())], ..input.clone() };
    let trial = trials(&one).into_iter().find(|trial| matches!(trial.kind, TrialKind::Recorded(_)))?;
    let rules = Rules { dwell_ticks: dwell_ms, ..input.rules.clone() };
    let other = Level::from_count(input.wheel.rest_count[1 - trial.wire]);
    let played = decide(&rules, &trial, other).ok()?;
    Some(ReplayedPress {
        index,
        button: usize::from(*button),
        touch: trace.touch,
        counts: trial.levels.iter().map(|level| level.count().unwrap_or(0.0)).collect(),
        left_at: trial.left_at,
        decided_at: played.decided_ms.map(|ms| trial.left_at + ms as usize - 1),
        wrong: played.wrong.map(usize::from),
    })
}

impl Project {
    /// The traces of a button learned anew: `traces` of its presses in order, in the place of those it had.
    pub fn put_traces(&mut self, id: &ButtonId, traces: impl IntoIterator<Item = Option<PressTrace>>) {
        self.forget_traces(id, 0);
        for (press, trace) in (0_u8..).zip(traces) {
            self.traces.extend(trace.map(|trace| PressTrace { press, button: id.0.clone(), ..trace }));
        }
        bound_traces(&mut self.traces);
    }

    /// Keeps the trace of the button's latest press.
    pub fn add_trace(&mut self, id: &ButtonId, trace: PressTrace) {
        let press = self.press_count(id).saturating_sub(1) as u8;
        self.traces.push(PressTrace { press, button: id.0.clone(), ..trace });
        bound_traces(&mut self.traces);
    }

    /// Lets go of a button's traces of this press and later ones, from 0.
    pub fn forget_traces(&mut self, id: &ButtonId, from: usize) {
        self.traces.retain(|trace| trace.button != id.0 || usize::from(trace.press) < from);
    }
}
