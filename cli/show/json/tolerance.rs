//! Headrooms within tolerances as JSON.

use loadworthy_checks::tolerance::{By, Varied};
use loadworthy_unit::Dimension;
use serde::Serialize;

use crate::described::Described;
use crate::outcome::Outcome;
use crate::show::terminal::CAUTION;
use crate::show::tolerance::{Row, Tolerances};

use super::{Quantity, quantity, text};

#[derive(Serialize)]
struct Table<'d> {
    form: &'static str,
    version: u32,
    program: &'static str,
    exit: u8,
    caution: &'static str,
    file: &'d str,
    problems: usize,
    varied: Vec<VariedShown<'d>>,
    rows: Vec<RowShown<'d>>,
}

#[derive(Serialize)]
struct VariedShown<'d> {
    path: &'d str,
    value: Option<Quantity>,
    low: Option<Quantity>,
    high: Option<Quantity>,
    /// `description` or `default`.
    by: &'static str,
}

#[derive(Serialize)]
struct RowShown<'d> {
    variant: Option<&'d str>,
    duty_point: &'d str,
    part: &'d str,
    check: &'static str,
    defect: &'static str,
    headroom: Option<Quantity>,
    /// Solved again with all values at their bad ends; absent where it is not known there.
    worst_case: Option<Quantity>,
    worst_case_summed: Option<Quantity>,
    root_sum_square: Option<Quantity>,
    is_linear: bool,
    takes_most: Vec<Taker<'d>>,
}

#[derive(Serialize)]
struct Taker<'d> {
    path: &'d str,
    takes: Option<Quantity>,
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
    }
}

fn row<'d>(tolerances: &'d Tolerances<'_>, row: &'d Row<'_>) -> RowShown<'d> {
    let is_in_kelvin = row.verdict.comparison().is_some_and(|compared| compared.is_in_kelvin());
    let dimension = if is_in_kelvin { Dimension::TemperatureDifference } else { Dimension::Ratio };
    let number = |value: f64| quantity(value, dimension);
    let shifts = &row.shifts;
    let takers = tolerances.takers(row).into_iter();
    RowShown {
        variant: row.variant.name.as_deref(),
        duty_point: row.duty(),
        part: row.variant.path(row.verdict.part),
        check: row.verdict.check,
        defect: row.verdict.defect,
        headroom: number(shifts.headroom),
        worst_case: shifts.solved.and_then(number),
        worst_case_summed: number(shifts.summed),
        root_sum_square: number(shifts.root_sum_square),
        is_linear: shifts.is_linear(),
        takes_most: takers
            .map(|(varied, takes, at_high)| Taker {
                path: &varied.path,
                takes: number(takes),
                at: quantity(if at_high { varied.ends.1 } else { varied.ends.0 }, varied.dimension),
            })
            .collect(),
    }
}
