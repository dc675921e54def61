//! What the box's status light says: the words to the blinks of `assets/firmware/core/blink.c`, for the
//! Box station, the firmware's README and the build sheet. Knows no pin.

/// What the box tells by its light.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Light {
    /// It has just started.
    Searching,
    /// It has an image and works.
    Running,
    /// It has no image.
    Missing,
    /// It has an image that is not whole.
    Damaged,
    /// Its memory did not keep what was written.
    Fault,
    /// The laptop reads the wires, or listens to a remote.
    Learning,
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
    /// The pattern: 16 steps of [`STEP_MS`], the highest bit first, lit where it is 1; it repeats.
    pub steps: u16,
    /// What it means and what to do.
    pub meaning: &'static str,
}

/// How long a step of a pattern takes, in milliseconds.
pub const STEP_MS: u32 = 128;

/// Every state, in the order of [`Light`].
pub const BLINKS: [Blink; 6] = [
    Blink {
        light: Light::Searching,
        name: "Searching",
        pattern: "fast and even, 4 a second",
        steps: 0xAAAA,
        meaning: "It has just started and looks for its image. If that goes on, it starts again and again: \
                  look at the supply.",
    },
    Blink {
        light: Light::Running,
        name: "Running",
        pattern: "1 flash every 2 seconds",
        steps: 0x8000,
        meaning: "It has its image and answers every press.",
    },
    Blink {
        light: Light::Missing,
        name: "Image missing",
        pattern: "2 flashes, then a pause",
        steps: 0xA000,
        meaning: "It was never filled. Write the project to it.",
    },
    Blink {
        light: Light::Damaged,
        name: "Image damaged",
        pattern: "3 flashes, then a pause",
        steps: 0xA800,
        meaning: "Nothing it holds is whole, so it stays silent. Write the project to it.",
    },
    Blink {
        light: Light::Fault,
        name: "Fault",
        pattern: "4 flashes, then a pause",
        steps: 0xAA00,
        meaning: "Its memory did not keep what was written. Write again; if it stays, take another board.",
    },
    Blink {
        light: Light::Learning,
        name: "Learning",
        pattern: "slow and even, 1 a second",
        steps: 0xF0F0,
        meaning: "The laptop reads the wires, or listens to a remote.",
    },
];

impl Blink {
    /// Whether the light is on, so many milliseconds after the pattern began.
    #[must_use]
    pub const fn is_lit(&self, ms: u32) -> bool {
        self.steps & (0x8000 >> ((ms / STEP_MS) % 16)) != 0
    }

    /// How often it goes on in one turn of the pattern.
    #[must_use]
    pub const fn flashes(&self) -> u32 {
        (self.steps & !(self.steps.rotate_right(1))).count_ones()
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    #[test]
    fn every_state_has_a_blink_of_its_own_in_order() {
        assert!(BLINKS.windows(2).all(|pair| pair[0].light < pair[1].light));
        assert_eq!(BLINKS.iter().map(|blink| blink.steps).collect::<BTreeSet<_>>().len(), BLINKS.len());
        assert_eq!(BLINKS.iter().map(|blink| blink.pattern).collect::<BTreeSet<_>>().len(), BLINKS.len());
    }

    #[test]
    fn the_words_count_the_flashes_that_the_steps_hold() {
        let flashes = |light| BLINKS.iter().find(|blink| blink.light == light).map(Blink::flashes);
        // Of 2 s: 4 a second are 8, 1 a second are 2.
        assert_eq!(flashes(Light::Searching), Some(8));
        assert_eq!(flashes(Light::Learning), Some(2));
        for (light, count) in
            [(Light::Running, 1), (Light::Missing, 2), (Light::Damaged, 3), (Light::Fault, 4)]
        {
            assert_eq!(flashes(light), Some(count));
            let words = BLINKS.iter().find(|blink| blink.light == light).map(|blink| blink.pattern);
            assert!(words.is_some_and(|words| words.starts_with(&format!("{count} flash"))), "{light:?}");
        }
    }

    #[test]
    fn a_pattern_begins_lit_and_ends_dark_so_that_its_turns_stay_apart() {
        for blink in BLINKS {
            assert!(blink.is_lit(0) && !blink.is_lit(16 * STEP_MS - 1), "{}", blink.name);
            assert_eq!(blink.is_lit(5), blink.is_lit(5 + 16 * STEP_MS), "{}", blink.name);
        }
    }
}
