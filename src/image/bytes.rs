//! An image to the bytes of a slot. Knows no names.

use super::codes::{FREE, GROUP_MAX, RAW, Widths};
use super::model::{
    BODY_MAX, BUTTONS_MAX, COMMANDS_MAX, EVERY_STEP_MS, FORMAT, FreeFamily, FreeRepeat, Image, ImageBand,
    ImageCode, Misfit, PAIRS_MAX, RawRecord, ReferenceUse,
};
use crate::project::{Gesture, can_repeat_every};
use crate::signal::Level;
use crate::wire::crc16;

/// Bytes of the body's fixed part.
pub(super) const HEAD_BYTES: usize = 16;
/// Bytes of a band.
pub(super) const BAND_BYTES: usize = 4;
/// Bytes of a pair.
pub(super) const PAIR_BYTES: usize = 2;
/// Bytes of the free family's record.
pub(super) const FREE_BYTES: usize = 18;
/// The highest count of a band.
pub(super) const TOP: u16 = 1023;
/// A slot's first byte, written last.
pub const MAGIC: u8 = 0xB5;
/// Bytes of a slot's header.
pub const HEADER_BYTES: usize = 8;

/// Bits of the flags.
pub(super) mod flag {
    pub(in super::super) const REFERENCE: u8 = 0x03;
    pub(in super::super) const MONITOR: u8 = 0x04;
    pub(in super::super) const ROLLOVER: u8 = 0x08;
    pub(in super::super) const TWO_WIRES: u8 = 0x10;
    pub(in super::super) const INFRARED: u8 = 0x20;
    pub(in super::super) const ZERO: u8 = 0x40;
    pub(in super::super) const FREE: u8 = 0x80;
}
/// In a button's low count: it hangs on wire 2.
pub(super) const SECOND_WIRE: u16 = 0x8000;

/// An image's checksum as its header keeps it: CRC-16/IBM-3740 over format, length (low byte first) and
/// body.
#[must_use]
pub fn check(body: &[u8]) -> u16 {
    let length = u16::try_from(body.len()).unwrap_or(u16::MAX).to_le_bytes();
    crc16(&[&[FORMAT, length[0], length[1]], body].concat())
}

/// A slot as it lies in the box: its header, then the body. [`BODY_MAX`] bytes of body at most.
#[must_use]
pub fn slot_bytes(body: &[u8], sequence: u8) -> Vec<u8> {
    let length = u16::try_from(body.len()).unwrap_or(u16::MAX).to_le_bytes();
    let check = check(body).to_le_bytes();
    let mut slot = vec![MAGIC, FORMAT, sequence, !sequence, length[0], length[1], check[0], check[1]];
    slot.extend_from_slice(body);
    slot
}

impl Image {
    /// The image's body, at most [`BODY_MAX`] bytes.
    ///
    /// # Errors
    /// [`Misfit`] for what the layout can't hold.
    pub fn to_body(&self) -> Result<Vec<u8>, Misfit> {
        if let Some((place, what)) = self.fault() {
            let advice = "Build the image again from the project.".to_owned();
            return Err(Misfit { place: place.to_owned(), what, advice });
        }
        let mut body = Vec::with_capacity(BODY_MAX);
        self.put_head(&mut body);
        for rest in &self.rests {
            put_band(&mut body, *rest, 1);
        }
        for button in &self.buttons {
            put_band(&mut body, button.band, button.wire);
        }
        for pair in &self.pairs {
            let every = pair.every_ms.map_or(0, |ms| ms / EVERY_STEP_MS);
            let bits = u16::from(pair.button)
                | gesture_number(pair.gesture) << 4
                | u16::from(pair.repeats) << 6
                | u16::from(pair.command) << 7
                | every << 12;
            put_u16(&mut body, bits);
        }
        if let Some(free) = &self.free {
            put_free(&mut body, free);
        }
        let codes: Vec<&ImageCode> = self.commands.iter().map(|command| &command.code).collect();
        for group in groups(&codes) {
            put_group(&mut body, group, self.free.as_ref());
        }
        if body.len() > BODY_MAX {
            return Err(Misfit {
                place: "image".to_owned(),
                what: format!(
                    "The image would be {} bytes too long: {} of {BODY_MAX}.",
                    body.len() - BODY_MAX,
                    body.len()
                ),
                advice: "Keep fewer codes in the box.".to_owned(),
            });
        }
        Ok(body)
    }

