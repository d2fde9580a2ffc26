//! A conductor that gets too hot, in words.

use loadworthy_unit::plan::{Body, Conductor, ConductorHeat};
use loadworthy_unit::{Dimension, InputId, LaneId, Solved};

use super::{BEYOND_FOIL, heated};
use crate::check::Told;
use crate::cycle::Cycle;
use crate::figure_text::{comparison, value};
use crate::remarks::Remark;
use crate::review::Place;
use crate::tell::{above, asked_at_end, part_at, place, policy_place, within};
use crate::verdict::Verdict;

pub(super) fn told(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let (variant, lane) = (solved.variant, worst.lane()?);
    let (conductor, heat) = heated(solved).find(|(conductor, _)| conductor.part == worst.part)?;
    let compared = worst.comparison()?;
    let text = comparison(compared);
    let part = format!("`{}` in `{}`", variant.path(worst.part), variant.path(conductor.branch));
    let cycle = Cycle::of(heat.figures.heating_current, solved, lane).ok().flatten();
    let is_weighed = worst.remarks.iter().any(|remark| matches!(remark, Remark::OverCycle { .. }));
    let cycle = cycle.filter(|_| is_weighed);
    let amps = solved.figure(heat.figures.heating_current, lane);
    let amps = amps.map_or_else(String::new, |amps| value(amps, Dimension::Current));
    let saying = if worst.defect == BEYOND_FOIL {
        format!(
            "{part} carries {}, more than the {} that any printed foil is known for",
            text.carried, text.limit
        )
    } else {
        let reaches = match within(solved, lane, solved.is_warmed(lane) && heat.holds_heat()) {
            within if within.is_empty() => format!("settles at {}", text.carried),
            within => format!("reaches {}{within}", text.carried),
        };
        format!("{part} {reaches}, {}", above(compared, "the highest of what touches it"))
    };
    let label = match (&cycle, ripple(heat, solved, lane)) {
        (Some(cycle), _) => format!(
            "{} for {} in each {} heat it like {} for good",
            value(cycle.current, Dimension::Current),
            value(cycle.lasts, Dimension::Time),
            value(cycle.every, Dimension::Time),
            value(cycle.rms(), Dimension::Current)
        ),
        (None, Some(ripple)) => format!("heated like {amps} of direct current: {ripple}"),
        (None, None) => format!("{amps} pass here"),
    };
    let mut because: Vec<Place> = asked_at_end(conductor, solved, lane).into_iter().collect();
    because.extend(section(heat, solved, lane));
    because.extend(surroundings(conductor, heat, solved, lane));
    if worst.defect != BEYOND_FOIL {
        let stands = format!("may reach {}", text.limit);
        because.extend(place(solved, heat.hottest, lane, stands));
    }
    because.extend(compared.policy.and_then(|item| policy_place(solved, item)));
    let worked = cycle.iter().map(Cycle::worked).collect();
    Some(Told { because, worked, ..Told::new(saying, part_at(solved, conductor.branch, label)) })
}

/// Direct current and ripple, where there is any worth naming.
fn ripple(heat: &ConductorHeat, solved: &Solved<'_>, lane: LaneId) -> Option<String> {
    let ripple = solved.figure(heat.figures.ripple, lane)?;
    let heating = solved.figure(heat.figures.heating_current, lane)?;
    (ripple > 0.02 * heating).then(|| format!("{} of ripple pass with it", value(ripple, Dimension::Current)))
}

/// Where the section stands.
fn section(heat: &ConductorHeat, solved: &Solved<'_>, lane: LaneId) -> Option<Place> {
    let number = |input: InputId, dimension| solved.input(input, lane).map(|number| value(number, dimension));
    match heat.body {
        Body::Bar { width, thickness, .. } | Body::Foil { width, thickness, .. } => {
            let sides = [number(width, Dimension::Length)?, number(thickness, Dimension::Length)?];
            place(solved, thickness, lane, sides.join(" by "))
        }
        Body::Cable { section, .. } => place(solved, section, lane, number(section, Dimension::Area)?),
        Body::Contact { thermal_resistance, .. } => {
            let path = number(thermal_resistance, Dimension::ThermalResistance)?;
            place(solved, thermal_resistance, lane, format!("{path} to the air"))
        }
    }
}

/// Where the temperature around it stands.
fn surroundings(
    conductor: &Conductor,
    heat: &ConductorHeat,
    solved: &Solved<'_>,
    lane: LaneId,
) -> Option<Place> {
    if let Body::Bar { pad: Some(pad), .. } = heat.body {
        let path = value(solved.input(pad.resistance, lane)?, Dimension::ThermalResistance);
        return place(solved, pad.resistance, lane, format!("{path} to the coolant"));
    }
    let air = value(solved.input(conductor.surroundings, lane)?, Dimension::Temperature);
    place(solved, conductor.surroundings, lane, format!("air of {air} around it"))
}
