//! What one file adds to a run.

use std::path::Path;

use loadworthy_checks::Review;
use loadworthy_checks::review::fingerprint;
use loadworthy_source::{Problem, escape_text};

use crate::described::{Described, MORE_PROBLEMS};
use crate::reviewed::{FileReview, Made};
use crate::show::cautions;
use crate::show::words::review as words;

use super::finding;
use super::log::{Fingerprints, Level, Message, Notification, Result};
use super::message::{link, plain, sentence, title};
use super::place::{At, Places, primary, related};
use super::rules::{NOT_JUDGED, reading};

/// Results of one file, and what it says that is no result.
#[derive(Default)]
pub(crate) struct Part {
    pub(super) results: Vec<Result>,
    pub(super) notifications: Vec<Notification>,
    /// Kinds of problems that it has.
    pub(super) kinds: Vec<&'static str>,
    /// The day that its permits are held against.
    pub(super) held_on: Option<String>,
    pub(super) cautions: Vec<&'static str>,
}

impl Part {
    /// The review of a file, or why there is none, with paths from a folder on.
    pub(crate) fn of(file: &FileReview, root: Option<&Path>) -> Self {
        match &file.made {
            Ok(made) => Self::made(made, &file.path, root),
            Err(why) => {
                let text = format!("Cannot read {}: {}.", file.name, escape_text(why));
                Self { notifications: vec![Notification::new(Level::Error, text)], ..Self::default() }
            }
        }
    }

    fn made(Made { described, review, besides }: &Made, path: &Path, root: Option<&Path>) -> Self {
        let mut places = Places::new(&described.tree, path, &described.name, root);
        let day = besides.day;
        let mut part = Self {
            held_on: day.map(|day| day.date.to_string()),
            cautions: cautions::of(review),
            ..Self::default()
        };
        for problem in &described.problems {
            part.problem(problem, &mut places);
        }
        for finding in review.findings.iter().chain(&review.accepted) {
            part.results.extend(finding::result(described, finding, day, &mut places));
        }
        part.not_judged(described, review, &mut places);
        for broken in &review.broken_checks {
            let text = sentence(&escape_text(&words::broken_check(broken)));
            part.notifications.push(Notification::new(Level::Error, text));
        }
        part
    }

    fn problem(&mut self, problem: &Problem, places: &mut Places<'_>) {
        if problem.kind == MORE_PROBLEMS {
            let text = sentence(&escape_text(&problem.message));
            self.notifications.push(Notification::new(Level::Warning, text));
            return;
        }
        self.kinds.push(problem.kind);
        let also = problem.also.iter().filter_map(|(span, label)| Some((label, places.of_span(*span)?)));
        let also = also.collect::<Vec<_>>();
        let mut said = vec![title(&problem.message), sentence(&plain(&problem.message))];
        said.extend(
            (!problem.label.is_empty()).then(|| sentence(&format!("Marked: {}", plain(&problem.label)))),
        );
        if !also.is_empty() {
            let links = also.iter().enumerate().map(|(place, (label, _))| link(label, place + 1));
            said.push(sentence(&format!("See also: {}", links.collect::<Vec<_>>().join("; "))));
        }
        said.extend(problem.way_out.as_ref().map(|way_out| sentence(&plain(way_out))));
        if !problem.variants.is_empty() {
            said.push(sentence(&format!("In variant {}", plain(&problem.variants.join(", ")))));
        }
        // A message that is a title already is not said twice.
        if said[0] == said[1] {
            said.remove(0);
        }
        let related = also.into_iter().enumerate().map(|(place, (label, at))| related(place + 1, label, at));
        let related = related.collect();
        let own = fingerprint("reading", &problem.message, problem.kind);
        let at = places.of_span(problem.at);
        self.put(places, at, reading(problem.kind), Level::Error, said.join("\n"), own, related);
    }

    fn not_judged(&mut self, described: &Described, review: &Review, places: &mut Places<'_>) {
        let mut waiting = Vec::new();
        for one in &review.not_judged {
            let at = one.near.and_then(|near| places.of_node(near));
            waiting.push((at, one.missing.clone(), words::not_judged(described, one)));
        }
        for one in review.unsolved.iter().filter(|one| one.largest.is_none()) {
            let variant = described.unit.variants.get(one.variant);
            let at = variant.and_then(|variant| places.of_node(variant.tables.part_of(one.part).at));
            waiting.push((at, format!("{} is undecided in {}", one.path, one.duty), words::undecided(one)));
        }
        if let Some(text) = words::nothing_judged(described, review) {
            waiting.push((None, "nothing of a duty point was judged".to_owned(), text));
        }
        for (at, missing, text) in waiting {
            let own = fingerprint(NOT_JUDGED, &missing, "");
            let said = format!("{}\n{}", title(&format!("Not judged: {missing}")), sentence(&plain(&text)));
            self.put(places, at, NOT_JUDGED.to_owned(), Level::Warning, said, own, Vec::new());
        }
    }

    #[expect(clippy::too_many_arguments, reason = "what a result is made of")]
    fn put(
        &mut self,
        places: &mut Places<'_>,
        at: Option<At>,
        rule_id: String,
        level: Level,
        text: String,
        own: String,
        related_locations: Vec<super::log::Location>,
    ) {
        let Some(at) = at.or_else(|| places.beginning()) else { return };
        let line = places.hash(&at);
        self.results.push(Result {
            rule_id,
            rule_index: 0,
            level,
            message: Message { text },
            locations: [primary(at)],
            related_locations,
            partial_fingerprints: Fingerprints { line, own },
            suppressions: Vec::new(),
            fixes: Vec::new(),
            properties: None,
        });
    }
}
