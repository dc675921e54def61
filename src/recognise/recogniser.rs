//! The recogniser: levels in, a tick of 1 ms at a time; presses and gestures out. The C core decides.

use super::ffi::{self, SwRecogniser};
use super::ffi_image::{ON_SECOND_WIRE, SwBand, SwEvent, SwRules, flags};
use super::types::{Band, Event, EventKind, Label, Rules, Wires};
use crate::signal::Level;
use crate::units::WIRES;

/// The longest dwell, in ticks.
pub const DWELL_MAX_TICKS: u8 = 64;

/// Why rules can't be gone by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum RulesError {
    /// More buttons than the box has room for.
    #[error("There are {given} buttons, and the box knows 16 at most. Leave the others out.")]
    Buttons {
        /// How many.
        given: usize,
    },
    /// A dwell the box can't count.
    #[error("A dwell of {given} ms can't be counted: 1 to 64 ms can. Change it.")]
    Dwell {
        /// How long.
        given: u8,
    },
    /// A wire that isn't there.
    #[error("Button {button} hangs on wire {given}, and there are wires 1 and 2. Change its wire.")]
    Wire {
        /// Which button, from 1.
        button: usize,
        /// Which wire.
        given: u8,
    },
}

/// A running recogniser.
#[derive(Clone, Debug)]
pub struct Recogniser {
    rules: SwRules,
    state: SwRecogniser,
}

impl Recogniser {
    /// A recogniser that has seen nothing yet: rest has to be seen before a press is recognised.
    ///
    /// # Errors
    /// [`RulesError`] for what the box has no room for.
    pub fn new(rules: &Rules) -> Result<Self, RulesError> {
        let Rules { wires, rests, buttons, dwell_ticks, settle, hold_ticks, double_ticks, rollover } = rules;
        if buttons.len() > ffi::BUTTONS_MAX {
            return Err(RulesError::Buttons { given: buttons.len() });
        }
        if !(1..=DWELL_MAX_TICKS).contains(dwell_ticks) {
            return Err(RulesError::Dwell { given: *dwell_ticks });
        }
        let two = *wires == Wires::Two;
        let mut c = SwRules {
            settle_levels: settle.steps(),
            hold_ticks: *hold_ticks,
            double_ticks: *double_ticks,
            buttons: buttons.len() as u8,
            wires: if two { 2 } else { 1 },
            dwell_ticks: *dwell_ticks,
            flags: if *rollover { flags::ROLLOVER } else { 0 },
            ..SwRules::default()
        };
        let (of_wires, of_buttons) = c.band.split_at_mut(if two { 2 } else { 1 });
        for (place, rest) in of_wires.iter_mut().zip(rests) {
            *place = SwBand::from(*rest);
        }
        for (place, &(wire, band, has)) in buttons.iter().enumerate() {
            if !(1..=2).contains(&wire) {
                return Err(RulesError::Wire { button: place + 1, given: wire });
            }
            of_buttons[place] = band.into();
            if wire == 2 {
                of_buttons[place].low |= ON_SECOND_WIRE;
            }
            c.has[place] = u8::from(has.tap) | u8::from(has.hold) << 1 | u8::from(has.double_tap) << 2;
        }
        Ok(Self { rules: c, state: SwRecogniser::start() })
    }

    /// Takes one sample of each wire, and gives what happened, in order; four events at most.
    pub fn tick(&mut self, levels: [Level; WIRES]) -> impl Iterator<Item = Event> + use<> {
        self.advance(levels);
        self.told()
    }

    /// Takes one sample of each wire: whether anything happened, which [`Recogniser::told`] gives. Most
    /// ticks of an hour have nothing to tell.
    pub fn advance(&mut self, levels: [Level; WIRES]) -> bool {
        self.state.tick(&self.rules, levels.map(Level::steps))
    }

    /// What happened at the last tick, in order; four events at most.
    pub fn told(&self) -> impl Iterator<Item = Event> + use<> {
        self.state.told().filter_map(event)
    }

    /// What the owning wire's level lies in at this tick; the first wire's where none has left rest.
    #[must_use]
    pub fn label(&self) -> Label {
        match self.state.label {
            button if button < ffi::LABEL_REST => Label::Button(button),
            ffi::LABEL_REST => Label::Rest,
            _ => Label::Nothing,
        }
    }

    /// The button taken as pressed.
    #[must_use]
    pub fn pressed(&self) -> Option<u8> {
        Some(self.state.pressed).filter(|&button| button != ffi::NO_BUTTON)
    }

    /// The wire that owns the press, 1 or 2.
    #[must_use]
    pub fn owner(&self) -> Option<u8> {
        Some(self.state.owner).filter(|&wire| wire != 0)
    }

    /// Whether a wire's level lay outside every band at this tick.
    #[must_use]
    pub fn has_rejected(&self) -> bool {
        self.state.rejected != 0
    }
}

impl From<Band> for SwBand {
    fn from(band: Band) -> Self {
        // No count is as high as the flag.
        Self { low: band.low.min(ON_SECOND_WIRE - 1), high: band.high }
    }
}

/// What the C side said; `None` for a kind it does not have.
fn event(c: SwEvent) -> Option<Event> {
    let kind = match c.kind {
        1 => EventKind::Pressed,
        2 => EventKind::Released,
        3 => EventKind::Tap,
        4 => EventKind::Hold,
        5 => EventKind::DoubleTap,
        6 => EventKind::Undecided,
        _ => return None,
    };
    Some(Event {
        kind,
        button: Some(c.button).filter(|&button| button != ffi::NO_BUTTON),
        wire: c.wire,
        level: Level::from_steps(c.level),
        ticks: c.ticks,
    })
}

/// What the recogniser decides over readings, one a tick: each event with its tick, from 0.
///
/// # Errors
/// [`RulesError`] for what the box has no room for.
pub fn replay(
    rules: &Rules,
    readings: impl IntoIterator<Item = [Level; WIRES]>,
) -> Result<Vec<(u32, Event)>, RulesError> {
    let mut recogniser = Recogniser::new(rules)?;
    let mut events = Vec::new();
    for (tick, levels) in (0_u32..).zip(readings) {
        if recogniser.advance(levels) {
            events.extend(recogniser.told().map(|event| (tick, event)));
        }
    }
    Ok(events)
}
