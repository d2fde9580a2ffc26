//! Conductors that stand in branches of one another, contactors in a feed and its pre-charge among them, and pre-charges around another contactor.

use loadworthy_language::Description;
use loadworthy_language::sections::branches::Branch;
use loadworthy_language::sections::conductors::{Conductor, Contactor};
use loadworthy_language::sections::sources::Source;
use loadworthy_source::Located;

use super::{Draft, MOST_STRANGE, Seen, list, word};
use crate::slip::Move;

pub(super) type Named<'d> = (&'d str, &'d Branch);

pub(super) fn branches<'d>(seen: &Seen<'d>) -> impl Iterator<Item = Named<'d>> {
    seen.description.branches.readable().map(|(name, _, branch)| (name, branch))
}

fn contactor<'d>(seen: &Seen<'d>, name: &str) -> Option<&'d Contactor> {
    match seen.description.conductors.entry(name)? {
        Conductor::Contactor(one) => Some(one),
        _ => None,
    }
}

fn carries(one: &Contactor) -> Option<f64> {
    Some(one.current.as_ref()?.continuous.as_ref()?.si())
}

pub(super) fn through(branch: &Branch) -> impl Iterator<Item = &Located<String>> {
    branch.through.iter().flat_map(|through| &through.value)
}

/// A contactor in a feed that carries less for good than the one in the pre-charge around it.
pub(super) fn exchanged(seen: &Seen<'_>, out: &mut Vec<Draft>) {
    for (_, precharge) in branches(seen) {
        let Some(around) = &precharge.around else { continue };
        let own = contactor(seen, &around.value).and_then(carries);
        for inner in through(precharge) {
            let theirs = contactor(seen, &inner.value).and_then(carries);
            if own.zip(theirs).is_some_and(|(own, theirs)| own < theirs) {
                out.push(renamed(seen, &around.value, &inner.value, Names::Everywhere));
            }
        }
    }
}

/// Where two names are exchanged.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Names {
    /// Among the conductors of branches alone.
    AmongConductors,
    /// In what branches lead around and what parts them as well.
    Everywhere,
}

pub(super) fn leads_around(branch: &Branch, names: [&str; 2]) -> bool {
    branch.around.as_ref().is_some_and(|around| names.contains(&around.value.as_str()))
}

/// All branches with two names exchanged.
pub(super) fn renamed(seen: &Seen<'_>, one: &str, other: &str, names: Names) -> Draft {
    let swapped = |name: &Located<String>| {
        let value = match name.value.as_str() {
            own if own == one => other,
            own if own == other => one,
            own => own,
        };
        Located { value: value.to_owned(), at: name.at }
    };
    let swap_all = |names: &Located<Vec<Located<String>>>| Located::<Vec<Located<String>>> {
        value: names.value.iter().map(swapped).collect(),
        at: names.at,
    };
    let mut moves: Vec<Move> = Vec::new();
    for (name, branch) in branches(seen) {
        if let Some(own) = branch.through.as_ref().filter(|own| swap_all(own).value != own.value) {
            moves.push(list(("branches", name, "through"), own, &swap_all(own).value));
        }
        let words = [("around", &branch.around), ("parted_by", &branch.parted_by)];
        let words = words.into_iter().filter(|_| names == Names::Everywhere);
        for (key, named) in words.filter_map(|(key, named)| Some((key, named.as_ref()?))) {
            if swapped(named).value != named.value {
                moves.push(word(("branches", name, key), named, &swapped(named).value));
            }
        }
    }
    let all_branches: Vec<String> = branches(seen).map(|(name, _)| name.to_owned()).collect();
    let draft = seen.draft(moves, |all: &mut Description| {
        for name in &all_branches {
            all.branches.change(name, |branch| {
                branch.through = branch.through.as_ref().map(swap_all);
                if names == Names::AmongConductors {
                    return;
                }
                branch.around = branch.around.as_ref().map(swapped);
                branch.parted_by = branch.parted_by.as_ref().map(swapped);
            });
        }
    });
    Draft { exchanged: Some([one.to_owned(), other.to_owned()]), ..draft }
}

