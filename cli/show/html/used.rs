//! How much of what is allowed each part of a drawing uses in a duty point, from the verdicts of a review.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Bound;

use loadworthy_checks::figure_text;
use loadworthy_checks::verdict::{Comparison, Fault, Grade, Outcome, Verdict};
use loadworthy_unit::Variant;

use super::markup::Markup;
use super::numbers::{Number, Numbers, entry_of};
use super::svg::{self, Label, NAME, SMALL};

/// Headroom, as a rank, below which little is left.
const LITTLE: f64 = 0.1;

/// How something stands to what is allowed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Standing {
    /// More is carried than is allowed, or the structure is wrong.
    Over,
    /// Something could not be judged.
    Open,
    /// Little is left: below ten per cent, or ten kelvin.
    Little,
    /// More is left.
    Enough,
}

impl Standing {
    /// The mark that says it without colour.
    pub(crate) const fn mark(self) -> &'static str {
        match self {
            Self::Over => "✕",
            Self::Open => "?",
            Self::Little => "△",
            Self::Enough => "○",
        }
    }
}

/// The worst that is said of an entry.
#[derive(Clone, Debug)]
pub(crate) struct Used {
    rank: f64,
    pub(crate) standing: Standing,
    /// Share of what is allowed that is used, where one is compared; temperatures within the last 100 K.
    pub(crate) share: Option<f64>,
    /// Such as `7.9 K over`.
    pub(crate) says: String,
    /// What is carried.
    pub(crate) carried: String,
    /// The whole path of the part.
    pub(crate) path: String,
    /// The part within the entry, such as `high_side.u.diode`; empty where it is the entry itself.
    pub(crate) within: String,
    /// What is compared, such as `junction temperature`.
    pub(crate) figure: String,
    /// Findings about it.
    pub(crate) numbers: Vec<Number>,
}

/// Share of what is allowed that a comparison uses; nothing is allowed where there is none.
pub(crate) fn share(compared: &Comparison) -> Option<f64> {
    Some(1.0 - compared.rank()).filter(|share| share.is_finite())
}

/// How a verdict stands.
pub(crate) fn standing(verdict: &Verdict) -> Standing {
    match &verdict.outcome {
        Outcome::Fails { grade: Grade::Note, .. } => Standing::Little,
        Outcome::Fails { .. } => Standing::Over,
        Outcome::NotJudged(_) => Standing::Open,
        Outcome::Holds(Some(compared)) if compared.rank() < LITTLE => Standing::Little,
        Outcome::Holds(_) => Standing::Enough,
    }
}

impl Used {
    fn of(variant: &Variant, verdict: &Verdict) -> Option<Self> {
        let compared = verdict.comparison();
        let path = variant.path(verdict.part);
        let within = path.split_once('.').map_or("", |(_, within)| within);
        let figure = match compared {
            Some(compared) => variant.tables.figure_of(compared.carried).name.replace('_', " "),
            None => verdict.defect.replace('-', " "),
        };
        let says = match (&verdict.outcome, compared) {
            (Outcome::NotJudged(_), _) => "not judged".to_owned(),
            (_, Some(compared)) => figure_text::left_or_over(compared),
            (Outcome::Fails { fault: Fault::Unsolved { .. }, .. }, None) => "no solution".to_owned(),
            (Outcome::Fails { .. }, None) => figure.clone(),
            (Outcome::Holds(_), None) => return None,
        };
        let standing = standing(verdict);
        let rank = match (&verdict.outcome, standing) {
            (_, Standing::Open) => 0.0,
            // What is worth knowing stands behind every figure of which little is left.
            (Outcome::Fails { grade: Grade::Note, .. }, _) => LITTLE,
            _ => verdict.rank(),
        };
        let carried = compared.map_or_else(String::new, |compared| figure_text::comparison(compared).carried);
        let (path, within) = (path.to_owned(), within.to_owned());
        let share = compared.and_then(share);
        Some(Self { rank, standing, share, says, carried, path, within, figure, numbers: Vec::new() })
    }

    /// Where it is drawn: a bar over the whole width that is filled as far as used, and what it says below.
    pub(crate) fn draw(&self, out: &mut Markup, (x, y): (f64, f64), width: f64) {
        let filled = width * self.share.unwrap_or(1.0).clamp(0.0, 1.0);
        svg::rect(out, "track", (x, y), (width, 7.0));
        if self.share.is_some() || self.standing == Standing::Over {
            let class = match self.standing {
                Standing::Over => "fill over",
                Standing::Little => "fill little",
                Standing::Open | Standing::Enough => "fill enough",
            };
            svg::rect(out, class, (x, y), (filled, 7.0));
        }
        let class = match self.standing {
            Standing::Over => "s over",
            Standing::Little => "s little",
            Standing::Open | Standing::Enough => "s",
        };
        Label::small(width).class(class).put(out, (x, y + 21.0), &self.short());
        if self.is_told() {
            let what = if self.within.is_empty() { &self.figure } else { &self.within };
            Label::small(width).class("s soft").put(out, (x, y + 36.0), what);
        }
    }

