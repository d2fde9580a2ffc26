//! Entries that are one text, by an anchor and its aliases, are one size.

use loadworthy_checks::list::policy_vocabulary;
use loadworthy_checks::size::{Sizable, of_variant};
use loadworthy_language::{Input, read};
use loadworthy_unit::Unit;
use loadworthy_unit::stock::Stock;

use crate::descriptions::{Parts, changed, holding};

/// What may be sized of the bars of a description.
fn bars(text: &str) -> Vec<Sizable> {
    let vocabulary = policy_vocabulary();
    let (bytes, written, overrides) = (text.as_bytes(), &[], &[]);
    let input = Input { name: "unit.yaml", bytes, written, overrides, vocabulary: &vocabulary };
    let reading = read(input, &mut Parts);
    let (unit, problems) = Unit::build(&reading, &vocabulary);
    assert!(reading.problems.is_empty() && problems.is_empty(), "{:?} {problems:?}", reading.problems);
    let (sizable, _) = of_variant(&unit.variants[0], &Stock::of(&reading.tree, reading.base));
    sizable.into_iter().filter(|one| one.part.contains("bar") && one.what == "width").collect()
}

#[test]
fn two_bars_of_one_text_are_one_size() {
    let two =
        changed(holding("conductor-loading"), "through: [bridge_bar]", "through: [bridge_bar, other_bar]");
    let anchored = changed(&two, "  bridge_bar:\n    kind", "  bridge_bar: &bar\n    kind");
    let twins = bars(&changed(&anchored, "\nstages:\n", "  other_bar: *bar\n\nstages:\n"));
    let [one] = twins.as_slice() else { panic!("{twins:#?}") };
    assert_eq!(one.paths, ["conductors.bridge_bar.width", "conductors.other_bar.width"]);
    assert_eq!(one.near, ["bridge_bar", "other_bar"]);
    let written = one.settings(0.032);
    assert!(written.iter().all(|(_, size)| size == "32 mm") && written.len() == 2, "{written:?}");
    // Two texts are two sizes, whatever they say.
    let bar = two[two.find("  bridge_bar:\n").expect("a bar")..two.find("\nstages:").expect("an end")]
        .replace("bridge_bar", "other_bar");
    assert_eq!(bars(&changed(&two, "\nstages:\n", &format!("{bar}\nstages:\n"))).len(), 2);
}
