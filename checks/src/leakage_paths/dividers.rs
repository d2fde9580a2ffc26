//! Dividers from a circuit that hurts to another one: of one resistor they insulate nothing, of several they bound the current.

use loadworthy_unit::plan::{Divider, Isolation};
use loadworthy_unit::{Cause, Dimension, LaneId, Lanes, Solved};

use super::DIVIDER;
use crate::check::{Told, With};
use crate::collect::{Subject, Verdicts, structural};
use crate::figure_text::value;
use crate::isolation::Classes;
use crate::remarks::Remark;
use crate::tell::{part_at, place};
use crate::verdict::{Grade, Missing, Verdict};

/// Every divider between two circuits that something has to keep apart.
pub(super) fn judge(
    isolation: &Isolation,
    (classes, lanes): (&Classes, Lanes),
    solved: &Solved<'_>,
    out: &mut Verdicts,
) {
    for divider in &isolation.dividers {
        let asks = classes.needed(isolation, divider.between).insulation.means() > 0;
        let Some(lane) = lanes.ids().next().filter(|_| asks && classes.hurts(divider.domain)) else {
            continue;
        };
        let in_order = in_order(isolation, divider, lanes, solved);
        let remarks = if in_order == Ok(false) { vec![Remark::IsolationUnseen] } else { Vec::new() };
        let subject = Subject { part: divider.part, defect: DIVIDER, lane: Some(lane), kin: None };
        out.put(solved, subject, structural(in_order, Grade::Major), remarks);
    }
}

/// Whether it is of several resistors and lets no more through with one of them shorted than is allowed.
fn in_order(
    isolation: &Isolation,
    divider: &Divider,
    lanes: Lanes,
    solved: &Solved<'_>,
) -> Result<bool, Vec<Missing>> {
    let lane = lanes.ids().next().unwrap_or(LaneId::new(0));
    let stated = |input| solved.input(input, lane).ok_or(Missing::Cause(Cause::Input(input)));
    let count = stated(divider.resistors).map_err(|missing| vec![missing])?;
    if count < 1.5 {
        return Ok(false);
    }
    let amps = through(isolation, divider, lanes, solved);
    match (amps, stated(divider.allowed)) {
        (Some(amps), Ok(allowed)) => Ok(amps <= allowed),
        (amps, allowed) => {
            let volts = Missing::FigureIn(isolation.domain(divider.domain).voltage, lane);
            let open = amps.is_none().then(|| stated(divider.resistance).err().unwrap_or(volts));
            Err(open.into_iter().chain(allowed.err()).collect())
        }
    }
}

/// Dividers without which the isolation resistance of a domain would do: it is too low for the same cause.
pub(super) fn alone(failing: &Verdict, solved: &Solved<'_>) -> Vec<With> {
    let Some((isolation, lane)) = solved.variant.plan.isolation.as_ref().zip(failing.lane()) else {
        return Vec::new();
    };
    let mut domains = isolation.domains().filter(|(_, domain)| domain.part == failing.part);
    let Some((place, Some(leakage))) = domains.next().map(|(place, domain)| (place, &domain.leakage)) else {
        return Vec::new();
    };
    let of = solved.figure(leakage.together, lane).zip(solved.figure(leakage.least, lane));
    let would_do = |divider: &&Divider| {
        let own = solved.input(divider.resistance, lane);
        divider.domain == place
            && of.zip(own).is_some_and(|((together, least), own)| {
                // Conductances of the others.
                (together.recip() - own.recip()) * least <= 1.0
            })
    };
    let all = isolation.dividers.iter().filter(would_do);
    all.map(|divider| With::of(super::ABOUT.name, DIVIDER, divider.part)).collect()
}

/// What it lets through with one of its resistors shorted, which count as alike, at the largest voltage of its circuit.
fn through(isolation: &Isolation, divider: &Divider, lanes: Lanes, solved: &Solved<'_>) -> Option<f64> {
    let voltage = isolation.domain(divider.domain).voltage;
    let volts = lanes
        .ids()
        .map(|lane| solved.figure(voltage, lane))
        .try_fold(0.0f64, |most, volts| Some(most.max(volts?)))?;
    let lane = lanes.ids().next()?;
    let (count, ohms) = (solved.input(divider.resistors, lane)?, solved.input(divider.resistance, lane)?);
    Some(volts * count / (ohms * (count - 1.0)))
}

pub(super) fn told(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let (variant, lane) = (solved.variant, worst.lane()?);
    let isolation = variant.plan.isolation.as_ref()?;
    let divider = isolation.dividers.iter().find(|one| one.part == worst.part)?;
    let far = if divider.between.0 == divider.domain { divider.between.1 } else { divider.between.0 };
    let [hot, far] = [divider.domain, far].map(|place| isolation.domain(place).name.as_str());
    let (name, count) = (variant.path(worst.part), solved.input(divider.resistors, lane)?);
    let ohms = solved.input(divider.resistance, lane).map(|ohms| value(ohms, Dimension::Resistance));
    let way = "two or more independent resistors in series, of which the others bound the current with any one shorted";
    if count < 1.5 {
        let saying = format!(
            "`{name}` leads from `{hot}` to `{far}` through one resistor: with it shorted nothing keeps them apart"
        );
        let at = place(solved, divider.resistors, lane, "a single fault shorts it".to_owned())
            .unwrap_or_else(|| part_at(solved, worst.part, "one resistor".to_owned()));
        let facts = vec![format!(
            "a divider of {} is no insulation (IEC 61140: protective impedance)",
            ohms.unwrap_or_default()
        )];
        return Some(Told { facts, no_proposal: Some(way.to_owned()), ..Told::new(saying, at) });
    }
    let amps = through(isolation, divider, Lanes::of(variant), solved)?;
    let [amps, allowed] =
        [amps, solved.input(divider.allowed, lane)?].map(|amps| value(amps, Dimension::Current));
    let saying = format!(
        "`{name}` lets {amps} from `{hot}` to `{far}` with one of its {count:.0} resistors shorted, and {allowed} are allowed"
    );
    let at = place(solved, divider.resistance, lane, format!("{} in all", ohms.unwrap_or_default()))
        .unwrap_or_else(|| part_at(solved, worst.part, amps.clone()));
    let because = place(solved, divider.allowed, lane, "allowed here".to_owned()).into_iter().collect();
    let facts = vec![format!("{amps} with one shorted, the others alike; {allowed} allowed")];
    Some(Told {
        because,
        facts,
        no_proposal: Some(
            "a larger resistance, or more resistors of which one alone matters less".to_owned(),
        ),
        ..Told::new(saying, at)
    })
}
