//! One product of the unit, resolved: its tables, its plan, its lanes and its policy.

use std::collections::HashMap;
use std::sync::Arc;

use foldhash::fast::FixedState;
use loadworthy_language::PolicyItem;
use loadworthy_language::Reading;
use loadworthy_source::{NodeId, Problem, Span};

use crate::ids::{DutyId, LaneId, PartId};
use crate::permit::Permit;
use crate::plan::Plan;
use crate::slip::Slip;
use crate::table::{Stated, Tables};

/// A unit as the description means it.
#[derive(Clone, Debug, Default)]
pub struct Unit {
    /// Its name, if the description gives one.
    pub name: Option<String>,
    /// Its revision, if the description gives one.
    pub revision: Option<String>,
    /// What it is, in a sentence or two, if the description says so.
    pub note: Option<String>,
    /// The edition that its defaults come from.
    pub edition: Option<u32>,
    /// What is stated and judged by nothing yet, in the words of the description.
    pub unjudged: Vec<&'static str>,
    /// Whether something of the description could not be read: what it lacks may be there all the same.
    pub has_problems: bool,
    /// Findings accepted beforehand, in the order of the file.
    pub permits: Vec<Permit>,
    /// Its products; one without a name where the description declares none.
    pub variants: Vec<Variant>,
    /// Words that may have been meant for others, each with the products as they would be.
    pub slips: Vec<Slip>,
    /// The unit as it would be with words put right that no part knows and that were clearly meant for others.
    pub meant: Option<Box<Self>>,
    /// Of a unit that is so meant: the unit as it is written. What holds of one of them alone is not known to hold.
    pub written: Option<Box<Self>>,
    /// Of a unit that is so meant: where such words stand.
    pub taken_at: Vec<Span>,
}

/// One product of the unit.
#[derive(Clone, Debug)]
pub struct Variant {
    /// Its name.
    pub name: Option<String>,
    /// Where the description names it.
    pub at: Option<NodeId>,
    /// Its parts, inputs, curves and figures.
    pub tables: Tables,
    /// What the solver works through.
    pub plan: Plan,
    /// Its duty points.
    pub duties: Vec<Duty>,
    /// Its lanes, those of a duty point side by side.
    pub lanes: Vec<Lane>,
    /// What the team leaves of each limit.
    pub policy: Vec<PolicyValue>,
    /// Where each of its items stands.
    pub(crate) policy_places: PolicyPlaces,
    /// Its missions.
    pub missions: Vec<Mission>,
    /// Where entries stand that could not be read, in order: what is missing of them is not absent.
    pub unread: Vec<NodeId>,
    /// How many duty points could not be read: nothing is judged in them.
    pub unread_duties: usize,
    /// Where it says something of which is not known what it changes, if it does: nothing of it is known to hold.
    pub doubt: Option<NodeId>,
    /// Where numbers stand that could not be read, of entries that could.
    pub gaps: Arc<[NodeId]>,
    /// Whether its duty points are trials or rows of a mission: what all duty points of a unit share may differ between
    /// them.
    pub is_apart: bool,
}

/// Duty points one after another.
#[derive(Clone, Debug)]
pub struct Mission {
    /// Its name.
    pub name: String,
    /// Where the description names it.
    pub at: NodeId,
    /// The duty point that went before.
    pub starts_from: Option<DutyId>,
    /// What comes after what.
    pub course: MissionCourse,
}

/// What comes after what in a mission.
#[derive(Clone, Debug)]
pub enum MissionCourse {
    /// Duty points, each with the time in s that it lasts here.
    Steps(Vec<(DutyId, f64)>),
    /// Rows of a file.
    File {
        /// Its path, relative to the description.
        path: String,
        /// Where the description names it.
        at: NodeId,
        /// The duty point that rows take the rest from.
        duty: Option<DutyId>,
    },
}

/// A duty point.
#[derive(Clone, Debug)]
pub struct Duty {
    /// Its name.
    pub name: String,
    /// Where the description names it.
    pub at: NodeId,
    /// How long it lasts in s; for good where absent.
    pub lasts: Option<f64>,
    /// Time from one occurrence to the next in s, where it recurs.
    pub every: Option<f64>,
    /// The duty point that it starts from, and returns to where it recurs.
    pub starts_from: Option<DutyId>,
    /// Of a row of a mission: for how long sources have been beyond what they stand for good, this row included;
    /// infinite where none is.
    pub stretch: Option<f64>,
    /// Of such a row: which peaks of sources come sooner after one before than they may, one bit for the place of each.
    pub too_soon: u64,
}

impl Duty {
    /// How long it asks of sources what it asks, in s; for good where absent.
    #[must_use]
    pub fn asks_for(&self) -> Option<f64> {
        match self.stretch {
            Some(stretch) => Some(stretch).filter(|stretch| stretch.is_finite()),
            None => self.lasts,
        }
    }
}

