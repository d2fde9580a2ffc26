//! Is each gate supply strong enough, and do its voltages suit the gates?
//!
//! What the gates of an output take with each carrier period, with what their drivers take for themselves, stands against
//! the power of that output. Both ends of its tolerance stand against what the gate bears, against the voltage at which the
//! driver blocks the gate, and against the one that on-state figures hold at.

mod telling;

use loadworthy_physics::gates::other_resistor;
use loadworthy_unit::plan::{GateDrive, GateFeed, Plan};
use loadworthy_unit::{Dimension, LaneId, PartId, PolicyForm, PolicyItem, Solved};

use crate::check::{About, Check, Failure, Family, Told, With};
use crate::collect::{Limit, Subject, Verdicts, compare, outcome, structural};
use crate::gated::{driven, lacks, shared_driver};
use crate::parallel_sharing::resistors;
use crate::verdict::{Grade, Outcome, Verdict};
use crate::{bootstrap_refresh, dead_time, short_circuit_response};

/// Share of the power of a gate supply that may be used.
pub(crate) static GATE_SUPPLY_POWER: PolicyItem = PolicyItem {
    name: "gate_supply_power",
    help: "Share of its power that a gate supply may give; 70 to 80 % by rule of thumb, because it stands among hot parts",
    form: PolicyForm::UseAtMost { default: 0.75, usual: (0.7, 0.8) },
    since: 2026,
};

/// How far a gate voltage may lie below the one that on-state figures hold at.
pub(crate) static DRIVE_SHORTFALL: PolicyItem = PolicyItem {
    name: "drive_shortfall",
    help: "Share of the gate voltage of its on-state figures by which the lowest gate voltage of a device may lie below it; by rule of thumb",
    form: PolicyForm::UseAtMost { default: 0.1, usual: (0.05, 0.1) },
    since: 2026,
};

const POWER: &str = "power";
const CURRENT: &str = "driver-current";
const HIGHEST: &str = "above-highest";
const LOWEST: &str = "below-lowest";
const LOCKOUT: &str = "locked-out";
const SHORTFALL: &str = "low-level";
const LINEAR: &str = "late-lock-out";
const STARVED: &str = "never-full";
const RESISTOR: &str = "other-resistor";

static ABOUT: About = About {
    name: "gate-drive-power",
    former_names: &[],
    question: "Is each gate supply strong enough, and do its voltages suit the gates?",
    page: include_str!("page.md"),
    fails: include_str!("fails.yaml"),
    holds: include_str!("holds.yaml"),
    defects: &[
        (POWER, "gates and drivers take more than the policy leaves of the power of their output"),
        (CURRENT, "the gate resistors let more current flow than the driver gives, which slows every edge"),
        (HIGHEST, "the voltage of the on state may exceed what the gate bears"),
        (LOWEST, "the voltage of the off state may fall below what the gate bears"),
        (
            LOCKOUT,
            "the voltage comes down to where the driver blocks the gate within its tolerance, or lies below that",
        ),
        (SHORTFALL, "the gate may stay below the voltage that the on-state figures hold at"),
        (STARVED, "at the voltage that turns its gate on the channel limits the crest of the current"),
        (LINEAR, "the driver lets a gate work at a voltage at which its channel limits the current"),
        (
            RESISTOR,
            "the gate resistance that is fitted is far from the one that the energies of the device hold at",
        ),
    ],
    policy: &[&GATE_SUPPLY_POWER, &DRIVE_SHORTFALL],
    since: 2026,
};

/// The check.
pub(crate) struct GateDrivePower;

impl Check for GateDrivePower {
    fn about(&self) -> &'static About {
        &ABOUT
    }

    fn adds_up(&self, defect: &str) -> &'static [&'static str] {
        if defect == POWER { &["gate_supplies", "drivers"] } else { &[] }
    }

    fn judges_each_duty_point(&self) -> bool {
        false
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        let plan = &solved.variant.plan;
        let drives = driven(solved, POWER, out);
        for lane in solved.variant.lane_ids() {
            for feed in &plan.gate_feeds {
                // What has no driver is told for its stage, and what another output feeds as well with that output.
                let is_contested = plan.gate_supplies[feed.supply].is_contested();
                if !is_contested && feed.drives.iter().all(|&drive| lacks(&plan.gate_drives[drive]).is_none())
                {
                    power(feed, solved, lane, out);
                }
            }
            for drive in &drives {
                voltages(drive, solved, lane, out);
            }
        }
    }

    fn told_with(&self, failing: &Verdict, solved: &Solved<'_>) -> Vec<With> {
        told_with(failing, solved)
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        telling::told(failure.worst, solved)
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        telling::propose(failure, solved)
    }
}

