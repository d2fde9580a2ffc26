//! While a value is being written it cannot be read. What does not hang on it is judged as before, and what does waits:
//! nothing takes a default for it, or its absence.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

use loadworthy_checks::verdict::{Outcome, When};
use loadworthy_checks::{Review, review};
use loadworthy_unit::Unit;

use crate::descriptions::{changed, holding, trencher, unit, unit_despite_problems};

/// Where numbers with units, or with a fraction, stand as values of keys.
fn numbers(text: &str) -> Vec<Range<usize>> {
    let mut places = Vec::new();
    for (colon, _) in text.match_indices(": ") {
        let line = text[..colon].rsplit('\n').next().unwrap_or_default();
        let from = colon + 2;
        let rest = &text[from..];
        let value = rest.split([',', '}', ']', '#', '\n']).next().unwrap_or_default().trim_end();
        let is_count = value.bytes().all(|byte| byte.is_ascii_digit());
        if !line.contains('#') && value.starts_with(|c: char| c.is_ascii_digit() || c == '-') && !is_count {
            places.push(from..from + value.len());
        }
    }
    places
}

/// Every verdict by what it is about, with the number that is held against its limit.
fn outcomes(unit: &Unit, review: &Review) -> BTreeMap<String, Vec<String>> {
    let mut all: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for (variant, verdicts) in unit.variants.iter().zip(&review.verdicts) {
        for verdict in verdicts {
            let duty = match verdict.when {
                When::In { duty, .. } => variant.duties[duty.index()].name.as_str(),
                When::Always | When::Throughout { .. } => "always",
            };
            let about =
                format!("{} {} of {}, {duty}", verdict.check, verdict.defect, variant.path(verdict.part));
            let outcome = match &verdict.outcome {
                Outcome::NotJudged(_) => continue,
                Outcome::Holds(Some(compared)) => {
                    format!("{:.9e} within {:.9e}", compared.carried_value, compared.allowed)
                }
                Outcome::Holds(None) => "holds".to_owned(),
                Outcome::Fails { .. } => "fails".to_owned(),
            };
            all.entry(about).or_default().push(outcome);
        }
    }
    all
}

/// What a slip in a number brings that was not so before.
fn brought(text: &str, at: &Range<usize>, before: &BTreeMap<String, Vec<String>>) -> Vec<String> {
    let slip = format!("{}7 qq{}", &text[..at.start], &text[at.end..]);
    let unit = unit_despite_problems(&slip);
    let mut new = Vec::new();
    // Other keys cost their entry, and with it what the unit is.
    if unit.variants.iter().all(|variant| variant.gaps.is_empty()) {
        return new;
    }
    for (about, outcomes) in outcomes(&unit, &review(&unit)) {
        // Where the worst duty point cannot be judged, the next one is.
        let is_next = !before.contains_key(&about) && !about.ends_with(", always");
        let known = before.get(&about).map(Vec::as_slice).unwrap_or_default();
        // What stands as much as it is known to carry in service stands less where one duty point is not known, and may hold all the
        // same.
        let parts = |one: &str| {
            let (carried, allowed) = one.split_once(" within ")?;
            Some((carried.to_owned(), allowed.parse::<f64>().ok()?))
        };
        let is_less = |one: &String| {
            let less = |(carried, allowed): (String, f64)| {
                known
                    .iter()
                    .filter_map(|known| parts(known))
                    .any(|known| known.0 == carried && allowed < known.1)
            };
            about.contains("charging-current") && parts(one).is_some_and(less)
        };
        let changed = outcomes.into_iter().filter(|one| !is_next && !known.contains(one) && !is_less(one));
        new.extend(changed.map(|one| format!("{about}: {one}, was {known:?}")));
    }
    new
}

/// The key before a place.
fn key<'t>(text: &'t str, at: &Range<usize>) -> &'t str {
    let before = text[..at.start].trim_end_matches([' ', ':']);
    before.rsplit(|c: char| !c.is_ascii_alphanumeric() && c != '_').next().unwrap_or_default()
}

/// What slips at some places bring, by the line.
fn told(text: &str, places: &[Range<usize>], before: &BTreeMap<String, Vec<String>>) -> Vec<String> {
    let line =
        |at: &Range<usize>| text[..at.start].rsplit('\n').next().unwrap_or_default().trim_start().to_owned();
    let of = |at: &Range<usize>| {
        let new = brought(text, at, before);
        new.into_iter().map(|new| format!("{}{}: {new}", line(at), &text[at.clone()])).collect::<Vec<_>>()
    };
    places.iter().flat_map(of).collect()
}

/// Every number of a unit of all kinds of stages, and of others the first of each key that was not tried before.
#[test]
fn a_slip_in_a_number_changes_no_verdict_but_to_not_judged() {
    let texts = [
        trencher(),
        include_str!("../../../examples/harbour-shuttle.yaml"),
        include_str!("../../../examples/timber-forwarder.yaml"),
        include_str!("../../../examples/snow-groomer.yaml"),
        include_str!("../../../examples/vineyard-carrier.yaml"),
        include_str!("../../../examples/peat-harvester.yaml"),
    ];
    let mut tried = BTreeSet::new();
    let mut wrong = Vec::new();
    for text in texts {
        let whole = unit(text);
        let before = outcomes(&whole, &review(&whole));
        let is_first = tried.is_empty();
        let mut places = numbers(text);
        places.retain(|at| tried.insert(key(text, at)) || is_first);
        let (some, others) = places.split_at(places.len() / 2);
        let told = std::thread::scope(|threads| {
            let others = threads.spawn(|| told(text, others, &before));
            let mut all = told(text, some, &before);
            all.extend(others.join().expect("an answer"));
            all
        });
        wrong.extend(told);
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
    assert!(tried.len() > 100, "{tried:?}");
}

/// What the rest of an entry says counts, and what waits for the number says why.
#[test]
fn the_rest_of_an_entry_counts() {
    let text = holding("fuse-coordination");
    let whole = unit(text);
    let before = review(&whole).counts;
    let unit = unit_despite_problems(&changed(text, "clearing: ", "clearing: about "));
    let review = review(&unit);
    assert_eq!(review.counts.fail, 0);
    let [waits] = review.not_judged.as_slice() else { panic!("{:#?}", review.not_judged) };
    assert_eq!(waits.missing, "conductors.pack_fuse.clearing could not be read");
    assert_eq!(review.counts.hold + review.counts.not_judged, before.hold);
    assert!(review.counts.not_judged < before.hold / 4, "{:?} of {before:?}", review.counts);
}

/// A key that is spelt wrongly is not taken for one that is left out.
#[test]
fn a_misspelt_key_is_waited_for_by_its_name() {
    let text = holding("fuse-coordination");
    let unit = unit_despite_problems(&changed(text, "clearing: ", "clearng: "));
    let review = review(&unit);
    assert_eq!(review.counts.fail, 0);
    let [waits] = review.not_judged.as_slice() else { panic!("{:#?}", review.not_judged) };
    assert_eq!(waits.missing, "conductors.pack_fuse.clearing could not be read");
}
