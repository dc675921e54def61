//! The one face of `assets/firmware/core/recogniser.h` and `level.h` that is not safe: their structures
//! as the compiler lays them out, and calls that hand over nothing but references. Knows no project.

#![expect(unsafe_code, reason = "calls the box's own C, which keeps no pointer and allocates nothing")]

use crate::units::WIRES;

/// `SW_BUTTONS_MAX`.
pub(super) const BUTTONS_MAX: usize = 16;
/// `SW_DWELL_MAX_TICKS`.
pub(super) const DWELL_MAX_TICKS: usize = 64;
/// `SW_EVENTS_PER_TICK`.
pub(super) const EVENTS_PER_TICK: usize = 4;
/// `SW_NO_BUTTON`.
pub(super) const NO_BUTTON: u8 = 63;
/// `SW_LABEL_REST`.
pub(super) const LABEL_REST: u8 = 16;

#[repr(C)]
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct CBand {
    pub(super) low: u16,
    pub(super) high: u16,
}

#[repr(C)]
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct CRules {
    pub(super) settle_levels: u16,
    pub(super) hold_ticks: u16,
    pub(super) double_ticks: u16,
    pub(super) second_wire: u16,
    pub(super) rest: [CBand; WIRES],
    pub(super) band: [CBand; BUTTONS_MAX],
    pub(super) has: [u8; BUTTONS_MAX],
    pub(super) buttons: u8,
    pub(super) wires: u8,
    pub(super) dwell_ticks: u8,
    pub(super) rollover: u8,
}

#[repr(C)]
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct CEvent {
    pub(super) level: u16,
    pub(super) ticks: u16,
    pub(super) kind: u8,
    pub(super) button: u8,
    pub(super) wire: u8,
    pub(super) spare: u8,
}

#[repr(C)]
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct CRecogniser {
    past: [[u16; 2]; WIRES],
    ring: [u16; DWELL_MAX_TICKS],
    away_ticks: u16,
    pressed_ticks: u16,
    since_tap_ticks: u16,
    settled_level: u16,
    filled: u8,
    pub(super) owner: u8,
    pub(super) label: u8,
    run: u8,
    at: u8,
    pub(super) pressed: u8,
    armed: u8,
    waiting: u8,
    tapped: u8,
    off: u8,
    pub(super) rejected: u8,
}

#[repr(C)]
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct CFeed {
    sum8: u16,
}

unsafe extern "C" {
    fn sw_recogniser_start(recogniser: *mut CRecogniser);
    fn sw_recogniser_tick(
        recogniser: *mut CRecogniser,
        rules: *const CRules,
        level: *const u16,
        events: *mut CEvent,
    ) -> u8;
    fn sw_feed_take(feed: *mut CFeed, raw: u16);
    fn sw_level_plain(raw: u16) -> u16;
    fn sw_level_scaled(raw: u16, nominal_level: u16, feed: *const CFeed) -> u16;
}

impl CRecogniser {
    pub(super) fn start() -> Self {
        let mut new = Self {
            past: Default::default(),
            ring: [0; DWELL_MAX_TICKS],
            away_ticks: 0,
            pressed_ticks: 0,
            since_tap_ticks: 0,
            settled_level: 0,
            filled: 0,
            owner: 0,
            label: 0,
            run: 0,
            at: 0,
            pressed: 0,
            armed: 0,
            waiting: 0,
            tapped: 0,
            off: 0,
            rejected: 0,
        };
        // SAFETY: the structure is the C one, whole and ours alone.
        unsafe { sw_recogniser_start(&raw mut new) };
        new
    }

    /// One tick; the rules must be in range: buttons to 16, wires 1 or 2, dwell 1 to 64.
    pub(super) fn tick(
        &mut self,
        rules: &CRules,
        level: [u16; WIRES],
        events: &mut [CEvent; EVENTS_PER_TICK],
    ) -> usize {
        // SAFETY: all are whole and of the length the C side expects; it keeps none of them.
        let count = unsafe {
            sw_recogniser_tick(&raw mut *self, &raw const *rules, level.as_ptr(), events.as_mut_ptr())
        };
        usize::from(count).min(EVENTS_PER_TICK)
    }
}

impl CFeed {
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
const _: () = assert!(size_of::<CRules>() == 8 + 4 * (WIRES + BUTTONS_MAX) + BUTTONS_MAX + 4);
const _: () = assert!(size_of::<CEvent>() == 8);
const _: () = assert!(size_of::<CRecogniser>() == 4 * WIRES + 2 * DWELL_MAX_TICKS + 8 + 12);
