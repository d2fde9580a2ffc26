//! YAML with comments.
//!
//! Values go through the library, which knows what must be quoted. Two things that it cannot do are done beside it: a
//! number keeps the digits that a person gave it, and comments are put in once all lines stand, at the lines that were
//! noted while they were written.

use std::borrow::Cow;
use std::cell::{Cell, RefCell};
use std::fmt;

use loadworthy_source::{Scalar, ScalarKind, escape_text, refused_in_identifier};
use serde::ser::{Error, Serialize, SerializeMap, SerializeSeq, Serializer};

/// Characters of a map that may stand in one line of a list.
const LONGEST_FLOW: usize = 90;
/// What the library is given in place of a number.
const STAND_IN: u8 = 0;

/// A value.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Value<'v> {
    /// A text, a number, a truth value, or nothing, as in a file: `plain` is what stands without quotes there.
    Scalar {
        /// The text.
        text: Cow<'v, str>,
        /// Whether it may mean a number.
        plain: bool,
    },
    /// Values in their order.
    List(Vec<Value<'v>>),
    /// Entries in their order.
    Map(Vec<Entry<'v>>),
}

/// A key with its value, and comments.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Entry<'v> {
    pub(crate) key: Cow<'v, str>,
    pub(crate) value: Value<'v>,
    /// Comments on lines of their own before the key; an empty one is an empty line.
    pub(crate) above: Vec<String>,
    /// A comment behind the value, or behind the key where the value has lines of its own.
    pub(crate) beside: String,
    /// Comments on lines of their own behind what stands below the key.
    pub(crate) below: Vec<String>,
}

impl Value<'_> {
    /// The text of a scalar.
    pub(crate) fn as_text(&self) -> Option<&str> {
        match self {
            Self::Scalar { text, .. } => Some(text),
            Self::List(_) | Self::Map(_) => None,
        }
    }
}

impl<'v> Entry<'v> {
    pub(crate) fn new(key: impl Into<Cow<'v, str>>, value: Value<'v>) -> Self {
        Self { key: key.into(), value, above: Vec::new(), beside: String::new(), below: Vec::new() }
    }
}

/// The text of a map, with its comments from this column on where lines leave room.
///
/// # Errors
/// Says why the library cannot write it.
pub(crate) fn text(entries: &[Entry<'_>], column: usize) -> Result<String, String> {
    written(entries, column, Page::default())
}

/// The same, with maps that have no comments in one line where they fit.
///
/// # Errors
/// As [`text`].
pub(crate) fn outlined(entries: &[Entry<'_>], column: usize) -> Result<String, String> {
    written(entries, column, Page { is_outline: true, ..Page::default() })
}

fn written<'v>(entries: &'v [Entry<'v>], column: usize, page: Page<'v>) -> Result<String, String> {
    serde_yaml::to_fmt_writer(&mut &page, &Mapped { entries, page: &page }).map_err(|why| why.to_string())?;
    Ok(page.with_comments(column))
}

/// What is written, line by line, with the comments that belong there.
#[derive(Default)]
struct Page<'v> {
    text: RefCell<String>,
    lines: Cell<usize>,
    /// Digits that stand in place of the next number.
    digits: Cell<Option<&'v str>>,
    comments: RefCell<Vec<Comment<'v>>>,
    /// Whether short maps without comments stand in one line.
    is_outline: bool,
}

struct Comment<'v> {
    line: usize,
    text: &'v str,
    place: Place,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Place {
    /// Behind that line.
    Behind,
    /// On a line of its own before that one, as deep as this one.
    Before(usize),
}

impl fmt::Write for &Page<'_> {
    fn write_str(&mut self, piece: &str) -> fmt::Result {
        let mut text = self.text.borrow_mut();
        if let Some(digits) = self.digits.take() {
            if piece.as_bytes() == [b'0' + STAND_IN] {
                text.push_str(digits);
                return Ok(());
            }
            self.digits.set(Some(digits));
        }
        for character in piece.chars() {
            if character == '\n' {
                self.lines.set(self.lines.get() + 1);
            }
            // What holds such a character was given to the library as a text between double quotes.
            if refused_in_identifier(character) && !character.is_whitespace() {
                match u32::from(character) {
                    short @ ..=0xFFFF => text.push_str(&format!("\\u{short:04X}")),
                    long => text.push_str(&format!("\\U{long:08X}")),
                }
            } else {
                text.push(character);
            }
        }
        Ok(())
    }
}

