//! What does a turning machine with permanent magnets do to its bus, its bridge and itself once control is lost?
//!
//! With all gates off it feeds its bus through the diodes wherever the crest of its line voltage is the higher one, and
//! where nothing takes that charge the bus comes to the crest. Where a source takes it, what flows for good stands against
//! that source, what lies on the way, and the diodes. Shorted in all phases it leaves the bus alone; then the
//! current of the short stands against the devices and the magnets, and its torque against the shaft. The question is
//! asked of every machine that states its highest speed or what its magnets link, or whose bridge states that it shorts it,
//! at the faster of its highest speed and that of the duty point.

mod charging;
mod telling;

use loadworthy_unit::plan::{Coasting, CoastingBus, PhaseShort};
use loadworthy_unit::trace::Operand;
use loadworthy_unit::{Cause, Dimension, InputId, LaneId, Origin, PartId, PolicyForm, PolicyItem, Solved};

use crate::check::{About, Check, Failure, Family, Told};
use crate::collect::{Limit, Subject, Verdicts, allowed, compare, or_of_the_least, outcome};
use crate::remarks::Remark;
use crate::seats::{standing_across, standing_banks};
use crate::verdict::{Comparison, EQUAL_WITHIN, Grade, Missing, Outcome};

/// Share of a voltage rating that a bus may come to where a machine charges it.
pub(crate) static COASTING_VOLTAGE: PolicyItem = PolicyItem {
    name: "coasting_voltage",
    help: "Share of their voltage that devices and capacitors may hold where a machine at highest speed charges the bus with all gates off",
    form: PolicyForm::UseAtMost { default: 0.9, usual: (0.8, 1.0) },
    since: 2026,
};

/// Share of the repetitive peak current that a short of the phases may use.
pub(crate) static SHORTING_CURRENT: PolicyItem = PolicyItem {
    name: "shorting_current",
    help: "Share of the repetitive peak current of a device that a short of all phases may use",
    form: PolicyForm::UseAtMost { default: 1.0, usual: (0.8, 1.0) },
    since: 2026,
};

/// Share of the current that demagnetises which a short of the phases may use.
pub(crate) static DEMAGNETISING_CURRENT: PolicyItem = PolicyItem {
    name: "demagnetising_current",
    help: "Share of the current against its magnets that a machine stands which a short of all phases may use",
    form: PolicyForm::UseAtMost { default: 0.9, usual: (0.8, 1.0) },
    since: 2026,
};

const CHARGES: &str = "uncontrolled-charging";
const CHARGING: &str = "charging-current";
const OPEN: &str = "open-bus-voltage";
const CURRENT: &str = "shorting-current";
const MAGNETS: &str = "demagnetising-current";
const TORQUE: &str = "shorting-torque";
const TOO_FAST: &str = "beyond-highest-speed";
const TOO_MUCH: &str = "beyond-highest-torque";
const WEAKENS: &str = "weakened-magnets";

static ABOUT: About = About {
    name: "back-emf",
    former_names: &[],
    question: "What does a turning machine with permanent magnets do once control is lost?",
    page: include_str!("page.md"),
    fails: include_str!("fails.yaml"),
    holds: include_str!("holds.yaml"),
    defects: &[
        (CHARGES, "with all gates off a machine at its fastest feeds its bus through the diodes"),
        (
            CHARGING,
            "with all gates off machines drive more current into a bus than its source, what lies on the way or a diode stands for good",
        ),
        (OPEN, "where nothing takes that charge the bus comes to more than a part of it stands"),
        (CURRENT, "a short of all phases drives more current than a device stands"),
        (MAGNETS, "a short of all phases drives more current against the magnets than they stand"),
        (TORQUE, "a short of all phases brakes with more torque than the shaft stands"),
        (TOO_FAST, "a duty point turns the machine faster than the highest speed that it states"),
        (TOO_MUCH, "a duty point asks for more torque than the shaft of the machine stands"),
        (WEAKENS, "a duty point drives more current against the magnets than they stand"),
    ],
    policy: &[&COASTING_VOLTAGE, &SHORTING_CURRENT, &DEMAGNETISING_CURRENT],
    since: 2026,
};

/// The check.
pub(crate) struct BackEmf;

