//! A mission for a person at a terminal.

use loadworthy_checks::figure_text::{percent, value};
use loadworthy_checks::mission::{Energies, Kinds, Swings, Through, Wear};
use loadworthy_checks::verdict::Outcome as Verdict;
use loadworthy_unit::mission::{BANDS, Counted};
use loadworthy_unit::{Dimension, PartId};

use crate::described::Described;
use crate::show::layout::{counted, hanging};
use crate::show::stress::{Moment, Stress, Stresses, terminal as stress};
use crate::show::terminal::permits::permits;
use crate::show::terminal::{self, CAUTION, Paint};

use super::{Course, why};

/// Room for the word in the left margin.
const MARGIN: usize = 13;

/// What a mission came to.
pub(crate) fn shown(described: &Described, course: &Course<'_>, all: bool, paint: Paint) -> String {
    let mut text = terminal::heading(described, paint);
    text.push_str(&head(course, paint));
    text.push('\n');
    text.push_str(&energies(course, paint));
    text.push('\n');
    text.push_str(&cycles(course, paint));
    text.push_str(&wear(course, paint));
    let worst = &course.worst;
    let spoken = worst.iter().zip(&course.accepted);
    let spoken = spoken.filter(|(worst, _)| !matches!(worst.verdict.outcome, Verdict::NotJudged(_)));
    let variant = course.variant;
    let stresses = Stresses {
        verdicts: worst.iter().map(|worst| (variant, &worst.verdict, None)).collect(),
        worst: spoken
            .filter(|(worst, _)| worst.verdict.fails() || worst.verdict.comparison().is_some())
            .map(|(worst, permit)| Stress {
                variant,
                verdict: &worst.verdict,
                variants: Vec::new(),
                moment: Some(Moment { row: worst.row, begins: worst.begins, fails_for: worst.fails_for }),
                permit: *permit,
            })
            .collect(),
        not_judged: worst
            .iter()
            .filter(|worst| matches!(worst.verdict.outcome, Verdict::NotJudged(_)))
            .map(|worst| (variant, &worst.verdict))
            .collect(),
        broken: &[],
        day: None,
    };
    text.push_str(&stress::rows_shown(
        &stresses,
        all,
        "worst",
        "worst of each comparison over the mission\n",
        paint,
    ));
    text.push_str(&stress::not_judged(described, &stresses, all, paint));
    text.push_str(&permits(course.accepted.iter().copied().flatten(), course.day, paint));
    text.push_str(&paint.faint(CAUTION));
    text.push('\n');
    text
}

fn head(course: &Course<'_>, paint: Paint) -> String {
    let Course { variant, mission, tally, .. } = course;
    let mut said = format!(
        "{}: {}, {}",
        mission.name,
        counted(tally.rows, "row", "rows"),
        value(tally.lasts, Dimension::Time)
    );
    match mission.starts_from.map(|from| &variant.duties[from.index()].name) {
        Some(from) => said.push_str(&format!(", after `{from}` has settled")),
        None => said.push_str(", settled in its first row to begin with"),
    }
    if let Some(name) = &variant.name {
        said.push_str(&format!("; variant {name}"));
    }
    let mut text = paint.heading("mission", &hanging("mission", MARGIN, &said));
    if tally.unsolved > 0 {
        let rows = counted(tally.unsolved, "row has", "rows have");
        text.push_str(&hanging(
            "",
            MARGIN,
            &format!("{rows} no solution; what comes after is judged again once nothing is left of that"),
        ));
    }
    if tally.not_followed > tally.unsolved {
        let rows = counted(tally.not_followed - tally.unsolved, "row", "rows");
        let said = format!("{rows} could not be followed in full, for want of a value there or before");
        text.push_str(&hanging("", MARGIN, &said));
    }
    for lost in &tally.lost {
        let said = format!("row {}: {}", lost.row + 1, why(variant, lost).join("; "));
        text.push_str(&hanging("", MARGIN, &said));
    }
    let unnamed = tally.not_followed.saturating_sub(tally.unsolved + tally.lost.len());
    if !tally.lost.is_empty() && unnamed > 0 {
        let said = format!("and {} more", counted(unnamed, "row", "rows"));
        text.push_str(&hanging("", MARGIN, &said));
    }
    if tally.worst.values().any(|worst| worst.stands) {
        let said = "where a rotor stands the crest of its current is held in leg u";
        text.push_str(&hanging("", MARGIN, said));
    }
    text
}

