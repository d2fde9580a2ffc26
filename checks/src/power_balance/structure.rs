//! Whether the structure lets power come from somewhere: loops, buses without a source, stages that pass it one way, and
//! shares that leave something over.

use std::collections::BTreeMap;

use loadworthy_unit::plan::{Bus, Declared, Plan, Side, Stage, Topology};
use loadworthy_unit::{Dimension, LaneId, LaneState, PartId, Solved};

use super::{LEFT_OVER, LOOP, ONE_WAY, UNFED, subject};
use crate::check::Told;
use crate::collect::{Subject, Verdicts, structural};
use crate::consumers::{Consumer, consumers, consumers_of_all, heaviest};
use crate::figure_text::value;
use crate::tell::{part_at, place};
use crate::verdict::{Grade, Missing, Outcome, Verdict};

/// Power in W that counts as none.
const NOTHING: f64 = 1e-6;

/// Share of what the sources give by which it may miss what is drawn: shares are stated to two or three digits.
const BALANCED_WITHIN: f64 = 0.01;

pub(super) fn judge(solved: &Solved<'_>, out: &mut Verdicts) {
    let plan = &solved.variant.plan;
    let whole = |part, defect| Subject { part, defect, lane: None, kin: None };
    for closing in &plan.loops {
        let subject = whole(plan.stages[closing.stage].part, LOOP);
        out.put(solved, subject, structural(Ok(false), Grade::Minor), Vec::new());
    }
    let islands = islands(plan);
    for first in without_feed(solved, &islands) {
        let subject = whole(plan.buses[first].part, UNFED);
        out.put(solved, subject, structural(Ok(false), Grade::Major), Vec::new());
    }
    for lane in solved.variant.lane_ids() {
        for stage in &plan.stages {
            if let Some(passed) = passed(stage, plan) {
                let outcome = forward(passed, solved, lane);
                out.put(solved, subject(stage.part, ONE_WAY, lane), outcome, Vec::new());
            }
        }
        for island in &islands {
            left_over(island, solved, lane, out);
        }
    }
}

/// The first bus of each island that no source reaches, where the unit has sources.
fn without_feed(solved: &Solved<'_>, islands: &[Vec<usize>]) -> Vec<usize> {
    let plan = &solved.variant.plan;
    let has_sources = !plan.sources.is_empty() || loose_sources(plan).next().is_some();
    let islands = islands.iter().filter(|_| has_sources);
    islands.filter_map(|island| unfed(solved, island).first().copied()).collect()
}

pub(super) fn lacks_a_feed(solved: &Solved<'_>) -> bool {
    !without_feed(solved, &islands(&solved.variant.plan)).is_empty()
}

/// Sources that are described and feed no bus.
fn loose_sources(plan: &Plan) -> impl Iterator<Item = PartId> + '_ {
    plan.unused.iter().filter(|unused| unused.what == Declared::Source).map(|unused| unused.part)
}

/// Buses that stages join, each group in the order of the plan.
fn islands(plan: &Plan) -> Vec<Vec<usize>> {
    // Each bus leads to one before it on its island; the first leads to itself.
    let mut of: Vec<usize> = (0..plan.buses.len()).collect();
    fn first(of: &mut [usize], mut bus: usize) -> usize {
        while of[bus] != bus {
            of[bus] = of[of[bus]];
            bus = of[bus];
        }
        bus
    }
    for stage in &plan.stages {
        let mut ends = stage.ports.iter().filter_map(|port| port.bus);
        if let (Some(one), Some(other), None) = (ends.next(), ends.next(), ends.next()) {
            let (one, other) = (first(&mut of, one), first(&mut of, other));
            of[one.max(other)] = one.min(other);
        }
    }
    let mut all: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for bus in 0..of.len() {
        all.entry(first(&mut of, bus)).or_default().push(bus);
    }
    all.into_values().collect()
}

