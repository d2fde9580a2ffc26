//! A finding as a result.

use loadworthy_checks::figure_text;
use loadworthy_checks::review::{Finding, Held};
use loadworthy_checks::verdict::{Comparison, Grade};
use loadworthy_unit::Dimension;

use crate::described::Described;
use crate::permits::Day;
use crate::show::json::quantity;
use crate::show::words::finding::{carried_figure, derive_command, whereabouts};
use crate::show::words::permit;

use super::fix;
use super::log::{Fingerprints, Level, Message, Properties, Result, Suppression};
use super::message::{link, plain, sentence, title};
use super::place::{At, Places, primary, related};

/// Causes that a message links to.
const MOST_CAUSES: usize = 20;

/// A finding, accepted or not; nothing where no line of the description is left to stand at.
pub(super) fn result(
    described: &Described,
    finding: &Finding,
    day: Option<Day>,
    places: &mut Places<'_>,
) -> Option<Result> {
    let at = places.of_node(finding.at.node);
    let mut causes: Vec<(String, At)> = Vec::new();
    for cause in finding.because.iter().take(MOST_CAUSES) {
        let Some(place) = places.of_node(cause.node) else { continue };
        // What is marked twice is one place with two things to say.
        match causes.iter_mut().find(|(_, known)| *known == place) {
            Some((label, _)) if *label == cause.label => {}
            Some((label, _)) => *label = format!("{label}; {}", cause.label),
            None => causes.push((cause.label.clone(), place)),
        }
    }
    let at = at.or_else(|| places.beginning())?;
    let line = places.hash(&at);
    let suppression = finding.is_accepted().then(|| suppression(described, finding, day, places)).flatten();
    let text = said(described, finding, day, causes.iter().map(|(label, _)| label.as_str()));
    let related = causes.into_iter().enumerate().map(|(place, (label, at))| related(place + 1, &label, at));
    Some(Result {
        rule_id: finding.check.to_owned(),
        rule_index: 0,
        level: level(finding.grade),
        message: Message { text },
        related_locations: related.collect(),
        locations: [primary(at)],
        partial_fingerprints: Fingerprints { line, own: finding.fingerprint.clone() },
        suppressions: suppression.into_iter().collect(),
        fixes: finding.proposals.iter().filter_map(|held| fix::of(places, held)).collect(),
        properties: Some(properties(finding)),
    })
}

const fn level(grade: Grade) -> Level {
    match grade {
        Grade::Major => Level::Error,
        Grade::Minor => Level::Warning,
        Grade::Note => Level::Note,
    }
}

/// A title, and then what a reviewer asks: what, where, how much, why, what would hold, and where the working is.
fn said<'l>(
    described: &Described,
    finding: &Finding,
    day: Option<Day>,
    causes: impl Iterator<Item = &'l str>,
) -> String {
    let mut said = vec![heading(finding), sentence(&plain(&finding.saying))];
    let mut say = |text: String| said.push(sentence(&text));
    let whereabouts = whereabouts(finding);
    if !whereabouts.is_empty() {
        say(format!("Where: {}", plain(&whereabouts)));
    }
    if let Some(compared) = &finding.comparison {
        say(format!("Compared: {}", plain(&figures(described, finding, compared))));
    }
    if !finding.facts.is_empty() {
        say(plain(&finding.facts.join("; ")));
    }
    if !finding.at.label.is_empty() {
        say(format!("Marked: {}", plain(&finding.at.label)));
    }
    let causes = causes.enumerate().map(|(place, label)| link(label, place + 1)).collect::<Vec<_>>();
    if !causes.is_empty() {
        let more = match finding.because.len().saturating_sub(MOST_CAUSES) {
            0 => String::new(),
            more => format!("; and {more} more"),
        };
        say(format!("Because: {}{more}", causes.join("; ")));
    }
    if let Some((permit, standing)) = permit::of(described, finding) {
        let terms = permit::terms(permit, Some(finding.defect), day);
        say(format!("Permit, {standing}: {}, because {}", plain(&terms), plain(&permit.reason)));
    }
    for held in &finding.proposals {
        say(proposal(held));
    }
    if let Some(why) = &finding.no_proposal {
        say(format!("No proposal: {}", plain(why)));
    }
    for remark in &finding.estimate {
        say(format!("Bear in mind: {}", plain(remark)));
    }
    if let Some(command) = derive_command(described, finding) {
        say(format!("Working: `{}`", plain(&command.join(" "))));
    }
    said.join("\n")
}

fn heading(finding: &Finding) -> String {
    let what = match &finding.comparison {
        Some(compared) => {
            let text = figure_text::comparison(compared);
            format!("{}: {} carried, {} allowed", text.headroom, text.carried, text.allowed)
        }
        None => finding.defect.replace('-', " "),
    };
    let whole = format!("{}: {what}", finding.part);
    // A long path gives way to what is wrong.
    let part = crate::show::layout::cut(&finding.part, 60);
    title(if whole.chars().count() > 110 { format!("{part}: {what}") } else { whole }.as_str())
}

fn figures(described: &Described, finding: &Finding, compared: &Comparison) -> String {
    let carried = carried_figure(described, finding, compared);
    let text = figure_text::comparison(compared);
    let policy = text.policy.map_or_else(String::new, |policy| format!(" ({policy})"));
    format!(
        "carried {}{carried}, limit {}, allowed {}{policy}, {}",
        text.carried, text.limit, text.allowed, text.headroom
    )
}

fn proposal(held: &Held) -> String {
    let mut text = format!("Would hold: {}: leaves {}", held.say, held.leaves);
    text.push_str(&format!(" ({})", held.judged_by.words()));
    if !held.side_effects.is_empty() {
        text.push_str(&format!("; side effects: {}", held.side_effects.join("; ")));
    }
    plain(&text)
}

/// The permit that accepts it, with its reason, its person and its last day.
fn suppression(
    described: &Described,
    finding: &Finding,
    day: Option<Day>,
    places: &Places<'_>,
) -> Option<Suppression> {
    let (permit, _) = permit::of(described, finding)?;
    let justification = format!(
        "{} (accepted {})",
        plain(&permit.reason),
        plain(&permit::terms(permit, Some(finding.defect), day))
    );
    Some(Suppression {
        // It stands in the description itself.
        kind: "inSource",
        status: "accepted",
        justification,
        location: places.of_node(permit.at).map(primary),
    })
}

fn properties(finding: &Finding) -> Properties {
    let compared = finding.comparison.as_ref();
    let figure =
        |of: fn(&Comparison) -> f64| compared.and_then(|compared| quantity(of(compared), compared.dimension));
    let headroom = compared.and_then(|compared| {
        let dimension =
            if compared.is_in_kelvin() { Dimension::TemperatureDifference } else { Dimension::Ratio };
        quantity(compared.headroom, dimension)
    });
    Properties {
        grade: finding.grade.word(),
        defect: finding.defect,
        part: finding.part.clone(),
        variant: finding.variant_name.clone(),
        duty_point: finding.duty.clone(),
        carried: figure(|compared| compared.carried_value),
        limit: figure(|compared| compared.limit),
        allowed: figure(|compared| compared.allowed),
        headroom,
        also_in: finding.also_in.clone(),
    }
}
