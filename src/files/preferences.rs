//! What a person prefers, whatever the project. Reading never fails: each setting that can't be
//! read takes its default and is said, and settings of a later program are written back as they
//! were.

use std::collections::BTreeMap;
use std::path::PathBuf;

use ron::Value;
use serde::de::DeserializeOwned;
use thiserror::Error;

use super::load::{LoadError, load};
use super::places::Places;
use super::recent::made;
use super::save::{SaveError, save};

/// Light on dark, or the other way round.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Theme {
    /// For a garage.
    #[default]
    Dark,
    /// For daylight.
    Light,
}

impl Theme {
    /// All of them.
    pub const ALL: [Self; 2] = [Self::Dark, Self::Light];

    /// Its word in the file.
    const fn word(self) -> &'static str {
        match self {
            Self::Dark => "dark",
            Self::Light => "light",
        }
    }

    fn of(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|theme| theme.word() == word)
    }
}

/// What a person prefers.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Preferences {
    /// Dark or light.
    pub theme: Theme,
    /// Whether the cautions were read.
    pub cautions_read: bool,
    /// The port opened last, by its path.
    pub port: Option<String>,
    /// Its rate, in bits per second; 300 to 4 000 000.
    pub rate: Option<u32>,
    /// The window's size in points, width and height; 320 to 16 384.
    pub window: Option<(f32, f32)>,
    /// Settings of a later program.
    others: BTreeMap<String, Value>,
}

/// A setting, or a file of settings, that couldn't be read.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum Warning {
    /// The file whole.
    #[error("\"{}\" could not be read, and its defaults are used: {reason} It is written anew with the next change; what it held is kept beside it in `.bak`.", .file.display())]
    Unreadable {
        /// The file.
        file: PathBuf,
        /// Why, in one sentence.
        reason: String,
    },
    /// One setting.
    #[error("{key} in \"{}\" is {found}, which can't be, and its default is used. Set it anew.", .file.display())]
    Value {
        /// The file.
        file: PathBuf,
        /// The setting.
        key: String,
        /// What was found.
        found: String,
    },
}

impl Warning {
    pub(super) fn unreadable(file: PathBuf, reason: String) -> Self {
        let reason = if reason.ends_with('.') { reason } else { format!("{reason}.") };
        Self::Unreadable { file, reason }
    }
}

impl Preferences {
    /// Reads them; what can't be read is the default and a warning.
    #[must_use]
    pub fn read(places: &Places) -> (Self, Vec<Warning>) {
        let file = places.preferences();
        let settings = match load(&file) {
            Ok(text) => ron::from_str::<BTreeMap<String, Value>>(&text).map_err(|error| error.to_string()),
            Err(LoadError::Missing { .. }) => Ok(BTreeMap::new()),
            Err(error) => Err(error.to_string()),
        };
        match settings {
            Ok(settings) => Self::of(settings, file),
            Err(reason) => (Self::default(), vec![Warning::unreadable(file, reason)]),
        }
    }

    /// Writes them.
    ///
    /// # Errors
    /// [`SaveError`] if they can't be written.
    pub fn write(&self, places: &Places) -> Result<(), SaveError> {
        save(&made(places.preferences())?, &self.text()).map(|_| ())
    }

    fn of(settings: BTreeMap<String, Value>, file: PathBuf) -> (Self, Vec<Warning>) {
        let mut reader = Reader { settings, file, warnings: Vec::new() };
        let rate = |rate: &u32| (300..=4_000_000).contains(rate);
        let side = |side: f32| (320.0..=16_384.0).contains(&side);
        let theme = reader.take("theme", |word: &String| Theme::of(word).is_some());
        let cautions_read = reader.take("cautions_read", |_| true).unwrap_or_default();
        let port = reader.take("port", |port: &String| !port.is_empty());
        let rate = reader.take("rate", rate);
        let window = reader.take("window", |&(width, height)| side(width) && side(height));
        let others = reader.settings;
        let theme = theme.and_then(|word| Theme::of(&word)).unwrap_or_default();
        (Self { theme, cautions_read, port, rate, window, others }, reader.warnings)
    }

    fn text(&self) -> String {
        // Plain values: turning them into RON in memory can't fail.
        let value = |text: Result<String, ron::Error>| text.unwrap_or_default();
        let mut settings: BTreeMap<&str, String> =
            self.others.iter().map(|(key, other)| (key.as_str(), value(ron::to_string(other)))).collect();
        settings.insert("theme", value(ron::to_string(self.theme.word())));
        settings.insert("cautions_read", self.cautions_read.to_string());
        if let Some(port) = &self.port {
            settings.insert("port", value(ron::to_string(port)));
        }
        if let Some(rate) = self.rate {
            settings.insert("rate", rate.to_string());
        }
        if let Some((width, height)) = self.window {
            settings.insert("window", format!("({width:?}, {height:?})"));
        }
        let lines: String = settings.iter().map(|(key, value)| format!("    {key:?}: {value},\n")).collect();
        format!("{{\n{lines}}}\n")
    }
}

