//! Currents of chips against the ratings of their data sheets.

use loadworthy_unit::{Dimension, LaneId, Solved};

use super::{CONTINUOUS, PEAK, STANDING};
use crate::check::{Failure, Family, Told};
use crate::collect::{Limit, Subject, Verdicts, compare, grade_if_held, or_of_the_least, outcome};
use crate::deratings::{DEVICE_CURRENT, DEVICE_PEAK_CURRENT};
use crate::figure_text::{comparison, value};
use crate::held_still::HeldStill;
use crate::remarks;
use crate::seats::{Seat, failing_kinds, rests, seat_of, seats};
use crate::steps::more_parallel;
use crate::tell::{above, demand, in_its_leg, part_at, place, policy_place};
use crate::verdict::{Comparison, Grade, Verdict};

pub(super) fn judge(solved: &Solved<'_>, out: &mut Verdicts) {
    let variant = solved.variant;
    let mut still = HeldStill::of(solved);
    for seat in seats(&variant.plan) {
        let mut exceeded = vec![false; variant.duties.len()];
        for lane in variant.lane_ids().filter(|&lane| !rests(seat.stage, solved, lane)) {
            exceeded[variant.lane(lane).duty.index()] |= !rated(&seat, (solved, &mut still), lane, out);
        }
        // Where the RMS current fails already, the standing crest is but its echo.
        for lane in variant.lane_ids().filter(|&lane| !rests(seat.stage, solved, lane)) {
            if !exceeded[variant.lane(lane).duty.index()] {
                standing(&seat, solved, lane, out);
            }
        }
    }
}

pub(super) fn propose(failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
    let plan = &solved.variant.plan;
    let (Some(seat), Some(lane)) = (seat_of(plan, failure.worst.part), failure.worst.lane()) else {
        return Vec::new();
    };
    vec![more_parallel(plan, seat.stage, &failing_kinds(plan, seat.stage, failure), solved, lane)]
}

/// RMS current and crest against their ratings; whether the RMS current is within its own.
fn rated<'u>(
    seat: &Seat<'_>,
    (solved, still): (&Solved<'u>, &mut HeldStill<'_, 'u>),
    lane: LaneId,
    out: &mut Verdicts,
) -> bool {
    let figures = &seat.chip.figures;
    let rating = Limit::Figure(figures.judged_rating());
    let rms = (figures.judged_rms(), Dimension::Current);
    let continuous = compare(solved, lane, rms, rating, Some(&DEVICE_CURRENT));
    let holds = continuous.as_ref().is_ok_and(Comparison::holds);
    // A case above the limit of the junction leaves no rating at all, and the junction above it is told.
    let is_left = solved.figure(figures.judged_rating(), lane).is_none_or(|rating| rating > 0.0);
    if is_left || holds {
        // The rating hangs on the case temperature, which a short duty point does not reach.
        let grade = grade_if_held(solved, lane);
        let outcome = still.rated(continuous, grade, (seat.stage, figures.judged_rating()), lane);
        out.put(solved, subject(seat, CONTINUOUS, lane), outcome, held(seat, solved, lane));
    }

    let peak = (figures.judged_crest(), Dimension::Current);
    let limit = Limit::Input(seat.chip.inputs.repetitive_peak);
    let against = |carried| compare(solved, lane, carried, limit, Some(&DEVICE_PEAK_CURRENT));
    // A crest beyond the curves of the device leaves its losses open, and with them the ripple; not the crest.
    let crest = (figures.peak_current, Dimension::Current);
    let (compared, is_least) = or_of_the_least(against(peak), || against(crest));
    let mut remarks = remarks::of_stage(seat.stage, solved, lane);
    remarks.extend(is_least.then_some(remarks::Remark::AtLeast));
    out.put(solved, subject(seat, PEAK, lane), outcome(compared, Grade::Major), remarks);
    holds
}

/// The crest at standstill against the continuous rating.
fn standing(seat: &Seat<'_>, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let figures = &seat.chip.figures;
    let frequency = seat.stage.bridge().and_then(|bridge| solved.figure(bridge.figures.frequency, lane));
    if frequency.is_some_and(|frequency| frequency <= 0.0) {
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
    Subject { part: seat.chip.part, defect, lane: Some(lane), kin: Some(seat.chip.inputs.junction_limit) }
}

/// Remarks on a comparison that hangs on the case temperature.
fn held(seat: &Seat<'_>, solved: &Solved<'_>, lane: LaneId) -> Vec<remarks::Remark> {
    let mut remarks = remarks::of_stage(seat.stage, solved, lane);
    let lasts = solved.variant.duty_of(lane).lasts;
    remarks.extend(lasts.map(|lasts| remarks::Remark::HeldContinuously { lasts }));
    remarks
}

pub(super) fn told(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let seat = seat_of(&solved.variant.plan, worst.part)?;
    let compared = worst.comparison()?;
    let (variant, lane) = (solved.variant, worst.lane()?);
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
    let mut because: Vec<_> = demand(seat.stage, solved, lane).into_iter().collect();
    because.extend(in_its_leg(seat.stage, solved, lane));
    because.extend(rating.and_then(|rating| place(solved, limit_at, lane, rating)));
    because.extend(compared.policy.and_then(|item| policy_place(solved, item)));
    Some(Told { because, ..Told::new(saying, part_at(solved, worst.part, label)) })
}
