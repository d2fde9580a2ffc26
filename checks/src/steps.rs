//! Changes that the checks share, as ladders from the least to the most.

use loadworthy_unit::plan::{Place, Plan, Stage};
use loadworthy_unit::{Dimension, Edit, InputId, LaneId, Solved};

use crate::check::{Change, Failure, Family, Proposal};
use crate::collect::is_worse;
use crate::figure_text::{value, written};
use crate::in_step::in_step;
use crate::seats::{counts, is_divided, serves};
use crate::verdict::{EQUAL_WITHIN, Verdict};

/// Devices in parallel are tried up to this many.
const MOST_PARALLEL: u32 = 8;
/// Shares of the carrier frequency that are tried.
const SLOWER: [f64; 7] = [0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3];
/// Multiples of the coolant flow that are tried.
const MORE_FLOW: [f64; 6] = [1.25, 1.5, 1.75, 2.0, 2.5, 3.0];
/// Shares of a bore that are tried.
const NARROWER: [f64; 5] = [0.9, 0.8, 0.7, 0.6, 0.5];
/// Multiples of a bore that are tried.
const WIDER: [f64; 5] = [1.1, 1.2, 1.3, 1.5, 2.0];
/// Voltages that devices are commonly made for.
const VOLTAGE_CLASSES: [f64; 22] = [
    30.0, 40.0, 60.0, 80.0, 100.0, 120.0, 150.0, 200.0, 250.0, 300.0, 400.0, 500.0, 600.0, 650.0, 750.0,
    900.0, 1000.0, 1200.0, 1700.0, 2300.0, 3300.0, 4500.0,
];
/// Classes that are tried.
const LARGER: usize = 3;
/// Shares of the resistance from case to coolant that are tried.
const BETTER_FACE: [f64; 5] = [0.8, 0.7, 0.6, 0.5, 0.4];

/// One more device in parallel after another at kinds of position, at all that one package serves. Where coolant elements
/// state how many of the devices they take, nobody knows where one more would stand, and none is proposed.
pub(crate) fn more_parallel(
    plan: &Plan,
    stage: &Stage,
    kinds: &[usize],
    solved: &Solved<'_>,
    lane: LaneId,
) -> Family {
    let inputs = counts(plan, stage, kinds);
    let now: Vec<f64> = inputs.iter().filter_map(|&(input, _)| solved.input(input, lane)).collect();
    let most = now.iter().copied().fold(0.0, f64::max);
    let names: Vec<&str> = inputs.iter().map(|&(_, name)| name).collect();
    let mut ladder = Vec::new();
    let is_divided = kinds.iter().any(|&kind| is_divided(plan, stage, kind));
    if now.len() == inputs.len() && !inputs.is_empty() && !is_divided {
        let from = value(most, Dimension::Ratio);
        for count in (1..=MOST_PARALLEL).filter(|&count| f64::from(count) > most) {
            let edits = inputs
                .iter()
                .map(|&(input, _)| (Edit { input, value: f64::from(count) }, count.to_string()))
                .collect();
            let say = format!("parallel: {from} -> {count} at {}", names.join(" and "));
            ladder.push(Proposal { say, change: Change::Edit(edits) });
        }
    }
    Family { tried: format!("up to {MOST_PARALLEL} in parallel"), ladder }
}

/// A slower carrier, of all stages that run in step.
pub(crate) fn slower_carrier(stage: &Stage, solved: &Solved<'_>, lane: LaneId) -> Family {
    let ladder = scaled("carrier frequency", &[stage.carrier], Dimension::Frequency, &SLOWER, solved, lane);
    in_step(family("carrier down to", ladder), stage, solved, lane)
}

/// More coolant, where one flow is stated for all duty points.
pub(crate) fn more_flow(solved: &Solved<'_>, lane: LaneId) -> Family {
    let flow = solved.variant.plan.coolant.as_ref().map(|path| path.flow);
    let common = flow.filter(|&flow| solved.variant.tables.input_of(flow).values.len() == 1);
    let ladder = common.map_or_else(Vec::new, |flow| {
        scaled("coolant flow", &[flow], Dimension::VolumeFlow, &MORE_FLOW, solved, lane)
    });
    family("coolant flow up to", ladder)
}

/// A narrower passage, which makes the same flow faster.
pub(crate) fn narrower(place: &Place, solved: &Solved<'_>, lane: LaneId, name: &str) -> Family {
    let what = format!("bore of {name}");
    family("bore down to", scaled(&what, &[place.passage.bore], Dimension::Length, &NARROWER, solved, lane))
}

