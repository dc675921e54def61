//! Edges of an accept band that a person moved. Knows no names.

use serde::{Deserialize, Serialize};

/// Where a person put the edges of a band; `None` leaves an edge where it is computed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct DraggedEdges {
    /// The lowest count taken.
    pub low_count: Option<u16>,
    /// The highest count taken.
    pub high_count: Option<u16>,
}
