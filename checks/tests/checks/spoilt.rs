//! Whatever cannot be read, nothing holds with more room than it has: what is not known is never taken for none.

use std::collections::BTreeMap;

use loadworthy_checks::review::judged;
use loadworthy_checks::verdict::Outcome;
use loadworthy_unit::Unit;

use crate::descriptions::{built, changed, holding, unit};

/// Room that has not moved: a part of what is allowed, or kelvins.
const UNMOVED: f64 = 1e-3;

/// What each comparison that holds leaves, the most of each kind; of what is no comparison that it holds.
fn room(unit: &Unit) -> BTreeMap<String, f64> {
    let review = judged(unit);
    let mut all: BTreeMap<String, f64> = BTreeMap::new();
    for (variant, verdicts) in unit.variants.iter().zip(&review.verdicts) {
        for verdict in verdicts {
            let duty = verdict.duty().map_or("always", |duty| variant.duties[duty.index()].name.as_str());
            let about = format!(
                "{:?} {} {} of {}, {duty}",
                variant.name,
                verdict.check,
                verdict.defect,
                variant.path(verdict.part)
            );
            let (about, room) = match &verdict.outcome {
                Outcome::Holds(Some(compared)) => {
                    (format!("{about}: {}", variant.tables.figure_path(compared.carried)), compared.headroom)
                }
                Outcome::Fails { .. } => (about, f64::NEG_INFINITY),
                _ => continue,
            };
            let most = all.entry(about).or_insert(f64::NEG_INFINITY);
            *most = most.max(room);
        }
    }
    all
}

/// Words of a text that are keys or values, each with where it begins.
fn words(text: &str) -> Vec<(usize, &str)> {
    let is_part = |c: char| c.is_ascii_alphanumeric() || matches!(c, '_' | '.');
    let mut all = Vec::new();
    let mut from = 0;
    for line in text.split_inclusive('\n') {
        let read = line.split('#').next().unwrap_or_default();
        let mut at = 0;
        while let Some(begins) = read[at..].find(is_part).map(|place| at + place) {
            let end = read[begins..].find(|c: char| !is_part(c)).map_or(read.len(), |end| begins + end);
            all.push((from + begins, &read[begins..end]));
            at = end;
        }
        from += line.len();
    }
    all
}

/// What holds of a spoilt text with more room than the whole one leaves.
fn gained(before: &BTreeMap<String, f64>, spoilt: &str) -> Vec<String> {
    let (unit, problems) = built(spoilt, &[]);
    if problems.is_empty() {
        return Vec::new();
    }
    let after = room(&unit.taken_as_meant());
    let gained = after.iter().filter(|(about, room)| {
        let known = before.get(*about).or_else(|| before.get(about.split(": ").next().unwrap_or_default()));
        known.is_some_and(|known| *known + UNMOVED * (1.0 + known.abs().min(1e3)) < **room)
    });
    gained.map(|(about, room)| format!("{about} leaves {room}")).collect()
}

#[test]
fn nothing_that_cannot_be_read_gives_room() {
    let texts = [
        (include_str!("../../../examples/vineyard-carrier.yaml"), 11),
        (include_str!("../../../examples/snow-groomer.yaml"), 43),
        (include_str!("../../../examples/harbour-shuttle.yaml"), 43),
    ];
    let mut tried = 0;
    let mut wrong = Vec::new();
    for (text, step) in texts {
        let before = room(&unit(text));
        let first = text.find("surroundings:").expect("the surroundings");
        for (at, word) in words(text).into_iter().filter(|(at, _)| *at > first).step_by(step) {
            let spoilt = format!("{}qzxqz{}", &text[..at], &text[at + word.len()..]);
            let line = text[..at].matches('\n').count() + 1;
            let gained = gained(&before, &spoilt);
            wrong.extend(
                gained.into_iter().map(|gained| format!("without `{word}` in line {line}: {gained}")),
            );
            tried += 1;
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
    assert!(tried > 150, "{tried}");
}

/// An impulse that cannot be read is no small one: what the other side brings is not the largest that is known.
#[test]
fn an_unread_impulse_leaves_its_barriers_open() {
    let text = include_str!("../../../examples/harbour-shuttle.yaml");
    let before = room(&unit(text));
    let wrong = gained(&before, &changed(text, "impulse: 4000 V,", "impulse: 4000 VV,"));
    assert!(wrong.is_empty(), "{wrong:#?}");
}

/// A bank that cannot be read is there: of what it adds nothing is known.
#[test]
fn an_unread_bank_is_not_none() {
    let text = include_str!("../../../examples/snow-groomer.yaml");
    let before = room(&unit(text));
    for slip in [
        ("link_bank: { kind: bank", "link_bank: { kind: qzx"),
        ("link_bank: { kind: bank, bus: link", "link_bank: { kind: bank, bus: qzx"),
    ] {
        let wrong = gained(&before, &changed(text, slip.0, slip.1));
        assert!(wrong.is_empty(), "{slip:?}: {wrong:#?}");
    }
}

/// An item of the policy that is like none leaves open what it may have been, and nothing else.
#[test]
fn what_an_unknown_item_of_the_policy_may_be_is_open() {
    let text = include_str!("../../../examples/harbour-shuttle.yaml");
    let strict = changed(text, "junction: { keep: 25 K }", "junction: { keep: 90 K }");
    let fails = |unit: &Unit| {
        let review = judged(unit);
        let of = |check: &str| {
            let all = review.verdicts.iter().flatten().filter(|one| one.check == check);
            let holds = all.clone().filter(|one| matches!(one.outcome, Outcome::Holds(_))).count();
            (holds, all.filter(|one| one.fails()).count())
        };
        (of("junction-temperature"), of("dead-time"))
    };
    let ((_, hot), dead_time) = fails(&unit(&strict));
    assert!(hot > 0);
    let (spoilt, problems) = built(&changed(&strict, "junction: { keep", "qzx: { keep"), &[]);
    assert_eq!(problems.len(), 1);
    let ((holds, _), others) = fails(&spoilt);
    assert_eq!((holds, others), (0, dead_time));
}

/// A variant that changes something under a name that is none does not hold as what it changes.
#[test]
fn a_variant_that_misses_what_it_changes_holds_nothing() {
    let text = holding("fuse-coordination");
    for (patch, may_hold) in [
        ("buses: { link: { highest: 420 V } }", true),
        ("qzx: { link: { highest: 420 V } }", false),
        ("sources: { qzx: { kind: battery, internal: 1 } }", false),
        ("sources: { qzx: null }", false),
    ] {
        let text = format!("{text}\nvariants: {{ standard: {{}}, other: {{ {patch} }} }}\n");
        let (unit, problems) = built(&text, &[]);
        assert_eq!(problems.is_empty(), may_hold, "{patch}: {problems:#?}");
        let review = judged(&unit);
        let holds = |v: usize| review.verdicts[v].iter().any(|one| matches!(one.outcome, Outcome::Holds(_)));
        assert_eq!((holds(0), holds(1)), (true, may_hold), "{patch}");
    }
}
