//! A netlist solved: volts at each node and the current through each part, for any set of pressed
//! buttons. Resistors and closed switches only: the box's output idles.
//!
//! Where some values aren't known, it is solved with those parts left out and with those parts as a
//! wire; a node has volts only where the two agree to within half a count.

use super::{Netlist, NodeId, PartKind};
use crate::circuit::converter_count;
use crate::units::SCALE_COUNT;
use crate::wheel::{Network, NetworkError, Node};

/// What a netlist does with some buttons pressed.
#[derive(Clone, Debug, PartialEq)]
pub struct NetPoint {
    /// By node: its volts; `None` where they aren't known, or nothing ties it to a source.
    pub volt: Vec<Option<f64>>,
    /// By part: the current through it from its first node to its second, in amperes; `None` where it
    /// isn't known.
    pub amp: Vec<Option<f64>>,
}

impl NetPoint {
    /// A node's volts.
    #[must_use]
    pub fn volt_at(&self, node: NodeId) -> Option<f64> {
        self.volt.get(node.0).copied().flatten()
    }

    /// A part's current, in amperes.
    #[must_use]
    pub fn amp_through(&self, part: super::PartId) -> Option<f64> {
        self.amp.get(part.0).copied().flatten()
    }
}

/// Why a netlist has no answer.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum NetError {
    /// No sense circuit.
    #[error(
        "No volts are known without a sense circuit. Give the sense resistor, the feed and the reference at \
         the Circuit station."
    )]
    NoCircuit,
    /// A button that is not there.
    #[error("Button {} is pressed, but there are {buttons}. Press one of those.", button + 1)]
    NoSuchButton {
        /// Its place, from 0.
        button: usize,
        /// How many there are.
        buttons: usize,
    },
    /// A value that cannot be, or a short.
    #[error(transparent)]
    Network(#[from] NetworkError),
}

/// Half a count of the whole scale: what a converter can't tell apart.
const UNSEEN: f64 = 0.5 / SCALE_COUNT;

impl Netlist {
    /// Solves it with these buttons pressed, by their places from 0.
    ///
    /// # Errors
    /// No sense circuit, a button that isn't there, or 0 Ω across a source.
    pub fn solve(&self, pressed: &[usize]) -> Result<NetPoint, NetError> {
        let Some(circuit) = &self.circuit else { return Err(NetError::NoCircuit) };
        let buttons = self.names.len();
        if let Some(&button) = pressed.iter().find(|button| **button >= buttons) {
            return Err(NetError::NoSuchButton { button, buttons });
        }
        let left_out = self.volts(pressed, f64::INFINITY)?;
        let has_unknown =
            self.parts.iter().any(|part| part.is_solved() && matches!(part.kind, PartKind::Resistor(None)));
        let volt = if has_unknown {
            // A wire in its place may be a short: then nothing is sure.
            let as_wire = self.volts(pressed, 0.0).unwrap_or_else(|_| vec![None; self.nodes.len()]);
            let unseen_v = UNSEEN * circuit.feed_v;
            left_out
                .into_iter()
                .zip(as_wire)
                .map(|(out, wire)| out.filter(|out| wire.is_some_and(|wire| (out - wire).abs() <= unseen_v)))
                .collect()
        } else {
            left_out
        };
        let amp = self.amps(pressed, &volt);
        Ok(NetPoint { volt, amp })
    }

    /// What the converter gives for a node's volts, 0 to 1023.
    #[must_use]
    pub fn count(&self, volt: f64) -> Option<u16> {
        let circuit = self.circuit.as_ref()?;
        converter_count(SCALE_COUNT * (volt / circuit.reference_v()))
    }

    /// Volts by node, an unknown resistance taken as `unknown_ohm`.
    fn volts(&self, pressed: &[usize], unknown_ohm: f64) -> Result<Vec<Option<f64>>, NetworkError> {
        let mut network = Network::new();
        let nodes: Vec<Node> = self.nodes.iter().map(|_| network.node()).collect();
        for part in self.parts.iter().filter(|part| part.is_solved()) {
            let ohm = part.ohm(pressed).unwrap_or(unknown_ohm);
            network.join(nodes[part.a.0], nodes[part.b.0], ohm)?;
        }
        let held: Vec<_> = self.held.iter().map(|&(node, volt)| (nodes[node.0], volt)).collect();
        let solution = network.solve(&held)?;
        Ok(nodes.iter().map(|&node| solution.volt(node).filter(|volt| volt.is_finite())).collect())
    }

    /// Current by part: Ohm's law where there is a resistance, and through 0 Ω what is left over at a
    /// node whose other currents are known (Kirchhoff's current law).
    fn amps(&self, pressed: &[usize], volt: &[Option<f64>]) -> Vec<Option<f64>> {
        let mut amp: Vec<Option<f64>> = self
            .parts
            .iter()
            .map(|part| match part.ohm(pressed) {
                _ if !part.is_solved() => Some(0.0),
                Some(f64::INFINITY) => Some(0.0),
                Some(ohm) if ohm > 0.0 => Some((volt[part.a.0]? - volt[part.b.0]?) / ohm),
                _ => None,
            })
            .collect();
        let is_held = |node: usize| self.held.iter().any(|(held, _)| held.0 == node);
        let free: Vec<usize> = (0..self.nodes.len()).filter(|node| !is_held(*node)).collect();
        // Each round settles a part or is the last.
        for _ in 0..self.parts.len() {
            let settled = free.iter().find_map(|&node| self.left_over(node, &amp));
            let Some((part, left)) = settled else { break };
            amp[part] = Some(left);
        }
        amp
    }

    /// The one part at a node whose current isn't known yet, and what is left for it.
    fn left_over(&self, node: usize, amp: &[Option<f64>]) -> Option<(usize, f64)> {
        let mut open = None;
        let mut out = 0.0;
        for (place, part) in self.parts.iter().enumerate() {
            let sign = match (part.a.0 == node, part.b.0 == node) {
                (true, false) => 1.0,
                (false, true) => -1.0,
                _ => continue,
            };
            match amp[place] {
                Some(amp) => out += sign * amp,
                None if open.is_none()
                    && matches!(part.kind, PartKind::Resistor(Some(_)) | PartKind::Switch(_)) =>
                {
                    open = Some((place, sign));
                }
                None => return None,
            }
        }
        open.map(|(place, sign)| (place, -sign * out))
    }
}