/// Settings that are taken one by one.
struct Reader {
    settings: BTreeMap<String, Value>,
    file: PathBuf,
    warnings: Vec<Warning>,
}

impl Reader {
    /// Takes a setting out, if it is there and may be.
    fn take<T: DeserializeOwned>(&mut self, key: &str, may_be: impl FnOnce(&T) -> bool) -> Option<T> {
        let value = self.settings.remove(key)?;
        let found = ron::to_string(&value).unwrap_or_default();
        let read = value.into_rust::<T>().ok().filter(may_be);
        if read.is_none() {
            self.warnings.push(Warning::Value { file: self.file.clone(), key: key.to_owned(), found });
        }
        read
    }
}

#[cfg(test)]
mod tests {
    use std::fs;

    use proptest::prelude::*;

    use super::*;

    fn read(text: &str) -> (Preferences, Vec<String>) {
        let folder = tempfile::tempdir().unwrap();
        let places = Places::under(folder.path());
        fs::write(made(places.preferences()).unwrap(), text).unwrap();
        let (preferences, warnings) = Preferences::read(&places);
        let shown = places.preferences().display().to_string();
        (preferences, warnings.iter().map(|warning| warning.to_string().replace(&shown, "FILE")).collect())
    }

    fn filled() -> Preferences {
        Preferences {
            theme: Theme::Light,
            cautions_read: true,
            port: Some("/dev/ttyACM0 \"Ω\"".into()),
            rate: Some(115_200),
            window: Some((1280.0, 800.5)),
            others: BTreeMap::new(),
        }
    }

    #[test]
    fn preferences_are_read_as_they_were_written() {
        let folder = tempfile::tempdir().unwrap();
        let places = Places::under(folder.path());
        assert_eq!(Preferences::read(&places), (Preferences::default(), vec![]));
        filled().write(&places).unwrap();
        assert_eq!(Preferences::read(&places), (filled(), vec![]));
    }

    #[test]
    fn a_setting_that_cannot_be_takes_its_default_alone() {
        for (text, key, found) in [
            ("\"theme\": \"sepia\"", "theme", "\"sepia\""),
            ("\"cautions_read\": 1", "cautions_read", "1"),
            ("\"port\": 7", "port", "7"),
            ("\"rate\": 0", "rate", "0"),
            ("\"rate\": -9600", "rate", "-9600"),
            ("\"window\": (1280.0, 1e9)", "window", "[1280.0,1000000000.0]"),
            ("\"window\": (NaN, 800.0)", "window", "[NaN,800.0]"),
        ] {
            let (preferences, warnings) = read(&format!("{{\"others\": 1, {text}}}"));
            let told = format!(
                "{key} in \"FILE\" is {found}, which can't be, and its default is used. Set it anew."
            );
            assert_eq!(warnings, [told]);
            let default = Preferences { others: preferences.others.clone(), ..Preferences::default() };
            assert_eq!(preferences, default);
        }
    }

    #[test]
    fn settings_of_a_later_program_survive() {
        let (preferences, warnings) = read("{\"night_from\": (21, [\"a\"]), \"theme\": \"light\"}");
        assert_eq!(warnings, [""; 0]);
        let (again, _) = read(&Preferences { cautions_read: true, ..preferences.clone() }.text());
        assert_eq!(again.others, preferences.others);
        assert_eq!(again.others.len(), 1);
    }

    #[test]
    fn a_file_that_is_no_settings_gives_defaults_and_says_so() {
        let (preferences, warnings) = read("{\"theme\"");
        assert_eq!(preferences, Preferences::default());
        assert_eq!(warnings.len(), 1);
        assert!(
            warnings[0].starts_with("\"FILE\" could not be read, and its defaults are used: "),
            "{}",
            warnings[0]
        );
    }

    proptest! {
        #[test]
        fn any_text_gives_preferences(text in "[\\[\\](){}:,\"'#/a-z0-9.\n-]{0,80}") {
            let settings = ron::from_str::<BTreeMap<String, Value>>(&text).unwrap_or_default();
            let (preferences, _) = Preferences::of(settings, PathBuf::new());
            prop_assert!(!preferences.text().is_empty());
        }
    }
}
