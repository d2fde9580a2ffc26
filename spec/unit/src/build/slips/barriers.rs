//! Barriers that stand where others should.

use loadworthy_language::Description;
use loadworthy_language::sections::isolation::Barrier;
use loadworthy_source::Located;

use super::{Draft, MOST_STRANGE, Seen, list};

type Names = Located<Vec<Located<String>>>;

/// Barriers of which half of what they list or more joins other domains than they stand between.
pub(super) fn exchanged(seen: &Seen<'_>, out: &mut Vec<Draft>) {
    let Some(section) = seen.description.isolation.read() else { return };
    let all = section.barriers.iter().flatten();
    let strange: Vec<(&String, &Barrier)> = all.filter(|(_, barrier)| is_strange(seen, barrier)).collect();
    if strange.len() > MOST_STRANGE {
        return;
    }
    for (place, &(name, one)) in strange.iter().enumerate() {
        for &(far, other) in &strange[place + 1..] {
            if let (Some(own), Some(theirs)) = (&one.between, &other.between) {
                let moves = moves("between", [name, far], [own, theirs]);
                out.push(seen.draft(moves, |all| {
                    change(all, name, |barrier| barrier.between = Some(theirs.clone()));
                    change(all, far, |barrier| barrier.between = Some(own.clone()));
                }));
            }
            if let (Some(own), Some(theirs)) = (&one.spanned_by, &other.spanned_by) {
                let moves = moves("spanned_by", [name, far], [own, theirs]);
                out.push(seen.draft(moves, |all| {
                    change(all, name, |barrier| barrier.spanned_by = Some(theirs.clone()));
                    change(all, far, |barrier| barrier.spanned_by = Some(own.clone()));
                }));
            }
        }
    }
}

fn moves(key: &'static str, names: [&String; 2], [own, theirs]: [&Names; 2]) -> Vec<crate::slip::Move> {
    vec![
        list(("isolation.barriers", names[0], key), own, &theirs.value),
        list(("isolation.barriers", names[1], key), theirs, &own.value),
    ]
}

fn change(all: &mut Description, name: &str, change: impl FnOnce(&mut Barrier)) {
    all.isolation.change(|section| {
        if let Some(barrier) = section.barriers.as_mut().and_then(|all| all.get_mut(name)) {
            change(barrier);
        }
    });
}

/// Whether half of what a barrier lists or more joins nothing that it stands between.
fn is_strange(seen: &Seen<'_>, barrier: &Barrier) -> bool {
    let Some(isolation) = &seen.variant.plan.isolation else { return false };
    let ends: Vec<&str> =
        barrier.between.iter().flat_map(|ends| &ends.value).map(|end| end.value.as_str()).collect();
    let names: Vec<&str> =
        barrier.spanned_by.iter().flat_map(|names| &names.value).map(|name| name.value.as_str()).collect();
    let joins_there = |name: &str| {
        isolation.crossings.iter().any(|one| {
            let (near, far) = (isolation.domain(one.between.0), isolation.domain(one.between.1));
            let is_named = one.names.iter().any(|own| own == name);
            is_named && ends.contains(&near.name.as_str()) && ends.contains(&far.name.as_str())
        })
    };
    let astray = names.iter().filter(|name| !joins_there(name)).count();
    0 < astray && names.len() <= 2 * astray
}
