//! The largest load over a condition, ready to be shown: what limits is keyed by letters.

pub(crate) mod csv;
pub(crate) mod svg;
pub(crate) mod terminal;

use std::collections::BTreeSet;

use loadworthy_checks::capability::{self, Anyway, Curve, Limit, MOST, Point, Question, Way};
use loadworthy_checks::figure_text::{self, value};
use loadworthy_unit::{Dimension, Permit, Variant};

use crate::permits::Day;
use crate::show::layout::free_text;

/// Curves of the variants that were asked for.
pub(crate) struct Capability<'u> {
    /// The stage or load, as it was asked for.
    pub(crate) stage: String,
    /// What varies.
    pub(crate) over: String,
    /// A curve for each variant.
    pub(crate) drawn: Vec<Drawn<'u>>,
    /// The day that permits were held against; none without permits.
    pub(crate) day: Option<Day>,
}

/// The curve of one variant.
pub(crate) struct Drawn<'u> {
    pub(crate) variant: &'u Variant,
    pub(crate) question: Question<'u>,
    pub(crate) curve: Curve,
    /// What limits, each once, in the order in which it does.
    pub(crate) limits: Vec<Limit>,
}

impl Capability<'_> {
    /// Whether everything was judged that could limit.
    pub(crate) fn is_complete(&self) -> bool {
        let is_judged = |point: &Point| {
            !matches!(&point.limit, Some(Limit { way: Way::NotJudged(_) | Way::Undecided, .. }))
        };
        let is_complete = |one: &Drawn<'_>| {
            one.curve.open.is_empty() && one.curve.broken.is_empty() && one.curve.points.iter().all(is_judged)
        };
        !self.drawn.is_empty() && self.drawn.iter().all(is_complete)
    }
}

impl<'u> Drawn<'u> {
    pub(crate) fn of(variant: &'u Variant, question: Question<'u>) -> Self {
        let curve = capability::curve(&question);
        let mut limits: Vec<Limit> = Vec::new();
        for limit in curve.points.iter().filter_map(|point| point.limit.as_ref()) {
            if !limits.iter().any(|known| is_same(known, limit)) {
                limits.push(limit.clone());
            }
        }
        Self { variant, question, curve, limits }
    }

