//! What the box's output on the stereo's line is built of. Knows no stereo.

use serde::{Deserialize, Serialize};

/// What the box's output on the stereo's line is built of.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct OutputParts {}
