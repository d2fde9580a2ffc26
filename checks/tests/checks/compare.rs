//! What a change of a unit does to its findings, its headrooms, and what is not judged.

use jiff::civil::date;
use loadworthy_checks::Review;
use loadworthy_checks::compare::{Effects, HeadroomTurn, Side, Turn, compare, together};
use loadworthy_checks::review::{Finding, findings_on, review_on};
use loadworthy_unit::Unit;
use proptest::prelude::*;

use crate::descriptions::{changed, failing, holding, repeatable, unit};

/// A unit with its review on a day.
struct Reviewed {
    unit: Unit,
    review: Review,
}

fn reviewed(text: &str) -> Reviewed {
    let unit = unit(text);
    let review = review_on(&unit, date(2027, 1, 15));
    Reviewed { unit, review }
}

impl Reviewed {
    fn side(&self) -> Side<'_> {
        Side { unit: &self.unit, review: &self.review }
    }

    fn to(&self, new: &Self) -> Effects {
        compare(self.side(), new.side(), &[])
    }
}

fn between(old: &str, new: &str) -> Effects {
    reviewed(old).to(&reviewed(new))
}

/// Turn and defect of each finding that turned.
fn turned(effects: &Effects, old: &Reviewed, new: &Reviewed) -> Vec<(Turn, &'static str)> {
    let moved = effects.findings.iter().filter(|one| one.turn != Turn::Unchanged);
    let defect = |one: &loadworthy_checks::compare::FindingChange| {
        let finding =
            one.new.and_then(|at| at.of(&new.review)).or_else(|| one.old.and_then(|at| at.of(&old.review)));
        finding.map_or("", |finding| finding.defect)
    };
    moved.map(|one| (one.turn, defect(one))).collect()
}

/// Turns of what fails in a bridge that does not reach its voltage, at two voltages that are asked.
fn reach(old: &str, new: &str) -> Vec<(Turn, &'static str)> {
    let at = |voltage: &str| reviewed(&changed(failing("output-reach"), "182 V rms", voltage));
    let (old, new) = (at(old), at(new));
    turned(&old.to(&new), &old, &new)
}

#[test]
fn findings_alone_are_those_of_a_review_without_what_would_hold() {
    for check in ["output-reach", "junction-temperature", "unused-parts"] {
        let whole = reviewed(failing(check));
        let alone = findings_on(&whole.unit, Some(date(2027, 1, 15)));
        let bare = |review: &Review| {
            let bare = |one: &Finding| Finding { proposals: Vec::new(), no_proposal: None, ..one.clone() };
            let findings = review.findings.iter().map(bare).collect::<Vec<_>>();
            format!("{findings:?} {:?} {:?} {:?}", review.verdicts, review.counts, review.not_judged)
        };
        assert!(!alone.findings.is_empty() && alone.assumed.is_empty());
        assert!(alone.findings.iter().all(|one| one.proposals.is_empty() && one.no_proposal.is_none()));
        assert_eq!(bare(&alone), bare(&whole.review));
        let side = Side { unit: &whole.unit, review: &alone };
        assert!(compare(side, whole.side(), &[]).is_none());
    }
}

#[test]
fn a_finding_is_new_worse_better_or_gone() {
    assert_eq!(reach("182 V rms", "190 V rms"), [(Turn::Worse, "beyond-linear")]);
    assert_eq!(reach("190 V rms", "182 V rms"), [(Turn::Better, "beyond-linear")]);
    let (fails, holds) = (reviewed(failing("output-reach")), reviewed(holding("output-reach")));
    assert_eq!(turned(&fails.to(&holds), &fails, &holds), [(Turn::Gone, "beyond-linear")]);
    let back = holds.to(&fails);
    assert_eq!(turned(&back, &holds, &fails), [(Turn::New, "beyond-linear")]);
    let new = back.findings.first().expect("the new one");
    assert!(new.counts() && new.old.is_none());
}