/// A pre-charge around a contactor of another feed: two of them exchanged, or one where a feed has none.
pub(super) fn led_around(seen: &Seen<'_>, out: &mut Vec<Draft>) {
    let around = branches(seen).filter_map(|(name, branch)| Some((name, branch, branch.around.as_ref()?)));
    let around: Vec<(&str, &Branch, &Located<String>)> = around.collect();
    if around.len() > MOST_STRANGE {
        return;
    }
    for (place, &(name, one, own)) in around.iter().enumerate() {
        for &(far, other, theirs) in &around[place + 1..] {
            if own.value != theirs.value
                && (is_low(seen, one, &own.value) || is_low(seen, other, &theirs.value))
            {
                let pair = [(name, own), (far, theirs)];
                out.push(seen.exchanged(("branches", "around"), pair, |all, name, named| {
                    all.branches.change(name, |branch| branch.around = Some(named.clone()));
                }));
            }
        }
        for there in without_precharge(seen, &around) {
            let moves = vec![word(("branches", name, "around"), own, there)];
            let there = Located { value: there.to_owned(), at: own.at };
            out.push(seen.draft(moves, |all| {
                all.branches.change(name, |branch| branch.around = Some(there));
            }));
        }
    }
}

/// Whether a contactor of a pre-charge breaks less than the contactor breaks that it leads around.
fn is_low(seen: &Seen<'_>, precharge: &Branch, around: &str) -> bool {
    let breaks = |name: &str| Some(contactor(seen, name)?.breaks.as_ref()?.voltage.as_ref()?.si());
    let own = breaks(around);
    through(precharge).any(|one| breaks(&one.value).zip(own).is_some_and(|(low, own)| low < own))
}

/// Contactors in feeds of sources of which no pre-charge leads around any, where two lead around contactors of one feed.
fn without_precharge<'d>(seen: &Seen<'d>, around: &[(&str, &Branch, &Located<String>)]) -> Vec<&'d str> {
    let is_led_around = |name: &str| around.iter().any(|(.., own)| own.value == name);
    let led: Vec<usize> = branches(seen)
        .map(|(_, branch)| through(branch).filter(|one| is_led_around(&one.value)).count())
        .collect();
    let is_feed = |branch: &Branch| {
        branch.from.as_ref().is_some_and(|from| seen.description.sources.contains_key(&from.value))
    };
    let bare = branches(seen).zip(led).filter(|((_, branch), led)| *led == 0 && is_feed(branch));
    let conductors = bare.flat_map(|((_, branch), _)| through(branch));
    conductors.map(|one| one.value.as_str()).filter(|name| contactor(seen, name).is_some()).collect()
}

/// A conductor with what it is rated for.
struct Rated<'d> {
    name: &'d str,
    word: &'static str,
    branch: &'d str,
    volts: Option<f64>,
    amps: Option<f64>,
    joules: Option<f64>,
}

/// What a branch asks of its conductors: the highest voltage of its bus, and what its source gives for good.
#[derive(Clone, Copy)]
struct Asked {
    volts: Option<f64>,
    amps: Option<f64>,
}

