//! What a session is told before it begins: the buttons to ask for, the rungs already known, and
//! its limits. Knows no readings.

use std::collections::BTreeMap;

use super::rungs::rung_of;
use crate::bands::{BandSet, Rung, Touch};
use crate::project::{ButtonId, Plan, Project};
use crate::signal::Settling;

/// One button to ask for.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Ask {
    /// Its id in the project.
    pub id: ButtonId,
    /// What it is called on the wheel.
    pub name: String,
    /// Its wire, 1 or 2; `None` where its presses are to show it.
    pub wire: Option<u8>,
}

/// Where a button that is already learned is accepted.
#[derive(Clone, Debug, PartialEq)]
pub struct KnownRung {
    /// Which button.
    pub id: ButtonId,
    /// Its wire, 1 or 2.
    pub wire: u8,
    /// The lowest count accepted.
    pub low_count: f64,
    /// The highest count accepted.
    pub high_count: f64,
    /// The middle of its presses, in counts.
    pub centre_count: f64,
}

impl KnownRung {
    /// Whether a settled median on this wire lies in it.
    #[must_use]
    pub fn holds(&self, wire: u8, count: f64) -> bool {
        self.wire == wire && (self.low_count..=self.high_count).contains(&count)
    }
}

/// What a session is told before it begins. Fields without a value in a project have a default
/// that is common practice of this trade.
#[derive(Clone, Debug, PartialEq)]
pub struct Setup {
    /// The buttons to ask for, in order.
    pub buttons: Vec<Ask>,
    /// How many presses of each, 1 to 9.
    pub presses: u32,
    /// Rungs of buttons learned before; those of buttons asked for are not looked at.
    pub known: Vec<KnownRung>,
    /// Names of buttons not asked for; a button without a name is called by its id.
    pub names: BTreeMap<ButtonId, String>,
    /// The converter's own error, in counts: no rung is narrower to either side.
    pub converter_error_count: f64,
    /// Noise is never taken to be less than this, in counts.
    pub noise_floor_count: f64,
    /// Spread from press to press that is expected before it is known (standard deviation), in
    /// counts; never taken to be less.
    pub between_count: f64,
    /// What counts as settled in a press.
    pub settling: Settling,
    /// How long rest must hold still, in milliseconds.
    pub rest_ms: f64,
}

impl Default for Setup {
    fn default() -> Self {
        Self {
            buttons: Vec::new(),
            presses: 3,
            known: Vec::new(),
            names: BTreeMap::new(),
            converter_error_count: 2.0,
            noise_floor_count: 0.5,
            between_count: 3.0,
            settling: Settling::default(),
            rest_ms: 1_500.0,
        }
    }
}

impl Setup {
    /// These buttons, with nothing known before.
    #[must_use]
    pub fn new(buttons: Vec<Ask>, presses: u32) -> Self {
        Self { buttons, presses, ..Self::default() }
    }

    /// The buttons of a project with these ids, in this order; ids it does not have are left out.
    /// Buttons learned before and not asked for now are known, by their own presses: where bands
    /// have been computed, put their edges into [`Setup::known`].
    #[must_use]
    pub fn for_project(project: &Project, ids: &[ButtonId]) -> Self {
        let Plan { presses, converter_error_count, .. } = project.plan;
        let mut setup = Self { presses, converter_error_count, ..Self::default() };
        setup.buttons = ids
            .iter()
            .filter_map(|id| project.button(id))
            .map(|(_, button)| Ask { id: button.id.clone(), name: button.name.clone(), wire: button.wire })
            .collect();
        for button in &project.wheel.buttons {
            setup.names.insert(button.id.clone(), button.name.clone());
            let learned = project.learned.get(&button.id).filter(|_| !ids.contains(&button.id));
            let Some(learned) = learned else { continue };
            let wire = button.wire.unwrap_or(1);
            setup.known.extend(rung_of(&button.id, wire, &learned.presses, None, &setup));
        }
        setup
    }

    /// With each known rung as far as its tolerance interval reaches, from all presses together.
    /// Not as far as its accept band: that may be wide for want of the buttons asked for now.
    #[must_use]
    pub fn with_bands(mut self, project: &Project, bands: &BandSet) -> Self {
        for rung in &mut self.known {
            let index = project.button(&rung.id).map(|(index, _)| index);
            let band = index.and_then(|index| bands.band(Rung::Button(index))).filter(|band| band.measured);
            if let Some(band) = band {
                rung.low_count = rung.low_count.min(band.tolerance_low_count);
                rung.high_count = rung.high_count.max(band.tolerance_high_count);
            }
        }
        self
    }

    /// What a button is called.
    #[must_use]
    pub fn name_of(&self, id: &ButtonId) -> String {
        let asked = self.buttons.iter().find(|ask| ask.id == *id).map(|ask| &ask.name);
        asked.or_else(|| self.names.get(id)).unwrap_or(&id.0).clone()
    }

    pub(super) fn presses(&self) -> usize {
        self.presses.clamp(1, 9) as usize
    }
}

/// How each press of a button is asked for: one of two is slow; of three or more, one is slow and
/// one is light, after a firm one to hold them against.
#[must_use]
pub fn touches(presses: u32) -> Vec<Touch> {
    let mut touches = vec![Touch::Firm; presses.clamp(1, 9) as usize];
    for (touch, special) in touches.iter_mut().skip(1).zip([Touch::Slow, Touch::Light]) {
        *touch = special;
    }
    touches
}
