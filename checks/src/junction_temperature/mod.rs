//! Does each junction stay below its limit, settled or while a short duty point lasts?
//!
//! Compares the crest of the junction temperature, ripple at the output frequency included. A duty point that says how
//! long it lasts and what it starts from is followed over that time. Where losses rise faster than heat can leave there
//! is no settled temperature, and that is a failure of its own.

use std::collections::BTreeMap;

use loadworthy_unit::device::ON_STATE_LINE;
use loadworthy_unit::plan::ChipKind;
use loadworthy_unit::trace::Operand;
use loadworthy_unit::{Cause, Dimension, LaneId, LaneState, PartId, Reach, Solved};

use crate::check::{About, Check, Failure, Family, Told, With};
use crate::collect::{Limit, Subject, Verdicts, compare, grade_if_held};
use crate::deratings::JUNCTION;
use crate::figure_text::{comparison, percent, value};
use crate::held_still::HeldStill;
use crate::output_reach;
use crate::remarks;
use crate::review::Place;
use crate::seats::{Seat, failing_kinds, rests, seat_of, seats, stage_of, stages_at};
use crate::steps::{better_faces, more_flow, more_parallel, slower_carrier};
use crate::tell::{above, demand, in_its_leg, part_at, place, policy_place, within};
use crate::verdict::{Comparison, Fault, Grade, Missing, Outcome, Verdict};

const TOO_HOT: &str = "too-hot";
const NO_STEADY_TEMPERATURE: &str = "no-steady-temperature";

static ABOUT: About = About {
    name: "junction-temperature",
    former_names: &[],
    question: "Does each junction stay below its limit, settled or over the time that a duty point lasts, ripple of the output frequency included?",
    page: include_str!("page.md"),
    fails: include_str!("fails.yaml"),
    holds: include_str!("holds.yaml"),
    defects: &[
        (TOO_HOT, "a junction gets hotter than the policy allows"),
        (
            NO_STEADY_TEMPERATURE,
            "losses rise faster than the coolant takes them away, or it leaves its range",
        ),
    ],
    policy: &[&JUNCTION],
    since: 2026,
};

/// The check.
pub(crate) struct JunctionTemperature;

impl Check for JunctionTemperature {
    fn about(&self) -> &'static About {
        &ABOUT
    }

    fn feels_the_coolant(&self) -> bool {
        true
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        steady(solved, out);
        let mut held = HeldStill::of(solved);
        let unsteady = unsteady(solved);
        for seat in seats(&solved.variant.plan) {
            for lane in solved.variant.lane_ids() {
                if rests(seat.stage, solved, lane) {
                    continue;
                }
                let figures = &seat.chip.figures;
                let inputs = &seat.chip.inputs;
                let compared = compare(
                    solved,
                    lane,
                    (figures.hottest(), Dimension::Temperature),
                    Limit::Input(inputs.junction_limit),
                    Some(&JUNCTION),
                );
                // Whole degrees are as near as it is told.
                let known_up_to = seat.chip.known_up_to().map(|celsius| celsius as f32);
                let compared = compared.map(|compared| Comparison { known_up_to, ..compared });
                let mut remarks = remarks::of_stage(seat.stage, solved, lane);
                remarks.extend(remarks::of_turn_on(&seat, solved, lane));
                remarks.extend(remarks::of_gate(&seat, solved, lane));
                remarks.extend(remarks::of_chip(seat.chip, solved, lane));
                remarks.extend(remarks::of_energies(&seat, solved, lane));
                remarks.extend(remarks::of_feedback(solved, lane));
                let course = remarks::of_course(seat.stage, seat.chip, solved, lane);
                remarks.extend(course);
                // What may read high because time is not counted, or not all of it, is a minor failure.
                let grade = if course.is_some() { Grade::Minor } else { Grade::Major };
                let kin = Some(inputs.junction_limit);
                let subject = Subject { part: seat.chip.part, defect: TOO_HOT, lane: Some(lane), kin };
                let outcome = held.judged(compared, grade, seat.stage, lane);
                let outcome = within_its_curve(outcome, &seat, solved, lane);
                // A stage that has no steady temperature at all in another duty point is told of that, and of this with it.
                let is_told = unsteady.get(&lane).is_some_and(|stages| stages.contains(&seat.stage.part));
                if is_told && matches!(outcome, Outcome::Fails { .. }) {
                    continue;
                }
                out.put(solved, subject, outcome, remarks);
            }
        }
    }

    /// Currents of a voltage that no modulation forms are no reason to look for better cooling.
    fn told_with(&self, failing: &Verdict, solved: &Solved<'_>) -> Vec<With> {
        let Some(lane) = failing.lane().filter(|_| failing.defect == NO_STEADY_TEMPERATURE) else {
            return Vec::new();
        };
        let stages = stages_at(&solved.variant.plan, solved.variant, failing.part).into_iter();
        let far = stages.filter(|stage| output_reach::is_far_beyond(stage, solved, lane));
        far.map(|stage| With::of(output_reach::NAME, output_reach::OUT_OF_REACH, stage.part)).collect()
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        if failure.worst.defect == NO_STEADY_TEMPERATURE {
            return no_steady_temperature(failure, solved);
        }
        too_hot(&seat_of(&solved.variant.plan, failure.worst.part)?, failure, solved)
    }

    fn outruns(&self, defect: &str) -> &'static [&'static str] {
        if defect == TOO_HOT { &["junction temperature"] } else { &[] }
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        let variant = solved.variant;
        let plan = &variant.plan;
        let Some(lane) = failure.worst.lane() else { return Vec::new() };
        let mut families = Vec::new();
        let stages = stages_at(plan, variant, failure.worst.part);
        let several = stages.len() > 1;
        for stage in stages {
            let mut kinds = failing_kinds(plan, stage, failure);
            if kinds.is_empty() {
                kinds = (0..stage.seats.len()).collect();
            }
            let own = [
                more_parallel(plan, stage, &kinds, solved, lane),
                slower_carrier(stage, solved, lane),
                better_faces(plan, stage, &kinds, solved, lane),
            ];
            let name = several.then(|| variant.path(stage.part));
            families.extend(own.into_iter().map(|family| of_stage(family, name)));
        }
        families.push(more_flow(solved, lane));
        families
    }
}

