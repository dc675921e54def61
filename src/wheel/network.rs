//! A network of resistors: what each node stands at when some are held at a voltage. The exact
//! reference for every ladder. Knows no ladder and no sense circuit.
//!
//! Nodes are taken out one at a time by the star-mesh transformation (A. Rosen, "A new network
//! theorem", J. IEE 62, 1924; from memory), which is elimination on the conductance matrix with
//! each diagonal written as the sum of its row. Nothing is ever subtracted (Grassmann, Taksar and
//! Heyman, Operations Research 33, 1985, for Markov chains; from memory), so no pivoting is needed
//! and every voltage is good to a few units in the last place, however far apart the resistors
//! are. 0 Ω makes two nodes one before the elimination starts.

use std::collections::BTreeMap;

/// Below this a resistor counts as 0 Ω: its conductance would no longer fit the number.
const LEAST_OHM: f64 = 1e-300;

/// A place where resistors meet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Node(usize);

/// Resistors and the nodes they join.
#[derive(Clone, Debug, Default)]
pub struct Network {
    nodes: usize,
    resistors: Vec<(usize, usize, f64)>,
}

/// Why a network has no answer.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum NetworkError {
    /// A resistor that is negative or no number.
    #[error("A resistor is {ohm} Ω. Give 0 Ω or more.")]
    Ohm {
        /// Its value, in ohms.
        ohm: f64,
    },
    /// Two nodes held at different voltages are one node.
    #[error("{high_v} V and {low_v} V are joined by 0 Ω: a short. Put a resistance in the path.")]
    Short {
        /// The higher voltage.
        high_v: f64,
        /// The lower voltage.
        low_v: f64,
    },
}

/// What a network does with some of its nodes held.
#[derive(Clone, Debug, PartialEq)]
pub struct Solution {
    /// By node: the node that stands for it once 0 Ω is merged.
    merged: Vec<usize>,
    volt: Vec<Option<f64>>,
    amp: Vec<f64>,
}

impl Network {
    /// A network with no nodes.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// A new node. Nodes made last are eliminated first: make the crowded ones first.
    pub fn node(&mut self) -> Node {
        self.nodes += 1;
        Node(self.nodes - 1)
    }

    /// Joins two nodes of this network by a resistor; 0 Ω makes them one, infinite does nothing.
    ///
    /// # Errors
    /// [`NetworkError::Ohm`] for what is negative or no number.
    pub fn join(&mut self, a: Node, b: Node, ohm: f64) -> Result<(), NetworkError> {
        if ohm.is_nan() || ohm < 0.0 {
            return Err(NetworkError::Ohm { ohm });
        }
        if ohm != f64::INFINITY {
            self.resistors.push((a.0, b.0, ohm));
        }
        Ok(())
    }

    /// The voltage of every node, and the current out of those held, with `held` nodes at their
    /// volts.
    ///
    /// # Errors
    /// [`NetworkError::Short`] where 0 Ω joins two different voltages.
    pub fn solve(&self, held: &[(Node, f64)]) -> Result<Solution, NetworkError> {
        let merged = self.merge();
        let mut volt: Vec<Option<f64>> = vec![None; self.nodes];
        for &(node, held_v) in held {
            let place = &mut volt[merged[node.0]];
            match *place {
                Some(other_v) if other_v != held_v => {
                    return Err(NetworkError::Short {
                        high_v: held_v.max(other_v),
                        low_v: held_v.min(other_v),
                    });
                }
                _ => *place = Some(held_v),
            }
        }

        let mut siemens = self.conductances(&merged);
        let mut rows = Vec::new();
        for node in (0..self.nodes).rev() {
            if merged[node] == node && volt[node].is_none() {
                rows.push((node, eliminate(&mut siemens, node)));
            }
        }
        // Only held nodes are left, joined by what the rest of the network amounts to.
        let mut amp = vec![0.0; self.nodes];
        for (node, row) in siemens.iter().enumerate() {
            if let Some(here_v) = volt[node] {
                // From +0: the sum of no terms is -0, and a current of -0 reads as an error.
                amp[node] = row
                    .iter()
                    .map(|(&other, &s)| s * (here_v - volt[other].unwrap_or(here_v)))
                    .fold(0.0, |sum, amp| sum + amp);
            }
        }
        for (node, row) in rows.into_iter().rev() {
            let whole: f64 = row.iter().map(|&(_, s)| s).sum();
            // Its neighbours are all tied to a held node, or none is.
            let share = |&(other, s): &(usize, f64)| volt[other].map(|other_v| other_v * (s / whole));
            volt[node] = if row.is_empty() { None } else { row.iter().map(share).sum() };
        }
        Ok(Solution { merged, volt, amp })
    }

