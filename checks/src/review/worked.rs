//! The worked calculation of a figure, a line for each step, nearest first.

use std::collections::VecDeque;

use loadworthy_unit::trace::Operand;
use loadworthy_unit::{FigureId, LaneId, Solved};

use crate::figure_text::value;

/// Lines that a finding shows; the whole tree is another command's.
const MOST_LINES: usize = 8;
/// A step of more operands than this is a sum over parts, and its terms are not named one by one.
const MOST_OPERANDS: usize = 6;

/// The last two steps of a path, which tell `carrier.frequency` from `winch_motor.frequency`.
fn last_two(path: &str) -> &str {
    let place = path.rmatch_indices('.').nth(1).map_or(0, |(dot, _)| dot + 1);
    &path[place..]
}

/// How a figure comes about in a lane.
pub(super) fn worked(solved: &Solved<'_>, figure: FigureId, lane: LaneId) -> Vec<String> {
    let derivation = solved.derivation(lane);
    let tables = &solved.variant.tables;
    let duty = solved.variant.lane(lane).duty;
    let own = tables.figure_of(figure).part;
    let name = |id: FigureId| {
        let figure = tables.figure_of(id);
        if figure.part == own { figure.name.to_owned() } else { tables.figure_path(id) }
    };
    let mut lines = Vec::new();
    let mut seen = vec![false; tables.figures().len()];
    let mut open = VecDeque::from([figure]);
    while let Some(id) = open.pop_front() {
        if core::mem::replace(&mut seen[id.index()], true) {
            continue;
        }
        let Some(step) = derivation.steps.of(id) else { continue };
        if lines.len() == MOST_LINES {
            lines.push("…".to_owned());
            break;
        }
        let with: Vec<String> = step
            .from
            .iter()
            .take(MOST_OPERANDS)
            .map(|operand| match *operand {
                Operand::Figure(id) => {
                    format!(
                        "{} {}",
                        name(id),
                        value(derivation.figures[id.index()], tables.figure_of(id).dimension)
                    )
                }
                Operand::Input(id) => {
                    let input = tables.input_of(id);
                    let key = last_two(&input.path);
                    let now = solved.input(id, lane).unwrap_or(tables.stated(id, duty).value);
                    format!("{key} {}", value(now, input.dimension))
                }
                Operand::Curve(id) => tables.curve_of(id).path.clone(),
            })
            .collect();
        let more = if step.from.len() > MOST_OPERANDS { ", …" } else { "" };
        let result = value(derivation.figures[id.index()], tables.figure_of(id).dimension);
        let operands =
            if with.is_empty() { String::new() } else { format!(" with {}{more}", with.join(", ")) };
        lines.push(format!("{} = {result}: {}{operands}", name(id), step.law.formula));
        for operand in &step.from {
            if let Operand::Figure(id) = *operand {
                open.push_back(id);
            }
        }
    }
    lines
}
