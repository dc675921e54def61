//! How sure a code is, in words.

use std::fmt;

/// How sure a code is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Sure {
    /// The checks of its family hold, more than one frame says so, and nothing speaks against it.
    Certain {
        /// What speaks for it.
        grounds: Vec<Ground>,
    },
    /// A family explains it, and something is missing or odd.
    Likely {
        /// What speaks for it.
        grounds: Vec<Ground>,
        /// What is missing or odd.
        doubts: Vec<Doubt>,
    },
    /// No family explains it; it is kept as it was heard.
    Raw {
        /// Whole frames that are alike.
        frames: usize,
    },
}

/// What speaks for a code.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ground {
    /// What is sent with its inverse agrees with it.
    Inverses,
    /// So many whole frames say the same.
    Frames(usize),
    /// So many repeat frames followed as the family has them.
    Repeats(usize),
    /// So many presses say the same.
    Presses(usize),
}

/// What is missing or odd.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Doubt {
    /// A single frame.
    HeardOnce,
    /// Frames that could not be read.
    Unread(usize),
    /// Frames come in another time than the family's, in milliseconds.
    Period {
        /// As heard.
        heard_ms: u32,
        /// As the family has it.
        due_ms: u32,
    },
    /// A longer family of the same bits begins the same.
    MayBeLonger,
    /// The family's parity doesn't hold.
    Parity,
    /// The toggle bit changed: two presses in one capture.
    Toggled,
    /// Only repeats were heard, not the frame that begins a press.
    OnlyRepeats,
}

impl Sure {
    /// What stands beside a code: `certain`, `likely` or `raw`.
    #[must_use]
    pub fn word(&self) -> &'static str {
        match self {
            Self::Certain { .. } => "certain",
            Self::Likely { .. } => "likely",
            Self::Raw { .. } => "raw",
        }
    }

    /// What was put together: certain if at least two things speak for it and nothing against.
    pub(super) fn of(grounds: Vec<Ground>, doubts: Vec<Doubt>) -> Self {
        if doubts.is_empty() { Self::Certain { grounds } } else { Self::Likely { grounds, doubts } }
    }
}

/// In one line: `certain: the inverses match, 2 repeat frames follow`.
impl fmt::Display for Sure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (grounds, doubts): (&[Ground], &[Doubt]) = match self {
            Self::Certain { grounds } => (grounds, &[]),
            Self::Likely { grounds, doubts } => (grounds, doubts),
            Self::Raw { frames } => {
                return match frames {
                    0 | 1 => f.write_str("raw: no family explains it, heard once"),
                    many => write!(f, "raw: no family explains it, {many} frames are alike"),
                };
            }
        };
        let said = grounds.iter().map(ToString::to_string).chain(doubts.iter().map(ToString::to_string));
        let said: Vec<_> = said.collect();
        write!(f, "{}: {}", self.word(), said.join(", "))
    }
}

impl fmt::Display for Ground {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Inverses => f.write_str("the inverses match"),
            Self::Frames(count) => write!(f, "{count} frames agree"),
            Self::Repeats(1) => f.write_str("a repeat frame follows"),
            Self::Repeats(count) => write!(f, "{count} repeat frames follow"),
            Self::Presses(count) => write!(f, "{count} presses agree"),
        }
    }
}

impl fmt::Display for Doubt {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::HeardOnce => f.write_str("heard in one frame only"),
            Self::Unread(1) => f.write_str("one more frame could not be read"),
            Self::Unread(count) => write!(f, "{count} more frames could not be read"),
            Self::Period { heard_ms, due_ms } => {
                write!(f, "frames come every {heard_ms} ms, not every {due_ms} ms as the family's do")
            }
            Self::MayBeLonger => {
                f.write_str("a longer frame of the same bits, cut here, would look the same")
            }
            Self::Parity => f.write_str("its parity does not hold"),
            Self::Toggled => f.write_str("the toggle bit changed, as if pressed twice"),
            Self::OnlyRepeats => f.write_str("only repeats were heard, not the first frame"),
        }
    }
}
