//! Buses in the wrong domain: what joins two domains is told, and with it what the stray bus brings into its own.

use loadworthy_physics::stored_energy::HARMLESS;
use loadworthy_unit::plan::{Crossing, Form, Isolation, Joins, Merged};
use loadworthy_unit::{Dimension, PartId, Solved};

use super::chassis::largest;
use super::{bare, ordered};
use crate::cause::missing_text;
use crate::figure_text::value;
use crate::isolation::{Classes, stated};
use crate::seats::stage_of;
use crate::verdict::Missing;

/// What a domain is asked for once a bus stands in it whose voltage hurts.
const OF_A_CIRCUIT: [&str; 3] = ["impulse", "isolation_resistance", "stray_capacitance"];

/// The most that a bus comes to; without a duty point what it states.
fn highest(solved: &Solved<'_>, bus: usize) -> Option<f64> {
    let bus = &solved.variant.plan.buses[bus];
    let lanes = solved.variant.lane_ids().filter_map(|lane| solved.figure(bus.highest_voltage, lane));
    lanes.reduce(f64::max).or_else(|| stated(solved, bus.highest))
}

/// The bus that something joins to another domain, where it alone makes a voltage of its own domain that hurts.
fn stray(solved: &Solved<'_>, isolation: &Isolation, place: usize, merged: &Merged) -> Option<usize> {
    let of_domain = &isolation.domain(place).stress.buses;
    let hurts = |bus: usize| highest(solved, bus).is_none_or(|volts| HARMLESS.si() < volts);
    let joined = [merged.buses.0, merged.buses.1].into_iter().find(|bus| of_domain.contains(bus))?;
    let is_alone = of_domain.iter().all(|&bus| bus == joined || !hurts(bus));
    (of_domain.len() > 1 && is_alone && hurts(joined)).then_some(joined)
}

/// Whether what joins a domain to another tells that a bus of the other stands in it.
pub(super) fn is_told(solved: &Solved<'_>, isolation: &Isolation, place: usize) -> bool {
    isolation.merged.iter().any(|merged| stray(solved, isolation, place, merged).is_some())
}

/// The end of a barrier that is a circuit in which no bus stands: what its list names stood there before its bus was moved.
pub(super) fn emptied(isolation: &Isolation, barrier: usize) -> Option<usize> {
    let is_emptied = |&end: &usize| {
        let domain = isolation.domain(end);
        matches!(domain.form, Form::Circuit { .. })
            && domain.stress.buses.is_empty()
            && domain.stress.mains.is_none()
    };
    let (one, other) = isolation.barriers[barrier].between?;
    [one, other].into_iter().find(is_emptied)
}

/// Whether a domain that hurts whoever touches it has the bus that left another one, as far as barriers between the two tell.
pub(super) fn is_told_of(solved: &Solved<'_>, isolation: &Isolation, classes: &Classes, left: usize) -> bool {
    isolation.domains().any(|(place, domain)| {
        domain.form == (Form::Circuit { touchable: true })
            && classes.missing(place).is_none()
            && classes.hurts(place)
            && !is_told(solved, isolation, place)
            && left_for(isolation, place).contains(&left)
    })
}

/// Domains without a bus that barriers keep apart from another one, which may have it.
pub(super) fn left_for(isolation: &Isolation, place: usize) -> Vec<usize> {
    let barriers = (0..isolation.barriers.len()).filter(|&barrier| {
        let between = isolation.barriers[barrier].between;
        between.is_some_and(|(one, other)| one == place || other == place)
    });
    let mut left: Vec<usize> =
        barriers.filter_map(|barrier| emptied(isolation, barrier)).filter(|&end| end != place).collect();
    left.dedup();
    left
}

/// Whether what stands on metal came there with a bus that left its own domain: a barrier lists the transformer of its stage
/// between the two domains, one of which has no bus any more, and what then passes none between them is told.
pub(super) fn took_along(
    solved: &Solved<'_>,
    isolation: &Isolation,
    classes: &Classes,
    crossing: &Crossing,
) -> bool {
    let (variant, plan) = (solved.variant, &solved.variant.plan);
    let own = stage_of(variant, crossing.part);
    let Some(stage) = plan.stages.iter().find(|stage| stage.part == own) else { return false };
    let (one, other) = crossing.between;
    let magnetics = stage.magnetics.iter().map(|&magnetic| variant.path(plan.magnetics[magnetic].part));
    let names: Vec<&str> = magnetics.filter_map(|path| path.rsplit('.').next()).collect();
    let has_left = |place: usize| {
        let barrier = &isolation.barriers[place];
        let (Some(between), Some(left)) = (barrier.between, emptied(isolation, place)) else { return false };
        let stays = if between.0 == left { between.1 } else { between.0 };
        (stays == one || stays == other)
            && barrier.spanned_by.iter().any(|(name, ..)| names.contains(&name.as_str()))
            && bare(isolation, classes, ordered(between)).next().is_some()
    };
    matches!(crossing.kind, Joins::Cooled | Joins::Wound) && (0..isolation.barriers.len()).any(has_left)
}

/// What waits for a bus in the wrong domain: what that domain would have to say if the bus were its own, and where sensors of
/// stages between it and another stand.
pub(super) fn keeps_open(solved: &Solved<'_>, isolation: &Isolation, part: PartId) -> Vec<String> {
    let variant = solved.variant;
    let merged = isolation.merged.iter().find(|merged| merged.part == part);
    let ends = merged.map_or_else(Vec::new, |merged| vec![merged.between.0, merged.between.1]);
    let domains = isolation.domains().filter(|(place, domain)| domain.part == part || ends.contains(place));
    let said = domains
        .flat_map(|(_, domain)| OF_A_CIRCUIT.map(|key| format!("isolation.domains.{}.{key}", domain.name)));
    let adrift = isolation.unsaid.iter().filter(|(_, key)| merged.is_some() && *key == "domain");
    let adrift = adrift.map(|&(of, key)| missing_text(variant, None, Missing::Key { of, key }).subject);
    said.chain(adrift).collect()
}

/// What stray buses bring into the domains that something joins, in words.
pub(super) fn brought(solved: &Solved<'_>, isolation: &Isolation, merged: &Merged) -> Vec<String> {
    let ends = [merged.between.0, merged.between.1].into_iter();
    let brings = |place: usize| {
        let bus = stray(solved, isolation, place, merged)?;
        let domain = isolation.domain(place);
        let volts = largest(solved, isolation, place).map(|volts| value(volts, Dimension::Voltage));
        let touched = domain.form == (Form::Circuit { touchable: true });
        let suffers = match (touched, domain.is_earthed) {
            (true, true) => ", which a person can touch and which stands on the chassis",
            (true, false) => ", which a person can touch",
            (false, true) => ", which stands on the chassis",
            (false, false) => "",
        };
        let bus = solved.variant.path(solved.variant.plan.buses[bus].part);
        let up_to = volts.map_or_else(String::new, |volts| format!("up to {volts} "));
        Some(format!("`{bus}` alone brings {up_to}into `{}`{suffers}", domain.name))
    };
    ends.filter_map(brings).collect()
}
