//! What else a change changes.

use std::collections::BTreeMap;

use loadworthy_unit::{Dimension, FigureId, LaneId, Solved};

use super::group::Key;
use crate::figure_text::{headroom, kelvins, value};
use crate::verdict::{Comparison, Verdict};

/// Headroom that shrinks by less than this, on the scale of [`Comparison::rank`], is not worth a word.
const HEADROOM: f64 = 0.02;
/// Nor is a coolant outlet that moves by fewer kelvins,
const OUTLET: f64 = 0.3;
/// nor a loss or a ripple that changes by a smaller share.
const SHARE: f64 = 0.05;
/// Lines that are shown.
const MOST_LINES: usize = 5;

/// What a trial changes besides the finding it is for.
pub(super) fn side_effects(
    finding: &Key<'_>,
    (before, after): (&Solved<'_>, &Solved<'_>),
    (verdicts, tried): (&[Verdict], &[Verdict]),
) -> Vec<String> {
    let mut lines = headrooms(finding, before, verdicts, tried);
    lines.extend(outlet(before, after));
    for bridge in &before.variant.plan.bridges {
        let name = before.variant.path(bridge.part);
        let figures = &bridge.figures;
        lines.extend(share("loss", name, figures.loss, Dimension::Power, before, after));
        if let Some(ripple) = figures.phase_ripple {
            lines.extend(share("phase ripple", name, ripple, Dimension::Current, before, after));
        } else if after.edits.iter().any(|edit| edit.input == bridge.inputs.carrier) {
            lines.push(format!("phase ripple of {name} grows as the carrier falls; by how much is not known without an inductance"));
        }
        lines.extend(share("link ripple", name, figures.link_ripple, Dimension::Current, before, after));
    }
    lines.truncate(MOST_LINES);
    lines
}

/// Findings that go with it, and headrooms that shrink.
fn headrooms(finding: &Key<'_>, before: &Solved<'_>, verdicts: &[Verdict], tried: &[Verdict]) -> Vec<String> {
    let was = least(before, verdicts);
    let is = least(before, tried);
    let mut lines = Vec::new();
    let mut cured: Vec<String> = Vec::new();
    for (key, (worst, fails)) in &was {
        if key == finding {
            continue;
        }
        match is.get(key) {
            Some((now, still_fails)) if *fails && !*still_fails => {
                cured.push(format!("{} of {} ({} left)", key.check, key.stage, headroom(now)));
            }
            Some((now, _)) if now.rank() < worst.rank() - HEADROOM => lines.push(format!(
                "{} headroom of {} {} -> {}",
                key.check,
                key.stage,
                headroom(worst),
                headroom(now)
            )),
            _ => {}
        }
    }
    if let Some(first) = cured.first() {
        let more = if cured.len() > 1 { format!(" and {} more", cured.len() - 1) } else { String::new() };
        lines.insert(0, format!("also holds: {first}{more}"));
    }
    lines
}

/// The least headroom of each cause, and whether any of its verdicts fails.
fn least<'u>(solved: &Solved<'u>, verdicts: &[Verdict]) -> BTreeMap<Key<'u>, (Comparison, bool)> {
    let mut least: BTreeMap<Key<'u>, (Comparison, bool)> = BTreeMap::new();
    for verdict in verdicts {
        let Some(comparison) = verdict.comparison() else { continue };
        least
            .entry(Key::of(verdict, solved.variant))
            .and_modify(|(worst, fails)| {
                *fails |= verdict.fails();
                if comparison.rank() < worst.rank() {
                    *worst = *comparison;
                }
            })
            .or_insert((*comparison, verdict.fails()));
    }
    least
}

/// The largest move of the coolant's outlet temperature.
fn outlet(before: &Solved<'_>, after: &Solved<'_>) -> Option<String> {
    let figure = before.variant.plan.coolant.as_ref()?.outlet;
    let (_, was, is) = largest_change(figure, before, after, |was, is| (is - was).abs())?;
    let moved = is - was;
    let sign = if moved > 0.0 { "+" } else { "" };
    (moved.abs() >= OUTLET).then(|| format!("coolant outlet {sign}{}", kelvins(moved)))
}

/// The largest change of a figure as a share of what it was.
fn share(
    what: &str,
    of: &str,
    figure: FigureId,
    dimension: Dimension,
    before: &Solved<'_>,
    after: &Solved<'_>,
) -> Option<String> {
    let relative = |was: f64, is: f64| if was.abs() > 0.0 { (is / was - 1.0).abs() } else { 0.0 };
    let (lane, was, is) = largest_change(figure, before, after, relative)?;
    let duty = &before.variant.duty_of(lane).name;
    (relative(was, is) >= SHARE)
        .then(|| format!("{what} of {of} {} -> {} in {duty}", value(was, dimension), value(is, dimension)))
}

fn largest_change(
    figure: FigureId,
    before: &Solved<'_>,
    after: &Solved<'_>,
    size: impl Fn(f64, f64) -> f64,
) -> Option<(LaneId, f64, f64)> {
    let lanes = before.variant.lane_ids();
    let both =
        lanes.filter_map(|lane| Some((lane, before.figure(figure, lane)?, after.figure(figure, lane)?)));
    both.reduce(|largest, one| if size(one.1, one.2) > size(largest.1, largest.2) { one } else { largest })
}
