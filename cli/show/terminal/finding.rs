//! A finding: what, where, by how much, why, and what would hold.

use loadworthy_checks::figure_text;
use loadworthy_checks::review::{Finding, Held, JudgedBy};
use loadworthy_checks::verdict::Comparison;
use loadworthy_source::escape_text;

use crate::described::Described;
use crate::permits::Day;
use crate::show::layout::{WIDTH, flowing, hanging, width};

use super::accepted::on_record;
use super::paint::Paint;
use super::snippet::{Mark, snippet};

const MARGIN: usize = 7;
/// Where the texts below the frame begin.
const BELOW: usize = MARGIN + 14;

/// One finding.
pub(crate) fn finding(
    described: &Described,
    finding: &Finding,
    day: Option<Day>,
    all: bool,
    paint: Paint,
) -> String {
    let title = format!("{}   {}", finding.check, finding.part);
    let mut text = if finding.is_accepted() {
        paint.heading("accepted", &hanging(&format!("accepted, {}", finding.grade.word()), MARGIN, &title))
    } else {
        paint.grade(finding.grade, &hanging(finding.grade.word(), MARGIN, &title))
    };
    let whereabouts = whereabouts(finding);
    if !whereabouts.is_empty() {
        text.push_str(&hanging("", MARGIN, &whereabouts));
    }
    match &finding.comparison {
        Some(compared) => {
            let carried = carried_figure(described, finding, compared);
            let compared = figure_text::comparison(compared);
            let allowed = match &compared.policy {
                Some(policy) => format!("allowed {} ({policy})", compared.allowed),
                None => format!("allowed {}", compared.allowed),
            };
            let parts = [
                format!("carried {}{carried}", compared.carried),
                format!("limit {}", compared.limit),
                allowed,
                compared.headroom,
            ];
            text.push_str(&hanging("", MARGIN, &flowing(&parts, 3, WIDTH - MARGIN)));
        }
        None if finding.facts.is_empty() => text.push_str(&hanging("", MARGIN, &finding.saying)),
        None => {}
    }
    if !finding.facts.is_empty() {
        text.push_str(&hanging("", MARGIN, &flowing(&finding.facts, 3, WIDTH - MARGIN)));
    }
    let places = std::iter::once(&finding.at).chain(&finding.because);
    let marks =
        places.map(|place| Mark::of_node(&described.tree, place.node, &place.label)).collect::<Vec<_>>();
    text.push_str(&snippet(&described.tree, &marks, paint.colored));
    if all && (finding.comparison.is_some() || !finding.facts.is_empty()) {
        text.push_str(&below("says", &finding.saying));
    }
    if let Some(record) = on_record(described, finding, day) {
        text.push_str(&below("permit", &record));
    }
    for (place, held) in finding.proposals.iter().enumerate() {
        text.push_str(&proposal(if place == 0 { "would hold" } else { "or" }, held));
    }
    if let Some(why) = &finding.no_proposal {
        text.push_str(&below("no proposal", why));
    }
    for (place, remark) in finding.estimate.iter().enumerate() {
        text.push_str(&below(if place == 0 { "bear in mind" } else { "" }, remark));
    }
    if all {
        for (place, line) in finding.worked.iter().enumerate() {
            text.push_str(&below(if place == 0 { "worked" } else { "" }, line));
        }
    }
    if let Some(command) = derive_command(described, finding) {
        text.push_str(&shell_lines("working", &command));
    }
    text
}

fn proposal(margin: &str, held: &Held) -> String {
    let mut text = below(margin, &format!("{}: leaves {}", held.say, held.leaves));
    if !held.side_effects.is_empty() {
        text.push_str(&below("side effects", &held.side_effects.join("; ")));
    }
    if held.judged_by != JudgedBy::AllChecks {
        text.push_str(&below("judged by", held.judged_by.words()));
    }
    text
}

fn below(margin: &str, text: &str) -> String {
    hanging(&format!("{}{margin}", " ".repeat(MARGIN)), BELOW, text)
}

