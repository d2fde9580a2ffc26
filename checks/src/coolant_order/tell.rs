//! The better order in words, with what it leaves and what it changes.

use loadworthy_unit::plan::{CoolantLeg, CoolantPath, CoolantRow};
use loadworthy_unit::{Dimension, Lanes, PartId, Solved, Variant};

use super::Found;
use super::rows::{Row, part_of};
use super::search::{Least, Order};
use crate::check::{Change, Family, Proof, Proposal, Told};
use crate::coolant_purging::{most_flow, of_summit};
use crate::figure_text::{kelvins, value};
use crate::high_points::{Profile, as_described};
use crate::review::Place;
use crate::verdict::Outcome;

/// Places that are shown beside the first.
const MOST_PLACES: usize = 4;

/// A row as its worst variant has it.
struct View<'v> {
    variant: &'v Variant,
    path: &'v CoolantPath,
    row: CoolantRow,
    legs: &'v [CoolantLeg],
}

impl<'v> View<'v> {
    fn of(row: &Row<'_, 'v>, found: &Found) -> Option<Self> {
        let (_, solved, of) = *row.members.get(found.worst)?;
        let path = solved.variant.plan.coolant.as_ref()?;
        Some(Self { variant: solved.variant, path, row: of, legs: path.row(of) })
    }

    fn part(&self, leg: usize) -> PartId {
        part_of(self.path, self.legs[leg])
    }

    /// The name of a leg as the path has it.
    fn name(&self, leg: usize) -> &'v str {
        let path = self.variant.path(self.part(leg));
        path.strip_prefix("cooling.").unwrap_or(path)
    }

    fn names(&self, order: &Order) -> String {
        order.iter().map(|&leg| self.name(leg)).collect::<Vec<_>>().join(", ")
    }
}

/// What is different: `put drum_plate before track_plate` where one place moves, else the whole order.
fn say(view: &View<'_>, movable: &[usize], order: &Order) -> String {
    match moved(movable, order) {
        Some((leg, Some(before))) => format!("put {} before {}", view.name(leg), view.name(before)),
        Some((leg, None)) => match movable.iter().rev().find(|&&last| last != leg) {
            Some(&last) => format!("put {} behind {}", view.name(leg), view.name(last)),
            None => String::new(),
        },
        None => format!("visit them in the order {}", view.names(order)),
    }
}

/// The one place that moves, and the one that it is put before; behind all others where that is none.
fn moved(movable: &[usize], order: &Order) -> Option<(usize, Option<usize>)> {
    let sequence: Vec<usize> = movable.iter().map(|&slot| order[slot]).collect();
    let single = |leg: usize| {
        let without = |list: &[usize]| list.iter().copied().filter(|&one| one != leg).collect::<Vec<_>>();
        (without(&sequence) == without(movable)).then(|| {
            let at = sequence.iter().position(|&one| one == leg).unwrap_or(0);
            (leg, sequence.get(at + 1).copied())
        })
    };
    // Of two neighbours that change places the one that comes earlier is told.
    sequence.iter().copied().filter(|leg| movable.contains(leg)).find_map(|leg| {
        let is_moved =
            movable.iter().position(|&one| one == leg) != sequence.iter().position(|&one| one == leg);
        if is_moved { single(leg) } else { None }
    })
}

/// Where the least headroom of a leg is: `climb`, or `climb, wide` of another variant than the one that is shown.
fn whereabouts(row: &Row<'_, '_>, found: &Found, least: &Least) -> Option<(String, String)> {
    let (member, junction) = least.at?;
    let (_, solved, _) = row.members.get(member)?;
    let one = found.junctions.get(member)?.get(junction)?;
    let variant = solved.variant;
    let duty = &variant.duty_of(one.lane).name;
    let place = match variant.name.as_deref().filter(|_| row.members.len() > 1) {
        Some(name) => format!("{duty}, {name}"),
        None => duty.clone(),
    };
    Some((variant.path(one.part).to_owned(), place))
}

/// The least headroom of all legs.
fn tightest(legs: &[Least]) -> Option<(usize, &Least)> {
    legs.iter().enumerate().min_by(|(_, one), (_, other)| one.kelvins.total_cmp(&other.kelvins))
}

