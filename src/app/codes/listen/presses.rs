//! Presses of a remote and what they come to. Knows no box and no command.

use crate::project::HeardPress;
use crate::remote::{self, Code, Consensus, FreeFamily, HearError, Heard};

/// One press of a remote.
#[derive(Clone, Debug, PartialEq)]
pub struct Press {
    /// Mark, space, mark, … in microseconds, as the receiver gave it.
    pub timings_us: Vec<f64>,
    /// What it is.
    pub heard: Result<Heard, HearError>,
    /// Whether there were more edges than the box can keep.
    pub overflow: bool,
}

impl Press {
    /// Understands a press: by the table, or as a code of a free family that is in use.
    #[must_use]
    pub fn new(timings_us: Vec<f64>, overflow: bool, free: &[FreeFamily]) -> Self {
        Self { heard: remote::hear_with(&timings_us, free), timings_us, overflow }
    }

    /// Its timings as a code, where it was not understood and they may be kept all the same.
    #[must_use]
    pub fn raw(&self) -> Option<Code> {
        self.heard.as_ref().err().and_then(HearError::raw)
    }

    /// The same as a code of a free family, where a check failed and it looks like one.
    #[must_use]
    pub fn free(&self) -> Option<Code> {
        self.heard.as_ref().err().and_then(HearError::free)
    }
}

/// Presses in the order they were heard, and what they come to.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Presses {
    /// All of them.
    pub all: Vec<Press>,
    /// What they come to; `None` where none was understood.
    pub consensus: Option<Consensus>,
    /// The last press that was not understood, as timings, where none was understood.
    raw: Option<Code>,
    /// What two presses or more, or the only one, are without the check they fail.
    free: Option<Code>,
}

impl Presses {
    /// Presses as the project keeps them.
    #[must_use]
    pub fn of(heard: &[HeardPress], free: &[FreeFamily]) -> Self {
        Self::from(heard.iter().map(|press| Press::new(press.timings_us.clone(), false, free)).collect())
    }

    fn from(all: Vec<Press>) -> Self {
        let mut presses = Self { all, ..Self::default() };
        presses.judge();
        presses
    }

    /// One more.
    pub(super) fn push(&mut self, press: Press) {
        self.all.push(press);
        self.judge();
    }

    fn judge(&mut self) {
        let heard: Vec<_> = self.all.iter().map(|press| press.heard.clone()).collect();
        self.consensus = remote::consensus(&heard);
        let raw = || self.all.iter().rev().find_map(Press::raw);
        self.raw = if self.consensus.is_none() { raw() } else { None };
        self.free = if self.consensus.is_none() { self.alike_without_check() } else { None };
    }

    /// What most presses that fail a check are without it. A bit that light turned over fails one check
    /// and not the next: what each press says differently is no code.
    fn alike_without_check(&self) -> Option<Code> {
        let all: Vec<Code> = self.all.iter().filter_map(Press::free).collect();
        let same = |a: &Code, b: &Code| match (a, b) {
            (
                Code::Free { free: f, address: a, command: c },
                Code::Free { free: g, address: b, command: d },
            ) => (a, c, f.address_bits, f.command_bits) == (b, d, g.address_bits, g.command_bits),
            _ => false,
        };
        let votes = |code: &Code| all.iter().filter(|other| same(code, other)).count();
        all.iter().rev().find(|code| votes(code) * 2 > all.len()).cloned()
    }

    /// How many were understood.
    #[must_use]
    pub fn understood(&self) -> usize {
        self.all.iter().filter(|press| press.heard.is_ok()).count()
    }

    /// Whether the press of this number, from 0, says what most do.
    #[must_use]
    pub fn agrees(&self, number: usize) -> bool {
        self.agreed().is_some_and(|consensus| !consensus.differ.contains(&number))
    }

    /// What most presses that were understood say, or the only one.
    #[must_use]
    pub fn agreed(&self) -> Option<&Consensus> {
        self.consensus.as_ref().filter(|consensus| consensus.agree * 2 > self.understood())
    }

    /// The last press's timings, where none was understood and it may be kept all the same.
    #[must_use]
    pub fn raw(&self) -> Option<&Code> {
        self.raw.as_ref()
    }

    /// What most presses are without the check they fail, where none was understood: a code of a free
    /// family.
    #[must_use]
    pub fn free(&self) -> Option<&Code> {
        self.free.as_ref()
    }

    /// Those that say what most do.
    #[must_use]
    pub(super) fn agreeing(&self) -> Self {
        let all = self.all.iter().enumerate().filter(|(number, _)| self.agrees(*number));
        Self::from(all.map(|(_, press)| press.clone()).collect())
    }

    /// Those that count, as the project keeps them.
    pub(super) fn kept(&self, counts: impl Fn(&Press) -> bool) -> Vec<HeardPress> {
        let counted = self.all.iter().filter(|press| counts(press));
        counted.map(|press| HeardPress { timings_us: press.timings_us.clone() }).collect()
    }

    /// Whether these are the same presses.
    pub(super) fn are(&self, heard: &[HeardPress]) -> bool {
        self.all.len() == heard.len()
            && self.all.iter().zip(heard).all(|(press, there)| press.timings_us == there.timings_us)
    }
}
