//! How the rungs of one wire stand to each other: their bands, the gaps between, separation,
//! headroom and verdict. Knows no presses.

use crate::circuit::{Circuit, is_ratio};
use crate::units::TOP_COUNT;

use super::band::{Accept, Band, Gap, Rung};
use super::chance::chance_of;
use super::divider::Wear;
use super::edges::{DraggedEdges, Edge, Wanted, move_edges};
use super::layout::{Rules, Slot, accept_bands, touches};
use super::place::{Placed, Placer};
use super::verdict::Verdict;

impl Placer<'_> {
    /// Shares out one wire's axis, and says how each of its rungs stands.
    pub(super) fn lay_out(&self, wire: u8, widen: bool, placed: &mut [Placed], gaps: &mut Vec<Gap>) {
        let wear = self.divider.map_or(Wear::Unknown, |divider| divider.wear());
        let row = row_of(wire, placed);
        let slots: Vec<Slot> = row.iter().map(|&index| placed[index].slot).collect();
        let accepted = accept_bands(&slots, Rules { wear, floor: self.floor, widen });
        for (&index, accept) in row.iter().zip(accepted) {
            placed[index].band.accept = accept;
        }
        self.move_by_hand(&row, placed);
        for pair in row.windows(2) {
            let (lower, upper) = (placed[pair[0]].band.rung, placed[pair[1]].band.rung);
            placed[pair[0]].band.above = Some(upper);
            placed[pair[1]].band.below = Some(lower);
        }
        let filled = row.iter().filter_map(|&index| Some((&placed[index].band, placed[index].band.accept?)));
        for ((lower, below), (upper, above)) in filled.clone().zip(filled.skip(1)) {
            gaps.push(Gap {
                wire,
                lower: lower.rung,
                upper: upper.rung,
                reject_low_count: below.high_count + 1,
                reject_high_count: above.low_count.saturating_sub(1),
            });
        }
        let taken: Vec<(Rung, Accept)> = row
            .iter()
            .map(|&index| &placed[index].band)
            .filter(|band| band.measured && matches!(band.rung, Rung::Button(_)))
            .filter_map(|band| Some((band.rung, band.accept?)))
            .collect();
        for index in 0..placed.len() {
            if placed[index].band.wire != wire {
                continue;
            }
            self.measure_against(&row, index, placed);
            let band = &mut placed[index].band;
            if let Some(own) = taken.iter().position(|&(rung, _)| rung == band.rung) {
                band.chance = Some(chance_of(band.centre_count, band.sigma_count, band.drift, own, &taken));
            }
            let verdict = self.verdict(&row, index, placed, gaps);
            placed[index].band.verdict = verdict;
        }
    }

    /// The edges that a person moved.
    fn move_by_hand(&self, row: &[usize], placed: &mut [Placed]) {
        let filled: Vec<usize> =
            row.iter().copied().filter(|&index| placed[index].band.accept.is_some()).collect();
        let edges_of = |rung: Rung| match rung {
            Rung::Button(button) => self.input.buttons[button].edges,
            Rung::Rest(_) => DraggedEdges::default(),
        };
        let wanted: Vec<Wanted> = filled
            .iter()
            .map(|&index| &placed[index].band)
            .map(|band| Wanted {
                rung: band.rung,
                centre_count: band.centre_count,
                edges: edges_of(band.rung),
            })
            .collect();
        if wanted.iter().all(|wanted| wanted.edges == DraggedEdges::default()) {
            return;
        }
        let mut accepts: Vec<Accept> = filled.iter().filter_map(|&index| placed[index].band.accept).collect();
        let moved = move_edges(&wanted, &mut accepts, self.floor);
        for ((&index, accept), moved) in filled.iter().zip(accepts).zip(moved) {
            placed[index].band.accept = Some(accept);
            placed[index].band.moved = moved;
        }
    }

    /// Separation and headroom of one rung against the others in the row.
    fn measure_against(&self, row: &[usize], index: usize, placed: &mut [Placed]) {
        let band = &placed[index].band;
        let (mut separation, mut gap) = (None::<f64>, None::<f64>);
        for other in row.iter().filter(|&&other| other != index).map(|&other| &placed[other].band) {
            let apart = (band.centre_count - other.centre_count).abs();
            let sigmas = apart / band.sigma_count.hypot(other.sigma_count);
            separation = Some(separation.map_or(sigmas, |least| least.min(sigmas)));
            gap = Some(gap.map_or(apart, |least| least.min(apart)));
        }
        let headroom = band.accept.filter(|_| matches!(band.rung, Rung::Button(_))).map(|accept| {
            self.headroom(band.centre_count, accept.low_count.into(), accept.high_count.into())
        });
        let feed = band.accept.filter(|_| matches!(band.rung, Rung::Button(_))).and_then(|accept| {
            self.divider?;
            Some(headroom_feed(self.input.circuit?, band.centre_count, accept))
        });
        let band = &mut placed[index].band;
        band.headroom_feed = feed;
        band.separation_sigma = separation;
        band.nearest_gap_count = gap;
        band.headroom_count = headroom.map(|(count, _)| count);
        band.headroom_ohm = headroom.and_then(|(_, ohm)| ohm);
    }

    /// Counts and ohms from a centre to the edge that wear moves it towards.
    fn headroom(&self, centre: f64, low: f64, high: f64) -> (f64, Option<f64>) {
        let Some(divider) = self.divider else {
            return ((centre - low).min(high - centre).max(0.0), None);
        };
        let (count, edge, end) = match divider.wear() {
            Wear::Down => (centre - low, low, 0.0),
            Wear::Up | Wear::Unknown => (high - centre, high, TOP_COUNT),
        };
        let ohm = if edge == end { f64::INFINITY } else { divider.ohm(edge) - divider.ohm(centre) };
        // Past the end of the curve both are infinite, and no wear moves the reading.
        (count.max(0.0), Some(if ohm.is_nan() { f64::INFINITY } else { ohm.max(0.0) }))
    }

    fn verdict(&self, row: &[usize], index: usize, placed: &[Placed], gaps: &[Gap]) -> Verdict {
        let entry = &placed[index];
        let band = &entry.band;
        let of = band.rung;
        if let Some(with) = entry.shares {
            return Verdict::Shared { of, with };
        }
        let apart = |other: &Band| (band.centre_count - other.centre_count).abs();
        let others = || row.iter().filter(|&&other| other != index).map(|&other| &placed[other]);
        let touching = others()
            .filter(|other| touches(&entry.slot, &other.slot))
            .min_by(|a, b| apart(&a.band).total_cmp(&apart(&b.band)))
            .map(|other| &other.band);
        let nearest = others().map(|other| &other.band).min_by(|a, b| apart(a).total_cmp(&apart(b)));
        let is_button = matches!(of, Rung::Button(_));
        if is_button && band.measured && band.spread_assumed || band.presses == 1 && is_button {
            return Verdict::MorePresses { of, presses: band.presses };
        }
        if let Some(other) = touching {
            let apart_count = apart(other);
            if !(band.measured && other.measured) {
                return Verdict::PlannedClose { of, other: other.rung, apart_count };
            }
            let noise_count = band.noise_count().max(other.noise_count());
            return Verdict::Indistinct { of, other: other.rung, apart_count, noise_count };
        }
        if !band.measured {
            return Verdict::Planned { of, count: band.centre_count };
        }
        if is_button && band.centre_count >= TOP_COUNT {
            return Verdict::Saturated { of };
        }
        if let Some(press_count) = entry.stray_count {
            return Verdict::Uneven { of, press_count, centre_count: band.centre_count };
        }
        let tightest = gaps
            .iter()
            .filter(|gap| gap.lower == of || gap.upper == of)
            .min_by_key(|gap| gap.reject_count())
            .filter(|gap| i32::from(gap.reject_count()) < self.floor);
        if let Some(gap) = tightest {
            let other = if gap.lower == of { gap.upper } else { gap.lower };
            let apart_count =
                placed.iter().find(|entry| entry.band.rung == other).map_or(0.0, |e| apart(&e.band));
            return Verdict::Close {
                of,
                other,
                apart_count,
                reject_count: gap.reject_count(),
                floor_count: u16::try_from(self.floor).unwrap_or(u16::MAX),
            };
        }
        if let Some(cut) = trimmed(band) {
            return cut;
        }
        if let Some((other, apart_count, meeting)) = self.meeting(row, index, placed) {
            return Verdict::Meets { of, other, apart_count, meeting };
        }
        Verdict::Safe {
            of,
            nearest: nearest.map(|other| (other.rung, apart(other))),
            headroom_ohm: band.headroom_ohm,
            headroom_count: band.headroom_count,
        }
    }
}

