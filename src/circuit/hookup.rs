//! A ladder hooked up to its sense circuit, solved as one network: the sense node's voltage and
//! the feed's current for any set of pressed buttons. Knows no converter.

use super::problem::{is_above_zero, is_zero_or_more};
use super::{Circuit, Problem, Sense};
use crate::wheel::{Ladder, LadderEnds, LadderError, Network, NetworkError};

/// Where the end-of-line resistor returns. It starts at the ladder's far end: the chain's last
/// tap, or for a parallel ladder, which has no steps, the rail its resistors share at the start
/// (the feed for a pull-down, the sense node for a pull-up).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum EndReturn {
    /// To the ladder's own return: the sense node for a pull-down, ground for a pull-up. It stays
    /// within the ladder's two wires, so a broken wire can be told from rest. A project's ladders
    /// are so.
    #[default]
    Ladder,
    /// To ground either way round. With a pull-down this takes a third wire: on a chain it pulls
    /// every tap down, on a parallel ladder it only loads the feed.
    Ground,
}

/// A ladder and its sense circuit.
#[derive(Clone, Debug, PartialEq)]
pub struct Hookup {
    /// The feed, in volts; above 0.
    pub feed_v: f64,
    /// Which way round. Pull-down: the ladder starts at the feed and returns to the sense node.
    /// Pull-up: it starts at the sense node and returns to ground.
    pub sense: Sense,
    /// The sense resistor, in ohms; above 0.
    pub sense_ohm: f64,
    /// The ladder.
    pub ladder: Ladder,
    /// Where its end-of-line resistor returns.
    pub end_return: EndReturn,
    /// In series with each pressed button, in ohms; 0 or more.
    pub contact_ohm: f64,
    /// From the sense node to ground, in ohms; 0 or more, `None` where there is none.
    pub leak_ohm: Option<f64>,
}

/// What a hook-up does with some buttons pressed.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct NodePoint {
    /// At the sense node, in volts.
    pub volt: f64,
    /// Out of the feed, in amperes.
    pub feed_amp: f64,
}

/// Why a hook-up has no answer.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum HookupError {
    /// A value of the sense circuit.
    #[error(transparent)]
    Circuit(#[from] Problem),
    /// A value of the ladder, or a button it does not have.
    #[error(transparent)]
    Ladder(#[from] LadderError),
    /// The feed is shorted to ground.
    #[error(
        "The feed of {feed_v} V is shorted to ground: every resistance in one path is 0 Ω. Give the \
         contact, the leak or a step its real value."
    )]
    Short {
        /// Volts of the feed.
        feed_v: f64,
    },
    /// The answer does not fit a number.
    #[error(
        "With a feed of {feed_v} V the current is beyond any number. Give the feed in volts and \
         resistances in ohms."
    )]
    TooLarge {
        /// Volts of the feed.
        feed_v: f64,
    },
}

impl Hookup {
    /// This ladder in this circuit, its end-of-line resistor returning as a project's does.
    #[must_use]
    pub fn new(circuit: &Circuit, ladder: Ladder) -> Self {
        Self {
            feed_v: circuit.feed_v,
            sense: circuit.sense,
            sense_ohm: circuit.sense_ohm,
            ladder,
            end_return: EndReturn::Ladder,
            contact_ohm: circuit.contact_ohm,
            leak_ohm: circuit.leak_ohm,
        }
    }

    /// The sense node and the feed with these buttons pressed, by number from 1. Exact for any
    /// 0 Ω and any open path.
    ///
    /// # Errors
    /// A value that cannot be, a button that is not there or is named twice, or a short.
    pub fn node(&self, pressed: &[usize]) -> Result<NodePoint, HookupError> {
        let &Self { feed_v, sense, sense_ohm, end_return, contact_ohm, leak_ohm, .. } = self;
        self.check()?;
        let mut network = Network::new();
        let ground = network.node();
        let feed = network.node();
        let node = network.node();

        // The values were checked: what is left to go wrong is the short.
        let short = |_: NetworkError| HookupError::Short { feed_v };
        let sense_to = if sense == Sense::PullDown { ground } else { feed };
        network.join(node, sense_to, sense_ohm).map_err(short)?;
        network.join(node, ground, leak_ohm.unwrap_or(f64::INFINITY)).map_err(short)?;
        let (start, back) = if sense == Sense::PullDown { (feed, node) } else { (node, ground) };
        let end_to = if end_return == EndReturn::Ladder { back } else { ground };
        let ends = LadderEnds { start, pressed_to: back, end_to };
        self.ladder.join_into(&mut network, ends, pressed, contact_ohm)?;

        let solution = network.solve(&[(ground, 0.0), (feed, feed_v)]).map_err(short)?;
        let feed_amp = solution.amp(feed);
        match solution.volt(node) {
            Some(volt) if volt.is_finite() && feed_amp.is_finite() => Ok(NodePoint { volt, feed_amp }),
            _ => Err(HookupError::TooLarge { feed_v }),
        }
    }

    /// Whether the sense circuit's values can be; the ladder checks its own.
    fn check(&self) -> Result<(), Problem> {
        let &Self { feed_v, sense_ohm, contact_ohm, leak_ohm, .. } = self;
        if !is_above_zero(feed_v) {
            return Err(Problem::Feed { volt: feed_v });
        }
        if !is_above_zero(sense_ohm) {
            return Err(Problem::Sense { ohm: sense_ohm });
        }
        if !is_zero_or_more(contact_ohm) {
            return Err(Problem::Contact { ohm: contact_ohm });
        }
        match leak_ohm {
            Some(ohm) if !is_zero_or_more(ohm) => Err(Problem::Leak { ohm }),
            _ => Ok(()),
        }
    }
}

#[cfg(test)]
mod tests;
