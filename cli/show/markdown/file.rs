//! One file's review in sections: those that matter most have room first.

use loadworthy_checks::Review;
use loadworthy_checks::review::{Assumed, Counts, NotJudged};
use loadworthy_source::{Problem, Tree};

use crate::described::{Described, MORE_PROBLEMS};
use crate::permits::Day;
use crate::reviewed::{FileReview, Made};
use crate::show::cautions;
use crate::show::layout::{counted, free_text};
use crate::show::places;
use crate::show::terminal::{Mark, snippet};
use crate::show::words;
use crate::show::words::review::found;

use crate::tally::Ends;

use super::block::{MOST_PLACES, item, sentence};
use super::escape::{code, fence, message, text};
use super::room::Section;
use super::{faults, finding, table, verdict};

/// What is shown of a file, whole; room is found for it where all files are known.
pub(crate) struct Sheet {
    pub(super) name: String,
    pub(super) ends: Ends,
    /// Absent where the file could not be opened.
    pub(super) counts: Option<Counts>,
    /// Its findings in a word, such as `1 major`.
    pub(super) found: String,
    pub(super) cautions: Vec<&'static str>,
    /// Its verdict and what it is about.
    head: String,
    sections: Vec<Section>,
}

impl Sheet {
    /// The review of a file, or why there is none.
    pub(crate) fn of(file: &FileReview) -> Self {
        match &file.made {
            Ok(made) => Self::made(made, file.ends),
            Err(why) => Self {
                name: file.name.clone(),
                ends: file.ends,
                counts: None,
                found: why.clone(),
                cautions: Vec::new(),
                head: format!("**Not read**: {}: {}.\n", code(&file.name), text(why)),
                sections: Vec::new(),
            },
        }
    }

    fn made(Made { described, review, besides }: &Made, ends: Ends) -> Self {
        let day = besides.day;
        let rows = review.findings.iter().map(|one| table::finding(described, one)).collect();
        let full = review.findings.iter().map(|one| finding::finding(described, one, day)).collect();
        let accepted = |one| finding::accepted(described, one, one.grade.word(), day);
        let accepted = review.accepted.iter().map(accepted).collect();
        let permits = permits(day);
        let walks = besides.faults.as_deref().unwrap_or_default();
        let command = code(&format!("loadworthy review --all {}", words::finding::quoted(&described.name)));
        let section = |rank, head: &str, blocks: Vec<String>, more| Section {
            rank,
            head: head.to_owned(),
            blocks,
            more,
            command: command.clone(),
            ..Section::default()
        };
        let finding = ("finding", "findings");
        let mut sections = vec![
            section(2, &table::head(&table::FINDINGS), rows, finding),
            section(3, "**Problems of the description**:\n\n", problems(described), ("problem", "problems")),
            section(
                4,
                "**Not judged**, which is not a pass:\n\n",
                not_judged(described, review),
                ("reason", "reasons"),
            ),
            section(6, "", full, ("finding in full", "findings in full")),
            section(5, &permits, accepted, ("accepted finding", "accepted findings")),
            section(8, "**Assumed**, and it decides:\n\n", assumed(review), ("default", "defaults")),
            section(9, "", stated(described, review), ("line", "lines")),
        ];
        let single = ("single fault", "single faults");
        sections
            .extend(faults::walks(walks).into_iter().map(|(head, blocks)| section(7, &head, blocks, single)));
        Self {
            name: described.name.clone(),
            ends,
            counts: Some(review.counts),
            found: found(described, review).unwrap_or_else(|| "none".to_owned()),
            cautions: cautions::of(review),
            head: head(described, review, ends),
            sections,
        }
    }

    /// Puts its sections behind those of other files.
    pub(super) fn put(self, is_alone: bool, all: &mut Vec<Section>) {
        let under = all.len();
        let head = if is_alone { self.head } else { format!("### {}\n\n{}", code(&self.name), self.head) };
        all.push(Section { blocks: vec![head], rank: 1, more: ("file", "files"), ..Section::default() });
        for section in self.sections.into_iter().filter(|section| !section.blocks.is_empty()) {
            all.push(Section { under: Some(under), ..section });
        }
    }
}

/// What stands over findings that permits accept.
pub(super) fn permits(day: Option<Day>) -> String {
    day.map_or_else(String::new, |day| {
        format!("**Accepted by permits**, {}:\n\n", text(&words::permit::held_against(day)))
    })
}

