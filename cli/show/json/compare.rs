//! A comparison as JSON. The form only grows: a key that is there keeps its meaning.

use loadworthy_checks::compare as checked;
use loadworthy_language::difference::{Change, ChangeKind, Stated};
use loadworthy_source::Tree;
use schemars::JsonSchema;
use serde::Serialize;

use super::review::{ComparedShown, FindingShown, ProblemShown};
use super::{Quantity, quantity, text};
use crate::arguments;
use crate::compared::{Compared, Side};
use crate::reviewed::Made;
use crate::show::compare::said::{self, Turned};
use crate::show::places::{self, Place};
use crate::show::terminal::CAUTION;

const FORM: &str = "loadworthy-compare";
const VERSION: u32 = 1;

/// A comparison.
#[derive(Serialize, JsonSchema)]
pub(super) struct Form<'c> {
    /// The name of this form.
    form: &'static str,
    /// The version of this form; it changes only where a key changes its meaning.
    version: u32,
    /// The program and its version.
    program: &'static str,
    /// The exit code of the run.
    exit: u8,
    /// Whether only what the change made worse decides the exit code.
    only_worse: bool,
    /// What a comparison never is.
    caution: &'static str,
    /// The side that was.
    old: SideShown<'c>,
    /// The side that is.
    new: SideShown<'c>,
    /// What changed, and what that does; null where a side could not be read in full.
    comparison: Option<Comparison<'c>>,
}

#[derive(Serialize, JsonSchema)]
struct SideShown<'c> {
    /// The name of the side: file, revision or variant.
    name: &'c str,
    /// Why it could not be read; absent where it could.
    #[serde(skip_serializing_if = "Option::is_none")]
    unreadable: Option<&'c str>,
    /// What is wrong with the description.
    problems: Vec<ProblemShown>,
    /// How its verdicts ended; null where it could not be read.
    counts: Option<Counts>,
}

#[derive(Serialize, JsonSchema)]
struct Counts {
    /// Verdicts that hold.
    hold: usize,
    /// Verdicts that fail.
    fail: usize,
    /// Of those that fail, how many a permit accepts.
    accepted: usize,
    /// Verdicts that could not be given.
    not_judged: usize,
}

#[derive(Serialize, JsonSchema)]
struct Comparison<'c> {
    /// `worse`, `less judged`, `better`, `no worse` or `no change`.
    verdict: &'static str,
    /// Entries that have another name.
    renames: Vec<Rename<'c>>,
    /// What the descriptions say differently.
    changes: Vec<ChangeShown<'c>>,
    /// What became of the findings.
    findings: Vec<FindingTurn>,
    /// Inputs that are missing now and were not, or the other way.
    not_judged: Vec<Unjudged<'c>>,
    /// What became of headrooms that moved, the greatest loss first.
    headrooms: Vec<HeadroomTurn<'c>>,
    /// How many headrooms did not move.
    headrooms_unchanged: usize,
}

#[derive(Serialize, JsonSchema)]
struct Rename<'c> {
    /// The section of the entry.
    section: &'c str,
    /// Its name before.
    old: &'c str,
    /// Its name now.
    new: &'c str,
}

#[derive(Serialize, JsonSchema)]
struct ChangeShown<'c> {
    /// `added`, `removed`, `renamed`, `changed`, `stated`, `not-stated`, `reordered` or `items`.
    kind: &'static str,
    /// The path in the new description, or in the old one where it is gone.
    path: &'c str,
    /// What was stated; null where nothing was.
    old: Option<StatedShown<'c>>,
    /// What is stated; null where nothing is.
    new: Option<StatedShown<'c>>,
    /// Items that a list has now; absent where it is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    gained: Option<&'c [String]>,
    /// Items that a list had; absent where it is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    lost: Option<&'c [String]>,
    /// Whether only who says it is another, and no amount.
    same_amount: bool,
}

