//! What the outline writes, as data: a small unit, and what each section that may be asked for adds to it.
//!
//! A section seldom stands alone: a branch leads through conductors, and a driver passes a barrier where there is one. So each
//! is a merge patch over the unit, and what two of them say of one another is a patch of both.

use std::collections::BTreeSet;

use loadworthy_source::{Content, NodeId, Tree};

use crate::solutions::unknown;

const START: &str = include_str!("start.yaml");
const MORE: &str = include_str!("more.yaml");

/// The word that asks for every section.
const EVERYTHING: &str = "everything";

/// Names of sections that are written.
type Sections = BTreeSet<String>;

/// A unit that grows with what is asked for.
pub(super) struct Sketch {
    pub(super) tree: Tree,
    start: NodeId,
    more: NodeId,
}

/// What is asked for.
#[derive(Default)]
pub(super) struct Asked {
    /// The sections, with what they take along.
    pub(super) sections: Sections,
    /// What nobody named, each behind the section that takes it along.
    pub(super) along: Vec<(String, String)>,
}

impl Sketch {
    /// The unit before anything is asked for.
    ///
    /// # Errors
    /// Says what is wrong with the data.
    pub(super) fn read() -> Result<Self, String> {
        let mut tree = Tree::new();
        let start = read(&mut tree, START)?;
        let more = read(&mut tree, MORE)?;
        Ok(Self { tree, start, more })
    }

    /// What names ask for.
    ///
    /// # Errors
    /// Says which of them is no section that can be written.
    pub(super) fn asked(&self, names: &[String]) -> Result<Asked, String> {
        let optional = self.optional().map(|(name, _)| name).collect::<Vec<_>>();
        let mut named = Vec::new();
        for name in names {
            if name == EVERYTHING {
                named.extend(optional.iter().copied());
            } else if optional.contains(&name.as_str()) || self.tree.entry(self.start, name).is_some() {
                named.push(name.as_str());
            } else {
                let known = optional.iter().copied().chain([EVERYTHING]);
                return Err(unknown("section to write", name, known));
            }
        }
        let mut asked = Asked::default();
        asked.sections.extend(named.iter().map(|&name| name.to_owned()));
        while let Some((by, along)) = self.taken_along(&asked.sections) {
            asked.sections.insert(along.clone());
            asked.along.push((by, along));
        }
        Ok(asked)
    }

    /// The unit with these sections, and what they take along.
    ///
    /// # Errors
    /// Says what is wrong with the data.
    pub(super) fn with(&mut self, asked: &Sections) -> Result<NodeId, String> {
        let mut sections = asked.clone();
        while let Some((_, along)) = self.taken_along(&sections) {
            sections.insert(along);
        }
        let mut unit = self.start;
        for layer in items(&self.tree, self.under(self.more, "layers")).to_vec() {
            let needed = self.under(layer, "with").map_or_else(Vec::new, |needed| texts(&self.tree, needed));
            if let (true, Some(patch)) =
                (needed.iter().all(|&name| sections.contains(name)), self.under(layer, "patch"))
            {
                unit = self.tree.patch(unit, patch).map_err(|problem| defect(&problem.message))?;
            }
        }
        Ok(unit)
    }

    /// Whether a section may be asked for.
    pub(super) fn is_optional(&self, section: &str) -> bool {
        self.optional().any(|(name, _)| name == section)
    }

    /// A section that one of these takes along, and that is not among them.
    fn taken_along(&self, sections: &Sections) -> Option<(String, String)> {
        self.optional().filter(|(by, _)| sections.contains(*by)).find_map(|(by, along)| {
            let lacks = texts(&self.tree, along).into_iter().find(|name| !sections.contains(*name))?;
            Some((by.to_owned(), lacks.to_owned()))
        })
    }

    /// The sections that may be asked for, each with the list of what it takes along.
    pub(super) fn optional(&self) -> impl Iterator<Item = (&str, NodeId)> {
        let sections = self.under(self.more, "sections");
        let entries = sections.map_or(&[][..], |sections| self.tree.entries(sections));
        entries.iter().map(|entry| (self.tree.key_text(entry.key), entry.value))
    }

    fn under(&self, map: NodeId, key: &str) -> Option<NodeId> {
        self.tree.entry(map, key).map(|entry| entry.value)
    }
}

fn items(tree: &Tree, list: Option<NodeId>) -> &[NodeId] {
    match list.map(|list| tree.content(list)) {
        Some(Content::List(items)) => items,
        _ => &[],
    }
}

fn texts(tree: &Tree, list: NodeId) -> Vec<&str> {
    items(tree, Some(list)).iter().filter_map(|item| tree.scalar(*item)).map(|scalar| scalar.text).collect()
}

fn read(tree: &mut Tree, text: &str) -> Result<NodeId, String> {
    let mut problems = Vec::new();
    let root = tree.read("outline", text.as_bytes(), &mut problems);
    match (root, problems.first()) {
        (Some(root), None) => Ok(root),
        (_, problem) => Err(defect(&problem.map(|problem| problem.message.clone()).unwrap_or_default())),
    }
}

fn defect(why: &str) -> String {
    format!("the outline cannot be read, which is a defect of this program: {why}")
}
