//! A review as Markdown, for a comment beside a change: the verdict first, then what fails in a table, then each finding
//! folded, with its lines, its working and what would hold.

mod block;
pub(crate) mod change;
pub(crate) mod escape;
mod faults;
mod file;
mod finding;
mod room;
mod table;

pub(crate) use file::Sheet;

use std::collections::BTreeSet;

use crate::show::layout::counted;
use crate::show::terminal::CAUTION;
use crate::tally::Ends;

use escape::{code, text};
use room::{Section, fitted};
use table::head;

/// All reviews of a run; of several files a table says first how each ends.
pub(crate) fn reviews(sheets: Vec<Sheet>) -> String {
    let mut cautions = BTreeSet::new();
    let mut sections = Vec::new();
    let first = match sheets.as_slice() {
        [_] => String::new(),
        several => {
            sections.push(summary(several));
            let files = counted(several.len(), "file", "files");
            format!("**{files}: {}**\n\n", ended(several))
        }
    };
    let is_alone = sheets.len() == 1;
    for sheet in sheets {
        cautions.extend(sheet.cautions.iter().copied());
        sheet.put(is_alone, &mut sections);
    }
    fitted(&first, sections, &foot(cautions))
}

/// What is never left out.
fn foot(cautions: impl IntoIterator<Item = &'static str>) -> String {
    let mut foot = "**Bear in mind**:\n\n".to_owned();
    for caution in cautions.into_iter().chain([CAUTION]) {
        foot.push_str(&format!("- {}\n", text(caution)));
    }
    foot
}

/// A line for each file.
fn summary(sheets: &[Sheet]) -> Section {
    let columns = ["file", "verdict", "findings", "hold", "fail", "of which accepted", "not judged"];
    let row = |sheet: &Sheet| {
        let number = |of: fn(&loadworthy_checks::review::Counts) -> usize| {
            sheet.counts.as_ref().map_or_else(|| "–".to_owned(), |counts| of(counts).to_string())
        };
        table::row(&[
            code(&sheet.name),
            verdict(sheet.ends).to_lowercase(),
            text(&sheet.found),
            number(|counts| counts.hold),
            number(|counts| counts.fail),
            number(|counts| counts.accepted),
            number(|counts| counts.not_judged),
        ])
    };
    let blocks = sheets.iter().map(row).collect();
    Section { head: head(&columns), blocks, rank: 0, more: ("file", "files"), ..Section::default() }
}

/// How many files end in which way, gravest first.
fn ended(sheets: &[Sheet]) -> String {
    let ways = [
        ([Ends::Unreadable, Ends::Problems], "not read in full"),
        ([Ends::Fails; 2], "fail"),
        ([Ends::NotJudged; 2], "not judged in full"),
        ([Ends::HoldsAtMajor; 2], "hold at grade major"),
        ([Ends::HoldsAtMinor; 2], "hold at grade minor"),
        ([Ends::Holds; 2], "hold"),
    ];
    let counted = ways.iter().filter_map(|(way, said)| {
        let number = sheets.iter().filter(|sheet| way.contains(&sheet.ends)).count();
        (number > 0).then(|| format!("{number} {said}"))
    });
    counted.collect::<Vec<_>>().join(", ")
}

/// How a review ends, in words that begin a line. What fails below the asked grade is not passed over.
fn verdict(ends: Ends) -> &'static str {
    match ends {
        Ends::Holds => "Holds",
        Ends::HoldsAtMajor => "Holds at grade major",
        Ends::HoldsAtMinor => "Holds at grade minor",
        Ends::Fails => "Fails",
        Ends::NotJudged => "Not judged in full",
        Ends::Problems | Ends::Unreadable => "Not read in full",
    }
}
