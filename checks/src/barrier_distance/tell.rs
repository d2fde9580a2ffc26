//! Distances that are too short, and voltages that are too high, in words, and what to provide.

use loadworthy_physics::insulation::clearance::Raised;
use loadworthy_unit::plan::{Barrier, Joins, Lifted};
use loadworthy_unit::{Dimension, Edit, InputId, LaneId, Solved};

use super::{
    BELOW, CLEARANCE, CREEPAGE, DEGREE_ONE, DISCHARGE, EDITION, FREQUENCY, HIGHEST_RATED, IMPULSE, PEAK,
    Seen, UNDECLARED, WORKING, alike,
};
use crate::check::{Change, Failure, Family, Proposal, Told};
use crate::figure_text::{at_least, comparison, value, written};
use crate::steps::{of_each, toward};
use crate::tell::{above, part_at, place};

pub(super) fn told(failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
    let worst = failure.worst;
    let seen = Seen::of(solved, worst.part)?;
    let name = &seen.barrier.name;
    let (one, other) = seen.barrier.between?;
    let pair = format!("`{}` and `{}`", seen.isolation.domain(one).name, seen.isolation.domain(other).name);
    let lane = worst.lane().or(solved.variant.lane_ids().next())?;
    match worst.defect {
        UNDECLARED => return undeclared(failure, &seen, lane, &pair),
        BELOW => return below(&seen, lane, &pair),
        FREQUENCY => return too_fast(&seen, lane, &pair),
        DEGREE_ONE => {
            let saying = format!(
                "`{name}` states pollution degree 1: a coating or potting is worth it only where IEC 60664-3 tests show it"
            );
            let label = "a word alone does not make it".to_owned();
            let at = place(solved, seen.barrier.degree, lane, label)?;
            let around = solved.input(seen.barrier.degree_around, lane);
            let around = around.map(|degree| {
                format!("pollution degree of the surroundings: {}", value(degree, Dimension::Ratio))
            });
            let why = "a remark for whoever proves the coating";
            let facts = around.into_iter().collect();
            return Some(Told { facts, no_proposal: Some(why.to_owned()), ..Told::new(saying, at) });
        }
        _ => {}
    }
    let compared = worst.comparison()?;
    let text = comparison(compared);
    let limit = match worst.defect {
        CLEARANCE => Some(seen.barrier.clearance),
        CREEPAGE => Some(seen.barrier.creepage),
        WORKING => seen.barrier.rated,
        PEAK => seen.barrier.rated_peak,
        IMPULSE => seen.barrier.rated_impulse,
        _ => None,
    };
    let mut worked = Vec::new();
    let mut because = Vec::new();
    let saying = match worst.defect {
        CLEARANCE | CREEPAGE => {
            worked = steps(&seen, lane, worst.defect);
            let what = if worst.defect == CLEARANCE { "through air" } else { "along a surface" };
            let volts = if worst.defect == CLEARANCE {
                seen.barrier.figures.withstand
            } else {
                seen.barrier.figures.rms
            };
            let volts = value(solved.figure(volts, lane)?, Dimension::Voltage);
            let is_ruled =
                worst.defect == CREEPAGE && seen.along(lane).is_some_and(|along| along.by_clearance);
            let stands = if worst.defect == CLEARANCE {
                format!("an impulse of {volts}")
            } else if is_ruled {
                let impulse = value(solved.figure(seen.barrier.figures.withstand, lane)?, Dimension::Voltage);
                format!("its clearance, which an impulse of {impulse} rules")
            } else {
                format!("a working voltage of {volts} rms")
            };
            because.extend(conditions(&seen, lane, if is_ruled { CLEARANCE } else { worst.defect }));
            format!(
                "`{name}` between {pair} needs {} {what} for {stands}, and has {}",
                at_least(compared.carried_value, compared.dimension),
                text.limit
            )
        }
        WORKING => {
            format!("`{name}` carries {} rms, {}", text.carried, above(compared, "what it is made for"))
        }
        PEAK => format!(
            "`{name}` carries a recurring peak of {}, {}",
            text.carried,
            above(compared, "what it is made for")
        ),
        IMPULSE => format!(
            "`{name}` must stand an impulse of {}, {}",
            text.carried,
            above(compared, "what it is made for")
        ),
        DISCHARGE => format!(
            "`{name}` carries a recurring peak of {}: what is solid in it wants a partial-discharge test, which IEC 60664-1 asks for above {}",
            text.carried, text.limit
        ),
        _ => return None,
    };
    let at = match limit {
        Some(limit) => place(solved, limit, lane, format!("{} here", text.limit)),
        None => Some(part_at(solved, worst.part, format!("{} across it", text.carried))),
    }?;
    because.extend(voltages(&seen, lane).filter(|_| worst.defect != CLEARANCE));
    let (at, others) = match cause(worst.defect, &seen, lane) {
        Some((cause, label)) => {
            let first = place(solved, cause, lane, label).unwrap_or_else(|| at.clone());
            because.retain(|other| other.node != first.node);
            because.insert(0, at);
            (first, others(failure, solved))
        }
        None => (at, None),
    };
    let no_proposal = (worst.defect == DISCHARGE).then(|| {
        "a remark for whoever chooses and tests the insulation; IEC 61800-5-1 asks from 750 V, both where the field exceeds 1 kV/mm".to_owned()
    });
    let mut facts: Vec<String> = layers(&seen).into_iter().collect();
    facts.extend(others);
    facts.extend(seen.is_beyond_series(Some(lane)).filter(|_| worst.defect == CLEARANCE).and_then(|_| {
        let impulse = value(solved.figure(seen.barrier.figures.impulse, lane)?, Dimension::Voltage);
        let most = value(HIGHEST_RATED, Dimension::Voltage);
        Some(format!("an impulse of {impulse} is above {most}, the highest that IEC 60664-1 rates circuits up to 1000 V for"))
    }));
    facts.extend(swings(&seen, lane).filter(|_| worst.defect != CLEARANCE));
    facts.extend(around(&seen).filter(|_| matches!(worst.defect, CLEARANCE | CREEPAGE)));
    Some(Told { because, facts, worked, no_proposal, ..Told::new(saying, at) })
}

