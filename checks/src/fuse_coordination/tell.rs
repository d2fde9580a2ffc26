//! What is wrong with a fuse, in words.

use loadworthy_unit::plan::{Drive, Fuse, Protected, Stands};
use loadworthy_unit::trace::Operand;
use loadworthy_unit::{Dimension, InputId, LaneId, PartId, Solved};

use super::other_fuse::branch_beyond;
use super::overload::Overload;
use super::{
    BREAKING, LET_THROUGH, NOT_CLEARED, NOT_ON_THE_WAY, OVERLOADED, SLOW, UNFUSED, fuse_of, unended,
};
use crate::carried;
use crate::check::Told;
use crate::cycle::Cycle;
use crate::figure_text::{comparison, value};
use crate::remarks::Remark;
use crate::review::Place;
use crate::stored_energy::{connects_for_good, exchanged_with};
use crate::tell::{above, adrift, asked_at_end, part_at, place, policy_place};
use crate::verdict::{Comparison, EQUAL_WITHIN, Verdict};

/// The sentence, the label at its part, and the places that cause it.
type Saying = (String, String, Vec<Place>);

pub(super) fn told(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let (variant, plan) = (solved.variant, &solved.variant.plan);
    if worst.defect == UNFUSED {
        return Some(unfused(worst, solved));
    }
    if worst.defect == NOT_ON_THE_WAY {
        return not_on_the_way(worst, solved);
    }
    let fuse = fuse_of(plan, worst)?;
    let (lane, compared) = (worst.lane()?, worst.comparison()?);
    let text = comparison(compared);
    let conductor = &plan.conductors[fuse.conductor];
    let own = variant.path(conductor.part);
    let at = |input: InputId, label: String| place(solved, input, lane, label);
    let (saying, label, mut because) = match worst.defect {
        OVERLOADED => overloaded(fuse, worst, solved, lane)?,
        BREAKING => (
            format!(
                "a short circuit drives {} through `{own}`, {}",
                text.carried,
                above(compared, "its breaking capacity")
            ),
            format!("a fault here draws {}", text.carried),
            driven(strongest(fuse, compared.carried_value, solved, lane), solved, lane, true)
                .into_iter()
                .chain(at(fuse.breaking, format!("breaks up to {}", text.limit)))
                .collect(),
        ),
        SLOW => (
            format!(
                "a short circuit through `{own}` rises with a time constant of {}, {}: a more inductive circuit keeps the arc alive longer",
                text.carried,
                above(compared, "that of the circuit its breaking capacity is stated for")
            ),
            format!("a fault here has {}", text.carried),
            inductive(fuse, solved, lane)
                .chain(fuse.time_constant.and_then(|rated| at(rated, format!("stated for {}", text.limit))))
                .collect(),
        ),
        NOT_CLEARED => (
            format!(
                "a short circuit at the far end may drive as little as {} through `{own}`, which breaks from {} up",
                text.limit, text.carried
            ),
            format!("a fault at the far end draws {} at least", text.limit),
            driven(&fuse.drives, solved, lane, false)
                .into_iter()
                .chain(at(fuse.least_breaking, format!("breaks from {} up", text.carried)))
                .collect(),
        ),
        LET_THROUGH => lets_too_much(fuse, worst, solved, lane)?,
        _ => (
            format!(
                "up to {} may stand across `{own}` once it has opened, {}",
                text.carried,
                above(compared, "its rated voltage")
            ),
            format!("{} across it", text.carried),
            fuse.across
                .iter()
                .filter(|&&volts| solved.input(volts, lane) == Some(compared.carried_value))
                .take(1)
                .filter_map(|&volts| at(volts, format!("{} at most", text.carried)))
                .chain(at(fuse.voltage, format!("rated {}", text.limit)))
                .collect(),
        ),
    };
    because.extend(compared.policy.and_then(|item| policy_place(solved, item)));
    let branch = if worst.defect == LET_THROUGH { worst.part } else { conductor.branch };
    let beyond = if worst.defect == LET_THROUGH { branch_beyond(fuse, worst, solved) } else { None };
    let no_proposal = beyond.map(|branch| {
        format!(
            "a fuse of its own at the beginning of `{branch}` that lets no more than {} through; no value of the description expresses one more",
            text.limit
        )
    });
    let worked = melted_as_soon(fuse, worst, solved, lane).into_iter().collect();
    let mut facts: Vec<String> = Vec::new();
    if worst.defect == LET_THROUGH {
        facts.extend(unended::beside(worst, solved, lane));
        facts.extend(beyond.and_then(|_| adrift(solved)));
        let mut through_diodes = fuse.protects.iter().filter(|one| one.beyond.is_some());
        if through_diodes.any(|one| plan.conductors[one.conductor].part == worst.part) {
            facts.push(
                "a fault there is fed through diodes, whatever the control of their stage does".to_owned(),
            );
        }
    }
    Some(Told { because, facts, no_proposal, worked, ..Told::new(saying, part_at(solved, branch, label)) })
}

