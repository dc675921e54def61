//! The demo's world: a virtual wheel, and a person who presses it.
