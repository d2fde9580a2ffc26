//! The worst headroom of each comparison before and after.

use std::collections::HashMap;

use foldhash::fast::FixedState;
use loadworthy_unit::Variant;

use super::names::Names;
use super::{Side, loss};
use crate::corner;
use crate::seats::cause_at;
use crate::verdict::{Comparison, Outcome, Verdict};

/// A headroom before and after. It is that of one comparison of a check at one part, the worst over all duty points, corners
/// and variants.
#[derive(Clone, Debug, PartialEq)]
pub struct HeadroomChange {
    /// How it turned.
    pub turn: HeadroomTurn,
    /// Name of the check.
    pub check: &'static str,
    /// What would be wrong.
    pub defect: &'static str,
    /// Path of the part, under its new name.
    pub part: String,
    /// Its path before, where it had another name.
    pub former_part: Option<String>,
    /// The stage, or what else its cause would be sought in.
    pub stage: String,
    /// The worst before.
    pub old: Option<Headroom>,
    /// The worst now.
    pub new: Option<Headroom>,
    /// How much is lost, on the scale of [`Comparison::rank`], on which ten kelvin count as ten per cent; negative where it
    /// is gained, nothing where one side has no figure.
    pub loss: f64,
}

/// A headroom where it is worst.
#[derive(Clone, Debug, PartialEq)]
pub struct Headroom {
    /// The comparison.
    pub comparison: Comparison,
    /// Name of the figure that is carried.
    pub figure: &'static str,
    /// Name of the duty point; absent where it is so whatever is asked.
    pub duty: Option<String>,
    /// The corner in short, where the duty point has several.
    pub corner: Option<String>,
    /// Name of the variant, where it has one.
    pub variant_name: Option<String>,
    /// Places of the variant in the unit and of the verdict in the review.
    pub verdict: (usize, usize),
}

/// How a headroom turned.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum HeadroomTurn {
    /// It was judged before, and is not any more, at least not in every duty point; the rest is no worse.
    NoLongerJudged,
    /// Less is left.
    Fell,
    /// There was none: the part, or the comparison, is new.
    New,
    /// It was not judged before, at least not in every duty point.
    NowJudged,
    /// More is left.
    Rose,
    /// There is none any more.
    Gone,
}

impl HeadroomTurn {
    /// The words that a reader sees.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::NoLongerJudged => "no longer judged",
            Self::Fell => "fell",
            Self::New => "new",
            Self::NowJudged => "now judged",
            Self::Rose => "rose",
            Self::Gone => "gone",
        }
    }
}

impl HeadroomChange {
    /// Whether it holds on one side alone.
    fn crosses(&self) -> bool {
        let holds = |headroom: &Option<Headroom>| headroom.as_ref().map(|one| one.comparison.holds());
        holds(&self.old).zip(holds(&self.new)).is_some_and(|(old, new)| old != new)
    }
}

