//! What would let every crossing pass a barrier, and every barrier protect enough.
//!
//! No number expresses a list or a kind: the changed graph is walked again here, which is exact.

use loadworthy_physics::insulation::protection::{Barrier as Worth, Bonding, Insulation};
use loadworthy_unit::plan::{Barrier, Crossing, Form, Isolation, Joins, Span};
use loadworthy_unit::{PartId, Solved};

use super::{ELSEWHERE, UNNAMED, WEAK, bare, meant, ordered, strangers};
use crate::check::{Change, Family, Proof, Proposal};
use crate::isolation::{Classes, part_of, ways, weak};
use crate::verdict::Verdict;

pub(super) fn families(worst: &Verdict, solved: &Solved<'_>) -> Vec<Family> {
    let Some(isolation) = &solved.variant.plan.isolation else { return Vec::new() };
    let classes = Classes::of(solved, isolation);
    let found = match worst.defect {
        UNNAMED if is_tied(worst, solved, isolation, &classes) => [None, None],
        UNNAMED => [list(worst, isolation, &classes), None],
        // Another kind of one barrier leaves the others as they are.
        WEAK if shares_metal(worst, isolation, &classes) => [bonded(worst, isolation, &classes), None],
        WEAK => [bonded(worst, isolation, &classes), stronger(worst, isolation, &classes)],
        ELSEWHERE => [leave_out(worst, solved, isolation, &classes), None],
        _ => [None, None],
    };
    found
        .into_iter()
        .flatten()
        .map(|proposal| Family { tried: proposal.say.clone(), ladder: vec![proposal] })
        .collect()
}

/// Whether an output that is tied to a rail is among what crosses: no list makes a barrier of it.
fn is_tied(worst: &Verdict, solved: &Solved<'_>, isolation: &Isolation, classes: &Classes) -> bool {
    let Some(pair) = isolation.pairs.iter().find(|pair| pair.part == worst.part) else { return false };
    let tied =
        |part| solved.variant.plan.gate_supplies.iter().any(|one| one.part == part && one.rail.is_some());
    bare(isolation, classes, pair.between)
        .any(|crossing| crossing.kind == Joins::Supply && tied(crossing.part))
}

/// What does not pass a barrier leaves its list; or what names one that another lists names that.
fn leave_out(
    worst: &Verdict,
    solved: &Solved<'_>,
    isolation: &Isolation,
    classes: &Classes,
) -> Option<Proposal> {
    let leaves = "what passes each barrier in its list";
    let Some(place) = isolation.barriers.iter().position(|barrier| barrier.part == worst.part) else {
        let is_own = |one: &&Crossing| one.part == worst.part && !super::is_where_it_says(isolation, one);
        let crossing = isolation.crossings.iter().find(is_own)?;
        let other = &isolation.barriers[*crossing.listed_by.first()?].name;
        return Some(reviewed(format!("`crosses: {other}` at {}", solved.variant.path(worst.part)), leaves));
    };
    let groups = strangers::groups(solved, isolation, classes);
    let group = groups.into_iter().find(|group| group[0] == place)?;
    let of_each = group.iter().map(|&one| {
        let barrier = &isolation.barriers[one];
        let names = strangers::strangers(solved, isolation, classes, one);
        let names: Vec<String> =
            names.into_iter().map(|k| format!("`{}`", barrier.spanned_by[k].0)).collect();
        format!("{} out of `spanned_by` of {}", names.join(", "), barrier.name)
    });
    Some(reviewed(format!("leave {}", of_each.collect::<Vec<_>>().join(", ")), leaves))
}