/// A branch that leads from a source without a fuse.
fn unfused(worst: &Verdict, solved: &Solved<'_>) -> Told {
    let part = solved.variant.path(worst.part);
    if let Some(exchanged) = exchanged_with(solved, worst.part) {
        return exchanged_fuse(exchanged, worst, solved);
    }
    let is_bare = connects_for_good(solved, worst.part);
    let (saying, label, no_proposal) = if is_bare {
        (
            format!(
                "`{part}` leads from a source through nothing: no fuse and no contactor, and neither `protected_by` nor `parted_by` names one"
            ),
            "no `through`",
            "no value expresses what stands there: name fuse, contactor and the rest under `through`, or those within the source by `protected_by` and `parted_by`",
        )
    } else {
        (
            format!(
                "`{part}` leads from a source without a fuse, and no `protected_by` says what protects it"
            ),
            "no fuse on the way",
            "no value expresses a fuse: add one, or say `protected_by`",
        )
    };
    let at = part_at(solved, worst.part, label.to_owned());
    let lacks = is_bare.then(|| "nothing parts the bus from its source: it stays live for service, in a fault, and against its discharge".to_owned());
    let facts = lacks.into_iter().chain(adrift(solved)).collect();
    let no_proposal = Some(no_proposal.to_owned());
    Told { facts, no_proposal, ..Told::new(saying, at) }
}

/// A conductor that does not stand what a fuse lets through, with what others send beside it.
fn lets_too_much(fuse: &Fuse, worst: &Verdict, solved: &Solved<'_>, lane: LaneId) -> Option<Saying> {
    let (variant, plan) = (solved.variant, &solved.variant.plan);
    let compared = worst.comparison()?;
    let (part, text) = (variant.path(worst.part), comparison(compared));
    let own = variant.path(plan.conductors[fuse.conductor].part);
    let at = |input: InputId, label: String| place(solved, input, lane, label);
    let most = solved.figure(fuse.figures.let_through, lane);
    let through = most.map_or_else(String::new, |x| value(x, Dimension::SquaredCurrentTime));
    let slow =
        if is_by_curve(fuse, solved, lane) { " in a slow fault, by its time-current curve" } else { "" };
    let mut because: Vec<Place> =
        lets(fuse, format!("`{own}` lets {through} through{slow}"), solved, lane).into_iter().collect();
    let protected = || fuse.protects.iter().filter(|one| plan.conductors[one.conductor].part == worst.part);
    because.extend(protected().flat_map(|one| one.beside.iter().chain(&one.against)).filter_map(|&other| {
        let lets = value(solved.figure(other, lane)?, Dimension::SquaredCurrentTime);
        let fuse = plan.fuses.iter().find(|fuse| fuse.figures.let_through == other)?;
        self::lets(fuse, format!("lets {lets} through"), solved, lane)
    }));
    // A bank that discharges through it as well.
    let banks = protected().filter(|_| fuse.of_source && through != text.carried);
    because.extend(
        banks
            .flat_map(|one| &one.banks)
            .map(|&bank| part_at(solved, plan.banks[bank].part, "empties through it as well".to_owned())),
    );
    because.extend(protected().filter_map(|one| {
        at(*one.section.last().or(one.stated.as_ref())?, format!("stands {}", text.limit))
    }));
    let limit = format!("what `{part}` stands");
    let saying = if protected().any(|one| is_from_beyond(fuse, one, compared, solved, lane)) {
        // The fuse is not what lets that through.
        because.retain(|place| !place.label.starts_with(&format!("`{own}` lets")));
        format!(
            "banks and sources at the other end than `{own}` send {} through `{part}` in a fault before it, {}; the fuse lets {through} through",
            text.carried,
            above(compared, &limit)
        )
    } else {
        let all = if through == text.carried {
            String::new()
        } else {
            format!(", {} with what other sources and banks send", text.carried)
        };
        format!("`{own}` lets {through} through until it has cleared{all}, {}", above(compared, &limit))
    };
    Some((saying, format!("`{part}` stands {}", text.limit), because))
}

