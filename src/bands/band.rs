//! What the bands come out as: each rung's place and band, the reject gaps, and which rung a
//! reading belongs to. Knows no names.

use crate::circuit::Shift;

use super::chance::Chance;
use super::contributions::Contributions;
use super::edges::MovedEdges;
use super::verdict::Verdict;

/// A place on a wire's count axis.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Rung {
    /// A button, by its place in the input.
    Button(usize),
    /// No button pressed, by wire, 1 or 2.
    Rest(u8),
}

/// An accept band: the whole counts, both ends among them, that are taken for a rung.
///
/// The box compares whole counts, so a reading of 614.7 belongs to a band that ends at 614 and one
/// of 615.0 does not.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Accept {
    /// The lowest count taken, 0 to 1023.
    pub low_count: u16,
    /// The highest count taken, `low_count` to 1023.
    pub high_count: u16,
}

impl Accept {
    /// Whether a reading belongs to it; what is not a number does not.
    #[must_use]
    pub fn holds(&self, count: f64) -> bool {
        let whole = count.floor();
        whole >= f64::from(self.low_count) && whole <= f64::from(self.high_count)
    }
}

/// One rung: where it is, what it accepts, and how sure that is.
#[derive(Clone, Debug, PartialEq)]
pub struct Band {
    /// Whose it is.
    pub rung: Rung,
    /// On which wire, 1 or 2.
    pub wire: u8,
    /// Whether it was pressed (or rest was read), rather than predicted by the meter.
    pub measured: bool,
    /// How many usable presses it stands on.
    pub presses: usize,
    /// Median of the press medians, or the predicted count, in counts.
    pub centre_count: f64,
    /// What is accepted. `None` where no reading is this rung's alone: it shares another's band,
    /// or is squeezed out between rungs that cannot be told apart, or is planned on top of one
    /// that was measured.
    pub accept: Option<Accept>,
    /// Lower end of the tolerance interval, in counts, with the converter's error in it.
    pub tolerance_low_count: f64,
    /// Upper end of the tolerance interval.
    pub tolerance_high_count: f64,
    /// Standard deviation of one future reading: spread between presses and noise within one.
    pub sigma_count: f64,
    /// The noise's part of it.
    pub within_count: f64,
    /// Standard deviations either side of the mean that make the tolerance interval.
    pub tolerance_factor: f64,
    /// Degrees of freedom behind `sigma_count`; infinite where it is assumed rather than measured.
    pub degrees_of_freedom: f64,
    /// Whether the spread between presses is assumed, for want of presses.
    pub spread_assumed: bool,
    /// The next rung with a lower count on its wire.
    pub below: Option<Rung>,
    /// The next rung with a higher count on its wire.
    pub above: Option<Rung>,
    /// Least distance to another centre on the wire, over both standard deviations together.
    pub separation_sigma: Option<f64>,
    /// Least distance to another centre on the wire, rest included, in counts.
    pub nearest_gap_count: Option<f64>,
    /// Counts from the centre to the edge that wear moves it towards; to the nearer edge where no
    /// circuit is known. `None` for rest, and without a band.
    pub headroom_count: Option<f64>,
    /// Ohms of extra contact resistance until the count leaves the band; infinite where none can
    /// push it out, `None` where no circuit is known, for rest, and without a band.
    pub headroom_ohm: Option<f64>,
    /// By what share the feed may leave its plan until the count leaves the band; infinite where a
    /// reading is a ratio and no feed moves it, `None` where no circuit is known, for rest, and without a
    /// band.
    pub headroom_feed: Option<f64>,
    /// What its readings vary by, cause by cause.
    pub contributions: Contributions,
    /// How far all that the circuit can drift moves it together, in counts; nothing where no circuit is
    /// known.
    pub drift: Shift,
    /// How often a press of it goes wrong; `None` for rest, for what is only planned, and without a band.
    pub chance: Option<Chance>,
    /// Its edges, as far as a person moved them.
    pub moved: MovedEdges,
    /// How it stands, for [`Verdict::text`].
    pub verdict: Verdict,
}

impl Band {
    /// Half the tolerance interval, in counts: the `± 3` of a verdict.
    #[must_use]
    pub fn noise_count(&self) -> f64 {
        0.5 * (self.tolerance_high_count - self.tolerance_low_count)
    }
}

