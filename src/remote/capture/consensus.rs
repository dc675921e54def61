//! Several presses of one button together.

use super::super::code::Code;
use super::super::describe::describe;
use super::super::raw::joined;
use super::frames::alike;
use super::keep_raw::raw_code;
use super::sure::{Ground, Sure};
use super::{HearError, Heard, stretch};

/// What several presses come to.
#[derive(Clone, Debug, PartialEq)]
pub struct Consensus {
    /// The code most presses say, with its frame the mean over those presses and their frames and
    /// repeats counted together.
    pub heard: Heard,
    /// How many presses say it.
    pub agree: usize,
    /// Of how many.
    pub of: usize,
    /// Which say something else or were not understood, counted from 0.
    pub differ: Vec<usize>,
    /// The first frame as heard, stretch and all, the mean over the presses that agree, in
    /// microseconds. A code with a toggle bit has the frames of two toggles: those of the first.
    pub mean_us: Vec<f64>,
    /// What is odd, and what to do; `None` if all presses agree.
    pub warning: Option<String>,
}

/// The presses of one button together: the code most of them say. Of as many, the first. Toggle bits
/// may differ: they change with every press.
///
/// `None` without one press that was understood.
#[must_use]
pub fn consensus(presses: &[Result<Heard, HearError>]) -> Option<Consensus> {
    let understood: Vec<_> = presses
        .iter()
        .enumerate()
        .filter_map(|(at, press)| press.as_ref().ok().map(|heard| (at, heard)))
        .collect();
    let group = |of: &Heard| -> Vec<(usize, &Heard)> {
        understood.iter().filter(|(_, other)| same(of, other)).copied().collect()
    };
    let groups = understood.iter().map(|(_, heard)| group(heard));
    // `max_by_key` takes the last of equals.
    let most = groups.rev().max_by_key(Vec::len)?;
    // Of those that agree, the one that says it best shows it.
    let rank = |heard: &Heard| match heard.sure {
        Sure::Certain { .. } => 2,
        _ => u8::from(heard.frames > 0),
    };
    let (_, first) = most.iter().rev().max_by_key(|(_, heard)| rank(heard))?;
    let differ: Vec<usize> =
        (0..presses.len()).filter(|at| !most.iter().any(|(agrees, _)| agrees == at)).collect();
    let like_first: Vec<_> = most
        .iter()
        .filter(|(_, heard)| heard.clean_us.len() == first.clean_us.len() && heard.toggle == first.toggle)
        .collect();
    let each = |of: fn(&Heard) -> Vec<f64>| -> Vec<f64> {
        let frames: Vec<_> = like_first.iter().map(|(_, heard)| of(heard)).collect();
        stretch::mean(&frames.iter().map(Vec::as_slice).collect::<Vec<_>>())
    };
    let periods_us: Vec<_> = most.iter().filter_map(|(_, heard)| heard.period_us).collect();
    let mut heard = Heard {
        frames: most.iter().map(|(_, heard)| heard.frames).sum(),
        repeats: most.iter().map(|(_, heard)| heard.repeats).sum(),
        stretch_us: most.iter().map(|(_, heard)| heard.stretch_us).sum::<f64>() / most.len() as f64,
        clean_us: each(|heard| heard.clean_us.clone()),
        off_us: each(|heard| heard.off_us.clone()),
        period_us: stretch::median(&periods_us),
        ..(*first).clone()
    };
    if matches!(heard.code, Code::Raw { .. }) {
        heard.clean_us = joined(&heard.clean_us);
        heard.code = raw_code(&heard.clean_us, heard.period_us);
    }
    heard.sure = together(&heard.sure, most.len());
    let mean_us = each(Heard::heard_us);
    let warning = warning(presses, &differ, &heard, most.len());
    Some(Consensus { heard, agree: most.len(), of: presses.len(), differ, mean_us, warning })
}

/// Whether two presses say the same.
fn same(a: &Heard, b: &Heard) -> bool {
    match (&a.code, &b.code) {
        (Code::Raw { pulses_us: a, .. }, Code::Raw { pulses_us: b, .. }) => alike(a, b),
        (a, b) => a == b,
    }
}

/// How sure several presses make it: what was heard once a press is no longer heard once.
fn together(first: &Sure, presses: usize) -> Sure {
    use super::sure::Doubt;
    match first {
        _ if presses < 2 => first.clone(),
        Sure::Raw { frames } => Sure::Raw { frames: frames * presses },
        Sure::Certain { grounds } => {
            Sure::Certain { grounds: grounds.iter().copied().chain([Ground::Presses(presses)]).collect() }
        }
        Sure::Likely { grounds, doubts } => Sure::of(
            grounds.iter().copied().chain([Ground::Presses(presses)]).collect(),
            doubts
                .iter()
                .copied()
                .filter(|doubt| !matches!(doubt, Doubt::HeardOnce | Doubt::MayBeLonger))
                .collect(),
        ),
    }
}

fn warning(
    presses: &[Result<Heard, HearError>],
    differ: &[usize],
    heard: &Heard,
    agree: usize,
) -> Option<String> {
    let first = *differ.first()?;
    let which: Vec<_> = differ.iter().map(|at| (at + 1).to_string()).collect();
    let which = which.join(", ");
    let said = match &presses[first] {
        Ok(other) => format!("was heard as {}", describe(&other.code)),
        Err(_) => "was not understood".to_owned(),
    };
    let common = describe(&heard.code);
    let what = match differ {
        [_] => format!("Press {which} {said}"),
        _ => format!("Presses {which} differ: press {} {said}", first + 1),
    };
    Some(match agree {
        1 => format!("{what}; one press alone says {common}. Listen again before you keep it."),
        _ => format!("{what}; {agree} presses say {common}. Keep that, or listen again."),
    })
}
