//! The recogniser's rules, written anew from the words of its header: from whole histories, with no
//! counters to run over. The same events are wanted at every tick over random rules and streams.

use proptest::prelude::*;
use spokewire::recognise::{Band, Event, EventKind, Has, Label, Recogniser, Rules, Wires};
use spokewire::signal::Level;

const NONE: u16 = 0xFFFF;

/// Whether a press may be recognised, and why.
#[derive(Clone, Copy, PartialEq)]
enum Ready {
    No,
    Rested,
    RolledOff,
}

/// A button that is held.
struct Held {
    button: u8,
    since: usize,
    level: u16,
    no_gesture_yet: bool,
    left_ticks: usize,
}

/// A first tap that a second may follow.
struct FirstTap {
    button: u8,
    level: u16,
    ended: usize,
}

struct Reference<'a> {
    rules: &'a Rules,
    samples: Vec<[u16; 2]>,
    /// Label and level of the owner, a tick each.
    seen: Vec<(Label, u16)>,
    owner: Option<usize>,
    left_rest: usize,
    ready: Ready,
    held: Option<Held>,
    first: Option<FirstTap>,
    told: Vec<Event>,
}

impl<'a> Reference<'a> {
    fn new(rules: &'a Rules) -> Self {
        Self {
            rules,
            samples: Vec::new(),
            seen: Vec::new(),
            owner: None,
            left_rest: 0,
            ready: Ready::No,
            held: None,
            first: None,
            told: Vec::new(),
        }
    }

    fn wires(&self) -> usize {
        if self.rules.wires == Wires::Two { 2 } else { 1 }
    }

    fn label(&self, wire: usize, level: u16) -> Label {
        let takes = |band: Band| (band.low..=band.high).contains(&(level / 32));
        if level == NONE {
            Label::Nothing
        } else if takes(self.rules.rests[wire]) {
            Label::Rest
        } else {
            let found = self.rules.buttons.iter().position(|b| usize::from(b.0) == wire + 1 && takes(b.1));
            found.map_or(Label::Nothing, |button| Label::Button(button as u8))
        }
    }

    fn has(&self, button: u8) -> Has {
        self.rules.buttons[usize::from(button)].2
    }

    fn tell(&mut self, kind: EventKind, button: u8, level: u16) {
        let wire = self.rules.buttons[usize::from(button)].0;
        let ticks = self.ticks();
        self.told.push(Event { kind, button: Some(button), wire, level: Level::from_steps(level), ticks });
    }

    fn ticks(&self) -> u16 {
        u16::try_from(self.samples.len() - 1 - self.left_rest).unwrap_or(u16::MAX)
    }

    /// The last dwell of ticks, where one label held all of it.
    fn dwelt(&self) -> Option<(Label, Vec<u16>)> {
        let dwell = usize::from(self.rules.dwell_ticks);
        let last = &self.seen[self.seen.len().checked_sub(dwell)?..];
        let label = last[0].0;
        last.iter().all(|tick| tick.0 == label).then(|| (label, last.iter().map(|tick| tick.1).collect()))
    }

    /// The button that the last dwell settled on, and where.
    fn settled(&self) -> Option<(u8, u16)> {
        let (Label::Button(button), levels) = self.dwelt()? else { return None };
        let (low, high) = (*levels.iter().min()?, *levels.iter().max()?);
        (high - low <= self.rules.settle.steps()).then_some((button, low + (high - low) / 2))
    }

    fn first_stays_alone(&mut self) {
        if let Some(first) = self.first.take()
            && self.has(first.button).tap
        {
            self.tell(EventKind::Tap, first.button, first.level);
        }
    }

    fn press(&mut self, button: u8, level: u16) {
        let second = self.first.as_ref().is_some_and(|first| first.button == button);
        if second {
            self.first = None;
        }
        self.first_stays_alone();
        self.tell(EventKind::Pressed, button, level);
        let has = self.has(button);
        let no_gesture_yet = !second && (has.hold || has.double_tap);
        if second {
            self.tell(EventKind::DoubleTap, button, level);
        } else if !no_gesture_yet && has.tap {
            self.tell(EventKind::Tap, button, level);
        }
        let since = self.samples.len();
        self.held = Some(Held { button, since, level, no_gesture_yet, left_ticks: 0 });
        self.ready = Ready::No;
    }

