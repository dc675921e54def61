//! Notices: what a person has to know, beside what caused it, until it is answered or over.

use super::{Action, Station};

/// How much a notice matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Level {
    /// Stop: something is refused, lost or broken.
    Stop,
    /// Look here.
    Caution,
    /// Good to know.
    Note,
}

/// What a notice is about. There is one notice per topic: a newer one takes its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Topic {
    /// The link: gone, silent, failed.
    Link,
    /// Readings that were lost or broken on the way.
    Readings,
    /// The converter's range.
    Converter,
    /// What the box measures against.
    Reference,
    /// Opening or saving the project.
    File,
    /// Work found from before a crash.
    Recovered,
    /// A second window has the same file.
    Elsewhere,
    /// What fell out of the recording.
    FellOut,
    /// The file that a recording is written to.
    Tape,
    /// A press that was not taken.
    Refused,
    /// Rest.
    Rest,
    /// The feed while learning.
    Feed,
    /// A re-check of the bands.
    Recheck,
    /// An edit that can't be made.
    Edit,
    /// A file that was written beside the project.
    Export,
    /// A list of commands, taken in or written.
    List,
}

/// One notice.
#[derive(Clone, Debug, PartialEq)]
pub struct Notice {
    /// What it is about.
    pub topic: Topic,
    /// The station it belongs to; `None` shows it at every station.
    pub station: Option<Station>,
    /// How much it matters.
    pub level: Level,
    /// What happened, in a few words.
    pub head: String,
    /// The values, and what to do.
    pub body: String,
    /// One thing that can be done about it: what it is called, and what it does.
    pub action: Option<(String, Action)>,
}

impl Notice {
    /// A notice shown at every station.
    #[must_use]
    pub fn new(topic: Topic, level: Level, head: impl Into<String>, body: impl Into<String>) -> Self {
        Self { topic, station: None, level, head: head.into(), body: body.into(), action: None }
    }

    /// Shown at one station only.
    #[must_use]
    pub fn at(mut self, station: Station) -> Self {
        self.station = Some(station);
        self
    }

    /// With something that can be done about it.
    #[must_use]
    pub fn offering(mut self, label: impl Into<String>, action: Action) -> Self {
        self.action = Some((label.into(), action));
        self
    }
}

/// All notices there are.
#[derive(Clone, Debug, Default)]
pub struct Notices(Vec<Notice>);

impl Notices {
    /// Shows a notice, in the place of the one on the same topic.
    pub fn show(&mut self, notice: Notice) {
        self.clear(notice.topic);
        self.0.push(notice);
        self.0.sort_by_key(|notice| notice.level);
    }

    /// Takes away the notice on a topic.
    pub fn clear(&mut self, topic: Topic) {
        self.0.retain(|notice| notice.topic != topic);
    }

    /// The notice on a topic.
    #[must_use]
    pub fn on(&self, topic: Topic) -> Option<&Notice> {
        self.0.iter().find(|notice| notice.topic == topic)
    }

    /// The notices for a station, the gravest first.
    pub fn at(&self, station: Station) -> impl Iterator<Item = &Notice> {
        self.0.iter().filter(move |notice| notice.station.is_none_or(|place| place == station))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_newer_notice_takes_the_place_of_the_older_on_its_topic() {
        let mut notices = Notices::default();
        notices.show(Notice::new(Topic::Link, Level::Note, "Trying 9 600", ""));
        notices.show(Notice::new(Topic::Link, Level::Stop, "The port went away.", ""));
        let heads: Vec<_> = notices.at(Station::Learn).map(|notice| notice.head.as_str()).collect();
        assert_eq!(heads, ["The port went away."]);
    }

    #[test]
    fn the_gravest_stands_first_and_a_station_shows_its_own() {
        let mut notices = Notices::default();
        notices.show(Notice::new(Topic::File, Level::Note, "note", ""));
        notices.show(Notice::new(Topic::Refused, Level::Stop, "stop", "").at(Station::Learn));
        let at = |station| notices.at(station).map(|notice| notice.head.clone()).collect::<Vec<_>>();
        assert_eq!(at(Station::Learn), ["stop", "note"]);
        assert_eq!(at(Station::Pair), ["note"]);
    }
}
