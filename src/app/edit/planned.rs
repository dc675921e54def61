//! Changes of what is planned and metered: parts, output, supply, the meter check, the wires' colours,
//! and edges moved by hand.

use crate::app::action::Edit;
use crate::project::Project;

use super::EditError;

/// Makes such an edit; any other changes nothing.
pub(super) fn apply(project: &mut Project, edit: &Edit) -> Result<(), EditError> {
    match edit {
        Edit::Parts(parts) => project.parts.clone_from(parts),
        Edit::Output(output) => {
            output.check()?;
            project.output.clone_from(output);
        }
        Edit::Supply(supply) => {
            supply.check()?;
            project.supply.clone_from(supply);
        }
        Edit::MeterCheck(check) => project.wheel.check.clone_from(check),
        Edit::Back(back) => project.wheel.back.clone_from(back),
        Edit::WireColour(wire, colour) => {
            project.wheel.wires.entry(*wire).or_default().colour.clone_from(colour);
        }
        Edit::Edges(id, edges) if *edges == Default::default() => {
            project.edges.remove(id);
        }
        Edit::Edges(id, edges) => {
            project.edges.insert(id.clone(), *edges);
        }
        _ => {}
    }
    Ok(())
}
