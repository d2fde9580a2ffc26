//! A review as lines that an editor jumps along and a hook prints: place, grade, check, sentence. What holds has no line.

use loadworthy_checks::review::Finding;
use loadworthy_source::escape_text;

use crate::described::{Described, MORE_PROBLEMS};
use crate::reviewed::Made;

use super::layout::{cut, free_text};
use super::places;

/// Characters of a line that are shown.
const LONGEST: usize = 600;

/// A line for each problem, finding, accepted finding, and missing input.
pub(crate) fn lines(Made { described, review, .. }: &Made) -> String {
    let mut lines = Vec::new();
    for problem in &described.problems {
        let place = places::of_span(&described.tree, problem.at);
        let way_out = match &problem.way_out {
            Some(way_out) if problem.kind != MORE_PROBLEMS => format!("; {way_out}"),
            _ => String::new(),
        };
        let at = format!("{}:{}:{}", place.file, place.line, place.column);
        lines.push(format!("{at}: problem: {}{way_out}", problem.message));
    }
    lines.extend(review.findings.iter().map(|finding| found(described, finding, finding.grade.word(), "")));
    for finding in &review.accepted {
        let permit = finding.permit.and_then(|of| described.unit.permits.get(of.permit));
        let permit = permit.map_or_else(String::new, |permit| {
            let (by, reason) = (free_text(&permit.accepted_by), free_text(&permit.reason));
            format!("; accepted by {by} until {}: {reason}", permit.until)
        });
        lines.push(found(described, finding, "accepted", &permit));
    }
    for one in &review.not_judged {
        let at =
            one.near.map_or_else(|| described.name.clone(), |near| places::in_short(&described.tree, near));
        lines.push(format!("{at}: not judged: {}: {}", one.missing, one.checks.join(", ")));
    }
    for one in review.unsolved.iter().filter(|one| one.largest.is_none()) {
        lines.push(format!(
            "{}: not judged: {} has neither a solution nor none at {}",
            described.name, one.duty, one.path
        ));
    }
    for one in &review.broken_checks {
        lines.push(format!(
            "{}: not judged: {} broke down, which is a defect of this program: {}",
            described.name,
            one.check,
            free_text(&one.said)
        ));
    }
    if lines.is_empty() && !review.judges_a_duty_point() {
        lines.push(format!("{}: not judged: nothing of a stage in a duty point", described.name));
    }
    lines.iter().map(|line| format!("{}\n", escape_text(&cut(line, LONGEST)))).collect()
}

fn found(described: &Described, finding: &Finding, word: &str, after: &str) -> String {
    let mut lane = finding.duty.iter().chain(&finding.variant_name).cloned().collect::<Vec<_>>().join(", ");
    if !lane.is_empty() {
        lane = format!(" ({lane})");
    }
    let at = places::in_short(&described.tree, finding.at.node);
    format!("{at}: {word} {}: {}{lane}{after}", finding.check, finding.saying)
}
