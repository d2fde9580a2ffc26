//! Does everything that joins two domains pass a barrier of the kind that they need?
//!
//! Which domains something joins follows from the buses, controllers and rails that it names; what two domains need
//! between them from the voltages of their buses and from who may touch them. The weakest way decides.

mod chassis;
mod listing;
mod loose;
mod meant;
mod mend;
mod strangers;
mod strays;
mod tell;
mod unknown;

use std::sync::Arc;

use loadworthy_physics::insulation::protection::{Barrier as Worth, Bonding, Insulation};
use loadworthy_physics::stored_energy::HARMLESS;
use loadworthy_unit::plan::{Bus, Crossing, Form, Isolation, Joins, May};
use loadworthy_unit::{Cause, InputId, PartId, Solved};

use crate::cause::missing_text;
use crate::check::{About, Check, Failure, Family, Told};
use crate::collect::{Subject, Verdicts, structural};
use crate::isolation::{Classes, Weak, first_layer, is_read, layered, part_of, stated, ways, weak};
use crate::remarks::Remark;
use crate::verdict::{Grade, Missing};
pub(crate) use meant::meant_for;
pub(crate) use mend::unbonded;
pub(crate) use strangers::moved_stages;
pub(crate) use unknown::left_names;

const UNNAMED: &str = "no-barrier";
const ELSEWHERE: &str = "elsewhere";
const UNKNOWN: &str = "unknown-name";
const MERGED: &str = "merged";
const WEAK: &str = "weak";
const UNUSED: &str = "unused";
const INDEPENDENCE: &str = "independence";
const TOUCHED: &str = "touched";
const BONDING: &str = "bonding-counts";
const EARTHED: &str = "earthed";
const NO_METAL: &str = "no-metal";

static ABOUT: About = About {
    name: "barrier-crossing",
    former_names: &[],
    question: "Does everything that joins two domains pass a barrier of the kind that they need?",
    page: include_str!("page.md"),
    fails: include_str!("fails.yaml"),
    holds: include_str!("holds.yaml"),
    defects: &[
        (UNNAMED, "something joins two domains and passes no barrier between them"),
        (ELSEWHERE, "something names or is listed by a barrier that it does not pass"),
        (UNKNOWN, "a barrier lists what nothing is called"),
        (MERGED, "a rail, a stage or a branch makes two domains one"),
        (WEAK, "the weakest way between two domains protects less than they need"),
        (UNUSED, "a barrier that nothing passes"),
        (INDEPENDENCE, "two layers count as double: that they are independent is to be shown"),
        (TOUCHED, "a person can touch a circuit whose voltage hurts"),
        (BONDING, "the bonding of a low-voltage net counts as the second means of protection"),
        (EARTHED, "a circuit whose voltage hurts stands on the chassis"),
        (NO_METAL, "devices or windings are cooled, and no domain is the metal that they stand on"),
    ],
    policy: &[],
    since: 2026,
};

/// The check.
pub(crate) struct BarrierCrossing;

