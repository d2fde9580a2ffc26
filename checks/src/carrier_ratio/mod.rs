//! Is the carrier fast enough beside the output for the figures to mean anything?
//!
//! Closed forms for currents, losses and ripple take the reference as constant over a carrier period. With few periods in a
//! turn they become estimates, and with very few an asynchronous pattern beats with its own output.

use loadworthy_physics::modulation::LEAST_CARRIER_RATIO;
use loadworthy_unit::plan::{Bridge, Stage};
use loadworthy_unit::trace::Operand;
use loadworthy_unit::{Dimension, Edit, LaneId, Solved};

use crate::check::{About, Change, Check, Failure, Family, Proposal, Told};
use crate::collect::{Subject, Verdicts};
use crate::figure_text::{digits_to_tell, percent, value, with_digits, written};
use crate::in_step::in_step;
use crate::seats::rests;
use crate::steps::as_written;
use crate::tell::{part_at, place};
use crate::verdict::{Comparison, Fault, Grade, Missing, Outcome};

/// Carrier periods in one of the output below which a pattern that is not synchronised beats with its output.
const BEATING: f64 = 9.0;

const FEW: &str = "few-periods";
const TOO_FEW: &str = "too-few-periods";

static ABOUT: About = About {
    name: "carrier-ratio",
    former_names: &[],
    question: "Is the carrier fast enough beside the output for the figures to mean anything?",
    page: include_str!("page.md"),
    fails: include_str!("fails.yaml"),
    holds: include_str!("holds.yaml"),
    defects: &[
        (FEW, "fewer than 15 carrier periods in one of the output: closed forms are estimates"),
        (
            TOO_FEW,
            "fewer than 9 carrier periods in one of the output: the currents of the duty point are not known",
        ),
    ],
    policy: &[],
    since: 2026,
};

/// The check.
pub(crate) struct CarrierRatio;

impl Check for CarrierRatio {
    fn about(&self) -> &'static About {
        &ABOUT
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        for stage in &solved.variant.plan.stages {
            let Some(bridge) = stage.bridge() else { continue };
            for lane in solved.variant.lane_ids().filter(|&lane| !rests(stage, solved, lane)) {
                judge(stage, bridge, solved, lane, out);
            }
        }
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        let (worst, lane) = (failure.worst, failure.worst.lane()?);
        let stage = solved.variant.plan.stages.iter().find(|stage| stage.part == worst.part)?;
        let bridge = stage.bridge()?;
        let part = solved.variant.path(stage.part);
        let (carrier, turning) = (solved.input(stage.carrier, lane)?, turning(bridge, solved, lane)?);
        let ratio = carrier / turning;
        let least = if worst.defect == TOO_FEW { BEATING } else { LEAST_CARRIER_RATIO };
        // Just below the limit more digits tell them apart.
        let digits = digits_to_tell(ratio, least, Dimension::Ratio);
        let periods = with_digits(ratio, Dimension::Ratio, digits);
        let consequence = if worst.defect == TOO_FEW {
            "the output beats with the carrier, and no figure of this bridge can be trusted"
        } else {
            "currents, losses and ripple of this bridge are estimates"
        };
        let saying = format!(
            "`{part}` makes a turn of {periods} carrier periods, {} fewer than {}: {consequence}",
            percent(1.0 - ratio / least),
            value(least, Dimension::Ratio),
        );
        let at =
            place(solved, stage.carrier, lane, format!("{periods} carrier periods in one of the output"))
                .unwrap_or_else(|| {
                    part_at(solved, stage.part, format!("{periods} carrier periods in one of the output"))
                });
        let because = asked(bridge, solved, lane, turning).into_iter().collect();
        let worked = vec![format!(
            "{} / {} = {periods}",
            value(carrier, Dimension::Frequency),
            value(turning, Dimension::Frequency)
        )];
        Some(Told { because, worked, ..Told::new(saying, at) })
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        faster_carrier(failure, solved).into_iter().collect()
    }
}

