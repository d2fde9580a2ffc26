//! Opening descriptions and their parts, and nothing else.
//!
//! A file is opened only if it is a regular one, and no more of it is read than a description may have. Parts stay below
//! the folder of their description, links included.

use std::fs::{self, File};
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use loadworthy_language::Files;
use loadworthy_source::escape_text;

use crate::output::reason;

/// Bytes of a file that are read at most: one more than a description may have, so that its reader refuses a longer one.
pub(crate) const MOST_BYTES: u64 = (16 << 20) + 1;
/// Characters of a file name that are shown.
const LONGEST_NAME: usize = 240;

/// A description as it was opened.
pub(crate) struct Opened {
    /// Its name as it is shown.
    pub(crate) name: String,
    /// Its bytes.
    pub(crate) bytes: Vec<u8>,
    /// Where its parts come from.
    pub(crate) parts: Box<dyn Files>,
}

/// The folder that the program was started in, where it can be told.
pub(crate) fn current_folder() -> Option<PathBuf> {
    std::env::current_dir().ok()
}

/// The name of a file as it may stand in a line: what cannot be seen is written out, the middle of a long one left out.
pub(crate) fn shown_name(path: &Path) -> String {
    let name = escape_text(&path.to_string_lossy()).into_owned();
    let length = name.chars().count();
    if length <= LONGEST_NAME {
        return name;
    }
    let head = name.chars().take(LONGEST_NAME / 3).collect::<String>();
    let tail = name.chars().skip(length - LONGEST_NAME / 2).collect::<String>();
    format!("{head}…{tail}")
}

/// Opens a description; `-` is the standard input.
///
/// # Errors
/// A sentence that says why it cannot be read.
pub(crate) fn open(path: &Path, input: &mut dyn Read) -> Result<Opened, String> {
    if path == Path::new("-") {
        let mut bytes = Vec::new();
        input.take(MOST_BYTES).read_to_end(&mut bytes).map_err(|why| reason(&why))?;
        let parts = PartsFolder { root: fs::canonicalize(".").ok() };
        return Ok(Opened { name: "(standard input)".to_owned(), bytes, parts: Box::new(parts) });
    }
    let real = fs::canonicalize(path).map_err(|why| reason(&why))?;
    let bytes = regular(&real)?;
    // A linked description has its parts beside the link, where its writer sees them.
    let beside = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let parts = PartsFolder { root: fs::canonicalize(beside).ok() };
    Ok(Opened { name: shown_name(path), bytes, parts: Box::new(parts) })
}

/// Opens a file beside a description, to be read as it is needed; gives its length as well.
///
/// # Errors
/// A sentence that says why it cannot be read.
pub(crate) fn open_beside(description: &Path, relative: &str) -> Result<(File, u64), String> {
    let beside = description.parent().filter(|folder| !folder.as_os_str().is_empty());
    let parts = PartsFolder { root: fs::canonicalize(beside.unwrap_or(Path::new("."))).ok() };
    let real = parts.within(relative)?;
    let length = is_regular(&real)?;
    File::open(real).map(|file| (file, length)).map_err(|why| reason(&why))
}

/// Something that stands in a folder.
pub(crate) struct Listed {
    pub(crate) path: PathBuf,
    pub(crate) what: Stands,
}

/// What stands in a folder.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Stands {
    Folder,
    File,
    /// A link, wherever it leads.
    Link,
    /// A pipe, a device and the like.
    Strange,
}

/// Whether a path is a folder, links followed.
pub(crate) fn is_folder(path: &Path) -> bool {
    fs::metadata(path).is_ok_and(|about| about.is_dir())
}

/// What stands in a folder, by name.
///
/// # Errors
/// A sentence that says why it cannot be read.
pub(crate) fn listed(folder: &Path) -> Result<Vec<Listed>, String> {
    let entries = fs::read_dir(folder).map_err(|why| reason(&why))?;
    let listed = entries.map(|entry| {
        let entry = entry?;
        let about = entry.file_type()?;
        let what = if about.is_symlink() {
            Stands::Link
        } else if about.is_dir() {
            Stands::Folder
        } else if about.is_file() {
            Stands::File
        } else {
            Stands::Strange
        };
        Ok(Listed { path: entry.path(), what })
    });
    let mut listed = listed.collect::<io::Result<Vec<_>>>().map_err(|why| reason(&why))?;
    listed.sort_by(|one, other| one.path.cmp(&other.path));
    Ok(listed)
}

