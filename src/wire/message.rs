//! What the box says, as values. All figures are the box's own: nothing is assumed.

/// The most bytes of a frame's payload.
pub const PAYLOAD_MAX: usize = 96;

/// What the chip's bandgap can be, in millivolts, and so what a calibration may say (ATmega328P
/// datasheet 8161D, table 28-7: 1.0 to 1.2 V, with room for a meter's error).
pub const CALIBRATE_RANGE_MV: (u16, u16) = (900, 1_300);

/// Who the box is and what it can do.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Identity {
    /// The link's own version.
    pub protocol: u8,
    /// The firmware's version, major and minor.
    pub firmware: (u8, u8),
    /// The chip's signature bytes.
    pub signature: [u8; 3],
    /// Whether a whole image is in use.
    pub has_image: bool,
    /// Whether a slot begins like an image and fails its check.
    pub has_damage: bool,
    /// Whether the converter's reference has been named, by the image or the link.
    pub reference_named: bool,
    /// Whether the supply measurement was calibrated with a meter.
    pub calibrated: bool,
    /// The fuses: low, high, extended, and the lock bits.
    pub fuses: [u8; 4],
    /// The most buttons, pairs and commands an image may hold.
    pub most: (u8, u8, u8),
    /// The most bytes of an image's body.
    pub body_max: u16,
    /// The most bytes of a frame's payload.
    pub payload_max: u8,
    /// The converter's highest number.
    pub converter_top: u16,
    /// Samples a second.
    pub sample_hz: u16,
    /// Edges a capture keeps.
    pub capture_edges: u8,
    /// The step of a captured timing, in nanoseconds.
    pub capture_step_ns: u16,
    /// The step of a sent timing, in nanoseconds.
    pub pulse_step_ns: u16,
    /// The shortest mark or space that can be sent, in microseconds.
    pub least_pulse_us: u16,
    /// The rates the link can run at, in bits per second.
    pub rates: Vec<u32>,
    /// The slot in use and its image; `None` without an image.
    pub slot: Option<Slot>,
    /// The supply as the chip measures it, in millivolts; `None` where it can't (its reference is not
    /// the supply, or not named yet).
    pub supply_mv: Option<u16>,
    /// Why it last started.
    pub reset: ResetCause,
}

/// A slot that holds a whole image.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Slot {
    /// Which, 0 or 1; shown as A or B.
    pub number: u8,
    /// Its sequence number.
    pub sequence: u8,
    /// Bytes of its body.
    pub length: u16,
    /// The image's checksum: CRC-16 over format, length and body.
    pub check: u16,
}

/// Why the box started.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum ResetCause {
    /// Power came.
    #[default]
    PowerOn,
    /// The reset pin: opening the port, as a rule.
    External,
    /// The supply fell too low.
    BrownOut,
    /// The watchdog: the program had stood still, or a restart was asked for.
    Watchdog,
}

/// What the converter measures against.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum ReferenceKind {
    /// The supply.
    #[default]
    Supply,
    /// The chip's own 1.1 V.
    Internal,
    /// A voltage on the reference pin.
    External,
}

/// The reference as the link names it, for a box without an image.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct NamedReference {
    /// What it is.
    pub kind: ReferenceKind,
    /// Whether the feed monitor is fitted.
    pub feed_monitor: bool,
}

/// One sample, as the converter gave it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Sample {
    /// Each wire's number, 0 to 1023.
    pub raw: [u16; 2],
    /// The feed monitor's, where it is fitted.
    pub feed: Option<u16>,
    /// What band the box found it in at this tick: a button's number, 16 rest, 17 none; `None`
    /// without an image.
    pub label: Option<u8>,
    /// The button the box takes as pressed.
    pub pressed: Option<u8>,
}

/// Samples in a row.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SampleBlock {
    /// The first one's tick, in milliseconds since the box started.
    pub tick: u32,
    /// Samples missing before the first one, for want of room on the link.
    pub lost: u8,
    /// Whether a second wire is in use; without it the second number means nothing.
    pub two_wires: bool,
    /// The samples, one a tick.
    pub samples: Vec<Sample>,
}

/// What the recogniser saw happen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum DecisionKind {
    /// A button was recognised.
    Pressed,
    /// It was let go.
    Released,
    /// A tap.
    Tap,
    /// A hold.
    Hold,
    /// A double tap.
    DoubleTap,
    /// A wire left rest and came back without settling on a button.
    Undecided,
}

/// A decision, with the reading behind it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DecisionSeen {
    /// When, in milliseconds since the box started.
    pub tick: u32,
    /// What.
    pub kind: DecisionKind,
    /// The button's number in the image; `None` for [`DecisionKind::Undecided`].
    pub button: Option<u8>,
    /// Its wire, 1 or 2.
    pub wire: u8,
    /// Where the reading had settled, in counts; not a number where there was none.
    pub count: f64,
    /// Since the wire left rest, in milliseconds.
    pub latency_ms: u16,
    /// The command it sends, by its number in the image.
    pub command: Option<u8>,
}

/// A part of a captured remote code.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct CapturePart {
    /// Which timing of the capture it begins with.
    pub from: u8,
    /// Whether the capture ends with it.
    pub last: bool,
    /// Whether there were more edges than could be kept.
    pub overflow: bool,
    /// Timings in microseconds, mark and space in turn; the capture begins with a mark.
    pub timings_us: Vec<u32>,
}

/// What happened since power came.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counters {
    /// Milliseconds since the box last started.
    pub up_ms: u32,
    /// Starts, by cause.
    pub resets: Tally,
    /// Frames that came broken, or bytes that were lost.
    pub link_errors: u16,
    /// Frames the box could not send for want of room.
    pub frames_lost: u16,
    /// The longest turn of the main loop, in microseconds.
    pub longest_loop_us: u16,
    /// Presses recognised.
    pub presses: u16,
    /// Readings outside every band.
    pub rejected: u32,
    /// Times a wire left rest and came back undecided.
    pub undecided: u16,
    /// Codes sent.
    pub sent: u16,
    /// Images written.
    pub writes: u16,
}

/// Starts by cause.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tally {
    /// Power came.
    pub power_on: u16,
    /// The reset pin.
    pub external: u16,
    /// The supply fell too low.
    pub brown_out: u16,
    /// The watchdog.
    pub watchdog: u16,
}

/// What the box tells of itself.
#[derive(Clone, Debug, PartialEq)]
pub enum BoxEvent {
    /// It has started.
    Booted(ResetCause),
    /// Samples.
    Samples(SampleBlock),
    /// A decision.
    Decision(DecisionSeen),
    /// A part of a capture.
    Capture(CapturePart),
    /// A code has been sent whole.
    Sent {
        /// How many frames it took.
        frames: u8,
    },
}
