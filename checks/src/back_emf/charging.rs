//! What machines with all gates off drive for good through the diodes into a bus whose sources take it: against these
//! sources, against fuses and conductors on the way, and against the diodes.

use loadworthy_unit::plan::{Coasting, CoastingBus, Conductor, Overload, Rectified, RectifyingSeat, Source};
use loadworthy_unit::trace::Operand;
use loadworthy_unit::{Cause, Dimension, FigureId, InputId, LaneId, PartId, PolicyItem, Solved};

use super::{CHARGING, put};
use crate::check::{Failure, Family, Told};
use crate::collect::{Limit, allowed, compare, outcome};
use crate::deratings::{
    CONDUCTOR_CURRENT, DEVICE_CURRENT, DEVICE_PEAK_CURRENT, FUSE_CURRENT, SOURCE_CURRENT,
};
use crate::figure_text::{comparison, value};
use crate::steps::{family, more_parallel, scaled, toward};
use crate::tell::{above, part_at, place, policy_place};
use crate::verdict::{Comparison, Grade, Missing, Outcome, Verdict};

/// Shares of their highest speed that are tried.
const SLOWER: [f64; 8] = [0.95, 0.9, 0.85, 0.8, 0.75, 0.7, 0.6, 0.5];

type Compared = Result<Comparison, Vec<Missing>>;

/// The sources of a bus that take current back.
fn takers<'v>(of_bus: &CoastingBus, solved: &Solved<'v>, lane: LaneId) -> Vec<&'v Source> {
    let plan = &solved.variant.plan;
    let all = plan.buses[of_bus.bus].sources.iter().map(|&source| &plan.sources[source]);
    all.filter(|source| solved.input(source.absorbs, lane).is_some_and(|absorbs| absorbs > 0.0)).collect()
}

/// What feeds the bus through its diodes, unless the description leaves open what is to happen and nobody knows how much comes.
fn feeding<'c>(
    of_bus: &'c CoastingBus,
    solved: &Solved<'_>,
    lane: LaneId,
) -> Vec<(&'c Coasting, &'c Rectified)> {
    let all = of_bus.machines.iter().filter_map(|one| Some((one, one.rectified.as_ref()?)));
    let is_asked = |(one, rectified): &(&Coasting, &Rectified)| {
        !one.is_left_open || solved.figure(rectified.direct, lane).is_some()
    };
    all.filter(is_asked).collect()
}

pub(super) fn judge(
    of_bus: &CoastingBus,
    solved: &Solved<'_>,
    lane: LaneId,
    out: &mut crate::collect::Verdicts,
) {
    let plan = &solved.variant.plan;
    let (takers, feeding) = (takers(of_bus, solved, lane), feeding(of_bus, solved, lane));
    // Where nothing takes the charge, the bus comes to the crest, which is judged by itself.
    if takers.is_empty() || feeding.is_empty() {
        return;
    }
    let machines: Vec<&Coasting> = feeding.iter().map(|(one, _)| *one).collect();
    // However much of a bus is asked for more than it stands, that machines charge it is one cause.
    let kin = Some(plan.buses[of_bus.bus].highest);
    let mut held = |part: PartId, machines: &[&Coasting], compared: Compared, grade| {
        // Nothing that flows is held against nothing.
        let flows = |compared: &Comparison| compared.carried_value > 0.0;
        let outcome = match compared {
            Ok(compared) if !flows(&compared) => Outcome::Holds(None),
            compared => outcome(compared, grade),
        };
        put((part, CHARGING), outcome, kin, machines, solved, lane, out);
    };
    let by_sources = by_sources(of_bus, &takers, solved, lane);
    let is_too_much = by_sources.as_ref().is_ok_and(|compared| !compared.holds());
    let by_conductor = |amps, conductor| by_conductor(amps, conductor, is_too_much, solved, lane);
    if machines.len() == of_bus.machines.iter().filter(|one| one.rectified.is_some()).count() {
        // How several sources divide it is not reckoned.
        if let [only] = takers.as_slice() {
            for conductor in carrying(only.current, solved) {
                if let Some(compared) = by_conductor(of_bus.current, conductor) {
                    held(conductor.part, &machines, compared, Grade::Minor);
                }
            }
        }
        // More than a source ever stands is too much at once; what it stands for a while may last until the machine is at rest.
        let most = highest(&takers, solved, lane);
        let is_beyond = by_sources.as_ref().is_ok_and(|compared| most < compared.carried_value);
        held(takers[0].part, &machines, by_sources, if is_beyond { Grade::Major } else { Grade::Minor });
    }
    for (coasting, rectified) in feeding {
        let port = plan.stages[coasting.stage].ports.first().map(|port| port.current);
        for conductor in port.into_iter().flat_map(|port| carrying(port, solved)) {
            if let Some(compared) = by_conductor(rectified.direct, conductor) {
                held(conductor.part, &[coasting], compared, Grade::Minor);
            }
        }
        // Junctions settle within a second.
        for seat in &rectified.seats {
            held(seat.part, &[coasting], by_diode(seat, solved, lane), Grade::Major);
        }
    }
}