/// What several barriers are too short for, or one that stands too low an impulse as well, and what it is.
fn cause(defect: &str, seen: &Seen<'_, '_>, lane: LaneId) -> Option<(InputId, String)> {
    let (solved, barrier) = (seen.solved, seen.barrier);
    if let Some(cause) = alike::of(seen, defect, lane) {
        let stated = solved.input(cause, lane)?;
        let label = match cause {
            cause if cause == barrier.degree_around => format!("pollution degree {stated:.0}"),
            cause if cause == barrier.altitude => format!("{stated:.0} m high"),
            _ => format!("brings {}", value(stated, Dimension::Voltage)),
        };
        return Some((cause, label));
    }
    let stands = solved.input(barrier.rated_impulse?, lane)?;
    let is_too_much = stands < solved.figure(barrier.figures.withstand, lane)?;
    let cause = alike::brings(seen, lane)?;
    let label = format!("brings {}", value(solved.input(cause, lane)?, Dimension::Voltage));
    (defect == CLEARANCE && is_too_much && alike::suits_its_impulse(seen, lane)).then_some((cause, label))
}

/// All barriers that are too short for one cause, in a line.
fn others(failure: &Failure<'_>, solved: &Solved<'_>) -> Option<String> {
    let mut known: Vec<loadworthy_unit::PartId> = Vec::new();
    let mut said: Vec<String> = Vec::new();
    for verdict in failure.all {
        let (Some(seen), Some(compared)) = (Seen::of(solved, verdict.part), verdict.comparison()) else {
            continue;
        };
        if known.contains(&verdict.part) {
            continue;
        }
        known.push(verdict.part);
        let needed = at_least(compared.carried_value, compared.dimension);
        said.push(format!(
            "`{}` needs {needed} and has {}",
            seen.barrier.name,
            value(compared.limit, compared.dimension)
        ));
    }
    (said.len() > 1).then(|| format!("too short for it: {}", said.join(", ")))
}

/// What is said of distances where nothing but devices and windings on cooled metal spans the barrier.
fn around(seen: &Seen<'_, '_>) -> Option<String> {
    let own = seen.isolation.barriers.iter().position(|barrier| barrier.part == seen.barrier.part)?;
    let mut spans = seen.isolation.crossings.iter().filter(|one| one.listed_by.contains(&own)).peekable();
    spans.peek()?;
    let is_solid = spans.all(|one| matches!(one.kind, Joins::Cooled | Joins::Wound));
    is_solid.then(|| {
        "a layer that is solid between them is no distance through air: distances lead around its edge, and the layer is proven by test".to_owned()
    })
}

