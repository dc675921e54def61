//! Recorded readings through the box's own recogniser, by an image's rules. Knows no file.

use super::model::Image;
use crate::recognise::{Event, Feed, Recogniser, RulesError, plain};
use crate::signal::{Converter, Level, RawReading};
use crate::units::{TOP_COUNT, WIRES};

/// The box's tick, in milliseconds.
const TICK_MS: f64 = 1.0;
/// A reading is held this long where the next is late: a probe gives ten a second at the least. After
/// that there is no reading.
const HELD_MS: f64 = 100.0;

/// What the box would decide over recorded readings: each event with the time it falls on, in
/// milliseconds of the recording.
///
/// The box samples once a millisecond. Readings that come so are taken one a tick; where the next one
/// comes later, each is held until then, but no longer than 100 ms. With a feed monitor in the image,
/// readings are scaled as the box does it; those without the monitor's number count as none. A 12-bit
/// converter's numbers are taken as counts with their fractions, or as whole counts where they are
/// scaled.
///
/// # Errors
/// [`RulesError`] for what the box has no room for.
pub fn replay(
    image: &Image,
    converter: Converter,
    readings: &[RawReading],
) -> Result<Vec<(f64, Event)>, RulesError> {
    let mut recogniser = Recogniser::new(&image.rules())?;
    let mut feed = Feed::default();
    let nominal = image.feed_count.map(Level::from_count);
    let mut events = Vec::new();
    for (at, reading) in readings.iter().enumerate() {
        let until_ms = readings.get(at + 1).map_or(reading.t_ms + TICK_MS, |next| next.t_ms);
        let ticks = ((until_ms - reading.t_ms) / TICK_MS).round().max(1.0);
        let held = ticks.min(HELD_MS / TICK_MS);
        // One tick without a reading ends a dwell as surely as many; a long gap has many.
        let lost = (ticks - held).min(HELD_MS / TICK_MS);
        let mut now_ms = reading.t_ms;
        for tick in 0..(held + lost) as u32 {
            let levels = if f64::from(tick) < held {
                levels(reading, converter, nominal, &mut feed)
            } else {
                [Level::NONE; WIRES]
            };
            if recogniser.advance(levels) {
                events.extend(recogniser.told().map(|event| (now_ms, event)));
            }
            now_ms += TICK_MS;
        }
    }
    Ok(events)
}

/// A reading as the box's levels.
fn levels(
    reading: &RawReading,
    converter: Converter,
    nominal: Option<Level>,
    feed: &mut Feed,
) -> [Level; WIRES] {
    let whole = |number: u16| match converter {
        Converter::TenBit => number,
        Converter::TwelveBit => number / 4,
    };
    if nominal.is_some() && reading.feed <= converter.top() {
        feed.take(whole(reading.feed));
    }
    reading.raw.map(|number| {
        if number > converter.top() {
            return Level::NONE;
        }
        match (nominal, converter) {
            (Some(nominal), _) if reading.feed <= converter.top() => feed.scale(whole(number), nominal),
            (Some(_), _) => Level::NONE,
            (None, Converter::TenBit) => plain(number),
            (None, Converter::TwelveBit) => {
                Level::from_count((f64::from(number) / converter.per_count()).min(TOP_COUNT))
            }
        }
    })
}