/// All of it against what the sources that take it stand for good.
fn by_sources(of_bus: &CoastingBus, takers: &[&Source], solved: &Solved<'_>, lane: LaneId) -> Compared {
    let mut missing = Vec::new();
    let carried = solved.figure(of_bus.current, lane);
    if carried.is_none() {
        missing.push(Missing::Figure(of_bus.current));
    }
    let nothing = carried.is_some_and(|carried| carried <= 0.0);
    let mut most = 0.0;
    for source in takers.iter().filter(|_| !nothing) {
        let (limits, key) = if source.is_battery {
            (&source.limits.charge, ["charge", "charge.continuous"])
        } else {
            (&source.limits.discharge, ["discharge", "discharge.continuous"])
        };
        match limits.iter().find(|limit| limit.lasts.is_infinite()).map(|limit| limit.most) {
            Some(input) => match solved.input(input, lane) {
                Some(amps) => most += amps,
                None => missing.push(Missing::Cause(Cause::Input(input))),
            },
            None => missing.push(Missing::Key { of: source.part, key: key[usize::from(!limits.is_empty())] }),
        }
    }
    let stated = solved.variant.policy(&SOURCE_CURRENT).map(|value| value.stated.value);
    let Some(left) = stated.filter(|left| left.is_finite()) else {
        missing.push(Missing::Policy(&SOURCE_CURRENT));
        return Err(missing);
    };
    let Some(carried) = carried.filter(|_| missing.is_empty()) else { return Err(missing) };
    let allowed = (allowed(&SOURCE_CURRENT, most, left), Some(&SOURCE_CURRENT));
    let limit = (most, limit_of(takers).map(Operand::Input));
    Ok(Comparison::new((of_bus.current, carried), limit, allowed, Dimension::Current))
}

/// The most that sources stand taking, for however short a time.
fn highest(takers: &[&Source], solved: &Solved<'_>, lane: LaneId) -> f64 {
    let of = |source: &&Source| {
        let limits = if source.is_battery { &source.limits.charge } else { &source.limits.discharge };
        limits.iter().filter_map(|limit| solved.input(limit.most, lane)).fold(0.0, f64::max)
    };
    takers.iter().map(of).sum()
}

/// What one source stands for good.
fn limit_of(takers: &[&Source]) -> Option<InputId> {
    let [only] = takers else { return None };
    let limits = if only.is_battery { &only.limits.charge } else { &only.limits.discharge };
    limits.iter().find(|limit| limit.lasts.is_infinite()).map(|limit| limit.most)
}

/// Conductors that carry the current of a source or a port.
fn carrying<'v>(current: FigureId, solved: &Solved<'v>) -> impl Iterator<Item = &'v Conductor> {
    solved.variant.plan.conductors.iter().filter(move |conductor| conductor.carries == Some(current))
}

