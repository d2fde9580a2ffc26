//! Failures of sources in words, and what a source would have to stand.

use std::collections::BTreeMap;

use loadworthy_unit::plan::Source;
use loadworthy_unit::trace::Operand;
use loadworthy_unit::{Dimension, Edit, InputId, LaneId, Solved};

use super::rating::{Asks, Rating, Way, of_current};
use super::{ABSORBS, BEYOND_CURVE, CHARGE, CYCLE, DISCHARGE, OTHER_VOLTAGE, POWER, SPAN, at_its_share};
use crate::check::{Change, Failure, Family, Proposal, Told};
use crate::consumers::heaviest;
use crate::cycle::Cycle;
use crate::figure_text::{comparison, value, written};
use crate::review::Place;
use crate::steps::as_written;
use crate::tell::{above, part_at, place, policy_place};
use crate::verdict::{Comparison, Verdict};

/// A failure of a source in words.
pub(super) fn told(source: &Source, worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    if worst.defect == SPAN {
        return outside(source, worst, solved);
    }
    if worst.defect == BEYOND_CURVE {
        return beyond_curve(source, worst, solved);
    }
    if worst.defect == OTHER_VOLTAGE {
        return at_its_share::told(source, worst, solved);
    }
    let (variant, lane) = (solved.variant, worst.lane()?);
    let compared = worst.comparison()?;
    let (part, duty) = (variant.path(source.part), &variant.duty_of(lane).name);
    let carried = comparison(compared).carried;
    let takes = solved.figure(source.carries(), lane).is_some_and(|current| current < 0.0);
    let verb = if takes { "takes" } else { "gives" };
    let mut worked = Vec::new();
    let (saying, label) = match worst.defect {
        ABSORBS => (
            format!("`{part}` is to take {carried} back in `{duty}`, and cannot take any"),
            "takes nothing back".to_owned(),
        ),
        CYCLE => {
            let cycle = Cycle::of(source.carries(), solved, lane).ok()??;
            let (over, limit) = (over(&cycle, solved, lane), rated(compared, source, worst, solved));
            worked.push(cycle.worked());
            (
                format!(
                    "`{part}` carries {carried} as RMS over its cycle ({over}), {}",
                    above(compared, &limit)
                ),
                format!("{} continuous", value(compared.limit, Dimension::Current)),
            )
        }
        _ => {
            let limit = rated(compared, source, worst, solved);
            let long = lasts(compared, source).map_or_else(
                || "continuous".to_owned(),
                |lasts| format!("for {}", value(lasts, Dimension::Time)),
            );
            let stands = format!("{} {long}", value(compared.limit, compared.dimension));
            (format!("`{part}` {verb} {carried} in `{duty}`, {}", above(compared, &limit)), stands)
        }
    };
    let at = match compared.limit_from {
        Some(Operand::Input(limit)) => place(solved, limit, lane, label.clone()),
        _ => None,
    };
    let at = at.unwrap_or_else(|| part_at(solved, source.part, label));
    let mut because: Vec<Place> =
        source.bus.and_then(|bus| heaviest(solved, bus, takes, lane)).into_iter().collect();
    because.extend(voltage(source, solved, lane));
    because.extend(compared.policy.and_then(|item| policy_place(solved, item)));
    let no_proposal = (worst.defect == ABSORBS).then(|| {
        "what comes back needs a battery on the bus, a brake resistor, or less braking: each would be another concept"
            .to_owned()
    });
    Some(Told { because, worked, no_proposal, ..Told::new(saying, at) })
}

