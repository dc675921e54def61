//! What can be asked of a box, and what is heard of it.

use crate::wire::{Counters, DecisionSeen, Identity, NamedReference};

/// Something asked of the box. One runs at a time; the others wait in order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum BoxRequest {
    /// Ask again who it is.
    Identify,
    /// Fill it with this image's body, and read it back.
    Write(Vec<u8>),
    /// Read the image it holds.
    Read,
    /// Whether it tells its decisions.
    Watch(bool),
    /// Send a code: a record of one command as the image keeps it, held for so long.
    Try {
        /// The record.
        record: Vec<u8>,
        /// For how long the button is held, in milliseconds.
        held_ms: u16,
        /// The toggle bit.
        toggle: bool,
    },
    /// Stop sending.
    StopTry,
    /// Ask for its counters.
    Counters,
    /// Whether it listens to a remote.
    Listen(bool),
    /// Name the converter's reference.
    Reference(NamedReference),
    /// Say what the bandgap truly is, in millivolts, or forget it.
    Calibrate(Option<u16>),
    /// Start it anew, as if power had come.
    Restart,
    /// Put the firmware into it through its serial bootloader: the bytes from address 0 on.
    Flash(Vec<u8>),
    /// Give up what is under way and what waits.
    Cancel,
}

/// What is being done, as it is told.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Job {
    /// Finding out who it is.
    Identify,
    /// Filling it.
    Write,
    /// Reading it.
    Read,
    /// Starting or stopping the watch.
    Watch,
    /// Sending a code.
    Try,
    /// Asking for the counters.
    Counters,
    /// Listening to a remote.
    Listen,
    /// Naming the reference.
    Reference,
    /// Calibrating.
    Calibrate,
    /// Starting it anew.
    Restart,
    /// Flashing the firmware.
    Flash,
}

impl Job {
    /// What is being done, as a sentence begins.
    #[must_use]
    pub const fn doing(self) -> &'static str {
        match self {
            Self::Identify => "Asking the box who it is",
            Self::Write => "Writing to the box",
            Self::Read => "Reading the box",
            Self::Watch => "Turning the watch on or off",
            Self::Try => "Sending a code",
            Self::Counters => "Asking for the counters",
            Self::Listen => "Listening to the remote",
            Self::Reference => "Naming the reference",
            Self::Calibrate => "Calibrating the box",
            Self::Restart => "Restarting the box",
            Self::Flash => "Flashing the firmware",
        }
    }
}

impl BoxRequest {
    /// The job it asks for; `None` for [`BoxRequest::Cancel`].
    #[must_use]
    pub const fn job(&self) -> Option<Job> {
        Some(match self {
            Self::Identify => Job::Identify,
            Self::Write(_) => Job::Write,
            Self::Read => Job::Read,
            Self::Watch(_) => Job::Watch,
            Self::Try { .. } | Self::StopTry => Job::Try,
            Self::Counters => Job::Counters,
            Self::Listen(_) => Job::Listen,
            Self::Reference(_) => Job::Reference,
            Self::Calibrate(_) => Job::Calibrate,
            Self::Restart => Job::Restart,
            Self::Flash(_) => Job::Flash,
            Self::Cancel => return None,
        })
    }
}

/// Where a longer job stands. Always in this order; a phase may be left out, none comes twice.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Phase {
    /// Looking for the bootloader.
    Calling,
    /// Bytes go over.
    Writing,
    /// They are read back and compared.
    Checking,
    /// The box takes them into use.
    Starting,
}

/// A slot's bytes as they were read.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SlotBytes {
    /// Which slot, 0 or 1.
    pub number: u8,
    /// Its sequence number.
    pub sequence: u8,
    /// The image's checksum as the slot states it.
    pub check: u16,
    /// The image's body.
    pub body: Vec<u8>,
}

/// Why a job was not done.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Failure {
    /// Which job.
    pub job: Job,
    /// What failed, with the values.
    pub what: String,
    /// What to do next.
    pub advice: String,
    /// Whether the box may now be without a program: flash it again.
    pub half_flashed: bool,
}

/// What is heard of the box.
#[derive(Clone, Debug, PartialEq)]
pub enum BoxReport {
    /// It answered who it is: at first, and whenever that changes.
    Identity(Box<Identity>),
    /// It is not a box of ours, or has no program: a serial bootloader answers, or nothing does.
    NoProgram {
        /// Whether a bootloader answered.
        bootloader: bool,
    },
    /// What it holds; `None` without an image.
    Contents(Option<SlotBytes>),
    /// A job goes on.
    Progress {
        /// Which.
        job: Job,
        /// Where it stands.
        phase: Phase,
        /// So many bytes.
        done: usize,
        /// Of so many.
        of: usize,
    },
    /// A job is done.
    Done(Job),
    /// A job was not done.
    Failed(Failure),
    /// A decision of its recogniser.
    Decision(DecisionSeen),
    /// Its counters.
    Counters(Counters),
    /// A remote's code, whole: marks and spaces in microseconds, mark first.
    Captured {
        /// The timings.
        timings_us: Vec<f64>,
        /// Whether there were more edges than the box can keep.
        overflow: bool,
    },
    /// A code was sent whole.
    Sent {
        /// In so many frames.
        frames: u8,
    },
    /// It started anew by itself, and why.
    Restarted(crate::wire::ResetCause),
}
