//! In which order the buttons of a round come. Knows no names.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Every button so many times: in turn, or for a seed at random. At random none comes twice running where
/// that can be helped, so that no press can be given by a finger that stays.
pub(super) fn order(buttons: usize, presses: usize, seed: Option<u64>) -> Vec<usize> {
    let Some(seed) = seed else { return (0..presses).flat_map(|_| 0..buttons).collect() };
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let mut left = vec![presses; buttons];
    let mut order = Vec::with_capacity(buttons * presses);
    while order.len() < buttons * presses {
        let last = order.last().copied();
        let still = buttons * presses - order.len();
        let free = |button: usize| left[button] > 0 && Some(button) != last;
        // One that has to come at every other place from now on has to come now.
        let pressing = (0..buttons).find(|&button| free(button) && 2 * left[button] > still);
        let tickets: usize = (0..buttons).filter(|&button| free(button)).map(|button| left[button]).sum();
        let drawn = pressing.or_else(|| {
            // As if drawn from all that are left, but for the one that was last.
            let mut ticket = rng.random_range(0..tickets.max(1));
            (0..buttons).filter(|&button| free(button)).find(|&button| {
                let is_here = ticket < left[button];
                ticket = ticket.saturating_sub(left[button]);
                is_here
            })
        });
        // Nothing but the last one is left.
        let Some(button) = drawn.or(last).filter(|&button| left[button] > 0) else { break };
        left[button] -= 1;
        order.push(button);
    }
    order
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn each_button_comes_as_often_as_planned_and_never_twice_running(
            buttons in 3_usize..17, presses in 1_usize..10, seed in any::<u64>(),
        ) {
            let order = order(buttons, presses, Some(seed));
            for button in 0..buttons {
                prop_assert_eq!(order.iter().filter(|&&b| b == button).count(), presses);
            }
            prop_assert!(order.windows(2).all(|pair| pair[0] != pair[1]), "{order:?}");
        }
    }

    #[test]
    fn one_button_alone_is_asked_for_again_and_again() {
        assert_eq!(order(1, 3, Some(1)), [0, 0, 0]);
        assert_eq!(order(2, 2, None), [0, 1, 0, 1]);
        assert!(order(0, 3, Some(1)).is_empty());
        assert_ne!(order(7, 3, Some(1)), order(7, 3, Some(2)));
        assert_eq!(order(7, 3, Some(1)), order(7, 3, Some(1)));
    }
}
