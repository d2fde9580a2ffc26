//! Charge that stays too long, and pre-charge that does not suffice, in words, and what would change it.

use loadworthy_unit::plan::{ActiveDischarge, Making, Precharge, Stored};
use loadworthy_unit::{Dimension, InputId, LaneId, Solved};

use super::{
    ACTIVE, BARE, BYPASS, CLOSING, ENERGY, GIVEN_UP, INRUSH, LOSS, NEVER, ONE_POLE, PARALLELING, PASSIVE,
    SLOW, SURGE, UNDISCHARGED, UNPARTED, paralleling, poles, surge, undischarged,
};
use crate::check::{Change, Failure, Family, Told};
use crate::figure_text::{comparison, percent, value};
use crate::review::Place;
use crate::steps::toward;
use crate::tell::{above, adrift, part_at, place, policy_place};
use crate::verdict::{Comparison, Verdict};

const LEFT: &str = "left across the contactor";

/// The charge that a verdict is about, and the one whose discharge it has.
fn stored_of<'v>(worst: &Verdict, solved: &Solved<'v>) -> Option<(&'v Stored, &'v Stored)> {
    let plan = &solved.variant.plan;
    let own = plan.stored.iter().find(|stored| plan.buses[stored.bus].part == worst.part)?;
    Some((own, own.follows.map_or(own, |follows| &plan.stored[follows])))
}

fn precharge_of<'v>(worst: &Verdict, solved: &Solved<'v>) -> Option<&'v Precharge> {
    solved.variant.plan.precharges.iter().find(|precharge| precharge.part == worst.part)
}

/// The contactor that a verdict is about, with its pre-charge.
fn making_of<'v>(worst: &Verdict, solved: &Solved<'v>) -> Option<(&'v Precharge, &'v Making)> {
    solved.variant.plan.precharges.iter().find_map(|precharge| {
        let contactor = precharge.contactors.iter().find(|contactor| contactor.part == worst.part)?;
        Some((precharge, contactor))
    })
}

/// The pre-charge of the contactor that a verdict is about, and what that makes.
fn closing_of<'v>(worst: &Verdict, solved: &Solved<'v>) -> Option<(&'v Precharge, &'v Making)> {
    solved.variant.plan.precharges.iter().find_map(|precharge| {
        let around = precharge.around.as_ref().filter(|main| main.part == worst.part)?;
        Some((precharge, around))
    })
}

/// The largest resistance of a pre-charge, which is that of its resistor.
pub(super) fn resistor(precharge: &Precharge, solved: &Solved<'_>, lane: LaneId) -> Option<InputId> {
    let ohms = |input: &InputId| solved.input(*input, lane).unwrap_or(0.0);
    precharge.resistances.iter().copied().max_by(|one, other| ohms(one).total_cmp(&ohms(other)))
}

pub(super) fn told(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    match worst.defect {
        ONE_POLE => return poles::told(worst, solved),
        PARALLELING => return paralleling::told(worst, solved),
        SURGE => return surge::told(worst, solved),
        UNDISCHARGED => return undischarged::told(worst, solved),
        BARE => return bare(worst, solved),
        UNPARTED => return unparted(worst, solved),
        BYPASS => return bypassed(worst, solved),
        _ => {}
    }
    let (lane, compared) = (worst.lane()?, worst.comparison()?);
    let (saying, at, mut because) = match worst.defect {
        ENERGY | NEVER => charged(worst, compared, solved, lane),
        SLOW => slowly_charged(worst, compared, solved, lane),
        CLOSING => closed_on_rest(worst, compared, solved, lane),
        INRUSH | GIVEN_UP => closed_on_empty(worst, compared, solved, lane),
        _ => discharged(worst, compared, solved, lane),
    }?;
    because.extend(compared.policy.and_then(|item| policy_place(solved, item)));
    Some(Told { because, ..Told::new(saying, at) })
}

