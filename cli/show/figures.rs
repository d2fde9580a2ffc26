//! Every solved figure, as a table: a line for each figure, a column for each duty point.

use loadworthy_checks::figure_text;
use loadworthy_unit::{FigureId, LaneState, PartId, Solved};

use crate::solutions::{ALIKE, Found, Solutions, telling};

use super::layout::{WIDTH, cut, hanging, width};
use loadworthy_checks::corner;

/// Room for the name of a figure.
const NAMES: usize = 30;
/// The least and the most room for a duty point.
const COLUMN: (usize, usize) = (14, 24);

/// All figures of all variants that were asked for.
pub(crate) fn table(solutions: &Solutions<'_>) -> String {
    let mut text = String::new();
    for solved in &solutions.solved {
        let duties = solutions.duties(solved);
        if duties.is_empty() {
            continue;
        }
        let longest =
            duties.iter().map(|duty| width(&solved.variant.duties[*duty].name)).max().unwrap_or_default();
        let column = (longest + 2).clamp(COLUMN.0, COLUMN.1);
        // As many duty points side by side as fit; the others follow below.
        for some in duties.chunks(((WIDTH - NAMES) / column).max(1)) {
            text.push_str(&block(solutions, solved, some, column));
            text.push('\n');
        }
    }
    let has_corners = |solved: &Solved<'_>| solved.variant.lanes.iter().any(|lane| lane.crest != 0);
    if solutions.solved.iter().any(has_corners) {
        text.push_str("Of several corners the largest is shown, of ratings the smallest, and which.\n");
    }
    text
}

fn block(solutions: &Solutions<'_>, solved: &Solved<'_>, duties: &[usize], column: usize) -> String {
    let variant = solved.variant;
    let mut text = match &variant.name {
        Some(name) => hanging("variant", 9, name),
        None => String::new(),
    };
    let mut head = " ".repeat(NAMES);
    for duty in duties {
        head.push_str(&right(&cut(&variant.duties[*duty].name, column - 2), column));
    }
    text.push_str(&format!("{head}\n"));
    let lanes = solutions.lanes(solved);
    let mut part: Option<PartId> = None;
    for (place, figure) in variant.tables.figures().iter().enumerate() {
        if part != Some(figure.part) {
            part = Some(figure.part);
            text.push_str(&hanging(&cut(variant.path(figure.part), 2 * WIDTH), 2, ""));
        }
        let mut line = format!("  {:1$}", figure.name, NAMES - 2);
        for duty in duties {
            let here = lanes.iter().filter(|lane| variant.lane(**lane).duty.index() == *duty);
            let found = here
                .map(|lane| Found { solved, figure: FigureId::new(place), lane: *lane })
                .collect::<Vec<_>>();
            line.push_str(&right(&cell(&found), column));
        }
        text.push_str(line.trim_end());
        text.push('\n');
    }
    text
}

/// The amount to know among the corners of a duty point.
fn cell(found: &[Found<'_, '_>]) -> String {
    let Some(Found { solved, figure, lane }) = telling(found) else { return "–".to_owned() };
    let variant = solved.variant;
    match (solved.figure(figure, lane), solved.state(lane)) {
        (Some(value), _) => {
            let shown = figure_text::value(value, variant.tables.figure_of(figure).dimension);
            match corner::short(variant.lane(lane)) {
                // Where all corners agree, none is worth naming.
                Some(corner) if differ(found, value) => format!("{shown} {corner}"),
                _ => shown,
            }
        }
        (None, LaneState::Solved { .. }) => "–".to_owned(),
        (None, LaneState::NoSolution { .. }) => "no solution".to_owned(),
        (None, LaneState::Undecided { .. }) => "undecided".to_owned(),
    }
}

/// Whether any lane has another amount.
fn differ(found: &[Found<'_, '_>], value: f64) -> bool {
    let other = |one: &Found<'_, '_>| {
        let here = one.solved.figure(one.figure, one.lane);
        here.is_none_or(|here| (here - value).abs() > ALIKE * value.abs())
    };
    found.iter().any(other)
}

fn right(text: &str, column: usize) -> String {
    format!("{}{text}", " ".repeat(column.saturating_sub(width(text)).max(1)))
}
