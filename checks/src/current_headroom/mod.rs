//! Does each chip carry no more current than its data sheet permits and the policy leaves?
//!
//! The RMS current stands against the continuous rating at the case temperature that was solved, the crest against the
//! repetitive peak. At standstill a crest above the continuous rating is worth a note: the rating is one for direct
//! current, and the junction decides what the share of time at that current does.

use loadworthy_unit::{Dimension, LaneId, PolicyForm, PolicyItem, Solved};

use crate::check::{About, Check, Failure, Family, Told};
use crate::collect::{Limit, Subject, Verdicts, compare, grade_if_held, outcome};
use crate::figure_text::{comparison, value};
use crate::remarks;
use crate::seats::{Seat, failing_sides, rests, seat_of, seats};
use crate::steps::more_parallel;
use crate::tell::{above, demand, part_at, place, policy_place};
use crate::verdict::{Comparison, Grade, Verdict};

/// Share of the continuous rating that may be used.
pub(crate) static DEVICE_CURRENT: PolicyItem = PolicyItem {
    name: "device_current",
    help: "Share of the continuous current rating, taken to the case temperature, that a chip may carry as RMS",
    form: PolicyForm::UseAtMost { default: 1.0, usual: (0.7, 1.0) },
    since: 2026,
};

/// Share of the repetitive peak that may be used.
pub(crate) static DEVICE_PEAK_CURRENT: PolicyItem = PolicyItem {
    name: "device_peak_current",
    help: "Share of the repetitive peak current that the crest in a chip may reach",
    form: PolicyForm::UseAtMost { default: 0.8, usual: (0.6, 1.0) },
    since: 2026,
};

const CONTINUOUS: &str = "continuous-current";
const PEAK: &str = "repetitive-peak";
const STANDING: &str = "standing-current";

static ABOUT: About = About {
    name: "current-headroom",
    former_names: &[],
    question: "Does each chip carry no more current than its data sheet permits and the policy leaves?",
    page: include_str!("page.md"),
    fails: include_str!("fails.yaml"),
    holds: include_str!("holds.yaml"),
    defects: &[
        (
            CONTINUOUS,
            "the RMS current exceeds what the continuous rating leaves at the solved case temperature",
        ),
        (PEAK, "the crest of the current exceeds what the policy leaves of the repetitive peak"),
        (STANDING, "at standstill the crest stands above the continuous rating; the junction decides"),
    ],
    policy: &[&DEVICE_CURRENT, &DEVICE_PEAK_CURRENT],
    since: 2026,
};

/// The check.
pub(crate) struct CurrentHeadroom;

impl Check for CurrentHeadroom {
    fn about(&self) -> &'static About {
        &ABOUT
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        let variant = solved.variant;
        for seat in seats(&variant.plan) {
            let mut exceeded = vec![false; variant.duties.len()];
            for lane in variant.lane_ids().filter(|&lane| !rests(seat.bridge, solved, lane)) {
                exceeded[variant.lane(lane).duty.index()] |= !rated(&seat, solved, lane, out);
            }
            // Where the RMS current fails already, the standing crest is but its echo.
            for lane in variant.lane_ids().filter(|&lane| !rests(seat.bridge, solved, lane)) {
                if !exceeded[variant.lane(lane).duty.index()] {
                    standing(&seat, solved, lane, out);
                }
            }
        }
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        let seat = seat_of(&solved.variant.plan, failure.worst.part)?;
        Some(told(&seat, failure.worst, failure.worst.comparison()?, solved))
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        let plan = &solved.variant.plan;
        let Some(seat) = seat_of(plan, failure.worst.part) else { return Vec::new() };
        vec![more_parallel(plan, seat.bridge, &failing_sides(plan, failure), solved, failure.worst.lane)]
    }
}

