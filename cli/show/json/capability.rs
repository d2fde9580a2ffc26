//! Curves of the largest load as JSON.

use loadworthy_checks::capability::{Limit, Point, Way};
use serde::Serialize;

use crate::described::Described;
use crate::outcome::Outcome;
use crate::show::capability::csv::state;
use crate::show::capability::{Capability, Drawn};
use crate::show::terminal::CAUTION;

use super::{Quantity, quantity, text};

#[derive(Serialize)]
struct Curves<'d> {
    form: &'static str,
    version: u32,
    program: &'static str,
    exit: u8,
    caution: &'static str,
    file: &'d str,
    problems: usize,
    stage: &'d str,
    over: &'d str,
    curves: Vec<One<'d>>,
}

#[derive(Serialize)]
struct One<'d> {
    variant: Option<&'d str>,
    duty_point: &'d str,
    /// What is scaled, as the duty point asks it.
    asked: Vec<Asked<'d>>,
    points: Vec<PointShown<'d>>,
    /// What is not judged anywhere for want of an input.
    not_judged: &'d [String],
    broken_checks: Vec<&'static str>,
}

#[derive(Serialize)]
struct Asked<'d> {
    path: &'d str,
    asked: Option<Quantity>,
}

#[derive(Serialize)]
struct PointShown<'d> {
    at: Option<Quantity>,
    state: &'static str,
    /// Of what is asked.
    factor: Option<f64>,
    /// The nearest lighter load that does not hold either.
    #[serde(skip_serializing_if = "Option::is_none")]
    lighter: Option<Lighter<'d>>,
    load: Option<Quantity>,
    limit: Option<LimitShown<'d>>,
}

#[derive(Serialize)]
struct Lighter<'d> {
    factor: f64,
    limit: LimitShown<'d>,
}

#[derive(Serialize)]
struct LimitShown<'d> {
    check: &'static str,
    part: &'d str,
    defect: &'static str,
    /// Why it is not judged, where that is what limits.
    #[serde(skip_serializing_if = "Option::is_none")]
    waits_for: Option<&'d [String]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    comparison: Option<ComparisonShown>,
}

#[derive(Serialize)]
struct ComparisonShown {
    figure: String,
    carried: Option<Quantity>,
    limit: Option<Quantity>,
    allowed: Option<Quantity>,
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
        curves: capability.drawn.iter().map(one).collect(),
    })
}

fn one<'d>(drawn: &'d Drawn<'_>) -> One<'d> {
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
