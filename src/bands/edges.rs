//! Edges of an accept band that a person moved: where they end up, and why not where they were put.
//! Knows no names.

use serde::{Deserialize, Serialize};

use crate::units::{TOP_COUNT, count_text};

use super::band::{Accept, Rung};

/// Where a person put the edges of a band; `None` leaves an edge where it is computed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct DraggedEdges {
    /// The lowest count taken.
    pub low_count: Option<u16>,
    /// The highest count taken.
    pub high_count: Option<u16>,
}

/// One end of a band.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Edge {
    /// Its lowest count.
    Low,
    /// Its highest count.
    High,
}

/// What stopped an edge.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EdgeStop {
    /// Its own centre: a button always takes where it was learned.
    Centre,
    /// The least reject gap to this neighbour's band.
    Neighbour(Rung),
    /// The end of the scale.
    Scale,
}

/// An edge that a person moved.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct MovedEdge {
    /// Where it was put.
    pub wanted_count: u16,
    /// Where it is.
    pub count: u16,
    /// Where it would be by computation.
    pub computed_count: u16,
    /// What stopped it short of where it was put.
    pub stop: Option<EdgeStop>,
}

impl MovedEdge {
    /// Why it isn't where it was put, each rung named by `name_of`; `None` where it is.
    #[must_use]
    pub fn text(&self, edge: Edge, floor_count: u16, name_of: &dyn Fn(Rung) -> String) -> Option<String> {
        let end = if edge == Edge::Low { "lower" } else { "upper" };
        let (wanted, is) = (self.wanted_count, self.count);
        let why = match self.stop? {
            EdgeStop::Centre => "the band has to hold the button's own centre".to_owned(),
            EdgeStop::Neighbour(other) => format!(
                "{} counts stay rejected before the band of {}",
                count_text(f64::from(floor_count), 0),
                name_of(other)
            ),
            EdgeStop::Scale => "the scale ends there".to_owned(),
        };
        Some(format!("The {end} edge was put at {wanted} and stands at {is}: {why}."))
    }
}

/// Both edges of a band, as far as a person moved them.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct MovedEdges {
    /// The lower one.
    pub low: Option<MovedEdge>,
    /// The upper one.
    pub high: Option<MovedEdge>,
}

/// A band of one wire, and what a person wants of its edges.
#[derive(Clone, Copy, Debug)]
pub(super) struct Wanted {
    pub(super) rung: Rung,
    pub(super) centre_count: f64,
    pub(super) edges: DraggedEdges,
}

