//! Collects verdicts: the corners of a duty point merge into their worst.

use std::collections::HashMap;
use std::sync::Arc;

use foldhash::fast::FixedState;
use loadworthy_physics::insulation::protection::Insulation;
use loadworthy_unit::trace::Operand;
use loadworthy_unit::{
    Cause, Dimension, DutyId, FigureId, InputId, LaneId, PartId, PolicyForm, PolicyItem, Solved,
};

use crate::remarks::Remark;
use crate::verdict::{Comparison, EQUAL_WITHIN, Fault, Grade, Missing, Outcome, Verdict, When};

/// What is judged.
#[derive(Clone, Copy, Debug)]
pub struct Subject {
    /// The part.
    pub part: PartId,
    /// What would be wrong with it.
    pub defect: &'static str,
    /// The lane; none where the structure is judged, whatever is asked.
    pub lane: Option<LaneId>,
    /// An input of the entry whose failures are one cause.
    pub kin: Option<InputId>,
}

/// Where a limit comes from.
#[derive(Clone, Copy, Debug)]
pub enum Limit {
    /// A solved figure.
    Figure(FigureId),
    /// A number that the description states.
    Input(InputId),
    /// A number that follows from a law alone.
    Law(f64),
    /// The same, where nothing else is ever compared under the same part and defect: whatever is asked, the comparison stays.
    Always(f64),
}

/// Verdicts that are looked through before the index is asked.
const NEARBY: usize = 4;

/// Share of itself, one in so many, by which a full list grows, and the least by which it does.
const GROWTH: usize = 8;

/// The verdicts of one check on one variant.
#[derive(Clone, Debug)]
pub struct Verdicts {
    check: &'static str,
    wanted: bool,
    list: Vec<Verdict>,
    /// Where the last of each part and duty point stands in the list; never iterated, so that no order comes of it.
    last: HashMap<(PartId, Option<DutyId>), usize, FixedState>,
    /// The one of the same part and duty point before each in the list: few, one for each defect.
    before: Vec<Option<usize>>,
    /// What the check said as it broke down over this variant.
    broke: Option<String>,
}

impl Verdicts {
    /// None yet, of the check of that name.
    #[must_use]
    pub fn new(check: &'static str) -> Self {
        Self {
            check,
            wanted: true,
            list: Vec::new(),
            last: HashMap::default(),
            before: Vec::new(),
            broke: None,
        }
    }

    /// With room for so many.
    pub(crate) fn with_room(check: &'static str, many: usize) -> Self {
        let mut this = Self::new(check);
        this.list.reserve(many);
        this.before.reserve(many);
        this.last.reserve(many);
        this
    }

    /// For a variant that only stands beside another one: what is put in is not kept.
    pub(crate) fn unwanted(check: &'static str) -> Self {
        Self { wanted: false, ..Self::new(check) }
    }

    /// Whether anybody asks for verdicts on this variant; where not, it stands beside one that is tried, and need not be
    /// judged.
    #[must_use]
    pub const fn is_wanted(&self) -> bool {
        self.wanted
    }

    /// Notes that the check broke down over this variant.
    pub(crate) fn note_broken(&mut self, said: String) {
        self.broke = Some(said);
    }

    /// What the check said as it broke down over this variant.
    pub(crate) fn take_broken(&mut self) -> Option<String> {
        self.broke.take()
    }

    /// The verdicts, one for each part, defect and duty point, or without a duty point.
    #[must_use]
    pub fn into_list(self) -> Vec<Verdict> {
        self.list
    }

    /// Adds what one lane says, or the structure; the worst lane of a duty point stays, of equals the first.
    pub fn put(&mut self, solved: &Solved<'_>, subject: Subject, outcome: Outcome, remarks: Vec<Remark>) {
        self.put_naming(solved, subject, outcome, remarks, None);
    }

