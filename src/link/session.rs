//! What is made of a port's bytes: first the search for its rate, then readings with their times,
//! silence, and a new search when sense is lost. Bytes and time are arguments; the port itself
//! and the thread are in `worker.rs`.

use super::message::Batch;
use super::plain::PlainParser;
use super::rate::{Search, Verdict, judge};
use crate::signal::RawReading;
use crate::units::WIRES;

/// After a change of rate, for how long bytes are thrown away: what was on its way was heard at
/// the old one. Bridges hold bytes back for up to 16 ms.
const DEAF_MS: f64 = 30.0;

/// Lines that arrive together are spread over the time since the arrival before, but over no more
/// than this: after a long silence they were not sent all through it.
const SPREAD_MS: f64 = 250.0;

/// How often a silence is told.
const SILENT_EVERY_MS: f64 = 1_000.0;

/// For how long a link that made sense may make none before its rate is searched anew, and how
/// many bytes must have come in that time.
const LOST_SENSE_MS: f64 = 3_000.0;
const LOST_SENSE_BYTES: u64 = 48;

/// The rate at which a box listens and answers. A box says nothing by itself, so at this rate it is
/// asked; until it had time to answer, bytes that are no lines of numbers don't rule the rate out.
pub(super) const BOX_RATE: u32 = 115_200;
const BOX_ANSWERS_MS: f64 = 400.0;

/// Where nothing at all comes at another rate, a box may be waiting to be asked: after this long the
/// port goes over to its rate. The first time for longer than a board takes from its reset to its
/// program, since opening the port has reset it; then again now and then.
const KNOCK_AFTER_MS: f64 = 1_500.0;
const KNOCK_FOR_MS: f64 = 2_500.0;
const KNOCK_EVERY_MS: f64 = 10_000.0;

/// What the worker has to do or to tell.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Event {
    /// Set the port to this rate, throw away what it holds, and tell that it is tried.
    Try { rate: u32 },
    /// Readings make sense; they are in the batch.
    Connected { rate: u32, wires: u8 },
    /// Nothing that makes sense for so long.
    Silent { ms: u64, bytes_came: bool },
    /// No rate makes sense.
    Hopeless,
}

/// One opening of a port, from its first byte on.
pub(super) struct Session {
    search: Search,
    parser: PlainParser,
    /// How many numbers a line holds, once that is known.
    wires: Option<u8>,
    /// A link that made sense once is never given up.
    lasting: bool,
    /// Readings of the rate being tried, with the number of numbers in their line.
    trial: Vec<(RawReading, u8)>,
    trial_from_ms: Option<f64>,
    deaf_until_ms: f64,
    /// When bytes came last; when it was opened, before the first.
    arrived_ms: f64,
    /// When a reading came last, and how many bytes came since that were none.
    sense_ms: f64,
    senseless: u64,
    silent_due_ms: f64,
    /// When a box is asked for at its own rate, and until when that goes on once it has begun.
    knock_due_ms: f64,
    knock_until_ms: Option<f64>,
    /// Broken lines that were put in a batch already.
    broken_told: u64,
    numbers: Vec<[u16; WIRES]>,
}

impl Session {
    /// A port just opened at the search's rate.
    pub(super) fn new(search: Search, lasting: bool, now_ms: f64) -> Self {
        Self {
            lasting: lasting || !search.is_choice(),
            search,
            parser: PlainParser::new(),
            wires: None,
            trial: vec![],
            trial_from_ms: None,
            deaf_until_ms: now_ms,
            arrived_ms: now_ms,
            sense_ms: now_ms,
            senseless: 0,
            silent_due_ms: now_ms + SILENT_EVERY_MS,
            knock_due_ms: now_ms,
            knock_until_ms: None,
            broken_told: 0,
            numbers: vec![],
        }
    }

    /// Whether a box would be heard now if it answered.
    pub(super) fn may_be_box(&self) -> bool {
        self.wires.is_none() && self.rate() == BOX_RATE
    }

    /// Whether all that came so far is numbers.
    pub(super) fn hears_lines(&self) -> bool {
        let tally = self.parser.tally();
        tally.one + tally.two > 0 && tally.foreign == 0
    }

    /// Whether nothing has made sense yet.
    pub(super) fn is_searching(&self) -> bool {
        self.wires.is_none()
    }