impl<'v> Page<'v> {
    fn comment(&self, place: Place, text: &'v str) {
        self.comments.borrow_mut().push(Comment { line: self.lines.get(), text, place });
    }

    fn before(&self, lines: &'v [String], as_deep_as: usize) {
        lines.iter().for_each(|line| self.comment(Place::Before(as_deep_as), line));
    }

    fn with_comments(self, column: usize) -> String {
        let (text, mut comments) = (self.text.into_inner(), self.comments.into_inner());
        comments.sort_by_key(|comment| comment.line);
        let mut comments = comments.iter().peekable();
        let lines = text.lines().collect::<Vec<_>>();
        let mut whole = String::with_capacity(text.len() * 2);
        // One line more, for what stands behind the last one.
        for number in 0..=lines.len() {
            let mut behind = Vec::new();
            while let Some(comment) = comments.next_if(|comment| comment.line == number) {
                match comment.place {
                    Place::Behind => behind.push(comment.text),
                    Place::Before(like) => {
                        own_line(&mut whole, lines.get(like).map_or(0, |line| indent_of(line)), comment.text);
                    }
                }
            }
            let Some(line) = lines.get(number) else { break };
            whole.push_str(line);
            if !behind.is_empty() {
                let gap = column.saturating_sub(line.chars().count()).max(2);
                whole.push_str(&format!("{}# {}", " ".repeat(gap), escape_text(&behind.join("; "))));
            }
            whole.push('\n');
        }
        whole
    }
}

fn own_line(whole: &mut String, indent: usize, comment: &str) {
    if !comment.is_empty() {
        whole.push_str(&format!("{}# {}", " ".repeat(indent), escape_text(comment)));
    }
    whole.push('\n');
}

/// As deep as the line, and never deeper: a comment as deep as a text of several lines would be part of it.
fn indent_of(line: &str) -> usize {
    line.len() - line.trim_start_matches(' ').len()
}

/// Entries on the way into the library.
struct Mapped<'v, 'p> {
    entries: &'v [Entry<'v>],
    page: &'p Page<'v>,
}

impl Serialize for Mapped<'_, '_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(self.entries.len()))?;
        for entry in self.entries {
            if has_hidden(&entry.key) {
                return Err(S::Error::custom("a key holds a character that nobody sees"));
            }
            map.serialize_entry(&entry.key, &Commented { entry, page: self.page })?;
        }
        map.end()
    }
}

/// A value behind its key: the key stands on the line that is being written.
struct Commented<'v, 'p> {
    entry: &'v Entry<'v>,
    page: &'p Page<'v>,
}

impl Serialize for Commented<'_, '_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let Self { entry, page } = *self;
        let own = page.lines.get();
        page.before(&entry.above, own);
        if !entry.beside.is_empty() {
            page.comment(Place::Behind, &entry.beside);
        }
        let placed = Placed { value: &entry.value, page };
        if page.is_outline && is_short(&entry.value) && !has_comments(&entry.value) && entry.below.is_empty()
        {
            return serde_yaml::FlowMap(placed).serialize(serializer);
        }
        let done = placed.serialize(serializer)?;
        let has_lines = matches!(&entry.value, Value::Map(below) if !below.is_empty());
        page.before(&entry.below, if has_lines { own + 1 } else { own });
        Ok(done)
    }
}

/// A value on the way into the library.
#[derive(Clone, Copy)]
struct Placed<'v, 'p> {
    value: &'v Value<'v>,
    page: &'p Page<'v>,
}