/// Buses of an island that no source reaches and on which something hangs.
fn unfed(solved: &Solved<'_>, island: &[usize]) -> Vec<usize> {
    let buses = &solved.variant.plan.buses;
    let hangs = |&bus: &usize| !buses[bus].is_fed && !consumers(solved, bus).is_empty();
    island.iter().copied().filter(hangs).collect()
}

/// The bus that says how much a stage passes, and whether power out of the stage there is its way; nothing where it
/// passes power both ways, or no bus leads it.
fn passed<'p>(stage: &Stage, plan: &'p Plan) -> Option<(&'p Bus, bool)> {
    let out = match &stage.topology {
        Topology::Bridge(_) => return None,
        // The high side is a diode: upwards. The low side is one: downwards.
        Topology::Chopper(chopper) => usize::from(chopper.diode_side? == Side::High),
        Topology::Isolated(_) => 1,
    };
    let led = stage.led_by?;
    Some((plan.buses.get(stage.ports.get(led)?.bus?)?, led == out))
}

/// Whether power runs the way of a stage.
fn forward((bus, leaves): (&Bus, bool), solved: &Solved<'_>, lane: LaneId) -> Outcome {
    let Some(asked) = asked(bus, solved, lane) else {
        return Outcome::NotJudged(vec![Missing::Figure(bus.power)]);
    };
    let out = if leaves { asked.power() } else { -asked.power() };
    structural(Ok(out >= -NOTHING), Grade::Major)
}

/// What is asked of the stage that holds a bus.
#[derive(Clone, Copy)]
enum Asked {
    /// All losses are in it.
    Solved(f64),
    /// Without losses.
    Lossless(f64),
}

impl Asked {
    const fn power(self) -> f64 {
        match self {
            Self::Solved(watts) | Self::Lossless(watts) => watts,
        }
    }

    fn text(self) -> String {
        let watts = value(self.power().abs(), Dimension::Power);
        match self {
            Self::Solved(_) => watts,
            Self::Lossless(_) => format!("{watts} less the losses"),
        }
    }
}

/// What is asked of the stage that holds a bus. With power running back through a diode nothing of the stage is known, nor of what
/// shares its coolant: then what is put out counts, without losses.
fn asked(bus: &Bus, solved: &Solved<'_>, lane: LaneId) -> Option<Asked> {
    if let Some(watts) = solved.figure(bus.power, lane) {
        return Some(Asked::Solved(watts));
    }
    let own = solved.variant.plan.buses.iter().position(|other| other.part == bus.part)?;
    put_out(own, solved, lane).map(Asked::Lossless)
}

/// Power that leaves the unit by way of a bus, without any loss inside.
fn put_out(bus: usize, solved: &Solved<'_>, lane: LaneId) -> Option<f64> {
    let plan = &solved.variant.plan;
    let on_each = consumers_of_all(solved);
    let mut seen = vec![false; plan.buses.len()];
    // Buses on the way, each with what is left to look at of it and what it comes to so far: a chain may be long.
    let mut way: Vec<(usize, core::slice::Iter<'_, Consumer<'_>>, f64)> = Vec::new();
    let mut next = Some(bus);
    loop {
        if let Some(bus) = next.take() {
            // What could not be read may draw from it.
            if plan.buses[bus].is_open() {
                return None;
            }
            seen[bus] = true;
            way.push((bus, on_each[bus].iter(), 0.0));
        }
        let (bus, left, sum) = way.last_mut()?;
        let Some(one) = left.next() else {
            let (bus, _, mut sum) = way.pop()?;
            for source in plan.buses[bus].sources.iter().map(|&source| &plan.sources[source]) {
                sum -= solved.figure(source.share, lane)?;
            }
            match way.last_mut() {
                Some((_, _, before)) => *before += sum,
                None => return Some(sum),
            }
            continue;
        };
        *sum += match one {
            Consumer::Load(load) => {
                let volts = solved.figure(load.port.voltage, lane);
                let by_current = || Some(solved.input(load.current, lane)? * volts?);
                solved.input(load.power, lane).or_else(by_current)?
            }
            Consumer::Stage(stage, _) => match stage.bridge() {
                Some(bridge) => solved.figure(bridge.figures.output_power, lane)?,
                None => {
                    let far = stage.led_by.and_then(|led| stage.ports.get(led)?.bus)?;
                    // The stage that holds this bus takes nothing from it.
                    next = Some(far).filter(|far| far != bus && !seen[*far]);
                    0.0
                }
            },
        };
    }
}