/// A contactor that nothing keeps from closing on an empty bank.
fn bare(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let part = solved.variant.path(worst.part);
    let saying = format!(
        "`{part}` closes its contactor on an empty bank: nothing but its resistance limits the inrush"
    );
    if solved.variant.plan.conductors.iter().any(|one| one.part == worst.part) {
        return Some(within(worst, solved));
    }
    // The branch around the contactor speaks where it leads through nothing, else the branch of the contactor.
    let is_empty = solved.variant.plan.conductors.iter().all(|one| one.branch != worst.part);
    let is_unlimited = solved.variant.plan.unlimited.contains(&worst.part);
    let (saying, label) = if is_unlimited {
        let saying =
            format!("`{part}` leads around its contactor without a resistor: nothing limits the inrush");
        (saying, "no resistor in `through`")
    } else if is_empty {
        let saying =
            format!("`{part}` leads around its contactor through nothing: nothing limits the inrush");
        (saying, "no `through`, no resistor")
    } else {
        (saying, "no branch leads around its contactor")
    };
    let at = part_at(solved, worst.part, label.to_owned());
    let why = "a pre-charge is a branch of its own: a contactor and a resistor with `around`";
    let facts = adrift(solved).into_iter().collect();
    Some(Told { facts, no_proposal: Some(why.to_owned()), ..Told::new(saying, at) })
}

/// A source that no contactor parts.
fn unparted(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let part = solved.variant.path(worst.part);
    let branches = &solved.variant.plan.unparted;
    let (_, bus) = branches.iter().find(|(branch, _)| *branch == worst.part)?;
    let bus = solved.variant.path(solved.variant.plan.buses[*bus].part);
    let saying = format!(
        "no contactor parts `{bus}` from the source of `{part}`: it stays live for service, in a fault, and against its discharge"
    );
    let at = part_at(solved, worst.part, "no contactor on the way".to_owned());
    let why = "add a contactor to `through`, with a pre-charge around it, or say by `parted_by` which one within the source parts it";
    let facts = adrift(solved).into_iter().collect();
    Some(Told { facts, no_proposal: Some(why.to_owned()), ..Told::new(saying, at) })
}

/// A way around a contactor that nothing opens.
fn bypassed(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let part = solved.variant.path(worst.part);
    let bus = solved.variant.plan.buses[precharge_of(worst, solved)?.bus].part;
    let saying = format!(
        "nothing opens `{part}`: with its contactor open the source still feeds `{}` through it",
        solved.variant.path(bus)
    );
    let at = part_at(solved, worst.part, "leads around a contactor, and has none itself".to_owned());
    let lacks = "no contactor in the branch around the contactor".to_owned();
    let facts = core::iter::once(lacks).chain(adrift(solved)).collect();
    let why = "a contactor of its own in the branch, which opens once the other has closed";
    Some(Told { facts, no_proposal: Some(why.to_owned()), ..Told::new(saying, at) })
}

/// The sentence, its place, and the places that cause it.
type Saying = (String, Place, Vec<Place>);

/// The resistor of a pre-charge that takes too much, or never comes to its end.
fn charged(worst: &Verdict, compared: &Comparison, solved: &Solved<'_>, lane: LaneId) -> Option<Saying> {
    let part = solved.variant.path(worst.part);
    let mut because: Vec<Place> = Vec::new();
    let text = comparison(compared);
    let precharge = precharge_of(worst, solved)?;
    let volts = solved.input(precharge.source, lane);
    let saying = if worst.defect == ENERGY {
        format!(
            "`{part}` puts {} into its resistor, {}",
            text.carried,
            above(compared, "what it stands in one pulse")
        )
    } else if volts.is_some_and(|volts| volts < compared.carried_value) {
        format!(
            "`{part}` never begins to charge: what is drawn meanwhile would drop more in it than its source has"
        )
    } else {
        format!(
            "`{part}` never comes to its end: what is drawn meanwhile keeps {} across it, and it closes at {}",
            text.carried, text.limit
        )
    };
    if worst.defect == ENERGY {
        because.extend(place(solved, precharge.rated_energy, lane, format!("limit {}", text.limit)));
    }
    if worst.defect == NEVER {
        because.extend(drawn(precharge, solved, lane));
    }
    let volts = volts.map(|volts| value(volts, Dimension::Voltage));
    because
        .extend(volts.and_then(|volts| place(solved, precharge.source, lane, format!("charged to {volts}"))));
    Some((saying, part_at(solved, worst.part, format!("{} here", text.carried)), because))
}

