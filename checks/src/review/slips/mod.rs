//! Several findings that one word brings: an entry exchanged with another, or one key that speaks against all else.
//!
//! What else is stated raises a suspicion (`Unit::slips`). It is followed where the unit with that word put right, solved and judged
//! by all checks, lacks at least two things that the unit as described has, and has nothing that it lacks. These are then told as one.
//! They count as failures all the same, and one that a permit names stays what it is.

use core::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

use loadworthy_unit::{Move, Slip, Solved, Unit, Variant};

use super::anew::Described;
use super::findings::{findings, kept_open};
use super::fingerprint::fingerprint;
use super::group::{Group, Key, groups};
use super::judge::{Judged, explain_missing, judge};
use super::not_judged::{NotJudged, not_judged};
use super::ranked::Ranked;
use super::{Finding, Held, JudgedBy, Place, Setting};
use crate::verdict::{Grade, Outcome, Verdict};

/// Name under which the findings of this pass are shown.
pub(super) const NAME: &str = "one-cause";
const EXCHANGED: &str = "exchanged";
const ONE_KEY: &str = "one-key";

/// The least that must go with a word put right: what is one finding anyway is told as that.
const LEAST: usize = 2;
/// Of what goes, how much is told.
const MOST_TOLD: usize = 6;

/// Check, defect, stage and entry of a failure, as it can be held against that of another unit.
type Cause = (&'static str, &'static str, String, String);

fn cause(key: &Key<'_>) -> Cause {
    (key.check, key.defect, key.stage.to_owned(), key.entry.to_owned())
}

/// A slip, and what comes of it.
pub(super) struct Followed<'u, 'a> {
    slip: &'u Slip,
    /// Failures that go with it put right.
    gone: Vec<Ranked<'a>>,
    /// What is missing because of it, and told by no finding.
    missing: Vec<String>,
    /// The same with what findings tell that are told here.
    pub(super) no_longer_missing: BTreeSet<String>,
    /// What is found with it put right: check and stage.
    notes: Vec<String>,
}

/// How a unit is judged: causes with the gravest grade of each, and what is missing.
struct Standing {
    causes: BTreeMap<Cause, Grade>,
    missing: BTreeSet<String>,
    /// Causes of which some verdict is not given.
    open: BTreeSet<Cause>,
}

impl Standing {
    fn of(
        variants: &[Variant],
        groups: &BTreeMap<Key<'_>, Group>,
        verdicts: &[Vec<Verdict>],
        missing: &[NotJudged],
    ) -> Self {
        let mut causes: BTreeMap<Cause, Grade> = BTreeMap::new();
        for (key, group) in groups {
            let all =
                group.iter().flat_map(|(&v, places)| places.iter().map(move |&place| &verdicts[v][place]));
            if let Some(gravest) = all.filter_map(grade).min() {
                causes.insert(cause(key), gravest);
            }
        }
        let open = variants.iter().zip(verdicts).flat_map(|(variant, verdicts)| {
            let open = verdicts.iter().filter(|one| matches!(one.outcome, Outcome::NotJudged(_)));
            open.map(move |one| cause(&Key::of(one, variant)))
        });
        let missing = missing.iter().map(|one| one.missing.clone()).collect();
        Self { causes, missing, open: open.collect() }
    }

    /// Whether nothing of it is new or graver beside another, but for notes, for what could not be judged there, and for what is found
    /// of the entries themselves that a slip names.
    fn is_within(&self, other: &Self, slip: &Slip) -> bool {
        let was = |cause: &Cause, grade: Grade| other.causes.get(cause).is_some_and(|own| *own <= grade);
        let was_open = |(check, defect, stage, _): &Cause| {
            let is_it = |one: &Cause| (one.0, one.1, &one.2) == (*check, *defect, stage);
            other.open.iter().any(is_it)
        };
        let is_named = |(.., stage, _): &Cause| {
            slip.moves.len() > 1 && slip.moves.iter().any(|one| [&one.entry, &one.word].contains(&stage))
        };
        let mut causes = self.causes.iter();
        self.missing.is_subset(&other.missing)
            && causes.all(|(cause, grade)| {
                *grade == Grade::Note || was(cause, *grade) || was_open(cause) || is_named(cause)
            })
    }

