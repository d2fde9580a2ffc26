//! Collects the problems of a description, each once, with the variants that it hits.

use std::collections::hash_map::Entry;
use std::collections::{HashMap, HashSet};

use loadworthy_source::{FileId, MOST_PROBLEMS, Problem, Span, Tree};

use crate::overrides::OVERRIDE;

/// Places of one name that leads nowhere which are shown beside the first.
const MOST_PLACES: usize = 4;

/// Problems of a file beyond which they are no longer told apart: nobody reads them, and they take memory.
const MOST_TOLD_APART: usize = 100_000;

/// Kinds of problems that are about one value, or its key, and what it says.
const VALUES: [&str; 6] =
    ["bad-quantity", "bad-value", "empty-value", "out-of-range", "unknown-key", "wrong-type"];

/// Number of a problem in a [`Ledger`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct ProblemId(u32);

/// What a name that leads nowhere is told by.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Key<'k> {
    /// The name.
    Name(&'k str),
    /// What it would be a name of, where nothing of that kind is described, and the name.
    Kind(&'k str, &'k str),
}

/// The same, kept.
#[derive(Debug, PartialEq, Eq, Hash)]
enum Unfound {
    Name(String),
    Kind(String),
}

impl Key<'_> {
    fn owned(self) -> Unfound {
        match self {
            Self::Name(name) => Unfound::Name(name.to_owned()),
            Self::Kind(what, _) => Unfound::Kind(what.to_owned()),
        }
    }

    const fn name(&self) -> &str {
        match *self {
            Self::Name(name) | Self::Kind(_, name) => name,
        }
    }
}

/// All problems, those of several variants found at one place counted once.
#[derive(Debug, Default)]
pub(crate) struct Ledger {
    records: Vec<Record>,
    known: HashMap<(Span, &'static str, String), ProblemId>,
    /// The last record of a file that has too many to tell them apart; it stands for all that follow.
    full: HashMap<FileId, ProblemId>,
    /// Every problem met since the last [`Ledger::variant_done`], in order.
    met: Vec<ProblemId>,
    kept: HashMap<FileId, usize>,
}

#[derive(Debug)]
struct Record {
    at: Span,
    /// Left out where its file has enough problems already; it still counts.
    problem: Option<Problem>,
    variants: Vec<usize>,
    /// Found before any variant was looked at.
    common: bool,
    /// Found in the description without any patch.
    base: bool,
    name: Option<Name>,
    /// The entry that a variant alone has, and that is not whole without what it patches.
    patched: Option<String>,
}

/// A name that leads nowhere.
#[derive(Debug)]
struct Name {
    /// What it is told by.
    by: Unfound,
    called: String,
    /// Among how many sections it was looked up.
    among: usize,
}

impl Ledger {
    /// Notes a problem. `about` tells problems of one kind at one place apart; the problem itself is built only
    /// if it is new and will be shown.
    pub(crate) fn note(
        &mut self,
        kind: &'static str,
        at: Span,
        about: &str,
        build: impl FnOnce() -> Problem,
    ) -> ProblemId {
        if let Some(&full) = self.full.get(&at.file) {
            self.met.push(full);
            return full;
        }
        let next = ProblemId(u32::try_from(self.records.len()).unwrap_or(u32::MAX));
        let id = match self.known.entry((at, kind, about.to_owned())) {
            Entry::Occupied(known) => *known.get(),
            Entry::Vacant(new) => {
                let kept = self.kept.entry(at.file).or_default();
                let shown = *kept < MOST_PROBLEMS;
                *kept += 1;
                if *kept >= MOST_TOLD_APART {
                    self.full.insert(at.file, next);
                }
                let problem = shown.then(build);
                self.records.push(Record {
                    at,
                    problem,
                    variants: Vec::new(),
                    common: false,
                    base: false,
                    name: None,
                    patched: None,
                });
                *new.insert(next)
            }
        };
        self.met.push(id);
        id
    }

    /// Notes a name that leads nowhere, looked up among so many sections. What is gone, or misspelt throughout, is one problem
    /// with all the places that name it.
    pub(crate) fn note_name(
        &mut self,
        key: Key<'_>,
        among: usize,
        at: Span,
        build: impl FnOnce() -> Problem,
    ) {
        let ProblemId(id) = self.note("unknown-name", at, "", build);
        if let Some(record) = self.records.get_mut(id as usize).filter(|record| record.at == at) {
            record.name.get_or_insert_with(|| Name { by: key.owned(), called: key.name().to_owned(), among });
        }
    }