/// A barrier between the two that is worth enough lists them.
fn list(worst: &Verdict, isolation: &Isolation, classes: &Classes) -> Option<Proposal> {
    let pair = isolation.pairs.iter().find(|pair| pair.part == worst.part)?;
    let needed = classes.needed(isolation, pair.between).insulation.means();
    if let Some(place) = meant::barrier_for(isolation, classes, pair.between) {
        return Some(meant_between(&isolation.barriers[place], pair.between, needed, isolation));
    }
    let fitting = isolation.barriers.iter().filter(|barrier| {
        let worth = barrier.kind.map_or(0, |kind| Worth::Insulation(kind).means());
        barrier.between.map(ordered) == Some(pair.between) && worth >= needed
    });
    // The coil of a contactor is apart from its contacts within it, and no board is.
    let has_coils = bare(isolation, classes, pair.between).any(|crossing| crossing.kind == Joins::Coil);
    let fits = fitting
        .filter(|barrier| !(has_coils && barrier.printed))
        .map(|barrier| (barrier, lists_coils(isolation, barrier)))
        // One that lists nothing yet was made for something.
        .filter(|(barrier, coils)| !has_coils || *coils || barrier.spanned_by.is_empty())
        .min_by_key(|(barrier, coils)| (has_coils && !*coils, !barrier.spanned_by.is_empty()))
        .map(|(barrier, _)| barrier);
    let mut names: Vec<&str> = Vec::new();
    for crossing in bare(isolation, classes, pair.between) {
        // A transformer stands for all its windings, a stage for all its positions.
        let name = match crossing.kind {
            Joins::Transformer | Joins::Cooled => crossing.names.first(),
            _ => crossing.names.last(),
        };
        let name = name?.as_str();
        if !names.contains(&name) {
            names.push(name);
        }
    }
    let shown = names.iter().take(4).map(|name| format!("`{name}`")).collect::<Vec<_>>().join(", ");
    let more = names.len().saturating_sub(4);
    let shown = if more > 0 { format!("{shown} and {more} more") } else { shown };
    let names_another = |crossing: &Crossing| crossing.names_barrier.is_some();
    let and = if bare(isolation, classes, pair.between).any(names_another) {
        ", and no other by `crosses`"
    } else {
        ""
    };
    Some(match fits {
        Some(barrier) => reviewed(
            format!("list {shown} in `spanned_by` of {}{and}", barrier.name),
            "a barrier at each crossing",
        ),
        None => {
            let kind = kind_of(needed);
            reviewed(
                format!(
                    "a barrier between {} and {} of kind {kind} that lists {shown}{and}",
                    isolation.domain(pair.between.0).name,
                    isolation.domain(pair.between.1).name
                ),
                "a barrier at each crossing",
            )
        }
    })
}

/// Whether a barrier stands between the coils of contactors and their contacts.
fn lists_coils(isolation: &Isolation, barrier: &Barrier) -> bool {
    let place = isolation.barriers.iter().position(|one| one.part == barrier.part);
    let mut coils = isolation.crossings.iter().filter(|crossing| crossing.kind == Joins::Coil);
    place.is_some_and(|place| coils.any(|crossing| crossing.listed_by.contains(&place)))
}

/// The barrier that lists them names the two that they join, with a kind that is worth enough.
fn meant_between(
    barrier: &Barrier,
    (one, other): (usize, usize),
    needed: u8,
    isolation: &Isolation,
) -> Proposal {
    let worth = barrier.kind.map_or(0, |kind| Worth::Insulation(kind).means());
    let kind = if worth < needed { format!(" and `kind: {}`", kind_of(needed)) } else { String::new() };
    let (one, other) = (&isolation.domain(one).name, &isolation.domain(other).name);
    let mut proposal = reviewed(
        format!("`between: [{one}, {other}]`{kind} at {}", barrier.name),
        "a barrier at each crossing",
    );
    if let Change::Reviewed { side_effects, .. } = &mut proposal.change {
        side_effects.push("distances and ratings are asked for between these two".to_owned());
    }
    proposal
}

/// The word for so many means of protection.
const fn kind_of(means: u8) -> &'static str {
    match means {
        0 => "functional",
        1 => "basic",
        _ => "reinforced",
    }
}

