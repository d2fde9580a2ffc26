//! What a node holds, in words for a sentence.

use crate::escape::shown;
use crate::scalar::ScalarKind;
use crate::span::NodeId;
use crate::tree::{Content, Tree};

impl Tree {
    /// What a node holds, as it may follow "found": `the number \`5\``, `a list`, `nothing`.
    #[must_use]
    pub fn describe(&self, node: NodeId) -> String {
        let scalar = match self.content(node) {
            Content::Map([]) => return "an empty map".to_owned(),
            Content::Map(_) => return "a map".to_owned(),
            Content::List([]) => return "an empty list".to_owned(),
            Content::List(_) => return "a list".to_owned(),
            Content::Scalar(scalar) => scalar,
        };
        let text = shown(scalar.text);
        match scalar.kind() {
            ScalarKind::Null if text.is_empty() => "nothing".to_owned(),
            ScalarKind::Null => format!("`{text}`, which is nothing"),
            ScalarKind::Truth => format!("the truth value `{text}`"),
            ScalarKind::Whole | ScalarKind::Fraction => format!("the number `{text}`"),
            ScalarKind::Text if text.is_empty() => "an empty text".to_owned(),
            ScalarKind::Text => format!("the text `{text}`"),
        }
    }
}