/// One duty point in one corner.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Lane {
    /// The duty point.
    pub duty: DutyId,
    /// Where the rotor is held: 0 turns, ±1, ±2, ±3 hold the crest of the current in phase u, v, w; positive
    /// leaves the bridge.
    pub crest: i8,
}

/// Lanes that stand side by side.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Lanes {
    first: usize,
    end: usize,
}

impl Lanes {
    /// All lanes of a variant.
    #[must_use]
    pub const fn of(variant: &Variant) -> Self {
        Self { first: 0, end: variant.lanes.len() }
    }

    /// Each of them.
    pub fn ids(self) -> impl Iterator<Item = LaneId> + Clone {
        (self.first..self.end).map(LaneId::new)
    }
}

/// Figures, over all lanes.
const WORTH_ALL_CORES: usize = 500_000;

/// Places in a policy by where its items stand in memory; looked up by the million, and never gone through.
pub(crate) type PolicyPlaces = HashMap<usize, usize, FixedState>;

/// A policy item as it is in force.
#[derive(Clone, Copy, Debug)]
pub struct PolicyValue {
    /// The item.
    pub item: &'static PolicyItem,
    /// The share or the distance, and where it comes from; absent where the entry is broken.
    pub stated: Stated,
}

impl Unit {
    /// Resolves every variant of a reading, with what each check's policy leaves of its limits. The problems are what
    /// the language can say and this version cannot solve.
    #[must_use]
    pub fn build(reading: &Reading, vocabulary: &[&'static PolicyItem]) -> (Self, Vec<Problem>) {
        crate::build::unit(reading, vocabulary)
    }

    /// The unit as it is meant, which knows what is written; itself where no word was meant for another.
    #[must_use]
    pub fn taken_as_meant(mut self) -> Self {
        match self.meant.take() {
            Some(meant) => Self { written: Some(Box::new(self)), ..*meant },
            None => self,
        }
    }
}

impl Variant {
    /// All lanes.
    pub fn lane_ids(&self) -> impl Iterator<Item = LaneId> + use<> {
        (0..self.lanes.len()).map(LaneId::new)
    }

    /// Lanes that are judged together, group by group: all of them, none included, or where duty points stand apart those
    /// of each.
    pub fn together(&self) -> impl Iterator<Item = Lanes> + '_ {
        let groups = self.lanes.chunk_by(|one, next| !self.is_apart || one.duty == next.duty);
        let groups = groups.scan(0, |passed, group| {
            let first = *passed;
            *passed += group.len();
            Some(Lanes { first, end: *passed })
        });
        groups.chain(self.lanes.is_empty().then_some(Lanes { first: 0, end: 0 }))
    }

    /// Lanes that are judged together with one.
    #[must_use]
    pub fn beside(&self, lane: LaneId) -> Lanes {
        if !self.is_apart {
            return Lanes::of(self);
        }
        let is_other = |other: &Lane| other.duty != self.lane(lane).duty;
        let (before, after) = self.lanes.split_at(lane.index());
        let first = before.iter().rposition(is_other).map_or(0, |place| place + 1);
        let end = after.iter().position(is_other).map_or(self.lanes.len(), |place| lane.index() + place);
        Lanes { first, end }
    }

    /// One lane.
    #[must_use]
    pub fn lane(&self, id: LaneId) -> Lane {
        self.lanes[id.index()]
    }

    /// The duty point of a lane.
    #[must_use]
    pub fn duty_of(&self, id: LaneId) -> &Duty {
        &self.duties[self.lane(id).duty.index()]
    }

    /// The stable path of a part.
    #[must_use]
    pub fn path(&self, part: PartId) -> &str {
        &self.tables.part_of(part).path
    }

    /// Whether one solution of it is worth all cores: then its lanes are solved side by side, and nobody should work on others
    /// meanwhile. Of smaller ones several are solved at once.
    #[must_use]
    pub fn is_worth_all_cores(&self) -> bool {
        WORTH_ALL_CORES <= self.lanes.len() * self.tables.figures().len()
    }

    /// A policy item as it is in force.
    #[must_use]
    pub fn policy(&self, item: &'static PolicyItem) -> Option<PolicyValue> {
        self.policy_place(item).map(|place| self.policy[place])
    }

    /// Where an item stands in the policy.
    #[must_use]
    pub fn policy_place(&self, item: &'static PolicyItem) -> Option<usize> {
        // Nearly always it is the item itself that is asked for, and a name takes longer to compare.
        let itself = self.policy_places.get(&core::ptr::from_ref(item).addr()).copied();
        itself.or_else(|| self.policy.iter().position(|value| value.item.name == item.name))
    }
}