    /// The same of something that other parts belong to: it names them.
    pub fn put_naming(
        &mut self,
        solved: &Solved<'_>,
        subject: Subject,
        outcome: Outcome,
        remarks: Vec<Remark>,
        names: Option<Arc<Vec<PartId>>>,
    ) {
        let Subject { part, defect, lane, kin } = subject;
        let when = lane.map_or(When::Always, |lane| When::In { duty: solved.variant.lane(lane).duty, lane });
        let check = self.check;
        let remarks = remarks.into();
        self.add(Verdict { check, part, defect, when, outcome, remarks, kin, names, kind: None });
    }

    /// The same of something that is insulation of a kind.
    pub(crate) fn put_of_kind(
        &mut self,
        subject: Subject,
        outcome: Outcome,
        remarks: Vec<Remark>,
        kind: Option<Insulation>,
    ) {
        let Subject { part, defect, kin, .. } = subject;
        let (check, when, remarks) = (self.check, When::Always, remarks.into());
        self.add(Verdict { check, part, defect, when, outcome, remarks, kin, names: None, kind });
    }

    fn add(&mut self, verdict: Verdict) {
        if !self.wanted {
            return;
        }
        let Verdict { part, defect, when, .. } = verdict;
        let duty = when.duty();
        // Lanes of a duty point come one after another: its verdict is nearly always among the last.
        let nearby = self.list.len().saturating_sub(NEARBY);
        let is_same = |one: &Verdict| one.part == part && one.duty() == duty && one.defect == defect;
        let near = self.list[nearby..].iter().rposition(is_same).map(|place| nearby + place);
        match near.or_else(|| self.known(part, duty, defect)) {
            None => {
                self.make_room();
                self.before.push(self.last.insert((part, duty), self.list.len()));
                self.list.push(verdict);
            }
            Some(place) => {
                if is_worse(&verdict, &self.list[place]) {
                    self.list[place] = verdict;
                }
            }
        }
    }

    /// A list that is full grows by a part of itself: doubled, that of a check that says one word more of a trial than it said of
    /// the unit would be a tenth of all that a review of a large unit takes.
    fn make_room(&mut self) {
        if self.list.len() == self.list.capacity() {
            let more = (self.list.len() / GROWTH).max(GROWTH);
            self.list.reserve_exact(more);
            self.before.reserve_exact(more);
        }
    }

    fn known(&self, part: PartId, duty: Option<DutyId>, defect: &str) -> Option<usize> {
        let mut next = self.last.get(&(part, duty)).copied();
        while let Some(place) = next.filter(|&place| self.list[place].defect != defect) {
            next = self.before[place];
        }
        next
    }
}

/// Whether one verdict is worse than another beyond rounding.
pub(crate) fn is_worse(one: &Verdict, other: &Verdict) -> bool {
    let severity = |verdict: &Verdict| match verdict.outcome {
        Outcome::Fails { grade, .. } => grade as u8,
        Outcome::NotJudged(_) => Grade::Note as u8 + 1,
        Outcome::Holds(_) => Grade::Note as u8 + 2,
    };
    let (severe, other_severe) = (severity(one), severity(other));
    if severe != other_severe {
        return severe < other_severe;
    }
    let (rank, other_rank) = (one.rank(), other.rank());
    rank < other_rank - EQUAL_WITHIN * other_rank.abs().max(1.0)
}

