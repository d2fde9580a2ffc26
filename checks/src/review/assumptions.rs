//! Which defaults the verdicts rest on.
//!
//! Each default that is in use is moved to either end of its usual range, everything solved again and judged again. A
//! derating of the edition needs no new solution: what is allowed follows from the limit. Where checks judge variants
//! together, one variant is moved at a time, beside the others as they are described.

use core::hash::Hash;
use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};

use foldhash::fast::FixedState;
use loadworthy_unit::side_by_side::side_by_side;
use loadworthy_unit::{
    Assumption, Dimension, DutyId, Edit, InputId, NodeId, Origin, PartId, PolicyForm, PolicyItem, Solved,
    Variant,
};

use super::anew::Described;
use crate::collect::{allowed, outcome};
use crate::figure_text::value;
use crate::seats::stage_of;
use crate::verdict::{Comparison, Fault, Grade, Outcome, Verdict};

/// Figures, over all lanes and trials of a variant, that are solved to see what the defaults decide.
const EFFORT: usize = 8_000_000;

/// A default of the edition that is in use.
#[derive(Clone, Debug, PartialEq)]
pub struct Assumed {
    /// Its name.
    pub id: String,
    /// The value as a person would write it.
    pub value: String,
    /// The range in which values usually lie, where there is one.
    pub usual: Option<String>,
    /// What is taken, and why, in a sentence.
    pub why: &'static str,
    /// Where the value would stand, in each entry that lacks it.
    pub paths: Vec<String>,
    /// The first entry that it would stand in.
    pub near: Option<NodeId>,
    /// What would turn within the usual range, such as `junction-temperature of traction_bridge fails at 40 K
    /// (climb)`; empty where it decides nothing.
    pub decides: Vec<String>,
    /// Whether its range was tried wherever it is in use; a default without a range, one in too large a unit, or one
    /// with which a check broke down, was not.
    pub tried: bool,
}

/// The inputs of a variant that one default stands in for.
struct Used {
    assumption: &'static Assumption,
    inputs: Vec<InputId>,
}

/// Adds the defaults of a variant to those of the variants before it.
pub(super) fn assumed(
    described: &Described<'_, '_>,
    own: usize,
    is_large: bool,
    all: &mut BTreeMap<String, Assumed>,
) {
    inputs(described, own, is_large, all);
    let (variant, verdicts) = (described.solved[own].variant, &described.verdicts[own]);
    // A derating that the policy does not state is the edition's own, and of interest where something is held against it: a
    // unit without a boost rests on no duty.
    let mut held: Vec<Vec<&Verdict>> = vec![Vec::new(); variant.policy.len()];
    for verdict in verdicts {
        let item = verdict.comparison().and_then(|compared| compared.policy);
        if let Some(place) = item.and_then(|item| variant.policy_place(item)) {
            held[place].push(verdict);
        }
    }
    for (value, held) in variant.policy.iter().zip(&held) {
        if !value.stated.origin.is_written() && value.stated.value.is_finite() && !held.is_empty() {
            policy(value.item, value.stated.origin.node(), variant, (held, verdicts), all);
        }
    }
}