/// What is rejected between two neighbouring accept bands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Gap {
    /// On which wire.
    pub wire: u8,
    /// The rung below.
    pub lower: Rung,
    /// The rung above.
    pub upper: Rung,
    /// The lowest count rejected.
    pub reject_low_count: u16,
    /// The highest count rejected; one less than `reject_low_count` where nothing is, which
    /// happens only between rungs that cannot be told apart.
    pub reject_high_count: u16,
}

impl Gap {
    /// How many whole counts are rejected.
    #[must_use]
    pub fn reject_count(&self) -> u16 {
        (self.reject_high_count + 1).saturating_sub(self.reject_low_count)
    }
}

/// How far the bands of a wire reach.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reach {
    /// Into the gaps that no rung uses.
    Widened,
    /// No further than the tolerance interval: rest is not known yet.
    RestUnknown,
    /// No further than the tolerance interval: this button could lie anywhere yet.
    ButtonUnknown(usize),
}

/// One wire.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Wire {
    /// Its number, 1 or 2.
    pub wire: u8,
    /// How far its bands reach.
    pub reach: Reach,
}

/// The contact's spread from press to press, pooled over all buttons.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct BetweenSpread {
    /// In ohms; `None` where no circuit is known.
    pub ohm: Option<f64>,
    /// In counts, where no circuit is known.
    pub count: Option<f64>,
    /// Σ(presses − 1) over the buttons.
    pub degrees_of_freedom: u32,
    /// Whether it is assumed, for want of presses.
    pub assumed: bool,
}

/// All bands of a wheel.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct BandSet {
    /// Each wire that has a button or a rest.
    pub wires: Vec<Wire>,
    /// Each button that has a place, measured or planned, in the order of the input.
    pub buttons: Vec<Band>,
    /// Each wire's rest.
    pub rests: Vec<Band>,
    /// Between each two neighbouring accept bands, by wire and upwards.
    pub gaps: Vec<Gap>,
    /// The spread between presses.
    pub between: BetweenSpread,
    /// For each button of the input, how it stands.
    pub verdicts: Vec<Verdict>,
    /// The converter's stated error, as it was used.
    pub converter_error_count: f64,
    /// The least reject gap, in whole counts, as it was used.
    pub reject_floor_count: u16,
}

/// A press is on another button's rung when it lies within this many standard deviations of the
/// difference between two presses: 1 in 16 000 presses of that very button would not.
const SAME_RUNG_SIGMA: f64 = 4.0;

impl BandSet {
    /// The band of a rung, where it has a place.
    #[must_use]
    pub fn band(&self, rung: Rung) -> Option<&Band> {
        self.bands().find(|band| band.rung == rung)
    }

    /// Every band, buttons first.
    pub fn bands(&self) -> impl Iterator<Item = &Band> {
        self.buttons.iter().chain(&self.rests)
    }

    /// How a button of the input stands, placed or not.
    #[must_use]
    pub fn verdict(&self, button: usize) -> Option<&Verdict> {
        self.verdicts.get(button)
    }

    /// The measured rung whose accept band holds a reading. A reading outside every band is
    /// nothing, never the nearest; and what is only planned takes none.
    #[must_use]
    pub fn which(&self, wire: u8, count: f64) -> Option<Rung> {
        self.bands()
            .find(|band| {
                band.measured && band.wire == wire && band.accept.is_some_and(|accept| accept.holds(count))
            })
            .map(|band| band.rung)
    }

    /// The measured rung a settled press is indistinguishable from, whatever the bands accept:
    /// for learning, when a new button may well lie within a band that is wide for want of others.
    #[must_use]
    pub fn same_rung(&self, wire: u8, count: f64) -> Option<Rung> {
        let near = |band: &&Band| {
            let presses = band.presses.max(1) as f64;
            let reach = SAME_RUNG_SIGMA * band.sigma_count * (1.0 + 1.0 / presses).sqrt();
            band.measured
                && band.wire == wire
                && (count - band.centre_count).abs() <= reach.max(self.converter_error_count)
        };
        let off = |band: &Band| (count - band.centre_count).abs();
        self.bands().filter(near).min_by(|a, b| off(a).total_cmp(&off(b))).map(|band| band.rung)
    }

    /// The two rungs nearest to each other on a wire, and their distance from centre to centre.
    #[must_use]
    pub fn smallest_gap(&self) -> Option<(Rung, Rung, f64)> {
        let pairs = self.bands().filter_map(|band| {
            let upper = self.band(band.above?)?;
            Some((band.rung, upper.rung, upper.centre_count - band.centre_count))
        });
        pairs.min_by(|a, b| a.2.total_cmp(&b.2))
    }
}
