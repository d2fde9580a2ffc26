//! Is each bus below 60 V in time once it is switched off, and is its pre-charge sized?
//!
//! From the highest voltage the resistor alone and the discharge that is switched on take the charge of the banks, with
//! that of banks which follow through diodes. The other way round, a bank is charged through a resistor before its
//! contactor closes. The question is asked of every bus above 60 V that has a bank or states a discharge.

mod paralleling;
mod poles;
mod surge;
mod telling;
mod undischarged;

use loadworthy_unit::plan::{Precharge, Stored};
use loadworthy_unit::{Cause, Dimension, InputId, LaneId, PartId, PolicyForm, PolicyItem, Solved};

use crate::check::{About, Check, Failure, Family, Told, With};
use crate::collect::{Limit, Subject, Verdicts, compare, outcome};
use crate::remarks::Remark;
use crate::verdict::{Comparison, Fault, Grade, Missing, Outcome, Verdict};

/// Share of the power of a discharge resistor that may be used.
pub(crate) static RESISTOR_POWER: PolicyItem = PolicyItem {
    name: "discharge_resistor",
    help: "Share of its rated power that a discharge resistor may lose at the highest bus voltage",
    form: PolicyForm::UseAtMost { default: 0.6, usual: (0.4, 0.8) },
    since: 2026,
};

/// Share of the energy of a pre-charge resistor that may be used.
pub(crate) static PRECHARGE_ENERGY: PolicyItem = PolicyItem {
    name: "precharge_energy",
    help: "Share of the energy of one pulse that a pre-charge resistor may take",
    form: PolicyForm::UseAtMost { default: 0.8, usual: (0.5, 1.0) },
    since: 2026,
};

const PASSIVE: &str = "passive-discharge";
const ACTIVE: &str = "active-discharge";
const UNDISCHARGED: &str = "no-discharge";
const LOSS: &str = "resistor-loss";
const ENERGY: &str = "precharge-energy";
const SLOW: &str = "slow-precharge";
const INRUSH: &str = "precharge-inrush";
const SURGE: &str = "precharge-surge";
const GIVEN_UP: &str = "given-up";
const CLOSING: &str = "closing-current";
const PARALLELING: &str = "paralleling";
const NEVER: &str = "never-charged";
const BARE: &str = "no-precharge";
const BYPASS: &str = "open-bypass";
const UNPARTED: &str = "no-disconnect";
const ONE_POLE: &str = "one-pole";

/// Voltage of a bus below which nothing is asked, as in ISO 6469-3 and UN Regulation No. 100.
const HARMLESS: f64 = 60.0;

static ABOUT: About = About {
    name: "stored-energy",
    former_names: &[],
    question: "Is each bus below 60 V in time once it is switched off, and is its pre-charge sized?",
    page: include_str!("page.md"),
    fails: include_str!("fails.yaml"),
    holds: include_str!("holds.yaml"),
    defects: &[
        (PASSIVE, "the resistor alone takes longer than it may to bring a bus below 60 V"),
        (ACTIVE, "the discharge that is switched on takes longer than it may"),
        (
            UNDISCHARGED,
            "nothing takes the charge of a bus away once it is switched off, or nothing but what has to be switched on",
        ),
        (LOSS, "a discharge resistor loses more than the policy leaves of its power"),
        (ENERGY, "the resistor of a pre-charge takes more energy than the policy leaves"),
        (SLOW, "a pre-charge takes longer than it may"),
        (INRUSH, "a contactor of a pre-charge closes on more current than it makes"),
        (
            SURGE,
            "a pre-charge begins with more current than its source, the fuse before it or what closes it within its source stands",
        ),
        (CLOSING, "a contactor closes on more current than it makes, after its pre-charge"),
        (
            PARALLELING,
            "a battery is closed on another at an unlike voltage: more flows than contacts make, melts a fuse, or one of them takes",
        ),
        (
            GIVEN_UP,
            "a contactor of a pre-charge breaks less than flows where the pre-charge is given up at its beginning",
        ),
        (NEVER, "what is drawn meanwhile keeps a pre-charge from ever coming to its end"),
        (BARE, "a contactor closes on an empty bank without a pre-charge"),
        (BYPASS, "a pre-charge that nothing opens leads around the contactor of its bus"),
        (UNPARTED, "no contactor parts a battery or a fuel cell from a bus that hurts"),
        (ONE_POLE, "contactors of a source that floats open one of its poles alone"),
    ],
    policy: &[&RESISTOR_POWER, &PRECHARGE_ENERGY],
    since: 2026,
};

