//! Conductors of unlike kinds at the place of one another: a fuse where a contactor belongs, a resistor of a pre-charge in a feed.

use loadworthy_language::sections::branches::Branch;
use loadworthy_language::sections::conductors::Conductor;

use super::conductors::{Named, Names, branches, leads_around, renamed, through};
use super::{Draft, Seen};

/// Pairs that are looked at: of more than that, nobody knows what was meant.
const MOST_PAIRS: usize = 8;

/// Pairs of which one stands in a branch that lacks a kind, where all branches would have theirs.
pub(super) fn misplaced(seen: &Seen<'_>, out: &mut Vec<Draft>) {
    let all: Vec<Named<'_>> = branches(seen).filter(|(_, branch)| branch.through.is_some()).collect();
    let odd: Vec<Named<'_>> =
        all.iter().copied().filter(|&(_, branch)| !is_whole(seen, branch, None)).collect();
    if !(1..=2).contains(&odd.len()) {
        return;
    }
    let mut pairs: Vec<[&str; 2]> = Vec::new();
    let (first, lacking) = odd[0];
    for here in through(lacking).map(|one| one.value.as_str()) {
        for (_, branch) in all.iter().filter(|(name, _)| *name != first) {
            for there in through(branch).map(|one| one.value.as_str()) {
                let kinds = [here, there].map(|name| seen.description.conductors.entry(name));
                let [Some(one), Some(other)] = kinds else { continue };
                let pair = [here, there];
                let are_unlike = here != there && one.word() != other.word();
                if are_unlike && all.iter().all(|(_, branch)| is_whole(seen, branch, Some(pair))) {
                    pairs.push(pair);
                }
            }
        }
    }
    if pairs.len() > MOST_PAIRS {
        return;
    }
    for pair in pairs {
        out.push(renamed(seen, pair[0], pair[1], Names::Everywhere));
        // A pre-charge leads around the one that stands here, wherever the other was meant to be.
        if branches(seen).any(|(_, branch)| leads_around(branch, pair)) {
            out.push(renamed(seen, pair[0], pair[1], Names::AmongConductors));
        }
    }
}

/// Whether a branch has all that it needs and nothing that it must not have, with two conductors exchanged: a pre-charge a resistor
/// and what opens it, the feed of a source what protects and what parts it, and none but a pre-charge a resistor.
fn is_whole(seen: &Seen<'_>, branch: &Branch, exchanged: Option<[&str; 2]>) -> bool {
    let names = through(branch).map(|one| match exchanged {
        Some([here, there]) if one.value == here => there,
        Some([here, there]) if one.value == there => here,
        _ => one.value.as_str(),
    });
    let (mut resists, mut opens, mut melts) = (false, false, false);
    for name in names {
        match seen.description.conductors.entry(name) {
            Some(Conductor::Resistor(_)) => resists = true,
            Some(Conductor::Contactor(_)) => opens = true,
            Some(Conductor::Fuse(_)) => melts = true,
            Some(_) => {}
            // What could not be read may be any of them.
            None => return true,
        }
    }
    if branch.around.is_some() {
        return resists && opens;
    }
    let feeds = branch.from.as_ref().is_some_and(|from| seen.description.sources.contains_key(&from.value));
    let is_fed = !feeds || (melts || branch.protected_by.is_some()) && (opens || branch.parted_by.is_some());
    !resists && is_fed
}
