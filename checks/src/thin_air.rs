//! Fuses and contactors in thinner air than their ratings are stated for: it cools less, and quenches arcs less.
//!
//! One rating that ends too low is that of its part. Where several do, the altitude of the unit is what they have in common: one finding
//! for all of them.

use loadworthy_unit::plan::Conductor;
use loadworthy_unit::{Dimension, InputId, LaneId, Solved};

use crate::check::{Told, With};
use crate::collect::{Subject, Verdicts};
use crate::figure_text::value;
use crate::fuse_coordination;
use crate::review::Place;
use crate::tell::{part_at, place};
use crate::verdict::{Fault, Grade, Missing, Outcome, Verdict};

/// What is wrong.
pub(crate) const THIN_AIR: &str = "thin-air";
/// The same in words.
pub(crate) const MEANS: &str = "the unit works higher above the sea than its ratings hold";

/// Height in m up to which ratings hold that say nothing of it: IEC 60269-1, 3.1, and IEC 60947-1, 6.1.2.
const USUAL: f64 = 2000.0;

/// Places that are shown beside the first.
const MOST_PLACES: usize = 4;

/// Looks at one of them; says nothing below 2000 m.
pub(crate) fn judge(conductor: &Conductor, solved: &Solved<'_>, out: &mut Verdicts) {
    let Some((here, up_to)) = conductor.altitude else { return };
    for lane in solved.variant.lane_ids() {
        let Some(height) = solved.input(here, lane).filter(|&height| height > USUAL) else { continue };
        let outcome = match up_to.map(|up_to| solved.input(up_to, lane)) {
            Some(Some(up_to)) if height <= up_to => Outcome::Holds(None),
            Some(Some(_)) => Outcome::Fails { fault: Fault::Structural, grade: Grade::Major },
            Some(None) | None => {
                Outcome::NotJudged(vec![Missing::Key { of: conductor.part, key: "altitude" }])
            }
        };
        let fails = matches!(outcome, Outcome::Fails { .. });
        let kin = fails.then(|| common(solved, lane)).flatten();
        let subject = Subject { part: conductor.part, defect: THIN_AIR, lane: Some(lane), kin };
        out.put(solved, subject, outcome, Vec::new());
    }
}

/// Parts whose ratings end below where the unit works, each with where it says so.
fn below<'u>(solved: &Solved<'u>, lane: LaneId) -> Vec<(&'u Conductor, InputId)> {
    let all = solved.variant.plan.conductors.iter().filter_map(|one| {
        let (here, up_to) = one.altitude?;
        let (height, holds) = (solved.input(here, lane)?, solved.input(up_to?, lane)?);
        (holds < height).then_some((one, up_to?))
    });
    all.collect()
}

/// The altitude of the unit, where the ratings of several end below it.
fn common(solved: &Solved<'_>, lane: LaneId) -> Option<InputId> {
    match below(solved, lane).as_slice() {
        [(first, _), _, ..] => first.altitude.map(|(here, _)| here),
        _ => None,
    }
}

/// Contactors are told with fuses, where the altitude of the unit is the cause of both.
pub(crate) fn told_with(failing: &Verdict, solved: &Solved<'_>) -> Vec<With> {
    let is_common = failing.lane().and_then(|lane| common(solved, lane)).is_some();
    let fuses = With { check: fuse_coordination::NAME, defect: THIN_AIR, part: None };
    is_common.then_some(fuses).into_iter().collect()
}

pub(crate) fn told(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let lane = worst.lane()?;
    let conductor = solved.variant.plan.conductors.iter().find(|one| one.part == worst.part)?;
    let (here, up_to) = conductor.altitude?;
    let metres = |input| Some(value(solved.input(input, lane)?, Dimension::Length));
    let (here_text, up_to_text) = (metres(here)?, metres(up_to?)?);
    let why = "take the ratings that its maker states for that altitude, and state it as `altitude`";
    if common(solved, lane).is_some() {
        let all = below(solved, lane);
        let least =
            all.iter().filter_map(|(_, holds)| solved.input(*holds, lane)).fold(f64::INFINITY, f64::min);
        let saying = format!(
            "the unit works at {here_text}, and the ratings of {} parts hold up to {} at the least: thinner air cools them less and quenches their arcs less",
            all.len(),
            value(least, Dimension::Length)
        );
        let names: Vec<String> = all
            .iter()
            .map(|(one, holds)| {
                format!("{} up to {}", solved.variant.path(one.part), metres(*holds).unwrap_or_default())
            })
            .collect();
        let at = place(solved, here, lane, format!("at {here_text}"))?;
        let because: Vec<Place> = all
            .iter()
            .filter_map(|(_, holds)| place(solved, *holds, lane, format!("up to {}", metres(*holds)?)))
            .take(MOST_PLACES)
            .collect();
        let facts = vec![format!("ratings that end below that: {}", names.join(", "))];
        return Some(Told { because, facts, no_proposal: Some(why.to_owned()), ..Told::new(saying, at) });
    }
    let saying = format!(
        "ratings of `{}` hold up to {up_to_text}, and the unit works at {here_text}: thinner air cools it less and quenches its arc less",
        solved.variant.path(worst.part)
    );
    let at = place(solved, up_to?, lane, format!("up to {up_to_text}"));
    let at = at.unwrap_or_else(|| part_at(solved, worst.part, format!("up to {up_to_text}")));
    let because = place(solved, here, lane, format!("at {here_text}")).into_iter().collect();
    Some(Told { because, no_proposal: Some(why.to_owned()), ..Told::new(saying, at) })
}
