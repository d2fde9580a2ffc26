//! Freezing, boiling and cold starts in words, and what would hold.

use loadworthy_unit::plan::CoolantPath;
use loadworthy_unit::{Dimension, Edit, LaneId, Solved};

use super::starved::starved;
use super::{BOILS, COLD_START, FREEZES, figures_of, row_of};
use crate::check::{Change, Failure, Family, Proposal, Told};
use crate::figure_text::{kelvins, percent, value, written};
use crate::review::Place;
use crate::steps::more_flow;
use crate::tell::{part_at, place};

/// Shares of glycol that are tried.
const GLYCOL: [f64; 7] = [0.3, 0.35, 0.4, 0.45, 0.5, 0.55, 0.6];
/// Absolute pressures, in Pa, that are tried.
const PRESSURES: [f64; 6] = [120e3, 140e3, 160e3, 180e3, 200e3, 250e3];

fn degrees(celsius: f64) -> String {
    value(celsius, Dimension::Temperature)
}

pub(super) fn told(failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
    let path = solved.variant.plan.coolant.as_ref()?;
    let lane = failure.worst.lane()?;
    match failure.worst.defect {
        FREEZES => freezes(failure, solved, path, lane),
        BOILS => boils(failure, solved, path, lane),
        COLD_START => cold_start(failure, solved, path, lane),
        _ => None,
    }
}

/// Where the share of glycol stands, or the coolant.
fn mixture(solved: &Solved<'_>, path: &CoolantPath, lane: LaneId) -> Option<Place> {
    let glycol = path.glycol?;
    let share = solved.input(glycol, lane)?;
    place(solved, glycol, lane, format!("{} glycol by volume", percent(share)))
}

fn freezes(failure: &Failure<'_>, solved: &Solved<'_>, path: &CoolantPath, lane: LaneId) -> Option<Told> {
    let compared = failure.worst.comparison()?;
    let (freezing, coldest) = (degrees(compared.carried_value), degrees(compared.limit));
    let saying = if compared.limit < compared.carried_value {
        format!("the coolant freezes at {freezing}, and the surroundings come down to {coldest}")
    } else {
        format!(
            "the coolant freezes at {freezing}, {} below the coldest surroundings of {coldest}: {} less than is kept",
            kelvins(compared.limit - compared.carried_value),
            kelvins(-compared.headroom)
        )
    };
    let at = mixture(solved, path, lane)
        .unwrap_or_else(|| part_at(solved, path.part, format!("freezes at {freezing}")));
    let because = place(solved, path.coldest, lane, format!("down to {coldest}")).into_iter().collect();
    let no_proposal = path.glycol.is_none().then(|| "water alone freezes: mix it with glycol".to_owned());
    Some(Told { because, no_proposal, ..Told::new(saying, at) })
}

/// Coolant of which so little flows that the duty point has no solution.
fn boils_away(failure: &Failure<'_>, solved: &Solved<'_>, path: &CoolantPath, lane: LaneId) -> Option<Told> {
    let of = path.places.iter().find(|place| place.part == failure.worst.part)?;
    let (least, largest) = starved(path, of, solved, lane)?;
    let (name, duty) = (solved.variant.path(of.part), &solved.variant.duty_of(lane).name);
    let (leaves, limit) = (degrees(least.leaves), degrees(least.boils));
    let share = if largest > 0.0 {
        format!("at most {} of what `{duty}` asks has a solution", percent(largest))
    } else {
        format!("no share of what `{duty}` asks has a solution")
    };
    let saying =
        format!("the coolant leaves `{name}` at {leaves} at least, and boils there at {limit}: {share}");
    let flow = solved.input(path.flow, lane).map(|flow| value(flow, Dimension::VolumeFlow));
    let because = flow.and_then(|flow| place(solved, path.flow, lane, format!("{flow} in all")));
    let [heat, rate] = [(least.heat, Dimension::Power), (least.rate, Dimension::HeatCapacityRate)]
        .map(|(of, dimension)| value(of, dimension));
    let arrives = degrees(solved.input(path.inlet, lane)?);
    let worked = vec![
        format!("with coolant of {arrives}, as it arrives, {heat} are lost here; {rate} flow through"),
        format!("{arrives} + {heat}/({rate}): {leaves}, and more once it is warm"),
    ];
    let at = part_at(solved, of.part, format!("{heat} into {rate}"));
    Some(Told { because: because.into_iter().collect(), worked, ..Told::new(saying, at) })
}

