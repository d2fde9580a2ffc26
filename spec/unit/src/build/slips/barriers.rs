//! Barriers that stand where others should.

use loadworthy_language::Description;
use loadworthy_language::sections::isolation::{Barrier, BarrierKind};
use loadworthy_source::Located;

use super::{Draft, MOST_STRANGE, Seen, list};
use crate::plan::Form;
use crate::slip::Move;

type Names = Located<Vec<Located<String>>>;

/// Barriers of which some of what they list, and of one of them half or more, joins other domains than they stand between.
pub(super) fn exchanged(seen: &Seen<'_>, out: &mut Vec<Draft>) {
    let Some(section) = seen.description.isolation.read() else { return };
    let all = section.barriers.iter().flatten();
    let astray = all.map(|(name, barrier)| (name, barrier, astray(seen, barrier)));
    // Of two that were exchanged one may list what joins the domains of both.
    let some: Vec<(&String, &Barrier, Astray)> = astray.filter(|(.., own)| *own != Astray::None).collect();
    if some.len() > MOST_STRANGE {
        return;
    }
    for (place, &(name, one, own)) in some.iter().enumerate() {
        for &(far, other, theirs) in &some[place + 1..] {
            if ![own, theirs].contains(&Astray::Half) {
                continue;
            }
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

/// Two barriers with one another's kinds: one is a single layer to a circuit that a person can touch, the other two against metal.
pub(super) fn kinds(seen: &Seen<'_>, out: &mut Vec<Draft>) {
    let Some(section) = seen.description.isolation.read() else { return };
    let stated = section.barriers.iter().flatten();
    let stated = stated.filter_map(|(name, barrier)| Some((name, barrier, barrier.kind.as_ref()?)));
    let all: Vec<(&String, &Barrier, &Located<BarrierKind>)> = stated.collect();
    let is_double = |kind: BarrierKind| matches!(kind, BarrierKind::Double | BarrierKind::Reinforced);
    let low = all.iter().filter(|(_, one, kind)| !is_double(kind.value) && leads_to_touch(seen, one));
    let low: Vec<_> = low.collect();
    let high: Vec<_> =
        all.iter().filter(|(_, one, kind)| is_double(kind.value) && stands_on_metal(seen, one)).collect();
    if low.len() * high.len() > MOST_STRANGE {
        return;
    }
    for &&(name, _, own) in &low {
        for &&(far, _, theirs) in &high {
            let moves = vec![kind(name, own, theirs.value), kind(far, theirs, own.value)];
            out.push(seen.draft(moves, |all| {
                change(all, name, |barrier| barrier.kind = Some(*theirs));
                change(all, far, |barrier| barrier.kind = Some(*own));
            }));
        }
    }
}

fn kind(barrier: &str, now: &Located<BarrierKind>, then: BarrierKind) -> Move {
    let word = |kind: BarrierKind| match kind {
        BarrierKind::Functional => "functional",
        BarrierKind::Basic => "basic",
        BarrierKind::Supplementary => "supplementary",
        BarrierKind::Double => "double",
        BarrierKind::Reinforced => "reinforced",
    };
    Move {
        path: format!("isolation.barriers.{barrier}.kind"),
        entry: barrier.to_owned(),
        key: "kind".to_owned(),
        now: word(now.value).to_owned(),
        then: word(then).to_owned(),
        at: now.at,
        word: word(now.value).to_owned(),
        meant: word(then).to_owned(),
        word_at: now.at,
    }
}

/// The forms of the two domains of a barrier.
fn forms(seen: &Seen<'_>, barrier: &Barrier) -> Vec<Form> {
    let Some(isolation) = &seen.variant.plan.isolation else { return Vec::new() };
    let ends = barrier.between.iter().flat_map(|ends| &ends.value);
    let form = |end: &Located<String>| {
        isolation.domains().find(|(_, domain)| domain.name == end.value).map(|(_, domain)| domain.form)
    };
    ends.filter_map(form).collect()
}

/// Whether a barrier stands between a circuit that nobody touches and one that a person can.
fn leads_to_touch(seen: &Seen<'_>, barrier: &Barrier) -> bool {
    let is = |touchable: bool| forms(seen, barrier).contains(&Form::Circuit { touchable });
    is(true) && is(false)
}

fn stands_on_metal(seen: &Seen<'_>, barrier: &Barrier) -> bool {
    forms(seen, barrier).contains(&Form::Metal)
}

/// A barrier without a list, which is named by what joins two others than it stands between.
pub(super) fn named(seen: &Seen<'_>, out: &mut Vec<Draft>) {
    let isolation = seen.variant.plan.isolation.as_ref();
    let Some((isolation, section)) = isolation.zip(seen.description.isolation.read()) else { return };
    for (place, barrier) in isolation.barriers.iter().enumerate() {
        let written = section.barriers.as_ref().and_then(|all| all.get(&barrier.name));
        let Some(own) = written.filter(|one| one.spanned_by.is_none()).and_then(|one| one.between.as_ref())
        else {
            continue;
        };
        let named = isolation.crossings.iter();
        let named = named.filter(|one| one.names_barrier.is_some_and(|(barrier, _)| barrier == place));
        let mut joined: Vec<(usize, usize)> = named.map(|one| one.between).collect();
        joined.dedup();
        let stands = barrier.between.map(|(one, other)| (one.min(other), one.max(other)));
        let [meant] = joined.as_slice() else { continue };
        if Some(*meant) == stands {
            continue;
        }
        let then = ends(isolation, *meant, own);
        let moves = vec![list(("isolation.barriers", &barrier.name, "between"), own, &then)];
        let between = Located::<Vec<Located<String>>> { value: then, at: own.at };
        out.push(seen.draft(moves, |all| {
            change(all, &barrier.name, |barrier| barrier.between = Some(between));
        }));
    }
}

/// The names of two domains, in the order in which one that stays stands.
fn ends(
    isolation: &crate::plan::Isolation,
    (one, other): (usize, usize),
    now: &Names,
) -> Vec<Located<String>> {
    let names = [one, other].map(|place| isolation.domain(place).name.clone());
    let stays = |place: usize| now.value.get(place).is_some_and(|end| names.contains(&end.value));
    let at = |place: usize| now.value.get(place).map_or(now.at, |end| end.at);
    let turned =
        now.value.iter().enumerate().any(|(place, end)| stays(place) && names[place.min(1)] != end.value);
    let [first, second] = names;
    let (first, second) = if turned { (second, first) } else { (first, second) };
    vec![Located { value: first, at: at(0) }, Located { value: second, at: at(1) }]
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

/// How much of what a barrier lists joins nothing that it stands between.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Astray {
    None,
    Some,
    /// Half of it or more.
    Half,
}

fn astray(seen: &Seen<'_>, barrier: &Barrier) -> Astray {
    let Some(isolation) = &seen.variant.plan.isolation else { return Astray::None };
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
    match astray {
        0 => Astray::None,
        many if names.len() <= 2 * many => Astray::Half,
        _ => Astray::Some,
    }
}
