//! Larger sections, in the steps in which they are bought.

use loadworthy_physics::conductors::{cable, foil};
use loadworthy_unit::plan::{Body, ConductorHeat};
use loadworthy_unit::{Dimension, Edit, InputId, LaneId, Solved};

use super::heated;
use crate::check::{Change, Failure, Family, Proposal};
use crate::figure_text::{value, written};
use crate::verdict::EQUAL_WITHIN;

/// Thicknesses and widths of bars that are rolled, in mm.
const THICKNESSES: [f64; 12] = [0.5, 0.8, 1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0];
const WIDTHS: [f64; 14] =
    [10.0, 12.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0, 100.0, 120.0, 150.0];
/// Thicknesses of foil in µm, and its widths in mm.
const FOILS: [f64; 4] = [17.0, 35.0, 70.0, 105.0];
const FOIL_WIDTHS: [f64; 10] = [1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 9.0, 10.0];
/// Larger sections that are tried.
const LARGER: usize = 6;

/// Something that may be larger, with the sizes that follow.
struct Step {
    name: &'static str,
    input: InputId,
    dimension: Dimension,
    sizes: Vec<f64>,
}

pub(super) fn families(failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
    let Some(lane) = failure.worst.lane() else { return Vec::new() };
    let mut parts = Vec::new();
    let mut rows: Vec<(String, Vec<Step>)> = Vec::new();
    for verdict in failure.all {
        let found = heated(solved).find(|(conductor, _)| conductor.part == verdict.part);
        let (Some((_, heat)), false) = (found, parts.contains(&verdict.part)) else { continue };
        parts.push(verdict.part);
        rows.push((solved.variant.path(verdict.part).to_owned(), steps(heat, solved, lane)));
    }
    let most = rows.iter().map(|(_, steps)| steps.len()).max().unwrap_or(0);
    (0..most).map(|kind| family(kind, &rows, solved, lane)).collect()
}

/// The kinds of larger sections of one conductor.
fn steps(heat: &ConductorHeat, solved: &Solved<'_>, lane: LaneId) -> Vec<Step> {
    let step = |name, input, dimension, sizes: &mut dyn Iterator<Item = f64>| {
        let now = solved.input(input, lane).unwrap_or(f64::INFINITY);
        let larger = sizes.filter(|&size| size > now * (1.0 + EQUAL_WITHIN)).take(LARGER).collect();
        Step { name, input, dimension, sizes: larger }
    };
    let length = Dimension::Length;
    let mm = |sizes: &'static [f64]| sizes.iter().map(|size| size * 1e-3);
    match heat.body {
        Body::Bar { width, thickness, .. } if heat.section.is_some() => vec![
            step("thickness", thickness, length, &mut mm(&THICKNESSES)),
            step("width", width, length, &mut mm(&WIDTHS)),
        ],
        Body::Cable { section, .. } if heat.section.is_some() => {
            vec![step("section", section, Dimension::Area, &mut cable::sections().map(|area| area.si()))]
        }
        Body::Foil { width, thickness, .. } => {
            let known = |size: &f64| *size <= foil::MOST_WIDTH.si();
            vec![
                step("width", width, length, &mut mm(&FOIL_WIDTHS).filter(known)),
                step("thickness", thickness, length, &mut FOILS.iter().map(|size| size * 1e-6)),
            ]
        }
        Body::Bar { .. } | Body::Cable { .. } | Body::Contact { .. } => Vec::new(),
    }
}

/// One kind of change at all conductors that have it, step by step.
fn family(kind: usize, rows: &[(String, Vec<Step>)], solved: &Solved<'_>, lane: LaneId) -> Family {
    let mut ladder = Vec::new();
    for rung in 0..LARGER {
        let mut edits: Vec<(Edit, String)> = Vec::new();
        let mut says: Vec<String> = Vec::new();
        for (name, steps) in rows {
            let Some(step) = steps.get(kind) else { continue };
            let Some(&to) = step.sizes.get(rung) else { continue };
            let from =
                solved.input(step.input, lane).map_or_else(String::new, |now| value(now, step.dimension));
            says.push(format!("{} of {name}: {from} -> {}", step.name, value(to, step.dimension)));
            edits.push((Edit { input: step.input, value: to }, written(to, step.dimension)));
        }
        if !edits.is_empty() {
            ladder.push(Proposal { say: says.join(", "), change: Change::Edit(edits) });
        }
    }
    let tried = ladder.last().map_or_else(String::new, |last| format!("up to {}", last.say));
    Family { tried, ladder }
}
