//! Headrooms within tolerances for a spreadsheet: a line for each comparison, numbers unrounded.

use crate::show::csv::quoted;
use crate::show::json::unit;
use loadworthy_unit::Dimension;

use super::{Row, Tolerances, left_word};

const HEAD: &str = "variant,duty_point,part,check,defect,headroom,headroom_unit,worst_case,worst_case_summed,\
                    root_sum_square,linear,first,first_takes,second,second_takes,third,third_takes,\
                    worst_case_left\n";

/// Every comparison that was asked for, worst case first.
pub(crate) fn table(tolerances: &Tolerances<'_>) -> String {
    tolerances.all.iter().fold(HEAD.to_owned(), |text, row| text + &line(tolerances, row))
}

fn line(tolerances: &Tolerances<'_>, row: &Row<'_>) -> String {
    let number = |value: f64| if value.is_finite() { value.to_string() } else { String::new() };
    let is_in_kelvin = row.verdict.comparison().is_some_and(|compared| compared.is_in_kelvin());
    let dimension = if is_in_kelvin { Dimension::TemperatureDifference } else { Dimension::Ratio };
    let shifts = &row.shifts;
    let mut fields = vec![
        row.variant.name.clone().unwrap_or_default(),
        row.duty().to_owned(),
        row.variant.path(row.verdict.part).to_owned(),
        row.verdict.check.to_owned(),
        row.verdict.defect.to_owned(),
        number(shifts.headroom),
        unit(dimension).to_owned(),
        shifts.solved.headroom().map(number).unwrap_or_default(),
        number(shifts.summed),
        number(shifts.root_sum_square),
        if shifts.is_linear() { "yes" } else { "no" }.to_owned(),
    ];
    let takers = tolerances.takers(row);
    for place in 0..3 {
        let (path, takes) = takers.get(place).map_or((String::new(), String::new()), |(varied, takes, _)| {
            (varied.path.clone(), number(*takes))
        });
        fields.extend([path, takes]);
    }
    fields.push(left_word(row.shifts.solved).to_owned());
    fields.iter().map(|field| quoted(field)).collect::<Vec<_>>().join(",") + "\n"
}
