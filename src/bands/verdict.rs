//! How a rung stands, and the sentence that says so. Knows no names: they are handed in.

use crate::units::{count_text, ohm_text};

use super::band::Rung;
use super::chance::odds_text;
use super::edges::Edge;
use super::meeting::Meeting;

/// How a rung stands, with what the sentence needs.
#[derive(Clone, Debug, PartialEq)]
pub enum Verdict {
    /// Apart from all others.
    Safe {
        /// Which rung.
        of: Rung,
        /// The nearest one on its wire and how many counts away; `None` where it is alone.
        nearest: Option<(Rung, f64)>,
        /// Extra contact resistance until it leaves its band, in ohms.
        headroom_ohm: Option<f64>,
        /// Counts until it leaves its band; `None` for rest.
        headroom_count: Option<f64>,
    },
    /// Told apart, but with fewer counts rejected between than the plan asks for.
    Close {
        /// Which rung.
        of: Rung,
        /// From which other.
        other: Rung,
        /// Centre to centre, in counts.
        apart_count: f64,
        /// Counts rejected between the two.
        reject_count: u16,
        /// Counts asked for.
        floor_count: u16,
    },
    /// Told apart now, but what the circuit can drift takes it to another's band.
    Meets {
        /// Which rung drifts.
        of: Rung,
        /// To whose band.
        other: Rung,
        /// Centre to centre, in counts.
        apart_count: f64,
        /// In which state they meet.
        meeting: Meeting,
    },
    /// A person moved an edge to where its own presses still reach.
    Trimmed {
        /// Which rung.
        of: Rung,
        /// Which edge.
        edge: Edge,
        /// Where that is now.
        edge_count: u16,
        /// How far its tolerance interval reaches.
        reach_count: f64,
        /// The chance of a press being ignored, 0 to 1.
        ignored: f64,
    },
    /// The tolerance intervals of two measured rungs overlap or touch.
    Indistinct {
        /// Which rung.
        of: Rung,
        /// From which other.
        other: Rung,
        /// Centre to centre, in counts.
        apart_count: f64,
        /// Half the wider tolerance interval, in counts.
        noise_count: f64,
    },
    /// Taken by the person as one with another button, and no further from it than noise.
    Shared {
        /// Which rung.
        of: Rung,
        /// Whose band it shares.
        with: Rung,
    },
    /// Too few presses to know the spread; the band stands on an assumed one.
    MorePresses {
        /// Which rung.
        of: Rung,
        /// How many it has.
        presses: usize,
    },
    /// One of its presses strays from the others by more than the tolerance interval.
    Uneven {
        /// Which rung.
        of: Rung,
        /// The straying press, in counts.
        press_count: f64,
        /// The middle of them all, in counts.
        centre_count: f64,
    },
    /// It reads the top of the converter's range, where more can't be seen.
    Saturated {
        /// Which rung.
        of: Rung,
    },
    /// Not pressed yet; the meter says where it should be.
    Planned {
        /// Which rung.
        of: Rung,
        /// Predicted, in counts.
        count: f64,
    },
    /// Predicted too near to another rung to be told apart from it.
    PlannedClose {
        /// Which rung.
        of: Rung,
        /// The other one.
        other: Rung,
        /// Centre to centre, in counts.
        apart_count: f64,
    },
    /// Not pressed, and nothing is known of it.
    Unlearned {
        /// Which rung.
        of: Rung,
    },
    /// It has presses, but no wire.
    NoWire {
        /// Which rung.
        of: Rung,
    },
    /// It has presses, but none with a number in range.
    Unusable {
        /// Which rung.
        of: Rung,
    },
}

/// How much a verdict asks for attention.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Grade {
    /// Nothing to do.
    Good,
    /// Still to be learned.
    Open,
    /// Works, but look here.
    Caution,
    /// Will be misread.
    Stop,
}

impl Verdict {
    /// How much it asks for attention.
    #[must_use]
    pub const fn grade(&self) -> Grade {
        match self {
            Self::Safe { .. } => Grade::Good,
            Self::MorePresses { .. }
            | Self::Planned { .. }
            | Self::Unlearned { .. }
            | Self::NoWire { .. } => Grade::Open,
            Self::Close { .. }
            | Self::Meets { .. }
            | Self::Trimmed { .. }
            | Self::Shared { .. }
            | Self::Uneven { .. }
            | Self::Saturated { .. }
            | Self::PlannedClose { .. } => Grade::Caution,
            Self::Indistinct { .. } | Self::Unusable { .. } => Grade::Stop,
        }
    }

