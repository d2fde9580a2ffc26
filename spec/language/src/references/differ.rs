//! Names that stand side by side in the paths of figures.

use std::collections::HashMap;

use loadworthy_source::{NodeId, Problem, Span, Tree};

use crate::document::{Description, Section};
use crate::ledger::Ledger;
use crate::quantity::shown;

/// Names that the program uses itself in the paths of figures.
const RESERVED: &[&str] = &["cooling", "isolation"];

/// A name as it is claimed by an entry.
struct Claim {
    at: Span,
    key: NodeId,
    name: String,
    section: &'static str,
    /// The place of the entry in its section.
    place: usize,
}

fn claims<'s, T>(
    tree: &'s Tree,
    section: &'static str,
    entries: &'s Section<T>,
) -> impl Iterator<Item = Claim> + use<'s, T> {
    entries.iter().enumerate().map(move |(place, (name, entry))| Claim {
        at: tree.span(entry.key),
        key: entry.key,
        name: name.clone(),
        section,
        place,
    })
}

/// Notes entries that share a name, and negative rails that share one with an entry.
pub(super) fn check(tree: &Tree, description: &mut Description, ledger: &mut Ledger) {
    macro_rules! each {
        ($act:ident) => {
            $act!(sources buses branches stages machines loads capacitors magnetics conductors gate_supplies drivers controllers sensors
                signals)
        };
    }
    let mut all = Vec::new();
    macro_rules! collect {
        ($($field:ident)*) => {$( all.extend(claims(tree, stringify!($field), &description.$field)); )*};
    }
    each!(collect);
    // The name that is written first holds.
    all.sort_by_key(|claim| claim.at);
    let mut void: HashMap<&'static str, Vec<usize>> = HashMap::new();
    let mut taken: HashMap<String, (NodeId, &'static str)> = HashMap::new();
    for Claim { at, key, name, section, place } in all {
        if RESERVED.contains(&name.as_str()) {
            ledger.note("name-twice", at, "", || {
                let message =
                    format!("`{name}` is the name of a section and cannot name an entry of `{section}`");
                Problem::new("name-twice", at, message, "a reserved name").with_way_out("choose another name")
            });
        } else if let Some((other, first)) = taken.get(&name) {
            ledger.note("name-twice", at, "", || {
                let message = format!(
                    "{} names an entry of `{first}` and one of `{section}`; their names must differ",
                    shown(&name)
                );
                Problem::new("name-twice", at, message, "named again here")
                    .with_also(tree.span(*other), "named here first")
                    .with_way_out("choose another name")
            });
        } else {
            taken.insert(name, (key, section));
            continue;
        }
        void.entry(section).or_default().push(place);
    }
    let buses = void.entry("buses").or_default();
    for (place, bus) in description.buses.values().enumerate() {
        let Some(rail) = bus.read().and_then(|bus| bus.negative_rail.as_ref()) else { continue };
        let Some((other, section)) = taken.get(&rail.value) else { continue };
        let at = tree.span(rail.at);
        ledger.note("name-twice", at, "", || {
            let name = shown(&rail.value);
            let message = format!(
                "{name} names a negative rail and an entry of `{section}`; a branch could not tell them apart"
            );
            Problem::new("name-twice", at, message, "named again here")
                .with_also(tree.span(*other), "named here")
                .with_way_out("choose another name")
        });
        buses.push(place);
    }
    macro_rules! make_void {
        ($($field:ident)*) => {$(
            description.$field.make_void(void.get(stringify!($field)).map_or(&[], Vec::as_slice));
        )*};
    }
    each!(make_void);
}