fn inputs(described: &Described<'_, '_>, own: usize, is_large: bool, all: &mut BTreeMap<String, Assumed>) {
    let variant = described.solved[own].variant;
    let mut used: BTreeMap<&'static str, Used> = BTreeMap::new();
    for (place, input) in variant.tables.inputs().iter().enumerate() {
        for stated in &input.values {
            let Origin::Assumed { assumption, near } = stated.origin else { continue };
            let one = used.entry(assumption.id).or_insert_with(|| Used { assumption, inputs: Vec::new() });
            let id = InputId::new(place);
            if one.inputs.last() != Some(&id) {
                one.inputs.push(id);
            }
            let entry = entry(all, assumption.id.to_owned(), || Assumed {
                id: assumption.id.to_owned(),
                value: value(assumption.value, assumption.dimension),
                usual: usual(assumption.usual, assumption.dimension),
                why: assumption.why,
                paths: Vec::new(),
                near: Some(near),
                decides: Vec::new(),
                tried: true,
            });
            if !entry.paths.contains(&input.path) {
                entry.paths.push(input.path.clone());
            }
        }
    }
    let for_each = variant.lanes.len() * variant.tables.figures().len().max(1);
    let most = EFFORT / for_each.max(1);
    let mut trials = Vec::new();
    let mut ends = Vec::new();
    for one in used.values() {
        let (low, high) = one.assumption.usual;
        // A default that stands for another quantity, such as a voltage for a resistance, has no end to try.
        let alike = |id: &&InputId| variant.tables.input_of(**id).dimension == one.assumption.dimension;
        let inputs: Vec<InputId> = one.inputs.iter().filter(alike).copied().collect();
        if low >= high || inputs.is_empty() || trials.len() + 2 > most {
            untried(all, one.assumption);
            continue;
        }
        for end in [low, high] {
            trials.push(inputs.iter().map(|&input| Edit { input, value: end }).collect());
            ends.push((one.assumption, end));
        }
    }
    // What is left of the verdicts says nothing of those that are not there: where a check breaks down, nothing is known.
    let turns = |trial: &Solved<'_>| {
        let turns = |k, anew: Vec<Verdict>| turned(described.verdicts_of(k, own), &anew);
        let (turned, broken) = described.try_each(own, trial, turns);
        broken.is_empty().then(|| turned.into_iter().flatten().flatten().collect::<Vec<_>>())
    };
    let solved = &described.solved[own];
    let all_turned: Vec<_> = match is_large {
        true => solved.trials(&trials).map(|trial| turns(&trial)).collect(),
        false => side_by_side(&trials, |edits| turns(&solved.trial(edits))),
    };
    for (turned, (assumption, end)) in all_turned.into_iter().zip(ends) {
        match (turned, all.get_mut(assumption.id)) {
            (None, _) => untried(all, assumption),
            (Some(turned), Some(entry)) => decide(entry, variant, turned, &value(end, assumption.dimension)),
            (Some(_), None) => {}
        }
    }
}

fn untried(all: &mut BTreeMap<String, Assumed>, assumption: &Assumption) {
    if let Some(entry) = all.get_mut(assumption.id) {
        entry.tried = false;
    }
}

fn entry(all: &mut BTreeMap<String, Assumed>, id: String, new: impl FnOnce() -> Assumed) -> &mut Assumed {
    all.entry(id).or_insert_with(new)
}

fn usual((low, high): (f64, f64), dimension: Dimension) -> Option<String> {
    (low < high).then(|| format!("{} to {}", value(low, dimension), value(high, dimension)))
}

/// What a check says of a part in a duty point, all its comparisons taken together.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Standing {
    /// One of them fails.
    Fails,
    /// All of them hold.
    Holds,
    /// Nothing fails, but something is not judged.
    Open,
}

impl Standing {
    const fn of(outcome: &Outcome) -> Self {
        match outcome {
            Outcome::Fails { .. } => Self::Fails,
            Outcome::Holds(_) => Self::Holds,
            Outcome::NotJudged(_) => Self::Open,
        }
    }

    fn with(self, other: Self) -> Self {
        match (self, other) {
            (Self::Fails, _) | (_, Self::Fails) => Self::Fails,
            (Self::Holds, Self::Holds) => Self::Holds,
            _ => Self::Open,
        }
    }

    const fn words(self) -> &'static str {
        match self {
            Self::Fails => "fails",
            Self::Holds => "holds",
            Self::Open => "is not judged",
        }
    }
}

