//! What is said of a finding beside its own sentence.

use loadworthy_checks::review::{Finding, also_in_words};
use loadworthy_checks::verdict::Comparison;
use loadworthy_source::escape_text;

use crate::described::Described;

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
    if let Some(also) = also_in_words(&finding.elsewhere) {
        text.push_str(&format!("\nalso in {also}"));
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
pub(crate) fn quoted(word: &str) -> String {
    let word = &*escape_text(word);
    let plain =
        |character: char| character.is_alphanumeric() || matches!(character, '_' | '-' | '.' | '/' | ':');
    if !word.is_empty() && word.chars().all(plain) {
        word.to_owned()
    } else {
        format!("'{}'", word.replace('\'', "'\\''"))
    }
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
}
