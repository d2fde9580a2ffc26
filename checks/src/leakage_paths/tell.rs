//! What leaks, holds or does not bond, in words, and what would keep the limits.

use loadworthy_unit::plan::{Domain, Form, Isolation, Pole};
use loadworthy_unit::{Dimension, InputId, LaneId, Solved};

use super::{BONDING, ENERGY, RESISTANCE, UNWATCHED, sentence};
use crate::check::{Family, Told};
use crate::figure_text::{at_least, comparison, value};
use crate::review::Place;
use crate::steps::toward;
use crate::tell::{above, part_at, place};
use crate::verdict::Verdict;

fn domain<'v>(worst: &Verdict, solved: &Solved<'v>) -> Option<(&'v Isolation, &'v Domain)> {
    let isolation = solved.variant.plan.isolation.as_ref()?;
    let found = isolation.domains().find(|(_, domain)| domain.part == worst.part)?;
    Some((isolation, found.1))
}

fn pole<'v>(worst: &Verdict, solved: &Solved<'v>) -> Option<&'v Pole> {
    let isolation = solved.variant.plan.isolation.as_ref()?;
    isolation.poles.iter().find(|pole| pole.part == worst.part)
}

/// Where inputs stand, the ones that weigh most first.
fn places(
    solved: &Solved<'_>,
    inputs: &[InputId],
    dimension: Dimension,
    lane: LaneId,
    weighs_more: fn(f64, f64) -> bool,
) -> Vec<Place> {
    let mut known: Vec<(InputId, f64)> =
        inputs.iter().filter_map(|&input| Some((input, solved.input(input, lane)?))).collect();
    known.sort_by(|one, other| {
        if weighs_more(one.1, other.1) {
            core::cmp::Ordering::Less
        } else if weighs_more(other.1, one.1) {
            core::cmp::Ordering::Greater
        } else {
            core::cmp::Ordering::Equal
        }
    });
    known.iter().take(4).filter_map(|&(input, it)| place(solved, input, lane, value(it, dimension))).collect()
}

pub(super) fn told(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    if worst.defect == UNWATCHED {
        let (_, domain) = domain(worst, solved)?;
        let saying = format!(
            "`{}` floats, and no sensor watches its isolation: a first fault to the chassis stays until a second one",
            domain.name
        );
        let at =
            part_at(solved, worst.part, "a first fault here changes nothing that anyone notices".to_owned());
        let why = "a sensor that `measures: isolation` of one of its buses; mind its pulses against the capacitance to the chassis";
        let facts = vec!["watched by no sensor".to_owned()];
        return Some(Told { facts, no_proposal: Some(why.to_owned()), ..Told::new(saying, at) });
    }
    let (lane, compared) = (worst.lane()?, worst.comparison()?);
    let text = comparison(compared);
    match worst.defect {
        RESISTANCE => {
            let (isolation, domain) = domain(worst, solved)?;
            let leakage = domain.leakage.as_ref()?;
            let joined = if domain.stress.alternates() {
                "500 Ω/V, as a machine joins alternating voltage to it"
            } else {
                "100 Ω/V for direct voltage alone"
            };
            let saying = format!(
                "`{}` keeps {} against the chassis, and its {} ask for {}",
                domain.name,
                text.limit,
                value(solved.figure(domain.voltage, lane)?, Dimension::Voltage),
                at_least(compared.carried_value, compared.dimension)
            );
            let mut all =
                places(solved, &leakage.resistances, Dimension::Resistance, lane, |one, other| one < other);
            let at = if all.is_empty() {
                part_at(solved, worst.part, format!("{} in all", text.limit))
            } else {
                all.remove(0)
            };
            let worked = vec![joined.to_owned(), sentence(isolation).to_owned()];
            Some(Told { because: all, worked, ..Told::new(saying, at) })
        }
        ENERGY => {
            let pole = pole(worst, solved)?;
            let above_60 = solved.figure(pole.above, lane).map(|joule| value(joule, Dimension::Energy));
            let isolation = solved.variant.plan.isolation.as_ref()?;
            let mut to: Vec<String> = pole
                .toward
                .iter()
                .map(|&place| isolation.domain(place))
                .map(|domain| match domain.form {
                    Form::Metal if !domain.floats() => "the chassis".to_owned(),
                    _ => format!("`{}`", domain.name),
                })
                .collect();
            to.dedup();
            let saying = format!(
                "the capacitors from `{}` to {} hold {}, {}",
                solved.variant.path(worst.part),
                if to.is_empty() { "the chassis".to_owned() } else { to.join(" and ") },
                text.carried,
                above(compared, "the limit")
            );
            let mut all =
                places(solved, &pole.capacitances, Dimension::Capacitance, lane, |one, other| one > other);
            let at = if all.is_empty() {
                part_at(solved, worst.part, format!("{} in all", text.carried))
            } else {
                all.remove(0)
            };
            let mut worked = vec!["C·V²/2 of one pole, plain, as in ISO 6469-3".to_owned()];
            worked.extend(above_60.map(|joule| {
                format!("C·(V² − (60 V)²)/2 as in UN Regulations No. 94 and 95 after a crash: {joule}")
            }));
            Some(Told { because: all, worked, ..Told::new(saying, at) })
        }
        BONDING => {
            let (_, domain) = domain(worst, solved)?;
            let (input, _) = domain.bonding_resistance?;
            let saying = format!(
                "the bonding of `{}` has {}, {}",
                domain.name,
                text.carried,
                above(compared, "the limit")
            );
            let at = place(solved, input, lane, format!("{} here", text.carried))?;
            let worked = vec![
                "0.1 Ω between touchable metal and the chassis, measured with at least 0.2 A (UN Regulation No. 100, ISO 6469-3)".to_owned(),
            ];
            Some(Told { worked, ..Told::new(saying, at) })
        }
        _ => None,
    }
}