/// Why a barrier stands more than the voltage of its own two ends.
fn layers(seen: &Seen<'_, '_>) -> Option<String> {
    let (one, other) = seen.barrier.between?;
    let name = |place: usize| format!("`{}`", seen.isolation.domain(place).name);
    let floats =
        [one, other].into_iter().find(|&end| seen.barrier.carried_by().all(|carried| carried != end))?;
    let far = if floats == one { other } else { one };
    let mut beyond: Vec<String> = Vec::new();
    for end in seen.barrier.carried_by().filter(|&end| end != far) {
        if !beyond.contains(&name(end)) {
            beyond.push(name(end));
        }
    }
    Some(format!(
        "{} floats: once a layer beyond it fails, {} stands here",
        name(floats),
        beyond.join(" or ")
    ))
}

/// The bus that brings the voltage.
fn voltages<'a>(seen: &'a Seen<'_, '_>, lane: LaneId) -> impl Iterator<Item = crate::review::Place> + 'a {
    let plan = &seen.solved.variant.plan;
    let buses = seen.barrier.carried_by().flat_map(|end| &seen.isolation.domain(end).stress.buses);
    let highest = buses
        .copied()
        .filter_map(move |bus| Some((bus, seen.solved.figure(plan.buses[bus].highest_voltage, lane)?)));
    let most = highest.reduce(|most, one| if one.1 > most.1 { one } else { most });
    most.into_iter().filter_map(move |(bus, volts)| {
        let label = format!("up to {}", value(volts, Dimension::Voltage));
        place(seen.solved, plan.buses[bus].highest, lane, label)
    })
}

/// The node that swings farthest beyond the buses of both sides, where one does.
fn swings(seen: &Seen<'_, '_>, lane: LaneId) -> Option<String> {
    let (variant, plan) = (seen.solved.variant, &seen.solved.variant.plan);
    let ends = || seen.barrier.carried_by().map(|end| &seen.isolation.domain(end).stress);
    let nodes = ends().filter(|stress| !stress.is_still).flat_map(|stress| &stress.lifted);
    let peak = |node: &Lifted| seen.solved.figure(node.blocked, lane);
    let (node, most) = nodes
        .filter_map(|node| Some((node, peak(node)?)))
        .reduce(|most, one| if one.1 > most.1 { one } else { most })?;
    let buses = ends().flat_map(|stress| &stress.buses).map(|&bus| plan.buses[bus].highest_voltage);
    let is_beyond = buses.filter_map(|highest| seen.solved.figure(highest, lane)).all(|volts| volts < most);
    let name = variant.path(variant.tables.figure_of(node.blocked).part);
    is_beyond.then(|| format!("the node of {name} swings to {}", value(most, Dimension::Voltage)))
}

/// Where what a distance follows from is stated.
fn conditions(seen: &Seen<'_, '_>, lane: LaneId, defect: &str) -> Vec<crate::review::Place> {
    let (solved, barrier) = (seen.solved, seen.barrier);
    let mut places = Vec::new();
    if defect == CLEARANCE {
        let impulses = barrier.carried_by().map(|end| seen.isolation.domain(end).stress.impulse.stated);
        let brought = impulses.filter_map(|input| Some((input, solved.input(input, lane)?)));
        let most = brought.reduce(|most, one| if one.1 > most.1 { one } else { most });
        places.extend(most.and_then(|(input, volts)| {
            place(solved, input, lane, format!("brings {}", value(volts, Dimension::Voltage)))
        }));
        places.extend(
            solved
                .input(barrier.altitude, lane)
                .filter(|&metres| metres > 2000.0)
                .and_then(|metres| place(solved, barrier.altitude, lane, format!("{:.0} m high", metres))),
        );
    }
    places.extend(
        solved
            .input(barrier.degree, lane)
            .and_then(|degree| place(solved, barrier.degree, lane, format!("pollution degree {degree:.0}"))),
    );
    places
}

