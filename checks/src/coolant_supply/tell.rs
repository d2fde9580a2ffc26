//! Missing coolant in words, and what would bring it.

use loadworthy_unit::plan::{CoolantPath, Place as CoolantPlace};
use loadworthy_unit::{Dimension, LaneId, Solved};

use super::{NO_COOLANT, STARVED, TOO_WARM, figures_of};
use crate::check::{Failure, Family, Told};
use crate::figure_text::{kelvins, percent, value};
use crate::steps::{more_flow, wider};
use crate::tell::{part_at, place};

pub(super) fn told(failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
    let path = solved.variant.plan.coolant.as_ref()?;
    match failure.worst.defect {
        NO_COOLANT => no_coolant(failure, solved),
        STARVED => starved(failure, solved, path, failure.worst.lane()?),
        TOO_WARM => too_warm(failure, solved, path, failure.worst.lane()?),
        _ => None,
    }
}

fn no_coolant(failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
    let part = failure.worst.part;
    let name = solved.variant.path(part);
    let magnetic = solved.variant.plan.magnetics.iter().find(|magnetic| magnetic.part == part);
    let largest = magnetic.and_then(|magnetic| {
        let losses = solved.variant.lane_ids().filter_map(|lane| solved.figure(magnetic.loss, lane));
        losses.reduce(f64::max)
    });
    let (saying, label) = match largest {
        Some(watts) => {
            let watts = value(watts, Dimension::Power);
            (
                format!("`{name}` loses up to {watts}, and no coolant passes it"),
                format!("loses up to {watts}, cooled nowhere"),
            )
        }
        None => (
            format!("the devices of `{name}` lose heat, and no coolant passes them"),
            "its devices are cooled nowhere".to_owned(),
        ),
    };
    let no_proposal = format!(
        "name `{name}` under `cools` of the element that it stands on; what is cooled by air alone is not judged here"
    );
    Some(Told { no_proposal: Some(no_proposal), ..Told::new(saying, part_at(solved, part, label)) })
}

fn starved(failure: &Failure<'_>, solved: &Solved<'_>, path: &CoolantPath, lane: LaneId) -> Option<Told> {
    let compared = failure.worst.comparison()?;
    let of = place_of(failure, path)?;
    let name = solved.variant.path(of.part);
    let litres = |flow| value(flow, Dimension::VolumeFlow);
    let (gets, needs) = (litres(compared.limit), litres(compared.carried_value));
    let saying = format!(
        "`{name}` gets {gets} and needs {needs}, {} more than is allowed",
        percent(-compared.headroom)
    );
    let at = place(solved, of.least_flow.as_ref()?.stated, lane, format!("needs {needs}, gets {gets}"))?;
    let mut because = Vec::new();
    let total = solved.figure(path.total_flow, lane)?;
    if solved.input(path.flow, lane).is_some() {
        because.extend(place(solved, path.flow, lane, format!("{} in all", litres(total))));
    }
    let mut worked = vec![format!("{} in all", litres(total))];
    for branch in path.splits.iter().flat_map(|split| &split.branches) {
        if let (Some(flow), Some(share)) =
            (solved.figure(branch.flow, lane), solved.figure(branch.share, lane))
        {
            worked.push(format!(
                "{}: {}, {}",
                solved.variant.path(branch.part),
                litres(flow),
                percent(share)
            ));
        }
    }
    if let Some((_, drop)) = of.drops.last()
        && let Some(pressure) = solved.input(*drop, lane)
    {
        because.extend(place(
            solved,
            *drop,
            lane,
            format!("drops {} here", value(pressure, Dimension::Pressure)),
        ));
    }
    Some(Told { because, worked, ..Told::new(saying, at) })
}

fn too_warm(failure: &Failure<'_>, solved: &Solved<'_>, path: &CoolantPath, lane: LaneId) -> Option<Told> {
    let compared = failure.worst.comparison()?;
    let row = path.rows().find(|&row| path.row_part(row) == failure.worst.part)?;
    let figures = figures_of(path, row)?;
    let name = solved.variant.path(failure.worst.part);
    let heat = value(solved.figure(figures.heat, lane)?, Dimension::Power);
    let flow = match row {
        loadworthy_unit::plan::CoolantRow::Path => path.total_flow,
        loadworthy_unit::plan::CoolantRow::Branch(split, branch) => path.splits[split].branches[branch].flow,
    };
    let flow = value(solved.figure(flow, lane)?, Dimension::VolumeFlow);
    let warms = kelvins(compared.carried_value);
    let saying = format!(
        "the coolant of `{name}` warms by {warms}, {} more than the {} that are permitted: {heat} into {flow}",
        kelvins(compared.carried_value - compared.limit),
        kelvins(compared.limit),
    );
    let at = part_at(solved, failure.worst.part, format!("{heat} into {flow}: {warms}"));
    // The edition's own limit stands nowhere.
    let stated = solved.variant.tables.input_of(path.most_warming).values.first();
    let is_own = stated.is_some_and(|stated| stated.origin.is_written());
    let limit = || place(solved, path.most_warming, lane, format!("at most {}", kelvins(compared.limit)));
    let mut because: Vec<_> = is_own.then(limit).flatten().into_iter().collect();
    if solved.input(path.flow, lane).is_some() {
        because.extend(place(solved, path.flow, lane, "what flows in all".to_owned()));
    }
    Some(Told { because, ..Told::new(saying, at) })
}

fn place_of<'p>(failure: &Failure<'_>, path: &'p CoolantPath) -> Option<&'p CoolantPlace> {
    path.places.iter().find(|place| place.part == failure.worst.part)
}

pub(super) fn families(failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
    let (Some(path), Some(lane)) = (solved.variant.plan.coolant.as_ref(), failure.worst.lane()) else {
        return Vec::new();
    };
    let mut families = vec![more_flow(solved, lane)];
    if let Some(of) = place_of(failure, path).filter(|of| of.pressure_drop.is_some() && of.drops.is_empty()) {
        let name = solved.variant.path(of.part).trim_start_matches("cooling.");
        families.push(wider(of, solved, lane, name));
    }
    families
}
