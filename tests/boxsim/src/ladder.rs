//! A wheel's ladder on the converter: contacts that close and open by their own law, noise, a supply.

use std::sync::{Arc, Mutex, PoisonError};

use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

use crate::chip::HZ;
use crate::heard::{BANDGAP_CHANNEL, Power};

/// How a contact's own resistance goes over time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Contact {
    /// Closed at once, with this resistance, in ohms.
    Firm(f64),
    /// Falls exponentially from 15 kΩ to 6 Ω over so many seconds, and stays there.
    Slow(f64),
}

impl Contact {
    fn ohm(self, since_s: f64) -> f64 {
        match self {
            Self::Firm(ohm) => ohm,
            Self::Slow(over_s) => 15_000.0 * (6.0_f64 / 15_000.0).powf((since_s / over_s).min(1.0)),
        }
    }
}

/// The supply and what the converter measures against.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Supply {
    /// Volts of the supply, which also feeds the ladder.
    pub volt: f64,
    /// Volts on the reference pin; `None` where nothing drives it.
    pub reference_v: Option<f64>,
    /// The feed monitor's share of the feed, 0 to 1; `None` where it isn't fitted.
    pub monitor_share: Option<f64>,
    /// What this chip's bandgap truly is, in volts.
    pub bandgap_v: f64,
}

impl Default for Supply {
    fn default() -> Self {
        Self { volt: 5.0, reference_v: None, monitor_share: None, bandgap_v: 1.1 }
    }
}

#[derive(Clone, Debug)]
struct Press {
    from: u64,
    to: u64,
    wire: u8,
    ohm: f64,
    contact: Contact,
}

struct State {
    supply: Supply,
    rest_ohm: [f64; 2],
    sense_ohm: f64,
    noise_count: f64,
    presses: Vec<Press>,
    spikes: Vec<(u64, u64, f64)>,
    off: bool,
    rng: ChaCha8Rng,
}

/// A ladder, held by the test and by the chip at once.
#[derive(Clone)]
pub struct Ladder(Arc<Mutex<State>>);

impl Ladder {
    /// The demo van's wheel on wire 1, at rest; wire 2 at rest, too. Sense resistor 1 kΩ to the feed.
    #[must_use]
    pub fn demo(supply: Supply, seed: u64) -> Self {
        Self(Arc::new(Mutex::new(State {
            supply,
            rest_ohm: [14_862.0; 2],
            sense_ohm: 1_000.0,
            noise_count: 0.9,
            presses: Vec::new(),
            spikes: Vec::new(),
            off: false,
            rng: ChaCha8Rng::seed_from_u64(seed),
        })))
    }

    /// What the demo van's buttons add to the wire, in ohms.
    pub const DEMO_OHM: [f64; 7] = [82.0, 262.0, 532.0, 922.0, 1_162.0, 2_162.0, 4_862.0];

    fn with<T>(&self, look: impl FnOnce(&mut State) -> T) -> T {
        look(&mut self.0.lock().unwrap_or_else(PoisonError::into_inner))
    }

    /// Closes a resistance across a wire from one cycle to another.
    pub fn press_ohm(&self, wire: u8, ohm: f64, contact: Contact, from: u64, to: u64) {
        self.with(|state| {
            state.presses.push(Press { from, to, wire, ohm, contact });
        });
    }

    /// Presses a button of the demo van for so many milliseconds from a cycle on.
    pub fn press(&self, button: usize, contact: Contact, from: u64, ms: u64) {
        self.press_ohm(1, Self::DEMO_OHM[button], contact, from, from + ms * (HZ / 1_000));
    }

    /// Takes back every press and spike, done or to come.
    pub fn forget_presses(&self) {
        self.with(|state| {
            state.presses.clear();
            state.spikes.clear();
        });
    }

    /// Puts the wire at this share of the feed, whatever is pressed, from one cycle to another.
    pub fn spike(&self, share: f64, from: u64, to: u64) {
        self.with(|state| state.spikes.push((from, to, share)));
    }

    /// Whether the wire has fallen off: it floats at the feed.
    pub fn fall_off(&self, off: bool) {
        self.with(|state| state.off = off);
    }

    /// Another supply from now on.
    pub fn supply(&self, supply: Supply) {
        self.with(|state| state.supply = supply);
    }

    /// The noise of one reading before it is rounded down, in counts of a 5 V reference.
    pub fn noise(&self, count: f64) {
        self.with(|state| state.noise_count = count);
    }
}

impl State {
    /// Volts of a wire without noise.
    fn wire_v(&self, wire: u8, cycle: u64) -> f64 {
        if self.off {
            return self.supply.volt;
        }
        if let Some((.., share)) = self.spikes.iter().find(|(from, to, _)| (*from..*to).contains(&cycle)) {
            return self.supply.volt * share;
        }
        // A series chain: the nearest pressed tap wins, the others hang behind it. A closing contact
        // stands beside the rest of the chain.
        let rest_ohm = self.rest_ohm[usize::from(wire - 1)];
        let nearest = self
            .presses
            .iter()
            .filter(|press| press.wire == wire && (press.from..press.to).contains(&cycle))
            .min_by(|a, b| a.ohm.total_cmp(&b.ohm));
        let ohm = nearest.map_or(rest_ohm, |press| {
            let contact = press.contact.ohm((cycle - press.from) as f64 / HZ as f64);
            let beyond = (rest_ohm - press.ohm).max(1.0);
            press.ohm + contact * beyond / (contact + beyond)
        });
        self.supply.volt * ohm / (ohm + self.sense_ohm)
    }
}

impl Power for Ladder {
    fn supply_v(&self, _: u64) -> f64 {
        self.with(|state| state.supply.volt)
    }

    fn reference_pin_v(&self) -> Option<f64> {
        self.with(|state| state.supply.reference_v)
    }

    fn volt(&mut self, channel: u8, cycle: u64) -> f64 {
        self.with(|state| {
            let noise: f64 = StandardNormal.sample(&mut state.rng);
            let noise_v = noise * state.noise_count * 5.0 / 1024.0;
            state.presses.retain(|press| press.to > cycle);
            match channel {
                0 | 1 => state.wire_v(channel + 1, cycle) + noise_v,
                2 => state.supply.volt * state.supply.monitor_share.unwrap_or(0.0) + noise_v / 3.0,
                BANDGAP_CHANNEL => state.supply.bandgap_v,
                _ => 0.0,
            }
        })
    }
}
