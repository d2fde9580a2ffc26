//! A bus that rises too high in words, and what would keep it lower.

use loadworthy_unit::plan::LossOfLoad as Lost;
use loadworthy_unit::trace::Operand;
use loadworthy_unit::{Dimension, Edit, FigureId, InputId, LaneId, PartId, Solved};

use super::{LOST_LOAD_VOLTAGE, NO_TRIP, across_bus};
use crate::check::{Change, Failure, Family, Proposal, Told};
use crate::collect::allowed;
use crate::figure_text::{comparison, value};
use crate::review::Place;
use crate::slowest::slowest;
use crate::steps::{family, higher_class, scaled, toward};
use crate::tell::{above, part_at, place, policy_place};
use crate::verdict::Verdict;

/// Shares of the level of the trip that are tried.
const LOWER: [f64; 6] = [0.98, 0.95, 0.92, 0.9, 0.85, 0.8];
/// Shares of its delay that are tried.
const SOONER: [f64; 9] = [0.5, 0.2, 0.1, 0.05, 0.02, 0.01, 5e-3, 2e-3, 1e-3];
/// A bank is tried up to so many times as large.
const LARGER: f64 = 4.0;
/// Sizes of a bank that are tried.
const SIZES: usize = 24;

/// The rise that a verdict is about, the part that stands least of it, and what it stands.
fn lost_of<'v>(worst: &Verdict, solved: &Solved<'v>) -> Option<(&'v Lost, PartId, InputId)> {
    let plan = &solved.variant.plan;
    let bus_of = |lost: &Lost| plan.voltage_trips[lost.trip].bus;
    let lost = plan.losses_of_load.iter().find(|lost| plan.buses[bus_of(lost)].part == worst.part)?;
    let Some(Operand::Input(limit)) = worst.comparison()?.limit_from else { return None };
    let across = across_bus(bus_of(lost), solved, worst.lane()?).into_iter().find(|(_, of)| *of == limit);
    Some((lost, across.map_or(worst.part, |(part, _)| part), limit))
}

/// A bus that nothing keeps from rising.
fn no_trip(worst: &Verdict, solved: &Solved<'_>) -> Told {
    let (variant, plan) = (solved.variant, &solved.variant.plan);
    let bus = variant.path(worst.part);
    let lost = plan
        .losses_of_load
        .iter()
        .find(|one| plan.buses[plan.voltage_trips[one.trip].bus].part == worst.part);
    let watts = lost.zip(worst.lane()).and_then(|(lost, lane)| solved.figure(lost.recovered, lane));
    let watts = watts.map_or_else(|| "what is recovered".to_owned(), |watts| value(watts, Dimension::Power));
    let saying = format!(
        "nothing switches off what lifts `{bus}` once its sink has opened: {watts} go on into its banks without end"
    );
    let at = part_at(solved, worst.part, "no `overvoltage_trip`".to_owned());
    let why = "state `overvoltage_trip` of the bus, its `voltage` and its `delay`";
    Told { no_proposal: Some(why.to_owned()), ..Told::new(saying, at) }
}