/// Conductors of one kind in two branches, of which one is rated below what its branch asks and would not be in the other.
pub(super) fn between_branches(seen: &Seen<'_>, out: &mut Vec<Draft>) {
    let all = rated(seen);
    let asked: Vec<Asked> = all.iter().map(|one| asked(seen, one.branch)).collect();
    let is_weak = |one: &Rated<'_>, there: Asked| {
        let below =
            |rated: Option<f64>, asked: Option<f64>| rated.zip(asked).is_some_and(|(own, all)| own < all);
        below(one.volts, there.volts) || below(one.amps, there.amps)
    };
    // Of a pair without a weak one only two that take energy speak for an exchange: pairs of all others need not be looked at.
    let may_be_odd: Vec<bool> =
        all.iter().zip(&asked).map(|(one, &here)| is_weak(one, here) || one.joules.is_some()).collect();
    let odd: Vec<usize> = (0..all.len()).filter(|&k| may_be_odd[k]).collect();
    let every: Vec<usize> = (0..all.len()).collect();
    let mut strange: Vec<[usize; 2]> = Vec::new();
    for (k, one) in all.iter().enumerate() {
        let others = if may_be_odd[k] { &every } else { &odd };
        for &far in &others[others.partition_point(|&far| far <= k)..] {
            let other = &all[far];
            if one.word != other.word || one.branch == other.branch || one.name == other.name {
                continue;
            }
            let is_odd = is_weak(one, asked[k]) || is_weak(other, asked[far]);
            let would_fit = !is_weak(one, asked[far]) && !is_weak(other, asked[k]);
            if is_odd && would_fit || takes_less_of_more([one, other], [asked[k], asked[far]]) {
                strange.push([k, far]);
            }
        }
    }
    if strange.len() <= MOST_STRANGE {
        for [one, other] in strange.into_iter().map(|pair| pair.map(|k| all[k].name)) {
            out.push(renamed(seen, one, other, Names::Everywhere));
            // A pre-charge leads around the one that stands here, wherever the other was meant to be.
            if branches(seen).any(|(_, branch)| leads_around(branch, [one, other])) {
                out.push(renamed(seen, one, other, Names::AmongConductors));
            }
        }
    }
}

/// What each of two branches leads through, exchanged: the feed of a source without fuse or contactor, a pre-charge without a resistor,
/// or what is rated below what its branch asks, where all fits in the branch of the other.
pub(super) fn throughs(seen: &Seen<'_>, out: &mut Vec<Draft>) {
    let all: Vec<Named<'_>> = branches(seen).filter(|(_, branch)| branch.through.is_some()).collect();
    let all_rated = rated(seen);
    // What one branch leads through, at the place of another.
    let fits = |led: Named<'_>, at: Named<'_>| {
        let asked = asked(seen, at.0);
        let own = all_rated.iter().filter(|one| one.branch == led.0);
        let is_strong = own.into_iter().all(|one| {
            let holds =
                |rated: Option<f64>, asked: Option<f64>| rated.zip(asked).is_none_or(|(own, all)| all <= own);
            holds(one.volts, asked.volts) && (at.1.around.is_some() || holds(one.amps, asked.amps))
        });
        let has = |is_it: fn(&Conductor) -> bool| {
            through(led.1).any(|one| seen.description.conductors.entry(&one.value).is_some_and(is_it))
        };
        let resists = has(|one| matches!(one, Conductor::Resistor(_)));
        let is_feed = at.1.around.is_none()
            && at.1.from.as_ref().is_some_and(|from| seen.description.sources.contains_key(&from.value));
        let is_parted = at.1.parted_by.is_some() || has(|one| matches!(one, Conductor::Contactor(_)));
        let is_fused = at.1.protected_by.is_some() || has(|one| matches!(one, Conductor::Fuse(_)));
        is_strong && resists == at.1.around.is_some() && (!is_feed || is_parted && is_fused)
    };
    let odd: Vec<bool> = all.iter().map(|&one| !fits(one, one)).collect();
    let mut pairs = Vec::new();
    for (place, &one) in all.iter().enumerate() {
        for (far, &other) in all.iter().enumerate().skip(place + 1) {
            if (odd[place] || odd[far]) && fits(one, other) && fits(other, one) {
                pairs.push((one, other));
            }
        }
    }
    if pairs.len() > MOST_STRANGE {
        return;
    }
    for ((name, one), (far, other)) in pairs {
        let (Some(own), Some(theirs)) = (&one.through, &other.through) else { continue };
        let moves = vec![
            list(("branches", name, "through"), own, &theirs.value),
            list(("branches", far, "through"), theirs, &own.value),
        ];
        out.push(seen.draft(moves, |all| {
            all.branches.change(name, |branch| branch.through = Some(theirs.clone()));
            all.branches.change(far, |branch| branch.through = Some(own.clone()));
        }));
    }
}

