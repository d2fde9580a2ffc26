//! Sizes as JSON.

use loadworthy_checks::size::{Spared, Stop, Way};
use schemars::JsonSchema;
use serde::Serialize;

use crate::described::Described;
use crate::outcome::Outcome;
use crate::show::places::{self, Place};
use crate::show::terminal::CAUTION;
use crate::size::Sizes;

use super::permit::{HeldAgainst, PermitShown};
use super::{Quantity, quantity, text};

#[derive(Serialize, JsonSchema)]
pub(super) struct Document<'d> {
    /// The name of this form.
    form: &'static str,
    /// Its version: another number only where a key changes its meaning.
    version: u32,
    /// The program and its version.
    program: &'static str,
    /// The exit code of the run.
    exit: u8,
    /// What no output of this program is.
    caution: &'static str,
    /// The file, by the name that it was asked for.
    file: &'d str,
    /// The kinds in the order of the objectives.
    order: Vec<&'static str>,
    /// The lowest grade of failure that counts.
    grade: &'static str,
    /// Descriptions that were solved and judged.
    tried: usize,
    /// What is sized.
    sizes: Vec<One<'d>>,
    /// What is not, with the reason.
    not_sized: Vec<Fixed<'d>>,
    /// The day that permits are held against; absent without permits.
    #[serde(skip_serializing_if = "Option::is_none")]
    permits: Option<HeldAgainst>,
    /// What no size mends.
    left: Vec<Left<'d>>,
    /// What fails with these sizes and did not as described, and is of a lower grade than counts.
    lesser: Vec<StopShown<'d>>,
    /// What is not judged with these sizes.
    not_judged: Vec<StopShown<'d>>,
    /// Checks that broke down, which is a defect of the program.
    broken_checks: &'d [String],
    /// What is to be written, by path; that of a variant below `variants`.
    set: Vec<Set<'d>>,
    /// The same as a merge patch in YAML.
    patch: Option<String>,
}

#[derive(Serialize, JsonSchema)]
struct One<'d> {
    /// Which kind of size it is.
    kind: &'static str,
    /// The path of the part.
    part: &'d str,
    /// What of the part is sized.
    what: &'d str,
    /// The variant; null where the unit has no named variants.
    variant: Option<&'d str>,
    /// Where it stands or would stand in the description, by path.
    paths: &'d [String],
    /// Where it stands.
    at: Option<Place>,
    /// As described.
    described: Option<Quantity>,
    /// Where a part is chosen: what it is told larger from smaller by, and its name as described, as found and one step smaller.
    #[serde(skip_serializing_if = "Option::is_none")]
    chosen: Option<Chosen<'d>>,
    /// What was found.
    size: Option<Quantity>,
    /// One step smaller.
    smaller: Option<Quantity>,
    /// What fails there.
    smaller_fails: Vec<StopShown<'d>>,
    /// What is not judged of it, or fails whatever its section, so that it is not made smaller.
    waits_for: Option<StopShown<'d>>,
    /// The largest that holds, where larger ones fail.
    #[serde(skip_serializing_if = "Option::is_none")]
    largest: Option<Quantity>,
    /// What fails beyond it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    larger_fails: Vec<StopShown<'d>>,
    /// Of a flow: elements whose resistances from case to coolant are stated without the flow that they were measured at. Whether less flow is enough for what stands there is not judged, so it is as described.
    #[serde(skip_serializing_if = "<[String]>::is_empty")]
    taken_alike: &'d [String],
}

#[derive(Serialize, JsonSchema)]
struct Chosen<'d> {
    /// What a part is told larger from a smaller one by.
    by: &'static str,
    /// All that could be chosen, the smallest first.
    among: &'d [String],
    /// As described.
    described: Option<&'d str>,
    /// What was found.
    part: Option<&'d str>,
    /// One step smaller.
    smaller: Option<&'d str>,
}

#[derive(Serialize, JsonSchema)]
struct Fixed<'d> {
    /// What kind it is.
    kind: &'static str,
    /// The path of the part.
    part: &'d str,
    /// What of the part is sized.
    what: &'d str,
    /// Why it is not sized.
    why: &'static str,
}

#[derive(Serialize, JsonSchema)]
struct Left<'d> {
    /// What fails.
    now: StopShown<'d>,
    /// The best that was reached, where some size changes it.
    nearest: Option<StopShown<'d>>,
    /// The permit that accepts it; absent where none does.
    #[serde(skip_serializing_if = "Option::is_none")]
    accepted: Option<PermitShown>,
}

#[derive(Serialize, JsonSchema)]
struct StopShown<'d> {
    /// The name of the check.
    check: &'static str,
    /// The path of the part.
    part: &'d str,
    /// What is wrong or would be, in one word of the check.
    defect: &'static str,
    /// Of a failure: `major`, `minor` or `note`.
    grade: Option<&'static str>,
    /// The duty point; null where the structure is judged.
    duty_point: Option<&'d str>,
    /// The variant; null where the unit has no named variants.
    variant: Option<&'d str>,
    /// The name of the carried figure.
    #[serde(skip_serializing_if = "Option::is_none")]
    figure: Option<&'static str>,
    /// What it carries.
    #[serde(skip_serializing_if = "Option::is_none")]
    carried: Option<Quantity>,
    /// What it may carry.
    #[serde(skip_serializing_if = "Option::is_none")]
    limit: Option<Quantity>,
    /// What the policy leaves of the limit.
    #[serde(skip_serializing_if = "Option::is_none")]
    allowed: Option<Quantity>,
    /// Without a solution: the largest share of what is asked that has one.
    #[serde(skip_serializing_if = "Option::is_none")]
    largest_share: Option<f64>,
    /// What is missing.
    #[serde(skip_serializing_if = "Option::is_none")]
    waits_for: Option<&'d [String]>,
}

#[derive(Serialize, JsonSchema)]
struct Set<'d> {
    /// Where in the description.
    path: &'d str,
    /// What to write there.
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
            chosen: choice.offered().map(|offered| Chosen {
                by: offered.by,
                among: &offered.names,
                described: choice.name(choice.start()),
                part: choice.name(sizing.at),
                smaller: sizing.at.checked_sub(1).and_then(|below| choice.name(below)),
            }),
            size,
            smaller,
            smaller_fails: sizing.smaller.iter().map(stop).collect(),
            waits_for: sizing.waits.as_ref().map(stop),
            largest,
            larger_fails: sizing.largest.iter().flat_map(|(_, beyond)| beyond).map(stop).collect(),
            taken_alike: choice.unmoved(),
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
        lesser: sizes.sized.lesser.iter().map(stop).collect(),
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
