//! Names in the lists of permits that nothing in the unit has: what they were written for would stay a finding.

use loadworthy_language::{Description, VariantReading};
use loadworthy_source::{Problem, Tree, nearest, shown};

use crate::permit::Permit;
use crate::variant::Variant;

/// A problem for every name of an `only` that is no part of any variant, holds none, and is no entry that may become one.
pub(crate) fn problems(
    (tree, read): (&Tree, &[VariantReading]),
    permits: &[Permit],
    variants: &[Variant],
) -> Vec<Problem> {
    let paths = || variants.iter().flat_map(|one| one.tables.parts()).map(|part| part.path.as_str());
    let is_known = |name: &str| {
        let leads =
            |path: &str| path.strip_prefix(name).is_some_and(|rest| rest.is_empty() || rest.starts_with('.'));
        // What could not be read may have been called so.
        variants.iter().any(|variant| !variant.unread.is_empty())
            || paths().any(leads)
            || read.iter().any(|variant| is_entry(&variant.description, name))
    };
    let listed = permits.iter().filter_map(|permit| permit.only.as_ref()).flat_map(|only| &only.value);
    let unknown = listed.filter(|name| !is_known(&name.value)).map(|name| {
        let at = tree.span(name.at);
        let message = format!("no part of the unit is named {}, which a permit lists", shown(&name.value));
        let problem = Problem::new("unknown-name", at, message, "expected the name of a part");
        match nearest(&name.value, paths()) {
            Some(near) => problem.with_way_out(format!("did you mean `{near}`?")),
            None => problem,
        }
    });
    unknown.collect()
}

/// Whether an entry that findings name is called so, though nothing asks for it yet.
fn is_entry(all: &Description, name: &str) -> bool {
    all.sensors.contains_key(name)
        || all.drivers.contains_key(name)
        || all.controllers.contains_key(name)
        || all.gate_supplies.contains_key(name)
        || all.signals.contains_key(name)
        || all.capacitors.contains_key(name)
        || all.conductors.contains_key(name)
}
