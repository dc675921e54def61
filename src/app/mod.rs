//! The model, the actions that change it and the effects they ask for. Draws nothing, opens
//! nothing, writes nothing: `Model::update` takes an [`Action`] and returns [`Effect`]s.

pub mod action;
pub mod circuit;
pub mod codes;
pub mod document;
pub mod edit;
pub mod effect;
mod file;
pub mod learn;
pub mod link;
pub mod model;
pub mod notice;
mod rail;
pub mod station;
pub mod the_box;
mod update;
pub mod wheel;

pub use action::{
    Action, CloseAction, CodesAction, Edit, FileAction, LearnAction, LearnView, LinkAction, Now, PathPurpose,
};
pub use circuit::{CircuitAction, CircuitDerived, CircuitView};
pub use document::Document;
pub use effect::{Effect, TapeEffect};
pub use model::Model;
pub use notice::{Level, Notice, Topic};
pub use rail::rung_name;
pub use station::{Progress, RailEntry, Station};
pub use the_box::{BoxAction, BoxDerived, BoxState, BoxView};
pub use wheel::{WheelAction, WheelDerived, WheelView};
