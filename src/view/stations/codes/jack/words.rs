//! What the steps are called, what they ask, and what their outcomes mean.

use crate::circuit::{Jack, JackContact, JackStep};
use crate::units::{amp_text, ohm_text, volt_text};

/// A step's name.
pub(super) const fn title(step: JackStep) -> &'static str {
    match step {
        JackStep::Cautions => "Before the meter",
        JackStep::Contact => "Contact and ground",
        JackStep::Idle => "Volts at idle",
        JackStep::Load => "Through 1 kΩ to ground",
        JackStep::Wants => "Pulses or resistances",
    }
}

/// How the meter is set in a step.
pub(super) const fn meter(step: JackStep) -> &'static str {
    match step {
        JackStep::Cautions => "not yet",
        JackStep::Contact => "ohms, ignition off",
        JackStep::Idle => "volts DC, stereo on",
        JackStep::Load => "mA or volts DC, stereo on",
        JackStep::Wants => "no meter",
    }
}

/// The cautions, one a line: what each is about, and what to do.
pub(super) const CAUTIONS: [(&str, &str); 5] = [
    ("Parked", "and brake on. Ignition off; to accessory only while a step asks for it."),
    ("Airbag wiring", "stays untouched. Meter at the stereo's own plug or connector, nowhere else."),
    ("Never short", "a contact to 12 V: it can end the input. One probe at a time, none left hanging."),
    ("Meter on amperes", "only in line with the 1 kΩ: straight to ground it blows the meter's fuse."),
    ("The stereo's manual", "comes first wherever it says otherwise; so do law and licensed practice."),
];

/// What to do in a step.
pub(super) fn task(step: JackStep, jack: &Jack) -> String {
    let (contact, ground) = (the_contact(jack), the_ground(jack));
    match step {
        JackStep::Cautions => String::new(),
        JackStep::Contact => format!(
            "Find in the stereo's manual which contact carries the remote signal. Then, ignition off and \
             meter on ohms: from {ground} to the stereo's metal case or its ground wire. A plug with loose \
             ends makes the contacts easy to reach."
        ),
        JackStep::Idle => format!(
            "Ignition to accessory, stereo on, nothing else joined to the input. Meter on volts DC: red on \
             {contact}, black on {ground}. Wait until it stands still."
        ),
        JackStep::Load => format!(
            "Stereo on. Meter on milliamperes, in line with a resistor of 1 kΩ, from {contact} to {ground}. \
             Or put the 1 kΩ from one to the other, meter on volts, and read across it."
        ),
        JackStep::Wants => "No meter tells this: look for what the stereo itself says.".to_owned(),
    }
}

/// What an outcome of a step means: the reading, and its meaning.
pub(super) const fn outcomes(step: JackStep) -> &'static [(&'static str, &'static str)] {
    match step {
        JackStep::Cautions => &[],
        JackStep::Contact => &[
            ("Under 2 Ω, or a beep", "joined: the box's ground goes there."),
            ("More, or open", "another ground: the manual names it. Don't go on without one."),
        ],
        JackStep::Idle => &[
            ("3.3 V or 5 V", "an input with a pull-up: what the box wants."),
            ("About 12 V", "a supply, trigger or illumination wire, rarely an input."),
            ("0 V", "another contact, the stereo is off, or nothing pulls it up."),
        ],
        JackStep::Load => &[
            ("0.1 to 2 mA", "a usual pull-up, and the box pulls it low."),
            ("5 mA at 5 V, 12 mA at 12 V", "a supply, not an input: nothing may pull it low."),
            ("0 mA", "nothing pulls it up."),
        ],
        JackStep::Wants => &[
            ("Manual: wired or infrared remote", "pulses, most likely."),
            ("An adapter box of its maker fits there", "pulses, most likely: ask what it sends."),
            ("A menu that learns steering keys", "resistances."),
            ("The 1 kΩ made it do something", "resistances."),
        ],
    }
}

/// What a step gave, short; empty where it gave nothing yet.
pub(super) fn result(step: JackStep, jack: &Jack) -> String {
    match step {
        JackStep::Cautions => String::new(),
        JackStep::Contact => {
            let contact = jack.contact.map(|contact| contact.name().to_owned());
            let ground = jack.grounded.map(|is| if is { "grounded" } else { "no ground" }.to_owned());
            contact.into_iter().chain(ground).collect::<Vec<_>>().join(", ")
        }
        JackStep::Idle => {
            let moves = if jack.idle_moves { ", moves" } else { "" };
            jack.idle_v.map(|volt| format!("{}{moves}", volt_text(volt))).unwrap_or_default()
        }
        JackStep::Load => {
            let read = jack.loaded_a.map(amp_text).or_else(|| jack.loaded_v.map(volt_text));
            let ohm = jack.pull_up_ohm().map(|ohm| format!("pull-up {}", ohm_text(ohm)));
            read.into_iter().chain(ohm).collect::<Vec<_>>().join(", ")
        }
        JackStep::Wants => match jack.wants {
            Some(crate::circuit::JackWants::Pulses) => "pulses".to_owned(),
            Some(crate::circuit::JackWants::Resistances) => "resistances".to_owned(),
            None => String::new(),
        },
    }
}

/// How the pull-up follows from the readings, where it does.
pub(super) fn formula(jack: &Jack) -> Option<String> {
    let (volt, ohm) = (jack.idle_v?, jack.pull_up_ohm()?);
    let by = match (jack.loaded_a, jack.loaded_v) {
        (Some(amp), _) => format!("{} / {}", volt_text(volt), amp_text(amp)),
        (None, Some(across)) => format!("{} / {} · 1 kΩ", volt_text(volt), volt_text(across)),
        (None, None) => return None,
    };
    Some(format!("Pull-up: {by} − 1 kΩ = {}", ohm_text(ohm)))
}

/// The contact, in a sentence.
fn the_contact(jack: &Jack) -> String {
    jack.contact
        .map_or_else(|| "the signal's contact".to_owned(), |contact| format!("the {}", contact.name()))
}

/// Where the ground is taken, in a sentence.
pub(super) const fn the_ground(jack: &Jack) -> &'static str {
    match jack.contact {
        Some(JackContact::Wire) => "the input's ground wire",
        _ => "the sleeve",
    }
}
