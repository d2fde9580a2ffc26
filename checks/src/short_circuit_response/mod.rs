//! Is a short circuit switched off before the device has had enough of it?
//!
//! Blanking, filter, delay and turn-off pass one after another, while the device holds the whole bus voltage and a current
//! that only its own channel limits. How long it stands that is stated at a voltage, a junction temperature and a gate
//! voltage, and holds no further.

mod telling;

use std::collections::BTreeMap;

use loadworthy_physics::gates::short_circuit::{AT_VOLTAGE, VOLTAGE_REACH};
use loadworthy_unit::plan::{ChipKind, GateDrive};
use loadworthy_unit::trace::Operand;
use loadworthy_unit::{
    Cause, Dimension, FigureId, InputId, LaneId, Lanes, PolicyForm, PolicyItem, Reach, Solved,
};

use crate::cause::missing_text;
use crate::check::{About, Check, Failure, Family, Told};
use crate::collect::{Limit, Subject, Verdicts, compare, outcome};
use crate::gated::{drive_of, lacks, shared_driver};
use crate::remarks::Remark;
use crate::verdict::{Fault, Grade, Missing, Outcome};

/// Share of the time for which a device stands a short circuit that may pass until it is switched off.
pub(crate) static SHORT_CIRCUIT_TIME: PolicyItem = PolicyItem {
    name: "short_circuit_time",
    help: "Share of the time for which a device stands a short circuit that may pass until it is switched off; 70 to 80 % by habit of the trade",
    form: PolicyForm::UseAtMost { default: 0.8, usual: (0.7, 0.8) },
    since: 2026,
};

/// What a bus voltage is called that lies beyond the one at which a device is said to stand a short circuit.
pub(crate) const BUS_AS_AN_ESTIMATE: &str = "bus voltage, as an estimate,";

const SLOW: &str = "too-slow";
pub(crate) const EARLY: &str = "early-look";
const UNNOTICED: &str = "unnoticed";

/// What the check is called.
pub(crate) const NAME: &str = "short-circuit-response";

static ABOUT: About = About {
    name: NAME,
    former_names: &[],
    question: "Is a short circuit switched off before the device has had enough of it?",
    page: include_str!("page.md"),
    fails: include_str!("fails.yaml"),
    holds: include_str!("holds.yaml"),
    defects: &[
        (SLOW, "a short circuit lasts longer than the policy leaves of what the device stands"),
        (
            EARLY,
            "the blanking ends before the device has turned on, and every turn-on looks like a short circuit",
        ),
        (UNNOTICED, "a driver says nothing of how it notices a short circuit"),
    ],
    policy: &[&SHORT_CIRCUIT_TIME],
    since: 2026,
};

/// The check.
pub(crate) struct ShortCircuitResponse;

impl Check for ShortCircuitResponse {
    fn about(&self) -> &'static About {
        &ABOUT
    }

    fn judges_each_duty_point(&self) -> bool {
        false
    }

    fn asks_at_least(&self, defect: &str) -> bool {
        defect == EARLY
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        let plan = &solved.variant.plan;
        for lanes in solved.variant.together() {
            let hottest = hottest(solved, lanes);
            for drive in plan.gate_drives.iter().filter(|drive| drive.may_short) {
                if let Some(missing) = lacks(drive) {
                    let part = plan.stages[drive.stage].part;
                    let subject = Subject { part, defect: SLOW, lane: None, kin: None };
                    let waits = Outcome::NotJudged(vec![Missing::Cause(Cause::Input(missing))]);
                    out.put(solved, subject, waits, Vec::new());
                    continue;
                }
                if is_unnoticed(drive, solved) {
                    let subject = Subject {
                        part: drive.part,
                        defect: UNNOTICED,
                        lane: None,
                        kin: Some(drive.channel.own_power),
                    };
                    let fault = Outcome::Fails { fault: Fault::Structural, grade: Grade::Major };
                    out.put(solved, subject, fault, Vec::new());
                    continue;
                }
                for lane in lanes.ids() {
                    judge(drive, &hottest, solved, lane, out);
                }
            }
        }
    }

    /// One driver notices nothing, whatever it drives.
    fn is_of_the_entry(&self, defect: &str) -> bool {
        defect == UNNOTICED
    }

    fn keeps_open(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<String> {
        let drive = drive_of(solved, failure.worst.part).filter(|_| failure.worst.defect == UNNOTICED);
        let missing = drive.map(|drive| Missing::Cause(Cause::Input(drive.channel.blanking)));
        missing.map(|missing| missing_text(solved.variant, None, missing).subject).into_iter().collect()
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        telling::told(drive_of(solved, failure.worst.part)?, failure.worst, solved)
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        let drive = drive_of(solved, failure.worst.part);
        drive.map_or_else(Vec::new, |drive| telling::propose(drive, failure, solved))
    }
}

/// Whether its driver is described and says nothing of how it notices a short circuit, which its device states how long it stands.
fn is_unnoticed(drive: &GateDrive, solved: &Solved<'_>) -> bool {
    let (tables, channel) = (&solved.variant.tables, &drive.channel);
    let times = [channel.blanking, channel.filter, channel.delay, channel.turn_off];
    // Where the whole of it is not stated, one input stands for all of its times.
    let is_one = times.iter().all(|time| *time == channel.blanking);
    is_one && tables.is_absent(channel.blanking) && tables.is_written(channel.turn_off_resistor)
}