/// What shares leave over, where every source of an island states one.
fn left_over(island: &[usize], solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let Some(shares) = Shares::of(island, solved, lane) else { return };
    let bus = &solved.variant.plan.buses[shares.root];
    let outcome = match shares.left {
        // The source that would hold the bus states a share as well: no voltage follows, and nothing balances.
        None if bus.is_balanced_here && !bus.is_open() && is_solved(solved, lane) => {
            structural(Ok(false), Grade::Major)
        }
        None => Outcome::NotJudged(vec![Missing::Figure(bus.power)]),
        Some(left) => structural(Ok(left.abs() <= BALANCED_WITHIN * shares.given.abs()), Grade::Major),
    };
    out.put(solved, subject(shares.first, LEFT_OVER, lane), outcome, Vec::new());
}

fn is_solved(solved: &Solved<'_>, lane: LaneId) -> bool {
    matches!(solved.state(lane), LaneState::Solved { .. })
}

/// Shares of the sources of an island, where all of them state one.
struct Shares {
    /// The first source.
    first: PartId,
    /// The bus at which what is left over shows.
    root: usize,
    /// What the sources give at their buses.
    given: f64,
    /// What is drawn beyond that.
    left: Option<f64>,
}

impl Shares {
    fn of(island: &[usize], solved: &Solved<'_>, lane: LaneId) -> Option<Self> {
        let plan = &solved.variant.plan;
        let sources: Vec<_> = island
            .iter()
            .flat_map(|&bus| &plan.buses[bus].sources)
            .map(|&source| &plan.sources[source])
            .collect();
        let states = |input| solved.input(input, lane).is_some();
        if !sources.iter().all(|source| states(source.share_power) || states(source.share_current)) {
            return None;
        }
        let is_led = |bus: usize| {
            let mut led = plan.stages.iter().filter_map(|stage| stage.ports.get(stage.led_by?)?.bus);
            led.any(|own| own == bus)
        };
        let root = island.iter().copied().find(|&bus| !is_led(bus))?;
        let given = sources.iter().filter_map(|source| solved.figure(source.share, lane)).sum();
        Some(Self {
            first: sources.first()?.part,
            root,
            given,
            left: solved.figure(plan.buses[root].power, lane),
        })
    }
}

/// A wrong structure in words.
pub(super) fn told(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    match worst.defect {
        LOOP => closed(worst, solved),
        UNFED => without_source(worst, solved),
        ONE_WAY => backward(worst, solved),
        LEFT_OVER => unbalanced(worst, solved),
        _ => None,
    }
}