/// A transistor of which one curve is stated conducts worse than that once it is hotter: what holds by it is not known to hold.
fn within_its_curve(outcome: Outcome, seat: &Seat<'_>, solved: &Solved<'_>, lane: LaneId) -> Outcome {
    let figure = seat.chip.figures.mean_junction_temperature;
    let only = seat.chip.only_curve().filter(|_| seat.chip.kind != ChipKind::Diode);
    let Some((curves, high)) = only else { return outcome };
    let Some(value) = solved.figure(figure, lane).filter(|junction| *junction > high) else { return outcome };
    if !matches!(outcome, Outcome::Holds(_)) {
        return outcome;
    }
    let reach = Reach {
        what: "junction temperature",
        of: Operand::Curve(curves),
        value,
        low: f64::NEG_INFINITY,
        high,
        dimension: Dimension::Temperature,
    };
    let beyond = Cause::Beyond { figure, law: &ON_STATE_LINE, reach: Some(reach) };
    Outcome::NotJudged(vec![Missing::Cause(beyond)])
}

/// A family with the name of its stage, where several are proposed to.
fn of_stage(mut family: Family, name: Option<&str>) -> Family {
    if let Some(name) = name {
        family.tried = format!("{name} {}", family.tried);
        for step in &mut family.ladder {
            step.say = format!("{name} {}", step.say);
        }
    }
    family
}

/// The part whose heat cannot leave in a lane, and the largest share of its demand that has a solution.
fn without_steady_heat(solved: &Solved<'_>, lane: LaneId) -> Option<(PartId, f64)> {
    let plan = &solved.variant.plan;
    let LaneState::NoSolution { at, largest } = solved.state(lane) else { return None };
    // What a source or a bus cannot give, or a conductor not pass, is a matter of power, not of heat.
    let of_power = plan.sources.iter().any(|source| source.part == at)
        || plan.buses.iter().any(|bus| bus.part == at)
        || plan.conductors.iter().any(|conductor| conductor.part == at);
    (!of_power).then_some((at, largest))
}

/// The stages that have no steady temperature in some lane, for each lane that is judged together with that one.
fn unsteady(solved: &Solved<'_>) -> BTreeMap<LaneId, Vec<PartId>> {
    let mut all: BTreeMap<LaneId, Vec<PartId>> = BTreeMap::new();
    for lanes in solved.variant.together() {
        let at = lanes.ids().filter_map(|lane| {
            let (at, _) = without_steady_heat(solved, lane)?;
            (!leaves_its_coolant(at, solved, lane)).then(|| stage_of(solved.variant, at))
        });
        let stages: Vec<PartId> = at.collect();
        if !stages.is_empty() {
            all.extend(lanes.ids().map(|lane| (lane, stages.clone())));
        }
    }
    all
}

/// Duty points in which a stage has a steady temperature and gets hotter than the policy allows, each with the hottest of its
/// junctions.
fn too_hot_beside(stage: PartId, solved: &Solved<'_>) -> Vec<String> {
    let variant = solved.variant;
    let seats: Vec<Seat<'_>> = seats(&variant.plan).filter(|seat| seat.stage.part == stage).collect();
    let mut said = Vec::new();
    for lane in variant.lane_ids() {
        let of_seat = |seat: &Seat<'_>| {
            let carried = (seat.chip.figures.hottest(), Dimension::Temperature);
            let limit = Limit::Input(seat.chip.inputs.junction_limit);
            compare(solved, lane, carried, limit, Some(&JUNCTION)).ok().filter(|one| !one.holds())
        };
        let hottest = seats.iter().filter(|seat| !rests(seat.stage, solved, lane)).filter_map(of_seat);
        let hottest = hottest.map(|one| one.carried_value).reduce(f64::max);
        let name = &variant.duty_of(lane).name;
        said.extend(
            hottest.map(|most| format!("too hot in {name}: {}", value(most, Dimension::Temperature))),
        );
    }
    said.dedup();
    said
}

