//! Two descriptions walked together.

use std::collections::{HashMap, HashSet};

use loadworthy_source::{Content, Entry, NodeId, Tree};

use super::stated::{amount, in_one_line, name_and_rest, same, stated};
use super::{Change, ChangeKind, Described, Rename, Stated};
use crate::schema::{Guide, Guided};

/// Keys of lists of names whose order means something: what coolant or current passes one after another.
const ORDERED: [&str; 2] = ["through", "path"];
/// Items of these lists are told apart by these keys.
const TOLD_APART_BY: [(&str, &[&str]); 4] = [
    ("permits", &["check", "part", "defect", "variant", "duty_point"]),
    ("on_state", &["junction"]),
    ("on_resistance", &["junction"]),
    ("peaks", &["lasts", "every"]),
];
/// What names of entries stand under, beside the sections that are maps of such names.
const BESIDE_SECTIONS: [&str; 3] = ["isolation.domains", "isolation.barriers", "cooling.elements"];

/// Whether entries with names of their own stand under a path of the language.
pub(super) fn declares(path: &str, guided: Option<Guided<'_>>) -> bool {
    let is_section = !path.is_empty() && !path.contains('.');
    (is_section || BESIDE_SECTIONS.contains(&path)) && guided.and_then(Guided::entry).is_some()
}

/// Whether the order of a list of names under a path means something.
pub(super) fn is_ordered(path: &str) -> bool {
    let mut steps = path.rsplit('.');
    let last = steps.next().unwrap_or_default();
    ORDERED.contains(&last) || steps.next() == Some("split")
}

/// All changes, in the order of the new description.
pub(super) fn changes(
    old: Described<'_>,
    new: Described<'_>,
    guide: &Guide,
    renames: &[Rename],
) -> Vec<Change> {
    let everywhere = renames.iter().map(|one| (one.from.as_str(), one.to.as_str())).collect();
    let by_section =
        renames.iter().map(|one| ((one.section.as_str(), one.from.as_str()), one.to.as_str())).collect();
    let mut walk =
        Walk { old, new, guide, everywhere, by_section, place: Place::default(), changes: Vec::new() };
    walk.value(Some(old.root), Some(new.root), Some(guide.top()));
    walk.changes
}

/// Where the walk is, in the names of each side.
#[derive(Default)]
struct Place {
    old: Vec<String>,
    new: Vec<String>,
}

impl Place {
    fn path(steps: &[String]) -> String {
        let mut path = String::new();
        for step in steps {
            // Places in a list stand behind its name.
            if !path.is_empty() && !step.starts_with('[') {
                path.push('.');
            }
            path.push_str(step);
        }
        path
    }
}

struct Walk<'d, 'n> {
    old: Described<'d>,
    new: Described<'d>,
    guide: &'d Guide,
    everywhere: HashMap<&'n str, &'n str>,
    by_section: HashMap<(&'n str, &'n str), &'n str>,
    place: Place,
    changes: Vec<Change>,
}

