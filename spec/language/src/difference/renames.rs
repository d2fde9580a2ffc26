//! Entries under another name, recognised by what they hold and what they are joined to.
//!
//! Only names that one description has and the other lacks are looked at, a few as a rule. Two of them are one entry where
//! they hold the same and are named in the same places; or hold the same, and it is more than a word; or are joined to the
//! same entries and named in the same places, and at least half of their values are the same. Each must fit only one of the
//! other side. What was recognised makes its neighbours recognisable, so it is asked again as long as something comes of it.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};
use std::hash::{DefaultHasher, Hash, Hasher};

use loadworthy_source::{Content, NodeId, Tree};

use super::stated::{amount, name_and_rest};
use super::walk::{declares, is_ordered};
use super::{Described, Rename};
use crate::schema::{Guide, Guided};

/// Times that neighbours of what was recognised are asked for.
const MOST_ROUNDS: usize = 12;
/// Values from which the same content alone makes two entries one.
const TELLING: usize = 2;

/// Where an entry stands: the section, and its name in it.
type Named<'d> = (String, &'d str);

/// All entries under another name, in the order of the old description.
pub(super) fn renames(old: Described<'_>, new: Described<'_>, guide: &Guide) -> Vec<Rename> {
    let (olds, news) = (declared(old, guide), declared(new, guide));
    let known = |all: &[(Named<'_>, NodeId)]| {
        all.iter().map(|((section, name), _)| (section.clone(), (*name).to_owned())).collect::<HashSet<_>>()
    };
    let (in_old, in_new) = (known(&olds), known(&news));
    let lacks = |names: &HashSet<(String, String)>, (section, name): &Named<'_>| {
        !names.contains(&(section.clone(), (*name).to_owned()))
    };
    let gone = olds.iter().filter(|(named, _)| lacks(&in_new, named)).collect::<Vec<_>>();
    let come = news.iter().filter(|(named, _)| lacks(&in_old, named)).collect::<Vec<_>>();
    let sections = come.iter().map(|((section, _), _)| section).collect::<BTreeSet<_>>();
    if !gone.iter().any(|((section, _), _)| sections.contains(section)) {
        return Vec::new();
    }
    let all = |all: &[(Named<'_>, NodeId)]| all.iter().map(|((_, name), _)| (*name).to_owned()).collect();
    let mut sides = [
        Side { described: old, guide, unknown: names_of(&gone), names: all(&olds), called: HashMap::new() },
        Side { described: new, guide, unknown: names_of(&come), names: all(&news), called: HashMap::new() },
    ];
    let mut found: Vec<(usize, Rename)> = Vec::new();
    let mut taken: [HashSet<usize>; 2] = Default::default();
    for _ in 0..MOST_ROUNDS {
        let seen = [sides[0].entries(&gone, &taken[0]), sides[1].entries(&come, &taken[1])];
        let pairs = pairs(&seen);
        if pairs.is_empty() {
            break;
        }
        for (from, to) in pairs {
            let (old, new) = (&seen[0][from], &seen[1][to]);
            taken[0].insert(old.place);
            taken[1].insert(new.place);
            // The same on both sides, so that what names them is the same text.
            let mark = format!("\u{0}{}", found.len());
            sides[0].called.insert(old.name.clone(), mark.clone());
            sides[1].called.insert(new.name.clone(), mark);
            let (section, from, to) = (old.section.clone(), old.name.clone(), new.name.clone());
            found.push((old.place, Rename { section, from, to }));
        }
    }
    found.sort_by_key(|(place, _)| *place);
    found.into_iter().map(|(_, rename)| rename).collect()
}

fn names_of(entries: &[&(Named<'_>, NodeId)]) -> HashSet<String> {
    entries.iter().map(|((_, name), _)| (*name).to_owned()).collect()
}

/// Every entry with a name of its own.
fn declared<'d>(side: Described<'d>, guide: &Guide) -> Vec<(Named<'d>, NodeId)> {
    fn below<'d>(
        tree: &'d Tree,
        node: NodeId,
        path: &str,
        guided: Option<Guided<'_>>,
        depth: usize,
        found: &mut Vec<(Named<'d>, NodeId)>,
    ) {
        for entry in tree.entries(node) {
            let key = tree.key_text(entry.key);
            // What has a dot in it is no name, and could not be told from a step of one.
            if declares(path, guided) {
                if key.contains('.') {
                    continue;
                }
                found.push(((path.to_owned(), key), entry.value));
            } else if depth < 2 {
                let path = if path.is_empty() { key.to_owned() } else { format!("{path}.{key}") };
                let guided = guided.and_then(|guided| guided.below(key, &|_| None));
                below(tree, entry.value, &path, guided, depth + 1, found);
            }
        }
    }
    let mut found = Vec::new();
    below(side.tree, side.root, "", Some(guide.top()), 0, &mut found);
    found
}

/// One description while names are sought in it.
struct Side<'d> {
    described: Described<'d>,
    guide: &'d Guide,
    /// Names that the other side lacks.
    unknown: HashSet<String>,
    /// Names of all entries.
    names: HashSet<String>,
    /// What is written for a name that was recognised.
    called: HashMap<String, String>,
}

/// An entry as far as its name does not matter.
#[derive(Debug)]
struct Seen {
    /// Its place among those that the other side lacks.
    place: usize,
    section: String,
    name: String,
    /// Its values with their keys, each as a number, in order.
    values: Vec<u64>,
    /// The references among them.
    joined: Vec<u64>,
    /// The places that name it.
    named_at: Vec<u64>,
}

impl Side<'_> {
    /// Those of the entries that are not taken yet.
    fn entries(&self, all: &[&(Named<'_>, NodeId)], taken: &HashSet<usize>) -> Vec<Seen> {
        let mut places = HashMap::new();
        self.places(self.described.root, &mut Vec::new(), &mut places);
        let seen = |(place, ((section, name), node)): (usize, &&(Named<'_>, NodeId))| {
            let guided = section.split('.').try_fold(self.guide.top(), |at, key| at.below(key, &|_| None));
            let (mut values, mut joined) = (Vec::new(), Vec::new());
            self.values(*node, &mut Vec::new(), guided.and_then(Guided::entry), &mut values, &mut joined);
            values.sort_unstable();
            joined.sort_unstable();
            let mut named_at = places.get(*name).cloned().unwrap_or_default();
            named_at.sort_unstable();
            Seen { place, section: section.clone(), name: (*name).to_owned(), values, joined, named_at }
        };
        all.iter().enumerate().filter(|(place, _)| !taken.contains(place)).map(seen).collect()
    }

    /// A name as both sides would write it: one that was not recognised yet is like any other.
    fn neutral<'s>(&'s self, name: &'s str) -> &'s str {
        match self.called.get(name) {
            Some(mark) => mark,
            None if self.unknown.contains(name) => "\u{0}",
            None => name,
        }
    }

    /// Where each unknown name stands, as a key or as a value.
    fn places(&self, node: NodeId, path: &mut Vec<String>, found: &mut HashMap<String, Vec<u64>>) {
        let tree = self.described.tree;
        let note = |text: &str, path: &[String], found: &mut HashMap<String, Vec<u64>>| {
            let (name, rest) = name_and_rest(text);
            if self.unknown.contains(name) {
                found.entry(name.to_owned()).or_default().push(hash(&(path, rest)));
            }
        };
        match tree.content(node) {
            Content::Scalar(scalar) => note(scalar.text, path, found),
            Content::List(items) => items.iter().for_each(|item| self.places(*item, path, found)),
            Content::Map(entries) => {
                for entry in entries {
                    let key = tree.key_text(entry.key);
                    if path.len() > 1 {
                        note(key, path, found);
                    }
                    path.push(self.neutral(key).to_owned());
                    self.places(entry.value, path, found);
                    path.pop();
                }
            }
        }
    }

    fn values(
        &self,
        node: NodeId,
        path: &mut Vec<String>,
        guided: Option<Guided<'_>>,
        values: &mut Vec<u64>,
        joined: &mut Vec<u64>,
    ) {
        let tree = self.described.tree;
        match tree.content(node) {
            Content::Scalar(scalar) => {
                if let Some((dimension, value)) = amount(scalar.text, guided.and_then(Guided::quantity)) {
                    // Eleven digits hide the tail that another unit leaves.
                    values.push(hash(&(&*path, dimension.name(), format!("{value:.10e}"))));
                    return;
                }
                if let Some(number) = scalar.as_f64() {
                    values.push(hash(&(&*path, format!("{number:.10e}"))));
                    return;
                }
                let (name, rest) = name_and_rest(scalar.text);
                let text = hash(&(&*path, self.neutral(name), rest));
                values.push(text);
                if self.names.contains(name) {
                    joined.push(text);
                }
            }
            Content::List(items) => {
                let ordered = is_ordered(&path.join("."));
                let own = guided.filter(|guided| guided.quantity().is_some());
                let item = own.or_else(|| guided.and_then(Guided::item));
                for (place, &one) in items.iter().enumerate() {
                    let is_name =
                        item.is_none_or(|item| item.quantity().is_none()) && tree.scalar(one).is_some();
                    path.push(if is_name && !ordered { String::new() } else { place.to_string() });
                    self.values(one, path, item, values, joined);
                    path.pop();
                }
            }
            Content::Map(entries) => {
                let word = |key: &str| Some(tree.scalar(tree.entry(node, key)?.value)?.text.to_owned());
                for entry in entries {
                    let key = tree.key_text(entry.key);
                    let below = guided.and_then(|guided| guided.below(key, &word));
                    path.push(self.neutral(key).to_owned());
                    self.values(entry.value, path, below, values, joined);
                    path.pop();
                }
            }
        }
    }
}

fn hash(value: &impl Hash) -> u64 {
    let mut hasher = DefaultHasher::new();
    value.hash(&mut hasher);
    hasher.finish()
}

/// Places of old and new entries that are one, by the surest sign that tells any apart.
fn pairs([olds, news]: &[Vec<Seen>; 2]) -> Vec<(usize, usize)> {
    let same_in_same_places = |seen: &Seen| {
        let says = seen.values.len() + seen.named_at.len();
        (says > 0).then(|| hash(&(&seen.section, &seen.values, &seen.named_at)))
    };
    let same = |seen: &Seen| (seen.values.len() >= TELLING).then(|| hash(&(&seen.section, &seen.values)));
    let same_role = |seen: &Seen| {
        let joints = seen.joined.len() + seen.named_at.len();
        (joints > 0).then(|| hash(&(&seen.section, &seen.joined, &seen.named_at)))
    };
    let found = alone(olds, news, &same_in_same_places);
    if !found.is_empty() {
        return found;
    }
    let found = alone(olds, news, &same);
    if !found.is_empty() {
        return found;
    }
    let mut found = alone(olds, news, &same_role);
    found.retain(|(old, new)| are_alike(&olds[*old].values, &news[*new].values));
    found
}

/// Pairs that have a sign in common that no third has.
fn alone(olds: &[Seen], news: &[Seen], sign: &dyn Fn(&Seen) -> Option<u64>) -> Vec<(usize, usize)> {
    let mut by_sign: BTreeMap<u64, [Vec<usize>; 2]> = BTreeMap::new();
    for (side, all) in [olds, news].into_iter().enumerate() {
        for (place, seen) in all.iter().enumerate() {
            if let Some(sign) = sign(seen) {
                by_sign.entry(sign).or_default()[side].push(place);
            }
        }
    }
    let pair = |[olds, news]: &[Vec<usize>; 2]| match (olds.as_slice(), news.as_slice()) {
        ([old], [new]) => Some((*old, *new)),
        _ => None,
    };
    let mut found = by_sign.values().filter_map(pair).collect::<Vec<_>>();
    found.sort_unstable();
    found
}

/// Whether at least half of the values of two entries are the same; both are sorted.
fn are_alike(old: &[u64], new: &[u64]) -> bool {
    let (mut one, mut other, mut same) = (0, 0, 0);
    while let (Some(left), Some(right)) = (old.get(one), new.get(other)) {
        same += usize::from(left == right);
        one += usize::from(left <= right);
        other += usize::from(right <= left);
    }
    2 * same >= old.len().max(new.len())
}
