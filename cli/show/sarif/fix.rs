//! A proposal as an edit of the text, where one is exact: every value that it sets stands as one plain value in one place.

use loadworthy_checks::review::{Held, JudgedBy};
use loadworthy_source::{NodeId, Tree};

use super::log::{ArtifactChange, Content, Fix, Message, Replacement};
use super::place::Places;
use super::{message, region, uri};

/// The edit of a proposal that all checks were solved again with; none where no edit of the description alone expresses it.
pub(super) fn of(places: &Places<'_>, held: &Held) -> Option<Fix> {
    if held.judged_by != JudgedBy::AllChecks || held.set.is_empty() {
        return None;
    }
    let tree = places.tree();
    let mut values: Vec<(NodeId, &str)> = Vec::new();
    for setting in &held.set {
        let node =
            setting.instead_of.filter(|&node| is_one_value(tree, node) && is_plain(&setting.written))?;
        match values.iter().find(|(known, _)| *known == node) {
            Some((_, written)) if *written == setting.written => {}
            Some(_) => return None,
            None => values.push((node, &setting.written)),
        }
    }
    values.sort_by_key(|(node, _)| tree.span(*node));
    let first = tree.span(values.first()?.0);
    let artifact_location = places.of_span(first)?.place.artifact_location;
    let replacement = |(node, written): &(NodeId, &str)| {
        let span = tree.span(*node);
        Replacement {
            deleted_region: region::exact(tree.file(span.file), span.range()),
            inserted_content: Content { text: (*written).to_owned() },
        }
    };
    let text = message::sentence(&message::plain(&format!("{}: leaves {}", held.say, held.leaves)));
    (artifact_location.uri_base_id == uri::INSIDE).then(|| Fix {
        description: Message { text },
        artifact_changes: vec![ArtifactChange {
            artifact_location,
            replacements: values.iter().map(replacement).collect(),
        }],
    })
}

/// Whether a node is a value in a line of the description itself that stands for nothing else: parts belong to other units
/// as well, and an alias to another entry.
fn is_one_value(tree: &Tree, node: NodeId) -> bool {
    let span = tree.span(node);
    let text = tree.text_of(span);
    span.file.index() == 0
        && tree.target(node) == node
        && tree.scalar(node).is_some()
        && !text.is_empty()
        && !text.contains(['\n', '\r'])
        && !tree.file(span.file).text.contains(" &")
}

/// Whether a text is one plain value in YAML, within brackets as well.
fn is_plain(written: &str) -> bool {
    written.starts_with(|character: char| character.is_alphanumeric())
        && !written.ends_with(' ')
        && written.chars().all(|character| {
            character.is_alphanumeric() || matches!(character, ' ' | '.' | '_' | '-' | '/' | '%' | '^' | '+')
        })
}
