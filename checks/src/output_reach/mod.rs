//! Can each bridge form the voltage, and each source give the power, that a duty point asks?
//!
//! The index is the one at the poles, drops and dead time included, at the bus voltage of the duty point. Beyond the
//! linear limit a bridge still reaches up to six-step operation, with distorted currents; beyond that nothing does.

use loadworthy_physics::modulation::SIX_STEP_LIMIT;
use loadworthy_physics::{Frequency, Modulation, Time, Voltage, pole_voltage};
use loadworthy_unit::plan::{Bridge, Bus, Source};
use loadworthy_unit::solver::bridge::{modulation, modulation_code};
use loadworthy_unit::{Dimension, Edit, LaneId, LaneState, PolicyForm, PolicyItem, Solved};

use crate::check::{About, Check, Failure, Family, Proposal, Told};
use crate::collect::{Limit, Subject, Verdicts, compare};
use crate::figure_text::{comparison, percent, value, written};
use crate::remarks;
use crate::seats::rests;
use crate::tell::{above, part_at, place, policy_place};
use crate::verdict::{Comparison, Grade, Outcome, Verdict};

/// Share of the linear modulation index that may be used.
pub(crate) static MODULATION_INDEX: PolicyItem = PolicyItem {
    name: "modulation_index",
    help: "Share of the linear modulation index that a duty point may use; the rest is control reserve",
    form: PolicyForm::UseAtMost { default: 1.0, usual: (0.9, 1.0) },
    since: 2026,
};

const BEYOND_LINEAR: &str = "beyond-linear";
const OUT_OF_REACH: &str = "out-of-reach";
const BEYOND_SOURCE: &str = "beyond-source";

static ABOUT: About = About {
    name: "output-reach",
    former_names: &[],
    question: "Can each bridge form the voltage, and each source give the power, that a duty point asks?",
    page: include_str!("page.md"),
    fails: include_str!("fails.yaml"),
    holds: include_str!("holds.yaml"),
    defects: &[
        (BEYOND_LINEAR, "the modulation index exceeds the linear range, or what the policy leaves of it"),
        (OUT_OF_REACH, "the modulation index exceeds six-step operation: the voltage cannot be produced"),
        (BEYOND_SOURCE, "the source cannot give the power through its internal resistance"),
    ],
    policy: &[&MODULATION_INDEX],
    since: 2026,
};

/// The check.
pub(crate) struct OutputReach;

impl Check for OutputReach {
    fn about(&self) -> &'static About {
        &ABOUT
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        sources(solved, out);
        for bridge in &solved.variant.plan.bridges {
            for lane in solved.variant.lane_ids() {
                if !rests(bridge, solved, lane) {
                    judge_bridge(bridge, solved, lane, out);
                }
            }
        }
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        let worst = failure.worst;
        if let Some(source) = source_of(solved, worst) {
            return Some(beyond_source(source, worst, solved));
        }
        let bridge = solved.variant.plan.bridges.iter().find(|bridge| bridge.part == worst.part)?;
        Some(beyond_bridge(bridge, worst, worst.comparison()?, solved))
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        let plan = &solved.variant.plan;
        let Some(bridge) = plan.bridges.iter().find(|bridge| bridge.part == failure.worst.part) else {
            return Vec::new();
        };
        let mut families = Vec::new();
        if solved.input(bridge.inputs.modulation, failure.worst.lane).map(modulation)
            == Some(Modulation::Sinusoidal)
        {
            let edit =
                Edit { input: bridge.inputs.modulation, value: modulation_code(Modulation::SpaceVector) };
            families.push(Family {
                tried: "space_vector".to_owned(),
                ladder: vec![Proposal {
                    say: "modulation: sinusoidal -> space_vector".to_owned(),
                    edits: vec![(edit, "space_vector".to_owned())],
                }],
            });
        }
        families.extend(higher_bus(bridge, failure, solved));
        families
    }
}

/// Lanes in which a source cannot give what is asked.
fn sources(solved: &Solved<'_>, out: &mut Verdicts) {
    for lane in solved.variant.lane_ids() {
        let LaneState::NoSolution { at, largest } = solved.state(lane) else { continue };
        let sources = solved.variant.plan.buses.iter().filter_map(|bus| bus.source.as_ref());
        if sources.into_iter().any(|source| source.part == at) {
            let subject = Subject { part: at, defect: BEYOND_SOURCE, lane, kin: None };
            let outcome =
                Outcome::Fails { comparison: None, largest_share: Some(largest), grade: Grade::Major };
            out.put(solved, subject, outcome, Vec::new());
        }
    }
}