    fn let_go(&mut self) {
        let Some(Held { button, level, no_gesture_yet, .. }) = self.held.take() else { return };
        self.tell(EventKind::Released, button, level);
        if no_gesture_yet && self.has(button).double_tap {
            self.first = Some(FirstTap { button, level, ended: self.samples.len() });
        } else if no_gesture_yet && self.has(button).tap {
            self.tell(EventKind::Tap, button, level);
        }
    }

    fn tick(&mut self, sample: [u16; 2]) -> Vec<Event> {
        self.told.clear();
        self.samples.push(sample);
        let now = self.samples.len();
        if now < 3 {
            return Vec::new();
        }
        let clean = [0, 1].map(|wire| {
            let mut three = [now - 3, now - 2, now - 1].map(|at| self.samples[at][wire]);
            three.sort_unstable();
            three[1]
        });
        if self.first.as_ref().is_some_and(|first| now - first.ended > usize::from(self.rules.double_ticks)) {
            self.first_stays_alone();
        }
        let labels: Vec<Label> = (0..self.wires()).map(|wire| self.label(wire, clean[wire])).collect();
        match labels.iter().position(|&label| label != Label::Rest) {
            None => {
                self.seen.push((Label::Rest, clean[0]));
                if matches!(self.dwelt(), Some((Label::Rest, _))) {
                    self.rested();
                }
            }
            Some(wire) => {
                let owner = *self.owner.get_or_insert_with(|| {
                    self.left_rest = now - 1;
                    wire
                });
                let label = Some(labels[owner]).filter(|&label| label != Label::Rest);
                self.seen.push((label.unwrap_or(Label::Nothing), clean[owner]));
                self.away();
            }
        }
        self.told.clone()
    }

    fn rested(&mut self) {
        let dwell = usize::from(self.rules.dwell_ticks);
        let rest_began = self.samples.len() - dwell;
        if self.held.is_some() {
            self.let_go();
        } else if let Some(owner) = self.owner
            && self.ready == Ready::Rested
            && rest_began - self.left_rest >= 3
        {
            let (_, level) = *self.seen.iter().rfind(|tick| tick.0 != Label::Rest).unwrap();
            let (level, ticks) = (Level::from_steps(level), self.ticks());
            let wire = owner as u8 + 1;
            self.told.push(Event { kind: EventKind::Undecided, button: None, wire, level, ticks });
        }
        self.owner = None;
        self.ready = Ready::Rested;
    }

    fn away(&mut self) {
        let now = self.samples.len();
        let (label, _) = *self.seen.last().unwrap();
        let settled = self.settled();
        let rolling = self.rules.rollover;
        let Some(held) = &mut self.held else {
            if self.ready != Ready::No
                && let Some((button, level)) = settled
            {
                self.press(button, level);
            }
            return;
        };
        if label == Label::Button(held.button) {
            held.left_ticks = 0;
            let (button, level) = (held.button, held.level);
            let long = now - held.since >= usize::from(self.rules.hold_ticks);
            if held.no_gesture_yet && long && self.rules.buttons[usize::from(button)].2.hold {
                held.no_gesture_yet = false;
                self.tell(EventKind::Hold, button, level);
            }
        } else if let Some((button, level)) = settled.filter(|_| rolling) {
            self.let_go();
            self.press(button, level);
        } else {
            held.left_ticks += 1;
            let dwells = if rolling { 2 } else { 1 };
            if held.left_ticks >= dwells * usize::from(self.rules.dwell_ticks) {
                self.let_go();
                self.ready = if rolling { Ready::RolledOff } else { Ready::No };
            }
        }
    }
}

