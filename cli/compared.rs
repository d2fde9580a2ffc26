//! Two descriptions with their reviews, laid side by side, ready to be shown in any form.

use std::collections::HashMap;
use std::io::Read;

use loadworthy_checks::compare::{self, Effects};
use loadworthy_language::Guide;
use loadworthy_language::difference::{self, Difference, difference};
use loadworthy_source::NodeId;
use loadworthy_unit::{Dimension, Origin, PolicyForm, Unit};

use crate::arguments::{self, AskedGrade};
use crate::described::{Described, Roots, Source};
use crate::files::{self, shown_name};
use crate::outcome::Outcome;
use crate::permits;
use crate::reviewed::Made;
use crate::revision::{name_at, open_at};
use crate::show::layout::free_text;
use crate::solutions::unknown;

/// Two descriptions, and what the change from one to the other is and does.
pub(crate) struct Compared {
    /// Before the change; of its findings nothing is proposed.
    pub(crate) old: Side,
    /// After it.
    pub(crate) new: Side,
    /// What changed; absent where a side could not be read in full, since what is void would look like a change.
    pub(crate) change: Option<Change>,
    /// How the run ends.
    pub(crate) outcome: Outcome,
}

/// One side of a comparison.
pub(crate) struct Side {
    /// What it is called, such as `HEAD~1:unit.yaml` or `unit.yaml, variant heavy`.
    pub(crate) name: String,
    /// Its review, or a sentence that says why it could not be opened.
    pub(crate) made: Result<Made, String>,
}

/// What changed, and what that does.
pub(crate) struct Change {
    /// What the descriptions say differently. Places of `old` are in the old tree, those of `new` in the new one.
    pub(crate) difference: Difference,
    /// What it does to findings and headrooms.
    pub(crate) effects: Effects,
}

impl Side {
    /// The review, where the description was read without a problem.
    pub(crate) fn whole(&self) -> Option<&Made> {
        self.made.as_ref().ok().filter(|made| made.described.problems.is_empty())
    }
}

/// A description that was read, with where it begins if anything of it could be, or why it was not opened.
type Opened = (String, Result<(Described, Option<NodeId>), String>);

impl Compared {
    /// Reads, reviews and compares both sides.
    pub(crate) fn of(asked: &arguments::Compare, input: &mut dyn Read) -> Self {
        let [(old_name, old), (new_name, new)] = both(asked, input);
        let old_root = old.as_ref().ok().and_then(|(_, root)| *root);
        let new_root = new.as_ref().ok().and_then(|(_, root)| *root);
        // One day for both: what ends between two days is no change of the description.
        let mut today = None;
        let mut day = |described: &Described| {
            let own = permits::day(&described.unit, asked.on)?;
            Some(*today.get_or_insert(own))
        };
        // What would hold is sought for the side after alone.
        let old = old.map(|(described, _)| {
            let day = day(&described);
            Made::findings_on(described, day)
        });
        let new = new.map(|(described, _)| {
            let day = day(&described);
            Made::on(described, day)
        });
        let (old, new) = (Side { name: old_name, made: old }, Side { name: new_name, made: new });
        let change = match (old.whole().zip(old_root), new.whole().zip(new_root)) {
            (Some(old), Some(new)) => Some(Change::between(old, new)),
            _ => None,
        };
        let outcome = outcome(&new, change.as_ref(), asked.grade, asked.only_worse);
        Self { old, new, change, outcome }
    }
}

impl Change {
    fn between((old, old_root): (&Made, NodeId), (new, new_root): (&Made, NodeId)) -> Self {
        let vocabulary = loadworthy_checks::list::policy_vocabulary();
        let guide = Guide::new(&vocabulary);
        let (old_defaults, new_defaults) = (defaults(&old.described.unit), defaults(&new.described.unit));
        let (in_old, in_new) =
            (|path: &str| old_defaults.get(path).copied(), |path: &str| new_defaults.get(path).copied());
        let difference = difference(
            difference::Described { tree: &old.described.tree, root: old_root, stands_in: &in_old },
            difference::Described { tree: &new.described.tree, root: new_root, stands_in: &in_new },
            &guide,
        );
        let renames =
            difference.renames.iter().map(|one| (one.from.as_str(), one.to.as_str())).collect::<Vec<_>>();
        let effects = compare::compare(
            compare::Side { unit: &old.described.unit, review: &old.review },
            compare::Side { unit: &new.described.unit, review: &new.review },
            &renames,
        );
        Self { difference, effects }
    }

    /// Whether the descriptions mean the same.
    pub(crate) fn is_none(&self) -> bool {
        self.difference.changes.is_empty() && self.effects.is_none()
    }
}