    /// Notes a problem of an entry that may stand in the patch of a variant alone.
    pub(crate) fn note_patched(
        &mut self,
        patched: Option<&str>,
        kind: &'static str,
        at: Span,
        about: &str,
        build: impl FnOnce() -> Problem,
    ) {
        let ProblemId(id) = self.note(kind, at, about, build);
        if let (Some(name), Some(record)) = (patched, self.records.get_mut(id as usize))
            && record.at == at
        {
            record.patched.get_or_insert_with(|| name.to_owned());
        }
    }

    /// How many problems were met so far in this variant; a mark for [`Ledger::since`].
    pub(crate) fn mark(&self) -> usize {
        self.met.len()
    }

    /// The problems met since a mark.
    pub(crate) fn since(&self, mark: usize) -> &[ProblemId] {
        self.met.get(mark..).unwrap_or_default()
    }

    /// Where values stand that are refused by themselves, by some problems; nothing where one of these is of another
    /// kind, such as a conflict, or was met too late to be kept.
    pub(crate) fn places_of_values(&self, problems: &[ProblemId]) -> Option<Vec<Span>> {
        let mut places = Vec::new();
        for id in problems {
            let record = self.records.get(id.0 as usize)?;
            let problem = record.problem.as_ref().filter(|problem| VALUES.contains(&problem.kind))?;
            places.push(record.at);
            places.extend(problem.also.iter().map(|(at, _)| *at));
        }
        Some(places)
    }

    /// Meets again what an unchanged part had.
    pub(crate) fn again(&mut self, problems: &[ProblemId]) {
        self.met.extend_from_slice(problems);
    }

    /// Books everything met to the description as such.
    pub(crate) fn common_done(&mut self) {
        for id in self.met.drain(..) {
            if let Some(record) = self.records.get_mut(id.0 as usize) {
                record.common = true;
            }
        }
    }

    /// Books everything met to the description without any patch.
    pub(crate) fn base_done(&mut self) {
        for id in self.met.drain(..) {
            if let Some(record) = self.records.get_mut(id.0 as usize) {
                record.base = true;
            }
        }
    }

    /// Books everything met to a variant and starts the next.
    pub(crate) fn variant_done(&mut self, variant: usize) {
        for id in self.met.drain(..) {
            if let Some(record) = self.records.get_mut(id.0 as usize)
                && record.variants.last() != Some(&variant)
            {
                record.variants.push(variant);
            }
        }
    }

    /// The problems by place, with the names of the variants they hit.
    ///
    /// What the description has without any patch, and every variant has as well, names none. What a description
    /// with variants has only without them is no problem.
    pub(crate) fn finish(mut self, names: &[&str], tree: &Tree) -> Vec<Problem> {
        self.join_overrides(tree);
        let unhit = |record: &Record| record.variants.is_empty() && !record.common;
        self.records.retain(|record| !unhit(record) || (record.base && names.is_empty()));
        let mut left_out: Vec<(Span, usize)> = Vec::new();
        let mut shown = Vec::new();
        self.records.sort_by_key(|record| record.at);
        self.join_names();
        self.join_patches();
        for record in self.records {
            let Some(mut problem) = record.problem else {
                match left_out.last_mut() {
                    Some((at, count)) if at.file == record.at.file => *count += 1,
                    _ => left_out.push((record.at, 1)),
                }
                continue;
            };
            let throughout = record.base && record.variants.len() == names.len();
            if !record.common && !throughout {
                let hit = record.variants.iter().filter_map(|variant| names.get(*variant));
                problem.variants.extend(hit.map(|name| (*name).to_owned()));
            }
            shown.push(problem);
        }
        for (at, count) in left_out {
            let noun = if count == 1 { "problem" } else { "problems" };
            let least = if count + MOST_PROBLEMS >= MOST_TOLD_APART { "at least " } else { "" };
            let message = format!("… and {least}{count} more {noun} in this file");
            let place = shown.partition_point(|problem| problem.at.file <= at.file);
            shown.insert(place, Problem::new("more-problems", at, message, "the first one left out"));
        }
        shown
    }

    /// An override is laid over every variant, each time as a file of its own; what is wrong with it is one problem.
    fn join_overrides(&mut self, tree: &Tree) {
        let mut first: HashMap<(&str, u32, u32, String), usize> = HashMap::new();
        for place in 0..self.records.len() {
            let Some(Record { at, problem: Some(problem), .. }) = self.records.get(place) else { continue };
            let file = tree.file(at.file);
            if file.name != OVERRIDE {
                continue;
            }
            match first.entry((&file.text, at.start, at.end, problem.message.clone())) {
                Entry::Vacant(new) => {
                    new.insert(place);
                }
                Entry::Occupied(known) => self.join(*known.get(), place),
            }
        }
    }

