//! Negative rails: which of them bars or a stage without a transformer make one, and what keeps others apart.

use std::collections::{BTreeMap, BTreeSet};

use loadworthy_language::Description;
use loadworthy_language::sections::branches::Branch;
use loadworthy_language::sections::stages::Stage;
use loadworthy_source::{Located, NodeId, Tree};

use crate::plan::{RailSplit, Splitter};

/// Negative rails, each under the name that stands for all rails that are joined to it.
#[derive(Default)]
pub(crate) struct Rails {
    joined: BTreeMap<String, String>,
    /// Rails that branches lead a stage to, as they name them.
    returns: BTreeMap<String, Vec<String>>,
    splits: Vec<RailSplit>,
    /// Stages without a transformer between rails of two names, and where those are given.
    through: Vec<(String, [Located<String>; 2])>,
    /// Branches among them that could not be read, and where they stand.
    unread: BTreeMap<String, NodeId>,
}

impl Rails {
    /// Reads the rails of the buses, and the branches between two of them or between one and a stage.
    pub(crate) fn of(description: &Description, tree: &Tree) -> Self {
        let mut this = Self::default();
        let named = description.buses.readable().filter_map(|(_, _, bus)| bus.negative_rail.as_ref());
        let rails: BTreeSet<&str> = named.map(|rail| rail.value.as_str()).collect();
        for (name, _, branch) in description.branches.readable() {
            let Some(ends) = written_ends(branch) else { continue };
            let Some((one, other)) = this.ends(description, &rails, ends) else { continue };
            let splitters = splitters(description, branch);
            if splitters.is_empty() {
                this.join(&one, &other);
            } else {
                this.split(name, (one, other), splitters);
            }
        }
        for (name, _, stage) in description.stages.readable() {
            if matches!(stage, Stage::Boost(_) | Stage::Buck(_))
                && let [(_, Some(one)), (_, Some(other))] = stage.buses().as_slice()
            {
                this.pass(description, name, [one, other]);
            }
        }
        this.unread(description, &rails, tree);
        // Which names stand for both sides is known once all bars are.
        for mut split in std::mem::take(&mut this.splits) {
            split.between = (this.stands_for(&split.between.0), this.stands_for(&split.between.1));
            // What a bar leads around keeps nothing apart.
            if split.between.0 != split.between.1 {
                this.splits.push(split);
            }
        }
        this
    }

    /// A boost or a buck has one minus, whatever its buses call it. Where branches lead from one rail to the other, its
    /// current returns through them, and what they keep apart stays so.
    fn pass(&mut self, description: &Description, stage: &str, buses: [&Located<String>; 2]) {
        let [Some(one), Some(other)] = buses.map(|bus| description.buses.entry(&bus.value)) else { return };
        let named = [&one.negative_rail, &other.negative_rail];
        let rail = |place: usize| match named[place] {
            Some(rail) => rail.value.clone(),
            None => own_rail(&buses[place].value),
        };
        let [one, other] = [0, 1].map(|place| self.at_stage(stage, self.stands_for(&rail(place)), &[]));
        if one == other || self.leads(&one, &other) {
            return;
        }
        if let [Some(first), Some(second)] = named {
            self.through.push((stage.to_owned(), [first.clone(), second.clone()]));
        }
        self.join(&one, &other);
    }

    /// Whether branches that keep rails apart lead from one to another.
    fn leads(&self, from: &str, to: &str) -> bool {
        let mut reached = BTreeSet::from([from.to_owned()]);
        loop {
            let before = reached.len();
            for split in &self.splits {
                let ends = [&split.between.0, &split.between.1].map(|end| self.stands_for(end));
                if ends.iter().any(|end| reached.contains(end)) {
                    reached.extend(ends);
                }
            }
            if reached.len() == before {
                return reached.contains(to);
            }
        }
    }

    /// The two rails that a branch lies between; the return of a stage is one of its own.
    fn ends(
        &mut self,
        description: &Description,
        rails: &BTreeSet<&str>,
        (from, to): (&str, &str),
    ) -> Option<(String, String)> {
        let mut of_stage = |stage: &str, rail: &str| {
            self.returns.entry(stage.to_owned()).or_default().push(rail.to_owned());
            (rail.to_owned(), return_of(stage, rail))
        };
        match (rails.contains(from), rails.contains(to)) {
            (true, true) => Some((from.to_owned(), to.to_owned())),
            (true, false) if description.stages.contains_key(to) => Some(of_stage(to, from)),
            (false, true) if description.stages.contains_key(from) => Some(of_stage(from, to)),
            _ => None,
        }
    }

    fn split(&mut self, branch: &str, between: (String, String), by: Vec<Splitter>) {
        self.splits.push(RailSplit { branch: branch.to_owned(), between, by, unread: None });
    }

