//! What a check says of one part: it holds, it fails, or it could not be judged.
//!
//! Most verdicts belong to a duty point and compare a solved figure with what is allowed. A verdict on the structure, such
//! as a part that nothing uses, may stand whatever is asked, and compares nothing.

use std::sync::Arc;

use loadworthy_physics::insulation::protection::Insulation;
use loadworthy_unit::trace::Operand;
use loadworthy_unit::{Cause, Dimension, DutyId, FigureId, InputId, LaneId, PartId, PolicyItem};
use thin_vec::ThinVec;

use crate::remarks::Remark;

/// What a check says of one part, in one duty point or whatever is asked.
#[derive(Clone, Debug, PartialEq)]
pub struct Verdict {
    /// Name of the check.
    pub check: &'static str,
    /// The part that is judged.
    pub part: PartId,
    /// What is, or would be, wrong with it: one word for each comparison that a check makes.
    pub defect: &'static str,
    /// When it is so.
    pub when: When,
    /// How it ended.
    pub outcome: Outcome,
    /// What makes the figures less sure than they look.
    // A thin pointer, as of names below: there are hundreds of thousands of verdicts, and few say any.
    pub remarks: ThinVec<Remark>,
    /// An input of the entry whose failures are one cause, such as the device of a chip.
    pub kin: Option<InputId>,
    /// The parts that it is about, where it is given at what they belong to, such as a pair of domains; none where that is
    /// the part itself.
    pub names: Option<Arc<Vec<PartId>>>,
    /// The kind of insulation that it finds to be too little; none where it is about no barrier, or one of no kind.
    pub kind: Option<Insulation>,
}

/// When a verdict is so.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum When {
    /// Whatever a duty point asks, and also where there is none: the structure is judged.
    Always,
    /// In one duty point.
    In {
        /// The duty point.
        duty: DutyId,
        /// The worst of its corners.
        lane: LaneId,
    },
    /// The same in every duty point: nothing about it depends on what is asked.
    Throughout {
        /// One of the first duty point, where its figures are.
        lane: LaneId,
    },
}

impl When {
    /// The duty point, where there is one.
    #[must_use]
    pub const fn duty(self) -> Option<DutyId> {
        match self {
            Self::Always | Self::Throughout { .. } => None,
            Self::In { duty, .. } => Some(duty),
        }
    }

    /// The lane that holds its figures, where it has any: the worst corner of its duty point.
    #[must_use]
    pub const fn lane(self) -> Option<LaneId> {
        match self {
            Self::Always => None,
            Self::In { lane, .. } | Self::Throughout { lane } => Some(lane),
        }
    }
}

/// How a judgement ended.
#[derive(Clone, Debug, PartialEq)]
pub enum Outcome {
    /// What is carried is at most what is allowed; of the structure, nothing is wrong, and nothing is compared.
    Holds(Option<Comparison>),
    /// It does not hold.
    Fails {
        /// In what way.
        fault: Fault,
        /// How much it matters.
        grade: Grade,
    },
    /// Something that the judgement needs is missing.
    NotJudged(Vec<Missing>),
}

/// In what way something fails.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fault {
    /// More is carried than is allowed.
    Exceeds(Comparison),
    /// What is asked has no solution.
    Unsolved {
        /// The largest share of it that has one.
        largest_share: f64,
    },
    /// The parts stand or are joined wrongly; no figure says by how much.
    Structural,
}

/// What a judgement waits for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Missing {
    /// A figure; a review replaces it by the causes behind it.
    Figure(FigureId),
    /// A figure in another duty point, such as the one that this one starts from; a review replaces it as well.
    FigureIn(FigureId, LaneId),
    /// An input, a curve, a range or a solution.
    Cause(Cause),
    /// The same in another duty point.
    CauseIn(Cause, DutyId),
    /// A policy item whose entry is broken.
    Policy(&'static PolicyItem),
    /// A key that is no number, such as a reference, and is not stated in the entry of a part.
    Key {
        /// The part.
        of: PartId,
        /// The key.
        key: &'static str,
    },
    /// What was read as another word than is written: it would hold if that was meant.
    Meant,
    /// What a variant changes, which could not be read.
    Change,
}

impl Missing {
    /// The duty point in which it is missing, which need not be the one of the verdict that waits for it.
    #[must_use]
    pub const fn duty(self, verdict: &Verdict) -> Option<DutyId> {
        match self {
            Self::CauseIn(_, duty) => Some(duty),
            _ => verdict.duty(),
        }
    }
}

/// How much a failure matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Grade {
    /// The concept does not carry the duty point as described.
    Major,
    /// It does under a condition, or it is routine that a reader should know of.
    Minor,
    /// Worth knowing.
    Note,
}

impl Grade {
    /// The word that a reader sees.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Major => "major",
            Self::Minor => "minor",
            Self::Note => "note",
        }
    }
}

