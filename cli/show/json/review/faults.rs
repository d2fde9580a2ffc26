//! The single faults of a unit for a program.

use loadworthy_checks::faults as walked;
use serde::Serialize;

use crate::described::Described;
use crate::show::json::{Quantity, quantity};
use crate::show::places::{self, Place};

/// The single faults of a variant.
#[derive(Serialize)]
pub(super) struct FaultWalk {
    variant: Option<String>,
    faults: Vec<Fault>,
}

#[derive(Serialize)]
struct Fault {
    /// Any one part of any of them.
    causes: Vec<Cause>,
    at: Place,
    /// Whether a person may be hurt by what it joins.
    hazard: bool,
    stops: Vec<String>,
    without_feed: Vec<String>,
    not_served: Vec<String>,
    no_solution: Vec<String>,
    fails_then: Vec<Worse>,
    /// Comparisons that are not judged any more.
    open: usize,
    discharge: Vec<String>,
    then: Vec<String>,
    /// Whether what is left was solved again.
    solved: bool,
}

#[derive(Serialize)]
struct Cause {
    kind: &'static str,
    parts: Vec<String>,
}

#[derive(Serialize)]
struct Worse {
    check: &'static str,
    grade: &'static str,
    part: String,
    duty_point: Option<String>,
    carried: Option<Quantity>,
    allowed: Option<Quantity>,
}

impl FaultWalk {
    pub(super) fn of(described: &Described, walk: &walked::FaultWalk) -> Self {
        let worse = |one: &walked::Worse| Worse {
            check: one.check,
            grade: one.grade.word(),
            part: one.part.clone(),
            duty_point: one.duty.clone(),
            carried: one.comparison.and_then(|compared| quantity(compared.carried_value, compared.dimension)),
            allowed: one.comparison.and_then(|compared| quantity(compared.allowed, compared.dimension)),
        };
        let fault = |one: &walked::Fault| Fault {
            causes: one
                .causes
                .iter()
                .map(|(kind, parts)| Cause { kind: kind.words(), parts: parts.clone() })
                .collect(),
            at: places::of_node(&described.tree, one.at),
            hazard: one.effect.is_hazard,
            stops: one.effect.stops.clone(),
            without_feed: one.effect.dead.clone(),
            not_served: one.effect.not_served.clone(),
            no_solution: one.effect.unsolved.clone(),
            fails_then: one.effect.worse.iter().map(worse).collect(),
            open: one.effect.unjudged,
            discharge: one.effect.discharge.clone(),
            then: one.effect.says.clone(),
            solved: one.effect.is_solved,
        };
        Self { variant: walk.variant_name.clone(), faults: walk.faults.iter().map(fault).collect() }
    }
}
