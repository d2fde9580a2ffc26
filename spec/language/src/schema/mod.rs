//! The JSON Schema of the description language, draft 2020-12.
//!
//! It is generated from the types of the sections, so that documentation, editors and the reader never disagree:
//! the table of the reader's own walker is compiled from the same schema.

mod file;
mod guide;
mod patch;
mod permits;
mod policy;
mod snippets;
mod tidy;

use schemars::generate::SchemaSettings;
use serde_json::{Map, Value, json};

use crate::policy::PolicyItem;

pub use guide::{Guide, Guided, Tags};

/// Keys of the description that a variant may not touch, and that only the main file holds.
pub(crate) const OUTSIDE_VARIANTS: &[&str] = &["edition", "parts", "variants", "permits"];

/// Names of parts, variants and duty points: letters, digits, `_` and `-`.
const NAME_PATTERN: &str = "^[A-Za-z0-9_\u{AA}-\u{FFFF}][A-Za-z0-9_\u{AA}-\u{FFFF}-]*$";

/// Names of parts, or of a switch position of a stage: `auxiliary.rectifier`.
pub(crate) const PLACE_PATTERN: &str = "^[A-Za-z0-9_\u{AA}-\u{FFFF}][A-Za-z0-9_\u{AA}-\u{FFFF}-]*(\\.[A-Za-z0-9_\u{AA}-\u{FFFF}][A-Za-z0-9_\u{AA}-\u{FFFF}-]*)?$";
/// Longest name, and longest name of a switch position.
const LONGEST_NAME: usize = 64;
const LONGEST_PLACE: usize = 2 * LONGEST_NAME + 1;

/// The rule for the keys of a map of parts and switch positions; [`tidy`] leaves it as it is.
pub(crate) fn places(schema: &mut schemars::Schema) {
    schema
        .insert("propertyNames".to_owned(), json!({ "pattern": PLACE_PATTERN, "maxLength": LONGEST_PLACE }));
}

/// The schema of a description whose policy has this vocabulary, and whose permits name one of these checks: each with what it
/// asks. Without any, all that looks like the name of a check may be named.
pub fn schema(vocabulary: &[&PolicyItem], checks: &[(&str, &str)]) -> Value {
    let mut root = description(vocabulary, |_| ());
    permits::compose(&mut root, checks);
    snippets::add(&mut root);
    patch::add_variants(&mut root);
    name(root)
}

/// The schema of one description, its variants left out: that is all that a walker needs, since it looks at
/// descriptions whose patches are applied. The table of shapes is held in step with it.
#[cfg(test)]
pub(crate) fn walked(vocabulary: &[&PolicyItem]) -> Value {
    let mut root = description(vocabulary, tidy::undocumented);
    if let Some(properties) = properties(&mut root) {
        patch::insert_variants(properties, json!({ "type": "object" }));
    }
    Value::Object(root)
}

/// The schema of a description, changed by `first` before anything is made of its texts.
fn description(vocabulary: &[&PolicyItem], first: fn(&mut Map<String, Value>)) -> Map<String, Value> {
    let root =
        SchemaSettings::draft2020_12().into_generator().into_root_schema_for::<file::DescriptionFile>();
    let mut root = match Value::from(root) {
        Value::Object(root) => root,
        // A struct never generates anything but an object.
        _ => Map::new(),
    };
    first(&mut root);
    tidy::tidy(&mut root);
    if let Some(properties) = properties(&mut root) {
        policy::compose(properties, vocabulary);
    }
    root
}

/// The schema as the text of a file. The last character that a name may have is none that a file should hold, and is escaped.
pub fn schema_text(vocabulary: &[&PolicyItem], checks: &[(&str, &str)]) -> String {
    format!("{:#}\n", schema(vocabulary, checks)).replace('\u{FFFF}', "\\uffff")
}

/// What days look like, such as `2027-03-31`.
pub(crate) const DAY_PATTERN: &str = "^[0-9]{4}-[0-9]{2}-[0-9]{2}$";
/// What names of checks look like, such as `junction-temperature`.
pub(crate) const CHECK_PATTERN: &str = "^[a-z][a-z0-9]*(-[a-z0-9]+)*$";

/// Puts what names the schema before everything else.
fn name(mut rest: Map<String, Value>) -> Value {
    let mut root = Map::new();
    root.insert("$schema".to_owned(), json!("https://json-schema.org/draft/2020-12/schema"));
    root.insert("$id".to_owned(), json!("urn:loadworthy:description"));
    root.insert("title".to_owned(), json!("Power control unit"));
    rest.shift_remove("$schema");
    rest.shift_remove("title");
    root.append(&mut rest);
    Value::Object(root)
}

fn properties(schema: &mut Map<String, Value>) -> Option<&mut Map<String, Value>> {
    schema.get_mut("properties").and_then(Value::as_object_mut)
}

/// Documents a schema for both kinds of reader: plain text, and Markdown.
fn document(schema: &mut Map<String, Value>, text: &str) {
    schema.insert("description".to_owned(), json!(text.replace('`', "")));
    schema.insert("markdownDescription".to_owned(), json!(text));
}
