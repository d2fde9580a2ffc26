//! Headrooms within tolerances as JSON.

use loadworthy_checks::tolerance::{By, Varied};
use loadworthy_unit::Dimension;
use schemars::JsonSchema;
use serde::Serialize;

use crate::described::Described;
use crate::outcome::Outcome;
use crate::show::terminal::CAUTION;
use crate::show::tolerance::{Row, Tolerances, left_word};

use super::{Quantity, quantity, text};

#[derive(Serialize, JsonSchema)]
pub(super) struct Table<'d> {
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
    /// What is varied.
    varied: Vec<VariedShown<'d>>,
    /// One for each comparison that judges, the worst first.
    rows: Vec<RowShown<'d>>,
}

#[derive(Serialize, JsonSchema)]
struct VariedShown<'d> {
    /// Its path.
    path: &'d str,
    /// As described.
    value: Option<Quantity>,
    /// Its low end.
    low: Option<Quantity>,
    /// Its high end.
    high: Option<Quantity>,
    /// `description` or `default`.
    by: &'static str,
    /// The name of the default that stands in for it; null for what the description states.
    default: Option<&'static str>,
    /// Paths of all values that it stands in for, varied together.
    places: &'d [String],
}

#[derive(Serialize, JsonSchema)]
struct RowShown<'d> {
    /// The variant; null where the unit has no named variants.
    variant: Option<&'d str>,
    /// The duty point.
    duty_point: &'d str,
    /// The path of the part.
    part: &'d str,
    /// The name of the check.
    check: &'static str,
    /// What is wrong or would be, in one word of the check.
    defect: &'static str,
    /// As described: kelvins below allowed for temperatures, otherwise a share of allowed.
    headroom: Option<Quantity>,
    /// Solved again with all values at their bad ends; null where there it has no headroom.
    worst_case: Option<Quantity>,
    /// What is left there: `headroom`, `no_solution` where what is asked has none, `not_judged`, or `nothing` where it is not
    /// compared any more.
    worst_case_left: &'static str,
    /// With the shifts of all values added up.
    worst_case_summed: Option<Quantity>,
    /// With the root of the sum of their squares.
    root_sum_square: Option<Quantity>,
    /// Whether the shifts may be added up at all.
    is_linear: bool,
    /// The three values that take most.
    takes_most: Vec<Taker<'d>>,
    /// Values with which it cannot be judged.
    not_judged_with: Vec<Open<'d>>,
}

#[derive(Serialize, JsonSchema)]
struct Open<'d> {
    /// Its path.
    path: &'d str,
    /// The end at which that is so.
    at: Option<Quantity>,
}

#[derive(Serialize, JsonSchema)]
struct Taker<'d> {
    /// Its path.
    path: &'d str,
    /// How much of the headroom it takes.
    takes: Option<Quantity>,
    /// The end at which it does.
    at: Option<Quantity>,
}

/// The table.
pub(crate) fn table(described: &Described, tolerances: &Tolerances<'_>, outcome: Outcome) -> String {
    let exit = if described.problems.is_empty() { outcome } else { Outcome::Unreadable };
    let all = [By::Stated, By::Default].into_iter().flat_map(|by| tolerances.varied(by));
    text(&Table {
        form: "loadworthy-tolerance",
        version: 1,
        program: concat!("loadworthy ", env!("CARGO_PKG_VERSION")),
        exit: exit.number(),
        caution: CAUTION,
        file: &described.name,
        problems: described.problems.len(),
        varied: all.map(varied).collect(),
        rows: tolerances.all.iter().map(|one| row(tolerances, one)).collect(),
    })
}

fn varied(one: &Varied) -> VariedShown<'_> {
    let number = |value: f64| quantity(value, one.dimension);
    VariedShown {
        path: &one.path,
        value: number(one.value),
        low: number(one.ends.0),
        high: number(one.ends.1),
        by: if one.by == By::Stated { "description" } else { "default" },
        default: one.default.map(|default| default.id),
        places: &one.places,
    }
}

fn row<'d>(tolerances: &'d Tolerances<'_>, row: &'d Row<'_>) -> RowShown<'d> {
    let is_in_kelvin = row.verdict.comparison().is_some_and(|compared| compared.is_in_kelvin());
    let dimension = if is_in_kelvin { Dimension::TemperatureDifference } else { Dimension::Ratio };
    let number = |value: f64| quantity(value, dimension);
    let shifts = &row.shifts;
    let takers = tolerances.takers(row).into_iter();
    let at = |varied: &Varied, at_high: bool| {
        quantity(if at_high { varied.ends.1 } else { varied.ends.0 }, varied.dimension)
    };
    RowShown {
        variant: row.variant.name.as_deref(),
        duty_point: row.duty(),
        part: row.variant.path(row.verdict.part),
        check: row.verdict.check,
        defect: row.verdict.defect,
        headroom: number(shifts.headroom),
        worst_case: shifts.solved.headroom().and_then(number),
        worst_case_left: left_word(shifts.solved),
        worst_case_summed: number(shifts.summed),
        root_sum_square: number(shifts.root_sum_square),
        is_linear: shifts.is_linear(),
        takes_most: takers
            .map(|(varied, takes, at_high)| Taker {
                path: &varied.path,
                takes: number(takes),
                at: at(varied, at_high),
            })
            .collect(),
        not_judged_with: tolerances
            .unknown(row)
            .map(|(varied, at_high)| Open { path: &varied.path, at: at(varied, at_high) })
            .collect(),
    }
}