#[test]
fn what_moves_by_less_than_a_rounding_is_unchanged() {
    // The index moves with the voltage: by 0.05 %, then by 0.2 %.
    assert_eq!(reach("182 V rms", "182.09 V rms"), []);
    assert_eq!(reach("182 V rms", "182.4 V rms"), [(Turn::Worse, "beyond-linear")]);
    let effects =
        between(failing("output-reach"), &changed(failing("output-reach"), "182 V rms", "182.09 V rms"));
    assert!(effects.is_none(), "{:?}", effects.headrooms);
    assert!(effects.headrooms_unchanged > 20);
}

#[test]
fn lines_and_names_do_not_matter() {
    let text = failing("output-reach");
    let moved = format!("# a line\n\n# another\n{text}");
    assert!(between(text, &moved).is_none());
    // The part has another name, and the caller knows it.
    let (old, new) = (reviewed(text), reviewed(&text.replace("wheel_bridge", "axle_bridge")));
    let effects = compare(old.side(), new.side(), &[("wheel_bridge", "axle_bridge")]);
    assert!(effects.is_none(), "{effects:?}");
    assert_eq!(effects.count(Turn::Unchanged), old.review.findings.len());
    // Without that it is another part.
    let effects = old.to(&new);
    assert_eq!((effects.count(Turn::New), effects.count(Turn::Gone)), (1, 1));
    assert!(effects.count_headrooms(HeadroomTurn::New) > 0);
    assert_eq!(effects.count_headrooms(HeadroomTurn::New), effects.count_headrooms(HeadroomTurn::Gone));
}

#[test]
fn headrooms_are_told_with_both_worst_points_and_the_largest_loss_first() {
    let (old, new) = (
        reviewed(failing("output-reach")),
        reviewed(&changed(failing("output-reach"), "inlet: 60 degC", "inlet: 80 degC")),
    );
    let effects = old.to(&new);
    let fell = effects.headrooms.iter().filter(|one| one.turn == HeadroomTurn::Fell).collect::<Vec<_>>();
    assert!(fell.windows(2).all(|pair| pair[0].loss >= pair[1].loss));
    let junction = fell.iter().find(|one| one.check == "junction-temperature").expect("it got hotter");
    let (before, after) = (junction.old.as_ref().expect("before"), junction.new.as_ref().expect("after"));
    assert_eq!((before.duty.as_deref(), after.figure), (Some("road_speed"), "junction_temperature"));
    // Twenty kelvin warmer, and a little more for the losses that grow with it.
    let lost = before.comparison.headroom - after.comparison.headroom;
    assert!((20.0..23.0).contains(&lost) && (junction.loss - lost / 100.0).abs() < 1e-12, "{lost}");
    // Legs and sides of a bridge say the same, and are told once.
    let junctions = |one: &loadworthy_checks::compare::HeadroomChange| one.check == "junction-temperature";
    let alone = fell.iter().filter(|one| junctions(one)).count();
    let told = together(&effects.headrooms).into_iter().filter(|(one, _)| junctions(one)).collect::<Vec<_>>();
    assert_eq!((alone, told.len()), (12, 2), "transistors and diodes of six positions");
    assert_eq!(told.iter().map(|(_, more)| more).sum::<usize>(), 10);
    assert!(effects.findings.iter().all(|one| one.turn == Turn::Unchanged));
}

#[test]
fn what_is_missing_now_is_told_and_is_no_gain() {
    let text = failing("output-reach");
    let silent = changed(
        text,
        ", repetitive_peak: 600 A }\n      junction_limit: 175 degC\n      on_state:\n        - { junction: 25 degC, current: [75 A, 300 A], voltage: [1.00 V",
        " }\n      junction_limit: 175 degC\n      on_state:\n        - { junction: 25 degC, current: [75 A, 300 A], voltage: [1.00 V",
    );
    let effects = between(text, &silent);
    let missing = effects.unjudged.iter().filter(|one| one.is_new).collect::<Vec<_>>();
    assert_eq!(missing.len(), 1, "{missing:?}");
    assert_eq!(missing[0].paths, ["devices.hb650_300.transistor.current.repetitive_peak"]);
    assert!(effects.count_headrooms(HeadroomTurn::NoLongerJudged) > 0);
    assert_eq!(effects.count_headrooms(HeadroomTurn::Rose), 0);
    let back = between(&silent, text);
    assert!(back.count_headrooms(HeadroomTurn::NowJudged) > 0);
    assert!(back.unjudged.iter().all(|one| !one.is_new) && back.unjudged.len() == 1);
    assert_eq!(back.count_headrooms(HeadroomTurn::NoLongerJudged), 0);
}

