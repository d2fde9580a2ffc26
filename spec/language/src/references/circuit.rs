//! Names in branches, stages and capacitors.

use std::collections::HashMap;

use loadworthy_source::{Content, Located, NodeId, Problem, clearly_meant, nearest};

use super::{Look, MOST_LISTED};
use crate::document::Section;
use crate::quantity::shown;
use crate::sections::branches::Branch;
use crate::sections::capacitors::Capacitor;
use crate::sections::conductors::Conductor;
use crate::sections::magnetics::Magnetic;
use crate::sections::stages::Stage;

impl Look<'_, '_> {
    pub(super) fn branch(&mut self, branch: &Branch) -> bool {
        let all = self.description;
        let mut good = true;
        for end in [&branch.from, &branch.to].into_iter().flatten() {
            let nodes: [&dyn super::Names; 5] =
                [&all.sources, &all.buses, &all.stages, &all.loads, self.rails];
            good &= self.leads(end, "source, bus, stage, load or negative rail", &nodes);
        }
        let through = branch.through.iter().flat_map(|through| &through.value);
        for conductor in through {
            good &= self.leads(conductor, "conductor", &[&all.conductors]);
        }
        let is_fuse = |one: &Conductor| matches!(one, Conductor::Fuse(_));
        let is_contactor = |one: &Conductor| matches!(one, Conductor::Contactor(_));
        good &= self.opener(branch.around.as_ref(), ("around", "a contactor"), is_contactor);
        good &= self.opener(branch.protected_by.as_ref(), ("protected_by", "a fuse"), is_fuse);
        good &= self.opener(branch.parted_by.as_ref(), ("parted_by", "a contactor"), is_contactor);
        good
    }

    /// A conductor elsewhere that opens a branch, or that a branch leads around: one that is there, and of its kind.
    fn opener(
        &mut self,
        named: Option<&Located<String>>,
        (key, kind): (&'static str, &'static str),
        fits: impl Fn(&Conductor) -> bool,
    ) -> bool {
        let Some(named) = named else { return true };
        let all = &self.description.conductors;
        let good = self.leads(named, "conductor", &[all]);
        match all.entry(&named.value).filter(|found| !fits(found)) {
            Some(found) => {
                self.wrong_kind(named, key, found.with_article(), kind, all, fits);
                false
            }
            None => good,
        }
    }

    /// The branches in which a conductor stands that another one passes already, or that lead around one that none
    /// passes.
    pub(super) fn shared_conductors(&mut self) -> Vec<usize> {
        let branches = &self.description.branches;
        let mut passed: HashMap<&str, (usize, NodeId)> = HashMap::new();
        let mut found = Vec::new();
        for (place, branch) in branches.values().enumerate() {
            for conductor in
                branch.read().and_then(|branch| branch.through.as_ref()).iter().flat_map(|all| &all.value)
            {
                match passed.get(conductor.value.as_str()) {
                    // Twice in one branch is a rule of that branch.
                    Some((other, _)) if *other == place => {}
                    Some((other, first)) => {
                        let name = branches.get_index(*other).map_or("", |(name, _)| name.as_str());
                        self.passed_twice(conductor, name, *first);
                        found.push(place);
                    }
                    None => {
                        passed.insert(&conductor.value, (place, conductor.at));
                    }
                }
            }
        }
        // A name that leads nowhere may have been meant for it.
        let leads = |name: &&str| self.description.conductors.contains_key(*name);
        let known = branches.is_whole() && passed.keys().all(leads);
        for (place, branch) in branches.values().enumerate() {
            let Some(around) = branch.read().and_then(|branch| branch.around.as_ref()) else { continue };
            // What a broken branch passes is not known.
            if known
                && self.description.conductors.contains_key(&around.value)
                && !passed.contains_key(around.value.as_str())
            {
                let at = self.tree.span(around.at);
                self.ledger.note("unknown-name", at, "around", || {
                    let message = format!(
                        "no branch leads through {}, so that none leads around it",
                        shown(&around.value)
                    );
                    Problem::new("unknown-name", at, message, "in no branch")
                        .with_way_out("name it under `through` of a branch with two ends")
                });
                found.push(place);
            }
        }
        found.extend(self.feeds_of_turned_precharges());
        found.extend(self.partings_of_two_sources());
        found
    }