pub(super) fn told(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    if worst.defect == NO_TRIP {
        return Some(no_trip(worst, solved));
    }
    let (variant, lane, compared) = (solved.variant, worst.lane()?, worst.comparison()?);
    let plan = &variant.plan;
    let (lost, part, limit) = lost_of(worst, solved)?;
    let trip = &plan.voltage_trips[lost.trip];
    let bus = variant.path(plan.buses[trip.bus].part);
    let text = comparison(compared);
    let figure = |id: FigureId, dimension| solved.figure(id, lane).map(|known| value(known, dimension));
    let watts = figure(lost.recovered, Dimension::Power)?;
    let name = variant.path(part);
    let is_bank = plan.banks.iter().any(|bank| bank.part == part);
    let (across, of) = match (part == worst.part, is_bank) {
        (true, _) => (String::new(), "the highest voltage that is stated for it"),
        (false, true) => (format!(" across `{name}`"), "the voltage of its capacitors"),
        (false, false) => (format!(" across `{name}`"), "the blocking voltage of its device"),
    };
    let when = if part == worst.part { " before all gates are off" } else { "" };
    let saying = format!(
        "once what takes {watts} from `{bus}` opens, it rises to {}{across}{when}, {}",
        text.carried,
        above(compared, of)
    );
    let at = place(solved, limit, lane, format!("stands {}", text.limit))
        .unwrap_or_else(|| part_at(solved, worst.part, format!("{} here", text.carried)));
    let stated = |input: InputId, dimension| solved.input(input, lane).map(|known| value(known, dimension));
    let mut because: Vec<Place> = Vec::new();
    because.extend(stated(trip.level, Dimension::Voltage).and_then(|volts| {
        let late = figure(trip.highest, Dimension::Voltage)?;
        let delay = value(slowest(trip.delay, trip.acting, solved, lane).1, Dimension::Time);
        place(
            solved,
            trip.level,
            lane,
            format!("{volts}: {late} at the latest, gates off {delay} after that"),
        )
    }));
    because.extend(plan.buses[trip.bus].ripple.banks.iter().filter_map(|&bank| {
        let parts = plan.banks[bank].parts;
        let farad = solved.input(parts, lane)? * solved.input(plan.banks[bank].each.capacitance, lane)?;
        place(solved, parts, lane, format!("{} takes it", value(farad, Dimension::Capacitance)))
    }));
    because.extend(compared.policy.and_then(|item| policy_place(solved, item)));
    let off = figure(lost.as_gates_go_off, Dimension::Voltage)?;
    let after = figure(lost.time, Dimension::Time)?;
    let mut worked = vec![format!(
        "{off} as the gates go off, {after} after the opening; then what windings and chokes hold"
    )];
    worked.extend(lost.machines.iter().filter_map(|machine| {
        let bridge = plan.stages[machine.stage].bridge()?;
        let crest = solved.figure(bridge.figures.phase_current_peak, lane).filter(|amps| *amps > 0.0)?;
        let name = variant.path(bridge.machine?);
        Some(format!("{name}: a crest of {} in its phases", value(crest, Dimension::Current)))
    }));
    Some(Told { because, worked, ..Told::new(saying, at) })
}

pub(super) fn propose(failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
    let worst = failure.worst;
    let (Some(lane), Some(compared), Some((lost, part, limit))) =
        (worst.lane(), worst.comparison(), lost_of(worst, solved))
    else {
        return Vec::new();
    };
    let plan = &solved.variant.plan;
    let trip = &plan.voltage_trips[lost.trip];
    let mut families = larger_banks(lost, solved, lane);
    families.push(family(
        "trip down to",
        scaled("overvoltage trip", &[trip.level], Dimension::Voltage, &LOWER, solved, lane),
    ));
    // Where the gates go off too late the rest does not matter.
    if solved.figure(lost.as_gates_go_off, lane).is_some_and(|volts| volts > compared.allowed) {
        let (delay, _) = slowest(trip.delay, trip.acting, solved, lane);
        let what = if delay == trip.delay { "delay of the trip" } else { "delay of the driver" };
        families
            .push(family("delay down to", scaled(what, &[delay], Dimension::Time, &SOONER, solved, lane)));
    }
    let over = compared.carried_value / compared.allowed;
    families.push(if part == worst.part {
        toward("highest voltage of the bus", limit, (Dimension::Voltage, ""), over, solved, lane)
    } else if plan.banks.iter().any(|bank| bank.part == part) {
        toward("voltage of each capacitor", limit, (Dimension::Voltage, ""), over, solved, lane)
    } else {
        let left = solved.variant.policy(&LOST_LOAD_VOLTAGE).map_or(f64::NAN, |item| item.stated.value);
        let needed = compared.carried_value / allowed(&LOST_LOAD_VOLTAGE, 1.0, left);
        higher_class(limit, needed, solved, lane)
    });
    families
}

/// More capacitors in a bank of the bus, from one more on.
fn larger_banks(lost: &Lost, solved: &Solved<'_>, lane: LaneId) -> Vec<Family> {
    let plan = &solved.variant.plan;
    let banks = &plan.buses[plan.voltage_trips[lost.trip].bus].ripple.banks;
    let larger = |&bank: &usize| {
        let parts = plan.banks[bank].parts;
        let now = solved.input(parts, lane)?;
        let step = ((LARGER - 1.0) * now / 24.0).ceil().max(1.0);
        let mut count = now;
        let mut ladder = Vec::new();
        while ladder.len() < SIZES && count + step <= LARGER * now {
            count += step;
            let name = solved.variant.path(plan.banks[bank].part);
            let say = format!("capacitors of {name}: {now} -> {count}");
            let edit = (Edit { input: parts, value: count }, count.to_string());
            ladder.push(Proposal { say, change: Change::Edit(vec![edit]) });
        }
        Some(family("capacitors up to", ladder))
    };
    banks.iter().filter_map(larger).collect()
}