    pub(crate) fn duty(&self) -> &'u str {
        &self.variant.duties[self.question.duty.index()].name
    }

    pub(crate) fn dimension(&self) -> Dimension {
        self.variant.tables.input_of(self.question.condition.input).dimension
    }

    /// A value of the condition in text, with enough digits to tell it from its neighbours.
    pub(crate) fn at(&self, at: f64) -> String {
        let all = &self.question.at;
        let step = (all[all.len() - 1] - all[0]) / (all.len() - 1).max(1) as f64;
        let digits = figure_text::digits_to_tell(at, at + step, self.dimension()).max(3);
        figure_text::with_digits(at, self.dimension(), digits)
    }

    /// The largest load, where all that is scaled is of one kind.
    pub(crate) fn load(&self, point: &Point) -> Option<(f64, Dimension)> {
        let (sum, dimension) = self.question.demand.sum?;
        Some((point.factor? * sum, dimension))
    }

    /// What is asked, each number by its name in the duty point.
    pub(crate) fn asked(&self) -> String {
        let tables = &self.variant.tables;
        let one = |&(input, asked): &(_, f64)| {
            let input = tables.input_of(input);
            let name = input.path.strip_prefix("duty.*.").unwrap_or(&input.path);
            format!("{} {}", free_text(name), value(asked, input.dimension))
        };
        self.question.demand.asked.iter().map(one).collect::<Vec<_>>().join(", ")
    }

    /// Permits that accept failures at the largest loads, each once, in the order of the file.
    pub(crate) fn accepted(&self) -> Vec<&'u Permit> {
        let places: BTreeSet<usize> =
            self.curve.points.iter().flat_map(|point| point.accepted.iter().copied()).collect();
        places.into_iter().map(|place| &self.question.unit.permits[place]).collect()
    }

    /// What fails at any load, in lines.
    pub(crate) fn anyway(&self) -> Vec<String> {
        let one = |one: &Anyway| {
            let (what, part) = (one.defect.replace('-', " "), free_text(self.variant.path(one.part)));
            format!(
                "at any load, at none as well: {what} at {part} ({}); what follows holds beside it",
                one.check
            )
        };
        self.curve.anyway.iter().map(one).collect()
    }

    /// How long the duty point may last as it asks, in a sentence, where that varies.
    pub(crate) fn longest(&self) -> Option<String> {
        let longest = self.curve.longest.as_ref()?;
        let lasts = value(longest.lasts, Dimension::Time);
        Some(match &longest.limit {
            Some(limit) => format!("holds for up to {lasts}; then {}", self.what(limit)),
            None => format!("holds for all of {lasts}"),
        })
    }

    /// The letter of what limits a point.
    pub(crate) fn key(&self, point: &Point) -> Option<usize> {
        let limit = point.limit.as_ref()?;
        self.limits.iter().position(|known| is_same(known, limit))
    }

    /// What limits, in a line without numbers.
    pub(crate) fn what(&self, limit: &Limit) -> String {
        let part = free_text(self.variant.path(limit.part));
        let check = limit.check;
        match &limit.way {
            Way::Exceeds(compared) => {
                let figure = self.variant.tables.figure_of(compared.carried).name.replace('_', " ");
                format!("{figure} of {part} ({check})")
            }
            Way::NoSolution => format!("no solution: it fails at {part} ({check})"),
            Way::Undecided => format!("undecided: the search ends at {part} ({check})"),
            Way::Structural => format!("{} at {part} ({check})", limit.defect.replace('-', " ")),
            Way::NotJudged(_) => format!("not judged beyond: {part} ({check})"),
        }
    }

    /// Where along the condition something limits, as ranges.
    pub(crate) fn where_it_limits(&self, key: usize) -> String {
        let mut ranges: Vec<(f64, f64)> = Vec::new();
        let mut was = None;
        for point in &self.curve.points {
            let own = self.key(point);
            match ranges.last_mut() {
                Some(range) if own == Some(key) && was == own => range.1 = point.at,
                _ if own == Some(key) => ranges.push((point.at, point.at)),
                _ => {}
            }
            was = own;
        }
        let text = |(from, to): &(f64, f64)| {
            if to > from { format!("{} to {}", self.at(*from), self.at(*to)) } else { self.at(*from) }
        };
        ranges.iter().map(text).collect::<Vec<_>>().join(", ")
    }
}

/// What a point says where nothing limits or nothing holds.
pub(crate) fn instead(point: &Point) -> Option<String> {
    match (point.factor, &point.limit) {
        (None, Some(limit)) if matches!(limit.way, Way::NotJudged(_)) => {
            Some("nothing is judged to hold".to_owned())
        }
        (None, _) => Some("nothing holds".to_owned()),
        (Some(_), None) => Some(format!("nothing limits up to {MOST} times")),
        (Some(_), Some(_)) => None,
    }
}

/// The letter of a place: a, b, …, z, aa.
pub(crate) fn letter(place: usize) -> String {
    let own = char::from(b'a' + u8::try_from(place % 26).unwrap_or_default());
    if place < 26 { own.to_string() } else { format!("{}{own}", letter(place / 26 - 1)) }
}

/// Whether two limits are one, but for the numbers.
fn is_same(one: &Limit, other: &Limit) -> bool {
    let is_same_way = match (&one.way, &other.way) {
        (Way::Exceeds(one), Way::Exceeds(other)) => one.carried == other.carried,
        (Way::NotJudged(one), Way::NotJudged(other)) => {
            let words = |why: &[String]| why.concat().replace(|c: char| c.is_ascii_digit() || c == '.', "");
            words(one) == words(other)
        }
        (one, other) => std::mem::discriminant(one) == std::mem::discriminant(other),
    };
    is_same_way && (one.check, one.part, one.defect) == (other.check, other.part, other.defect)
}