/// A pre-charge that takes too long.
fn slowly_charged(
    worst: &Verdict,
    compared: &Comparison,
    solved: &Solved<'_>,
    lane: LaneId,
) -> Option<Saying> {
    let part = solved.variant.path(worst.part);
    let mut because: Vec<Place> = Vec::new();
    let text = comparison(compared);
    let precharge = precharge_of(worst, solved)?;
    let rest = value(solved.figure(precharge.rest_voltage, lane)?, Dimension::Voltage);
    let saying = format!(
        "`{part}` takes {} until {rest} are left, {}",
        text.carried,
        above(compared, "the time that it may take")
    );
    because.extend(resistor(precharge, solved, lane).and_then(|input| {
        let ohms = value(solved.input(input, lane)?, Dimension::Resistance);
        place(solved, input, lane, format!("charged through {ohms}"))
    }));
    let at = place(solved, precharge.within?, lane, format!("{} at most", text.limit));
    Some((
        saying,
        at.unwrap_or_else(|| part_at(solved, worst.part, format!("{} here", text.carried))),
        because,
    ))
}

/// A contactor that closes on what its pre-charge leaves.
fn closed_on_rest(
    worst: &Verdict,
    compared: &Comparison,
    solved: &Solved<'_>,
    lane: LaneId,
) -> Option<Saying> {
    let part = solved.variant.path(worst.part);
    let mut because: Vec<Place> = Vec::new();
    let text = comparison(compared);
    let (precharge, contactor) = closing_of(worst, solved)?;
    let saying = format!(
        "`{part}` closes on {} from what the pre-charge leaves, {}",
        text.carried,
        above(compared, "what its contacts make")
    );
    let rest = solved.figure(precharge.rest_voltage, lane).map(|volts| value(volts, Dimension::Voltage));
    because.extend(
        rest.and_then(|volts| place(solved, precharge.rest, lane, format!("leaves {volts} across it"))),
    );
    let at = place(solved, contactor.makes, lane, format!("makes {}", text.limit));
    Some((
        saying,
        at.unwrap_or_else(|| part_at(solved, worst.part, format!("makes {}", text.limit))),
        because,
    ))
}

/// A contactor of a pre-charge, as that begins.
fn closed_on_empty(
    worst: &Verdict,
    compared: &Comparison,
    solved: &Solved<'_>,
    lane: LaneId,
) -> Option<Saying> {
    let part = solved.variant.path(worst.part);
    let mut because: Vec<Place> = Vec::new();
    let text = comparison(compared);
    let (precharge, contactor) = making_of(worst, solved)?;
    let is_opened = worst.defect == GIVEN_UP;
    let saying = if is_opened {
        format!(
            "`{part}` has to open {} where its pre-charge is given up as it begins, {}",
            text.carried,
            above(compared, "the current that it breaks")
        )
    } else {
        format!(
            "`{part}` closes on {} into an empty bank, {}",
            text.carried,
            above(compared, "what its contacts make")
        )
    };
    let label = |input: InputId, dimension, what: &str| {
        let stated = value(solved.input(input, lane)?, dimension);
        place(solved, input, lane, format!("{what} {stated}"))
    };
    because.extend(
        resistor(precharge, solved, lane).and_then(|input| label(input, Dimension::Resistance, "limited by")),
    );
    because.extend(label(precharge.source, Dimension::Voltage, "charged to"));
    let (input, does) = if is_opened { (contactor.breaks, "breaks") } else { (contactor.makes, "makes") };
    let at = label(input, Dimension::Current, does);
    Some((
        saying,
        at.unwrap_or_else(|| part_at(solved, worst.part, format!("{does} {}", text.limit))),
        because,
    ))
}