    /// What another does not have.
    fn new_beside(&self, other: &Self) -> Vec<String> {
        let new = self.causes.iter().filter(|(cause, _)| !other.causes.contains_key(*cause));
        let words = new.map(|((check, defect, stage, _), grade)| {
            let what = if *grade == Grade::Note { "a note comes" } else { "then found" };
            format!("{what}: {check} of {stage}, {defect}")
        });
        words.collect()
    }
}

fn grade(verdict: &Verdict) -> Option<Grade> {
    match verdict.outcome {
        Outcome::Fails { grade, .. } => Some(grade),
        Outcome::Holds(_) | Outcome::NotJudged(_) => None,
    }
}

/// The unit with a word put right, solved and judged; nothing where a check breaks down over it.
fn put_right(described: &Described<'_, '_>, slip: &Slip) -> Option<Standing> {
    let solved: Vec<Solved<'_>> = slip.variants.iter().map(Solved::new).collect();
    let Judged { mut verdicts, broken, .. } = judge(described.checks, &solved);
    for (solved, verdicts) in solved.iter().zip(&mut verdicts) {
        explain_missing(verdicts, solved);
    }
    let missing = not_judged(&slip.variants, &verdicts, &mut []);
    let groups = groups(&slip.variants, &verdicts);
    broken.is_empty().then(|| Standing::of(&slip.variants, &groups, &verdicts, &missing))
}

/// Takes out of a ranking what slips bring: of several suspicions the one that explains most. `missing` is all that is missing.
pub(super) fn followed<'u, 'a>(
    unit: &'u Unit,
    described: &Described<'_, '_>,
    ranked: &mut Vec<Ranked<'a>>,
    missing: &[NotJudged],
) -> Vec<Followed<'u, 'a>> {
    let is_open = |one: &Ranked<'_>| one.permit.is_none();
    if unit.slips.is_empty() || !ranked.iter().any(is_open) {
        return Vec::new();
    }
    let groups = groups(&unit.variants, described.verdicts);
    let now = Standing::of(&unit.variants, &groups, described.verdicts, missing);
    // What a finding tells with itself is no second one.
    let mut open = not_judged(&unit.variants, described.verdicts, &mut kept_open(described, ranked));
    let all = unit.slips.iter().filter_map(|slip| Some((slip, put_right(described, slip)?)));
    let mut all: Vec<(&Slip, Standing)> = all.filter(|(slip, then)| then.is_within(&now, slip)).collect();
    let mut found = Vec::new();
    loop {
        let goes =
            |one: &Ranked<'_>, then: &Standing| is_open(one) && !then.causes.contains_key(&cause(&one.key));
        let count = |(_, then): &(&Slip, Standing)| {
            let gone = ranked.iter().filter(|one| goes(one, then)).count();
            let missing = open.iter().filter(|one| !then.missing.contains(&one.missing)).count();
            // What comes instead weighs against it.
            let comes = then
                .causes
                .iter()
                .filter(|(cause, grade)| **grade != Grade::Note && !now.causes.contains_key(*cause));
            if gone == 0 { 0 } else { (gone + missing).saturating_sub(comes.count()) }
        };
        // The first of equals.
        let best = all.iter().enumerate().map(|(place, one)| (count(one), Reverse(place))).max();
        let Some((_, Reverse(place))) = best.filter(|(count, _)| LEAST <= *count) else { return found };
        let (slip, then) = all.remove(place);
        let (kept, without): (Vec<NotJudged>, _) =
            open.into_iter().partition(|one| then.missing.contains(&one.missing));
        open = kept;
        let (gone, kept) = core::mem::take(ranked).into_iter().partition(|one| goes(one, &then));
        *ranked = kept;
        let missing = without.into_iter().map(|one: NotJudged| one.missing).collect();
        let no_longer_missing = now.missing.difference(&then.missing).cloned().collect();
        found.push(Followed { slip, gone, missing, no_longer_missing, notes: then.new_beside(&now) });
    }
}

