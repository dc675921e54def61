//! Changes of what is planned and metered: parts, output, supply, the meter check, the wires' colours,
//! and edges moved by hand.

use crate::app::action::Edit;
use crate::project::{Project, Range};

use super::EditError;

/// Makes such an edit; any other changes nothing.
pub(super) fn apply(project: &mut Project, edit: &Edit) -> Result<(), EditError> {
    match edit {
        Edit::Parts(parts) => project.parts.clone_from(parts),
        Edit::Output(output) => project.output.clone_from(output),
        Edit::Supply(supply) => project.supply.clone_from(supply),
        Edit::MeterCheck(check) => project.wheel.check.clone_from(check),
        Edit::Back(back) => project.wheel.back.clone_from(back),
        Edit::WireColour(wire, colour) => {
            project.wheel.wires.entry(*wire).or_default().colour.clone_from(colour);
        }
        Edit::Edges(id, edges) if *edges == Default::default() => {
            project.edges.remove(id);
        }
        Edit::Edges(id, _) if project.button(id).is_none() => {
            return Err(EditError::Gone(format!("Button {}", id.0)));
        }
        Edit::Edges(id, edges) => {
            let put = [edges.low_count, edges.high_count].into_iter().flatten();
            if let Some(count) = put.into_iter().find(|&count| !Range::EDGE_COUNT.holds(f64::from(count))) {
                return Err(EditError::EdgeCount(count));
            }
            project.edges.insert(id.clone(), *edges);
        }
        Edit::LearnedOn(on) => {
            if let Some(volt) = on.and_then(|on| on.feed_v).filter(|&volt| !Range::VOLT.holds(volt)) {
                return Err(EditError::LearnedFeed(volt));
            }
            project.learned_on = *on;
        }
        _ => {}
    }
    Ok(())
}
