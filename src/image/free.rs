//! The one family that is not in the table: which of a project's free families the image keeps, and
//! that family in the image's steps and back. Knows no bytes.

use super::codes::PERIOD_STEP_US;
use super::model::{FreeFamily, ImageCode};
use super::raw::LEAST_PULSE_US;
use crate::project::{Command, CommandId, Project};
use crate::remote::{self, Code, FreeRepeat, encode};

/// A mark or space goes in steps of this, in microseconds.
const STEP_US: f64 = 0.5;

impl FreeFamily {
    /// A project's free family in the image's steps. No time moves by more than half a step of 0.5 µs,
    /// but for the leader's space where a short frame has half of it: by a whole one. The time from frame
    /// to frame moves by up to 8 µs, and by what the frame may then need. `None` for parameters that
    /// can't be sent.
    pub(super) fn of(free: &remote::FreeFamily) -> Option<Self> {
        free.check().ok()?;
        // In range: `check` has looked.
        let steps = |us: f64| (us / STEP_US).round() as u16;
        let both = |(mark, space): (f64, f64)| (steps(mark), steps(space));
        // A short frame has half of the leader's space, which must be whole steps, too.
        let is_halved = free.repeat == FreeRepeat::ShortFrame;
        let leader = |(mark, space): (f64, f64)| {
            (steps(mark), if is_halved { 2 * steps(space / 2.0) } else { steps(space) })
        };
        let family = Self {
            leader: free.leader_us.map_or((0, 0), leader),
            zero: both(free.zero_us),
            one: both(free.one_us),
            period: 0,
            high_first: free.high_first,
            stop_mark: free.stop_mark,
            // Nothing has no inverse.
            address_inverse: free.address_inverse && free.address_bits > 0,
            command_inverse: free.command_inverse,
            repeat: free.repeat,
            carrier_khz: free.carrier_khz,
            address_bits: free.address_bits,
            command_bits: free.command_bits,
        };
        if free.repeat == FreeRepeat::Once {
            return Some(family);
        }
        let least = ((family.remote().longest_us() + LEAST_PULSE_US) / PERIOD_STEP_US).ceil();
        let period = (free.period_us / PERIOD_STEP_US).round().max(least);
        Some(Self { period: period.min(f64::from(u16::MAX)) as u16, ..family })
    }

    /// The same as a project keeps it.
    #[must_use]
    pub fn remote(&self) -> remote::FreeFamily {
        let us = |steps: u16| f64::from(steps) * STEP_US;
        let both = |(mark, space): (u16, u16)| (us(mark), us(space));
        let usual = remote::FreeFamily::default();
        remote::FreeFamily {
            leader_us: (self.leader != (0, 0)).then(|| both(self.leader)),
            zero_us: both(self.zero),
            one_us: both(self.one),
            stop_mark: self.stop_mark,
            high_first: self.high_first,
            address_bits: self.address_bits,
            address_inverse: self.address_inverse,
            command_bits: self.command_bits,
            command_inverse: self.command_inverse,
            repeat: self.repeat,
            // A code that is sent once has no time from frame to frame.
            period_us: if self.period > 0 {
                f64::from(self.period) * PERIOD_STEP_US
            } else {
                usual.period_us
            },
            carrier_khz: if self.carrier_khz > 0 { self.carrier_khz } else { usual.carrier_khz },
        }
    }
}

/// A code of the image's free family; `None` for codes of other families, and of another free one.
pub(super) fn of_family(code: &Code, family: Option<&FreeFamily>) -> Option<ImageCode> {
    let Code::Free { free, address, command } = code else { return None };
    let ours = FreeFamily::of(free);
    (ours.is_some() && ours.as_ref() == family)
        .then(|| Some(ImageCode::Free { address: u16::try_from(*address).ok()?, command: *command }))
        .flatten()
}

/// The free family that the image keeps: the one of most commands that pairs send. Of two as common the
/// one whose repeats can't be said by timings, and of two alike the one that comes first.
pub(super) fn kept(project: &Project) -> Option<FreeFamily> {
    let mut counted: Vec<(FreeFamily, usize)> = Vec::new();
    for command in project.stereo.commands.iter().filter(|command| is_sent(project, &command.id)) {
        let Code::Free { free, .. } = &command.code else { continue };
        let Some(family) = FreeFamily::of(free).filter(|_| encode(&command.code, false).is_ok()) else {
            continue;
        };
        match counted.iter_mut().find(|(there, _)| *there == family) {
            Some((_, count)) => *count += 1,
            None => counted.push((family, 1)),
        }
    }
    // The last of the greatest is taken: turned round, the first.
    let rank = |(family, count): &(FreeFamily, usize)| (*count, repeats_its_own_way(family.repeat));
    counted.into_iter().rev().max_by_key(rank).map(|(family, _)| family)
}

/// Free codes that pairs send and that go into the image as timings, because it keeps another free
/// family; each with whether its repeats then differ: timings repeat whole.
#[must_use]
pub fn free_as_timings(project: &Project) -> Vec<(&Command, bool)> {
    let family = kept(project);
    let sent = project.stereo.commands.iter().filter(|command| is_sent(project, &command.id));
    let others = sent.filter_map(|command| match &command.code {
        Code::Free { free, .. } if encode(&command.code, false).is_ok() => {
            let goes = of_family(&command.code, family.as_ref()).is_none();
            goes.then(|| (command, repeats_its_own_way(free.repeat)))
        }
        _ => None,
    });
    others.collect()
}

/// Whether a pair sends the command.
pub(super) fn is_sent(project: &Project, id: &CommandId) -> bool {
    project.pairs.iter().any(|pair| pair.command.as_ref() == Some(id))
}

/// Whether what is sent while held is neither the whole frame nor nothing.
fn repeats_its_own_way(repeat: FreeRepeat) -> bool {
    matches!(repeat, FreeRepeat::WithoutLeader | FreeRepeat::ShortFrame)
}

/// The first thing in which two families differ, as each has it.
pub(super) fn difference(ours: &FreeFamily, held: &FreeFamily) -> Option<(String, String)> {
    let lines = |family: &FreeFamily| {
        let free = family.remote();
        let us = |(mark, space): (f64, f64)| format!("{mark} and {space} µs");
        let yes = |there: bool, what: &str| if there { what.to_owned() } else { format!("no {what}") };
        [
            free.leader_us.map_or("no leader".to_owned(), |leader| format!("leader {}", us(leader))),
            format!("a 0 of {}", us(free.zero_us)),
            format!("a 1 of {}", us(free.one_us)),
            yes(free.stop_mark, "stop mark"),
            if free.high_first { "highest bit first" } else { "lowest bit first" }.to_owned(),
            format!("{} address bits", free.address_bits),
            yes(free.address_inverse, "inverse of the address"),
            format!("{} command bits", free.command_bits),
            yes(free.command_inverse, "inverse of the command"),
            match free.repeat {
                FreeRepeat::WholeFrame => "the whole frame while held",
                FreeRepeat::WithoutLeader => "no leader while held",
                FreeRepeat::ShortFrame => "a short frame while held",
                FreeRepeat::Once => "sent once",
            }
            .to_owned(),
            format!("every {} ms", free.period_us / 1e3),
            format!("carrier {} kHz", free.carrier_khz),
        ]
    };
    lines(ours).into_iter().zip(lines(held)).find(|(ours, held)| ours != held)
}
