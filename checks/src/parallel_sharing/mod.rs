//! What does the unluckiest of devices in parallel carry, and does it hold?
//!
//! One device at the low end of its spread among devices at the high end is the worst that can be built, and rare. Where
//! it fails and three standard deviations hold, that is minor. Where even the mean device fails, another check says so.

pub(crate) mod resistors;
mod tell;

use loadworthy_unit::plan::{Chip, SharingFigures};
use loadworthy_unit::{Dimension, DutyId, FigureId, LaneId, LaneState, PolicyItem, Solved};

use crate::check::{About, Check, Failure, Family, Told};
use crate::collect::{Limit, Subject, Verdicts, compare, grade_if_held, outcome, structural};
use crate::deratings::{DEVICE_CURRENT, DEVICE_PEAK_CURRENT, JUNCTION};
use crate::held_still::HeldStill;
use crate::remarks::{self, Remark};
use crate::seats::{Seat, rests, seat_of, seats};
use crate::verdict::{Comparison, Fault, Grade, Missing, Outcome};

const CONTINUOUS: &str = "continuous-current";
const PEAK: &str = "repetitive-peak";
const TOO_HOT: &str = "too-hot";
const NO_STABLE_SHARING: &str = "no-stable-sharing";
const ONE_RESISTOR: &str = "one-gate-resistor";

/// Gain from a difference of currents back to itself above which sharing is worth a remark.
const HOGGING: f64 = 0.5;

static ABOUT: About = About {
    name: "parallel-sharing",
    former_names: &[],
    question: "Does the unluckiest of the devices in parallel at a position hold what it carries?",
    page: include_str!("page.md"),
    fails: include_str!("fails.yaml"),
    holds: include_str!("holds.yaml"),
    defects: &[
        (CONTINUOUS, "the RMS current of the unluckiest device exceeds what its continuous rating leaves"),
        (PEAK, "the crest in the unluckiest device exceeds what the policy leaves of the repetitive peak"),
        (TOO_HOT, "the junction of the unluckiest device gets hotter than the policy allows"),
        (
            NO_STABLE_SHARING,
            "a difference between the devices grows: one draws more, gets hotter, and draws more",
        ),
        (
            ONE_RESISTOR,
            "devices in parallel share one gate resistor, and nothing damps one gate against another",
        ),
    ],
    policy: &[],
    since: 2026,
};

/// The check.
pub(crate) struct ParallelSharing;

/// One of the comparisons: of the mean device, of the unluckiest, and at three standard deviations.
#[derive(Clone, Copy)]
struct Held {
    defect: &'static str,
    mean: FigureId,
    worst: FigureId,
    likely: FigureId,
    dimension: Dimension,
    limit: Limit,
    policy: &'static PolicyItem,
}

/// What is compared of a chip.
fn held(chip: &Chip) -> [Held; 3] {
    let (mean, unlucky) = (&chip.figures, &chip.sharing);
    [
        Held {
            defect: CONTINUOUS,
            mean: mean.judged_rms(),
            worst: unlucky.rms_current,
            likely: unlucky.likely_rms_current,
            dimension: Dimension::Current,
            limit: Limit::Figure(mean.judged_rating()),
            policy: &DEVICE_CURRENT,
        },
        Held {
            defect: PEAK,
            mean: mean.judged_crest(),
            worst: unlucky.peak_current,
            likely: unlucky.likely_peak_current,
            dimension: Dimension::Current,
            limit: Limit::Input(chip.inputs.repetitive_peak),
            policy: &DEVICE_PEAK_CURRENT,
        },
        Held {
            defect: TOO_HOT,
            mean: mean.settled_junction(),
            worst: unlucky.junction_temperature,
            likely: unlucky.likely_junction_temperature,
            dimension: Dimension::Temperature,
            limit: Limit::Input(chip.inputs.junction_limit),
            policy: &JUNCTION,
        },
    ]
}

impl Check for ParallelSharing {
    fn about(&self) -> &'static About {
        &ABOUT
    }

    fn feels_the_coolant(&self) -> bool {
        true
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        resistors::judge(solved, out);
        let mut still = HeldStill::of(solved);
        for seat in seats(&solved.variant.plan) {
            let shares: Vec<LaneId> = lanes(&seat, solved).collect();
            for &lane in &shares {
                stable(&seat, solved, lane, out);
            }
            for held in held(seat.chip) {
                // Where the mean device fails, so does the unluckiest, and the check that judges the mean one says so.
                let fails = |lane: &&LaneId| {
                    holds(&held, held.mean, solved, **lane).is_ok_and(|compared| !compared.holds())
                };
                let duty = |lane: &LaneId| solved.variant.lane(*lane).duty;
                let failing: Vec<DutyId> = shares.iter().filter(fails).map(duty).collect();
                for &lane in shares.iter().filter(|lane| !failing.contains(&duty(lane))) {
                    unluckiest(&seat, &held, (solved, &mut still), lane, out);
                }
            }
        }
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        if failure.worst.defect == ONE_RESISTOR {
            return resistors::told(failure.worst, solved);
        }
        let seat = seat_of(&solved.variant.plan, failure.worst.part)?;
        tell::told(&seat, failure, solved)
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        if failure.worst.defect == ONE_RESISTOR {
            return resistors::own(failure.worst, solved);
        }
        tell::changes(failure, solved)
    }
}