/// The failure in words.
pub(super) fn told(row: &Row<'_, '_>, found: &Found) -> Option<Told> {
    let view = View::of(row, found)?;
    let gain = kelvins(found.gain());
    let say = say(&view, &row.movable, &found.order);
    let saying = format!(
        "another order along `{}` leaves its hottest junction {gain} more: {say}",
        view.variant.path(view.path.row_part(view.row))
    );
    let (tight, _) = tightest(&found.described.legs)?;
    let place = |leg: usize| {
        let least = &found.described.legs[leg];
        let whereabouts = whereabouts(row, found, least);
        let label = match whereabouts {
            Some((part, duty)) => format!("keeps {} in {duty}: junction of {part}", kelvins(least.kelvins)),
            None => "nothing is asked of what it cools".to_owned(),
        };
        Place { node: view.variant.tables.part_of(view.part(leg)).at, label }
    };
    let others = row.movable.iter().copied().filter(|&leg| leg != tight);
    let because = others.take(MOST_PLACES).map(place).collect();
    let described: Order = (0..row.legs).collect();
    let line = |order: &Order, legs: &[Least]| {
        let (leg, least) = tightest(legs)?;
        let (_, duty) = whereabouts(row, found, least)?;
        Some(format!(
            "{}: least {} at {} in {duty}",
            view.names(order),
            kelvins(least.kelvins),
            view.name(leg)
        ))
    };
    let mut facts = vec![format!("{gain} more headroom")];
    facts.extend(line(&described, &found.described.legs));
    facts.extend(line(&found.order, &found.best.legs));
    let worked = row.movable.iter().filter_map(|&leg| worked(&view, row, found, leg)).collect();
    Some(Told { because, facts, worked, ..Told::new(saying, place(tight)) })
}

/// Headroom of a leg in both orders.
fn worked(view: &View<'_>, row: &Row<'_, '_>, found: &Found, leg: usize) -> Option<String> {
    let one = |least: &Least| {
        let (member, junction) = least.at?;
        let junction = found.junctions.get(member)?.get(junction)?;
        let (part, duty) = whereabouts(row, found, least)?;
        let degrees = |celsius| value(celsius, Dimension::Temperature);
        let hot = junction.allowed - least.kelvins;
        Some(format!(
            "{} − {} = {} ({part} in {duty})",
            degrees(junction.allowed),
            degrees(hot),
            kelvins(least.kelvins)
        ))
    };
    let (was, is) = (one(&found.described.legs[leg])?, one(&found.best.legs[leg])?);
    Some(format!("{}: allowed − junction = {was}; in the other order {is}", view.name(leg)))
}

/// The better order as a change that no value expresses.
pub(super) fn change(row: &Row<'_, '_>, found: &Found) -> Family {
    let mut ladder = Vec::new();
    if let Some(view) = View::of(row, found)
        && let Some((_, least)) = tightest(&found.best.legs)
        && let Some((_, duty)) = whereabouts(row, found, least)
    {
        let say = format!("{}: path [{}]", say(&view, &row.movable, &found.order), view.names(&found.order));
        let leaves = format!("{} in {duty}", kelvins(least.kelvins));
        let mut side_effects = shrinking(&view, row, found);
        side_effects.extend(trapping(&view, row.members[found.worst].1, &found.order));
        ladder.push(Proposal {
            say,
            change: Change::Reviewed { proof: Proof::SolvedAgain, leaves, side_effects },
        });
    }
    Family { tried: "another order along the coolant".to_owned(), ladder }
}

/// Places that lose headroom.
fn shrinking(view: &View<'_>, row: &Row<'_, '_>, found: &Found) -> Vec<String> {
    let both = row.movable.iter().map(|&leg| (leg, &found.described.legs[leg], &found.best.legs[leg]));
    let less = both.filter(|(_, was, is)| is.kelvins < was.kelvins - 0.5);
    let text = less.map(|(leg, was, is)| {
        format!("headroom of {} {} -> {}", view.name(leg), kelvins(was.kelvins), kelvins(is.kelvins))
    });
    text.collect()
}

/// High points without a vent that the order makes and the described one does not have, from which the coolant does not
/// carry air down.
fn trapping(view: &View<'_>, solved: &Solved<'_>, order: &Order) -> Vec<String> {
    let lane = most_flow(solved, view.path, Lanes::of(solved.variant));
    let legs: Vec<CoolantLeg> = order.iter().map(|&leg| view.legs[leg]).collect();
    let moved = |row: CoolantRow| if row == view.row { legs.clone() } else { view.path.row(row).to_vec() };
    let summits = |legs_of: &dyn Fn(CoolantRow) -> Vec<CoolantLeg>| {
        Profile::of(solved, view.path, lane, legs_of).summits(view.path)
    };
    let before = summits(&as_described(view.path));
    let new = summits(&moved).into_iter().filter(|one| before.iter().all(|other| other.at.0 != one.at.0));
    let text = new.filter_map(|summit| {
        let part = view.variant.path(view.path.places[summit.at.0].part);
        let name = part.strip_prefix("cooling.").unwrap_or(part);
        match of_summit(solved, view.path, &summit, lane) {
            Outcome::Holds(_) => None,
            Outcome::Fails { .. } => Some(format!(
                "{name} becomes a high point without a vent, from which the coolant is too slow to carry air down: coolant-purging would fail"
            )),
            Outcome::NotJudged(_) => Some(format!(
                "{name} becomes a high point without a vent: see that air can leave there (coolant-purging)"
            )),
        }
    });
    text.collect()
}
