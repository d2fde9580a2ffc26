//! Sizes as JSON.

use loadworthy_checks::size::{Spared, Stop, Way};
use serde::Serialize;

use crate::described::Described;
use crate::outcome::Outcome;
use crate::show::places::{self, Place};
use crate::show::terminal::CAUTION;
use crate::size::Sizes;

use super::permit::{HeldAgainst, PermitShown};
use super::{Quantity, quantity, text};

#[derive(Serialize)]
struct Document<'d> {
    form: &'static str,
    version: u32,
    program: &'static str,
    exit: u8,
    caution: &'static str,
    file: &'d str,
    /// The kinds in the order of the objectives.
    order: Vec<&'static str>,
    /// The lowest grade of failure that counts.
    grade: &'static str,
    /// Descriptions that were solved and judged.
    tried: usize,
    sizes: Vec<One<'d>>,
    not_sized: Vec<Fixed<'d>>,
    /// The day that permits are held against; absent without permits.
    #[serde(skip_serializing_if = "Option::is_none")]
    permits: Option<HeldAgainst>,
    /// What no size mends.
    left: Vec<Left<'d>>,
    not_judged: Vec<StopShown<'d>>,
    broken_checks: &'d [String],
    /// What is to be written, by path; that of a variant below `variants`.
    set: Vec<Set<'d>>,
    /// The same as a merge patch in YAML.
    patch: Option<String>,
}

#[derive(Serialize)]
struct One<'d> {
    kind: &'static str,
    part: &'d str,
    what: &'d str,
    variant: Option<&'d str>,
    paths: &'d [String],
    at: Option<Place>,
    described: Option<Quantity>,
    size: Option<Quantity>,
    smaller: Option<Quantity>,
    smaller_fails: Vec<StopShown<'d>>,
    /// What is not judged of it, so that it is not made smaller.
    waits_for: Option<StopShown<'d>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    largest: Option<Quantity>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    larger_fails: Vec<StopShown<'d>>,
}

#[derive(Serialize)]
struct Fixed<'d> {
    kind: &'static str,
    part: &'d str,
    what: &'d str,
    why: &'static str,
}

#[derive(Serialize)]
struct Left<'d> {
    now: StopShown<'d>,
    /// The best that was reached, where some size changes it.
    nearest: Option<StopShown<'d>>,
    /// The permit that accepts it; absent where none does.
    #[serde(skip_serializing_if = "Option::is_none")]
    accepted: Option<PermitShown>,
}

#[derive(Serialize)]
struct StopShown<'d> {
    check: &'static str,
    part: &'d str,
    defect: &'static str,
    grade: Option<&'static str>,
    duty_point: Option<&'d str>,
    variant: Option<&'d str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    figure: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    carried: Option<Quantity>,
    #[serde(skip_serializing_if = "Option::is_none")]
    limit: Option<Quantity>,
    #[serde(skip_serializing_if = "Option::is_none")]
    allowed: Option<Quantity>,
    #[serde(skip_serializing_if = "Option::is_none")]
    largest_share: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    waits_for: Option<&'d [String]>,
}

#[derive(Serialize)]
struct Set<'d> {
    path: &'d str,
    written: &'d str,
}

/// The sizes.
pub(crate) fn sizes(described: &Described, sizes: &Sizes, outcome: Outcome) -> String {
    let one = |(choice, sizing): (&'_ crate::size::Choice, &'_ loadworthy_checks::size::Sizing)| {
        let amount = |place: usize| quantity(choice.size(place), choice.dimension());
        let largest = sizing.largest.as_ref();
        (
            amount(sizing.at),
            sizing.at.checked_sub(1).and_then(amount),
            largest.and_then(|(place, _)| amount(*place)),
        )
    };
    let shown_sizes = sizes.choices.iter().zip(&sizes.sized.choices).map(|(choice, sizing)| {
        let (size, smaller, largest) = one((choice, sizing));
        One {
            kind: choice.kind().word(),
            part: choice.part(),
            what: choice.what(),
            variant: choice.variant(),
            paths: &choice.paths,
            at: choice.stands.map(|node| places::of_node(&described.tree, node)),
            described: quantity(choice.described(), choice.dimension()),
            size,
            smaller,
            smaller_fails: sizing.smaller.iter().map(stop).collect(),
            waits_for: sizing.waits.as_ref().map(stop),
            largest,
            larger_fails: sizing.largest.iter().flat_map(|(_, beyond)| beyond).map(stop).collect(),
        }
    });
    text(&Document {
        form: "loadworthy-size",
        version: 1,
        program: concat!("loadworthy ", env!("CARGO_PKG_VERSION")),
        exit: outcome.number(),
        caution: CAUTION,
        file: &described.name,
        order: sizes.order.iter().map(|kind| kind.word()).collect(),
        grade: sizes.grade.word(),
        tried: sizes.sized.tried,
        sizes: shown_sizes.collect(),
        not_sized: sizes
            .fixed
            .iter()
            .map(|one| Fixed { kind: one.kind.word(), part: &one.part, what: &one.what, why: one.why })
            .collect(),
        permits: sizes.day.map(HeldAgainst::of),
        left: sizes
            .sized
            .spared
            .iter()
            .zip(&sizes.accepted)
            .map(|(one, by)| left(described, one, *by))
            .collect(),
        not_judged: sizes.sized.open.iter().map(stop).collect(),
        broken_checks: &sizes.sized.broken,
        set: sizes.written.iter().map(|(path, written)| Set { path, written }).collect(),
        patch: sizes.patch(),
    })
}

fn left<'d>(described: &Described, spared: &'d Spared, by: Option<usize>) -> Left<'d> {
    let permit = by.and_then(|by| described.unit.permits.get(by));
    Left {
        now: stop(&spared.now),
        nearest: spared.best.as_ref().map(|(best, _)| stop(best)),
        accepted: permit.map(|permit| PermitShown::of(&described.tree, permit)),
    }
}

fn stop(stop: &Stop) -> StopShown<'_> {
    let compared = match &stop.way {
        Way::Exceeds(figure, compared) => Some((*figure, compared)),
        _ => None,
    };
    let amount = |of: fn(&loadworthy_checks::verdict::Comparison) -> f64| {
        compared.and_then(|(_, compared)| quantity(of(compared), compared.dimension))
    };
    StopShown {
        check: stop.check,
        part: &stop.part,
        defect: stop.defect,
        grade: stop.grade.map(|grade| grade.word()),
        duty_point: stop.duty.as_deref(),
        variant: stop.variant.as_deref(),
        figure: compared.map(|(figure, _)| figure),
        carried: amount(|compared| compared.carried_value),
        limit: amount(|compared| compared.limit),
        allowed: amount(|compared| compared.allowed),
        largest_share: match stop.way {
            Way::NoSolution(share) => Some(share),
            _ => None,
        },
        waits_for: match &stop.way {
            Way::NotJudged(why) => Some(why),
            _ => None,
        },
    }
}
