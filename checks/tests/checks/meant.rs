//! A word that no part knows and that was clearly meant for another hides no finding elsewhere, and nothing holds by it alone.

use std::collections::{BTreeMap, BTreeSet};

use loadworthy_checks::remarks::Remark;
use loadworthy_checks::verdict::{Missing, Outcome, Verdict};
use loadworthy_checks::{Review, review};
use loadworthy_unit::Unit;

use crate::descriptions::{built, changed, unit, unit_despite_problems};

/// What each comparison comes to.
fn outcomes<'r>(unit: &'r Unit, review: &'r Review) -> BTreeMap<String, Vec<&'r Verdict>> {
    let mut all: BTreeMap<String, Vec<&Verdict>> = BTreeMap::new();
    for (variant, verdicts) in unit.variants.iter().zip(&review.verdicts) {
        for verdict in verdicts {
            let duty = verdict.duty().map_or("always", |duty| variant.duties[duty.index()].name.as_str());
            let (path, of) = (variant.path(verdict.part), variant.name.as_deref().unwrap_or_default());
            let about = format!("{} {} of {path} in {duty} of {of}", verdict.check, verdict.defect);
            all.entry(about).or_default().push(verdict);
        }
    }
    all
}

/// A unit of which a bus is switched off far too late, which has nothing to do with most of its words.
fn slow_trip() -> String {
    changed(include_str!("../../../examples/harbour-shuttle.yaml"), "delay: 25 us", "delay: 25 ms")
}

fn holds(verdict: &Verdict) -> bool {
    matches!(verdict.outcome, Outcome::Holds(_))
}

/// Words of a text, the first place of each: where it begins, and the word.
fn words(text: &str) -> Vec<(usize, &str)> {
    let mut known = BTreeSet::new();
    let mut all = Vec::new();
    let mut from = 0;
    for line in text.split_inclusive('\n') {
        let read = line.split('#').next().unwrap_or_default();
        let is_part = |c: char| c.is_ascii_alphabetic() || c == '_';
        for (place, word) in read.match_indices(is_part).filter_map(|(place, _)| {
            let begins = !read[..place].ends_with(|c: char| is_part(c) || c.is_ascii_digit());
            let end = read[place..].find(|c: char| !is_part(c)).map_or(read.len(), |end| place + end);
            begins.then(|| (place, &read[place..end]))
        }) {
            if word.len() >= 5 && known.insert(word) {
                all.push((from + place, word));
            }
        }
        from += line.len();
    }
    all
}

/// The text with two letters in the middle of a word exchanged; nothing where they are the same.
fn slipped(text: &str, (at, word): (usize, &str)) -> Option<String> {
    let middle = word.len() / 2;
    let (one, other) = (&word[middle - 1..middle], &word[middle..=middle]);
    let slip = format!("{}{other}{one}{}", &word[..middle - 1], &word[middle + 1..]);
    (one != other).then(|| format!("{}{slip}{}", &text[..at], &text[at + word.len()..]))
}

#[test]
fn a_slip_in_a_word_lets_nothing_hold_that_fails_and_hides_no_finding() {
    let carrier = include_str!("../../../examples/vineyard-carrier.yaml");
    let (mut taken, mut tried) = (0, 0);
    for (text, step) in [(slow_trip().as_str(), 3), (carrier, 3)] {
        let whole = unit(text);
        let reviewed = review(&whole);
        let before = outcomes(&whole, &reviewed);
        assert!(reviewed.counts.fail > 0);
        for place in words(text).into_iter().step_by(step) {
            let Some(text) = slipped(text, place) else { continue };
            let (unit, problems) = built(&text, &[]);
            if problems.is_empty() || unit.variants.is_empty() {
                continue;
            }
            let unit = unit.taken_as_meant();
            tried += 1;
            let is_taken = unit.written.is_some();
            taken += usize::from(is_taken);
            let reviewed = review(&unit);
            let after = outcomes(&unit, &reviewed);
            let fails = |about: &str| before.get(about).is_some_and(|all| all.iter().all(|one| one.fails()));
            let wrong: Vec<&String> = after
                .iter()
                .filter(|(about, all)| all.iter().any(|one| holds(one)) && fails(about))
                .map(|(about, _)| about)
                .collect();
            assert!(wrong.is_empty(), "{place:?}: {wrong:#?}");
            if is_taken {
                let what = |of: &Review| {
                    let failing = of.verdicts.iter().flatten().filter(|one| one.fails());
                    failing.map(|one| (one.check, one.defect)).collect::<BTreeSet<_>>()
                };
                let (then, now) = (what(&review(&whole)), what(&reviewed));
                assert_eq!(then, now, "{place:?}");
            }
        }
    }
    assert!(tried > 60 && taken * 10 > tried * 8, "{taken} of {tried}");
}

/// What fails as the word is meant says so, and what would hold waits for the word; the rest is judged as ever.
#[test]
fn what_rests_on_a_word_says_so() {
    let written = unit_despite_problems(&slow_trip().replacen("kind: busbar", "kind: bubsar", 1));
    let alone = review(&written);
    let unit = written.taken_as_meant();
    let review = review(&unit);
    let fails = |review: &Review| review.verdicts.iter().flatten().filter(|one| one.fails()).count();
    assert!(fails(&alone) < fails(&review), "{:?} and {:?}", alone.counts, review.counts);
    // As many hold as without the word, or fewer: those that fail with it.
    assert!(review.counts.hold <= alone.counts.hold);
    let all = || review.verdicts.iter().flatten();
    let waits = all().filter(|one| one.outcome == Outcome::NotJudged(vec![Missing::Meant])).count();
    assert!(waits > 0);
    let told: Vec<usize> = review
        .not_judged
        .iter()
        .filter(|one| one.missing.contains("say to write"))
        .map(|one| one.verdicts)
        .collect();
    assert_eq!(told, [waits]);
    let counted = all().filter(|one| matches!(one.outcome, Outcome::NotJudged(_))).count();
    assert_eq!(review.counts.not_judged, counted);
    let loss = review.findings.iter().find(|one| one.check == "loss-of-load").expect("a finding");
    assert!(loss.estimate.contains(&Remark::Meant.to_string()), "{:?}", loss.estimate);
}

/// A section under a name that is none may be any section that is not there: nothing holds by its absence.
#[test]
fn nothing_holds_by_the_absence_of_a_section_under_a_strange_name() {
    for text in [slow_trip(), include_str!("../../../examples/vineyard-carrier.yaml").to_owned()] {
        let whole = unit(&text);
        let before_review = review(&whole);
        let before = outcomes(&whole, &before_review);
        let sections = text.lines().filter_map(|line| {
            line.split_once(':').map(|(name, _)| name).filter(|name| name.starts_with(char::is_alphabetic))
        });
        let mut tried = 0;
        for section in sections.filter(|name| !["edition", "unit", "parts"].contains(name)) {
            let strange = text.replacen(&format!("\n{section}:"), "\nqzx:", 1);
            let (unit, problems) = built(&strange, &[]);
            assert!(!problems.is_empty(), "{section}");
            tried += 1;
            let reviewed = review(&unit);
            let after = outcomes(&unit, &reviewed);
            let fails = |about: &str| before.get(about).is_some_and(|all| all.iter().all(|one| one.fails()));
            let wrong = after.iter().filter(|(about, all)| all.iter().any(|one| holds(one)) && fails(about));
            let wrong: Vec<&String> = wrong.map(|(about, _)| about).collect();
            assert!(wrong.is_empty(), "{section}: {wrong:#?}");
        }
        assert!(tried > 10, "{tried}");
    }
}
