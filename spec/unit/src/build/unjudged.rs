//! What a description states and nothing judges yet, so that nobody takes silence for a pass.

use loadworthy_language::Description;
use loadworthy_language::sections::capacitors::Capacitor;
use loadworthy_language::sections::conductors::Conductor;
use loadworthy_language::sections::magnetics::Magnetic;
use loadworthy_language::sections::stages::Stage;

use crate::build::duty;

/// Words for everything that is stated and judged by nothing yet, in the order of the sections.
///
/// `shares` are the outputs of which the inductance between the sources that they feed is judged.
pub(crate) fn stated(description: &Description, shares: &[String]) -> Vec<&'static str> {
    let surroundings = description.surroundings.read();
    // What is isolated from what is asked once the description states its domains.
    let has_none = description.isolation.at().is_none();
    let suppressed = has_none
        && description.capacitors.readable().any(|(_, _, one)| matches!(one, Capacitor::Suppression(_)));
    let conductors = || description.conductors.readable().map(|(_, _, conductor)| conductor);
    let magnetics = || description.magnetics.readable().map(|(_, _, magnetic)| magnetic);
    [
        (has_none && surroundings.is_some_and(|air| air.application.is_some()), "application"),
        (has_none && surroundings.is_some_and(|air| air.pollution_degree.is_some()), "pollution_degree"),
        (suppressed, "suppression capacitors"),
        (
            description
                .signals
                .readable()
                .any(|(_, _, one)| one.coupling.is_some() && one.immunity_current.is_none()),
            "coupling of signals (how far the rails move is not reckoned)",
        ),
        (
            conductors().any(|one| matches!(one, Conductor::LineChoke(choke) if choke.inductance.is_some())),
            "inductance of line chokes",
        ),
        (
            description.gate_supplies.readable().any(|(name, _, one)| {
                one.common_inductance.is_some() && shares.iter().all(|shares| shares != name)
            }),
            "`common_inductance` of outputs whose gates share no return, as parts in parallel on one gate",
        ),
        (
            makes_elsewhere(description),
            "`makes` of contactors that no pre-charge leads through or around, and that join no batteries",
        ),
        (
            description.branches.readable().any(|(_, _, one)| one.within.is_some() && one.around.is_none()),
            "`within` of branches that lead around no contactor",
        ),
        (
            around_alone(description),
            "`current` of contactors that lead around others, which carry the moment of a pre-charge alone",
        ),
        (loops_of_no_leg(description), "`loop_inductance` of buses between whose rails no leg switches"),
        (
            delays_of_no_trip(description),
            "`delay` of drivers whose stages have a transformer, as trips of these are not in the language",
        ),
        // It says how fast a winding warms, where anything is followed.
        (!duty::is_followed(description) && magnetics().any(states_section), "area of windings"),
    ]
    .into_iter()
    .filter_map(|(is_stated, word)| is_stated.then_some(word))
    .collect()
}

/// Whether a contactor states what it makes and closes neither in a pre-charge nor after one.
fn makes_elsewhere(description: &Description) -> bool {
    let is_met = |name: &str| {
        description.branches.readable().any(|(_, _, branch)| {
            let through = || branch.through.iter().flat_map(|through| &through.value);
            branch.around.as_ref().is_some_and(|around| {
                branch.through.is_some() && (around.value == name || through().any(|one| one.value == name))
            })
        })
    };
    description.conductors.readable().any(|(name, _, conductor)| {
        matches!(conductor, Conductor::Contactor(contactor) if contactor.makes.is_some()) && !is_met(name)
    })
}

/// Whether a contactor of a pre-charge states what it carries for good.
fn around_alone(description: &Description) -> bool {
    let branches = || description.branches.readable().map(|(_, _, branch)| branch);
    let leads = |name: &str, is_around: bool| {
        let mut own = branches().filter(|branch| branch.around.is_some() == is_around);
        own.any(|branch| {
            branch.through.iter().flat_map(|through| &through.value).any(|one| one.value == name)
        })
    };
    description.conductors.readable().any(|(name, _, conductor)| {
        matches!(conductor, Conductor::Contactor(one) if one.current.is_some())
            && leads(name, true)
            && !leads(name, false)
    })
}

/// Whether a bus states the loop of legs, and none stands between its rails.
fn loops_of_no_leg(description: &Description) -> bool {
    let has_leg = |bus: &str| {
        description.stages.iter().any(|(_, entry)| {
            // One that could not be read may stand there.
            let Some(stage) = entry.read() else { return true };
            let rails =
                stage.buses().into_iter().filter(|(key, _)| ["dc_bus", "high_bus", "from"].contains(key));
            rails.into_iter().any(|(_, named)| named.is_none_or(|named| named.value == bus))
        })
    };
    description.buses.readable().any(|(name, _, bus)| {
        bus.loop_inductance.is_some() && description.stages.is_whole() && !has_leg(name)
    })
}

/// Whether a driver states its delay and drives gates of stages with a transformer alone.
fn delays_of_no_trip(description: &Description) -> bool {
    let is_isolated = |gate: &str| {
        let stage = gate.split('.').next().and_then(|stage| description.stages.entry(stage));
        matches!(stage, Some(Stage::PhaseShiftedFullBridge(_) | Stage::ActiveClampForward(_)))
    };
    description.drivers.readable().any(|(_, _, driver)| {
        let mut gates = driver.drives.iter().flat_map(|drives| &drives.value).peekable();
        driver.delay.is_some() && gates.peek().is_some() && gates.all(|gate| is_isolated(&gate.value))
    })
}

/// Whether a winding states the section of its copper, which its resistance holds already.
fn states_section(magnetic: &Magnetic) -> bool {
    let windings = match magnetic {
        Magnetic::Choke(choke) => [choke.winding.as_ref(), None],
        Magnetic::Transformer(transformer) => [transformer.primary.as_ref(), transformer.secondary.as_ref()],
    };
    windings.into_iter().flatten().any(|winding| winding.area.is_some())
}
