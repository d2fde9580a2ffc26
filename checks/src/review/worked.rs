//! The worked calculation of a figure, a line for each step, nearest first.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use loadworthy_unit::trace::Operand;
use loadworthy_unit::{Derivation, FigureId, LaneId, Solved};

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

/// How figures come about, each in a lane; a lane is replayed once for all of its figures.
pub(super) fn worked(solved: &Solved<'_>, figures: &[(FigureId, LaneId)]) -> Vec<Vec<String>> {
    let mut by_lane: BTreeMap<LaneId, Vec<usize>> = BTreeMap::new();
    for (place, &(_, lane)) in figures.iter().enumerate() {
        by_lane.entry(lane).or_default().push(place);
    }
    let mut all = vec![Vec::new(); figures.len()];
    for (lane, places) in by_lane {
        let derivation = solved.derivation(lane);
        for place in places {
            all[place] = lines(solved, &derivation, figures[place].0, lane);
        }
    }
    all
}

fn lines(solved: &Solved<'_>, derivation: &Derivation, figure: FigureId, lane: LaneId) -> Vec<String> {
    let tables = &solved.variant.tables;
    let duty = solved.variant.lane(lane).duty;
    let own = tables.figure_of(figure).part;
    let name = |id: FigureId| {
        let figure = tables.figure_of(id);
        if figure.part == own { figure.name.to_owned() } else { tables.figure_path(id) }
    };
    // The largest of what is known may leave out what is not.
    let is_known = |operand: &Operand| match *operand {
        Operand::Figure(id) => derivation.figures[id.index()].is_finite(),
        Operand::Input(id) => solved.input(id, lane).unwrap_or(tables.stated(id, duty).value).is_finite(),
        Operand::Curve(_) => true,
    };
    let mut lines = Vec::new();
    let mut seen = BTreeSet::new();
    let mut open = VecDeque::from([figure]);
    while let Some(id) = open.pop_front() {
        if !seen.insert(id) {
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
            .filter(|operand| is_known(operand))
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
        let more = if step.from.iter().filter(|operand| is_known(operand)).count() > MOST_OPERANDS {
            ", …"
        } else {
            ""
        };
        let result = value(derivation.figures[id.index()], tables.figure_of(id).dimension);
        let operands =
            if with.is_empty() { String::new() } else { format!(" with {}{more}", with.join(", ")) };
        lines.push(format!("{} = {result}: {}{operands}", name(id), step.law.formula));
        for operand in &step.from {
            if let (Operand::Figure(id), true) = (*operand, is_known(operand)) {
                open.push_back(id);
            }
        }
    }
    lines
}
