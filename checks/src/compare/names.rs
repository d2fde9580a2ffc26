//! Paths of parts in the names of the new description.

use std::borrow::Cow;
use std::collections::{HashMap, HashSet};

use foldhash::fast::FixedState;
use loadworthy_unit::Unit;

/// Which parts the new unit has, and which of them had another name.
pub(super) struct Names<'n> {
    renames: HashMap<&'n str, &'n str, FixedState>,
    parts: HashSet<&'n str, FixedState>,
}

impl<'n> Names<'n> {
    pub(super) fn of(new: &'n Unit, renames: &[(&'n str, &'n str)]) -> Self {
        let parts = new.variants.iter().flat_map(|variant| variant.tables.parts());
        Self {
            renames: renames.iter().copied().collect(),
            parts: parts.map(|part| part.path.as_str()).collect(),
        }
    }

    /// What a part of the old unit is called now.
    pub(super) fn now<'p>(&self, path: &'p str) -> Cow<'p, str> {
        if self.renames.is_empty() || self.parts.contains(path) {
            return Cow::Borrowed(path);
        }
        let renamed = self.renamed(path);
        if self.parts.contains(&*renamed) { renamed } else { Cow::Borrowed(path) }
    }

    /// A path of the description with every name as it is now.
    pub(super) fn renamed<'p>(&self, path: &'p str) -> Cow<'p, str> {
        if self.renames.is_empty() {
            return Cow::Borrowed(path);
        }
        // A path has dots between its steps, and `to` between two domains.
        let steps = path.split_inclusive(['.', ' ']).map(|step| {
            let name = step.trim_end_matches(['.', ' ']);
            match self.renames.get(name) {
                Some(now) => Cow::Owned(format!("{now}{}", &step[name.len()..])),
                None => Cow::Borrowed(step),
            }
        });
        Cow::Owned(steps.collect())
    }
}
