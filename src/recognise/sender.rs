//! Which command the box sends, how long, and what waits: the C state machine, safely. Knows no timer
//! and no output.

use super::box_image::{BoxImage, Which};
use super::ffi_image::{
    SwEvent, SwSender, reading, sw_sender_ask, sw_sender_event, sw_sender_next, sw_sender_start,
    sw_sender_tick,
};
use super::types::{Event, EventKind};

/// The command number that means none.
const NO_COMMAND: u8 = 255;
/// The button number that means none.
const NO_BUTTON: u8 = 63;

/// What the output does with gestures.
#[derive(Clone, Copy, Debug)]
pub struct Sender {
    state: SwSender,
}

/// A frame that is to start.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Start {
    /// Whether a press begins with it.
    pub which: Which,
    /// The command.
    pub command: u8,
    /// The toggle bit.
    pub toggle: bool,
}

impl Default for Sender {
    fn default() -> Self {
        Self::new()
    }
}

impl Sender {
    /// One that sends nothing.
    #[must_use]
    pub fn new() -> Self {
        let mut state = SwSender::default();
        sw_sender_start(&mut state);
        Self { state }
    }

    /// Takes what the recogniser said. Gives the command that this asks for, by its number in the
    /// image.
    pub fn event(&mut self, image: &BoxImage, event: &Event) -> Option<u8> {
        let event = SwEvent {
            level: event.level.steps(),
            ticks: event.ticks,
            kind: match event.kind {
                EventKind::Pressed => 1,
                EventKind::Released => 2,
                EventKind::Tap => 3,
                EventKind::Hold => 4,
                EventKind::DoubleTap => 5,
                EventKind::Undecided => 6,
            },
            button: event.button.unwrap_or(NO_BUTTON),
            wire: event.wire,
            spare: 0,
        };
        let command =
            reading(image.memory(), |read| sw_sender_event(&mut self.state, read, image.loaded(), &event));
        (command != NO_COMMAND).then_some(command)
    }

    /// Asks for a command as the link does, held for so many ticks; replaces what waits. The number is
    /// the asker's own, below 255.
    pub fn ask(&mut self, command: u8, held_ticks: u16) {
        sw_sender_ask(&mut self.state, command, held_ticks);
    }

    /// Stops: no further frame starts.
    pub fn stop(&mut self) {
        sw_sender_ask(&mut self.state, NO_COMMAND, 0);
    }

    /// One tick of 1 ms later.
    pub fn tick(&mut self) {
        sw_sender_tick(&mut self.state);
    }

    /// What starts next, and counts as started. `least_frames` is of the frame sent last: how many are
    /// sent at least, or 0 if it is sent once and not repeated while held.
    pub fn start_next(&mut self, least_frames: u8) -> Option<Start> {
        let which = match sw_sender_next(&mut self.state, least_frames) {
            1 => Which::First,
            2 => Which::Again,
            _ => return None,
        };
        Some(Start { which, command: self.state.now.command, toggle: self.state.toggle != 0 })
    }
}
