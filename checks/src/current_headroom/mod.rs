//! Does each chip carry no more current than its data sheet permits and the policy leaves?
//!
//! The RMS current stands against the continuous rating at the case temperature that was solved, the crest against the
//! repetitive peak. At standstill a crest above the continuous rating is worth a note: the rating is one for direct
//! current, and the junction decides what the share of time at that current does.

use loadworthy_unit::plan::Side;
use loadworthy_unit::{Dimension, LaneId, PolicyForm, PolicyItem, Solved};

use crate::check::{About, Check, Failure, Family, Told};
use crate::collect::{Limit, Subject, Verdicts, compare, outcome};
use crate::figure_text::{comparison, value};
use crate::remarks;
use crate::seats::{Seat, rests, seat_of, seats};
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

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Told {
        let at = |label: String| part_at(solved, failure.worst.part, label);
        match (seat_of(&solved.variant.plan, failure.worst.part), failure.worst.comparison()) {
            (Some(seat), Some(compared)) => told(&seat, failure.worst, compared, solved),
            _ => {
                Told { saying: String::new(), at: at(String::new()), because: Vec::new(), no_proposal: None }
            }
        }
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        let plan = &solved.variant.plan;
        let Some(seat) = seat_of(plan, failure.worst.part) else { return Vec::new() };
        let fails_at = |side: Side| {
            let seat = |verdict: &&Verdict| seat_of(plan, verdict.part);
            failure.all.iter().filter_map(seat).any(|seat| seat.position.side == side)
        };
        let sides: Vec<Side> = [Side::High, Side::Low].into_iter().filter(|&side| fails_at(side)).collect();
        vec![more_parallel(plan, seat.bridge, &sides, solved, failure.worst.lane)]
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
    let lasts = solved.variant.duty_of(lane).lasts;
    let grade = if lasts.is_some() { Grade::Minor } else { Grade::Major };
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
    let amps =
        |input| solved.input(input, lane).map_or_else(String::new, |amps| value(amps, Dimension::Current));
    let case =
        || solved.input(inputs.at_case, lane).map_or_else(String::new, |t| value(t, Dimension::Temperature));
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
        PEAK => format!("repetitive peak {}", amps(inputs.repetitive_peak)),
        _ => format!("rated {} with the case at {}", amps(inputs.continuous), case()),
    };
    let mut because: Vec<_> = demand(seat.bridge, solved, lane).into_iter().collect();
    because.extend(place(solved, limit_at, lane, rating));
    because.extend(compared.policy.and_then(|item| policy_place(solved, item)));
    Told { saying, at: part_at(solved, worst.part, label), because, no_proposal: None }
}
