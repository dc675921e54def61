//! A scripted hand: told which button is asked for, it decides when to press and for how long,
//! and now and then gets it wrong. Knows no wheel and no clock: time is an argument.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use crate::bands::Touch;

/// From seeing what is asked to the finger on the button, in milliseconds.
const REACTION_MS: (f64, f64) = (300.0, 800.0);
/// How long a button is held once it is down, in milliseconds.
const HOLD_MS: (f64, f64) = (900.0, 1_600.0);
/// A slow press is a second on its way down before the holding begins.
const SLOW_WAY_MS: f64 = 1_000.0;
/// A light press feels for the contact first.
const LIGHT_WAY_MS: f64 = 500.0;
/// A press let go too early, in milliseconds.
const SHORT_MS: (f64, f64) = (40.0, 160.0);

/// What the hand does now.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HandMove {
    /// Presses a button and keeps it pressed.
    Press {
        /// Which button, from 0.
        button: usize,
        /// How.
        touch: Touch,
    },
    /// Lets go.
    Release,
}

/// How often a person gets it wrong.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Mistakes {
    /// The share of presses that land on another button, 0 to 1.
    pub wrong_button: f64,
    /// The share of presses that are let go too early, 0 to 1.
    pub too_short: f64,
    /// How many buttons there are to get wrong.
    pub buttons: usize,
}

/// A hand on the wheel. The same seed and the same questions give the same moves.
#[derive(Clone, Debug)]
pub struct Person {
    rng: ChaCha8Rng,
    mistakes: Mistakes,
    doing: Doing,
}

#[derive(Clone, Debug)]
enum Doing {
    Nothing,
    Reaching { asked: (usize, Touch), press_ms: f64 },
    Holding { release_ms: f64 },
}

impl Person {
    /// A person who makes no mistakes.
    #[must_use]
    pub fn new(seed: u64) -> Self {
        Self::with_mistakes(seed, Mistakes::default())
    }

    /// A person who makes some.
    #[must_use]
    pub fn with_mistakes(seed: u64, mistakes: Mistakes) -> Self {
        Self { rng: ChaCha8Rng::seed_from_u64(seed), mistakes, doing: Doing::Nothing }
    }

    /// What the hand does at `t_ms`, where `wanted` is the button asked for (from 0) and how;
    /// `None` while nothing is asked. At most one move a call; a hand that was told to stop keeps
    /// what it holds until it meant to let go.
    pub fn step(&mut self, t_ms: f64, wanted: Option<(usize, Touch)>) -> Option<HandMove> {
        match (&self.doing, wanted) {
            (Doing::Holding { release_ms }, _) => {
                if t_ms < *release_ms {
                    return None;
                }
                self.doing = Doing::Nothing;
                Some(HandMove::Release)
            }
            (Doing::Reaching { asked, press_ms }, Some(wanted)) if *asked == wanted => {
                if t_ms < *press_ms {
                    return None;
                }
                Some(self.press(t_ms, wanted))
            }
            (_, Some(asked)) => {
                let press_ms = t_ms + self.between(REACTION_MS);
                self.doing = Doing::Reaching { asked, press_ms };
                None
            }
            (_, None) => {
                self.doing = Doing::Nothing;
                None
            }
        }
    }

    /// Whether a button is held.
    #[must_use]
    pub fn is_holding(&self) -> bool {
        matches!(self.doing, Doing::Holding { .. })
    }

    fn press(&mut self, t_ms: f64, (asked, touch): (usize, Touch)) -> HandMove {
        let way_ms = match touch {
            Touch::Slow => SLOW_WAY_MS,
            Touch::Light => LIGHT_WAY_MS,
            Touch::Firm | Touch::Picked => 0.0,
        };
        let mut hold_ms = way_ms + self.between(HOLD_MS);
        let mut button = asked;
        let Mistakes { wrong_button, too_short, buttons } = self.mistakes;
        let fate = self.rng.random::<f64>();
        if fate < wrong_button && buttons > 1 {
            button = (asked + self.rng.random_range(1..buttons)) % buttons;
        } else if fate < wrong_button + too_short {
            hold_ms = self.between(SHORT_MS);
        }
        self.doing = Doing::Holding { release_ms: t_ms + hold_ms };
        HandMove::Press { button, touch }
    }

    fn between(&mut self, (low, high): (f64, f64)) -> f64 {
        low + (high - low) * self.rng.random::<f64>()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every move with its time, asked for the same button all along.
    fn moves(person: &mut Person, wanted: Option<(usize, Touch)>, to_ms: u32) -> Vec<(f64, HandMove)> {
        (0..to_ms)
            .filter_map(|t| person.step(f64::from(t), wanted).map(|made| (f64::from(t), made)))
            .collect()
    }

    #[test]
    fn a_press_comes_after_a_reaction_and_is_held_as_long_as_people_do() {
        let made = moves(&mut Person::new(3), Some((2, Touch::Firm)), 20_000);
        assert!(made.len() > 8);
        let mut free_ms = 0.0;
        for pair in made.chunks_exact(2) {
            let [(down, press), (up, release)] = pair else { unreachable!() };
            assert_eq!(*press, HandMove::Press { button: 2, touch: Touch::Firm });
            assert_eq!(*release, HandMove::Release);
            assert!((299.0..=802.0).contains(&(down - free_ms)), "reaction {}", down - free_ms);
            assert!((899.0..=1_602.0).contains(&(up - down)), "hold {}", up - down);
            free_ms = *up;
        }
    }

    #[test]
    fn nothing_asked_nothing_pressed_and_a_held_button_is_let_go() {
        let mut person = Person::new(1);
        assert!(moves(&mut person, None, 5_000).is_empty());
        let mut t = 5_000.0;
        while person.step(t, Some((0, Touch::Light))).is_none() {
            t += 1.0;
        }
        assert!(person.is_holding());
        while person.step(t, None).is_none() {
            t += 1.0;
        }
        assert!(!person.is_holding());
    }

    #[test]
    fn mistakes_come_at_their_rate() {
        let mistakes = Mistakes { wrong_button: 0.2, too_short: 0.2, buttons: 5 };
        let mut person = Person::with_mistakes(8, mistakes);
        let made = moves(&mut person, Some((1, Touch::Firm)), 1_000_000);
        let presses = made.len() as f64 / 2.0;
        let wrong = made
            .iter()
            .filter(|(_, made)| matches!(made, HandMove::Press { button, .. } if *button != 1))
            .count() as f64;
        let short = made.chunks_exact(2).filter(|pair| pair[1].0 - pair[0].0 < 200.0).count() as f64;
        assert!((wrong / presses - 0.2).abs() < 0.06, "{wrong} of {presses}");
        assert!((short / presses - 0.2).abs() < 0.06, "{short} of {presses}");
    }
}