impl Check for BarrierCrossing {
    fn about(&self) -> &'static About {
        &ABOUT
    }

    fn judges_each_duty_point(&self) -> bool {
        false
    }

    fn compares(&self) -> bool {
        false
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        let Some(isolation) = &solved.variant.plan.isolation else {
            if solved.variant.plan.isolation_left_out {
                left_out(solved, out);
            }
            return;
        };
        if !is_read(isolation, solved) {
            let waits = vec![Missing::Cause(Cause::Input(isolation.read))];
            put(solved, out, isolation.part, UNNAMED, Err(waits), Grade::Major);
            return;
        }
        let classes = Classes::of(solved, isolation);
        for &(part, key) in &isolation.unsaid {
            put(solved, out, part, UNNAMED, Err(vec![Missing::Key { of: part, key }]), Grade::Major);
        }
        for unread in &isolation.unread {
            let defect = match unread.may {
                May::Cross => UNNAMED,
                May::Bridge => WEAK,
                May::Merge => MERGED,
            };
            let waits = vec![Missing::Cause(Cause::Input(unread.input))];
            put(solved, out, unread.part, defect, Err(waits), Grade::Major);
        }
        for merged in &isolation.merged {
            put(solved, out, merged.part, MERGED, Ok(false), Grade::Major);
        }
        let unbonded = loose::metals(isolation, &classes);
        for pair in &isolation.pairs {
            let bare = bare(isolation, &classes, pair.between);
            let bare = bare.filter(|one| !strays::took_along(solved, isolation, &classes, one));
            let bare = bare.filter(|one| !is_on_a_bare_core(solved, isolation, &classes, one));
            let bare = bare.filter(|one| !loose::waits(isolation, &unbonded, one));
            let bare: Vec<PartId> = bare.map(|crossing| crossing.part).collect();
            // Where no barrier is described at all, that lacks and not one for each pair.
            let kin = isolation.barriers.is_empty().then_some(isolation.read);
            let subject = Subject { part: pair.part, defect: UNNAMED, lane: None, kin };
            put_subject(solved, out, subject, Ok(bare.is_empty()), Grade::Major, Some(bare));
        }
        for crossing in &isolation.crossings {
            // What passes none at all is told by that.
            if !is_where_it_says(isolation, crossing) && !is_bare(isolation, &classes, crossing) {
                put(solved, out, crossing.part, ELSEWHERE, Ok(false), Grade::Minor);
            }
        }
        for (place, domain) in isolation.domains() {
            // What a bus of another circuit brings there is told with what joins the two.
            if strays::is_told(solved, isolation, place) {
                continue;
            }
            if domain.form == (Form::Circuit { touchable: true }) {
                let harmless =
                    classes.missing(place).map_or(Ok(!classes.hurts(place)), |missing| Err(vec![missing]));
                put(solved, out, domain.part, TOUCHED, harmless, Grade::Major);
            } else if !domain.says_who_touches && classes.missing(place).is_none() && classes.hurts(place) {
                let missing = Missing::Key { of: domain.part, key: "touchable" };
                put(solved, out, domain.part, TOUCHED, Err(vec![missing]), Grade::Major);
            }
        }
        chassis::judge(solved, isolation, &classes, out);
        lists(solved, isolation, &classes, out);
        protection(solved, isolation, &classes, out);
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        tell::told(failure.worst, solved)
    }

    fn keeps_open(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<String> {
        let variant = solved.variant;
        let Some(isolation) = &variant.plan.isolation else { return Vec::new() };
        if matches!(failure.worst.defect, MERGED | TOUCHED) {
            return strays::keeps_open(solved, isolation, failure.worst.part);
        }
        if failure.worst.defect == UNKNOWN {
            return unknown::sections_left_out(solved);
        }
        if failure.worst.defect != UNNAMED {
            return Vec::new();
        }
        let adrift = isolation.barriers.iter().filter(|one| one.between.is_none());
        let waits = adrift.map(|barrier| Missing::Key { of: barrier.part, key: "between" });
        let waits = waits.map(|missing| missing_text(variant, None, missing).subject);
        // What it must stand there to pass between them is asked once it is known to.
        let classes = Classes::of(solved, isolation);
        let pair = isolation.pairs.iter().find(|pair| pair.part == failure.worst.part);
        let bare = pair.into_iter().flat_map(|pair| bare(isolation, &classes, pair.between));
        let own = |one: &Crossing| [one.immunity, one.through.map(|through| through.coupling)];
        let immunity = bare.flat_map(own).flatten();
        waits.chain(immunity.map(|input| variant.tables.input_of(input).path.clone())).collect()
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        mend::families(failure.worst, solved)
    }
}

/// A unit that says where things stand, and nothing of what stands between: one verdict, where a bus of it hurts.
fn left_out(solved: &Solved<'_>, out: &mut Verdicts) {
    let hurts = |bus: &&Bus| {
        let mut lanes = solved.variant.lane_ids();
        // Without a duty point it is what the bus states.
        let stated = || stated(solved, bus.highest).is_none_or(|volts| volts > HARMLESS.si());
        let hurts = |lane| solved.figure(bus.highest_voltage, lane).is_none_or(|volts| volts > HARMLESS.si());
        if solved.variant.lane_ids().next().is_none() { stated() } else { lanes.any(hurts) }
    };
    if let Some(bus) = solved.variant.plan.buses.iter().find(hurts) {
        let missing = Missing::Key { of: bus.part, key: "isolation" };
        put(solved, out, bus.part, UNNAMED, Err(vec![missing]), Grade::Major);
    }
}

fn put(
    solved: &Solved<'_>,
    out: &mut Verdicts,
    part: PartId,
    defect: &'static str,
    in_order: Result<bool, Vec<Missing>>,
    grade: Grade,
) {
    put_naming(solved, out, (part, defect), in_order, grade, None);
}

/// Of something that may be worth too little, with the kind that it is.
fn put_weak(
    out: &mut Verdicts,
    (part, kin): (PartId, Option<InputId>),
    in_order: Result<bool, Vec<Missing>>,
    kind: Option<Insulation>,
) {
    let subject = Subject { part, defect: WEAK, lane: None, kin };
    let remarks = if in_order == Ok(false) { vec![Remark::IsolationUnseen] } else { Vec::new() };
    out.put_of_kind(subject, structural(in_order, Grade::Major), remarks, kind);
}

