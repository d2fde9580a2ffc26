//! What could not be judged, by what is missing.

use std::collections::BTreeMap;

use loadworthy_unit::{NodeId, Variant};

use crate::cause::{CauseText, missing_text};
use crate::seats::stage_of;
use crate::verdict::{Outcome, Verdict};

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
    /// Stages whose verdicts wait for it, then sources and other parts, each in the order in which it was met.
    pub parts: Vec<String>,
    /// How many verdicts wait for it.
    pub verdicts: usize,
    /// Names of the duty points it concerns, in order; empty where only the structure waits for it.
    pub duties: Vec<String>,
    /// Names of the variants it concerns, in order; empty where the unit has no named variants.
    pub variants: Vec<String>,
}

/// Verdicts that were not given, by what they wait for: in the order in which it was first met.
pub(super) fn not_judged(variants: &[Variant], verdicts: &[Vec<Verdict>]) -> Vec<NotJudged> {
    let mut places: BTreeMap<(String, &'static str), usize> = BTreeMap::new();
    let mut lines: Vec<(CauseText, NotJudged)> = Vec::new();
    // How many of the parts of a line are stages.
    let mut of_stages: BTreeMap<usize, usize> = BTreeMap::new();
    for (variant, verdicts) in variants.iter().zip(verdicts) {
        for verdict in verdicts {
            let Outcome::NotJudged(missing) = &verdict.outcome else { continue };
            let mut counted: Vec<usize> = Vec::new();
            for &one in missing {
                let text = missing_text(variant, verdict.duty(), one);
                let place = *places.entry((text.subject.clone(), text.trouble)).or_insert_with(|| {
                    let near = text.near;
                    let line = NotJudged {
                        missing: String::new(),
                        path: None,
                        near,
                        checks: Vec::new(),
                        parts: Vec::new(),
                        verdicts: 0,
                        duties: Vec::new(),
                        variants: Vec::new(),
                    };
                    lines.push((text, line));
                    lines.len() - 1
                });
                if counted.contains(&place) {
                    continue;
                }
                counted.push(place);
                let line = &mut lines[place].1;
                line.verdicts += 1;
                note(&mut line.checks, verdict.check);
                let part = stage_of(variant, verdict.part);
                if !line.parts.iter().any(|known| known == variant.path(part)) {
                    line.parts.push(variant.path(part).to_owned());
                    // Stages first: what they carry decides over the rest.
                    if variant.plan.stages.iter().any(|stage| stage.part == part) {
                        let stages = of_stages.entry(place).or_insert(0);
                        let last = line.parts.len() - 1;
                        line.parts[*stages..=last].rotate_right(1);
                        *stages += 1;
                    }
                }
                let duty = one.duty(verdict).map(|duty| &variant.duties[duty.index()].name);
                if let Some(name) = duty.filter(|name| !line.duties.contains(name)) {
                    line.duties.push(name.clone());
                }
                if let Some(name) = variant.name.as_ref().filter(|name| !line.variants.contains(name)) {
                    line.variants.push(name.clone());
                }
            }
        }
    }
    lines.into_iter().map(|(text, line)| finished(text, line)).collect()
}

fn note(checks: &mut Vec<&'static str>, check: &'static str) {
    if let Err(place) = checks.binary_search(&check) {
        checks.insert(place, check);
    }
}

fn finished(text: CauseText, mut line: NotJudged) -> NotJudged {
    let subject = match line.duties.as_slice() {
        [only] => text.subject_in(only),
        _ => text.subject,
    };
    line.missing =
        if text.trouble.is_empty() { subject.clone() } else { format!("{subject} {}", text.trouble) };
    line.path = text.is_path.then_some(subject);
    line
}
