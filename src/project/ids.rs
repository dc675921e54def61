//! Ids from names: what a person typed, in the alphabet that files and commands use. Knows no
//! project.

use super::values::MAX_ID;

/// What is left of a name that has no letter or digit we can spell.
const UNNAMED: &str = "unnamed";

/// Room kept for `_2`, `_3`, … behind a name.
const SUFFIX_ROOM: usize = 4;

/// An id for a name: lower-case letters, digits and `_`, 1 to 32 of them, not yet taken.
///
/// Accents fall away, signs that buttons carry become words (`Volume +` gives `volume_plus`), and
/// a name of which nothing can be spelt gives `unnamed`. A taken id gets a number: `mute_2`.
///
/// ```
/// use spokewire::project::unique_id;
/// assert_eq!(unique_id("Lautstärke +", |_| false), "lautstaerke_plus");
/// assert_eq!(unique_id("Mute", |id| id == "mute"), "mute_2");
/// ```
#[must_use]
pub fn unique_id(name: &str, taken: impl Fn(&str) -> bool) -> String {
    let stem = spelt(name);
    if !taken(&stem) {
        return stem;
    }
    let mut number = 2_u32;
    loop {
        let id = format!("{stem}_{number}");
        // The last number ends the search whatever `taken` says.
        if !taken(&id) || number == u32::MAX {
            return id;
        }
        number += 1;
    }
}

/// The name in the alphabet of ids.
fn spelt(name: &str) -> String {
    let mut id = String::new();
    let mut gap = false;
    let letters: Vec<char> = name.chars().collect();
    for (index, &letter) in letters.iter().enumerate() {
        let ends = !letters.get(index + 1).is_some_and(|next| next.is_alphanumeric());
        let part = match letter {
            // A dash within a word joins, behind it takes away.
            '-' | '−' | '–' if ends => "_minus_",
            '+' => "_plus_",
            '↑' | '▲' | '△' => "_up_",
            '↓' | '▼' | '▽' => "_down_",
            '←' | '◀' | '◁' => "_left_",
            '→' | '▶' | '▷' => "_right_",
            '*' => "_star_",
            '#' => "_hash_",
            '\'' | '’' => continue,
            // An accent that stands on its own, as some keyboards give it.
            '\u{300}'..='\u{36F}' => continue,
            _ => latin(letter),
        };
        let mut own = [0; 4];
        let lower = letter.to_ascii_lowercase();
        let part = if letter.is_ascii_alphanumeric() { lower.encode_utf8(&mut own) } else { part };
        for c in part.chars() {
            if c == '_' {
                gap = !id.is_empty();
            } else {
                if gap {
                    id.push('_');
                    gap = false;
                }
                id.push(c);
            }
        }
    }
    id.truncate(MAX_ID - SUFFIX_ROOM);
    let id = id.trim_end_matches('_');
    if id.is_empty() { UNNAMED.to_owned() } else { id.to_owned() }
}

/// A Latin letter with an accent as plain letters; anything else parts words.
fn latin(letter: char) -> &'static str {
    let lower = letter.to_lowercase().next().unwrap_or(letter);
    match lower {
        'à' | 'á' | 'â' | 'ã' | 'ā' | 'ă' | 'ą' => "a",
        'ä' | 'æ' => "ae",
        'å' => "aa",
        'ç' | 'ć' | 'ĉ' | 'ċ' | 'č' => "c",
        'ď' | 'đ' | 'ð' => "d",
        'è' | 'é' | 'ê' | 'ë' | 'ē' | 'ĕ' | 'ė' | 'ę' | 'ě' => "e",
        'ĝ' | 'ğ' | 'ġ' | 'ģ' => "g",
        'ĥ' | 'ħ' => "h",
        'ì' | 'í' | 'î' | 'ï' | 'ĩ' | 'ī' | 'ĭ' | 'į' | 'ı' => "i",
        'ĵ' => "j",
        'ķ' => "k",
        'ĺ' | 'ļ' | 'ľ' | 'ŀ' | 'ł' => "l",
        'ñ' | 'ń' | 'ņ' | 'ň' => "n",
        'ò' | 'ó' | 'ô' | 'õ' | 'ō' | 'ŏ' | 'ő' => "o",
        'ö' | 'ø' | 'œ' => "oe",
        'ŕ' | 'ŗ' | 'ř' => "r",
        'ś' | 'ŝ' | 'ş' | 'š' | 'ș' => "s",
        'ß' => "ss",
        'ţ' | 'ť' | 'ŧ' | 'ț' => "t",
        'þ' => "th",
        'ù' | 'ú' | 'û' | 'ũ' | 'ū' | 'ŭ' | 'ů' | 'ű' | 'ų' => "u",
        'ü' => "ue",
        'ŵ' => "w",
        'ý' | 'ÿ' | 'ŷ' => "y",
        'ź' | 'ż' | 'ž' => "z",
        _ => "_",
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn names_give_ids_a_person_would_have_chosen() {
        for (name, id) in [
            ("Mute", "mute"),
            ("Volume +", "volume_plus"),
            ("Vol−", "vol_minus"),
            ("Track-next", "track_next"),
            ("  Next / Previous  ", "next_previous"),
            ("Élan ▲", "elan_up"),
            ("Cafe\u{301}", "cafe"),
            ("Driver's pick", "drivers_pick"),
            ("ÜBERBLENDEN", "ueberblenden"),
            ("音量", "unnamed"),
            ("", "unnamed"),
            ("___", "unnamed"),
            ("4", "4"),
        ] {
            assert_eq!(unique_id(name, |_| false), id, "{name}");
        }
    }

    #[test]
    fn a_taken_id_gets_the_first_free_number() {
        let taken = ["mute", "mute_2"];
        assert_eq!(unique_id("Mute", |id| taken.contains(&id)), "mute_3");
    }

    proptest! {
        #[test]
        fn any_name_gives_an_id_of_the_alphabet(name in "\\PC*", busy in 0_usize..30) {
            let mut taken: Vec<String> = Vec::new();
            for _ in 0..=busy {
                let id = unique_id(&name, |id| taken.iter().any(|other| other == id));
                prop_assert!((1..=MAX_ID).contains(&id.len()));
                prop_assert!(id.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'_'));
                prop_assert!(!taken.contains(&id));
                taken.push(id);
            }
        }
    }
}