pub(super) fn propose(worst: &Verdict, solved: &Solved<'_>) -> Vec<Family> {
    let (Some(lane), Some(compared)) = (worst.lane(), worst.comparison()) else { return Vec::new() };
    let least = |inputs: &[InputId], less: fn(f64, f64) -> bool| {
        let known = inputs.iter().filter_map(|&input| Some((input, solved.input(input, lane)?)));
        known.reduce(|most, one| if less(one.1, most.1) { one } else { most })
    };
    match worst.defect {
        RESISTANCE => {
            let Some(leakage) = domain(worst, solved).and_then(|(_, domain)| domain.leakage.as_ref()) else {
                return Vec::new();
            };
            let Some((input, ohms)) = least(&leakage.resistances, |one, other| one < other) else {
                return Vec::new();
            };
            // What the others leave to the lowest of them; nothing where they alone are too little.
            let others = 1.0 / compared.limit - 1.0 / ohms;
            let left = 1.0 / compared.carried_value - others;
            if left <= 0.0 {
                return Vec::new();
            }
            vec![toward(
                "lowest resistance",
                input,
                (Dimension::Resistance, ""),
                1.0 / (left * ohms),
                solved,
                lane,
            )]
        }
        ENERGY => {
            let Some(pole) = pole(worst, solved) else { return Vec::new() };
            let Some((input, farad)) = least(&pole.capacitances, |one, other| one > other) else {
                return Vec::new();
            };
            let all: f64 = pole.capacitances.iter().filter_map(|&one| solved.input(one, lane)).sum();
            let left = farad - all * (1.0 - compared.allowed / compared.carried_value);
            if left <= 0.0 {
                return Vec::new();
            }
            vec![toward(
                "largest capacitance",
                input,
                (Dimension::Capacitance, ""),
                left / farad,
                solved,
                lane,
            )]
        }
        BONDING => {
            let Some((input, _)) = domain(worst, solved).and_then(|(_, domain)| domain.bonding_resistance)
            else {
                return Vec::new();
            };
            let factor = compared.allowed / compared.carried_value;
            vec![toward("bonding", input, (Dimension::Resistance, ""), factor, solved, lane)]
        }
        _ => Vec::new(),
    }
}