/// The check.
pub(crate) struct StoredEnergy;

impl Check for StoredEnergy {
    fn about(&self) -> &'static About {
        &ABOUT
    }

    fn adds_up(&self, defect: &str) -> &'static [&'static str] {
        match defect {
            NEVER | ENERGY => &["buses", "stages"],
            PASSIVE | ACTIVE => &["stages"],
            _ => &[],
        }
    }

    fn judges_each_duty_point(&self) -> bool {
        false
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        let plan = &solved.variant.plan;
        let lacking: Vec<Option<Grade>> =
            plan.stored.iter().map(|one| undischarged::grade(one, solved)).collect();
        for (stored, grade) in plan.stored.iter().zip(&lacking) {
            let Some(grade) = *grade else { continue };
            let part = plan.buses[stored.bus].part;
            let subject = Subject { part, defect: UNDISCHARGED, lane: None, kin: None };
            out.put(solved, subject, Outcome::Fails { fault: Fault::Structural, grade }, Vec::new());
        }
        for lane in solved.variant.lane_ids() {
            for (stored, lacks) in plan.stored.iter().zip(&lacking) {
                // What follows a bus that nothing discharges is told of there.
                let lacks = lacks.is_some() || stored.follows.is_some_and(|own| lacking[own].is_some());
                discharge((stored, lacks), solved, lane, out);
            }
            for precharge in &plan.precharges {
                charge(precharge, solved, lane, out);
            }
        }
        // One that holds the fuse of the branch which lacks it is told there.
        let is_bypass = |one: &&Precharge| !one.opens && misplaced_fuse(solved, one.part).is_none();
        for precharge in plan.precharges.iter().filter(is_bypass) {
            let subject = Subject { part: precharge.part, defect: BYPASS, lane: None, kin: None };
            let fault = Outcome::Fails { fault: Fault::Structural, grade: Grade::Major };
            out.put(solved, subject, fault, Vec::new());
        }
        let plan = &solved.variant.plan;
        let bare = charged(&plan.closed_unprecharged, solved).map(|branch| (branch, BARE));
        // A branch that leads through nothing lacks its fuse first, and is told of both there.
        let unparted = charged(&plan.unparted, solved).filter(|&branch| !is_a_bare_feed(solved, branch));
        let lacking = charged(&plan.closed_unprecharged, solved).count();
        for (part, defect) in bare.chain(unparted.map(|branch| (branch, UNPARTED))) {
            // Pre-charges that lack in several branches are one cause.
            let kin = plan.branches.filter(|_| defect == BARE && lacking > 1);
            let subject = Subject { part, defect, lane: None, kin };
            let fault = Outcome::Fails { fault: Fault::Structural, grade: Grade::Major };
            out.put(solved, subject, fault, Vec::new());
        }
        poles::judge(solved, out);
        paralleling::judge(solved, out);
    }

    /// A pre-charge that lets too much through for several lets it through for one cause.
    fn told_with(&self, failing: &Verdict, solved: &Solved<'_>) -> Vec<With> {
        let with = |defect, part| With::of(ABOUT.name, defect, part);
        let own = solved.variant.plan.precharges.iter().find(|one| one.part == failing.part);
        let own = own.filter(|_| failing.defect == SURGE);
        let contactors = own.into_iter().flat_map(|one| &one.contactors).map(|one| one.part);
        contactors.flat_map(|part| [with(INRUSH, part), with(GIVEN_UP, part)]).collect()
    }

    fn keeps_open(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<String> {
        if failure.worst.defect == UNDISCHARGED {
            undischarged::keeps_open(failure.worst, solved)
        } else {
            Vec::new()
        }
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        telling::told(failure.worst, solved)
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        telling::propose(failure, solved)
    }
}