impl Followed<'_, '_> {
    /// One finding for all that comes of it.
    pub(super) fn finding(
        &self,
        unit: &Unit,
        described: &Described<'_, '_>,
        broken: &mut Vec<super::BrokenCheck>,
    ) -> Finding {
        let own = findings(unit, described, &self.gone, Default::default(), broken);
        let moves = &self.slip.moves;
        let defect = if moves.len() == 1 { ONE_KEY } else { EXCHANGED };
        let part = moves[0].entry.clone();
        let told = own.iter().take(MOST_TOLD).map(|one| format!("{}: {}", one.check, one.saying));
        let mut facts = vec![said(self.slip)];
        facts.extend(told);
        if MOST_TOLD < own.len() {
            facts.push(format!("and {} more", own.len() - MOST_TOLD));
        }
        facts.extend(self.missing.iter().map(|what| format!("not judged because of it: {what}")));
        let count = match own.len() {
            1 => "a finding comes of it, and goes with it put right".to_owned(),
            many => format!("{many} findings come of it, and go with it put right"),
        };
        let mut places = moves.iter().map(place);
        let variant_name = unit.variants[self.slip.variant].name.clone();
        Finding {
            check: NAME,
            defect,
            grade: own.iter().map(|one| one.grade).min().unwrap_or(Grade::Minor),
            fingerprint: fingerprint(NAME, &part, defect),
            part,
            variant: self.slip.variant,
            variant_name: variant_name.filter(|_| !self.slip.is_everywhere),
            verdict: None,
            duty: None,
            corner: None,
            saying: format!("{}: {count}", said(self.slip)),
            comparison: None,
            facts,
            largest_share: None,
            at: places.next().unwrap_or_else(|| Place { node: own[0].at.node, label: String::new() }),
            because: places.collect(),
            also: Vec::new(),
            also_parts: 0,
            also_in: Vec::new(),
            elsewhere: Vec::new(),
            worked: Vec::new(),
            proposals: vec![self.held()],
            no_proposal: None,
            estimate: Vec::new(),
            permit: None,
            permits_beside: Vec::new(),
        }
    }

    fn held(&self) -> Held {
        let moves = &self.slip.moves;
        let change = |one: &Move| format!("{} of {}: {} -> {}", one.key, one.entry, one.word, one.meant);
        Held {
            judged_by: JudgedBy::AllChecks,
            say: moves.iter().map(change).collect::<Vec<_>>().join(", "),
            set: moves.iter().map(setting).collect(),
            leaves: "nothing that comes of it".to_owned(),
            side_effects: self.notes.clone(),
        }
    }
}

fn place(one: &Move) -> Place {
    Place { node: one.word_at, label: format!("fits with {}", one.meant) }
}

/// The slip in a few words.
fn said(slip: &Slip) -> String {
    match (slip.moves.as_slice(), &slip.exchanged) {
        (_, Some([one, other])) => format!("`{one}` and `{other}` are exchanged"),
        ([one], _) => {
            format!("`{}` of `{}` is {}, and all else fits with {}", one.key, one.entry, one.word, one.meant)
        }
        ([one, other], _) if one.entry == other.entry => {
            format!("`{}` and `{}` of `{}` are exchanged", one.key, other.key, one.entry)
        }
        (many, _) => {
            let names: Vec<String> = many.iter().map(|one| format!("`{}`", one.entry)).collect();
            format!("`{}` of {} are exchanged", many[0].key, names.join(" and "))
        }
    }
}

fn setting(one: &Move) -> Setting {
    Setting { path: one.path.clone(), written: one.then.clone(), instead_of: Some(one.at) }
}
