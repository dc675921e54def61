//! In which state of the circuit one rung reaches another's band. Knows no names.

use crate::circuit::{Circuit, LEARNED_AT_C, Parts, Stress, seen_ohm, stressed_count};
use crate::units::ohm_text;

use super::band::Rung;
use super::place::{Placed, Placer};

/// The state in which a rung reaches another's band: of what can change, as little as it takes.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Meeting {
    /// The contact's gain in resistance, in ohms; 0 where wear has no part in it.
    pub wear_ohm: f64,
    /// The temperature, in °C; `None` where it has no part in it.
    pub celsius: Option<f64>,
    /// The feed off its plan, as a share; 0 where it has no part in it.
    pub feed_share: f64,
}

impl Meeting {
    /// `once worn by 61 Ω`, `at 71 °C`, `with the feed 3.1 % high`, and what of these it takes together.
    #[must_use]
    pub fn text(&self) -> String {
        let mut said = Vec::new();
        if self.wear_ohm > 0.0 {
            said.push(format!("once worn by {}", ohm_text(self.wear_ohm)));
        }
        if let Some(celsius) = self.celsius {
            said.push(format!("at {celsius:.0} °C").replace('-', "−"));
        }
        if self.feed_share != 0.0 {
            let way = if self.feed_share > 0.0 { "high" } else { "low" };
            said.push(format!("with the feed {:.1} % {way}", self.feed_share.abs() * 100.0));
        }
        if said.is_empty() { "as the converter errs".to_owned() } else { said.join(" and ") }
    }
}

/// Steps of halving: to a thousandth of what can change.
const HALVINGS: u32 = 12;

impl Placer<'_> {
    /// The neighbour whose band a rung can drift to, how far apart the two are, and in which state they
    /// meet. Rest takes nothing from anyone: what drifts to rest is ignored.
    pub(super) fn meeting(
        &self,
        row: &[usize],
        index: usize,
        placed: &[Placed],
    ) -> Option<(Rung, f64, Meeting)> {
        let (circuit, parts) = (self.input.circuit?, self.input.parts?);
        self.divider?;
        let at = row.iter().position(|&other| other == index)?;
        let band = &placed[index].band;
        band.accept?;
        let ohm = seen_ohm(circuit, band.centre_count);
        let sides = [(false, at.checked_sub(1)), (true, Some(at + 1))];
        sides.into_iter().find_map(|(up, side)| {
            let other = &placed[*row.get(side?)?].band;
            let accept = other.accept.filter(|_| matches!(other.rung, Rung::Button(_)))?;
            let room = if up {
                f64::from(accept.low_count) - band.tolerance_high_count
            } else {
                band.tolerance_low_count - f64::from(accept.high_count)
            };
            let drift = if up { band.drift.up_count } else { band.drift.down_count };
            if drift < room {
                return None;
            }
            let wears = matches!(band.rung, Rung::Button(_));
            let way = Way { circuit, parts, ohm, wears, up, error: self.converter_error_count };
            Some((other.rung, (other.centre_count - band.centre_count).abs(), way.meeting(room)))
        })
    }
}

/// A drift in one direction.
struct Way<'a> {
    circuit: &'a Circuit,
    parts: &'a Parts,
    ohm: f64,
    wears: bool,
    up: bool,
    error: f64,
}

impl Way<'_> {
    fn stress(&self, share: f64) -> Stress {
        Stress::worst(self.circuit, self.parts, self.wears, self.up, share)
    }

    /// How far a state moves the reading this way, in counts.
    fn moved(&self, stress: &Stress) -> f64 {
        let now = stressed_count(self.circuit, self.ohm, &Stress::default());
        let there = stressed_count(self.circuit, self.ohm, stress);
        if self.up { there - now } else { now - there }
    }

    /// The least share of a drift that takes the reading over `room` counts; `None` where all of it does
    /// not.
    fn least(&self, room: f64, only: impl Fn(Stress) -> Stress) -> Option<f64> {
        let reaches = |share: f64| self.moved(&only(self.stress(share))) >= room;
        if !reaches(1.0) {
            return None;
        }
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..HALVINGS {
            let middle = f64::midpoint(low, high);
            if reaches(middle) { high = middle } else { low = middle }
        }
        Some(high)
    }

    /// Wear alone where that will do, else temperature alone, else the feed alone, else all together.
    fn meeting(&self, room: f64) -> Meeting {
        let room = room - self.error;
        let whole = self.stress(1.0);
        let none = Stress::default();
        if let Some(share) = self.least(room, |s| Stress { wear_ohm: s.wear_ohm, ..none }) {
            return Meeting { wear_ohm: share * whole.wear_ohm, ..Meeting::default() };
        }
        let heat = |s: Stress| Stress { feed_share: 0.0, wear_ohm: 0.0, ..s };
        if let Some(share) = self.least(room, heat) {
            return Meeting { celsius: Some(self.celsius(share)), ..Meeting::default() };
        }
        if let Some(share) = self.least(room, |s| Stress { feed_share: s.feed_share, ..none }) {
            return Meeting { feed_share: share * whole.feed_share, ..Meeting::default() };
        }
        let share = self.least(room, |s| s).unwrap_or(1.0);
        Meeting {
            wear_ohm: share * whole.wear_ohm,
            celsius: Some(self.celsius(share)),
            feed_share: share * whole.feed_share,
        }
    }

    /// The temperature at a share of the largest change: to the side that is further from 25 °C.
    fn celsius(&self, share: f64) -> f64 {
        let (cold, hot) = (self.parts.cold_c - LEARNED_AT_C, self.parts.hot_c - LEARNED_AT_C);
        LEARNED_AT_C + share * if hot >= -cold { hot } else { cold }
    }
}