#[test]
fn permits_turn_findings_as_well() {
    let text = failing("output-reach");
    let permit = "permits:\n  - { check: output-reach, part: wheel_bridge, up_to: 120 %, reason: seldom, accepted_by: team, until: 2027-03-31 }\n";
    let (open, accepted) = (reviewed(text), reviewed(&format!("{text}\n{permit}")));
    assert_eq!(turned(&open.to(&accepted), &open, &accepted), [(Turn::NowAccepted, "beyond-linear")]);
    let back = accepted.to(&open);
    assert_eq!(turned(&back, &accepted, &open), [(Turn::NoLongerAccepted, "beyond-linear")]);
    assert!(back.findings.iter().any(loadworthy_checks::compare::FindingChange::counts));
    // What is accepted may get worse within its permit without counting.
    let worse = reviewed(&format!("{}\n{permit}", changed(text, "182 V rms", "184 V rms")));
    let effects = accepted.to(&worse);
    assert_eq!(turned(&effects, &accepted, &worse), [(Turn::Worse, "beyond-linear")]);
    assert!(!effects.findings.iter().any(loadworthy_checks::compare::FindingChange::counts));
    let fresh = reviewed(holding("output-reach")).to(&accepted);
    assert_eq!((fresh.count(Turn::NewAndAccepted), fresh.count(Turn::New)), (1, 0));
}

/// The turn as it is seen from the other side.
fn mirror(turn: Turn, accepted: bool) -> Turn {
    match turn {
        Turn::New | Turn::NewAndAccepted => Turn::Gone,
        Turn::Gone if accepted => Turn::NewAndAccepted,
        Turn::Gone | Turn::NoLongerJudged => Turn::New,
        Turn::Worse => Turn::Better,
        Turn::Better => Turn::Worse,
        Turn::NowAccepted => Turn::NoLongerAccepted,
        Turn::NoLongerAccepted => Turn::NowAccepted,
        Turn::Unchanged => Turn::Unchanged,
    }
}

proptest! {
    #![proptest_config(repeatable(24))]

    #[test]
    fn a_unit_does_not_differ_from_itself_and_a_change_mirrors_the_change_back(
        voltage in prop::array::uniform2(150.0..210.0_f64),
        inlet in prop::array::uniform2(20.0..90.0_f64),
        frequency in prop::array::uniform2(3.0..20.0_f64),
    ) {
        let at = |place: usize| {
            let text = changed(failing("output-reach"), "182 V rms", &format!("{} V rms", voltage[place]));
            let text = changed(&text, "inlet: 60 degC", &format!("inlet: {} degC", inlet[place]));
            reviewed(&changed(&text, "frequency: 8 kHz", &format!("frequency: {} kHz", frequency[place])))
        };
        let (one, other) = (at(0), at(1));
        prop_assert!(one.to(&one).is_none());
        let (there, back) = (one.to(&other), other.to(&one));
        let sorted = |mut turns: Vec<(Turn, _, _)>| { turns.sort(); turns };
        let place = |at: Option<loadworthy_checks::compare::FindingAt>| at.map(|at| (at.accepted, at.place));
        let mirrored = there.findings.iter().map(|one| {
            let accepted = one.old.is_some_and(|at| at.accepted);
            (mirror(one.turn, accepted), place(one.new), place(one.old))
        });
        let plain = back.findings.iter().map(|one| (one.turn, place(one.old), place(one.new)));
        prop_assert_eq!(sorted(mirrored.collect()), sorted(plain.collect()));
        prop_assert_eq!(there.headrooms_unchanged, back.headrooms_unchanged);
        for (turn, other) in [(HeadroomTurn::Fell, HeadroomTurn::Rose), (HeadroomTurn::New, HeadroomTurn::Gone)] {
            prop_assert_eq!(there.count_headrooms(turn), back.count_headrooms(other));
        }
    }
}
