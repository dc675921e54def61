//! A project as boxes that could be built of it, in large numbers: how many would misread which
//! button.

use super::Project;

/// What came of building boxes.
#[derive(Clone, Debug, PartialEq)]
pub struct BuiltBoxes {
    /// How many were built.
    pub boxes: u64,
    /// Where their chance began.
    pub seed: u64,
    /// How many would ever misread a button.
    pub misreading_boxes: u64,
}

/// Why no boxes can be built.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum BoxesError {
    /// No sense circuit.
    #[error(
        "The project has no sense circuit. Enter the sense resistor, the feed and the reference at the \
         Circuit station."
    )]
    NoCircuit,
    /// Boxes are not computed yet.
    #[error("Boxes are not computed yet. Look at the bands at the Learn station.")]
    NotYet,
}

/// Builds boxes.
///
/// # Errors
/// What is missing.
pub fn built_boxes(project: &Project, _boxes: u64, _seed: u64) -> Result<BuiltBoxes, BoxesError> {
    Err(if project.circuit.is_none() { BoxesError::NoCircuit } else { BoxesError::NotYet })
}
