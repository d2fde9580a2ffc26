//! Curves of the largest load as JSON.

use loadworthy_checks::capability::{Limit, Point, STEP, Way};
use loadworthy_unit::Dimension;
use schemars::JsonSchema;
use serde::Serialize;

use crate::described::Described;
use crate::outcome::Outcome;
use crate::show::capability::csv::state;
use crate::show::capability::{Capability, Drawn};
use crate::show::terminal::CAUTION;

use super::permit::{HeldAgainst, PermitShown};
use super::{Quantity, quantity, text};

#[derive(Serialize, JsonSchema)]
pub(super) struct Curves<'d> {
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
    /// How many problems the description has; with any, not all of it was read.
    problems: usize,
    /// The stage, or the load of a bus, whose load is scaled.
    stage: &'d str,
    /// The condition that varies.
    over: &'d str,
    /// The day that permits are held against; absent without permits.
    #[serde(skip_serializing_if = "Option::is_none")]
    permits: Option<HeldAgainst>,
    /// How far apart loads up to what is asked are tried, as a share of it; a narrower range that fails below the largest load may
    /// be missed.
    resolution: f64,
    /// One for each variant and duty point.
    curves: Vec<One<'d>>,
}

#[derive(Serialize, JsonSchema)]
struct One<'d> {
    /// The variant; null where the unit has no named variants.
    variant: Option<&'d str>,
    /// The duty point.
    duty_point: &'d str,
    /// What is scaled, as the duty point asks it.
    asked: Vec<Asked<'d>>,
    /// One for each value of the condition.
    points: Vec<PointShown<'d>>,
    /// How long the duty point may last as it asks; only where `lasts` varies and the shortest holds.
    #[serde(skip_serializing_if = "Option::is_none")]
    longest: Option<LongestShown<'d>>,
    /// What fails at any load and condition, and so limits nothing; the points hold beside it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    fails_at_any_load: Vec<AnywayShown<'d>>,
    /// Permits that accept failures at the largest loads.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    accepted: Vec<AcceptedShown>,
    /// What is not judged anywhere for want of an input.
    not_judged: &'d [String],
    /// Checks that broke down, which is a defect of the program.
    broken_checks: Vec<&'static str>,
}

#[derive(Serialize, JsonSchema)]
struct LongestShown<'d> {
    /// The longest time.
    lasts: Option<Quantity>,
    /// What does not hold beyond; null where all holds up to the end of the range.
    limit: Option<LimitShown<'d>>,
}

#[derive(Serialize, JsonSchema)]
struct AnywayShown<'d> {
    /// The name of the check.
    check: &'static str,
    /// The path of the part.
    part: &'d str,
    /// What is wrong with it, in one word of the check.
    defect: &'static str,
}

#[derive(Serialize, JsonSchema)]
struct AcceptedShown {
    /// The check that the permit names.
    check: String,
    /// The part that the permit names.
    part: String,
    #[serde(flatten)]
    permit: PermitShown,
}

#[derive(Serialize, JsonSchema)]
struct Asked<'d> {
    /// Its path.
    path: &'d str,
    /// What is asked there.
    asked: Option<Quantity>,
}

#[derive(Serialize, JsonSchema)]
struct PointShown<'d> {
    /// The value of the condition.
    at: Option<Quantity>,
    /// How the largest load was found, in words.
    state: &'static str,
    /// Of what is asked.
    factor: Option<f64>,
    /// The nearest lighter load that does not hold either.
    #[serde(skip_serializing_if = "Option::is_none")]
    lighter: Option<Lighter<'d>>,
    /// The largest load.
    load: Option<Quantity>,
    /// What limits it.
    limit: Option<LimitShown<'d>>,
}

#[derive(Serialize, JsonSchema)]
struct Lighter<'d> {
    /// Of what is asked.
    factor: f64,
    /// What it fails by.
    limit: LimitShown<'d>,
}

#[derive(Serialize, JsonSchema)]
struct LimitShown<'d> {
    /// The name of the check.
    check: &'static str,
    /// The path of the part.
    part: &'d str,
    /// What is wrong or would be, in one word of the check.
    defect: &'static str,
    /// Why it is not judged, where that is what limits.
    #[serde(skip_serializing_if = "Option::is_none")]
    waits_for: Option<&'d [String]>,
    /// How the figure compares there.
    #[serde(skip_serializing_if = "Option::is_none")]
    comparison: Option<ComparisonShown>,
}