fn discharge((stored, lacks): (&Stored, bool), solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let plan = &solved.variant.plan;
    let bus = &plan.buses[stored.bus];
    let Some(highest) = solved.figure(bus.highest_voltage, lane) else {
        // How high it comes is not known: it is asked for where the bus is no low-voltage net for sure.
        let solved_volts = solved.figure(bus.voltage, lane);
        if stored.resistor.is_some()
            || stored.active.is_some()
            || solved_volts.is_none_or(|volts| volts > HARMLESS)
        {
            // Where it is stated, what it is the highest of has no solution here.
            let missing = if solved.variant.tables.is_written(bus.highest) {
                Missing::Figure(bus.highest_voltage)
            } else {
                Missing::Cause(Cause::Input(bus.highest))
            };
            put(bus.part, PASSIVE, Outcome::NotJudged(vec![missing]), solved, lane, out);
            // What is asked of it in another duty point is not judged in this one.
            let asked = [(ACTIVE, stored.active.is_some()), (LOSS, stored.resistor.is_some())];
            for (defect, _) in asked.into_iter().filter(|(_, is_asked)| *is_asked) {
                put(bus.part, defect, Outcome::NotJudged(vec![missing]), solved, lane, out);
            }
        }
        return;
    };
    if highest <= HARMLESS {
        return;
    }
    // A bus without a discharge of its own has that of the bus that it follows.
    let own = stored.follows.map_or(stored, |follows| &plan.stored[follows]);
    let seconds = |figure, limit| compare(solved, lane, (figure, Dimension::Time), Limit::Input(limit), None);
    // Both fall in the time of the one discharge, and what that bus is found for is said with it.
    let is_said = |figure, limit| {
        let of = &plan.buses[own.bus];
        let is_judged = solved.figure(of.highest_voltage, lane).is_some_and(|volts| volts > HARMLESS);
        stored.follows.is_some()
            && is_judged
            && seconds(figure, limit).is_ok_and(|compared| !compared.holds())
    };
    let passive = if own.resistor.is_some() {
        seconds(stored.figures.passive_time, stored.passively_within)
    } else {
        let key = if own.is_stated { "discharge.resistor" } else { "discharge" };
        let lost = stored.unread.map(|unread| Missing::Cause(Cause::Input(unread)));
        Err(vec![lost.unwrap_or(Missing::Key { of: bus.part, key })])
    };
    // Who asks for a shorter time and states nothing that is switched on has the resistor alone.
    let alone = own.active.is_none() && solved.variant.tables.is_written(stored.within);
    let alone = alone && passive.as_ref().is_ok_and(Comparison::holds);
    if !lacks && !is_said(own.figures.passive_time, own.passively_within) {
        put(bus.part, PASSIVE, outcome(passive, Grade::Major), solved, lane, out);
    }
    if alone && !is_said(own.figures.passive_time, own.within) {
        let within = seconds(stored.figures.passive_time, stored.within);
        put(bus.part, ACTIVE, outcome(within, Grade::Major), solved, lane, out);
    }
    if own.active.is_some() && !is_said(own.figures.active_time, own.within) {
        let active = seconds(stored.figures.active_time, stored.within);
        put(bus.part, ACTIVE, outcome(active, Grade::Major), solved, lane, out);
    }
    if let Some((_, power)) = stored.resistor {
        let loss = (stored.figures.resistor_loss, Dimension::Power);
        let compared = compare(solved, lane, loss, Limit::Input(power), Some(&RESISTOR_POWER));
        put(bus.part, LOSS, outcome(compared, Grade::Major), solved, lane, out);
    }
}

