//! Too little voltage in words, and what would change it.

use loadworthy_unit::plan::{Arriving, Dip, Gives};
use loadworthy_unit::{Dimension, Edit, InputId, LaneId, Solved};

use super::{DIP, SHORT};
use crate::check::{Change, Failure, Family, Proposal, Told};
use crate::figure_text::value;
use crate::review::Place;
use crate::steps::{family, scaled, toward};
use crate::tell::{part_at, place};
use crate::verdict::Verdict;

/// Shares of the resistance on the way that are tried.
const LESS: [f64; 7] = [0.8, 0.7, 0.6, 0.5, 0.4, 0.3, 0.2];
/// Capacitors more that are tried in one bank, as multiples.
const MORE_PARTS: [f64; 5] = [1.5, 2.0, 3.0, 4.0, 6.0];

fn arriving_of<'v>(worst: &Verdict, solved: &Solved<'v>) -> Option<&'v Arriving> {
    solved.variant.plan.arriving.iter().find(|one| one.part == worst.part)
}

pub(super) fn told(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let (lane, arriving) = (worst.lane()?, arriving_of(worst, solved)?);
    let compared = worst.comparison()?;
    let part = solved.variant.path(arriving.part);
    if worst.defect == SHORT {
        let gives = arriving.dip.as_ref()?.gives?;
        let [asks, most] =
            [compared.carried_value, compared.limit].map(|amps| value(amps, Dimension::Current));
        let stage = solved.variant.path(gives.stage);
        let saying = format!(
            "all of the load of `{part}` takes {asks} as it comes at once, and the chokes of `{stage}` trip at {most}: it falls on until it is off"
        );
        let at = place(solved, gives.stated, lane, format!("{most} at most, of the unit that trips early"));
        let at = at.unwrap_or_else(|| part_at(solved, arriving.part, format!("{asks} come at once")));
        let lowest = value(solved.input(arriving.lowest, lane)?, Dimension::Voltage);
        let because = place(solved, arriving.lowest, lane, format!("{asks} at {lowest}"));
        return Some(Told { because: because.into_iter().collect(), ..Told::new(saying, at) });
    }
    let volts = |volts: f64| value(volts, Dimension::Voltage);
    let (needs, gets) = (volts(compared.carried_value), volts(compared.limit));
    let at = place(solved, arriving.lowest, lane, format!("works from {needs} on"))
        .unwrap_or_else(|| part_at(solved, arriving.part, format!("works from {needs} on")));
    if worst.defect == DIP {
        let dip = arriving.dip.as_ref()?;
        let amps = value(solved.figure(dip.step, lane)?, Dimension::Current);
        let depth = volts(solved.figure(dip.depth, lane)?);
        let bus = arriving.bus.filter(|_| arriving.is_load).map(|bus| solved.variant.plan.buses[bus].part);
        let saying = match bus.map(|bus| solved.variant.path(bus)) {
            Some(bus) => format!(
                "{gets} are left at `{part}` as `{bus}` dips by {depth} under all of its load, {amps}, at once: it works from {needs} on"
            ),
            None => format!(
                "`{part}` dips by {depth} to {gets} as all of its load, {amps}, comes at once: what hangs on it works from {needs} on"
            ),
        };
        return Some(Told { because: held_by(arriving, dip, solved, lane), ..Told::new(saying, at) });
    }
    let saying = format!("{gets} arrive at `{part}`, which works from {needs} on");
    let mut because: Vec<Place> = Vec::new();
    let bus = arriving.bus.map(|bus| &solved.variant.plan.buses[bus]);
    if let Some(bus) = bus.filter(|bus| bus.part != arriving.part)
        && let Some(has) = solved.figure(bus.voltage, lane)
    {
        because.push(part_at(solved, bus.part, format!("has {}", volts(has))));
    }
    for &ohms in &arriving.line {
        let Some(drops) = solved.input(ohms, lane).filter(|ohms| *ohms > 0.0) else { continue };
        let label = format!("{} on the way", value(drops, Dimension::Resistance));
        because.extend(place(solved, ohms, lane, label));
    }
    Some(Told { because, ..Told::new(saying, at) })
}

