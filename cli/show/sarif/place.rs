//! Nodes and spans of a description as locations.

use std::ops::Range;
use std::path::{Path, PathBuf};

use loadworthy_source::{NodeId, Span, Tree};

use super::line_hash::line_hashes;
use super::log::{Artifact, Location, Message, PhysicalLocation};
use super::{message, region, uri};

/// What a text is called that stands in no file: a value tried without editing, and one written by the program.
const NO_FILES: [&str; 2] = ["--with", "(written)"];

/// A place in one of the files of a description.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct At {
    /// Its place among the files of the tree.
    file: usize,
    pub(super) place: PhysicalLocation,
}

/// The files of one description, as hosts find them.
pub(super) struct Places<'d> {
    tree: &'d Tree,
    /// For each file of the tree its place; none for a text that stands in no file, such as a value tried without editing.
    artifacts: Vec<Option<Artifact>>,
    /// The hashes of the lines of each file, once they are asked for.
    hashes: Vec<Option<Vec<String>>>,
}

impl<'d> Places<'d> {
    /// The files of a description that was opened by a path and is shown under a name.
    pub(super) fn new(tree: &'d Tree, path: &Path, shown: &str, root: Option<&Path>) -> Self {
        let folder = shown.rfind(['/', '\\']).map_or("", |end| &shown[..=end]);
        let file = |(place, file): (usize, &loadworthy_source::SourceFile)| match place {
            0 => Some(uri::of(path, root)),
            // Parts are named beside their description; other texts have a name that leads to no file.
            _ => {
                let relative = file.name.strip_prefix(folder)?;
                let beside =
                    || path.parent().map_or_else(|| PathBuf::from(relative), |folder| folder.join(relative));
                (!NO_FILES.contains(&&*file.name)).then(|| uri::of(&beside(), root))
            }
        };
        let artifacts = tree.files().iter().enumerate().map(file).collect::<Vec<_>>();
        let hashes = vec![None; artifacts.len()];
        Self { tree, artifacts, hashes }
    }

    /// A span in a file; none where it stands in none.
    pub(super) fn of_span(&self, span: Span) -> Option<At> {
        self.of_range(span.file.index(), span.range())
    }

    /// A node, or what it replaced where it was only tried.
    pub(super) fn of_node(&self, node: NodeId) -> Option<At> {
        let mut known = Some(node);
        while let Some(node) = known {
            if let Some(at) = self.of_span(self.tree.span(node)) {
                return Some(at);
            }
            known = self.tree.replaced(node);
        }
        None
    }

    /// Where a result stands that has no line of its own: the first line of the description.
    pub(super) fn beginning(&self) -> Option<At> {
        self.of_range(0, 0..0)
    }

    fn of_range(&self, file: usize, range: Range<usize>) -> Option<At> {
        let artifact_location = self.artifacts.get(file)?.clone()?;
        let region = region::of(self.tree.files().get(file)?, range);
        Some(At { file, place: PhysicalLocation { artifact_location, region } })
    }

    /// The hash of the line that something stands on.
    pub(super) fn hash(&mut self, at: &At) -> String {
        let text = self.tree.files().get(at.file).map_or("", |file| &file.text);
        let Some(known) = self.hashes.get_mut(at.file) else { return String::new() };
        let hashes = known.get_or_insert_with(|| line_hashes(text));
        let line = usize::try_from(at.place.region.start_line).unwrap_or_default();
        hashes.get(line.saturating_sub(1)).cloned().unwrap_or_default()
    }

    pub(super) fn tree(&self) -> &'d Tree {
        self.tree
    }
}

/// A location with a number that a message may link to.
pub(super) fn related(id: usize, label: &str, at: At) -> Location {
    let text = message::sentence(&message::plain(label));
    Location { id: Some(id), message: Some(Message { text }), physical_location: at.place }
}

/// A location without one.
pub(super) fn primary(at: At) -> Location {
    Location { id: None, message: None, physical_location: at.place }
}