/// How junctions came and went, of each stage the chip that fares worst, and what that uses of the life of its package.
fn cycles(course: &Course<'_>, paint: Paint) -> String {
    let tally = course.tally;
    let stage = |swings: &Swings| {
        let path = course.variant.path(swings.part);
        path.split('.').next().unwrap_or(path)
    };
    let mut worst: Vec<&Swings> = Vec::new();
    for swings in tally.swings.iter().filter(|swings| swings.counted.bands.iter().any(|&count| count > 0)) {
        let order = |one: &Swings| (one.is_stated, one.counted.beyond, one.counted.used, one.counted.largest);
        match worst.iter_mut().find(|known| stage(known) == stage(swings)) {
            None => worst.push(swings),
            Some(known) if order(known) < order(swings) => *known = swings,
            Some(_) => {}
        }
    }
    if worst.is_empty() {
        return String::new();
    }
    let mut lines: Vec<String> = worst.iter().map(|swings| came_and_went(course, swings)).collect();
    let silent: Vec<&str> = worst.iter().filter(|one| !one.is_stated).map(|one| stage(one)).collect();
    if !silent.is_empty() {
        let silent = silent.join(", ");
        lines.push(format!("life not judged of {silent}: their packages state no `power_cycling`"));
    }
    if tally.uncounted > 0 {
        lines.push(format!("{} not counted", counted(tally.uncounted, "row is", "rows are")));
    }
    let mut text = String::new();
    for (place, line) in lines.iter().enumerate() {
        text.push_str(&hanging(if place == 0 { "cycles" } else { "" }, MARGIN, line));
    }
    paint.heading("cycles", &text) + "\n"
}

/// Cycles of one chip in a line.
fn came_and_went(course: &Course<'_>, swings: &Swings) -> String {
    let bands = BANDS.iter().enumerate().zip(swings.counted.bands).rev().filter(|(_, count)| *count > 0);
    let bands: Vec<String> = bands
        .map(|((band, from), count)| match BANDS.get(band + 1) {
            Some(to) => format!("{count} of {from} to {to} K"),
            None => format!("{count} of {from} K and more"),
        })
        .collect();
    let life = if swings.is_stated { format!("; {}", life(swings)) } else { String::new() };
    format!(
        "{}: largest swing {}; {}{life}",
        course.variant.path(swings.part),
        value(swings.counted.largest, Dimension::TemperatureDifference),
        bands.join(", ")
    )
}

/// What cycles use of a life, in words.
fn life(swings: &Swings) -> String {
    let Counted { below, beyond, .. } = swings.counted;
    if beyond > 0 {
        return format!(
            "life not judged: {} beyond what `power_cycling` states",
            counted(to_count(beyond), "cycle", "cycles")
        );
    }
    let small = match below {
        0 => String::new(),
        below => format!(
            ", without {} below its least swing, which are not judged",
            counted(to_count(below), "cycle", "cycles")
        ),
    };
    match swings.runs() {
        Some(runs) => format!(
            "uses {} of its life, {} such missions{small}",
            percent(swings.counted.used),
            value(runs, Dimension::Ratio)
        ),
        None if below > 0 => format!(
            "life not judged: {} below the least swing that `power_cycling` states, none within",
            counted(to_count(below), "cycle", "cycles")
        ),
        None => "uses nothing of its life".to_owned(),
    }
}

/// What the mission uses of the life of capacitors.
fn wear(course: &Course<'_>, paint: Paint) -> String {
    let all = &course.tally.wear;
    if all.is_empty() {
        return String::new();
    }
    let said = |wear: &Wear| {
        let bank = course.variant.path(wear.part);
        match (wear.used(), wear.runs()) {
            (Some(used), Some(runs)) => format!(
                "{bank}: uses {} of its life by its hot spot, {} such missions",
                percent(used),
                value(runs, Dimension::Ratio)
            ),
            _ => format!("{bank}: life not judged, not known in {}", counted(wear.unknown, "row", "rows")),
        }
    };
    let mut text = String::new();
    for (place, wear) in all.iter().enumerate() {
        text.push_str(&hanging(if place == 0 { "capacitors" } else { "" }, MARGIN, &said(wear)));
    }
    text.push_str(&hanging("", MARGIN, "a rule of thumb, each row at the hot spot that it settles at"));
    paint.heading("capacitors", &text) + "\n"
}

