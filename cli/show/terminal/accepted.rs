//! Findings that a permit accepts, and the day that permits are held against.

use loadworthy_checks::Review;
use loadworthy_checks::figure_text;
use loadworthy_checks::review::{Finding, also_in_words};

use crate::described::Described;
use crate::permits::Day;
use crate::show::layout::{flowing, hanging, reason_text};
use crate::show::places;
use crate::show::words::permit::{beside, held_against, of, terms};

use super::paint::Paint;
use super::{MARGIN, WIDTH};

/// What is accepted, in short or in full, with the day; nothing where no permit stands in the description.
pub(super) fn accepted(
    described: &Described,
    review: &Review,
    day: Option<Day>,
    in_full: impl Fn(&Finding) -> String,
    all: bool,
    paint: Paint,
) -> String {
    let Some(day) = day.filter(|_| !described.unit.permits.is_empty()) else { return String::new() };
    let mut text = String::new();
    for finding in &review.accepted {
        if all {
            text.push_str(&in_full(finding));
            text.push('\n');
        } else {
            text.push_str(&paint.heading("accepted", &in_short(described, finding, day)));
        }
    }
    text.push_str(&paint.heading("permits", &hanging("permits", MARGIN, &held_against(day))));
    text.push('\n');
    text
}

fn in_short(described: &Described, finding: &Finding, day: Day) -> String {
    let mut title = format!("{}   {}", finding.check, finding.part);
    if finding.also_parts > 0 {
        title.push_str(&format!(" (+{})", finding.also_parts));
    }
    let mut at: Vec<&str> = finding.duty.as_deref().into_iter().collect();
    at.extend(finding.variant_name.as_deref());
    let mut lines = vec![title];
    lines.extend((!at.is_empty()).then(|| at.join(", ")));
    lines.extend(also_in_words(&finding.elsewhere).map(|also| format!("also in {also}")));
    match &finding.comparison {
        Some(compared) => {
            let text = figure_text::comparison(compared);
            let parts = [
                format!("carried {}", text.carried),
                format!("limit {}", text.limit),
                format!("allowed {}", text.allowed),
                text.headroom,
            ];
            lines.push(flowing(&parts, 3, WIDTH - MARGIN));
        }
        None => lines.push(finding.saying.clone()),
    }
    if let Some((permit, _)) = of(described, finding) {
        lines.push(terms(permit, Some(finding.defect), Some(day)));
        lines.push(format!("because {}", reason_text(&permit.reason)));
        lines.push(places::in_short(&described.tree, permit.at));
    }
    for permit in beside(described, finding) {
        lines.push(format!("and {}", terms(permit, Some(finding.defect), Some(day))));
        lines.push(format!("because {}", reason_text(&permit.reason)));
        lines.push(places::in_short(&described.tree, permit.at));
    }
    hanging("accepted", MARGIN, &lines.join("\n"))
}

/// What a permit says, and how it stands to a finding; for the finding in full.
pub(super) fn on_record(described: &Described, finding: &Finding, day: Option<Day>) -> Option<String> {
    let (permit, standing) = of(described, finding)?;
    let mut text = format!(
        "{standing}: {}\nbecause {}",
        terms(permit, Some(finding.defect), day),
        reason_text(&permit.reason)
    );
    for permit in beside(described, finding) {
        text.push_str(&format!(
            "\nand {}\nbecause {}",
            terms(permit, Some(finding.defect), day),
            reason_text(&permit.reason)
        ));
    }
    Some(text)
}