/// The bytes of a file whose kind is not known yet.
///
/// # Errors
/// A sentence that says why it cannot be read.
pub(crate) fn bytes(path: &Path) -> Result<Vec<u8>, String> {
    regular(path)
}

/// Where a file really is, to know it again under another name.
pub(crate) fn real(path: &Path) -> PathBuf {
    fs::canonicalize(path).unwrap_or_else(|_| path.to_owned())
}

/// What came on the standard input, for whoever asks, once or several times.
pub(crate) struct Typed(Result<Vec<u8>, io::ErrorKind>);

impl Typed {
    /// Reads the standard input, and no more of it than a description may have.
    pub(crate) fn of(input: &mut dyn Read) -> Self {
        let mut bytes = Vec::new();
        let read = input.take(MOST_BYTES).read_to_end(&mut bytes);
        Self(read.map(|_| bytes).map_err(|why| why.kind()))
    }

    /// Nothing was typed.
    pub(crate) const fn nothing() -> Self {
        Self(Ok(Vec::new()))
    }

    /// Reads it from its beginning.
    pub(crate) fn reader(&self) -> TypedReader<'_> {
        match &self.0 {
            Ok(bytes) => TypedReader(Ok(bytes)),
            Err(kind) => TypedReader(Err(*kind)),
        }
    }
}

/// Reads what was typed.
pub(crate) struct TypedReader<'t>(Result<&'t [u8], io::ErrorKind>);

impl Read for TypedReader<'_> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        match &mut self.0 {
            Ok(rest) => rest.read(into),
            Err(kind) => Err((*kind).into()),
        }
    }
}

/// The folder that parts are looked for in.
struct PartsFolder {
    root: Option<PathBuf>,
}

impl Files for PartsFolder {
    fn open(&mut self, relative: &str) -> Result<Vec<u8>, String> {
        regular(&self.within(relative)?)
    }
}

impl PartsFolder {
    /// Where a file of the folder really is.
    fn within(&self, relative: &str) -> Result<PathBuf, String> {
        let Some(root) = &self.root else {
            return Err("the folder of the description cannot be found".to_owned());
        };
        let real = fs::canonicalize(root.join(relative)).map_err(|why| reason(&why))?;
        if !real.starts_with(root) {
            return Err("it leads out of the folder of the description".to_owned());
        }
        Ok(real)
    }
}

/// The bytes of a regular file.
fn regular(path: &Path) -> Result<Vec<u8>, String> {
    is_regular(path)?;
    read(path).map_err(|why| reason(&why))
}

/// The length of a regular file.
fn is_regular(path: &Path) -> Result<u64, String> {
    let about = fs::metadata(path).map_err(|why| reason(&why))?;
    if about.is_dir() {
        return Err("it is a folder".to_owned());
    }
    // A pipe or a device could keep a reader waiting, or feed it for ever.
    if !about.is_file() {
        return Err("it is not a regular file".to_owned());
    }
    Ok(about.len())
}

fn read(path: &Path) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    File::open(path)?.take(MOST_BYTES).read_to_end(&mut bytes)?;
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_shown_without_what_cannot_be_seen() {
        assert_eq!(shown_name(Path::new("units/forwarder.yaml")), "units/forwarder.yaml");
        assert_eq!(shown_name(Path::new("a\u{1b}[31m\nb.yaml")), "a\\u{001B}[31m\\u{000A}b.yaml");
        let long = "x".repeat(3000) + ".yaml";
        let shown = shown_name(Path::new(&long));
        assert!(shown.chars().count() <= LONGEST_NAME && shown.ends_with("x.yaml"), "{shown}");
    }
}
