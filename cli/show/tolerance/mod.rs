//! Headrooms within tolerances, for each comparison of each part where its worst case is worst.

pub(crate) mod csv;
pub(crate) mod terminal;

use std::collections::BTreeMap;

use loadworthy_checks::Review;
use loadworthy_checks::tolerance::{By, Left, Shifts, Tolerance, Varied, tolerance};
use loadworthy_checks::verdict::Verdict;
use loadworthy_unit::{Unit, Variant};

use super::stress::Stresses;
use super::stress::duty_of;

/// What was found of the variants that were asked for.
pub(crate) struct Tolerances<'u> {
    /// Each variant with what was varied in it.
    pub(crate) variants: Vec<(&'u Variant, Tolerance)>,
    /// Every comparison that was asked for, worst case first.
    pub(crate) all: Vec<Row<'u>>,
}

/// A comparison within tolerances.
#[derive(Clone)]
pub(crate) struct Row<'u> {
    pub(crate) variant: &'u Variant,
    pub(crate) verdict: &'u Verdict,
    pub(crate) shifts: Shifts,
    /// Place of its variant among those that were asked for.
    place: usize,
}

impl<'u> Tolerances<'u> {
    pub(crate) fn of(unit: &'u Unit, review: &'u Review, asked: &[usize], stresses: &Stresses<'u>) -> Self {
        let found = |&place: &usize| {
            let verdicts = review.verdicts.get(place).map_or(&[] as &[Verdict], Vec::as_slice);
            Some((unit.variants.get(place)?, tolerance(unit, place, verdicts)))
        };
        let variants: Vec<(&Variant, Tolerance)> = asked.iter().filter_map(found).collect();
        let mut all = Vec::new();
        for &(variant, verdict, _) in &stresses.verdicts {
            let place = variants.iter().position(|(own, _)| std::ptr::eq(*own, variant));
            let Some((place, shifts)) = place.and_then(|place| Some((place, variants[place].1.of(verdict)?)))
            else {
                continue;
            };
            all.push(Row { variant, verdict, shifts: shifts.clone(), place });
        }
        all.sort_by(|one, other| one.rank().total_cmp(&other.rank()));
        Self { variants, all }
    }

    /// For each comparison of each part the one whose worst case is worst.
    pub(crate) fn worst(&self) -> Vec<&Row<'u>> {
        let mut seen: BTreeMap<(&str, &str, &str), ()> = BTreeMap::new();
        let own = |row: &&Row<'u>| {
            let verdict = row.verdict;
            seen.insert((row.variant.path(verdict.part), verdict.check, verdict.defect), ()).is_none()
        };
        self.all.iter().filter(own).collect()
    }

    /// What takes most from a headroom, at most three.
    pub(crate) fn takers<'s>(&'s self, row: &Row<'u>) -> Vec<(&'s Varied, f64, bool)> {
        let varied = &self.variants[row.place].1.varied;
        let takes = row.shifts.takes.iter().take(3);
        takes.map(|taken| (&varied[taken.varied], taken.takes, taken.at_high)).collect()
    }

    /// Ends of values at which a comparison cannot be judged.
    pub(crate) fn unknown<'s>(&'s self, row: &Row<'u>) -> impl Iterator<Item = (&'s Varied, bool)> {
        let varied = &self.variants[row.place].1.varied;
        row.shifts.unknown.clone().into_iter().map(|one| (&varied[one.varied], one.at_high))
    }

    /// Everything that was varied in some variant, each once.
    pub(crate) fn varied(&self, by: By) -> Vec<&Varied> {
        let mut all: Vec<&Varied> = Vec::new();
        for one in self.variants.iter().flat_map(|(_, tolerance)| &tolerance.varied) {
            if one.by == by && !all.iter().any(|known| known.path == one.path) {
                all.push(one);
            }
        }
        all
    }

    /// Whether every worst case is known.
    pub(crate) fn are_complete(&self) -> bool {
        let is_broken = |(_, tolerance): &(&Variant, Tolerance)| !tolerance.broken.is_empty();
        !self.variants.iter().any(is_broken) && !self.all.iter().any(Row::is_open)
    }
}

impl Row<'_> {
    /// Whether its worst case is not known.
    fn is_open(&self) -> bool {
        !self.shifts.unknown.is_empty() || self.shifts.solved == Left::NotJudged
    }

    /// The worst case on one scale; what is not known follows on what fails.
    fn rank(&self) -> f64 {
        let is_in_kelvin = self.verdict.comparison().is_some_and(|compared| compared.is_in_kelvin());
        let scale = if is_in_kelvin { 0.01 } else { 1.0 };
        let rank = match self.shifts.solved {
            Left::Headroom(solved) => solved * scale,
            Left::Unsolved => f64::NEG_INFINITY,
            Left::NotJudged => 0.0,
            // What goes away is as it stands.
            Left::Nothing => self.shifts.headroom * scale,
        };
        if self.is_open() { rank.min(0.0) } else { rank }
    }

    pub(crate) fn duty(&self) -> &str {
        duty_of(self.variant, self.verdict).unwrap_or("every duty point")
    }
}

/// What is left of a comparison, as programs read it.
pub(crate) const fn left_word(left: Left) -> &'static str {
    match left {
        Left::Headroom(_) => "headroom",
        Left::Unsolved => "no_solution",
        Left::NotJudged => "not_judged",
        Left::Nothing => "nothing",
    }
}