/// Holds a figure against what the policy leaves of a limit.
///
/// # Errors
/// Names everything that is missing.
pub fn compare(
    solved: &Solved<'_>,
    lane: LaneId,
    (carried, dimension): (FigureId, Dimension),
    from: Limit,
    policy: Option<&'static PolicyItem>,
) -> Result<Comparison, Vec<Missing>> {
    let mut missing = Vec::new();
    let value = solved.figure(carried, lane);
    if value.is_none() {
        missing.push(Missing::Figure(carried));
    }
    let (limit_value, limit_from) = match from {
        Limit::Figure(id) => {
            let value = solved.figure(id, lane);
            if value.is_none() {
                missing.push(Missing::Figure(id));
            }
            (value, Some(Operand::Figure(id)))
        }
        Limit::Input(id) => {
            let value = solved.input(id, lane);
            if value.is_none() {
                missing.push(Missing::Cause(loadworthy_unit::Cause::Input(id)));
            }
            (value, Some(Operand::Input(id)))
        }
        Limit::Law(value) | Limit::Always(value) => (Some(value), None),
    };
    let left = match policy {
        None => Some(f64::NAN),
        Some(item) => {
            let stated = solved.variant.policy(item).map(|value| value.stated.value);
            let left = stated.filter(|value| value.is_finite());
            if left.is_none() {
                missing.push(Missing::Policy(item));
            }
            left
        }
    };
    let (Some(value), Some(limit), Some(left)) = (value, limit_value, left) else { return Err(missing) };
    let allowed = policy.map_or(limit, |item| allowed(item, limit, left));
    let compared = Comparison::new((carried, value), (limit, limit_from), (allowed, policy), dimension);
    Ok(Comparison { is_lasting: matches!(from, Limit::Always(_)), ..compared })
}

/// A comparison of something that is not known, where the least that it can be exceeds what is allowed already: to tell that
/// it fails, no more must be known. Says whether that is so.
pub(crate) fn or_of_the_least(
    compared: Result<Comparison, Vec<Missing>>,
    least: impl FnOnce() -> Result<Comparison, Vec<Missing>>,
) -> (Result<Comparison, Vec<Missing>>, bool) {
    if compared.is_ok() {
        return (compared, false);
    }
    match least() {
        Ok(least) if !least.holds() => (Ok(least), true),
        _ => (compared, false),
    }
}

/// What holds by the least of something says nothing while an input is not stated that may add to it.
pub(crate) fn unless_more(outcome: Outcome, adds: Option<InputId>) -> Outcome {
    match (outcome, adds) {
        (Outcome::Holds(_), Some(input)) => Outcome::NotJudged(vec![Missing::Cause(Cause::Input(input))]),
        (outcome, _) => outcome,
    }
}

/// What a policy item leaves of a limit.
#[must_use]
pub fn allowed(item: &PolicyItem, limit: f64, left: f64) -> f64 {
    match item.form {
        PolicyForm::UseAtMost { .. } => limit * left,
        PolicyForm::Keep { .. } => limit - left,
    }
}

/// How much a failure matters that hangs on settled temperatures: short duty points are judged as if they lasted, which
/// is a minor failure.
#[must_use]
pub fn grade_if_held(solved: &Solved<'_>, lane: LaneId) -> Grade {
    if solved.variant.duty_of(lane).lasts.is_some() { Grade::Minor } else { Grade::Major }
}

/// The outcome of a comparison that fails with this grade.
#[must_use]
pub fn outcome(compared: Result<Comparison, Vec<Missing>>, grade: Grade) -> Outcome {
    match compared {
        Ok(comparison) if comparison.holds() => Outcome::Holds(Some(comparison)),
        // A share that could not be read leaves nothing to be held against.
        Ok(comparison) if comparison.allowed.is_nan() => Outcome::NotJudged(vec![
            comparison.policy.map_or(Missing::Figure(comparison.carried), Missing::Policy),
        ]),
        Ok(comparison) => Outcome::Fails { fault: Fault::Exceeds(comparison), grade },
        Err(missing) => Outcome::NotJudged(missing),
    }
}

/// The outcome of a judgement on the structure, which fails with this grade.
///
/// A check says of what is in order that it holds: only then is it known that a change mends what fails.
#[must_use]
pub fn structural(is_in_order: Result<bool, Vec<Missing>>, grade: Grade) -> Outcome {
    match is_in_order {
        Ok(true) => Outcome::Holds(None),
        Ok(false) => Outcome::Fails { fault: Fault::Structural, grade },
        Err(missing) => Outcome::NotJudged(missing),
    }
}