    /// The beginning of the last broken line.
    pub(super) fn broken_sample(&self) -> Option<String> {
        self.parser.broken_sample()
    }

    /// The rate it listens at.
    pub(super) fn rate(&self) -> u32 {
        if self.knock_until_ms.is_some() { BOX_RATE } else { self.search.rate() }
    }

    /// Takes bytes that have just arrived; none where a read has waited in vain.
    pub(super) fn take(&mut self, bytes: &[u8], now_ms: f64, batch: &mut Batch) -> Option<Event> {
        let bytes = if now_ms < self.deaf_until_ms { &[] } else { bytes };
        if self.knock_until_ms.is_some() {
            return self.knock_on(bytes, now_ms).or_else(|| self.silence(now_ms));
        }
        if !bytes.is_empty() {
            self.hear(bytes, now_ms, batch);
        }
        if let Some(event) = self.knock(now_ms) {
            return Some(event);
        }
        let event = if self.wires.is_some() { self.lost_sense(now_ms) } else { self.decide(now_ms, batch) };
        event.or_else(|| self.silence(now_ms))
    }

    /// The port can't run at the rate that was to be tried.
    pub(super) fn refused(&mut self, now_ms: f64) -> Option<Event> {
        self.search.heard(now_ms);
        self.give_up_rate(now_ms)
    }

    /// Begins to ask for a box where nothing has come at all.
    fn knock(&mut self, now_ms: f64) -> Option<Event> {
        let is_silent = self.trial_from_ms.is_none() && now_ms - self.arrived_ms >= KNOCK_AFTER_MS;
        let is_silent = is_silent && self.wires.is_none();
        if !is_silent || self.rate() == BOX_RATE || now_ms < self.knock_due_ms {
            return None;
        }
        self.knock_until_ms = Some(now_ms + KNOCK_FOR_MS);
        self.knock_due_ms = now_ms + KNOCK_EVERY_MS;
        self.deaf_until_ms = now_ms + DEAF_MS;
        Some(Event::Try { rate: BOX_RATE })
    }

    /// Goes back to the rate that is tried once no box has answered for long enough, or what comes
    /// is none.
    fn knock_on(&mut self, bytes: &[u8], now_ms: f64) -> Option<Event> {
        if !bytes.is_empty() {
            let soon_ms = now_ms + BOX_ANSWERS_MS;
            self.knock_until_ms = self.knock_until_ms.map(|until| until.min(soon_ms));
        }
        if self.knock_until_ms.is_none_or(|until| now_ms < until) {
            return None;
        }
        self.knock_until_ms = None;
        self.deaf_until_ms = now_ms + DEAF_MS;
        Some(Event::Try { rate: self.rate() })
    }

    /// Parses bytes and gives each line its time: spread evenly over the time since the arrival
    /// before, the last line at this one. Bytes are read as they arrive, so a lump means that they
    /// waited somewhere on the way, in a bridge or behind a busy processor.
    fn hear(&mut self, bytes: &[u8], now_ms: f64, batch: &mut Batch) {
        let Self { parser, numbers, wires, trial, .. } = self;
        numbers.clear();
        parser.feed(bytes, |first, second| numbers.push([first, second.unwrap_or(RawReading::NONE)]));
        let from_ms = self.arrived_ms.max(now_ms - SPREAD_MS);
        let step_ms = (now_ms - from_ms) / numbers.len().max(1) as f64;
        let stamped = numbers.iter().enumerate().map(|(at, &raw)| RawReading {
            feed: RawReading::NONE,
            t_ms: from_ms + step_ms * (at + 1) as f64,
            raw,
        });
        if wires.is_some() {
            batch.readings.extend(stamped);
            let broken = parser.tally().broken;
            batch.broken_lines += broken - self.broken_told;
            self.broken_told = broken;
        } else {
            trial.extend(stamped.map(|r| (r, if r.raw[1] == RawReading::NONE { 1 } else { 2 })));
            self.search.heard(now_ms);
            self.trial_from_ms.get_or_insert(now_ms);
        }
        let sense = wires.is_some() && !numbers.is_empty();
        self.senseless = if sense { 0 } else { self.senseless + bytes.len() as u64 };
        if sense {
            self.sense_ms = now_ms;
        }
        if sense || !self.lasting {
            self.silent_due_ms = now_ms + SILENT_EVERY_MS;
        }
        self.arrived_ms = now_ms;
    }

