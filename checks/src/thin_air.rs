//! Fuses and contactors in thinner air than their ratings are stated for: it cools less, and quenches arcs less.

use loadworthy_unit::plan::Conductor;
use loadworthy_unit::{Dimension, Solved};

use crate::check::Told;
use crate::collect::{Subject, Verdicts};
use crate::figure_text::value;
use crate::tell::{part_at, place};
use crate::verdict::{Fault, Grade, Missing, Outcome, Verdict};

/// What is wrong.
pub(crate) const THIN_AIR: &str = "thin-air";
/// The same in words.
pub(crate) const MEANS: &str = "the unit works higher above the sea than its ratings hold";

/// Height in m up to which ratings hold that say nothing of it: IEC 60269-1, 3.1, and IEC 60947-1, 6.1.2.
const USUAL: f64 = 2000.0;

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
        let subject = Subject { part: conductor.part, defect: THIN_AIR, lane: Some(lane), kin: None };
        out.put(solved, subject, outcome, Vec::new());
    }
}

pub(crate) fn told(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let lane = worst.lane()?;
    let conductor = solved.variant.plan.conductors.iter().find(|one| one.part == worst.part)?;
    let (here, up_to) = conductor.altitude?;
    let metres = |input| Some(value(solved.input(input, lane)?, Dimension::Length));
    let (here_text, up_to_text) = (metres(here)?, metres(up_to?)?);
    let saying = format!(
        "ratings of `{}` hold up to {up_to_text}, and the unit works at {here_text}: thinner air cools it less and quenches its arc less",
        solved.variant.path(worst.part)
    );
    let at = place(solved, up_to?, lane, format!("up to {up_to_text}"));
    let at = at.unwrap_or_else(|| part_at(solved, worst.part, format!("up to {up_to_text}")));
    let because = place(solved, here, lane, format!("at {here_text}")).into_iter().collect();
    let why = "take the ratings that its maker states for that altitude, and state it as `altitude`";
    Some(Told { because, no_proposal: Some(why.to_owned()), ..Told::new(saying, at) })
}
