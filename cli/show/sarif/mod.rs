//! Reviews as a log in the Static Analysis Results Interchange Format, version 2.1.0, for hosts that show results beside the
//! lines of a change.
//!
//! One run holds all files of a call. What fails is a result of its check; what is wrong with the text of a description, a
//! result of a rule `reading/…` for each kind; and what could not be judged a result of the rule `not-judged` that fails at
//! level `warning`: hosts drop results of the kind `open`, and a missing input must not look like a pass. A file that could
//! not be opened has no line to stand at, and is a notification of the run, as is a check that broke down.

mod file;
mod finding;
mod fix;
mod line_hash;
mod log;
mod message;
mod place;
mod region;
mod rules;
mod uri;

pub(crate) use file::Part;

use std::collections::{BTreeMap, BTreeSet};

use crate::outcome::Outcome;
use crate::show::json;
use crate::show::terminal::CAUTION;

use log::{
    AutomationDetails, Base, Driver, Invocation, Level, Log, Message, Notification, Run, RunProperties, Tool,
};

/// Results of a run that a host keeps; further ones it drops, or refuses all of them.
const MOST_RESULTS: usize = 5000;

/// All reviews of a call as one run.
pub(crate) fn log(parts: Vec<Part>, outcome: Outcome) -> String {
    let mut results = Vec::new();
    let mut notifications = Vec::new();
    let mut kinds = BTreeSet::new();
    let mut held_on = None;
    let mut cautions = BTreeSet::new();
    for part in parts {
        results.extend(part.results);
        notifications.extend(part.notifications);
        kinds.extend(part.kinds);
        held_on = held_on.or(part.held_on);
        cautions.extend(part.cautions);
    }
    if results.len() > MOST_RESULTS {
        // The gravest first, each grade in the order of the files.
        results.sort_by_key(|result| result.level);
        let more = results.len() - MOST_RESULTS;
        results.truncate(MOST_RESULTS);
        let text = format!("{more} further results are left out, none of them graver than those given.");
        notifications.push(Notification::new(Level::Warning, text));
    }
    let rules = rules::all(&kinds);
    let places: BTreeMap<&str, usize> =
        rules.iter().enumerate().map(|(place, rule)| (rule.id.as_str(), place)).collect();
    for result in &mut results {
        result.rule_index = places.get(result.rule_id.as_str()).copied().unwrap_or_default();
    }
    apart(&mut results);
    let is_whole =
        outcome != Outcome::Unreadable && notifications.iter().all(|one| one.level != Level::Error);
    let caution = cautions.into_iter().chain([CAUTION]).map(str::to_owned).collect();
    let run = Run {
        tool: Tool { driver: Driver::new(rules) },
        invocations: [Invocation {
            exit_code: outcome.number(),
            exit_code_description: said(outcome),
            execution_successful: is_whole,
            tool_execution_notifications: notifications,
        }],
        automation_details: AutomationDetails { id: "loadworthy/review/" },
        original_uri_base_ids: BTreeMap::from([
            (uri::INSIDE, Base::new("The folder that the review was started in.")),
            (
                uri::OUTSIDE,
                Base::new("Elsewhere; where that is, is not told. Of the path only the name is kept."),
            ),
        ]),
        newline_sequences: ["\r\n", "\n", "\r"],
        column_kind: "unicodeCodePoints",
        results,
        properties: RunProperties { permits_held_against: held_on, cautions: caution },
    };
    json::text(&Log { schema: log::SCHEMA, version: "2.1.0", runs: [run] })
}

/// Gives results of one rule on one line different identities; a host takes them for one otherwise. The first keeps the
/// hash of the line, the others add their own fingerprint to it.
fn apart(results: &mut [log::Result]) {
    let mut taken: BTreeSet<(String, String, String)> = BTreeSet::new();
    for result in results {
        let key = |hash: &str| (result.rule_id.clone(), result.uri().to_owned(), hash.to_owned());
        let line = result.partial_fingerprints.line.clone();
        let mut hash = line.clone();
        let mut number = 1;
        while !taken.insert(key(&hash)) {
            let again = if number > 1 { format!("-{number}") } else { String::new() };
            hash = format!("{line}-{}{again}", result.partial_fingerprints.own);
            number += 1;
        }
        result.partial_fingerprints.line = hash;
    }
}

fn said(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Holds => "everything was judged, and nothing fails at the asked grade",
        Outcome::Fails => "something fails at the asked grade",
        Outcome::Unreadable => "something could not be read, or not all of it",
        Outcome::NotJudged => "something could not be judged",
    }
}

impl Notification {
    fn new(level: Level, text: String) -> Self {
        Self { level, message: Message { text } }
    }
}
