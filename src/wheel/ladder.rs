//! A ladder of resistors and buttons, and the resistance across it for any set of pressed
//! buttons: by closed form for none and one, by the network for any. Knows no volts.

use super::{Network, NetworkError, Node, Topology, beside};

/// The resistors behind a wheel's buttons, on one wire.
///
/// It has a start and a return. A series chain begins at the start; button `k` ties the tap after
/// step `k` to the return. In a parallel ladder each button ties the start to the return through
/// its own resistor; with no steps, its far end is its start.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Ladder {
    /// How its resistors are joined.
    pub topology: Topology,
    /// The steps of the chain from its start (series) or each button's own resistor (parallel), in
    /// ohms, 0 or more; infinite is a broken one. One per button, at least one.
    pub ohm: Vec<f64>,
    /// The end-of-line resistor, from the far end to wherever it returns, in ohms, 0 or more;
    /// `None` where there is none.
    pub end_ohm: Option<f64>,
}

/// The three nodes a ladder is fitted between.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LadderEnds {
    /// Where the ladder starts.
    pub start: Node,
    /// What a pressed button ties its tap to.
    pub pressed_to: Node,
    /// What the end-of-line resistor returns to.
    pub end_to: Node,
}

/// Why nothing can be said of a ladder.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum LadderError {
    /// No resistors.
    #[error("The ladder has no resistors. Give one for each button.")]
    Empty,
    /// A step or a button's resistor that cannot be.
    #[error("Resistor {number} of the ladder is {ohm} Ω. Give 0 Ω or more.")]
    Resistor {
        /// Which, from 1.
        number: usize,
        /// Its value, in ohms.
        ohm: f64,
    },
    /// An end-of-line resistor that cannot be.
    #[error("The end-of-line resistor is {ohm} Ω. Give 0 Ω or more, or leave it out.")]
    End {
        /// Its value, in ohms.
        ohm: f64,
    },
    /// A contact that cannot be.
    #[error("The contact is {ohm} Ω. Give 0 Ω or more.")]
    Contact {
        /// Its value, in ohms.
        ohm: f64,
    },
    /// A button the ladder does not have.
    #[error("Button {number} is pressed, but the ladder's buttons are 1 to {buttons}. Press one of those.")]
    NoSuchButton {
        /// The number asked for.
        number: i64,
        /// How many buttons there are.
        buttons: usize,
    },
    /// One button named twice.
    #[error("Button {number} is pressed twice at once. Name each pressed button once.")]
    PressedTwice {
        /// Its number, from 1.
        number: usize,
    },
}

impl Ladder {
    /// Whether the values can be a ladder's.
    ///
    /// # Errors
    /// The first value that cannot be.
    pub fn check(&self) -> Result<(), LadderError> {
        if self.ohm.is_empty() {
            return Err(LadderError::Empty);
        }
        if let Some((place, &ohm)) = self.ohm.iter().enumerate().find(|(_, ohm)| !is_ohm(**ohm)) {
            return Err(LadderError::Resistor { number: place + 1, ohm });
        }
        match self.end_ohm {
            Some(ohm) if !is_ohm(ohm) => Err(LadderError::End { ohm }),
            _ => Ok(()),
        }
    }

    /// Resistance from start to return with no button pressed, in ohms, the end-of-line resistor
    /// returning there too; infinite where there is none.
    ///
    /// # Errors
    /// As [`Ladder::check`].
    pub fn rest_ohm(&self) -> Result<f64, LadderError> {
        self.check()?;
        let end_ohm = self.end_ohm.unwrap_or(f64::INFINITY);
        Ok(match self.topology {
            Topology::Series => self.ohm.iter().sum::<f64>() + end_ohm,
            Topology::Parallel => end_ohm,
        })
    }

