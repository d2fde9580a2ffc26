//! Failures by cause, and short words for what belongs to one group.

use std::collections::BTreeMap;

use loadworthy_unit::{LaneId, PartId, Variant};

use crate::collect::is_worse;
use crate::corner;
use crate::list::by_name;
use crate::seats::{cause_at, stage_of};
use crate::verdict::Verdict;

/// What the failures of one cause share: check, defect, stage or branch of the coolant, and the device or other entry
/// behind it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Key<'u> {
    pub(super) check: &'static str,
    pub(super) defect: &'static str,
    pub(super) stage: &'u str,
    pub(super) entry: &'u str,
}

impl<'u> Key<'u> {
    pub(super) fn of(verdict: &Verdict, variant: &'u Variant) -> Self {
        let stage = cause_at(variant, verdict.part);
        let kin = verdict.kin.map(|input| variant.tables.input_of(input).path.as_str());
        // Section and name: chips of one device share it.
        let entry = kin.map_or("", first_two);
        // A driver is one entry for all stages whose gates it drives, and the voltage of a bus one for all that stands across it: what
        // is wrong with it is told once. Entries of a section that are in use nowhere may be one cause as well.
        let whole = Some(entry).filter(|entry| !entry.is_empty() && !entry.contains('.'));
        let of_entry = by_name(verdict.check).is_some_and(|check| check.is_of_the_entry(verdict.defect));
        let whole = whole.or(Some(entry).filter(|entry| of_entry && !entry.is_empty()));
        let shared = entry.strip_prefix("drivers.").or_else(|| entry.strip_prefix("buses.")).or(whole);
        let stage = shared.unwrap_or_else(|| variant.path(stage));
        Self { check: verdict.check, defect: verdict.defect, stage, entry }
    }
}

/// The first two steps of a path: section and name.
pub(super) fn first_two(path: &str) -> &str {
    let dots = path.bytes().enumerate().filter(|&(_, byte)| byte == b'.');
    dots.map(|(dot, _)| dot).nth(1).map_or(path, |dot| &path[..dot])
}

/// Failures of one cause: places of verdicts, for each variant.
pub(super) type Group = BTreeMap<usize, Vec<usize>>;

/// All failures of a unit by cause.
pub(super) fn groups<'u>(variants: &'u [Variant], verdicts: &[Vec<Verdict>]) -> BTreeMap<Key<'u>, Group> {
    let mut groups: BTreeMap<Key<'u>, Group> = BTreeMap::new();
    for (v, (variant, verdicts)) in variants.iter().zip(verdicts).enumerate() {
        for (place, verdict) in verdicts.iter().enumerate() {
            if verdict.fails() {
                let group = groups.entry(Key::of(verdict, variant)).or_default();
                group.entry(v).or_default().push(place);
            }
        }
    }
    groups
}

/// Variant and place of the worst failure of a group; of equals the first.
pub(super) fn worst(group: &Group, verdicts: &[Vec<Verdict>]) -> Option<(usize, usize)> {
    let mut places = group.iter().flat_map(|(&v, places)| places.iter().map(move |&place| (v, place)));
    let first = places.next()?;
    Some(places.fold(first, |worst, one| {
        if is_worse(&verdicts[one.0][one.1], &verdicts[worst.0][worst.1]) { one } else { worst }
    }))
}

/// Other parts of a group in short: the stage is left out where it is the same, and legs are drawn together.
pub(super) fn other_parts(variant: &Variant, worst: PartId, all: &[PartId]) -> (Vec<String>, usize) {
    let stage = format!("{}.", variant.path(stage_of(variant, worst)));
    let own = variant.path(worst);
    let own_what = own.strip_prefix(&stage).and_then(|rest| rest.split('.').nth(2));
    let mut parts: Vec<&str> =
        all.iter().map(|&part| variant.path(part)).filter(|&path| path != own).collect();
    let mut seen: Vec<&str> = Vec::new();
    parts.retain(|path| {
        !seen.contains(path) && {
            seen.push(path);
            true
        }
    });
    let count = parts.len();
    let mut drawn: Vec<(String, String, Vec<String>)> = Vec::new();
    for path in parts {
        let rest = path.strip_prefix(&stage).unwrap_or(path);
        let pieces: Vec<&str> = rest.split('.').collect();
        let (side, leg, what) = match pieces.as_slice() {
            // What lies between domains has no sides and legs.
            ["isolation", ..] => (rest, "", ""),
            [side, leg, what] => (*side, *leg, *what),
            [side, leg] => (*side, *leg, ""),
            _ => (rest, "", ""),
        };
        match drawn.iter_mut().find(|(other, of, _)| other == side && of == what) {
            Some((_, _, legs)) => legs.push(leg.to_owned()),
            None => drawn.push((side.to_owned(), what.to_owned(), vec![leg.to_owned()])),
        }
    }
    // What is like the worst comes first: the same kind of chip, then the same side.
    let own_side = own.strip_prefix(&stage).and_then(|rest| rest.split('.').next());
    drawn.sort_by_key(|(side, what, _)| {
        (own_what.is_some_and(|own| own != what), own_side != Some(side.as_str()))
    });
    let text = drawn.into_iter().map(|(side, what, legs)| {
        let legs = legs.join(", ");
        let place = if legs.is_empty() { side } else { format!("{side}.{legs}") };
        if what.is_empty() || own_what == Some(what.as_str()) { place } else { format!("{place} ({what})") }
    });
    (text.collect(), count)
}

/// The corner of a lane in words, where its duty point has several.
pub(super) fn corner(variant: &Variant, lane: LaneId) -> Option<String> {
    let lane = variant.lane(lane);
    let corners = variant.lanes.iter().filter(|other| other.duty == lane.duty).count();
    if corners < 2 { None } else { corner::long(lane) }
}
