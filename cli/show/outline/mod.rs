//! A description to start from: an invented unit whose comments are the texts of the schema.
//!
//! What is written is data: `start.yaml` holds the sections that a unit needs, `more.yaml` those that are shown as
//! comments until they are asked for. Their order, and what is said of each key, come from the language itself, so that a
//! section or key that is added there is named here without further work.

use std::collections::BTreeSet;

use loadworthy_language::quantity::QuantityKind;
use loadworthy_language::resolved::{Field, Value, word_in};
use loadworthy_language::{Guide, Guided};
use loadworthy_source::{NodeId, Tree};

use super::layout::wrapped;
use super::yaml;
use crate::solutions::unknown;

const START: &str = include_str!("start.yaml");
const MORE: &str = include_str!("more.yaml");

/// Columns of the outline.
const COLUMNS: usize = 110;
/// Columns before the deepest lines that name further keys.
const DEEPEST: usize = 10;
/// The column from which on comments stand behind values.
const COMMENTS: usize = 44;

const HEAD: &str = "A description to start from: an orchard platform, which is invented. Put in names and figures of your own, \
and leave out what is not known: a review says what it could not judge for it. Quantities are written with their units. \
`loadworthy review FILE` reviews the unit, `loadworthy schema` prints what else an entry may say.\n\
\n\
A concept-stage aid: standards in force, local codes and qualified people decide.";

/// The text of the outline, with these sections written that are comments otherwise.
///
/// # Errors
/// Says which section cannot be asked for.
pub(crate) fn text(asked: &[String]) -> Result<String, String> {
    let mut tree = Tree::new();
    let start = read(&mut tree, START)?;
    let more = read(&mut tree, MORE)?;
    let vocabulary = loadworthy_checks::list::policy_vocabulary();
    let guide = Guide::new(&vocabulary);
    let sections = guide.top().keys(&|_| None);
    for name in asked {
        let is_there = |root: NodeId| tree.entry(root, name).is_some();
        if !is_there(start) && !is_there(more) {
            let known = tree.entries(more).iter().map(|entry| tree.key_text(entry.key));
            return Err(unknown("section to write", name, known));
        }
    }
    let mut outline = commented(HEAD);
    let mut told = Told::default();
    for (name, guided) in sections {
        outline.push('\n');
        let written = |root: NodeId| tree.entry(root, name).map(|entry| Value::of(&tree, entry.value));
        match (written(start), written(more)) {
            (Some(value), _) => outline.push_str(&told.section(name, &value, guided)?),
            (None, Some(value)) => {
                let section = told.section(name, &value, guided)?;
                if asked.iter().any(|asked| asked == name) {
                    outline.push_str(&section);
                } else {
                    outline.extend(section.lines().map(|line| match line.strip_prefix('#') {
                        Some(_) => format!("{line}\n"),
                        None => format!("# {line}\n"),
                    }));
                }
            }
            // Nothing of it can be shown without files or parts that the unit does not have.
            (None, None) => outline.push_str(&commented(&format!("{name}: {}", guided.help()))),
        }
    }
    Ok(outline)
}

fn read(tree: &mut Tree, text: &str) -> Result<NodeId, String> {
    let mut problems = Vec::new();
    let root = tree.read("outline", text.as_bytes(), &mut problems);
    match (root, problems.first()) {
        (Some(root), None) => Ok(root),
        (_, problem) => {
            let why = problem.map(|problem| problem.message.clone()).unwrap_or_default();
            Err(format!("the outline cannot be read, which is a defect of this program: {why}"))
        }
    }
}

/// Lines of comments.
fn commented(text: &str) -> String {
    let lines = wrapped(text, COLUMNS - 2);
    lines.iter().map(|line| format!("# {line}").trim_end().to_owned() + "\n").collect()
}

/// What was said already, and is not said twice.
#[derive(Default)]
struct Told<'g>(BTreeSet<(&'g str, &'g str)>);

impl<'g> Told<'g> {
    fn section(&mut self, name: &str, value: &Value<'_>, guided: Guided<'g>) -> Result<String, String> {
        // What stands in a patch was explained where it stands itself.
        let value = if name == "variants" { plain(value) } else { self.value(value, guided, 1) };
        Ok(commented(guided.help()) + &yaml::text(&[yaml::Entry::new(name, value)], COMMENTS)?)
    }