    /// The sentence, with each rung named by `name_of` as within a sentence (`rest`, not `Rest`).
    #[must_use]
    pub fn text(&self, name_of: &dyn Fn(Rung) -> String) -> String {
        let sentence = match *self {
            Self::Safe { of, nearest, headroom_ohm, headroom_count } => {
                let stands = match nearest {
                    Some((other, apart)) => {
                        format!("{} and {} are {} apart", name_of(of), name_of(other), counts(apart))
                    }
                    None => format!("{} has its wire to itself", name_of(of)),
                };
                match (headroom_ohm, headroom_count) {
                    (Some(ohm), _) if ohm.is_infinite() => format!("{stands}: safe whatever the wear."),
                    (Some(ohm), _) => format!("{stands}: safe to {} of wear.", ohm_text(ohm)),
                    (None, Some(count)) => format!("{stands}: safe to {} of drift.", counts(count)),
                    (None, None) => format!("{stands}."),
                }
            }
            Self::Close { of, other, apart_count, reject_count, floor_count } => format!(
                "{} and {} are {} apart: {reject_count} of them rejected, {floor_count} wanted.",
                name_of(of),
                name_of(other),
                counts(apart_count),
            ),
            Self::Meets { of, other, apart_count, meeting } => {
                let (of, other) = (name_of(of), name_of(other));
                let apart = counts(apart_count);
                format!(
                    "{of} and {other} are {apart} apart: {}, {of} can be taken for {other}.",
                    meeting.text()
                )
            }
            Self::Trimmed { of, edge, edge_count, reach_count, ignored } => {
                let end = if edge == Edge::Low { "lower" } else { "upper" };
                format!(
                    "The {end} edge of {} was moved to {edge_count}, and its presses reach to {}: {} is ignored.",
                    name_of(of),
                    number(reach_count),
                    odds_text(ignored)
                )
            }
            Self::Indistinct { of, other, apart_count, noise_count } => format!(
                "{} and {} can't be told apart: {}, noise ± {}.",
                name_of(of),
                name_of(other),
                counts(apart_count),
                number(noise_count),
            ),
            Self::Shared { of, with } => format!(
                "{} is taken as one with {}: a press of either counts as {1}.",
                name_of(of),
                name_of(with)
            ),
            Self::MorePresses { of, presses: 1 } => {
                format!("{} has one press: press it again, so that its spread is known.", name_of(of))
            }
            Self::MorePresses { of, presses } => format!(
                "{} has {presses} presses, too few in all to know the spread: press again.",
                name_of(of)
            ),
            Self::Uneven { of, press_count, centre_count } => format!(
                "A press of {} read {}, the others {}: learn it again.",
                name_of(of),
                number(press_count),
                number(centre_count)
            ),
            Self::Saturated { of } => {
                format!("{} reads the top of the range: check the return wire.", name_of(of))
            }
            Self::Planned { of, count } => {
                format!("{} should read {} by the meter: press it to learn it.", name_of(of), number(count))
            }
            Self::PlannedClose { of, other, apart_count } => format!(
                "{} and {} are {} apart by the meter, too near: press both to see.",
                name_of(of),
                name_of(other),
                counts(apart_count)
            ),
            Self::Unlearned { of } => format!("{} is not learned: press it.", name_of(of)),
            Self::NoWire { of } => format!("{} has presses but no wire: say which.", name_of(of)),
            Self::Unusable { of } => {
                format!("The presses kept for {} hold no readings: learn it again.", name_of(of))
            }
        };
        capitalised(&sentence)
    }
}

/// `60 counts`, `1 count`, `0.4 counts`.
fn counts(count: f64) -> String {
    let text = number(count);
    if text == "1" { "1 count".to_owned() } else { format!("{text} counts") }
}

/// Whole where it is large enough, with one decimal where that would be nothing.
fn number(count: f64) -> String {
    count_text(count, usize::from(count.abs() < 0.95 && count != 0.0))
}

