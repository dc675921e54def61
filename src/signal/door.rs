//! The door: the one place where a converter's numbers become counts. Knows nothing of what is
//! recorded; whoever holds the recording rescales it when told.

use super::{Converter, Level, RawReading, Reading};
use crate::units::WIRES;

/// This many numbers above 1023 make a converter a 12-bit one. One alone may be two lines that ran
/// into each other, and would put everything learned so far to a quarter.
const SURE: u32 = 3;

/// After this many numbers that a 10-bit converter can give, stray ones before are forgotten.
const FORGET: u32 = 5_000;

/// Turns raw readings into readings, once.
///
/// Where the feed is monitored, a reading is scaled by nominal feed / measured feed, so that a count
/// means the same on any supply: as the box does it, with the monitor's mean over about 8 readings.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Door {
    converter: Converter,
    /// Numbers above 1023 so far, and sound ones since the last of them.
    beyond: u32,
    sound: u32,
    /// What the feed monitor reads at the nominal feed; [`Level::NONE`] takes readings as they are.
    nominal: Level,
    /// Eight times the feed monitor's running mean, in its own numbers; 0 before its first.
    feed_sum8: u32,
}

/// What was found while readings came through the door.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Taken {
    /// Several numbers above 1023 came, so the converter is 12-bit after all. Readings of this call are
    /// right already; [`super::Recording::rescale`] what came before.
    pub rescale: bool,
    /// How many numbers were above 1023 while nothing else speaks for a 12-bit converter: they
    /// became [`Level::NONE`].
    pub doubted: u64,
    /// How many numbers were above 4095: no converter we know gives them, so they became
    /// [`Level::NONE`].
    pub out_of_range: u64,
    /// How many numbers were missing ([`RawReading::NONE`]); where a line holds one number, one
    /// per reading.
    pub missing: u64,
}

/// A 10-bit converter's door, with readings taken as they are.
impl Default for Door {
    fn default() -> Self {
        Self::new(Converter::TenBit)
    }
}

impl Door {
    /// A door for a converter that is known, or taken to be 10-bit until a number says otherwise.
    #[must_use]
    pub const fn new(converter: Converter) -> Self {
        Self { converter, beyond: 0, sound: 0, nominal: Level::NONE, feed_sum8: 0 }
    }

    /// The same, scaling by the feed: `nominal_count` is what the feed monitor reads at the nominal
    /// feed, in counts. Readings without the monitor's number are taken as they are.
    #[must_use]
    pub fn monitored(self, nominal_count: Option<f64>) -> Self {
        Self { nominal: nominal_count.map_or(Level::NONE, Level::from_count), ..self }
    }

    /// What the numbers are taken to be.
    #[must_use]
    pub const fn converter(&self) -> Converter {
        self.converter
    }

    /// Adds the readings of `raw` to `out`, all of them, in order.
    pub fn take(&mut self, raw: &[RawReading], out: &mut Vec<Reading>) -> Taken {
        let mut taken = Taken { rescale: self.turns_out_finer(raw), ..Taken::default() };
        let (top, per_count) = (self.converter.top(), self.converter.per_count());
        out.extend(raw.iter().map(|reading| Reading {
            t_ms: reading.t_ms,
            wire: {
                let by_feed = self.by_feed(reading.feed, top);
                reading.raw.map(|number| {
                    if number <= top {
                        return by_feed.map_or(Level::NONE, |share| {
                            Level::from_count(f64::from(number) / per_count * share)
                        });
                    }
                    let fault = match number {
                        RawReading::NONE => &mut taken.missing,
                        number if number <= RawReading::TOP => &mut taken.doubted,
                        _ => &mut taken.out_of_range,
                    };
                    *fault += 1;
                    Level::NONE
                })
            },
        }));
        taken
    }

    /// What a reading is multiplied by for this number of the feed monitor. `None` where the feed is
    /// under a quarter of the nominal: nothing can be said of the wires then.
    fn by_feed(&mut self, feed: u16, top: u16) -> Option<f64> {
        let Some(nominal_count) = self.nominal.count().filter(|_| feed <= top) else { return Some(1.0) };
        let feed = u32::from(feed);
        self.feed_sum8 =
            if self.feed_sum8 == 0 { 8 * feed } else { self.feed_sum8 - self.feed_sum8 / 8 + feed };
        let measured_count = f64::from(self.feed_sum8) / 8.0 / self.converter.per_count();
        (measured_count >= nominal_count / 4.0).then(|| nominal_count / measured_count)
    }

    /// Whether these readings show that the converter is 12-bit after all.
    fn turns_out_finer(&mut self, raw: &[RawReading]) -> bool {
        if self.converter != Converter::TenBit {
            return false;
        }
        for reading in raw {
            if reading.is_beyond_ten_bit() {
                self.beyond += 1;
                self.sound = 0;
            } else if self.beyond > 0 {
                self.sound += 1;
                if self.sound >= FORGET {
                    self.beyond = 0;
                }
            }
        }
        if self.beyond < SURE {
            return false;
        }
        self.converter = Converter::TwelveBit;
        true
    }
}