fn judge_bridge(bridge: &Bridge, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let index = (bridge.figures.modulation_index, Dimension::Ratio);
    let code = solved.input(bridge.inputs.modulation, lane);
    // Without a modulation there is no linear limit; the input is named as missing.
    let limit = code
        .map_or(Limit::Input(bridge.inputs.modulation), |code| Limit::Law(modulation(code).linear_limit()));
    let linear = compare(solved, lane, index, limit, Some(&MODULATION_INDEX));
    let six_step = compare(solved, lane, index, Limit::Law(SIX_STEP_LIMIT), None);
    let remarks = remarks::of_bridge(bridge, solved, lane);
    let routine = if bridge.overmodulation_excluded { Grade::Major } else { Grade::Minor };
    let fails = |comparison: Comparison, grade: Grade| Outcome::Fails {
        comparison: Some(comparison),
        largest_share: None,
        grade,
    };
    let (defect, outcome) = match (linear, six_step) {
        (Err(missing), _) => (BEYOND_LINEAR, Outcome::NotJudged(missing)),
        (_, Ok(beyond)) if !beyond.holds() => (OUT_OF_REACH, fails(beyond, Grade::Major)),
        (Ok(linear), _) if linear.holds() => (BEYOND_LINEAR, Outcome::Holds(linear)),
        (Ok(linear), _) => (BEYOND_LINEAR, fails(linear, routine)),
    };
    out.put(solved, Subject { part: bridge.part, defect, lane, kin: None }, outcome, remarks);
}

fn source_of<'v>(solved: &Solved<'v>, worst: &Verdict) -> Option<&'v Source> {
    let sources = solved.variant.plan.buses.iter().filter_map(|bus| bus.source.as_ref());
    sources.into_iter().find(|source| source.part == worst.part)
}

fn bus_of<'v>(bridge: &Bridge, solved: &Solved<'v>) -> Option<&'v Bus> {
    solved.variant.plan.buses.get(bridge.bus?)
}

