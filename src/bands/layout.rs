//! How the count axis of one wire is shared out: each rung's tolerance interval first, then part
//! of the gaps nobody uses. Knows no buttons and no spread between presses.

use crate::circuit::Shift;
use crate::units::TOP_COUNT;

use super::band::Accept;
use super::divider::Wear;
use super::gaussian::{Normal, minimum_error_threshold};

/// The share of an unused gap that stays rejected, where that is more than the floor (common
/// practice, no source): a third for the one, a third for the other, a third for neither.
const REJECT_SHARE: f64 = 1.0 / 3.0;

/// A rung as the axis sees it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Slot {
    pub(super) centre_count: f64,
    pub(super) sigma_count: f64,
    /// First and last whole count of its tolerance interval, rounded outward, 0 to 1023.
    pub(super) low: i32,
    pub(super) high: i32,
    /// How far the circuit can drift it, in whole counts, rounded outward.
    drift_down: i32,
    drift_up: i32,
}

impl Slot {
    /// `low` and `high` are the ends of the tolerance interval, in counts.
    pub(super) fn new(centre_count: f64, sigma_count: f64, low: f64, high: f64) -> Self {
        let whole = |count: f64| count.clamp(0.0, TOP_COUNT) as i32;
        let (low, high) = (whole(low.floor()), whole(high.ceil()));
        Self { centre_count, sigma_count, low, high, drift_down: 0, drift_up: 0 }
    }

    /// The same, with what the circuit can drift.
    pub(super) fn drifting(self, drift: Shift) -> Self {
        let whole = |count: f64| if count > 0.0 { count.min(TOP_COUNT).ceil() as i32 } else { 0 };
        Self { drift_down: whole(drift.down_count), drift_up: whole(drift.up_count), ..self }
    }

    /// Whole counts between this interval and one above it; below 1, the two can't be told apart.
    pub(super) fn room_to(&self, upper: &Self) -> i32 {
        upper.low - self.high - 1
    }

    fn normal(&self) -> Normal {
        Normal { mean_count: self.centre_count, sigma_count: self.sigma_count }
    }
}

/// Whether less than a whole count lies free between two intervals.
pub(super) fn touches(one: &Slot, other: &Slot) -> bool {
    one.room_to(other) < 1 && other.room_to(one) < 1
}

/// How gaps are shared out.
#[derive(Clone, Copy, Debug)]
pub(super) struct Rules {
    pub(super) wear: Wear,
    /// The least reject gap, in whole counts; at least 1.
    pub(super) floor: i32,
    /// Whether unused gaps may be given out at all.
    pub(super) widen: bool,
}

/// The accept bands of rungs sorted by their centres: in order and never overlapping, each holding
/// its tolerance interval where a whole count lies free between it and its neighbours'. `None`
/// where nothing is left for a rung between two it cannot be told apart from.
pub(super) fn accept_bands(slots: &[Slot], rules: Rules) -> Vec<Option<Accept>> {
    let top = TOP_COUNT as i32;
    let mut edges: Vec<(i32, i32)> = slots.iter().map(|slot| (slot.low, slot.high)).collect();
    // A rung near a rail is told from a broken or shorted wire, which reads the rail itself, as
    // from a neighbour that takes no room; where no reject gap fits, it takes the rail.
    if rules.widen
        && let (Some(first), Some(last)) = (slots.first(), slots.last())
    {
        let (_, up) = share_out(first.low, (0, first.drift_down), rules);
        edges[0].0 = if first.low < rules.floor { 0 } else { first.low - up };
        let (down, _) = share_out(top - last.high, (last.drift_up, 0), rules);
        let end = slots.len() - 1;
        edges[end].1 = if top - last.high < rules.floor { top } else { last.high + down };
    }
    for (index, pair) in slots.windows(2).enumerate() {
        let [lower, upper] = pair else { continue };
        let room = lower.room_to(upper);
        if room >= 1 {
            let (below, above) = share_out(room, (lower.drift_up, upper.drift_down), rules);
            edges[index].1 = lower.high + below;
            edges[index + 1].0 = upper.low - above;
        } else {
            let cut = cut_between(lower, upper);
            edges[index].1 = lower.high.min(cut - 1);
            edges[index + 1].0 = upper.low.max(cut);
        }
    }
    edges
        .into_iter()
        .map(|(low, high)| {
            let (low_count, high_count) = (u16::try_from(low).ok()?, u16::try_from(high).ok()?);
            (low <= high).then_some(Accept { low_count, high_count })
        })
        .collect()
}