/// The hottest junction that each device comes to in some lanes, by the input that says how far its data hold.
type Hottest = BTreeMap<InputId, f64>;

fn hottest(solved: &Solved<'_>, lanes: Lanes) -> Hottest {
    let mut hottest = Hottest::new();
    for drive in solved.variant.plan.gate_drives.iter().filter(|drive| drive.may_short) {
        let most = hottest.entry(drive.gate.withstand_junction).or_insert(f64::NEG_INFINITY);
        for figure in junctions(drive, solved) {
            for celsius in lanes.ids().filter_map(|lane| solved.figure(figure, lane)) {
                *most = most.max(celsius);
            }
        }
    }
    hottest
}

fn judge(drive: &GateDrive, hottest: &Hottest, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let kin = shared_driver(solved, drive);
    let subject = |defect| Subject { part: drive.part, defect, lane: Some(lane), kin };
    let (figures, gate) = (&drive.figures, &drive.gate);
    let reaction = (figures.reaction, Dimension::Time);
    let beyond = beyond(drive, hottest, solved, lane);
    let compared = if beyond.is_empty() {
        compare(solved, lane, reaction, Limit::Figure(figures.withstand), Some(&SHORT_CIRCUIT_TIME))
    } else {
        Err(beyond)
    };
    let mut remarks = Vec::new();
    let stated = solved.input(gate.withstand_voltage, lane);
    if let (Some(stated), Some(bus)) = (stated, highest(drive, solved, lane).map(|(_, volts)| volts))
        && bus > stated
        && compared.is_ok()
    {
        remarks.push(Remark::WithstandScaled { stated, bus });
    }
    out.put(solved, subject(SLOW), outcome(compared, Grade::Major), remarks);
    let turn_on = (figures.turn_on_time, Dimension::Time);
    let compared = compare(solved, lane, turn_on, Limit::Input(drive.channel.blanking), None);
    out.put(solved, subject(EARLY), outcome(compared, Grade::Major), Vec::new());
}

/// The highest voltage of the bus that a short circuit would stand across.
fn highest(drive: &GateDrive, solved: &Solved<'_>, lane: LaneId) -> Option<(FigureId, f64)> {
    let plan = &solved.variant.plan;
    let bus = plan.stages[drive.stage].withstands[drive.withstand].bus?;
    let figure = plan.buses[bus].highest_voltage;
    Some((figure, solved.figure(figure, lane)?))
}

/// Where a device would be asked for more than its data hold at: what it then stands is not known.
fn beyond(drive: &GateDrive, hottest: &Hottest, solved: &Solved<'_>, lane: LaneId) -> Vec<Missing> {
    let gate = &drive.gate;
    let mut missing = Vec::new();
    let mut hold = |value: Option<f64>, at: InputId, reach: f64, what, dimension| {
        let stated = solved.input(at, lane);
        if stated.is_none() {
            missing.push(Missing::Cause(Cause::Input(at)));
        }
        let (Some(value), Some(stated)) = (value, stated) else { return };
        let high = stated * reach;
        // Equal holds.
        if value > high + 1e-9 * high.abs() {
            let of = Operand::Input(at);
            let reach = Reach { what, of, value, low: f64::NEG_INFINITY, high, dimension };
            let figure = drive.figures.withstand;
            missing.push(Missing::Cause(Cause::Beyond { figure, law: &AT_VOLTAGE, reach: Some(reach) }));
        }
    };
    let bus = highest(drive, solved, lane).map(|(_, volts)| volts);
    hold(bus, gate.withstand_voltage, VOLTAGE_REACH, BUS_AS_AN_ESTIMATE, Dimension::Voltage);
    let on = solved.input(drive.rails.on, lane);
    hold(on, gate.withstand_drive, 1.0, "gate voltage", Dimension::Voltage);
    let junctions = junctions(drive, solved);
    let here = junctions.iter().filter_map(|&figure| solved.figure(figure, lane)).reduce(f64::max);
    let stated = solved.input(gate.withstand_junction, lane);
    // Wherever it is too hot, the hottest place is told, once for the device.
    let told = here.filter(|&here| stated.is_some_and(|stated| here > stated));
    let told = told.and_then(|_| hottest.get(&gate.withstand_junction).copied()).or(here);
    hold(told, gate.withstand_junction, 1.0, "junction temperature", Dimension::Temperature);
    let unknown = junctions.iter().filter(|&&figure| solved.figure(figure, lane).is_none());
    missing.extend(unknown.map(|&figure| Missing::Figure(figure)));
    missing
}

/// The junctions of the transistors that would stand it.
fn junctions(drive: &GateDrive, solved: &Solved<'_>) -> Vec<FigureId> {
    let plan = &solved.variant.plan;
    let positions = &plan.stages[drive.stage].positions;
    let chips = drive.positions.iter().flat_map(|&position| &plan.chips[positions[position].chips.clone()]);
    chips.filter(|chip| chip.kind != ChipKind::Diode).map(|chip| chip.figures.hottest()).collect()
}
