//! What could not be judged, by what is missing.

use std::collections::{BTreeMap, HashSet};

use foldhash::fast::FixedState;
use loadworthy_unit::{DutyId, NodeId, PartId, Variant};

use crate::cause::{CauseText, missing_text};
use crate::lacking::{entry_and_key, sentence};
use crate::seats::stage_of;
use crate::verdict::{Outcome, Verdict};

/// Something that is missing, with what it keeps from being judged.
#[derive(Clone, Debug, PartialEq)]
pub struct NotJudged {
    /// What is missing, in one sentence, such as `duty.climb.coolant.inlet is not stated`.
    pub missing: String,
    /// Paths of the missing values, where it is values; a `*` stands for several duty points. Several are of one entry,
    /// and missing in the same duty points and variants; what could not be read stands together, whatever it is of.
    pub paths: Vec<String>,
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

impl NotJudged {
    /// Counts one more verdict that waits for it.
    pub(super) fn count(&mut self, variant: &Variant, verdict: &Verdict) {
        note(&mut self.checks, verdict.check);
        add_new(&mut self.parts, variant.path(stage_of(variant, verdict.part)));
        if let Some(duty) = verdict.duty() {
            add_new(&mut self.duties, &variant.duties[duty.index()].name);
        }
        if let Some(name) = &variant.name {
            add_new(&mut self.variants, name);
        }
        self.verdicts += 1;
    }
}

/// Checks that are named with a finding; of more it is said how many.
const MOST_CHECKS: usize = 6;

/// What a finding says is missing, and the checks that wait for it: told with the finding, and not once more.
#[derive(Debug)]
pub(super) struct KeptOpen<'u> {
    /// Place of the finding among all.
    pub(super) finding: usize,
    /// Paths and sentences of what is missing.
    pub(super) subjects: Vec<String>,
    /// Variants and duty points that have no figures because of it; no duty point stands for all.
    pub(super) without_values: Vec<(usize, Option<DutyId>)>,
    /// Ranges that what it is about leaves: variant, entry, and what it is a range of.
    pub(super) outruns: Vec<(usize, &'u str, &'static str)>,
    /// The checks that wait for it, in order.
    pub(super) checks: Vec<&'static str>,
}

impl KeptOpen<'_> {
    /// Whether what waits in a duty point of a variant is told with the finding.
    fn tells(&self, text: &CauseText, variant: usize, duty: Option<DutyId>) -> bool {
        // What is no matter of one duty point may wait for a lane of any.
        let is_any = |at: Option<DutyId>| at.is_none() || duty.is_none() && text.is_lane;
        let is_without =
            || self.without_values.iter().any(|&(own, at)| own == variant && (is_any(at) || at == duty));
        let is_left = text.is_lane || text.is_range || text.reached.is_some();
        let is_outrun =
            |&(own, entry, what): &(usize, &str, &str)| own == variant && text.leaves(entry, what);
        self.subjects.contains(&text.subject) || is_left && is_without() || self.outruns.iter().any(is_outrun)
    }

    /// A line for the finding, where anything waits.
    pub(super) fn fact(&self) -> Option<String> {
        let (named, rest) = self.checks.split_at(self.checks.len().min(MOST_CHECKS));
        // One more is sooner named than counted.
        let named = match rest {
            [] | [_] => self.checks.join(", "),
            rest => format!("{} and {} more checks", named.join(", "), rest.len()),
        };
        (!self.checks.is_empty()).then(|| format!("not judged for want of it: {named}"))
    }
}

/// Something that is missing while its verdicts are counted.
struct Line {
    text: CauseText,
    near: Option<NodeId>,
    checks: Vec<&'static str>,
    /// Paths of the parts whose verdicts wait for it: of stages, and of others.
    parts: [Vec<String>; 2],
    /// Ordinal numbers of the verdicts that wait for it, rising.
    waiting: Vec<usize>,
    duties: Vec<String>,
    variants: Vec<String>,
}

impl Line {
    /// Takes over what waits for another one.
    fn take(&mut self, other: Self) {
        self.waiting.extend(other.waiting);
        other.checks.iter().for_each(|check| note(&mut self.checks, check));
        other.duties.iter().for_each(|duty| add_new(&mut self.duties, duty));
        other.variants.iter().for_each(|variant| add_new(&mut self.variants, variant));
        for (known, parts) in self.parts.iter_mut().zip(&other.parts) {
            parts.iter().for_each(|path| add_new(known, path));
        }
    }
}

