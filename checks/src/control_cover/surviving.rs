//! What must still work once something else is lost: a way to take torque off, a short of the phases, a discharge.

use loadworthy_unit::plan::{Coasting, Side};
use loadworthy_unit::{Dimension, LaneId};

use super::{DISCHARGE_WITHOUT_POWER, Found, SHORT_WITHOUT_POWER, SOFTWARE_ONLY, View, listed, place};
use crate::check::Told;
use crate::figure_text::value;
use crate::verdict::{Grade, Missing};

pub(super) fn faults(view: &View<'_, '_>, strange: &[usize], all: &mut Vec<Found>) {
    enables(view, strange, all);
    for bus in &view.plan.coasting {
        all.extend(bus.machines.iter().filter_map(|machine| short(view, bus.bus, machine)));
    }
    discharges(view, all);
}

/// Torque can be taken off on a way that does not pass through software.
fn enables(view: &View<'_, '_>, strange: &[usize], all: &mut Vec<Found>) {
    for controller in &view.control.controllers {
        // A driver that obeys another controller than its stage is told of that alone.
        let is_another = |stage: usize| {
            let own = view.control.stages[stage].controller.as_ref();
            own.is_some_and(|own| own.value != controller.name)
        };
        let commands = |&stage: &usize| {
            view.plan.stages[stage].bridge().is_some()
                && !strange.contains(&stage)
                && !is_another(stage)
                && view.commanders(stage).contains(&controller.name.as_str())
        };
        let bridges: Vec<&str> =
            (0..view.plan.stages.len()).filter(commands).map(|stage| view.stage(stage)).collect();
        if bridges.is_empty() {
            continue;
        }
        let part = controller.part;
        let in_order = match controller.hardware_enable {
            Some(enable) => Ok(enable.value),
            None => Err(vec![Missing::Key { of: part, key: "hardware_enable" }]),
        };
        let told = controller.hardware_enable.filter(|enable| !enable.value).map(|enable| {
            let saying = format!("torque of {} is taken off through software alone", listed(&bridges));
            let mut told = Told::new(saying, place(enable.at, "no way without software"));
            told.facts = vec![format!("through software alone: {}", listed(&bridges))];
            told.no_proposal = Some(
                "lead an enable line to its drivers or their supplies, and state `hardware_enable: true`"
                    .to_owned(),
            );
            (told, None)
        });
        all.push(Found {
            part,
            defect: SOFTWARE_ONLY,
            in_order,
            grade: Grade::Minor,
            names: Vec::new(),
            told,
        });
    }
}

/// Where the machine would lift its bus above what it may reach, the short of its phases must not hang on another bus.
fn short(view: &View<'_, '_>, bus: usize, machine: &Coasting) -> Option<Found> {
    machine.short.as_ref()?;
    // Both hang on what is stated alone, and are the same in every lane; where one is missing another check says so.
    let lane = LaneId::new(0);
    view.variant.lanes.first()?;
    let crest = view.solved.figure(machine.line_crest, lane)?;
    let highest = view.solved.figure(view.plan.buses[bus].highest_voltage, lane)?;
    let part = view.plan.stages[machine.stage].part;
    let name = view.variant.path(view.plan.buses[bus].part);
    let sides = [Side::Low, Side::High].map(|side| power(view, machine.stage, side, name));
    let gates = match &sides {
        [Ok(strange), _] | [_, Ok(strange)] if strange.is_empty() => Ok(Vec::new()),
        [Ok(low), Ok(_)] => Ok(low.clone()),
        [Err(missing), _] | [_, Err(missing)] => Err(missing.clone()),
    };
    // What commands the gates has to live as they do.
    let commands = commanding(view, machine.stage, name);
    let none = || [Vec::new(), Vec::new()];
    let (in_order, from) = match (gates, commands) {
        _ if crest <= highest => (Ok(true), none()),
        (Ok(gates), Ok(commands)) => (Ok(gates.is_empty() && commands.is_empty()), [gates, commands]),
        // What is lost for certain is told, whatever else is not known.
        (Ok(gates), Err(_)) if !gates.is_empty() => (Ok(false), [gates, Vec::new()]),
        (Err(_), Ok(commands)) if !commands.is_empty() => (Ok(false), [Vec::new(), commands]),
        (Err(mut missing), Err(more)) => {
            missing.extend(more);
            (Err(missing), none())
        }
        (Err(missing), _) | (_, Err(missing)) => (Err(missing), none()),
    };
    let told = (in_order == Ok(false)).then(|| {
        let stage = view.stage(machine.stage);
        let crest = value(crest, Dimension::Voltage);
        let highest = value(highest, Dimension::Voltage);
        let [gates, commands] = &from;
        let (live, lost, feed) = match (gates.is_empty(), commands.is_empty()) {
            (false, true) => {
                (format!("its gates live on {}", listed(gates)), "its gates are", "one side of its gates")
            }
            (true, _) => {
                (format!("its controller lives on {}", listed(commands)), "its controller is", "its controller")
            }
            (false, false) => (
                format!("its gates live on {} and its controller on {}", listed(gates), listed(commands)),
                "its gates and its controller are",
                "one side of its gates and its controller",
            ),
        };
        let saying = format!(
            "`{stage}` shorts its machine after a fault, whose {crest} at highest speed exceed the {highest} of {name}, and {live}"
        );
        let mut told = Told::new(saying, view.at(part, &format!("{lost} lost with another bus")));
        told.facts = vec![
            format!("crest of the line voltage at highest speed {crest}"),
            format!("{name} may reach {highest}"),
        ];
        let of = [("gate power", gates), ("power of the controller", commands)];
        let of = of.into_iter().filter(|(_, from)| !from.is_empty());
        told.facts.extend(of.map(|(what, from)| format!("{what} from {}", listed(from))));
        told.no_proposal = Some(format!(
            "feed {feed} from {name} as well (`also_from: {name}`), which the machine itself keeps up: a barrier to declare"
        ));
        (told, None)
    });
    Some(Found { part, defect: SHORT_WITHOUT_POWER, in_order, grade: Grade::Minor, names: Vec::new(), told })
}

