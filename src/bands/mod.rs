//! Bands: from presses to the ranges of counts in which a button is accepted, the reject gaps
//! between them, and how far each is from being mistaken. Knows no names, no file and no clock.

mod press;

pub use press::{Press, RestLevel, Touch};
