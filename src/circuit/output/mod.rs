//! The box's output stage on the stereo's line: a pin drives a transistor's base or gate, its collector or
//! drain pulls the line low, and the stereo pulls it up again. How low, and how much longer a mark becomes.
//! Knows no code and no project.

mod bipolar;
mod device;
mod edges;
mod mosfet;
mod point;
mod pull;
mod report;
mod slope;
#[cfg(test)]
mod tests;
mod warning;

pub use bipolar::{Bipolar, Junction};
pub use device::{Device, DeviceModel, DeviceRow, Promise};
pub use edges::{Edges, THRESHOLD_SHARE};
pub use mosfet::Mosfet;
pub use point::StagePoint;
pub use pull::{FORCED_BETA, Pull};
pub use report::{MOST_STRETCH, StageLine, StageReport};
pub(super) use warning::low_limit_v;
pub use warning::{StageWarning, mark_text};

use super::Source;
use crate::wire::REMOTE_LINE;

/// The output stage: a pin drives a transistor, the transistor pulls the line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OutputStage {
    /// What the pin drives, in volts; 0 or more.
    pub drive_v: f64,
    /// From the pin to the base or gate, in ohms; above 0.
    pub base_ohm: f64,
    /// From base or gate to ground, in ohms; above 0, infinite where there is none.
    pub base_pulldown_ohm: f64,
    /// From the collector or drain to the line, in ohms; 0 where there is none.
    pub series_ohm: f64,
    /// The transistor.
    pub device: Device,
}

impl Default for OutputStage {
    /// As the box is wired: [`REMOTE_LINE`].
    fn default() -> Self {
        Self {
            drive_v: REMOTE_LINE.drive_v,
            base_ohm: REMOTE_LINE.base_ohm,
            base_pulldown_ohm: REMOTE_LINE.base_pulldown_ohm,
            series_ohm: REMOTE_LINE.series_ohm,
            device: Device::named(REMOTE_LINE.device).unwrap_or_default(),
        }
    }
}

impl OutputStage {
    /// What it does to a line that is this source at idle, settled, with a typical transistor at 27 °C.
    #[must_use]
    pub fn point(&self, line: Source) -> StagePoint {
        point::of(self, line)
    }

    /// What becomes of one mark of `mark_s` seconds on a line of `farad`.
    #[must_use]
    pub fn edges(&self, line: Source, farad: f64, mark_s: f64) -> Edges {
        edges::of(self, line, farad, mark_s)
    }
}