/// The verdict in one line, and what it is about in the next.
fn head(described: &Described, review: &Review, ends: Ends) -> String {
    let unit = &described.unit;
    let judged = format!("verdicts: {}", words::review::verdicts(&review.counts).join("; "));
    let found = found(described, review).unwrap_or_else(|| "no findings".to_owned());
    let mut text = format!(
        "**{}** ({}); {}.\n\n",
        verdict(ends),
        super::escape::text(&found),
        super::escape::text(&judged)
    );
    let name = unit.name.as_deref().map_or_else(|| "A unit".to_owned(), free_text);
    let mut about = vec![name];
    about.extend(unit.revision.as_deref().map(|revision| format!("revision {}", free_text(revision))));
    about.extend(unit.edition.map(|edition| format!("edition {edition}")));
    let duties = unit.variants.iter().map(|variant| variant.duties.len()).max().unwrap_or_default();
    about.push(counted(duties, "duty point", "duty points"));
    let variants = unit.variants.iter().filter(|variant| variant.name.is_some()).count();
    if variants > 0 {
        about.push(counted(variants, "variant", "variants"));
    }
    text.push_str(&format!("{}, in {}.\n", super::escape::text(&about.join(", ")), code(&described.name)));
    if let Some(note) = unit.note.as_deref().map(free_text).filter(|note| !note.trim().is_empty()) {
        text.push_str(&format!("{}\n", super::escape::text(&note)));
    }
    text
}

pub(super) fn problems(described: &Described) -> Vec<String> {
    described.problems.iter().map(|problem| one_problem(&described.tree, problem)).collect()
}

fn one_problem(tree: &Tree, problem: &Problem) -> String {
    let mut shown = sentence(&problem.message);
    if problem.kind == MORE_PROBLEMS {
        return shown;
    }
    let mut marks = vec![Mark { span: problem.at, label: problem.label.clone() }];
    marks.extend(
        problem.also.iter().take(MOST_PLACES).map(|(span, label)| Mark { span: *span, label: label.clone() }),
    );
    shown.push_str(&format!("{}\n", fence("text", &snippet(tree, &marks, false))));
    if !problem.variants.is_empty() {
        shown.push_str(&item("in", &problem.variants.join(", ")));
    }
    if let Some(way_out) = &problem.way_out {
        shown.push_str(&sentence(way_out));
    }
    shown
}

fn not_judged(described: &Described, review: &Review) -> Vec<String> {
    let undecided = review.unsolved.iter().filter(|one| one.largest.is_none()).map(words::review::undecided);
    let missing = review.not_judged.iter().map(|one| missing(described, one));
    let all = undecided.chain(missing).chain(incomplete(described, review));
    all.map(|text| item("", &text)).collect()
}

/// What is missing, and near what.
pub(super) fn missing(described: &Described, one: &NotJudged) -> String {
    let near = one.near.map(|near| format!("; `{}`", places::in_short(&described.tree, near)));
    words::review::not_judged(described, one) + &near.unwrap_or_default()
}

/// Why a review as a whole is less than it should be.
pub(super) fn incomplete(described: &Described, review: &Review) -> Vec<String> {
    let nothing = words::review::nothing_judged(described, review);
    nothing.into_iter().chain(review.broken_checks.iter().map(words::review::broken_check)).collect()
}

fn assumed(review: &Review) -> Vec<String> {
    let deciding = review.assumed.iter().filter(|one| !one.decides.is_empty());
    let line = |one: &Assumed| {
        let usual = one.usual.as_ref().map_or_else(String::new, |usual| format!(" (usual {usual})"));
        let mut shown = item("", &format!("{}{usual}: {}", one.value, one.why));
        for (lead, said) in one
            .paths
            .first()
            .map(|path| ("at", path))
            .into_iter()
            .chain(one.decides.iter().map(|one| ("decides", one)))
        {
            shown.push_str(&format!("  {}", item(lead, said)));
        }
        shown
    };
    deciding.map(line).collect()
}

/// What is stated and judged by nothing yet, so that nobody takes silence for a pass.
fn stated(described: &Described, review: &Review) -> Vec<String> {
    let stated = &described.unit.unjudged;
    let mut lines = Vec::new();
    if !stated.is_empty() && !described.unit.variants.is_empty() {
        lines.push(format!("Stated, and judged by nothing yet: {}.\n", message(&stated.join(", "))));
    }
    let left_out = review.left_out.as_ref().map(words::review::left_out);
    lines.extend(left_out.map(|text| format!("Left out: {}.\n", message(&text))));
    lines
}
