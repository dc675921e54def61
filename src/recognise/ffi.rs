//! The one face of `assets/firmware/core/recogniser.h` and `level.h` that is not safe: their structures
//! as the compiler lays them out, and calls that hand over nothing but references. Knows no project.

#![expect(unsafe_code, reason = "calls the box's own C, which keeps no pointer and allocates nothing")]

use super::ffi_image::{SwEvent, SwRules};
use crate::units::WIRES;

/// `SW_BUTTONS_MAX`.
pub(super) const BUTTONS_MAX: usize = 16;
/// `SW_DWELL_MAX_TICKS`.
pub(super) const DWELL_MAX_TICKS: usize = 64;
/// `SW_EVENTS_PER_TICK`.
const EVENTS_PER_TICK: usize = 4;
/// `SW_NO_BUTTON`.
pub(super) const NO_BUTTON: u8 = 63;
/// `SW_LABEL_REST`.
pub(super) const LABEL_REST: u8 = 16;

/// `struct sw_wire`.
#[repr(C)]
#[derive(Clone, Copy, Debug, Default)]
struct SwWire {
    past: [u16; 2],
    level: u16,
    label: u8,
    spare: u8,
}

#[repr(C)]
#[derive(Clone, Debug)]
pub(super) struct SwRecogniser {
    wire: [SwWire; WIRES],
    away_ticks: u16,
    pressed_ticks: u16,
    since_tap_ticks: u16,
    settled_level: u16,
    tapped_level: u16,
    filled: u8,
    pub(super) owner: u8,
    pub(super) label: u8,
    run: u8,
    at: u8,
    pub(super) pressed: u8,
    armed: u8,
    waiting: u8,
    tapped: u8,
    tapped_wire: u8,
    off: u8,
    pub(super) rejected: u8,
    told: u8,
    spare: u8,
    event: [SwEvent; EVENTS_PER_TICK],
    ring: [u16; DWELL_MAX_TICKS],
}

#[repr(C)]
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct SwFeed {
    sum8: u16,
}

unsafe extern "C" {
    fn sw_recogniser_start(recogniser: *mut SwRecogniser);
    fn sw_recogniser_tick(recogniser: *mut SwRecogniser, rules: *const SwRules, level: *const u16);
    fn sw_feed_take(feed: *mut SwFeed, raw: u16);
    fn sw_level_plain(raw: u16) -> u16;
    fn sw_level_scaled(raw: u16, nominal_level: u16, feed: *const SwFeed) -> u16;
}

impl SwRecogniser {
    pub(super) fn start() -> Self {
        let mut new = Self {
            wire: Default::default(),
            away_ticks: 0,
            pressed_ticks: 0,
            since_tap_ticks: 0,
            settled_level: 0,
            tapped_level: 0,
            filled: 0,
            owner: 0,
            label: 0,
            run: 0,
            at: 0,
            pressed: 0,
            armed: 0,
            waiting: 0,
            tapped: 0,
            tapped_wire: 0,
            off: 0,
            rejected: 0,
            told: 0,
            spare: 0,
            event: Default::default(),
            ring: [0; DWELL_MAX_TICKS],
        };
        // SAFETY: the structure is the C one, whole and ours alone.
        unsafe { sw_recogniser_start(&raw mut new) };
        new
    }

    /// One tick, and whether anything happened in it; the rules must be in range: buttons to 16, wires 1 or
    /// 2, dwell 1 to 64.
    pub(super) fn tick(&mut self, rules: &SwRules, level: [u16; WIRES]) -> bool {
        // SAFETY: all are whole and of the length the C side expects; it keeps none of them.
        unsafe { sw_recogniser_tick(&raw mut *self, &raw const *rules, level.as_ptr()) };
        self.told != 0
    }

    /// What happened in the last tick.
    pub(super) fn told(&self) -> impl Iterator<Item = SwEvent> + use<> {
        self.event.into_iter().take(self.told.into())
    }
}

impl SwFeed {
    pub(super) fn take(&mut self, raw: u16) {
        // SAFETY: a reference to a whole structure.
        unsafe { sw_feed_take(&raw mut *self, raw) }
    }

    pub(super) fn scaled(&self, raw: u16, nominal_level: u16) -> u16 {
        // SAFETY: a reference to a whole structure.
        unsafe { sw_level_scaled(raw, nominal_level, &raw const *self) }
    }
}

pub(super) fn plain(raw: u16) -> u16 {
    // SAFETY: takes and gives a number.
    unsafe { sw_level_plain(raw) }
}

// The C side is laid out without holes; if it changes, these no longer hold.
const _: () = assert!(size_of::<SwRules>() == 18 + 4 * (WIRES + BUTTONS_MAX) + BUTTONS_MAX);
const _: () = assert!(size_of::<SwEvent>() == 8);
const _: () =
    assert!(size_of::<SwRecogniser>() == 8 * WIRES + 8 * EVENTS_PER_TICK + 2 * DWELL_MAX_TICKS + 10 + 14);