impl RawReading {
    /// The highest number any converter we know can give.
    pub const TOP: u16 = Converter::TwelveBit.top();

    /// Whether only a 12-bit converter can have given this.
    fn is_beyond_ten_bit(&self) -> bool {
        let ten_bit: [bool; WIRES] =
            self.raw.map(|number| number <= Converter::TenBit.top() || number > Self::TOP);
        ten_bit.contains(&false)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_monitored_feed_makes_counts_the_same_on_any_supply() {
        // Reference 2.5 V from outside, a third of the feed at the monitor: 5.00 V is the nominal.
        let number = |volt: f64| (volt / 2.5 * 1024.0) as u16;
        let at = |feed_v: f64| {
            let mut door = Door::default().monitored(Some(5.0 / 3.0 / 2.5 * 1024.0));
            let reading = RawReading {
                t_ms: 0.0,
                raw: [number(0.4 * feed_v), RawReading::NONE],
                feed: number(feed_v / 3.0),
            };
            let mut out = Vec::new();
            door.take(&[reading], &mut out);
            out[0].wire[0].count()
        };
        let (nominal, low) = (at(5.0).unwrap(), at(4.7).unwrap());
        assert!((nominal - low).abs() < 1.5, "{nominal} and {low}");
        assert_eq!(at(1.0), None, "under a quarter of the nominal nothing is said");
        let mut out = Vec::new();
        let plain = RawReading { t_ms: 0.0, raw: [300, RawReading::NONE], feed: RawReading::NONE };
        Door::default().monitored(Some(682.0)).take(&[plain], &mut out);
        assert_eq!(out[0].wire[0].count(), Some(300.0), "a probe without the monitor is taken as it is");
    }

    fn raw(t_ms: f64, raw: [u16; WIRES]) -> RawReading {
        RawReading { feed: RawReading::NONE, t_ms, raw }
    }

    #[test]
    fn ten_bit_numbers_are_counts_already() {
        let mut door = Door::default();
        let mut out = vec![Reading::one(0.0, 7.0)];
        let taken = door.take(&[raw(1.0, [0, 1023]), raw(2.0, [512, 3])], &mut out);
        assert_eq!(taken, Taken::default());
        assert_eq!(
            out,
            [Reading::one(0.0, 7.0), Reading::two(1.0, 0.0, 1023.0), Reading::two(2.0, 512.0, 3.0)]
        );
    }

    #[test]
    fn numbers_above_1023_make_the_whole_batch_twelve_bit_and_it_is_said_once() {
        let mut door = Door::new(Converter::TenBit);
        let mut out = Vec::new();
        let taken = door.take(
            &[raw(1.0, [1001, 8]), raw(2.0, [8, 1024]), raw(3.0, [4095, 0]), raw(4.0, [1024, 0])],
            &mut out,
        );
        assert_eq!(taken, Taken { rescale: true, ..Taken::default() });
        assert_eq!(
            out,
            [
                Reading::two(1.0, 250.25, 2.0),
                Reading::two(2.0, 2.0, 256.0),
                Reading::two(3.0, 1023.75, 0.0),
                Reading::two(4.0, 256.0, 0.0)
            ]
        );
        assert_eq!(door.converter(), Converter::TwelveBit);
        out.clear();
        assert!(!door.take(&[raw(4.0, [2000, 1])], &mut out).rescale);
        assert_eq!(out, [Reading::two(4.0, 500.0, 0.25)]);
    }

    #[test]
    fn one_number_above_1023_is_two_lines_run_together_and_no_reading() {
        let mut door = Door::default();
        let mut out = Vec::new();
        let taken = door.take(&[raw(1.0, [102, 3]), raw(2.0, [1025, 3]), raw(3.0, [103, 3])], &mut out);
        assert_eq!(taken, Taken { doubted: 1, ..Taken::default() });
        assert_eq!(out[1].wire, [Level::NONE, Level::from_count(3.0)]);
        assert_eq!(door.converter(), Converter::TenBit);
        // Strays that are far apart never add up.
        for _ in 0..10 {
            door.take(&vec![raw(4.0, [500, 3]); FORGET as usize], &mut out);
            assert!(!door.take(&[raw(5.0, [2000, 3])], &mut out).rescale);
        }
    }

    #[test]
    fn a_number_no_converter_gives_is_no_reading_and_is_counted() {
        let mut door = Door::default();
        let mut out = Vec::new();
        let taken = door.take(&[raw(1.0, [4096, 5]), raw(2.0, [6, RawReading::NONE])], &mut out);
        assert_eq!(taken, Taken { out_of_range: 1, missing: 1, ..Taken::default() });
        assert_eq!(out[0].wire, [Level::NONE, Level::from_count(5.0)]);
        assert_eq!(out[1].wire, [Level::from_count(6.0), Level::NONE]);
        assert_eq!(door.converter(), Converter::TenBit);
    }
}