    /// Bytes of the body by the layout's sums, whether they fit or not.
    #[must_use]
    pub fn body_length(&self) -> usize {
        let free = self.free.as_ref();
        let codes: Vec<&ImageCode> = self.commands.iter().map(|command| &command.code).collect();
        let heads: usize = groups(&codes)
            .map(|group| 1 + Widths::of(group[0].group().0, free).map_or(0, Widths::address_bytes))
            .sum();
        HEAD_BYTES
            + BAND_BYTES * (self.rests.len() + self.buttons.len())
            + PAIR_BYTES * self.pairs.len()
            + free.map_or(0, |_| FREE_BYTES)
            + heads
            + self.code_bytes().iter().sum::<usize>()
    }

    fn put_head(&self, body: &mut Vec<u8>) {
        let mut flags = match self.reference {
            ReferenceUse::Supply => 0,
            ReferenceUse::Internal => 1,
            ReferenceUse::External => 2,
        };
        for (is_set, bit) in [
            (self.feed_count.is_some(), flag::MONITOR),
            (self.rollover, flag::ROLLOVER),
            (self.rests.len() == 2, flag::TWO_WIRES),
            (self.infrared, flag::INFRARED),
            (self.free.is_some(), flag::FREE),
        ] {
            flags |= if is_set { bit } else { 0 };
        }
        body.push(flags);
        body.push(self.dwell_ms);
        put_u16(body, steps(self.settle_count));
        put_u16(body, self.hold_ms);
        put_u16(body, self.double_ms);
        put_u16(body, self.feed_count.map_or(0, steps));
        // No more than 16, 48 and 32: `fault` has looked.
        body.extend([self.buttons.len() as u8, self.pairs.len() as u8, self.commands.len() as u8]);
        put_u16(body, self.mark);
        body.push(0);
    }

    /// The first thing in it that the layout can't hold: where and what.
    pub(super) fn fault(&self) -> Option<(&'static str, String)> {
        if !(1..=64).contains(&self.dwell_ms) {
            return Some(("plan.dwell_ms", format!("The dwell is {} ms; 1 to 64 ms fit.", self.dwell_ms)));
        }
        if !self.settle_count.is_finite() || !(1.0..=65_535.0).contains(&in_steps(self.settle_count)) {
            let what = format!("The settle limit is {} counts; 1/32 to 2047 fit.", self.settle_count);
            return Some(("plan.settle_count", what));
        }
        if let Some(count) = self.feed_count
            && !(count.is_finite() && (1.0..f64::from(SECOND_WIRE)).contains(&in_steps(count)))
        {
            let what = format!("The feed monitor would read {count:.0} at the nominal feed; 1 to 1023 fit.");
            return Some(("circuit.feed_monitor", what));
        }
        if !(1..=2).contains(&self.rests.len()) {
            return Some(("rests", format!("There are {} wires; 1 or 2 fit.", self.rests.len())));
        }
        for (place, len, most, of) in [
            ("wheel.buttons", self.buttons.len(), BUTTONS_MAX, "buttons"),
            ("pairs", self.pairs.len(), PAIRS_MAX, "pairs"),
            ("stereo.commands", self.commands.len(), COMMANDS_MAX, "commands in use"),
        ] {
            if len > most {
                return Some((place, format!("There are {len} {of}, {} more than fit.", len - most)));
            }
        }
        let bands = self.rests.iter().chain(self.buttons.iter().map(|button| &button.band));
        if let Some(band) = bands.into_iter().find(|band| band.low.max(band.high) > TOP) {
            let what = format!("A band is {} to {}; 0 to 1023 fits.", band.low, band.high);
            return Some(("learned", what));
        }
        let wires = self.rests.len();
        if let Some(button) = self.buttons.iter().find(|b| !(1..=wires).contains(&usize::from(b.wire))) {
            return Some(("wheel.buttons", format!("A button is on wire {} of {wires}.", button.wire)));
        }
        if let Some(what) = self.pair_fault() {
            return Some(("pairs", what));
        }
        let free = self.free.as_ref();
        let what = free
            .and_then(FreeFamily::fault)
            .or_else(|| self.commands.iter().find_map(|command| command.code.fault(free)));
        what.map(|what| ("stereo.commands", what))
    }