fn closed(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let (variant, plan) = (solved.variant, &solved.variant.plan);
    let closing = plan.loops.iter().find(|closing| plan.stages[closing.stage].part == worst.part)?;
    let part = variant.path(worst.part);
    let name = |&stage: &usize| format!("`{}`", variant.path(plan.stages[stage].part));
    let others = closing.others.iter().map(name).collect::<Vec<_>>().join(", ");
    if let [other] = closing.others.as_slice()
        && let Some(bus) = held_by_both(&plan.stages[closing.stage], &plan.stages[*other])
    {
        let bus = variant.path(plan.buses[bus].part);
        let saying = format!(
            "`{part}` and {others} hold `{bus}` side by side, and how they share what it asks is stated nowhere"
        );
        let at = part_at(solved, worst.part, format!("holds {bus} as well"));
        let because = vec![part_at(solved, plan.stages[*other].part, format!("holds {bus}"))];
        let facts = vec![
            saying.clone(),
            format!(
                "what `{part}` passes is not known, nor what hangs on it: currents, losses, and the heat of all that shares its coolant"
            ),
        ];
        let no_proposal = Some(
            "write two that share evenly as one stage with more devices in parallel; or give each a bus of its own, with its loads"
                .to_owned(),
        );
        return Some(Told { because, facts, no_proposal, ..Told::new(saying, at) });
    }
    let saying =
        format!("`{part}` closes a loop of buses with {others}: how they divide the power is stated nowhere");
    let at = part_at(solved, worst.part, "closes a loop".to_owned());
    let because = closing
        .others
        .iter()
        .map(|&other| part_at(solved, plan.stages[other].part, "part of the same loop".to_owned()));
    let facts = vec![format!("{} stages in the loop: `{part}`, {others}", closing.others.len() + 1)];
    let no_proposal = Some(
        "write stages that share the power evenly as one stage with more `legs` or devices in parallel, or give each a bus of its own"
            .to_owned(),
    );
    Some(Told { because: because.collect(), facts, no_proposal, ..Told::new(saying, at) })
}

/// The bus that two stages hold between the same two buses: the one that they are led by, or that they put out to.
fn held_by_both(one: &Stage, other: &Stage) -> Option<usize> {
    let ends = |stage: &Stage| -> Option<[usize; 2]> {
        let [from, to] = stage.ports.as_slice() else { return None };
        Some([from.bus?, to.bus?])
    };
    let (own, theirs) = (ends(one)?, ends(other)?);
    let are_alike = own == theirs || own == [theirs[1], theirs[0]];
    let led = other.led_by.or(one.led_by).and_then(|port| other.ports.get(port)?.bus);
    led.or(Some(own[1])).filter(|_| are_alike)
}

fn without_source(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let (variant, plan) = (solved.variant, &solved.variant.plan);
    let islands = islands(plan);
    let unfed: Vec<usize> = islands
        .iter()
        .map(|island| unfed(solved, island))
        .find(|unfed| unfed.first().is_some_and(|&first| plan.buses[first].part == worst.part))?;
    let part = variant.path(worst.part);
    let hanging: Vec<_> =
        unfed.iter().flat_map(|&bus| consumers(solved, bus)).map(|one| one.part()).collect();
    let mut names: Vec<String> = Vec::new();
    for name in hanging.iter().map(|&one| format!("`{}`", variant.path(one))) {
        // What stands between two such buses hangs on both.
        if !names.contains(&name) {
            names.push(name);
        }
    }
    let also: Vec<String> =
        unfed.iter().skip(1).map(|&bus| format!("`{}`", variant.path(plan.buses[bus].part))).collect();
    let feeding = plan.sources.iter().map(|source| format!("`{}`", variant.path(source.part)));
    let loose = loose_sources(plan).map(|part| format!("`{}`, which feeds no bus", variant.path(part)));
    let sources: Vec<String> = feeding.chain(loose).collect();
    let saying = format!(
        "no source of the unit reaches `{part}`, and {} hang{} on it",
        names.join(", "),
        if names.len() == 1 { "s" } else { "" }
    );
    let at = part_at(solved, worst.part, "no source reaches it".to_owned());
    let because = hanging.first().map(|&one| part_at(solved, one, format!("hangs on `{part}`")));
    let mut facts = vec![format!("on it: {}", names.join(", ")), format!("sources: {}", sources.join(", "))];
    let adrift = plan.unused.iter().filter(|unused| unused.what == Declared::Conductor);
    let adrift: Vec<String> = adrift.map(|unused| format!("`{}`", variant.path(unused.part))).collect();
    if !adrift.is_empty() {
        facts.push(format!("described and in no branch: {}", adrift.join(", ")));
    }
    if !also.is_empty() {
        facts.push(format!("behind it as well: {}", also.join(", ")));
    }
    let no_proposal = Some(
        "name the source that feeds it, the stage that joins it to a fed bus, or, where another unit feeds it, describe that supply as a source"
            .to_owned(),
    );
    Some(Told { because: because.into_iter().collect(), facts, no_proposal, ..Told::new(saying, at) })
}

