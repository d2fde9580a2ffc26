//! What a description states and nothing judges yet, so that nobody takes silence for a pass.

use loadworthy_language::Description;
use loadworthy_language::sections::capacitors::Capacitor;
use loadworthy_language::sections::conductors::Conductor;
use loadworthy_language::sections::magnetics::Magnetic;

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

/// Whether a winding states the section of its copper, which its resistance holds already.
fn states_section(magnetic: &Magnetic) -> bool {
    let windings = match magnetic {
        Magnetic::Choke(choke) => [choke.winding.as_ref(), None],
        Magnetic::Transformer(transformer) => [transformer.primary.as_ref(), transformer.secondary.as_ref()],
    };
    windings.into_iter().flatten().any(|winding| winding.area.is_some())
}