fn put_naming(
    solved: &Solved<'_>,
    out: &mut Verdicts,
    (part, defect): (PartId, &'static str),
    in_order: Result<bool, Vec<Missing>>,
    grade: Grade,
    names: Option<Vec<PartId>>,
) {
    let subject = Subject { part, defect, lane: None, kin: None };
    put_subject(solved, out, subject, in_order, grade, names);
}

fn put_subject(
    solved: &Solved<'_>,
    out: &mut Verdicts,
    subject: Subject,
    in_order: Result<bool, Vec<Missing>>,
    grade: Grade,
    names: Option<Vec<PartId>>,
) {
    let is_unseen = matches!(subject.defect, UNNAMED | WEAK | MERGED | TOUCHED);
    let remarks = if in_order == Ok(false) && is_unseen { vec![Remark::IsolationUnseen] } else { Vec::new() };
    let names = names.filter(|names| !names.is_empty()).map(Arc::new);
    out.put_naming(solved, subject, structural(in_order, grade), remarks, names);
}

fn ordered((one, other): (usize, usize)) -> (usize, usize) {
    (one.min(other), one.max(other))
}

/// Crossings between two domains that pass no barrier between them.
fn bare<'p>(
    isolation: &'p Isolation,
    classes: &Classes,
    between: (usize, usize),
) -> impl Iterator<Item = &'p Crossing> {
    let of_pair = isolation.crossings.iter().filter(move |crossing| crossing.between == between);
    of_pair.filter(move |crossing| is_bare(isolation, classes, crossing))
}

/// Whether a crossing passes no barrier between its domains; one that it names between others is none.
fn is_bare(isolation: &Isolation, classes: &Classes, crossing: &Crossing) -> bool {
    let passes = !crossing.listed_by.is_empty() || names_one(isolation, crossing);
    !passes && needs_one(isolation, classes, crossing)
}

/// Whether a crossing needs a barrier at all.
fn needs_one(isolation: &Isolation, classes: &Classes, crossing: &Crossing) -> bool {
    let is_bonded = |place: usize| isolation.domain(place).bonding >= Bonding::Stated;
    let (one, other) = crossing.between;
    // What the chassis joins needs nothing between, and harmless devices may stand on cooled metal.
    let is_joined = is_bonded(one) && is_bonded(other);
    let is_harmless = matches!(crossing.kind, Joins::Cooled | Joins::Wound)
        && classes.needed(isolation, crossing.between).insulation.means() == 0;
    !(is_joined || is_harmless)
}

/// Whether windings share a core of which an output passes no barrier itself: what they lie between is not known before that
/// is mended.
fn is_on_a_bare_core(
    solved: &Solved<'_>,
    isolation: &Isolation,
    classes: &Classes,
    crossing: &Crossing,
) -> bool {
    let plan = &solved.variant.plan;
    let mut cores = plan.gate_transformers.iter().map(|core| {
        core.outputs.iter().map(|(output, _)| plan.gate_supplies[*output].part).collect::<Vec<PartId>>()
    });
    let mut supplies = isolation.crossings.iter().filter(|one| one.kind == Joins::Supply);
    crossing.kind == Joins::Core
        && cores.any(|outputs| {
            outputs.contains(&crossing.part)
                && supplies.any(|one| outputs.contains(&one.part) && is_bare(isolation, classes, one))
        })
}

/// Whether the barrier that a crossing names stands between its domains.
fn names_one(isolation: &Isolation, crossing: &Crossing) -> bool {
    crossing.names_barrier.is_some_and(|(barrier, _)| stands(isolation, barrier, crossing))
}

fn stands(isolation: &Isolation, barrier: usize, crossing: &Crossing) -> bool {
    isolation.barriers[barrier].between.map(ordered) == Some(crossing.between)
}

/// Whether the barrier that a crossing names is one that it passes, and the one that lists it where one does.
fn is_where_it_says(isolation: &Isolation, crossing: &Crossing) -> bool {
    let Some((barrier, _)) = crossing.names_barrier else { return true };
    if isolation.barriers[barrier].between.is_none() {
        return true;
    }
    // It may join more than two domains, and pass that barrier between others of them.
    let mut own = isolation.crossings.iter().filter(|other| other.part == crossing.part);
    let passes = own.any(|other| stands(isolation, barrier, other));
    let is_listed = stands(isolation, barrier, crossing) && !crossing.listed_by.is_empty();
    passes && (!is_listed || crossing.listed_by.contains(&barrier))
}

