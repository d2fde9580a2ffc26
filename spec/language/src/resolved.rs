//! A description as it is understood: parts joined, one variant laid over it, and what stands in for what is silent.
//!
//! It is a tree of its own, in the spelling of the files that it came from, in their order, and with a mark at each
//! value that no person wrote there: what a variant changed, what was tried, what is assumed.

use std::borrow::Cow;

use loadworthy_source::{Content, Entry, NodeId, Span, Tree};

use crate::overrides::OVERRIDE;
use crate::schema::{Guided, Tags};

/// A description without parts and variants.
#[derive(Debug, Clone)]
pub struct Resolved<'t> {
    /// Its sections.
    pub sections: Vec<Field<'t>>,
    /// Paths of what the variant removes.
    pub removed: Vec<String>,
}

/// A key with its value.
#[derive(Debug, Clone)]
pub struct Field<'t> {
    /// The key.
    pub key: Cow<'t, str>,
    /// The value.
    pub value: Value<'t>,
    /// What is to be known of it.
    pub marks: Vec<Mark>,
}

/// A value as it is written.
#[derive(Debug, Clone)]
pub enum Value<'t> {
    /// Text, number, truth value or nothing.
    Scalar {
        /// The text, escapes resolved.
        text: Cow<'t, str>,
        /// Whether it stands without quotes, so that it may mean a number.
        plain: bool,
    },
    /// Values in their order.
    List(Vec<Value<'t>>),
    /// Keys with values in their order.
    Map(Vec<Field<'t>>),
}

/// Why a value is not simply the description's own.
#[derive(Debug, Clone, PartialEq)]
pub enum Mark {
    /// It was put there in place of something, or of nothing.
    Changed {
        /// Who put it there.
        by: By,
        /// The value that it replaced.
        was: Option<NodeId>,
    },
    /// Nobody states it.
    Assumed {
        /// What is taken, and why.
        why: String,
        /// Where such values usually lie.
        usual: Option<String>,
    },
}

/// Who changed a value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum By {
    /// The variant.
    Variant,
    /// A change tried without editing the file.
    Trial,
}

impl<'t> Resolved<'t> {
    /// The description below `root`, which is `base` itself or `base` with the variant of that name.
    #[must_use]
    pub fn of(tree: &'t Tree, base: NodeId, variant: Option<&str>, root: NodeId) -> Self {
        let patch = variant.and_then(|name| tree.value_at(base, &["variants", name]));
        let taken = Taken { tree, patch: patch.map(|patch| tree.span(patch)) };
        let mut sections = Vec::new();
        for entry in tree.entries(root) {
            match tree.key_text(entry.key) {
                // Joined and laid over; nothing of them is left to say.
                "parts" | "variants" => {}
                "permits" => sections.extend(taken.permits(*entry, variant)),
                _ => sections.push(taken.field(*entry, None)),
            }
        }
        let mut removed = Vec::new();
        if let Some(patch) = patch {
            removals(tree, patch, "", &mut removed);
        }
        Self { sections, removed }
    }

    /// The value at a path.
    #[must_use]
    pub fn at(&self, path: &str) -> Option<&Value<'t>> {
        let mut steps = path.split('.');
        let mut found = self.sections.iter().find(|field| Some(&*field.key) == steps.clone().next())?;
        steps.next();
        for step in steps {
            let Value::Map(below) = &found.value else { return None };
            found = below.iter().find(|field| field.key == step)?;
        }
        Some(&found.value)
    }

    /// Leaves out an entry, and its section with the last one.
    pub fn leave_out(&mut self, section: &str, name: &str) {
        self.sections.retain_mut(|field| match &mut field.value {
            Value::Map(entries) if field.key == section => {
                entries.retain(|entry| entry.key != name);
                !entries.is_empty()
            }
            _ => true,
        });
    }

    /// Puts in what stands in for a value that nobody states, where the language would have it. Where no value can stand
    /// at the path, the nearest key above it carries the mark. `false` where there is not even that.
    pub fn stand_in(&mut self, path: &str, value: Option<Value<'t>>, mark: Mark, top: Guided<'_>) -> bool {
        let steps = path.split('.').collect::<Vec<_>>();
        put(&mut self.sections, top, &steps, value, mark).is_none()
    }
}

impl<'t> Value<'t> {
    /// A word or a quantity.
    pub fn text(text: impl Into<Cow<'t, str>>) -> Self {
        Self::Scalar { text: text.into(), plain: true }
    }

    /// The text of a scalar.
    #[must_use]
    pub fn as_scalar(&self) -> Option<&str> {
        match self {
            Self::Scalar { text, .. } => Some(text),
            Self::List(_) | Self::Map(_) => None,
        }
    }

    /// A value as it stands in a tree, without any mark.
    #[must_use]
    pub fn of(tree: &'t Tree, node: NodeId) -> Self {
        Taken { tree, patch: None }.unmarked(node)
    }
}

