//! Do the capacitors of each bus stand its ripple?
//!
//! Every stage sends the ripple of its own pulses into the banks of its buses, in either direction of power. Together it
//! heats them, swings the voltage and may meet a resonance. The question is asked of every bank.

mod in_step;
mod telling;

use loadworthy_unit::plan::{Bank, Bus, Plan, Port, RippleFigures, Stage, Topology};
use loadworthy_unit::{Cause, Dimension, LaneId, PartId, PolicyForm, PolicyItem, Solved};

use crate::check::{About, Check, Failure, Family, Told, With};
use crate::collect::{
    Limit, Subject, Verdicts, compare, grade_if_held, or_of_the_least, outcome, structural,
};
use crate::deratings::CAPACITOR_VOLTAGE;
use crate::remarks::{self, Remark};
use crate::verdict::{Comparison, Grade, Missing, Outcome, Verdict};

/// Share of the rated ripple current that may be used.
pub(crate) static RIPPLE_CURRENT: PolicyItem = PolicyItem {
    name: "ripple_current",
    help: "Share of its rated ripple current that a capacitor may carry",
    form: PolicyForm::UseAtMost { default: 0.9, usual: (0.7, 1.0) },
    since: 2026,
};

/// Distance of the hot spot from its limit.
pub(crate) static HOT_SPOT: PolicyItem = PolicyItem {
    name: "hot_spot",
    help: "Distance that the hot spot of a capacitor keeps from its highest temperature",
    form: PolicyForm::Keep { dimension: Dimension::TemperatureDifference, default: 5.0, usual: (0.0, 15.0) },
    since: 2026,
};

/// Share of the bus voltage that its ripple may have.
pub(crate) static RIPPLE_VOLTAGE: PolicyItem = PolicyItem {
    name: "ripple_voltage",
    help: "Share of the voltage of a bus that its ripple may have, peak to peak",
    form: PolicyForm::UseAtMost { default: 0.05, usual: (0.02, 0.1) },
    since: 2026,
};

/// Share of its endurance that a capacitor may use up in the life that is asked of it.
pub(crate) static CAPACITOR_LIFE: PolicyItem = PolicyItem {
    name: "capacitor_life",
    help: "Share of its endurance that the life asked of a capacitor may use up; its life elsewhere is a rule of thumb",
    form: PolicyForm::UseAtMost { default: 1.0, usual: (0.5, 1.0) },
    since: 2026,
};

const CURRENT: &str = "ripple-current";
const HOT: &str = "hot-spot";
const LIFE: &str = "short-life";
const PEAK: &str = "peak-voltage";
const SWING: &str = "ripple-voltage";
const RESONANCE: &str = "resonance";
const NO_BANK: &str = "no-bank";
const OUT_OF_STEP: &str = "out-of-step";

/// Share of a line that one bank may carry: 4/3 is where a resonance lies at half the frequency of the line.
const LARGEST_SHARE: f64 = 4.0 / 3.0;

static ABOUT: About = About {
    name: "link-ripple",
    former_names: &[],
    question: "Do the capacitors of each bus stand its ripple, and get no hotter than they may?",
    page: include_str!("page.md"),
    fails: include_str!("fails.yaml"),
    holds: include_str!("holds.yaml"),
    defects: &[
        (CURRENT, "a capacitor carries more ripple current than the policy leaves of its rating"),
        (HOT, "the hot spot of a capacitor comes closer to its limit than the policy keeps"),
        (LIFE, "at its hot spot a capacitor lasts less long than it has to, by a rule of thumb"),
        (PEAK, "the highest voltage of the bus with half its ripple exceeds what a capacitor is rated for"),
        (SWING, "the voltage of a bus swings more than the policy leaves"),
        (RESONANCE, "a bank resonates with what stands beside it, close to a line of the ripple"),
        (NO_BANK, "stages send their ripple into a bus on which no bank stands"),
        (
            OUT_OF_STEP,
            "carriers that are called synchronised have frequencies that cannot be, or a shift that is not counted",
        ),
    ],
    policy: &[&RIPPLE_CURRENT, &HOT_SPOT, &CAPACITOR_LIFE, &CAPACITOR_VOLTAGE, &RIPPLE_VOLTAGE],
    since: 2026,
};

/// The check.
pub(crate) struct LinkRipple;