    /// Branches of another source than the one that a contactor is named to part before: within one source it can part no other.
    fn partings_of_two_sources(&mut self) -> Vec<usize> {
        let all = self.description;
        let mut parted: HashMap<&str, (&str, NodeId)> = HashMap::new();
        let mut found = Vec::new();
        for (place, branch) in all.branches.values().enumerate() {
            let Some(branch) = branch.read() else { continue };
            let ends = [&branch.from, &branch.to].into_iter().flatten().map(|end| end.value.as_str());
            let source = ends.into_iter().find(|end| all.sources.contains_key(*end));
            let (Some(named), Some(source)) = (&branch.parted_by, source) else { continue };
            match parted.get(named.value.as_str()) {
                Some(&(other, first)) if other != source => {
                    let (at, also) = (self.tree.span(named.at), self.tree.span(first));
                    self.ledger.note("name-twice", at, "parted_by", || {
                        let message = format!("{} parts {} already", shown(&named.value), shown(other));
                        Problem::new("name-twice", at, message, format!("and {}", shown(source)))
                            .with_also(also, "named here first")
                            .with_way_out(
                                "one contactor parts one source; describe a second one where there are two",
                            )
                    });
                    found.push(place);
                }
                Some(_) => {}
                None => drop(parted.insert(&named.value, (source, named.at))),
            }
        }
        found
    }

    /// Feeds of which the contactor stands in the pre-charge that leads around it: that is told of the pre-charge, and what stands in the
    /// feed in its place was meant for the pre-charge.
    fn feeds_of_turned_precharges(&self) -> Vec<usize> {
        let branches = &self.description.branches;
        let text = |node: NodeId| self.tree.key_text(node).to_owned();
        let through = |of: NodeId| {
            let items = self.tree.value_at(of, &["through"]).map(|list| self.tree.content(list));
            match items {
                Some(Content::List(items)) => items.iter().map(|&item| text(item)).collect(),
                _ => Vec::new(),
            }
        };
        let around = |of: NodeId| self.tree.value_at(of, &["around"]).map(text);
        let stands_in_its_own = branches.unread().any(|(_, entry)| {
            around(entry.value).is_some_and(|around| {
                let is_passed = branches.readable().any(|(.., branch)| {
                    branch.through.iter().flat_map(|all| &all.value).any(|one| one.value == around)
                });
                !is_passed && through(entry.value).contains(&around)
            })
        });
        if !stands_in_its_own {
            return Vec::new();
        }
        let is_contactor =
            |name: &str| matches!(self.description.conductors.entry(name), Some(Conductor::Contactor(_)));
        let led_around: Vec<String> = branches.values().filter_map(|entry| around(entry.value)).collect();
        let is_left = |branch: &Branch| {
            let feeds =
                branch.from.as_ref().is_some_and(|from| self.description.sources.contains_key(&from.value));
            let passed = || branch.through.iter().flat_map(|all| &all.value);
            feeds
                && passed().any(|one| is_contactor(&one.value))
                && passed().all(|one| !led_around.contains(&one.value))
        };
        let feeds = branches.values().enumerate();
        feeds.filter(|(_, entry)| entry.read().is_some_and(is_left)).map(|(place, _)| place).collect()
    }

    fn passed_twice(&mut self, conductor: &Located<String>, other: &str, first: NodeId) {
        let (at, also) = (self.tree.span(conductor.at), self.tree.span(first));
        self.ledger.note("name-twice", at, "", || {
            let message = format!("{} stands in branch `{other}` already", shown(&conductor.value));
            Problem::new("name-twice", at, message, "and here")
                .with_also(also, "stands here first")
                .with_way_out("name each conductor once; describe a second one where there are two")
        });
    }

