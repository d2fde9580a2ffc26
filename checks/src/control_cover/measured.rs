//! What control and protection must know: phase currents, leg currents, bus voltages, temperatures, positions of rotors.
//!
//! A rule of practice, not of physics: two of three phase currents, because the third is minus their sum; one current for
//! each leg of a chopper, because legs divide their current by chance alone; the voltage of the bus that a bridge works from
//! or another stage holds, known to its own controller, and that of the bus which a boost or buck works from, known to any; a
//! temperature in each stage and in the coolant that arrives; the position of a rotor with magnets. A trip that is stated is no matter of practice: without what
//! it watches it never acts.

use loadworthy_unit::plan::{Driver, Quantity, Sensor, Topology};
use loadworthy_unit::{InputId, PartId};

use super::strange::{self, Strange};
use super::{Addition, BLIND_TRIP, Found, UNMEASURED, View, listed, place, rotors, voltages};
use crate::cause::missing_text;
use crate::check::Told;
use crate::review::Place;
use crate::verdict::{Grade, Missing};

/// Places that are shown beside the first.
const MOST_PLACES: usize = 4;

/// What lacks, and the entry that would measure it.
pub(super) struct Lack {
    pub(super) quantity: Quantity,
    pub(super) what: String,
    pub(super) entry: String,
    /// The barrier that it would pass, where one is known.
    pub(super) barrier: Option<String>,
    /// Whether nothing of it is measured at all.
    pub(super) is_bare: bool,
    /// Other controllers, which read what is measured of it.
    pub(super) strangers: Vec<String>,
}

/// What lacks of a stage.
struct Open {
    stage: usize,
    /// The level of the trip that is blind without it.
    level: Option<InputId>,
    lacks: Vec<Lack>,
    /// Who reads what it watches, where nobody says so.
    unsaid: Option<Missing>,
}

impl Open {
    /// Whether it is one slip with what lacks of another stage: one sensor that they shared, as far as anyone can tell, or two
    /// of which each stage has that of the other.
    fn is_one_with(&self, other: &Self, view: &View<'_, '_>) -> bool {
        let (own, others) = (view.commanders(self.stage), view.commanders(other.stage));
        let pairs = || self.lacks.iter().zip(&other.lacks);
        let is_read_by = |lack: &Lack, names: &[&str]| {
            names.iter().any(|name| lack.strangers.iter().any(|own| own == name))
        };
        let is_shared = self.level.is_some() == other.level.is_some()
            && !own.is_empty()
            && own == others
            && pairs().all(|(one, other)| one.strangers == other.strangers);
        let is_exchanged = pairs().all(|(one, other)| is_read_by(one, &others) && is_read_by(other, &own));
        let is_alike = pairs().all(|(one, other)| {
            let is_whole = one.is_bare || !one.strangers.is_empty();
            is_whole && (one.quantity, one.is_bare) == (other.quantity, other.is_bare)
        });
        !self.lacks.is_empty()
            && self.lacks.len() == other.lacks.len()
            && is_alike
            && (is_shared || is_exchanged)
    }
}

/// One finding for each stage, whatever of it is not measured, or for stages that lack one sensor; one for each bus, and one
/// for the coolant. Stages that obey the controller of another are told as that, and given.
pub(super) fn stages(view: &View<'_, '_>, all: &mut Vec<Found>) -> Vec<usize> {
    let mut open: Vec<Vec<Open>> = Vec::new();
    let mut strange: Vec<Strange<'_>> = Vec::new();
    let unread = view.waits_for(view.control.sensors_stated);
    for stage in 0..view.plan.stages.len() {
        if unread.is_some() {
            // Where the whole section lacks, one verdict says so for the unit.
            all.push(found(view, view.plan.stages[stage].part, Vec::new(), unread));
            return Vec::new();
        }
        let trip = view.plan.current_trips.iter().find(|trip| trip.stage == stage);
        let trip = trip.filter(|trip| view.variant.tables.is_written(trip.level));
        let commanders = view.commanders(stage);
        let (currents, temperature) =
            (currents(view, stage, &commanders), temperature(view, stage, &commanders));
        let of_stage = [&currents, &temperature];
        if let Some((obeys, read_by)) = strange::obeys(view, stage, of_stage) {
            let lacks = currents.into_iter().chain(temperature).map(|lack| lack.what).collect();
            strange.push(Strange { stage, obeys, read_by, lacks, trips: trip.is_some() });
            continue;
        }
        let (of_trip, of_practice) = if trip.is_some() { (currents, None) } else { (None, currents) };
        let of_trip: Vec<Lack> = of_trip.into_iter().collect();
        let position = rotors::position(view, stage, &commanders);
        let of_practice = of_practice.into_iter().chain(temperature).chain(position).collect();
        let unsaid = unsaid_of_currents(view, stage);
        let of_trip = trip.map(|trip| Open { stage, level: Some(trip.level), lacks: of_trip, unsaid });
        let of_practice = Open { stage, level: None, lacks: of_practice, unsaid: None };
        for own in of_trip.into_iter().chain([of_practice]) {
            match open.iter_mut().find(|all| all.iter().any(|one| own.is_one_with(one, view))) {
                Some(all) => all.push(own),
                None => open.push(vec![own]),
            }
        }
    }
    all.extend(open.into_iter().map(|open| of_stages(view, open)));
    all.extend(strange::found(view, &strange));
    let strange: Vec<usize> = strange.iter().map(|one| one.stage).collect();
    voltages::buses(view, &strange, all);
    if let Some(coolant) = &view.plan.coolant {
        let is_it = |sensor: &&Sensor| sensor.of.iter().any(|of| is_of_coolant(view, &of.value));
        let inlet: Vec<&Sensor> = sensors(view, Quantity::Temperature).filter(is_it).collect();
        // What nobody is said to read may be read by nobody.
        let unsaid = inlet.first().filter(|_| inlet.iter().all(|sensor| sensor.read_by.is_empty()));
        let unsaid = unsaid.map(|sensor| Missing::Key { of: sensor.part, key: "read_by" });
        let lack = inlet.is_empty().then(|| Lack {
            quantity: Quantity::Temperature,
            is_bare: true,
            strangers: Vec::new(),
            what: "nothing measures the temperature of the coolant".to_owned(),
            entry: "coolant_temperature: { measures: temperature, of: [cooling] }".to_owned(),
            barrier: None,
        });
        all.push(found(view, coolant.part, lack.into_iter().collect(), unsaid));
    }
    strange
}

