//! Can the sources give and take what the duty points ask of them?
//!
//! A source is held against what it stands for good, and in a duty point that ends against the highest rating that
//! lasts as long. Where the duty point recurs, the RMS current over its cycle is held against what it stands for good as
//! well. The way of the current decides which limits count.

mod at_its_share;
mod rating;
mod telling;

use loadworthy_unit::plan::{Source, SourceLimit};
use loadworthy_unit::trace::Operand;
use loadworthy_unit::{Dimension, FigureId, LaneId, Origin, Solved};

use crate::check::{About, Check, Failure, Family, Told};
use crate::collect::{Subject, Verdicts, allowed, outcome, structural};
use crate::cycle::Cycle;
use crate::deratings::SOURCE_CURRENT;
use crate::remarks::Remark;
use crate::verdict::{Comparison, EQUAL_WITHIN, Fault, Grade, Missing, Outcome};
use rating::{Asks, Rating, Way};

const DISCHARGE: &str = "discharge-current";
const CHARGE: &str = "charge-current";
const POWER: &str = "source-power";
const CYCLE: &str = "cycle-current";
const ABSORBS: &str = "cannot-absorb";
const BEYOND_CURVE: &str = "beyond-curve";
const SPAN: &str = "outside-span";
const OTHER_VOLTAGE: &str = "other-voltage";

static ABOUT: About = About {
    name: "source-limits",
    former_names: &[],
    question: "Can the sources give and take what the duty points ask of them?",
    page: include_str!("page.md"),
    fails: include_str!("fails.yaml"),
    holds: include_str!("holds.yaml"),
    defects: &[
        (DISCHARGE, "the current that a source gives exceeds what it stands for so long"),
        (CHARGE, "the current that a source takes exceeds what it stands for so long"),
        (POWER, "the power of a source exceeds what it stands for so long"),
        (
            CYCLE,
            "the RMS current over the cycle of a recurring duty point, or over the rows of a mission, exceeds what a source stands for good",
        ),
        (ABSORBS, "a source that cannot take power back is asked to"),
        (BEYOND_CURVE, "a duty point asks a fuel cell for more than its curve ends at"),
        (SPAN, "the open-circuit voltage of a duty point lies outside the span of the source"),
        (OTHER_VOLTAGE, "a source does not have the voltage of its bus at the share that it is to give"),
    ],
    policy: &[&SOURCE_CURRENT],
    since: 2026,
};

/// The check.
pub(crate) struct SourceLimits;

impl Check for SourceLimits {
    fn about(&self) -> &'static About {
        &ABOUT
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        for source in &solved.variant.plan.sources {
            for lane in solved.variant.lane_ids() {
                judge(source, solved, lane, out);
                span(source, solved, lane, out);
                at_its_share::judge(source, solved, lane, out);
            }
        }
    }

    fn leaves_without_values(&self, defect: &str) -> bool {
        defect == BEYOND_CURVE
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        let source = source_of(failure, solved)?;
        telling::told(source, failure.worst, solved)
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        let Some(source) = source_of(failure, solved) else { return Vec::new() };
        telling::larger_source(source, failure, solved).into_iter().collect()
    }
}

fn source_of<'v>(failure: &Failure<'_>, solved: &Solved<'v>) -> Option<&'v Source> {
    solved.variant.plan.sources.iter().find(|source| source.part == failure.worst.part)
}

