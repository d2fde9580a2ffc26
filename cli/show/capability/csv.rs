//! Curves for a spreadsheet: a line for each point, numbers unrounded.

use loadworthy_checks::capability::{Point, Way};

use crate::show::csv::quoted;
use crate::show::json::unit;

use super::{Capability, Drawn};

const HEAD: &str = "variant,duty_point,stage,condition,at,at_unit,factor,lighter_fails_at,load,load_unit,state,check,\
                    defect,part,figure,carried,limit,allowed,unit,policy,\
                    fails_at_any_load\n";

/// Every point of every curve.
pub(crate) fn table(capability: &Capability<'_>) -> String {
    let mut text = HEAD.to_owned();
    for drawn in &capability.drawn {
        for point in &drawn.curve.points {
            text.push_str(&line(capability, drawn, point));
        }
    }
    text
}

/// How a point ended, in a word.
pub(crate) fn state(point: &Point) -> &'static str {
    match (point.factor, &point.limit) {
        (None, Some(limit)) if matches!(limit.way, Way::NotJudged(_)) => "nothing judged to hold",
        (None, _) => "nothing holds",
        (Some(_), None) => "nothing limits",
        (Some(_), Some(limit)) => match limit.way {
            Way::Exceeds(_) | Way::Structural => "limited",
            Way::NoSolution => "no solution beyond",
            Way::Undecided => "undecided beyond",
            Way::NotJudged(_) => "not judged beyond",
        },
    }
}

fn line(capability: &Capability<'_>, drawn: &Drawn<'_>, point: &Point) -> String {
    let limit = point.limit.as_ref();
    let compared = limit.and_then(|limit| match &limit.way {
        Way::Exceeds(compared) => Some(compared),
        _ => None,
    });
    let number = |value: Option<f64>| value.filter(|value| value.is_finite()).map(|value| value.to_string());
    let load = drawn.load(point);
    let anyway = drawn.curve.anyway.iter();
    let anyway = anyway.map(|one| format!("{} {} {}", one.check, one.defect, drawn.variant.path(one.part)));
    let fields = [
        drawn.variant.name.clone(),
        Some(drawn.duty().to_owned()),
        Some(capability.stage.clone()),
        Some(capability.over.clone()),
        number(Some(point.at)),
        Some(unit(drawn.dimension()).to_owned()),
        number(point.factor),
        number(point.lighter.as_ref().map(|(factor, _)| *factor)),
        number(load.map(|(load, _)| load)),
        load.map(|(_, dimension)| unit(dimension).to_owned()),
        Some(state(point).to_owned()),
        limit.map(|limit| limit.check.to_owned()),
        limit.map(|limit| limit.defect.to_owned()),
        limit.map(|limit| drawn.variant.path(limit.part).to_owned()),
        compared.map(|compared| drawn.variant.tables.figure_path(compared.carried)),
        number(compared.map(|compared| compared.carried_value)),
        number(compared.map(|compared| compared.limit)),
        number(compared.map(|compared| compared.allowed)),
        compared.map(|compared| unit(compared.dimension).to_owned()),
        compared.and_then(|compared| compared.policy).map(|policy| policy.name.to_owned()),
        Some(anyway.collect::<Vec<_>>().join("; ")),
    ];
    fields.map(|field| quoted(&field.unwrap_or_default())).join(",") + "\n"
}