/// Which figure is carried, where the name of the check leaves that open.
pub(crate) fn carried_figure(described: &Described, finding: &Finding, compared: &Comparison) -> String {
    let variant = described.unit.variants.get(finding.variant);
    let name = variant.map_or("", |variant| variant.tables.figure_of(compared.carried).name);
    let is_plain = name.is_empty() || name.replace('_', "-") == finding.check;
    if is_plain { String::new() } else { format!(" ({})", name.replace('_', " ")) }
}

/// Duty point, corner, variant, and where else; nothing of what is so whatever is asked, everywhere and once.
pub(crate) fn whereabouts(finding: &Finding) -> String {
    let throughout = || finding.comparison.map_or_else(String::new, |_| "every duty point".to_owned());
    let mut text = finding.duty.clone().unwrap_or_else(throughout);
    if let Some(corner) = &finding.corner {
        text.push_str(&format!(" ({corner})"));
    }
    if let Some(variant) = &finding.variant_name {
        text.push_str(if text.is_empty() { "variant " } else { ", " });
        text.push_str(variant);
    }
    if !finding.also.is_empty() {
        text.push_str(&format!(" (also {}: +{})", finding.also.join(", "), finding.also_parts));
    }
    if !finding.also_in.is_empty() {
        text.push_str(&format!("\nalso in {}", finding.also_in.join(", ")));
    }
    text.trim_start().to_owned()
}

/// The words of the command that shows how the carried figure comes about.
pub(crate) fn derive_command(described: &Described, finding: &Finding) -> Option<Vec<String>> {
    let compared = finding.comparison.as_ref()?;
    let variant = described.unit.variants.get(finding.variant)?;
    let figure = variant.tables.figure_path(compared.carried);
    let mut words = vec!["loadworthy derive".to_owned(), quoted(&described.name), figure];
    words.extend(finding.duty.as_ref().map(|duty| format!("--duty {}", quoted(duty))));
    if let Some(name) = &finding.variant_name {
        words.push(format!("--variant {}", quoted(name)));
    }
    Some(words)
}

/// A word as a shell takes it for one.
fn quoted(word: &str) -> String {
    let word = &*escape_text(word);
    let plain =
        |character: char| character.is_alphanumeric() || matches!(character, '_' | '-' | '.' | '/' | ':');
    if !word.is_empty() && word.chars().all(plain) {
        word.to_owned()
    } else {
        format!("'{}'", word.replace('\'', "'\\''"))
    }
}

/// A command over as many lines as it needs, each but the last ended so that a shell reads on.
fn shell_lines(margin: &str, words: &[String]) -> String {
    let room = WIDTH - BELOW - 2;
    let mut lines: Vec<String> = Vec::new();
    for word in words {
        match lines.last_mut() {
            Some(line) if width(line) + 1 + width(word) <= room => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.clone()),
        }
    }
    let mut text = String::new();
    let last = lines.len().saturating_sub(1);
    for (place, line) in lines.iter().enumerate() {
        let margin = if place == 0 { margin } else { "" };
        let before = format!("{}{margin}", " ".repeat(MARGIN));
        let end = if place == last { "" } else { " \\" };
        text.push_str(&format!("{before:BELOW$}{line}{end}\n"));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_with_spaces_are_quoted() {
        assert_eq!(quoted("units/forwarder.yaml"), "units/forwarder.yaml");
        assert_eq!(quoted("my unit's.yaml"), "'my unit'\\''s.yaml'");
        assert_eq!(quoted(""), "''");
    }

    #[test]
    fn a_long_command_goes_on_in_the_next_line() {
        let words = ["loadworthy derive".to_owned(), "a".repeat(30), "b".repeat(40)];
        let text = shell_lines("working", &words);
        let lines = text.lines().collect::<Vec<_>>();
        assert_eq!(lines.len(), 2);
        assert!(
            lines[0].trim_start().starts_with("working       loadworthy derive") && lines[0].ends_with(" \\")
        );
        assert_eq!(lines[1].trim(), "b".repeat(40));
    }
}
