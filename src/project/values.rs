//! Which values a project may hold: the range of every number, the alphabet of ids, and which
//! names must exist. Used when a file is read and when it is edited, so that no room further on
//! has to ask again. Knows no text and no screen.
//!
//! The ranges are wide on purpose: they keep out what cannot be meant (a resistance of a
//! gigaohm, a count of a million), not what is merely unwise, which is for `findings` to say.

use std::collections::BTreeMap;
use std::fmt;

use crate::bands::TRACES_BYTES_MAX;
use crate::circuit::{Jack, Reference};
use crate::remote::{Code, SWEEP_MAX};
use crate::units::{SCALE_COUNT, TOP_COUNT, WIRES};

use super::model::{Button, ButtonId, Command, CommandId, FORMAT, Gesture, Project};
use super::place::Place;
use super::seat::SeatOutcome;

/// The most buttons of a wheel.
pub const MAX_BUTTONS: usize = 16;
/// The most pairs: each button's tap, hold and double tap.
pub const MAX_PAIRS: usize = 3 * MAX_BUTTONS;
/// The most commands of a stereo that a project keeps. Fewer fit the box.
pub const MAX_COMMANDS: usize = 256;
/// The most presses that a plan asks for.
pub const MOST_ASKED: u32 = 9;
/// The most presses kept of one button.
pub const MAX_PRESSES: usize = 99;
/// The most presses kept reading by reading.
const MAX_TRACES: usize = MAX_BUTTONS * MAX_PRESSES;
/// The most marks and spaces of a raw code.
pub const MAX_PULSES: usize = 2_000;
/// The most presses of the remote kept of one command.
pub const MAX_HEARD: usize = 9;
/// The most presses of a seat check: nine of each button in each of four rounds.
const MAX_SEAT_PRESSES: usize = 4 * MOST_ASKED as usize * MAX_BUTTONS;
/// A pair's own repeat rate goes in steps of this, in milliseconds.
pub const EVERY_STEP_MS: u16 = 50;
/// The most characters of a name.
pub const MAX_NAME: usize = 120;
/// The most characters of a note.
pub const MAX_NOTE: usize = 10_000;
/// The most characters of an id.
pub const MAX_ID: usize = 32;

/// One value that a project may not hold, and what to do about it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// Where it stands.
    pub place: Place,
    /// What was found, in one sentence.
    pub what: String,
    /// What to do, in one sentence.
    pub advice: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.what, self.advice)
    }
}

/// The values a number may have, ends included.
#[derive(Clone, Copy, Debug)]
pub struct Range {
    low: f64,
    high: f64,
    unit: &'static str,
}

