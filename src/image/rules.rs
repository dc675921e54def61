//! What an image says of recognising, as the recogniser takes it. Knows no bytes.

use super::model::{Image, ImageBand};
use crate::project::Gesture;
use crate::recognise::{Band, Has, Rules, Wires};
use crate::signal::Level;

impl Image {
    /// The recogniser's rules. A gesture leads somewhere where there is a pair for it.
    #[must_use]
    pub fn rules(&self) -> Rules {
        let band = |band: ImageBand| Band { low: band.low, high: band.high };
        // Where there is no second wire its rest takes nothing, as in the box.
        let rest = |wire: usize| self.rests.get(wire).map_or(Band { low: 1, high: 0 }, |rest| band(*rest));
        let has = |button: usize, gesture: Gesture| {
            self.pairs.iter().any(|pair| usize::from(pair.button) == button && pair.gesture == gesture)
        };
        let buttons = self.buttons.iter().enumerate().map(|(index, button)| {
            let has = Has {
                tap: has(index, Gesture::Tap),
                hold: has(index, Gesture::Hold),
                double_tap: has(index, Gesture::DoubleTap),
            };
            (button.wire, band(button.band), has)
        });
        Rules {
            wires: if self.rests.len() == 2 { Wires::Two } else { Wires::One },
            rests: [rest(0), rest(1)],
            buttons: buttons.collect(),
            dwell_ticks: self.dwell_ms,
            // Held at the end by the cast.
            settle: Level::from_steps((self.settle_count * Level::PER_COUNT).round() as u16),
            hold_ticks: self.hold_ms,
            double_ticks: self.double_ms,
            rollover: self.rollover,
        }
    }
}
