//! Words that speak against what else is stated: entries that may have been exchanged, or that name what they were not meant to.
//!
//! Each suspicion is cheap and may be wrong. What becomes of it is decided where both units are judged: the one as it is
//! described, and the one with that word put right. A description without any is resolved once, as ever.

mod barriers;
mod circuits;
mod conductors;
mod control;
mod devices;
mod domains;
mod gates;
mod kinds;
mod levels;
mod names;
mod sensors;
mod typed;
mod voltages;

use std::collections::BTreeMap;

use loadworthy_language::{Description, PolicyItem, VariantReading};
use loadworthy_source::Located;

use super::{Variants, resolve};
use crate::ids::PartId;
use crate::plan::Crossing;
use crate::slip::{Move, Slip};
use crate::variant::Variant;

/// Suspicions that are followed: of more than that, it is no single slip.
const MOST: usize = 24;
/// Entries of one kind that speak against what else is stated: of more than that, none of them is a slip.
const MOST_STRANGE: usize = 4;

/// Stages of a unit that is looked at: entries are held against one another, which takes longer than a review where there are many.
const MOST_STAGES: usize = 64;

/// A suspicion: what would be written otherwise, and the description with that.
struct Draft {
    moves: Vec<Move>,
    exchanged: Option<[String; 2]>,
    description: Description,
}

/// A suspicion of a unit: the description of each variant that has it.
struct Suspicion {
    moves: Vec<Move>,
    exchanged: Option<[String; 2]>,
    in_variants: BTreeMap<usize, Description>,
}

/// Every suspicion of a unit, with the unit as it would be.
pub(super) fn slips(
    reading: Variants<'_>,
    variants: &[Variant],
    vocabulary: &[&'static PolicyItem],
) -> Vec<Slip> {
    let mut all: Vec<Suspicion> = Vec::new();
    for (v, (own, variant)) in reading.of.iter().zip(variants).enumerate() {
        for draft in drafts(&own.description, variant) {
            match all.iter_mut().find(|known| known.moves == draft.moves) {
                Some(known) => {
                    known.in_variants.insert(v, draft.description);
                }
                None => {
                    let in_variants = BTreeMap::from([(v, draft.description)]);
                    all.push(Suspicion { moves: draft.moves, exchanged: draft.exchanged, in_variants });
                }
            }
        }
    }
    let put_right = |v: usize, suspicion: &Suspicion| match suspicion.in_variants.get(&v) {
        Some(description) => {
            let own = VariantReading { description: description.clone(), ..reading.of[v].clone() };
            resolve(reading, &own, vocabulary)
        }
        None => variants[v].clone(),
    };
    let slip = |one: Suspicion| Slip {
        variant: one.in_variants.keys().next().copied().unwrap_or(0),
        is_everywhere: one.in_variants.len() == variants.len(),
        variants: (0..variants.len()).map(|v| put_right(v, &one)).collect(),
        moves: one.moves,
        exchanged: one.exchanged,
    };
    all.into_iter().take(MOST).map(slip).collect()
}

fn drafts(description: &Description, variant: &Variant) -> Vec<Draft> {
    if description.stages.len() > MOST_STAGES {
        return Vec::new();
    }
    let seen = Seen { description, variant };
    let mut all = Vec::new();
    // What few words can be comes first.
    domains::metal(&seen, &mut all);
    domains::of_buses(&seen, &mut all);
    domains::exchanged(&seen, &mut all);
    domains::of_controllers(&seen, &mut all);
    domains::of_discharges(&seen, &mut all);
    barriers::exchanged(&seen, &mut all);
    barriers::kinds(&seen, &mut all);
    barriers::named(&seen, &mut all);
    control::of_domains(&seen, &mut all);
    control::of_stages(&seen, &mut all);
    circuits::moved_bridges(&seen, &mut all);
    circuits::machines(&seen, &mut all);
    circuits::banks(&seen, &mut all);
    circuits::converters(&seen, &mut all);
    conductors::exchanged(&seen, &mut all);
    conductors::led_around(&seen, &mut all);
    conductors::between_branches(&seen, &mut all);
    conductors::throughs(&seen, &mut all);
    kinds::misplaced(&seen, &mut all);
    conductors::sources(&seen, &mut all);
    devices::exchanged(&seen, &mut all);
    gates::transformers(&seen, &mut all);
    gates::moved_sides(&seen, &mut all);
    gates::fed_apart(&seen, &mut all);
    gates::bootstraps(&seen, &mut all);
    levels::exchanged(&seen, &mut all);
    names::crossed(&seen, &mut all);
    sensors::exchanged(&seen, &mut all);
    sensors::unsuited(&seen, &mut all);
    sensors::of_isolation(&seen, &mut all);
    voltages::of_buses(&seen, &mut all);
    voltages::of_trips(&seen, &mut all);
    voltages::of_sources(&seen, &mut all);
    voltages::of_duties(&seen, &mut all);
    all
}

/// A description and what was resolved of it.
struct Seen<'s> {
    description: &'s Description,
    variant: &'s Variant,
}

