//! Verdicts for a spreadsheet: a line for each, numbers unrounded.

use loadworthy_checks::cause::missing_text;
use loadworthy_checks::corner;
use loadworthy_checks::verdict::{Missing, Outcome, Verdict};
use loadworthy_unit::{Dimension, Permit, Variant};

use crate::show::csv::quoted;
use crate::show::json::unit;

use super::{Stresses, duty_of};

const HEAD: &str = "variant,duty_point,corner,part,check,defect,verdict,grade,figure,carried,limit,allowed,unit,\
                    headroom,headroom_unit,policy,waits_for,accepted_by,accepted_until\n";

/// Every verdict that was asked for, in the order of the checks.
pub(crate) fn table(stresses: &Stresses<'_>) -> String {
    stresses
        .verdicts
        .iter()
        .fold(HEAD.to_owned(), |text, (variant, verdict, permit)| text + &line(variant, verdict, *permit))
}

fn line(variant: &Variant, verdict: &Verdict, permit: Option<&Permit>) -> String {
    let compared = verdict.comparison();
    let (word, grade) = match &verdict.outcome {
        Outcome::Holds(_) => ("holds", ""),
        Outcome::Fails { grade, .. } => ("fails", grade.word()),
        Outcome::NotJudged(_) => ("not judged", ""),
    };
    let waits_for = match &verdict.outcome {
        Outcome::NotJudged(missing) => {
            let text = |&one: &Missing| {
                let duty = one.duty(verdict).map_or("*", |duty| variant.duties[duty.index()].name.as_str());
                missing_text(variant, verdict.duty(), one).subject_in(duty)
            };
            let mut all: Vec<String> = Vec::new();
            for said in missing.iter().map(text) {
                // Many figures may wait for one thing.
                if !all.contains(&said) {
                    all.push(said);
                }
            }
            all.join("; ")
        }
        Outcome::Holds(_) | Outcome::Fails { .. } => String::new(),
    };
    let number = |value: Option<f64>| value.filter(|value| value.is_finite()).map(|value| value.to_string());
    let headroom_unit =
        |is_in_kelvin| unit(if is_in_kelvin { Dimension::TemperatureDifference } else { Dimension::Ratio });
    let fields = [
        variant.name.clone(),
        duty_of(variant, verdict).map(str::to_owned),
        verdict.lane().and_then(|lane| corner::short(variant.lane(lane))),
        Some(variant.path(verdict.part).to_owned()),
        Some(verdict.check.to_owned()),
        Some(verdict.defect.to_owned()),
        Some(word.to_owned()),
        Some(grade.to_owned()),
        compared.map(|compared| variant.tables.figure_path(compared.carried)),
        number(compared.map(|compared| compared.carried_value)),
        number(compared.map(|compared| compared.limit)),
        number(compared.map(|compared| compared.allowed)),
        compared.map(|compared| unit(compared.dimension).to_owned()),
        number(compared.map(|compared| compared.headroom)),
        compared.map(|compared| headroom_unit(compared.is_in_kelvin()).to_owned()),
        compared.and_then(|compared| compared.policy).map(|policy| policy.name.to_owned()),
        Some(waits_for),
        permit.map(|permit| permit.accepted_by.clone()),
        permit.map(|permit| permit.until.to_string()),
    ];
    fields.map(|field| quoted(&field.unwrap_or_default())).join(",") + "\n"
}
