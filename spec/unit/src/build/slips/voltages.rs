//! Voltages that what stands beside them speaks against: of a bus its trip, its sources and its nominal voltage, and of a source its bus.

use loadworthy_language::Description;
use loadworthy_language::defaults::VOLTAGE_TRIP_TOLERANCE;
use loadworthy_language::quantity::Given;
use loadworthy_language::sections::buses::Bus;
use loadworthy_language::sections::duty::DutyPoint;
use loadworthy_language::sections::sources::{Battery, Source, VoltageSpan};
use loadworthy_physics::Voltage;

use super::typed::{mistyped, two_digits_above, two_digits_below, written};
use super::{Draft, MOST_STRANGE, Seen};
use crate::slip::Move;

/// How far above all that stands beside it the highest voltage of a bus is no suspicion: with a trip, with a source, with neither. A
/// nominal voltage alone says little: a load that drops off may lift a net to twice as much.
const ROOM: [f64; 3] = [1.1, 1.25, 3.0];
/// A voltage that was meant lies no further above what speaks for it.
const FAR: f64 = 1.5;
/// How far round numbers stand from what speaks for them: a bus rises further before its trip has acted.
const FURTHER: [f64; 3] = [1.0, 1.02, 1.05];

/// What stands beside the highest voltage of a bus, in V; zero where it is not stated.
struct Beside {
    /// The level at which its latest unit trips, and its earliest.
    trips: Option<(f64, f64)>,
    /// The highest that a source here brings without a load.
    source: f64,
    /// The highest at which it is held in service.
    held: f64,
}

impl Beside {
    fn of(seen: &Seen<'_>, name: &str, bus: &Bus) -> Self {
        let plan = &seen.variant.plan;
        let place = plan.buses.iter().position(|one| seen.path(one.part) == name);
        let sources = plan.sources.iter().filter(|source| source.bus.is_some() && source.bus == place);
        let source = highest(sources.filter_map(|source| source.without_load));
        let trip = bus.overvoltage_trip.as_ref();
        let tolerance = trip.and_then(|trip| trip.tolerance.as_ref());
        let tolerance = tolerance.map_or(VOLTAGE_TRIP_TOLERANCE.value, |share| share.value());
        let level = trip.and_then(|trip| trip.voltage.as_ref()).map(|volts| volts.si());
        let trips = level.map(|level| (level * (1.0 + tolerance), level * (1.0 - tolerance)));
        Self { trips, source, held: bus.nominal.as_ref().map_or(0.0, |volts| volts.si()) }
    }

    /// The least that the bus must be made for.
    fn least(&self) -> f64 {
        let trip = self.trips.map_or(0.0, |(latest, _)| latest);
        highest([trip, self.source, self.held].into_iter())
    }

    fn room(&self) -> f64 {
        let [trip, source, neither] = ROOM;
        if self.trips.is_some() {
            trip
        } else if self.source > 0.0 {
            source
        } else {
            neither
        }
    }
}

/// The highest of some voltages; none where one of them could not be read.
fn highest(all: impl Iterator<Item = f64>) -> f64 {
    all.fold(0.0, |most: f64, one| if most.is_nan() || one.is_nan() { f64::NAN } else { most.max(one) })
}

/// The highest voltage of a bus far above, or below, what its trip, its sources and its nominal voltage say.
pub(super) fn of_buses(seen: &Seen<'_>, out: &mut Vec<Draft>) {
    for (name, _, bus) in seen.description.buses.readable() {
        let Some(now) = bus.highest else { continue };
        let beside = Beside::of(seen, name, bus);
        let (least, most) = (beside.least(), beside.least() * FAR);
        let is_strange = now.si() < least || least * beside.room() < now.si();
        if least <= 0.0 || !is_strange {
            continue;
        }
        let typed = mistyped(now.si()).into_iter().filter(|volts| (least..=most).contains(volts));
        let round = FURTHER.map(|further| two_digits_above(least * further));
        draft(seen, ("buses", name, "highest"), now, typed.chain(round), out, |all, volts| {
            all.buses.change(name, |bus| bus.highest = Some(volts));
        });
    }
}

/// A trip of a bus at a level that its latest unit has beyond what the bus is made for.
pub(super) fn of_trips(seen: &Seen<'_>, out: &mut Vec<Draft>) {
    for (name, _, bus) in seen.description.buses.readable() {
        let beside = Beside::of(seen, name, bus);
        let (Some(highest), Some((latest, _))) = (bus.highest, beside.trips) else { continue };
        let Some(now) = bus.overvoltage_trip.as_ref().and_then(|trip| trip.voltage) else { continue };
        if latest <= highest.si() {
            continue;
        }
        let most = highest.si() * now.si() / latest;
        let is_between = |volts: &f64| beside.source.max(beside.held) < *volts && *volts <= most;
        let round = FURTHER.map(|further| two_digits_below(most / further));
        let meant = mistyped(now.si()).into_iter().chain(round).filter(is_between);
        draft(seen, ("buses", name, "overvoltage_trip.voltage"), now, meant, out, |all, volts| {
            all.buses.change(name, |bus| {
                if let Some(trip) = bus.overvoltage_trip.as_mut() {
                    trip.voltage = Some(volts);
                }
            });
        });
    }
}

