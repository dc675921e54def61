//! Spokewire: a bench for fitting a replacement stereo to a vehicle whose wheel buttons are a
//! resistor ladder.
//!
//! A press travels one way, and so does the code:
//! wheel → circuit → learn → bands → recogniser → pair → code → output → stereo.
//!
//! Rooms stand on floors. A room imports only rooms on lower floors; rooms on one floor are
//! strangers. `tests/layering.rs` reads this table and fails on any import that runs upwards.
//! Floors 0 to 6 are pure: values in, values out; no screen, port, file or clock.
//!
//! | floor | room | what lives there |
//! | --- | --- | --- |
//! | 0 | `units` | shared quantities and how they are written; preferred values |
//! | 1 | `wheel` | ladder topologies; the resistance seen for any set of pressed buttons |
//! | 1 | `signal` | readings, the bounded recording, its envelope, settled stretches |
//! | 1 | `remote` | codes: families, encode, decode, both bit orders, raw timings |
//! | 1 | `wire` | frames and messages of the link to the box, its faults with their words |
//! | 2 | `circuit` | the sense circuit: divider, reference, counts; the stereo's input and the box's output on it |
//! | 2 | `recognise` | the box's own recogniser, safely wrapped; replay, gestures, pulses |
//! | 3 | `bands` | presses, accept bands and reject gaps, separation, headroom, verdicts |
//! | 4 | `project` | the saved document: model, text to value plus warnings and back |
//! | 5 | `image` | a project as the bytes kept in the box, and back; the C header |
//! | 5 | `learn` | the prompted learning session as a state machine; time is an argument |
//! | 6 | `findings` | whole-project findings: what is missing or unsafe, and what to do |
//! | 6 | `device` | conversations with the box: identify, write, read back, watch, flash |
//! | 6 | `demo` | a virtual wheel and box, and a person who presses |
//! | 7 | `link` | the one thread that owns the port; plain numbers, demo, replay |
//! | 7 | `files` | atomic saving, backups, the autosaved copy, recent files |
//! | 7 | `work` | long computations off the window's thread, shared out over threads |
//! | 8 | `app` | the model, actions, effects, undo, notices |
//! | 9 | `cli` | one file per command |
//! | 9 | `view` | theme, widgets, stations: read the model, push actions, compute nothing |
//! | 10 | `shell` | the window: drains reports, draws, carries out effects |

pub mod app;
pub mod bands;
pub mod circuit;
pub mod cli;
pub mod demo;
pub mod device;
pub mod files;
pub mod findings;
pub mod image;
pub mod learn;
pub mod link;
pub mod project;
pub mod recognise;
pub mod remote;
#[cfg(feature = "window")]
pub mod shell;
pub mod signal;
pub mod units;
#[cfg(feature = "window")]
pub mod view;
pub mod wheel;
pub mod wire;
pub mod work;
