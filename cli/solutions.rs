//! Solved variants, as far as a person asked for them.

use std::collections::BTreeSet;

use loadworthy_source::nearest;
use loadworthy_unit::{FigureId, LaneId, Solved, Unit};

use crate::show::layout::free_text;

/// Amounts within this share of one another are alike.
pub(crate) const ALIKE: f64 = 1e-9;
/// Figures that are named where one is not found.
const NAMED: usize = 12;

/// Every variant and duty point that was asked for, solved.
pub(crate) struct Solutions<'u> {
    /// The variants.
    pub(crate) solved: Vec<Solved<'u>>,
    duty: Option<&'u str>,
}

/// A figure in one lane of one variant.
#[derive(Clone, Copy)]
pub(crate) struct Found<'s, 'u> {
    pub(crate) solved: &'s Solved<'u>,
    pub(crate) figure: FigureId,
    pub(crate) lane: LaneId,
}

impl<'u> Solutions<'u> {
    /// Solves what was asked for.
    ///
    /// # Errors
    /// Says which name is unknown, and which is near.
    pub(crate) fn of(unit: &'u Unit, variant: Option<&str>, duty: Option<&'u str>) -> Result<Self, String> {
        let chosen = chosen(unit, variant, duty)?;
        Ok(Self {
            solved: chosen.into_iter().map(|place| Solved::new(&unit.variants[place])).collect(),
            duty,
        })
    }

    /// Places of the duty points that were asked for.
    pub(crate) fn duties(&self, solved: &Solved<'u>) -> Vec<usize> {
        let asked = |name: &str| self.duty.is_none_or(|duty| duty == name);
        let named = solved.variant.duties.iter().enumerate().filter(|(_, duty)| asked(&duty.name));
        named.map(|(place, _)| place).collect()
    }

    /// The lanes that were asked for.
    pub(crate) fn lanes(&self, solved: &Solved<'u>) -> Vec<LaneId> {
        let duties = self.duties(solved);
        solved
            .variant
            .lane_ids()
            .filter(|lane| duties.contains(&solved.variant.lane(*lane).duty.index()))
            .collect()
    }

    /// A figure by its path in every lane that was asked for.
    ///
    /// # Errors
    /// Says that there is no such figure, and which are near.
    pub(crate) fn all(&self, path: &str) -> Result<Vec<Found<'_, 'u>>, String> {
        let mut found = Vec::new();
        let mut is_known = false;
        for solved in &self.solved {
            let tables = &solved.variant.tables;
            let figures = (0..tables.figures().len()).map(FigureId::new);
            for figure in figures.filter(|figure| tables.figure_path(*figure) == path) {
                is_known = true;
                found.extend(self.lanes(solved).into_iter().map(|lane| Found { solved, figure, lane }));
            }
        }
        match found.is_empty() {
            true if is_known => {
                Err(format!("`{}` has no value: without a duty point nothing is reckoned", free_text(path)))
            }
            true => Err(self.no_figure(path)),
            false => Ok(found),
        }
    }

    fn no_figure(&self, path: &str) -> String {
        let mut paths: Vec<String> = Vec::new();
        for solved in &self.solved {
            let tables = &solved.variant.tables;
            paths.extend((0..tables.figures().len()).map(|place| tables.figure_path(FigureId::new(place))));
        }
        // What every variant has is named once.
        let mut named = BTreeSet::new();
        paths.retain(|path| named.insert(path.clone()));
        no_figure(path, &paths)
    }
}

/// Says that there is no figure of a path among those there are, and which are near.
pub(crate) fn no_figure(path: &str, paths: &[String]) -> String {
    let below = format!("{path}.");
    let parts = paths.iter().filter_map(|known| known.strip_prefix(&below)).collect::<Vec<_>>();
    if !parts.is_empty() {
        return format!("`{}` is a part; its figures are {}", free_text(path), first_of(&parts));
    }
    let known = paths.iter().map(String::as_str);
    if nearest(path, known.clone()).is_some() {
        return unknown("figure", path, known);
    }
    let name = free_text(path);
    match alike(path, known).as_slice() {
        [] => format!("there is no figure `{name}`; without a name, all are shown"),
        alike => format!("there is no figure `{name}`; alike are {}", first_of(alike)),
    }
}

