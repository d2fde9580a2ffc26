//! What could not be judged, by what is missing.

use std::collections::BTreeMap;

use loadworthy_unit::trace::Operand;
use loadworthy_unit::{Cause, NodeId, Origin, Reach, Variant};

use crate::figure_text;
use crate::seats::stage_of;
use crate::verdict::{Missing, Outcome, Verdict};

/// Something that is missing, with what it keeps from being judged.
#[derive(Clone, Debug, PartialEq)]
pub struct NotJudged {
    /// What is missing, in one sentence, such as `duty.climb.coolant.inlet is not stated`.
    pub missing: String,
    /// Path of the missing value, where it is one; a `*` stands for several duty points.
    pub path: Option<String>,
    /// The entry that it would stand in.
    pub near: Option<NodeId>,
    /// The checks that wait for it, in order.
    pub checks: Vec<&'static str>,
    /// How many verdicts wait for it.
    pub verdicts: usize,
    /// Names of the duty points it concerns, in order.
    pub duties: Vec<String>,
    /// Names of the variants it concerns, in order; empty where the unit has no named variants.
    pub variants: Vec<String>,
}

/// What is missing in one variant, before duty points are put in.
struct What {
    /// Sorts and tells apart: a path or a sentence, with what is wrong with it.
    key: (String, &'static str),
    near: Option<NodeId>,
    is_path: bool,
}

/// Verdicts that were not given, by what they wait for: in the order in which it was first met.
pub(super) fn not_judged(variants: &[Variant], verdicts: &[Vec<Verdict>]) -> Vec<NotJudged> {
    let mut places: BTreeMap<(String, &'static str), usize> = BTreeMap::new();
    let mut lines: Vec<(What, NotJudged)> = Vec::new();
    for (variant, verdicts) in variants.iter().zip(verdicts) {
        for verdict in verdicts {
            let Outcome::NotJudged(missing) = &verdict.outcome else { continue };
            let mut counted: Vec<usize> = Vec::new();
            for &one in missing {
                let what = what(variant, verdict, one);
                let place = *places.entry(what.key.clone()).or_insert_with(|| {
                    let near = what.near;
                    let line = NotJudged {
                        missing: String::new(),
                        path: None,
                        near,
                        checks: Vec::new(),
                        verdicts: 0,
                        duties: Vec::new(),
                        variants: Vec::new(),
                    };
                    lines.push((what, line));
                    lines.len() - 1
                });
                if counted.contains(&place) {
                    continue;
                }
                counted.push(place);
                let line = &mut lines[place].1;
                line.verdicts += 1;
                let duty = &variant.duties[verdict.duty.index()].name;
                note(&mut line.checks, verdict.check);
                if !line.duties.contains(duty) {
                    line.duties.push(duty.clone());
                }
                if let Some(name) = variant.name.as_ref().filter(|name| !line.variants.contains(name)) {
                    line.variants.push(name.clone());
                }
            }
        }
    }
    lines.into_iter().map(|(what, line)| finished(what, line)).collect()
}

fn note(checks: &mut Vec<&'static str>, check: &'static str) {
    if let Err(place) = checks.binary_search(&check) {
        checks.insert(place, check);
    }
}

fn finished(what: What, mut line: NotJudged) -> NotJudged {
    let (subject, trouble) = what.key;
    let subject = match line.duties.as_slice() {
        [only] if what.is_path => subject.replacen('*', only, 1),
        _ => subject,
    };
    line.missing = if trouble.is_empty() { subject.clone() } else { format!("{subject} {trouble}") };
    line.path = what.is_path.then_some(subject);
    line
}

const NOT_STATED: &str = "is not stated";
const BROKEN: &str = "is part of an entry that could not be read";

fn what(variant: &Variant, verdict: &Verdict, missing: Missing) -> What {
    let duty = &variant.duties[verdict.duty.index()];
    let tables = &variant.tables;
    let of_origin = |path: &str, origin: Origin| What {
        key: (path.to_owned(), if matches!(origin, Origin::Broken(_)) { BROKEN } else { NOT_STATED }),
        near: origin.node(),
        is_path: true,
    };
    let sentence = |text: String, near: Option<NodeId>| What { key: (text, ""), near, is_path: false };
    match missing {
        Missing::Cause(Cause::Input(id)) => {
            of_origin(&tables.input_of(id).path, tables.stated(id, verdict.duty).origin)
        }
        Missing::Cause(Cause::Curve(id)) => of_origin(&tables.curve_of(id).path, tables.curve_of(id).origin),
        Missing::Cause(Cause::Beyond { reach: Some(reach), .. }) => beyond(variant, verdict, reach),
        // Chips of a stage leave the range of one law together: one line for all of them.
        Missing::Cause(Cause::Beyond { figure, law, reach: None }) => {
            let part = tables.figure_of(figure).part;
            sentence(
                format!(
                    "{} in {} is outside the range of its law ({}): {}",
                    tables.figure_of(figure).name,
                    variant.path(stage_of(variant, part)),
                    law.name,
                    law.validity
                ),
                Some(tables.part_of(part).at),
            )
        }
        Missing::Cause(Cause::NoSolution { at, .. }) => sentence(
            format!("{} has no solution: it fails at {}", duty.name, variant.path(at)),
            Some(duty.at),
        ),
        Missing::Cause(Cause::Undecided { at }) => sentence(
            format!("{} could not be decided: the search ended at {}", duty.name, variant.path(at)),
            Some(duty.at),
        ),
        Missing::Policy(item) => {
            let near = variant.policy(item).and_then(|value| value.stated.origin.node());
            What { key: (format!("policy.{}", item.name), BROKEN), near, is_path: true }
        }
        Missing::Figure(id) => {
            let part = tables.figure_of(id).part;
            sentence(format!("{} has no value", tables.figure_path(id)), Some(tables.part_of(part).at))
        }
    }
}

/// A number outside the range of a curve or an input; what is to be stated so that it is covered.
fn beyond(variant: &Variant, verdict: &Verdict, reach: Reach) -> What {
    let tables = &variant.tables;
    let (path, near) = match reach.of {
        Operand::Input(id) => {
            (tables.input_of(id).path.as_str(), tables.stated(id, verdict.duty).origin.node())
        }
        Operand::Curve(id) => (tables.curve_of(id).path.as_str(), tables.curve_of(id).origin.node()),
        Operand::Figure(id) => (tables.figure_of(id).name, None),
    };
    let text = |number: f64| figure_text::value(number, reach.dimension);
    let range = if reach.high.is_finite() && 0.0 < reach.low {
        format!("{} to {}", text(reach.low), text(reach.high))
    } else if reach.high.is_finite() {
        format!("at most {}", text(reach.high))
    } else {
        format!("at least {}", text(reach.low))
    };
    let said = format!("{path} covers a {} of {range}, not {}", reach.what, text(reach.value));
    let said = said.replacen('*', &variant.duties[verdict.duty.index()].name, 1);
    What { key: (said, ""), near, is_path: false }
}