    /// The resistance between two nodes, in ohms: 0 where they are one, infinite without a path.
    #[must_use]
    pub fn resistance(&self, a: Node, b: Node) -> f64 {
        // The only error left is the short, and between these two that is 0 Ω.
        self.solve(&[(a, 1.0), (b, 0.0)]).map_or(0.0, |solution| 1.0 / solution.amp(a))
    }

    /// For each node the lowest-numbered node that 0 Ω makes it one with.
    fn merge(&self) -> Vec<usize> {
        let mut parent: Vec<usize> = (0..self.nodes).collect();
        for &(a, b, ohm) in &self.resistors {
            if ohm < LEAST_OHM {
                let (a, b) = (root(&mut parent, a), root(&mut parent, b));
                parent[a.max(b)] = a.min(b);
            }
        }
        (0..self.nodes).map(|node| root(&mut parent, node)).collect()
    }

    /// By merged node: its neighbours and the conductance to each, in siemens.
    fn conductances(&self, merged: &[usize]) -> Vec<BTreeMap<usize, f64>> {
        let mut siemens = vec![BTreeMap::new(); self.nodes];
        for &(a, b, ohm) in &self.resistors {
            add(&mut siemens, merged[a], merged[b], 1.0 / ohm);
        }
        siemens
    }
}

impl Solution {
    /// The node's voltage; `None` where nothing ties it to a held node.
    #[must_use]
    pub fn volt(&self, node: Node) -> Option<f64> {
        self.volt[self.merged[node.0]]
    }

    /// The current that flows from a held node into the network, in amperes; 0 for any other. Held
    /// nodes that 0 Ω makes one share this figure.
    #[must_use]
    pub fn amp(&self, node: Node) -> f64 {
        self.amp[self.merged[node.0]]
    }
}

/// The node at the top of a merged set, shortening the way there.
fn root(parent: &mut [usize], mut node: usize) -> usize {
    while parent[node] != node {
        parent[node] = parent[parent[node]];
        node = parent[node];
    }
    node
}

/// Adds a conductance between two different nodes.
fn add(siemens: &mut [BTreeMap<usize, f64>], a: usize, b: usize, s: f64) {
    if a != b && s > 0.0 {
        *siemens[a].entry(b).or_default() += s;
        *siemens[b].entry(a).or_default() += s;
    }
}