/// `its discharge rating for 20 s`.
fn rated(compared: &Comparison, source: &Source, worst: &Verdict, solved: &Solved<'_>) -> String {
    let what = match worst.defect {
        CHARGE => "charge rating",
        POWER => "power rating",
        _ => "discharge rating",
    };
    let is_short = worst.lane().is_some_and(|lane| solved.variant.duty_of(lane).lasts.is_some());
    match lasts(compared, source) {
        Some(lasts) => format!("its {what} for {}", value(lasts, Dimension::Time)),
        None if too_often(source, worst, solved).is_some() => {
            let apart = too_often(source, worst, solved)
                .map_or_else(String::new, |apart| value(apart, Dimension::Time));
            format!("its continuous {what}, as the peak that lasts so long may recur every {apart} at most,")
        }
        // A short time that no peak covers is worth a word.
        None if worst.defect != CYCLE && is_short => {
            format!("its continuous {what}, as no peak lasts so long,")
        }
        None => format!("its continuous {what}"),
    }
}

/// How far apart peaks have to be that would cover a failing duty point, where it recurs sooner.
fn too_often(source: &Source, worst: &Verdict, solved: &Solved<'_>) -> Option<f64> {
    let lane = worst.lane()?;
    let duty = solved.variant.duty_of(lane);
    let limits = match worst.defect {
        POWER => source.limits.power.as_slice(),
        CHARGE => of_current(source, Way::Taking),
        DISCHARGE => of_current(source, Way::Giving),
        _ => return None,
    };
    Rating::of(limits, Asks::of(duty), solved, lane).ok()?.too_often
}

/// How long the rating may last that something was held against; nothing where it is one for good.
fn lasts(compared: &Comparison, source: &Source) -> Option<f64> {
    let limits = &source.limits;
    let mut all = limits.discharge.iter().chain(&limits.charge).chain(&limits.power);
    let own = all.find(|own| compared.limit_from == Some(Operand::Input(own.most)));
    own.map(|own| own.lasts).filter(|lasts| lasts.is_finite())
}

/// `312 A for 20 s of every 1 min, 110 A between in travel`.
fn over(cycle: &Cycle, solved: &Solved<'_>, lane: LaneId) -> String {
    let variant = solved.variant;
    let amps = |amps| value(amps, Dimension::Current);
    let time = |seconds| value(seconds, Dimension::Time);
    let between = match variant.duty_of(lane).starts_from {
        Some(from) => format!("{} between in `{}`", amps(cycle.between), variant.duties[from.index()].name),
        None => "nothing between".to_owned(),
    };
    format!("{} for {} of every {}, {between}", amps(cycle.current), time(cycle.lasts), time(cycle.every))
}

/// The voltage that makes a current of a power.
fn voltage(source: &Source, solved: &Solved<'_>, lane: LaneId) -> Option<Place> {
    let at = solved.figure(source.terminal_voltage, lane)?;
    // The largest current of several sources flows at other resistances than this voltage is solved for.
    let at_which = if source.largest_current.is_some() { ", all resistances at their highest" } else { "" };
    let leaves = format!("leaves {} at the terminals{at_which}", value(at, Dimension::Voltage));
    let stated = [source.open_circuit, source.terminal];
    let stated = stated.into_iter().find(|&input| solved.input(input, lane).is_some())?;
    place(solved, stated, lane, leaves)
}

fn outside(source: &Source, worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let (variant, lane) = (solved.variant, worst.lane()?);
    let (lowest, highest) = source.limits.open_circuit?;
    let volts = solved.input(source.open_circuit, lane)?;
    let (low, high) = (solved.input(lowest, lane)?, solved.input(highest, lane)?);
    let text = |volts| value(volts, Dimension::Voltage);
    let (part, duty) = (variant.path(source.part), &variant.duty_of(lane).name);
    let (way, end, end_input, word) =
        if volts < low { ("below", low, lowest, "lowest") } else { ("above", high, highest, "highest") };
    let saying = format!(
        "`{duty}` puts {} behind the resistance of `{part}`, {way} the {} that its open-circuit voltage is at {word}",
        text(volts),
        text(end)
    );
    let label = format!("{way} the span of {} to {}", text(low), text(high));
    let at = place(solved, source.open_circuit, lane, label.clone())
        .unwrap_or_else(|| part_at(solved, source.part, label));
    let because = place(solved, end_input, lane, format!("{} at {word}", text(end))).into_iter().collect();
    let facts = vec![format!("stated {}", text(volts)), format!("span {} to {}", text(low), text(high))];
    let no_proposal =
        Some("the duty point or the span of the source is wrong; which, only a person knows".to_owned());
    Some(Told { because, facts, no_proposal, ..Told::new(saying, at) })
}