/// The first of some names, and whether there are more.
fn first_of(names: &[&str]) -> String {
    let more = if names.len() > NAMED { ", …" } else { "" };
    names.iter().take(NAMED).map(|name| format!("`{name}`")).collect::<Vec<_>>().join(", ") + more
}

/// The paths that have most of the words of another, in its order: `bridge.u.junction` is in
/// `bridge.high_side.u.diode.hottest_junction_temperature` with all three. Of paths that are equally near, all.
fn alike<'n>(path: &str, known: impl Iterator<Item = &'n str>) -> Vec<&'n str> {
    let mut most = 1;
    let mut alike = Vec::new();
    for one in known {
        let mut words = one.split('.');
        let mut common = 0;
        for asked in path.split('.') {
            let mut rest = words.clone();
            let found = rest.by_ref().map(|word| likeness(asked, word)).find(|&likeness| likeness > 0);
            if let Some(likeness) = found {
                common += likeness;
                words = rest;
            }
        }
        if common > most {
            most = common;
            alike.clear();
        }
        if common == most {
            alike.push(one);
        }
    }
    alike
}

/// How well a word of a path is met: as it is, as a part of a longer one, or with a slip.
fn likeness(asked: &str, word: &str) -> usize {
    match () {
        () if asked == word => 3,
        () if asked.len() > 2 && word.contains(asked) => 2,
        () => usize::from(nearest(asked, std::iter::once(word)).is_some()),
    }
}

/// Places of the variants that were asked for.
///
/// # Errors
/// Says which name is unknown, and which is near.
pub(crate) fn chosen(unit: &Unit, variant: Option<&str>, duty: Option<&str>) -> Result<Vec<usize>, String> {
    let asked = |name: &Option<String>| variant.is_none_or(|asked| name.as_deref() == Some(asked));
    let all = unit.variants.iter().enumerate();
    let chosen = all.filter(|(_, one)| asked(&one.name)).map(|(place, _)| place).collect::<Vec<_>>();
    if let (Some(variant), true) = (variant, chosen.is_empty()) {
        let known = unit.variants.iter().filter_map(|one| one.name.as_deref());
        return Err(unknown("variant", variant, known));
    }
    let duties = chosen.iter().flat_map(|&place| &unit.variants[place].duties);
    // Variants have their duty points in common, as a rule.
    let mut seen = BTreeSet::new();
    let known = duties.map(|duty| duty.name.as_str()).filter(|name| seen.insert(*name)).collect::<Vec<_>>();
    if let Some(duty) = duty
        && !known.contains(&duty)
    {
        return Err(unknown("duty point", duty, known.iter().copied()));
    }
    Ok(chosen)
}

/// Of several lanes the one that a reader must know: the largest amount, of what a chip is rated for the smallest; of
/// equals the first. Where none has a number, the first.
pub(crate) fn telling<'s, 'u>(found: &[Found<'s, 'u>]) -> Option<Found<'s, 'u>> {
    let mut telling: Option<(Found<'s, 'u>, f64)> = None;
    for one in found {
        let Some(value) = one.solved.figure(one.figure, one.lane) else { continue };
        let weight = if is_rating(one) { 1.0 / value.abs() } else { value.abs() };
        if telling.is_none_or(|(_, known)| known * (1.0 + ALIKE) < weight) {
            telling = Some((*one, weight));
        }
    }
    telling.map(|(one, _)| one).or_else(|| found.first().copied())
}

/// Whether a figure is what something may carry, of which less is worse.
pub(crate) fn is_rating(found: &Found<'_, '_>) -> bool {
    found.solved.variant.tables.figure_of(found.figure).name == "rated_current"
}

/// Says that there is nothing of that name, and what is near.
pub(crate) fn unknown<'n>(what: &str, name: &str, known: impl Iterator<Item = &'n str> + Clone) -> String {
    let name = free_text(name);
    match nearest(&name, known.clone()) {
        Some(near) => format!("there is no {what} `{name}`; is it `{near}`?"),
        None => {
            let mut names = known.map(|name| format!("`{name}`")).collect::<Vec<_>>();
            let more = if names.len() > NAMED { ", …" } else { "" };
            names.truncate(NAMED);
            if names.is_empty() {
                format!("there is no {what} `{name}`: the description has none")
            } else {
                format!("there is no {what} `{name}`; there are {}{more}", names.join(", "))
            }
        }
    }
}