/// How a comparison ends.
fn outcome(new: &Side, change: Option<&Change>, grade: AskedGrade, only_worse: bool) -> Outcome {
    let (Some(change), Some(made)) = (change, new.whole()) else { return Outcome::Unreadable };
    if !only_worse {
        return made.outcome(grade);
    }
    let effects = &change.effects;
    let is_worse = effects.findings.iter().any(|finding| finding.counts() && grade.counts(finding.grade));
    let is_less_judged = effects.unjudged.iter().any(|one| one.is_new)
        || effects.count_headrooms(compare::HeadroomTurn::NoLongerJudged) > 0
        || !made.review.broken_checks.is_empty()
        || !made.review.judges_a_duty_point();
    if is_worse {
        Outcome::Fails
    } else if is_less_judged {
        Outcome::NotJudged
    } else {
        Outcome::Holds
    }
}

/// Opens and reads both sides.
fn both(asked: &arguments::Compare, input: &mut dyn Read) -> [Opened; 2] {
    let none: &[(String, String)] = &[];
    let name = shown_name(&asked.old);
    if let Some(base) = &asked.base {
        let old = (name_at(&asked.old, base), open_at(&asked.old, base));
        let new = match &asked.at {
            Some(at) => (name_at(&asked.old, at), open_at(&asked.old, at)),
            None => (tried(name, asked), files::open(&asked.old, input)),
        };
        return [read(old, none), read(new, &asked.with)];
    }
    if let Some(new) = &asked.new {
        let old = read((name, files::open(&asked.old, input)), none);
        return [old, read((tried(shown_name(new), asked), files::open(new, input)), &asked.with)];
    }
    // One file, opened once.
    let opened = match files::open(&asked.old, input) {
        Ok(opened) => opened,
        Err(why) => return [(name.clone(), Err(why.clone())), (name, Err(why))],
    };
    let mut source = Source::of(opened, none);
    let old = source.described(&[]);
    let new = source.with(&asked.with).described(&[]);
    match asked.variants.as_slice() {
        [before, after] => [
            (format!("{name}, variant {}", free_text(before)), of_variant(old, before)),
            (tried(format!("{name}, variant {}", free_text(after)), asked), of_variant(new, after)),
        ],
        _ => [(name.clone(), Ok(whole(old))), (tried(name, asked), Ok(whole(new)))],
    }
}

/// The name of a side on which values are tried.
fn tried(name: String, asked: &arguments::Compare) -> String {
    if asked.with.is_empty() { name } else { format!("{name}, with what is tried") }
}

fn read((name, opened): (String, Result<files::Opened, String>), overrides: &[(String, String)]) -> Opened {
    let read = opened.map(|opened| whole(Source::of(opened, overrides).described(&[])));
    (name, read)
}

/// A description with all its variants.
fn whole((described, roots): (Described, Roots)) -> (Described, Option<NodeId>) {
    (described, roots.base)
}

/// A description as one of its variants.
fn of_variant(
    (mut described, roots): (Described, Roots),
    name: &str,
) -> Result<(Described, Option<NodeId>), String> {
    // What is wrong with it is said first.
    if !described.problems.is_empty() {
        return Ok((described, roots.base));
    }
    let variants = &described.unit.variants;
    let place = variants.iter().position(|variant| variant.name.as_deref() == Some(name));
    let Some((place, root)) = place.and_then(|place| Some((place, *roots.variants.get(place)?))) else {
        let known = variants.iter().filter_map(|variant| variant.name.as_deref()).collect::<Vec<_>>();
        return Err(unknown("variant", name, known.iter().copied()));
    };
    let one = described.unit.variants.swap_remove(place);
    described.unit.variants = vec![one];
    let is_about =
        |of: &Option<loadworthy_source::Located<String>>| of.as_ref().is_none_or(|of| of.value == name);
    described.unit.permits.retain(|permit| is_about(&permit.variant));
    Ok((described, Some(root)))
}

/// What stands in for values that nobody states, by path.
type Defaults = HashMap<String, (Dimension, f64)>;

fn defaults(unit: &Unit) -> Defaults {
    let mut defaults = Defaults::new();
    for variant in &unit.variants {
        for input in variant.tables.inputs() {
            for (place, stated) in input.values.iter().enumerate() {
                if !matches!(stated.origin, Origin::Assumed { .. }) {
                    continue;
                }
                let duty = variant.duties.get(place).filter(|_| input.path.starts_with("duty."));
                let path = match duty {
                    Some(duty) => input.path.replacen('*', &duty.name, 1),
                    None => input.path.clone(),
                };
                defaults.entry(path).or_insert((input.dimension, stated.value));
            }
        }
        for policy in &variant.policy {
            if !policy.stated.origin.is_written() && policy.stated.value.is_finite() {
                let dimension = match policy.item.form {
                    PolicyForm::UseAtMost { .. } => Dimension::Ratio,
                    PolicyForm::Keep { dimension, .. } => dimension,
                };
                let path = format!("policy.{}.{}", policy.item.name, policy.item.form.key());
                defaults.entry(path).or_insert((dimension, policy.stated.value));
            }
        }
    }
    defaults
}
