//! A description read, resolved and ready to be asked.

use std::collections::BTreeMap;
use std::io::Read;
use std::path::Path;

use loadworthy_language::{Files, Input, alone, read};
use loadworthy_source::{NodeId, Problem, Tree};
use loadworthy_unit::Unit;

use crate::files;

/// The kind of the problem that says how many more there are.
pub(crate) const MORE_PROBLEMS: &str = "more-problems";

/// A description that was read, as far as it could be.
pub(crate) struct Described {
    /// Its name as it is shown.
    pub(crate) name: String,
    /// Every file of it, with the place of every value.
    pub(crate) tree: Tree,
    /// Everything wrong with it, by place.
    pub(crate) problems: Vec<Problem>,
    /// What it describes.
    pub(crate) unit: Unit,
}

impl Described {
    /// The same with words that were clearly meant for others taken for these: for whoever holds it against what is written.
    pub(crate) fn taken_as_meant(self) -> Self {
        Self { unit: self.unit.taken_as_meant(), ..self }
    }
}

/// Where in its tree a description begins.
pub(crate) struct Roots {
    /// Without any variant; `None` where nothing could be read.
    pub(crate) base: Option<NodeId>,
    /// Each variant of the unit with its patch applied.
    pub(crate) variants: Vec<NodeId>,
}

/// Opens, reads and resolves a description.
///
/// # Errors
/// A sentence that says why the file cannot be opened.
pub(crate) fn describe(
    path: &Path,
    overrides: &[(String, String)],
    input: &mut dyn Read,
) -> Result<Described, String> {
    describe_with_roots(path, overrides, input).map(|(described, _)| described)
}

/// The same, with where each variant begins in the tree.
///
/// # Errors
/// A sentence that says why the file cannot be opened.
pub(crate) fn describe_with_roots(
    path: &Path,
    overrides: &[(String, String)],
    input: &mut dyn Read,
) -> Result<(Described, Roots), String> {
    Ok(Source::open(path, overrides, input)?.described(&[]))
}

/// A description that may be read again with other values in it.
pub(crate) struct Source<'a> {
    opened: files::Opened,
    parts: Known,
    overrides: &'a [(String, String)],
}

impl<'a> Source<'a> {
    /// Opens a description.
    ///
    /// # Errors
    /// A sentence that says why the file cannot be opened.
    pub(crate) fn open(
        path: &Path,
        overrides: &'a [(String, String)],
        input: &mut dyn Read,
    ) -> Result<Self, String> {
        Ok(Self::of(files::open(path, input)?, overrides))
    }

    /// A description that is open.
    pub(crate) fn of(opened: files::Opened, overrides: &'a [(String, String)]) -> Self {
        Self { opened, parts: Known::default(), overrides }
    }

    /// The same description with values tried on it.
    pub(crate) fn with(mut self, overrides: &'a [(String, String)]) -> Self {
        self.overrides = overrides;
        self
    }

    /// Reads and resolves it, with some values written into it.
    pub(crate) fn described(&mut self, written: &[(String, String)]) -> (Described, Roots) {
        let mut parts = Again { folder: self.opened.parts.as_mut(), known: &mut self.parts };
        described(self.opened.name.clone(), &self.opened.bytes, (written, self.overrides), &mut parts)
    }
}

/// Values by path, each as text.
type Values = [(String, String)];

/// Parts files by name, with their bytes or why they cannot be read.
type Known = BTreeMap<String, Result<Vec<u8>, String>>;

/// Parts files that are opened once and read again.
struct Again<'a> {
    folder: &'a mut dyn Files,
    known: &'a mut Known,
}

impl Files for Again<'_> {
    fn open(&mut self, relative: &str) -> Result<Vec<u8>, String> {
        if let Some(known) = self.known.get(relative) {
            return known.clone();
        }
        let read = self.folder.open(relative);
        self.known.insert(relative.to_owned(), read.clone());
        read
    }
}

/// Reads and resolves a text that names no parts.
pub(crate) fn describe_text(name: &str, text: &str) -> Described {
    struct NoFiles;
    impl Files for NoFiles {
        fn open(&mut self, _: &str) -> Result<Vec<u8>, String> {
            Err("a description that stands alone has no parts".to_owned())
        }
    }
    described(name.to_owned(), text.as_bytes(), (&[], &[]), &mut NoFiles).0
}

fn described(
    name: String,
    bytes: &[u8],
    (written, overrides): (&Values, &Values),
    parts: &mut dyn Files,
) -> (Described, Roots) {
    let vocabulary = loadworthy_checks::list::policy_vocabulary();
    let reading = read(Input { name: &name, bytes, written, overrides, vocabulary: &vocabulary }, parts);
    let (unit, beyond) = Unit::build(&reading, &vocabulary);
    let variants = reading.variants.iter().map(|variant| variant.root).collect();
    let roots = Roots { base: reading.base, variants };
    let mut problems = reading.problems;
    problems.extend(beyond);
    let alone = reading.base.and_then(|root| alone(&reading.tree, root));
    problems.extend(alone.filter(|alone| problems.iter().all(|known| known.kind != alone.kind)));
    // How many more there are is said last.
    problems.sort_by_key(|problem| (problem.kind == MORE_PROBLEMS, problem.at));
    (Described { name, tree: reading.tree, problems, unit }, roots)
}
