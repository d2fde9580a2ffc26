//! `loadworthy mission`: duty points one after another, followed over time.

use std::io::{BufReader, Read};
use std::path::Path;

use loadworthy_checks::list::CHECKS;
use loadworthy_checks::mission::{CHUNK, CHUNKS, Judge, Tally};
use loadworthy_source::Tree;
use loadworthy_unit::mission::Rows;
use loadworthy_unit::side_by_side::cores;
use loadworthy_unit::{InputId, Mission, MissionCourse, Variant};

use crate::arguments::{self, MissionForm};
use crate::described::Described;
use crate::files;
use crate::mission::{Mistakes, Reader};
use crate::outcome::Outcome;
use crate::output::Output;
use crate::permits;
use crate::progress;
use crate::show::json;
use crate::show::layout::free_text;
use crate::show::mission::rows::Lines;
use crate::show::mission::{Course, terminal};
use crate::show::places;
use crate::show::terminal::Paint;
use crate::solutions::{chosen, unknown};

use super::one_file::about_one;

/// Runs a mission and prints what it came to.
pub(crate) fn run(
    asked: &arguments::Mission,
    input: &mut dyn Read,
    output: &mut Output<'_>,
    errors: &mut Output<'_>,
    colored: bool,
) -> Outcome {
    about_one(&asked.file, &asked.with, input, errors, |described, errors| {
        let variant = variant_of(described, asked)?;
        let mission = mission_of(variant, asked.name.as_deref(), described.problems.is_empty())?;
        let threads = cores();
        let mut lines = match asked.format {
            MissionForm::Csv => Some(Lines::of(variant, &asked.column)?),
            _ if asked.column.is_empty() => None,
            _ => return Err("`--column` says what each row shows: it goes with `--format csv`".to_owned()),
        };
        let watched = lines.as_ref().map(Lines::watched).unwrap_or_default();
        let begin = |columns: &[InputId]| {
            Judge::new(CHECKS, variant, columns, mission.starts_from, threads).watching(watched)
        };
        let mut taken = |judge: &Judge<'_>, rows: &[Rows]| {
            if let Some(lines) = &mut lines {
                output.put(&lines.next(rows, judge.seen()));
            }
        };
        let place = (asked.file.as_path(), &described.tree);
        let tally = match followed(place, (variant, mission), begin, &mut taken) {
            Ok(tally) => tally,
            Err(Refused::Said(why)) => return Err(why),
            Err(Refused::Mistakes(path, mistakes)) => {
                tell_mistakes(&path, &mistakes, errors);
                return Ok(Outcome::Unreadable);
            }
        };
        let day = permits::day(&described.unit, asked.on);
        let course = Course::of(&described.unit, (variant, mission), &tally, day);
        let outcome = course.outcome();
        output.put(&match asked.format {
            MissionForm::Terminal => terminal::shown(described, &course, asked.all, Paint { colored }),
            MissionForm::Json => json::mission::shown(described, &course, outcome) + "\n",
            // Its lines went out as rows were followed.
            MissionForm::Csv => String::new(),
        });
        Ok(outcome)
    })
}

enum Refused {
    Said(String),
    Mistakes(String, Mistakes),
}

fn variant_of<'u>(described: &'u Described, asked: &arguments::Mission) -> Result<&'u Variant, String> {
    let places = chosen(&described.unit, asked.variant.as_deref(), None)?;
    let first = places.first().and_then(|&place| described.unit.variants.get(place));
    first.ok_or_else(|| "nothing of the description could be read".to_owned())
}

fn mission_of<'u>(variant: &'u Variant, name: Option<&str>, is_sound: bool) -> Result<&'u Mission, String> {
    let all = &variant.missions;
    match (name, all.as_slice()) {
        // What could not be read was told with its problems.
        (_, []) if !is_sound => Err("no mission could be read".to_owned()),
        (None, [only]) => Ok(only),
        (None, []) => Err("the description has no missions; state one under `missions`".to_owned()),
        (None, several) => {
            let names = several.iter().map(|one| format!("`{}`", free_text(&one.name))).collect::<Vec<_>>();
            Err(format!("which mission? there are {}", names.join(", ")))
        }
        (Some(name), all) => {
            let known = all.iter().map(|one| one.name.as_str());
            all.iter().find(|one| one.name == name).ok_or_else(|| unknown("mission", name, known))
        }
    }
}

/// Follows a mission from its first row to its last. `begin` begins it, given the inputs that its rows change; `taken` is told
/// of rows that were followed.
fn followed<'v>(
    (unit, tree): (&Path, &Tree),
    (variant, mission): (&'v Variant, &Mission),
    begin: impl FnOnce(&[InputId]) -> Judge<'v>,
    taken: &mut dyn FnMut(&Judge<'_>, &[Rows]),
) -> Result<Tally, Refused> {
    match &mission.course {
        MissionCourse::Steps(steps) => {
            let mut judge = begin(&[]);
            for steps in steps.chunks(CHUNK) {
                let rows = Rows {
                    duties: steps.iter().map(|&(duty, _)| duty).collect(),
                    lasts: steps.iter().map(|&(_, lasts)| lasts).collect(),
                    values: Vec::new(),
                };
                let rows = [rows];
                judge.take(&rows);
                taken(&judge, &rows);
            }
            Ok(judge.end())
        }
        MissionCourse::File { path, at, duty } => {
            let refuse = |why: String| {
                let named = places::in_short(tree, *at);
                Refused::Said(format!("cannot read `{}`: {why}; named at {named}", free_text(path)))
            };
            let (file, length) = files::open_beside(unit, path).map_err(refuse)?;
            let told = |mistakes| Refused::Mistakes(path.clone(), mistakes);
            let mut reader = Reader::new(variant, *duty, BufReader::new(file)).map_err(told)?;
            let mut judge = begin(&reader.columns());
            let bar = progress::bar(length, "{wide_bar} {percent:>3} %   {eta} left");
            let mut chunks = vec![Rows::default(); CHUNKS];
            loop {
                let mut filled = 0;
                for rows in &mut chunks {
                    reader.read(rows, CHUNK).map_err(told)?;
                    filled += usize::from(!rows.is_empty());
                }
                if filled == 0 {
                    break;
                }
                judge.take(&chunks[..filled]);
                taken(&judge, &chunks[..filled]);
                bar.set_position(reader.position());
            }
            bar.finish_and_clear();
            if judge.tally.rows == 0 {
                return Err(Refused::Mistakes(path.clone(), vec![(1, None, "it has no rows".to_owned())]));
            }
            Ok(judge.end())
        }
    }
}

fn tell_mistakes(path: &str, mistakes: &Mistakes, errors: &mut Output<'_>) {
    let path = free_text(path);
    for (line, column, why) in mistakes {
        let column = column.map_or_else(String::new, |column| format!(", column {column}"));
        errors.tell(&format!("{path}: line {line}{column}: {why}"));
    }
}