/// A wider passage, which drops less pressure.
pub(crate) fn wider(place: &Place, solved: &Solved<'_>, lane: LaneId, name: &str) -> Family {
    let what = format!("bore of {name}");
    family("bore up to", scaled(&what, &[place.passage.bore], Dimension::Length, &WIDER, solved, lane))
}

/// A better path from the cases of kinds of position of a stage to the coolant.
pub(crate) fn better_faces(
    plan: &Plan,
    stage: &Stage,
    kinds: &[usize],
    solved: &Solved<'_>,
    lane: LaneId,
) -> Family {
    let mut faces: Vec<InputId> = Vec::new();
    for package in plan.packages.get(stage.packages.clone()).unwrap_or_default() {
        if !kinds.iter().any(|&kind| serves(package, stage, kind)) {
            continue;
        }
        for face in &package.faces {
            if !faces.contains(&face.resistance) {
                faces.push(face.resistance);
            }
        }
    }
    let name = if faces.len() > 1 { "case to coolant at both faces" } else { "case to coolant" };
    family(
        "case to coolant down to",
        scaled(name, &faces, Dimension::ThermalResistance, &BETTER_FACE, solved, lane),
    )
}

pub(crate) fn family(what: &str, ladder: Vec<Proposal>) -> Family {
    let last = ladder.last().and_then(|proposal| proposal.edits().first());
    Family { tried: last.map_or_else(String::new, |(_, written)| format!("{what} {written}")), ladder }
}

/// Inputs times each factor, as they would be written.
pub(crate) fn scaled(
    name: &str,
    inputs: &[InputId],
    dimension: Dimension,
    factors: &[f64],
    solved: &Solved<'_>,
    lane: LaneId,
) -> Vec<Proposal> {
    let now: Vec<f64> = inputs.iter().filter_map(|&input| solved.input(input, lane)).collect();
    if now.len() != inputs.len() || now.is_empty() {
        return Vec::new();
    }
    let step = |factor: &f64| {
        let edits: Vec<(Edit, String)> = inputs
            .iter()
            .zip(&now)
            .map(|(&input, now)| {
                let to = as_written(now * factor);
                (Edit { input, value: to }, written(to, dimension))
            })
            .collect();
        let (first, _) = edits[0];
        let say = format!("{name}: {} -> {}", value(now[0], dimension), value(first.value, dimension));
        Proposal { say, change: Change::Edit(edits) }
    };
    factors.iter().map(step).collect()
}

/// One value on the way that helps: times the factor, then further the same way, each rounded as a person would write it.
/// `kind` is a word that the written value needs, such as ` peak`.
pub(crate) fn toward(
    name: &str,
    input: InputId,
    of: (Dimension, &str),
    factor: f64,
    solved: &Solved<'_>,
    lane: LaneId,
) -> Family {
    toward_all(name, &[input], of, factor, solved, lane)
}

/// The same of several values at once, each times the factor.
pub(crate) fn toward_all(
    name: &str,
    inputs: &[InputId],
    (dimension, kind): (Dimension, &str),
    factor: f64,
    solved: &Solved<'_>,
    lane: LaneId,
) -> Family {
    let is_down = factor < 1.0;
    // A speed is written in turns a minute.
    let unit = if dimension == Dimension::Speed { 60.0 } else { 1.0 };
    let steps = [1.0, 1.1, 1.25, 1.5].into_iter().filter_map(|more: f64| {
        let edit = |&input: &InputId| {
            // No multiple of nothing helps.
            let now = solved.input(input, lane).filter(|now| 0.0 < now.abs())?;
            let to = now * if is_down { factor / more } else { factor * more };
            let to = rounded_on(to * unit, is_down) / unit;
            Some((Edit { input, value: to }, format!("{}{kind}", written(to, dimension))))
        };
        let edits = inputs.iter().map(edit).collect::<Option<Vec<_>>>()?;
        let (first, _) = edits.first()?;
        let now = solved.input(first.input, lane)?;
        let say = format!("{name}: {} -> {}{kind}", value(now, dimension), value(first.value, dimension));
        Some(Proposal { say, change: Change::Edit(edits) })
    });
    let ladder: Vec<Proposal> = steps.collect();
    let last = ladder.last().map_or_else(String::new, |step| step.say.clone());
    Family { tried: last, ladder }
}