pub(super) fn found(view: &View<'_, '_>, part: PartId, lacks: Vec<Lack>, unread: Option<Missing>) -> Found {
    let in_order = unread.map_or(Ok(lacks.is_empty()), |missing| Err(vec![missing]));
    let told = (in_order == Ok(false)).then(|| {
        let at = view.at(part, "not measured, by the rules of practice");
        let (told, addition) = told(&lacks, at);
        (told, Some(addition))
    });
    Found { part, defect: UNMEASURED, in_order, grade: Grade::Minor, names: Vec::new(), told }
}

/// What lacks of stages by one slip.
fn of_stages(view: &View<'_, '_>, mut all: Vec<Open>) -> Found {
    // A trip that is blind is graver than what control alone misses.
    all.sort_by_key(|one| one.level.is_none());
    let stages: Vec<usize> = all.iter().map(|one| one.stage).collect();
    let blind: Vec<String> = all
        .iter()
        .filter(|one| one.level.is_some())
        .map(|one| format!("`{}`", view.stage(one.stage)))
        .collect();
    let part = view.plan.stages[stages[0]].part;
    let level = all[0].level;
    let unsaid = all[0].unsaid;
    let lacks: Vec<Lack> = all.into_iter().flat_map(|one| one.lacks).collect();
    let mut found = match level {
        None => found(view, part, lacks, None),
        Some(level) => {
            let says = match blind.as_slice() {
                [one] => format!("the trip of {one} is blind"),
                more => format!("the trips of {} are blind", listed(more)),
            };
            blind_trip(view, part, (level, says), lacks)
        }
    };
    // What nobody is said to read may be read by nobody, and then the trip never acts.
    if let (Some(unsaid), Ok(true)) = (unsaid, &found.in_order) {
        found.in_order = Err(vec![unsaid]);
    }
    if let Some((told, _)) = &mut found.told {
        let others = stages[1..].iter().take(MOST_PLACES);
        told.because.extend(others.map(|&other| view.at(view.plan.stages[other].part, "nor here")));
    }
    found
}

/// A trip that is stated acts on nothing where what it watches is not measured.
pub(super) fn blind_trip(
    view: &View<'_, '_>,
    part: PartId,
    (level, says): (InputId, String),
    lacks: Vec<Lack>,
) -> Found {
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
pub(super) fn barrier(view: &View<'_, '_>, stages: &[usize]) -> Option<String> {
    let isolation = view.plan.isolation.as_ref()?;
    let drives = |driver: &&Driver| driver.drives.iter().any(|(stage, ..)| stages.contains(stage));
    let drivers: Vec<PartId> = view.control.drivers.iter().filter(drives).map(|driver| driver.part).collect();
    let mut crossings = isolation.crossings.iter().filter(|crossing| drivers.contains(&crossing.part));
    let barrier = crossings.find_map(|crossing| crossing.listed_by.first().copied())?;
    Some(isolation.barriers[barrier].name.clone())
}

/// Names of the controllers of a stage as an entry of a sensor that they read.
pub(super) fn read_by(names: &[&str]) -> String {
    if names.is_empty() { String::new() } else { format!(", read_by: [{}]", listed(names)) }
}

pub(super) fn sensors<'v>(view: &'v View<'_, '_>, quantity: Quantity) -> impl Iterator<Item = &'v Sensor> {
    view.control.sensors.iter().filter(move |sensor| sensor.measures == Some(quantity))
}

