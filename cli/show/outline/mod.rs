//! A description to start from: an invented unit whose comments are the texts of the schema.
//!
//! What is written is data (`sketch`). Its order, and what is said of each key, come from the language itself, so that a
//! section or key that is added there is named here without further work.

mod sketch;
#[cfg(test)]
mod tests;

use std::collections::BTreeSet;

use loadworthy_language::quantity::QuantityKind;
use loadworthy_language::resolved::{Field, Value, word_in};
use loadworthy_language::{Guide, Guided};

use self::sketch::Sketch;
use super::layout::wrapped;
use super::yaml;

/// Columns of the outline.
const COLUMNS: usize = 110;
/// Columns of the mark of a comment.
const MARK: usize = 2;
/// Columns before the deepest lines that name further keys.
const DEEPEST: usize = 10;
/// The column from which on comments stand behind values.
const COMMENTS: usize = 44;

const HEAD: &str = "A description to start from: an orchard platform, which is invented. Put in names and figures of your own, \
and leave out what is not known: a review says what it could not judge for it. Quantities are written with their units. \
`loadworthy review FILE` reviews the unit.\n\
\n\
Sections that are comments here are written by `loadworthy outline --with SECTION...`, with what they need in other \
sections; `--with everything` writes a whole small unit. `also:` names the keys that an entry may have beside those shown, \
and `loadworthy schema` says what they are.\n\
\n\
A concept-stage aid: standards in force, local codes and qualified people decide.";

/// The text of the outline, with these sections written that are comments otherwise.
///
/// # Errors
/// Says which section cannot be asked for.
pub(crate) fn text(names: &[String]) -> Result<String, String> {
    let mut sketch = Sketch::read()?;
    let asked = sketch.asked(names)?;
    let vocabulary = loadworthy_checks::list::policy_vocabulary();
    let guide = Guide::new(&vocabulary);
    let along = asked.along.iter().map(|(by, along)| format!("`{along}` is written with `{by}`."));
    let along = along.collect::<Vec<_>>().join(" ");
    let mut outline =
        commented(&if along.is_empty() { HEAD.to_owned() } else { format!("{HEAD}\n\n{along}") });
    let mut told = Told { known: BTreeSet::new(), columns: COLUMNS };
    for (name, guided) in guide.top().keys(&|_| None) {
        outline.push('\n');
        let mut sections = asked.sections.clone();
        let is_comment = sketch.is_optional(name) && sections.insert(name.to_owned());
        let unit = sketch.with(&sections)?;
        let Some(entry) = sketch.tree.entry(unit, name) else {
            // Nothing of it can be shown without files that the unit does not have.
            outline.push_str(&commented(&format!("{name}: {}", guided.help())));
            continue;
        };
        told.columns = if is_comment { COLUMNS - MARK } else { COLUMNS };
        let section = told.section(name, &Value::of(&sketch.tree, entry.value), guided)?;
        if is_comment {
            outline.extend(section.lines().map(|line| match line.strip_prefix('#') {
                Some(_) => format!("{line}\n"),
                None => format!("# {line}\n"),
            }));
        } else {
            outline.push_str(&section);
        }
    }
    Ok(outline)
}

/// Lines of comments.
fn commented(text: &str) -> String {
    let lines = wrapped(text, COLUMNS - MARK);
    lines.iter().map(|line| format!("# {line}").trim_end().to_owned() + "\n").collect()
}

/// What was said already, and is not said twice.
struct Told<'g> {
    known: BTreeSet<(&'g str, &'g str)>,
    /// Columns of what is being written.
    columns: usize,
}

impl<'g> Told<'g> {
    fn section(&mut self, name: &str, value: &Value<'_>, guided: Guided<'g>) -> Result<String, String> {
        // What stands in a patch was explained where it stands itself.
        let is_patch = name == "variants";
        let shown = if is_patch { plain(value) } else { self.value(value, guided, 1) };
        let mut entry = yaml::Entry::new(name, shown);
        if let (Value::Map(fields), false) = (value, is_patch) {
            entry.below = self.others(fields, guided);
        }
        Ok(commented(guided.help()) + &yaml::outlined(&[entry], COMMENTS)?)
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
            let keys = above.keys(&stated);
            let own = keys.iter().map(|(own, _)| *own).find(|own| *own == field.key);
            own.into_iter().for_each(|own| self.help(own, &mut entry, guided, above, depth));
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
    fn help(
        &mut self,
        key: &'g str,
        entry: &mut yaml::Entry<'_>,
        guided: Guided<'g>,
        above: Guided<'g>,
        depth: usize,
    ) {
        let help = guided.help();
        if help.is_empty() || !self.known.insert((key, help)) {
            return;
        }
        let mut text = first_paragraph(help);
        let own_kind = |kind: &&str| entry.value.as_text() != Some(kind);
        let kinds = above.kinds(key);
        // They are named beside the first entry, and need it no more beside one of another kind.
        let has_news = kinds.iter().filter(|kind| self.known.insert((key, kind))).count() > 0;
        let kinds = kinds.into_iter().filter(own_kind).filter(|_| has_news).collect::<Vec<_>>();
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
        let indent = 2 * depth;
        let line = indent + key.len() + 2 + yaml::width_in_line(&entry.value).unwrap_or_default();
        if COMMENTS.max(line + 2) + MARK + text.chars().count() <= self.columns {
            entry.beside = text;
        } else {
            entry.above = wrapped(&text, self.columns - MARK - indent);
        }
    }

    /// The keys that a map may have besides those that it has.
    fn others(&mut self, fields: &[Field<'_>], guided: Guided<'g>) -> Vec<String> {
        let keys = guided.keys(&|tag| word_in(fields, tag));
        let has = |key: &str| fields.iter().any(|field| field.key == key);
        let others = keys.iter().map(|(key, _)| *key).filter(|key| !has(key)).collect::<Vec<_>>();
        // Counted with those that it has: what another entry of the kind shows needs no naming.
        let news = keys.iter().filter(|(key, _)| self.known.insert((guided.help(), key))).count();
        if news == 0 || others.is_empty() {
            return Vec::new();
        }
        // Room for the deepest that stands in the outline.
        wrapped(&format!("also: {}", others.join(", ")), self.columns - MARK - DEEPEST)
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