/// What turned: check, part, duty point where there is one, and how it stands now.
type Turned = (&'static str, PartId, Option<DutyId>, Standing);

/// How everything stands; looked up and never shown in this order.
fn standings<K: Eq + Hash>(
    verdicts: &[Verdict],
    key: impl Fn(&Verdict) -> K,
) -> HashMap<K, Standing, FixedState> {
    let mut standings = HashMap::default();
    for verdict in verdicts {
        let one = Standing::of(&verdict.outcome);
        standings.entry(key(verdict)).and_modify(|all: &mut Standing| *all = all.with(one)).or_insert(one);
    }
    standings
}

/// What differs between two rounds of verdicts. Most verdicts stand as they did: of two rounds that speak of the same, only
/// those of a check, part and duty point in which one does not are looked at.
fn turned(before: &[Verdict], after: &[Verdict]) -> Vec<Turned> {
    let is_same = |(one, other): (&Verdict, &Verdict)| {
        (one.check, one.part, one.defect, one.duty()) == (other.check, other.part, other.defect, other.duty())
    };
    if before.len() != after.len() || !before.iter().zip(after).all(is_same) {
        return turned_anyhow(before, after);
    }
    let both = || before.iter().zip(after);
    let moved = both().filter(|(one, other)| Standing::of(&one.outcome) != Standing::of(&other.outcome));
    let moved: BTreeSet<_> = moved.map(|(one, _)| (one.check, one.part, one.duty())).collect();
    if moved.is_empty() {
        return Vec::new();
    }
    let (before, after): (Vec<Verdict>, Vec<Verdict>) = both()
        .filter(|(one, _)| moved.contains(&(one.check, one.part, one.duty())))
        .map(|(one, other)| (one.clone(), other.clone()))
        .unzip();
    turned_anyhow(&before, &after)
}

fn turned_anyhow(before: &[Verdict], after: &[Verdict]) -> Vec<Turned> {
    let was = standings(before, |v| (v.part, v.duty(), v.check));
    let is = standings(after, |v| (v.part, v.duty(), v.check));
    let of_duty = standings(after, |v| (v.duty(), v.check));
    // A duty point without a solution fails at one part; with a solution the check speaks of other parts instead.
    let is_unsolved = |v: &&Verdict| matches!(v.fault(), Some(Fault::Unsolved { .. }));
    let solved = before.iter().filter(|v| !is_unsolved(v));
    let solved: HashSet<_, FixedState> = solved.map(|v| (v.part, v.duty(), v.check)).collect();
    let gone = |key: &(PartId, Option<DutyId>, &'static str)| {
        let now = if solved.contains(key) { None } else { of_duty.get(&(key.1, key.2)).copied() };
        now.unwrap_or(Standing::Open)
    };
    // A check that says nothing of trials says nothing of what they turn.
    let speaks: BTreeSet<&str> = after.iter().map(|v| v.check).collect();
    let no_longer = was.iter().filter(|(key, _)| speaks.contains(key.2)).filter_map(|(key, was)| {
        let now = is.get(key).copied().unwrap_or_else(|| gone(key));
        (now != *was && now != Standing::Fails).then_some((key.2, key.0, key.1, now))
    });
    let mut no_longer: Vec<Turned> = no_longer.collect();
    no_longer.sort_unstable();
    // One more comparison that fails counts even where another one of the part, such as a note, fails already.
    let identity = |v: &Verdict| (v.part, v.duty(), v.check, v.defect);
    let failed: HashSet<_, FixedState> = before.iter().filter(|v| v.fails()).map(identity).collect();
    let now_fails = after.iter().filter(|v| v.fails() && !failed.contains(&identity(v)));
    now_fails.map(|v| (v.check, v.part, v.duty(), Standing::Fails)).chain(no_longer).collect()
}

/// Notes what turned at one end, a line for each check and stage.
fn decide(entry: &mut Assumed, variant: &Variant, turned: Vec<Turned>, end: &str) {
    let mut lines: BTreeMap<(&str, &str, Standing), Vec<&str>> = BTreeMap::new();
    for (check, part, duty, now) in turned {
        let duties = lines.entry((check, variant.path(stage_of(variant, part)), now)).or_default();
        let duty = duty.map(|duty| variant.duties[duty.index()].name.as_str());
        duties.extend(duty.filter(|name| !duties.contains(name)));
    }
    for ((check, stage, now), mut places) in lines {
        let turns = format!("{check} of {stage} {} at {end}", now.words());
        if let Some(own) = variant.name.as_deref() {
            let is_duty = |name: &str| variant.duties.iter().any(|duty| duty.name == name);
            if let Some(line) = entry.decides.iter_mut().find(|line| is_of(line, &turns, &places, is_duty)) {
                line.insert_str(line.len() - 1, &format!(", {own}"));
                continue;
            }
            places.push(own);
        }
        let places = if places.is_empty() { String::new() } else { format!(" ({})", places.join(", ")) };
        entry.decides.push(format!("{turns}{places}"));
    }
}

/// Whether a line says that the same turns in the same duty points, of variants before.
fn is_of(line: &str, turns: &str, duties: &[&str], is_duty: impl Fn(&str) -> bool) -> bool {
    let places = line.strip_prefix(turns).and_then(|rest| rest.strip_prefix(" (")?.strip_suffix(')'));
    places
        .is_some_and(|places| places.split(", ").take_while(|name| is_duty(name)).eq(duties.iter().copied()))
}

/// A derating of the edition.
fn policy(
    item: &'static PolicyItem,
    near: Option<NodeId>,
    variant: &Variant,
    (held, verdicts): (&[&Verdict], &[Verdict]),
    all: &mut BTreeMap<String, Assumed>,
) {
    let (default, range, dimension) = match item.form {
        PolicyForm::UseAtMost { default, usual } => (default, usual, Dimension::Ratio),
        PolicyForm::Keep { dimension, default, usual } => (default, usual, dimension),
    };
    let text = |left: f64| match item.form {
        PolicyForm::UseAtMost { .. } => crate::figure_text::percent(left),
        PolicyForm::Keep { .. } => value(left, dimension),
    };
    let path = format!("policy.{}.{}", item.name, item.form.key());
    let entry = entry(all, path.clone(), || Assumed {
        id: path.clone(),
        value: text(default),
        usual: (range.0 < range.1).then(|| format!("{} to {}", text(range.0), text(range.1))),
        why: item.help.trim_end_matches('.'),
        paths: vec![path],
        near,
        decides: Vec::new(),
        tried: true,
    });
    for end in [range.0, range.1] {
        // What the item has no part in stands as it does, at either end.
        let moves = |verdict: &&&Verdict| {
            Standing::of(&outcome_with(verdict, item, end)) != Standing::of(&verdict.outcome)
        };
        let moved = held.iter().filter(moves);
        let moved: HashSet<_, FixedState> =
            moved.map(|verdict| (verdict.part, verdict.duty(), verdict.check)).collect();
        if moved.is_empty() {
            continue;
        }
        let parts: HashSet<PartId, FixedState> = moved.iter().map(|&(part, ..)| part).collect();
        let is_moved = |verdict: &&Verdict| {
            parts.contains(&verdict.part) && moved.contains(&(verdict.part, verdict.duty(), verdict.check))
        };
        let before: Vec<Verdict> = verdicts.iter().filter(is_moved).cloned().collect();
        let at_end =
            |verdict: &Verdict| Verdict { outcome: outcome_with(verdict, item, end), ..verdict.clone() };
        let at_end: Vec<Verdict> = before.iter().map(at_end).collect();
        decide(entry, variant, turned_anyhow(&before, &at_end), &text(end));
    }
}

/// How a verdict would end if a policy item left something else of its limit.
fn outcome_with(verdict: &Verdict, item: &'static PolicyItem, left: f64) -> Outcome {
    let Some(compared) = verdict.comparison() else { return verdict.outcome.clone() };
    if compared.policy.is_none_or(|of| !core::ptr::eq(of, item)) {
        return verdict.outcome.clone();
    }
    let then = Comparison::new(
        (compared.carried, compared.carried_value),
        (compared.limit, compared.limit_from),
        (allowed(item, compared.limit, left), compared.policy),
        compared.dimension,
    );
    let grade = match verdict.outcome {
        Outcome::Fails { grade, .. } => grade,
        Outcome::Holds(_) | Outcome::NotJudged(_) => Grade::Major,
    };
    outcome(Ok(then), grade)
}
