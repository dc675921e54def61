//! Two buttons of one wire pressed at once: the resistance seen, and how far the parts may move its
//! reading. By closed form; the network of the wheel's room is its check. Knows no buttons by name
//! and no bands.
//!
//! In a chain the tap nearer the start wins, up to its contact: with `S` the steps to a tap, `c` a
//! contact and `L` the whole chain with its end-of-line resistor, the farther button only stands
//! beside that contact, behind the steps between the two. In a parallel ladder both resistors stand
//! side by side.

use super::Circuit;
use crate::wheel::{Topology, beside};

/// Two pressed buttons of one wire, as resistors.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TwoPressed {
    /// How the ladder is joined.
    pub topology: Topology,
    /// By button, without its contact, in ohms, 0 or more: from the start to its tap (series), or its
    /// own resistor (parallel). In any order.
    pub own_ohm: [f64; 2],
    /// By button, its contact, in ohms, 0 or more.
    pub contact_ohm: [f64; 2],
    /// Across the wire at rest, in ohms: the whole chain with its end-of-line resistor (series), or the
    /// end-of-line resistor (parallel); infinite where there is none.
    pub rest_ohm: f64,
}

/// How far parts and contacts may be off, as limits.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct PairDoubt {
    /// By button, its ladder resistors, as a share of 1.
    pub own_share: [f64; 2],
    /// From press to press, either way, in ohms.
    pub between_ohm: f64,
    /// The sense resistor, as a share of 1.
    pub sense_share: f64,
    /// The feed over the reference, as a share of 1.
    pub scale_share: f64,
    /// The converter's own error, in counts.
    pub converter_count: f64,
    /// What each contact may gain as it wears, in ohms; one way only.
    pub wear_ohm: f64,
}

/// Where a pair's reading lies, in exact counts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PairReach {
    /// With parts as they are meant.
    pub count: f64,
    /// The lowest it may read.
    pub low_count: f64,
    /// The highest.
    pub high_count: f64,
}

impl TwoPressed {
    /// The resistance seen across wire and return with both pressed, in ohms.
    ///
    /// Series, with `S` the nearer tap, `D` the steps between the two, and `T` what is behind the
    /// farther: `S + c ∥ (D + c' ∥ T)`. Parallel: `(R + c) ∥ (R' + c') ∥ E`.
    #[must_use]
    pub fn seen_ohm(&self) -> f64 {
        let [a, b] = self.own_ohm;
        let [a_contact, b_contact] = self.contact_ohm;
        match self.topology {
            Topology::Parallel => beside(beside(a + a_contact, b + b_contact), self.rest_ohm),
            Topology::Series => {
                let (near, near_contact, far, far_contact) =
                    if b < a { (b, b_contact, a, a_contact) } else { (a, a_contact, b, b_contact) };
                if far == f64::INFINITY {
                    // A broken step: nothing behind it takes part.
                    return near + near_contact;
                }
                let behind = if self.rest_ohm < far { f64::INFINITY } else { self.rest_ohm - far };
                near + beside(near_contact, far - near + beside(far_contact, behind))
            }
        }
    }
}

/// A button's own resistance behind what was seen with it pressed alone, all in ohms: what
/// [`TwoPressed`] is made of. What its contact, or the end-of-line resistor, alone explains is 0 Ω, or
/// open.
///
/// Series: `r = S + c ∥ (L − S)` solved for `S`. With `x = L − S` and `d = L − r` that is
/// `x² − d·x − c·d = 0`. Parallel: `r = (R + c) ∥ E` solved for `R`.
#[must_use]
pub fn own_ohm(topology: Topology, seen_ohm: f64, rest_ohm: f64, contact_ohm: f64) -> f64 {
    let without_end = || (seen_ohm - contact_ohm).max(0.0);
    if rest_ohm == f64::INFINITY {
        return without_end();
    }
    match topology {
        Topology::Parallel if seen_ohm >= rest_ohm => f64::INFINITY,
        // 1 / (1/r − 1/E), in a form that keeps its digits where E is far above r.
        Topology::Parallel => (seen_ohm / (1.0 - seen_ohm / rest_ohm) - contact_ohm).max(0.0),
        // Below rest nothing of a chain can read above it: the rest is another's, or was read wrong.
        Topology::Series if seen_ohm >= rest_ohm => without_end(),
        Topology::Series => {
            let apart = rest_ohm - seen_ohm;
            let behind = 0.5 * (apart + (apart * apart + 4.0 * contact_ohm * apart).sqrt());
            (rest_ohm - behind).max(0.0)
        }
    }
}

