//! A virtual wheel: what a converter would read, one reading a millisecond, while a finger comes
//! down on a button, bounces, wanders and lets go. Knows no person and no link.
//!
//! One button at a time: a press while another is held is a finger that slid across.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::StandardNormal;

use crate::bands::Touch;
use crate::circuit::{Circuit, Reference, Sense};
use crate::signal::RawReading;
use crate::units::{TOP_COUNT, WIRES};

/// Milliseconds from one reading to the next.
const STEP_MS: f64 = 1.0;
/// A firm press: the time constant of the contact closing, in milliseconds.
const FIRM_TAU_MS: f64 = 0.7;
/// A light press closes more softly.
const LIGHT_TAU_MS: f64 = 12.0;
/// Where a firm or light contact starts from, in ohms.
const OPEN_OHM: f64 = 30_000.0;
/// How long a contact may bounce, in milliseconds: under 5 for rubber on gold, under 10 for a
/// metal dome (switch makers' guides).
const BOUNCE_MS: u32 = 6;
/// The share of readings inside that time that find the contact open.
const BOUNCE_SHARE: f64 = 0.3;
/// A slow press takes between these, in milliseconds, to within [`SLOW_LEFT_OHM`].
const SLOW_MS: (f64, f64) = (100.0, 1_000.0);
/// Where a slow press starts from, in ohms.
const SLOW_OHM: (f64, f64) = (20_000.0, 40_000.0);
/// What is left of a slow press's extra resistance when it has come down, in ohms.
const SLOW_LEFT_OHM: f64 = 1.0;
/// A light press wanders by this much at first, in ohms.
const WANDER_OHM: (f64, f64) = (6.0, 18.0);
/// How the wandering dies away: time constant in milliseconds.
const WANDER_TAU_MS: (f64, f64) = (90.0, 220.0);
/// The least a closed contact can have, in ohms.
const LEAST_CONTACT_OHM: f64 = 0.5;
/// Letting go: the extra resistance grows by this, in ohms, and again e-fold every
/// [`RELEASE_TAU_MS`].
const RELEASE_OHM: f64 = 30.0;
/// See [`RELEASE_OHM`], in milliseconds.
const RELEASE_TAU_MS: f64 = 0.8;
/// After this the wire is at rest again whatever its rest is, in milliseconds.
const RELEASE_MS: f64 = 14.0;

/// One button of a virtual wheel.
#[derive(Clone, Debug, PartialEq)]
pub struct PlanButton {
    /// What it is called.
    pub name: String,
    /// Its wire, 1 or 2; anything else is taken as 1.
    pub wire: u8,
    /// Seen across the wire and its return while pressed, without the contact, in ohms.
    pub ohm: f64,
}

/// How a virtual wheel is built.
#[derive(Clone, Debug, PartialEq)]
pub struct WheelPlan {
    /// Its buttons, in order.
    pub buttons: Vec<PlanButton>,
    /// Seen with no button pressed, for each wire, in ohms; infinite is open.
    pub rest_ohm: [f64; WIRES],
    /// The sense circuit. Its `contact_ohm` is not used: the contact is drawn anew at each press.
    pub circuit: Circuit,
    /// Noise of one reading before the converter rounds it down: standard deviation, in counts.
    pub noise_count: f64,
    /// A pressed contact's resistance, in ohms: mean over presses.
    pub contact_ohm: f64,
    /// The same from press to press: standard deviation, in ohms.
    pub contact_spread_ohm: f64,
    /// Whether contacts bounce.
    pub bounce: bool,
    /// Readings a second that are nowhere near the truth.
    pub spike_per_s: f64,
    /// How many wires a reading has, 1 or 2.
    pub wires: u8,
}

impl WheelPlan {
    /// The exact count of a wire that sees this resistance, before noise and the converter.
    #[must_use]
    pub fn count(&self, ohm: f64) -> f64 {
        self.circuit.ideal_count(ohm)
    }

    /// The exact count of a button pressed with a given contact resistance; not a number where
    /// there is no such button.
    #[must_use]
    pub fn button_count(&self, button: usize, contact_ohm: f64) -> f64 {
        self.buttons.get(button).map_or(f64::NAN, |b| self.count(b.ohm + contact_ohm))
    }
}