/// A fuse and a contactor that stand in one another's branch, in words.
fn exchanged_fuse(
    (around, fuse, contactor): (PartId, usize, usize),
    worst: &Verdict,
    solved: &Solved<'_>,
) -> Told {
    let (variant, plan) = (solved.variant, &solved.variant.plan);
    let parts = [plan.conductors[fuse].part, plan.conductors[contactor].part];
    let [fuse_name, contactor_name] = parts.map(|part| variant.path(part));
    let [feed, around_name] = [worst.part, around].map(|part| variant.path(part));
    let saying = format!(
        "`{feed}` leads from a source without a fuse, and nothing opens `{around_name}`: `{fuse_name}` and `{contactor_name}` stand in one another's branch"
    );
    let at = part_at(solved, worst.part, format!("`{contactor_name}` here, and no fuse"));
    let because = vec![part_at(solved, around, format!("`{fuse_name}` here, and no contactor"))];
    let facts = vec![
        format!("no fuse on the way from the source: `{fuse_name}` stands in `{around_name}`"),
        format!("no contactor in `{around_name}`: `{contactor_name}` stands in `{feed}`"),
    ];
    let way = format!("exchange `{fuse_name}` and `{contactor_name}` in the `through` of both branches");
    Told { because, facts, no_proposal: Some(way), ..Told::new(saying, at) }
}

/// Whether the most that passes a conductor comes from the other end than its fuse: that lets less through, whatever comes with it.
fn is_from_beyond(
    fuse: &Fuse,
    protected: &Protected,
    compared: &Comparison,
    solved: &Solved<'_>,
    lane: LaneId,
) -> bool {
    if !protected.banks_against {
        return false;
    }
    let beside = protected.beside.iter().filter(|_| !protected.is_own);
    let sent = core::iter::once(&fuse.figures.let_through).chain(beside);
    let roots: Option<f64> = sent.map(|&figure| solved.figure(figure, lane).map(f64::sqrt)).sum();
    roots.is_some_and(|root| root * root < compared.carried_value * (1.0 - EQUAL_WITHIN))
}

/// The inductances of the sources that drive a fault through a fuse.
fn inductive<'s>(fuse: &'s Fuse, solved: &'s Solved<'_>, lane: LaneId) -> impl Iterator<Item = Place> + 's {
    let sources = &solved.variant.plan.sources;
    let own = fuse.drives.iter().chain(&fuse.others);
    own.map(move |drive| &sources[drive.place]).filter_map(move |source| {
        let henry = value(solved.input(source.inductance, lane)?, Dimension::Inductance);
        place(solved, source.inductance, lane, format!("{henry} with its cables"))
    })
}

/// What a fuse carries too much: what is said, the words at its branch, and why.
fn overloaded(fuse: &Fuse, worst: &Verdict, solved: &Solved<'_>, lane: LaneId) -> Option<Saying> {
    let (variant, compared) = (solved.variant, worst.comparison()?);
    let text = comparison(compared);
    let conductor = &variant.plan.conductors[fuse.conductor];
    let own = variant.path(conductor.part);
    let amps = |amps| value(amps, Dimension::Current);
    let stated = |input: InputId, dimension| {
        solved.input(input, lane).map(|stated| value(stated, dimension)).unwrap_or_default()
    };
    let cycle = Cycle::of(compared.carried, solved, lane).ok().flatten();
    let is_weighed = worst.remarks.iter().any(|remark| matches!(remark, Remark::OverCycle { .. }));
    let rms = carried::rms(conductor, compared);
    let after = load_before(worst).map(|before| {
        let over = if cycle.is_some() { " rms over its cycle" } else { "" };
        let carried = solved.figure(compared.carried, lane).unwrap_or(f64::NAN);
        (amps(carried), format!("{} after {}{over}", amps(carried), amps(before)))
    });
    let label = match (cycle.filter(|_| is_weighed), &after) {
        (Some(cycle), _) => format!(
            "{} for {} in each {}: {} rms",
            amps(cycle.current),
            value(cycle.lasts, Dimension::Time),
            value(cycle.every, Dimension::Time),
            text.carried
        ),
        (None, Some((carried, _))) => format!("{carried}{rms} pass here"),
        (None, None) => format!("{}{rms} pass here", text.carried),
    };
    let mut because: Vec<Place> = asked_at_end(conductor, solved, lane).into_iter().collect();
    let rated = format!("rated {}", stated(fuse.rated, Dimension::Current));
    because.extend(place(solved, fuse.rated, lane, rated));
    let air = format!("air of {} around it", stated(conductor.surroundings, Dimension::Temperature));
    because.extend(place(solved, conductor.surroundings, lane, air));
    let by_curve = fuse.curve.as_ref().filter(|curve| {
        [curve.overload, curve.cyclic]
            .map(|figure| Some(Operand::Figure(figure)))
            .contains(&compared.limit_from)
    });
    let limit = match by_curve.and_then(|curve| solved.input(curve.lasts, lane)) {
        Some(lasts) => format!(
            "what its time-current curve leaves for {} in these surroundings",
            value(lasts, Dimension::Time)
        ),
        None => "its current in these surroundings".to_owned(),
    };
    let over = if is_weighed { " rms over its cycle" } else { "" };
    let carries = match after {
        Some((_, after)) => format!("{after}, which melts it as soon as {} from cold", text.carried),
        None if is_weighed => format!("{}{over}", text.carried),
        None => format!("{}{rms}", text.carried),
    };
    Some((format!("`{own}` carries {carries}, {}", above(compared, &limit)), label, because))
}

