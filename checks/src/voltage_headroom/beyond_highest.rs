//! A bus against the highest voltage that it states: what a duty point, or a source that stands on it, puts on it is no more.
//!
//! Everything that is held against a bus is held against the larger of both, so that nothing is judged too well. But what hangs on the
//! bus and is not described was chosen by the number that is stated.

use loadworthy_unit::plan::Bus;
use loadworthy_unit::{Dimension, InputId, LaneId, Solved};

use super::BEYOND_HIGHEST;
use crate::check::{Family, Told};
use crate::collect::{Limit, Subject, Verdicts, compare, outcome};
use crate::figure_text::comparison;
use crate::steps::toward;
use crate::tell::{above, part_at, place};
use crate::verdict::{Grade, Outcome, Verdict};

pub(super) fn judge(bus: &Bus, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    if solved.input(bus.highest, lane).is_none() || trips_before(bus, solved, lane) {
        return;
    }
    let carried = (bus.highest_voltage, Dimension::Voltage);
    let compared = compare(solved, lane, carried, Limit::Input(bus.highest), None);
    // A bus that comes to what it states has no headroom, and needs none.
    let outcome = match outcome(compared, Grade::Major) {
        Outcome::Holds(_) => Outcome::Holds(None),
        other => other,
    };
    let subject = Subject { part: bus.part, defect: BEYOND_HIGHEST, lane: Some(lane), kin: None };
    out.put(solved, subject, outcome, Vec::new());
}

/// Whether the trip of a bus may respond to the voltage of service: that is told of the trip.
fn trips_before(bus: &Bus, solved: &Solved<'_>, lane: LaneId) -> bool {
    let plan = &solved.variant.plan;
    let mut trips = plan.voltage_trips.iter().filter(|trip| plan.buses[trip.bus].part == bus.part);
    trips.any(|trip| {
        let levels = solved.figure(trip.lowest, lane).zip(solved.figure(trip.normal, lane));
        levels.is_some_and(|(level, normal)| normal > level)
    })
}

fn bus_of<'v>(worst: &Verdict, solved: &Solved<'v>) -> Option<&'v Bus> {
    solved.variant.plan.buses.iter().find(|bus| bus.part == worst.part)
}

pub(super) fn told(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let (variant, lane, compared) = (solved.variant, worst.lane()?, worst.comparison()?);
    let bus = bus_of(worst, solved)?;
    let text = comparison(compared);
    let stated = format!("{} at most", text.limit);
    let at =
        place(solved, bus.highest, lane, stated.clone()).unwrap_or_else(|| part_at(solved, bus.part, stated));
    let source = source_above(bus, compared.limit, solved, lane);
    let because = match source {
        Some((most, _)) => place(solved, most, lane, format!("comes to {}", text.carried)),
        None => place(solved, bus.stated, lane, format!("{} here", text.carried)),
    };
    let by = match source {
        Some((_, name)) => format!("`{name}` may bring"),
        None => format!("`{}` puts", variant.duty_of(lane).name),
    };
    let (part, excess) = (variant.path(bus.part), above(compared, "the highest that it states"));
    let saying = format!("{by} `{part}` to {}, {excess}", text.carried);
    Some(Told { because: because.into_iter().collect(), ..Told::new(saying, at) })
}

/// The source whose highest open-circuit voltage is above what its bus states, where that is what counts.
fn source_above<'s>(
    bus: &Bus,
    highest: f64,
    solved: &'s Solved<'_>,
    lane: LaneId,
) -> Option<(InputId, &'s str)> {
    let sources = bus.sources.iter().map(|&source| &solved.variant.plan.sources[source]);
    let spans = sources.filter_map(|source| Some((source, source.limits.open_circuit?.1)));
    let mut above = spans.filter(|&(_, most)| solved.input(most, lane).is_some_and(|most| most > highest));
    above.next().map(|(source, most)| (most, solved.variant.path(source.part)))
}

/// A bus that states as much: what hangs on it has to stand that.
pub(super) fn propose(worst: &Verdict, solved: &Solved<'_>) -> Vec<Family> {
    let found = bus_of(worst, solved).zip(worst.lane()).zip(worst.comparison());
    let Some(((bus, lane), compared)) = found else { return Vec::new() };
    let name = format!("highest voltage of `{}`", solved.variant.path(bus.part));
    let more = compared.carried_value / compared.allowed;
    vec![toward(&name, bus.highest, (Dimension::Voltage, ""), more, solved, lane)]
}
