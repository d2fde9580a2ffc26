//! What resistance a source would need.

use loadworthy_unit::{Dimension, Edit, InputId, LaneId, Solved};

use super::bus_of;
use super::telling::resistances;
use crate::check::{Change, Failure, Family, Proposal};
use crate::figure_text::{value, written};
use crate::steps::as_written;

/// Shares of a resistance that are tried.
const LESS: [f64; 8] = [0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3, 0.2];

/// A source of less resistance, then conductors of less.
pub(super) fn less_resistance(failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
    let Some(lane) = failure.worst.lane() else { return Vec::new() };
    let Some(bus) = bus_of(failure.worst.part, solved, lane) else { return Vec::new() };
    let plan = &solved.variant.plan;
    let sources: Vec<_> = bus.sources.iter().map(|&source| &plan.sources[source]).collect();
    let inside = sources.iter().map(|source| source.resistance);
    let on_the_way =
        |input: &InputId| sources.iter().any(|source| resistances(source, solved, lane).contains(input));
    let inside: Vec<InputId> = inside.filter(on_the_way).collect();
    let lines = sources.iter().flat_map(|source| &source.line).copied().filter(on_the_way);
    let lines: Vec<InputId> = lines.collect();
    [(inside, "another source"), (lines, "shorter or thicker conductors")]
        .into_iter()
        .filter(|(inputs, _)| !inputs.is_empty())
        .map(|(inputs, how)| ladder(&inputs, how, solved, lane))
        .collect()
}

/// A conductor of less resistance.
pub(super) fn better_conductor(failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
    let conductors = &solved.variant.plan.conductors;
    let Some(conductor) = conductors.iter().find(|one| one.part == failure.worst.part) else {
        return Vec::new();
    };
    let Some(lane) = failure.worst.lane() else { return Vec::new() };
    vec![ladder(&[conductor.resistance], "shorter or thicker", solved, lane)]
}

fn ladder(inputs: &[InputId], how: &str, solved: &Solved<'_>, lane: LaneId) -> Family {
    let tables = &solved.variant.tables;
    let step = |share: &f64| {
        let mut said = Vec::new();
        let mut edits = Vec::new();
        for &input in inputs {
            let Some(now) = solved.input(input, lane) else { continue };
            let to = as_written(now * share);
            let text = |ohms| value(ohms, Dimension::Resistance);
            let path = tables.input_of(input).path.as_str();
            let name = path.split_once('.').map_or(path, |(_, name)| name);
            said.push(format!("{name}: {} -> {}", text(now), text(to)));
            edits.push((Edit { input, value: to }, written(to, Dimension::Resistance)));
        }
        Proposal { say: format!("{} ({how})", said.join(" and ")), change: Change::Edit(edits) }
    };
    let ladder: Vec<Proposal> = LESS.iter().map(step).collect();
    let last = ladder.last().map_or_else(String::new, |last| last.say.clone());
    Family { tried: last, ladder }
}