/// A word that a map states.
pub fn word_in(fields: &[Field<'_>], key: &str) -> Option<String> {
    let field = fields.iter().find(|field| field.key == key)?;
    field.value.as_scalar().map(str::to_owned)
}

/// Puts a value below some fields; gives the mark back where it found no place.
fn put<'t>(
    fields: &mut Vec<Field<'t>>,
    guided: Guided<'_>,
    steps: &[&str],
    value: Option<Value<'t>>,
    mark: Mark,
) -> Option<Mark> {
    let [step, rest @ ..] = steps else { return Some(mark) };
    let tags = |key: &str| word_in(fields, key);
    let stated: Tags<'_> = &tags;
    let below = guided.below(step, stated);
    let order = guided.keys(stated).iter().map(|(key, _)| (*key).to_owned()).collect::<Vec<_>>();
    if let Some(field) = fields.iter_mut().find(|field| field.key == *step) {
        let left = match (&mut field.value, below) {
            (Value::Map(inner), Some(below)) if !rest.is_empty() => put(inner, below, rest, value, mark),
            // Somebody states it after all: two entries share what they lack.
            _ if rest.is_empty() && field.marks.contains(&mark) => None,
            _ => Some(mark),
        };
        if let Some(mark) = left
            && !field.marks.contains(&mark)
        {
            field.marks.push(mark);
        }
        return None;
    }
    // Only what the language knows is added, and a name that nobody gave is not given here.
    let known = order.iter().any(|key| key == step);
    let (true, Some(value), Some(below)) = (known, value, below) else { return Some(mark) };
    let mut field = Field { key: Cow::Owned((*step).to_owned()), value, marks: Vec::new() };
    if rest.is_empty() {
        field.marks.push(mark);
    } else {
        let mut inner = Vec::new();
        if let Some(mark) = put(&mut inner, below, rest, Some(field.value), mark) {
            return Some(mark);
        }
        field.value = Value::Map(inner);
    }
    fields.insert(place_among(fields, &order, step), field);
    None
}

/// The place of a new key among those that are there: behind the last one that the language has before it.
fn place_among(fields: &[Field<'_>], order: &[String], step: &str) -> usize {
    let rank = |key: &str| order.iter().position(|other| other == key);
    let own = rank(step);
    let before = fields.iter().rposition(|field| rank(&field.key).is_some() && rank(&field.key) < own);
    before.map_or(0, |place| place + 1)
}

/// Takes values out of a tree.
struct Taken<'t> {
    tree: &'t Tree,
    patch: Option<Span>,
}

impl<'t> Taken<'t> {
    fn field(&self, entry: Entry, inside: Option<By>) -> Field<'t> {
        let by = self.by(entry.value);
        let mut marks = Vec::new();
        if let Some(by) = by.filter(|by| Some(*by) != inside) {
            marks.push(Mark::Changed { by, was: self.tree.replaced(entry.value) });
        }
        let value = if self.tree.target(entry.value) == entry.value {
            self.value(entry.value, by.or(inside))
        } else {
            // What an alias stands for was written elsewhere, maybe in a patch that changes nothing here.
            self.unmarked(entry.value)
        };
        Field { key: Cow::Borrowed(self.tree.key_text(entry.key)), value, marks }
    }

    fn value(&self, node: NodeId, inside: Option<By>) -> Value<'t> {
        match self.tree.content(node) {
            Content::Scalar(scalar) => {
                Value::Scalar { text: Cow::Borrowed(scalar.text), plain: scalar.plain }
            }
            // A list is replaced whole.
            Content::List(items) => Value::List(items.iter().map(|item| self.unmarked(*item)).collect()),
            Content::Map(entries) => {
                Value::Map(entries.iter().map(|entry| self.field(*entry, inside)).collect())
            }
        }
    }

    fn unmarked(&self, node: NodeId) -> Value<'t> {
        match self.tree.content(node) {
            Content::Scalar(_) => self.value(node, None),
            Content::List(items) => Value::List(items.iter().map(|item| self.unmarked(*item)).collect()),
            Content::Map(entries) => {
                let field = |entry: &Entry| Field {
                    key: Cow::Borrowed(self.tree.key_text(entry.key)),
                    value: self.unmarked(entry.value),
                    marks: Vec::new(),
                };
                Value::Map(entries.iter().map(field).collect())
            }
        }
    }

    fn by(&self, node: NodeId) -> Option<By> {
        let span = self.tree.span(node);
        if self.tree.file(span.file).name == OVERRIDE {
            return Some(By::Trial);
        }
        let patch = self.patch?;
        let inside = span.file == patch.file && patch.start <= span.start && span.end <= patch.end;
        inside.then_some(By::Variant)
    }

    /// The permits that are left once a variant stands alone: those of other variants are not about it, and its own need
    /// not name it any more.
    fn permits(&self, entry: Entry, variant: Option<&str>) -> Option<Field<'t>> {
        let mut field = self.field(entry, None);
        if let (Some(name), Value::List(permits)) = (variant, &mut field.value) {
            let names = |permit: &Value<'t>| match permit {
                Value::Map(fields) => word_in(fields, "variant"),
                Value::Scalar { .. } | Value::List(_) => None,
            };
            permits.retain(|permit| names(permit).is_none_or(|other| other == name));
            for permit in permits.iter_mut() {
                if let Value::Map(fields) = permit {
                    fields.retain(|field| field.key != "variant");
                }
            }
            if permits.is_empty() {
                return None;
            }
        }
        Some(field)
    }
}

/// Paths of the keys that a patch removes.
fn removals(tree: &Tree, patch: NodeId, above: &str, removed: &mut Vec<String>) {
    for entry in tree.entries(patch) {
        let key = tree.key_text(entry.key);
        let path = if above.is_empty() { key.to_owned() } else { format!("{above}.{key}") };
        match tree.content(entry.value) {
            Content::Scalar(scalar) if scalar.is_null() => removed.push(path),
            Content::Map(_) => removals(tree, entry.value, &path, removed),
            Content::Scalar(_) | Content::List(_) => {}
        }
    }
}
