//! The box's faults by their numbers, with their words. One table; the box's own header says the
//! same, and a test holds the two together line by line.

/// What a box answers when something is wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[repr(u8)]
pub enum Fault {
    /// Nothing is wrong.
    None,
    /// It does not know the message.
    Unknown,
    /// The message is too long or too short.
    Length,
    /// A value is out of its range.
    Value,
    /// It is busy.
    Busy,
    /// The supply is too low to write.
    Supply,
    /// It holds no image.
    NoImage,
    /// The image is longer than a slot.
    TooLong,
    /// The image did not arrive whole.
    Check,
    /// It does not know the image's format.
    Format,
    /// It can't use something in the image.
    Contents,
    /// The converter's reference was not named.
    Reference,
    /// The memory did not keep what was written.
    Worn,
    /// A write was not begun, or came out of order.
    Order,
    /// The code can't be sent.
    Code,
}

impl Fault {
    /// All of them, by number.
    pub const ALL: [Self; 15] = [
        Self::None,
        Self::Unknown,
        Self::Length,
        Self::Value,
        Self::Busy,
        Self::Supply,
        Self::NoImage,
        Self::TooLong,
        Self::Check,
        Self::Format,
        Self::Contents,
        Self::Reference,
        Self::Worn,
        Self::Order,
        Self::Code,
    ];

    /// Its number on the link.
    #[must_use]
    pub const fn number(self) -> u8 {
        self as u8
    }

    /// The fault with a number; `None` where no fault has it.
    #[must_use]
    pub fn from_number(number: u8) -> Option<Self> {
        Self::ALL.get(usize::from(number)).copied()
    }

    /// What is wrong, as a sentence.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::None => "Done.",
            Self::Unknown => "The box does not know this message.",
            Self::Length => "The message has the wrong length.",
            Self::Value => "A value in the message is out of its range.",
            Self::Busy => "The box is busy with something else.",
            Self::Supply => "The supply is too low to write safely.",
            Self::NoImage => "The box holds no image.",
            Self::TooLong => "The image is longer than a slot.",
            Self::Check => "The image did not arrive whole.",
            Self::Format => "The image is of a format this firmware does not know.",
            Self::Contents => "The image holds something the box can't use.",
            Self::Reference => "The converter's reference has not been named.",
            Self::Worn => "The memory did not keep what was written.",
            Self::Order => "A write was not begun, or came out of order.",
            Self::Code => "The code can't be sent.",
        }
    }

    /// What to do next, as sentences.
    #[must_use]
    pub const fn advice(self) -> &'static str {
        match self {
            Self::None => "Go on.",
            Self::Unknown | Self::Length | Self::Format => {
                "Flash the firmware that comes with this program, then try again."
            }
            Self::Value => "Check the figures and try again.",
            Self::Busy => "Wait a few seconds and try again.",
            Self::Supply => {
                "At least 4.5 V is wanted, or 4.1 V before the box was calibrated. Take a shorter cable \
                 or another port of the laptop, then write again."
            }
            Self::NoImage => "Write the project to the box.",
            Self::TooLong => {
                "Take out raw codes, pairs or commands until the project fits, then write again."
            }
            Self::Check | Self::Order => "Write to the box again. It keeps the image it had.",
            Self::Contents => {
                "Look at the project's findings. If there are none, flash the firmware that comes with \
                 this program and write again."
            }
            Self::Reference => {
                "Choose the reference in Circuit and connect again, or write the project to the box."
            }
            Self::Worn => "Write again. If it stays, the chip's memory is worn out: take another board.",
            Self::Code => "Check the code's timings: each mark and space must last at least 50 µs.",
        }
    }
}

/// The words.
impl std::fmt::Display for Fault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.words())
    }
}
