//! One entry of a whole unit taken away: it is found, once, and nothing else is said.

mod banks;
mod barriers;
mod branches;
mod control;
mod cooling;
mod domains;
mod gates;
mod meant;
mod operation;
mod starting;

use std::collections::BTreeSet;

use loadworthy_checks::Review;
use loadworthy_checks::review::findings_on;

use crate::descriptions::{changed, unit};

fn reviewed(text: &str) -> Review {
    findings_on(&unit(text), None)
}

fn indent(line: &str) -> usize {
    line.len() - line.trim_start().len()
}

/// Names of the entries below a key, and the text without each; none of them is broken across its indentation.
fn without_each(text: &str, key: &str) -> Vec<(String, String)> {
    let lines: Vec<&str> = text.lines().collect();
    let from =
        lines.iter().position(|line| line.trim_start().starts_with(&format!("{key}:"))).expect("the key");
    let own = indent(lines[from]);
    let within = lines[from + 1..].iter().take_while(|line| line.trim().is_empty() || own < indent(line));
    let end = from + 1 + within.count();
    let depth =
        lines[from + 1..end].iter().filter(|line| !line.trim().is_empty()).map(|line| indent(line)).min();
    let depth = depth.expect("entries");
    let heads: Vec<usize> = (from + 1..end)
        .filter(|&k| {
            indent(lines[k]) == depth && !lines[k].trim().is_empty() && !lines[k].trim().starts_with('#')
        })
        .collect();
    let until = |place: usize| heads.get(place + 1).copied().unwrap_or(end);
    let entry = |(place, &head): (usize, &usize)| {
        let name = lines[head].trim().split(':').next().unwrap_or_default().to_owned();
        let kept = lines[..head].iter().chain(&lines[until(place)..]);
        (name, kept.map(|line| format!("{line}\n")).collect::<String>())
    };
    heads.iter().enumerate().map(entry).collect()
}

fn said(review: &Review) -> BTreeSet<(&'static str, &'static str, String)> {
    review.findings.iter().map(|one| (one.check, one.defect, one.part.clone())).collect()
}

/// Takes away each entry of a section and holds what is new against one finding of a check.
fn each_is_found(text: &str, section: &str, checks: &[&str]) {
    let before = reviewed(text);
    assert!(before.not_judged.is_empty(), "{:#?}", before.not_judged);
    let known = said(&before);
    let all = without_each(text, section);
    assert!(2 < all.len(), "{section}: {}", all.len());
    for (name, text) in all {
        let review = reviewed(&text);
        let new: Vec<_> = said(&review).difference(&known).cloned().collect();
        assert!(new.len() == 1 && checks.contains(&new[0].0), "{section}.{name}: {new:#?}");
        assert!(review.not_judged.is_empty(), "{section}.{name}: {:#?}", review.not_judged);
    }
}

const SHUTTLE: &str = include_str!("../../../examples/harbour-shuttle.yaml");
const GROOMER: &str = include_str!("../../../examples/snow-groomer.yaml");
const FORWARDER: &str = include_str!("../../../examples/timber-forwarder.yaml");
const HARVESTER: &str = include_str!("../../../examples/peat-harvester.yaml");
const CARRIER: &str = include_str!("../../../examples/vineyard-carrier.yaml");

/// What is new: check, defect and part of each finding, and what is missing.
type New = (Vec<(&'static str, &'static str, String)>, Vec<String>);

/// What is new after some changes of a unit of which everything is judged.
fn after_in(text: &str, changes: &[(&str, &str)]) -> New {
    let known = said(&reviewed(text));
    let text = changes.iter().fold(text.to_owned(), |text, (from, to)| changed(&text, from, to));
    let review = reviewed(&text);
    let new = said(&review).difference(&known).cloned().collect();
    (new, review.not_judged.iter().map(|one| one.missing.clone()).collect())
}

/// What is new after one change of the shuttle.
fn after(from: &str, to: &str) -> New {
    after_in(SHUTTLE, &[(from, to)])
}

fn one(check: &'static str, defect: &'static str, part: &str) -> New {
    (vec![(check, defect, part.to_owned())], Vec::new())
}

fn missing(what: &str) -> New {
    (Vec::new(), vec![what.to_owned()])
}

/// The text without a passage from one line to before another.
fn without(text: &str, from: &str, until: &str) -> String {
    let start = text.find(from).expect("where it begins");
    let end = start + text[start..].find(until).expect("where it ends");
    format!("{}{}", &text[..start], &text[end..])
}
