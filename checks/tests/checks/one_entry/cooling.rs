//! What stands on the coolant path.

use super::{FORWARDER, GROOMER, SHUTTLE, reviewed, said};

/// The text without each part that an element cools, with the name of that part.
fn without_each_cooled(text: &str) -> Vec<(String, String)> {
    let from = text.find("\ncooling:").expect("the section");
    let section = from..from + text[from..].find("\nduty:").expect("its end");
    let faces: Vec<usize> = text[section].match_indices(": { face_").map(|(at, _)| from + at).collect();
    let without = |at: usize| {
        let start = text[..at].rfind(|one: char| !one.is_alphanumeric() && one != '_').map_or(0, |k| k + 1);
        let end = at + text[at..].find('}').map_or(0, |k| k + 1);
        let (before, after) = (text[..start].trim_end(), text[end..].trim_start_matches([',', ' ']));
        let before = if after.trim_start().starts_with('}') { before.trim_end_matches(',') } else { before };
        (text[start..at].to_owned(), format!("{before} {after}"))
    };
    faces.into_iter().map(without).collect()
}

/// A part that no coolant passes has no temperatures, and what hangs on these is told with it. On what metal it stands is known
/// once it is mended.
#[test]
fn each_cooled_part_that_is_left_out_is_one_finding() {
    for text in [SHUTTLE, FORWARDER, GROOMER] {
        let known = said(&reviewed(text));
        let all = without_each_cooled(text);
        assert!(4 < all.len(), "{}", all.len());
        for (name, text) in all {
            let review = reviewed(&text);
            let new: Vec<_> = said(&review).difference(&known).cloned().collect();
            assert!(new.len() == 1 && new[0].1 == "no-coolant", "{name}: {new:#?}");
            assert!(review.not_judged.is_empty(), "{name}: {:#?}", review.not_judged);
            let told = review.findings.iter().find(|one| one.defect == "no-coolant").expect("a bare part");
            let waits = told.facts.iter().any(|fact| fact.starts_with("not judged for want of it:"));
            assert!(waits && review.counts.not_judged > 0, "{name}: {told:#?}");
        }
    }
}