impl Range {
    /// Resistance in the ladder: 0 to 100 MΩ. What reads higher on a meter is open.
    pub const OHM: Self = Self { low: 0.0, high: 1e8, unit: "ohms" };
    /// The sense resistor, and a leak: 1 Ω to 100 MΩ; below, the divider is a short.
    pub const SENSE_OHM: Self = Self { low: 1.0, high: 1e8, unit: "ohms" };
    /// A feed or a reference: 0.1 V to 60 V.
    pub const VOLT: Self = Self { low: 0.1, high: 60.0, unit: "volts" };
    /// The filter's capacitor: 0 to 1 mF.
    pub const FARAD: Self = Self { low: 0.0, high: 1e-3, unit: "farads" };
    /// A count, or a spread in counts: 0 to 1024.
    pub const COUNT: Self = Self { low: 0.0, high: SCALE_COUNT, unit: "counts" };
    /// An edge of a band: 0 to 1023.
    pub const EDGE_COUNT: Self = Self { low: 0.0, high: TOP_COUNT, unit: "counts" };
    /// The share of readings a band holds, and how sure that is: 0.5 to 0.999 999.
    pub const SHARE: Self = Self { low: 0.5, high: 0.999_999, unit: "as a share of 1" };
    /// How long a button's band must hold: 1 to 64 ms, which is all the box keeps of the readings.
    pub const DWELL_MS: Self = Self { low: 1.0, high: 64.0, unit: "milliseconds" };
    /// How far the readings of a dwell may spread: 0.5 to 100 counts. Beyond, a slow press settles.
    pub const SETTLE_COUNT: Self = Self { low: 0.5, high: 100.0, unit: "counts" };
    /// From recognition to a hold: 0.1 s to 10 s.
    pub const HOLD_MS: Self = Self { low: 100.0, high: 10_000.0, unit: "milliseconds" };
    /// Between the two taps of a double tap: 50 ms to 2 s.
    pub const DOUBLE_MS: Self = Self { low: 50.0, high: 2_000.0, unit: "milliseconds" };
    /// From one code of a sweep to the next: 0.5 s to 10 s, which leaves time to see what it did.
    pub const PACE_MS: Self = Self { low: 500.0, high: 10_000.0, unit: "milliseconds" };
    /// One mark or space of a raw code: 1 µs to 1 s.
    pub const PULSE_US: Self = Self { low: 1.0, high: 1e6, unit: "microseconds" };
    /// Volts at the stereo's input: 0 to 60 V. What a road vehicle has is below.
    pub const JACK_V: Self = Self { low: 0.0, high: 60.0, unit: "volts" };
    /// The current through 1 kΩ at the stereo's input: 0 to 100 mA, what 100 V would give.
    pub const JACK_A: Self = Self { low: 0.0, high: 0.1, unit: "amperes" };
    /// From one raw frame to the next: 1 µs to 10 s.
    pub const REPEAT_US: Self = Self { low: 1.0, high: 1e7, unit: "microseconds" };

    /// Whether a value lies within; what is no number does not.
    #[must_use]
    pub fn holds(&self, value: f64) -> bool {
        (self.low..=self.high).contains(&value)
    }
}

impl fmt::Display for Range {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} to {} {}", self.low, self.high, self.unit)
    }
}

impl Project {
    /// Everything in this project that may not be: numbers outside their range, ids that are
    /// doubled or badly spelt, pairs of what doesn't exist. Empty for a project that can be saved
    /// and read again.
    #[must_use]
    pub fn check_values(&self) -> Vec<Fault> {
        let mut check = Check { project: self, faults: Vec::new() };
        check.sizes();
        if !check.faults.is_empty() {
            // Looking up each of many thousand names among as many would take minutes.
            return check.faults;
        }
        check.format();
        check.texts();
        check.wheel();
        check.circuit();
        check.parts();
        check.plan();
        check.seat_check();
        check.learned();
        check.traces();
        check.bands();
        check.commands();
        check.jack();
        check.built();
        check.sweep();
        check.pairs();
        check.faults
    }

    /// What of the circuit's values may not be.
    #[must_use]
    pub fn circuit_faults(&self) -> Vec<Fault> {
        let mut check = Check { project: self, faults: Vec::new() };
        check.circuit();
        check.faults
    }
}

/// The faults found so far.
struct Check<'a> {
    project: &'a Project,
    faults: Vec<Fault>,
}

