//! What could not be judged, by what is missing.

use std::collections::{BTreeMap, BTreeSet};

use loadworthy_checks::cause::{CauseText, missing_text};
use loadworthy_checks::lacking::{entry_and_key, sentence};
use loadworthy_checks::verdict::Outcome;
use loadworthy_source::Tree;

use super::Stresses;
use super::legs::{Positions, Seat, drawn};
use crate::show::places;

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
pub(super) fn waiting(tree: &Tree, stresses: &Stresses<'_>) -> Vec<String> {
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
    together(all).iter().map(|(waiting, paths)| line(tree, waiting, paths)).collect()
}

/// Joins what one entry lacks where the same parts wait for it in the same duty points.
fn together(all: Vec<Waiting<'_>>) -> Vec<(Waiting<'_>, Vec<String>)> {
    let mut joined: Vec<(Waiting<'_>, Vec<String>)> = Vec::new();
    let mut places: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    for waiting in all {
        let subject = match waiting.duties.iter().collect::<Vec<_>>().as_slice() {
            [only] => waiting.text.subject_in(only),
            _ => waiting.text.subject.clone(),
        };
        let entry =
            entry_and_key(&subject).filter(|_| waiting.text.is_path).map(|(entry, _)| entry.to_owned());
        let known = entry.as_ref().and_then(|entry| places.get(entry));
        let alike = |place: &&usize| {
            joined.get(**place).is_some_and(|(first, _)| {
                first.text.trouble == waiting.text.trouble
                    && first.duties == waiting.duties
                    && first.parts == waiting.parts
                    && first.legs == waiting.legs
            })
        };
        let place = known.and_then(|known| known.iter().find(alike).copied());
        match place.and_then(|place| joined.get_mut(place)) {
            Some((first, paths)) => {
                paths.push(subject);
                let new = waiting.checks.into_iter().filter(|check| !first.checks.contains(check));
                let new = new.collect::<Vec<_>>();
                first.checks.extend(new);
            }
            None => {
                if let Some(entry) = entry {
                    places.entry(entry).or_default().push(joined.len());
                }
                let paths = if waiting.text.is_path { vec![subject] } else { Vec::new() };
                joined.push((waiting, paths));
            }
        }
    }
    joined
}

fn line(tree: &Tree, waiting: &Waiting<'_>, paths: &[String]) -> String {
    let Waiting { text, checks, parts, legs, .. } = waiting;
    let missing = sentence(paths, text);
    let near = text.near.map_or_else(String::new, |near| format!("; {}", places::in_short(tree, near)));
    let named = parts.iter().take(NAMED).map(|part| drawn(part.0, &legs[part], part.1));
    let mut named = named.collect::<Vec<_>>().join("; ");
    if parts.len() > NAMED {
        named.push_str(&format!("; +{} more", parts.len() - NAMED));
    }
    format!("{missing}: {named} ({}){near}", checks.join(", "))
}
