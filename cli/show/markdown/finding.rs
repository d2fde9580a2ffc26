//! A finding in full, folded: its lines in the description, its figures, what would hold, and its working.

use loadworthy_checks::figure_text;
use loadworthy_checks::review::{Finding, Held, JudgedBy};
use loadworthy_checks::verdict::Comparison;

use crate::described::Described;
use crate::permits::Day;
use crate::show::layout::{cut, reason_text, wrapped};
use crate::show::patch;
use crate::show::places;
use crate::show::terminal::{Mark, snippet};
use crate::show::words::finding::{carried_figure, derive_command, whereabouts};
use crate::show::words::permit;

use super::block::{MOST_PLACES, folded, item, sentence};
use super::escape::{code, fence, html_code, html_text};

/// Characters of a name in a line that is folded over.
const LONGEST: usize = 120;

/// Columns of a step of its working.
const WORKED: usize = 100;

/// A finding in full.
pub(super) fn finding(described: &Described, finding: &Finding, day: Option<Day>) -> String {
    folded(&title(finding), &inside(described, finding, day, None))
}

/// A finding in full that a change has turned; its figures before the change are told beside those of now.
pub(super) fn turned(
    turn: &str,
    old: Option<(&Described, &Finding)>,
    (described, finding): (&Described, &Finding),
    day: Option<Day>,
) -> String {
    let before = old.and_then(|(described, old)| Some(figures(described, old, old.comparison.as_ref()?)));
    let title = format!("{turn}, {}", title(finding));
    folded(&title, &inside(described, finding, day, before.as_deref()))
}

fn inside(described: &Described, finding: &Finding, day: Option<Day>, before: Option<&str>) -> String {
    let mut inside = sentence(&finding.saying);
    let whereabouts = whereabouts(finding);
    if !whereabouts.is_empty() {
        inside.push_str(&item("where", &whereabouts));
    }
    if let Some(compared) = &finding.comparison {
        inside.push_str(&item("compared", &figures(described, finding, compared)));
    }
    if let Some(before) = before {
        inside.push_str(&item("before", before));
    }
    for fact in &finding.facts {
        inside.push_str(&item("", fact));
    }
    if let Some((permit, standing)) = permit::of(described, finding) {
        inside.push_str(&item(
            "permit",
            &format!("{standing}, {}", permit::terms(permit, Some(finding.defect), day)),
        ));
        inside.push_str(&item("because", &reason_text(&permit.reason)));
    }
    inside.push('\n');
    inside.push_str(&lines(described, finding));
    for (place, held) in finding.proposals.iter().enumerate() {
        inside.push_str(&proposal(if place == 0 { "would hold" } else { "or" }, held));
    }
    if let Some(why) = &finding.no_proposal {
        inside.push_str(&item("no proposal", why));
    }
    for remark in &finding.estimate {
        inside.push_str(&item("bear in mind", remark));
    }
    if let Some(patch) =
        finding.proposals.first().and_then(|held| patch::text(&held.set)).filter(|patch| patch.len() > 3)
    {
        inside.push_str(&format!("\nThe first as a merge patch:\n\n{}", fence("yaml", &patch)));
    }
    if !finding.worked.is_empty() {
        let lines = finding.worked.iter().map(|line| wrapped(line, WORKED).join("\n    "));
        inside.push_str(&format!("\nWorked:\n\n{}\n", fence("text", &lines.collect::<Vec<_>>().join("\n"))));
    }
    if let Some(command) = derive_command(described, finding) {
        inside.push_str(&format!("Traced to the description: {}\n", code(&command.join(" "))));
    }
    inside
}

/// The line that it is folded under.
fn title(finding: &Finding) -> String {
    let more = match &finding.comparison {
        Some(compared) => figure_text::comparison(compared).headroom,
        None => finding.facts.first().unwrap_or(&finding.saying).replace('`', ""),
    };
    let part = html_code(&cut(&finding.part, LONGEST));
    let grade = finding.grade.word();
    format!("{grade}: {} of {part}: {}", html_code(finding.check), html_text(&cut(&more, LONGEST)))
}

/// Carried, limit, allowed and headroom in a line.
pub(super) fn figures(described: &Described, finding: &Finding, compared: &Comparison) -> String {
    let carried = carried_figure(described, finding, compared);
    let compared = figure_text::comparison(compared);
    let policy = compared.policy.map_or_else(String::new, |policy| format!(" ({policy})"));
    format!(
        "carried {}{carried}, limit {}, allowed {}{policy}: {}",
        compared.carried, compared.limit, compared.allowed, compared.headroom
    )
}

/// The lines of the description that it is about, as the terminal draws them.
fn lines(described: &Described, finding: &Finding) -> String {
    let tree = &described.tree;
    let places = std::iter::once(&finding.at).chain(finding.because.iter().take(MOST_PLACES));
    let marks = places.map(|place| Mark::of_node(tree, place.node, &place.label)).collect::<Vec<_>>();
    let more = match finding.because.len().saturating_sub(MOST_PLACES) {
        0 => String::new(),
        more => format!("{more} more of the causes are not drawn here.\n\n"),
    };
    format!("{}\n{more}", fence("text", &snippet(tree, &marks, false)))
}

fn proposal(lead: &str, held: &Held) -> String {
    let arrows = |text: &str| text.replace(" -> ", " → ");
    let mut text = item(lead, &format!("{}: leaves {}", arrows(&held.say), held.leaves));
    if held.judged_by != JudgedBy::AllChecks {
        text.push_str(&format!("  {}", item("judged by", held.judged_by.words())));
    }
    if !held.side_effects.is_empty() {
        text.push_str(&format!("  {}", item("side effects", &arrows(&held.side_effects.join("; ")))));
    }
    text
}

/// A finding that a permit accepts, as an item of a list, never left out because it counts for nothing. The lead is its
/// grade, or how it turned.
pub(super) fn accepted(described: &Described, finding: &Finding, lead: &str, day: Option<Day>) -> String {
    let what = match &finding.comparison {
        Some(compared) => figures(described, finding, compared),
        None => finding.saying.clone(),
    };
    let whereabouts = whereabouts(finding);
    let whereabouts = if whereabouts.is_empty() { String::new() } else { format!(" in {whereabouts}") };
    let mut text =
        item(lead, &format!("`{}` of `{}`{whereabouts}: {what}", finding.check, cut(&finding.part, LONGEST)));
    if let Some((permit, _)) = permit::of(described, finding) {
        text.push_str(&format!("  {}", item("accepted", &permit::terms(permit, Some(finding.defect), day))));
        text.push_str(&format!("  {}", item("because", &reason_text(&permit.reason))));
        let at = places::in_short(&described.tree, permit.at);
        text.push_str(&format!("  {}", item("permit", &format!("`{at}`"))));
    }
    text
}
