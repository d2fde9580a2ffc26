//! What control and protection must know: phase currents, leg currents, bus voltages, temperatures.
//!
//! A rule of practice, not of physics: two of three phase currents, because the third is minus their sum; one current for
//! each leg of a chopper, because legs divide their current by chance alone; the voltage of the bus that a bridge works from
//! or another stage holds, known to its own controller, and that of the bus which a boost or buck works from, known to any; a
//! temperature in each stage and in the coolant that arrives. A trip that is stated is no matter of practice: without what
//! it watches it never acts.

use loadworthy_unit::plan::{Driver, Quantity, Sensor, Topology};
use loadworthy_unit::{InputId, PartId};

use super::{Addition, BLIND_TRIP, Found, UNMEASURED, UNREAD, View, listed, place};
use crate::check::Told;
use crate::review::Place;
use crate::verdict::{Grade, Missing};

/// Places that are shown beside the first.
const MOST_PLACES: usize = 4;

/// What lacks, and the entry that would measure it.
struct Lack {
    quantity: Quantity,
    what: String,
    entry: String,
    /// The barrier that it would pass, where one is known.
    barrier: Option<String>,
    /// Whether nothing of it is measured at all.
    is_bare: bool,
}

/// What lacks of a stage, as one finding.
struct Open {
    stage: usize,
    defect: &'static str,
    /// The level of the trip that is blind without it.
    level: Option<InputId>,
    lacks: Vec<Lack>,
    /// Stages that lack the same for the same controllers: one sensor that they shared, as far as anyone can tell.
    with: Vec<usize>,
}

/// One finding for each stage, whatever of it is not measured, or for stages that lack one sensor; one for each bus, and one
/// for the coolant.
pub(super) fn stages(view: &View<'_, '_>, all: &mut Vec<Found>) {
    let mut open: Vec<Open> = Vec::new();
    let unread = view.waits_for(view.control.sensors_stated);
    for stage in 0..view.plan.stages.len() {
        if unread.is_some() {
            // Where the whole section lacks, one verdict says so for the unit.
            all.push(found(view, view.plan.stages[stage].part, Vec::new(), unread));
            return;
        }
        let trip = view.plan.current_trips.iter().find(|trip| trip.stage == stage);
        let trip = trip.filter(|trip| view.variant.tables.is_written(trip.level));
        let (currents, temperature) = (currents(view, stage), temperature(view, stage));
        let level = trip.map(|trip| trip.level);
        // Where all of it is measured, and for another controller, the stage obeys the wrong one: that is one slip.
        let is_for_another = |lack: &Option<Lack>| lack.as_ref().is_some_and(|lack| !lack.is_bare);
        let is_one = is_for_another(&currents) && is_for_another(&temperature);
        let all_lacks = |one: Option<Lack>, other: Option<Lack>| one.into_iter().chain(other).collect();
        let (of_trip, of_practice): (Vec<Lack>, Vec<Lack>) = match trip {
            Some(_) if is_one => (all_lacks(currents, temperature), Vec::new()),
            Some(_) => (all_lacks(currents, None), all_lacks(temperature, None)),
            None => (Vec::new(), all_lacks(currents, temperature)),
        };
        if trip.is_some() {
            join(
                view,
                &mut open,
                Open { stage, defect: BLIND_TRIP, level, lacks: of_trip, with: Vec::new() },
            );
        }
        let own = Open { stage, defect: UNMEASURED, level: None, lacks: of_practice, with: Vec::new() };
        join(view, &mut open, own);
    }
    all.extend(open.into_iter().map(|open| of_stages(view, open)));
    for bus in 0..view.plan.buses.len() {
        voltage(view, bus, all);
    }
    if let Some(coolant) = &view.plan.coolant {
        let inlet =
            view.control.sensors.iter().filter(|sensor| sensor.measures == Some(Quantity::Temperature));
        let is_known = inlet.flat_map(|sensor| &sensor.of).any(|of| is_of_coolant(view, &of.value));
        let lack = (!is_known).then(|| Lack {
            quantity: Quantity::Temperature,
            is_bare: true,
            what: "nothing measures the temperature of the coolant".to_owned(),
            entry: "coolant_temperature: { measures: temperature, of: [cooling] }".to_owned(),
            barrier: None,
        });
        all.push(found(view, coolant.part, lack.into_iter().collect(), None));
    }
}