impl Check<'_> {
    fn fault(&mut self, place: Place, what: String, advice: impl Into<String>) {
        self.faults.push(Fault { place, what, advice: advice.into() });
    }

    fn number(&mut self, place: Place, value: f64, range: Range) {
        if !range.holds(value) {
            let what = format!("`{place}` is {value:?}.");
            self.fault(place, what, format!("It must be {range}."));
        }
    }

    fn whole(&mut self, place: Place, value: u16, range: Range) {
        if !range.holds(f64::from(value)) {
            let what = format!("`{place}` is {value}.");
            self.fault(place, what, format!("It must be {range}."));
        }
    }

    fn readings(&mut self, place: Place, readings: u32) {
        if readings == 0 {
            let what = format!("`{place}` is 0.");
            self.fault(place, what, "It must be 1 or more.");
        }
    }

    fn length(&mut self, place: Place, found: usize, most: usize, of: &str) {
        if found > most {
            let what = format!("`{place}` has {found} {of}.");
            self.fault(place, what, format!("At most {most} can be kept."));
        }
    }

    fn wire(&mut self, place: Place, wire: u8) {
        if wire == 0 || usize::from(wire) > WIRES {
            let what = format!("`{place}` names wire {wire}.");
            self.fault(place, what, format!("Wires are numbered 1 to {WIRES}."));
        }
    }

    fn id(&mut self, place: Place, id: &str, seen: &mut BTreeMap<String, usize>, index: usize, of: &str) {
        let spelt = id.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'_');
        if !spelt || id.is_empty() || id.len() > MAX_ID {
            let what = format!("{of} {} has the id {}.", index + 1, quoted(id));
            let advice = format!("An id is 1 to {MAX_ID} lower-case letters, digits and `_`.");
            self.fault(place, what, advice);
        } else if let Some(first) = seen.insert(id.to_owned(), index) {
            let what = format!("{of}s {} and {} both have the id `{id}`.", first + 1, index + 1);
            self.fault(place, what, "Give one of them another id.");
        }
    }

    fn known_button(&mut self, place: Place, id: &ButtonId) {
        if self.project.button(id).is_none() {
            let what = format!("`{place}` names the button {}, which the wheel hasn't.", quoted(&id.0));
            self.fault(place, what, "Add that button, or name one that is there.");
        }
    }

    fn sizes(&mut self) {
        let Project { wheel, learned, stereo, pairs, traces, .. } = self.project;
        let top = Place::top;
        self.length(top("wheel").field("buttons"), wheel.buttons.len(), MAX_BUTTONS, "buttons");
        self.length(top("learned"), learned.len(), MAX_BUTTONS, "buttons");
        self.length(top("stereo").field("commands"), stereo.commands.len(), MAX_COMMANDS, "commands");
        self.length(top("pairs"), pairs.len(), MAX_PAIRS, "pairs");
        self.length(top("traces"), traces.len(), MAX_TRACES, "presses");
        let letters = traces.iter().map(|trace| trace.readings.bytes()).sum();
        self.length(top("traces"), letters, TRACES_BYTES_MAX, "letters");
        self.length(top("edges"), self.project.edges.len(), MAX_BUTTONS, "buttons");
        if let Some(recheck) = &self.project.rechecked {
            self.length(top("rechecked").field("presses"), recheck.presses.len(), MAX_BUTTONS, "buttons");
        }
        if let Some(sweep) = &stereo.sweep {
            let place = top("stereo").field("sweep").field("marks");
            self.length(place, sweep.marks.len(), SWEEP_MAX as usize, "marks");
        }
        for (id, learned) in learned {
            let place = top("learned").key(&id.0).field("presses");
            self.length(place, learned.presses.len(), MAX_PRESSES, "presses");
        }
        for (index, command) in stereo.commands.iter().enumerate() {
            let heard = top("stereo").field("commands").item(index).field("heard");
            self.length(heard.clone(), command.heard.len(), MAX_HEARD, "presses of the remote");
            for (press, there) in command.heard.iter().enumerate() {
                let place = heard.item(press).field("timings_us");
                self.length(place, there.timings_us.len(), MAX_PULSES, "marks and spaces");
            }
            if let Code::Raw { pulses_us, .. } = &command.code {
                let place = top("stereo").field("commands").item(index).field("code").field("pulses_us");
                self.length(place, pulses_us.len(), MAX_PULSES, "marks and spaces");
            }
        }
    }

    fn format(&mut self) {
        if self.project.format != FORMAT {
            let what = format!("`format` is {}.", self.project.format);
            self.fault(Place::top("format"), what, format!("This program reads format {FORMAT}."));
        }
    }

    fn texts(&mut self) {
        let Project { vehicle, stereo, .. } = self.project;
        self.length(Place::top("vehicle").field("name"), chars(&vehicle.name), MAX_NAME, "characters");
        self.length(Place::top("vehicle").field("note"), chars(&vehicle.note), MAX_NOTE, "characters");
        self.length(Place::top("stereo").field("name"), chars(&stereo.name), MAX_NAME, "characters");
    }

    fn wheel(&mut self) {
        let wheel = &self.project.wheel;
        let top = Place::top("wheel");
        for (&number, wire) in &wheel.wires {
            let place = top.field("wires").key(number);
            self.wire(place.clone(), number);
            self.length(place.field("colour"), chars(&wire.colour), MAX_NAME, "characters");
            if let Some(ohm) = wire.rest_ohm {
                self.number(place.field("rest_ohm"), ohm, Range::OHM);
            }
            self.length(place.field("tapped_at"), chars(&wire.tapped_at), MAX_NAME, "characters");
            if let Some(together) = &wire.together {
                let place = place.field("together");
                self.number(place.field("ohm"), together.ohm, Range::OHM);
                let buttons = place.field("buttons");
                self.known_button(buttons.item(0), &together.buttons.0);
                self.known_button(buttons.item(1), &together.buttons.1);
                if together.buttons.0 == together.buttons.1 {
                    let what = format!("`{buttons}` names one button twice.");
                    self.fault(buttons, what, "Name two buttons, or put None for `together`.");
                }
            }
        }
        self.length(top.field("back").field("colour"), chars(&wheel.back.colour), MAX_NAME, "characters");
        for (&number, found) in &wheel.check.wires {
            let place = top.field("check").field("wires").key(number);
            self.wire(place.clone(), number);
            if let Some(volt) = found.car_v {
                self.number(place.field("car_v"), volt, Range::JACK_V);
            }
            if let Some(ohm) = found.again_ohm {
                self.number(place.field("again_ohm"), ohm, Range::OHM);
            }
        }
        let place = top.field("buttons");
        let mut seen = BTreeMap::new();
        for (index, button) in wheel.buttons.iter().enumerate() {
            let Button { id, name, wire, meter_ohm } = button;
            let place = place.item(index);
            self.id(place.field("id"), &id.0, &mut seen, index, "Button");
            self.length(place.field("name"), chars(name), MAX_NAME, "characters");
            if let Some(wire) = *wire {
                self.wire(place.field("wire"), wire);
            }
            if let Some(ohm) = *meter_ohm {
                self.number(place.field("meter_ohm"), ohm, Range::OHM);
            }
        }
    }

    fn seat_check(&mut self) {
        let Some(check) = &self.project.seat_check else { return };
        let place = Place::top("seat_check");
        self.length(place.field("on"), chars(&check.on), MAX_NAME, "characters");
        self.length(place.field("firmware"), chars(&check.firmware), MAX_NAME, "characters");
        self.length(place.field("presses"), check.presses.len(), MAX_SEAT_PRESSES, "presses");
        for (index, press) in check.presses.iter().enumerate() {
            let place = place.field("presses").item(index);
            self.known_button(place.field("asked"), &press.asked);
            if let SeatOutcome::TakenAs(other) = &press.outcome {
                self.known_button(place.field("outcome"), other);
            }
            if let Some(count) = press.count {
                self.number(place.field("count"), count, Range::COUNT);
            }
            if let Some(count) = press.edge_count {
                self.number(place.field("edge_count"), count, Range::COUNT);
            }
        }
    }

    fn circuit(&mut self) {
        let Some(circuit) = &self.project.circuit else { return };
        let place = Place::top("circuit");
        self.number(place.field("sense_ohm"), circuit.sense_ohm, Range::SENSE_OHM);
        self.number(place.field("feed_v"), circuit.feed_v, Range::VOLT);
        self.number(place.field("contact_ohm"), circuit.contact_ohm, Range::OHM);
        if let Some(ohm) = circuit.leak_ohm {
            self.number(place.field("leak_ohm"), ohm, Range::SENSE_OHM);
        }
        if let Some(monitor) = circuit.feed_monitor {
            let place = place.field("feed_monitor");
            self.number(place.field("upper_ohm"), monitor.upper_ohm, Range::SENSE_OHM);
            self.number(place.field("lower_ohm"), monitor.lower_ohm, Range::SENSE_OHM);
        }
        let place = place.field("reference");
        match circuit.reference {
            Reference::Supply => {}
            Reference::Internal { volt } => self.number(place.field("volt"), volt, Range::VOLT),
            Reference::External { volt, series_ohm, pin_v } => {
                self.number(place.field("volt"), volt, Range::VOLT);
                self.number(place.field("series_ohm"), series_ohm, Range::OHM);
                if let Some(volt) = pin_v {
                    self.number(place.field("pin_v"), volt, Range::VOLT);
                }
            }
        }
        let place = Place::top("circuit");
        if let Some(module) = circuit.module {
            self.number(place.field("module").field("supply_v"), module.supply_v, Range::VOLT);
        }
        let filter = place.field("filter");
        self.number(filter.field("series_ohm"), circuit.filter.series_ohm, Range::OHM);
        self.number(filter.field("farad"), circuit.filter.farad, Range::FARAD);
    }

    fn parts(&mut self) {
        let place = Place::top("parts");
        for wrong in self.project.parts.check() {
            let at = match wrong.at {
                Some(index) => place.field(wrong.field).item(index),
                None => place.field(wrong.field),
            };
            let what = format!("`{at}` is {:?}.", wrong.value);
            self.fault(at, what, wrong.advice());
        }
    }

    fn plan(&mut self) {
        let plan = &self.project.plan;
        let place = Place::top("plan");
        if !(1..=MOST_ASKED).contains(&plan.presses) {
            let place = place.field("presses");
            let what = format!("`{place}` is {}.", plan.presses);
            self.fault(place, what, format!("It must be 1 to {MOST_ASKED}."));
        }
        self.number(place.field("coverage"), plan.coverage, Range::SHARE);
        self.number(place.field("confidence"), plan.confidence, Range::SHARE);
        self.number(place.field("converter_error_count"), plan.converter_error_count, Range::COUNT);
        self.number(place.field("reject_floor_count"), plan.reject_floor_count, Range::COUNT);
        self.whole(place.field("dwell_ms"), u16::from(plan.dwell_ms), Range::DWELL_MS);
        if let Some(count) = plan.settle_count {
            self.number(place.field("settle_count"), count, Range::SETTLE_COUNT);
        }
        self.whole(place.field("hold_ms"), plan.hold_ms, Range::HOLD_MS);
        self.whole(place.field("double_ms"), plan.double_ms, Range::DOUBLE_MS);
    }

    fn learned(&mut self) {
        for (&wire, rest) in &self.project.rests {
            let place = Place::top("rests").key(wire);
            self.wire(place.clone(), wire);
            self.number(place.field("median_count"), rest.median_count, Range::COUNT);
            self.number(place.field("spread_count"), rest.spread_count, Range::COUNT);
            self.readings(place.field("readings"), rest.readings);
        }
        for (id, learned) in &self.project.learned {
            let place = Place::top("learned").key(&id.0);
            self.known_button(place.clone(), id);
            if let Some(other) = &learned.indistinct_from {
                let place = place.field("indistinct_from");
                if other == id {
                    let what = format!("`{place}` names the button itself.");
                    self.fault(place, what, "Name the other button, or None.");
                } else {
                    self.known_button(place, other);
                }
            }
            let place = place.field("presses");
            for (index, press) in learned.presses.iter().enumerate() {
                let place = place.item(index);
                self.number(place.field("median_count"), press.median_count, Range::COUNT);
                self.number(place.field("spread_count"), press.spread_count, Range::COUNT);
                self.readings(place.field("readings"), press.readings);
            }
        }
    }

    fn traces(&mut self) {
        for (index, trace) in self.project.traces.iter().enumerate() {
            let place = Place::top("traces").item(index);
            self.known_button(place.field("button"), &ButtonId(trace.button.clone()));
            if let Err(why) = trace.check() {
                let what = format!("`{place}` is no recorded press: {why}.");
                self.fault(place, what, "Remove it; the press can be recorded again.");
            }
        }
    }

    /// What is kept about the bands besides presses: the feed, a re-check, and moved edges.
    fn bands(&mut self) {
        let Project { learned_on, rechecked, edges, .. } = self.project;
        if let Some(volt) = learned_on.and_then(|on| on.feed_v) {
            self.number(Place::top("learned_on").field("feed_v"), volt, Range::VOLT);
        }
        if let Some(recheck) = rechecked {
            let place = Place::top("rechecked");
            if let Some(volt) = recheck.feed_v {
                self.number(place.field("feed_v"), volt, Range::VOLT);
            }
            for (id, press) in &recheck.presses {
                let place = place.field("presses").key(&id.0);
                self.known_button(place.clone(), id);
                self.number(place.field("median_count"), press.median_count, Range::COUNT);
                self.number(place.field("spread_count"), press.spread_count, Range::COUNT);
                self.readings(place.field("readings"), press.readings);
            }
        }
        for (id, edges) in edges {
            let place = Place::top("edges").key(&id.0);
            self.known_button(place.clone(), id);
            for (field, count) in [("low_count", edges.low_count), ("high_count", edges.high_count)] {
                if let Some(count) = count {
                    self.whole(place.field(field), count, Range::EDGE_COUNT);
                }
            }
        }
    }

    fn commands(&mut self) {
        let place = Place::top("stereo").field("commands");
        let mut seen = BTreeMap::new();
        for (index, command) in self.project.stereo.commands.iter().enumerate() {
            let Command { id, name, code, origin: _, tried: _, heard } = command;
            let place = place.item(index);
            self.id(place.field("id"), &id.0, &mut seen, index, "Command");
            self.length(place.field("name"), chars(name), MAX_NAME, "characters");
            for (index, press) in heard.iter().enumerate() {
                let place = place.field("heard").item(index).field("timings_us");
                for (index, &us) in press.timings_us.iter().enumerate() {
                    self.number(place.item(index), us, Range::PULSE_US);
                }
            }
            let place = place.field("code");
            match code {
                Code::Family { family, .. } => {
                    let spelt = family.0.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit());
                    if !spelt || family.0.is_empty() || family.0.len() > MAX_ID {
                        let what = format!("Command {} is of the family {}.", index + 1, quoted(&family.0));
                        let advice = "A family is lower-case letters and digits, such as `nec`.";
                        self.fault(place.field("family"), what, advice);
                    }
                }
                Code::Free { free, .. } => {
                    if let Err(error) = free.check() {
                        let said = error.to_string();
                        let (what, advice) = said.split_once(". ").unwrap_or((&said, ""));
                        self.fault(place.field("free"), format!("`{place}`: {what}."), advice);
                    }
                }
                Code::Raw { pulses_us, repeat_us } => {
                    self.pulses(&place.field("pulses_us"), pulses_us);
                    if let Some(us) = *repeat_us {
                        self.number(place.field("repeat_us"), us, Range::REPEAT_US);
                    }
                }
            }
        }
    }

    fn jack(&mut self) {
        let Jack { contact: _, grounded: _, idle_v, idle_moves: _, loaded_a, loaded_v, wants: _ } =
            self.project.stereo.jack;
        let place = Place::top("stereo").field("jack");
        for (field, value, range) in [
            ("idle_v", idle_v, Range::JACK_V),
            ("loaded_a", loaded_a, Range::JACK_A),
            ("loaded_v", loaded_v, Range::JACK_V),
        ] {
            if let Some(value) = value {
                self.number(place.field(field), value, range);
            }
        }
    }

    fn built(&mut self) {
        for (top, checked) in
            [("output", self.project.output.check()), ("supply", self.project.supply.check())]
        {
            if let Err(error) = checked {
                let place = error.path.iter().fold(Place::top(top), |place, field| place.field(field));
                self.fault(place, error.what(), error.advice());
            }
        }
    }

    fn sweep(&mut self) {
        let Some(sweep) = &self.project.stereo.sweep else { return };
        let place = Place::top("stereo").field("sweep");
        self.whole(place.field("pace_ms"), sweep.pace_ms, Range::PACE_MS);
        let codes = match sweep.range.check() {
            Ok(codes) => codes,
            Err(error) => {
                let said = error.to_string();
                let (what, advice) = said.split_once(". ").unwrap_or((&said, ""));
                let place = place.field("range");
                self.fault(place.clone(), format!("`{place}`: {what}."), advice);
                return;
            }
        };
        if u32::from(sweep.next) > codes {
            let place = place.field("next");
            let what = format!("`{place}` is {}.", sweep.next);
            self.fault(place, what, format!("The sweep has {codes} codes, so it must be 0 to {codes}."));
        }
        let mut seen: BTreeMap<u16, usize> = BTreeMap::new();
        for (index, mark) in sweep.marks.iter().enumerate() {
            let place = place.field("marks").item(index);
            if u32::from(mark.at) >= codes {
                let place = place.field("at");
                let what = format!("`{place}` is {}.", mark.at);
                self.fault(place, what, format!("The sweep has {codes} codes, numbered from 0."));
            } else if let Some(first) = seen.insert(mark.at, index) {
                let what =
                    format!("Marks {} and {} of the sweep both are at {}.", first + 1, index + 1, mark.at);
                self.fault(place.clone(), what, "Keep one of them.");
            }
            if let Some(command) = &mark.command {
                self.known_command(place.field("command"), command);
            }
        }
    }

    fn pulses(&mut self, place: &Place, pulses_us: &[f64]) {
        if pulses_us.len().is_multiple_of(2) {
            let what = format!("`{place}` has {} marks and spaces.", pulses_us.len());
            let advice =
                "A frame begins and ends with a mark, so their number is odd: leave out the last space.";
            self.fault(place.clone(), what, advice);
        }
        for (index, &us) in pulses_us.iter().enumerate() {
            self.number(place.item(index), us, Range::PULSE_US);
        }
    }

    fn pairs(&mut self) {
        let mut seen: BTreeMap<(&ButtonId, Gesture), usize> = BTreeMap::new();
        for (index, pair) in self.project.pairs.iter().enumerate() {
            let place = Place::top("pairs").item(index);
            self.known_button(place.field("button"), &pair.button);
            if let Some(command) = &pair.command {
                self.known_command(place.field("command"), command);
            }
            if let Some(ms) = pair.every_ms.filter(|&ms| !can_repeat_every(ms)) {
                let place = place.field("every_ms");
                let what = format!("`{place}` is {ms}.");
                self.fault(place, what, "It must be 50 to 750 milliseconds in steps of 50, or None.");
            }
            if let Some(first) = seen.insert((&pair.button, pair.gesture), index) {
                let what = format!(
                    "Pairs {} and {} are both for {} of the button `{}`.",
                    first + 1,
                    index + 1,
                    gesture_text(pair.gesture),
                    pair.button.0
                );
                self.fault(place, what, "Keep one of them.");
            }
        }
    }

    fn known_command(&mut self, place: Place, id: &CommandId) {
        if self.project.command(id).is_none() {
            let what = format!("`{place}` names the command {}, which the stereo hasn't.", quoted(&id.0));
            self.fault(place, what, "Add that command, name one that is there, or put None.");
        }
    }
}

/// Whether the box can send anew so often while a button is held: every 50 to 750 ms, in steps of 50.
#[must_use]
pub const fn can_repeat_every(ms: u16) -> bool {
    ms != 0 && ms <= 15 * EVERY_STEP_MS && ms.is_multiple_of(EVERY_STEP_MS)
}

/// A gesture within a sentence.
const fn gesture_text(gesture: Gesture) -> &'static str {
    match gesture {
        Gesture::Tap => "a tap",
        Gesture::Hold => "a hold",
        Gesture::DoubleTap => "a double tap",
    }
}

/// A text as a message quotes it: in quotes, its odd characters visible, cut where it is long.
fn quoted(text: &str) -> String {
    const SHOWN: usize = 40;
    if chars(text) > SHOWN {
        let head: String = text.chars().take(SHOWN).collect();
        format!("{head:?}…")
    } else {
        format!("{text:?}")
    }
}

fn chars(text: &str) -> usize {
    text.chars().count()
}
