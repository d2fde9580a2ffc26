//! What decides which comparisons the checks make of a row.

use loadworthy_physics::junction_ripple::LEAST_FREQUENCY;
use loadworthy_unit::mission::Chunk;
use loadworthy_unit::plan::Topology;
use loadworthy_unit::{DutyId, Variant};

/// The duty point that a row is made of, how long it lasts, what flows in which direction, what stands still or nearly so, and what
/// could be followed.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Regime {
    duty: usize,
    lasts: u64,
    outlasted: u64,
    too_soon: u64,
    /// Two bits for each source, port and turning shaft.
    flows: Vec<u64>,
}

impl Regime {
    /// Of a row.
    pub(super) fn of(variant: &Variant, chunk: &Chunk<'_>, row: usize, duty: DutyId, lasts: f64) -> Self {
        let plan = &variant.plan;
        let ports = plan.stages.iter().flat_map(|stage| stage.ports.iter().map(|port| port.power));
        let loads = plan.loads.iter().map(|load| load.port.power);
        let shafts = plan.stages.iter().filter_map(|stage| match &stage.topology {
            Topology::Bridge(bridge) => Some(bridge.figures.frequency),
            _ => None,
        });
        let figures =
            plan.sources.iter().map(|source| source.power).chain(ports).chain(loads).chain(shafts.clone());
        let (lasts, outlasted, too_soon) = (lasts.to_bits(), chunk.outlasted(row), chunk.too_soon(row));
        let mut regime = Self { duty: duty.index(), lasts, outlasted, too_soon, flows: vec![0] };
        let mut put = |place: usize, code: u64| {
            if regime.flows.len() <= place / 32 {
                regime.flows.push(0);
            }
            regime.flows[place / 32] |= code << (2 * (place % 32));
        };
        put(0, u64::from(chunk.is_solved(row)) | u64::from(chunk.is_followed(row)) << 1);
        let mut last = 0;
        for (place, figure) in figures.enumerate() {
            let value = chunk.raw(figure, row);
            let code = if value > 0.0 {
                1
            } else if value < 0.0 {
                2
            } else if value == 0.0 {
                0
            } else {
                3
            };
            put(place + 1, code);
            last = place + 1;
        }
        // Below that, junctions are held against a rotor that stands.
        for (place, shaft) in shafts.enumerate() {
            let hertz = chunk.raw(shaft, row);
            put(last + 1 + place, u64::from(0.0 < hertz && hertz < LEAST_FREQUENCY.si()));
        }
        regime
    }
}
