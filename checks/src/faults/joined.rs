//! What a bridged insulation joins, who may touch it, and which other insulation carries more then.

use loadworthy_unit::plan::Between;
use loadworthy_unit::{Dimension, LaneId, Solved, Variant};

use super::Effect;
use crate::figure_text::value;
use crate::free_text::in_line;

/// Border of voltage class A (ISO 6469-3), V: below it nobody is hurt by touching.
const TOUCHABLE: f64 = 60.0;

/// What comes of a bridged barrier.
pub(super) fn joined(solved: &Solved<'_>, barrier: &Between) -> Effect {
    let variant = solved.variant;
    let plan = &variant.plan;
    let mut effect = Effect::default();
    let highest = barrier.domains.map(|domain| voltage(solved, domain));
    let [one, other] = barrier.domains.map(|domain| &plan.insulated[domain]);
    let named = |place: usize| {
        let name = &[one, other][place].name;
        match highest[place] {
            Some(volts) => format!("{name} (up to {})", value(volts, Dimension::Voltage)),
            None => name.clone(),
        }
    };
    effect.says.push(format!("joins {} to {}", named(0), named(1)));
    let most = highest.iter().flatten().copied().fold(f64::NEG_INFINITY, f64::max);
    if highest.iter().all(Option::is_none) {
        effect.says.push("how high its voltage is, no bus of these domains says".to_owned());
    }
    for (domain, own) in [one, other].into_iter().zip(highest) {
        if domain.is_touchable && TOUCHABLE < most && own.is_none_or(|own| own < most) {
            effect.is_hazard = true;
            effect.says.push(if domain.is_bonded {
                format!(
                    "a person may touch {}: its bonding alone keeps {} from them",
                    domain.name,
                    value(most, Dimension::Voltage)
                )
            } else {
                format!(
                    "a person may touch {}, with up to {} on it",
                    domain.name,
                    value(most, Dimension::Voltage)
                )
            });
        }
    }
    for sibling in plan.barriers.iter().filter(|other| other.part != barrier.part) {
        let name = variant.path(sibling.part);
        let shares = |domain: usize| barrier.domains.contains(&domain);
        match sibling.domains.map(shares) {
            [true, true] => effect.says.push(format!("{name} no longer keeps them apart")),
            [true, false] | [false, true] => {
                effect.says.extend(carries_more(solved, sibling, barrier, most, name));
            }
            [false, false] => {}
        }
    }
    if !barrier.spanned_by.is_empty() {
        effect.says.push(format!(
            "by any of {}",
            barrier.spanned_by.iter().map(|name| in_line(name)).collect::<Vec<_>>().join(", ")
        ));
    }
    effect
}

/// A barrier from one of the joined domains to a third one, which now stands against the higher voltage of both.
fn carries_more(
    solved: &Solved<'_>,
    sibling: &Between,
    barrier: &Between,
    most: f64,
    name: &str,
) -> Option<String> {
    let [inner, outer] = if barrier.domains.contains(&sibling.domains[0]) {
        sibling.domains
    } else {
        [sibling.domains[1], sibling.domains[0]]
    };
    let far = voltage(solved, outer).unwrap_or(0.0);
    let before = voltage(solved, inner).unwrap_or(0.0).max(far);
    let after = most.max(far);
    (before < after).then(|| {
        let volts = |volts: f64| value(volts, Dimension::Voltage);
        format!(
            "{name} to {} stands against {} instead of {}",
            solved.variant.plan.insulated[outer].name,
            volts(after),
            volts(before)
        )
    })
}

/// Highest voltage of the buses of a domain, where it is known.
fn voltage(solved: &Solved<'_>, domain: usize) -> Option<f64> {
    let variant: &Variant = solved.variant;
    let buses = variant.plan.insulated[domain].buses.iter();
    let volts = buses.filter_map(|&bus| {
        let of = variant.plan.buses[bus].highest_voltage;
        (0..variant.lanes.len()).filter_map(|lane| solved.figure(of, LaneId::new(lane))).reduce(f64::max)
    });
    volts.reduce(f64::max)
}
