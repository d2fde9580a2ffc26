//! Does each fuse carry the load, break every fault of its sources, and protect what stands behind it?
//!
//! A fault is driven by what the sources give behind their resistance: with the lowest resistance of the way against what
//! the fuse breaks at most, with the highest against what it breaks at least. What it lets through until it has cleared
//! stands against what the conductors behind it stand without losing heat. What nothing ends for good stands against what
//! they carry for good, and, where it is less than the fuse breaks, against what melts that. A contactor that opens in an
//! overload has to break what the fuse has not ended by then, and to open before that melts a fuse which does not break it.

mod ahead;
mod copper;
mod emptied;
mod opened;
mod other_fuse;
mod overload;
mod tell;
mod unbroken;
mod unended;

use loadworthy_physics::{Area, Temperature, fuse};
use loadworthy_unit::plan::{Fuse, Plan, Protected, Protection, Stands};
use loadworthy_unit::{Cause, Dimension, InputId, LaneId, Lanes, PartId, PolicyForm, PolicyItem, Solved};

use crate::check::{About, Check, Failure, Family, Told, With};
use crate::collect::{Limit, Subject, Verdicts, compare, or_of_the_least, outcome, structural};
use crate::deratings::FUSE_CURRENT;
use crate::remarks::Remark;
use crate::thin_air::{self, THIN_AIR};
use crate::verdict::{Comparison, Grade, Missing, Outcome, Verdict};

/// Share of the voltage of a fuse that may be used.
pub(crate) static FUSE_VOLTAGE: PolicyItem = PolicyItem {
    name: "fuse_voltage",
    help: "Share of the rated voltage of a fuse that may stand across it once it has opened",
    form: PolicyForm::UseAtMost { default: 1.0, usual: (0.8, 1.0) },
    since: 2026,
};

const VOLTAGE: &str = "voltage";
const OVERLOADED: &str = "overloaded";
const BREAKING: &str = "breaking-capacity";
const SLOW: &str = "slow-fault";
const NOT_CLEARED: &str = "not-cleared";
const LET_THROUGH: &str = "let-through";
const EMPTIED: &str = "emptied-through";
const UNENDED: &str = "unended-overload";
const UNBROKEN: &str = "unbroken-overload";
const OPENED: &str = "opened-overload";
const MELTS_FIRST: &str = "melts-first";
const UNFUSED: &str = "unfused";
const NOT_ON_THE_WAY: &str = "not-on-the-way";
const AHEAD: &str = "before-fuse";

/// What the check is called.
pub(crate) const NAME: &str = "fuse-coordination";

static ABOUT: About = About {
    name: NAME,
    former_names: &[],
    question: "Does each fuse carry its load, break every fault, and protect what stands behind it?",
    page: include_str!("page.md"),
    fails: include_str!("fails.yaml"),
    holds: include_str!("holds.yaml"),
    defects: &[
        (VOLTAGE, "more may stand across the open fuse than it is rated for"),
        (OVERLOADED, "it carries more than it stands in its surroundings"),
        (BREAKING, "a fault drives more current than it breaks"),
        (SLOW, "a fault is more inductive than the circuit that its breaking capacity is stated for"),
        (NOT_CLEARED, "a fault at the far end may drive less current than it breaks at all"),
        (LET_THROUGH, "it lets more through until it has cleared than a conductor behind it stands"),
        (
            EMPTIED,
            "banks of its bus send more through a conductor in a fault than it stands, and no fuse stands before it",
        ),
        (UNENDED, "more may pass for good than a conductor behind it carries, and nothing ends that"),
        (UNBROKEN, "an overload that melts it is less than it breaks, and nothing else ends that"),
        (
            OPENED,
            "a contactor opens an overload that the fuse has not ended by then, and that it does not break",
        ),
        (MELTS_FIRST, "an overload may melt the fuse, which does not break it, before a contactor opens"),
        (THIN_AIR, thin_air::MEANS),
        (UNFUSED, "the branch of a source that needs a fuse has none, and nothing says what protects it"),
        (NOT_ON_THE_WAY, "the fuse that a branch names lies between no source and the branch"),
        (AHEAD, "a conductor stands between a source and the fuse of its branch"),
    ],
    policy: &[&FUSE_VOLTAGE, &FUSE_CURRENT],
    since: 2026,
};

