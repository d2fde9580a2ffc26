//! A description as it is understood, as YAML with comments, and as JSON.

use loadworthy_language::resolved::{By, Field, Mark, Resolved, Value};
use loadworthy_source::{NodeId, Scalar, ScalarKind, Tree};
use serde::ser::{Serialize, SerializeMap, Serializer};

use super::layout::{cut, free_text};
use super::{json, yaml};

/// Characters of a value that was replaced, as far as they are shown.
const LONGEST_OLD: usize = 60;

/// A description with what is to be said of it.
pub(crate) struct Shown<'d> {
    /// The files that it came from.
    pub(crate) tree: &'d Tree,
    /// Name of the description's file.
    pub(crate) file: &'d str,
    /// The variant that it is, if it is one.
    pub(crate) variant: Option<&'d str>,
    /// All variants of the file.
    pub(crate) variants: &'d [&'d str],
    /// What stands in for what has no place in the description.
    pub(crate) placeless: &'d [String],
    /// The description itself.
    pub(crate) resolved: &'d Resolved<'d>,
}

impl Shown<'_> {
    /// As YAML.
    ///
    /// # Errors
    /// Says why it cannot be written.
    pub(crate) fn yaml(&self) -> Result<String, String> {
        let mut entries = self.entries(&self.resolved.sections);
        for (place, entry) in entries.iter_mut().enumerate() {
            // Sections stand apart.
            if place > 0 {
                entry.above.push(String::new());
            }
        }
        let text = yaml::text(&entries, 0)?;
        let head = self.head().iter().map(|line| format!("# {line}\n")).collect::<String>();
        Ok(if head.is_empty() { text } else { format!("{head}\n{text}") })
    }

    /// What is said before anything else.
    fn head(&self) -> Vec<String> {
        let mut lines = Vec::new();
        match self.variant {
            Some(name) => lines.push(format!("variant {}", free_text(name))),
            None if self.variants.is_empty() => {}
            None => {
                let named = self.variants.iter().map(|name| free_text(name)).collect::<Vec<_>>().join(", ");
                lines.push(format!(
                    "without any of its variants ({named}): `--variant NAME` lays one over it"
                ));
            }
        }
        let removed = self.resolved.removed.iter();
        lines.extend(removed.map(|path| format!("without `{}`, which the variant removes", free_text(path))));
        lines.extend(self.placeless.iter().map(|line| free_text(line)));
        lines
    }

    fn entries<'v>(&self, fields: &'v [Field<'v>]) -> Vec<yaml::Entry<'v>> {
        let entry = |field: &'v Field<'v>| {
            let mut entry = yaml::Entry::new(&*field.key, self.value(&field.value));
            entry.beside = field.marks.iter().map(|mark| self.mark(mark)).collect::<Vec<_>>().join("; ");
            entry
        };
        fields.iter().map(entry).collect()
    }

    fn value<'v>(&self, value: &'v Value<'v>) -> yaml::Value<'v> {
        match value {
            Value::Scalar { text, plain } => {
                yaml::Value::Scalar { text: text.as_ref().into(), plain: *plain }
            }
            Value::List(items) => yaml::Value::List(items.iter().map(|item| self.value(item)).collect()),
            Value::Map(fields) => yaml::Value::Map(self.entries(fields)),
        }
    }

    fn mark(&self, mark: &Mark) -> String {
        match mark {
            Mark::Changed { by, was } => match was {
                Some(was) => format!("{}, was {}", self.by(*by), self.old(*was)),
                None => format!("{}, new", self.by(*by)),
            },
            Mark::Assumed { why, usual: None } => format!("assumed: {why}"),
            Mark::Assumed { why, usual: Some(usual) } => format!("assumed: {why}; usual {usual}"),
        }
    }

    fn by(&self, by: By) -> String {
        match (by, self.variant) {
            (By::Variant, Some(name)) => format!("variant {}", free_text(name)),
            (By::Variant, None) => "variant".to_owned(),
            (By::Trial, _) => "--with".to_owned(),
        }
    }

    /// A value that was replaced, in one line.
    fn old(&self, was: NodeId) -> String {
        let text = match self.tree.scalar(was) {
            Some(scalar) => scalar.text.to_owned(),
            None => in_one_line(&Value::of(self.tree, was)),
        };
        free_text(&cut(&text, LONGEST_OLD))
    }

    /// As JSON.
    pub(crate) fn json(&self) -> String {
        let mut marked = Marked { shown: self, assumed: Vec::new(), changed: Vec::new() };
        marked.collect(&self.resolved.sections, "");
        let Marked { assumed, changed, .. } = marked;
        json::text(&Form {
            form: "loadworthy-resolved",
            version: 1,
            file: self.file,
            variant: self.variant,
            variants: self.variants,
            description: Fields(&self.resolved.sections),
            assumed,
            assumed_elsewhere: self.placeless,
            changed,
            removed: &self.resolved.removed,
        }) + "\n"
    }
}