    fn decide(&mut self, now_ms: f64, batch: &mut Batch) -> Option<Event> {
        let wires = match judge(&self.parser.tally()) {
            Verdict::Right { wires } => wires,
            Verdict::Doubtful { wires } if self.search.doubt() => wires,
            Verdict::Wrong if self.box_may_answer(now_ms) => return None,
            Verdict::Doubtful { .. } | Verdict::Wrong => return self.give_up_rate(now_ms),
            Verdict::Undecided => {
                let over = self.trial_from_ms.is_some_and(|from| now_ms - from >= self.search.window_ms())
                    && !self.box_may_answer(now_ms);
                return if over { self.give_up_rate(now_ms) } else { None };
            }
        };
        self.parser.expect(Some(wires));
        self.wires = Some(wires);
        self.lasting = true;
        self.sense_ms = now_ms;
        self.senseless = 0;
        self.silent_due_ms = now_ms + SILENT_EVERY_MS;
        let tried = self.trial.len();
        let kept = std::mem::take(&mut self.trial).into_iter().filter(|(_, count)| *count == wires);
        let before = batch.readings.len();
        batch.readings.extend(kept.map(|(reading, _)| reading));
        let others = tried - (batch.readings.len() - before);
        self.broken_told = self.parser.tally().broken;
        batch.broken_lines += self.broken_told + others as u64;
        Some(Event::Connected { rate: self.rate(), wires })
    }

    /// Whether what comes may yet turn out to be a box.
    fn box_may_answer(&self, now_ms: f64) -> bool {
        let since_ms = self.trial_from_ms.map_or(0.0, |from| now_ms - from);
        self.rate() == BOX_RATE && since_ms < BOX_ANSWERS_MS
    }

    /// On to the next rate, or the same once more where there is no other.
    fn give_up_rate(&mut self, now_ms: f64) -> Option<Event> {
        self.start_trial();
        if !self.search.is_choice() {
            return None;
        }
        self.search.next_rate();
        if !self.lasting && self.search.is_hopeless(now_ms) {
            return Some(Event::Hopeless);
        }
        self.deaf_until_ms = now_ms + DEAF_MS;
        Some(Event::Try { rate: self.rate() })
    }

    fn start_trial(&mut self) {
        self.parser.start_over();
        self.wires = None;
        self.trial.clear();
        self.trial_from_ms = None;
        self.broken_told = 0;
    }

    /// A probe that was given another program may speak at another rate, or on two wires.
    fn lost_sense(&mut self, now_ms: f64) -> Option<Event> {
        if self.senseless < LOST_SENSE_BYTES || now_ms - self.sense_ms < LOST_SENSE_MS {
            return None;
        }
        let rate = self.rate();
        self.start_trial();
        if !self.search.is_choice() {
            return None;
        }
        self.search = Search::new(Some(rate));
        Some(Event::Try { rate })
    }