/// By what share the feed may leave its plan until a reading leaves its band.
fn headroom_feed(circuit: &Circuit, centre: f64, accept: Accept) -> f64 {
    if is_ratio(circuit) || centre <= 0.0 {
        return f64::INFINITY;
    }
    let (low, high) = (f64::from(accept.low_count), f64::from(accept.high_count));
    let up = if high >= TOP_COUNT { f64::INFINITY } else { high / centre - 1.0 };
    up.min(1.0 - low / centre).max(0.0)
}

/// A band with an edge that a person moved inside its tolerance interval.
fn trimmed(band: &Band) -> Option<Verdict> {
    let (accept, chance) = (band.accept?, band.chance?);
    let (low, high) = (f64::from(accept.low_count), f64::from(accept.high_count));
    let low_cut = band.moved.low.is_some() && low > band.tolerance_low_count.max(0.0).floor();
    let high_cut = band.moved.high.is_some() && high < band.tolerance_high_count.min(TOP_COUNT).ceil();
    let (edge, edge_count, reach_count) = match (low_cut, high_cut) {
        (true, _) => (Edge::Low, accept.low_count, band.tolerance_low_count),
        (false, true) => (Edge::High, accept.high_count, band.tolerance_high_count),
        (false, false) => return None,
    };
    Some(Verdict::Trimmed { of: band.rung, edge, edge_count, reach_count, ignored: chance.ignored })
}

/// The rungs that share out a wire's axis, by their centres: not those that share a band, nor
/// those planned on top of a measured one, for what was measured is the better known.
fn row_of(wire: u8, placed: &[Placed]) -> Vec<usize> {
    let own = |entry: &Placed| entry.band.wire == wire && entry.shares.is_none();
    let displaced = |entry: &Placed| {
        !entry.band.measured
            && placed
                .iter()
                .any(|other| own(other) && other.band.measured && touches(&entry.slot, &other.slot))
    };
    let mut row: Vec<usize> =
        (0..placed.len()).filter(|&index| own(&placed[index]) && !displaced(&placed[index])).collect();
    row.sort_by(|&a, &b| placed[a].band.centre_count.total_cmp(&placed[b].band.centre_count));
    row
}
