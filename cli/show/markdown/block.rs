//! Blocks that several parts of a review are made of.

use super::escape::{message, text};

/// Something folded under a line of HTML.
pub(super) fn folded(summary: &str, inside: &str) -> String {
    format!("<details>\n<summary>{summary}</summary>\n\n{}\n\n</details>\n\n", inside.trim_end())
}

/// An item of a list.
pub(super) fn item(lead: &str, said: &str) -> String {
    let lead = if lead.is_empty() { String::new() } else { format!("**{}**: ", text(lead)) };
    format!("- {lead}{}\n", message(&said.replace('\n', "; ")))
}

/// A sentence as a paragraph.
pub(super) fn sentence(said: &str) -> String {
    let said = said.trim_end();
    let end = if said.ends_with(['.', '!', '?', '…']) { "" } else { "." };
    format!("{}{end}\n\n", message(said))
}