#[derive(Serialize, JsonSchema)]
struct StatedShown<'c> {
    /// How it is written; absent where a default stands in.
    written: Option<&'c str>,
    /// Whether a default of the edition stands in.
    assumed: bool,
    /// The same as a number with its unit; null where it is none.
    amount: Option<Quantity>,
    /// Where it stands; null for a default.
    at: Option<Place>,
}

#[derive(Serialize, JsonSchema)]
struct FindingTurn {
    /// `new`, `no longer accepted`, `worse`, `new, accepted`, `unchanged`, `better`, `now accepted`, `no longer judged` or `gone`.
    turn: &'static str,
    /// Whether the change made something worse that no permit accepts.
    counts: bool,
    /// The finding before; null where there was none.
    old: Option<FindingShown>,
    /// The finding now; null where there is none.
    new: Option<FindingShown>,
}

#[derive(Serialize, JsonSchema)]
struct Unjudged<'c> {
    /// Whether it is missing now; otherwise it was missing before.
    new: bool,
    /// What is missing.
    missing: &'c str,
    /// Where it would stand.
    paths: &'c [String],
    /// How many verdicts wait for it.
    verdicts: usize,
    /// The checks that wait for it.
    checks: &'c [&'static str],
}

#[derive(Serialize, JsonSchema)]
struct HeadroomTurn<'c> {
    /// `no longer judged`, `fell`, `new`, `now judged`, `rose` or `gone`.
    turn: &'static str,
    /// The name of the check.
    check: &'static str,
    /// What would be wrong, in one word of the check.
    defect: &'static str,
    /// The path of the part.
    part: &'c str,
    /// Its path before; null where it is the same.
    former_part: Option<&'c str>,
    /// The worst comparison before; null where there was none.
    old: Option<Headroom<'c>>,
    /// The worst comparison now; null where there is none.
    new: Option<Headroom<'c>>,
    /// What is lost of what is allowed, of temperatures in hundreds of kelvin; negative where it is gained.
    loss: Option<f64>,
}

#[derive(Serialize, JsonSchema)]
struct Headroom<'c> {
    /// What is compared, in words.
    figure: &'static str,
    /// What is carried and what is allowed; null where it is not judged.
    comparison: Option<ComparedShown>,
    /// The duty point; null where it is so whatever is asked.
    duty_point: Option<&'c str>,
    /// The corner of the duty point; null where it has but one.
    corner: Option<&'c str>,
    /// The variant; null where the unit has no named variants.
    variant: Option<&'c str>,
}

/// A comparison with everything in it.
pub(crate) fn comparison(compared: &Compared, asked: &arguments::Compare) -> String {
    let form = Form {
        form: FORM,
        version: VERSION,
        program: concat!("loadworthy ", env!("CARGO_PKG_VERSION")),
        exit: compared.outcome.number(),
        only_worse: asked.only_worse,
        caution: CAUTION,
        old: SideShown::of(&compared.old),
        new: SideShown::of(&compared.new),
        comparison: Comparison::of(compared),
    };
    text(&form)
}

impl<'c> SideShown<'c> {
    fn of(side: &'c Side) -> Self {
        let made = side.made.as_ref();
        let problems = made.ok().map(|made| {
            made.described
                .problems
                .iter()
                .map(|problem| ProblemShown::of(&made.described.tree, problem))
                .collect()
        });
        Self {
            name: &side.name,
            unreadable: made.err().map(String::as_str),
            problems: problems.unwrap_or_default(),
            counts: made.ok().map(|made| {
                let counts = made.review.counts;
                Counts {
                    hold: counts.hold,
                    fail: counts.fail,
                    accepted: counts.accepted,
                    not_judged: counts.not_judged,
                }
            }),
        }
    }
}