impl Check for LinkRipple {
    fn about(&self) -> &'static About {
        &ABOUT
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        let plan = &solved.variant.plan;
        for &(bank, bus) in &plan.adrift {
            let waits = Outcome::NotJudged(vec![Missing::Cause(Cause::Input(bus))]);
            let subject = Subject { part: bank, defect: NO_BANK, lane: None, kin: None };
            out.put(solved, subject, waits, Vec::new());
        }
        in_step::judge(solved, out);
        for bus in &plan.buses {
            let Some(figures) = bus.ripple.figures else {
                if is_bare(plan, bus) {
                    // Legs without a bank beside them have nothing to commutate into.
                    let grade =
                        if chopping(plan, bus).next().is_some() { Grade::Major } else { Grade::Minor };
                    let subject = Subject { part: bus.part, defect: NO_BANK, lane: None, kin: None };
                    out.put(solved, subject, structural(Ok(false), grade), Vec::new());
                }
                continue;
            };
            for lane in solved.variant.lane_ids() {
                for &bank in &bus.ripple.banks {
                    of_bank(&plan.banks[bank], bus, solved, lane, out);
                }
                of_bus(bus, figures, solved, lane, out);
            }
        }
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        if failure.worst.defect == OUT_OF_STEP {
            return in_step::told(failure.worst, solved);
        }
        telling::told(failure.worst, solved)
    }

    fn told_with(&self, failing: &Verdict, _solved: &Solved<'_>) -> Vec<With> {
        (failing.defect == LIFE).then(|| With::of(ABOUT.name, HOT, failing.part)).into_iter().collect()
    }

    fn is_said_once(&self, defect: &str) -> bool {
        defect == OUT_OF_STEP
    }

    fn keeps_open(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<String> {
        let bus = solved.variant.path(failure.worst.part);
        // The overshoot of what switches here, and the rise of the bus once its load is lost.
        if failure.worst.defect == NO_BANK {
            vec![format!("capacitors: a bank on {bus}")]
        } else {
            Vec::new()
        }
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        telling::propose(failure, solved)
    }
}

/// Whether stages stand on a bus that nothing smooths. Where no bank of a unit is described, and no bus says how it is
/// discharged, what smooths its buses lies outside the concept; and what could not be read, or does not say where it stands,
/// may stand here.
pub(crate) fn is_bare(plan: &Plan, bus: &Bus) -> bool {
    let is_discharged = || plan.stored.iter().any(|stored| plan.buses[stored.bus].part == bus.part);
    (!plan.banks.is_empty() || is_discharged())
        && plan.capacitors_read
        && plan.adrift.is_empty()
        && unsmoothed(plan, bus).next().is_some()
}

/// The stages whose ripple a bus without a bank is left with. A source takes what a choke has smoothed, and none of what
/// legs cut out of its current. But a pre-charge says that a bank is meant to stand there.
fn unsmoothed<'p>(plan: &'p Plan, bus: &Bus) -> impl Iterator<Item = &'p Stage> {
    let takes = !bus.sources.is_empty() && precharge(plan, bus).is_none();
    stages_on(plan, bus).filter(move |(stage, port)| !takes || stage.chops(*port)).map(|(stage, _)| stage)
}

/// The branch that charges a bus before its contactor closes, and no other bus through the diodes of a boost.
fn precharge(plan: &Plan, bus: &Bus) -> Option<PartId> {
    let place = plan.buses.iter().position(|one| one.part == bus.part)?;
    let has_source = |port: &Port| port.bus.is_some_and(|bus| !plan.buses[bus].sources.is_empty());
    let passes_on = stages_on(plan, bus).any(|(stage, port)| {
        let is_low = port == 0 && matches!(stage.topology, Topology::Chopper(_));
        is_low && !stage.ports.get(1).is_some_and(has_source)
    });
    let own = plan.precharges.iter().find(|precharge| precharge.bus == place);
    own.filter(|_| !passes_on).map(|precharge| precharge.part)
}

/// The stages that cut the current of a bus into pulses.
fn chopping<'p>(plan: &'p Plan, bus: &Bus) -> impl Iterator<Item = &'p Stage> {
    stages_on(plan, bus).filter(|(stage, port)| stage.chops(*port)).map(|(stage, _)| stage)
}

