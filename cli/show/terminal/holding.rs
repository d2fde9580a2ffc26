//! What holds, least headroom first, one line for each verdict; legs that read alike share one.

use std::cmp::Ordering;

use loadworthy_checks::Review;
use loadworthy_checks::figure_text;
use loadworthy_checks::verdict::{Outcome, Verdict};
use loadworthy_unit::Variant;

use crate::described::Described;
use crate::show::layout::{WIDTH, hanging, width};

use super::paint::Paint;

/// A line of the table. Parts are alike where they are of one stage and one kind, and everything shown of them agrees.
struct Row {
    rank: f64,
    check: &'static str,
    /// Headroom, carried, allowed.
    numbers: [String; 3],
    part: String,
    /// How many more parts read the same.
    more: usize,
    /// What parts must share to share a line.
    family: String,
    whereabouts: String,
}

/// All verdicts that hold, as a table.
pub(crate) fn holding(described: &Described, review: &Review, paint: Paint) -> String {
    let mut rows: Vec<Row> = Vec::new();
    for (variant, verdicts) in described.unit.variants.iter().zip(&review.verdicts) {
        for row in verdicts.iter().filter_map(|verdict| row(variant, verdict)) {
            let same = |other: &&mut Row| {
                other.check == row.check
                    && other.family == row.family
                    && other.numbers == row.numbers
                    && other.whereabouts == row.whereabouts
            };
            // Alike rows stand close together: the legs of one position.
            match rows.iter_mut().rev().take(64).find(same) {
                Some(known) => known.more += 1,
                None => rows.push(row),
            }
        }
    }
    if rows.is_empty() {
        return String::new();
    }
    // A stable sort: of equals the first in the order of the checks and parts stays first.
    rows.sort_by(|one, other| one.rank.partial_cmp(&other.rank).unwrap_or(Ordering::Equal));
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
    text.push_str(&format!("{}   figure, check, duty point\n", line(heads)));
    for row in &rows {
        let [headroom, carried, allowed] = &row.numbers;
        let margin = line([headroom, carried, allowed]);
        let more = if row.more > 0 { format!(" (+{})", row.more) } else { String::new() };
        let about = format!("{}{more}  {}  {}", row.part, row.check, row.whereabouts);
        let indent = width(&margin) + 3;
        // Beside very long numbers there is no room left for a part.
        text.push_str(&if indent < WIDTH / 2 {
            hanging(&margin, indent, &about)
        } else {
            hanging(&margin, 8, &about)
        });
    }
    text.push('\n');
    text
}

fn row(variant: &Variant, verdict: &Verdict) -> Option<Row> {
    let Outcome::Holds(compared) = &verdict.outcome else { return None };
    let text = figure_text::comparison(compared);
    let duty = &variant.duties.get(verdict.duty.index())?.name;
    let whereabouts = match &variant.name {
        Some(name) => format!("{duty}, {name}"),
        None => duty.clone(),
    };
    let part = variant.tables.figure_path(compared.carried);
    let stage = part.split('.').next().unwrap_or_default();
    let mut ends = part.rsplit('.');
    let (last, kind) = (ends.next().unwrap_or_default(), ends.next().unwrap_or_default());
    Some(Row {
        rank: compared.rank(),
        check: verdict.check,
        numbers: [figure_text::headroom(compared), text.carried, text.allowed],
        family: format!("{stage} {kind} {last} {}", verdict.defect),
        more: 0,
        whereabouts,
        part,
    })
}
