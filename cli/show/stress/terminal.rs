//! The table for a person at a terminal.

use loadworthy_checks::review::Counts;
use loadworthy_checks::verdict::Outcome;

use crate::described::Described;
use crate::show::layout::{WIDTH, counted, free_text, hanging, width};
use crate::show::terminal::{self, CAUTION, Paint};
use crate::show::words::permit::held_against;
use crate::show::words::review::verdicts;

use super::Stresses;
use super::rows::{Row, rows};
use super::waiting::waiting;

/// Lines that the first screen shows.
const FIRST: usize = 20;
/// What could not be judged, as far as the first screen shows it.
const FIRST_WAITING: usize = 12;
/// Room for the word of what fails.
const MARK: usize = 7;
const MARGIN: usize = 13;
const FAILS: &str = "fails";
const ACCEPTED: &str = "accepted";

/// The stress table.
pub(crate) fn table(described: &Described, stresses: &Stresses<'_>, all: bool, paint: Paint) -> String {
    let mut text = terminal::heading(described, paint);
    text.push_str(&summary(stresses));
    text.push_str("\n\n");
    let saying = "stress, each part where it is worst, worst first\n";
    text.push_str(&rows_shown(stresses, all, "stress", saying, paint));
    text.push_str(&not_judged(described, stresses, all, paint));
    if let Some(day) = stresses.day {
        text.push_str(&paint.heading("permits", &hanging("permits", MARGIN, &held_against(day))));
        text.push('\n');
    }
    text.push_str(&paint.faint(CAUTION));
    text.push('\n');
    text
}

fn summary(stresses: &Stresses<'_>) -> String {
    let count = |is: fn(&Outcome) -> bool| {
        stresses.verdicts.iter().filter(|(_, verdict, _)| is(&verdict.outcome)).count()
    };
    let counts = Counts {
        hold: count(|outcome| matches!(outcome, Outcome::Holds(_))),
        fail: count(|outcome| matches!(outcome, Outcome::Fails { .. })),
        accepted: stresses.verdicts.iter().filter(|(.., permit)| permit.is_some()).count(),
        not_judged: count(|outcome| matches!(outcome, Outcome::NotJudged(_))),
    };
    verdicts(&counts).join("   ")
}

/// The lines of the table.
pub(crate) fn rows_shown(
    stresses: &Stresses<'_>,
    all: bool,
    word: &str,
    saying: &str,
    paint: Paint,
) -> String {
    let rows = rows(stresses);
    if rows.is_empty() {
        return String::new();
    }
    let shown = if all { rows.len() } else { FIRST.min(rows.len()) };
    let columns = Columns::of(&rows[..shown]);
    let mut text = paint.heading(word, saying);
    text.push_str(&columns.head());
    for row in &rows[..shown] {
        text.push_str(&columns.row(row, paint));
    }
    if rows.len() > shown {
        text.push_str(&format!("+{} more, `--all`\n", rows.len() - shown));
    }
    text.push('\n');
    text
}

/// How wide the numbers are.
struct Columns {
    mark: usize,
    headroom: usize,
    numbers: [usize; 3],
}

impl Columns {
    const HEADS: [&'static str; 3] = ["carried", "limit", "allowed"];

    fn of(rows: &[Row]) -> Self {
        let widest = |head: &str, texts: &dyn Fn(&Row) -> usize| {
            rows.iter().map(texts).max().unwrap_or_default().max(width(head))
        };
        let number = |place: usize| widest(Self::HEADS[place], &|row| width(&row.numbers[place]));
        let is_accepted = rows.iter().any(|row| row.is_accepted);
        Self {
            mark: if is_accepted { width(ACCEPTED) + 2 } else { MARK },
            headroom: widest("headroom", &|row| width(&row.headroom)),
            numbers: [number(0), number(1), number(2)],
        }
    }

    /// Where titles begin.
    fn indent(&self) -> usize {
        self.mark + self.headroom + 2
    }

    fn numbers(&self, numbers: [&str; 3]) -> String {
        let right = |(text, columns): (&str, &usize)| {
            format!("{}{text}", " ".repeat(columns.saturating_sub(width(text))))
        };
        numbers.into_iter().zip(&self.numbers).map(right).collect::<Vec<_>>().join("   ")
    }

    fn head(&self) -> String {
        let first = format!("{}headroom", " ".repeat(self.indent() - 2 - width("headroom")));
        format!(
            "{first}  part   what is compared\n{}{}   duty point, variant\n",
            " ".repeat(self.indent()),
            self.numbers(Self::HEADS)
        )
    }

    fn row(&self, row: &Row, paint: Paint) -> String {
        let mark = match (row.fails, row.is_accepted) {
            (true, false) => FAILS,
            (true, true) => ACCEPTED,
            (false, _) => "",
        };
        let free = self.indent() - 2 - width(mark) - width(&row.headroom);
        let margin = format!("{mark}{}{}", " ".repeat(free), row.headroom);
        // What does not fit beside its part stands below it.
        let fits = self.indent() + width(&row.parts) + 3 + width(&row.what) <= WIDTH;
        let title = format!("{}{}{}", row.parts, if fits { "   " } else { "\n" }, row.what);
        let title = hanging(&margin, self.indent(), &title);
        let mut text = match mark {
            FAILS => paint.wrong(FAILS, &title),
            ACCEPTED => paint.heading(ACCEPTED, &title),
            _ => title,
        };
        let indent = " ".repeat(self.indent());
        let [carried, limit, allowed] = &row.numbers;
        let numbers = self.numbers([carried, limit, allowed]);
        if carried.is_empty() {
            if !row.place.is_empty() {
                text.push_str(&hanging("", self.indent(), &row.place));
            }
            return text;
        }
        let behind = self.indent() + width(&numbers) + 3;
        if behind + width(&row.place) <= WIDTH || behind < WIDTH * 2 / 3 {
            text.push_str(&hanging(&format!("{indent}{numbers}"), behind, &row.place));
        } else {
            text.push_str(&format!("{indent}{numbers}\n"));
            text.push_str(&hanging("", self.indent(), &row.place));
        }
        text
    }
}

/// What could not be judged, and that nothing was where that is so.
pub(crate) fn not_judged(described: &Described, stresses: &Stresses<'_>, all: bool, paint: Paint) -> String {
    let broken = stresses.broken.iter().map(|one| {
        format!("{} broke down, which is a defect of this program: {}", one.check, free_text(&one.said))
    });
    let mut lines: Vec<String> = broken.collect();
    if !stresses.verdicts.iter().any(|(_, verdict, _)| verdict.duty().is_some()) {
        lines.push(format!("no part in any duty point ({}); `loadworthy review` says why", described.name));
    }
    lines.extend(waiting(&described.tree, stresses));
    let shown = if all { lines.len() } else { FIRST_WAITING.min(lines.len()) };
    let mut text = String::new();
    for line in &lines[..shown] {
        text.push_str(&paint.heading("not judged", &hanging("not judged", MARGIN, line)));
    }
    if lines.len() > shown {
        let more = counted(lines.len() - shown, "line", "lines");
        text.push_str(&format!("+{more} more not judged, `--all`\n"));
    }
    if !text.is_empty() {
        text.push('\n');
    }
    text
}