/// How many of `room` free counts go to the band below and to the band above them, which drift into it by
/// so many.
///
/// Each gets its part of what lies free; one that drifts further gets as much as it drifts, and none
/// reaches to where the other can drift, or nearer to that than the floor: a press there is better ignored
/// than taken for the wrong button. Where the drifts meet, less is given than is free; where one drifts as
/// far as the other's interval, nothing is given to the other.
fn share_out(room: i32, (up, down): (i32, i32), rules: Rules) -> (i32, i32) {
    if !rules.widen || room <= 0 {
        return (0, 0);
    }
    let reject = ((f64::from(room) * REJECT_SHARE).ceil() as i32).max(rules.floor);
    let spare = (room - reject).max(0);
    let below = (f64::from(spare) * rules.wear.share_of_lower()).round() as i32;
    let most = |other: i32| (room - other - rules.floor).max(0);
    let given = |share: i32, own: i32, other: i32| share.max(own).min(most(other));
    (given(below, up, down), given(spare - below, down, up))
}

/// The first whole count above the point of least error between two rungs that overlap; between
/// their centres, so that a row of such rungs stays in order.
fn cut_between(lower: &Slot, upper: &Slot) -> i32 {
    let middle = f64::midpoint(lower.centre_count, upper.centre_count);
    let threshold = minimum_error_threshold(lower.normal(), upper.normal(), 1.0)
        .filter(|at| (lower.centre_count..=upper.centre_count).contains(at));
    threshold.unwrap_or(middle).ceil() as i32
}

#[cfg(test)]
mod tests {
    use super::*;

    const UP: Rules = Rules { wear: Wear::Up, floor: 8, widen: true };

    fn slot(centre: f64, half: f64) -> Slot {
        Slot::new(centre, half / 5.0, centre - half, centre + half)
    }

    fn edges(slots: &[Slot], rules: Rules) -> Vec<Option<(u16, u16)>> {
        let bands = accept_bands(slots, rules);
        bands.into_iter().map(|band| band.map(|accept| (accept.low_count, accept.high_count))).collect()
    }

    #[test]
    fn the_side_wear_moves_to_gets_twice_the_room() {
        let pair = [slot(400.0, 5.0), slot(500.0, 5.0)];
        // 89 free: 30 rejected, 59 spare.
        for (wear, below) in [(Wear::Up, 39), (Wear::Down, 20), (Wear::Unknown, 30)] {
            let bands = edges(&pair, Rules { wear, ..UP });
            assert_eq!(bands[0].unwrap().1, 405 + below);
            assert_eq!(bands[1].unwrap().0, 495 - (59 - below));
        }
    }

    #[test]
    fn a_narrow_gap_is_rejected_whole() {
        let bands = edges(&[slot(400.0, 5.0), slot(415.0, 5.0)], UP);
        assert_eq!((bands[0].unwrap().1, bands[1].unwrap().0), (405, 410));
    }

    #[test]
    fn nothing_is_given_out_while_a_rung_is_missing() {
        let bands = edges(&[slot(400.0, 5.0), slot(600.0, 5.5)], Rules { widen: false, ..UP });
        assert_eq!(bands, [Some((395, 405)), Some((594, 606))]);
    }

    #[test]
    fn overlapping_rungs_are_trimmed_where_errors_are_fewest() {
        assert_eq!(
            edges(&[slot(400.0, 5.0), slot(404.0, 5.0)], Rules { widen: false, ..UP }),
            [Some((395, 401)), Some((402, 409))]
        );
        // The wide one gives way.
        let bands = edges(&[slot(400.0, 2.0), slot(412.0, 20.0)], Rules { widen: false, ..UP });
        assert_eq!((bands[0], bands[1].unwrap().0), (Some((398, 401)), 402));
    }

    #[test]
    fn rungs_on_top_of_each_other_never_overlap() {
        let bands = edges(&[slot(400.0, 2.0); 4], UP);
        let mut last = -1_i32;
        for (low, high) in bands.iter().flatten() {
            assert!(i32::from(*low) > last && low <= high, "{bands:?}");
            last = i32::from(*high);
        }
        assert!(bands.iter().any(Option::is_some));
    }

    #[test]
    fn a_rung_at_the_rail_takes_the_rail() {
        let bands = edges(&[slot(3.0, 2.0), slot(1023.0, 2.0)], UP);
        assert_eq!(bands[0].unwrap().0, 0);
        assert_eq!(bands[1].unwrap().1, 1023);
    }

    #[test]
    fn a_broken_or_shorted_wire_is_told_from_the_outermost_rungs() {
        let bands = edges(&[slot(83.0, 8.0), slot(959.0, 2.0)], UP);
        assert!(bands[0].unwrap().0 >= 25 && bands[1].unwrap().1 <= 1002, "{bands:?}");
    }
}