/// Verdicts that were not given, by what they wait for: in the order in which it was first met. What a finding tells is noted
/// there.
pub(super) fn not_judged(
    variants: &[Variant],
    verdicts: &[Vec<Verdict>],
    told: &mut [KeptOpen<'_>],
) -> Vec<NotJudged> {
    let mut places: BTreeMap<(String, &'static str), usize> = BTreeMap::new();
    let mut lines: Vec<Line> = Vec::new();
    // What is noted already: never iterated.
    let mut noted: HashSet<(usize, &str), FixedState> = HashSet::default();
    let stages: Vec<HashSet<PartId, FixedState>> =
        variants.iter().map(|variant| variant.plan.stages.iter().map(|stage| stage.part).collect()).collect();
    let all = variants.iter().zip(&stages).zip(verdicts).enumerate();
    let all = all.flat_map(|(v, (of, all))| all.iter().map(move |one| (v, of, one)));
    for (number, (v, (variant, stages), verdict)) in all.enumerate() {
        let Outcome::NotJudged(missing) = &verdict.outcome else { continue };
        for &one in missing {
            let text = missing_text(variant, verdict.duty(), one);
            let mut told = told.iter_mut().filter(|_| text.is_absent());
            if let Some(known) = told.find(|known| known.tells(&text, v, one.duty(verdict))) {
                note(&mut known.checks, verdict.check);
                continue;
            }
            let place = *places.entry((text.told_by().to_owned(), text.trouble)).or_insert_with(|| {
                let (text, near) = (text.clone(), text.near);
                let (checks, waiting, parts) = (Vec::new(), Vec::new(), [Vec::new(), Vec::new()]);
                let (duties, variants) = (Vec::new(), Vec::new());
                lines.push(Line { text, near, checks, parts, waiting, duties, variants });
                lines.len() - 1
            });
            let line = &mut lines[place];
            if text.goes_beyond(&line.text) {
                line.text = text;
            }
            if line.waiting.last() == Some(&number) {
                continue;
            }
            line.waiting.push(number);
            note(&mut line.checks, verdict.check);
            // Stages first: what they carry decides over the rest.
            let part = stage_of(variant, verdict.part);
            let path = variant.path(part);
            if noted.insert((place, path)) {
                line.parts[usize::from(!stages.contains(&part))].push(path.to_owned());
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
    together(without_ranges(lines))
}

/// Lines without those that say of a law that it has no value, and of no number why, where something could not be read: they
/// wait for it as well.
fn without_ranges(mut lines: Vec<Line>) -> Vec<Line> {
    if lines.iter().all(|line| line.text.is_absent()) {
        return lines;
    }
    let (ranges, mut rest): (Vec<Line>, Vec<Line>) = lines.drain(..).partition(|line| line.text.is_range);
    if let Some(broken) = rest.iter_mut().find(|line| !line.text.is_absent()) {
        ranges.into_iter().for_each(|line| broken.take(line));
    }
    rest
}

fn note(checks: &mut Vec<&'static str>, check: &'static str) {
    if let Err(place) = checks.binary_search(&check) {
        checks.insert(place, check);
    }
}

fn add_new(names: &mut Vec<String>, name: &str) {
    if !names.iter().any(|known| known == name) {
        names.push(name.to_owned());
    }
}

/// An entry, what is wrong with its values, and in which duty points and variants.
type Entry = (String, &'static str, Vec<String>, Vec<String>);

/// Joins what one entry lacks in the same duty points and variants, and all that could not be read: what is wrong with that
/// is told by its problems.
fn together(lines: Vec<Line>) -> Vec<NotJudged> {
    let mut places: BTreeMap<Entry, usize> = BTreeMap::new();
    let mut joined: Vec<(Line, Vec<String>)> = Vec::new();
    for line in lines {
        let subject = match line.duties.as_slice() {
            [only] => line.text.subject_in(only),
            _ => line.text.subject.clone(),
        };
        let paths = if line.text.is_path { vec![subject.clone()] } else { Vec::new() };
        let entry = entry_and_key(&subject).filter(|_| line.text.is_path);
        let key = match entry {
            _ if !line.text.is_absent() => (String::new(), line.text.trouble, Vec::new(), Vec::new()),
            Some((entry, _)) => {
                (entry.to_owned(), line.text.trouble, line.duties.clone(), line.variants.clone())
            }
            None => {
                joined.push((line, paths));
                continue;
            }
        };
        match places.get(&key).and_then(|place| joined.get_mut(*place)) {
            Some((first, known)) => {
                known.extend(paths);
                first.take(line);
            }
            None => {
                places.insert(key, joined.len());
                joined.push((line, paths));
            }
        }
    }
    joined.into_iter().map(|(line, paths)| finished(line, paths)).collect()
}

fn finished(mut line: Line, paths: Vec<String>) -> NotJudged {
    line.waiting.sort_unstable();
    line.waiting.dedup();
    NotJudged {
        missing: sentence(&paths, &line.text),
        paths,
        near: line.near,
        checks: line.checks,
        parts: line.parts.concat(),
        verdicts: line.waiting.len(),
        duties: line.duties,
        variants: line.variants,
    }
}