fn found(view: &View<'_, '_>, part: PartId, lacks: Vec<Lack>, unread: Option<Missing>) -> Found {
    let in_order = unread.map_or(Ok(lacks.is_empty()), |missing| Err(vec![missing]));
    let told = (in_order == Ok(false)).then(|| {
        let at = view.at(part, "not measured, by the rules of practice");
        let (told, addition) = told(&lacks, at);
        (told, Some(addition))
    });
    Found { part, defect: UNMEASURED, in_order, grade: Grade::Minor, names: Vec::new(), told }
}

/// Adds what lacks of a stage, to that of an earlier one where both lack one sensor.
fn join(view: &View<'_, '_>, all: &mut Vec<Open>, own: Open) {
    let lacking = |of: &Open| of.lacks.iter().map(|lack| (lack.quantity, lack.is_bare)).collect::<Vec<_>>();
    let is_bare = !own.lacks.is_empty() && own.lacks.iter().all(|lack| lack.is_bare);
    let commanders = view.commanders(own.stage);
    let shared = all.iter_mut().find(|known| {
        is_bare
            && (known.defect, lacking(known)) == (own.defect, lacking(&own))
            && !commanders.is_empty()
            && view.commanders(known.stage) == commanders
    });
    match shared {
        Some(known) => {
            known.with.push(own.stage);
            known.lacks.extend(own.lacks);
        }
        None => all.push(own),
    }
}

/// What lacks of a stage, and of those that lack the same with it.
fn of_stages(view: &View<'_, '_>, open: Open) -> Found {
    let Open { stage, defect, level, lacks, with } = open;
    let part = view.plan.stages[stage].part;
    let mut found = match level {
        None => found(view, part, lacks, None),
        Some(level) => {
            let names: Vec<String> =
                [stage].iter().chain(&with).map(|&one| format!("`{}`", view.stage(one))).collect();
            let says = match with.as_slice() {
                [] => format!("the trip of {} is blind", listed(&names)),
                _ => format!("the trips of {} are blind", listed(&names)),
            };
            blind(view, part, (level, says), lacks)
        }
    };
    if let Some((told, _)) = &mut found.told {
        let others = with.iter().take(MOST_PLACES);
        told.because.extend(others.map(|&other| view.at(view.plan.stages[other].part, "nor here")));
    }
    Found { defect, ..found }
}

/// A trip that is stated acts on nothing where what it watches is not measured.
fn blind(view: &View<'_, '_>, part: PartId, (level, says): (InputId, String), lacks: Vec<Lack>) -> Found {
    let in_order = Ok(lacks.is_empty());
    let told = (!lacks.is_empty()).then(|| {
        let stated = view.variant.tables.input_of(level).values.first();
        let at = stated.and_then(|stated| stated.origin.node());
        let label = "acts on what is measured alone";
        let at = at.map_or_else(|| view.at(part, label), |node| place(node, label));
        let (mut told, addition) = told(&lacks, at);
        told.saying = format!("{says}: {}", told.saying);
        told.facts.iter_mut().for_each(|fact| *fact = format!("{says}: {fact}"));
        (told, Some(addition))
    });
    Found { part, defect: BLIND_TRIP, in_order, grade: Grade::Major, names: Vec::new(), told }
}