fn any_rules() -> impl Strategy<Value = Rules> {
    let band = || (0_u16..1000, 0_u16..60).prop_map(|(low, wide)| Band { low, high: (low + wide).min(1023) });
    let inverted = Just(Band { low: 1, high: 0 });
    let button = (
        1_u8..=2,
        prop_oneof![9 => band(), 1 => inverted],
        (any::<bool>(), any::<bool>(), any::<bool>()).prop_map(|(tap, hold, double_tap)| Has {
            tap,
            hold,
            double_tap,
        }),
    );
    (
        any::<bool>(),
        [band(), band()],
        prop::collection::vec(button, 0..=16),
        prop_oneof![Just(1_u8), Just(64), 1_u8..=64, 2_u8..=12],
        prop_oneof![Just(0_u16), Just(u16::MAX), 0_u16..300],
        (prop_oneof![0_u16..150, Just(u16::MAX)], prop_oneof![0_u16..200, Just(u16::MAX)]),
        any::<bool>(),
    )
        .prop_map(|(two, rests, buttons, dwell_ticks, settle, (hold_ticks, double_ticks), rollover)| {
            Rules {
                wires: if two { Wires::Two } else { Wires::One },
                rests,
                buttons,
                dwell_ticks,
                settle: Level::from_steps(settle),
                hold_ticks,
                double_ticks,
                rollover,
            }
        })
}

/// A stretch of one wire: what it lies in (a place drawn later), how long, and how much it shakes.
type Stretch = (u8, u16, u16, u16);

fn any_stretches() -> impl Strategy<Value = Vec<Stretch>> {
    let ticks = prop_oneof![1_u16..4, 1_u16..40, 40_u16..160];
    prop::collection::vec((any::<u8>(), any::<u16>(), ticks, prop_oneof![Just(0_u16), 1_u16..200]), 1..60)
}

/// The levels of one wire; half its stretches are rest.
fn levels(rules: &Rules, wire: usize, stretches: &[Stretch]) -> Vec<u16> {
    let own: Vec<Band> = rules.buttons.iter().filter(|b| usize::from(b.0) == wire + 1).map(|b| b.1).collect();
    let mut out = Vec::new();
    for &(what, where_in, ticks, shake) in stretches {
        let band = match what {
            0..=109 => Some(rules.rests[wire]),
            110..=219 => own.get(usize::from(where_in) % own.len().max(1)).copied(),
            220..=249 => Some(Band { low: 0, high: 1023 }),
            _ => None,
        };
        for tick in 0..ticks {
            out.push(band.map_or(NONE, |band| {
                let span = u32::from(band.high.saturating_sub(band.low) + 1) * 32;
                let place = u32::from(band.low) * 32 + u32::from(where_in) * 7 % span;
                let shaken = place + u32::from(tick.wrapping_mul(40_503) % (shake + 1));
                shaken.min(1023 * 32 + 31) as u16
            }));
        }
    }
    out
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(1_500) })]

    #[test]
    fn the_core_decides_as_the_words_of_its_header_at_every_tick(
        rules in any_rules(), first in any_stretches(), second in any_stretches(),
    ) {
        let first = levels(&rules, 0, &first);
        let second = levels(&rules, 1, &second);
        let mut core = Recogniser::new(&rules).unwrap();
        let mut reference = Reference::new(&rules);
        for (tick, &level) in first.iter().enumerate() {
            let sample = [level, second.get(tick).copied().unwrap_or(rules.rests[1].low * 32)];
            let told: Vec<Event> = core.tick(sample.map(Level::from_steps)).collect();
            let wanted = reference.tick(sample);
            prop_assert_eq!(&told, &wanted, "tick {}", tick);
            prop_assert_eq!(core.pressed(), reference.held.as_ref().map(|held| held.button));
            prop_assert_eq!(core.owner(), reference.owner.map(|wire| wire as u8 + 1));
            if let Some(&(label, _)) = reference.seen.last() {
                prop_assert_eq!(core.label(), label, "tick {}", tick);
            }
        }
    }
}
