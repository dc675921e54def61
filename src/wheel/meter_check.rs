//! The meter check: what a meter found, step by step, and whether that is a ladder. Knows no circuit.

use serde::{Deserialize, Serialize};

/// What the meter found, as far as it was asked.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct MeterCheck {}
