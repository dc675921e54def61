//! The demo's remote: held at the virtual box's receiver, a person presses one of its buttons three
//! times, then the next; or, asked for one button, that one again and again. No two presses read quite
//! alike. Its clock is one tick a millisecond; knows no link.

use super::super::project::demo_project;
use crate::remote::{Code, FamilyId, encode};
use crate::wire::CapturePart;

/// From the listening's start to the first press, and from press to press, in ticks.
const FIRST_TICKS: u32 = 1_200;
const EVERY_TICKS: u32 = 2_000;

/// How often a button is pressed before the next one.
const PRESSES: usize = 3;

/// A receiver lengthens marks and shortens spaces by about so much, in microseconds, and by a little
/// more or less from press to press (common practice, no source).
const STRETCH_US: [f64; PRESSES] = [71.0, 74.0, 77.0];

/// An edge comes earlier or later by up to so much, in microseconds (common practice, no source).
const JITTER_US: f64 = 12.0;

/// Timings are kept in steps of this, in microseconds.
const STEP_US: f64 = 2.0;

/// Timings in one part.
const PART: usize = 40;

/// What the one button sends that the demo's project has no command of.
const SPARE: u32 = 0x2E;

#[derive(Clone, Debug)]
pub(super) struct DemoRemote {
    ticks: u32,
    presses: usize,
    /// The button that is pressed, from 0; `None` presses all in order.
    button: Option<usize>,
    codes: Vec<Code>,
}

impl DemoRemote {
    /// A remote that is taken in hand now, to press this button, from 0 in the order of the demo's
    /// commands; the one behind them is of no command yet. `None` presses all in order.
    pub(super) fn new(button: Option<usize>) -> Self {
        let mut codes: Vec<Code> =
            demo_project().stereo.commands.into_iter().map(|command| command.code).collect();
        if let Some(Code::Family { family: FamilyId(id), address, .. }) = codes.first() {
            let family = FamilyId(id.clone());
            codes.push(Code::Family { family, address: *address, command: SPARE });
        }
        Self { ticks: 0, presses: 0, button, codes }
    }

    /// One tick later: the parts of a capture, where one has just ended.
    pub(super) fn tick(&mut self) -> Vec<CapturePart> {
        self.ticks += 1;
        if self.ticks < FIRST_TICKS || !(self.ticks - FIRST_TICKS).is_multiple_of(EVERY_TICKS) {
            return Vec::new();
        }
        let button = self.button.unwrap_or(self.presses / PRESSES);
        let press = self.presses;
        self.presses += 1;
        let Some(code) = self.codes.get(button % self.codes.len().max(1)) else { return Vec::new() };
        let Ok(frame) = encode(code, false) else { return Vec::new() };
        let mut pulses_us = frame.pulses_us.clone();
        if let Some(period_us) = frame.repeat.period_us {
            pulses_us.push(period_us - frame.total_us());
            pulses_us.extend(&frame.repeat.pulses_us);
        }
        parts(&received(&pulses_us, press))
    }
}

/// Timings as a receiver gives them: each mark is longer by the stretch, the space behind it shorter,
/// and every edge a little off.
fn received(pulses_us: &[f64], press: usize) -> Vec<u32> {
    let stretch_us = STRETCH_US[press % PRESSES];
    let mut chance = press as u32 * 7 + 1;
    let mut carry_us = 0.0;
    pulses_us
        .iter()
        .enumerate()
        .map(|(at, us)| {
            // Numerical Recipes' linear congruential generator: the same presses every time.
            chance = chance.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let jitter_us = (f64::from(chance >> 16) / 32_768.0 - 1.0) * JITTER_US;
            // How much later the pulse ends than it was sent; the next one begins there.
            let end_us = jitter_us + if at % 2 == 0 { stretch_us } else { 0.0 };
            let seen_us = us + end_us - carry_us;
            carry_us = end_us;
            ((seen_us / STEP_US).round() * STEP_US) as u32
        })
        .collect()
}

/// Timings as the box tells them.
fn parts(seen_us: &[u32]) -> Vec<CapturePart> {
    let last = seen_us.len().div_ceil(PART).saturating_sub(1);
    let part = |(at, timings_us): (usize, &[u32])| CapturePart {
        from: (at * PART) as u8,
        last: at == last,
        overflow: false,
        timings_us: timings_us.to_vec(),
    };
    seen_us.chunks(PART).enumerate().map(part).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::remote::decode;

    fn captures(button: Option<usize>, ticks: u32) -> Vec<Vec<f64>> {
        let mut remote = DemoRemote::new(button);
        let mut heard = Vec::new();
        let mut timings_us = Vec::new();
        for _ in 0..ticks {
            for part in remote.tick() {
                assert_eq!(usize::from(part.from), timings_us.len());
                timings_us.extend(part.timings_us.iter().map(|us| f64::from(*us)));
                if part.last {
                    heard.push(std::mem::take(&mut timings_us));
                }
            }
        }
        heard
    }

    fn command(timings_us: &[f64]) -> u32 {
        let first = decode(&timings_us[..67]).unwrap();
        assert_eq!((first.family.id, first.address), ("nec", Some(0x59)));
        first.command.unwrap()
    }

    #[test]
    fn each_button_is_pressed_three_times_in_the_order_of_the_demos_commands() {
        let heard = captures(None, 14_000);
        let commands: Vec<_> = heard.iter().map(|timings_us| command(timings_us)).collect();
        assert_eq!(commands, [0x16, 0x16, 0x16, 0x17, 0x17, 0x17, 0x1B]);
    }

    #[test]
    fn a_button_asked_for_is_pressed_again_and_again_and_one_more_is_no_commands_yet() {
        let commands = |button| -> Vec<u32> {
            captures(Some(button), 8_000).iter().map(|timings_us| command(timings_us)).collect()
        };
        assert_eq!(commands(7), [0x0C; 4]);
        assert_eq!(commands(10), [0x2E; 4]);
    }

    #[test]
    fn marks_are_stretched_a_little_more_from_press_to_press_and_periods_are_not() {
        let heard = captures(Some(0), 6_000);
        assert_eq!(heard.len(), 3);
        let sent = encode(&DemoRemote::new(None).codes[0], false).unwrap().pulses_us;
        let mut means = Vec::new();
        for timings_us in &heard {
            let off: Vec<f64> = timings_us.iter().zip(&sent).map(|(heard, sent)| heard - sent).collect();
            let marks: Vec<f64> = off.iter().step_by(2).copied().collect();
            means.push(marks.iter().sum::<f64>() / marks.len() as f64);
            assert!(off.chunks_exact(2).all(|pair| (pair[0] + pair[1]).abs() <= 4.0 * JITTER_US));
        }
        for (mean, due) in means.iter().zip(STRETCH_US) {
            assert!((mean - due).abs() < 4.0, "{means:?}");
        }
        assert!(heard[0] != heard[1] && heard[1] != heard[2]);
    }
}
