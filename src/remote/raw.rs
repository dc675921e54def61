//! Codes that no family explains: their timings, typed or pasted. Knows no family.

use super::code::Code;

/// The fewest edges a raw code can have: one mark.
pub const RAW_EDGES_MIN: usize = 2;

/// The most edges a raw code can have: what the box can hear and hold of one.
pub const RAW_EDGES_MAX: usize = 200;

/// The shortest timing of a raw code, in microseconds.
pub const RAW_TIMING_MIN_US: f64 = 1.0;

/// The longest timing of a raw code, in microseconds: what the box can measure.
pub const RAW_TIMING_MAX_US: f64 = 125_000.0;

/// Why timings are no raw code. Positions count from 1.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum RawError {
    /// Nothing to read.
    #[error("There are no timings. Give marks and spaces in microseconds, like 9000 4500 562.")]
    Empty,
    /// Not a number.
    #[error(
        "Timing {position}, \"{text}\", is not a number. Give marks and spaces in microseconds, \
         like 9000 4500 562."
    )]
    NotANumber {
        /// Which one.
        position: usize,
        /// What stands there.
        text: String,
    },
    /// Too short or too long, or no number at all.
    #[error(
        "Timing {position} is {}; 1 to 125000 µs can be sent. Check it, and that all are in microseconds.",
        us_text(*given_us)
    )]
    OutOfRange {
        /// Which one.
        position: usize,
        /// Its value.
        given_us: f64,
    },
    /// The first timing is signed as a space.
    #[error("Timing 1, \"{text}\", is a space, and a code begins with a mark. Leave the leading space out.")]
    BeginsWithSpace {
        /// What stands there.
        text: String,
    },
    /// A sign says mark where a space is due, or the other way round.
    #[error(
        "Timing {position}, \"{text}\", is signed as a {signed}, and a {due} is due there. \
         Marks and spaces take turns: join or add what is missing."
    )]
    OutOfTurn {
        /// Which one.
        position: usize,
        /// What stands there.
        text: String,
        /// What its sign says: `mark` or `space`.
        signed: &'static str,
        /// What is due.
        due: &'static str,
    },
    /// It ends with a space.
    #[error(
        "The code ends with a space, timing {count}. End it with a mark: the gap after it is not part of it."
    )]
    EndsWithSpace {
        /// How many timings there are.
        count: usize,
    },
    /// More than can be held.
    #[error(
        "There are {edges} edges; a raw code holds 200 at most. Keep one frame, up to the first long gap."
    )]
    TooMany {
        /// How many edges there are.
        edges: usize,
    },
}

/// A raw code from text: marks and spaces in microseconds, mark first, parted by blanks, commas,
/// semicolons or new lines, in square brackets or not. Signs are tolerated where they agree with the
/// turn (`+9000 -4500 +562`). A space at the end is the gap after the frame and is left out.
///
/// # Errors
/// [`RawError`], with the position of what is wrong.
pub fn raw_from_text(text: &str) -> Result<Code, RawError> {
    let text = text.trim();
    let text = text.strip_prefix('[').and_then(|rest| rest.strip_suffix(']')).unwrap_or(text);
    let parted = |c: char| c.is_whitespace() || c == ',' || c == ';';
    let mut pulses_us = Vec::new();
    let mut count = 0;
    for word in text.split(parted).filter(|word| !word.is_empty()) {
        count += 1;
        // One more than the most, for the gap at the end; the rest is only counted.
        if count <= RAW_EDGES_MAX {
            pulses_us.push(timing(count, word)?);
        }
    }
    if count > RAW_EDGES_MAX {
        return Err(RawError::TooMany { edges: count + 1 });
    }
    if count.is_multiple_of(2) {
        pulses_us.pop();
    }
    check(&pulses_us)?;
    Ok(Code::Raw { pulses_us, repeat_us: None })
}