/// Current and power of a source in a lane.
fn judge(source: &Source, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    if is_beyond_curve(source, solved, lane) {
        let fault = Outcome::Fails { fault: Fault::Structural, grade: Grade::Major };
        out.put(solved, subject(source, BEYOND_CURVE, lane), fault, Vec::new());
        return;
    }
    let carries = source.carries();
    let Some(current) = solved.figure(carries, lane) else {
        let missing = Outcome::NotJudged(vec![Missing::Figure(carries)]);
        out.put(solved, subject(source, DISCHARGE, lane), missing, Vec::new());
        return;
    };
    let way = if current < 0.0 { Way::Taking } else { Way::Giving };
    let can_take = solved.input(source.absorbs, lane).is_some_and(|absorbs| absorbs > 0.0);
    if way == Way::Taking && !can_take {
        let limit = (0.0, Some(Operand::Input(source.absorbs)));
        let carried = (carries, -current);
        let nothing = Comparison::new(carried, limit, (0.0, None), Dimension::Current);
        out.put(solved, subject(source, ABSORBS, lane), outcome(Ok(nothing), Grade::Major), Vec::new());
        return;
    }
    let amps = rating::of_current(source, way);
    if current.abs() <= 0.0 {
        // At rest nothing needs to be stated.
        out.put(solved, subject(source, DISCHARGE, lane), Outcome::Holds(None), Vec::new());
        return;
    }
    let watts = source.limits.power.as_slice();
    if !amps.is_empty() || watts.is_empty() {
        let key = if way == Way::Taking && source.is_battery { "charge" } else { "discharge" };
        let defect = if way == Way::Taking { CHARGE } else { DISCHARGE };
        let carried = (carries, Dimension::Current);
        held(source, (defect, key), carried, amps, solved, lane, out);
        over_cycle(source, key, amps, solved, lane, out);
        over_rows(source, key, amps, solved, lane, out);
    }
    if !watts.is_empty() {
        held(source, (POWER, "power"), (source.power, Dimension::Power), watts, solved, lane, out);
    }
}

/// Whether a share is stated that no point of the curve gives: then the terminals have no voltage.
fn is_beyond_curve(source: &Source, solved: &Solved<'_>, lane: LaneId) -> bool {
    let stated = solved.variant.tables.stated(source.terminal, solved.variant.lane(lane).duty);
    source.curve_end.is_some() && stated.value.is_nan() && stated.origin.is_written()
}

/// A figure against the rating that lasts as long as the duty point.
fn held(
    source: &Source,
    (defect, key): (&'static str, &'static str),
    (figure, dimension): (FigureId, Dimension),
    limits: &[SourceLimit],
    solved: &Solved<'_>,
    lane: LaneId,
    out: &mut Verdicts,
) {
    let lasts = solved.variant.duty_of(lane).asks_for();
    let rating = Rating::of(limits, Asks::of(solved.variant.duty_of(lane)), solved, lane);
    let value = solved.figure(figure, lane).map(f64::abs);
    let compared = match (&rating, value) {
        (_, None) => Err(vec![Missing::Figure(figure)]),
        (Err(missing), Some(_)) => Err(missing.named(source, key)),
        (Ok(rating), Some(value)) => against(solved, (figure, value), dimension, rating),
    };
    // A rating for good says little of a short time: only more than any rating is more than it stands for sure, and what lasts
    // so long that the source remembers nothing before it.
    let is_open = match (&rating, &compared, lasts) {
        (Ok(Rating { too_often: Some(_), .. }), ..) => false,
        (Ok(rating), Ok(compared), Some(lasts)) if rating.lasts.is_infinite() => {
            let is_short =
                remembered(source, compared.carried_value, lasts, solved, lane) <= compared.allowed;
            is_short && rating.highest.is_none_or(|most| compared.carried_value <= most * share_of(compared))
        }
        _ => false,
    };
    let grade = if is_open { Grade::Minor } else { Grade::Major };
    let remarks = match lasts {
        Some(lasts) if is_open => vec![Remark::HeldContinuously { lasts }],
        _ => Vec::new(),
    };
    out.put(solved, subject(source, defect, lane), outcome(compared, grade), remarks);
}

/// The RMS of a current at the end of a duty point that lasts so many seconds after rest, over what the source remembers: the
/// rows of a mission are held against the same.
fn remembered(source: &Source, current: f64, lasts: f64, solved: &Solved<'_>, lane: LaneId) -> f64 {
    let memory = source.memory.and_then(|memory| solved.input(memory, lane));
    memory.map_or(current, |memory| current * (-libm::expm1(-lasts / memory)).sqrt())
}

