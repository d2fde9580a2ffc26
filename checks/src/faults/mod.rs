//! The fault walk: every single fault of what is declared, with what stops, what is not served any more, and what is left.
//!
//! What stops follows from names and from how buses hang together. What is left is solved again, with everything that stops
//! at rest, and judged by every check that compares figures; what fails then and did not before is told. Nothing here
//! counts against a unit: a single fault may well stop a machine. Whether it may stop *this* one, people decide.

mod banks;
mod coasting;
mod conducting;
mod cooled;
mod cut;
mod discharged;
mod fallen;
mod found;
mod held_off;
mod joined;
mod left;
mod left_on;
mod legs;
mod sensed;
mod shorted;
mod welded;
mod windings;

use std::collections::BTreeMap;

use loadworthy_unit::{NodeId, Unit};

use crate::verdict::{Comparison, Grade};

/// The faults of one variant.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FaultWalk {
    /// Name of the variant, where it has one.
    pub variant_name: Option<String>,
    /// Its duty points.
    pub duties: usize,
    /// Its stages.
    pub stages: usize,
    /// Single faults, those that come to the same drawn together; the worst first.
    pub faults: Vec<Fault>,
}

/// Single faults that come to the same.
#[derive(Clone, Debug, PartialEq)]
pub struct Fault {
    /// What fails and how, and of which parts: any one of them.
    pub causes: Vec<(Kind, Vec<String>)>,
    /// Where the description names the first.
    pub at: NodeId,
    /// What comes of it.
    pub effect: Effect,
}

impl Fault {
    /// How many single faults it stands for.
    #[must_use]
    pub fn count(&self) -> usize {
        self.causes.iter().map(|(_, names)| names.len()).sum()
    }

    fn add(&mut self, (kind, names): (Kind, Vec<String>)) {
        match self.causes.iter_mut().find(|(known, _)| *known == kind) {
            Some((_, known)) => known.extend(names),
            None => self.causes.push((kind, names)),
        }
    }
}

/// What fails and how.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// An insulation is bridged.
    Barrier,
    /// A bus that feeds controls has no voltage.
    Bus,
    /// A controller stops.
    Controller,
    /// Something that controllers depend on, by a name of its own, is lost.
    Dependence,
    /// A gate supply gives nothing.
    GateSupply,
    /// A transformer of gate supplies gives nothing.
    Transformer,
    /// A driver, or any channel of it, holds its gate off.
    Driver,
    /// A device at a switch position no longer conducts.
    Open,
    /// A device at a switch position no longer blocks.
    Short,
    /// A phase of a machine leads no current.
    Phase,
    /// Two phases of a machine are shorted.
    Phases,
    /// The choke of a leg no longer holds its current back.
    Choke,
    /// A winding of a transformer is shorted.
    Winding,
    /// A sensor, or any of those of one entry, says nothing that can be believed.
    Sensor,
    /// A branch of the coolant is blocked.
    Branch,
    /// The coolant stands still.
    Pump,
    /// A source gives and takes nothing.
    Source,
    /// A fuse has opened.
    Fuse,
    /// A branch is open at a bar, a cable, a plug or another conductor that it leads through.
    Lead,
    /// A contactor opens, or does not close.
    ContactorOpen,
    /// A contactor does not open.
    ContactorWelded,
    /// The resistor that discharges a bus takes nothing.
    DischargeResistor,
    /// The discharge that is switched on does not act.
    ActiveDischarge,
    /// The discharge that is switched on stays on.
    DischargeOn,
    /// A leg of several in one stage carries nothing.
    Leg,
    /// One capacitor of a bank is open.
    Capacitor,
    /// A whole bank is open.
    BankOpen,
    /// A bus without a bank is shorted.
    BusShort,
    /// A capacitor of a bank is shorted.
    Bank,
    /// A suppression capacitor is shorted.
    Suppression,
    /// A winding of a machine lies on its frame.
    Frame,
}