    /// Branches that could not be read: what they lead through, and some of them where they lead, nobody knows.
    fn unread(&mut self, description: &Description, rails: &BTreeSet<&str>, tree: &Tree) {
        for (name, entry) in description.branches.unread() {
            let text = |key: &str| {
                let scalar = tree.value_at(entry.value, &[key]).and_then(|at| tree.scalar(at));
                scalar.map_or("", |scalar| scalar.text)
            };
            if !text("around").is_empty() {
                continue;
            }
            let (from, to) = (text("from"), text("to"));
            let is_known = |end: &str| {
                rails.contains(end)
                    || description.buses.contains_key(end)
                    || description.sources.contains_key(end)
                    || description.loads.contains_key(end)
                    || description.stages.contains_key(end)
            };
            // Of a stage that it leads to nowhere known, it may be the return.
            let lost = match (is_known(from), is_known(to)) {
                (true, false) => Some(from),
                (false, true) => Some(to),
                _ => None,
            };
            let ends: Vec<(String, String)> =
                match lost.filter(|stage| description.stages.contains_key(*stage)) {
                    Some(stage) => rails_of(description, stage)
                        .iter()
                        .filter_map(|rail| self.ends(description, rails, (stage, rail.as_str())))
                        .collect(),
                    None => self.ends(description, rails, (from, to)).into_iter().collect(),
                };
            for between in ends {
                let kind = "branch that could not be read";
                self.split(name, between, vec![Splitter { name: name.to_owned(), kind, at: entry.key }]);
                self.unread.insert(name.to_owned(), entry.value);
            }
        }
    }

    /// Where a branch stands that could not be read.
    pub(crate) fn unread_at(&self, branch: &str) -> Option<NodeId> {
        self.unread.get(branch).copied()
    }

    fn join(&mut self, one: &str, other: &str) {
        let (one, other) = (self.stands_for(one), self.stands_for(other));
        if one != other {
            // The name that sorts first stands for both, whatever the order of the file.
            let (first, second) = if one < other { (one, other) } else { (other, one) };
            self.joined.insert(second, first);
        }
    }

    /// The name that stands for a rail.
    pub(crate) fn stands_for(&self, rail: &str) -> String {
        let mut name = rail;
        while let Some(next) = self.joined.get(name) {
            name = next;
        }
        name.to_owned()
    }

    /// What a stage stands on that hangs on a rail: the rail, or the near side of what a branch puts into its return.
    /// That leads where it says, also to another rail than that of its bus; `beyond` are the rails behind its transformer.
    pub(crate) fn at_stage(&self, stage: &str, rail: String, beyond: &[String]) -> String {
        let returns = || self.returns.get(stage).into_iter().flatten();
        let own = returns().find(|to| self.stands_for(to) == rail);
        let other = || returns().find(|to| !beyond.contains(&self.stands_for(to)));
        match own.or_else(other) {
            Some(to) => self.stands_for(&return_of(stage, to)),
            None => rail,
        }
    }

    /// Whether a rail is joined to no other.
    pub(crate) fn is_alone(&self, rail: &str) -> bool {
        !self.joined.iter().any(|(one, other)| one == rail || other == rail)
    }

    /// Stages without a transformer between rails of two names, in the order of the description.
    pub(crate) fn through(&self) -> &[(String, [Located<String>; 2])] {
        &self.through
    }

    /// What keeps rails apart, in the order of the description.
    pub(crate) fn splits(&self) -> Vec<RailSplit> {
        self.splits.clone()
    }
}

/// The negative rail of a bus that names none.
pub(crate) fn own_rail(bus: &str) -> String {
    format!("{bus}.minus")
}

/// What a branch leads from and to.
fn written_ends(branch: &Branch) -> Option<(&str, &str)> {
    Some((branch.from.as_ref()?.value.as_str(), branch.to.as_ref()?.value.as_str()))
}

/// The negative rails that the buses of a stage name.
fn rails_of(description: &Description, stage: &str) -> Vec<String> {
    let buses = description.stages.entry(stage).map(|stage| stage.buses());
    let named = buses.iter().flatten().filter_map(|(_, bus)| bus.as_ref());
    let rails = named.filter_map(|bus| description.buses.entry(&bus.value)?.negative_rail.as_ref());
    rails.map(|rail| rail.value.clone()).collect()
}

/// The return of a stage that a branch leads to a rail.
fn return_of(stage: &str, rail: &str) -> String {
    format!("{rail} at {stage}")
}

/// The conductors of a branch that keep its ends apart; none where bars alone lead from one to the other.
fn splitters(description: &Description, branch: &Branch) -> Vec<Splitter> {
    let through = branch.through.iter().flat_map(|through| &through.value);
    through
        .filter_map(|name: &Located<String>| {
            let read = description.conductors.entry(&name.value);
            let kind = read.map_or("conductor that could not be read", |conductor| conductor.word());
            let joins = read.is_some_and(|conductor| conductor.joins_potentials());
            (!joins).then(|| Splitter { name: name.value.clone(), kind, at: name.at })
        })
        .collect()
}