/// A magnitude against what the policy leaves of a rating.
fn against(
    solved: &Solved<'_>,
    carried: (FigureId, f64),
    dimension: Dimension,
    rating: &Rating,
) -> Result<Comparison, Vec<Missing>> {
    let stated = solved.variant.policy(&SOURCE_CURRENT).map(|value| value.stated.value);
    let left =
        stated.filter(|value| value.is_finite()).ok_or_else(|| vec![Missing::Policy(&SOURCE_CURRENT)])?;
    let limit = (rating.limit, Some(Operand::Input(rating.input)));
    let allowed = (allowed(&SOURCE_CURRENT, rating.limit, left), Some(&SOURCE_CURRENT));
    Ok(Comparison::new(carried, limit, allowed, dimension))
}

/// The share of a limit that the policy leaves.
fn share_of(compared: &Comparison) -> f64 {
    if compared.limit > 0.0 { compared.allowed / compared.limit } else { 1.0 }
}

/// The RMS current over the cycle of a duty point that recurs, against what the source stands for good.
fn over_cycle(
    source: &Source,
    key: &'static str,
    limits: &[SourceLimit],
    solved: &Solved<'_>,
    lane: LaneId,
    out: &mut Verdicts,
) {
    let (compared, remarks) = match Cycle::of(source.carries(), solved, lane) {
        Ok(None) => return,
        Err(missing) => (Err(missing), Vec::new()),
        Ok(Some(cycle)) => {
            let rating = Rating::of(limits, Asks::FOR_GOOD, solved, lane)
                .map_err(|missing| missing.named(source, key));
            let carried = (source.carries(), cycle.rms());
            let compared = rating.and_then(|rating| against(solved, carried, Dimension::Current, &rating));
            (compared, vec![Remark::OverCycle { every: cycle.every }])
        }
    };
    out.put(solved, subject(source, CYCLE, lane), outcome(compared, Grade::Major), remarks);
}

/// The RMS current of a row of a mission and those before it, against what the source stands for good.
fn over_rows(
    source: &Source,
    key: &'static str,
    limits: &[SourceLimit],
    solved: &Solved<'_>,
    lane: LaneId,
    out: &mut Verdicts,
) {
    let is_row = solved.variant.duty_of(lane).stretch.is_some();
    let Some((figure, memory)) = source.over_rows.filter(|_| is_row) else { return };
    let rating =
        Rating::of(limits, Asks::FOR_GOOD, solved, lane).map_err(|missing| missing.named(source, key));
    let compared = match solved.figure(figure, lane) {
        Some(amps) => rating.and_then(|rating| against(solved, (figure, amps), Dimension::Current, &rating)),
        None => Err(vec![Missing::Figure(source.current)]),
    };
    let assumed = matches!(
        solved.variant.tables.stated(memory, solved.variant.lane(lane).duty).origin,
        Origin::Assumed { .. }
    );
    let remarks =
        solved.input(memory, lane).map(|memory| Remark::OverRows { memory, assumed }).into_iter().collect();
    out.put(solved, subject(source, CYCLE, lane), outcome(compared, Grade::Major), remarks);
}

/// The open-circuit voltage of a duty point against the span of the source.
fn span(source: &Source, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let Some((lowest, highest)) = source.limits.open_circuit else { return };
    let Some(volts) = solved.input(source.open_circuit, lane) else { return };
    let (Some(low), Some(high)) = (solved.input(lowest, lane), solved.input(highest, lane)) else { return };
    let is_within = low * (1.0 - EQUAL_WITHIN) <= volts && volts <= high * (1.0 + EQUAL_WITHIN);
    let outcome = if is_within {
        structural(Ok(true), Grade::Minor)
    } else {
        Outcome::Fails { fault: Fault::Structural, grade: Grade::Minor }
    };
    out.put(solved, subject(source, SPAN, lane), outcome, Vec::new());
}

const fn subject(source: &Source, defect: &'static str, lane: LaneId) -> Subject {
    Subject { part: source.part, defect, lane: Some(lane), kin: None }
}