/// The thing that is worth too little becomes of the least kind with which no way is weak for its sake.
fn stronger(worst: &Verdict, isolation: &Isolation, classes: &Classes) -> Option<Proposal> {
    let of_worst = |span: &Span| part_of(isolation, *span) == Some(worst.part);
    let span = isolation.spans().map(|(_, span)| span).find(of_worst)?;
    for (kind, word) in [(Insulation::Basic, "basic"), (Insulation::Reinforced, "reinforced")] {
        let mut changed = isolation.clone();
        let say = match span {
            Span::Barrier(barrier) => {
                changed.barriers[barrier].kind = Some(kind);
                format!("kind of {}: {word}", isolation.barriers[barrier].name)
            }
            Span::Capacitor(capacitor) => {
                let of = &mut changed.capacitors[capacitor];
                of.worth = Some(Worth::Insulation(kind));
                let class = if kind == Insulation::Basic { "Y2" } else { "Y1" };
                format!("class of {}: {class}", of.name)
            }
            Span::Bonding | Span::OwnStage => return None,
        };
        let still = weak(&changed, &ways(&changed, classes));
        if !still.iter().filter_map(|way| way.culprit(&changed)).any(|culprit| culprit == span) {
            let mut proposal = reviewed(say, "enough on every way through it");
            if let Change::Reviewed { side_effects, .. } = &mut proposal.change {
                side_effects.push("distances and ratings are asked for by its new kind".to_owned());
            }
            return Some(proposal);
        }
    }
    None
}

/// Metal at the end of a weak way that nobody bonds becomes the second means by its bonding.
fn bonded(worst: &Verdict, isolation: &Isolation, classes: &Classes) -> Option<Proposal> {
    let name = &isolation.domain(unbonded(worst.part, isolation, classes)?).name;
    let mut proposal = reviewed(format!("`bonded: true` at {name}"), "its bonding as the second means");
    if let Change::Reviewed { side_effects, .. } = &mut proposal.change {
        side_effects.push(format!("the bonding of {name} may have 0.1 \u{3a9} at most"));
    }
    Some(proposal)
}

/// The metal whose bonding would make enough of what a barrier or a capacitor is worth too little for, where nothing else is weak
/// for it.
pub(crate) fn unbonded(part: PartId, isolation: &Isolation, classes: &Classes) -> Option<usize> {
    let before = weak(isolation, &ways(isolation, classes));
    let is_of_part = |span| part_of(isolation, span) == Some(part);
    let way = before.iter().find(|way| way.culprit(isolation).is_some_and(is_of_part))?;
    let is_loose = |&end: &usize| {
        let domain = isolation.domain(end);
        domain.form == Form::Metal && domain.bonding < Bonding::Stated
    };
    let metal = [way.between.0, way.between.1].into_iter().find(is_loose)?;
    let changed = isolation.with_bonded(metal);
    let after = weak(&changed, &ways(&changed, classes));
    let was_weak = |span: Span| before.iter().any(|way| way.culprit(isolation) == Some(span));
    let mut culprits = after.iter().filter_map(|way| way.culprit(&changed));
    (!culprits.any(|span| is_of_part(span) || !was_weak(span))).then_some(metal)
}

/// Whether the bonding of one metal is what several barriers lack.
fn shares_metal(worst: &Verdict, isolation: &Isolation, classes: &Classes) -> bool {
    let Some(metal) = unbonded(worst.part, isolation, classes) else { return false };
    let others = isolation.barriers.iter().filter(|barrier| barrier.part != worst.part);
    others.into_iter().any(|barrier| unbonded(barrier.part, isolation, classes) == Some(metal))
}

fn reviewed(say: String, leaves: &str) -> Proposal {
    let change =
        Change::Reviewed { proof: Proof::ExactRule, leaves: leaves.to_owned(), side_effects: Vec::new() };
    Proposal { say, change }
}
