//! The demo's remote: held at the virtual box's receiver, it sends one command of the demo stereo
//! after the other, each with its repeat. Its clock is one tick a millisecond; knows no link.

use super::super::project::demo_project;
use crate::remote::encode;
use crate::wire::CapturePart;

/// From the listening's start to the first code, and from code to code, in ticks.
const FIRST_TICKS: u32 = 1_200;
const EVERY_TICKS: u32 = 3_000;

/// A receiver lengthens marks and shortens spaces by about so much, in microseconds (common practice,
/// no source).
const STRETCH_US: f64 = 60.0;

/// Timings are kept in steps of this, in microseconds.
const STEP_US: u32 = 2;

/// Timings in one part.
const PART: usize = 40;

#[derive(Clone, Debug, Default)]
pub(super) struct DemoRemote {
    ticks: u32,
    next: usize,
}

impl DemoRemote {
    /// One tick later: the parts of a capture, where one has just ended.
    pub(super) fn tick(&mut self) -> Vec<CapturePart> {
        self.ticks += 1;
        if self.ticks < FIRST_TICKS || !(self.ticks - FIRST_TICKS).is_multiple_of(EVERY_TICKS) {
            return Vec::new();
        }
        let commands = demo_project().stereo.commands;
        let Some(command) = commands.get(self.next % commands.len().max(1)) else { return Vec::new() };
        self.next += 1;
        let Ok(frame) = encode(&command.code, false) else { return Vec::new() };
        let mut pulses_us = frame.pulses_us.clone();
        if let Some(period_us) = frame.repeat.period_us {
            pulses_us.push(period_us - frame.total_us());
            pulses_us.extend(&frame.repeat.pulses_us);
        }
        parts(&pulses_us)
    }
}

/// Timings as a receiver gives them and the box tells them.
fn parts(pulses_us: &[f64]) -> Vec<CapturePart> {
    let seen: Vec<u32> = pulses_us
        .iter()
        .enumerate()
        .map(|(at, us)| {
            let us = us + if at % 2 == 0 { STRETCH_US } else { -STRETCH_US };
            (us / f64::from(STEP_US)).round() as u32 * STEP_US
        })
        .collect();
    let last = seen.len().div_ceil(PART).saturating_sub(1);
    let part = |(at, timings_us): (usize, &[u32])| CapturePart {
        from: (at * PART) as u8,
        last: at == last,
        overflow: false,
        timings_us: timings_us.to_vec(),
    };
    seen.chunks(PART).enumerate().map(part).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::remote::decode;

    #[test]
    fn what_it_sends_decodes_to_the_demo_stereos_commands_in_order() {
        let mut remote = DemoRemote::default();
        let mut heard = Vec::new();
        let mut timings_us = Vec::new();
        for _ in 0..10_000 {
            for part in remote.tick() {
                assert_eq!(usize::from(part.from), timings_us.len());
                timings_us.extend(part.timings_us.iter().map(|us| f64::from(*us)));
                if part.last {
                    heard.push(std::mem::take(&mut timings_us));
                }
            }
        }
        assert_eq!(heard.len(), 3);
        let first = decode(&heard[0][..67]).unwrap();
        assert_eq!((first.family.id, first.address, first.command), ("nec", Some(0x59), Some(0x16)));
    }
}
