//! The box's own program, byte for byte, in the simulator: one file a subject.

mod capture;
mod counters;
mod images;
mod link;
mod outside;
mod power_cut;
mod presses;
mod probe;
mod pulses;
mod recogniser;
mod supply;