/// RMS current and crest against their ratings; whether the RMS current is within its own.
fn rated(seat: &Seat<'_>, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) -> bool {
    let figures = &seat.chip.figures;
    let rating = Limit::Figure(figures.rated_current);
    let rms = (figures.rms_current, Dimension::Current);
    let continuous = compare(solved, lane, rms, rating, Some(&DEVICE_CURRENT));
    let holds = continuous.as_ref().is_ok_and(Comparison::holds);
    // The rating hangs on the case temperature, which a short duty point does not reach.
    let grade = grade_if_held(solved, lane);
    out.put(solved, subject(seat, CONTINUOUS, lane), outcome(continuous, grade), held(seat, solved, lane));

    let peak = (figures.peak_current, Dimension::Current);
    let limit = Limit::Input(seat.chip.inputs.repetitive_peak);
    let compared = compare(solved, lane, peak, limit, Some(&DEVICE_PEAK_CURRENT));
    let remarks = remarks::of_bridge(seat.bridge, solved, lane);
    out.put(solved, subject(seat, PEAK, lane), outcome(compared, Grade::Major), remarks);
    holds
}

/// The crest at standstill against the continuous rating.
fn standing(seat: &Seat<'_>, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let figures = &seat.chip.figures;
    if solved.input(seat.bridge.inputs.frequency, lane).is_some_and(|frequency| frequency <= 0.0) {
        let peak = (figures.peak_current, Dimension::Current);
        let compared = compare(solved, lane, peak, Limit::Figure(figures.rated_current), None);
        out.put(
            solved,
            subject(seat, STANDING, lane),
            outcome(compared, Grade::Note),
            held(seat, solved, lane),
        );
    }
}

fn subject(seat: &Seat<'_>, defect: &'static str, lane: LaneId) -> Subject {
    Subject { part: seat.chip.part, defect, lane, kin: Some(seat.chip.inputs.junction_limit) }
}

/// Remarks on a comparison that hangs on the case temperature.
fn held(seat: &Seat<'_>, solved: &Solved<'_>, lane: LaneId) -> Vec<remarks::Remark> {
    let mut remarks = remarks::of_bridge(seat.bridge, solved, lane);
    let lasts = solved.variant.duty_of(lane).lasts;
    remarks.extend(lasts.map(|lasts| remarks::Remark::HeldContinuously { lasts }));
    remarks
}

fn told(seat: &Seat<'_>, worst: &Verdict, compared: &Comparison, solved: &Solved<'_>) -> Told {
    let (variant, lane) = (solved.variant, worst.lane);
    let inputs = &seat.chip.inputs;
    let part = variant.path(worst.part);
    let text = comparison(compared);
    let amps = |input| solved.input(input, lane).map(|amps| value(amps, Dimension::Current));
    let case = solved.input(inputs.at_case, lane).map(|case| value(case, Dimension::Temperature));
    let (saying, label, limit_at) = match worst.defect {
        PEAK => (
            format!(
                "`{part}` reaches a crest of {}, {}",
                text.carried,
                above(compared, "its repetitive peak")
            ),
            format!("crest of {} in each device here", text.carried),
            inputs.repetitive_peak,
        ),
        STANDING => (
            format!(
                "`{part}` leads pulses of {} at standstill, above the {} that its continuous rating leaves at this case; the junction decides",
                text.carried, text.limit
            ),
            format!("{} stand in each device here", text.carried),
            inputs.continuous,
        ),
        _ => (
            format!(
                "`{part}` carries {} rms, {}",
                text.carried,
                above(compared, "its rating at the solved case")
            ),
            format!("{} rms in each device here", text.carried),
            inputs.continuous,
        ),
    };
    let rating = match worst.defect {
        PEAK => amps(inputs.repetitive_peak).map(|amps| format!("repetitive peak {amps}")),
        _ => amps(inputs.continuous)
            .zip(case)
            .map(|(amps, case)| format!("rated {amps} with the case at {case}")),
    };
    let mut because: Vec<_> = demand(seat.bridge, solved, lane).into_iter().collect();
    because.extend(rating.and_then(|rating| place(solved, limit_at, lane, rating)));
    because.extend(compared.policy.and_then(|item| policy_place(solved, item)));
    Told { saying, at: part_at(solved, worst.part, label), because, no_proposal: None }
}