/// The currents of a stage that controllers of it must read.
pub(super) fn currents(view: &View<'_, '_>, stage: usize, commanders: &[&str]) -> Option<Lack> {
    let name = view.stage(stage);
    let of = &view.plan.stages[stage];
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
        sensors(view, Quantity::Current).any(|own| is_of(own, leg) && is_read(view, own, commanders))
    };
    let known = legs.iter().filter(is_known).count();
    if needed <= known {
        return None;
    }
    let open: Vec<&String> = legs.iter().filter(|leg| !is_known(leg)).take(needed - known).collect();
    let others = || sensors(view, Quantity::Current).filter(|other| open.iter().any(|leg| is_of(other, leg)));
    let is_strange = others().next().is_some();
    let names: Vec<String> = open.iter().map(|leg| format!("{name}.{leg}")).collect();
    let lacking = format!("{} of {needed} {what} of {name}", needed - known);
    Some(Lack {
        quantity: Quantity::Current,
        is_bare: known == 0 && !is_strange,
        strangers: readers(others()),
        what: if is_strange {
            format!("{} does not read {lacking}", listed(commanders))
        } else {
            format!("nothing measures {lacking}")
        },
        entry: format!(
            "{name}_currents: {{ measures: current, of: [{}]{} }}",
            listed(&names),
            read_by(commanders)
        ),
        barrier: barrier(view, &[stage]),
    })
}

/// The key that would say who reads the currents of a stage, where none of their sensors says so.
fn unsaid_of_currents(view: &View<'_, '_>, stage: usize) -> Option<Missing> {
    let name = view.stage(stage);
    let is_of = |sensor: &&Sensor| {
        let mut of = sensor.of.iter();
        of.any(|of| of.value.strip_prefix(name).is_some_and(|rest| rest.is_empty() || rest.starts_with('.')))
    };
    let mut own = sensors(view, Quantity::Current).filter(is_of);
    let first = own.next().filter(|first| first.read_by.is_empty())?;
    own.all(|sensor| sensor.read_by.is_empty()).then_some(Missing::Key { of: first.part, key: "read_by" })
}

/// Names of those that read sensors, each once.
pub(super) fn readers<'v>(sensors: impl Iterator<Item = &'v Sensor>) -> Vec<String> {
    let mut names: Vec<String> = sensors.flat_map(|one| &one.read_by).map(|one| one.value.clone()).collect();
    names.sort_unstable();
    names.dedup();
    names
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

/// The temperature of a stage that a controller of it must know.
pub(super) fn temperature(view: &View<'_, '_>, stage: usize, commanders: &[&str]) -> Option<Lack> {
    let name = view.stage(stage);
    let within =
        |of: &str| of.strip_prefix(name).is_some_and(|rest| rest.is_empty() || rest.starts_with('.'));
    let own =
        || sensors(view, Quantity::Temperature).filter(|sensor| sensor.of.iter().any(|of| within(&of.value)));
    let is_known = commanders.is_empty() || commanders.iter().any(|by| own().any(|one| knows(view, one, by)));
    (own().next().is_none() || !is_known).then(|| Lack {
        quantity: Quantity::Temperature,
        is_bare: own().next().is_none(),
        strangers: readers(own()),
        what: if own().next().is_none() {
            format!("nothing measures a temperature in {name}")
        } else {
            format!("{} does not read a temperature in {name}", listed(commanders))
        },
        entry: format!(
            "{name}_temperature: {{ measures: temperature, of: [{name}]{} }}",
            read_by(commanders)
        ),
        barrier: barrier(view, &[stage]),
    })
}

/// Whether a controller knows what a sensor measures: it reads it, or depends on one that does.
pub(super) fn knows(view: &View<'_, '_>, sensor: &Sensor, controller: &str) -> bool {
    let own = view.control.controllers.iter().filter(|one| one.name == controller);
    let told_by = own.flat_map(|one| one.depends_on.iter().map(|on| on.value.as_str()));
    // What else it depends on by a name of its own reads nothing.
    let told_by = told_by.filter(|name| view.is_controller(name));
    is_read(view, sensor, &told_by.chain([controller]).collect::<Vec<_>>())
}

/// What waits for sensors that do not say where they stand, or what they measure: one that is moved from its stage to another,
/// or that measures nothing, may be what lacks.
pub(super) fn adrift(view: &View<'_, '_>) -> Vec<String> {
    let keys = |sensor: &Sensor| ["domain", "measures"].map(|key| Missing::Key { of: sensor.part, key });
    let all = view.control.sensors.iter().flat_map(keys);
    all.map(|missing| missing_text(view.variant, None, missing).subject).collect()
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