/// A bus whose discharge takes too long, or whose resistor loses too much.
fn discharged(worst: &Verdict, compared: &Comparison, solved: &Solved<'_>, lane: LaneId) -> Option<Saying> {
    let part = solved.variant.path(worst.part);
    let mut because: Vec<Place> = Vec::new();
    let text = comparison(compared);
    let (stored, own) = stored_of(worst, solved)?;
    let (what, limit) = match worst.defect {
        PASSIVE => ("by its resistor alone", stored.passively_within),
        ACTIVE if own.active.is_none() => {
            ("by its resistor alone, as nothing that is switched on is stated", stored.within)
        }
        ACTIVE => ("by its discharge", stored.within),
        _ => ("", stored.resistor?.1),
    };
    let saying = if worst.defect == LOSS {
        format!("the discharge resistor of `{part}` loses {}, {}", text.carried, above(compared, "its power"))
    } else {
        format!(
            "`{part}` is below 60 V after {} {what}, {}",
            text.carried,
            above(compared, "the time that it may take")
        )
    };
    let takes = match (worst.defect, own.active) {
        (ACTIVE, Some(ActiveDischarge::Power(watts))) => Some((watts, Dimension::Power)),
        (ACTIVE, Some(ActiveDischarge::Resistance(ohms))) => Some((ohms, Dimension::Resistance)),
        _ => own.resistor.map(|(ohms, _)| (ohms, Dimension::Resistance)),
    };
    let at = takes.and_then(|(input, dimension)| {
        let label =
            format!("{} from {}", value(solved.input(input, lane)?, dimension), highest(own, solved, lane)?);
        place(solved, input, lane, label)
    });
    because.extend(place(solved, limit, lane, format!("{} at most", text.limit)));
    Some((
        saying,
        at.unwrap_or_else(|| part_at(solved, worst.part, format!("{} here", text.carried))),
        because,
    ))
}

/// A contactor within a source that closes on an empty bank.
fn within(worst: &Verdict, solved: &Solved<'_>) -> Told {
    let (variant, plan) = (solved.variant, &solved.variant.plan);
    let bus = plan.closed_unprecharged.iter().find(|(part, _)| *part == worst.part);
    let bus = bus.map_or("its bus", |&(_, bus)| variant.path(plan.buses[bus].part));
    let saying = format!(
        "`{}` within its source closes on the empty bank of `{bus}`: no pre-charge is stated, so that nothing is known to limit the inrush",
        variant.path(worst.part)
    );
    let at = part_at(solved, worst.part, "closes on a bank".to_owned());
    let why = "state the `precharge` of the source, its `resistor` and the `energy` that this stands, or draw contactor, resistor and a branch `around`";
    let facts = adrift(solved).into_iter().collect();
    Told { facts, no_proposal: Some(why.to_owned()), ..Told::new(saying, at) }
}

/// The loads and the discharge resistors that draw while a bus is pre-charged.
fn drawn(precharge: &Precharge, solved: &Solved<'_>, lane: LaneId) -> Vec<Place> {
    let plan = &solved.variant.plan;
    let resistors = precharge.charges.iter().filter_map(|&charge| plan.stored[charge].resistor);
    let resistors = resistors.map(|(ohms, _)| (ohms, Dimension::Resistance));
    let all = core::iter::once((precharge.load, Dimension::Current)).chain(resistors);
    let of = |(input, dimension)| {
        let stated = solved.input(input, lane).filter(|&stated| stated > 0.0)?;
        place(solved, input, lane, format!("{} draws meanwhile", value(stated, dimension)))
    };
    all.filter_map(of).collect()
}

fn highest(stored: &Stored, solved: &Solved<'_>, lane: LaneId) -> Option<String> {
    let bus = &solved.variant.plan.buses[stored.bus];
    Some(value(solved.figure(bus.highest_voltage, lane)?, Dimension::Voltage))
}

