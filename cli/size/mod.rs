//! Sizes of a whole description: what its variants share is one choice, and every trial is the description as it would
//! stand, read, solved and judged anew.

mod choice;
mod place;

use jiff::civil::Date;
use loadworthy_checks::size::{self, Kind, Ladder, Sized, Tried, Unsizable};
use loadworthy_checks::verdict::Grade;
use loadworthy_unit::Unit;

use crate::described::{Described, Roots, Source};
use crate::permits::{self, Day};
use crate::solutions::unknown;

pub(crate) use choice::{Choice, named};
use place::Writing;

/// Figures, over all sizes, lanes and variants, beyond which nobody would wait for the end: some minutes.
const MOST_EFFORT: usize = 100_000_000;

/// Sizes that were found.
pub(crate) struct Sizes {
    /// What was sized.
    pub(crate) choices: Vec<Choice>,
    /// What was not, and why.
    pub(crate) fixed: Vec<Unsizable>,
    /// The kinds in the order of the objectives.
    pub(crate) order: Vec<Kind>,
    /// The lowest grade of failure that counts.
    pub(crate) grade: Grade,
    /// What came of it.
    pub(crate) sized: Sized,
    /// What is written for the sizes, by path in the description.
    pub(crate) written: Vec<(String, String)>,
    /// Of each failure that no size mends the place of the permit that accepts it; in step with what is spared.
    pub(crate) accepted: Vec<Option<usize>>,
    /// The day that permits were held against; none without permits.
    pub(crate) day: Option<Day>,
}

/// What is asked.
pub(crate) struct Question<'a> {
    /// Parts and kinds to size; all where there are none.
    pub(crate) only: &'a [String],
    /// The kind to make smallest first.
    pub(crate) first: Option<Kind>,
    /// The lowest grade of failure that counts.
    pub(crate) grade: Grade,
    /// Paths that are set from outside.
    pub(crate) with: Vec<&'a str>,
    /// The day that permits are held against, where it is said.
    pub(crate) on: Option<Date>,
}

impl Sizes {
    /// Finds the smallest sizes.
    ///
    /// # Errors
    /// Says which name is not known, or why nothing can be sized.
    pub(crate) fn of(
        question: &Question<'_>,
        (described, roots): (&Described, &Roots),
        source: &mut Source<'_>,
    ) -> Result<Self, String> {
        let writing = Writing::of(described, roots);
        let (mut choices, mut fixed) = choice::all((described, roots), &writing, &question.with);
        narrow(&mut choices, &mut fixed, question.only)?;
        if choices.is_empty() {
            return Err(nothing(&fixed));
        }
        if effort(&choices, &described.unit) > MOST_EFFORT {
            let sizes = choices.len();
            return Err(format!(
                "{sizes} sizes are too many to try in so large a unit; name parts with --only"
            ));
        }
        let mut order = Kind::ALL.to_vec();
        // A stable sort: what is asked for first, and the rest as it was.
        order.sort_by_key(|&kind| Some(kind) != question.first);
        choices.sort_by_key(|choice| order.iter().position(|&kind| kind == choice.kind()));
        let ladder = |choice: &Choice| {
            let thickness = choices.iter().position(|other| other.is_thickness_of(choice));
            Ladder { thickness, ..choice.ladder() }
        };
        let ladders: Vec<Ladder> = choices.iter().map(ladder).collect();
        let in_order: Vec<usize> = (0..choices.len()).collect();
        let sized = size::size(&ladders, &in_order, question.grade, &mut |at| {
            let (trial, _) = source.described(&writing.written(&choices, at));
            tried(&trial)
        });
        let at: Vec<usize> = sized.choices.iter().map(|choice| choice.at).collect();
        let written = writing.written(&choices, &at);
        let day = permits::day(&described.unit, question.on);
        // A permit accepts what no size mends. It is no reason to make anything smaller, so the search knows none.
        let accepted = match day {
            Some(day) if !sized.spared.is_empty() => {
                let (found, _) = source.described(&written);
                size::accepted(&found.unit, &sized.spared, day.date)
            }
            _ => vec![None; sized.spared.len()],
        };
        Ok(Self { choices, fixed, order, grade: question.grade, sized, written, accepted, day })
    }

    /// The places of the sizes that were found.
    pub(crate) fn at(&self) -> Vec<usize> {
        self.sized.choices.iter().map(|choice| choice.at).collect()
    }
}

/// Figures that would be solved if each size were tried once.
fn effort(choices: &[Choice], unit: &Unit) -> usize {
    let figures = unit.variants.iter().map(|variant| variant.lanes.len() * variant.tables.figures().len());
    choices.len().saturating_mul(figures.sum())
}

/// A trial that cannot be read proves nothing.
fn tried(trial: &Described) -> Tried {
    let unread = trial.problems.first().map(|problem| problem.message.clone());
    unread.map_or_else(|| size::tried(&trial.unit), Tried::unread)
}

/// Keeps what is asked for.
fn narrow(choices: &mut Vec<Choice>, fixed: &mut Vec<Unsizable>, only: &[String]) -> Result<(), String> {
    if only.is_empty() {
        return Ok(());
    }
    let is_asked = |kind: Kind, part: &str| only.iter().any(|name| name == kind.word() || name == part);
    for name in only {
        let is_it = |kind: Kind, part: &str| name == kind.word() || name == part;
        if choices.iter().any(|choice| is_it(choice.kind(), choice.part())) {
            continue;
        }
        let own = fixed.iter().filter(|one| is_it(one.kind, &one.part)).cloned().collect::<Vec<_>>();
        if !own.is_empty() {
            return Err(nothing(&own));
        }
        if Kind::ALL.iter().any(|kind| name == kind.word()) {
            return Err(format!("the description has no {name} to size"));
        }
        let mut known: Vec<&str> = choices.iter().map(Choice::part).collect();
        known.dedup();
        known.extend(Kind::ALL.map(Kind::word));
        return Err(unknown("part or kind to size", name, known.into_iter()));
    }
    choices.retain(|choice| is_asked(choice.kind(), choice.part()));
    fixed.retain(|one| is_asked(one.kind, &one.part));
    Ok(())
}

/// Why nothing can be sized.
fn nothing(fixed: &[Unsizable]) -> String {
    if fixed.is_empty() {
        return "nothing can be sized: the description has no stages, banks, conductors, or coolant flow"
            .to_owned();
    }
    let why = fixed.iter().map(|one| format!("{} {}", choice::named(&one.part, &one.what), one.why));
    format!("nothing of this can be sized: {}", why.collect::<Vec<_>>().join("; "))
}