/// The check.
pub(crate) struct FuseCoordination;

impl Check for FuseCoordination {
    fn about(&self) -> &'static About {
        &ABOUT
    }

    fn adds_up(&self, defect: &str) -> &'static [&'static str] {
        match defect {
            LET_THROUGH => &["sources", "fuses", "branches", "stages"],
            NOT_CLEARED => &["sources", "conductors", "branches", "stages"],
            _ => &[],
        }
    }

    fn is_of_the_entry(&self, defect: &str) -> bool {
        // One fuse is too large, or lets too much through, for all branches behind it, stands behind all that it should protect, or leaves all contactors
        // beside it more than they break; and one altitude leaves air too thin for all of them.
        [LET_THROUGH, UNENDED, AHEAD, OPENED, THIN_AIR].contains(&defect)
    }

    fn told_with(&self, failing: &Verdict, solved: &Solved<'_>) -> Vec<With> {
        let plan = &solved.variant.plan;
        let with = |defect: &'static str, part: PartId| With::of(ABOUT.name, defect, part);
        match failing.defect {
            // What no fuse protects from a fault none protects from an overload.
            UNENDED => {
                let own = plan.conductors.iter().find(|one| one.part == failing.part);
                let unfused = own.map(|one| with(UNFUSED, one.branch));
                unfused.into_iter().chain([with(LET_THROUGH, failing.part)]).collect()
            }
            // What lacks a fuse lacks it for overloads and for banks alike.
            EMPTIED => {
                let own = plan.conductors.iter().find(|one| one.part == failing.part);
                let unfused = own.map(|one| with(UNFUSED, one.branch));
                unfused.into_iter().chain([with(UNENDED, failing.part)]).collect()
            }
            // A fault at the end of a branch without a fuse of its own, which lets too much through what stands there, may be less
            // than the fuse before it breaks.
            NOT_CLEARED => {
                let Some(fuse) = fuse_of(plan, failing) else { return Vec::new() };
                let ends = fuse.protects.iter().map(|one| &plan.conductors[one.conductor]);
                let ends = ends.filter(|one| fuse.longest_behind.contains(&one.resistance));
                ends.map(|one| with(LET_THROUGH, one.part)).collect()
            }
            // What another fuse lets through from the other end counts here as well, and is told where that fuse stands.
            LET_THROUGH => {
                plan.fuses.iter().find_map(|fuse| sent_by(fuse, failing, solved)).unwrap_or_default()
            }
            // One that is too small for its load is no fuse for its overloads either.
            UNBROKEN if matches!(failing.outcome, Outcome::Fails { grade: Grade::Minor, .. }) => {
                vec![with(OVERLOADED, failing.part)]
            }
            // One that does not break a fault does not break less either.
            OPENED | MELTS_FIRST => {
                let own = plan.fuses.iter().find(|fuse| failing.kin == Some(fuse.rated));
                own.map(|fuse| with(NOT_CLEARED, plan.conductors[fuse.conductor].part)).into_iter().collect()
            }
            _ => Vec::new(),
        }
    }

    fn holds_fuses(&self) -> bool {
        true
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        let plan = &solved.variant.plan;
        let lacking = plan.protections.iter().filter(|one| one.is_unfused()).count();
        for protection in &plan.protections {
            let is_there = match protection.stands {
                Stands::OnTheWay => Ok(true),
                Stands::In(_) | Stands::Nowhere => Ok(false),
                Stands::Unread(input) => Err(vec![Missing::Cause(Cause::Input(input))]),
            };
            let defect = if protection.fuse.is_some() { NOT_ON_THE_WAY } else { UNFUSED };
            // Fuses that lack in several branches are one cause.
            let kin = plan.branches.filter(|_| protection.is_unfused() && lacking > 1);
            let subject = Subject { part: protection.branch, defect, lane: None, kin };
            out.put(solved, subject, structural(is_there, Grade::Major), Vec::new());
        }
        for &(part, unknown) in &plan.bare_sources {
            let subject = Subject { part, defect: UNFUSED, lane: None, kin: None };
            let missing = vec![Missing::Cause(Cause::Input(unknown))];
            out.put(solved, subject, Outcome::NotJudged(missing), Vec::new());
        }
        for own in plan.fuses_apart.iter().map(|&fuse| &plan.conductors[fuse]) {
            let subject = Subject { part: own.part, defect: OVERLOADED, lane: None, kin: None };
            let missing = own.unknown.map(|unknown| Missing::Cause(Cause::Input(unknown)));
            out.put(solved, subject, Outcome::NotJudged(missing.into_iter().collect()), Vec::new());
        }
        emptied::judge(solved, out);
        for fuse in &plan.fuses {
            ahead::judge(fuse, solved, out);
            thin_air::judge(&plan.conductors[fuse.conductor], solved, out);
            for lane in solved.variant.lane_ids() {
                faults(fuse, solved, lane, out);
                put(fuse, OVERLOADED, solved, lane, overload::loaded(fuse, solved, lane), out);
                for protected in &fuse.protects {
                    behind(fuse, protected, solved, lane, out);
                }
            }
        }
        for lanes in solved.variant.together() {
            let mut told_there: Vec<usize> = Vec::new();
            for overload in &plan.overloads {
                if unended::judge(overload, lanes, solved, out) {
                    told_there.extend(overload.fuse);
                }
            }
            // What a conductor behind a fuse is told of is that of the fuse as well.
            for melted in plan.melted.iter().filter(|melted| !told_there.contains(&melted.fuse)) {
                unbroken::judge(melted, lanes, solved, out);
            }
            for melted in &plan.melted {
                opened::judge(melted, lanes, solved, out);
            }
        }
    }

    fn is_said_once(&self, defect: &str) -> bool {
        // What a fault drives hangs on the description, unless a duty point or a mission says otherwise.
        [VOLTAGE, BREAKING, SLOW, NOT_CLEARED, UNENDED, UNBROKEN, OPENED, MELTS_FIRST].contains(&defect)
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        match failure.worst.defect {
            UNENDED => unended::told(failure.worst, solved),
            AHEAD => ahead::told(failure.worst, solved),
            EMPTIED => emptied::told(failure.worst, solved),
            UNBROKEN => unbroken::told(failure.worst, solved),
            OPENED | MELTS_FIRST => opened::told(failure.worst, solved),
            THIN_AIR => thin_air::told(failure.worst, solved),
            _ => tell::told(failure.worst, solved),
        }
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        match failure.worst.defect {
            AHEAD => ahead::families(failure.worst, solved),
            EMPTIED => emptied::families(failure.worst, solved),
            UNENDED => unended::families(failure, solved),
            UNBROKEN => unbroken::families(failure.worst, solved),
            OPENED | MELTS_FIRST => opened::families(failure.worst, solved),
            LET_THROUGH => {
                let mut families = other_fuse::families(failure.worst, solved);
                families.extend(larger(failure.worst, solved));
                families
            }
            _ => other_fuse::families(failure.worst, solved),
        }
    }
}

