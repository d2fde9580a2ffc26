//! Which defaults the verdicts rest on.
//!
//! Each default that is in use is moved to either end of its usual range, everything solved again and judged again. A
//! derating of the edition needs no new solution: what is allowed follows from the limit.

use std::collections::BTreeMap;

use loadworthy_unit::{
    Assumption, Dimension, DutyId, Edit, InputId, NodeId, Origin, PartId, PolicyForm, PolicyItem, Solved,
    Variant,
};

use super::judge::judge;
use crate::check::Check;
use crate::collect::allowed;
use crate::figure_text::value;
use crate::seats::stage_of;
use crate::verdict::{Comparison, Verdict};

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
    /// Whether its range was tried; a default without a range, or one in too large a unit, was not.
    pub tried: bool,
}

/// The inputs of a variant that one default stands in for.
struct Used {
    assumption: &'static Assumption,
    inputs: Vec<InputId>,
}

/// Adds the defaults of a variant to those of the variants before it.
pub(super) fn assumed(
    checks: &[&dyn Check],
    solved: &Solved<'_>,
    verdicts: &[Verdict],
    all: &mut BTreeMap<String, Assumed>,
) {
    inputs(checks, solved, verdicts, all);
    for value in &solved.variant.policy {
        // A derating that the policy does not state is the edition's own.
        if !value.stated.origin.is_written() && value.stated.value.is_finite() {
            policy(value.item, value.stated.origin.node(), solved.variant, verdicts, all);
        }
    }
}

fn inputs(
    checks: &[&dyn Check],
    solved: &Solved<'_>,
    verdicts: &[Verdict],
    all: &mut BTreeMap<String, Assumed>,
) {
    let variant = solved.variant;
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
                tried: false,
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
            continue;
        }
        for end in [low, high] {
            trials.push(inputs.iter().map(|&input| Edit { input, value: end }).collect());
            ends.push((one.assumption, end));
        }
    }
    for (trial, (assumption, end)) in Solved::with(variant, &trials).iter().zip(ends) {
        let (tried, _) = judge(checks, trial);
        let turned = turned(verdicts, &tried);
        if let Some(entry) = all.get_mut(assumption.id) {
            entry.tried = true;
            decide(entry, variant, turned, &value(end, assumption.dimension));
        }
    }
}

fn entry(all: &mut BTreeMap<String, Assumed>, id: String, new: impl FnOnce() -> Assumed) -> &mut Assumed {
    all.entry(id).or_insert_with(new)
}

fn usual((low, high): (f64, f64), dimension: Dimension) -> Option<String> {
    (low < high).then(|| format!("{} to {}", value(low, dimension), value(high, dimension)))
}

/// A verdict that turned: check, part, duty point, and whether it fails now.
type Turned = (&'static str, PartId, DutyId, bool);

fn turned(before: &[Verdict], after: &[Verdict]) -> Vec<Turned> {
    type Identity = (&'static str, PartId, &'static str, DutyId);
    let identity = |v: &Verdict| -> Identity { (v.check, v.part, v.defect, v.duty) };
    let was: BTreeMap<Identity, bool> = before.iter().map(|v| (identity(v), v.fails())).collect();
    let is: BTreeMap<Identity, bool> = after.iter().map(|v| (identity(v), v.fails())).collect();
    let now_fails = after.iter().filter(|v| v.fails() && !was.get(&identity(v)).copied().unwrap_or(false));
    let no_longer = before.iter().filter(|v| v.fails() && !is.get(&identity(v)).copied().unwrap_or(false));
    let now_fails = now_fails.map(|v| (v.check, v.part, v.duty, true));
    now_fails.chain(no_longer.map(|v| (v.check, v.part, v.duty, false))).collect()
}

/// Notes what turned at one end, a line for each check and stage.
fn decide(entry: &mut Assumed, variant: &Variant, turned: Vec<Turned>, end: &str) {
    let mut lines: BTreeMap<(&str, &str, bool), Vec<&str>> = BTreeMap::new();
    for (check, part, duty, fails) in turned {
        let duties = lines.entry((check, variant.path(stage_of(variant, part)), fails)).or_default();
        let duty = variant.duties[duty.index()].name.as_str();
        if !duties.contains(&duty) {
            duties.push(duty);
        }
    }
    let of_variant = variant.name.as_ref().map_or_else(String::new, |name| format!(", {name}"));
    for ((check, stage, fails), duties) in lines {
        let turns = if fails { "fails" } else { "holds" };
        entry
            .decides
            .push(format!("{check} of {stage} {turns} at {end} ({}{of_variant})", duties.join(", ")));
    }
}

/// A derating of the edition.
fn policy(
    item: &'static PolicyItem,
    near: Option<NodeId>,
    variant: &Variant,
    verdicts: &[Verdict],
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
        why: item.help,
        paths: vec![path],
        near,
        decides: Vec::new(),
        tried: true,
    });
    for end in [range.0, range.1] {
        let mut turned: Vec<Turned> = Vec::new();
        for verdict in verdicts {
            let Some(compared) = verdict.comparison() else { continue };
            if compared.policy.is_none_or(|of| of.name != item.name) {
                continue;
            }
            let then = Comparison::new(
                (compared.carried, compared.carried_value),
                (compared.limit, compared.limit_from),
                (allowed(item, compared.limit, end), compared.policy),
                compared.dimension,
            );
            if then.holds() == verdict.fails() {
                turned.push((verdict.check, verdict.part, verdict.duty, !then.holds()));
            }
        }
        decide(entry, variant, turned, &text(end));
    }
}