/// Timings as heard as a raw code that is sent once; `None` if they can't be one.
pub(super) fn as_heard(pulses_us: &[f64]) -> Option<Code> {
    let most = pulses_us.len().min(RAW_EDGES_MAX - 1);
    let odd = most - usize::from(most.is_multiple_of(2) && most > 0);
    let pulses_us = pulses_us.get(..odd)?.to_vec();
    check(&pulses_us).ok()?;
    Some(Code::Raw { pulses_us, repeat_us: None })
}

/// How far timings of one duration are apart at most, as a share of it, or in microseconds for short
/// ones: a cycle of the carrier each way, and a little.
const JOIN: f64 = 0.15;
const JOIN_US: f64 = 60.0;

/// The timings with those near each other made one: marks by themselves and spaces by themselves, as
/// a receiver stretches the ones and shortens the others.
pub(super) fn joined(pulses_us: &[f64]) -> Vec<f64> {
    let mut joined = pulses_us.to_vec();
    for first in 0..2 {
        for cluster in clusters(pulses_us, first) {
            let mean = cluster.iter().map(|&at| pulses_us[at]).sum::<f64>() / cluster.len() as f64;
            for at in cluster {
                joined[at] = mean.round();
            }
        }
    }
    joined
}

/// The marks (from 0) or spaces (from 1) in clusters of near durations, by their places.
pub(super) fn clusters(pulses_us: &[f64], from: usize) -> Vec<Vec<usize>> {
    let mut places: Vec<usize> = (from..pulses_us.len()).step_by(2).collect();
    places.sort_by(|&a, &b| pulses_us[a].total_cmp(&pulses_us[b]));
    let mut clusters: Vec<Vec<usize>> = Vec::new();
    for at in places {
        let us = pulses_us[at];
        let fits = |cluster: &Vec<usize>| {
            let least = cluster.first().map_or(us, |&first| pulses_us[first]);
            us - least <= (2.0 * JOIN * least).max(2.0 * JOIN_US)
        };
        match clusters.last_mut().filter(|cluster| fits(cluster)) {
            Some(cluster) => cluster.push(at),
            None => clusters.push(vec![at]),
        }
    }
    clusters
}

/// Whether these timings can be kept and sent as a raw code.
pub(super) fn check(pulses_us: &[f64]) -> Result<(), RawError> {
    let count = pulses_us.len();
    if count == 0 {
        return Err(RawError::Empty);
    }
    // A frame of n timings has n + 1 edges.
    if count + 1 > RAW_EDGES_MAX {
        return Err(RawError::TooMany { edges: count + 1 });
    }
    for (i, &given_us) in pulses_us.iter().enumerate() {
        in_range(i + 1, given_us)?;
    }
    if count.is_multiple_of(2) {
        return Err(RawError::EndsWithSpace { count });
    }
    Ok(())
}

fn timing(position: usize, word: &str) -> Result<f64, RawError> {
    let (sign, digits) = match word.chars().next() {
        Some(sign @ ('+' | '-' | '\u{2212}')) => (Some(sign), &word[sign.len_utf8()..]),
        _ => (None, word),
    };
    // `f64` would read words like "nan" and "inf", and a second sign.
    let plain = digits.bytes().all(|b| b.is_ascii_digit() || b == b'.');
    let given_us: f64 = match digits.parse() {
        Ok(given_us) if plain => given_us,
        _ => return Err(RawError::NotANumber { position, text: shortened(word) }),
    };
    let mark_due = !position.is_multiple_of(2);
    match sign {
        Some(sign) if (sign == '+') != mark_due => {
            let text = shortened(word);
            return Err(if position == 1 {
                RawError::BeginsWithSpace { text }
            } else {
                let (signed, due) = if mark_due { ("space", "mark") } else { ("mark", "space") };
                RawError::OutOfTurn { position, text, signed, due }
            });
        }
        _ => {}
    }
    in_range(position, given_us)?;
    Ok(given_us)
}

fn in_range(position: usize, given_us: f64) -> Result<(), RawError> {
    if (RAW_TIMING_MIN_US..=RAW_TIMING_MAX_US).contains(&given_us) {
        Ok(())
    } else {
        Err(RawError::OutOfRange { position, given_us })
    }
}

