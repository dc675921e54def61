//! A project to an image. Knows no bytes but how many there are.

use super::codes::image_code;
use super::free;
use super::model::{
    BODY_MAX, BUTTONS_MAX, Built, COMMANDS_MAX, FreeFamily, Image, ImageBand, ImageButton, ImageCode,
    ImageCommand, ImagePair, Misfit, ReferenceUse,
};
use crate::bands::{Band, BandSet, Rung};
use crate::circuit::Reference;
use crate::project::{Button, ButtonId, CommandId, Gesture, Project, can_repeat_every, settle_count};
use crate::signal::Level;
use crate::units::{SCALE_COUNT, TOP_COUNT};
use crate::wire::crc16;

/// Tells one vehicle's image from another's: CRC-16/IBM-3740 over vehicle, a zero, stereo.
#[must_use]
pub fn mark(project: &Project) -> u16 {
    let mut bytes = project.vehicle.name.clone().into_bytes();
    bytes.push(0);
    bytes.extend_from_slice(project.stereo.name.as_bytes());
    crc16(&bytes)
}

/// The image of a project, with what its numbers mean. `bands` are the project's own
/// (`project::bands`).
///
/// A button without a band of its own takes nothing; one whose place is only planned by the meter does
/// so, too. Commands that no pair sends are left out. A wire without buttons counts as always at rest.
///
/// # Errors
/// Everything that keeps the project out of the box, in the order of the path.
pub fn build(project: &Project, bands: &BandSet) -> Result<Built, Vec<Misfit>> {
    let mut maker = Maker { project, bands, misfits: Vec::new() };
    let free = free::kept(project);
    let image = Image {
        reference: maker.reference(),
        feed_count: maker.feed_count(),
        infrared: project.plan.infrared,
        rollover: project.plan.rollover,
        dwell_ms: project.plan.dwell_ms,
        settle_count: on_grid(settle_count(project, bands)),
        hold_ms: project.plan.hold_ms,
        double_ms: project.plan.double_ms,
        mark: mark(project),
        rests: maker.rests(),
        buttons: maker.buttons(),
        pairs: Vec::new(),
        commands: Vec::new(),
        free,
    };
    let (ids, commands): (Vec<CommandId>, Vec<ImageCommand>) =
        maker.commands(free.as_ref()).into_iter().unzip();
    let pairs = maker.pairs(&ids);
    let image = Image { pairs, commands, ..image };
    let mut misfits = maker.misfits;
    // What is already said needs no second telling in the layout's own words.
    if misfits.is_empty()
        && let Some((place, what)) = image.fault()
    {
        let advice = "Change it in the project.".to_owned();
        misfits.push(Misfit { place: place.to_owned(), what, advice });
    }
    misfits.extend(too_long(project, &image, &ids));
    if !misfits.is_empty() {
        return Err(misfits);
    }
    let buttons: Vec<ButtonId> = project.wheel.buttons.iter().map(|button| button.id.clone()).collect();
    Ok(Built { image, buttons, commands: ids })
}

struct Maker<'a> {
    project: &'a Project,
    bands: &'a BandSet,
    misfits: Vec<Misfit>,
}

impl<'a> Maker<'a> {
    fn refuse(&mut self, place: String, what: String, advice: &str) {
        self.misfits.push(Misfit { place, what, advice: advice.to_owned() });
    }

    fn reference(&self) -> ReferenceUse {
        match self.project.circuit.as_ref().map(|circuit| circuit.reference) {
            None | Some(Reference::Supply) => ReferenceUse::Supply,
            Some(Reference::Internal { .. }) => ReferenceUse::Internal,
            Some(Reference::External { .. }) => ReferenceUse::External,
        }
    }

    /// What the feed monitor reads at the nominal feed.
    fn feed_count(&mut self) -> Option<f64> {
        let circuit = self.project.circuit.as_ref()?;
        let monitor = circuit.feed_monitor?;
        if circuit.module.is_some() {
            self.refuse(
                "circuit.feed_monitor".to_owned(),
                "A factory module feeds the ladder, and the feed monitor watches another feed.".to_owned(),
                "Take the feed monitor out at the Circuit station.",
            );
            return None;
        }
        let pin_v = monitor.pin_v(circuit.feed_v);
        let count = SCALE_COUNT * pin_v / circuit.reference_v();
        if !(1.0..=TOP_COUNT).contains(&count) {
            self.refuse(
                "circuit.feed_monitor".to_owned(),
                format!(
                    "The feed monitor stands at {pin_v:.2} V at the nominal feed and would read {count:.0}; 1 to 1023 fit."
                ),
                "Choose a divider that keeps the pin below the reference.",
            );
            return None;
        }
        Some(on_grid(count))
    }

    /// The wire a button hangs on, where it is known.
    fn wire_of(&self, index: usize, button: &Button) -> Option<u8> {
        button.wire.or_else(|| self.bands.band(Rung::Button(index)).map(|band| band.wire))
    }

    fn rests(&mut self) -> Vec<ImageBand> {
        let buttons = &self.project.wheel.buttons;
        let used: Vec<u8> =
            buttons.iter().enumerate().filter_map(|(index, button)| self.wire_of(index, button)).collect();
        let wires = used.iter().copied().max().unwrap_or(1).clamp(1, 2);
        (1..=wires)
            .map(|wire| {
                let rest = self.bands.band(Rung::Rest(wire));
                if let Some(accept) = rest.and_then(|band| band.accept) {
                    return ImageBand { low: accept.low_count, high: accept.high_count };
                }
                if !used.is_empty() && !used.contains(&wire) {
                    return ImageBand { low: 0, high: TOP_COUNT as u16 };
                }
                let place = format!("rests.{wire}");
                if rest.is_some() {
                    let what = format!("Rest of wire {wire} has no counts of its own: a button lies on it.");
                    self.refuse(place, what, "Learn that button again, or choose another sense resistor.");
                } else {
                    let what = format!(
                        "The rest of wire {wire} isn't known, and the box tells by it when a button is let go."
                    );
                    self.refuse(place, what, "Learn the rest with no button pressed.");
                }
                ImageBand::default()
            })
            .collect()
    }