/// What contacts make, or where nothing says that what they break, which they then make as well. What is said of it and could not
/// be read may be less.
fn made(
    makes: Result<Comparison, Vec<Missing>>,
    broken: Option<Comparison>,
    stated: InputId,
    solved: &Solved<'_>,
) -> Result<Comparison, Vec<Missing>> {
    let broken = broken.filter(|_| solved.variant.tables.is_absent(stated));
    makes.or_else(|missing| broken.ok_or(missing))
}

fn charge(precharge: &Precharge, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let drop = (precharge.drop, Dimension::Voltage);
    let stays = compare(solved, lane, drop, Limit::Figure(precharge.rest_voltage), None);
    // One that never ends takes energy without end, and is told of that.
    if stays.as_ref().map_or(true, Comparison::holds) {
        let energy = (precharge.energy, Dimension::Energy);
        let compared =
            compare(solved, lane, energy, Limit::Input(precharge.rated_energy), Some(&PRECHARGE_ENERGY));
        put(precharge.part, ENERGY, outcome(compared, Grade::Major), solved, lane, out);
        if let Some(within) = precharge.within {
            let time = (precharge.time, Dimension::Time);
            let compared = compare(solved, lane, time, Limit::Input(within), None);
            put(precharge.part, SLOW, outcome(compared, Grade::Major), solved, lane, out);
        }
    }
    surge::judge(precharge, solved, lane, out);
    for contactor in &precharge.contactors {
        let on =
            |limit| compare(solved, lane, (precharge.inrush, Dimension::Current), Limit::Input(limit), None);
        // What contacts break they make as well; the other way round nobody knows.
        let broken = on(contactor.breaks).ok().filter(Comparison::holds);
        let compared = made(on(contactor.makes), broken, contactor.makes, solved);
        // What it makes may not matter once it is known how much that is.
        let compared = match solved.figure(precharge.inrush, lane) {
            Some(_) => compared,
            None => Err(vec![Missing::Figure(precharge.inrush)]),
        };
        let makes_it = compared.as_ref().is_ok_and(Comparison::holds);
        put(contactor.part, INRUSH, outcome(compared, Grade::Major), solved, lane, out);
        // One that is given up is broken at what flows then, at its beginning all of it; what closes on too much is told of that.
        if solved.variant.tables.is_written(contactor.breaks) && makes_it {
            put(contactor.part, GIVEN_UP, outcome(on(contactor.breaks), Grade::Major), solved, lane, out);
        }
    }
    if let Some(main) = &precharge.around {
        let on =
            |limit| compare(solved, lane, (precharge.closing, Dimension::Current), Limit::Input(limit), None);
        let broken = on(main.breaks).ok().filter(Comparison::holds);
        let compared = made(on(main.makes), broken, main.makes, solved);
        // One that states neither is asked what it breaks; then it may make that as well.
        let states = |input| solved.variant.tables.is_written(input);
        let compared = match states(main.makes) || states(main.breaks) {
            true => compared,
            false => Err(vec![Missing::Key { of: main.part, key: "breaks" }]),
        };
        let compared = match solved.figure(precharge.closing, lane) {
            Some(_) => compared,
            None => Err(vec![Missing::Figure(precharge.closing)]),
        };
        // An inductance that is not stated was taken for none: what is made without it is made, and else nobody knows.
        let source = solved.variant.plan.sources[precharge.from].inductance;
        let compared = match solved.input(source, lane) {
            None if compared.as_ref().is_ok_and(|compared| !compared.holds()) => {
                Err(vec![Missing::Cause(Cause::Input(source))])
            }
            _ => compared,
        };
        put(main.part, CLOSING, outcome(compared, Grade::Major), solved, lane, out);
    }
    put(precharge.part, NEVER, outcome(stays, Grade::Major), solved, lane, out);
}

