//! Two names for the one minus of a stage without a transformer.

use loadworthy_unit::{PartId, Solved};

use super::{TWO_NAMES, put};
use crate::check::Told;
use crate::collect::Verdicts;
use crate::review::Place;
use crate::tell::part_at;
use crate::verdict::Grade;

/// Judges every boost and every buck between rails of two names.
pub(super) fn judge(solved: &Solved<'_>, out: &mut Verdicts) {
    let plan = &solved.variant.plan;
    for through in &plan.rails_through {
        // A rail that joins the bus of the stage to another domain is told of that.
        let stage = plan.stages.iter().find(|stage| stage.part == through.stage);
        let on = |bus: usize| stage.is_some_and(|stage| stage.ports.iter().any(|port| port.bus == Some(bus)));
        let mut merged = plan.isolation.iter().flat_map(|isolation| &isolation.merged);
        if merged.any(|merged| on(merged.buses.0) || on(merged.buses.1)) {
            continue;
        }
        put(solved, out, through.stage, TWO_NAMES, Ok(false), Grade::Major);
    }
}

pub(super) fn told(solved: &Solved<'_>, part: PartId) -> Option<Told> {
    let through = solved.variant.plan.rails_through.iter().find(|through| through.stage == part)?;
    let stage = solved.variant.path(part);
    let [(one, first), (other, second)] = &through.rails;
    let saying = format!(
        "`{stage}` has no transformer: the rails `{one}` and `{other}` that its buses name are one conductor"
    );
    let at = part_at(solved, part, "one minus on both sides".to_owned());
    let because = [(one, *first), (other, *second)]
        .map(|(name, node)| Place { node, label: format!("{name} on one side of it") })
        .to_vec();
    let facts = vec![format!("one conductor with two names: {one}, {other}")];
    let worked = vec![
        "an inductor, two switches and a common minus lie between both buses, and nothing that isolates"
            .to_owned(),
        "gates and domains are judged as on one rail".to_owned(),
    ];
    let no_proposal = Some("one name for both rails, or a stage with a transformer".to_owned());
    Some(Told { because, facts, worked, no_proposal, ..Told::new(saying, at) })
}