/// What holds a bus through a step.
fn held_by(arriving: &Arriving, dip: &Dip, solved: &Solved<'_>, lane: LaneId) -> Vec<Place> {
    let plan = &solved.variant.plan;
    let mut because: Vec<Place> = Vec::new();
    if let Some(response) = dip.response {
        let time = solved.input(response, lane).map(|time| value(time, Dimension::Time));
        because.extend(
            time.and_then(|time| {
                place(solved, response, lane, format!("what holds it follows within {time}"))
            }),
        );
    }
    let Some(bus) = arriving.bus.map(|bus| &plan.buses[bus]) else { return because };
    if dip.response.is_none() {
        for &source in &bus.sources {
            let source = &plan.sources[source];
            let henry = solved.input(source.inductance, lane);
            let henry = henry.map(|henry| value(henry, Dimension::Inductance));
            because.extend(henry.and_then(|henry| {
                place(solved, source.inductance, lane, format!("{henry} hold its current back"))
            }));
        }
    }
    for &bank in &bus.ripple.banks {
        because.push(part_at(solved, plan.banks[bank].part, "gives it meanwhile".to_owned()));
    }
    because
}

pub(super) fn propose(failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
    let worst = failure.worst;
    let (Some(lane), Some(arriving)) = (worst.lane(), arriving_of(worst, solved)) else { return Vec::new() };
    if worst.defect == SHORT {
        let gives = arriving.dip.as_ref().and_then(|dip| dip.gives);
        let over = worst.comparison().map(|compared| compared.carried_value / compared.allowed);
        let ladder = |(gives, over): (Gives, f64)| {
            toward("trip of its chokes", gives.stated, (Dimension::Current, ""), over, solved, lane)
        };
        return gives.zip(over).map(ladder).into_iter().collect();
    }
    if worst.defect == DIP {
        return arriving.dip.as_ref().map_or_else(Vec::new, |dip| of_dip(arriving, dip, solved, lane));
    }
    // What a cable lacks in copper is no matter of what lies beside it on the way.
    let on_the_way = arriving.line.iter().copied();
    let ohms: Vec<InputId> =
        on_the_way.filter(|&ohms| solved.input(ohms, lane).is_some_and(|now| now > 0.0)).collect();
    let name = "resistance on the way";
    vec![family(
        "resistance on the way down to",
        scaled(name, &ohms, Dimension::Resistance, &LESS, solved, lane),
    )]
}

fn of_dip(arriving: &Arriving, dip: &Dip, solved: &Solved<'_>, lane: LaneId) -> Vec<Family> {
    let plan = &solved.variant.plan;
    let mut families = Vec::new();
    let banks = arriving.bus.iter().flat_map(|&bus| &plan.buses[bus].ripple.banks);
    for &bank in banks {
        let (parts, name) = (plan.banks[bank].parts, solved.variant.path(plan.banks[bank].part));
        let Some(now) = solved.input(parts, lane) else { continue };
        let ladder = MORE_PARTS.into_iter().map(|more| (now * more).ceil()).map(|to| {
            let say = format!("capacitors in `{name}`: {now} -> {to}");
            let change = Change::Edit(vec![(Edit { input: parts, value: to }, format!("{to}"))]);
            Proposal { say, change }
        });
        let tried = format!("up to 6 times the capacitors in `{name}`");
        families.push(Family { tried, ladder: ladder.collect() });
    }
    if let Some(response) = dip.response {
        let (name, of) = ("time in which what holds it follows", (Dimension::Time, ""));
        families.push(toward(name, response, of, 0.5, solved, lane));
    }
    families
}