    fn buttons(&mut self) -> Vec<ImageButton> {
        let buttons = &self.project.wheel.buttons;
        if buttons.len() > BUTTONS_MAX {
            let what = format!(
                "The wheel has {} buttons, {} more than fit.",
                buttons.len(),
                buttons.len() - BUTTONS_MAX
            );
            self.refuse("wheel.buttons".to_owned(), what, "Remove the ones you don't use.");
        }
        let accepts = |index| self.bands.band(Rung::Button(index)).filter(|band| band.measured);
        let button = |(index, button): (usize, &Button)| {
            let accept = accepts(index).and_then(|band: &Band| band.accept);
            let band = accept
                .map_or_else(ImageBand::default, |a| ImageBand { low: a.low_count, high: a.high_count });
            ImageButton { wire: self.wire_of(index, button).unwrap_or(1).clamp(1, 2), band }
        };
        buttons.iter().enumerate().map(button).collect()
    }

    /// What the pairs send, grouped by family and address, and in the project's order within.
    fn commands(&mut self, free: Option<&FreeFamily>) -> Vec<(CommandId, ImageCommand)> {
        let project = self.project;
        let mut commands = Vec::new();
        for command in project.stereo.commands.iter().filter(|command| free::is_sent(project, &command.id)) {
            match image_code(&command.code, &format!("stereo.commands.{}", command.id.0), free) {
                Ok(code) => commands.push((command.id.clone(), ImageCommand { code })),
                Err(misfit) => {
                    let name = called(&command.name, &command.id.0);
                    self.misfits.push(Misfit { what: format!("{name}: {}", misfit.what), ..misfit });
                }
            }
        }
        if commands.len() > COMMANDS_MAX {
            let what = format!(
                "The pairs send {} commands, {} more than fit.",
                commands.len(),
                commands.len() - COMMANDS_MAX
            );
            self.refuse("stereo.commands".to_owned(), what, "Pair fewer commands.");
        }
        commands.sort_by_key(|(_, command)| command.code.group());
        commands
    }

    fn pairs(&mut self, commands: &[CommandId]) -> Vec<ImagePair> {
        let mut pairs = Vec::new();
        for (index, button) in self.project.wheel.buttons.iter().enumerate() {
            for gesture in [Gesture::Tap, Gesture::Hold, Gesture::DoubleTap] {
                let found = self
                    .project
                    .pairs
                    .iter()
                    .find(|pair| pair.button == button.id && pair.gesture == gesture);
                let Some(pair) = found else { continue };
                let Some(id) = pair.command.as_ref() else { continue };
                // A command that doesn't fit has been told of.
                let Some(command) = commands.iter().position(|command| command == id) else { continue };
                if let Some(ms) = pair.every_ms
                    && !can_repeat_every(ms)
                {
                    let what = format!(
                        "{} sends anew every {ms} ms; 50 to 750 ms in steps of 50 fit.",
                        called(&button.name, &button.id.0)
                    );
                    self.refuse(format!("pairs.{}", button.id.0), what, "Choose the nearest of these.");
                    continue;
                }
                pairs.push(ImagePair {
                    button: index as u8,
                    gesture,
                    command: command as u8,
                    repeats: pair.repeats,
                    every_ms: pair.every_ms,
                });
            }
        }
        pairs
    }
}

/// By how much the body is too long, and what its raw codes take. Without raw codes nothing a project
/// can hold is too long: 16 buttons, 48 pairs and 32 commands of the widest family are 408 bytes.
fn too_long(project: &Project, image: &Image, ids: &[CommandId]) -> Option<Misfit> {
    let length = image.body_length();
    let over = length.checked_sub(BODY_MAX).filter(|&over| over > 0)?;
    let costs = image.code_bytes();
    let codes = ids.iter().zip(&image.commands).zip(&costs);
    let raw: Vec<String> = codes
        .filter(|((_, command), _)| matches!(command.code, ImageCode::Raw(_)))
        .map(|((id, _), bytes)| {
            let name = project.command(id).map_or(id.0.as_str(), |command| called(&command.name, &id.0));
            format!("{name} {bytes}")
        })
        .collect();
    Some(Misfit {
        place: "image".to_owned(),
        what: format!(
            "The image would be {over} bytes too long: {length} of {BODY_MAX}. Its raw codes take, in bytes: {}.",
            raw.join(", ")
        ),
        advice: if free::free_as_timings(project).is_empty() {
            "Find the family of a raw code, or pair fewer of them."
        } else {
            "Give the codes of free families one family, find the family of a raw code, or pair fewer of them."
        }
        .to_owned(),
    })
}

/// A count in whole steps of 1/32, as the image keeps it.
fn on_grid(count: f64) -> f64 {
    (count * Level::PER_COUNT).round() / Level::PER_COUNT
}

/// A name, or the id where there is none.
pub(super) fn called<'a>(name: &'a str, id: &'a str) -> &'a str {
    if name.trim().is_empty() { id } else { name }
}