fn to_count(count: u64) -> usize {
    usize::try_from(count).unwrap_or(usize::MAX)
}

fn energies(course: &Course<'_>, paint: Paint) -> String {
    let energies = &course.tally.energies;
    let path = |part: PartId| course.variant.path(part).to_owned();
    let joules = |joules: f64| {
        if joules.is_finite() && energies.rows > 0 {
            value(joules, Dimension::Energy)
        } else {
            "not known".to_owned()
        }
    };
    let mut lines = Vec::new();
    for &Through { part, given, taken } in energies.sources.iter().chain(&energies.feeds) {
        let back = if taken > 0.0 { format!(", takes back {}", joules(taken)) } else { String::new() };
        lines.push(format!("{} gives {}{back}", path(part), joules(given)));
    }
    for &Through { part, given, taken } in energies.machines.iter().chain(&energies.loads) {
        let back = if given > 0.0 { format!(", gives back {}", joules(given)) } else { String::new() };
        lines.push(format!("{} takes {}{back}", path(part), joules(taken)));
    }
    for &(part, lost) in &energies.stage_losses {
        lines.push(format!("lost in {}: {}", path(part), joules(lost)));
    }
    let Kinds { conduction, switching, windings, cores } = energies.kinds;
    let kinds =
        [(conduction, "conduction"), (switching, "switching"), (windings, "windings"), (cores, "cores")];
    let kinds = kinds.iter().filter(|(lost, _)| *lost != 0.0);
    let kinds: Vec<String> = kinds.map(|(lost, what)| format!("{what} {}", joules(*lost))).collect();
    if !kinds.is_empty() {
        lines.push(format!("of it {}", kinds.join(", ")));
    }
    lines.extend(in_conductors(energies, &path, &joules));
    lines.push(closing(energies, &joules));
    for &(part, lost) in energies.source_losses.iter().filter(|(_, lost)| *lost > 0.0) {
        lines.push(format!(
            "lost inside {}, before its terminals and beside that: {}",
            path(part),
            joules(lost)
        ));
    }
    lines.push(format!(
        "lost in what the coolant cools, heat that it stores included: {}",
        joules(energies.coolant)
    ));
    if energies.rows < course.tally.rows {
        let rows = counted(course.tally.rows, "row", "rows");
        let lasts = value(energies.lasts, Dimension::Time);
        lines.push(format!("of {} of {rows}, {lasts}; what flows in the others is not known", energies.rows));
    }
    let mut text = String::new();
    for (place, line) in lines.iter().enumerate() {
        let margin = if place == 0 { "energy" } else { "" };
        text.push_str(&hanging(margin, MARGIN, line));
    }
    paint.heading("energy", &text)
}

/// What conductors lost, and the one that lost most.
fn in_conductors(
    energies: &Energies,
    path: &impl Fn(PartId) -> String,
    joules: &impl Fn(f64) -> String,
) -> Option<String> {
    let sum: f64 = energies.conductor_losses.iter().map(|(_, lost)| lost).sum();
    let most = energies.conductor_losses.iter().max_by(|(_, one), (_, other)| one.total_cmp(other))?;
    let most = if sum > 0.0 && energies.conductor_losses.len() > 1 {
        format!(", most in {}: {}", path(most.0), joules(most.1))
    } else {
        String::new()
    };
    let beyond = if energies.beyond_drawn > 0.0 {
        format!(
            "; ripple and copper warmer than the air add {}, drawn from no source",
            joules(energies.beyond_drawn)
        )
    } else {
        String::new()
    };
    Some(format!("lost in conductors: {}{most}{beyond}", joules(sum)))
}

/// How the account closes.
fn closing(energies: &Energies, joules: &impl Fn(f64) -> String) -> String {
    let (entered, left, lost) = (energies.entered(), energies.left(), energies.lost());
    let open = energies.open();
    let closes = if energies.rows == 0 || !open.is_finite() {
        "it is not known whether that closes".to_owned()
    } else {
        format!("left open {} of it", percent(open))
    };
    format!("in {} = out {} + losses {}; {closes}", joules(entered), joules(left), joules(lost))
}