    /// Resistance from start to return with one button pressed, in ohms, by closed form; button
    /// numbers run from 1. With `S` the steps up to its tap, `T` those behind it, `c` the contact
    /// and `E` the end-of-line resistor (infinite without one): series `S + c ∥ (T + E)`, parallel
    /// `(R + c) ∥ E`.
    ///
    /// # Errors
    /// A value that cannot be, or a button that is not there.
    pub fn single_ohm(&self, button: usize, contact_ohm: f64) -> Result<f64, LadderError> {
        self.check()?;
        self.check_pressed(&[button], contact_ohm)?;
        let end_ohm = self.end_ohm.unwrap_or(f64::INFINITY);
        let (before, behind) = self.ohm.split_at(button);
        Ok(match self.topology {
            Topology::Series => {
                before.iter().sum::<f64>() + beside(contact_ohm, behind.iter().sum::<f64>() + end_ohm)
            }
            Topology::Parallel => beside(self.ohm[button - 1] + contact_ohm, end_ohm),
        })
    }

    /// Resistance from start to return for any set of pressed buttons, in ohms, by the network;
    /// `contact_ohm` is in series with each of them, and the end-of-line resistor returns there
    /// too. Infinite where there is no path.
    ///
    /// # Errors
    /// A value that cannot be, a button that is not there or is named twice.
    pub fn seen_ohm(&self, pressed: &[usize], contact_ohm: f64) -> Result<f64, LadderError> {
        let mut network = Network::new();
        let start = network.node();
        let back = network.node();
        let ends = LadderEnds { start, pressed_to: back, end_to: back };
        self.join_into(&mut network, ends, pressed, contact_ohm)?;
        Ok(network.resistance(start, back))
    }

    /// Puts the ladder, with these buttons pressed, between three nodes of a network.
    ///
    /// # Errors
    /// As [`Ladder::seen_ohm`].
    pub fn join_into(
        &self,
        network: &mut Network,
        ends: LadderEnds,
        pressed: &[usize],
        contact_ohm: f64,
    ) -> Result<(), LadderError> {
        self.check()?;
        let down = self.check_pressed(pressed, contact_ohm)?;
        let mut far = ends.start;
        for (place, (&ohm, &is_down)) in self.ohm.iter().zip(&down).enumerate() {
            let tap = network.node();
            let from = if self.topology == Topology::Series { far } else { ends.start };
            let resistor = |_: NetworkError| LadderError::Resistor { number: place + 1, ohm };
            network.join(from, tap, ohm).map_err(resistor)?;
            if is_down {
                let contact = |_: NetworkError| LadderError::Contact { ohm: contact_ohm };
                network.join(tap, ends.pressed_to, contact_ohm).map_err(contact)?;
            }
            if self.topology == Topology::Series {
                far = tap;
            }
        }
        let Some(ohm) = self.end_ohm else { return Ok(()) };
        network.join(far, ends.end_to, ohm).map_err(|_| LadderError::End { ohm })
    }

    /// By button: whether it is pressed.
    fn check_pressed(&self, pressed: &[usize], contact_ohm: f64) -> Result<Vec<bool>, LadderError> {
        if !is_ohm(contact_ohm) {
            return Err(LadderError::Contact { ohm: contact_ohm });
        }
        let buttons = self.ohm.len();
        let mut down = vec![false; buttons];
        for &number in pressed {
            let place = number.checked_sub(1).and_then(|place| down.get_mut(place));
            let Some(place) = place else {
                let number = i64::try_from(number).unwrap_or(i64::MAX);
                return Err(LadderError::NoSuchButton { number, buttons });
            };
            if *place {
                return Err(LadderError::PressedTwice { number });
            }
            *place = true;
        }
        Ok(down)
    }
}