fn outcome_of(compared: Result<Comparison, Vec<Missing>>) -> Outcome {
    outcome(compared, Grade::Major)
}

fn put(
    fuse: &Fuse,
    defect: &'static str,
    solved: &Solved<'_>,
    lane: LaneId,
    (outcome, remarks): (Outcome, Vec<Remark>),
    out: &mut Verdicts,
) {
    let part = solved.variant.plan.conductors[fuse.conductor].part;
    let subject = Subject { part, defect, lane: Some(lane), kin: Some(fuse.rated) };
    out.put(solved, subject, outcome, remarks);
}

/// What faults and open contacts ask of a fuse.
fn faults(fuse: &Fuse, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let figures = &fuse.figures;
    let amps = Dimension::Current;
    for (defect, carried, limit, policy) in [
        (
            VOLTAGE,
            (figures.highest_voltage, Dimension::Voltage),
            Limit::Input(fuse.voltage),
            Some(&FUSE_VOLTAGE),
        ),
        (BREAKING, (figures.highest_fault, amps), Limit::Input(fuse.breaking), None),
        (NOT_CLEARED, (figures.least_breaking, amps), Limit::Figure(figures.lowest_fault), None),
    ] {
        // Where converters alone feed the bus, what they deliver may end at any moment, and need not be broken.
        if defect == NOT_CLEARED && fuse.delivered.is_some() {
            continue;
        }
        let mut compared = compare(solved, lane, carried, limit, policy);
        if let (BREAKING, Some(unlimited)) = (defect, fuse.delivered.as_ref().and_then(|one| one.unlimited)) {
            compared = Err(vec![Missing::Cause(Cause::Input(unlimited))]);
        }
        if let (VOLTAGE, Some(least)) = (defect, figures.open_circuit) {
            let by_sources = || compare(solved, lane, (least, Dimension::Voltage), limit, policy);
            (compared, _) = or_of_the_least(compared, by_sources);
        }
        let mut remarks = vec![Remark::FaultUntested];
        if defect == BREAKING {
            remarks.extend(melted_by_banks(fuse, solved, lane));
        }
        put(fuse, defect, solved, lane, (outcome_of(compared), remarks), out);
    }
    // What no data sheet says is no limit.
    if let (Some(constant), Some(rated)) = (figures.fault_constant, fuse.time_constant) {
        let compared = compare(solved, lane, (constant, Dimension::Time), Limit::Input(rated), None);
        put(fuse, SLOW, solved, lane, (outcome_of(compared), vec![Remark::FaultUntested]), out);
    }
}