/// Buses other than its own that the gates of a side live on.
///
/// # Errors
/// Names the gate supplies that do not say where their power comes from.
fn power(view: &View<'_, '_>, stage: usize, side: Side, own: &str) -> Result<Vec<String>, Vec<Missing>> {
    let mut strange: Vec<String> = Vec::new();
    let mut missing = Vec::new();
    let mut is_fed = false;
    for (mut output, supply) in view.plan.gate_supplies.iter().enumerate() {
        let feeds = |&(of, position, _): &(usize, usize, _)| {
            of == stage && view.plan.stages[stage].positions[position].role.side() == side
        };
        if !supply.feeds.iter().any(feeds) {
            continue;
        }
        is_fed = true;
        // A bootstrap lives on what charges it. The language refuses circles of them.
        while let Some(from) = view.plan.gate_supplies[output].bootstrap_from {
            output = from;
        }
        let also = view.control.supplied_also.get(output).and_then(Option::as_ref);
        match view.control.supplied_from.get(output).and_then(Option::as_ref) {
            Some(from) if from.value == own || also.is_some_and(|also| also.value == own) => {}
            Some(from) if strange.contains(&from.value) => {}
            Some(from) => strange.push(from.value.clone()),
            None => missing.push(Missing::Key { of: view.plan.gate_supplies[output].part, key: "from" }),
        }
    }
    if !is_fed {
        missing.push(Missing::Key { of: view.plan.stages[stage].part, key: "gate_supplies" });
    }
    if missing.is_empty() { Ok(strange) } else { Err(missing) }
}

/// Buses other than its own that what commands a stage lives on, by what it depends on as well.
///
/// # Errors
/// Names the controllers that do not say where their power comes from.
fn commanding(view: &View<'_, '_>, stage: usize, own: &str) -> Result<Vec<String>, Vec<Missing>> {
    let mut names = view.commanders(stage);
    let (mut strange, mut missing): (Vec<String>, Vec<Missing>) = (Vec::new(), Vec::new());
    let mut next = 0;
    while let Some(&name) = names.get(next) {
        next += 1;
        let Some(one) = view.control.controllers.iter().find(|one| one.name == name) else { continue };
        let is_own = || one.from.iter().chain(&one.also).any(|bus| bus.value == own);
        match &one.from {
            Some(_) if is_own() => {}
            Some(from) if strange.contains(&from.value) => {}
            Some(from) => strange.push(from.value.clone()),
            None => missing.push(Missing::Key { of: one.part, key: "from" }),
        }
        for on in &one.depends_on {
            if !names.contains(&on.value.as_str()) {
                names.push(&on.value);
            }
        }
    }
    if missing.is_empty() { Ok(strange) } else { Err(missing) }
}

/// A discharge that is switched on must work when the bus that feeds controls is gone.
fn discharges(view: &View<'_, '_>, all: &mut Vec<Found>) {
    for (bus, from) in &view.control.discharges {
        let part = view.plan.buses[*bus].part;
        let name = view.variant.path(part);
        let in_order = match from {
            Some(from) => Ok(from.value == name),
            None => Err(vec![Missing::Key { of: part, key: "discharge.active.from" }]),
        };
        let told = from.as_ref().filter(|from| from.value != name).map(|from| {
            let saying = format!("the discharge of `{name}` that is switched on is lost with `{}`", from.value);
            let mut told = Told::new(saying, place(from.at, "its control lives on another bus"));
            told.facts = vec![format!("lost with {}: the active discharge of {name}", from.value)];
            told.no_proposal = Some(format!(
                "feed its control from {name} itself, or state in a permit that its resistor alone is waited for"
            ));
            (told, None)
        });
        all.push(Found {
            part,
            defect: DISCHARGE_WITHOUT_POWER,
            in_order,
            grade: Grade::Minor,
            names: Vec::new(),
            told,
        });
    }
}
