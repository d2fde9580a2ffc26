//! What a description says where words in it were clearly meant for others.
//!
//! A slip in one word costs its entry, and what hangs on that. Where a problem says what was meant, and nothing else can have been, the
//! description is read once more with that in its place. Whoever uses this reading must not take it for what is written.

use std::collections::HashMap;

use loadworthy_source::{NodeId, Problem, Span, Tree};

use crate::ledger::Ledger;
use crate::read::{Joined, MeantReading, Planned, VariantReading};

/// Words of one description that are put right: of more than that, it is no description with a slip.
const MOST: usize = 24;
/// Words that are tried one by one where all together bring new problems.
const MOST_ALONE: usize = 8;
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
    let (told, (mended, Planned { base, mut variants, problems: left })) =
        match put_right(joined, root, variants, problems, &told) {
            Some(planned) => (told, planned),
            None if told.len() == 1 || MOST_ALONE < told.len() => return None,
            None => {
                let alone = |&place: &usize| put_right(joined, root, variants, problems, &[place]).is_some();
                let told: Vec<usize> = told.into_iter().filter(alone).collect();
                let planned = put_right(joined, root, variants, problems, &told)?;
                (told, planned)
            }
        };
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
        texts.extend(meant.places.iter().map(|place| (*place, meant.text.clone())));
    }
    if texts.is_empty() {
        return None;
    }
    let mended = joined.tree.mended(root, &texts)?;
    let planned = joined.planned(mended, Ledger::default());
    let tree = &joined.tree;
    let is_told = |place: usize| told.contains(&place);
    let known = |new: &Problem| (0..problems.len()).any(|k| !is_told(k) && is_same(tree, &problems[k], new));
    let names = |all: &[VariantReading]| all.iter().map(|one| one.name.clone()).collect::<Vec<_>>();
    (planned.problems.iter().all(known) && names(&planned.variants) == names(variants))
        .then_some((mended, planned))
}

/// Whether a problem is that of another reading: a value that is tried stands in a text of its own in each.
fn is_same(tree: &Tree, one: &Problem, other: &Problem) -> bool {
    let place = |of: &Problem| {
        let file = tree.file(of.at.file);
        (of.kind, file.name.clone(), of.at.start, of.at.end)
    };
    place(one) == place(other)
}
