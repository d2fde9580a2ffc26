//! A bus whose swings grow in words, and what would change it.

use loadworthy_unit::{Dimension, Edit, Solved};

use super::CONTROLLED;
use crate::check::{Change, Failure, Family, Proposal, Told};
use crate::figure_text::{comparison, percent, value};
use crate::review::Place;
use crate::steps::toward;
use crate::tell::{above, part_at, place, policy_place};
use crate::verdict::{Grade, Outcome, Verdict};

/// Capacitors more that are tried in one bank, as multiples.
const MORE_PARTS: [f64; 5] = [1.5, 2.0, 3.0, 4.0, 6.0];

pub(super) fn told(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let (variant, lane, compared) = (solved.variant, worst.lane()?, worst.comparison()?);
    let plan = &variant.plan;
    let damping = plan.damping.iter().find(|damping| plan.buses[damping.bus].part == worst.part)?;
    let part = variant.path(worst.part);
    let swing = value(solved.figure(damping.resonance, lane)?, Dimension::Frequency);
    let saying = format!(
        "what hangs on `{part}` holds {} while the bus can swing at {swing} against its battery, {}",
        comparison(compared).carried,
        above(compared, "the largest power at which that fades")
    );
    let first = damping.fed.first()?;
    let inductance = plan.sources[first.source].inductance;
    let henry = solved.input(inductance, lane).map(|henry| value(henry, Dimension::Inductance))?;
    let at = place(solved, inductance, lane, format!("{henry} from battery to bus"))
        .unwrap_or_else(|| part_at(solved, worst.part, format!("swings at {swing}")));
    let ohms = solved.input(first.resistance, lane).map(|ohms| value(ohms, Dimension::Resistance))?;
    let mut because: Vec<Place> = Vec::new();
    because.extend(place(solved, first.resistance, lane, format!("{ohms} damp it")));
    for &bank in &plan.buses[damping.bus].ripple.banks {
        let bank = plan.banks[bank].part;
        because.push(part_at(solved, bank, "swings against it".to_owned()));
    }
    because.extend(compared.policy.and_then(|item| policy_place(solved, item)));
    let worked = if matches!(worst.outcome, Outcome::Fails { grade: Grade::Minor, .. }) {
        let share = percent(CONTROLLED);
        vec![format!(
            "no carrier on {part} is so high that a swing at {swing} stays below {share} of it: control that is slower than the swing holds less than the whole power"
        )]
    } else {
        Vec::new()
    };
    Some(Told { because, worked, ..Told::new(saying, at) })
}

pub(super) fn propose(failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
    let worst = failure.worst;
    let plan = &solved.variant.plan;
    let (Some(lane), Some(compared)) = (worst.lane(), worst.comparison()) else { return Vec::new() };
    let found = plan.damping.iter().find(|damping| plan.buses[damping.bus].part == worst.part);
    let Some(damping) = found else { return Vec::new() };
    let over = compared.carried_value / compared.allowed;
    let mut families = Vec::new();
    if let [fed] = damping.fed[..] {
        let inductance = plan.sources[fed.source].inductance;
        let name = "inductance from battery to bus";
        families.push(toward(name, inductance, (Dimension::Inductance, ""), 1.0 / over, solved, lane));
    }
    for &bank in &plan.buses[damping.bus].ripple.banks {
        let (parts, name) = (plan.banks[bank].parts, solved.variant.path(plan.banks[bank].part));
        let Some(now) = solved.input(parts, lane) else { continue };
        let ladder = MORE_PARTS.into_iter().map(|more| (now * more).ceil()).map(|to| {
            let say = format!("capacitors in `{name}`: {now} -> {to}");
            let change = Change::Edit(vec![(Edit { input: parts, value: to }, format!("{to}"))]);
            Proposal { say, change }
        });
        families.push(Family {
            tried: format!("up to 6 times the capacitors in `{name}`"),
            ladder: ladder.collect(),
        });
    }
    families
}