fn judge(stage: &Stage, bridge: &Bridge, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let (frequency, carrier) = (bridge.figures.frequency, stage.carrier);
    let turning = turning(bridge, solved, lane);
    // At standstill nothing turns, and there is nothing to hold the carrier against.
    if turning.is_some_and(|turning| turning <= 0.0) {
        return;
    }
    let (defect, outcome) = match (turning, solved.input(carrier, lane)) {
        (Some(turning), Some(given)) => {
            let up_to = |least: f64| {
                let limit = (given / least, Some(Operand::Input(carrier)));
                Comparison::new((frequency, turning), limit, (given / least, None), Dimension::Frequency)
            };
            let fails = |compared, grade| Outcome::Fails { fault: Fault::Exceeds(compared), grade };
            let (few, too_few) = (up_to(LEAST_CARRIER_RATIO), up_to(BEATING));
            if few.holds() {
                (FEW, Outcome::Holds(Some(few)))
            } else if too_few.holds() {
                (FEW, fails(few, Grade::Minor))
            } else {
                (TOO_FEW, fails(too_few, Grade::Major))
            }
        }
        (turning, given) => {
            let open = turning.is_none().then_some(Missing::Figure(frequency));
            let unstated = given.is_none().then_some(Missing::Cause(loadworthy_unit::Cause::Input(carrier)));
            (FEW, Outcome::NotJudged(open.into_iter().chain(unstated).collect()))
        }
    };
    out.put(solved, Subject { part: stage.part, defect, lane: Some(lane), kin: None }, outcome, Vec::new());
}

/// The frequency of the output. A duty point without a solution asks for one all the same: it follows from what is stated.
fn turning(bridge: &Bridge, solved: &Solved<'_>, lane: LaneId) -> Option<f64> {
    let asked = || {
        let input = |input| solved.input(input, lane);
        match &bridge.inputs.constants {
            Some(of) if input(of.torque).or(input(of.shaft_power)).is_some() => {
                Some((input(of.pole_pairs)? * input(of.speed)?).abs())
            }
            _ => input(bridge.inputs.frequency),
        }
    };
    solved.figure(bridge.figures.frequency, lane).or_else(asked)
}

/// What the duty point says of the frequency: itself, or the speed it follows from.
fn asked(bridge: &Bridge, solved: &Solved<'_>, lane: LaneId, turning: f64) -> Option<crate::review::Place> {
    let label = format!("an output of {}", value(turning, Dimension::Frequency));
    if solved.input(bridge.inputs.frequency, lane).is_some() {
        return place(solved, bridge.inputs.frequency, lane, label);
    }
    let constants = bridge.inputs.constants.as_ref()?;
    place(solved, constants.speed, lane, label)
}

/// The carrier that gives every failing duty point its periods, and somewhat faster ones.
fn faster_carrier(failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Family> {
    let lane = failure.worst.lane()?;
    let stage = solved.variant.plan.stages.iter().find(|stage| stage.part == failure.worst.part)?;
    let bridge = stage.bridge()?;
    let all = failure.all.iter().map(|verdict| turning(bridge, solved, verdict.lane()?));
    let fastest = all.collect::<Option<Vec<f64>>>()?.into_iter().fold(0.0, f64::max);
    let now = solved.input(stage.carrier, lane)?;
    let needed = LEAST_CARRIER_RATIO * fastest;
    let ladder: Vec<Proposal> = [1.0, 1.05, 1.1, 1.25]
        .into_iter()
        .map(|factor| as_written(needed * factor))
        .filter(|&carrier| carrier >= needed)
        .map(|carrier| {
            let text = written(carrier, Dimension::Frequency);
            let say = format!(
                "carrier frequency: {} -> {}",
                value(now, Dimension::Frequency),
                value(carrier, Dimension::Frequency)
            );
            Proposal {
                say,
                change: Change::Edit(vec![(Edit { input: stage.carrier, value: carrier }, text)]),
            }
        })
        .collect();
    let last = ladder.last().and_then(|proposal| proposal.edits().first()).map(|(_, text)| text.clone());
    let family = Family { tried: format!("carrier up to {}", last?), ladder };
    Some(in_step(family, stage, solved, lane))
}
