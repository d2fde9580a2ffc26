//! A battery that is closed on others beside it while they stand at another state of charge: what equalises them flows through
//! contacts that may not make it, fuses that it melts and cells that do not take it.

use loadworthy_unit::plan::{Equalising, Making, ParallelPack, Paralleling, SourceLimits};
use loadworthy_unit::trace::Operand;
use loadworthy_unit::{Dimension, InputId, LaneId, Solved};

use super::{PARALLELING, put};
use crate::check::{Family, Told};
use crate::collect::{Limit, Verdicts, compare, outcome};
use crate::figure_text::{comparison, value};
use crate::steps::{rounded_on, toward_all};
use crate::tell::{above, part_at, place};
use crate::verdict::{Comparison, Grade, Missing, Verdict};

/// Every battery that a contactor closes, then those that it is closed on: one finding for all of a bus.
pub(super) fn judge(solved: &Solved<'_>, out: &mut Verdicts) {
    let plan = &solved.variant.plan;
    for lane in solved.lanes_of_the_unit() {
        for paralleling in &plan.parallelings {
            let part = plan.buses[paralleling.bus].part;
            for pack in in_turn(paralleling) {
                let all = match unstated(paralleling, pack, solved) {
                    Some(missing) => vec![Err(vec![missing])],
                    None => compared(pack, solved, lane),
                };
                for compared in all {
                    put(part, PARALLELING, outcome(compared, Grade::Major), solved, lane, out);
                }
            }
        }
    }
}

/// Those that contactors close first: of what is alike they speak.
fn in_turn(paralleling: &Paralleling) -> impl Iterator<Item = &ParallelPack> {
    let of =
        |is_fixed: bool| paralleling.packs.iter().filter(move |pack| pack.contactors.is_empty() == is_fixed);
    of(false).chain(of(true))
}

/// A battery whose open-circuit voltage is not stated, where no control bounds what they differ by.
fn unstated(paralleling: &Paralleling, pack: &ParallelPack, solved: &Solved<'_>) -> Option<Missing> {
    let sources = &solved.variant.plan.sources;
    let mut all = paralleling.packs.iter().map(|one| &sources[one.source]).filter(|_| pack.closes.is_empty());
    let lacks = all.find(|source| source.limits.open_circuit.is_none())?;
    Some(Missing::Key { of: lacks.part, key: "open_circuit" })
}

/// What flows, against what contacts make, what the battery takes and gives for its shortest time, and what melts fuses.
fn compared(pack: &ParallelPack, solved: &Solved<'_>, lane: LaneId) -> Vec<Result<Comparison, Vec<Missing>>> {
    let sources = &solved.variant.plan.sources;
    let limits = &sources[pack.source].limits;
    let against = |current, limit| compare(solved, lane, (current, Dimension::Current), limit, None);
    let mut all = Vec::new();
    for (way, rated) in [(&pack.taking, &limits.charge), (&pack.giving, &limits.discharge)] {
        let contactors = pack.contactors.iter();
        all.extend(contactors.map(|contactor| made(contactor, way, solved, lane)));
        let most = |one: &InputId| solved.input(*one, lane).unwrap_or(f64::INFINITY);
        // What it may take or give is asked by `source-limits`.
        let rated = rated.iter().map(|limit| limit.most).max_by(|a, b| most(a).total_cmp(&most(b)));
        all.extend(rated.map(|rated| against(way.current, Limit::Input(rated))));
        all.extend(pack.melts.iter().map(|&(_, melts)| against(way.current, Limit::Figure(melts))));
    }
    all
}

/// What one contactor makes, or breaks, which it then makes as well.
fn made(
    contactor: &Making,
    way: &Equalising,
    solved: &Solved<'_>,
    lane: LaneId,
) -> Result<Comparison, Vec<Missing>> {
    let on = |limit| compare(solved, lane, (way.current, Dimension::Current), Limit::Input(limit), None);
    let broken = on(contactor.breaks).ok().filter(Comparison::holds);
    super::made(on(contactor.makes), broken, contactor.makes, solved)
}

/// The battery that a verdict is about, and which way it flows.
fn way_of<'v>(worst: &Verdict, solved: &Solved<'v>) -> Option<(&'v ParallelPack, &'v Equalising, bool)> {
    let carried = worst.comparison()?.carried;
    let packs = solved.variant.plan.parallelings.iter().flat_map(|one| &one.packs);
    let mut ways = packs.flat_map(|pack| [(pack, &pack.taking, true), (pack, &pack.giving, false)]);
    ways.find(|(_, way, _)| way.current == carried)
}

