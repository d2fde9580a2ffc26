//! Buses that may swing: those with banks, balanced by batteries of which one states its inductance.

use loadworthy_language::quantity::Dimension;

use crate::build::Build;
use crate::plan::{Damping, Fed};

/// Gathers them.
pub(crate) fn buses(build: &mut Build<'_>) {
    for bus in 0..build.plan.buses.len() {
        let of = &build.plan.buses[bus];
        if of.ripple.banks.is_empty() || !of.is_balanced_here {
            continue;
        }
        let sources = of.sources.iter().copied().filter(|&source| build.plan.sources[source].is_battery);
        let sources: Vec<usize> = sources.collect();
        let states = |source: &usize| build.tables.is_written(build.plan.sources[*source].inductance);
        if !sources.iter().any(states) {
            continue;
        }
        let part = of.part;
        let fed = sources
            .into_iter()
            .map(|source| Fed { source, resistance: build.plan.sources[source].lowest_resistance })
            .collect();
        let resonance = build.tables.figure_if_asked(part, "swing_frequency", Dimension::Frequency);
        let largest_power = build.tables.figure_if_asked(part, "largest_held_power", Dimension::Power);
        let held_power = build.tables.figure_if_asked(part, "held_power", Dimension::Power);
        build.plan.damping.push(Damping { bus, fed, resonance, held_power, largest_power });
    }
}