/// Several values that are nothing, or less than some value, at least that large; then further.
pub(crate) fn at_least(
    name: &str,
    inputs: &[InputId],
    dimension: Dimension,
    least: f64,
    solved: &Solved<'_>,
    lane: LaneId,
) -> Family {
    let steps = [1.0, 1.1, 1.25, 1.5].into_iter().filter_map(|more: f64| {
        let to = rounded_on(least * more, false);
        let small = inputs.iter().filter(|&&input| solved.input(input, lane).is_some_and(|now| now < to));
        let edits: Vec<_> = small.map(|&input| (Edit { input, value: to }, written(to, dimension))).collect();
        let now = solved.input(edits.first()?.0.input, lane)?;
        let say = format!("{name}: {} -> {}", value(now, dimension), value(to, dimension));
        Some(Proposal { say, change: Change::Edit(edits) })
    });
    let ladder: Vec<Proposal> = steps.filter(|_| least.is_finite()).collect();
    let last = ladder.last().map_or_else(String::new, |step| step.say.clone());
    Family { tried: last, ladder }
}

/// What is known for each part of a failure, as its worst duty point asks, all at once; what several share changes once.
pub(crate) fn of_each(failure: &Failure<'_>, of: impl Fn(&Verdict) -> Option<Family>) -> Family {
    let mut worst: Vec<&Verdict> = vec![failure.worst];
    for &verdict in failure.all {
        match worst.iter_mut().find(|known| known.part == verdict.part) {
            Some(known) if is_worse(verdict, known) => *known = verdict,
            Some(_) => {}
            None => worst.push(verdict),
        }
    }
    let ladders: Vec<Vec<Proposal>> = worst
        .into_iter()
        .filter_map(|verdict| Some(of(verdict)?.ladder))
        .filter(|own| !own.is_empty())
        .collect();
    let most = ladders.iter().map(Vec::len).max().unwrap_or(0);
    let step = |k: usize| {
        let (mut says, mut edits): (Vec<String>, Vec<(Edit, String)>) = (Vec::new(), Vec::new());
        for proposal in ladders.iter().filter_map(|own| own.get(k).or(own.last())) {
            let is_new =
                |(edit, _): &&(Edit, String)| edits.iter().all(|(known, _)| known.input != edit.input);
            let own: Vec<_> = proposal.edits().iter().filter(is_new).cloned().collect();
            if !own.is_empty() {
                edits.extend(own);
                says.push(proposal.say.clone());
            }
        }
        says.dedup();
        Proposal { say: says.join("; "), change: Change::Edit(edits) }
    };
    let ladder: Vec<Proposal> = (0..most).map(step).collect();
    Family { tried: ladder.last().map_or_else(String::new, |step| step.say.clone()), ladder }
}

/// To two digits that a person would write, on the side that helps.
pub(crate) fn rounded_on(value: f64, is_down: bool) -> f64 {
    let decade = libm::pow(10.0, libm::floor(libm::log10(value.abs())) - 1.0);
    let steps = value / decade;
    as_written(decade * if is_down { (steps * (1.0 + 1e-9)).floor() } else { (steps * (1.0 - 1e-9)).ceil() })
}

/// Devices for more voltage, by the classes that they are made in, that block at least so much.
pub(crate) fn higher_class(blocking: InputId, needed: f64, solved: &Solved<'_>, lane: LaneId) -> Family {
    let now = solved.input(blocking, lane).unwrap_or(f64::NAN);
    let enough = VOLTAGE_CLASSES.iter().filter(|&&class| class >= needed * (1.0 - EQUAL_WITHIN)).take(LARGER);
    let ladder: Vec<Proposal> = enough
        .map(|&class| {
            let text = written(class, Dimension::Voltage);
            let say = format!(
                "a device for more voltage: {} -> {}",
                value(now, Dimension::Voltage),
                value(class, Dimension::Voltage)
            );
            Proposal { say, change: Change::Edit(vec![(Edit { input: blocking, value: class }, text)]) }
        })
        .collect();
    let most = ladder.last().and_then(|step| step.edits().first()).map(|(_, text)| text.clone());
    Family { tried: format!("devices up to {}", most.unwrap_or_default()), ladder }
}

/// To the three digits with which a value is written, so that what is tried is what is proposed.
pub(crate) fn as_written(value: f64) -> f64 {
    format!("{value:.2e}").parse().unwrap_or(value)
}