/// Lanes in which several devices stand at a position and something is asked of them.
fn lanes<'s>(seat: &'s Seat<'_>, solved: &'s Solved<'_>) -> impl Iterator<Item = LaneId> + 's {
    let parallel = seat.stage.parallel(seat.position);
    solved.variant.lane_ids().filter(move |&lane| {
        solved.input(parallel, lane).is_some_and(|count| count > 1.5) && !rests(seat.stage, solved, lane)
    })
}

fn holds(
    held: &Held,
    figure: FigureId,
    solved: &Solved<'_>,
    lane: LaneId,
) -> Result<Comparison, Vec<Missing>> {
    compare(solved, lane, (figure, held.dimension), held.limit, Some(held.policy))
}

fn subject(seat: &Seat<'_>, defect: &'static str, lane: LaneId) -> Subject {
    Subject { part: seat.chip.part, defect, lane: Some(lane), kin: Some(seat.chip.inputs.junction_limit) }
}

fn put(
    seat: &Seat<'_>,
    defect: &'static str,
    solved: &Solved<'_>,
    lane: LaneId,
    outcome: Outcome,
    out: &mut Verdicts,
) {
    out.put(solved, subject(seat, defect, lane), outcome, remarks(seat, solved, lane, defect));
}

/// Whether the devices share at all.
fn stable(seat: &Seat<'_>, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let SharingFigures { factor, hogging_gain, .. } = seat.chip.sharing;
    let gain = solved.figure(hogging_gain, lane);
    let settles = solved.figure(factor, lane).is_some();
    let judged = match gain {
        None => Outcome::NotJudged(vec![Missing::Figure(hogging_gain)]),
        Some(gain) => {
            let against = ((hogging_gain, gain), (1.0, None), (1.0, None), Dimension::Ratio);
            let compared = Comparison::new(against.0, against.1, against.2, against.3);
            match (settles, gain < 1.0) {
                // Where a difference dies out faster than the currents alone would have it, no limit is used up at all.
                (true, _) => Outcome::Holds((gain > 0.0).then_some(compared)),
                (false, false) => Outcome::Fails { fault: Fault::Exceeds(compared), grade: Grade::Major },
                // Small differences die out, and that between the ends of the spread does not.
                (false, true) => structural(Ok(false), Grade::Major),
            }
        }
    };
    put(seat, NO_STABLE_SHARING, solved, lane, judged, out);
}

/// One figure of the unluckiest device against its limit.
fn unluckiest<'u>(
    seat: &Seat<'_>,
    held: &Held,
    (solved, still): (&Solved<'u>, &mut HeldStill<'_, 'u>),
    lane: LaneId,
    out: &mut Verdicts,
) {
    let sharing = &seat.chip.sharing;
    // Without stable sharing there is no such figure, and a defect of its own says so.
    let is_solved = matches!(solved.state(lane), LaneState::Solved { .. });
    if is_solved
        && solved.figure(held.worst, lane).is_none()
        && solved.figure(sharing.hogging_gain, lane).is_some()
    {
        return;
    }
    let worst = holds(held, held.worst, solved, lane);
    let likely_holds = holds(held, held.likely, solved, lane).is_ok_and(|compared| compared.holds());
    let grade = if likely_holds {
        Grade::Minor
    } else if held.defect == PEAK {
        Grade::Major
    } else {
        grade_if_held(solved, lane)
    };
    let outcome = match (held.defect, held.limit) {
        (TOO_HOT, _) => still.judged(worst, grade, seat.stage, lane),
        (_, Limit::Figure(rating)) => still.rated(worst, grade, (seat.stage, rating), lane),
        _ => outcome(worst, grade),
    };
    put(seat, held.defect, solved, lane, outcome, out);
}

/// What makes the figures of the unluckiest device less sure.
fn remarks(seat: &Seat<'_>, solved: &Solved<'_>, lane: LaneId, defect: &str) -> Vec<Remark> {
    let mut remarks = remarks::of_stage(seat.stage, solved, lane);
    let gain = solved.figure(seat.chip.sharing.hogging_gain, lane).filter(|&gain| gain > HOGGING);
    remarks.extend(gain.map(|gain| Remark::Hogging { gain }));
    if defect != NO_STABLE_SHARING {
        remarks.extend(remarks::of_energies(seat, solved, lane).filter(|_| defect == TOO_HOT));
        remarks.extend(skew_not_counted(seat.chip, solved, lane));
        let lasts = solved.variant.duty_of(lane).lasts.filter(|_| defect != PEAK);
        remarks.extend(lasts.map(|lasts| Remark::HeldContinuously { lasts }));
    }
    remarks
}

/// A skew of the thresholds is left out where nobody says how far they lie apart.
fn skew_not_counted(chip: &Chip, solved: &Solved<'_>, lane: LaneId) -> Option<Remark> {
    let spread = chip.sharing_inputs.threshold?.spread;
    let without = "spread.gate_threshold";
    solved.input(spread, lane).is_none().then_some(Remark::SkewNotCounted { without })
}