    fn pair_fault(&self) -> Option<String> {
        for pair in &self.pairs {
            if usize::from(pair.button) >= self.buttons.len() {
                return Some(format!("A pair is for button {} of {}.", pair.button, self.buttons.len()));
            }
            if usize::from(pair.command) >= self.commands.len() {
                return Some(format!("A pair sends command {} of {}.", pair.command, self.commands.len()));
            }
            if let Some(ms) = pair.every_ms
                && !can_repeat_every(ms)
            {
                return Some(format!("A pair repeats every {ms} ms; 50 to 750 ms in steps of 50 fit."));
            }
        }
        None
    }
}

fn in_steps(count: f64) -> f64 {
    (count * Level::PER_COUNT).round()
}

/// A count in steps of 1/32; held at the ends by the cast.
fn steps(count: f64) -> u16 {
    in_steps(count) as u16
}

fn put_u16(body: &mut Vec<u8>, number: u16) {
    body.extend(number.to_le_bytes());
}

fn put_band(body: &mut Vec<u8>, band: ImageBand, wire: u8) {
    put_u16(body, band.low | if wire == 2 { SECOND_WIRE } else { 0 });
    put_u16(body, band.high);
}

fn put_free(body: &mut Vec<u8>, free: &FreeFamily) {
    for duration in
        [free.leader.0, free.leader.1, free.zero.0, free.zero.1, free.one.0, free.one.1, free.period]
    {
        put_u16(body, duration);
    }
    let repeat = match free.repeat {
        FreeRepeat::WholeFrame => 0,
        FreeRepeat::Once => 1,
        FreeRepeat::WithoutLeader => 2,
        FreeRepeat::ShortFrame => 3,
    };
    let flags = u8::from(free.high_first)
        | u8::from(free.stop_mark) << 1
        | u8::from(free.address_inverse) << 2
        | u8::from(free.command_inverse) << 3
        | repeat << 4;
    body.extend([flags, free.carrier_khz, free.address_bits, free.command_bits]);
}

/// Runs of commands of one family and address, 16 at most each.
fn groups<'a>(codes: &'a [&'a ImageCode]) -> impl Iterator<Item = &'a [&'a ImageCode]> {
    codes.chunk_by(|a, b| a.group() == b.group()).flat_map(|run| run.chunks(GROUP_MAX))
}

/// One group: its head, then its commands. All are of one family and address, 1 to 16 of them.
pub(super) fn put_group(body: &mut Vec<u8>, codes: &[&ImageCode], free: Option<&FreeFamily>) {
    let Some(first) = codes.first() else { return };
    let (family, address) = first.group();
    debug_assert!(family == RAW || family == FREE || family < FREE);
    body.push(family | ((codes.len() - 1) as u8) << 4);
    let widths = Widths::of(family, free);
    let address_bytes = widths.map_or(0, Widths::address_bytes);
    body.extend(&address.to_le_bytes()[..address_bytes]);
    for code in codes {
        match code {
            ImageCode::Raw(record) => put_raw(body, record),
            ImageCode::Family { command, .. } | ImageCode::Free { command, .. } => {
                let command_bytes = widths.map_or(0, Widths::command_bytes);
                body.extend(&command.to_le_bytes()[..command_bytes]);
            }
        }
    }
}

fn put_raw(body: &mut Vec<u8>, record: &RawRecord) {
    body.push(record.symbols.len() as u8);
    put_u16(body, record.period);
    body.push(record.durations.len() as u8);
    for &duration in &record.durations {
        put_u16(body, duration);
    }
    let start = body.len();
    body.resize(start + (3 * record.symbols.len()).div_ceil(8), 0);
    for (at, &symbol) in record.symbols.iter().enumerate() {
        let bit = 3 * at;
        let wide = u16::from(symbol & 7) << (bit % 8);
        let [low, high] = wide.to_le_bytes();
        body[start + bit / 8] |= low;
        if high != 0 {
            body[start + bit / 8 + 1] |= high;
        }
    }
}

fn gesture_number(gesture: Gesture) -> u16 {
    match gesture {
        Gesture::Tap => 0,
        Gesture::Hold => 1,
        Gesture::DoubleTap => 2,
    }
}