/// The demo van's wheel, as built: 7 buttons on one wire, a chain that ends in 10 kΩ, a sense
/// resistor of 1.0 kΩ to the feed.
#[must_use]
pub fn demo_van() -> WheelPlan {
    let buttons = [
        ("Volume up", 82.0),
        ("Volume down", 262.0),
        ("Next", 532.0),
        ("Previous", 922.0),
        ("Source", 1_162.0),
        ("Answer", 2_162.0),
        ("Mute", 4_862.0),
    ];
    WheelPlan {
        buttons: buttons
            .iter()
            .map(|&(name, ohm)| PlanButton { name: name.to_owned(), wire: 1, ohm })
            .collect(),
        rest_ohm: [14_862.0, f64::INFINITY],
        circuit: demo_circuit(),
        noise_count: 0.9,
        contact_ohm: 6.0,
        contact_spread_ohm: 3.0,
        bounce: true,
        spike_per_s: 0.02,
        wires: 1,
    }
}

/// The demo van's sense circuit. No contact of its own: meter readings and presses have it in
/// them already.
pub(super) fn demo_circuit() -> Circuit {
    Circuit {
        feed_monitor: None,
        filter: Default::default(),
        module: None,
        sense: Sense::PullUp,
        sense_ohm: 1_000.0,
        feed_v: 5.0,
        reference: Reference::Supply,
        contact_ohm: 0.0,
        leak_ohm: None,
    }
}

/// A wheel that can be pressed, and gives one reading a millisecond. The same plan, seed and
/// touches give the same readings.
#[derive(Clone, Debug)]
pub struct VirtualWheel {
    plan: WheelPlan,
    rng: ChaCha8Rng,
    /// Exact counts at rest, by wire: what most readings are made of.
    rest_count: [f64; WIRES],
    steps: u64,
    finger: Finger,
}

/// Where the finger is.
#[derive(Clone, Debug)]
enum Finger {
    Away,
    Down(Contact),
    LettingGo(Contact),
}

/// A contact, as drawn for one press.
#[derive(Clone, Debug)]
struct Contact {
    wire: usize,
    /// The button and its contact, in ohms.
    ohm: f64,
    since_ms: f64,
    touch: Touch,
    start_ohm: f64,
    tau_ms: f64,
    wander_ohm: f64,
    wander_tau_ms: f64,
    wander_per_ms: f64,
    /// One bit a millisecond: set where the contact is found open.
    open: u32,
}

impl Contact {
    /// What stands in the way above the closed contact, in ohms, `ms` after it began to close.
    fn closing_ohm(&self, ms: f64) -> f64 {
        if ms < f64::from(u32::BITS) && self.open >> (ms as u32) & 1 == 1 {
            return f64::INFINITY;
        }
        let closing = self.start_ohm * (-ms / self.tau_ms).exp();
        if self.touch == Touch::Light {
            closing
                + self.wander_ohm * (ms * self.wander_per_ms).sin().abs() * (-ms / self.wander_tau_ms).exp()
        } else {
            closing
        }
    }

    /// The same `ms` after it began to open.
    fn opening_ohm(&self, ms: f64) -> f64 {
        if ms >= RELEASE_MS || (ms < f64::from(u32::BITS) && self.open >> (ms as u32) & 1 == 1) {
            return f64::INFINITY;
        }
        RELEASE_OHM * ((ms / RELEASE_TAU_MS).exp() - 1.0)
    }
}

impl VirtualWheel {
    /// A wheel at rest, at 0 ms.
    #[must_use]
    pub fn new(plan: WheelPlan, seed: u64) -> Self {
        let rest_count = plan.rest_ohm.map(|ohm| plan.count(ohm));
        Self { plan, rng: ChaCha8Rng::seed_from_u64(seed), rest_count, steps: 0, finger: Finger::Away }
    }

    /// How it is built.
    #[must_use]
    pub fn plan(&self) -> &WheelPlan {
        &self.plan
    }

