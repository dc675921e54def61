//! Boxes of a project.