/// A timing in microseconds, short enough to quote whatever it is.
pub(super) fn us_text(us: f64) -> String {
    if us.is_nan() {
        "no number".to_owned()
    } else if us.is_infinite() || us.abs() >= 1e9 {
        format!("{us:.0e} µs")
    } else {
        let text = format!("{us:.1}");
        format!("{} µs", text.strip_suffix(".0").unwrap_or(&text))
    }
}

/// What was typed, short enough to quote.
pub(super) fn shortened(text: &str) -> String {
    const MOST: usize = 24;
    if text.chars().count() <= MOST {
        text.to_owned()
    } else {
        text.chars().take(MOST - 1).chain(['…']).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pulses(text: &str) -> Result<Vec<f64>, RawError> {
        match raw_from_text(text)? {
            Code::Raw { pulses_us, .. } => Ok(pulses_us),
            Code::Family { .. } | Code::Free { .. } => panic!("a raw code was asked for"),
        }
    }

    #[test]
    fn blanks_commas_signs_and_brackets_all_read_the_same() {
        for text in [
            "9000 4500 562.5",
            "9000,4500,562.5",
            "[9000, 4500; 562.5]",
            "+9000 -4500\n+562.5",
            "9000 −4500 562.5",
        ] {
            assert_eq!(pulses(text), Ok(vec![9000.0, 4500.0, 562.5]), "{text}");
        }
    }

    #[test]
    fn a_gap_at_the_end_is_left_out() {
        assert_eq!(pulses("9000 2250 562 96188"), Ok(vec![9000.0, 2250.0, 562.0]));
    }

    #[test]
    fn what_is_wrong_is_said_with_its_place() {
        let said = |text: &str| pulses(text).unwrap_err().to_string();
        assert_eq!(
            said("  "),
            "There are no timings. Give marks and spaces in microseconds, like 9000 4500 562."
        );
        assert_eq!(
            said("9000 45O0"),
            "Timing 2, \"45O0\", is not a number. Give marks and spaces in microseconds, like 9000 4500 562."
        );
        assert_eq!(
            said("9000 0.4 9"),
            "Timing 2 is 0.4 µs; 1 to 125000 µs can be sent. Check it, and that all are in microseconds."
        );
        assert_eq!(
            said("-4500 +562"),
            "Timing 1, \"-4500\", is a space, and a code begins with a mark. Leave the leading space out."
        );
        assert_eq!(
            said("+9000 -4500 -562"),
            "Timing 3, \"-562\", is signed as a space, and a mark is due there. \
             Marks and spaces take turns: join or add what is missing."
        );
        assert_eq!(
            said(&"500 ".repeat(300)),
            "There are 301 edges; a raw code holds 200 at most. Keep one frame, up to the first long gap."
        );
    }

    #[test]
    fn words_that_only_a_parser_takes_for_numbers_are_refused() {
        for text in ["nan", "inf", "1e3", "--5", "+", "0x20", "9000 +-4500", "."] {
            assert!(matches!(pulses(text), Err(RawError::NotANumber { .. })), "{text}");
        }
        let long = "9".repeat(10_000);
        assert!(matches!(pulses(&long), Err(RawError::OutOfRange { .. })));
    }

    #[test]
    fn from_2_to_200_edges_fit() {
        assert_eq!(pulses("500"), Ok(vec![500.0]));
        let most = "500 ".repeat(RAW_EDGES_MAX - 1);
        assert_eq!(pulses(&most).map(|p| p.len() + 1), Ok(RAW_EDGES_MAX));
        let with_gap = "500 ".repeat(RAW_EDGES_MAX);
        assert_eq!(pulses(&with_gap).map(|p| p.len() + 1), Ok(RAW_EDGES_MAX));
        let beyond = "500 ".repeat(RAW_EDGES_MAX + 1);
        assert_eq!(pulses(&beyond), Err(RawError::TooMany { edges: RAW_EDGES_MAX + 2 }));
    }
}
