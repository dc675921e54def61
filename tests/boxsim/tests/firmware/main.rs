//! The box's own program, byte for byte, in the simulator: one file a subject.

mod link;
mod power_cut;
mod presses;
mod pulses;
mod recogniser;