/// A battery that brings more than its bus is made for or trips at, or is as good as empty where it says nominal.
pub(super) fn of_sources(seen: &Seen<'_>, out: &mut Vec<Draft>) {
    for (name, _, source) in seen.description.sources.readable() {
        let Source::Battery(Battery { open_circuit: Some(span), .. }) = source else { continue };
        let nominal = span.nominal.or(span.lowest).map_or(0.0, |volts| volts.si());
        let stands = stands(seen, name).unwrap_or(nominal * FAR);
        if let Some(now) = span.highest.filter(|now| stands < now.si()) {
            let is_between = |volts: &f64| nominal <= *volts && *volts <= stands;
            let typed = mistyped(now.si()).into_iter().filter(is_between);
            let round =
                FURTHER.map(|further| two_digits_below(stands / further)).into_iter().filter(is_between);
            draft(
                seen,
                ("sources", name, "open_circuit.highest"),
                now,
                typed.chain(round),
                out,
                |all, volts| {
                    change_span(all, name, |span| span.highest = Some(volts));
                },
            );
        }
        if let Some(now) = span.lowest.filter(|now| now.si() * FAR < nominal) {
            let typed = mistyped(now.si()).into_iter();
            let typed = typed.filter(|volts| (nominal / FAR..=nominal).contains(volts));
            draft(seen, ("sources", name, "open_circuit.lowest"), now, typed, out, |all, volts| {
                change_span(all, name, |span| span.lowest = Some(volts));
            });
        }
    }
}

/// What the bus of a source is made for, less than the level at which its earliest unit trips.
fn stands(seen: &Seen<'_>, source: &str) -> Option<f64> {
    let plan = &seen.variant.plan;
    let source = plan.sources.iter().find(|one| seen.path(one.part) == source)?;
    let name = seen.path(plan.buses[source.bus?].part);
    let bus = seen.description.buses.entry(name)?;
    let earliest = Beside::of(seen, name, bus).trips.map(|(_, earliest)| earliest);
    let highest = bus.highest.map(|volts| volts.si());
    [highest, earliest].into_iter().flatten().reduce(f64::min)
}

fn change_span(all: &mut Description, name: &str, change: impl FnOnce(&mut VoltageSpan)) {
    all.sources.change(name, |source| {
        if let Source::Battery(Battery { open_circuit: Some(span), .. }) = source {
            change(span);
        }
    });
}

/// A duty point that puts more on a bus than that is made for, or a voltage behind a battery that it never has.
pub(super) fn of_duties(seen: &Seen<'_>, out: &mut Vec<Draft>) {
    for (name, _, duty) in seen.description.duty.readable() {
        for (bus, &now) in duty.buses.iter().flatten() {
            let written = seen.description.buses.entry(bus);
            let Some(highest) = written.and_then(|bus| bus.highest).filter(|most| most.si() < now.si())
            else {
                continue;
            };
            let nominal = written.and_then(|bus| bus.nominal).map_or(0.0, |volts| volts.si());
            let typed = mistyped(now.si()).into_iter();
            let typed = typed.filter(|volts| (nominal / FAR..=highest.si()).contains(volts));
            let others = others(seen, name, |duty| duty.buses.as_ref()?.get(bus).copied());
            let fitting = others.filter(|volts| *volts <= highest.si());
            let key = format!("buses.{bus}");
            draft(seen, ("duty", name, &key), now, typed.chain(fitting), out, |all, volts| {
                all.duty.change(name, |duty| {
                    duty.buses.as_mut().and_then(|all| all.insert(bus.clone(), volts));
                });
            });
        }
        for (source, state) in duty.sources.iter().flatten() {
            let Some(Source::Battery(Battery { open_circuit: Some(span), .. })) =
                seen.description.sources.entry(source)
            else {
                continue;
            };
            let ends = span.lowest.zip(span.highest).map(|(low, high)| low.si()..=high.si());
            let Some((ends, now)) =
                ends.zip(state.open_circuit).filter(|(ends, now)| !ends.contains(&now.si()))
            else {
                continue;
            };
            let typed = mistyped(now.si()).into_iter().filter(|volts| ends.contains(volts));
            let others = others(seen, name, |duty| duty.sources.as_ref()?.get(source)?.open_circuit);
            let fitting = others.filter(|volts| ends.contains(volts));
            let key = format!("sources.{source}.open_circuit");
            draft(seen, ("duty", name, &key), now, typed.chain(fitting), out, |all, volts| {
                all.duty.change(name, |duty| {
                    if let Some(state) = duty.sources.as_mut().and_then(|all| all.get_mut(source)) {
                        state.open_circuit = Some(volts);
                    }
                });
            });
        }
    }
}

/// What the other duty points state in its place.
fn others<'s>(
    seen: &Seen<'s>,
    name: &'s str,
    of: impl Fn(&DutyPoint) -> Option<Given<Voltage>> + 's,
) -> impl Iterator<Item = f64> + 's {
    let all = seen.description.duty.readable().filter(move |(other, ..)| *other != name);
    all.filter_map(move |(.., duty)| of(duty).map(|volts| volts.si()))
}

/// The description with each of a few voltages in the place of the one that is stated.
fn draft(
    seen: &Seen<'_>,
    (section, entry, key): (&'static str, &str, &str),
    now: Given<Voltage>,
    meant: impl Iterator<Item = f64>,
    out: &mut Vec<Draft>,
    change: impl Fn(&mut Description, Given<Voltage>),
) {
    let mut all: Vec<f64> = Vec::new();
    for volts in meant {
        let is_known = all.iter().chain([&now.si()]).any(|known| known.to_bits() == volts.to_bits());
        if !is_known && all.len() < MOST_STRANGE {
            all.push(volts);
        }
    }
    for volts in all {
        let moves = vec![Move {
            path: format!("{section}.{entry}.{key}"),
            entry: entry.to_owned(),
            key: key.to_owned(),
            now: written(now.si()),
            then: written(volts),
            at: now.at,
            word: written(now.si()),
            meant: written(volts),
            word_at: now.at,
        }];
        let there = Given { value: Voltage::new(volts), at: now.at };
        out.push(seen.draft(moves, |all| change(all, there)));
    }
}
