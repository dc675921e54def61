//! What a session says: what is shown now, what has happened, and what it can be told. Knows no
//! screen.

use super::refusal::Refusal;
use crate::bands::{Press, RestLevel, Touch};
use crate::project::ButtonId;
use crate::units::count_text;

/// What is shown now. Made anew whenever it is asked for.
#[derive(Clone, Debug, PartialEq)]
pub struct Prompt {
    /// What is going on.
    pub phase: Phase,
    /// The buttons that come after the one shown, in order.
    pub upcoming: Vec<ButtonId>,
    /// One mark for each press of the button shown; empty where none is.
    pub marks: Vec<Mark>,
    /// A way on that is offered.
    pub offer: Option<Offer>,
    /// Something the person may want to know.
    pub hint: Option<Hint>,
}

/// What is going on.
#[derive(Clone, Debug, PartialEq)]
pub enum Phase {
    /// Rest is being learned: hands off.
    LearnRest {
        /// How far, 0 to 1.
        progress: f64,
    },
    /// A press is asked for.
    Press {
        /// Which button.
        button: ButtonId,
        /// What it is called.
        name: String,
        /// Which of its presses, from 1.
        press: u32,
        /// Of how many.
        of: u32,
        /// How to press it.
        touch: Touch,
        /// How it goes.
        state: PressState,
    },
    /// Rest is being learned again: hands off.
    RestAgain {
        /// How far, 0 to 1.
        progress: f64,
    },
    /// All is over.
    Done {
        /// How many buttons were learned.
        learned: u32,
    },
    /// Paused: readings are not looked at.
    Paused,
    /// Stopped before the end; what was learned is in the results.
    Stopped,
}

/// How a press goes.
#[derive(Clone, Debug, PartialEq)]
pub enum PressState {
    /// Nothing pressed yet.
    Waiting,
    /// The wire has left rest.
    Settling {
        /// Where it is, in counts.
        count: f64,
        /// How much of what is wanted, 0 to 1.
        progress: f64,
    },
    /// It has settled: let go when you like.
    Settled {
        /// Where, in counts.
        count: f64,
    },
    /// It was let go, and counts. Shown for 400 ms.
    Counted {
        /// Which press, from 1.
        press: u32,
        /// Of how many.
        of: u32,
        /// Its median, in counts.
        median_count: f64,
        /// Its spread, in counts.
        spread_count: f64,
    },
    /// It was not taken, or will not be when it is let go.
    Refused {
        /// Why.
        reason: Refusal,
    },
}

/// One press of the button shown.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mark {
    /// How it is asked for.
    pub touch: Touch,
    /// What became of it.
    pub state: MarkState,
}

/// What became of a press.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum MarkState {
    /// Not asked for yet.
    ToCome,
    /// Asked for now.
    Now {
        /// How settled it is, 0 to 1.
        progress: f64,
    },
    /// Taken.
    Counted {
        /// Its median, in counts.
        median_count: f64,
    },
    /// Asked for now, and the last try was not taken.
    Refused,
}

/// A way on that is offered, so that nobody is stuck.
#[derive(Clone, Debug, PartialEq)]
pub enum Offer {
    /// It landed on that rung twice: [`Command::TakeIndistinct`] takes it as such.
    Indistinct {
        /// The button asked for.
        button: String,
        /// The button it cannot be told apart from.
        from: ButtonId,
        /// What that one is called.
        from_name: String,
        /// Where it settled, in counts.
        count: f64,
    },
    /// It settled twice at one place, but the first press elsewhere: [`Command::StartOver`] drops
    /// the presses so far, [`Command::Accept`] keeps both.
    StartOver {
        /// The button asked for.
        button: String,
        /// Where the first press settled, in counts.
        first_count: f64,
        /// Where it settled since, in counts.
        count: f64,
    },
    /// One wire does not hold still, the other does: [`Command::LeaveOut`] goes on without it.
    LeaveOut {
        /// The wire that does not hold still, 1 or 2.
        wire: u8,
    },
}

impl Offer {
    /// The offer as a sentence.
    #[must_use]
    pub fn text(&self) -> String {
        match self {
            Self::Indistinct { button, from_name, count, .. } => format!(
                "{button} settled at {} again, on {from_name}'s rung. If that was {button}, take it as indistinct from {from_name}.",
                count_text(*count, 0)
            ),
            Self::StartOver { button, first_count, count } => format!(
                "{button} settled at {} twice, but first at {}. If the first press was another button, start {button} over.",
                count_text(*count, 0),
                count_text(*first_count, 0)
            ),
            Self::LeaveOut { wire } => {
                format!("Wire {wire} does not hold still. If nothing is connected to it, leave it out.")
            }
        }
    }
}

