//! What a run over several files came to: a table with a line for each file, or one line for all of them.

use crate::gathered::Gathered;
use crate::show::layout::{WIDTH, counted, cut, free_text, width};
use crate::show::words;
use crate::tally::{ByGrade, Ends, Row, Sum};

use super::paint::Paint;

/// Columns that the name of a unit has at least.
const NARROWEST: usize = 8;
/// Between two columns of text.
const GAP: &str = "  ";

/// The table, with the sum below it.
pub(crate) fn table(rows: &[Row], paint: Paint) -> String {
    let sum = Sum::of(rows);
    let folder = shared_folder(rows);
    let file = |row: &Row| row.file[folder.len()..].to_owned();
    let unit = |row: &Row| match (&row.unit, &row.unreadable) {
        (_, Some(why)) => why.clone(),
        (Some(unit), None) => free_text(unit),
        (None, None) => String::new(),
    };
    let with_accepted = sum.counts.accepted > 0;
    let numbers = |counts: &loadworthy_checks::review::Counts, found: &ByGrade| {
        let mut numbers = vec![counts.hold, counts.fail];
        if with_accepted {
            numbers.push(counts.accepted);
        }
        numbers.extend([counts.not_judged, found.major, found.minor, found.note]);
        numbers
    };
    let mut headings = vec![("", "hold"), ("", "fail")];
    if with_accepted {
        headings.push(("of which", "accepted"));
    }
    headings.extend([("not", "judged"), ("", "major"), ("", "minor"), ("", "note")]);
    let longest = |texts: Vec<usize>, heading: &str| texts.into_iter().max().unwrap_or(0).max(width(heading));
    let total = numbers(&sum.counts, &sum.findings);
    let columns = headings.iter().zip(&total);
    let columns = columns.map(|((_, heading), total)| width(heading).max(width(&total.to_string())));
    let columns = columns.collect::<Vec<_>>();
    let outcome = longest(rows.iter().map(|row| width(row.ends.short())).collect(), "outcome");
    let files = longest(rows.iter().map(|row| width(&file(row))).collect(), "file");
    let gaps = width(GAP) * 2 + columns.len();
    let rest = WIDTH.saturating_sub(outcome + files + gaps + columns.iter().sum::<usize>()).max(NARROWEST);
    let units = longest(rows.iter().map(|row| width(&unit(row))).collect(), "unit").min(rest);
    let line = |ends: &str, file: &str, unit: &str, cells: &[String]| {
        let mut line = format!("{ends:<outcome$}{GAP}{file:<files$}{GAP}{:<units$}", cut(unit, units));
        for (cell, column) in cells.iter().zip(&columns) {
            line.push_str(&format!(" {cell:>column$}", column = *column));
        }
        format!("{}\n", line.trim_end())
    };
    let words = |numbers: Vec<usize>| numbers.iter().map(ToString::to_string).collect::<Vec<_>>();
    let mut text = String::new();
    if !folder.is_empty() {
        text.push_str(&format!("in {folder}\n"));
    }
    let (above, below): (Vec<_>, Vec<_>) =
        headings.iter().map(|(above, below)| ((*above).to_owned(), (*below).to_owned())).unzip();
    text.push_str(&line("", "", "", &above));
    let heading = line("outcome", "file", "unit", &below);
    text.push_str(&paint.heading(heading.trim_end(), &heading));
    for row in rows {
        // Of a file that could not be opened nothing is known.
        let cells = if row.unreadable.is_some() {
            vec!["-".to_owned(); columns.len()]
        } else {
            words(numbers(&row.counts, &row.findings))
        };
        let shown = line(row.ends.short(), &file(row), &unit(row), &cells);
        text.push_str(&match row.ends {
            Ends::Holds | Ends::HoldsAtMinor | Ends::HoldsAtMajor => shown,
            Ends::NotJudged => paint.heading(row.ends.words(), &shown),
            _ => paint.wrong(row.ends.words(), &shown),
        });
    }
    let name = counted(rows.len(), "file", "files");
    text.push_str(&line("all", &name, "", &words(total)));
    text
}

/// One line for a whole run: the gravest outcome, how many files end in which way, and the sums.
pub(crate) fn one_line(rows: &[Row], files: &Gathered) -> String {
    let sum = Sum::of(rows);
    let gravest = if files.is_whole() { sum.gravest } else { Ends::Unreadable };
    let mut parts = vec![gravest.words().to_owned()];
    if rows.len() > 1 {
        let ways = Ends::ALL.iter().filter_map(|ends| {
            let number = rows.iter().filter(|row| row.ends == *ends).count();
            (number > 0).then(|| format!("{} {number}", ends.words()))
        });
        let ways = ways.collect::<Vec<_>>().join(", ");
        parts.push(format!("{}: {ways}", counted(rows.len(), "file", "files")));
    }
    if rows.is_empty() {
        parts.extend(files.nothing.first().cloned());
        return parts.join("   ") + "\n";
    }
    if sum.problems > 0 {
        parts.push(counted(sum.problems, "problem", "problems"));
    }
    parts.extend(words::review::verdicts(&sum.counts));
    parts.extend(words::review::grades_of(sum.findings));
    let others = files.left_out.other.len() + files.left_out.links.len();
    if others > 0 {
        parts.push(format!("{others} left out"));
    }
    parts.extend(files.nothing.first().cloned());
    // The first of those that end worst is where to look.
    if let Some(row) =
        rows.iter().find(|row| row.ends == sum.gravest && (rows.len() == 1 || row.ends > Ends::HoldsAtMajor))
    {
        let why = row.unreadable.as_ref().map_or_else(String::new, |why| format!(": {why}"));
        let first = if rows.len() > 1 { "first " } else { "" };
        parts.push(format!("{first}{}{why}", row.file));
    }
    parts.join("   ") + "\n"
}

/// The folder that all files stand in, with its last `/`; nothing where they have none in common.
fn shared_folder(rows: &[Row]) -> &str {
    let Some(first) = rows.first().map(|row| row.file.as_str()) else { return "" };
    let shared = rows.iter().skip(1).fold(first, |shared, row| {
        let same = shared.char_indices().zip(row.file.chars()).take_while(|((_, one), other)| one == other);
        let end = same.last().map_or(0, |((at, one), _)| at + one.len_utf8());
        &shared[..end]
    });
    shared.rfind('/').map_or("", |end| &shared[..=end])
}