impl Serialize for Placed<'_, '_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let page = self.page;
        match self.value {
            Value::Scalar { text, plain } => match (Scalar { text, plain: *plain }).kind() {
                ScalarKind::Null => serializer.serialize_unit(),
                ScalarKind::Truth | ScalarKind::Whole | ScalarKind::Fraction => {
                    page.digits.set(Some(text));
                    serializer.serialize_u8(STAND_IN)
                }
                ScalarKind::Text if is_one_line(text) => serde_yaml::DoubleQuoted(text).serialize(serializer),
                ScalarKind::Text => serializer.serialize_str(text),
            },
            Value::Map(entries) => Mapped { entries, page }.serialize(serializer),
            Value::List(items) if items.iter().any(has_keys) => {
                let mut list = serializer.serialize_seq(Some(items.len()))?;
                for value in items {
                    let placed = Placed { value, page };
                    if is_short(value) && !has_comments(value) {
                        list.serialize_element(&serde_yaml::FlowMap(placed))?;
                    } else {
                        list.serialize_element(&placed)?;
                    }
                }
                list.end()
            }
            Value::List(items) => serde_yaml::FlowSeq(Listed { items, page }).serialize(serializer),
        }
    }
}

/// A list of scalars, or of such lists.
struct Listed<'v, 'p> {
    items: &'v [Value<'v>],
    page: &'p Page<'v>,
}

impl Serialize for Listed<'_, '_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(self.items.iter().map(|value| Placed { value, page: self.page }))
    }
}

/// Whether a text must stand between quotes in one line: because of characters that nobody sees, because one of its lines
/// would look like a command to whoever reads a log, or because it would swallow the empty line behind it.
fn is_one_line(text: &str) -> bool {
    text.split('\n').any(has_hidden)
        || text.ends_with("\n\n")
        || text == "\n"
        || (text.contains('\n') && text.lines().any(is_command))
}

fn is_command(line: &str) -> bool {
    ["::", "##"].iter().any(|begin| line.trim_start().starts_with(begin))
}

fn has_hidden(text: &str) -> bool {
    matches!(escape_text(text), Cow::Owned(_))
}

fn has_keys(value: &Value<'_>) -> bool {
    match value {
        Value::Map(_) => true,
        Value::List(items) => items.iter().any(has_keys),
        Value::Scalar { .. } => false,
    }
}

/// Whether comments stand at anything in a value; in one line there is no room for them.
fn has_comments(value: &Value<'_>) -> bool {
    match value {
        Value::Scalar { .. } => false,
        Value::List(items) => items.iter().any(has_comments),
        Value::Map(entries) => entries.iter().any(|entry| {
            let own = !(entry.above.is_empty() && entry.beside.is_empty() && entry.below.is_empty());
            own || has_comments(&entry.value)
        }),
    }
}

/// Whether a map of a list fits into a line.
pub(crate) fn is_short(value: &Value<'_>) -> bool {
    let Value::Map(entries) = value else { return false };
    let flat = entries.iter().all(|entry| !has_keys(&entry.value));
    let length = |entry: &Entry<'_>| entry.key.chars().count() + 4 + length(&entry.value);
    flat && entries.iter().map(length).sum::<usize>() <= LONGEST_FLOW
}

fn length(value: &Value<'_>) -> usize {
    match value {
        Value::Scalar { text, .. } => text.chars().count(),
        Value::List(items) => items.iter().map(|item| length(item) + 2).sum(),
        Value::Map(entries) => {
            entries.iter().map(|entry| entry.key.chars().count() + length(&entry.value) + 4).sum()
        }
    }
}

/// Characters of a value in its line; nothing of one that has lines of its own in an outline.
pub(crate) fn width_in_line(value: &Value<'_>) -> Option<usize> {
    let is_in_line = match value {
        Value::Scalar { .. } => true,
        Value::List(items) => !items.iter().any(has_keys),
        Value::Map(_) => is_short(value) && !has_comments(value),
    };
    is_in_line.then(|| length(value))
}

#[cfg(test)]
mod tests;
