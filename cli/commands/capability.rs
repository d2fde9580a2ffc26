//! `loadworthy capability`: the largest load over a condition that varies, and what limits it where.

use std::io::Read;

use loadworthy_checks::capability::{self, Question, Unasked, Unvaried};
use loadworthy_checks::figure_text::value;
use loadworthy_language::quantity::{Amount, Dimension, QuantityKind};
use loadworthy_unit::{DutyId, Unit, Variant};

use crate::arguments::{self, CurveForm};
use crate::outcome::Outcome;
use crate::output::Output;
use crate::permits::{self, Day};
use crate::show::capability::{Capability, Drawn, csv, svg, terminal};
use crate::show::json;
use crate::show::layout::free_text;
use crate::show::terminal::Paint;
use crate::solutions::{chosen, unknown};

use super::one_file::about_one;

/// Prints the curve of each variant that was asked for.
pub(crate) fn run(
    asked: &arguments::Capability,
    input: &mut dyn Read,
    output: &mut Output<'_>,
    errors: &mut Output<'_>,
    colored: bool,
) -> Outcome {
    about_one(&asked.file, &asked.with, input, errors, |described, _| {
        if described.unit.variants.is_empty() {
            return Err("nothing of the description could be read".to_owned());
        }
        let capability = found(asked, &described.unit)?;
        let outcome = if capability.is_complete() { Outcome::Holds } else { Outcome::NotJudged };
        output.put(&match asked.format {
            CurveForm::Terminal => terminal::table(described, &capability, Paint { colored }),
            CurveForm::Json => json::capability::curves(described, &capability, outcome) + "\n",
            CurveForm::Csv => csv::table(&capability),
            CurveForm::Svg => svg::drawing(described, &capability),
        });
        Ok(outcome)
    })
}

fn found<'u>(asked: &arguments::Capability, unit: &'u Unit) -> Result<Capability<'u>, String> {
    let variants = chosen(unit, asked.variant.as_deref(), asked.duty.as_deref())?;
    let (over, range) =
        asked.over.split_once('=').ok_or("--over: write a name, `=`, and from where to where")?;
    let day = permits::day(unit, asked.on);
    let mut drawn = Vec::new();
    let mut refused = None;
    for variant in variants {
        match question(asked, unit, variant, (over, range), day) {
            Ok(question) => drawn.push(Drawn::of(&unit.variants[variant], question)),
            Err(why) => refused = refused.or(Some(why)),
        }
    }
    match refused {
        // One variant may have what another has not.
        Some(why) if drawn.is_empty() => Err(why),
        _ => Ok(Capability { stage: asked.stage.clone(), over: over.to_owned(), drawn, day }),
    }
}

fn question<'u>(
    asked: &arguments::Capability,
    unit: &'u Unit,
    place: usize,
    (over, range): (&str, &str),
    day: Option<Day>,
) -> Result<Question<'u>, String> {
    let variant = &unit.variants[place];
    let duty = duty(variant, asked.duty.as_deref())?;
    let name = &variant.duties[duty.index()].name;
    let demand = capability::demand(variant, duty, &asked.stage).map_err(|why| match why {
        Unasked::Unknown => unknown("stage or load", &asked.stage, capability::names(variant)),
        Unasked::Rests => {
            format!(
                "{} asks nothing of `{}`: there is no load to scale",
                free_text(name),
                free_text(&asked.stage)
            )
        }
    })?;
    let scaled: Vec<_> = demand.asked.iter().map(|&(input, _)| input).collect();
    let condition = capability::condition(variant, duty, over, &scaled).map_err(|why| {
        let known: Vec<&str> = capability::conditions(variant, duty).map(|(name, _)| name).collect();
        let (over, duty) = (free_text(over), free_text(name));
        match why {
            Unvaried::Unknown => unknown(&format!("number in {duty}"), &over, known.iter().copied()),
            Unvaried::Demand => format!("`{over}` is the load that is scaled; vary something else"),
            Unvaried::Standstill => format!("`{over}` is 0 in {duty}: turning would be another duty point"),
            Unvaried::StartsFrom => {
                format!(
                    "{duty} starts from another duty point, in which `{over}` would vary as well, and that one is solved once: ask for it in a duty point without `starts_from`"
                )
            }
        }
    })?;
    let dimension = variant.tables.input_of(condition.input).dimension;
    let at = values(over, range, dimension, usize::from(asked.points))?;
    let every = variant.duties[duty.index()].every.unwrap_or(f64::INFINITY);
    if over == "lasts" && at.iter().any(|&lasts| lasts <= 0.0 || every < lasts) {
        let most = if every.is_finite() {
            format!(", up to `every`: {}", value(every, Dimension::Time))
        } else {
            String::new()
        };
        return Err(format!("--over: {} lasts for some time{most}", free_text(name)));
    }
    let (grade, day) = (asked.grade.lowest(), day.map(|day| day.date));
    Ok(Question { unit, variant: place, duty, demand, condition, at, grade, day })
}

fn duty(variant: &Variant, asked: Option<&str>) -> Result<DutyId, String> {
    let names = || variant.duties.iter().map(|duty| duty.name.as_str());
    match (asked, variant.duties.len()) {
        (None, 1) => Ok(DutyId::new(0)),
        (None, 0) => Err("the description has no duty point".to_owned()),
        (None, _) => {
            let names = names().map(|name| format!("`{}`", free_text(name))).collect::<Vec<_>>().join(", ");
            Err(format!("say in which duty point, by --duty: {names}"))
        }
        (Some(asked), _) => {
            let place = names().position(|name| name == asked);
            place
                .map(DutyId::new)
                .ok_or_else(|| unknown("duty point", asked, names().collect::<Vec<_>>().into_iter()))
        }
    }
}

/// Values from one end of a range to the other, evenly spaced.
fn values(over: &str, range: &str, dimension: Dimension, points: usize) -> Result<Vec<f64>, String> {
    let kind = match (dimension, over.rsplit('.').next()) {
        (Dimension::Current, Some("phase_current")) => QuantityKind::RmsCurrent,
        (Dimension::Voltage, Some("line_voltage")) => QuantityKind::RmsVoltage,
        (Dimension::Ratio, _) => QuantityKind::SignedRatio,
        (plain, _) => QuantityKind::Plain(plain),
    };
    let example = || format!("--over: write from where to where, such as `{over}={0}..{0}`", kind.example());
    let (from, to) = range.split_once("..").ok_or_else(|| free_text(&example()))?;
    let read = |text: &str| match kind.read(text) {
        Ok(Amount::Of(_, value)) => Ok(value),
        Ok(Amount::Continuous) => Err(example()),
        Err(why) => {
            let way_out = why.way_out.map_or_else(String::new, |way| format!("; {way}"));
            Err(free_text(&format!("--over: expected {}, found {}{way_out}", why.expected, why.found)))
        }
    };
    let (from, to) = (read(from)?, read(to)?);
    if from >= to {
        return Err("--over: the range must rise".to_owned());
    }
    if matches!(dimension, Dimension::Frequency | Dimension::Speed) && from <= 0.0 && 0.0 <= to {
        return Err("--over: standstill is another duty point; leave 0 out of the range".to_owned());
    }
    let last = (points - 1) as f64;
    Ok((0..points).map(|point| from + (to - from) * (point as f64 / last)).collect())
}
