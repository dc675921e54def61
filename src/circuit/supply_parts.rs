//! What the box is fed through, from the vehicle's supply to its 5 V. Knows no stereo.

use serde::{Deserialize, Serialize};

/// What the box is fed through, from the vehicle's supply to its 5 V.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct SupplyParts {}
