//! The real window, headless, driven by its accessible names and keys alone: the main job from the
//! start screen to a file that opens again, and everything that may come in between. The same over
//! a pseudo-terminal is in `window_port.rs`, the real program on a screen in `real_window.rs`.
#![cfg(feature = "window")]

#[path = "window/files.rs"]
mod files;
#[path = "window/frame.rs"]
mod frame;
#[path = "window/hands.rs"]
mod hands;
#[path = "window/job.rs"]
mod job;
#[path = "window/listen.rs"]
mod listen;
#[path = "window/lists.rs"]
mod lists;
#[path = "window/reach.rs"]
mod reach;
#[path = "window/sweep.rs"]
mod sweep;
#[path = "window/unsaved.rs"]
mod unsaved;