/// The stages that a bus joins, each with the port that stands on it.
fn stages_on<'p>(plan: &'p Plan, bus: &Bus) -> impl Iterator<Item = (&'p Stage, usize)> {
    let place = plan.buses.iter().position(|one| one.part == bus.part);
    plan.stages.iter().filter_map(move |stage| {
        stage.ports.iter().position(|port| port.bus == place).map(|port| (stage, port))
    })
}

/// Whether what any stage sends into a bus reads high, as its output choke would rest in each period.
fn unsure(bus: &Bus, solved: &Solved<'_>, lane: LaneId) -> Option<Remark> {
    let stages = bus.ripple.terms.iter().map(|term| &solved.variant.plan.stages[term.stage]);
    stages.into_iter().find_map(|stage| remarks::of_choke(stage, solved, lane))
}

fn of_bank(bank: &Bank, bus: &Bus, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let figures = &bank.figures;
    let unsure = unsure(bus, solved, lane);
    let mut put = |defect, compared: Result<Comparison, Vec<Missing>>, grade, mut remarks: Vec<Remark>| {
        remarks.extend(unsure);
        put(bank.part, defect, outcome(compared, grade), remarks, solved, lane, out);
    };
    // What heats is judged as if it lasted.
    let (grade, lasts) = (grade_if_held(solved, lane), solved.variant.duty_of(lane).lasts);
    let held = || lasts.map(|lasts| Remark::HeldContinuously { lasts }).into_iter().collect::<Vec<_>>();
    let amps = (figures.each_ripple, Dimension::Current);
    let compared = compare(solved, lane, amps, Limit::Input(bank.each.ripple_current), Some(&RIPPLE_CURRENT));
    put(CURRENT, compared, grade, held());
    let hot = (figures.hot_spot, Dimension::Temperature);
    let compared = compare(solved, lane, hot, Limit::Input(bank.each.hottest), Some(&HOT_SPOT));
    put(HOT, compared, grade, held());
    if let Some((life, (_, spent))) = bank.life.and_then(|life| Some((life, life.asked?))) {
        let spent = (spent, Dimension::Time);
        let compared = compare(solved, lane, spent, Limit::Input(life.endurance), Some(&CAPACITOR_LIFE));
        put(LIFE, compared, Grade::Minor, held());
    }
    let limit = Limit::Input(bank.each.voltage);
    let against = |volts| compare(solved, lane, (volts, Dimension::Voltage), limit, Some(&CAPACITOR_VOLTAGE));
    let (compared, is_least) =
        or_of_the_least(against(figures.peak_voltage), || against(bus.highest_voltage));
    put(PEAK, compared, Grade::Major, is_least.then_some(Remark::AtLeast).into_iter().collect());
}

fn of_bus(bus: &Bus, figures: RippleFigures, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let swing = (figures.voltage, Dimension::Voltage);
    let compared = compare(solved, lane, swing, Limit::Figure(bus.voltage), Some(&RIPPLE_VOLTAGE));
    let high = unsure(bus, solved, lane).into_iter().collect();
    put(bus.part, SWING, outcome(compared, Grade::Minor), high, solved, lane, out);
    let unstated = |&source: &usize| {
        let inductance = solved.variant.plan.sources[source].inductance;
        solved.input(inductance, lane).is_none().then_some(Missing::Cause(Cause::Input(inductance)))
    };
    let open: Vec<Missing> = bus.sources.iter().filter_map(unstated).collect();
    let share = (figures.largest_share, Dimension::Ratio);
    let limit = if open.is_empty() { Limit::Always(LARGEST_SHARE) } else { Limit::Law(LARGEST_SHARE) };
    let compared = compare(solved, lane, share, limit, None);
    let is_quiet = compared.as_ref().is_ok_and(|compared| compared.carried_value <= 0.0);
    let fails = compared.as_ref().is_ok_and(|compared| !compared.holds());
    // Without the inductance of a source nobody knows where it resonates; what resonates without it does for sure.
    let judged = if open.is_empty() || fails || is_quiet {
        outcome(compared, Grade::Minor)
    } else {
        Outcome::NotJudged(open)
    };
    put(bus.part, RESONANCE, judged, Vec::new(), solved, lane, out);
}

fn put(
    part: PartId,
    defect: &'static str,
    outcome: Outcome,
    remarks: Vec<Remark>,
    solved: &Solved<'_>,
    lane: LaneId,
    out: &mut Verdicts,
) {
    out.put(solved, Subject { part, defect, lane: Some(lane), kin: None }, outcome, remarks);
}