/// Whether of two resistors the one at the higher voltage takes less energy.
fn takes_less_of_more([one, other]: [&Rated<'_>; 2], [here, there]: [Asked; 2]) -> bool {
    let joules = one.joules.zip(other.joules);
    joules.zip(here.volts.zip(there.volts)).is_some_and(|((one, other), (here, there))| {
        one < other && there < here || other < one && here < there
    })
}

fn rated<'d>(seen: &Seen<'d>) -> Vec<Rated<'d>> {
    let mut all = Vec::new();
    for (branch, written) in branches(seen) {
        for name in through(written).map(|name| name.value.as_str()) {
            let Some(conductor) = seen.description.conductors.entry(name) else { continue };
            let amps =
                conductor.rated().and_then(|current| current.continuous.as_ref()).map(|amps| amps.si());
            let (volts, amps, joules) = match conductor {
                Conductor::Fuse(fuse) => {
                    let amps = fuse.current.as_ref().map(|amps| amps.si());
                    (fuse.voltage.as_ref().map(|volts| volts.si()), amps, None)
                }
                Conductor::Contactor(one) => {
                    let volts = one.breaks.as_ref().and_then(|breaks| breaks.voltage.as_ref());
                    (volts.map(|volts| volts.si()), amps.filter(|_| written.around.is_none()), None)
                }
                Conductor::Resistor(one) => (None, None, one.energy.as_ref().map(|joules| joules.si())),
                _ => (None, amps, None),
            };
            all.push(Rated { name, word: conductor.word(), branch, volts, amps, joules });
        }
    }
    all
}

fn asked(seen: &Seen<'_>, branch: &str) -> Asked {
    let around = seen.description.branches.entry(branch).and_then(|branch| branch.around.as_ref());
    let feed = around.and_then(|around| {
        branches(seen).find(|(_, other)| through(other).any(|one| one.value == around.value))
    });
    let own = feed.map(|(_, feed)| feed).or_else(|| seen.description.branches.entry(branch));
    let ends: Vec<&str> = own
        .iter()
        .flat_map(|branch| [&branch.from, &branch.to])
        .flatten()
        .map(|end| end.value.as_str())
        .collect();
    let volts = ends.iter().filter_map(|end| seen.highest(end)).reduce(f64::max);
    let amps = ends.iter().filter_map(|end| gives(seen.description.sources.entry(end)?)).reduce(f64::max);
    Asked { volts, amps }
}

fn gives(source: &Source) -> Option<f64> {
    let discharge = match source {
        Source::Battery(one) => one.discharge.as_ref(),
        Source::FuelCell(one) => one.discharge.as_ref(),
        Source::Generator(one) => one.discharge.as_ref(),
    };
    discharge.and_then(|limit| limit.continuous.as_ref()).map(|amps| amps.si())
}

/// Sources at the buses of one another: one gives more than its bus is stated to come to.
pub(super) fn sources(seen: &Seen<'_>, out: &mut Vec<Draft>) {
    let comes_to = |name: &str| match seen.description.sources.entry(name)? {
        Source::Battery(one) => one.open_circuit.as_ref()?.highest.as_ref().map(|volts| volts.si()),
        Source::FuelCell(one) => {
            let points = one.polarisation.as_ref()?.voltage.iter().map(|volts| volts.value.si());
            points.reduce(f64::max)
        }
        Source::Generator(_) => None,
    };
    let feeds = branches(seen).filter_map(|(name, branch)| {
        let (from, to) = (branch.from.as_ref()?, branch.to.as_ref()?);
        Some((name, from, seen.highest(&to.value)?, comes_to(&from.value)?))
    });
    let feeds: Vec<(&str, &Located<String>, f64, f64)> = feeds.collect();
    for (place, &(name, own, highest, volts)) in feeds.iter().enumerate() {
        for &(far, theirs, others_highest, others_volts) in &feeds[place + 1..] {
            let is_odd = highest < volts || others_highest < others_volts;
            if !is_odd || others_highest < volts || highest < others_volts {
                continue;
            }
            let pair = [(name, own), (far, theirs)];
            out.push(seen.exchanged(("branches", "from"), pair, |all, name, named| {
                all.branches.change(name, |branch| branch.from = Some(named.clone()));
            }));
        }
    }
}
