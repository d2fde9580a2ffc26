//! The single faults of a unit for a program.

use loadworthy_checks::faults as walked;
use schemars::JsonSchema;
use serde::Serialize;

use crate::described::Described;
use crate::show::json::{Quantity, quantity};
use crate::show::places::{self, Place};

/// The single faults of a variant.
#[derive(Serialize, JsonSchema)]
pub(super) struct FaultWalk {
    /// The variant; null where the unit has no named variants.
    variant: Option<String>,
    /// Its single faults; those with the same effect stand together.
    faults: Vec<Fault>,
}

#[derive(Serialize, JsonSchema)]
struct Fault {
    /// Any one part of any of them.
    causes: Vec<Cause>,
    /// Where the first cause stands.
    at: Place,
    /// Whether a person may be hurt by what it joins or leaves live.
    hazard: bool,
    /// Sources that are cut off.
    cut_off: Vec<String>,
    /// Stages that stop.
    stops: Vec<String>,
    /// Buses that nothing feeds any more.
    without_feed: Vec<String>,
    /// Duty points that ask for something that stopped.
    not_served: Vec<String>,
    /// Duty points without a solution of what is left.
    no_solution: Vec<String>,
    /// What fails that did not fail before, or fails by more.
    fails_then: Vec<Worse>,
    /// Comparisons that are not judged any more.
    open: usize,
    /// Comparisons that are judged neither with the fault nor without it.
    open_as_before: usize,
    /// Whether something of what follows is not reckoned; `then` says what.
    not_reckoned: bool,
    /// Buses that discharge by another way or longer, in words.
    discharge: Vec<String>,
    /// What else follows, in words.
    then: Vec<String>,
    /// Whether what is left was solved again.
    solved: bool,
}

#[derive(Serialize, JsonSchema)]
struct Cause {
    /// What fails.
    kind: &'static str,
    /// The parts, any one of which may fail so.
    parts: Vec<String>,
}

#[derive(Serialize, JsonSchema)]
struct Worse {
    /// The name of the check.
    check: &'static str,
    /// `major`, `minor` or `note`.
    grade: &'static str,
    /// The path of the part.
    part: String,
    /// The duty point; null where the structure is judged.
    duty_point: Option<String>,
    /// What it carries.
    carried: Option<Quantity>,
    /// What the policy leaves of the limit.
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
            cut_off: one.effect.cut_off.clone(),
            stops: one.effect.stops.clone(),
            without_feed: one.effect.dead.clone(),
            not_served: one.effect.not_served.clone(),
            no_solution: one.effect.unsolved.clone(),
            fails_then: one.effect.worse.iter().map(worse).collect(),
            open: one.effect.unjudged,
            open_as_before: one.effect.still_open,
            not_reckoned: one.effect.is_open,
            discharge: one.effect.discharge.clone(),
            then: one.effect.says.clone(),
            solved: one.effect.is_solved,
        };
        Self { variant: walk.variant_name.clone(), faults: walk.faults.iter().map(fault).collect() }
    }
}
