//! What holds, least headroom first and last what compares nothing; verdicts that read alike share a line.

use std::cmp::Ordering;
use std::collections::BTreeSet;

use loadworthy_checks::Review;
use loadworthy_checks::figure_text;
use loadworthy_checks::verdict::{Outcome, Verdict};
use loadworthy_unit::Variant;

use crate::described::Described;
use crate::show::layout::{WIDTH, hanging, width};

use super::paint::Paint;

/// Rows that are looked back at for one that reads alike: those of the same headroom stand close together.
const LOOKED_BACK: usize = 256;

/// A line of the table.
struct Row<'u> {
    rank: f64,
    /// Headroom, carried, allowed.
    numbers: [String; 3],
    /// The figure that is carried, of the first part; of a structure, what was judged.
    figure: String,
    /// What figures must share to share a line: their stage, their kind of part, their name.
    family: String,
    parts: BTreeSet<String>,
    duty: Option<&'u str>,
    variants: Vec<&'u str>,
}

/// All verdicts that hold, as a table.
pub(crate) fn holding(described: &Described, review: &Review, paint: Paint) -> String {
    let rows = rows(described, review);
    if rows.is_empty() {
        return String::new();
    }
    let heads = ["headroom", "carried", "allowed"];
    let columns = heads.iter().enumerate().map(|(place, head)| {
        let widest = rows.iter().map(|row| width(&row.numbers[place])).max().unwrap_or_default();
        widest.max(width(head))
    });
    let columns = columns.collect::<Vec<_>>();
    let line = |cells: [&str; 3]| {
        let cell = |(text, columns): (&str, &usize)| {
            format!("{}{text}", " ".repeat(columns.saturating_sub(width(text))))
        };
        cells.into_iter().zip(&columns).map(cell).collect::<Vec<_>>().join("   ")
    };
    let mut text = paint.heading("holds", "holds, least headroom first\n");
    text.push_str(&format!("{}   figure, duty point\n", line(heads)));
    for row in &rows {
        let [headroom, carried, allowed] = &row.numbers;
        let margin = line([headroom, carried, allowed]);
        let indent = width(&margin) + 3;
        // Beside very long numbers there is no room left for a figure.
        let indent = if indent < WIDTH / 2 { indent } else { 8 };
        text.push_str(&hanging(&margin, indent, &about(row)));
    }
    text.push('\n');
    text
}

fn about(row: &Row<'_>) -> String {
    let more = row.parts.len().saturating_sub(1);
    let more = if more > 0 { format!("; +{more} alike") } else { String::new() };
    let places = row.duty.iter().chain(&row.variants).copied().collect::<Vec<_>>().join(", ");
    let gap = if row.duty.is_some() {
        "\n"
    } else if places.is_empty() {
        ""
    } else {
        "; "
    };
    format!("{}{gap}{places}{more}", row.figure)
}

/// The rows, least headroom first.
fn rows<'u>(described: &'u Described, review: &Review) -> Vec<Row<'u>> {
    let of = described.unit.variants.iter().zip(&review.verdicts);
    let mut all: Vec<Row<'u>> =
        of.flat_map(|(variant, verdicts)| verdicts.iter().filter_map(|one| row(variant, one))).collect();
    // A stable sort: of equals the first in the order of the checks and parts stays first. What reads alike comes together.
    all.sort_by(|one, other| one.rank.partial_cmp(&other.rank).unwrap_or(Ordering::Equal));
    let mut rows: Vec<Row<'u>> = Vec::new();
    for row in all {
        let alike = |other: &&mut Row<'u>| {
            other.family == row.family && other.numbers == row.numbers && other.duty == row.duty
        };
        match rows.iter_mut().rev().take(LOOKED_BACK).find(alike) {
            Some(known) => {
                known.parts.extend(row.parts);
                let new = row.variants.into_iter().filter(|name| !known.variants.contains(name));
                let new = new.collect::<Vec<_>>();
                known.variants.extend(new);
            }
            None => rows.push(row),
        }
    }
    rows
}

fn row<'u>(variant: &'u Variant, verdict: &Verdict) -> Option<Row<'u>> {
    let Outcome::Holds(compared) = &verdict.outcome else { return None };
    let duty = match verdict.duty() {
        Some(duty) => Some(variant.duties.get(duty.index())?.name.as_str()),
        None => None,
    };
    let parts = BTreeSet::from([variant.path(verdict.part).to_owned()]);
    let variants = variant.name.as_deref().into_iter().collect();
    let Some(compared) = compared else {
        return Some(Row {
            rank: f64::INFINITY,
            numbers: ["-", "", ""].map(str::to_owned),
            figure: format!("{} of {}", verdict.check, variant.path(verdict.part)),
            family: format!("{} {}", verdict.check, verdict.defect),
            parts,
            duty,
            variants,
        });
    };
    let text = figure_text::comparison(compared);
    let figure = variant.tables.figure_path(compared.carried);
    let stage = figure.split('.').next().unwrap_or_default();
    let mut ends = figure.rsplit('.');
    let (name, kind) = (ends.next().unwrap_or_default(), ends.next().unwrap_or_default());
    Some(Row {
        rank: compared.rank(),
        numbers: [figure_text::headroom(compared), text.carried, text.allowed],
        family: format!("{} {stage} {kind} {name} {}", verdict.check, verdict.defect),
        parts,
        duty,
        variants,
        figure,
    })
}