/// The same comparison of the same part.
struct Line<'r> {
    check: &'static str,
    defect: &'static str,
    /// Variant and place of the verdicts that are worst, old and new.
    worst: [Option<(usize, usize, &'r Verdict)>; 2],
    /// How many verdicts were not given, old and new.
    unjudged: [usize; 2],
}

/// All headrooms that are not what they were, and how many are.
pub(super) fn changes(old: Side<'_>, new: Side<'_>, names: &Names<'_>) -> (Vec<HeadroomChange>, usize) {
    let mut lines: Vec<Line<'_>> = Vec::new();
    // Looked up and never iterated.
    let mut parts: HashMap<String, usize, FixedState> = HashMap::default();
    let mut places: HashMap<(usize, &str, &str), usize, FixedState> = HashMap::default();
    for (number, side) in [new, old].into_iter().enumerate() {
        let is_old = number == 1;
        for (v, (variant, verdicts)) in side.unit.variants.iter().zip(&side.review.verdicts).enumerate() {
            let part_numbers = variant.tables.parts().iter().map(|part| {
                let path = if is_old { names.now(&part.path).into_owned() } else { part.path.clone() };
                let next = parts.len();
                *parts.entry(path).or_insert(next)
            });
            let part_numbers = part_numbers.collect::<Vec<_>>();
            for (place, verdict) in verdicts.iter().enumerate() {
                let key = (part_numbers[verdict.part.index()], verdict.check, verdict.defect);
                let line = *places.entry(key).or_insert_with(|| {
                    let (check, defect) = (verdict.check, verdict.defect);
                    lines.push(Line { check, defect, worst: [None, None], unjudged: [0, 0] });
                    lines.len() - 1
                });
                lines[line].note(usize::from(!is_old), (v, place, verdict));
            }
        }
    }
    let mut changes = Vec::new();
    let mut unchanged = 0;
    for line in &lines {
        match line.change(old, new, names) {
            Some(change) => changes.push(change),
            None => unchanged += usize::from(line.worst.iter().any(Option::is_some)),
        }
    }
    changes.sort_by(|one, other| {
        let least = |of: &HeadroomChange| of.new.as_ref().map_or(0.0, |new| new.comparison.rank());
        let size = |of: &HeadroomChange| if of.turn == HeadroomTurn::Rose { of.loss } else { -of.loss };
        one.turn
            .cmp(&other.turn)
            // What no longer holds, or holds again, is read before what only moved.
            .then(other.crosses().cmp(&one.crosses()))
            .then(size(one).total_cmp(&size(other)))
            .then(least(one).total_cmp(&least(other)))
            .then_with(|| (&one.part, one.check, one.defect).cmp(&(&other.part, other.check, other.defect)))
    });
    (changes, unchanged)
}

impl<'r> Line<'r> {
    fn note(&mut self, side: usize, one: (usize, usize, &'r Verdict)) {
        if matches!(one.2.outcome, Outcome::NotJudged(_)) {
            self.unjudged[side] += 1;
        }
        let Some(compared) = one.2.comparison() else { return };
        let worst = &mut self.worst[side];
        let known = worst.and_then(|(.., known)| known.comparison());
        if known.is_none_or(|known| compared.rank() < known.rank()) {
            *worst = Some(one);
        }
    }

    fn change(&self, old: Side<'_>, new: Side<'_>, names: &Names<'_>) -> Option<HeadroomChange> {
        let [before, after] = self.worst;
        let compared =
            |worst: Option<(usize, usize, &'r Verdict)>| worst.and_then(|(.., one)| one.comparison());
        let (less_judged, more_judged) =
            (self.unjudged[0] < self.unjudged[1], self.unjudged[1] < self.unjudged[0]);
        let (turn, lost) = match (compared(before), compared(after)) {
            (Some(before), Some(after)) => match loss(before, after) {
                Some(lost) if lost > 0.0 => (HeadroomTurn::Fell, lost),
                // What is not judged may be the worst of all.
                lost if less_judged => (HeadroomTurn::NoLongerJudged, lost.unwrap_or(0.0)),
                Some(lost) => (HeadroomTurn::Rose, lost),
                None if more_judged => (HeadroomTurn::NowJudged, 0.0),
                None => return None,
            },
            (Some(_), None) if self.unjudged[1] > 0 => (HeadroomTurn::NoLongerJudged, 0.0),
            (Some(_), None) => (HeadroomTurn::Gone, 0.0),
            (None, Some(_)) if self.unjudged[0] > 0 => (HeadroomTurn::NowJudged, 0.0),
            (None, Some(_)) => (HeadroomTurn::New, 0.0),
            (None, None) => return None,
        };
        let path = |side: Side<'_>, (v, _, verdict): (usize, usize, &Verdict)| {
            let variant = &side.unit.variants[v];
            (variant.path(verdict.part).to_owned(), variant.path(cause_at(variant, verdict.part)).to_owned())
        };
        let (old_path, old_stage) = before.map(|one| path(old, one)).unzip();
        let (new_path, new_stage) = after.map(|one| path(new, one)).unzip();
        let now = |path: &Option<String>| path.as_ref().map(|path| names.now(path).into_owned());
        let part = new_path.or_else(|| now(&old_path))?;
        Some(HeadroomChange {
            turn,
            check: self.check,
            defect: self.defect,
            stage: new_stage.or_else(|| now(&old_stage)).unwrap_or_else(|| part.clone()),
            former_part: old_path.filter(|path| *path != part),
            part,
            old: before.and_then(|one| headroom(old, one)),
            new: after.and_then(|one| headroom(new, one)),
            loss: lost,
        })
    }
}

fn headroom(side: Side<'_>, (v, place, verdict): (usize, usize, &Verdict)) -> Option<Headroom> {
    let variant: &Variant = &side.unit.variants[v];
    let comparison = *verdict.comparison()?;
    Some(Headroom {
        comparison,
        figure: variant.tables.figure_of(comparison.carried).name,
        duty: verdict.duty().map(|duty| variant.duties[duty.index()].name.clone()),
        corner: verdict.lane().and_then(|lane| corner::short(variant.lane(lane))),
        variant_name: variant.name.clone(),
        verdict: (v, place),
    })
}

/// Headrooms that turned the same way for one check, defect and kind of part of a stage, as one: the first of each with how
/// many more there are. Legs and sides of a stage mostly say the same.
#[must_use]
pub fn together(changes: &[HeadroomChange]) -> Vec<(&HeadroomChange, usize)> {
    let kind = |change: &HeadroomChange| {
        let last = change.part.rsplit('.').next().unwrap_or_default();
        // A leg has no kind, and what lies in it does: `transistor`, not `u` or `1`.
        if last.chars().count() > 1 { last.to_owned() } else { String::new() }
    };
    let mut shown: Vec<(&HeadroomChange, usize)> = Vec::new();
    let mut places: HashMap<(HeadroomTurn, &str, &str, &str, String), usize, FixedState> = HashMap::default();
    for change in changes {
        let key = (change.turn, change.check, change.defect, change.stage.as_str(), kind(change));
        let next = shown.len();
        let place = *places.entry(key).or_insert(next);
        match shown.get_mut(place) {
            Some((_, more)) => *more += 1,
            None => shown.push((change, 0)),
        }
    }
    shown
}