/// What barriers list, and whether anything passes them.
fn lists(solved: &Solved<'_>, isolation: &Isolation, classes: &Classes, out: &mut Verdicts) {
    let groups = strangers::groups(solved, isolation, classes);
    for (place, barrier) in isolation.barriers.iter().enumerate() {
        let knows_all = unknown::names(barrier).next().is_none();
        if knows_all || !unknown::is_told(solved, isolation, classes, barrier) {
            put(solved, out, barrier.part, UNKNOWN, Ok(knows_all), Grade::Minor);
        }
        let misplaced = strangers::misplaced(solved, isolation, place);
        let speaks = groups.iter().any(|group| group[0] == place);
        put(solved, out, barrier.part, ELSEWHERE, Ok(!speaks), Grade::Minor);
        let Some(between) = barrier.between else {
            let missing = Missing::Key { of: barrier.part, key: "between" };
            put(solved, out, barrier.part, WEAK, Err(vec![missing]), Grade::Major);
            continue;
        };
        let is_passed = isolation.crossings.iter().any(|crossing| {
            crossing.listed_by.contains(&place)
                || crossing.names_barrier.is_some_and(|(named, _)| named == place)
        });
        let bridged = isolation.capacitors.iter().any(|one| ordered(one.between) == ordered(between));
        // Insulation against metal, a surface or another gate circuit is passed by nothing and needed all the same.
        let is_circuit = |end: usize| matches!(isolation.domain(end).form, Form::Circuit { .. });
        let is_quiet = !is_circuit(between.0) || !is_circuit(between.1);
        // What passes none between the same two may be what lacks in its list, and is told.
        let is_lacking = bare(isolation, classes, ordered(between)).next().is_some();
        // Nor is it known where nobody says where something stands, or what says it could not be read.
        let is_said = isolation.unsaid.is_empty() && isolation.is_whole;
        let is_open = !knows_all || !misplaced.is_empty() || is_lacking || !is_said;
        let is_used = is_passed || bridged || is_quiet || is_open;
        put(solved, out, barrier.part, UNUSED, Ok(is_used), Grade::Note);
    }
}

/// The weakest way between all domains.
fn protection(solved: &Solved<'_>, isolation: &Isolation, classes: &Classes, out: &mut Verdicts) {
    for (place, domain) in isolation.domains() {
        if let Some(missing) = classes.missing(place) {
            put(solved, out, domain.part, WEAK, Err(vec![missing]), Grade::Major);
        }
    }
    let as_it_is = ways(isolation, classes);
    let culprits = |ways: &[Weak]| -> Vec<PartId> {
        let weak = weak(isolation, ways);
        weak.iter().filter_map(|weak| part_of(isolation, weak.culprit(isolation)?)).collect()
    };
    let weak = culprits(&as_it_is);
    // What is weak only if a voltage hurts that nobody states is not judged.
    let unknown = isolation.domains().find_map(|(place, _)| classes.missing(place));
    let surely = match unknown {
        Some(_) => culprits(&ways(isolation, &classes.at_their_least())),
        None => weak.clone(),
    };
    let judged = |part: PartId| match unknown {
        Some(unknown) if weak.contains(&part) && !surely.contains(&part) => Err(vec![unknown]),
        _ => Ok(!weak.contains(&part)),
    };
    for (place, barrier) in isolation.barriers.iter().enumerate() {
        let is_weak = weak.contains(&barrier.part);
        let in_order = match barrier.kind {
            _ if barrier.between.is_none() => continue,
            // What one is worth between two that it is not meant for is told with that.
            Some(_) if is_weak && meant_for(isolation, classes, place).is_some() => continue,
            None => Err(vec![Missing::Cause(Cause::Input(barrier.kind_stated))]),
            Some(_) => judged(barrier.part),
        };
        // What hangs on the bonding of one metal is one matter, whatever stands on it.
        let metal =
            if in_order == Ok(false) { mend::unbonded(barrier.part, isolation, classes) } else { None };
        let kin = metal.map(|_| isolation.read);
        put_weak(out, (barrier.part, kin), in_order, barrier.kind);
    }
    for capacitor in isolation.capacitors.iter().filter(|capacitor| capacitor.worth.is_some()) {
        let kind = match capacitor.worth {
            Some(Worth::Insulation(kind)) => Some(kind),
            Some(Worth::Conductor | Worth::ProtectiveImpedance) | None => None,
        };
        put_weak(out, (capacitor.part, None), judged(capacitor.part), kind);
    }
    for way in layered(isolation, classes) {
        if let Some(part) = first_layer(isolation, &way) {
            put(solved, out, part, INDEPENDENCE, Ok(false), Grade::Note);
        }
    }
    for way in &as_it_is {
        if let Some(part) = tell::rests_on_bonding(isolation, way) {
            put(solved, out, part, BONDING, Ok(false), Grade::Note);
        }
    }
}
