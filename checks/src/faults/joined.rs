//! What a bridged insulation joins, who may touch it, and which other insulation carries more then.

use loadworthy_physics::insulation::protection::Bonding;
use loadworthy_unit::plan::{Barrier, Domain, Form, Isolation, Span};
use loadworthy_unit::{Dimension, LaneId, Solved, Variant};

use super::Effect;
use crate::figure_text::value;
use crate::free_text::in_line;
use crate::isolation::{Classes, ways};

/// Border of voltage class A (ISO 6469-3), V: below it nobody is hurt by touching.
pub(super) const TOUCHABLE: f64 = 60.0;

/// Barriers between two stated domains. Those between the gates of one stage keep nothing from anybody.
pub(super) fn apart(variant: &Variant) -> impl Iterator<Item = (&Isolation, &Barrier)> {
    variant.plan.isolation.iter().flat_map(|isolation| {
        let barriers = isolation.barriers.iter();
        barriers.filter(|barrier| ends(isolation, barrier).is_some()).map(move |barrier| (isolation, barrier))
    })
}

/// The two domains of a barrier.
fn ends<'p>(isolation: &'p Isolation, barrier: &Barrier) -> Option<[&'p Domain; 2]> {
    let (one, other) = barrier.between?;
    let ends = [one, other].map(|place| isolation.domain(place));
    ends.iter().all(|domain| domain.form != Form::Gates).then_some(ends)
}