impl<'c> Comparison<'c> {
    fn of(compared: &'c Compared) -> Option<Self> {
        let change = compared.change.as_ref()?;
        let (old, new) = (compared.old.whole()?, compared.new.whole()?);
        let effects = &change.effects;
        let rename = |one: &'c loadworthy_language::difference::Rename| Rename {
            section: &one.section,
            old: &one.from,
            new: &one.to,
        };
        Some(Self {
            verdict: said::verdict(change),
            renames: change.difference.renames.iter().map(rename).collect(),
            changes: change.difference.changes.iter().map(|one| ChangeShown::of(one, old, new)).collect(),
            findings: effects.findings.iter().filter_map(|one| FindingTurn::of(compared, one)).collect(),
            not_judged: effects.unjudged.iter().filter_map(|one| Unjudged::of(one, old, new)).collect(),
            headrooms: effects.headrooms.iter().map(|one| HeadroomTurn::of(one, old, new)).collect(),
            headrooms_unchanged: effects.headrooms_unchanged,
        })
    }
}

impl<'c> ChangeShown<'c> {
    fn of(change: &'c Change, old: &Made, new: &Made) -> Self {
        let (kind, items) = match &change.kind {
            ChangeKind::Added => ("added", None),
            ChangeKind::Removed => ("removed", None),
            ChangeKind::Renamed { .. } => ("renamed", None),
            ChangeKind::Value => ("changed", None),
            ChangeKind::Stated => ("stated", None),
            ChangeKind::Unstated => ("not-stated", None),
            ChangeKind::Order => ("reordered", None),
            ChangeKind::Items { gained, lost } => ("items", Some((gained.as_slice(), lost.as_slice()))),
        };
        let stated = |stated: &'c Option<Stated>, tree: &Tree| {
            let stated = stated.as_ref()?;
            Some(StatedShown {
                written: stated.written.as_deref(),
                assumed: stated.is_assumed(),
                amount: stated.amount.and_then(|(dimension, value)| quantity(value, dimension)),
                at: stated.at.map(|at| places::of_node(tree, at)),
            })
        };
        Self {
            kind,
            path: &change.path,
            old: stated(&change.old, &old.described.tree),
            new: stated(&change.new, &new.described.tree),
            gained: items.map(|(gained, _)| gained),
            lost: items.map(|(_, lost)| lost),
            same_amount: change.keeps_the_amount(),
        }
    }
}

impl FindingTurn {
    fn of(compared: &Compared, change: &checked::FindingChange) -> Option<Self> {
        let turned = Turned::of(compared, change)?;
        let (old, new) = (compared.old.whole()?, compared.new.whole()?);
        Some(Self {
            turn: change.turn.words(),
            counts: change.counts(),
            old: turned.old.map(|finding| FindingShown::of(&old.described, finding)),
            new: turned.new.map(|finding| FindingShown::of(&new.described, finding)),
        })
    }
}

impl<'c> Unjudged<'c> {
    fn of(change: &'c checked::UnjudgedChange, old: &'c Made, new: &'c Made) -> Option<Self> {
        let review = if change.is_new { &new.review } else { &old.review };
        let missing = review.not_judged.get(change.place)?;
        Some(Self {
            new: change.is_new,
            missing: &missing.missing,
            paths: &change.paths,
            verdicts: missing.verdicts,
            checks: &missing.checks,
        })
    }
}

impl<'c> HeadroomTurn<'c> {
    fn of(change: &'c checked::HeadroomChange, old: &Made, new: &Made) -> Self {
        let headroom = |of: &'c Option<checked::Headroom>, made: &Made| {
            let of = of.as_ref()?;
            let variant = made.described.unit.variants.get(of.verdict.0);
            let verdict = made.review.verdicts.get(of.verdict.0).and_then(|all| all.get(of.verdict.1));
            Some(Headroom {
                figure: of.figure,
                comparison: variant.zip(verdict).map(|(variant, verdict)| {
                    ComparedShown::of(&made.described.tree, variant, verdict.duty(), &of.comparison)
                }),
                duty_point: of.duty.as_deref(),
                corner: of.corner.as_deref(),
                variant: of.variant_name.as_deref(),
            })
        };
        Self {
            turn: change.turn.words(),
            check: change.check,
            defect: change.defect,
            part: &change.part,
            former_part: change.former_part.as_deref(),
            old: headroom(&change.old, old),
            new: headroom(&change.new, new),
            loss: Some(change.loss).filter(|loss| loss.is_finite()),
        }
    }
}
