//! Where something stands: files, byte spans, lines and columns.

use std::ops::Range;
use std::sync::OnceLock;

/// A file of a [`Tree`](crate::Tree), in the order in which the files were read.
#[derive(Copy, Clone, Eq, PartialEq, Ord, PartialOrd, Hash, Debug)]
pub struct FileId(u32);

impl FileId {
    pub(crate) fn new(index: usize) -> Self {
        Self(u32::try_from(index).unwrap_or(u32::MAX))
    }

    /// The place of the file in [`Tree::files`](crate::Tree::files).
    #[must_use]
    pub fn index(self) -> usize {
        self.0 as usize
    }
}

/// A key or a value of a [`Tree`](crate::Tree).
#[derive(Copy, Clone, Eq, PartialEq, Ord, PartialOrd, Hash, Debug)]
pub struct NodeId(u32);

impl NodeId {
    // A tree reads at most 256 MiB of text, and a byte of text makes at most two nodes.
    pub(crate) fn new(index: usize) -> Self {
        Self(u32::try_from(index).unwrap_or(u32::MAX))
    }

    /// The place of the node in its tree; dense from 0, so that it may index a table beside the tree.
    #[must_use]
    pub fn index(self) -> usize {
        self.0 as usize
    }
}

/// A stretch of bytes in the text of one file, from `start` up to but without `end`.
///
/// Both ends lie on character boundaries. An empty span marks a place between two characters.
#[derive(Copy, Clone, Eq, PartialEq, Ord, PartialOrd, Hash, Debug)]
pub struct Span {
    /// The file.
    pub file: FileId,
    /// First byte.
    pub start: u32,
    /// Byte after the last one.
    pub end: u32,
}

impl Span {
    /// The bytes as a range that slices the text of the file.
    #[must_use]
    pub fn range(self) -> Range<usize> {
        self.start as usize..self.end as usize
    }

    /// Whether it marks a place between two characters.
    #[must_use]
    pub fn is_empty(self) -> bool {
        self.start == self.end
    }
}

/// A line and a column as a person counts them.
#[derive(Copy, Clone, Eq, PartialEq, Ord, PartialOrd, Hash, Debug)]
pub struct Place {
    /// Line, from 1.
    pub line: u32,
    /// Column, from 1, in characters. A byte-order mark at the start of a file takes no column.
    pub column: u32,
}

/// A file as it was read: its name as shown to people and its text.
///
/// Offsets are exact to the bytes on disk, so a byte-order mark stays in the text and counts three bytes.
/// Bytes that are not UTF-8 stand as U+FFFD; such a file yields a problem and no tree. The text of a file
/// that is refused for its size is left empty.
#[derive(Debug)]
pub struct SourceFile {
    /// The name as shown.
    pub name: String,
    /// The text.
    pub text: String,
    line_starts: OnceLock<Vec<u32>>,
}

impl SourceFile {
    pub(crate) fn new(name: &str, text: String) -> Self {
        Self { name: name.to_owned(), text, line_starts: OnceLock::new() }
    }

    /// Line and column of a byte offset. An offset beyond the end, or inside a character, is that of the
    /// next character boundary before it.
    #[must_use]
    pub fn place(&self, offset: u32) -> Place {
        let mut offset = (offset as usize).min(self.text.len());
        while !self.text.is_char_boundary(offset) {
            offset -= 1;
        }
        let starts = self.line_starts();
        let index = starts.partition_point(|&start| start as usize <= offset).saturating_sub(1);
        let before = &self.text[starts[index] as usize..offset];
        let before = if index == 0 { before.strip_prefix('\u{FEFF}').unwrap_or(before) } else { before };
        let column = before.chars().count() + 1;
        Place { line: small(index + 1), column: small(column) }
    }

    /// The text of a line, counted from 1, without its line break; `None` beyond the last line.
    #[must_use]
    pub fn line(&self, number: u32) -> Option<&str> {
        let starts = self.line_starts();
        let index = (number as usize).checked_sub(1)?;
        let start = *starts.get(index)? as usize;
        let end = starts.get(index + 1).map_or(self.text.len(), |&next| next as usize);
        Some(self.text[start..end].trim_end_matches(['\n', '\r']))
    }

    /// How many lines the file has; an empty file has one.
    #[must_use]
    pub fn line_count(&self) -> u32 {
        small(self.line_starts().len())
    }

    // YAML ends a line with LF, CR LF or a lone CR.
    fn line_starts(&self) -> &[u32] {
        self.line_starts.get_or_init(|| {
            let bytes = self.text.as_bytes();
            let mut starts = vec![0];
            for (index, &byte) in bytes.iter().enumerate() {
                let ends_line = match byte {
                    b'\n' => true,
                    b'\r' => bytes.get(index + 1) != Some(&b'\n'),
                    _ => false,
                };
                if ends_line {
                    starts.push(small(index + 1));
                }
            }
            starts
        })
    }
}

pub(crate) fn small(number: usize) -> u32 {
    u32::try_from(number).unwrap_or(u32::MAX)
}