/// How the distances follow from the tables.
fn steps(seen: &Seen<'_, '_>, lane: LaneId, defect: &str) -> Vec<String> {
    let mut steps = Vec::new();
    let metres = |length: loadworthy_physics::Length| value(length.si(), Dimension::Length);
    if let Some(through) = seen.through(lane) {
        let raised = match through.raised {
            Raised::No => "",
            Raised::NextPreferred => {
                ", raised to the next preferred value for double or reinforced insulation"
            }
            Raised::ByShare => ", raised to 160 % for double or reinforced insulation",
        };
        steps.push(format!("impulse {}{raised}", value(through.read_at.si(), Dimension::Voltage)));
        steps.push(format!(
            "{}: {} up to 2000 m, a figure {}",
            through.rows,
            metres(through.up_to_2000_m),
            through.certainty
        ));
        if through.altitude.factor > 1.0 {
            steps.push(format!(
                "times {} for the altitude: {}",
                value(through.altitude.factor, Dimension::Ratio),
                metres(through.required)
            ));
        }
    }
    if defect != CLEARANCE
        && let Some(along) = seen.along(lane)
    {
        steps.push(format!(
            "{}, {}: {}, a figure {}",
            along.rows,
            along.column,
            metres(along.of_table),
            along.certainty
        ));
        if along.doubled {
            steps.push(format!(
                "twice that for double or reinforced insulation: {}",
                metres(along.of_table * 2.0)
            ));
        }
        if along.by_clearance {
            steps.push(format!("never shorter than the clearance within it: {}", metres(along.required)));
        }
    }
    steps.push(EDITION.to_owned());
    steps
}

fn too_fast(seen: &Seen<'_, '_>, lane: LaneId, pair: &str) -> Option<Told> {
    let (carrier, hertz) = seen.fast(Some(lane))?;
    let proven = seen.barrier.proven?;
    let text = |hertz| value(hertz, Dimension::Frequency);
    let (hertz, up_to) = (text(hertz), text(seen.solved.input(proven, lane)?));
    let saying = format!(
        "voltages recur at {hertz} across `{}` between {pair}, which is proven up to {up_to}",
        seen.barrier.name
    );
    let at = place(seen.solved, proven, lane, format!("proven up to {up_to}"))?;
    let because = place(seen.solved, carrier, lane, format!("edges at {hertz}")).into_iter().collect();
    let facts = vec![format!("{hertz} across it, proven up to {up_to}")];
    let why = "prove it for that frequency by IEC 60664-4 or by test, and state it";
    Some(Told { because, facts, no_proposal: Some(why.to_owned()), ..Told::new(saying, at) })
}

fn below(seen: &Seen<'_, '_>, lane: LaneId, pair: &str) -> Option<Told> {
    let (solved, barrier) = (seen.solved, seen.barrier);
    let metres = |input| Some(value(solved.input(input, lane)?, Dimension::Length));
    let (air, surface) = (metres(barrier.clearance)?, metres(barrier.creepage)?);
    let saying = format!(
        "`{}` between {pair} states {surface} along a surface and {air} through air: no way along a surface is shorter",
        barrier.name
    );
    let at = place(solved, barrier.creepage, lane, "shorter than the clearance".to_owned())?;
    let because = place(solved, barrier.clearance, lane, "the clearance".to_owned()).into_iter().collect();
    let why = "one of the two is not what the layout has: measure both again";
    Some(Told { because, no_proposal: Some(why.to_owned()), ..Told::new(saying, at) })
}

/// What a barrier must provide that declares no distance, or not both: what it lacks, and how much.
fn to_provide(seen: &Seen<'_, '_>, lane: LaneId) -> Option<([String; 2], &'static str, String)> {
    let (solved, barrier) = (seen.solved, seen.barrier);
    let needed = |figure| Some(at_least(solved.figure(figure, lane)?, Dimension::Length));
    let (air, surface) = (needed(barrier.figures.clearance)?, needed(barrier.figures.creepage)?);
    let (lacks, provide) = match (seen.declares(barrier.clearance), seen.declares(barrier.creepage)) {
        (true, _) => ("creepage", format!("at least {surface} along surfaces")),
        (_, true) => ("clearance", format!("at least {air} through air")),
        _ => ("distance", format!("at least {air} through air and {surface} along surfaces")),
    };
    Some(([air, surface], lacks, provide))
}

