//! `loadworthy review`: the main job.

use std::io::Read;
use std::path::{Path, PathBuf};

use loadworthy_unit::side_by_side::cores;

use crate::arguments::{self, ReviewForm};
use crate::files::{self, Typed};
use crate::gathered::{Gathered, gathered};
use crate::in_order::in_order;
use crate::outcome::Outcome;
use crate::output::Output;
use crate::progress;
use crate::reviewed::FileReview;
use crate::show::html;
use crate::show::json::review as json;
use crate::show::lines;
use crate::show::markdown;
use crate::show::sarif;
use crate::show::terminal::{self, Paint, table};
use crate::tally::Row;

/// Reviews every file; of several the gravest outcome counts.
pub(crate) fn run(
    asked: &arguments::Review,
    input: &mut dyn Read,
    output: &mut Output<'_>,
    errors: &mut Output<'_>,
    colored: bool,
) -> Outcome {
    let is_typed = asked.files.iter().any(|path| path.as_os_str() == "-");
    let typed = if is_typed { Typed::of(input) } else { Typed::nothing() };
    let run = Run { asked, files: gathered(&asked.files), typed };
    let paint = Paint { colored };
    if asked.quiet {
        let rows = run.each(|_, _| (), |_, ()| {});
        output.put(&table::one_line(&rows, &run.files));
        return run.outcome(&rows);
    }
    run.tell_folders(errors);
    let rows = match asked.format {
        ReviewForm::Terminal => {
            let several = run.is_several();
            let rows = run.each(
                |_, file| shown(&file, several, asked.all, paint),
                |row, text| {
                    tell_unreadable(row, errors);
                    output.put(&text);
                    output.flush();
                },
            );
            if several && !rows.is_empty() {
                output.put(&table::table(&rows, paint));
            }
            rows
        }
        ReviewForm::Lines => run.each(
            |_, file| file.made.as_ref().map(lines::lines).unwrap_or_default(),
            |row, text| {
                tell_unreadable(row, errors);
                output.put(&text);
            },
        ),
        ReviewForm::Markdown => {
            let mut sheets = Vec::new();
            let rows = run.each(
                |_, file| markdown::Sheet::of(&file),
                |row, sheet| {
                    tell_unreadable(row, errors);
                    sheets.push(sheet);
                },
            );
            output.put(&markdown::reviews(sheets));
            rows
        }
        ReviewForm::Html => {
            let mut files = Vec::new();
            let rows = run.each(
                |place, file| html::Reviewed::of(&file, place),
                |row, file| {
                    tell_unreadable(row, errors);
                    files.push(file);
                },
            );
            output.put(&html::page(&files));
            rows
        }
        ReviewForm::Sarif => {
            let (mut parts, root) = (Vec::new(), files::current_folder());
            let rows = run.each(
                |_, file| sarif::Part::of(&file, root.as_deref()),
                |row, part| {
                    tell_unreadable(row, errors);
                    parts.push(part);
                },
            );
            output.line(&sarif::log(parts, run.outcome(&rows)));
            rows
        }
        ReviewForm::Json => {
            output.put(&json::beginning(&run.files));
            let mut before = "";
            let rows = run.each(
                |_, file| json::one(&file),
                |row, review| {
                    tell_unreadable(row, errors);
                    output.put(before);
                    output.put(&review);
                    before = ",";
                },
            );
            output.put(&json::end(run.outcome(&rows)));
            rows
        }
    };
    run.outcome(&rows)
}

/// What is reviewed, and how.
struct Run<'r> {
    asked: &'r arguments::Review,
    files: Gathered,
    typed: Typed,
}

impl Run<'_> {
    /// Reviews all files side by side. What is to be shown of one, of which it is told how many stand before it, is made
    /// where it was reviewed, so that nothing else of it has to be kept, and taken in the order of the files.
    fn each<T: Send>(
        &self,
        show: impl Fn(usize, FileReview) -> T + Sync,
        mut take: impl FnMut(&Row, T),
    ) -> Vec<Row> {
        let files = &self.files.files;
        let threads = cores();
        let bar = progress::bar(files.len() as u64, "{wide_bar} {pos} of {len} files   {eta} left");
        if files.len() < 2 {
            // One file is no progress.
            bar.set_draw_target(indicatif::ProgressDrawTarget::hidden());
        }
        let done = |place: usize, file: FileReview| (Row::of(&file), show(place, file));
        let numbered: Vec<(usize, &PathBuf)> = files.iter().enumerate().collect();
        let one = |&(place, path): &(usize, &PathBuf)| {
            done(place, FileReview::of(path, self.asked, &mut self.typed.reader()))
        };
        let mut rows = Vec::new();
        let mut paths = numbered.iter();
        in_order(&numbered, threads, one, |became| {
            let (place, path) =
                paths.next().map_or((0, Path::new("")), |&(place, path)| (place, path.as_path()));
            let (row, shown) =
                became.unwrap_or_else(|said| done(place, FileReview::broken_down(path, &said)));
            // A bar and a result may share one terminal.
            bar.suspend(|| take(&row, shown));
            bar.inc(1);
            rows.push(row);
        });
        bar.finish_and_clear();
        rows
    }

    /// Whether several files may come, so that each is named.
    fn is_several(&self) -> bool {
        self.files.files.len() > 1 || self.files.from_folders
    }

    /// How the run ends: as its gravest file, and as unreadable where a folder gave nothing.
    fn outcome(&self, rows: &[Row]) -> Outcome {
        let files = rows.iter().map(|row| row.ends.outcome()).max().unwrap_or(Outcome::Holds);
        if self.files.is_whole() { files } else { Outcome::Unreadable }
    }

    fn tell_folders(&self, errors: &mut Output<'_>) {
        for why in &self.files.nothing {
            errors.tell(&format!("loadworthy: {why}"));
        }
        if let Some(line) = self.files.left_out.line() {
            errors.tell(&format!("loadworthy: not reviewed on their own: {line}"));
        }
    }
}

fn tell_unreadable(row: &Row, errors: &mut Output<'_>) {
    if let Some(why) = &row.unreadable {
        errors.tell(&format!("loadworthy: cannot read {}: {why}", row.file));
    }
}

fn shown(file: &FileReview, several: bool, all: bool, paint: Paint) -> String {
    let Ok(made) = &file.made else { return String::new() };
    let review = terminal::review(made, all, paint);
    if several { format!("— {}\n{review}\n", file.name) } else { review }
}
