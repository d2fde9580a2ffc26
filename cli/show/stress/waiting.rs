//! What could not be judged, by what is missing.

use std::collections::{BTreeMap, BTreeSet};

use loadworthy_checks::cause::{CauseText, missing_text};
use loadworthy_checks::verdict::Outcome;

use super::Stresses;
use super::legs::{Positions, Seat, drawn};

/// Parts that are named.
const NAMED: usize = 3;

/// Something that is missing, and who waits for it.
struct Waiting<'u> {
    text: CauseText,
    duties: BTreeSet<&'u str>,
    checks: Vec<&'static str>,
    parts: Vec<(&'u str, &'u str)>,
    legs: BTreeMap<(&'u str, &'u str), Vec<&'u str>>,
}

/// What is missing, in the order in which it was met: a line for each, with the parts and the checks that wait for it.
pub(super) fn waiting(stresses: &Stresses<'_>) -> Vec<String> {
    let mut positions: BTreeMap<Option<&str>, Positions> = BTreeMap::new();
    let mut places: BTreeMap<(String, &'static str), usize> = BTreeMap::new();
    let mut all: Vec<Waiting<'_>> = Vec::new();
    for &(variant, verdict) in &stresses.not_judged {
        let Outcome::NotJudged(missing) = &verdict.outcome else { continue };
        let known = positions.entry(variant.name.as_deref()).or_insert_with(|| Positions::of(variant));
        let Seat { before, leg, behind } = known.seat(variant, verdict.part);
        for &one in missing {
            let text = missing_text(variant, verdict.duty(), one);
            let place = *places.entry((text.subject.clone(), text.trouble)).or_insert_with(|| {
                let (duties, checks) = (BTreeSet::new(), Vec::new());
                all.push(Waiting { text, duties, checks, parts: Vec::new(), legs: BTreeMap::new() });
                all.len() - 1
            });
            let waiting = &mut all[place];
            waiting.duties.extend(one.duty(verdict).map(|duty| variant.duties[duty.index()].name.as_str()));
            if !waiting.checks.contains(&verdict.check) {
                waiting.checks.push(verdict.check);
            }
            let legs = waiting.legs.entry((before, behind)).or_insert_with(|| {
                waiting.parts.push((before, behind));
                Vec::new()
            });
            if !legs.contains(&leg) {
                legs.push(leg);
            }
        }
    }
    all.iter().map(line).collect()
}

fn line(waiting: &Waiting<'_>) -> String {
    let Waiting { text, duties, checks, parts, legs } = waiting;
    let subject = match duties.iter().collect::<Vec<_>>().as_slice() {
        [only] => text.subject_in(only),
        _ => text.subject.clone(),
    };
    let missing = if text.trouble.is_empty() { subject } else { format!("{subject} {}", text.trouble) };
    let named = parts.iter().take(NAMED).map(|part| drawn(part.0, &legs[part], part.1));
    let mut named = named.collect::<Vec<_>>().join("; ");
    if parts.len() > NAMED {
        named.push_str(&format!("; +{} more", parts.len() - NAMED));
    }
    format!("{missing}: {named} ({})", checks.join(", "))
}