impl<'d> Walk<'d, '_> {
    fn value(&mut self, old: Option<NodeId>, new: Option<NodeId>, guided: Option<Guided<'d>>) {
        let content = |side: Described<'d>, node: Option<NodeId>| node.map(|node| side.tree.content(node));
        match (content(self.old, old), content(self.new, new)) {
            (Some(Content::Map(olds)), Some(Content::Map(news))) => {
                self.maps((old, olds), (new, news), guided)
            }
            (Some(Content::Map(olds @ [_, ..])), None) => self.maps((old, olds), (new, &[]), guided),
            (None, Some(Content::Map(news @ [_, ..]))) => self.maps((old, &[]), (new, news), guided),
            (olds, news) => match (items(olds), items(news)) {
                (Some(olds), Some(news)) => self.lists((old, olds), (new, news), guided),
                _ => self.leaf(old, new, guided),
            },
        }
    }

    fn maps(
        &mut self,
        (old, olds): (Option<NodeId>, &'d [Entry]),
        (new, news): (Option<NodeId>, &'d [Entry]),
        guided: Option<Guided<'d>>,
    ) {
        let section = Place::path(&self.place.old);
        let declares = declares(&section, guided);
        let (old_tree, new_tree) = (self.old.tree, self.new.tree);
        let known = news.iter().map(|entry| new_tree.key_text(entry.key)).collect::<HashSet<_>>();
        // What each old entry is called now.
        let mut before: HashMap<&str, Entry> = HashMap::with_capacity(olds.len());
        let mut gone = Vec::new();
        for &entry in olds {
            let key = old_tree.key_text(entry.key);
            let renamed = if declares {
                self.by_section.get(&(section.as_str(), key)).copied()
            } else {
                self.everywhere.get(key).copied().filter(|_| !known.contains(key))
            };
            match known.get(renamed.unwrap_or(key)) {
                Some(now) => {
                    before.insert(now, entry);
                }
                None => gone.push(entry),
            }
        }
        let words = |key: &str| {
            let word = |tree: &Tree, map: Option<NodeId>| {
                Some(tree.scalar(tree.entry(map?, key)?.value)?.text.to_owned())
            };
            word(new_tree, new).or_else(|| word(old_tree, old))
        };
        for &entry in news {
            let key = new_tree.key_text(entry.key);
            let earlier = before.get(key).copied();
            let old_key = earlier.map_or(key, |earlier| old_tree.key_text(earlier.key));
            let below = self.below(&section, key, guided, &words);
            self.step(old_key, key, |walk| walk.entry(declares, earlier, Some(entry), below));
        }
        for entry in gone {
            let key = old_tree.key_text(entry.key);
            let below = self.below(&section, key, guided, &words);
            self.step(key, key, |walk| walk.entry(declares, Some(entry), None, below));
        }
    }

    /// What may stand under a key; a variant is a description again.
    fn below(
        &self,
        section: &str,
        key: &str,
        guided: Option<Guided<'d>>,
        words: &dyn Fn(&str) -> Option<String>,
    ) -> Option<Guided<'d>> {
        if section == "variants" {
            Some(self.guide.top())
        } else {
            guided.and_then(|one| one.below(key, words))
        }
    }

    fn step(&mut self, old: &str, new: &str, inside: impl FnOnce(&mut Self)) {
        self.place.old.push(old.to_owned());
        self.place.new.push(new.to_owned());
        inside(self);
        self.place.old.pop();
        self.place.new.pop();
    }

    fn entry(&mut self, declares: bool, old: Option<Entry>, new: Option<Entry>, guided: Option<Guided<'d>>) {
        // Their entries stand in the description as if written there.
        if self.place.new.len() == 1 && self.place.new.first().is_some_and(|key| key == "parts") {
            return;
        }
        match (declares, old, new) {
            (true, None, Some(entry)) => {
                let whole = named(self.new.tree, entry);
                self.push(ChangeKind::Added, None, Some(whole));
            }
            (true, Some(entry), None) => {
                let whole = named(self.old.tree, entry);
                self.push(ChangeKind::Removed, Some(whole), None);
            }
            _ => {
                if let (true, Some(old), Some(new)) = (declares, old, new) {
                    let (from, to) = (self.old.tree.key_text(old.key), self.new.tree.key_text(new.key));
                    if from != to {
                        let kind = ChangeKind::Renamed { from: from.to_owned(), to: to.to_owned() };
                        self.push(kind, Some(named(self.old.tree, old)), Some(named(self.new.tree, new)));
                    }
                }
                self.value(old.map(|old| old.value), new.map(|new| new.value), guided);
            }
        }
    }

    fn lists(
        &mut self,
        (old, olds): (Option<NodeId>, &'d [NodeId]),
        (new, news): (Option<NodeId>, &'d [NodeId]),
        guided: Option<Guided<'d>>,
    ) {
        let item = guided.and_then(Guided::item);
        let of_maps = |tree: &Tree, items: &[NodeId]| {
            items.iter().all(|item| matches!(tree.content(*item), Content::Map(_)))
        };
        if !of_maps(self.old.tree, olds) || !of_maps(self.new.tree, news) {
            return self.leaf(old, new, guided);
        }
        let last = self.place.new.last().map_or("", String::as_str);
        match TOLD_APART_BY.iter().find(|(key, _)| *key == last) {
            Some((_, keys)) => self.told_apart(keys, olds, news, item),
            None if olds.len() == news.len() => {
                for (place, (old, new)) in olds.iter().zip(news).enumerate() {
                    let step = format!("[{}]", place + 1);
                    self.step(&step, &step, |walk| walk.value(Some(*old), Some(*new), item));
                }
            }
            // Nothing says which is which.
            None => self.leaf(old, new, guided),
        }
    }

    fn told_apart(&mut self, keys: &[&str], olds: &[NodeId], news: &[NodeId], item: Option<Guided<'d>>) {
        let as_is = |text: &str| text.to_owned();
        let new_names = names(self.new.tree, keys, news, item, &as_is);
        let known = new_names.iter().collect::<HashSet<_>>();
        // Under the new name of what it is about, or else as it is: a name may lead nowhere.
        let renamed = names(self.old.tree, keys, olds, item, &|text| self.renamed(text));
        let old_names = renamed.into_iter().zip(names(self.old.tree, keys, olds, item, &as_is));
        let old_names = old_names.map(|(now, was)| if known.contains(&now) { now } else { was });
        let old_names = old_names.collect::<Vec<_>>();
        let mut before = old_names.iter().map(String::as_str).zip(olds).collect::<HashMap<_, _>>();
        let mut added = Vec::new();
        for (name, &new) in new_names.iter().zip(news) {
            match before.remove(name.as_str()) {
                Some(&old) => self.step(name, name, |walk| walk.value(Some(old), Some(new), item)),
                None => added.push((name, new)),
            }
        }
        for (name, new) in added {
            let whole = stated(self.new.tree, new, None);
            self.step(name, name, |walk| walk.push(ChangeKind::Added, None, Some(whole)));
        }
        for (name, &old) in old_names.iter().zip(olds) {
            if before.contains_key(name.as_str()) {
                let whole = stated(self.old.tree, old, None);
                self.step(name, name, |walk| walk.push(ChangeKind::Removed, Some(whole), None));
            }
        }
    }

    /// A reference in the names of the new description.
    fn renamed(&self, text: &str) -> String {
        let (name, rest) = name_and_rest(text);
        match self.everywhere.get(name) {
            Some(to) => format!("{to}{rest}"),
            None => text.to_owned(),
        }
    }

    fn leaf(&mut self, old: Option<NodeId>, new: Option<NodeId>, guided: Option<Guided<'d>>) {
        let of = |side: Described<'_>, node: Option<NodeId>| node.map(|node| stated(side.tree, node, guided));
        let (before, after) = (of(self.old, old), of(self.new, new));
        match (old, new) {
            (Some(old), Some(new)) => {
                let renamed = |name: &str| self.everywhere.get(name).copied();
                if same((self.old.tree, old), (self.new.tree, new), guided, &renamed) {
                    return;
                }
                if let Some(kind) = self.other_items(old, new, guided) {
                    self.push(kind, before, after);
                }
            }
            (None, Some(_)) => {
                let assumed = self.assumed(self.old, &self.place.old, guided);
                self.push(ChangeKind::Stated, assumed, after);
            }
            (Some(_), None) => {
                let assumed = self.assumed(self.new, &self.place.new, guided);
                self.push(ChangeKind::Unstated, before, assumed);
            }
            (None, None) => {}
        }
    }

    /// How two values differ; not at all where they are sets with the same members.
    fn other_items(&self, old: NodeId, new: NodeId, guided: Option<Guided<'_>>) -> Option<ChangeKind> {
        let names = |tree: &Tree, node: NodeId| {
            let Content::List(items) = tree.content(node) else { return None };
            items
                .iter()
                .map(|item| Some(tree.scalar(*item)?.text.to_owned()))
                .collect::<Option<Vec<String>>>()
        };
        let is_quantity = guided.is_some_and(|guided| {
            guided.quantity().is_some() || guided.item().and_then(Guided::quantity).is_some()
        });
        let both = (names(self.old.tree, old), names(self.new.tree, new), is_quantity);
        let (Some(mut olds), Some(news), false) = both else { return Some(ChangeKind::Value) };
        let known = news.iter().cloned().collect::<HashSet<_>>();
        for item in &mut olds {
            let now = self.renamed(item);
            if known.contains(&now) {
                *item = now;
            }
        }
        let lacks = |these: &[String], those: &[String]| {
            let those = those.iter().collect::<HashSet<_>>();
            these.iter().filter(|one| !those.contains(one)).cloned().collect::<Vec<_>>()
        };
        let (gained, lost) = (lacks(&news, &olds), lacks(&olds, &news));
        if !gained.is_empty() || !lost.is_empty() {
            return Some(ChangeKind::Items { gained, lost });
        }
        is_ordered(&Place::path(&self.place.new)).then_some(ChangeKind::Order)
    }

    /// What stands in for what nobody states here.
    fn assumed(&self, side: Described<'_>, steps: &[String], guided: Option<Guided<'_>>) -> Option<Stated> {
        let amount = (side.stands_in)(&Place::path(steps))?;
        // Where a word is asked for, the number means one.
        let is_number = guided.is_some_and(|guided| guided.quantity().is_some() || guided.takes_numbers());
        let amount = is_number.then_some(amount);
        Some(Stated { at: None, written: None, amount })
    }

    fn push(&mut self, kind: ChangeKind, old: Option<Stated>, new: Option<Stated>) {
        let steps = if kind == ChangeKind::Removed { &self.place.old } else { &self.place.new };
        self.changes.push(Change { path: Place::path(steps), kind, old, new });
    }
}

/// What each item of a list is called by the values of some of its keys; a name that comes again gets a number.
fn names(
    tree: &Tree,
    keys: &[&str],
    items: &[NodeId],
    guided: Option<Guided<'_>>,
    called: &dyn Fn(&str) -> String,
) -> Vec<String> {
    let mut times: HashMap<String, usize> = HashMap::new();
    let name = |&item: &NodeId| {
        let values = keys.iter().filter_map(|key| {
            let text = tree.scalar(tree.entry(item, key)?.value)?.text;
            let kind = guided.and_then(|one| one.below(key, &|_| None)).and_then(Guided::quantity);
            // As a number, so that another unit is no other name.
            Some(match amount(text, kind) {
                Some((dimension, value)) => format!("{} {}", shortest(value), dimension.unit()),
                None => called(text),
            })
        });
        let name = values.collect::<Vec<_>>().join(", ");
        let times = times.entry(name.clone()).or_default();
        *times += 1;
        if *times == 1 { format!("[{name}]") } else { format!("[{name}, {times}]") }
    };
    items.iter().map(name).collect()
}

/// A named entry as a whole, at its name.
fn named(tree: &Tree, entry: Entry) -> Stated {
    Stated { at: Some(entry.key), written: Some(in_one_line(tree, entry.value)), amount: None }
}

/// The items of a list; none where there is nothing, nothing where it is no list.
fn items(content: Option<Content<'_>>) -> Option<&[NodeId]> {
    match content {
        Some(Content::List(items)) => Some(items),
        Some(_) => None,
        None => Some(&[]),
    }
}

/// The shortest text of a number that hides the tail that a multiplication leaves.
fn shortest(value: f64) -> f64 {
    format!("{value:.11e}").parse().unwrap_or(value)
}