/// Moves the edges of a wire's bands, which lie upwards and don't overlap, as far as that goes: never past
/// a band's own centre, and never nearer to a neighbour than `floor` whole counts; where they are nearer
/// already, no further. Narrowing comes first, so that one edge makes way for another.
pub(super) fn move_edges(wanted: &[Wanted], accepts: &mut [Accept], floor: i32) -> Vec<MovedEdges> {
    let computed = accepts.to_vec();
    let mut moved = vec![MovedEdges::default(); accepts.len()];
    let put = |wanted_count: u16, count: i32, computed_count: u16, stop: EdgeStop| {
        let count = u16::try_from(count).unwrap_or(0);
        let stop = (count != wanted_count).then_some(stop);
        MovedEdge { wanted_count, count, computed_count, stop }
    };
    for (index, want) in wanted.iter().enumerate() {
        let centre = want.centre_count.floor().clamp(0.0, TOP_COUNT) as i32;
        let now = computed[index];
        // A squeezed band may not hold its own centre; then its edge gives way no further than it is.
        let (inmost_low, inmost_high) = (centre.max(now.low_count.into()), centre.min(now.high_count.into()));
        if let Some(low) = want.edges.low_count.filter(|&low| low >= now.low_count) {
            let at = i32::from(low).min(inmost_low);
            moved[index].low = Some(put(low, at, now.low_count, EdgeStop::Centre));
            accepts[index].low_count = u16::try_from(at).unwrap_or(now.low_count);
        }
        if let Some(high) = want.edges.high_count.filter(|&high| high <= now.high_count) {
            let at = i32::from(high).max(inmost_high).max(accepts[index].low_count.into());
            moved[index].high = Some(put(high, at, now.high_count, EdgeStop::Centre));
            accepts[index].high_count = u16::try_from(at).unwrap_or(now.high_count);
        }
    }
    for (index, want) in wanted.iter().enumerate() {
        let now = computed[index];
        if let Some(low) = want.edges.low_count.filter(|&low| low < now.low_count) {
            let below = index.checked_sub(1);
            let least = below.map_or(0, |below| i32::from(accepts[below].high_count) + floor + 1);
            let at = i32::from(low).max(least.min(now.low_count.into()));
            let stop = below.map_or(EdgeStop::Scale, |below| EdgeStop::Neighbour(wanted[below].rung));
            moved[index].low = Some(put(low, at, now.low_count, stop));
            accepts[index].low_count = u16::try_from(at).unwrap_or(now.low_count);
        }
        if let Some(high) = want.edges.high_count.filter(|&high| high > now.high_count) {
            let above = accepts.get(index + 1).map(|above| i32::from(above.low_count) - floor - 1);
            let most = above.unwrap_or(TOP_COUNT as i32);
            let at = i32::from(high).min(most.max(now.high_count.into()));
            let stop = wanted.get(index + 1).map_or(EdgeStop::Scale, |above| EdgeStop::Neighbour(above.rung));
            moved[index].high = Some(put(high, at, now.high_count, stop));
            accepts[index].high_count = u16::try_from(at).unwrap_or(now.high_count);
        }
    }
    moved
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wanted(number: usize, centre_count: f64, low: Option<u16>, high: Option<u16>) -> Wanted {
        Wanted {
            rung: Rung::Button(number),
            centre_count,
            edges: DraggedEdges { low_count: low, high_count: high },
        }
    }

    fn bands() -> Vec<Accept> {
        [(80, 120), (180, 220), (280, 320)]
            .map(|(low_count, high_count)| Accept { low_count, high_count })
            .to_vec()
    }

    fn ends(accepts: &[Accept]) -> Vec<(u16, u16)> {
        accepts.iter().map(|accept| (accept.low_count, accept.high_count)).collect()
    }

    #[test]
    fn an_edge_goes_where_it_is_put_between_centre_and_neighbour() {
        let mut accepts = bands();
        let want = [
            wanted(0, 100.0, Some(60), Some(150)),
            wanted(1, 200.0, Some(195), None),
            wanted(2, 300.0, None, None),
        ];
        let moved = move_edges(&want, &mut accepts, 8);
        assert_eq!(ends(&accepts), [(60, 150), (195, 220), (280, 320)]);
        assert!(moved.iter().all(|moved| moved.low.and_then(|edge| edge.stop).is_none()));
        assert_eq!(moved[0].high.unwrap().computed_count, 120);
        assert_eq!(moved[2], MovedEdges::default());
    }

    #[test]
    fn an_edge_stops_at_the_least_reject_gap_and_says_so() {
        let mut accepts = bands();
        let want = [
            wanted(0, 100.0, None, Some(400)),
            wanted(1, 200.0, Some(0), None),
            wanted(2, 300.0, None, None),
        ];
        let moved = move_edges(&want, &mut accepts, 8);
        // The first takes what it may; the second then finds no more room, and stays.
        assert_eq!(ends(&accepts), [(80, 171), (180, 220), (280, 320)]);
        let said = moved[0].high.unwrap().text(Edge::High, 8, &|_| "Source".to_owned());
        assert_eq!(
            said.as_deref(),
            Some(
                "The upper edge was put at 400 and stands at 171: 8 counts stay rejected before the band of Source."
            )
        );
        assert_eq!(moved[1].low.unwrap().stop, Some(EdgeStop::Neighbour(Rung::Button(0))));
    }

    #[test]
    fn an_edge_never_crosses_its_own_centre() {
        let mut accepts = bands();
        let want = [
            wanted(0, 100.0, Some(119), Some(85)),
            wanted(1, 200.0, None, Some(0)),
            wanted(2, 300.0, Some(1023), None),
        ];
        let moved = move_edges(&want, &mut accepts, 8);
        assert_eq!(ends(&accepts), [(100, 100), (180, 200), (300, 320)]);
        let said = moved[1].high.unwrap().text(Edge::High, 8, &|_| String::new());
        assert_eq!(
            said.as_deref(),
            Some(
                "The upper edge was put at 0 and stands at 200: the band has to hold the button's own centre."
            )
        );
    }

    #[test]
    fn one_edge_that_gives_way_makes_room_for_another() {
        let mut accepts = bands();
        let want = [
            wanted(0, 100.0, None, Some(185)),
            wanted(1, 200.0, Some(196), None),
            wanted(2, 300.0, None, None),
        ];
        move_edges(&want, &mut accepts, 8);
        assert_eq!(ends(&accepts)[..2], [(80, 185), (196, 220)]);
    }

    #[test]
    fn bands_that_are_too_near_already_come_no_nearer() {
        let mut accepts =
            vec![Accept { low_count: 80, high_count: 120 }, Accept { low_count: 123, high_count: 160 }];
        let want = [wanted(0, 100.0, None, Some(122)), wanted(1, 140.0, Some(121), None)];
        move_edges(&want, &mut accepts, 8);
        assert_eq!(ends(&accepts), [(80, 120), (123, 160)]);
    }
}