fn told(lacks: &[Lack], at: Place) -> (Told, Addition) {
    let what: Vec<&str> = lacks.iter().map(|lack| lack.what.as_str()).collect();
    let mut told = Told::new(listed(&what), at);
    told.facts = what.iter().map(|what| (*what).to_owned()).collect();
    let entries: Vec<&str> = lacks.iter().map(|lack| lack.entry.as_str()).collect();
    let mut barriers: Vec<&str> = lacks.iter().filter_map(|lack| lack.barrier.as_deref()).collect();
    barriers.dedup();
    let passing = match barriers.as_slice() {
        [] => String::new(),
        names => format!(", listed in `spanned_by` of {}", listed(names)),
    };
    let say = format!("add `sensors: {{ {} }}`{passing}", listed(&entries));
    (told, Addition { say, leaves: "what practice asks for measured" })
}

/// The barrier that the drivers of some stages pass: what is measured of these stages comes out by the same way.
fn barrier(view: &View<'_, '_>, stages: &[usize]) -> Option<String> {
    let isolation = view.plan.isolation.as_ref()?;
    let drives = |driver: &&Driver| driver.drives.iter().any(|(stage, ..)| stages.contains(stage));
    let drivers: Vec<PartId> = view.control.drivers.iter().filter(drives).map(|driver| driver.part).collect();
    let mut crossings = isolation.crossings.iter().filter(|crossing| drivers.contains(&crossing.part));
    let barrier = crossings.find_map(|crossing| crossing.listed_by.first().copied())?;
    Some(isolation.barriers[barrier].name.clone())
}

/// Names of the controllers of a stage as an entry of a sensor that they read.
fn read_by(names: &[&str]) -> String {
    if names.is_empty() { String::new() } else { format!(", read_by: [{}]", listed(names)) }
}

fn sensors<'v>(view: &'v View<'_, '_>, quantity: Quantity) -> impl Iterator<Item = &'v Sensor> {
    view.control.sensors.iter().filter(move |sensor| sensor.measures == Some(quantity))
}

/// The currents of a stage that its own controller must read.
fn currents(view: &View<'_, '_>, stage: usize) -> Option<Lack> {
    let name = view.stage(stage);
    let of = &view.plan.stages[stage];
    let commanders = view.commanders(stage);
    let (legs, needed, what): (Vec<String>, usize, &str) = if of.bridge().is_some() {
        (["u", "v", "w"].map(str::to_owned).to_vec(), 2, "phase currents")
    } else if matches!(of.topology, Topology::Chopper(_)) {
        let legs = of.positions.iter().map(|position| position.leg).max().map_or(0, |most| most + 1);
        ((1..=legs).map(|leg| leg.to_string()).collect(), legs, "leg currents")
    } else {
        return None;
    };
    let is_of = |sensor: &Sensor, leg: &str| sensor.of.iter().any(|of| is_of_leg(&of.value, name, leg));
    // A current closes a loop within its controller, so that one which another controller reads does not count.
    let is_known = |leg: &&String| {
        sensors(view, Quantity::Current).any(|own| is_of(own, leg) && is_read(view, own, &commanders))
    };
    let known = legs.iter().filter(is_known).count();
    if needed <= known {
        return None;
    }
    let open: Vec<&String> = legs.iter().filter(|leg| !is_known(leg)).take(needed - known).collect();
    let is_strange = open.iter().any(|leg| sensors(view, Quantity::Current).any(|other| is_of(other, leg)));
    let names: Vec<String> = open.iter().map(|leg| format!("{name}.{leg}")).collect();
    let lacking = format!("{} of {needed} {what} of {name}", needed - known);
    Some(Lack {
        quantity: Quantity::Current,
        is_bare: known == 0 && !is_strange,
        what: if is_strange {
            format!("{} does not read {lacking}", listed(&commanders))
        } else {
            format!("nothing measures {lacking}")
        },
        entry: format!(
            "{name}_currents: {{ measures: current, of: [{}]{} }}",
            listed(&names),
            read_by(&commanders)
        ),
        barrier: barrier(view, &[stage]),
    })
}