    fn silence(&mut self, now_ms: f64) -> Option<Event> {
        if now_ms < self.silent_due_ms {
            return None;
        }
        let since_ms = if self.lasting { self.sense_ms } else { self.arrived_ms };
        self.silent_due_ms += SILENT_EVERY_MS;
        let bytes_came = self.lasting && self.senseless > 0;
        Some(Event::Silent { ms: (now_ms - since_ms) as u64, bytes_came })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Runs a session against a sender, 15 ms a step. `sender` is told the rate and the time and
    /// gives what arrives. Returns the events with their times, and all readings.
    fn run(
        session: &mut Session,
        from_ms: f64,
        to_ms: f64,
        mut sender: impl FnMut(u32, f64) -> Vec<u8>,
    ) -> (Vec<(f64, Event)>, Batch) {
        let (mut events, mut batch) = (vec![], Batch::default());
        let mut now_ms = from_ms;
        while now_ms < to_ms {
            let bytes = sender(session.rate(), now_ms);
            events.extend(session.take(&bytes, now_ms, &mut batch).map(|event| (now_ms, event)));
            now_ms += 15.0;
        }
        (events, batch)
    }

    /// A probe at `rate` that sends a line every `every_ms`; at any other rate it is garbage.
    fn probe(rate: u32, every_ms: f64) -> impl FnMut(u32, f64) -> Vec<u8> {
        let mut sent = 0.0;
        move |heard, now_ms| {
            let mut bytes = vec![];
            while sent + every_ms <= now_ms {
                sent += every_ms;
                bytes.extend_from_slice(if heard == rate { b"512\r\n" } else { b"\xf8\x1d\xe0" });
            }
            bytes
        }
    }

    fn connected(events: &[(f64, Event)]) -> Option<(f64, u32)> {
        events.iter().find_map(|(at, event)| match event {
            Event::Connected { rate, wires: 1 } => Some((*at, *rate)),
            _ => None,
        })
    }

    #[test]
    fn every_rate_is_found_from_a_probe_of_ten_lines_a_second_within_ten_seconds() {
        for rate in super::super::RATES {
            let mut session = Session::new(Search::new(None), false, 0.0);
            let (events, batch) = run(&mut session, 0.0, 12_000.0, probe(rate, 100.0));
            let (at, found) = connected(&events).expect("found");
            assert_eq!(found, rate);
            assert!(at < 10_000.0, "{rate}: {at} ms");
            assert!(batch.readings.len() > 10);
            assert_eq!(batch.broken_lines, 0);
        }
    }

    #[test]
    fn a_probe_that_talks_before_it_counts_is_found_in_the_next_round() {
        let mut numbers = probe(115_200, 1.0);
        let mut session = Session::new(Search::new(None), false, 0.0);
        let (events, _) = run(&mut session, 0.0, 5_000.0, |rate, now_ms| {
            let bytes = numbers(rate, now_ms);
            if now_ms < 1_500.0 { b"ready, waiting for the converter\r\n".to_vec() } else { bytes }
        });
        assert!(connected(&events).is_some_and(|(at, rate)| rate == 115_200 && at < 3_000.0), "{events:?}");
    }

    #[test]
    fn garbage_at_every_rate_is_given_up_after_a_while() {
        let mut session = Session::new(Search::new(None), false, 0.0);
        let (events, batch) = run(&mut session, 0.0, 20_000.0, |_, _| vec![0xa5; 300]);
        let hopeless = events.iter().position(|(_, event)| *event == Event::Hopeless).expect("given up");
        assert!((8_000.0..9_000.0).contains(&events[hopeless].0), "{:?}", events[hopeless]);
        assert_eq!(batch, Batch::default());
    }

    #[test]
    fn silence_is_told_once_a_second_and_never_given_up() {
        let mut session = Session::new(Search::new(None), false, 0.0);
        let (events, _) = run(&mut session, 0.0, 60_500.0, |_, _| vec![]);
        assert_eq!(events.len(), 60, "{events:?}");
        assert!(events.iter().all(|(_, event)| matches!(event, Event::Silent { bytes_came: false, .. })));
        let (events, _) = run(&mut session, 60_500.0, 62_000.0, probe(115_200, 10.0));
        assert!(connected(&events).is_some());
    }

    #[test]
    fn silence_says_whether_bytes_came() {
        let mut session = Session::new(Search::only(9_600), false, 0.0);
        let (events, batch) = run(&mut session, 0.0, 3_200.0, |_, _| b"volt 4.71\n".to_vec());
        assert_eq!(
            events.iter().map(|(_, event)| event.clone()).collect::<Vec<_>>(),
            [1005, 2010, 3000].map(|ms| Event::Silent { ms, bytes_came: true })
        );
        assert_eq!(batch.readings, []);
    }

    #[test]
    fn a_probe_that_changes_its_rate_is_found_again() {
        let mut session = Session::new(Search::new(None), false, 0.0);
        let (events, _) = run(&mut session, 0.0, 1_000.0, probe(57_600, 5.0));
        assert_eq!(connected(&events).map(|found| found.1), Some(57_600));
        let (events, _) = run(&mut session, 1_000.0, 8_000.0, probe(9_600, 5.0));
        assert!(events.iter().any(|(_, event)| matches!(event, Event::Silent { bytes_came: true, .. })));
        assert_eq!(connected(&events).map(|found| found.1), Some(9_600), "{events:?}");
    }

    #[test]
    fn lines_of_one_digit_are_believed_once_the_other_rates_were_heard() {
        let mut session = Session::new(Search::new(None), false, 0.0);
        let mut sent = probe(9_600, 10.0);
        let (events, _) = run(&mut session, 0.0, 10_000.0, |rate, now_ms| {
            let bytes = sent(rate, now_ms);
            if rate == 9_600 { b"7\n".repeat(bytes.len() / 5) } else { bytes }
        });
        assert!(connected(&events).is_some_and(|(at, rate)| rate == 9_600 && at < 10_000.0), "{events:?}");
    }

    #[test]
    fn where_nothing_comes_at_another_rate_a_box_is_asked_for_and_the_rate_comes_back() {
        let mut session = Session::new(Search::only(9_600), false, 0.0);
        let (events, _) = run(&mut session, 0.0, 5_000.0, |_, _| vec![]);
        let tried: Vec<_> = events
            .iter()
            .filter_map(|(at, event)| match event {
                Event::Try { rate } => Some((*at, *rate)),
                _ => None,
            })
            .collect();
        assert_eq!(tried, [(1_500.0, 115_200), (4_005.0, 9_600)]);
        assert!(events.iter().any(|(at, event)| *at > 2_000.0 && matches!(event, Event::Silent { .. })));
        let (events, _) = run(&mut session, 5_000.0, 7_000.0, probe(9_600, 10.0));
        assert!(connected(&events).is_some(), "{events:?}");
    }

    #[test]
    fn bytes_that_are_no_box_end_the_asking_soon() {
        let mut session = Session::new(Search::new(Some(57_600)), false, 0.0);
        let mut sent = probe(57_600, 10.0);
        let (events, _) = run(&mut session, 0.0, 4_000.0, |rate, now_ms| {
            let bytes = sent(rate, now_ms);
            if now_ms < 2_000.0 { vec![] } else { bytes }
        });
        assert!(connected(&events).is_some_and(|(at, _)| at < 2_700.0), "{events:?}");
    }

    #[test]
    fn a_box_that_streams_while_it_is_asked_is_given_time_to_answer() {
        let mut session = Session::new(Search::new(None), false, 0.0);
        let (events, _) = run(&mut session, 0.0, 300.0, |_, _| vec![0xC1; 80]);
        assert_eq!(events, []);
        assert!(session.may_be_box());
        let (events, _) = run(&mut session, 300.0, 900.0, |_, _| vec![0xC1; 80]);
        assert_eq!(events.first().map(|(_, event)| event.clone()), Some(Event::Try { rate: 9_600 }));
    }

    #[test]
    fn lines_that_arrive_in_a_lump_are_spread_over_the_time_since_the_last() {
        let mut session = Session::new(Search::only(9_600), false, 0.0);
        let mut batch = Batch::default();
        session.take(b"\n0\n", 5.0, &mut batch);
        for step in 1..=9 {
            session.take(b"10\n", f64::from(step) * 10.0, &mut batch);
        }
        session.take(b"1\n2\n3\n4\n", 130.0, &mut batch);
        let times: Vec<_> = batch.readings.iter().map(|r| r.t_ms).collect();
        assert_eq!(times[..2], [5.0, 10.0]);
        assert_eq!(times[10..], [100.0, 110.0, 120.0, 130.0]);
        batch.readings.clear();
        session.take(b"1\n2\n", 60_000.0, &mut batch);
        assert_eq!(batch.readings.iter().map(|r| r.t_ms).collect::<Vec<_>>(), [59_875.0, 60_000.0]);
    }

    #[test]
    fn most_lines_decide_how_many_wires_there_are_and_the_rest_are_broken() {
        let mut session = Session::new(Search::only(9_600), false, 0.0);
        let mut batch = Batch::default();
        let event = session.take(b"\n1 2\n3\n4 5\n6 7\n8 9\n1 1\n2 2\n9\n3 3\n", 1.0, &mut batch);
        assert_eq!(event, Some(Event::Connected { rate: 9_600, wires: 2 }));
        assert_eq!((batch.readings.len(), batch.broken_lines), (7, 2));
        session.take(b"7\n", 2.0, &mut batch);
        assert_eq!((batch.readings.len(), batch.broken_lines), (7, 3));
    }
}
