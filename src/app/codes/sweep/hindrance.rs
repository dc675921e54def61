//! What keeps a sweep from sending anything, in words. Knows no range and no clock.

use crate::circuit::JackWants;
use crate::device::Job;

use super::super::super::action::{Action, CodesAction};
use super::super::super::link::Phase;
use super::super::super::model::Model;
use super::super::super::station::Station;
use super::super::super::the_box::Presence;
use super::super::CodesView;

/// What keeps a sweep from sending anything.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hindrance {
    /// The stereo's input wants resistances.
    Resistances,
    /// Nothing is connected.
    NotConnected,
    /// The port is being opened.
    Opening,
    /// The port went away.
    Gone,
    /// What is connected hasn't said that it is a box.
    NoBox,
    /// The board has no program.
    NoProgram,
    /// The box does something else.
    Busy(Job),
}

impl Hindrance {
    /// What it is and what to do.
    #[must_use]
    pub fn words(self) -> String {
        match self {
            Self::Resistances => {
                "This stereo's input wants resistances. The box doesn't drive such an input yet, \
                                  so a sweep would reach nothing. Measure again at Jack if that is wrong."
                    .to_owned()
            }
            Self::NotConnected => {
                "No box is connected. Plug it in and choose its port at the top right.".to_owned()
            }
            Self::Opening => "The port is being opened. The box is asked who it is.".to_owned(),
            Self::Gone => "The port went away. Plug the box in again: it is picked up by itself.".to_owned(),
            Self::NoBox => {
                "What is connected has not said that it is a box: a probe or a recording sends no codes. \
                 Connect the box."
                    .to_owned()
            }
            Self::NoProgram => "The board has no program. Put it in at the Box station.".to_owned(),
            Self::Busy(job) => {
                format!("The box has something else to do: {}. Wait for it.", job.doing().to_lowercase())
            }
        }
    }

    /// Where that is done.
    #[must_use]
    pub fn remedy(self) -> Option<(&'static str, Action)> {
        match self {
            Self::Resistances => Some(("Go to Jack", Action::Codes(CodesAction::View(CodesView::Jack)))),
            Self::NoProgram | Self::Busy(_) => Some(("Go to Box", Action::Go(Station::Box))),
            Self::NotConnected | Self::Opening | Self::Gone | Self::NoBox => None,
        }
    }
}

/// What keeps a sweep from sending anything now, the gravest first.
#[must_use]
pub fn hindrance(model: &Model) -> Option<Hindrance> {
    let jack = model.project().and_then(|project| project.stereo.jack.wants);
    if jack == Some(JackWants::Resistances) {
        return Some(Hindrance::Resistances);
    }
    match (&model.link.phase, &model.the_box.presence) {
        (Phase::Closed, _) => Some(Hindrance::NotConnected),
        (Phase::Opening(_), _) => Some(Hindrance::Opening),
        (Phase::Gone, _) => Some(Hindrance::Gone),
        (Phase::Open, Presence::NoProgram { .. }) => Some(Hindrance::NoProgram),
        (Phase::Open, Presence::None | Presence::Probe) => Some(Hindrance::NoBox),
        (Phase::Open, Presence::Found(_)) => {
            model.the_box.running.map(|running| Hindrance::Busy(running.job))
        }
    }
}
