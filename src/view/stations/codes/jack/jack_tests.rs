//! The view driven by its accessible labels.