    /// When the next reading is taken, in milliseconds.
    #[must_use]
    pub fn now_ms(&self) -> f64 {
        self.steps as f64 * STEP_MS
    }

    /// Presses a button and keeps it pressed; a button that is not there is not pressed.
    pub fn press(&mut self, button: usize, touch: Touch) {
        let Some((wire, ohm)) = self.plan.buttons.get(button).map(|b| (usize::from(b.wire == 2), b.ohm))
        else {
            return;
        };
        let spread = self.plan.contact_spread_ohm * self.rng.sample::<f64, _>(StandardNormal);
        let contact_ohm = (self.plan.contact_ohm + spread).max(LEAST_CONTACT_OHM);
        let slow_ohm = between(&mut self.rng, SLOW_OHM);
        let slow_ms = between(&mut self.rng, SLOW_MS);
        let (start_ohm, tau_ms) = match touch {
            Touch::Slow => (slow_ohm, slow_ms / (slow_ohm / SLOW_LEFT_OHM).ln()),
            Touch::Light => (OPEN_OHM, LIGHT_TAU_MS),
            Touch::Firm | Touch::Picked => (OPEN_OHM, FIRM_TAU_MS),
        };
        let open = self.bounces();
        self.finger = Finger::Down(Contact {
            wire,
            ohm: ohm + contact_ohm,
            since_ms: self.now_ms(),
            touch,
            start_ohm,
            tau_ms,
            wander_ohm: between(&mut self.rng, WANDER_OHM),
            wander_tau_ms: between(&mut self.rng, WANDER_TAU_MS),
            wander_per_ms: 1.0 / between(&mut self.rng, (40.0, 110.0)),
            open,
        });
    }

    /// Lets go.
    pub fn release(&mut self) {
        if let Finger::Down(contact) = &self.finger {
            let mut contact = contact.clone();
            contact.since_ms = self.now_ms();
            contact.open = self.bounces();
            self.finger = Finger::LettingGo(contact);
        }
    }

    /// Takes the next reading, and moves on by exactly 1 ms.
    #[expect(
        clippy::should_implement_trait,
        reason = "a wheel never ends, and presses come between its readings: not an iterator"
    )]
    pub fn next(&mut self) -> RawReading {
        let t_ms = self.now_ms();
        self.steps += 1;
        let (wire, ohm) = match &self.finger {
            Finger::Away => (0, f64::INFINITY),
            Finger::Down(contact) => {
                (contact.wire, contact.ohm + contact.closing_ohm(t_ms - contact.since_ms))
            }
            Finger::LettingGo(contact) => {
                let ms = t_ms - contact.since_ms;
                let seen = (contact.wire, contact.ohm + contact.opening_ohm(ms));
                if ms >= RELEASE_MS {
                    self.finger = Finger::Away;
                }
                seen
            }
        };
        let mut raw = [RawReading::NONE; WIRES];
        let wires = usize::from(self.plan.wires).clamp(1, WIRES);
        for (index, raw) in raw.iter_mut().enumerate().take(wires) {
            let exact = if index == wire && ohm < self.plan.rest_ohm[index] {
                self.plan.count(ohm)
            } else {
                self.rest_count[index]
            };
            *raw = self.converted(exact);
        }
        RawReading { feed: RawReading::NONE, t_ms, raw }
    }

    /// What the converter makes of an exact count: noise, rounded down, held at its ends.
    fn converted(&mut self, exact_count: f64) -> u16 {
        if self.plan.spike_per_s > 0.0 && self.rng.random::<f64>() * 1e3 < self.plan.spike_per_s * STEP_MS {
            return self.rng.random_range(0..=TOP_COUNT as u16);
        }
        let noise = self.plan.noise_count * self.rng.sample::<f64, _>(StandardNormal);
        (exact_count + noise).floor().clamp(0.0, TOP_COUNT) as u16
    }

    fn bounces(&mut self) -> u32 {
        if !self.plan.bounce {
            return 0;
        }
        (1..=BOUNCE_MS).fold(0, |bits, ms| bits | u32::from(self.rng.random_bool(BOUNCE_SHARE)) << ms)
    }
}

