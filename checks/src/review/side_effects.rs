//! What else a change changes.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};

use foldhash::fast::FixedState;
use loadworthy_unit::plan::{Stage, Topology};
use loadworthy_unit::{Dimension, FigureId, LaneId, Solved};

use super::anew::Judged;
use super::group::Key;
use crate::cause::missing_text;
use crate::figure_text::{headroom, kelvins, value};
use crate::seats::stage_of;
use crate::verdict::{Comparison, Fault, Missing, Outcome, Verdict};

/// Headroom that shrinks by less than this, on the scale of [`Comparison::rank`], is not worth a word.
const HEADROOM: f64 = 0.02;
/// Nor is a coolant outlet that moves by fewer kelvins,
const OUTLET: f64 = 0.3;
/// nor a loss or a ripple that changes by a smaller share.
const SHARE: f64 = 0.05;
/// Lines that are shown.
const MOST_LINES: usize = 5;

/// What a trial changes besides the finding it is for.
pub(super) fn side_effects(
    finding: &Key<'_>,
    (before, after): (&Solved<'_>, &Solved<'_>),
    (verdicts, tried): (&[Verdict], &Judged<'_>),
) -> Vec<String> {
    let moved = moved(verdicts, tried);
    let mut lines = headrooms(finding, before, (verdicts, tried), moved.as_ref());
    // Where the same is said of the same, nothing is asked only with the change.
    if moved.is_none() {
        lines.extend(left_open(after, verdicts, tried));
    }
    lines.extend(outlet(before, after));
    for stage in &before.variant.plan.stages {
        let name = before.variant.path(stage.part);
        lines.extend(share("loss", name, stage.figures.loss, Dimension::Power, before, after));
        let of_edit = |edit: &loadworthy_unit::Edit| edit.input == stage.carrier;
        if let Some(bridge) = stage.bridge()
            && bridge.figures.phase_ripple.is_none()
            && after.edits().iter().any(of_edit)
        {
            lines.push(format!("phase ripple of {name} grows as the carrier falls; by how much is not known without an inductance"));
        }
        for (what, ripple) in ripples(stage) {
            lines.extend(share(what, name, ripple, Dimension::Current, before, after));
        }
    }
    lines.truncate(MOST_LINES);
    lines
}

/// Ripple currents that a stage makes.
fn ripples(stage: &Stage) -> Vec<(&'static str, FigureId)> {
    match &stage.topology {
        Topology::Bridge(bridge) => {
            let of_phase = bridge.figures.phase_ripple.map(|ripple| ("phase ripple", ripple));
            of_phase.into_iter().chain([("link ripple", bridge.figures.link_ripple)]).collect()
        }
        Topology::Chopper(chopper) => vec![
            ("choke ripple", chopper.figures.ripple),
            ("low side ripple", chopper.figures.low_ripple),
            ("high side ripple", chopper.figures.high_ripple),
        ],
        Topology::Isolated(isolated) => vec![
            ("choke ripple", isolated.figures.ripple),
            ("input ripple", isolated.figures.input_ripple),
            ("output ripple", isolated.figures.output_ripple),
        ],
    }
}

/// Findings that go with it, and headrooms that shrink.
fn headrooms(
    finding: &Key<'_>,
    before: &Solved<'_>,
    (verdicts, tried): (&[Verdict], &Judged<'_>),
    moved: Option<&BTreeSet<(&'static str, &'static str)>>,
) -> Vec<String> {
    let may_say =
        |verdict: &&Verdict| moved.is_none_or(|moved| moved.contains(&(verdict.check, verdict.defect)));
    let was = least(before, verdicts.iter().filter(may_say));
    let is = least(before, tried.iter().filter(may_say));
    let mut fell: Vec<(&Key<'_>, &Comparison, &Comparison)> = Vec::new();
    let mut cured: Vec<String> = Vec::new();
    for (key, (worst, fails)) in &was {
        if key == finding {
            continue;
        }
        let Some((now, still_fails)) = is.get(key) else { continue };
        match (worst, now) {
            (_, Some(now)) if *fails && !*still_fails => {
                cured.push(format!("{} of {} ({} left)", key.check, key.stage, headroom(now)));
            }
            (_, None) if *fails && !*still_fails => cured.push(format!("{} of {}", key.check, key.stage)),
            (Some(worst), Some(now)) if now.rank() < worst.rank() - HEADROOM => fell.push((key, worst, now)),
            _ => {}
        }
    }
    let told = |(key, worst, now): &(&Key<'_>, &Comparison, &Comparison)| {
        // A check may hold several figures of a stage; then each is named.
        let alike = fell.iter().filter(|(other, ..)| (other.check, other.stage) == (key.check, key.stage));
        let figure = before.variant.tables.figure_of(now.carried).name;
        let named =
            if alike.count() > 1 { format!(" ({})", figure.replace('_', " ")) } else { String::new() };
        format!("{} headroom of {}{named} {} -> {}", key.check, key.stage, headroom(worst), headroom(now))
    };
    let mut lines: Vec<String> = Vec::new();
    // Two limits of one figure fall alike, and say the same.
    for line in fell.iter().map(told) {
        if !lines.contains(&line) {
            lines.push(line);
        }
    }
    if let Some(first) = cured.first() {
        let more = if cured.len() > 1 { format!(" and {} more", cured.len() - 1) } else { String::new() };
        lines.insert(0, format!("also holds: {first}{more}"));
    }
    lines
}

/// Checks and defects of which a verdict lost so much headroom that it is worth a word, or holds or fails otherwise than
/// before: no other can have lost as much, or holds only now. None where the verdicts do not stand side by side.
fn moved(verdicts: &[Verdict], tried: &Judged<'_>) -> Option<BTreeSet<(&'static str, &'static str)>> {
    let identity =
        |verdict: &Verdict| (verdict.part, verdict.duty(), verdict.kin, verdict.defect, verdict.check);
    let mut moved = BTreeSet::new();
    if verdicts.len() != tried.len() {
        return None;
    }
    for (was, is) in verdicts.iter().zip(tried.iter()) {
        if identity(was) != identity(is) {
            return None;
        }
        let has_moved = match (&was.outcome, &is.outcome) {
            (Outcome::Holds(Some(was)), Outcome::Holds(Some(is))) => is.rank() < was.rank() - HEADROOM,
            (Outcome::Holds(None), Outcome::Holds(None)) => false,
            (Outcome::NotJudged(_), Outcome::NotJudged(_)) => false,
            _ => true,
        };
        if has_moved {
            moved.insert((was.check, was.defect));
        }
    }
    Some(moved)
}

/// What a check has to judge only with the change, and cannot: a second device in parallel brings a question of its own.
fn left_open(after: &Solved<'_>, verdicts: &[Verdict], tried: &Judged<'_>) -> Vec<String> {
    let variant = after.variant;
    let of_part = |verdict: &Verdict| (verdict.part, verdict.duty(), verdict.check);
    let is_open = |verdict: &&Verdict| matches!(verdict.outcome, Outcome::NotJudged(_));
    let mut new: HashSet<_, FixedState> = tried.iter().filter(is_open).map(of_part).collect();
    // Little is open: what is judged as well without the change goes from it, rather than be gathered.
    if !new.is_empty() {
        for verdict in verdicts {
            new.remove(&of_part(verdict));
        }
    }
    let mut lines: BTreeMap<(&str, &str), String> = BTreeMap::new();
    for verdict in tried.iter().filter(is_open).filter(|verdict| new.contains(&of_part(verdict))) {
        let Outcome::NotJudged(missing) = &verdict.outcome else { continue };
        let stage = variant.path(stage_of(variant, verdict.part));
        lines.entry((verdict.check, stage)).or_insert_with(|| {
            let waits = missing.first().map_or_else(String::new, |&one| waits_for(after, verdict, one));
            format!("{} of {stage} is not judged then{waits}", verdict.check)
        });
    }
    lines.into_values().collect()
}

/// What a verdict waits for, as the end of a sentence.
fn waits_for(after: &Solved<'_>, verdict: &Verdict, missing: Missing) -> String {
    let first = match (missing, verdict.lane()) {
        (Missing::Figure(figure), Some(lane)) => {
            after.missing(figure, lane).first().copied().map(Missing::Cause)
        }
        (missing, _) => Some(missing),
    };
    let text = first.map(|missing| missing_text(after.variant, verdict.duty(), missing));
    let duty = verdict.duty().map_or("*", |duty| after.variant.duties[duty.index()].name.as_str());
    text.map_or_else(String::new, |text| {
        format!(": {} {}", text.subject_in(duty), text.trouble).trim_end().to_owned()
    })
}

/// The least headroom of a cause, where figures are compared, and whether any of its verdicts fails.
type Least<'v> = (Option<&'v Comparison>, bool);

fn least<'u, 'v>(
    solved: &Solved<'u>,
    verdicts: impl Iterator<Item = &'v Verdict>,
) -> BTreeMap<Key<'u>, Least<'v>> {
    // What a verdict is about is found sooner than its key; few of them share one.
    let mut all: Vec<(&Verdict, Least<'_>)> = Vec::new();
    let mut places: HashMap<_, usize, FixedState> = HashMap::default();
    for verdict in verdicts {
        // What has no solution, or is not judged, has nothing to be held against what comes of it.
        let is_open = matches!(verdict.outcome, Outcome::NotJudged(_));
        if is_open || matches!(verdict.fault(), Some(Fault::Unsolved { .. })) {
            continue;
        }
        let about = (verdict.part, verdict.kin, verdict.defect, verdict.check);
        let place = *places.entry(about).or_insert(all.len());
        if place == all.len() {
            all.push((verdict, (None, false)));
        }
        let (_, (worst, fails)) = &mut all[place];
        *worst = lesser(*worst, verdict.comparison());
        *fails |= verdict.fails();
    }
    let mut least: BTreeMap<Key<'u>, Least<'v>> = BTreeMap::new();
    for (of, (worst, fails)) in all {
        let known = least.entry(Key::of(of, solved.variant)).or_insert((None, false));
        known.0 = lesser(known.0, worst);
        known.1 |= fails;
    }
    least
}

/// The comparison that leaves less; of equals the first.
fn lesser<'v>(one: Option<&'v Comparison>, other: Option<&'v Comparison>) -> Option<&'v Comparison> {
    match (one, other) {
        (Some(one), Some(other)) => Some(if other.rank() < one.rank() { other } else { one }),
        (one, other) => one.or(other),
    }
}

/// The largest move of the coolant's outlet temperature.
fn outlet(before: &Solved<'_>, after: &Solved<'_>) -> Option<String> {
    let figure = before.variant.plan.coolant.as_ref()?.outlet;
    let (_, was, is) = largest_change(figure, before, after, |was, is| (is - was).abs())?;
    let moved = is - was;
    let sign = if moved > 0.0 { "+" } else { "" };
    (moved.abs() >= OUTLET).then(|| format!("coolant outlet {sign}{}", kelvins(moved)))
}

/// The largest change of a figure as a share of what it was.
fn share(
    what: &str,
    of: &str,
    figure: FigureId,
    dimension: Dimension,
    before: &Solved<'_>,
    after: &Solved<'_>,
) -> Option<String> {
    let relative = |was: f64, is: f64| if was.abs() > 0.0 { (is / was - 1.0).abs() } else { 0.0 };
    // Where it moves most counts; a large share of next to nothing does not.
    let (lane, was, is) = largest_change(figure, before, after, |was, is| (is - was).abs())?;
    let duty = &before.variant.duty_of(lane).name;
    (relative(was, is) >= SHARE)
        .then(|| format!("{what} of {of} {} -> {} in {duty}", value(was, dimension), value(is, dimension)))
}

fn largest_change(
    figure: FigureId,
    before: &Solved<'_>,
    after: &Solved<'_>,
    size: impl Fn(f64, f64) -> f64,
) -> Option<(LaneId, f64, f64)> {
    let lanes = before.variant.lane_ids();
    let both =
        lanes.filter_map(|lane| Some((lane, before.figure(figure, lane)?, after.figure(figure, lane)?)));
    both.reduce(|largest, one| if size(one.1, one.2) > size(largest.1, largest.2) { one } else { largest })
}
