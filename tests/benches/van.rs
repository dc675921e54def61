//! The demo van's wheel for the benchmarks, on one wire or on two.

use spokewire::demo::{WheelPlan, demo_van};

/// The demo van as it is, or with its last three buttons on a second wire that rests like the first.
pub(crate) fn van(wires: u8) -> WheelPlan {
    let mut plan = demo_van();
    if wires == 2 {
        plan.wires = 2;
        plan.rest_ohm = [plan.rest_ohm[0]; 2];
        plan.buttons.iter_mut().skip(4).for_each(|button| button.wire = 2);
    }
    plan
}