fn backward(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let (variant, plan, lane) = (solved.variant, &solved.variant.plan, worst.lane()?);
    let stage = plan.stages.iter().find(|stage| stage.part == worst.part)?;
    let (bus, _) = passed(stage, plan)?;
    let (part, duty) = (variant.path(stage.part), &variant.duty_of(lane).name);
    let asked = asked(bus, solved, lane)?;
    let back = asked.text();
    let why = one_way(stage)?;
    let saying = format!("`{part}` is to pass {back} back in `{duty}`, and passes power one way only: {why}");
    let own = plan.buses.iter().position(|other| other.part == bus.part)?;
    let because = heaviest(solved, own, asked.power() < 0.0, lane).into_iter().collect();
    let facts = vec![format!("{back} left over on `{}`", variant.path(bus.part))];
    let no_proposal = Some(
        "a source on that bus that takes it, a stage that passes power both ways, or less recovery: each would be another concept"
            .to_owned(),
    );
    Some(Told { because, facts, no_proposal, ..Told::new(saying, part_at(solved, stage.part, why)) })
}

/// Why a stage passes power one way.
fn one_way(stage: &Stage) -> Option<String> {
    match &stage.topology {
        Topology::Bridge(_) => None,
        Topology::Isolated(_) => Some("its output is rectified".to_owned()),
        Topology::Chopper(chopper) => {
            let side = chopper.diode_side?;
            let position = stage.positions.iter().find(|position| position.role.side() == side)?;
            let seat = &stage.seats[position.seat];
            let name = seat.fitted.as_deref().unwrap_or("the device there");
            let way = if side == Side::High { "upwards" } else { "downwards" };
            Some(format!("`{name}` at `{}` is a diode alone, which lets it pass {way}", seat.key))
        }
    }
}

fn unbalanced(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let (variant, plan, lane) = (solved.variant, &solved.variant.plan, worst.lane()?);
    let islands = islands(plan);
    let mut all = islands.iter().filter_map(|island| Shares::of(island, solved, lane));
    let shares = all.find(|shares| shares.first == worst.part)?;
    let (part, duty) = (variant.path(worst.part), &variant.duty_of(lane).name);
    let source = plan.sources.iter().find(|source| source.part == worst.part)?;
    let stated = [source.share_power, source.share_current];
    let stated = stated.into_iter().find(|&input| solved.input(input, lane).is_some())?;
    let at = |label: String| {
        place(solved, stated, lane, label.clone()).unwrap_or_else(|| part_at(solved, worst.part, label))
    };
    let no_proposal =
        Some("let one of the sources state no share: it then takes what is left over".to_owned());
    let Some(left) = shares.left else {
        let bus = variant.path(plan.buses[shares.root].part);
        let saying = format!(
            "every source that could balance `{bus}` states its share in `{duty}`: none is left to do it"
        );
        return Some(Told {
            no_proposal,
            ..Told::new(saying, at(format!("leaves nothing to balance `{bus}`")))
        });
    };
    let watts = |watts: f64| value(watts, Dimension::Power);
    let (given, drawn) = (watts(shares.given), watts(shares.given + left));
    let way = if left > 0.0 { "come from nowhere" } else { "go nowhere" };
    let missed = format!("{} {way}", watts(left.abs()));
    let saying = format!(
        "every source of the island of `{part}` states its share in `{duty}`: they give {given} and {drawn} are drawn, so {missed}"
    );
    let because = heaviest(solved, shares.root, left < 0.0, lane).into_iter().collect();
    let facts = vec![format!("given {given}"), format!("drawn {drawn}"), missed.clone()];
    Some(Told { because, facts, no_proposal, ..Told::new(saying, at(missed)) })
}