    fn value<'v>(&mut self, value: &'v Value<'v>, guided: Guided<'g>, depth: usize) -> yaml::Value<'v> {
        match value {
            Value::Scalar { .. } => plain(value),
            Value::List(items) => {
                let item = guided.item().unwrap_or(guided);
                yaml::Value::List(items.iter().map(|value| self.value(value, item, depth + 1)).collect())
            }
            Value::Map(fields) => yaml::Value::Map(
                fields.iter().map(|field| self.field(field, fields, guided, depth)).collect(),
            ),
        }
    }

    fn field<'v>(
        &mut self,
        field: &'v Field<'v>,
        beside: &'v [Field<'v>],
        above: Guided<'g>,
        depth: usize,
    ) -> yaml::Entry<'v> {
        let stated = |tag: &str| word_in(beside, tag);
        let is_named = above.entry().is_some();
        let Some(guided) = above.below(&field.key, &stated) else {
            return yaml::Entry::new(&*field.key, self.value(&field.value, above, depth + 1));
        };
        let value = self.value(&field.value, guided, depth + 1);
        let mut entry = yaml::Entry::new(&*field.key, value);
        if !is_named {
            self.help(&mut entry, guided, above, depth);
        }
        match &mut entry.value {
            // Maps that stand in one line each have no room for comments of their own.
            yaml::Value::List(items) if items.iter().all(yaml::is_short) => {
                entry.above.extend(items.iter_mut().flat_map(own_comments));
            }
            _ => {}
        }
        if let Value::Map(fields) = &field.value {
            entry.below.extend(self.others(fields, guided));
        }
        entry
    }

    /// What a key is, behind it where that fits into the line.
    fn help(&mut self, entry: &mut yaml::Entry<'_>, guided: Guided<'g>, above: Guided<'g>, depth: usize) {
        let help = guided.help();
        let key = entry.key.to_string();
        let is_new = self.0.iter().all(|(own, text)| (*own, *text) != (key.as_str(), help));
        if !is_new || help.is_empty() {
            return;
        }
        let Some((own, _)) = above.keys(&|_| None).into_iter().find(|(own, _)| *own == key) else { return };
        self.0.insert((own, help));
        let mut text = first_paragraph(help);
        let own_kind = |kind: &&str| entry.value.as_text() != Some(kind);
        let kinds = above.kinds(&key).into_iter().filter(own_kind).collect::<Vec<_>>();
        let unit = guided.quantity().and_then(unit).filter(|_| !text.contains("e.g. `"));
        let choice = match (guided.words(), unit) {
            (words, _) if words.len() > 1 => words.join(", "),
            _ if !kinds.is_empty() => format!("others: {}", kinds.join(", ")),
            (_, Some(unit)) => unit.to_owned(),
            _ => String::new(),
        };
        if !choice.is_empty() {
            text = format!("{} ({choice})", text.trim_end_matches('.'));
        }
        if COMMENTS + 2 + text.chars().count() <= COLUMNS {
            entry.beside = text;
        } else {
            entry.above = wrapped(&text, COLUMNS - 2 - 2 * depth);
        }
    }

    /// The keys that a map may have besides those that it has.
    fn others(&mut self, fields: &[Field<'_>], guided: Guided<'g>) -> Vec<String> {
        let keys = guided.keys(&|tag| word_in(fields, tag));
        let has = |key: &str| fields.iter().any(|field| field.key == key);
        let others = keys.iter().map(|(key, _)| *key).filter(|key| !has(key)).collect::<Vec<_>>();
        // Counted with those that it has: what another entry of the kind shows needs no naming.
        let news = keys.iter().filter(|(key, _)| self.0.insert((guided.help(), key))).count();
        if news == 0 || others.is_empty() {
            return Vec::new();
        }
        // Room for the deepest that stands in the outline.
        wrapped(&format!("also: {}", others.join(", ")), COLUMNS - 2 - DEEPEST)
    }
}

/// A value without comments.
fn plain<'v>(value: &'v Value<'v>) -> yaml::Value<'v> {
    match value {
        Value::Scalar { text, plain } => yaml::Value::Scalar { text: text.as_ref().into(), plain: *plain },
        Value::List(items) => yaml::Value::List(items.iter().map(plain).collect()),
        Value::Map(fields) => {
            let entry = |field: &'v Field<'v>| yaml::Entry::new(&*field.key, plain(&field.value));
            yaml::Value::Map(fields.iter().map(entry).collect())
        }
    }
}

/// Takes the comments out of a map, each with the key that it is about.
fn own_comments(value: &mut yaml::Value<'_>) -> Vec<String> {
    let yaml::Value::Map(entries) = value else { return Vec::new() };
    let mut comments = Vec::new();
    for entry in entries {
        let own = std::mem::take(&mut entry.above).into_iter().chain([std::mem::take(&mut entry.beside)]);
        let own = own.filter(|line| !line.is_empty()).collect::<Vec<_>>().join(" ");
        if !own.is_empty() {
            comments.push(format!("{}: {own}", entry.key));
        }
        entry.below.clear();
    }
    comments
}

fn first_paragraph(text: &str) -> String {
    text.split("\n\n").next().unwrap_or_default().to_owned()
}

/// The unit that a quantity is written in.
fn unit(kind: QuantityKind) -> Option<&'static str> {
    match kind {
        QuantityKind::Plain(dimension) => Some(dimension.unit()).filter(|unit| !unit.is_empty()),
        QuantityKind::RmsCurrent => Some("A rms or A peak"),
        QuantityKind::RmsVoltage => Some("V rms or V peak"),
        QuantityKind::PeakVoltage => Some("V peak"),
        QuantityKind::Ratio => Some("%"),
        QuantityKind::SignedRatio | QuantityKind::Margin | QuantityKind::TimeOrContinuous => None,
    }
}
