//! The settle limit that the noise gives: how far the readings of a dwell may spread. Knows no dwell.

use super::{ASSUMED_WITHIN_COUNT, BandSet};

/// The settle limit in standard deviations of the noise within a press. Of dwells of 24 readings of
/// steady noise, taken as the box takes them (whole counts, middle of three), fewer than 3 in 1000 span
/// more than 4 of them, the mean 2.3 (computed by simulation); such a dwell begins anew, a tick later.
const SETTLE_SIGMA: f64 = 4.0;

/// No settle limit is set below this, in counts: a still reading between two whole counts flickers by
/// one, and the converter's neighbours differ in width by another (ATmega328P datasheet 8161D, table
/// 28-7, differential non-linearity).
const LEAST_SETTLE_COUNT: f64 = 2.0;

/// The settle limit that the noise gives, in counts, whatever the plan says.
#[must_use]
pub fn auto_settle_count(bands: &BandSet) -> f64 {
    (SETTLE_SIGMA * noise_count(bands)).ceil().max(LEAST_SETTLE_COUNT)
}

/// The noise within the presses of the noisiest button that was learned, as a standard deviation in
/// counts.
#[must_use]
pub fn noise_count(bands: &BandSet) -> f64 {
    let measured = bands.buttons.iter().filter(|band| band.measured).map(|band| band.within_count);
    let noise = measured.fold(0.0, f64::max);
    if noise > 0.0 { noise } else { ASSUMED_WITHIN_COUNT }
}