/// Whether one of these controllers reads a sensor, as far as it says who does. One that is not known may be any.
fn is_read(view: &View<'_, '_>, sensor: &Sensor, controllers: &[&str]) -> bool {
    let readers = || sensor.read_by.iter().map(|reader| reader.value.as_str());
    let is_open = |name: &str| !view.is_controller(name);
    let is_known = |name: &str| is_open(name) || readers().any(|reader| reader == name);
    sensor.read_by.is_empty()
        || controllers.is_empty()
        || readers().any(is_open)
        || controllers.iter().any(|name| is_known(name))
}

fn temperature(view: &View<'_, '_>, stage: usize) -> Option<Lack> {
    let name = view.stage(stage);
    let within =
        |of: &str| of.strip_prefix(name).is_some_and(|rest| rest.is_empty() || rest.starts_with('.'));
    let own =
        || sensors(view, Quantity::Temperature).filter(|sensor| sensor.of.iter().any(|of| within(&of.value)));
    let commanders = view.commanders(stage);
    let is_known = commanders.is_empty() || commanders.iter().any(|by| own().any(|one| knows(view, one, by)));
    (own().next().is_none() || !is_known).then(|| Lack {
        quantity: Quantity::Temperature,
        is_bare: own().next().is_none(),
        what: if own().next().is_none() {
            format!("nothing measures a temperature in {name}")
        } else {
            format!("{} does not read a temperature in {name}", listed(&commanders))
        },
        entry: format!(
            "{name}_temperature: {{ measures: temperature, of: [{name}]{} }}",
            read_by(&commanders)
        ),
        barrier: barrier(view, &[stage]),
    })
}

/// Whether a controller knows what a sensor measures: it reads it, or depends on one that does.
fn knows(view: &View<'_, '_>, sensor: &Sensor, controller: &str) -> bool {
    let own = view.control.controllers.iter().filter(|one| one.name == controller);
    let told_by = own.flat_map(|one| one.depends_on.iter().map(|on| on.value.as_str()));
    // What else it depends on by a name of its own reads nothing.
    let told_by = told_by.filter(|name| view.is_controller(name));
    is_read(view, sensor, &told_by.chain([controller]).collect::<Vec<_>>())
}

/// The voltage of a bus that bridges work from, other stages hold, or a boost or buck works from: measured at all, and read by
/// what commands each bridge on it and each stage that holds it.
fn voltage(view: &View<'_, '_>, bus: usize, all: &mut Vec<Found>) {
    // A bridge works from its bus; any other stage holds the one that it leads to.
    let asks = |&stage: &usize| {
        let of = &view.plan.stages[stage];
        let port = if of.bridge().is_some() { Some(0) } else { of.led_by };
        port.and_then(|port| of.ports.get(port)?.bus) == Some(bus)
    };
    let stages: Vec<usize> = (0..view.plan.stages.len()).filter(asks).collect();
    let chops = |&stage: &usize| {
        let of = &view.plan.stages[stage];
        matches!(of.topology, Topology::Chopper(_)) && of.ports.iter().any(|port| port.bus == Some(bus))
    };
    let also = (0..view.plan.stages.len()).filter(chops).filter(|stage| !stages.contains(stage));
    let all_on: Vec<usize> = stages.iter().copied().chain(also).collect();
    let trip = view.plan.voltage_trips.iter().find(|trip| trip.bus == bus && trip.is_stated);
    if all_on.is_empty() && trip.is_none() {
        return;
    }
    let part = view.plan.buses[bus].part;
    let name = view.variant.path(part);
    let own: Vec<&Sensor> = sensors(view, Quantity::Voltage)
        .filter(|sensor| sensor.of.iter().any(|of| of.value == name))
        .collect();
    let mut commanders: Vec<&str> = Vec::new();
    for one in all_on.iter().flat_map(|&stage| view.commanders(stage)) {
        if !commanders.contains(&one) {
            commanders.push(one);
        }
    }
    let lack = own.is_empty().then(|| Lack {
        quantity: Quantity::Voltage,
        is_bare: true,
        what: format!("nothing measures the voltage of {name}"),
        entry: format!("{name}_voltage: {{ measures: voltage, of: [{name}]{} }}", read_by(&commanders)),
        barrier: barrier(view, &all_on),
    });
    match trip {
        Some(trip) => {
            let says = format!("the overvoltage trip of `{name}` is blind");
            all.push(blind(view, part, (trip.level, says), lack.into_iter().collect()));
        }
        None => all.push(found(view, part, lack.into_iter().collect(), None)),
    }
    if !own.is_empty() {
        all.push(unread(view, part, &stages, &own));
    }
}