    /// Height of that.
    pub(crate) fn height(&self) -> f64 {
        if self.is_told() { 42.0 } else { 26.0 }
    }

    /// Whether the part that is worst is named where it is drawn.
    fn is_told(&self) -> bool {
        self.standing != Standing::Enough
    }

    /// Whether it leaves less.
    pub(crate) fn is_worse_than(&self, other: &Self) -> bool {
        (self.standing == Standing::Over, -self.rank) > (other.standing == Standing::Over, -other.rank)
    }

    /// Mark and words.
    pub(crate) fn short(&self) -> String {
        format!("{} {}", self.standing.mark(), self.says)
    }

    /// The part and what of it is compared.
    pub(crate) fn what(&self) -> String {
        if self.within.is_empty() { self.figure.clone() } else { format!("{}: {}", self.within, self.figure) }
    }

    /// Room that it asks for.
    pub(crate) fn width(&self) -> f64 {
        svg::width(&self.short(), SMALL) + NAME
    }
}

/// What every entry of a variant uses in a duty point.
pub(crate) struct Uses<'u> {
    by_entry: BTreeMap<&'u str, Used>,
    by_path: BTreeMap<&'u str, Used>,
    hottest: BTreeMap<&'u str, Used>,
}

impl<'u> Uses<'u> {
    /// Of the verdicts that are so in a duty point, whatever is asked included.
    pub(crate) fn of(
        variant: &'u Variant,
        verdicts: &[Verdict],
        duty: Option<usize>,
        numbers: &Numbers<'_>,
    ) -> Self {
        // Chokes and transformers are drawn with the stage that uses them.
        let mut within: BTreeMap<&str, &str> = BTreeMap::new();
        for stage in &variant.plan.stages {
            for magnetic in &stage.magnetics {
                let part = variant.path(variant.plan.magnetics[*magnetic].part);
                within.entry(entry_of(part)).or_insert_with(|| entry_of(variant.path(stage.part)));
            }
        }
        let mut this = Self { by_entry: BTreeMap::new(), by_path: BTreeMap::new(), hottest: BTreeMap::new() };
        for verdict in verdicts {
            if verdict.duty().is_some_and(|own| Some(own.index()) != duty) {
                continue;
            }
            let Some(used) = Used::of(variant, verdict) else { continue };
            let number = numbers.number(variant, verdict);
            let path = variant.path(verdict.part);
            let own = entry_of(path);
            if verdict.comparison().is_some_and(|compared| compared.is_in_kelvin()) {
                note(&mut this.hottest, path, used.clone(), number);
            }
            let entry = within.get(own).copied().unwrap_or(own);
            note(&mut this.by_entry, entry, used.clone(), number);
            note(&mut this.by_path, path, used, number);
        }
        this
    }

    /// The worst of an entry and all its parts.
    pub(crate) fn entry(&self, name: &str) -> Option<&Used> {
        self.by_entry.get(name)
    }

    /// The worst of one part alone.
    pub(crate) fn path(&self, path: &str) -> Option<&Used> {
        self.by_path.get(path)
    }

    /// The temperature of a part or of what belongs to it that is nearest to what is allowed.
    pub(crate) fn hottest(&self, path: &str) -> Option<&Used> {
        let mut worst: Option<&Used> = None;
        for (own, used) in self.hottest.range::<str, _>((Bound::Included(path), Bound::Unbounded)) {
            let Some(rest) = own.strip_prefix(path) else { break };
            let belongs = rest.is_empty() || rest.starts_with('.');
            if belongs && worst.is_none_or(|known| used.is_worse_than(known)) {
                worst = Some(used);
            }
        }
        worst
    }

    /// Findings about entries other than these.
    pub(crate) fn elsewhere(&self, drawn: &BTreeSet<&str>) -> Vec<(&'u str, Number)> {
        let others = self.by_entry.iter().filter(|(entry, _)| !drawn.contains(*entry));
        let mut all: Vec<_> =
            others.flat_map(|(entry, used)| used.numbers.iter().map(|number| (*entry, *number))).collect();
        all.sort_by_key(|(_, number)| *number);
        all
    }
}

fn note<'u>(map: &mut BTreeMap<&'u str, Used>, key: &'u str, used: Used, number: Option<Number>) {
    use std::collections::btree_map::Entry;
    let known = match map.entry(key) {
        Entry::Vacant(free) => free.insert(used),
        Entry::Occupied(known) => {
            let known = known.into_mut();
            if used.is_worse_than(known) {
                let numbers = std::mem::take(&mut known.numbers);
                *known = Used { numbers, ..used };
            }
            known
        }
    };
    if let Some(number) = number
        && !known.numbers.contains(&number)
    {
        known.numbers.push(number);
    }
}