pub(super) fn told(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let (variant, plan) = (solved.variant, &solved.variant.plan);
    let (lane, compared) = (worst.lane()?, worst.comparison()?);
    let (pack, way, takes) = way_of(worst, solved)?;
    let source = &plan.sources[pack.source];
    let (name, text) = (variant.path(source.part), comparison(compared));
    let path = |part| variant.path(part);
    let (whose, limit) = match compared.limit_from? {
        Operand::Input(input) => {
            let contactor = pack.contactors.iter().find(|one| [one.makes, one.breaks].contains(&input));
            let own = |limits: &SourceLimits| limits.all().any(|limit| limit.most == input);
            let what = match contactor {
                Some(contactor) => format!("what the contacts of `{}` make", path(contactor.part)),
                None => {
                    let rated = plan.sources.iter().find(|source| own(&source.limits))?;
                    let is_taken = rated.limits.charge.iter().any(|limit| limit.most == input);
                    format!(
                        "what `{}` {} at most",
                        path(rated.part),
                        if is_taken { "takes" } else { "gives" }
                    )
                }
            };
            (what, place(solved, input, lane, format!("{} at most", text.limit)))
        }
        Operand::Figure(melts) => {
            let &(fuse, _) = pack.melts.iter().find(|(_, figure)| *figure == melts)?;
            let label = format!("melts at {} in the end", text.limit);
            (format!("what melts `{}` in the end", path(fuse)), Some(part_at(solved, fuse, label)))
        }
        Operand::Curve(_) => return None,
    };
    let volts = solved.figure(way.difference, lane)?;
    let apart = value(volts, Dimension::Voltage);
    let does = if takes { "takes" } else { "gives" };
    let (bus, over) = (path(worst.part), above(compared, &whose));
    let saying = if pack.contactors.is_empty() {
        format!("`{name}` {does} {} as another battery is closed on `{bus}` beside it, {over}", text.carried)
    } else {
        format!("`{name}` {does} {} as it is closed on `{bus}` beside another battery, {over}", text.carried)
    };
    let most = value(rounded_on(volts * least_share(worst, solved, lane)?, true), Dimension::Voltage);
    let mut because = Vec::new();
    if let Some(&closes) = pack.closes.first() {
        because.extend(place(solved, closes, lane, format!("closes with up to {apart} across it")));
    } else if let Some((lowest, highest)) = source.limits.open_circuit {
        let stated = if takes { lowest } else { highest };
        let label = solved.input(stated, lane).map(|own| value(own, Dimension::Voltage));
        because.extend(
            label.and_then(|own| place(solved, stated, lane, format!("{own}, {apart} from another"))),
        );
    }
    let ohms = source.lowest_resistance;
    let label = solved.input(ohms, lane).map(|own| value(own, Dimension::Resistance));
    because.extend(
        label.and_then(|own| place(solved, ohms, lane, format!("limited by {own} and those of others"))),
    );
    let facts =
        vec![format!("{apart} between the open-circuit voltages drive that; up to {most} all of it holds")];
    let at = limit.unwrap_or_else(|| part_at(solved, source.part, format!("{} here", text.carried)));
    let why = format!(
        "let its control close it with no more than {most} across its contacts: `closes: {{ below: {most} }}`"
    );
    let no_proposal = pack.closes.is_empty().then_some(why);
    Some(Told { because, facts, no_proposal, ..Told::new(saying, at) })
}

/// The share of what a verdict's battery is apart from others at which all holds that is found on its bus.
fn least_share(worst: &Verdict, solved: &Solved<'_>, lane: LaneId) -> Option<f64> {
    let plan = &solved.variant.plan;
    let (_, own, _) = way_of(worst, solved)?;
    let of_bus = plan.parallelings.iter().find(|one| plan.buses[one.bus].part == worst.part)?;
    // Current goes with voltage: each allows one, and the least of them all is that of any.
    let volts = of_bus.packs.iter().flat_map(|one| {
        let held = compared(one, solved, lane).into_iter().flatten();
        held.filter_map(|held| {
            let way = [one.taking, one.giving].into_iter().find(|way| way.current == held.carried)?;
            Some(held.allowed * solved.figure(way.difference, lane)? / held.carried_value)
        })
    });
    Some(volts.fold(f64::INFINITY, f64::min) / solved.figure(own.difference, lane)?)
}

/// Contactors that close at less.
pub(super) fn families(worst: &Verdict, solved: &Solved<'_>) -> Vec<Family> {
    let Some((lane, (pack, ..))) = worst.lane().zip(way_of(worst, solved)) else { return Vec::new() };
    let all = solved
        .variant
        .plan
        .parallelings
        .iter()
        .filter(|one| one.packs.iter().any(|other| other.source == pack.source));
    let closes: Vec<InputId> = all
        .flat_map(in_turn)
        .take_while(|pack| !pack.contactors.is_empty())
        .flat_map(|pack| pack.closes.iter().copied())
        .collect();
    let Some(share) = least_share(worst, solved, lane).filter(|_| !closes.is_empty()) else {
        return Vec::new();
    };
    vec![toward_all(
        "voltage at which contactors close",
        &closes,
        (Dimension::Voltage, ""),
        share,
        solved,
        lane,
    )]
}
