//! Lines of the table: parts that read alike share one.

use std::collections::BTreeMap;

use loadworthy_checks::corner;
use loadworthy_checks::figure_text;
use loadworthy_checks::verdict::{Comparison, Fault, Grade, Outcome, Verdict};
use loadworthy_unit::trace::Operand;
use loadworthy_unit::{Dimension, NodeId, Variant};

use crate::show::words::permit::in_short;

use super::legs::{Positions, Seat, drawn};
use super::{Moment, Stress, Stresses, duty_of};

/// A line of the table.
pub(crate) struct Row {
    pub(crate) fails: bool,
    /// Whether a permit accepts it.
    pub(crate) is_accepted: bool,
    pub(crate) parts: String,
    /// What of them is compared.
    pub(crate) what: String,
    /// Headroom; a word where nothing is compared.
    pub(crate) headroom: String,
    /// Carried, limit, allowed; empty where nothing is compared.
    pub(crate) numbers: [String; 3],
    /// Where: duty point, corner, variants.
    pub(crate) place: String,
    /// How much it matters, where it fails.
    pub(crate) grade: Option<Grade>,
    /// Share of what is allowed that is used, ten kelvin counting as ten per cent; none where nothing is compared.
    pub(crate) share: Option<f64>,
}

/// What lines must share to become one.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
struct Family<'u> {
    check: &'static str,
    defect: &'static str,
    before: &'u str,
    behind: &'u str,
    numbers: [String; 4],
    duty: Option<&'u str>,
    variants: Vec<&'u str>,
    row: Option<usize>,
    /// Where the permit stands that accepts it.
    permit: Option<NodeId>,
}

struct Gathered<'s, 'u> {
    first: &'s Stress<'u>,
    seat: Seat<'u>,
    legs: Vec<&'u str>,
    corners: Vec<String>,
    numbers: [String; 4],
    /// Other sides whose legs read alike.
    also: Vec<&'u str>,
}

/// The lines of what is compared or fails, worst first.
pub(crate) fn rows(stresses: &Stresses<'_>) -> Vec<Row> {
    let mut positions: BTreeMap<Option<&str>, Positions> = BTreeMap::new();
    let mut places: BTreeMap<Family<'_>, usize> = BTreeMap::new();
    let mut all: Vec<Gathered<'_, '_>> = Vec::new();
    for stress in &stresses.worst {
        let (variant, verdict) = (stress.variant, stress.verdict);
        let known = positions.entry(variant.name.as_deref()).or_insert_with(|| Positions::of(variant));
        let seat = known.seat(variant, verdict.part);
        let numbers = numbers(verdict);
        let family = Family {
            check: verdict.check,
            defect: verdict.defect,
            before: seat.before,
            behind: seat.behind,
            numbers: numbers.clone(),
            duty: duty_of(variant, verdict),
            variants: stress.variants.clone(),
            row: stress.moment.map(|moment| moment.row),
            permit: stress.permit.map(|permit| permit.at),
        };
        let corner = verdict.lane().and_then(|lane| corner::short(variant.lane(lane)));
        let place = *places.entry(family).or_insert(all.len());
        if place == all.len() {
            let (legs, corners) = (Vec::new(), Vec::new());
            all.push(Gathered {
                first: stress,
                seat: seat.clone(),
                legs,
                corners,
                numbers,
                also: Vec::new(),
            });
        }
        let gathered = &mut all[place];
        gathered.legs.push(seat.leg);
        gathered.corners.extend(corner.filter(|corner| !gathered.corners.contains(corner)));
    }
    sides(all).iter().map(row).collect()
}

/// Joins the sides of a stage whose legs read alike.
fn sides<'s, 'u>(all: Vec<Gathered<'s, 'u>>) -> Vec<Gathered<'s, 'u>> {
    let mut joined: Vec<Gathered<'s, 'u>> = Vec::new();
    for one in all {
        let split = |seat: &Seat<'u>| seat.before.split_once('.').filter(|_| !seat.leg.is_empty());
        let own = split(&one.seat);
        // A stage's lines of equal headroom stand together.
        let alike = joined.iter_mut().rev().take(4).find(|other| {
            let (a, b) = (one.first, other.first);
            own.zip(split(&other.seat)).is_some_and(|(own, other)| own.0 == other.0)
                && (a.verdict.check, a.verdict.defect) == (b.verdict.check, b.verdict.defect)
                && (one.seat.behind, &one.legs, &one.numbers)
                    == (other.seat.behind, &other.legs, &other.numbers)
                && duty_of(a.variant, a.verdict) == duty_of(b.variant, b.verdict)
                && a.variants == b.variants
                && a.permit.map(|permit| permit.at) == b.permit.map(|permit| permit.at)
        });
        match (alike, own) {
            (Some(other), Some((_, side))) => {
                other.corners.extend(one.corners);
                other.also.push(side);
            }
            _ => joined.push(one),
        }
    }
    joined
}