impl Check for BackEmf {
    fn about(&self) -> &'static About {
        &ABOUT
    }

    fn adds_up(&self, defect: &str) -> &'static [&'static str] {
        if defect == CHARGING { &["stages", "machines"] } else { &[] }
    }

    fn is_said_once(&self, defect: &str) -> bool {
        defect != CHARGES
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        for of_bus in &solved.variant.plan.coasting {
            for lane in solved.variant.lane_ids() {
                for coasting in &of_bus.machines {
                    too_fast(coasting, solved, lane, out);
                    asked_of_shaft(coasting, solved, lane, out);
                    match &coasting.short {
                        Some(short) => shorted(short, coasting, solved, lane, out),
                        None if coasting.is_left_open => charges(of_bus, coasting, solved, lane, out),
                        // It is meant to: what the bus comes to where nothing takes the charge is asked below.
                        None => {}
                    }
                }
                charging::judge(of_bus, solved, lane, out);
                open_bus(of_bus, solved, lane, out);
            }
        }
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        match failure.worst.defect {
            CHARGING => charging::told(failure.worst, solved),
            _ => telling::told(failure.worst, solved),
        }
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        match failure.worst.defect {
            CHARGING => charging::propose(failure, solved),
            _ => telling::propose(failure, solved),
        }
    }
}

/// A duty point that turns a machine, against the highest speed that this states.
fn too_fast(coasting: &Coasting, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let turns = solved.figure(coasting.turning, lane).is_some_and(|speed| speed > 0.0);
    if turns && solved.input(coasting.highest_speed, lane).is_some() {
        let carried = (coasting.turning, Dimension::Speed);
        let compared = compare(solved, lane, carried, Limit::Input(coasting.highest_speed), None);
        let subject = Subject { part: coasting.machine, defect: TOO_FAST, lane: Some(lane), kin: None };
        out.put(solved, subject, outcome(compared, Grade::Major), Vec::new());
    }
}

/// Torque of a duty point, and what it drives against the magnets, against what the machine states that it stands.
fn asked_of_shaft(coasting: &Coasting, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let bridge = solved.variant.plan.stages[coasting.stage].bridge();
    let Some(constants) = bridge.and_then(|bridge| bridge.inputs.constants.as_ref()) else { return };
    let Some(torque) = solved.figure(constants.torque_asked, lane) else { return };
    let mut held = |defect, compared| {
        let subject = Subject { part: coasting.machine, defect, lane: Some(lane), kin: None };
        out.put(solved, subject, outcome(compared, Grade::Major), Vec::new());
    };
    if let Some((limit, most)) = stated(coasting.highest_torque, solved, lane) {
        let carried = (constants.torque_asked, torque.abs());
        held(TOO_MUCH, Ok(Comparison::new(carried, limit, (most, None), Dimension::Torque)));
    }
    if let Some((limit, most)) = stated(coasting.demagnetising, solved, lane) {
        let compared = match solved.figure(constants.d_current, lane) {
            None => Err(vec![Missing::Figure(constants.d_current)]),
            Some(amps) => {
                let against = (constants.d_current, if amps < 0.0 { -amps } else { 0.0 });
                let left = left_of(&DEMAGNETISING_CURRENT, solved);
                let allowed = (left * most, Some(&DEMAGNETISING_CURRENT));
                Ok(Comparison::new(against, limit, allowed, Dimension::Current))
            }
        };
        held(WEAKENS, compared);
    }
}

/// A limit that is stated, with where it stands.
fn stated(
    limit: Option<InputId>,
    solved: &Solved<'_>,
    lane: LaneId,
) -> Option<((f64, Option<Operand>), f64)> {
    let most = solved.input(limit?, lane)?;
    Some(((most, limit.map(Operand::Input)), most))
}

/// A machine of which nobody says what its bridge does on a fault, against the voltage of its bus.
fn charges(of_bus: &CoastingBus, coasting: &Coasting, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let plan = &solved.variant.plan;
    let against = |limit| compare(solved, lane, (coasting.line_crest, Dimension::Voltage), limit, None);
    // Whatever its voltage is where that is not known: no higher than the level at which the latest unit trips.
    let own = plan.voltage_trips.iter().find(|trip| trip.is_stated && trip.bus == of_bus.bus);
    let at_most = || own.map_or(Err(Vec::new()), |trip| against(Limit::Figure(trip.highest)));
    let (compared, _) = or_of_the_least(against(Limit::Figure(of_bus.lowest)), at_most);
    let part = plan.stages[coasting.stage].part;
    put((part, CHARGES), outcome(compared, Grade::Minor), None, &[coasting], solved, lane, out);
}