/// Less of the voltage of the source left across the contactor, which people write in per cent.
fn left_across(precharge: &Precharge, factor: f64, solved: &Solved<'_>, lane: LaneId) -> Family {
    let mut family = toward(LEFT, precharge.rest, (Dimension::Ratio, ""), factor, solved, lane);
    let Some(now) = solved.input(precharge.rest, lane) else { return family };
    for proposal in &mut family.ladder {
        let Change::Edit(edits) = &mut proposal.change else { continue };
        for (edit, written) in edits {
            *written = percent(edit.value);
            proposal.say = format!("{LEFT}: {} -> {written}", percent(now));
        }
    }
    if let Some(last) = family.ladder.last() {
        family.tried.clone_from(&last.say);
    }
    family
}

pub(super) fn propose(failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
    let worst = failure.worst;
    let (Some(lane), Some(compared)) = (worst.lane(), worst.comparison()) else { return Vec::new() };
    let over = compared.carried_value / compared.allowed;
    let ladder = |name: &str, input: InputId, dimension, factor: f64| {
        toward(name, input, (dimension, ""), factor, solved, lane)
    };
    match worst.defect {
        PARALLELING => paralleling::families(worst, solved),
        SURGE => surge::families(worst, solved),
        ENERGY => {
            let Some(precharge) = precharge_of(worst, solved) else { return Vec::new() };
            vec![ladder("energy of the resistor", precharge.rated_energy, Dimension::Energy, over)]
        }
        INRUSH | GIVEN_UP => {
            let Some((precharge, contactor)) = making_of(worst, solved) else { return Vec::new() };
            let resistor = resistor(precharge, solved, lane);
            let other = match worst.defect {
                INRUSH => ladder("a contactor that makes", contactor.makes, Dimension::Current, over),
                _ => ladder("a contactor that breaks", contactor.breaks, Dimension::Current, over),
            };
            resistor
                .map(|input| ladder("resistor of the pre-charge", input, Dimension::Resistance, over))
                .into_iter()
                .chain([other])
                .collect()
        }
        SLOW => {
            let resistor = precharge_of(worst, solved).and_then(|one| resistor(one, solved, lane));
            let less = |input| ladder("resistor of the pre-charge", input, Dimension::Resistance, 1.0 / over);
            resistor.map(less).into_iter().collect()
        }
        CLOSING => {
            let Some((precharge, contactor)) = closing_of(worst, solved) else { return Vec::new() };
            vec![
                left_across(precharge, 1.0 / over, solved, lane),
                ladder("a contactor that makes", contactor.makes, Dimension::Current, over),
            ]
        }
        NEVER => {
            let Some(precharge) = precharge_of(worst, solved) else { return Vec::new() };
            let load = ladder("load while it is pre-charged", precharge.load, Dimension::Current, 1.0 / over);
            let draws = solved.input(precharge.load, lane).is_some_and(|amps| amps > 0.0);
            let resistor = resistor(precharge, solved, lane);
            let less = |input| ladder("resistor of the pre-charge", input, Dimension::Resistance, 1.0 / over);
            Some(load).filter(|_| draws).into_iter().chain(resistor.map(less)).collect()
        }
        PASSIVE | ACTIVE | LOSS => {
            let Some((_, own)) = stored_of(worst, solved) else { return Vec::new() };
            match (worst.defect, own.active, own.resistor) {
                (ACTIVE, Some(ActiveDischarge::Power(watts)), _) => {
                    vec![ladder("power of the discharge", watts, Dimension::Power, over)]
                }
                (ACTIVE, Some(ActiveDischarge::Resistance(ohms)), _) => {
                    vec![ladder("resistance of the discharge", ohms, Dimension::Resistance, 1.0 / over)]
                }
                (LOSS, _, Some((ohms, power))) => vec![
                    ladder("power of the resistor", power, Dimension::Power, over),
                    ladder("resistor", ohms, Dimension::Resistance, over),
                ],
                (_, _, Some((ohms, _))) => vec![ladder("resistor", ohms, Dimension::Resistance, 1.0 / over)],
                _ => Vec::new(),
            }
        }
        _ => Vec::new(),
    }
}