/// What banks do to a fuse in a fault, where their discharge melts it.
fn melted_by_banks(fuse: &Fuse, solved: &Solved<'_>, lane: LaneId) -> Option<Remark> {
    let surge = fuse.surge?;
    let sent = solved.figure(surge.let_through, lane)?;
    let melts = solved.input(fuse.melting, lane)? <= sent;
    let peak = solved.figure(surge.current, lane)?;
    melts.then_some(Remark::BanksMelt { sent, peak })
}

/// What a fuse lets through, against what a conductor behind it stands.
fn behind(fuse: &Fuse, protected: &Protected, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let conductor = &solved.variant.plan.conductors[protected.conductor];
    let through = (protected.through, Dimension::SquaredCurrentTime);
    let compared = compare(solved, lane, through, Limit::Figure(protected.withstood), None);
    let mut remarks = vec![Remark::FaultUntested];
    if !protected.uncleared.is_empty() {
        remarks.push(Remark::FeedsUncleared);
    }
    let is_reached = protected.stated.is_none() && protected.reached.is_some();
    if protected.stated.is_none() && conductor.heat.is_none() && !is_reached {
        remarks.push(Remark::AsWarmAsItsAir);
    }
    let mut grade = Grade::Major;
    // Of a short duty point that says nothing of its start, the conductor counts as hot as it would settle.
    let is_settled = protected.stated.is_none() && conductor.heat.is_some() && !solved.is_warmed(lane);
    if let (true, Some(lasts)) = (is_settled || is_reached, solved.variant.duty_of(lane).lasts) {
        remarks.push(Remark::FromNothing { lasts });
        if stands_from_cold(protected, conductor.surroundings, solved, lane) {
            grade = Grade::Minor;
        }
    }
    let part = conductor.part;
    let subject = Subject { part, defect: LET_THROUGH, lane: Some(lane), kin: Some(fuse.clearing) };
    let outcome = match outcome(compared, grade) {
        Outcome::Holds(Some(compared)) if may_melt_slowly(fuse, protected, &compared, solved, lane) => {
            let of = solved.variant.plan.conductors[fuse.conductor].part;
            Outcome::NotJudged(vec![Missing::Key { of, key: "time_current" }])
        }
        outcome => outcome,
    };
    out.put(solved, subject, outcome, remarks);
}

/// Times its rated current from which a fuse melts before heat leaves its notches, so that it lets no more through than its
/// clearing I²t.
const AT_ONCE: f64 = 10.0;
/// Seconds within which copper keeps its heat.
const KEEPS_HEAT: f64 = 5.0;

/// Whether the weakest fault may melt a fuse so slowly that more passes copper than it stands, and no curve says how much. What
/// flows for longer leaves it time to cool.
fn may_melt_slowly(
    fuse: &Fuse,
    protected: &Protected,
    compared: &Comparison,
    solved: &Solved<'_>,
    lane: LaneId,
) -> bool {
    let figures = &fuse.figures;
    let [weakest, strongest] =
        [figures.lowest_fault, figures.highest_fault].map(|of| solved.figure(of, lane));
    let (Some(weakest), Some(strongest), Some(rated)) = (weakest, strongest, solved.input(fuse.rated, lane))
    else {
        return false;
    };
    let slow = strongest.min(AT_ONCE * rated);
    fuse.curve.is_none()
        && protected.stated.is_none()
        && weakest < AT_ONCE * rated
        && slow * slow * KEEPS_HEAT > compared.allowed
}

