//! The blinks in words against the box's own.

use super::ffi_blink::{is_lit, states};
use crate::wire::{BLINKS, Light};

#[test]
fn the_box_blinks_as_the_words_say() {
    assert_eq!(BLINKS.len(), states().len());
    for blink in BLINKS {
        let name = match blink.light {
            Light::Searching => "SW_BLINK_SEARCHING",
            Light::Running => "SW_BLINK_RUNNING",
            Light::Missing => "SW_BLINK_MISSING",
            Light::Damaged => "SW_BLINK_DAMAGED",
            Light::Fault => "SW_BLINK_FAULT",
            Light::Learning => "SW_BLINK_LEARNING",
        };
        let state = states().into_iter().find(|(state, _)| state == name).unwrap().1;
        let steps = (0..16).fold(0_u16, |steps, step| steps << 1 | u16::from(is_lit(state, step)));
        assert_eq!(steps, blink.steps, "{name}: {steps:04X}");
    }
}