impl PairDoubt {
    /// Where the reading of this pair lies in this circuit. What may go either way is added as root
    /// sum square of its limits (tolerance stack-up, FACTS C4), each part taken as independent of the
    /// others; wear and the converter's error come on top of that.
    #[must_use]
    pub fn reach(&self, circuit: &Circuit, two: &TwoPressed) -> PairReach {
        let count_of = |circuit: &Circuit, two: &TwoPressed| circuit.ideal_count(two.seen_ohm());
        let count = count_of(circuit, two);
        let worn = TwoPressed { contact_ohm: two.contact_ohm.map(|ohm| ohm + self.wear_ohm), ..*two };
        let worn_count = count_of(circuit, &worn);
        let (mut down, mut up) = (0.0, 0.0);
        let mut add = |moved_count: f64| {
            let by = moved_count - count;
            if by < 0.0 {
                down += by * by;
            } else {
                up += by * by;
            }
        };
        for button in 0..2 {
            for sign in [-1.0, 1.0] {
                let mut moved = *two;
                moved.own_ohm[button] *= 1.0 + sign * self.own_share[button];
                add(count_of(circuit, &moved));
                let mut moved = *two;
                moved.own_ohm[button] = (moved.own_ohm[button] + sign * self.between_ohm).max(0.0);
                add(count_of(circuit, &moved));
            }
        }
        for sign in [-1.0, 1.0] {
            let sense_ohm = circuit.sense_ohm * (1.0 + sign * self.sense_share);
            add(count_of(&Circuit { sense_ohm, ..circuit.clone() }, two));
            add(count * (1.0 + sign * self.scale_share));
        }
        PairReach {
            count,
            low_count: count.min(worn_count) - down.sqrt() - self.converter_count,
            high_count: count.max(worn_count) + up.sqrt() + self.converter_count,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::{Hookup, Reference, Sense, converter_count};
    use crate::wheel::Ladder;
    use proptest::prelude::*;

    fn near(a: f64, b: f64) -> bool {
        a == b || (a - b).abs() <= 1e-9 * a.abs().max(b.abs())
    }

    /// Every pair of a ladder, from what each of its buttons reads alone.
    fn pairs(ladder: &Ladder, contact_ohm: f64) -> Vec<([usize; 2], TwoPressed)> {
        let rest_ohm = ladder.rest_ohm().unwrap();
        let own = |button| {
            let seen_ohm = ladder.single_ohm(button, contact_ohm).unwrap();
            own_ohm(ladder.topology, seen_ohm, rest_ohm, contact_ohm)
        };
        let mut pairs = Vec::new();
        for a in 1..=ladder.ohm.len() {
            for b in a + 1..=ladder.ohm.len() {
                let two = TwoPressed {
                    topology: ladder.topology,
                    own_ohm: [own(b), own(a)],
                    contact_ohm: [contact_ohm; 2],
                    rest_ohm,
                };
                pairs.push(([a, b], two));
            }
        }
        pairs
    }

    fn ladders() -> impl Strategy<Value = (Ladder, f64)> {
        let topology = prop_oneof![Just(Topology::Series), Just(Topology::Parallel)];
        let ohm = prop::collection::vec(1.0..2e4_f64, 2..9);
        let end = prop::option::of(500.0..5e4_f64);
        (topology, ohm, end, prop_oneof![Just(0.0), 0.05..600.0_f64])
            .prop_map(|(topology, ohm, end_ohm, contact)| (Ladder { topology, ohm, end_ohm }, contact))
    }

    proptest! {
        /// What every button reads alone is enough to know what any two read: held against the
        /// network, which solves the ladder whole.
        #[test]
        fn two_pressed_read_as_the_network_solves_them((ladder, contact_ohm) in ladders()) {
            for (pressed, two) in pairs(&ladder, contact_ohm) {
                let solved = ladder.seen_ohm(&pressed, contact_ohm).unwrap();
                let seen = two.seen_ohm();
                prop_assert!(near(seen, solved), "{pressed:?}: {seen} here, {solved} by the network");
            }
        }

        #[test]
        fn the_sense_node_stands_where_the_hooked_up_network_puts_it(
            (ladder, contact_ohm) in ladders(), pull_up in any::<bool>(), leak in prop::option::of(1e3..1e7_f64),
        ) {
            let sense = if pull_up { Sense::PullUp } else { Sense::PullDown };
            let circuit = Circuit { sense, contact_ohm, leak_ohm: leak, ..circuit(1_000.0, Reference::Supply) };
            let hookup = Hookup::new(&circuit, ladder.clone());
            for (pressed, two) in pairs(&ladder, contact_ohm) {
                let solved = hookup.node(&pressed).unwrap().volt;
                let here = circuit.node_v(two.seen_ohm());
                prop_assert!((here - solved).abs() < 1e-8, "{pressed:?}: {here} and {solved}");
            }
        }

        #[test]
        fn the_reach_holds_the_reading_of_any_parts_within_one_limit(
            (ladder, contact_ohm) in ladders(), worn in [0.0..1.0_f64, 0.0..1.0],
            which in 0_usize..3, sign in prop_oneof![Just(-1.0), Just(1.0)],
        ) {
            let doubt = PairDoubt { own_share: [0.05; 2], sense_share: 0.02, wear_ohm: 100.0, ..PairDoubt::default() };
            let circuit = circuit(1_000.0, Reference::Supply);
            for (_, two) in pairs(&ladder, contact_ohm) {
                let reach = doubt.reach(&circuit, &two);
                let (mut built, mut as_built) = (two, circuit.clone());
                match which {
                    0 | 1 => built.own_ohm[which] *= 1.0 + sign * 0.05,
                    _ => as_built.sense_ohm *= 1.0 + sign * 0.02,
                }
                let off = as_built.ideal_count(built.seen_ohm());
                prop_assert!(reach.low_count <= off + 1e-9 && off <= reach.high_count + 1e-9);
                for (contact, worn) in built.contact_ohm.iter_mut().zip(worn) {
                    *contact = two.contact_ohm[0] + 100.0 * worn;
                }
                let worn = TwoPressed { own_ohm: two.own_ohm, ..built };
                let count = circuit.ideal_count(worn.seen_ohm());
                prop_assert!(reach.low_count <= count + 1e-9 && count <= reach.high_count + 1e-9);
            }
        }
    }

    fn circuit(sense_ohm: f64, reference: Reference) -> Circuit {
        Circuit {
            sense: Sense::PullDown,
            sense_ohm,
            feed_v: 5.0,
            reference,
            contact_ohm: 0.0,
            leak_ohm: None,
            feed_monitor: None,
            filter: Default::default(),
        }
    }

    fn count(circuit: &Circuit, topology: Topology, own_ohm: [f64; 2], rest_ohm: f64) -> Option<u16> {
        let two = TwoPressed { topology, own_ohm, contact_ohm: [0.0; 2], rest_ohm };
        converter_count(circuit.ideal_count(two.seen_ohm()))
    }

    /// FACTS B1: 5 V, 1 kΩ to ground, 2.846 V as reference (3.3 V through 5.1 kΩ).
    #[test]
    fn two_parallel_buttons_read_as_published() {
        let circuit = circuit(1_000.0, Reference::External { volt: 3.3, series_ohm: 5_100.0 });
        for (own, expected) in
            [([2_200.0, 4_700.0], 719), ([4_700.0, 10_000.0], 428), ([2_200.0, 10_000.0], 641)]
        {
            let read = count(&circuit, Topology::Parallel, own, f64::INFINITY);
            assert!(read.unwrap().abs_diff(expected) <= 1, "{own:?}: {read:?}, {expected} published");
        }
    }

    /// FACTS B1, same circuit: taps 1200 to 9320 Ω read 817, 595, 426, 280, 174, "any pair reads as its
    /// smaller tap".
    #[test]
    fn of_two_taps_the_nearer_one_is_read_as_published() {
        let circuit = circuit(1_000.0, Reference::External { volt: 3.3, series_ohm: 5_100.0 });
        let taps = [(1_200.0, 817), (2_020.0, 595), (3_220.0, 426), (5_420.0, 280), (9_320.0, 174)];
        for (near, &(near_ohm, expected)) in taps.iter().enumerate() {
            for &(far_ohm, _) in &taps[near + 1..] {
                for own in [[near_ohm, far_ohm], [far_ohm, near_ohm]] {
                    let read = count(&circuit, Topology::Series, own, f64::INFINITY).unwrap();
                    assert!(read.abs_diff(expected) <= 1, "{own:?}: {read}, {expected} published");
                }
            }
        }
    }

    #[test]
    fn worn_contacts_let_the_farther_tap_through() {
        // By hand: tap 1 to the return by 100 Ω, beside 300 Ω of step 2 plus 100 Ω: 80 Ω.
        let two = TwoPressed {
            topology: Topology::Series,
            own_ohm: [500.0, 800.0],
            contact_ohm: [100.0; 2],
            rest_ohm: f64::INFINITY,
        };
        assert!(near(two.seen_ohm(), 580.0));
    }

    #[test]
    fn limits_either_way_add_as_root_sum_square() {
        // FACTS C4: 1, 1 and 1.5 % are 2.06 % by root sum square. Small enough to be straight: a
        // reading of half the scale moves by a quarter of the scale times each share, and one leg of a
        // chain with the far one open has the first alone.
        let two = TwoPressed {
            topology: Topology::Series,
            own_ohm: [1_000.0, f64::INFINITY],
            contact_ohm: [0.0; 2],
            rest_ohm: f64::INFINITY,
        };
        let doubt = PairDoubt {
            own_share: [1e-6, 0.0],
            sense_share: 1e-6,
            // A share of the reading, which is half the scale: twice what the two others move.
            scale_share: 0.75e-6,
            ..PairDoubt::default()
        };
        let reach = doubt.reach(&circuit(1_000.0, Reference::Supply), &two);
        let quarter = 1024.0 / 4.0;
        for off in [reach.high_count - reach.count, reach.count - reach.low_count] {
            assert!((off / quarter / 2.061_6e-6 - 1.0).abs() < 1e-3, "{}", off / quarter);
        }
    }

    #[test]
    fn a_button_that_reads_no_less_than_rest_takes_no_part() {
        assert_eq!(own_ohm(Topology::Parallel, 9_000.0, 8_000.0, 5.0), f64::INFINITY);
        assert_eq!(own_ohm(Topology::Series, 9_000.0, 8_000.0, 5.0), 8_995.0);
        assert_eq!(own_ohm(Topology::Series, 3.0, f64::INFINITY, 5.0), 0.0);
        let two = TwoPressed {
            topology: Topology::Parallel,
            own_ohm: [1_000.0, f64::INFINITY],
            contact_ohm: [0.0; 2],
            rest_ohm: 1_000.0,
        };
        assert_eq!(two.seen_ohm(), 500.0);
    }
}