/// A fuse or a conductor against what it carries for good. One that is judged by its temperature stands what it carries in
/// service; what more does to it is asked where it is not too much for the sources already.
fn by_conductor(
    amps: FigureId,
    conductor: &Conductor,
    is_too_much: bool,
    solved: &Solved<'_>,
    lane: LaneId,
) -> Option<Compared> {
    let plan = &solved.variant.plan;
    let carried = (amps, Dimension::Current);
    let fuse = plan.fuses.iter().find(|fuse| plan.conductors[fuse.conductor].part == conductor.part);
    // What service alone is too much for, for good, is told of that.
    let service =
        || solved.variant.beside(lane).ids().filter(|&lane| solved.variant.duty_of(lane).lasts.is_none());
    let is_too_small = |limit: &dyn Fn(LaneId) -> Option<f64>| {
        let carried = |lane| solved.figure(conductor.carried(), lane);
        service().any(|lane| carried(lane).zip(limit(lane)).is_some_and(|(amps, most)| most < amps.abs()))
    };
    if let Some(fuse) = fuse {
        if is_too_small(&|lane| solved.figure(fuse.figures.continuous, lane)) {
            return None;
        }
        let limit = Limit::Figure(fuse.figures.continuous);
        return Some(compare(solved, lane, carried, limit, Some(&FUSE_CURRENT)));
    }
    if let Some(rated) = conductor.rated {
        if is_too_small(&|lane| solved.input(rated, lane)) {
            return None;
        }
        return Some(compare(solved, lane, carried, Limit::Input(rated), Some(&CONDUCTOR_CURRENT)));
    }
    let Some(carried) = solved.figure(amps, lane) else { return Some(Err(vec![Missing::Figure(amps)])) };
    let service: Vec<Option<f64>> = service().map(|lane| solved.figure(conductor.carried(), lane)).collect();
    let most = service.iter().flatten().map(|amps| amps.abs()).fold(0.0, f64::max);
    if carried <= most {
        let limit = (most, Some(Operand::Figure(conductor.carried())));
        return Some(Ok(Comparison::new((amps, carried), limit, (most, None), Dimension::Current)));
    }
    // What is missing of service is told there, and may be all that is missing here.
    if !service.iter().all(Option::is_some) {
        return None;
    }
    // Behind a fuse it is known what warms it to its limit for good.
    let own = |one: &&Overload| plan.conductors[one.conductor].part == conductor.part;
    let capacity = plan.overloads.iter().find(own).and_then(|one| one.capacity);
    if let Some((capacity, stands)) = capacity.and_then(|id| Some((id, solved.figure(id, lane)?))) {
        let against = || compare(solved, lane, (amps, Dimension::Current), Limit::Figure(capacity), None);
        return (most < stands).then(against);
    }
    (!is_too_much).then(|| Err(vec![Missing::Key { of: conductor.part, key: "current" }]))
}

/// RMS value and crest in a diode against what it stands; the one with less left.
fn by_diode(seat: &RectifyingSeat, solved: &Solved<'_>, lane: LaneId) -> Compared {
    let chip = &solved.variant.plan.chips[seat.chip];
    if solved.figure(seat.rms, lane).is_some_and(|amps| amps <= 0.0) {
        let allowed = (0.0, None);
        return Ok(Comparison::new((seat.rms, 0.0), (0.0, None), allowed, Dimension::Current));
    }
    let against = |figure, limit, policy: &'static PolicyItem| {
        compare(solved, lane, (figure, Dimension::Current), limit, Some(policy))
    };
    let rms = against(seat.rms, Limit::Figure(seat.rated), &DEVICE_CURRENT);
    let crest = against(seat.crest, Limit::Input(chip.inputs.repetitive_peak), &DEVICE_PEAK_CURRENT);
    match (rms, crest) {
        (Ok(rms), Ok(crest)) => Ok(if crest.headroom < rms.headroom { crest } else { rms }),
        // What fails by one of them fails, whatever is missing of the other.
        (Ok(one), Err(_)) | (Err(_), Ok(one)) if !one.holds() => Ok(one),
        (one, other) => {
            let mut missing = one.err().unwrap_or_default();
            missing.extend(other.err().unwrap_or_default());
            missing.dedup();
            Err(missing)
        }
    }
}

/// The bus and the machine that a verdict is about; of several the one that gives most.
fn about<'v>(
    worst: &Verdict,
    solved: &Solved<'v>,
    lane: LaneId,
) -> Option<(&'v CoastingBus, &'v Coasting, &'v Rectified)> {
    let plan = &solved.variant.plan;
    let carried = worst.comparison()?.carried;
    let all = plan.coasting.iter().flat_map(|of_bus| {
        of_bus.machines.iter().filter_map(move |one| Some((of_bus, one, one.rectified.as_ref()?)))
    });
    let is_it = |(of_bus, _, rectified): &(&CoastingBus, &Coasting, &Rectified)| {
        let of_seat = |seat: &RectifyingSeat| seat.part == worst.part;
        carried == of_bus.current || carried == rectified.direct || rectified.seats.iter().any(of_seat)
    };
    let gives = |rectified: &Rectified| solved.figure(rectified.direct, lane).unwrap_or(0.0);
    all.filter(is_it).reduce(|most, one| if gives(one.2) > gives(most.2) { one } else { most })
}