/// What one resistor, one tolerance or one voltage brings beside what it is told with.
fn told_with(failing: &Verdict, solved: &Solved<'_>) -> Vec<With> {
    let plan = &solved.variant.plan;
    let Some(drive) = plan.gate_drives.iter().find(|drive| drive.part == failing.part) else {
        return Vec::new();
    };
    let lane = failing.lane().or(solved.variant.lane_ids().next());
    let Some(lane) = lane else { return Vec::new() };
    match failing.defect {
        RESISTOR => {
            let Some(far) = telling::far_resistor(drive, solved, lane) else { return Vec::new() };
            if far.ohms < far.stated {
                return vec![With::of(ABOUT.name, CURRENT, drive.part)];
            }
            // Behind more it is on and off later than its sheet says.
            let on = With::of(short_circuit_response::NAME, short_circuit_response::EARLY, drive.part);
            let part = plan.stages[drive.stage].part;
            let dead = With::of(dead_time::NAME, dead_time::SHORT, part);
            if far.is_on { vec![on] } else { vec![dead] }
        }
        // Only a tolerance is too high at one end and too low at the other.
        HIGHEST => vec![With::of(ABOUT.name, LOCKOUT, drive.part)],
        SHORTFALL => {
            let charged = plan.bootstraps.iter().filter(|one| one.charged_from == drive.rails.on);
            let gate = |drive: usize| plan.gate_drives[drive].part;
            let runs_down = |part| With::of(bootstrap_refresh::NAME, bootstrap_refresh::DOWN, part);
            charged.map(|one| runs_down(gate(one.drive))).collect()
        }
        _ => Vec::new(),
    }
}

/// The part that an output is judged at: the first that it feeds itself, so that outputs of one stage are told together.
fn part_of(feed: &GateFeed, plan: &Plan) -> PartId {
    let own = feed.drives.iter().find(|&&drive| plan.gate_drives[drive].supply == Some(feed.supply));
    plan.gate_drives[*own.unwrap_or(&feed.drives[0])].part
}

fn power(feed: &GateFeed, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let carried = (feed.asked, Dimension::Power);
    let compared = compare(solved, lane, carried, Limit::Input(feed.power), Some(&GATE_SUPPLY_POWER));
    let part = part_of(feed, &solved.variant.plan);
    let subject = Subject { part, defect: POWER, lane: Some(lane), kin: None };
    out.put(solved, subject, outcome(compared, Grade::Major), Vec::new());
}

/// Whether an output gives less than its driver needs to release the gate at all.
fn is_never_released(drive: &GateDrive, solved: &Solved<'_>, lane: LaneId) -> bool {
    solved.figure(drive.figures.lockout_distance, lane).is_some_and(|distance| distance < 0.0)
}

fn voltages(drive: &GateDrive, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let (figures, gate) = (&drive.figures, &drive.gate);
    let shared = shared_driver(solved, drive);
    let volts = |figure| (figure, Dimension::Voltage);
    // Several gates behind one resistor are a finding of their own, which asks for others.
    if gate.energies_hold_at().is_some() && !resistors::is_shared(drive, solved) {
        let apart = (figures.apart, Dimension::Ratio);
        let compared = compare(solved, lane, apart, Limit::Law(other_resistor::NEAR), None);
        let judged = match outcome(compared, Grade::Minor) {
            // Within the tolerance of resistors it is the same one: how near it comes to that is no headroom.
            Outcome::Holds(_) => Outcome::Holds(None),
            judged => judged,
        };
        let subject = Subject { part: drive.part, defect: RESISTOR, lane: Some(lane), kin: shared };
        out.put(solved, subject, judged, Vec::new());
    }
    let mut put = |defect, (figure, dimension), limit, policy, grade| {
        let compared = compare(solved, lane, (figure, dimension), limit, policy);
        // What an output gives is its own matter, and what a driver stands or does that of all stages that it drives.
        let kin = shared.filter(|_| matches!(defect, CURRENT | LINEAR | LOCKOUT));
        let subject = Subject { part: drive.part, defect, lane: Some(lane), kin };
        out.put(solved, subject, outcome(compared, grade), Vec::new());
    };
    if let Some(most) = drive.channel.peak_current {
        let current = (figures.peak_current, Dimension::Current);
        put(CURRENT, current, Limit::Input(most), None, Grade::Minor);
    }
    put(HIGHEST, volts(figures.highest), Limit::Input(gate.highest), None, Grade::Major);
    put(LOWEST, volts(figures.below_zero), Limit::Figure(figures.below_zero_limit), None, Grade::Major);
    let starved = compare(solved, lane, volts(figures.linear_level), Limit::Figure(figures.lowest), None);
    if starved.is_ok_and(|starved| !starved.holds()) {
        // Where it is never fully on, no lock-out is early enough.
        put(STARVED, volts(figures.linear_level), Limit::Figure(figures.lowest), None, Grade::Major);
    } else {
        let lockout = Limit::Input(drive.channel.undervoltage);
        put(LINEAR, volts(figures.linear_level), lockout, None, Grade::Minor);
    }
    if drive.is_bootstrap {
        // How far its capacitor runs down is a question of its own.
        return;
    }
    if is_never_released(drive, solved, lane) {
        // There is no tolerance to speak of, nor a level of the gate.
        let subject = Subject { part: drive.part, defect: LOCKOUT, lane: None, kin: shared };
        out.put(solved, subject, structural(Ok(false), Grade::Major), Vec::new());
        return;
    }
    let distance = || Limit::Figure(figures.lockout_distance);
    put(LOCKOUT, volts(figures.rail_fall), distance(), None, Grade::Major);
    let fall = compare(solved, lane, volts(figures.rail_fall), distance(), None);
    if fall.is_ok_and(|fall| !fall.holds()) {
        // A gate that its driver blocks is at no level.
        return;
    }
    let stated = Limit::Input(gate.stated_on);
    put(SHORTFALL, volts(figures.shortfall), stated, Some(&DRIVE_SHORTFALL), Grade::Minor);
}