#[derive(Serialize, JsonSchema)]
struct ComparisonShown {
    /// The path of the figure.
    figure: String,
    /// What it carries.
    carried: Option<Quantity>,
    /// What it may carry.
    limit: Option<Quantity>,
    /// What the policy leaves of the limit.
    allowed: Option<Quantity>,
    /// The policy item that makes allowed of the limit.
    policy: Option<&'static str>,
}

/// The curves.
pub(crate) fn curves(described: &Described, capability: &Capability<'_>, outcome: Outcome) -> String {
    let exit = if described.problems.is_empty() { outcome } else { Outcome::Unreadable };
    text(&Curves {
        form: "loadworthy-capability",
        version: 1,
        program: concat!("loadworthy ", env!("CARGO_PKG_VERSION")),
        exit: exit.number(),
        caution: CAUTION,
        file: &described.name,
        problems: described.problems.len(),
        stage: &capability.stage,
        over: &capability.over,
        permits: capability.day.map(HeldAgainst::of),
        resolution: STEP,
        curves: capability.drawn.iter().map(|drawn| one(described, drawn)).collect(),
    })
}

fn one<'d>(described: &Described, drawn: &'d Drawn<'_>) -> One<'d> {
    let tables = &drawn.variant.tables;
    let asked = drawn.question.demand.asked.iter().map(|&(input, asked)| {
        let input = tables.input_of(input);
        Asked { path: &input.path, asked: quantity(asked, input.dimension) }
    });
    One {
        variant: drawn.variant.name.as_deref(),
        duty_point: drawn.duty(),
        asked: asked.collect(),
        points: drawn.curve.points.iter().map(|point| shown(drawn, point)).collect(),
        longest: drawn.curve.longest.as_ref().map(|longest| LongestShown {
            lasts: quantity(longest.lasts, Dimension::Time),
            limit: longest.limit.as_ref().map(|limit| limited(drawn, limit)),
        }),
        fails_at_any_load: drawn
            .curve
            .anyway
            .iter()
            .map(|one| AnywayShown {
                check: one.check,
                part: drawn.variant.path(one.part),
                defect: one.defect,
            })
            .collect(),
        accepted: drawn
            .accepted()
            .into_iter()
            .map(|permit| AcceptedShown {
                check: permit.check.value.clone(),
                part: permit.part.value.clone(),
                permit: PermitShown::of(&described.tree, permit),
            })
            .collect(),
        not_judged: &drawn.curve.open,
        broken_checks: drawn.curve.broken.iter().map(|one| one.check).collect(),
    }
}

fn shown<'d>(drawn: &'d Drawn<'_>, point: &'d Point) -> PointShown<'d> {
    PointShown {
        at: quantity(point.at, drawn.dimension()),
        state: state(point),
        factor: point.factor,
        lighter: point
            .lighter
            .as_ref()
            .map(|(factor, limit)| Lighter { factor: *factor, limit: limited(drawn, limit) }),
        load: drawn.load(point).and_then(|(load, dimension)| quantity(load, dimension)),
        limit: point.limit.as_ref().map(|limit| limited(drawn, limit)),
    }
}

fn limited<'d>(drawn: &'d Drawn<'_>, limit: &'d Limit) -> LimitShown<'d> {
    let comparison = match &limit.way {
        Way::Exceeds(compared) => Some(ComparisonShown {
            figure: drawn.variant.tables.figure_path(compared.carried),
            carried: quantity(compared.carried_value, compared.dimension),
            limit: quantity(compared.limit, compared.dimension),
            allowed: quantity(compared.allowed, compared.dimension),
            policy: compared.policy.map(|policy| policy.name),
        }),
        _ => None,
    };
    let waits_for = match &limit.way {
        Way::NotJudged(why) => Some(why.as_slice()),
        _ => None,
    };
    let part = drawn.variant.path(limit.part);
    LimitShown { check: limit.check, part, defect: limit.defect, waits_for, comparison }
}