/// What a machine gives and how it brakes, in words.
pub(super) fn comes_to(
    (of_bus, rectified): (&CoastingBus, &Rectified),
    solved: &Solved<'_>,
    lane: LaneId,
) -> Option<String> {
    let say = |figure, dimension| solved.figure(figure, lane).map(|figure| value(figure, dimension));
    Some(format!(
        "{} come at {}, {}, and it brakes with {}",
        say(rectified.direct, Dimension::Current)?,
        say(of_bus.held, Dimension::Voltage)?,
        say(rectified.power, Dimension::Power)?,
        say(rectified.torque, Dimension::Torque)?
    ))
}

pub(super) fn told(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let (variant, lane, compared) = (solved.variant, worst.lane()?, worst.comparison()?);
    let (of_bus, coasting, rectified) = about(worst, solved, lane)?;
    let (part, machine) = (variant.path(worst.part), variant.path(coasting.machine));
    let bus = variant.path(variant.plan.buses[of_bus.bus].part);
    let text = comparison(compared);
    let speed = value(solved.figure(coasting.speed, lane)?, Dimension::Speed);
    let (way, limit) = if let Some(seat) = rectified.seats.iter().find(|seat| seat.part == worst.part) {
        let (what, limit) = if compared.carried == seat.crest {
            ("a crest of ", "its repetitive peak")
        } else {
            ("an RMS current of ", "what its diode carries for good at its case")
        };
        (format!("drives {what}{} through each device of `{part}`", text.carried), limit)
    } else if variant.plan.sources.iter().any(|source| source.part == worst.part) {
        (format!("drives {} through the diodes into `{part}`", text.carried), "what it takes for good")
    } else {
        (format!("drives {} through the diodes and `{part}`", text.carried), "what it carries for good")
    };
    let is_one = compared.carried != of_bus.current || of_bus.machines.len() == 1;
    let way = if is_one { way } else { format!("with the others on its bus {way}") };
    let saying = format!(
        "with all gates off at {speed}, `{machine}` {way} while `{bus}` is held, {}",
        above(compared, limit)
    );
    let at = match compared.limit_from {
        Some(Operand::Input(input)) => place(solved, input, lane, format!("stands {}", text.limit)),
        _ => None,
    };
    let at = at.unwrap_or_else(|| part_at(solved, worst.part, format!("stands {}", text.limit)));
    let label = |input: InputId, what: &str, dimension| {
        let stated = solved.input(input, lane)?;
        place(solved, input, lane, format!("{} {what}", value(stated, dimension)))
    };
    let mut because: Vec<_> =
        label(coasting.highest_speed, "at most", Dimension::Speed).into_iter().collect();
    because.extend(label(coasting.flux_linkage, "link each phase", Dimension::FluxLinkage));
    because.extend(label(rectified.axes[0], "limit the current", Dimension::Inductance));
    because.extend(compared.policy.and_then(|item| policy_place(solved, item)));
    let worked = comes_to((of_bus, rectified), solved, lane).into_iter().collect();
    Some(Told { because, worked, ..Told::new(saying, at) })
}

pub(super) fn propose(failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
    let worst = failure.worst;
    let (Some(lane), Some(compared)) = (worst.lane(), worst.comparison()) else { return Vec::new() };
    let Some((of_bus, coasting, rectified)) = about(worst, solved, lane) else { return Vec::new() };
    let variant = solved.variant;
    let mut families = Vec::new();
    let speeds: Vec<InputId> = of_bus.machines.iter().map(|one| one.highest_speed).collect();
    let name = "highest speed of the machines that feed it";
    let slower = scaled(name, &speeds, Dimension::Speed, &SLOWER, solved, lane);
    families.push(family(&format!("{name} down to"), slower));
    if let Some(Operand::Input(input)) = compared.limit_from {
        let name = format!("current that `{}` stands for good", variant.path(worst.part));
        let factor = compared.carried_value / compared.allowed;
        families.push(toward(&name, input, (Dimension::Current, ""), factor, solved, lane));
    }
    let kinds: Vec<usize> = rectified
        .seats
        .iter()
        .filter(|seat| failure.all.iter().any(|verdict| verdict.part == seat.part))
        .map(|seat| seat.seat)
        .collect();
    if !kinds.is_empty() {
        let stage = &variant.plan.stages[coasting.stage];
        families.push(more_parallel(&variant.plan, stage, &kinds, solved, lane));
    }
    families
}