fn capitalised(sentence: &str) -> String {
    let mut rest = sentence.chars();
    rest.next().map_or_else(String::new, |first| first.to_uppercase().chain(rest).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn name(rung: Rung) -> String {
        match rung {
            Rung::Button(index) => ["Previous", "Source", "Next", "Mute"][index].to_owned(),
            Rung::Rest(_) => "rest".to_owned(),
        }
    }

    fn said(verdict: &Verdict) -> String {
        verdict.text(&name)
    }

    const PREVIOUS: Rung = Rung::Button(0);
    const SOURCE: Rung = Rung::Button(1);
    const NEXT: Rung = Rung::Button(2);
    const MUTE: Rung = Rung::Button(3);

    #[test]
    fn verdicts_are_said_as_on_the_screen() {
        let safe = |headroom_ohm, headroom_count| Verdict::Safe {
            of: PREVIOUS,
            nearest: Some((SOURCE, 60.0)),
            headroom_ohm,
            headroom_count,
        };
        assert_eq!(
            said(&safe(Some(87.2), Some(23.0))),
            "Previous and Source are 60 counts apart: safe to 87 Ω of wear."
        );
        assert_eq!(
            said(&safe(None, Some(23.0))),
            "Previous and Source are 60 counts apart: safe to 23 counts of drift."
        );
        assert_eq!(
            said(&safe(Some(f64::INFINITY), Some(23.0))),
            "Previous and Source are 60 counts apart: safe whatever the wear."
        );
        assert_eq!(
            said(&Verdict::Indistinct { of: NEXT, other: MUTE, apart_count: 4.0, noise_count: 3.2 }),
            "Next and Mute can't be told apart: 4 counts, noise ± 3."
        );
        assert_eq!(
            said(&Verdict::Safe {
                of: Rung::Rest(1),
                nearest: Some((MUTE, 110.0)),
                headroom_ohm: None,
                headroom_count: None
            }),
            "Rest and Mute are 110 counts apart."
        );
    }

    #[test]
    fn every_other_verdict_says_what_to_do() {
        let sentences = [
            Verdict::Close { of: NEXT, other: MUTE, apart_count: 14.0, reject_count: 3, floor_count: 8 },
            Verdict::Meets {
                of: NEXT,
                other: MUTE,
                apart_count: 40.0,
                meeting: Meeting { wear_ohm: 61.3, celsius: None, feed_share: 0.0 },
            },
            Verdict::Trimmed {
                of: NEXT,
                edge: Edge::High,
                edge_count: 361,
                reach_count: 364.2,
                ignored: 0.022_75,
            },
            Verdict::Shared { of: NEXT, with: MUTE },
            Verdict::MorePresses { of: NEXT, presses: 1 },
            Verdict::MorePresses { of: NEXT, presses: 3 },
            Verdict::Uneven { of: NEXT, press_count: 371.0, centre_count: 358.0 },
            Verdict::Saturated { of: NEXT },
            Verdict::Planned { of: MUTE, count: 849.0 },
            Verdict::PlannedClose { of: NEXT, other: MUTE, apart_count: 1.0 },
            Verdict::Unlearned { of: MUTE },
            Verdict::NoWire { of: MUTE },
            Verdict::Unusable { of: MUTE },
        ]
        .map(|verdict| said(&verdict));
        assert_eq!(
            sentences,
            [
                "Next and Mute are 14 counts apart: 3 of them rejected, 8 wanted.",
                "Next and Mute are 40 counts apart: once worn by 61 Ω, Next can be taken for Mute.",
                "The upper edge of Next was moved to 361, and its presses reach to 364: 1 in 44 is ignored.",
                "Next is taken as one with Mute: a press of either counts as Mute.",
                "Next has one press: press it again, so that its spread is known.",
                "Next has 3 presses, too few in all to know the spread: press again.",
                "A press of Next read 371, the others 358: learn it again.",
                "Next reads the top of the range: check the return wire.",
                "Mute should read 849 by the meter: press it to learn it.",
                "Next and Mute are 1 count apart by the meter, too near: press both to see.",
                "Mute is not learned: press it.",
                "Mute has presses but no wire: say which.",
                "The presses kept for Mute hold no readings: learn it again.",
            ]
        );
    }

    #[test]
    fn grades_rise_with_the_harm() {
        assert!(Grade::Good < Grade::Open && Grade::Open < Grade::Caution && Grade::Caution < Grade::Stop);
        let stop = Verdict::Indistinct { of: NEXT, other: MUTE, apart_count: 0.4, noise_count: 3.0 };
        assert_eq!(stop.grade(), Grade::Stop);
        assert_eq!(said(&stop), "Next and Mute can't be told apart: 0.4 counts, noise ± 3.");
    }
}
