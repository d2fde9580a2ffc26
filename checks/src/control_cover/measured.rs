//! What control and protection must know: phase currents, leg currents, bus voltages, temperatures.
//!
//! A rule of practice, not of physics: two of three phase currents, because the third is minus their sum; one current for
//! each leg of a chopper, because legs divide their current by chance alone; the voltage of what a stage works from or
//! holds; a temperature in each stage and in the coolant that arrives.

use loadworthy_unit::PartId;
use loadworthy_unit::plan::{Quantity, Sensor, Topology};

use super::{Addition, Found, UNMEASURED, View, listed};
use crate::check::Told;
use crate::verdict::{Grade, Missing};

/// What lacks, and the entry that would measure it.
struct Lack {
    what: String,
    entry: String,
}

/// One finding for each stage, whatever of it is not measured, and one for the coolant.
pub(super) fn stages(view: &View<'_, '_>, all: &mut Vec<Found>) {
    let unread = view.waits_for(view.control.sensors_stated);
    for stage in 0..view.plan.stages.len() {
        let part = view.plan.stages[stage].part;
        all.push(found(view, part, lacks(view, stage), unread));
        if unread.is_some() {
            // Where the whole section lacks, one verdict says so for the unit.
            return;
        }
    }
    if let Some(coolant) = &view.plan.coolant {
        let inlet =
            view.control.sensors.iter().filter(|sensor| sensor.measures == Some(Quantity::Temperature));
        let is_known = inlet.flat_map(|sensor| &sensor.of).any(|of| is_of_coolant(view, &of.value));
        let lack = (!is_known).then(|| Lack {
            what: "the temperature of the coolant".to_owned(),
            entry: "coolant_temperature: { measures: temperature, of: [cooling] }".to_owned(),
        });
        all.push(found(view, coolant.part, lack.into_iter().collect(), None));
    }
}

fn found(view: &View<'_, '_>, part: PartId, lacks: Vec<Lack>, unread: Option<Missing>) -> Found {
    let in_order = unread.map_or(Ok(lacks.is_empty()), |missing| Err(vec![missing]));
    let told = (in_order == Ok(false)).then(|| {
        let what: Vec<&str> = lacks.iter().map(|lack| lack.what.as_str()).collect();
        let saying = format!("nothing measures {}", listed(&what));
        let mut told = Told::new(saying, view.at(part, "not measured, by the rules of practice"));
        told.facts = what.iter().map(|what| format!("not measured: {what}")).collect();
        let entries: Vec<&str> = lacks.iter().map(|lack| lack.entry.as_str()).collect();
        let say = format!("add `sensors: {{ {} }}`", listed(&entries));
        (told, Some(Addition { say, leaves: "what practice asks for measured" }))
    });
    Found { part, defect: UNMEASURED, in_order, grade: Grade::Minor, told }
}

fn lacks(view: &View<'_, '_>, stage: usize) -> Vec<Lack> {
    let mut lacks = Vec::new();
    let name = view.stage(stage);
    let of = &view.plan.stages[stage];
    let commanders = view.commanders(stage);
    let read_by = match commanders.as_slice() {
        [] => String::new(),
        names => format!(", read_by: [{}]", listed(names)),
    };
    let (legs, needed, what): (Vec<String>, usize, &str) = if of.bridge().is_some() {
        (["u", "v", "w"].map(str::to_owned).to_vec(), 2, "phase currents")
    } else if matches!(of.topology, Topology::Chopper(_)) {
        let legs = of.positions.iter().map(|position| position.leg).max().map_or(0, |most| most + 1);
        ((1..=legs).map(|leg| leg.to_string()).collect(), legs, "leg currents")
    } else {
        (Vec::new(), 0, "")
    };
    // A current closes a loop within its controller, so that one which another controller reads does not count.
    let is_own = |sensor: &&Sensor| {
        let is_reader = |name: &&str| sensor.read_by.iter().any(|reader| reader.value == **name);
        sensor.read_by.is_empty() || commanders.is_empty() || commanders.iter().any(is_reader)
    };
    let currents = view.control.sensors.iter().filter(|sensor| sensor.measures == Some(Quantity::Current));
    let currents: Vec<&Sensor> = currents.filter(is_own).collect();
    let is_known = |leg: &&String| {
        let names = currents.iter().flat_map(|sensor| &sensor.of);
        names.into_iter().any(|of| is_of_leg(&of.value, name, leg))
    };
    let known = legs.iter().filter(is_known).count();
    if known < needed {
        let open: Vec<String> = legs
            .iter()
            .filter(|leg| !is_known(leg))
            .take(needed - known)
            .map(|leg| format!("{name}.{leg}"))
            .collect();
        let of_how_many = if of.bridge().is_some() { "of 2 ".to_owned() } else { format!("of {needed} ") };
        lacks.push(Lack {
            what: format!("{} {of_how_many}{what} of {name}", needed - known),
            entry: format!("{name}_currents: {{ measures: current, of: [{}]{read_by} }}", listed(&open)),
        });
    }
    // A bridge works from its bus; any other stage holds the one that it leads to.
    let port =
        if of.bridge().is_some() { of.ports.first() } else { of.led_by.and_then(|led| of.ports.get(led)) };
    if let Some(bus) = port.and_then(|port| port.bus) {
        let bus = view.variant.path(view.plan.buses[bus].part);
        if !is_measured(view, Quantity::Voltage, |of| of == bus) {
            lacks.push(Lack {
                what: format!("the voltage of {bus}"),
                entry: format!("{bus}_voltage: {{ measures: voltage, of: [{bus}]{read_by} }}"),
            });
        }
    }
    let within =
        |of: &str| of.strip_prefix(name).is_some_and(|rest| rest.is_empty() || rest.starts_with('.'));
    if !is_measured(view, Quantity::Temperature, within) {
        lacks.push(Lack {
            what: format!("a temperature in {name}"),
            entry: format!("{name}_temperature: {{ measures: temperature, of: [{name}]{read_by} }}"),
        });
    }
    lacks
}

fn is_measured(view: &View<'_, '_>, quantity: Quantity, is_it: impl Fn(&str) -> bool) -> bool {
    let sensors = view.control.sensors.iter().filter(|sensor| sensor.measures == Some(quantity));
    sensors.flat_map(|sensor| &sensor.of).any(|of| is_it(&of.value))
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