fn put(
    part: PartId,
    defect: &'static str,
    outcome: Outcome,
    solved: &Solved<'_>,
    lane: LaneId,
    out: &mut Verdicts,
) {
    let is_discharge = matches!(defect, PASSIVE | ACTIVE) && !matches!(outcome, Outcome::NotJudged(_));
    let remarks = if is_discharge { vec![Remark::StillCharged] } else { Vec::new() };
    out.put(solved, Subject { part, defect, lane: Some(lane), kin: None }, outcome, remarks);
}

/// The fuse in a branch around a contactor, and the second contactor of the branch that it leads around, which has no fuse and lacks
/// one: each stands where the other belongs. Conductors of the plan.
pub(crate) fn misplaced_fuse(solved: &Solved<'_>, around: PartId) -> Option<(usize, usize)> {
    let plan = &solved.variant.plan;
    let in_branch = |conductor: usize, branch: PartId| plan.conductors[conductor].branch == branch;
    let fuse = plan.openings.iter().find(|one| !one.is_contactor && in_branch(one.conductor, around))?;
    let main = fuse.around?;
    let feed = plan.conductors[main].branch;
    let lacks = plan.protections.iter().any(|one| one.branch == feed && one.is_unfused());
    let mut others =
        plan.openings.iter().filter(|one| one.conductor != main && in_branch(one.conductor, feed));
    others.find(|one| one.is_contactor).filter(|_| lacks).map(|one| (fuse.conductor, one.conductor))
}

/// The branch around a contactor of a branch that lacks its fuse, with what was exchanged between the two.
pub(crate) fn exchanged_with(solved: &Solved<'_>, feed: PartId) -> Option<(PartId, usize, usize)> {
    let plan = &solved.variant.plan;
    plan.precharges.iter().filter(|one| !one.opens).find_map(|one| {
        let (fuse, contactor) = misplaced_fuse(solved, one.part)?;
        (plan.conductors[contactor].branch == feed).then_some((one.part, fuse, contactor))
    })
}

/// Whether a branch from a source leads through nothing, and nothing else protects it.
fn is_a_bare_feed(solved: &Solved<'_>, branch: PartId) -> bool {
    let (variant, plan) = (solved.variant, &solved.variant.plan);
    let is_it = |part: PartId| variant.path(part) == variant.path(branch);
    plan.conductors.iter().all(|one| !is_it(one.branch))
        && plan.protections.iter().any(|one| is_it(one.branch) && one.is_unfused())
}

/// Whether a branch from a source that leads through nothing connects a bank for good, at a voltage that hurts: what it lacks
/// is a fuse and a contactor.
pub(crate) fn connects_for_good(solved: &Solved<'_>, branch: PartId) -> bool {
    let variant = solved.variant;
    let is_it = |part: PartId| variant.path(part) == variant.path(branch);
    is_a_bare_feed(solved, branch) && charged(&variant.plan.unparted, solved).any(is_it)
}

/// Those of some branches that lead to a bank of a bus that hurts.
fn charged<'s>(branches: &'s [(PartId, usize)], solved: &'s Solved<'_>) -> impl Iterator<Item = PartId> + 's {
    let plan = &solved.variant.plan;
    let all = branches.iter().filter(move |&&(_, bus)| {
        let bus = &plan.buses[bus];
        // A duty point without a solution says nothing of it; what the bus is stated to reach does.
        let hurts = |lane| {
            let volts = [solved.figure(bus.highest_voltage, lane), solved.input(bus.highest, lane)];
            volts.into_iter().flatten().any(|volts| volts > HARMLESS)
        };
        !bus.ripple.banks.is_empty() && solved.variant.lane_ids().any(hurts)
    });
    all.map(|&(branch, _)| branch)
}

/// Whether a contactor or a pre-charge lacks, or what opens one: conductors that stand in no branch were meant for it, as far
/// as anyone can tell, and are told with it.
pub(crate) fn lacks_a_conductor(solved: &Solved<'_>) -> bool {
    let plan = &solved.variant.plan;
    [&plan.closed_unprecharged, &plan.unparted].into_iter().any(|of| charged(of, solved).next().is_some())
        || plan.precharges.iter().any(|precharge| !precharge.opens)
}