fn between(rng: &mut ChaCha8Rng, (low, high): (f64, f64)) -> f64 {
    low + (high - low) * rng.random::<f64>()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pass(wheel: &mut VirtualWheel, ms: u32) {
        for _ in 0..ms {
            wheel.next();
        }
    }

    fn median(values: &mut [u16]) -> f64 {
        values.sort_unstable();
        f64::from(values[values.len() / 2])
    }

    #[test]
    fn the_demo_van_reads_what_ohms_law_says() {
        // 1024 · R / (R + 1000), contact of 6 Ω included, worked out by hand; the converter rounds
        // down, so that the median lies half a count lower.
        let expected = [82.8, 216.4, 358.0, 492.7, 551.0, 700.7, 849.3];
        let mut plan = demo_van();
        plan.contact_spread_ohm = 0.0;
        let mut wheel = VirtualWheel::new(plan, 1);
        let mut rest: Vec<u16> = (0..500).map(|_| wheel.next().raw[0]).collect();
        assert!((median(&mut rest) - 959.0).abs() <= 1.0);
        for (button, expected) in expected.iter().enumerate() {
            for touch in [Touch::Firm, Touch::Slow, Touch::Light] {
                wheel.press(button, touch);
                pass(&mut wheel, 1600);
                let mut settled: Vec<u16> = (0..400).map(|_| wheel.next().raw[0]).collect();
                let found = median(&mut settled);
                assert!(
                    (found + 0.5 - expected).abs() < 1.1,
                    "{button} {touch:?}: {found}, wanted {expected}"
                );
                wheel.release();
                pass(&mut wheel, 100);
                assert!(
                    (median(&mut (0..50).map(|_| wheel.next().raw[0]).collect::<Vec<_>>()) - 959.0).abs()
                        < 2.0
                );
            }
        }
    }

    #[test]
    fn a_slow_press_is_seen_on_the_rungs_it_passes() {
        let mut wheel = VirtualWheel::new(demo_van(), 4);
        wheel.press(0, Touch::Slow);
        let readings: Vec<u16> = (0..1500).map(|_| wheel.next().raw[0]).collect();
        for rung in [849_u16, 700, 551, 492, 358] {
            assert!(readings.iter().any(|&raw| raw.abs_diff(rung) < 12), "never near {rung}");
        }
    }

    #[test]
    fn readings_come_one_a_millisecond_and_the_same_seed_gives_the_same() {
        let run = || {
            let mut wheel = VirtualWheel::new(demo_van(), 9);
            wheel.press(3, Touch::Light);
            (0..300).map(|_| wheel.next()).collect::<Vec<_>>()
        };
        let readings = run();
        assert_eq!(readings, run());
        assert!(readings.iter().enumerate().all(|(k, r)| r.t_ms == k as f64));
        assert!(readings.iter().all(|r| r.raw[1] == RawReading::NONE && r.raw[0] <= 1023));
    }

    #[test]
    fn an_open_wire_rests_at_the_rail_and_wires_do_not_disturb_each_other() {
        let mut plan = demo_van();
        plan.rest_ohm = [f64::INFINITY; 2];
        plan.wires = 2;
        plan.spike_per_s = 0.0;
        plan.buttons[4].wire = 2;
        let mut wheel = VirtualWheel::new(plan, 2);
        wheel.press(4, Touch::Firm);
        pass(&mut wheel, 100);
        let reading = wheel.next();
        assert!(reading.raw[0] >= 1020 && reading.raw[1].abs_diff(551) < 20, "{reading:?}");
    }

    #[test]
    fn a_button_that_is_not_there_and_a_release_of_nothing_change_nothing() {
        let mut wheel = VirtualWheel::new(demo_van(), 2);
        wheel.release();
        wheel.press(99, Touch::Firm);
        assert!(wheel.next().raw[0].abs_diff(959) < 8);
        let mut empty = VirtualWheel::new(WheelPlan { buttons: Vec::new(), wires: 0, ..demo_van() }, 2);
        assert!(empty.next().raw[0].abs_diff(959) < 8);
    }
}