impl Kind {
    /// The words that a reader sees.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Barrier => "insulation bridged",
            Self::Bus => "bus without voltage",
            Self::Controller => "controller lost",
            Self::Dependence => "dependence lost",
            Self::GateSupply => "gate supply lost",
            Self::Transformer => "transformer lost",
            Self::Driver => "driver lost",
            Self::Open => "device open",
            Self::Short => "device shorted",
            Self::Phase => "phase open",
            Self::Phases => "phases shorted",
            Self::Choke => "choke shorted",
            Self::Winding => "winding shorted",
            Self::Sensor => "sensor lost",
            Self::Branch => "branch blocked",
            Self::Pump => "coolant stands still",
            Self::Source => "source lost",
            Self::Fuse => "fuse open",
            Self::Lead => "branch open",
            Self::ContactorOpen => "contactor open",
            Self::ContactorWelded => "contactor welded",
            Self::DischargeResistor => "discharge resistor open",
            Self::ActiveDischarge => "active discharge lost",
            Self::DischargeOn => "discharge stays on",
            Self::Leg => "leg lost",
            Self::Capacitor => "capacitor open",
            Self::BankOpen => "bank open",
            Self::BusShort => "bus shorted",
            Self::Bank => "bank shorted",
            Self::Suppression => "suppression capacitor shorted",
            Self::Frame => "winding on frame",
        }
    }
}

/// What comes of a fault.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Effect {
    /// Whether a person may be hurt by what it joins or leaves live.
    pub is_hazard: bool,
    /// Sources that are cut off.
    pub cut_off: Vec<String>,
    /// Stages that stop.
    pub stops: Vec<String>,
    /// Buses that nothing feeds any more.
    pub dead: Vec<String>,
    /// Duty points that ask something of what stops.
    pub not_served: Vec<String>,
    /// Duty points without a solution, with what stops at rest.
    pub unsolved: Vec<String>,
    /// What fails then and did not before, worst first, each check and part once.
    pub worse: Vec<Worse>,
    /// Comparisons that are not judged any more.
    pub unjudged: usize,
    /// Comparisons that are judged neither with the fault nor without it.
    pub still_open: usize,
    /// Whether something of it is not reckoned, which `says` names.
    pub is_open: bool,
    /// Discharges and how they stand.
    pub discharge: Vec<String>,
    /// What else is known.
    pub says: Vec<String>,
    /// Whether what is left was solved again; not where nothing is left or has a solution, and not in too large a unit.
    pub is_solved: bool,
}

/// Something that fails once a fault has happened.
#[derive(Clone, Debug, PartialEq)]
pub struct Worse {
    /// The check.
    pub check: &'static str,
    /// How much it matters.
    pub grade: Grade,
    /// The part.
    pub part: String,
    /// The duty point, where it is about one.
    pub duty: Option<String>,
    /// How it compares.
    pub comparison: Option<Comparison>,
}

/// Walks the single faults of every variant.
#[must_use]
pub fn walk(unit: &Unit) -> Vec<FaultWalk> {
    unit.variants
        .iter()
        .map(|variant| FaultWalk {
            variant_name: variant.name.clone(),
            duties: variant.duties.len(),
            stages: variant.plan.stages.len(),
            faults: ranked(found::all(variant)),
        })
        .collect()
}

/// Draws together what comes to the same and sorts it, worst first.
fn ranked(all: Vec<Fault>) -> Vec<Fault> {
    let mut faults: Vec<Fault> = Vec::new();
    let mut known: BTreeMap<(usize, usize), Vec<usize>> = BTreeMap::new();
    for fault in all {
        // What differs in these differs; the rest is compared.
        let alike = known.entry((fault.effect.stops.len(), fault.effect.says.len())).or_default();
        match alike.iter().copied().find(|&place| faults[place].effect == fault.effect) {
            Some(place) => fault.causes.into_iter().for_each(|cause| faults[place].add(cause)),
            None => {
                alike.push(faults.len());
                faults.push(fault);
            }
        }
    }
    faults.sort_by(|one, other| {
        let (a, b) = (&one.effect, &other.effect);
        let grave = |effect: &Effect| effect.worse.iter().filter(|worse| worse.grade == Grade::Major).count();
        let lost = |effect: &Effect| effect.not_served.len().max(effect.unsolved.len());
        let rank = |effect: &Effect| {
            let ranks = effect.worse.iter().filter_map(|worse| worse.comparison.as_ref());
            ranks.map(Comparison::rank).fold(f64::INFINITY, f64::min)
        };
        b.is_hazard
            .cmp(&a.is_hazard)
            .then(lost(b).cmp(&lost(a)))
            .then(b.stops.len().cmp(&a.stops.len()))
            .then(grave(b).cmp(&grave(a)))
            .then(rank(a).total_cmp(&rank(b)))
            .then(one.causes.cmp(&other.causes))
    });
    faults
}