/// Whether a conductor does not stand what comes through its fuses, in any of some lanes.
fn lets_through(protected: &Protected, solved: &Solved<'_>, lanes: Lanes) -> bool {
    let through = (protected.through, Dimension::SquaredCurrentTime);
    let compared = |lane| compare(solved, lane, through, Limit::Figure(protected.withstood), None);
    lanes.ids().any(|lane| compared(lane).is_ok_and(|compared| !compared.holds()))
}

/// A conductor with more copper, where a fuse lets too much through it.
fn larger(worst: &Verdict, solved: &Solved<'_>) -> Option<Family> {
    let plan = &solved.variant.plan;
    let is_it = |one: &&Protected| plan.conductors[one.conductor].part == worst.part;
    let protected = fuse_of(plan, worst)?.protects.iter().find(is_it)?;
    copper::more(protected, solved.variant.path(worst.part), worst.comparison()?, solved, worst.lane()?)
}

/// Whether a branch lacks a fuse of its own: conductors that stand in no branch were meant for it, as far as anyone can tell,
/// and are told with it.
pub(crate) fn lacks_a_fuse(solved: &Solved<'_>) -> bool {
    let plan = &solved.variant.plan;
    let branch = |conductor: usize| plan.conductors[conductor].branch;
    let bare = |fuse: &Fuse| {
        let beyond = fuse.protects.iter().filter(|one| branch(one.conductor) != branch(fuse.conductor));
        beyond.into_iter().any(|protected| lets_through(protected, solved, Lanes::of(solved.variant)))
    };
    plan.protections.iter().any(Protection::is_unfused) || plan.fuses.iter().any(bare)
}

/// Whether a conductor as cold as its surroundings would stand what comes through it.
fn stands_from_cold(protected: &Protected, air: InputId, solved: &Solved<'_>, lane: LaneId) -> bool {
    let sides = protected.section.iter().map(|&side| solved.input(side, lane));
    let celsius = |input| solved.input(input, lane).map(Temperature::celsius);
    let (Some(section), Some(begins), Some(ends), Some(through)) = (
        sides.product::<Option<f64>>(),
        celsius(air),
        celsius(protected.short_hottest),
        solved.figure(protected.through, lane),
    ) else {
        return true;
    };
    through <= fuse::withstood(Area::new(section), begins, ends)
}

/// What another fuse lets too much through, where what a conductor behind one stands would be enough without that.
fn sent_by(fuse: &Fuse, failing: &Verdict, solved: &Solved<'_>) -> Option<Vec<With>> {
    let plan = &solved.variant.plan;
    let (lane, compared) = (failing.lane()?, failing.comparison()?);
    let is_it = |one: &&Protected| plan.conductors[one.conductor].part == failing.part;
    let protected = fuse.protects.iter().filter(|_| failing.kin == Some(fuse.clearing)).find(is_it)?;
    let others = plan.fuses.iter().filter(|other| {
        [&protected.beside, &protected.against]
            .into_iter()
            .flatten()
            .any(|&one| one == other.figures.let_through)
    });
    let with = others.filter_map(|other| {
        let sent = solved.figure(other.figures.let_through, lane)?;
        // All that passes a conductor at once adds up as currents do.
        let left = (compared.carried_value.sqrt() - sent.sqrt()).max(0.0);
        let is_enough = left * left <= compared.allowed;
        let behind = other.protects.iter().map(|one| plan.conductors[one.conductor].part);
        is_enough.then(|| behind.map(|part| With::of(ABOUT.name, LET_THROUGH, part)).collect::<Vec<_>>())
    });
    Some(with.flatten().filter(|with| with.part != Some(failing.part)).collect())
}

/// The fuse that a verdict is about: of its own part, or the one that protects the part.
fn fuse_of<'v>(plan: &'v Plan, verdict: &crate::verdict::Verdict) -> Option<&'v Fuse> {
    let is_it = |fuse: &&Fuse| {
        if verdict.defect == LET_THROUGH {
            verdict.kin == Some(fuse.clearing)
        } else {
            plan.conductors[fuse.conductor].part == verdict.part
        }
    };
    plan.fuses.iter().find(is_it)
}