/// A controller that sets duty ratios from a voltage, or holds one, must know it. What it depends on may tell it.
fn unread(view: &View<'_, '_>, bus: PartId, stages: &[usize], own: &[&Sensor]) -> Found {
    let name = view.variant.path(bus);
    let knows = |controller: &str| own.iter().any(|sensor| knows(view, sensor, controller));
    let mut open: Vec<(&str, &str)> = Vec::new();
    for &stage in stages {
        let commanders = view.commanders(stage);
        if let Some(first) = commanders.first()
            && !commanders.iter().any(|one| knows(one))
        {
            open.push((view.stage(stage), first));
        }
    }
    let told = own.first().filter(|_| !open.is_empty()).map(|sensor| {
        let said: Vec<String> = open.iter().map(|(stage, by)| format!("{by} of {stage}")).collect();
        let saying = format!("the voltage of `{name}` is measured, and not read by {}", said.join(", "));
        let at = sensor.read_by.first();
        let label = "others read it";
        let at = at.map_or_else(|| view.at(sensor.part, label), |reader| place(reader.at, label));
        let mut told = Told::new(saying, at);
        told.because =
            vec![view.at(bus, "a bridge works from it, or a stage holds it, whose controller must know it")];
        told.facts = vec![told.saying.clone()];
        let mut names: Vec<&str> = sensor.read_by.iter().map(|reader| reader.value.as_str()).collect();
        for (_, by) in &open {
            if !names.contains(by) {
                names.push(by);
            }
        }
        let say = format!("{}: `read_by: [{}]`", view.variant.path(sensor.part), listed(&names));
        (told, Some(Addition { say, leaves: "the voltage known to each controller that works with it" }))
    });
    Found {
        part: bus,
        defect: UNREAD,
        in_order: Ok(open.is_empty()),
        grade: Grade::Minor,
        names: Vec::new(),
        told,
    }
}

/// Whether a sensor of `of` reads the current of a leg: of the whole stage, of a side of it, or of that leg.
fn is_of_leg(of: &str, stage: &str, leg: &str) -> bool {
    let Some(rest) = of.strip_prefix(stage) else { return false };
    let Some(steps) = rest.strip_prefix('.') else { return rest.is_empty() };
    match steps.rsplit('.').next() {
        Some("high_side" | "low_side") => true,
        last => last == Some(leg),
    }
}

/// Whether something measured is the coolant: `cooling`, or an element of its path.
fn is_of_coolant(view: &View<'_, '_>, of: &str) -> bool {
    let path = format!("cooling.{of}");
    let known = |name: &str| view.variant.tables.parts().iter().any(|part| part.path == name);
    of == "cooling" || known(&path)
}

#[cfg(test)]
mod tests {
    use super::is_of_leg;

    #[test]
    fn a_current_is_that_of_the_whole_stage_of_a_side_or_of_a_leg() {
        for of in ["drive", "drive.u", "drive.low_side", "drive.low_side.u"] {
            assert!(is_of_leg(of, "drive", "u"), "{of}");
        }
        for of in ["drive_two.u", "drive.v", "drive.low_side.v", "driveu"] {
            assert!(!is_of_leg(of, "drive", "u"), "{of}");
        }
    }
}