impl<'s> Seen<'s> {
    fn path(&self, part: PartId) -> &'s str {
        self.variant.path(part)
    }

    /// What an entry joins, by the name of its part.
    fn crossings(&self, name: &str) -> impl Iterator<Item = &'s Crossing> {
        let all = self.variant.plan.isolation.iter().flat_map(|isolation| &isolation.crossings);
        all.filter(move |one| self.path(one.part) == name)
    }

    /// Whether an entry joins two domains and no barrier between them lists it.
    fn is_bare(&self, name: &str) -> bool {
        self.crossings(name).any(|one| one.listed_by.is_empty() && one.names_barrier.is_none())
    }

    /// Whether a barrier lists an entry that joins nothing there.
    fn is_listed_in_vain(&self, name: &str) -> bool {
        let barriers = self.variant.plan.isolation.iter().flat_map(|isolation| &isolation.barriers);
        let is_listed = barriers.flat_map(|one| &one.spanned_by).any(|(listed, ..)| listed == name);
        is_listed && self.crossings(name).all(|one| one.listed_by.is_empty())
    }

    /// The highest voltage that is stated for a bus.
    fn highest(&self, bus: &str) -> Option<f64> {
        let bus = self.description.buses.entry(bus)?;
        bus.highest.as_ref().or(bus.nominal.as_ref()).map(|volts| volts.si())
    }

    /// The same description with some words put right.
    fn draft(&self, moves: Vec<Move>, change: impl FnOnce(&mut Description)) -> Draft {
        let mut description = self.description.clone();
        change(&mut description);
        Draft { moves, exchanged: None, description }
    }

    /// The same description with what two entries of a section name by one key exchanged, as `name` writes it.
    fn exchanged(
        &self,
        (section, key): (&str, &'static str),
        [(one, own), (other, theirs)]: [(&str, &Located<String>); 2],
        name: impl Fn(&mut Description, &str, &Located<String>),
    ) -> Draft {
        let moves = vec![
            word((section, one, key), own, &theirs.value),
            word((section, other, key), theirs, &own.value),
        ];
        self.draft(moves, |all| {
            name(all, one, theirs);
            name(all, other, own);
        })
    }
}

/// A key of an entry that would name another.
fn word((section, entry, key): (&str, &str, &'static str), now: &Located<String>, then: &str) -> Move {
    Move {
        path: format!("{section}.{entry}.{key}"),
        entry: entry.to_owned(),
        key: key.to_owned(),
        now: now.value.clone(),
        then: then.to_owned(),
        at: now.at,
        word: now.value.clone(),
        meant: then.to_owned(),
        word_at: now.at,
    }
}

/// A key of an entry that would list others.
fn list(
    (section, entry, key): (&str, &str, &'static str),
    now: &Located<Vec<Located<String>>>,
    then: &[Located<String>],
) -> Move {
    let named =
        |all: &[Located<String>]| all.iter().map(|one| one.value.as_str()).collect::<Vec<_>>().join(", ");
    let other =
        now.value.iter().zip(then).filter(|(one, other)| one.value != other.value).collect::<Vec<_>>();
    let (word, meant, word_at) = match other.as_slice() {
        [(one, other)] if now.value.len() == then.len() => (one.value.clone(), other.value.clone(), one.at),
        _ => (named(&now.value), named(then), now.at),
    };
    Move {
        path: format!("{section}.{entry}.{key}"),
        entry: entry.to_owned(),
        key: key.to_owned(),
        now: format!("[{}]", named(&now.value)),
        then: format!("[{}]", named(then)),
        at: now.at,
        word,
        meant,
        word_at,
    }
}