/// Whether this can be a resistance: 0 Ω to infinite.
fn is_ohm(ohm: f64) -> bool {
    ohm >= 0.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn series(ohm: &[f64]) -> Ladder {
        Ladder { topology: Topology::Series, ohm: ohm.to_vec(), end_ohm: None }
    }

    fn parallel(ohm: &[f64]) -> Ladder {
        Ladder { topology: Topology::Parallel, ohm: ohm.to_vec(), end_ohm: None }
    }

    fn near(a: f64, b: f64) -> bool {
        a == b || (a - b).abs() <= 1e-12 * a.abs().max(b.abs())
    }

    /// Resistances as they come: mostly ordinary, sometimes none.
    fn some_ohm() -> impl Strategy<Value = f64> {
        prop_oneof![6 => 0.1..2e4_f64, 1 => Just(0.0), 1 => 1e-3..1e9_f64]
    }

    fn some_ladder() -> impl Strategy<Value = Ladder> {
        let topology = prop_oneof![Just(Topology::Series), Just(Topology::Parallel)];
        (topology, prop::collection::vec(some_ohm(), 1..13), prop::option::of(some_ohm()))
            .prop_map(|(topology, ohm, end_ohm)| Ladder { topology, ohm, end_ohm })
    }

    proptest! {
        #[test]
        fn closed_forms_and_network_agree_for_rest_and_every_single_press(
            ladder in some_ladder(), contact_ohm in some_ohm(),
        ) {
            prop_assert!(near(ladder.rest_ohm().unwrap(), ladder.seen_ohm(&[], 0.0).unwrap()));
            for button in 1..=ladder.ohm.len() {
                let closed = ladder.single_ohm(button, contact_ohm).unwrap();
                let solved = ladder.seen_ohm(&[button], contact_ohm).unwrap();
                prop_assert!(near(closed, solved), "button {button}: {closed} and {solved}");
            }
        }

        #[test]
        fn with_perfect_contacts_the_nearest_tap_of_a_chain_wins(
            ladder in some_ladder(), first in 0_usize..12, second in 0_usize..12,
        ) {
            let ladder = Ladder { topology: Topology::Series, ..ladder };
            let (a, b) = (first % ladder.ohm.len() + 1, second % ladder.ohm.len() + 1);
            prop_assume!(a != b);
            let both = ladder.seen_ohm(&[a, b], 0.0).unwrap();
            prop_assert!(near(both, ladder.single_ohm(a.min(b), 0.0).unwrap()));
        }

        #[test]
        fn parallel_buttons_add_as_conductances(
            ohm in prop::collection::vec(1.0..2e4_f64, 2..13), contact_ohm in 0.0..500.0_f64,
        ) {
            let all: Vec<_> = (1..=ohm.len()).collect();
            let siemens: f64 = ohm.iter().map(|ohm| 1.0 / (ohm + contact_ohm)).sum();
            prop_assert!(near(parallel(&ohm).seen_ohm(&all, contact_ohm).unwrap(), 1.0 / siemens));
        }

        #[test]
        fn one_more_pressed_button_never_raises_the_resistance(
            ladder in some_ladder(), contact_ohm in some_ohm(), mask in 0_u32..4096, one in 0_usize..12,
        ) {
            let one = one % ladder.ohm.len() + 1;
            let pressed: Vec<_> =
                (1..=ladder.ohm.len()).filter(|&k| mask >> (k - 1) & 1 == 1 && k != one).collect();
            let more: Vec<_> = pressed.iter().copied().chain([one]).collect();
            let before = ladder.seen_ohm(&pressed, contact_ohm).unwrap();
            let after = ladder.seen_ohm(&more, contact_ohm).unwrap();
            prop_assert!(after <= before * (1.0 + 1e-12));
        }
    }

    /// Check values computed for this purpose; a pair on a chain masks its farther button.
    #[test]
    fn a_chain_of_taps_reads_the_sum_up_to_the_tap() {
        let ladder = series(&[1200.0, 820.0, 1200.0, 2200.0, 3900.0]);
        for (button, ohm) in (1..).zip([1200.0, 2020.0, 3220.0, 5420.0, 9320.0]) {
            assert_eq!(ladder.single_ohm(button, 0.0), Ok(ohm));
            assert!(near(ladder.seen_ohm(&[button], 0.0).unwrap(), ohm));
        }
        for (button, ohm) in (1..).zip([1200.0, 2020.0, 3220.0, 5420.0]) {
            assert!(near(ladder.seen_ohm(&[5, button], 0.0).unwrap(), ohm));
        }
        assert_eq!(ladder.rest_ohm(), Ok(f64::INFINITY));
        assert_eq!(ladder.seen_ohm(&[], 0.0), Ok(f64::INFINITY));
    }

    #[test]
    fn a_pair_of_parallel_buttons_reads_below_the_lower() {
        let ladder = parallel(&[2200.0, 4700.0, 10_000.0]);
        for (pressed, ohm) in [([1, 2], 1498.55), ([2, 3], 3197.28), ([1, 3], 1803.28)] {
            assert!((ladder.seen_ohm(&pressed, 0.0).unwrap() - ohm).abs() < 0.005);
        }
    }

    #[test]
    fn two_pressed_with_worn_contacts_let_the_far_tap_through() {
        // By hand: tap 1 to the return by 100 Ω, beside 300 Ω of step 2 plus 100 Ω: 80 Ω.
        let ladder = series(&[500.0, 300.0]);
        assert!(near(ladder.seen_ohm(&[1, 2], 100.0).unwrap(), 580.0));
    }

    #[test]
    fn a_broken_step_cuts_off_what_is_behind_it() {
        let ladder = Ladder { end_ohm: Some(1000.0), ..series(&[100.0, f64::INFINITY, 100.0]) };
        for (button, ohm) in [(1, 105.0), (2, f64::INFINITY), (3, f64::INFINITY)] {
            assert_eq!(ladder.single_ohm(button, 5.0), Ok(ohm));
            assert!(near(ladder.seen_ohm(&[button], 5.0).unwrap(), ohm));
        }
        assert_eq!(ladder.rest_ohm(), Ok(f64::INFINITY));
    }

    #[test]
    fn a_thousand_buttons_all_down_are_solved() {
        let ladder = series(&[10.0; 1000]);
        let all: Vec<_> = (1..=1000).collect();
        // An endless chain of step r with contact c to the return: x = r + c ∥ x.
        let endless = 5.0 + (25.0_f64 + 10.0 * 50.0).sqrt();
        assert!(near(ladder.seen_ohm(&all, 50.0).unwrap(), endless));
    }

    #[test]
    fn what_cannot_be_is_said_with_its_value() {
        let said = |result: Result<f64, LadderError>| result.unwrap_err().to_string();
        assert_eq!(said(series(&[]).rest_ohm()), "The ladder has no resistors. Give one for each button.");
        assert_eq!(
            said(series(&[1.0, -5.0]).rest_ohm()),
            "Resistor 2 of the ladder is -5 Ω. Give 0 Ω or more."
        );
        assert_eq!(
            said(parallel(&[f64::NAN]).seen_ohm(&[1], 0.0)),
            "Resistor 1 of the ladder is NaN Ω. Give 0 Ω or more."
        );
        let ladder = Ladder { end_ohm: Some(-1.0), ..series(&[1.0]) };
        assert_eq!(
            said(ladder.rest_ohm()),
            "The end-of-line resistor is -1 Ω. Give 0 Ω or more, or leave it out."
        );
        let ladder = series(&[1.0, 2.0]);
        assert_eq!(said(ladder.single_ohm(1, -2.0)), "The contact is -2 Ω. Give 0 Ω or more.");
        assert_eq!(
            said(ladder.seen_ohm(&[3], 0.0)),
            "Button 3 is pressed, but the ladder's buttons are 1 to 2. Press one of those."
        );
        assert!(ladder.single_ohm(0, 0.0).is_err());
        assert_eq!(
            said(ladder.seen_ohm(&[2, 2], 0.0)),
            "Button 2 is pressed twice at once. Name each pressed button once."
        );
    }
}