/// A solved figure held against what may be used of its limit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Comparison {
    /// The figure that is carried.
    pub carried: FigureId,
    /// Its value.
    pub carried_value: f64,
    /// What the data sheet, the modulation or a standard permits.
    pub limit: f64,
    /// Where the limit comes from; absent where it is a law of its own, such as that of a modulation.
    pub limit_from: Option<Operand>,
    /// Whether the limit is that of a law and the same whatever is asked, with no other comparison in its place.
    pub is_lasting: bool,
    /// What the policy leaves of it.
    pub allowed: f64,
    /// The policy item that took the rest.
    pub policy: Option<&'static PolicyItem>,
    /// Of a temperature the highest that any curve of its part knows, where such curves are stated, in °C.
    pub known_up_to: Option<f32>,
    /// What is compared.
    pub dimension: Dimension,
    /// 1 - carried / allowed; for temperatures the kelvins below allowed. Negative where it fails, and negative
    /// infinity where nothing is allowed and something is carried.
    pub headroom: f64,
}

/// Share of a limit by which a solved figure may exceed it and still count as equal.
pub const EQUAL_WITHIN: f64 = 1e-9;

/// Rank of what has no solution: below any share or kelvin of headroom.
const UNSOLVED_RANK: f64 = -1e6;

/// Rank of a wrong structure: below what has no solution.
const STRUCTURAL_RANK: f64 = -2e6;

/// Kelvins by which a solved temperature may exceed its limit and still count as equal.
pub(crate) const EQUAL_KELVINS: f64 = 1e-6;

impl Comparison {
    /// Holds a figure against what is allowed of a limit.
    #[must_use]
    pub fn new(
        (carried, carried_value): (FigureId, f64),
        (limit, limit_from): (f64, Option<Operand>),
        (allowed, policy): (f64, Option<&'static PolicyItem>),
        dimension: Dimension,
    ) -> Self {
        let headroom = if dimension == Dimension::Temperature {
            allowed - carried_value
        } else if allowed > 0.0 {
            1.0 - carried_value / allowed
        } else if carried_value > 0.0 {
            // Nothing is allowed and something is carried: no share can say by how much.
            f64::NEG_INFINITY
        } else {
            0.0
        };
        Self {
            carried,
            carried_value,
            limit,
            limit_from,
            is_lasting: false,
            allowed,
            policy,
            known_up_to: None,
            dimension,
            headroom,
        }
    }

    /// Whether it holds; equal to allowed does.
    #[must_use]
    pub fn holds(&self) -> bool {
        -self.equal_within() <= self.headroom
    }

    /// Whether carried equals allowed.
    #[must_use]
    pub fn is_used_up(&self) -> bool {
        self.headroom.abs() <= self.equal_within()
    }

    /// Headroom, on its own scale, that counts as none.
    fn equal_within(&self) -> f64 {
        if self.is_in_kelvin() { EQUAL_KELVINS } else { EQUAL_WITHIN }
    }

    /// Whether the headroom is in kelvin, not a share.
    #[must_use]
    pub fn is_in_kelvin(&self) -> bool {
        self.dimension == Dimension::Temperature
    }

    /// Headroom on one scale for currents and temperatures, to sort by: ten kelvin count as ten per cent.
    #[must_use]
    pub fn rank(&self) -> f64 {
        if self.is_in_kelvin() { self.headroom / 100.0 } else { self.headroom }
    }
}

impl Verdict {
    /// The comparison, where one was made.
    #[must_use]
    pub fn comparison(&self) -> Option<&Comparison> {
        match &self.outcome {
            Outcome::Holds(comparison) => comparison.as_ref(),
            Outcome::Fails { fault: Fault::Exceeds(comparison), .. } => Some(comparison),
            Outcome::Fails { fault: Fault::Unsolved { .. } | Fault::Structural, .. } => None,
            Outcome::NotJudged(_) => None,
        }
    }

    /// The duty point, where it is about one.
    #[must_use]
    pub const fn duty(&self) -> Option<DutyId> {
        self.when.duty()
    }

    /// The worst corner of its duty point, where it is about one.
    #[must_use]
    pub const fn lane(&self) -> Option<LaneId> {
        self.when.lane()
    }

    /// Whether it fails.
    #[must_use]
    pub fn fails(&self) -> bool {
        matches!(self.outcome, Outcome::Fails { .. })
    }

    /// In what way it fails, where it does.
    #[must_use]
    pub const fn fault(&self) -> Option<&Fault> {
        match &self.outcome {
            Outcome::Fails { fault, .. } => Some(fault),
            Outcome::Holds(_) | Outcome::NotJudged(_) => None,
        }
    }

    /// Headroom on one scale, to sort by: first a wrong structure, on which every figure rests, then what has no solution.
    #[must_use]
    pub fn rank(&self) -> f64 {
        match &self.outcome {
            Outcome::Holds(Some(comparison)) | Outcome::Fails { fault: Fault::Exceeds(comparison), .. } => {
                comparison.rank()
            }
            Outcome::Fails { fault: Fault::Structural, .. } => STRUCTURAL_RANK,
            // The less of the demand has a solution, the lower.
            Outcome::Fails { fault: Fault::Unsolved { largest_share }, .. } => largest_share + UNSOLVED_RANK,
            Outcome::Holds(None) | Outcome::NotJudged(_) => f64::INFINITY,
        }
    }
}
