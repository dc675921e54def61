//! The Box station: what is known of the box, what it holds against what the project says, and what is
//! asked of it. (`box` is a word of the language, hence the name.) Knows no bytes and no port.

mod act;
mod hear;
pub mod seat;

use std::collections::VecDeque;
use std::path::PathBuf;

use crate::bands::BandSet;
use crate::device::{Failure, Job, Phase, SlotBytes};
use crate::image::{self, Built, Image, Misfit, Row};
use crate::project::{CommandId, Project};
use crate::wire::{Counters, DecisionSeen, Identity, ReferenceKind};

pub(super) use act::update;
pub(super) use hear::{gone, hear, probe_found};

/// Decisions kept for the watch.
pub const DECISIONS_KEPT: usize = 200;

/// What the station shows.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum BoxView {
    /// What the box holds, and filling it.
    #[default]
    Contents,
    /// Each decision as it happens.
    Watch,
    /// Every button proven in the seat.
    SeatCheck,
    /// What happened since power came.
    Counters,
    /// How the box is wired, pin by pin.
    Wiring,
    /// What the box goes by: times, limits and what is fitted.
    Settings,
}

impl BoxView {
    /// All of them, in order.
    pub const ALL: [Self; 6] =
        [Self::Contents, Self::Watch, Self::SeatCheck, Self::Counters, Self::Wiring, Self::Settings];

    /// Its name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Contents => "Contents",
            Self::Watch => "Watch",
            Self::SeatCheck => "Seat check",
            Self::Counters => "Counters",
            Self::Wiring => "Wiring",
            Self::Settings => "Settings",
        }
    }
}

/// What is at the other end of the link, as far as boxes go.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum Presence {
    /// Nothing is connected.
    #[default]
    None,
    /// A probe that prints numbers, or a recording: no box.
    Probe,
    /// A box without our program; whether its bootloader answers.
    NoProgram {
        /// Whether a serial bootloader answered.
        bootloader: bool,
    },
    /// A box.
    Found(Box<Identity>),
}

/// A job under way.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Running {
    /// Which.
    pub job: Job,
    /// Where it stands; `None` before it said so.
    pub phase: Option<Phase>,
    /// So many bytes.
    pub done: usize,
    /// Of so many; 0 where that isn't known.
    pub of: usize,
}

/// What the box holds.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum Held {
    /// It was not read yet.
    #[default]
    Unread,
    /// No image.
    Nothing,
    /// An image this program can read.
    Image {
        /// As it was read.
        slot: SlotBytes,
        /// What it says.
        image: Box<Image>,
    },
    /// Bytes that are no image this program can read, and why.
    Unreadable {
        /// As it was read.
        slot: SlotBytes,
        /// Why.
        why: String,
    },
}

/// Everything the station knows.
#[derive(Clone, Debug, Default)]
pub struct BoxState {
    /// Which view is open.
    pub view: BoxView,
    /// What is there.
    pub presence: Presence,
    /// What it holds.
    pub held: Held,
    /// What is under way.
    pub running: Option<Running>,
    /// Why the last job was not done; until the next one begins.
    pub failure: Option<Failure>,
    /// When this window wrote it and read it back, in words for people.
    pub written_at: Option<String>,
    /// Whether the box tells its decisions.
    pub watching: bool,
    /// Its decisions, the newest last; [`DECISIONS_KEPT`] at most.
    pub decisions: VecDeque<DecisionSeen>,
    /// The seat check.
    pub seat: seat::SeatState,
    /// Its counters, and when they came (the window's clock, in milliseconds).
    pub counters: Option<(Counters, f64)>,
    /// The command that Try sends.
    pub try_command: Option<CommandId>,
    /// What was sent last, and in how many frames.
    pub sent: Option<(CommandId, u8)>,
    /// The command that is being sent.
    pub(super) sending: Option<CommandId>,
    /// The toggle bit of the last one sent.
    toggle: bool,
    /// Volts by the meter that wait for the box to forget its calibration before.
    pending_v: Option<f64>,
}

/// What follows from the project and the box.
#[derive(Clone, Debug, Default)]
pub struct BoxDerived {
    /// The project as an image; or what doesn't fit.
    pub built: Option<Result<Built, Vec<Misfit>>>,
    /// Its checksum and the length of its body, where it fits.
    pub check: Option<(u16, usize)>,
    /// Box against project, field by field; empty where one of them is missing.
    pub rows: Vec<Row>,
    /// The settle limit that the noise gives, in counts: what holds while the plan names none.
    pub auto_settle_count: f64,
}

impl BoxDerived {
    /// What follows from a project, its bands and what a box holds.
    #[must_use]
    pub fn of(project: &Project, bands: &BandSet, held: &Held) -> Self {
        let auto_settle_count = crate::bands::auto_settle_count(bands);
        let built = image::build(project, bands).and_then(|built| match built.image.to_body() {
            Ok(body) => Ok((built, body)),
            Err(misfit) => Err(vec![misfit]),
        });
        match built {
            Ok((built, body)) => {
                let rows = match held {
                    Held::Image { image, .. } => image::compare(project, &built, image),
                    _ => Vec::new(),
                };
                let check = Some((image::check(&body), body.len()));
                Self { check, built: Some(Ok(built)), rows, auto_settle_count }
            }
            Err(misfits) => Self { built: Some(Err(misfits)), auto_settle_count, ..Self::default() },
        }
    }

    /// Whether the box holds just what the project says.
    #[must_use]
    pub fn is_same(&self) -> bool {
        !self.rows.is_empty() && self.rows.iter().all(|row| row.same)
    }
}

/// What a person does at the station.
#[derive(Clone, Debug, PartialEq)]
pub enum BoxAction {
    /// Show this view.
    View(BoxView),
    /// Fill the box with the project, and read it back.
    Write,
    /// Read what it holds.
    Read,
    /// Put the firmware into it.
    Flash,
    /// Start or stop the watch.
    Watch(bool),
    /// Forget the decisions shown.
    ClearWatch,
    /// The seat check.
    Seat(seat::SeatAction),
    /// Ask for the counters.
    Counters,
    /// The command that Try sends.
    ChooseTry(CommandId),
    /// Send the chosen command, as if its button were held for so long.
    Try {
        /// In milliseconds.
        held_ms: u16,
    },
    /// Stop sending.
    StopTry,
    /// Start it anew.
    Restart,
    /// Say what the supply truly is by a meter, in volts; `None` forgets it.
    Calibrate(Option<f64>),
    /// Give up what is under way.
    Cancel,
    /// Say what the box measures against, where no project does.
    Name(ReferenceKind),
    /// Choose where the C header for a firmware of one's own goes.
    AskHeader,
    /// Write the C header there.
    SaveHeader(PathBuf),
}

impl BoxState {
    /// The box, where one is there.
    #[must_use]
    pub fn identity(&self) -> Option<&Identity> {
        match &self.presence {
            Presence::Found(identity) => Some(identity),
            _ => None,
        }
    }

    /// The checksum of what it holds, as far as it was read.
    #[must_use]
    pub fn held_check(&self) -> Option<u16> {
        match &self.held {
            Held::Image { slot, .. } | Held::Unreadable { slot, .. } => Some(slot.check),
            Held::Unread | Held::Nothing => None,
        }
    }
}