/// What comes of a bridged barrier.
pub(super) fn joined(solved: &Solved<'_>, isolation: &Isolation, barrier: &Barrier) -> Effect {
    let mut effect = Effect::default();
    let Some([one, other]) = ends(isolation, barrier) else { return effect };
    let highest = [one, other].map(|domain| voltage(solved, domain));
    let named = |place: usize| {
        let name = &[one, other][place].name;
        match highest[place] {
            Some(volts) => format!("{name} (up to {})", value(volts, Dimension::Voltage)),
            None => name.clone(),
        }
    };
    effect.says.push(format!("joins {} to {}", named(0), named(1)));
    let most = match (highest, barrier.between) {
        // Two systems that hurt may be joined at unlike rails.
        ([Some(one), Some(other)], Some(pair)) if !isolation.are_one_system(pair) => together(one, other),
        _ => highest.iter().flatten().copied().fold(f64::NEG_INFINITY, f64::max),
    };
    if highest.iter().all(Option::is_none) {
        effect.says.push("how high its voltage is, no bus of these domains says".to_owned());
    }
    for (domain, own) in [one, other].into_iter().zip(highest) {
        if domain.is_touchable() && TOUCHABLE < most && own.is_none_or(|own| own < most) {
            effect.is_hazard = true;
            effect.says.push(if domain.bonding >= Bonding::Stated {
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
    // A first fault changes nothing that anyone feels; a sensor of the isolation finds what leads to the chassis.
    for (domain, beyond) in [(one, other), (other, one)] {
        let hurts = voltage(solved, domain).is_some_and(|volts| TOUCHABLE < volts);
        if let Some(leakage) = &domain.leakage
            && hurts
            && beyond.bonding >= Bonding::Stated
        {
            effect.says.push(if leakage.is_watched {
                format!("the sensor of the isolation of {} finds it", domain.name)
            } else {
                format!("nothing watches the isolation of {}: it stays until a second fault", domain.name)
            });
        }
    }
    let is_bonded = [one, other].iter().any(|domain| domain.bonding >= Bonding::Stated);
    for (_, sibling) in apart(solved.variant).filter(|(_, other)| other.part != barrier.part) {
        let Some([near, far]) = ends(isolation, sibling) else { continue };
        let shares = |domain: &Domain| [one.part, other.part].contains(&domain.part);
        let name = &sibling.name;
        match [near, far].map(shares) {
            [true, true] => effect.says.push(format!("{name} no longer keeps them apart")),
            // What is bonded keeps its potential, and nothing beyond it stands against more.
            [true, false] if !is_bonded => {
                effect.says.extend(carries_more(solved, sibling, [near, far], most))
            }
            [false, true] if !is_bonded => {
                effect.says.extend(carries_more(solved, sibling, [far, near], most))
            }
            _ => {}
        }
    }
    effect.says.extend(alone(solved, isolation, barrier));
    let across = across(solved.variant, isolation, barrier);
    if !across.is_empty() {
        effect.says.push(format!("by any of {}", across.join(", ")));
    }
    effect
}

/// How far two systems may stand apart: by both voltages, where both hurt.
fn together(one: f64, other: f64) -> f64 {
    if TOUCHABLE < one.min(other) { one + other } else { one.max(other) }
}

/// What lies across a barrier, by name: what it lists, and what says itself that it passes it.
fn across(variant: &Variant, isolation: &Isolation, barrier: &Barrier) -> Vec<String> {
    let place = isolation.barriers.iter().position(|other| other.part == barrier.part);
    let mut names: Vec<String> = barrier.spanned_by.iter().map(|(name, ..)| in_line(name)).collect();
    let listed = barrier.spanned_by.iter().map(|(name, ..)| name);
    let listed: Vec<&String> = listed.collect();
    for crossing in &isolation.crossings {
        let passes = crossing.names_barrier.is_some_and(|(named, _)| Some(named) == place);
        let name = in_line(variant.path(crossing.part));
        if passes && !crossing.names.iter().any(|own| listed.contains(&own)) && !names.contains(&name) {
            names.push(name);
        }
    }
    names
}

/// A barrier from one of the joined domains to a third one, which now stands against what both come to together.
fn carries_more(
    solved: &Solved<'_>,
    barrier: &Barrier,
    [inner, outer]: [&Domain; 2],
    most: f64,
) -> Option<String> {
    let far = voltage(solved, outer).unwrap_or(0.0);
    let before = together(voltage(solved, inner).unwrap_or(0.0), far);
    let after = together(most, far);
    let volts = |volts: f64| value(volts, Dimension::Voltage);
    let rated = barrier.rated_peak.and_then(|rated| solved.input(rated, LaneId::new(0)));
    let above = match rated.filter(|&rated| rated < after) {
        Some(rated) => format!(", above the {} that it is made for", volts(rated)),
        None => String::new(),
    };
    (before < after).then(|| {
        let (name, outer) = (&barrier.name, &outer.name);
        format!("{name} to {outer} stands against {} instead of {}{above}", volts(after), volts(before))
    })
}

/// Domains beyond the joined ones that no longer have the means of protection between them that they need, with what is left
/// on the weakest way.
fn alone(solved: &Solved<'_>, isolation: &Isolation, barrier: &Barrier) -> Vec<String> {
    let place = isolation.barriers.iter().position(|other| other.part == barrier.part);
    // Bonding that holds what is joined to the chassis is what protects then, and is said.
    let is_bonded = ends(isolation, barrier)
        .is_none_or(|ends| ends.iter().any(|domain| domain.bonding >= Bonding::Stated));
    let Some(place) = place.filter(|_| !is_bonded) else { return Vec::new() };
    let classes = Classes::of(solved, isolation);
    let before = ways(isolation, &classes);
    let bridged = isolation.with_bridged(place);
    let mut said = Vec::new();
    for way in ways(&bridged, &classes) {
        let (needed, left) = (way.needed.insulation.means(), way.path.means);
        let met = before.iter().any(|one| one.between == way.between && needed <= one.path.means);
        if !met || needed <= left || Some(way.between) == barrier.between {
            continue;
        }
        let name = |end: usize| &isolation.domain(end).name;
        let (one, other) = (name(way.between.0), name(way.between.1));
        let layers = way.spans.iter().filter_map(|&span| match span {
            Span::Barrier(layer) if layer != place => Some(isolation.barriers[layer].name.as_str()),
            Span::Capacitor(capacitor) => Some(isolation.capacitors[capacitor].name.as_str()),
            Span::Barrier(_) | Span::Bonding | Span::OwnStage => None,
        });
        let layers: Vec<&str> = layers.collect();
        said.push(if left == 0 {
            format!("nothing that protects is left between {one} and {other}")
        } else {
            format!(
                "between {one} and {other}, {} is left alone, of two means that they need",
                layers.join(", ")
            )
        });
    }
    said
}

/// Highest voltage of the buses of a domain, where it is known.
pub(super) fn voltage(solved: &Solved<'_>, domain: &Domain) -> Option<f64> {
    let variant: &Variant = solved.variant;
    let buses = domain.stress.buses.iter();
    let volts = buses.filter_map(|&bus| {
        let of = variant.plan.buses[bus].highest_voltage;
        (0..variant.lanes.len()).filter_map(|lane| solved.figure(of, LaneId::new(lane))).reduce(f64::max)
    });
    volts.reduce(f64::max)
}
