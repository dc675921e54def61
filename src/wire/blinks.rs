//! What the box's status light says: the one table that the firmware, its README, the Box station and
//! the build sheet go by. Knows no pin.

/// What the box tells by its light. Of several at once the later in this list is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Light {
    /// It has an image and works.
    Running,
    /// It has started and waits for the wires to come to rest.
    Searching,
    /// The laptop listens to a remote or reads the wires.
    Learning,
    /// It has no image.
    ImageMissing,
    /// It has an image that is not whole.
    ImageDamaged,
    /// Something is wrong with the box itself.
    Fault,
}

/// How a state blinks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Blink {
    /// The state.
    pub light: Light,
    /// What it is called.
    pub name: &'static str,
    /// The pattern in words.
    pub pattern: &'static str,
    /// The pattern: on, off, on, off, …, in milliseconds; it repeats.
    pub steps_ms: &'static [u16],
    /// What it means and what to do.
    pub meaning: &'static str,
}

/// Every state, in the order of [`Light`].
pub const BLINKS: [Blink; 6] = [
    Blink {
        light: Light::Running,
        name: "Running",
        pattern: "one short flash every 2 seconds",
        steps_ms: &[50, 1_950],
        meaning: "It has its image, and every press is answered.",
    },
    Blink {
        light: Light::Searching,
        name: "Searching",
        pattern: "quick blinks, 5 a second",
        steps_ms: &[100, 100],
        meaning: "It waits for the wires to come to rest. If it goes on, look for a held button or a wire off.",
    },
    Blink {
        light: Light::Learning,
        name: "Learning",
        pattern: "lit, with a short gap every second",
        steps_ms: &[900, 100],
        meaning: "The laptop reads the wires or listens to a remote.",
    },
    Blink {
        light: Light::ImageMissing,
        name: "Image missing",
        pattern: "slow even blinks, 1 every 2 seconds",
        steps_ms: &[1_000, 1_000],
        meaning: "It was never filled, or was emptied. Write the project to it.",
    },
    Blink {
        light: Light::ImageDamaged,
        name: "Image damaged",
        pattern: "2 flashes, then a pause",
        steps_ms: &[150, 250, 150, 1_450],
        meaning: "What it holds is not whole, so it stays silent. Write the project to it again.",
    },
    Blink {
        light: Light::Fault,
        name: "Fault",
        pattern: "3 flashes, then a pause",
        steps_ms: &[150, 250, 150, 250, 150, 1_050],
        meaning: "Its memory or its supply failed. Read the counters with a laptop.",
    },
];

impl Blink {
    /// How long the pattern takes, in milliseconds.
    #[must_use]
    pub fn period_ms(&self) -> u32 {
        self.steps_ms.iter().copied().map(u32::from).sum()
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    #[test]
    fn every_state_has_a_blink_of_its_own_in_order() {
        assert!(BLINKS.windows(2).all(|pair| pair[0].light < pair[1].light));
        assert_eq!(BLINKS.iter().map(|blink| blink.steps_ms).collect::<BTreeSet<_>>().len(), BLINKS.len());
        assert_eq!(BLINKS.iter().map(|blink| blink.pattern).collect::<BTreeSet<_>>().len(), BLINKS.len());
    }

    #[test]
    fn a_pattern_begins_lit_ends_dark_and_can_be_seen() {
        for blink in BLINKS {
            assert_eq!(blink.steps_ms.len() % 2, 0, "{}", blink.name);
            assert!(blink.steps_ms.iter().all(|ms| *ms >= 50), "{}", blink.name);
            assert!(blink.period_ms() <= 2_000, "{}", blink.name);
        }
    }

    #[test]
    fn the_words_count_the_flashes_that_the_steps_hold() {
        for blink in BLINKS {
            let flashes = blink.steps_ms.len() / 2;
            if flashes > 1 {
                assert!(blink.pattern.starts_with(&format!("{flashes} flashes")), "{}", blink.name);
            }
        }
        // 5 a second, and 1 every 2 seconds.
        assert_eq!(BLINKS[1].period_ms() * 5, 1_000);
        assert_eq!(BLINKS[3].period_ms(), 2_000);
    }
}