/// The load before an overload, where the verdict counts it.
fn load_before(worst: &Verdict) -> Option<f64> {
    worst.remarks.iter().find_map(|remark| match *remark {
        Remark::MeltsAfter { before, .. } => Some(before),
        _ => None,
    })
}

/// How the current from cold comes about that melts a fuse as soon.
fn melted_as_soon(fuse: &Fuse, worst: &Verdict, solved: &Solved<'_>, lane: LaneId) -> Option<String> {
    let carried = worst.comparison()?.carried;
    let overload = Overload::of(fuse, carried, solved, lane, load_before(worst)?)?;
    let [carried, before, for_good] =
        [overload.carried, overload.before, overload.for_good].map(|amps| value(amps, Dimension::Current));
    let formula = loadworthy_physics::fuse::FROM_COLD.formula;
    let as_soon = value(worst.comparison()?.carried_value, Dimension::Current);
    Some(format!("from cold = {as_soon}: {formula}; I {carried}, I_0 {before}, I_∞ {for_good}"))
}

/// Whether a slow fault lets more through, by the time-current curve, than what is stated.
fn is_by_curve(fuse: &Fuse, solved: &Solved<'_>, lane: LaneId) -> bool {
    solved.figure(fuse.figures.let_through, lane) > solved.input(fuse.clearing, lane)
}

/// Where it stands how much a fuse lets through.
fn lets(fuse: &Fuse, label: String, solved: &Solved<'_>, lane: LaneId) -> Option<Place> {
    match fuse.curve.as_ref().filter(|_| is_by_curve(fuse, solved, lane)) {
        Some(curve) => {
            let node = solved.variant.tables.curve_of(curve.curve).origin.node()?;
            Some(Place { node, label })
        }
        None => place(solved, fuse.clearing, lane, label),
    }
}

/// A fuse that no fault in the branch flows through.
fn not_on_the_way(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let variant = solved.variant;
    let mut all = variant.plan.protections.iter();
    let protection = all.find(|one| one.branch == worst.part && one.fuse.is_some())?;
    let (fuse, node) = protection.fuse.as_ref()?;
    let part = variant.path(worst.part);
    let (stands, because) = match protection.stands {
        Stands::In(branch) => {
            let branch_at = part_at(solved, branch, format!("`{fuse}` stands here"));
            (format!("it stands in `{}`", variant.path(branch)), vec![branch_at])
        }
        _ => ("it stands in no branch".to_owned(), Vec::new()),
    };
    let saying = format!(
        "`{part}` names `{fuse}` as its fuse, which lies between no source and `{part}`: {stands}, so no fault in `{part}` melts it"
    );
    let at = Place { node: *node, label: "does not protect it".to_owned() };
    let no_proposal = Some(format!(
        "name the fuse that a fault in `{part}` flows through, or add one to `through` where the branch begins"
    ));
    Some(Told { because, no_proposal, ..Told::new(saying, at) })
}

/// The sources that drive the larger fault: more than its own can drive comes from the others.
fn strongest<'f>(fuse: &'f Fuse, amps: f64, solved: &Solved<'_>, lane: LaneId) -> &'f [Drive] {
    let drives = |drive: &Drive| match drive.short_circuit {
        Some((highest, _)) => solved.input(highest, lane),
        None => Some(solved.input(drive.voltage.0, lane)? / solved.input(drive.resistance.0, lane)?),
    };
    let own: f64 = fuse.drives.iter().filter_map(drives).sum();
    if own * (1.0 + EQUAL_WITHIN) < amps { &fuse.others } else { &fuse.drives }
}

/// What drives a fault.
fn driven(drives: &[Drive], solved: &Solved<'_>, lane: LaneId, is_highest: bool) -> Vec<Place> {
    let of = |drive: &Drive| {
        let pick = |(highest, lowest): (InputId, InputId)| if is_highest { highest } else { lowest };
        if let Some(short) = drive.short_circuit {
            let amps = value(solved.input(pick(short), lane)?, Dimension::Current);
            return place(solved, pick(short), lane, format!("drives {amps} into a short circuit"));
        }
        let (least, most) = drive.resistance;
        let ohms = if is_highest { least } else { most };
        let volts = value(solved.input(pick(drive.voltage), lane)?, Dimension::Voltage);
        let text = value(solved.input(ohms, lane)?, Dimension::Resistance);
        place(solved, ohms, lane, format!("{volts} behind {text}"))
    };
    drives.iter().filter_map(of).collect()
}
