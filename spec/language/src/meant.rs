//! What a description says where words in it were clearly meant for others.
//!
//! A slip in one word costs its entry, and what hangs on that. Where a problem says what was meant, and nothing else can have been, the
//! description is read once more with that in its place. Whoever uses this reading must not take it for what is written.

use std::collections::HashMap;

use loadworthy_source::{Content, Meant, NodeId, Problem, Span, Tree};

use crate::ledger::Ledger;
use crate::read::{Joined, MeantReading, Planned, VariantReading};

/// Words of one description that are put right: of more than that, it is no description with a slip.
const MOST: usize = 64;
/// How often some of them are tried where all together bring new problems.
const MOST_TRIES: usize = 12;
/// Top keys that are looked at before anything is read.
const BEFORE: [&str; 3] = ["parts", "variants", "edition"];

/// Reads a description once more with the words put right that its problems tell, and notes with each problem what is taken to be meant.
/// A word that brings problems of its own was not meant.
pub(crate) fn taken(
    joined: &mut Joined<'_>,
    root: NodeId,
    variants: &[VariantReading],
    problems: &mut [Problem],
) -> Option<MeantReading> {
    let is_clear = |problem: &Problem| {
        problem.meant.as_ref().is_some_and(|meant| !BEFORE.contains(&meant.text.as_str()))
    };
    let told: Vec<usize> = (0..problems.len()).filter(|&place| is_clear(&problems[place])).collect();
    if told.is_empty() || MOST < told.len() {
        return None;
    }
    let mut tries = MOST_TRIES;
    let Right { told, mended, planned } = right(joined, (root, variants, problems), &told, &mut tries)?;
    let Planned { base, mut variants, problems: left } = planned;
    let mut places = Vec::new();
    for place in told {
        let problem = &mut problems[place];
        if let Some(meant) = &mut problem.meant {
            meant.is_taken = true;
            places.extend(&meant.places);
            let meant = loadworthy_source::escape_text(&meant.text);
            let only = problem.way_out.as_ref().is_none_or(|way_out| *way_out == format!("write `{meant}`"));
            let it = if only { "it".to_owned() } else { format!("`{meant}`") };
            let way_out = problem.way_out.take().unwrap_or_else(|| format!("write `{meant}`"));
            problem.way_out = Some(format!("{way_out}; the rest is judged as if {it} stood here"));
        }
    }
    joined.doubt(mended, &mut variants, &left);
    Some(MeantReading { base, variants, places })
}

/// A description with the words of some problems put right.
struct Right {
    told: Vec<usize>,
    mended: NodeId,
    planned: Planned,
}

/// The description with the words of all of these problems put right, or of either half those that can be, as long as they go
/// together.
fn right(
    joined: &mut Joined<'_>,
    (root, variants, problems): (NodeId, &[VariantReading], &[Problem]),
    told: &[usize],
    tries: &mut usize,
) -> Option<Right> {
    *tries = tries.checked_sub(1)?;
    let told_right = |told: &[usize], (mended, planned)| Right { told: told.to_vec(), mended, planned };
    if let Some(all) = put_right(joined, root, variants, problems, told) {
        return Some(told_right(told, all));
    }
    if told.len() < 2 {
        return None;
    }
    let (one, other) = told.split_at(told.len() / 2);
    let one = right(joined, (root, variants, problems), one, tries);
    let other = right(joined, (root, variants, problems), other, tries);
    let (one, other) = match (one, other) {
        (Some(one), Some(other)) => (one, other),
        (one, other) => return one.or(other),
    };
    let Some(left) = tries.checked_sub(1) else { return Some(one) };
    *tries = left;
    let both = [one.told.as_slice(), &other.told].concat();
    let together =
        put_right(joined, root, variants, problems, &both).map(|both_right| told_right(&both, both_right));
    together.or(Some(one))
}

/// The description with the words of some problems put right, where that brings no other problem and ends these.
fn put_right(
    joined: &mut Joined<'_>,
    root: NodeId,
    variants: &[VariantReading],
    problems: &[Problem],
    told: &[usize],
) -> Option<(NodeId, Planned)> {
    let mut texts: HashMap<Span, String> = HashMap::new();
    for meant in told.iter().filter_map(|&place| problems[place].meant.as_ref()) {
        texts.extend(meant.places.iter().map(|&place| (place, text_at(&joined.tree, meant, place))));
    }
    if texts.is_empty() {
        return None;
    }
    let named = told.iter().filter_map(|&place| renamed(&joined.tree, &problems[place])).collect();
    name_elsewhere(&joined.tree, root, &named, &mut texts);
    let mended = joined.tree.mended(root, &texts)?;
    let planned = joined.planned(mended, Ledger::default());
    let tree = &joined.tree;
    let is_told = |place: usize| told.contains(&place);
    let known = |new: &Problem| (0..problems.len()).any(|k| !is_told(k) && is_same(tree, &problems[k], new));
    let names = |all: &[VariantReading]| all.iter().map(|one| one.name.clone()).collect::<Vec<_>>();
    (planned.problems.iter().all(known) && names(&planned.variants) == names(variants))
        .then_some((mended, planned))
}

/// The name that leads nowhere of a problem, and the one that was meant.
fn renamed(tree: &Tree, problem: &Problem) -> Option<(String, String)> {
    let meant = problem.meant.as_ref().filter(|_| problem.kind == "unknown-name")?;
    let written = tree.text_of(problem.at).trim_matches(['"', '\'']);
    let first = written.split('.').next().filter(|_| meant.is_first_step);
    Some((first.unwrap_or(written).to_owned(), meant.text.clone()))
}

/// A name is put right in lists that nothing holds against what is there, such as of what a barrier spans, as it is elsewhere.
fn name_elsewhere(
    tree: &Tree,
    root: NodeId,
    named: &HashMap<String, String>,
    texts: &mut HashMap<Span, String>,
) {
    let mut left = if named.is_empty() { Vec::new() } else { vec![root] };
    while let Some(node) = left.pop() {
        match tree.content(node) {
            Content::Map(entries) => left.extend(entries.iter().map(|entry| entry.value)),
            Content::List(items) => left.extend(items),
            Content::Scalar(scalar) => {
                let (first, rest) =
                    scalar.text.find('.').map_or((scalar.text, ""), |dot| scalar.text.split_at(dot));
                let whole = named.get(scalar.text).cloned();
                let new = whole.or_else(|| named.get(first).map(|new| format!("{new}{rest}")));
                if let Some(new) = new {
                    texts.entry(tree.span(node)).or_insert(new);
                }
            }
        }
    }
}

/// What stands at a place once it is put right.
fn text_at(tree: &Tree, meant: &Meant, place: Span) -> String {
    let written = tree.text_of(place).trim_matches(['"', '\'']);
    match written.find('.').filter(|_| meant.is_first_step) {
        Some(dot) => format!("{}{}", meant.text, &written[dot..]),
        None => meant.text.clone(),
    }
}

/// Whether a problem is that of another reading: a value that is tried stands in a text of its own in each.
fn is_same(tree: &Tree, one: &Problem, other: &Problem) -> bool {
    let place = |of: &Problem| {
        let file = tree.file(of.at.file);
        (of.kind, file.name.clone(), of.at.start, of.at.end)
    };
    place(one) == place(other)
}
