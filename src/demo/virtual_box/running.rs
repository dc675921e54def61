//! The image in use of the virtual box: its recogniser tick by tick, and which codes go out when.
//! The output itself is imitated: a frame takes its time and nothing is seen of it. Knows no link.

use crate::recognise::{
    BoxImage, EventKind, Label, PlannedFrame, Recogniser, Sender, Start, Wires, plan_record,
};
use crate::recognise::{Event, Which};
use crate::signal::Level;
use crate::wire::limits::{LABEL_NONE, LABEL_REST};
use crate::wire::{DecisionKind, DecisionSeen, NamedReference};

/// Ticks of the output in one of the box's.
const OUTPUT_TICKS: u32 = 2_000;

/// What a tick brought.
#[derive(Clone, Debug, Default)]
pub(super) struct Seen {
    pub(super) decisions: Vec<DecisionSeen>,
    pub(super) label: u8,
    pub(super) pressed: Option<u8>,
    /// Whether the reading lay outside every band.
    pub(super) is_rejected: bool,
}

#[derive(Clone, Debug)]
pub(super) struct Running {
    image: BoxImage,
    two_wires: bool,
    recogniser: Recogniser,
    sender: Sender,
    output: Output,
}

impl Running {
    /// Takes an image's body into use, if the box would.
    pub(super) fn new(body: Vec<u8>) -> Option<Self> {
        let image = BoxImage::new(body).ok()?;
        let rules = image.rules();
        Some(Self {
            recogniser: Recogniser::new(&rules).ok()?,
            two_wires: rules.wires == Wires::Two,
            sender: Sender::new(),
            output: Output::default(),
            image,
        })
    }

    /// The reference it names.
    pub(super) fn reference(&self) -> NamedReference {
        let settings = self.image.settings();
        NamedReference { kind: settings.reference, feed_monitor: settings.feed.is_some() }
    }

    pub(super) fn has_two_wires(&self) -> bool {
        self.two_wires
    }

    /// One tick, with a level of each wire.
    pub(super) fn tick(&mut self, level: [Level; 2], tick: u32) -> Seen {
        let events: Vec<Event> = self.recogniser.tick(level).collect();
        let decisions = events.iter().map(|event| self.decision(event, tick)).collect();
        let label = self.recogniser.label();
        Seen {
            decisions,
            label: match label {
                Label::Button(number) => number,
                Label::Rest => LABEL_REST,
                Label::Nothing => LABEL_NONE,
            },
            pressed: self.recogniser.pressed(),
            is_rejected: self.recogniser.has_rejected(),
        }
    }

    fn decision(&mut self, event: &Event, tick: u32) -> DecisionSeen {
        let command = self.sender.event(&self.image, event);
        DecisionSeen {
            tick,
            kind: match event.kind {
                EventKind::Pressed => DecisionKind::Pressed,
                EventKind::Released => DecisionKind::Released,
                EventKind::Tap => DecisionKind::Tap,
                EventKind::Hold => DecisionKind::Hold,
                EventKind::DoubleTap => DecisionKind::DoubleTap,
                EventKind::Undecided => DecisionKind::Undecided,
            },
            button: event.button,
            wire: event.wire,
            count: event.level.count().unwrap_or(0.0),
            latency_ms: event.ticks,
            command,
        }
    }

    /// The output's tick: the number of frames of a code that has been sent whole.
    pub(super) fn send(&mut self) -> Option<u8> {
        let Self { image, sender, output, .. } = self;
        output.tick(sender, |start| image.plan_frame(start.command, start.toggle, start.which).ok())
    }
}

/// A code sent for the link, which needs no image.
#[derive(Clone, Debug)]
pub(super) struct Tried {
    record: Vec<u8>,
    toggle: bool,
    sender: Sender,
    output: Output,
}

impl Tried {
    /// Sends a record as if a button were held for so long; the box's fault where it can't be sent.
    pub(super) fn new(record: Vec<u8>, held_ms: u16, toggle: bool) -> Result<Self, u8> {
        plan_record(&record, toggle, Which::First)?;
        let mut sender = Sender::new();
        sender.ask(0, held_ms);
        Ok(Self { record, toggle, sender, output: Output::default() })
    }

    pub(super) fn stop(&mut self) {
        self.sender.stop();
    }

    /// One tick: the number of frames once it has been sent whole.
    pub(super) fn tick(&mut self) -> Option<u8> {
        let Self { record, toggle, sender, output } = self;
        output.tick(sender, |start| plan_record(record, *toggle, start.which).ok())
    }
}

/// The output: busy for as long as a frame and the gap after it take.
#[derive(Clone, Copy, Debug, Default)]
struct Output {
    busy_ticks: u32,
    frames: u8,
    least_frames: u8,
}

impl Output {
    fn tick(&mut self, sender: &mut Sender, plan: impl Fn(Start) -> Option<PlannedFrame>) -> Option<u8> {
        sender.tick();
        self.busy_ticks = self.busy_ticks.saturating_sub(1);
        if self.busy_ticks > 0 {
            return None;
        }
        let start = sender.start_next(self.least_frames);
        let is_anew = start.is_none_or(|start| start.which == Which::First);
        let sent = (is_anew && self.frames > 0).then_some(self.frames);
        if is_anew {
            (self.frames, self.least_frames) = (0, 0);
        }
        if let Some(frame) = start.and_then(plan) {
            let ticks: u32 = frame.walk_ticks.iter().sum::<u32>() + frame.gap_ticks;
            self.busy_ticks = ticks.div_ceil(OUTPUT_TICKS).max(1);
            self.frames = self.frames.saturating_add(1);
            self.least_frames = frame.least_frames;
        }
        sent
    }
}