    /// Joins the places of one name that leads nowhere, in the same variants: to the place that says most closely what the name
    /// is of.
    fn join_names(&mut self) {
        type In<'r> = (&'r [usize], bool, bool);
        fn told_in(record: &Record) -> In<'_> {
            (&record.variants, record.common, record.base)
        }
        let named =
            || self.records.iter().enumerate().filter_map(|(k, one)| Some((k, one, one.name.as_ref()?)));
        // What is the only one of its kind is named among others as well.
        let mut kinds: HashMap<(&str, In<'_>), &Unfound> = HashMap::new();
        for (_, record, name) in named().filter(|(.., name)| matches!(name.by, Unfound::Kind(_))) {
            kinds.entry((&name.called, told_in(record))).or_insert(&name.by);
        }
        let mut places: HashMap<(&Unfound, In<'_>), Vec<usize>> = HashMap::new();
        for (place, record, name) in named() {
            let by = match name.by {
                Unfound::Name(_) => kinds.get(&(&name.called, told_in(record))).copied().unwrap_or(&name.by),
                Unfound::Kind(_) => &name.by,
            };
            places.entry((by, told_in(record))).or_default().push(place);
        }
        let among = |&place: &usize| {
            let record = &self.records[place];
            (record.problem.is_none(), record.name.as_ref().map_or(usize::MAX, |name| name.among))
        };
        let several = places.into_values().filter(|places| 1 < places.len());
        let joined: Vec<(usize, Vec<usize>)> = several
            .filter_map(|places| {
                let first = places.iter().copied().min_by_key(among)?;
                Some((first, places.into_iter().filter(|place| *place != first).collect()))
            })
            .collect();
        let mut gone = vec![false; self.records.len()];
        for (first, others) in joined {
            let also: Vec<Span> = others.iter().map(|&other| self.records[other].at).collect();
            let called = |place: &usize| self.records[*place].name.as_ref().map(|name| name.called.as_str());
            let names: HashSet<&str> = others.iter().chain([&first]).filter_map(called).collect();
            let more = names.len().saturating_sub(1);
            others.iter().for_each(|&other| gone[other] = true);
            let record = &mut self.records[first];
            if let (Some(problem), Some(name)) = (&mut record.problem, &record.name) {
                let named = if matches!(name.by, Unfound::Kind(_)) { "one" } else { "it" };
                let others = match more {
                    0 => String::new(),
                    1 => ", nor is one by another name that is used".to_owned(),
                    more => format!(", nor is one by {more} other names that are used"),
                };
                problem.message =
                    format!("{}{others}; {} places name {named}", problem.message, 1 + also.len());
                if let Some(meant) = &mut problem.meant {
                    meant.places.extend(&also);
                }
                problem
                    .also
                    .extend(also.into_iter().take(MOST_PLACES).map(|at| (at, "named here too".to_owned())));
            }
        }
        let mut gone = gone.into_iter();
        self.records.retain(|_| gone.next() == Some(false));
    }

    /// What a variant patches and the description does not have is named elsewhere: one problem.
    fn join_patches(&mut self) {
        let all = self.records.iter().enumerate();
        let patched: Vec<(usize, String)> =
            all.filter_map(|(place, record)| Some((place, record.patched.clone()?))).collect();
        for &(place, ref patched) in patched.iter().rev() {
            let is_of = |called: &str| {
                called
                    .strip_prefix(patched.as_str())
                    .is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
            };
            let named = |record: &Record| record.name.as_ref().is_some_and(|name| is_of(&name.called));
            let Some(first) = self.records.iter().position(named) else { continue };
            let at = self.records[place].at;
            self.join(first, place);
            let record = &mut self.records[first];
            record.variants.sort_unstable();
            record.variants.dedup();
            if let Some(problem) = &mut record.problem {
                problem.also.push((at, "patched here, and described nowhere".to_owned()));
            }
            self.records.remove(place);
        }
    }

    /// Books to one problem what was booked to its repetition.
    fn join(&mut self, first: usize, again: usize) {
        let Some(again) = self.records.get_mut(again) else { return };
        let (variants, base) = (std::mem::take(&mut again.variants), std::mem::take(&mut again.base));
        if let Some(first) = self.records.get_mut(first) {
            first.variants.extend(variants);
            first.base |= base;
        }
    }
}
