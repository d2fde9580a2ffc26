//! Buses in the wrong domain: what joins two domains is told, and with it what the stray bus brings into its own.

use loadworthy_physics::stored_energy::HARMLESS;
use loadworthy_unit::plan::{Form, Isolation, Merged};
use loadworthy_unit::{Dimension, Solved};

use super::chassis::largest;
use super::needs::stated;
use crate::figure_text::value;

/// The most that a bus comes to; without a duty point what it states.
fn highest(solved: &Solved<'_>, bus: usize) -> Option<f64> {
    let bus = &solved.variant.plan.buses[bus];
    let lanes = solved.variant.lane_ids().filter_map(|lane| solved.figure(bus.highest_voltage, lane));
    lanes.reduce(f64::max).or_else(|| stated(solved, bus.highest))
}

/// The bus that something joins to another domain, where it alone makes a voltage of its own domain that hurts.
fn stray(solved: &Solved<'_>, isolation: &Isolation, place: usize, merged: &Merged) -> Option<usize> {
    let of_domain = &isolation.domain(place).stress.buses;
    let hurts = |bus: usize| highest(solved, bus).is_none_or(|volts| HARMLESS.si() < volts);
    let joined = [merged.buses.0, merged.buses.1].into_iter().find(|bus| of_domain.contains(bus))?;
    let is_alone = of_domain.iter().all(|&bus| bus == joined || !hurts(bus));
    (of_domain.len() > 1 && is_alone && hurts(joined)).then_some(joined)
}

/// Whether what joins a domain to another tells that a bus of the other stands in it.
pub(super) fn is_told(solved: &Solved<'_>, isolation: &Isolation, place: usize) -> bool {
    isolation.merged.iter().any(|merged| stray(solved, isolation, place, merged).is_some())
}

/// What stray buses bring into the domains that something joins, in words.
pub(super) fn brought(solved: &Solved<'_>, isolation: &Isolation, merged: &Merged) -> Vec<String> {
    let ends = [merged.between.0, merged.between.1].into_iter();
    let brings = |place: usize| {
        let bus = stray(solved, isolation, place, merged)?;
        let domain = isolation.domain(place);
        let volts = largest(solved, isolation, place).map(|volts| value(volts, Dimension::Voltage));
        let touched = domain.form == (Form::Circuit { touchable: true });
        let suffers = match (touched, domain.is_earthed) {
            (true, true) => ", which a person can touch and which stands on the chassis",
            (true, false) => ", which a person can touch",
            (false, true) => ", which stands on the chassis",
            (false, false) => "",
        };
        let bus = solved.variant.path(solved.variant.plan.buses[bus].part);
        let up_to = volts.map_or_else(String::new, |volts| format!("up to {volts} "));
        Some(format!("`{bus}` alone brings {up_to}into `{}`{suffers}", domain.name))
    };
    ends.filter_map(brings).collect()
}
