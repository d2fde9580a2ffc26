//! Blocks that several parts of a review are made of.

use crate::show::layout::cut;

use super::escape::{message, text};

/// Characters of a sentence. Nothing of a description may take the room of everything else.
const LONGEST: usize = 900;
/// Places of a description that a drawing marks beside the first.
pub(super) const MOST_PLACES: usize = 9;

/// Something folded under a line of HTML.
pub(super) fn folded(summary: &str, inside: &str) -> String {
    format!("<details>\n<summary>{summary}</summary>\n\n{}\n\n</details>\n\n", inside.trim_end())
}

/// An item of a list.
pub(super) fn item(lead: &str, said: &str) -> String {
    let lead = if lead.is_empty() { String::new() } else { format!("**{}**: ", text(lead)) };
    format!("- {lead}{}\n", message(&cut(&said.replace('\n', "; "), LONGEST)))
}

/// A sentence as a paragraph.
pub(super) fn sentence(said: &str) -> String {
    let said = cut(said.trim_end(), LONGEST);
    let end = if said.ends_with(['.', '!', '?', '…']) { "" } else { "." };
    format!("{}{end}\n\n", message(&said))
}
