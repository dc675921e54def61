//! What an image holds, field by field. Numbers only: names stay in the project.

use crate::project::{ButtonId, CommandId, Gesture};

/// The image's format.
pub const FORMAT: u8 = 1;
/// The most bytes of an image's body: a slot of 480 less its header of 8.
pub const BODY_MAX: usize = 472;
/// The most buttons.
pub const BUTTONS_MAX: usize = 16;
/// The most pairs.
pub const PAIRS_MAX: usize = 48;
/// The most commands.
pub const COMMANDS_MAX: usize = 32;
pub use crate::project::EVERY_STEP_MS;
pub use crate::remote::FreeRepeat;

/// An image, whole.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Image {
    /// What the converter measures against.
    pub reference: ReferenceUse,
    /// The feed monitor's reading at the nominal feed, in counts, 0 to 1023 with its 1/32 fractions;
    /// `None` where none is fitted.
    pub feed_count: Option<f64>,
    /// Whether the infrared LED is sent, too.
    pub infrared: bool,
    /// Whether a press may roll over to the next button without rest in between.
    pub rollover: bool,
    /// How long a button's band must hold, in milliseconds, 1 to 64.
    pub dwell_ms: u8,
    /// How far the readings of that dwell may spread, in counts, in steps of 1/32.
    pub settle_count: f64,
    /// From the moment a button is recognised to a hold, in milliseconds.
    pub hold_ms: u16,
    /// Between two taps of a double tap, in milliseconds.
    pub double_ms: u16,
    /// Tells one vehicle's image from another's: CRC-16 over vehicle, a zero, stereo.
    pub mark: u16,
    /// What each wire reads at rest, wire 1 first; as many as there are wires, 1 or 2.
    pub rests: Vec<ImageBand>,
    /// The buttons, in the project's order.
    pub buttons: Vec<ImageButton>,
    /// What leads where, by button and gesture.
    pub pairs: Vec<ImagePair>,
    /// The commands, grouped by family and address.
    pub commands: Vec<ImageCommand>,
    /// The one family that is not in the table.
    pub free: Option<FreeFamily>,
}

/// What the converter measures against.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum ReferenceUse {
    /// The supply.
    #[default]
    Supply,
    /// The chip's own.
    Internal,
    /// A voltage on the reference pin.
    External,
}

/// An accept band: whole counts, both ends taken. `low` above `high` takes nothing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ImageBand {
    /// The lowest count taken, 0 to 1023.
    pub low: u16,
    /// The highest count taken, 0 to 1023.
    pub high: u16,
}

/// A band that takes nothing.
impl Default for ImageBand {
    fn default() -> Self {
        Self { low: 1023, high: 0 }
    }
}

/// A button: where it hangs and what it takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ImageButton {
    /// Its wire, 1 or 2.
    pub wire: u8,
    /// What it takes.
    pub band: ImageBand,
}

/// A pair.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ImagePair {
    /// The button's number.
    pub button: u8,
    /// What is done to it.
    pub gesture: Gesture,
    /// The command's number in the image.
    pub command: u8,
    /// Whether it is sent on while the button is held.
    pub repeats: bool,
    /// A press anew each so many milliseconds while held, a multiple of [`EVERY_STEP_MS`]; `None` lets
    /// the family repeat in its own way.
    pub every_ms: Option<u16>,
}

/// A command, and which of the stereo's in the project it is.
#[derive(Clone, Debug, PartialEq)]
pub struct ImageCommand {
    /// Its code.
    pub code: ImageCode,
}

/// A code as the image keeps it.
#[derive(Clone, Debug, PartialEq)]
pub enum ImageCode {
    /// A family of the table, by its number from 1 in the table's order.
    Family {
        /// Its number, 1 to 13.
        family: u8,
        /// The address.
        address: u16,
        /// The command.
        command: u32,
    },
    /// The free family.
    Free {
        /// The address.
        address: u16,
        /// The command.
        command: u32,
    },
    /// Timings.
    Raw(RawRecord),
}

/// Timings as the image keeps them: a few durations, and which comes when.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct RawRecord {
    /// The distinct durations, in steps of 2 µs; 1 to 8.
    pub durations: Vec<u16>,
    /// Which duration each timing is, mark first, 1 to 199, an odd number.
    pub symbols: Vec<u8>,
    /// From frame start to frame start while held, in steps of 16 µs; 0 sends it once.
    pub period: u16,
}

/// A pulse-distance or pulse-width family that is not in the table. Durations in steps of 0.5 µs.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct FreeFamily {
    /// The leader's mark and space; 0 for none.
    pub leader: (u16, u16),
    /// A 0: its mark and space.
    pub zero: (u16, u16),
    /// A 1: its mark and space.
    pub one: (u16, u16),
    /// From frame start to frame start while held, in steps of 16 µs; 0 for a frame that is sent once.
    pub period: u16,
    /// Whether the most significant bit of a field is sent first.
    pub high_first: bool,
    /// Whether a mark (of a 0) closes the last bit.
    pub stop_mark: bool,
    /// Whether the address is followed by its inverse.
    pub address_inverse: bool,
    /// Whether the command is followed by its inverse.
    pub command_inverse: bool,
    /// What is sent while held.
    pub repeat: FreeRepeat,
    /// The carrier for the infrared LED, in kilohertz; 0 leaves it to the box.
    pub carrier_khz: u8,
    /// Bits of the address, 0 to 16.
    pub address_bits: u8,
    /// Bits of the command, 1 to 32.
    pub command_bits: u8,
}

/// An image made from a project, and which of the project's buttons and commands its numbers mean.
#[derive(Clone, Debug, PartialEq)]
pub struct Built {
    /// The image.
    pub image: Image,
    /// The buttons, by their number in it.
    pub buttons: Vec<ButtonId>,
    /// The commands, by their number in it.
    pub commands: Vec<CommandId>,
}

/// Something that keeps a project out of the box.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Misfit {
    /// What it is about, as a path of the project: `stereo.commands.mute`.
    pub place: String,
    /// What doesn't fit, and by how much.
    pub what: String,
    /// What to do.
    pub advice: String,
}

/// One line of box against project.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Row {
    /// What is compared: `Bands`, `Dwell`, `Mute, tap`, ….
    pub what: String,
    /// What the project says.
    pub project: String,
    /// What the box holds.
    pub held: String,
    /// Whether they are the same.
    pub same: bool,
}