/// Something the person may want to know.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Hint {
    /// A press is asked for and nothing has moved for a while.
    NotMoved,
    /// Rest does not hold still.
    RestUnsteady {
        /// Which wire, 1 or 2.
        wire: u8,
        /// Its noise, in counts.
        spread_count: f64,
    },
    /// The wire has been away from rest for very long.
    StillHeld {
        /// Which wire, 1 or 2.
        wire: u8,
        /// Where it is, in counts.
        count: f64,
    },
    /// Rest is wanted, and a wire stands on a button's rung.
    LetGo {
        /// Which wire, 1 or 2.
        wire: u8,
        /// Where it is, in counts.
        count: f64,
    },
}

impl Hint {
    /// The hint as a sentence or two.
    #[must_use]
    pub fn text(&self) -> String {
        match self {
            Self::NotMoved => "The wire has not moved. Is this the right wire?".to_owned(),
            Self::RestUnsteady { wire, spread_count } => format!(
                "Wire {wire} does not rest: ± {} counts. Hands off; check the return wire and the ground.",
                count_text(*spread_count, 1)
            ),
            Self::StillHeld { wire, count } => format!(
                "Wire {wire} still reads {}. If no button is pressed, learn rest again.",
                count_text(*count, 0)
            ),
            Self::LetGo { wire, count } => {
                format!("Wire {wire} reads {}, a button's rung. Let go of the wheel.", count_text(*count, 0))
            }
        }
    }
}

/// What a session can be told.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Command {
    /// Drops the press in hand, or else the press counted last, whichever button's it was.
    Redo,
    /// Goes on to the next button.
    Skip,
    /// Looks at no readings until resumed.
    Pause,
    /// Goes on, once the wheel is at rest.
    Resume,
    /// Ends the session; what is learned stays in the results.
    Stop,
    /// Takes the press refused last, as offered by [`Offer::Indistinct`].
    TakeIndistinct,
    /// Drops all presses of the button asked for.
    StartOver,
    /// Takes the press refused last although it differs from this button's first press.
    Accept,
    /// Goes on without the wire that does not hold still, as offered by [`Offer::LeaveOut`].
    LeaveOut,
    /// Learns rest again now.
    LearnRest,
}

/// What has happened.
#[derive(Clone, Debug, PartialEq)]
pub enum Event {
    /// Rest of a wire was learned.
    Rest {
        /// Which wire, 1 or 2.
        wire: u8,
        /// What it reads at rest.
        level: RestLevel,
    },
    /// Rest of a wire at the end differs from rest at the beginning: by more than 3 standard
    /// deviations and 2 counts.
    RestMoved {
        /// Which wire, 1 or 2.
        wire: u8,
        /// What it was.
        was: RestLevel,
        /// What it is.
        is: RestLevel,
    },
    /// A press is asked for.
    Prompt {
        /// Which button.
        button: ButtonId,
        /// Which of its presses, from 1.
        press: u32,
        /// Of how many.
        of: u32,
        /// How.
        touch: Touch,
    },
    /// A press was counted.
    Pressed {
        /// Which button.
        button: ButtonId,
        /// Which of its presses, from 1.
        press: u32,
        /// What is kept of it.
        taken: Press,
        /// Its settled stretch began here, in milliseconds of the recording.
        from_ms: f64,
        /// And ended here.
        to_ms: f64,
        /// The wire that moved, 1 or 2.
        wire: u8,
    },
    /// All presses of a button are there.
    Learned {
        /// Which button.
        button: ButtonId,
    },
    /// A learned button's rung overlaps another's: they may not be told apart.
    Near {
        /// The button just learned.
        button: ButtonId,
        /// The other.
        other: ButtonId,
        /// From centre to centre, in counts.
        gap_count: f64,
    },
    /// A press was refused.
    Refused {
        /// The button asked for.
        button: ButtonId,
        /// Why.
        reason: Refusal,
        /// The press began here, in milliseconds of the recording.
        from_ms: f64,
        /// And ended here.
        to_ms: f64,
        /// The wire that moved, 1 or 2.
        wire: u8,
    },
    /// A way on is offered.
    Offer {
        /// Which.
        offer: Offer,
    },
    /// Presses of a button were dropped; its result has changed.
    Dropped {
        /// Which button.
        button: ButtonId,
    },
    /// A button was skipped.
    Skipped {
        /// Which.
        button: ButtonId,
    },
    /// All was asked for, and rest was learned again.
    Done {
        /// How many buttons were learned.
        learned: u32,
    },
    /// The session was stopped.
    Stopped,
}