/// Takes a node out, joining its neighbours as it joined them, and gives its row.
fn eliminate(siemens: &mut [BTreeMap<usize, f64>], node: usize) -> Vec<(usize, f64)> {
    let row: Vec<(usize, f64)> = std::mem::take(&mut siemens[node]).into_iter().collect();
    let whole: f64 = row.iter().map(|&(_, s)| s).sum();
    for (place, &(a, a_s)) in row.iter().enumerate() {
        siemens[a].remove(&node);
        for &(b, b_s) in &row[place + 1..] {
            add(siemens, a, b, a_s * (b_s / whole));
        }
    }
    row
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Node voltages by the textbook way, for comparison: the conductance matrix with its
    /// right-hand side, Gaussian elimination with partial pivoting. Node 0 is ground, node 1 the
    /// feed; no resistor may be 0 Ω.
    fn by_pivoting(nodes: usize, resistors: &[(usize, usize, f64)], feed_v: f64) -> Vec<f64> {
        let mut matrix = vec![vec![0.0; nodes + 1]; nodes];
        for &(a, b, ohm) in resistors {
            for (here, there) in [(a, b), (b, a)] {
                matrix[here][here] += 1.0 / ohm;
                matrix[here][there] -= 1.0 / ohm;
            }
        }
        for (held, volt) in [(0, 0.0), (1, feed_v)] {
            matrix[held] = vec![0.0; nodes + 1];
            matrix[held][held] = 1.0;
            matrix[held][nodes] = volt;
        }
        for column in 0..nodes {
            let pivot = (column..nodes)
                .max_by(|&a, &b| matrix[a][column].abs().total_cmp(&matrix[b][column].abs()))
                .unwrap();
            matrix.swap(column, pivot);
            let taken = matrix[column].clone();
            for (_, row) in matrix.iter_mut().enumerate().filter(|(row, _)| *row != column) {
                let factor = row[column] / taken[column];
                row.iter_mut().zip(&taken).for_each(|(value, taken)| *value -= factor * taken);
            }
        }
        (0..nodes).map(|row| matrix[row][nodes] / matrix[row][row]).collect()
    }

    proptest! {
        #[test]
        fn agrees_with_a_pivoted_conductance_matrix(
            extra in prop::collection::vec((0_usize..9, 0_usize..9, 1.0..1e5_f64), 0..20),
            spine in prop::collection::vec(1.0..1e5_f64, 8),
            feed_v in 0.5..24.0_f64,
        ) {
            let mut resistors: Vec<_> = spine.iter().enumerate().map(|(k, &ohm)| (k, k + 1, ohm)).collect();
            resistors.extend(extra.iter().filter(|(a, b, _)| a != b));
            let mut network = Network::new();
            let nodes: Vec<_> = (0..9).map(|_| network.node()).collect();
            for &(a, b, ohm) in &resistors {
                network.join(nodes[a], nodes[b], ohm).unwrap();
            }
            let solution = network.solve(&[(nodes[0], 0.0), (nodes[1], feed_v)]).unwrap();
            let expected = by_pivoting(9, &resistors, feed_v);
            for (node, volt) in nodes.iter().zip(&expected) {
                prop_assert!((solution.volt(*node).unwrap() - volt).abs() < 1e-9 * feed_v);
            }
            // What the feed gives, ground takes.
            let (out, back) = (solution.amp(nodes[1]), solution.amp(nodes[0]));
            prop_assert!((out + back).abs() < 1e-12 * out);
        }
    }

    #[test]
    fn no_ohms_make_two_nodes_one() {
        let mut network = Network::new();
        let [ground, feed, a, b] = [(); 4].map(|()| network.node());
        network.join(feed, a, 1_000.0).unwrap();
        network.join(a, b, 0.0).unwrap();
        network.join(b, ground, 1_000.0).unwrap();
        let solution = network.solve(&[(ground, 0.0), (feed, 5.0)]).unwrap();
        assert_eq!(solution.volt(a), Some(2.5));
        assert_eq!(solution.volt(b), Some(2.5));
        assert_eq!(solution.amp(feed), 0.0025);
        assert_eq!(network.resistance(a, b), 0.0);
    }

    #[test]
    fn a_node_tied_to_nothing_has_no_volts() {
        let mut network = Network::new();
        let [ground, feed, a, b] = [(); 4].map(|()| network.node());
        network.join(a, b, 10.0).unwrap();
        network.join(a, feed, f64::INFINITY).unwrap();
        let solution = network.solve(&[(ground, 0.0), (feed, 5.0)]).unwrap();
        assert_eq!((solution.volt(a), solution.volt(b)), (None, None));
        assert_eq!(solution.amp(feed), 0.0);
        assert_eq!(network.resistance(ground, a), f64::INFINITY);
    }

    #[test]
    fn a_short_is_said_with_both_voltages() {
        let mut network = Network::new();
        let [ground, feed] = [(); 2].map(|()| network.node());
        network.join(feed, ground, 0.0).unwrap();
        let short = network.solve(&[(ground, 0.0), (feed, 5.0)]).unwrap_err();
        assert_eq!(
            short.to_string(),
            "5 V and 0 V are joined by 0 Ω: a short. Put a resistance in the path."
        );
    }

    #[test]
    fn a_negative_resistor_is_refused() {
        let mut network = Network::new();
        let [a, b] = [(); 2].map(|()| network.node());
        assert_eq!(network.join(a, b, -1.0), Err(NetworkError::Ohm { ohm: -1.0 }));
        assert!(network.join(a, b, f64::NAN).is_err());
    }

    /// Where a matrix would lose every digit: a milliohm contact beside a gigaohm leak.
    #[test]
    fn resistors_far_apart_cost_no_digits() {
        let mut network = Network::new();
        let [ground, feed, a, b] = [(); 4].map(|()| network.node());
        network.join(feed, a, 1e12).unwrap();
        network.join(a, b, 1e-6).unwrap();
        network.join(b, ground, 1e12).unwrap();
        let solution = network.solve(&[(ground, 0.0), (feed, 5.0)]).unwrap();
        assert!((solution.volt(b).unwrap() - 2.5).abs() < 1e-14);
        assert!((network.resistance(a, b) - 1e-6).abs() < 1e-20);
    }

    /// Wheatstone's bridge, in balance: no current through the middle, whatever it is.
    #[test]
    fn a_bridge_in_balance_does_not_see_its_middle() {
        for middle_ohm in [0.0, 1.0, 1e6, f64::INFINITY] {
            let mut network = Network::new();
            let [ground, feed, a, b] = [(); 4].map(|()| network.node());
            for (x, y, ohm) in [(feed, a, 100.0), (a, ground, 200.0), (feed, b, 300.0), (b, ground, 600.0)] {
                network.join(x, y, ohm).unwrap();
            }
            network.join(a, b, middle_ohm).unwrap();
            assert!((network.resistance(feed, ground) - 225.0).abs() < 1e-12, "{middle_ohm}");
        }
    }
}
