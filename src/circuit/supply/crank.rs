//! What is left of the supply while the starter runs, and what the box does then. Knows no heat.

/// A starting profile: how low the supply goes at first, and while the engine is turned.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CrankProfile {
    /// Its number in the standard.
    pub name: &'static str,
    /// At the lowest, in volts.
    pub lowest_v: f64,
    /// Then, for up to some seconds, in volts.
    pub turning_v: f64,
}

/// The starting profiles of ISO 16750-2:2012, table 3, for 12 V: `US6` and `US`, from memory of it (FACTS F,
/// where it is marked so too).
pub const CRANKING: [CrankProfile; 4] = [
    CrankProfile { name: "I", lowest_v: 8.0, turning_v: 9.5 },
    CrankProfile { name: "II", lowest_v: 4.5, turning_v: 6.5 },
    CrankProfile { name: "III", lowest_v: 3.0, turning_v: 5.0 },
    CrankProfile { name: "IV", lowest_v: 6.0, turning_v: 6.5 },
];

/// Where an ATmega328P's brown-out set to 4.3 V resets it: at the least, typically and at the most, in volts
/// (ATmega328PB datasheet, BOD table, FACTS A).
pub const BROWN_OUT_V: (f64, f64, f64) = (4.1, 4.3, 4.5);

/// What the box does at a supply.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum BoxDoes {
    /// It goes on.
    Runs,
    /// Between the brown-out's limits: this box may reset and the next may not.
    MayReset,
    /// It resets, and starts anew once the supply is back.
    Resets,
}

/// One profile, as the box sees it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Crank {
    /// Which.
    pub profile: CrankProfile,
    /// The box's 5 V at the lowest, in volts.
    pub lowest_box_v: f64,
    /// The box's 5 V while the engine is turned, in volts.
    pub turning_box_v: f64,
}

impl Crank {
    /// What the box does at the lowest.
    #[must_use]
    pub fn at_lowest(&self) -> BoxDoes {
        BoxDoes::at(self.lowest_box_v)
    }

    /// What the box does while the engine is turned.
    #[must_use]
    pub fn while_turning(&self) -> BoxDoes {
        BoxDoes::at(self.turning_box_v)
    }
}

impl BoxDoes {
    /// With its 5 V at so many volts.
    #[must_use]
    pub fn at(box_v: f64) -> Self {
        let (least_v, _, most_v) = BROWN_OUT_V;
        if box_v < least_v {
            Self::Resets
        } else if box_v < most_v {
            Self::MayReset
        } else {
            Self::Runs
        }
    }

    /// It, in a word or two.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Runs => "runs on",
            Self::MayReset => "may reset",
            Self::Resets => "resets",
        }
    }
}
