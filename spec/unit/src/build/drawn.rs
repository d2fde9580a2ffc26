//! Where branches draw conductors, and which of them lead from, back to and around what, by name.

use std::collections::{BTreeMap, BTreeSet};

use loadworthy_language::Description;
use loadworthy_language::sections::branches::Branch;
use loadworthy_source::{Content, Located, NodeId, Tree};

use crate::graph::PowerGraph;

/// What the branches of a description say of names, read once.
pub(crate) struct Drawn<'d> {
    description: &'d Description,
    /// The branch that each conductor stands in.
    standing: BTreeMap<&'d str, &'d str>,
    /// The source at an end of each branch that has one.
    sources: BTreeMap<&'d str, &'d str>,
    /// Branches with a source at an end, by that source, in the order of the description.
    of_source: BTreeMap<&'d str, Vec<&'d str>>,
    /// Branches that lead from a node to neither a bus, a stage nor a source.
    leading_back: BTreeMap<&'d str, Vec<&'d str>>,
    /// The first branch around each conductor, and how many stand before it.
    around: BTreeMap<&'d str, (usize, &'d str)>,
    /// The first branch of a source that names each fuse, and each contactor.
    fuses: BTreeMap<&'d str, &'d str>,
    contactors: BTreeMap<&'d str, &'d str>,
    unread: Option<NodeId>,
    /// What branches that could not be read say: a conductor may stand in one that names it.
    lost: BTreeSet<&'d str>,
}

impl<'d> Drawn<'d> {
    pub(crate) fn of(tree: &'d Tree, description: &'d Description, graph: &PowerGraph<'d>) -> Self {
        let unread = description.branches.unread().next().map(|(_, entry)| entry.value);
        let mut this = Self {
            description,
            standing: BTreeMap::new(),
            sources: BTreeMap::new(),
            of_source: BTreeMap::new(),
            leading_back: BTreeMap::new(),
            around: BTreeMap::new(),
            fuses: BTreeMap::new(),
            contactors: BTreeMap::new(),
            unread,
            lost: description.branches.unread().flat_map(|(_, entry)| texts(tree, entry.value)).collect(),
        };
        for (place, (name, _, branch)) in description.branches.readable().enumerate() {
            for conductor in branch.through.iter().flat_map(|through| &through.value) {
                this.standing.entry(&conductor.value).or_insert(name);
            }
            if let Some(around) = &branch.around {
                this.around.entry(&around.value).or_insert((place, name));
            }
            this.note_back(name, branch);
            let joins = graph.ends_of(name).map(|(node, _)| node);
            let ends = [&branch.from, &branch.to].into_iter().flatten().map(|end| end.value.as_str());
            let is_source = |name: &&str| description.sources.contains_key(*name);
            let Some(source) = joins.into_iter().chain(ends).find(is_source) else { continue };
            this.sources.insert(name, source);
            this.of_source.entry(source).or_default().push(name);
            for (known, named) in
                [(&mut this.fuses, &branch.protected_by), (&mut this.contactors, &branch.parted_by)]
            {
                if let Some(named) = named {
                    known.entry(&named.value).or_insert(name);
                }
            }
        }
        this
    }

    fn note_back(&mut self, name: &'d str, branch: &'d Branch) {
        let (Some(from), Some(to)) = (&branch.from, &branch.to) else { return };
        let all = self.description;
        let ends_there = |end: &str| {
            !all.buses.contains_key(end) && !all.stages.contains_key(end) && !all.sources.contains_key(end)
        };
        for (node, other) in [(from, to), (to, from)] {
            if ends_there(&other.value) {
                let known = self.leading_back.entry(&node.value).or_default();
                if known.last() != Some(&name) {
                    known.push(name);
                }
            }
        }
    }

    /// The branch that a conductor stands in.
    pub(crate) fn branch_of(&self, conductor: &str) -> Option<&'d str> {
        self.standing.get(conductor).copied()
    }

    /// Whether a conductor stands in a branch.
    pub(crate) fn is_drawn(&self, conductor: &str) -> bool {
        self.standing.contains_key(conductor)
    }

    /// A branch that could not be read, which may hold any conductor.
    pub(crate) fn unread(&self) -> Option<NodeId> {
        self.unread
    }

    /// The source at an end of a branch, of one that leads back from it to a negative rail as well.
    pub(crate) fn source_of(&self, branch: &str) -> Option<&'d str> {
        self.sources.get(branch).copied()
    }

    /// Branches with that source at an end.
    pub(crate) fn of_source(&self, source: &str) -> &[&'d str] {
        self.of_source.get(source).map_or(&[], Vec::as_slice)
    }

    /// Branches that lead from a node to neither a bus, a stage nor a source: back to a negative rail, or to metal.
    pub(crate) fn leading_back(&self, node: &str) -> &[&'d str] {
        self.leading_back.get(node).map_or(&[], Vec::as_slice)
    }

    /// The first branch of the description that leads around one of these conductors.
    pub(crate) fn around<'n>(&self, conductors: impl IntoIterator<Item = &'n str>) -> Option<&'d str> {
        let found = conductors.into_iter().filter_map(|one| self.around.get(one));
        found.min().map(|(_, branch)| *branch)
    }

    /// The branch whose circuit a branch is part of: that of the conductor that it leads around, or itself.
    pub(crate) fn circuit_of<'n>(&self, branch: &'n str) -> &'n str
    where
        'd: 'n,
    {
        let around = self.description.branches.entry(branch).and_then(|branch| branch.around.as_ref());
        around.and_then(|around| self.branch_of(&around.value)).unwrap_or(branch)
    }

    /// The fuse that stands within the source of a branch: one that the branch names and that is drawn nowhere. Where
    /// several branches name it, it is that of the first.
    pub(crate) fn fuse_within(&self, branch: &str) -> Option<&'d Located<String>> {
        let named = self.description.branches.entry(branch)?.protected_by.as_ref()?;
        self.is_within(&self.fuses, named, branch).then_some(named)
    }

    /// The contactor that parts a branch within its source, by the same rule.
    pub(crate) fn contactor_within(&self, branch: &str) -> Option<&'d Located<String>> {
        let named = self.description.branches.entry(branch)?.parted_by.as_ref()?;
        self.is_within(&self.contactors, named, branch).then_some(named)
    }

    fn is_within(&self, first: &BTreeMap<&str, &str>, named: &Located<String>, branch: &str) -> bool {
        let is_first = first.get(named.value.as_str()).is_some_and(|first| *first == branch);
        is_first && !self.is_drawn(&named.value) && !self.lost.contains(named.value.as_str())
    }

    /// The branch within whose source a fuse stands.
    pub(crate) fn holding(&self, fuse: &str) -> Option<&'d str> {
        let branch = self.fuses.get(fuse).copied()?;
        self.fuse_within(branch).map(|_| branch)
    }
}

/// All texts of a value, and of what stands in it.
fn texts(tree: &Tree, node: NodeId) -> Vec<&str> {
    match tree.content(node) {
        Content::Scalar(scalar) => vec![scalar.text],
        Content::List(items) => items.iter().flat_map(|&item| texts(tree, item)).collect(),
        Content::Map(entries) => entries.iter().flat_map(|entry| texts(tree, entry.value)).collect(),
    }
}