/// A share beyond the end of the curve of a fuel cell.
fn beyond_curve(source: &Source, worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let (variant, lane) = (solved.variant, worst.lane()?);
    let (amps, watts) = source.curve_end?;
    let ends =
        [(source.share_current, amps, Dimension::Current), (source.share_power, watts, Dimension::Power)];
    let (share, asked, end, dimension) = ends
        .into_iter()
        .find_map(|(share, end, dimension)| Some((share, solved.input(share, lane)?, end, dimension)))?;
    let (part, duty) = (variant.path(source.part), &variant.duty_of(lane).name);
    let (asked, end) = (value(asked, dimension), value(end, dimension));
    let saying = format!("`{part}` is to give {asked} in `{duty}`, and its polarisation curve ends at {end}");
    let label = format!("{asked}, where the curve ends at {end}");
    let at = place(solved, share, lane, label.clone()).unwrap_or_else(|| part_at(solved, source.part, label));
    let because = vec![part_at(solved, source.part, format!("gives up to {end}"))];
    let facts = vec![format!("stated {asked}"), format!("the curve ends at {end}")];
    let no_proposal = Some("ask less of it, or state its curve as far as it may be used".to_owned());
    Some(Told { because, facts, no_proposal, ..Told::new(saying, at) })
}

/// The next number of two digits from a number up, as ratings are written.
fn two_digits_up(number: f64) -> f64 {
    if !(number.is_finite() && number > 0.0) {
        return number;
    }
    let step = libm::pow(10.0, libm::floor(libm::log10(number)) - 1.0);
    // What is such a number already stays it, whatever rounding made of it.
    (number / step * (1.0 - 1e-12)).ceil() * step
}

/// The ratings that a source would need to hold every failing duty point.
pub(super) fn larger_source(source: &Source, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Family> {
    let mut needed: BTreeMap<InputId, (f64, Dimension)> = BTreeMap::new();
    for verdict in failure.all {
        let compared = verdict.comparison()?;
        let Some(Operand::Input(limit)) = compared.limit_from else { return None };
        if limit == source.absorbs || compared.allowed <= 0.0 {
            return None;
        }
        let rating = compared.limit * compared.carried_value / compared.allowed;
        let entry = needed.entry(limit).or_insert((0.0, compared.dimension));
        entry.0 = entry.0.max(rating);
    }
    let lane = failure.worst.lane()?;
    // A larger source has another resistance as well; what is stated stays, and the current with it.
    let ladder: Vec<Proposal> = [1.0, 1.02, 1.05]
        .into_iter()
        .map(|factor| {
            let ratings: Vec<(InputId, f64, Dimension)> = needed
                .iter()
                .map(|(&input, &(rating, dimension))| {
                    (input, as_written(two_digits_up(rating * factor)), dimension)
                })
                .collect();
            rated_at(&ratings, solved, lane)
        })
        .collect();
    let last = ladder.last()?.edits().iter().map(|(_, text)| text.clone()).collect::<Vec<_>>().join(" and ");
    Some(Family { tried: format!("a source that stands {last}"), ladder })
}

fn rated_at(ratings: &[(InputId, f64, Dimension)], solved: &Solved<'_>, lane: LaneId) -> Proposal {
    let mut said = Vec::new();
    let mut edits = Vec::new();
    for &(input, rating, dimension) in ratings {
        let path = &solved.variant.tables.input_of(input).path;
        let now = solved.input(input, lane).map_or_else(String::new, |now| value(now, dimension));
        said.push(format!(
            "{}: {now} -> {}",
            path.strip_prefix("sources.").unwrap_or(path),
            value(rating, dimension)
        ));
        edits.push((Edit { input, value: rating }, written(rating, dimension)));
    }
    Proposal { say: format!("{} (another source)", said.join(" and ")), change: Change::Edit(edits) }
}
