//! From presses to bands, in three steps: where each rung lies, which rungs share a band, and how
//! the axis is shared out. Knows no names, no file and no clock.

use crate::circuit::{Circuit, Parts};

use super::band::{BandSet, Reach, Rung, Wire};
use super::layout::touches;
use super::place::{Placed, Placer};
use super::verdict::Verdict;
use super::{DraggedEdges, Press, RestLevel};

/// A button, as the bands need it. Its place in the input is its name.
#[derive(Clone, Copy, Debug, Default)]
pub struct ButtonInput<'a> {
    /// Its wire, 1 or 2; `None` where that is not known yet.
    pub wire: Option<u8>,
    /// Its presses.
    pub presses: &'a [Press],
    /// The button it was taken as one with, by its place in the input.
    pub indistinct_from: Option<usize>,
    /// Where the meter says it should read, in counts, for a button without presses.
    pub planned_count: Option<f64>,
    /// Where a person put the edges of its band.
    pub edges: DraggedEdges,
}

/// How bands are made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settings {
    /// The share of future readings that a band must hold; 0.5 to 0.999 999.
    pub coverage: f64,
    /// How sure of that one wants to be; 0.5 to 0.999 999.
    pub confidence: f64,
    /// The converter's stated error, in counts: no band reaches less far either side of its
    /// centre.
    pub converter_error_count: f64,
    /// The least reject gap, in counts.
    pub reject_floor_count: f64,
}

/// Everything the bands are made from.
#[derive(Clone, Debug)]
pub struct Input<'a> {
    /// The buttons.
    pub buttons: &'a [ButtonInput<'a>],
    /// What each wire read at rest.
    pub rests: &'a [(u8, &'a RestLevel)],
    /// The sense circuit, where it is known.
    pub circuit: Option<&'a Circuit>,
    /// How far its parts drift; `None` leaves drift out of account, and so does an unknown circuit.
    pub parts: Option<&'a Parts>,
    /// How bands are made.
    pub settings: Settings,
}

/// Computes the bands of a wheel.
///
/// Total: whatever the numbers, every button gets a verdict, bands never overlap, and what is no
/// number is left out.
#[must_use]
pub fn bands(input: &Input<'_>) -> BandSet {
    let placer = Placer::new(input);
    let mut placed = placer.placed();
    let mut verdicts: Vec<Verdict> =
        (0..input.buttons.len()).map(|button| placer.verdict_without_place(button)).collect();
    share_marked(input, &mut placed);
    let mut set = BandSet {
        wires: Vec::new(),
        buttons: Vec::new(),
        rests: Vec::new(),
        gaps: Vec::new(),
        between: placer.between(),
        verdicts: Vec::new(),
        converter_error_count: placer.converter_error_count,
        reject_floor_count: u16::try_from(placer.floor).unwrap_or(u16::MAX),
    };
    for wire in wires_of(input) {
        let reach = placer.reach(wire, &placed);
        set.wires.push(Wire { wire, reach });
        placer.lay_out(wire, reach == Reach::Widened, &mut placed, &mut set.gaps);
    }
    for entry in placed {
        match entry.band.rung {
            Rung::Button(button) => {
                verdicts[button] = entry.band.verdict.clone();
                set.buttons.push(entry.band);
            }
            Rung::Rest(_) => set.rests.push(entry.band),
        }
    }
    set.verdicts = verdicts;
    set
}

/// The wires that have a button or a rest, in order.
fn wires_of(input: &Input<'_>) -> Vec<u8> {
    let buttons = input.buttons.iter().filter_map(|button| button.wire);
    let mut wires: Vec<u8> = buttons.chain(input.rests.iter().map(|&(wire, _)| wire)).collect();
    wires.sort_unstable();
    wires.dedup();
    wires
}

/// Gives the buttons that the person took as one with another that other's band, widened to hold
/// both. A mark that the presses contradict, or that leads nowhere, is left aside: the button then
/// has a rung of its own.
fn share_marked(input: &Input<'_>, placed: &mut [Placed]) {
    let find = |placed: &[Placed], button: usize| {
        placed.iter().position(|entry| entry.band.rung == Rung::Button(button) && entry.band.measured)
    };
    for button in 0..input.buttons.len() {
        let Some(root) = root_of(input, button).filter(|&root| root != button) else { continue };
        let (Some(own), Some(other)) = (find(placed, button), find(placed, root)) else { continue };
        let same = placed[own].band.wire == placed[other].band.wire;
        if !same || !touches(&placed[own].slot, &placed[other].slot) {
            continue;
        }
        placed[own].shares = Some(Rung::Button(root));
        let (low, high) = (placed[own].band.tolerance_low_count, placed[own].band.tolerance_high_count);
        placed[other].stretch(low, high);
    }
}

/// Where a chain of marks ends; in a ring of them, its first button.
fn root_of(input: &Input<'_>, button: usize) -> Option<usize> {
    let mut seen = vec![button];
    let mut at = button;
    while let Some(next) = input.buttons.get(at)?.indistinct_from {
        if next >= input.buttons.len() {
            break;
        }
        if let Some(start) = seen.iter().position(|&known| known == next) {
            return seen[start..].iter().copied().min();
        }
        seen.push(next);
        at = next;
    }
    Some(at)
}
