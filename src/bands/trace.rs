//! A press as it was read, reading by reading, for replay through the recogniser. Knows no names.

use serde::{Deserialize, Serialize};

/// One press as it was read.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct PressTrace {}
