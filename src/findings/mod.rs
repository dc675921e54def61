//! Whole-project findings: what is missing or unsafe, and what to do about it.