/// Headroom, carried, limit and allowed as a person reads them.
fn numbers(verdict: &Verdict) -> [String; 4] {
    let Some(compared) = verdict.comparison() else {
        let word = match verdict.fault() {
            Some(Fault::Unsolved { .. }) => "no solution",
            Some(Fault::Structural | Fault::Exceeds(_)) | None => "structure",
        };
        return [word.to_owned(), String::new(), String::new(), String::new()];
    };
    let text = figure_text::comparison(compared);
    // Nothing is allowed: no share says by how much.
    let none = compared.headroom == f64::NEG_INFINITY;
    let headroom = if none { "none".to_owned() } else { figure_text::headroom(compared) };
    [headroom, text.carried, text.limit, text.allowed]
}

fn row(gathered: &Gathered<'_, '_>) -> Row {
    let Stress { variant, verdict, variants, moment, permit } = gathered.first;
    let mut parts = drawn(gathered.seat.before, &gathered.legs, gathered.seat.behind);
    if !gathered.also.is_empty() {
        parts.push_str(&format!(" (also {})", gathered.also.join(", ")));
    }
    let duty = duty_of(variant, verdict).map(|duty| match gathered.corners.as_slice() {
        [corner] => format!("{duty} ({corner})"),
        _ => duty.to_owned(),
    });
    let variants = variants.iter().map(|name| (*name).to_owned());
    let place: Vec<String> = duty.into_iter().chain(variants).chain(moment.map(when)).collect();
    let place = place.into_iter().chain(permit.map(in_short)).collect::<Vec<_>>();
    let [headroom, carried, limit, allowed] = gathered.numbers.clone();
    Row {
        fails: verdict.fails(),
        is_accepted: permit.is_some(),
        grade: match verdict.outcome {
            Outcome::Fails { grade, .. } => Some(grade),
            Outcome::Holds(_) | Outcome::NotJudged(_) => None,
        },
        parts,
        what: what(variant, verdict),
        headroom,
        numbers: [carried, limit, allowed],
        place: place.join(", "),
        share: verdict.comparison().map(|compared| 1.0 - compared.rank()).filter(|share| share.is_finite()),
    }
}

/// When it happened in a mission, and for how long it fails in all.
fn when(moment: Moment) -> String {
    let time = |seconds: f64| figure_text::value(seconds, Dimension::Time);
    let over = match moment.fails_for {
        fails_for if fails_for > 0.0 => format!(", fails for {} in all", time(fails_for)),
        _ => String::new(),
    };
    format!("row {} at {}{over}", moment.row + 1, time(moment.begins))
}

/// What is compared, and by which check where the name of the figure does not say so.
pub(crate) fn what(variant: &Variant, verdict: &Verdict) -> String {
    match (&verdict.outcome, verdict.comparison()) {
        (_, Some(compared)) => {
            let figure = variant.tables.figure_of(compared.carried).name;
            let words = figure.replace('_', " ");
            let limit = limit_name(variant, compared);
            match (figure.replace('_', "-") == verdict.check, limit) {
                (true, _) => words,
                (false, Some(limit)) if limit != words => format!("{words} ({}: {limit})", verdict.check),
                (false, _) => format!("{words} ({})", verdict.check),
            }
        }
        (Outcome::Fails { fault: Fault::Unsolved { largest_share }, .. }, None)
            if largest_share.is_finite() =>
        {
            let share = figure_text::percent(*largest_share);
            format!("at most {share} of what is asked has a solution ({})", verdict.check)
        }
        _ => format!("{} ({})", verdict.defect.replace('-', " "), verdict.check),
    }
}

/// What limits, where an input or a figure says it; one figure of a part may be held against several limits.
fn limit_name(variant: &Variant, compared: &Comparison) -> Option<String> {
    let tables = &variant.tables;
    let name = match compared.limit_from? {
        Operand::Input(id) => tables.input_of(id).path.rsplit('.').next().unwrap_or_default(),
        Operand::Figure(id) => tables.figure_of(id).name,
        Operand::Curve(_) => return None,
    };
    Some(name.replace('_', " "))
}
