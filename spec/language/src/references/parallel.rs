//! Branches that lead where no other can: a second one between the same two nodes, and one that makes two voltages one.
//!
//! The conductors of a branch lie in series. What two branches side by side carry, and which fuse protects which of them,
//! would be reckoned as of one branch with all their conductors, so that neither counts.

use std::collections::HashMap;

use loadworthy_source::{NodeId, Problem};

use super::Look;
use crate::quantity::shown;
use crate::sections::branches::Branch;

impl Look<'_, '_> {
    /// The branches that share both their ends with another, and those between buses of different voltages.
    pub(super) fn parallel_branches(&mut self) -> Vec<usize> {
        let all = self.description;
        let mut known: HashMap<(&str, &str), (usize, &str, NodeId)> = HashMap::new();
        let mut found = Vec::new();
        for (place, (name, entry)) in all.branches.iter().enumerate() {
            let Some(branch) = entry.read() else { continue };
            let Some((one, other)) = ends(branch) else { continue };
            let bus = (all.buses.contains_key(one), all.buses.contains_key(other));
            if bus == (true, true) {
                if self.joins_voltages(branch, (one, other)) {
                    found.push(place);
                }
                continue;
            }
            if bus == (false, false) {
                continue;
            }
            match known.get(&(one, other)) {
                Some(&(first, called, at)) => {
                    found.extend([first, place]);
                    self.note_parallel((called, at), (name, entry.key), (one, other));
                }
                None => drop(known.insert((one, other), (place, name.as_str(), entry.key))),
            }
        }
        found
    }

    fn note_parallel(
        &mut self,
        (first, first_at): (&str, NodeId),
        (name, at): (&str, NodeId),
        (one, other): (&str, &str),
    ) {
        let (at, also) = (self.tree.span(at), self.tree.span(first_at));
        self.ledger.note("conflict", at, "parallel", || {
            let message = format!(
                "{} and {} both join {} and {}: how they would divide the current, and which fuse protects which of them, \
                 is not reckoned",
                shown(first),
                shown(name),
                shown(one),
                shown(other)
            );
            Problem::new("conflict", at, message, "a second branch beside it")
                .with_also(also, "joins them already")
                .with_way_out(
                    "correct the end that is a slip; conductors that are meant to share the current are one branch, each entry \
                     with the section, the rating and the resistance of all of them together",
                )
        });
    }

    /// A branch between two buses of one domain makes them one, which they cannot be at different voltages. What joins
    /// two domains is for whoever judges barriers.
    fn joins_voltages(&mut self, branch: &Branch, (one, other): (&str, &str)) -> bool {
        let all = self.description;
        let bus = |name: &str| all.buses.entry(name);
        let (Some(a), Some(b)) = (bus(one), bus(other)) else { return false };
        let domain = |domain: &Option<loadworthy_source::Located<String>>| {
            domain.as_ref().map(|domain| domain.value.clone())
        };
        let (Some(low), Some(high)) = (&a.nominal, &b.nominal) else { return false };
        if one == other || domain(&a.domain) != domain(&b.domain) || low.value == high.value {
            return false;
        }
        let Some(to) = &branch.to else { return false };
        let (at, from) = (self.tree.span(to.at), branch.from.as_ref().map(|from| self.tree.span(from.at)));
        let stated = [low.at, high.at].map(|at| self.tree.span(at));
        self.ledger.note("conflict", at, "joins", || {
            let message = format!(
                "the branch joins {} and {}: conductors make one bus of them, and their nominal voltages differ",
                shown(one),
                shown(other)
            );
            let problem = Problem::new("conflict", at, message, "the branch leads here");
            let from = from.map(|from| (from, "from here".to_owned()));
            let stated = stated.map(|at| (at, "at this voltage".to_owned()));
            let problem = Problem { also: from.into_iter().chain(stated).collect(), ..problem };
            problem.with_way_out(
                "let the branch lead to a stage, a load or a source; only a stage passes power between two voltages",
            )
        });
        true
    }
}

/// The two ends of a branch, in one order whichever way it is written.
fn ends(branch: &Branch) -> Option<(&str, &str)> {
    let (from, to) = (branch.from.as_ref()?.value.as_str(), branch.to.as_ref()?.value.as_str());
    Some((from.min(to), from.max(to)))
}