fn in_one_line(value: &Value<'_>) -> String {
    match value {
        Value::Scalar { text, .. } => text.clone().into_owned(),
        Value::List(items) => {
            format!("[{}]", items.iter().map(in_one_line).collect::<Vec<_>>().join(", "))
        }
        Value::Map(fields) => {
            let one = |field: &Field<'_>| format!("{}: {}", field.key, in_one_line(&field.value));
            format!("{{ {} }}", fields.iter().map(one).collect::<Vec<_>>().join(", "))
        }
    }
}

#[derive(serde::Serialize, schemars::JsonSchema)]
pub(super) struct Form<'d> {
    /// The name of this form.
    form: &'static str,
    /// Its version: another number only where a key changes its meaning.
    version: u32,
    /// The file, by the name that it was asked for.
    file: &'d str,
    /// The variant; null where the unit has no named variants.
    variant: Option<&'d str>,
    /// Names of variants.
    variants: &'d [&'d str],
    /// The description as it is understood.
    #[schemars(with = "std::collections::BTreeMap<String, serde_json::Value>")]
    description: Fields<'d>,
    /// Values that nobody states.
    assumed: Vec<Assumed<'d>>,
    /// What is assumed and has no key of its own, in words.
    assumed_elsewhere: &'d [String],
    /// Values that the variant or the command line changed.
    changed: Vec<Changed>,
    /// What the variant took out, in words.
    removed: &'d [String],
}

/// A value that nobody states, or a key below which something is taken that has no key of its own.
#[derive(serde::Serialize, schemars::JsonSchema)]
struct Assumed<'d> {
    /// Its path.
    path: String,
    /// Why that value.
    why: &'d str,
    /// The usual range.
    usual: Option<&'d str>,
}

#[derive(serde::Serialize, schemars::JsonSchema)]
struct Changed {
    /// Its path.
    path: String,
    /// What changed it.
    by: String,
    /// What it was before.
    was: Option<String>,
}

struct Marked<'s, 'd> {
    shown: &'s Shown<'d>,
    assumed: Vec<Assumed<'d>>,
    changed: Vec<Changed>,
}

impl<'d> Marked<'_, 'd> {
    fn collect(&mut self, fields: &'d [Field<'d>], above: &str) {
        for field in fields {
            let path =
                if above.is_empty() { field.key.to_string() } else { format!("{above}.{}", field.key) };
            for mark in &field.marks {
                match mark {
                    Mark::Assumed { why, usual } => {
                        self.assumed.push(Assumed { path: path.clone(), why, usual: usual.as_deref() });
                    }
                    Mark::Changed { by, was } => self.changed.push(Changed {
                        path: path.clone(),
                        by: self.shown.by(*by),
                        was: was.map(|was| self.shown.old(was)),
                    }),
                }
            }
            if let Value::Map(below) = &field.value {
                self.collect(below, &path);
            }
        }
    }
}

struct Fields<'v>(&'v [Field<'v>]);

impl Serialize for Fields<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(self.0.len()))?;
        for field in self.0 {
            map.serialize_entry(&field.key, &Plain(&field.value))?;
        }
        map.end()
    }
}

struct Plain<'v>(&'v Value<'v>);

impl Serialize for Plain<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self.0 {
            Value::Map(fields) => Fields(fields).serialize(serializer),
            Value::List(items) => serializer.collect_seq(items.iter().map(Plain)),
            Value::Scalar { text, plain } => {
                let scalar = Scalar { text, plain: *plain };
                match (scalar.kind(), scalar.as_bool(), scalar.as_i64(), scalar.as_f64()) {
                    (ScalarKind::Null, ..) => serializer.serialize_unit(),
                    (_, Some(truth), ..) => serializer.serialize_bool(truth),
                    (_, _, Some(whole), _) => serializer.serialize_i64(whole),
                    (_, _, _, Some(number)) if number.is_finite() => serializer.serialize_f64(number),
                    // JSON has no number for it.
                    _ => serializer.serialize_str(text),
                }
            }
        }
    }
}