/// Lanes in which the heat of a part cannot leave.
fn steady(solved: &Solved<'_>, out: &mut Verdicts) {
    for lane in solved.variant.lane_ids() {
        let Some((at, largest)) = without_steady_heat(solved, lane) else { continue };
        if leaves_its_coolant(at, solved, lane) {
            let missing = vec![Missing::Cause(Cause::NoSolution { at, largest })];
            let subject = Subject { part: at, defect: NO_STEADY_TEMPERATURE, lane: Some(lane), kin: None };
            out.put(solved, subject, Outcome::NotJudged(missing), Vec::new());
            continue;
        }
        let subject = Subject { part: at, defect: NO_STEADY_TEMPERATURE, lane: Some(lane), kin: None };
        let outcome = Outcome::Fails {
            fault: Fault::Unsolved { largest_share: largest },
            grade: grade_if_held(solved, lane),
        };
        out.put(solved, subject, outcome, remarks::of_heat(solved, lane));
    }
}

/// Whether it is a place at which the coolant gets hotter than it is known: what becomes of the heat from there on is not known.
pub(crate) fn leaves_its_coolant(at: PartId, solved: &Solved<'_>, lane: LaneId) -> bool {
    let path = solved.variant.plan.coolant.as_ref();
    let known = path.and_then(|path| Some((path.place_of(at)?, path.highest()?)));
    known.is_some_and(|(place, highest)| highest < solved.raw(place.coolant_out, lane))
}

fn too_hot(seat: &Seat<'_>, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
    let (variant, lane) = (solved.variant, failure.worst.lane()?);
    let part = variant.path(failure.worst.part);
    let figures = &seat.chip.figures;
    let compared = failure.worst.comparison()?;
    let carried = comparison(compared).carried;
    let saying = format!(
        "junction of `{part}` reaches {carried}{}, {}",
        within(solved, lane, solved.is_followed(lane)),
        above(compared, "its limit")
    );
    let loss = value(solved.figure(figures.judged_loss(), lane)?, Dimension::Power);
    let what = if seat.chip.kind == loadworthy_unit::plan::ChipKind::Diode { "diode" } else { "transistor" };
    let ripple = solved.figure(figures.junction_ripple, lane).filter(|&ripple| ripple >= 0.5);
    let swing = ripple.map_or_else(String::new, |ripple| {
        format!(", {} of it swing with the output frequency", value(ripple, Dimension::TemperatureDifference))
    });
    let label = format!("{loss} lost in this {what}{swing}");
    let mut because: Vec<Place> = demand(seat.stage, solved, lane).into_iter().collect();
    because.extend(in_its_leg(seat.stage, solved, lane));
    let coolant = variant.plan.coolant.as_ref().map(|path| path.inlet);
    because.extend(coolant.and_then(|inlet| {
        let at = value(solved.input(inlet, lane)?, Dimension::Temperature);
        place(solved, inlet, lane, format!("coolant arrives at {at}"))
    }));
    because.extend(policy_place(solved, &JUNCTION));
    Some(Told { because, ..Told::new(saying, part_at(solved, failure.worst.part, label)) })
}

fn no_steady_temperature(failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
    let (variant, lane) = (solved.variant, failure.worst.lane()?);
    let part = variant.path(failure.worst.part);
    let duty = &variant.duty_of(lane).name;
    let path = variant.plan.coolant.as_ref();
    let (why, label) = if path.is_some_and(|path| path.part == failure.worst.part) {
        ("no coolant flows".to_owned(), "heat cannot leave")
    } else {
        (
            format!("losses at `{part}` rise faster than the coolant takes them away"),
            "each kelvin here brings more loss than it drives into the coolant",
        )
    };
    let share = match failure.worst.fault() {
        Some(&Fault::Unsolved { largest_share: share }) if share > 0.0 => {
            format!("at most {} of what `{duty}` asks has a steady temperature", percent(share))
        }
        _ => format!("no share of what `{duty}` asks has a steady temperature"),
    };
    let mut because: Vec<Place> = Vec::new();
    for stage in stages_at(&variant.plan, variant, failure.worst.part) {
        because.extend(demand(stage, solved, lane));
    }
    let at = part_at(solved, failure.worst.part, label.to_owned());
    let facts = too_hot_beside(stage_of(variant, failure.worst.part), solved);
    Some(Told { because, facts, ..Told::new(format!("{why}: {share}"), at) })
}
