//! Where stages stand, as branches and machines have it: two entries that say different things of one stage.
//!
//! Which of the two is the slip nobody can tell, so that neither counts.

use std::collections::HashMap;

use loadworthy_source::{Located, Problem};

use super::Look;
use crate::quantity::shown;
use crate::sections::stages::Stage;

/// Places of branches, of stages and of machines that contradict one another.
#[derive(Default)]
pub(super) struct Contradicted {
    pub(super) branches: Vec<usize>,
    pub(super) stages: Vec<usize>,
    pub(super) machines: Vec<usize>,
}

impl Look<'_, '_> {
    pub(super) fn contradicted(&mut self) -> Contradicted {
        let mut found = Contradicted::default();
        self.moved(&mut found);
        self.without_bus(&mut found);
        self.fed_twice(&mut found);
        found
    }

    /// A branch that leads from a bus to a stage which stands on others, or the other way.
    fn moved(&mut self, found: &mut Contradicted) {
        let all = self.description;
        for (place, entry) in all.branches.values().enumerate() {
            let Some((Some(from), Some(to))) = entry.read().map(|branch| (&branch.from, &branch.to)) else {
                continue;
            };
            for (bus, stage) in [(from, to), (to, from)] {
                let Some(of) =
                    all.stages.get_full(&stage.value).filter(|_| all.buses.contains_key(&bus.value))
                else {
                    continue;
                };
                let buses: Vec<&Located<String>> = of
                    .2
                    .read()
                    .map_or_else(Vec::new, |of| of.buses().into_iter().filter_map(|(_, bus)| bus).collect());
                // A side of which it does not say where it stands may stand there.
                let says_all = of.2.read().is_some_and(|of| of.buses().len() == buses.len());
                // A name that leads nowhere may have been meant for it.
                let leads = |own: &&Located<String>| all.buses.contains_key(&own.value);
                let says_all = says_all && buses.iter().all(leads);
                if !says_all || buses.iter().any(|own| own.value == bus.value) {
                    continue;
                }
                self.note_moved(bus, stage, &buses);
                found.branches.push(place);
                found.stages.push(of.0);
            }
        }
    }

    /// A branch whose ends are a source, a stage or a load each: what it carries, and to which bus, nobody says.
    fn without_bus(&mut self, found: &mut Contradicted) {
        let all = self.description;
        let is_node = |name: &str| {
            !all.buses.contains_key(name)
                && (all.sources.contains_key(name)
                    || all.stages.contains_key(name)
                    || all.loads.contains_key(name))
        };
        for (place, entry) in all.branches.values().enumerate() {
            let Some((Some(from), Some(to))) = entry.read().map(|branch| (&branch.from, &branch.to)) else {
                continue;
            };
            if !(is_node(&from.value) && is_node(&to.value)) || from.value == to.value {
                continue;
            }
            found.branches.push(place);
            let at = self.tree.span(to.at);
            let also = self.tree.span(from.at);
            let stage = all.stages.get(&to.value).or_else(|| all.stages.get(&from.value));
            let buses = stage.and_then(|stage| stage.read()).map_or_else(Vec::new, Stage::buses);
            let mut stands = buses.into_iter().filter_map(|(_, bus)| bus);
            let stands = stands.next().filter(|_| stands.next().is_none());
            self.ledger.note("conflict", at, &from.value, || {
                let message = format!(
                    "the branch joins {} and {}, and neither is a bus",
                    shown(&from.value),
                    shown(&to.value)
                );
                let way_out = match stands {
                    Some(bus) => format!("let it lead to {}, on which the stage stands", shown(&bus.value)),
                    None => "let one end be a bus".to_owned(),
                };
                Problem::new("conflict", at, message, "not a bus")
                    .with_also(also, "nor is this")
                    .with_way_out(way_out)
            });
        }
    }

    fn note_moved(&mut self, bus: &Located<String>, stage: &Located<String>, buses: &[&Located<String>]) {
        let (tree, at) = (self.tree, self.tree.span(bus.at));
        self.ledger.note("conflict", at, &stage.value, || {
            let stands: Vec<String> = buses.iter().map(|own| shown(&own.value)).collect();
            let message = format!(
                "the branch joins {} and {}, which stands on {}",
                shown(&bus.value),
                shown(&stage.value),
                stands.join(" and ")
            );
            let problem = Problem::new("conflict", at, message, "the branch leads here");
            let places = buses.iter().map(|own| (tree.span(own.at), "the stage stands here".to_owned()));
            let problem = Problem { also: places.collect(), ..problem };
            problem.with_way_out("let the stage and the branch name one bus")
        });
    }

    /// A machine that two stages feed. One that none feeds may be what one of them was meant for.
    fn fed_twice(&mut self, found: &mut Contradicted) {
        let all = self.description;
        let mut fed: HashMap<&str, (usize, &Located<String>)> = HashMap::new();
        let mut twice: Vec<(&Located<String>, &Located<String>)> = Vec::new();
        for (place, entry) in all.stages.values().enumerate() {
            let Some(Stage::ThreePhaseBridge(bridge)) = entry.read() else { continue };
            let Some(feeds) = &bridge.feeds else { continue };
            match fed.get(feeds.value.as_str()) {
                Some(&(other, first)) => {
                    twice.push((first, feeds));
                    found.stages.extend([other, place]);
                }
                None => drop(fed.insert(&feeds.value, (place, feeds))),
            }
        }
        if twice.is_empty() {
            return;
        }
        let machines = all.machines.keys().enumerate();
        let left: Vec<(usize, &String)> =
            machines.filter(|(_, name)| !fed.contains_key(name.as_str())).collect();
        for (first, again) in twice {
            let (at, also) = (self.tree.span(again.at), self.tree.span(first.at));
            self.ledger.note("second-feeder", at, "", || {
                let message = format!("{} is fed by another stage already", shown(&again.value));
                let way_out = match left[..] {
                    [(_, only)] => format!("write `{only}`, which no stage feeds, at one of them"),
                    _ => "let each stage feed a machine of its own".to_owned(),
                };
                Problem::new("second-feeder", at, message, "fed a second time")
                    .with_also(also, "fed from here")
                    .with_way_out(way_out)
            });
        }
        found.machines.extend(left.into_iter().map(|(place, _)| place));
    }
}