fn boils(failure: &Failure<'_>, solved: &Solved<'_>, path: &CoolantPath, lane: LaneId) -> Option<Told> {
    if failure.worst.comparison().is_none() {
        return boils_away(failure, solved, path, lane);
    }
    let compared = failure.worst.comparison()?;
    let of = path.places.iter().find(|place| place.part == failure.worst.part)?;
    let name = solved.variant.path(of.part);
    let (wall, limit) = (degrees(compared.carried_value), degrees(compared.limit));
    let leaving = solved.figure(of.coolant_out, lane)?;
    let less = format!("{} less than is kept", kelvins(-compared.headroom));
    let (saying, label) = if compared.carried == of.coolant_out {
        (
            format!(
                "the coolant itself leaves `{name}` at {wall}, and boils there at {limit}: {less}, and no wall is colder"
            ),
            format!("the coolant leaves it at {wall}"),
        )
    } else {
        let over = kelvins(compared.carried_value - leaving);
        (
            format!(
                "the hottest wall of `{name}` stands at {wall}, and the coolant there boils at {limit}: {less}"
            ),
            format!("its hottest wall is {over} above the coolant of {}", degrees(leaving)),
        )
    };
    let at = part_at(solved, of.part, label);
    let pressure = solved.figure(of.wall.as_ref()?.pressure, lane)?;
    let label = format!("{} absolute here: it boils at {limit}", value(pressure, Dimension::Pressure));
    let stated = solved.input(path.stated_pressure, lane).is_some();
    let pressed = if stated { path.stated_pressure } else { path.altitude };
    let mut because: Vec<Place> = place(solved, pressed, lane, label).into_iter().collect();
    let heat = solved.figure(of.heat, lane)?;
    because.extend(place(
        solved,
        of.passage.bore,
        lane,
        format!(
            "{} into {} through this bore",
            value(heat, Dimension::Power),
            value(solved.figure(of.flow, lane)?, Dimension::VolumeFlow)
        ),
    ));
    Some(Told { because, ..Told::new(saying, at) })
}

fn cold_start(failure: &Failure<'_>, solved: &Solved<'_>, path: &CoolantPath, lane: LaneId) -> Option<Told> {
    let compared = failure.worst.comparison()?;
    let (figures, _) = figures_of(path, row_of(path, failure.worst.part)?)?;
    let name = solved.variant.path(failure.worst.part);
    let flow = value(solved.figure(figures.cold_flow, lane)?, Dimension::VolumeFlow);
    let coldest = degrees(solved.input(path.coldest, lane)?);
    let (cold, warm) = (degrees(compared.carried_value), degrees(compared.limit));
    let saying = format!(
        "with coolant of {coldest} `{name}` gets {flow} alone and leaves at {cold}, {} hotter than the {warm} of warm coolant",
        kelvins(-compared.headroom)
    );
    let at = part_at(solved, failure.worst.part, format!("{flow} when cold"));
    let because = place(solved, path.coldest, lane, format!("thick at {coldest}"))
        .into_iter()
        .chain(mixture(solved, path, lane));
    let whole = solved.figure(path.whole.cold_flow, lane)?;
    let heat = value(solved.figure(figures.heat, lane)?, Dimension::Power);
    let worked = vec![
        format!("flow in all when cold: {}", value(whole, Dimension::VolumeFlow)),
        format!("{heat} into {flow} from {coldest}: {cold}"),
    ];
    Some(Told { because: because.collect(), worked, ..Told::new(saying, at) })
}

pub(super) fn families(failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
    let (Some(path), Some(lane)) = (solved.variant.plan.coolant.as_ref(), failure.worst.lane()) else {
        return Vec::new();
    };
    match failure.worst.defect {
        FREEZES => other_glycol(solved, path, lane, true).into_iter().collect(),
        BOILS => vec![more_pressure(solved, path, lane), more_flow(solved, lane)],
        COLD_START => {
            let mut all = vec![more_flow(solved, lane)];
            all.extend(other_glycol(solved, path, lane, false));
            all
        }
        _ => Vec::new(),
    }
}

/// More glycol, or less of it, step by step.
fn other_glycol(solved: &Solved<'_>, path: &CoolantPath, lane: LaneId, more: bool) -> Option<Family> {
    let glycol = path.glycol?;
    let now = solved.input(glycol, lane)?;
    let mut shares: Vec<f64> = GLYCOL.iter().copied().filter(|&share| (share > now) == more).collect();
    shares.retain(|share| (share - now).abs() > 1e-9);
    if !more {
        shares.reverse();
    }
    let last = *shares.last()?;
    let step = |share: f64| {
        let text = percent(share);
        Proposal {
            say: format!("glycol: {} -> {text}", percent(now)),
            change: Change::Edit(vec![(Edit { input: glycol, value: share }, text)]),
        }
    };
    let way = if more { "up" } else { "down" };
    Some(Family {
        tried: format!("glycol {way} to {}", percent(last)),
        ladder: shares.into_iter().map(step).collect(),
    })
}

/// A loop that is held under more pressure.
fn more_pressure(solved: &Solved<'_>, path: &CoolantPath, lane: LaneId) -> Family {
    let now = solved.figure(path.outlet_pressure, lane).unwrap_or(0.0);
    let step = |pressure: f64| {
        let text = written(pressure, Dimension::Pressure);
        Proposal {
            say: format!("absolute pressure: {} -> {text}", value(now, Dimension::Pressure)),
            change: Change::Edit(vec![(Edit { input: path.stated_pressure, value: pressure }, text)]),
        }
    };
    Family {
        tried: "absolute pressure up to 250 kPa".to_owned(),
        ladder: PRESSURES.iter().copied().filter(|&pressure| pressure > now).map(step).collect(),
    }
}