/// Everything that stands against a bus which comes to the crest of its fastest machine.
fn open_bus(of_bus: &CoastingBus, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    // A short keeps the machines from charging the bus, unless it is lost as well.
    let grade = if of_bus.machines.iter().all(|coasting| coasting.short.is_some()) {
        Grade::Minor
    } else {
        Grade::Major
    };
    let machines: Vec<&Coasting> = of_bus.machines.iter().collect();
    let mut judge = |part: PartId, limit: InputId| {
        let carried = (of_bus.voltage, Dimension::Voltage);
        let compared = compare(solved, lane, carried, Limit::Input(limit), Some(&COASTING_VOLTAGE));
        // However much stands across it, that the bus comes to so much is one cause.
        let bus = solved.variant.plan.buses[of_bus.bus].highest;
        put((part, OPEN), outcome(compared, grade), Some(bus), &machines, solved, lane, out);
    };
    for withstand in standing_across(of_bus.bus, solved, lane) {
        judge(withstand.part, withstand.blocking);
    }
    for bank in standing_banks(of_bus.bus, solved, lane) {
        judge(bank.part, bank.each.voltage);
    }
}

/// The current in service out of which the phases are shorted, where a duty point asks for one and it is not known: out of rest
/// less would come of it.
fn unknown_in_service(coasting: &Coasting, solved: &Solved<'_>, lane: LaneId) -> Option<Missing> {
    let variant = solved.variant;
    let constants = variant.plan.stages[coasting.stage].bridge()?.inputs.constants.as_ref()?;
    let duty = variant.lane(lane).duty;
    let is_asked = |input| !matches!(variant.tables.stated(input, duty).origin, Origin::Absent { .. });
    let is_unknown = solved.figure(constants.d_current, lane).is_none();
    let asks = [constants.torque, constants.shaft_power].into_iter().any(is_asked);
    (is_unknown && asks).then_some(Missing::Figure(constants.d_current))
}

/// A machine whose phases are shorted.
fn shorted(short: &PhaseShort, coasting: &Coasting, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let unknown = unknown_in_service(coasting, solved, lane);
    let or_open = |outcome| match (outcome, unknown) {
        (Outcome::Holds(_), Some(unknown)) => Outcome::NotJudged(vec![unknown]),
        (outcome, _) => outcome,
    };
    for seat in &short.seats {
        for &peak in &seat.repetitive_peaks {
            let carried = (seat.crest, Dimension::Current);
            let compared = compare(solved, lane, carried, Limit::Input(peak), Some(&SHORTING_CURRENT));
            // The first swing is over in a few turns; what is too much for good is another matter.
            let stays = solved.figure(seat.steady, lane).zip(compared.as_ref().ok());
            let lasts = stays.is_none_or(|(amps, of)| amps > of.allowed * (1.0 + EQUAL_WITHIN));
            let grade = if lasts { Grade::Major } else { Grade::Minor };
            let outcome = or_open(outcome(compared, grade));
            put((seat.part, CURRENT), outcome, Some(peak), &[coasting], solved, lane, out);
        }
    }
    if let Some(demagnetising) = coasting.demagnetising {
        let carried = (short.against_magnets, Dimension::Current);
        let limit = Limit::Input(demagnetising);
        let compared = compare(solved, lane, carried, limit, Some(&DEMAGNETISING_CURRENT));
        let subject = (coasting.machine, MAGNETS);
        put(subject, or_open(outcome(compared, Grade::Major)), None, &[coasting], solved, lane, out);
    }
    if let Some(highest) = coasting.highest_torque {
        let carried = (short.torque, Dimension::Torque);
        let compared = compare(solved, lane, carried, Limit::Input(highest), None);
        put(
            (coasting.machine, TORQUE),
            or_open(outcome(compared, Grade::Major)),
            None,
            &[coasting],
            solved,
            lane,
            out,
        );
    }
}

fn put(
    (part, defect): (PartId, &'static str),
    outcome: Outcome,
    kin: Option<InputId>,
    machines: &[&Coasting],
    solved: &Solved<'_>,
    lane: LaneId,
    out: &mut Verdicts,
) {
    // What holds at the speed of a duty point says nothing of the speed that the machine may come to.
    let is_open = |coasting: &&&Coasting| solved.input(coasting.highest_speed, lane).is_none();
    let open = machines.iter().filter(is_open).map(|coasting| coasting.highest_speed);
    let open: Vec<Missing> = open.map(|speed| Missing::Cause(Cause::Input(speed))).collect();
    let remarks = if open.is_empty() { Vec::new() } else { vec![Remark::DutySpeedAlone] };
    let outcome = match outcome {
        Outcome::Holds(_) if !open.is_empty() => Outcome::NotJudged(open),
        other => other,
    };
    out.put(solved, Subject { part, defect, lane: Some(lane), kin }, outcome, remarks);
}

/// What the policy leaves of one, for one of its items.
fn left_of(item: &'static PolicyItem, solved: &Solved<'_>) -> f64 {
    solved.variant.policy(item).map_or(f64::NAN, |value| allowed(item, 1.0, value.stated.value))
}