/// A higher bus voltage in every duty point, where duty points state one and no source sets it.
fn higher_bus(bridge: &Bridge, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Family> {
    let bus = bus_of(bridge, solved)?;
    if bus.source.is_some() {
        return None;
    }
    let needed = failure.all.iter().map(|verdict| needed_voltage(bridge, bus, verdict.lane, solved));
    let needed = needed.collect::<Option<Vec<f64>>>()?.into_iter().fold(0.0, f64::max);
    let stated = &solved.variant.tables.input_of(bus.stated).values;
    let highest = stated.iter().map(|stated| stated.value).fold(0.0, f64::max);
    if stated.iter().any(|stated| !stated.value.is_finite()) || !needed.is_finite() {
        return None;
    }
    // Drops rise a little with the voltage: a volt more each time until it holds. One value serves every duty
    // point, so none may be lowered by it.
    let least = needed.max(highest).ceil();
    let name = solved.variant.path(bus.part);
    let now = value(solved.figure(bus.voltage, failure.worst.lane)?, Dimension::Voltage);
    let ladder = (0..4)
        .map(|step| {
            let volts = least + f64::from(step);
            let text = written(volts, Dimension::Voltage);
            let everywhere = if stated.len() > 1 { " in every duty point" } else { "" };
            Proposal {
                say: format!("{name}: {now} -> {text}{everywhere}"),
                edits: vec![(Edit { input: bus.stated, value: volts }, text)],
            }
        })
        .collect();
    Some(Family { tried: format!("{name} at {}", value(least + 3.0, Dimension::Voltage)), ladder })
}

/// The bus voltage at which the index of a lane is what is allowed.
///
/// M·V/2 = |V̂ + (C + D·V)·e^(−jφ)|, where C is the drop of the devices and D·V that of the dead time, is a
/// quadratic equation for V.
fn needed_voltage(bridge: &Bridge, bus: &Bus, lane: LaneId, solved: &Solved<'_>) -> Option<f64> {
    let linear = modulation(solved.input(bridge.inputs.modulation, lane)?).linear_limit();
    let index = linear * solved.variant.policy(&MODULATION_INDEX)?.stated.value;
    let voltage = solved.figure(bus.voltage, lane)?;
    let line = solved.figure(bridge.figures.line_voltage, lane)?;
    let cos_phi = solved.figure(bridge.figures.power_factor, lane)?;
    let dead_time = Time::new(solved.input(bridge.inputs.dead_time, lane)?);
    let carrier = Frequency::new(solved.input(bridge.inputs.carrier, lane)?);
    let for_each_volt = pole_voltage::dead_time_drop(Voltage::new(1.0), dead_time, carrier).si();
    let of_devices = solved.figure(bridge.figures.voltage_drop, lane)? - for_each_volt * voltage;
    let crest = line * (2.0_f64 / 3.0).sqrt();
    let a = index * index / 4.0 - for_each_volt * for_each_volt;
    let b = -2.0 * for_each_volt * (crest * cos_phi + of_devices);
    let c = -(crest * crest + 2.0 * crest * cos_phi * of_devices + of_devices * of_devices);
    let root = (b * b - 4.0 * a * c).sqrt();
    let needed = (root - b) / (2.0 * a);
    (a > 0.0 && needed.is_finite()).then_some(needed)
}

fn beyond_bridge(bridge: &Bridge, worst: &Verdict, compared: &Comparison, solved: &Solved<'_>) -> Told {
    let lane = worst.lane;
    let part = solved.variant.path(bridge.part);
    let carried = comparison(compared).carried;
    let saying = if worst.defect == OUT_OF_REACH {
        let above = above(compared, "the index of six-step operation");
        format!("`{part}` needs a modulation index of {carried}, {above}: this voltage cannot be produced")
    } else {
        format!("`{part}` needs a modulation index of {carried}, {}", above(compared, "the linear limit"))
    };
    let volts = |figure| solved.figure(figure, lane).map(|volts| value(volts, Dimension::Voltage));
    let mut because = Vec::new();
    because.extend(volts(bridge.figures.line_voltage).and_then(|asked| {
        place(solved, bridge.inputs.line_voltage, lane, format!("{asked} rms between the lines"))
    }));
    let mut no_proposal = None;
    if let Some(bus) = bus_of(bridge, solved) {
        let name = solved.variant.path(bus.part);
        let stated = solved.input(bus.stated, lane).is_some();
        let from = match &bus.source {
            Some(source) if !stated => source.open_circuit,
            _ => bus.stated,
        };
        because.extend(
            volts(bus.voltage).and_then(|at| place(solved, from, lane, format!("leaves {at} at `{name}`"))),
        );
        if let Some(source) = &bus.source {
            let source = solved.variant.path(source.part);
            no_proposal = Some(format!(
                "`{name}` stands at what `{source}` gives, so its voltage is not proposed; a machine wound for less voltage, or a boost before the bridge, would be another concept"
            ));
        }
    }
    because.extend(compared.policy.and_then(|item| policy_place(solved, item)));
    let limit = match solved.input(bridge.inputs.modulation, lane).map(modulation) {
        Some(kind) if worst.defect == BEYOND_LINEAR => {
            format!("linear up to an index of {}", value(kind.linear_limit(), Dimension::Ratio))
        }
        _ => format!("no pattern reaches more than {}", value(SIX_STEP_LIMIT, Dimension::Ratio)),
    };
    let at = place(solved, bridge.inputs.modulation, lane, limit.clone())
        .unwrap_or_else(|| part_at(solved, bridge.part, limit));
    Told { saying, at, because, no_proposal }
}

fn beyond_source(source: &Source, worst: &Verdict, solved: &Solved<'_>) -> Told {
    let (variant, lane) = (solved.variant, worst.lane);
    let part = variant.path(source.part);
    let duty = &variant.duty_of(lane).name;
    let share = match worst.outcome {
        Outcome::Fails { largest_share: Some(share), .. } => share,
        _ => 0.0,
    };
    let mut because = Vec::new();
    because.extend(solved.input(source.open_circuit, lane).and_then(|volts| {
        place(
            solved,
            source.open_circuit,
            lane,
            format!("{} behind its resistance", value(volts, Dimension::Voltage)),
        )
    }));
    because.extend(solved.input(source.resistance, lane).and_then(|ohms| {
        place(solved, source.resistance, lane, format!("{} at most", value(ohms, Dimension::Resistance)))
    }));
    let label = format!("at most {} of what `{duty}` asks can pass", percent(share));
    Told {
        saying: format!("`{part}` cannot give the power: {label} through its internal resistance"),
        at: part_at(solved, source.part, label),
        because,
        no_proposal: Some("the source is given: ask less of it, or describe another one".to_owned()),
    }
}
