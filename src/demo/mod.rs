//! The demo's world: a virtual wheel and box, a person who presses, and the demo vehicle's project.
//! The vehicle, its stereo, its ohms and its codes are invented. Knows no port, no clock and no
//! screen: time is an argument.

mod person;
mod project;
mod virtual_box;
mod wheel;

pub use person::{HandMove, Mistakes, Person};
pub use project::demo_project;
pub use virtual_box::VirtualBox;
pub use wheel::{PlanButton, VirtualWheel, WheelPlan, demo_van};