fn undeclared(failure: &Failure<'_>, seen: &Seen<'_, '_>, lane: LaneId, pair: &str) -> Option<Told> {
    let (solved, barrier) = (seen.solved, seen.barrier);
    let ([air, surface], lacks, provide) = to_provide(seen, lane)?;
    let saying = format!("`{}` between {pair} declares no {lacks}: provide {provide}", barrier.name);
    let at = part_at(solved, barrier.part, format!("{air} clearance, {surface} creepage"));
    let mut facts = vec![format!("least clearance {air}"), format!("least creepage {surface}")];
    facts.extend(layers(seen));
    facts.extend(around(seen));
    for other in failure.all.iter().filter(|one| one.part != barrier.part) {
        facts.extend(Seen::of(solved, other.part).and_then(|other| {
            let (_, lacks, provide) = to_provide(&other, lane)?;
            Some(format!("`{}` declares no {lacks}: {provide}", other.barrier.name))
        }));
    }
    let worked = steps(seen, lane, UNDECLARED);
    let why = "the figures are what to provide; declare what the layout has";
    Some(Told { facts, worked, no_proposal: Some(why.to_owned()), ..Told::new(saying, at) })
}

pub(super) fn propose(failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
    let worst = failure.worst;
    let volts = |name: &str, of: fn(&Barrier) -> Option<InputId>, kind| {
        vec![of_each(failure, |verdict| {
            let (compared, lane) = (verdict.comparison()?, verdict.lane()?);
            let barrier = Seen::of(solved, verdict.part)?.barrier;
            let over = compared.carried_value / compared.allowed;
            let name = format!("{name} of {}", barrier.name);
            Some(toward(&name, of(barrier)?, (Dimension::Voltage, kind), over, solved, lane))
        })]
    };
    match worst.defect {
        CLEARANCE => vec![all_wider("clearance", |barrier| barrier.clearance, failure, solved)],
        CREEPAGE => vec![all_wider("creepage", |barrier| barrier.creepage, failure, solved)],
        WORKING => volts("working voltage", |barrier| barrier.rated, " rms"),
        PEAK => volts("recurring peak", |barrier| barrier.rated_peak, ""),
        IMPULSE => volts("impulse", |barrier| barrier.rated_impulse, ""),
        _ => Vec::new(),
    }
}

/// Distances of all barriers of one cause, each as its worst duty point asks.
fn all_wider(name: &str, of: fn(&Barrier) -> InputId, failure: &Failure<'_>, solved: &Solved<'_>) -> Family {
    let (mut says, mut edits): (Vec<String>, Vec<(Edit, String)>) = (Vec::new(), Vec::new());
    let mut done: Vec<loadworthy_unit::PartId> = Vec::new();
    for verdict in failure.all.iter().filter(|verdict| verdict.lane().is_some()) {
        let (Some(seen), false) = (Seen::of(solved, verdict.part), done.contains(&verdict.part)) else {
            continue;
        };
        done.push(verdict.part);
        let own = failure.all.iter().filter(|one| one.part == verdict.part);
        let needed = own.filter_map(|one| Some((one.comparison()?.carried_value, one.lane()?)));
        let Some((needed, lane)) = needed.reduce(|most, one| if one.0 > most.0 { one } else { most }) else {
            continue;
        };
        let family = wider(name, &seen, of(seen.barrier), needed, lane);
        for proposal in family.ladder {
            edits.extend(proposal.edits().iter().cloned());
            says.push(proposal.say);
        }
    }
    let say = says.join("; ");
    Family { tried: say.clone(), ladder: vec![Proposal { say, change: Change::Edit(edits) }] }
}

/// A distance to provide, in tenths of a millimetre; a creepage path never comes to lie below the clearance.
fn wider(name: &str, seen: &Seen<'_, '_>, input: InputId, needed: f64, lane: LaneId) -> Family {
    let to = (needed * 1e4 * (1.0 - 1e-9)).ceil() * 1e-4;
    let now = seen.solved.input(input, lane).unwrap_or(f64::NAN);
    let text = |metres: f64| written(metres, Dimension::Length);
    let mut edits = vec![(Edit { input, value: to }, text(to))];
    let mut say = format!("{name}: {} -> {}", value(now, Dimension::Length), value(to, Dimension::Length));
    let along = seen.solved.input(seen.barrier.creepage, lane);
    if name == "clearance"
        && let Some(along) = along.filter(|along| *along < to)
    {
        edits.push((Edit { input: seen.barrier.creepage, value: to }, text(to)));
        say.push_str(&format!(
            ", creepage: {} -> {}",
            value(along, Dimension::Length),
            value(to, Dimension::Length)
        ));
    }
    let say = format!("{say} of {}", seen.barrier.name);
    Family { tried: say.clone(), ladder: vec![Proposal { say, change: Change::Edit(edits) }] }
}
