//! On which power a wheel was learned. Knows no box.

use serde::{Deserialize, Serialize};

/// On which power a wheel was learned.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct LearnedOn {
    /// The feed as the box measured it meanwhile, in volts; `None` where nothing measured it.
    pub feed_v: Option<f64>,
}