    pub(super) fn stage(&mut self, stage: &Stage) -> bool {
        let all = self.description;
        let mut good = true;
        for (_, bus) in stage.buses() {
            good &= self.bus(bus);
        }
        if let Stage::ThreePhaseBridge(bridge) = stage {
            good &= self.leads_if(bridge.feeds.as_ref(), "machine", &[&all.machines]);
        }
        for (_, position) in stage.positions() {
            let device = position.and_then(|position| position.fitted.as_ref());
            good &= self.leads_if(device, "device", &[&all.devices]);
        }
        for (key, name) in stage.magnetics() {
            good &= name.is_none_or(|name| self.magnetic(key, name));
        }
        good &= self.leads_if(stage.controller(), "controller", &[&all.controllers]);
        for other in stage.independent_of().iter().flat_map(|others| &others.value) {
            good &= self.leads(other, "stage", &[&all.stages]);
        }
        let followed = stage.carrier().and_then(|carrier| carrier.synchronised_with.as_ref());
        self.leads_if(followed, "stage", &[&all.stages]) && good
    }

    /// A choke where a choke is asked for, and a transformer where that is.
    fn magnetic(&mut self, key: &'static str, name: &Located<String>) -> bool {
        let all = &self.description.magnetics;
        if !self.leads(name, "magnetic component", &[all]) {
            return false;
        }
        let Some(found) = all.entry(&name.value) else { return true };
        let wants_transformer = key == "transformer";
        let fits = |one: &Magnetic| matches!(one, Magnetic::Transformer(_)) == wants_transformer;
        if fits(found) {
            return true;
        }
        let (is, wanted) =
            if wants_transformer { ("a choke", "a transformer") } else { ("a transformer", "a choke") };
        self.wrong_kind(name, key, is, wanted, all, fits);
        false
    }

    fn wrong_kind<T>(
        &mut self,
        name: &Located<String>,
        key: &str,
        is: &str,
        wanted: &str,
        among: &Section<T>,
        fits: impl Fn(&T) -> bool,
    ) {
        let at = self.tree.span(name.at);
        self.ledger.note("wrong-kind", at, key, || {
            let message = format!("{} is {is}, and `{key}` names {wanted}", shown(&name.value));
            let problem = Problem::new("wrong-kind", at, message, format!("expected {wanted}"));
            let fitting = among.readable().filter(|(_, _, one)| fits(one)).map(|(name, _, _)| name);
            match fitting.take(MOST_LISTED + 1).collect::<Vec<_>>()[..] {
                [] => problem.with_way_out(format!("describe {wanted}")),
                [only] => problem.with_way_out(format!("write `{only}`")),
                ref known if known.len() <= MOST_LISTED => {
                    problem.with_way_out(format!("known: `{}`", known.join("`, `")))
                }
                _ => problem,
            }
        });
    }

    pub(super) fn capacitor(&mut self, capacitor: &Capacitor) -> bool {
        let all = self.description;
        match capacitor {
            Capacitor::Bank(bank) => {
                let bus = self.bus(bank.bus.as_ref());
                self.leads_if(bank.each.as_ref(), "capacitor type", &[&all.capacitor_types]) && bus
            }
            Capacitor::Suppression(suppression) => {
                let to = self.domain(suppression.to.as_ref());
                suppression.from.as_ref().is_none_or(|from| self.bus_rail(from.at, &from.value)) && to
            }
        }
    }

    /// `BUS.plus` or `BUS.minus`.
    fn bus_rail(&mut self, at: NodeId, text: &str) -> bool {
        let (bus, rail) = text.split_once('.').unwrap_or((text, ""));
        let buses = &self.description.buses;
        if !buses.contains_key(bus) {
            return buses.void || self.no_entry(at, text, "bus", "a rail of a bus");
        }
        let clear = clearly_meant(rail, ["plus", "minus"].into_iter()).map(|clear| format!("{bus}.{clear}"));
        matches!(rail, "plus" | "minus")
            || self.no_place(at, clear, || {
                let way_out = match nearest(rail, ["plus", "minus"].into_iter()) {
                    Some(near) => format!("write `{bus}.{near}`"),
                    None => format!("write `{bus}.plus` or `{bus}.minus`"),
                };
                let message = format!("{} does not say which rail of `{bus}`", shown(text));
                (message, "expected a rail of a bus", Some(way_out))
            })
    }
}
